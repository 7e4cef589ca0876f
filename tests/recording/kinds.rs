//! Series made by rule, of machines whose longest stop is known: no figure that is released is below it, and every right
//! series is released.

use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};

use standstill::diagnostic::{Diagnostic, Name, Source};
use standstill::environment::Environment;
use standstill::recording::{Mode, Plan, Protocol};

use super::doubted::Even;

/// Files in memory.
pub(super) struct Files(pub(super) Vec<(String, String)>);

impl Environment for Files {
    fn read(&self, path: &Path) -> Result<Vec<u8>, Diagnostic> {
        let found = self.0.iter().find(|it| Path::new(&it.0) == path);
        let none = || Diagnostic::error(Name::UnreadableFile, "no such file");
        found.map(|it| it.1.clone().into_bytes()).ok_or_else(none)
    }

    fn replace(&self, _: &Path, _: &[u8], _: Option<&[u8]>) -> Result<(), Diagnostic> {
        unreachable!("nothing is written")
    }

    fn canonical(&self, path: &Path) -> Option<PathBuf> {
        self.0.iter().any(|it| Path::new(&it.0) == path).then(|| path.to_owned())
    }
}

pub(super) const J: f64 = 0.0101;
pub(super) const RPM: f64 = std::f64::consts::PI / 30.0;

/// Speed over time of one stop.
pub(super) type Course = Box<dyn Fn(f64) -> f64>;

/// A file of stops, each with its course, and when command and removal are recorded.
fn file(stops: &[(Course, f64, f64)], end: f64, even: &mut Even) -> String {
    let mut text = "t in ms;n in r/min;stop;torque\n".to_owned();
    for (at, (course, command, removed)) in (0_u32..).zip(stops) {
        let phase = 4.0 * even.next();
        let mut clock = 0.0;
        while clock < 200.0 + end * 1e3 {
            let t = (clock - 200.0 + phase) / 1e3;
            let noise = (0..4).map(|_| even.next() - 0.5).sum::<f64>();
            let (on, torque) = (u8::from(t < *command), u8::from(t < *removed));
            let now = f64::from(at) * 60_000.0 + clock;
            writeln!(text, "{now};{:.3};{on};{torque}", course(t) + noise).unwrap();
            clock += 4.0;
        }
    }
    text
}

/// A stop with a ramp of 0.32 s for 1500 r/min, or one that fails: torque goes 360 ms after the command.
fn ramped(friction: f64, response: f64, fails: bool) -> (Course, f64, f64) {
    let fall = friction / J / RPM;
    let course = move |t: f64| {
        let working = 1450.0 - 1500.0 / 0.32 * (t - response).max(0.0);
        let failing = 1450.0 - fall * (t - 0.36).max(0.0);
        if fails { failing.max(0.0) } else { working.clamp(0.0, 1450.0) }
    };
    (Box::new(course), 0.0, 0.36)
}

/// A condition: its name and its friction, how many stops were recorded with the ramp and without it, and whether one
/// more ramp failed by itself.
struct Case {
    name: &'static str,
    friction: f64,
    works: usize,
    fails: usize,
    own_name: bool,
    by_itself: bool,
}

/// The plan and the files of a series.
fn series(cases: &[Case], stands_on: &str, even: &mut Even) -> (String, Files) {
    let shipped =
        Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/measured-stops/failing.toml");
    let shipped = fs::read_to_string(shipped).unwrap();
    let (head, rest) = shipped.split_once("[[recordings]]").unwrap();
    let (_, tail) = rest.split_once("# what was calculated before").unwrap();
    let mut files = Vec::new();
    let mut named = String::new();
    for (at, case) in cases.iter().enumerate() {
        let mut stops = |count: usize, fails: bool| -> Vec<(Course, f64, f64)> {
            let mut one = |_| {
                let friction = case.friction * (0.99 + 0.02 * even.next());
                ramped(friction, 0.012 + 0.004 * even.next(), fails)
            };
            (0..count).map(&mut one).collect()
        };
        let mut working = stops(case.works, false);
        if case.by_itself {
            working.extend(stops(1, true));
        }
        for (all, disabled) in [(working, false), (stops(case.fails, true), true)] {
            if all.is_empty() {
                continue;
            }
            let name = format!("{at}{disabled}.csv");
            let condition = match disabled && case.own_name {
                true => format!("{}, ramp off", case.name),
                false => case.name.to_owned(),
            };
            writeln!(named, "[[recordings]]\nfile = \"{name}\"\ncondition = \"{condition}\"")
                .unwrap();
            if disabled {
                writeln!(named, "ramp = \"disabled\"").unwrap();
            }
            let end = if disabled || case.by_itself { 2.2 } else { 0.8 };
            files.push((name, file(&all, end, even)));
        }
    }
    // who calculates takes the least friction that the recordings show
    let shown = cases.iter().filter(|it| it.fails > 0 || it.by_itself);
    let least = shown.map(|it| it.friction).fold(f64::INFINITY, f64::min);
    let least = if least.is_finite() { 0.94 * least } else { 1.6 };
    let text = format!("{head}{named}\n#{tail}")
        .replace("u in V scale 150 r/min per V offset 0.02 V", "n in r/min")
        .replace("stop below 12 V", "stop falls")
        .replace("torque below 12 V", "torque falls")
        .replace("t_resp   = \"20 ms\"", "t_resp   = \"28 ms\"")
        .replace("\"1.75 N·m\"", &format!("\"{least} N·m\""))
        .replace("calculated fails", stands_on);
    (text, Files(files))
}

fn made(plan: &str, files: &Files) -> Option<Protocol> {
    let plan = Plan::read(Some(&Source::new("p.toml", plan)), &[]).unwrap();
    Protocol::make(&plan, &[], files).ok()
}

pub(super) fn open(protocol: &Protocol) -> String {
    let all = protocol
        .findings()
        .iter()
        .filter(|it| it.verdict != standstill::calculation::Verdict::Holds);
    all.map(|it| format!("{} {}: {}\n", it.verdict.word(), it.text, it.detail)).collect()
}

/// Ramps that work and fail, recorded under some conditions or under all: a distance that is released stands on no less
/// than the longest stop of its kind under every condition.
#[test]
fn no_figure_of_a_ramp_is_too_small_without_a_word() {
    let mut even = Even(1401);
    let [mut released, mut right] = [0, 0];
    for round in 0..14 {
        let stands_on = if round % 2 == 0 { "calculated fails" } else { "calculated works" };
        let whole = round % 3 == 0;
        let mut pick = |all: &[usize]| {
            let at = even.next() * f64::from(u32::try_from(all.len()).unwrap());
            all[(1_u32..).position(|it| at < f64::from(it)).unwrap()]
        };
        let count = pick(&[1, 2]);
        let names = ["cold", "warm, loaded"];
        let cases: Vec<Case> = names
            .into_iter()
            .take(count)
            .enumerate()
            .map(|(at, name)| Case {
                name,
                friction: [1.85, 1.55][at],
                works: 10,
                fails: if whole { 10 } else { pick(&[0, 1, 10]) },
                own_name: false,
                by_itself: !whole && pick(&[0, 0, 1]) == 1,
            })
            .map(|it| Case { own_name: it.fails == 10 && round % 4 == 0, ..it })
            .collect();
        let (plan, files) = series(&cases, stands_on, &mut even);
        let Some(protocol) = made(&plan, &files) else {
            assert!(!whole, "{plan}");
            continue;
        };
        let fails = stands_on.ends_with("fails");
        let enough = cases.iter().all(|it| !it.by_itself && (!fails || it.fails >= 10));
        let said = open(&protocol);
        assert_eq!(protocol.is_released(), enough, "{round}: {said}\n{plan}");
        right += u32::from(enough);
        if protocol.is_released() {
            released += 1;
            let longest = |case: &Case| match fails {
                true => 0.36 + J * 1450.0 * RPM / (0.99 * case.friction),
                false => 0.016 + 0.32 * 1450.0 / 1500.0,
            };
            let truth = cases.iter().map(longest).fold(0.0, f64::max);
            let decisive = protocol.decisive().unwrap();
            assert_eq!(decisive.mode, if fails { Mode::Fails } else { Mode::Works });
            assert!(decisive.times.figure >= truth, "{round}: {} < {truth}", decisive.times.figure);
            // like is evaluated with like alone
            assert!(decisive.times.figure < 1.06 * truth, "{round}: {}", decisive.times.figure);
        }
    }
    assert!(released >= 5 && released == right, "{released} of {right}");
}

pub(super) const BRAKE: &str = r#"
category = "0"
machine = "saw (invented)"
instrument = "recorder (invented)"
calibrated = "2026-03-02"
measured = "2026-06-15"
next = "2027-06-15"
time = "t in ms"
speed = "n in r/min"
stop = "stop falls"
removed = "torque falls"
standstill = "10 r/min"
filter = "20 ms"
recorder = "none"
error = "1 r/min"
t_delay = "20 ms"
tol_delay = "10 %"
J = "0.0101 kg·m²"
tol_J = "2 %"
[[recordings]]
file = "a.csv"
condition = "idle"
[settings]
t_resp = "60 ms"
t_build = "0 ms"
T_f = "0.2 N·m"
T_b = "5.7 N·m"
T_load = "0 N·m"
[calculation]
sheet = "mechanical-brake-stop"
stops = "t_stop"
before = "26 ms"
J = "0.0101 kg·m² ± 2 %"
n_0 = "1450 r/min"
t_resp = "60 ms"
t_build = "0 ms"
T_f = "0.2 N·m"
T_b = "5.7 N·m"
n_max = "1800 r/min"
E_max = "500 J"
T_load = "0 N·m"
[distance]
sheet = "compare-with-calculation"
t_k = "measured times"
u = "measured uncertainty"
t_calc = "calculated stops"
t_device = "44 ms"
device = "curtain"
edition = "2010"
d = "14 mm"
Z = "0 mm"
C_own = "0 mm"
s_meas = "0 mm"
v_own = "0 mm/s"
t_other = "0 ms"
S_built = "2500 mm"
"#;

/// Ten stops by the brake, a sheet of one's own that calculates them, and what the verdict says.
fn approach(results: &str, change: &[(&str, &str)]) -> String {
    let mut even = Even(1617);
    let stops: Vec<(Course, f64, f64)> = (0..10)
        .map(|_| {
            let fall = 6.0 * (0.99 + 0.02 * even.next()) / J / RPM;
            let course: Course =
                Box::new(move |t| (1450.0 - fall * (t - 0.08).max(0.0)).clamp(0.0, 1450.0));
            (course, 0.0, 0.02)
        })
        .collect();
    let stops = file(&stops, 0.9, &mut even);
    let (before, rest) = BRAKE.split_once("[settings]").unwrap();
    let (_, distance) = rest.split_once("[distance]").unwrap();
    let mut plan = format!(
        "{before}[calculation]\nsheet = \"approach\"\nstops = \"t_stop\"\nbefore = \"26 ms\"\nT_b = \"5.7 N·m\"\nlead = \"20 mm/r\"\n[distance]{distance}"
    );
    for (from, to) in change {
        plan = plan.replace(from, to);
    }
    let sheet = format!(
        "sheet approach\ntitle \"t\"\nsource \"s\"\ntakes\n  T_b : torque in N·m above 0 N·m\n  lead : travel per turn in mm/r from 0 mm/r\nworks\n  \
         t_stop = 60 ms + 0.0101 kg·m² * 1450 r/min / T_b\n  s_turn = 1 r * lead\n  {results}\ngives\n  t_stop in s\n  s_turn in mm\n{}",
        if results.contains("t_lost") { "  t_lost in s\n" } else { "  S in mm\n" }
    );
    let files = [("a.csv", &stops), ("approach.sheet", &sheet)];
    let files = files.map(|(name, text)| (name.to_owned(), text.clone())).to_vec();
    open(&made(&plan, &Files(files)).unwrap())
}

/// A distance that leaves out what the calculation's own counts, such as the way of an axis towards the person.
#[test]
fn a_distance_counts_what_the_calculation_counts() {
    for way in [1, 700] {
        // 1600 mm/s over stop and chain, and what the axis comes nearer meanwhile
        let said = approach(&format!("S = 1600 mm/s * (t_stop + 70 ms) + {way} mm"), &[]);
        let told = said.contains("the distance counts what the calculation counts");
        assert_eq!(told, way > 1, "{way} mm: {said}");
    }
}

/// Torque lost under a load that drives is the longest stop, and no recording shows it.
#[test]
fn a_stop_that_nobody_measured_counts_where_it_is_the_longest() {
    const WORDS: &str = "a stop that nobody measured counts where it is the longest";
    let of = |lost: &str, given: &str| {
        approach(&format!("t_lost = t_stop {lost}"), &[("t_other = \"0 ms\"", given)])
    };
    assert!(!of("- 10 ms", "t_other = \"0 ms\"").contains(WORDS));
    let said = of("+ 150 ms", "t_other = \"0 ms\"");
    assert!(said.contains(&format!("FAILS {WORDS}")), "{said}");
    let all = |t: u32| {
        format!(
            "t_other = \"{t} ms\"\nt_worn = \"600 ms\"\nr_other = \"1.5\"\nt_found = \"345 ms\""
        )
    };
    // t_stop is 60 ms + J·ω/T = 329 ms by hand, 479 ms with what is added
    let said = of("+ 150 ms", &all(470));
    assert!(said.contains(&format!("look {WORDS}")), "{said}");
    assert!(!of("+ 150 ms", &all(480)).contains(WORDS));
}

/// The way of an axis is measured: 1450 r/min for 100 ms and half of it for 250 ms, 5.4 r, at 20 mm a turn.
#[test]
fn the_way_of_an_axis_is_the_one_measured() {
    let with = |way: &str, v: &str| {
        let change = [
            ("s_meas = \"0 mm\"", way),
            ("v_own = \"0 mm/s\"", v),
            ("S_built = \"2500 mm\"", "S_built = \"50 mm\""),
        ];
        let said = approach("S = 1 m", &change);
        let (_, rest) = said.split_once("enough for the measured stop: ").expect(&said);
        rest.split(' ').next().unwrap().parse::<f64>().unwrap()
    };
    let none = with("s_meas = \"0 mm\"", "v_own = \"0 mm/s\"");
    let way = with("s_meas = \"measured way\"", "v_own = \"500 mm/s\"") - none;
    let front = 0.5 * 44.0;
    assert!((way - front - 20.0 * 5.44).abs() < 4.0, "{way}");
}

/// A hoist slows upwards and gains speed downwards before its brake grips: what it loses and gains does not cancel.
#[test]
fn late_channels_of_a_hoist_are_seen_up_and_down() {
    let mut even = Even(1616);
    let of = |drag: f64, late: f64, even: &mut Even| {
        let stops: Vec<(Course, f64, f64)> = (0..10)
            .map(|_| {
                let fall = |torque: f64| torque / J / RPM;
                let (brake, held) = (6.0 * (0.99 + 0.02 * even.next()), 1450.0 - fall(drag) * 0.06);
                let course = move |t: f64| {
                    let free = 1450.0 - fall(drag) * (t - 0.02).max(0.0);
                    if t < 0.08 { free } else { (held - fall(brake) * (t - 0.08)).max(0.0) }
                };
                let course: Course = Box::new(course);
                (course, late, 0.02 + late)
            })
            .collect();
        file(&stops, 0.9, even)
    };
    let recording = |name: &str, condition: &str| {
        format!("[[recordings]]\nfile = \"{name}\"\ncondition = \"{condition}\"\n")
    };
    let (before, rest) = BRAKE.split_once("[[recordings]]").unwrap();
    let (_, after) = rest.split_once("\n[").unwrap();
    let plan =
        format!("{before}{}{}\n[{after}", recording("a.csv", "up"), recording("b.csv", "down"));
    for late in [0.0, 0.012] {
        let files = [("a.csv", 0.6), ("b.csv", -0.6)];
        let files = files.map(|(name, drag)| (name.to_owned(), of(drag, late, &mut even)));
        let said = open(&made(&plan, &Files(files.to_vec())).unwrap());
        let told = said.contains(" after torque is removed");
        assert_eq!(told, late > 0.0, "late {late}: {said}");
    }
}

/// A brake that grips 60 ms after the removal of torque, its digital channels recorded late or not: what is released is
/// not too small, and what is recorded right is released.
#[test]
fn a_stop_by_a_brake_is_confirmed_and_a_late_command_is_not() {
    let mut even = Even(1402);
    for (late, drag, right) in [
        (0.0, 0.2, true),
        (0.0, 0.6, true),
        (0.02, 0.2, false),
        (0.04, 0.2, false),
        (0.012, 0.6, false),
    ] {
        let mut longest: f64 = 0.0;
        let stops: Vec<(Course, f64, f64)> = (0..10)
            .map(|_| {
                let brake = 6.0 * (0.99 + 0.02 * even.next());
                let fall = |torque: f64| torque / J / RPM;
                let held = 1450.0 - fall(drag) * 0.06;
                longest = longest.max(0.08 + held / fall(brake));
                let course = move |t: f64| {
                    let free = 1450.0 - fall(drag) * (t - 0.02).max(0.0);
                    let braked = held - fall(brake) * (t - 0.08);
                    if t < 0.08 { free } else { braked.max(0.0) }
                };
                let course: Course = Box::new(course);
                (course, late, 0.02 + late)
            })
            .collect();
        let files = Files(vec![("a.csv".to_owned(), file(&stops, 0.9, &mut even))]);
        let protocol = made(BRAKE, &files).unwrap();
        let said = open(&protocol);
        assert_eq!(protocol.is_released(), right, "late {late}, drag {drag}: {said}");
        let figure = protocol.decisive().unwrap().times.figure;
        assert!(!right || figure >= longest, "{figure} < {longest}");
        assert!(right || said.contains(" after torque is removed"), "{said}");
    }
    // the response is said, or listed
    let said = "[settings]\nt_resp = \"60 ms\"\n";
    assert!(BRAKE.contains(said));
    let stops: Vec<(Course, f64, f64)> = (0..10)
        .map(|at| {
            let fall = (6.0 + 0.01 * f64::from(at)) / J / RPM;
            let course: Course =
                Box::new(move |t| (1450.0 - fall * (t - 0.08).max(0.0)).clamp(0.0, 1450.0));
            (course, 0.0, 0.02)
        })
        .collect();
    let files = Files(vec![("a.csv".to_owned(), file(&stops, 0.9, &mut even))]);
    for (plan, words) in [
        (BRAKE.replace(said, "[settings]\n"), "`t_resp`: no stop shows it"),
        (
            BRAKE.replace(said, "[settings]\nt_resp = \"70 ms\"\n"),
            "`t_resp` is as the calculation takes it",
        ),
    ] {
        let protocol = made(&plan, &files).unwrap();
        assert!(!protocol.is_released() && open(&protocol).contains(words), "{}", open(&protocol));
    }
}
