//! Torque lost under a load that drives, from door to door: series of two conditions whose truth is followed in closed
//! form. What was recorded right is released with the words alone; every figure that is typed in its place, and smaller,
//! fails.

use standstill::calculation::Verdict;
use standstill::diagnostic::Source;
use standstill::recording::{Plan, Protocol};

use super::doors::{Channel, HEAD, Machine, N_0, TAIL, file, made, tried};
use super::doubted::Even;
use super::kinds::{Course, Files, J, RPM, open};

/// A brake of the axis: it grips so long after torque is removed, and holds so much.
pub(super) type Brake = (f64, f64);

/// Late and strong when cold, quick and weak when warm: the longest measured stop is cold, the longest by torque lost warm.
pub(super) const COLD: Brake = (0.118, 19.0);
pub(super) const WARM: Brake = (0.05, 12.4);

/// Stops with the ramp off under a load.
pub(super) fn failing(load: f64, (late, brake): Brake, even: &mut Even) -> Vec<Course> {
    let gain = |torque: f64| -torque / J / RPM;
    let course = |spread: f64| -> Course {
        let (grips, fall) = (0.36 + late, gain(0.6 + load + brake * (1.0 + 0.01 * spread)));
        let met = N_0 + gain(0.6 + load) * late;
        Box::new(move |t: f64| match t {
            t if t < 0.36 => N_0,
            t if t < grips => N_0 + gain(0.6 + load) * (t - 0.36),
            _ => (met + fall * (t - grips)).max(0.0),
        })
    };
    (0..10).map(|_| course(even.next())).collect()
}

/// Time in ms and way in mm at 20 mm a turn of torque lost at the command, the brake commanded by the latest delay.
fn truth(load: f64, (late, brake): Brake) -> (f64, f64) {
    let gain = |torque: f64| -torque / J / RPM;
    let free = 0.3672 + late;
    let met = N_0 + gain(0.6 + load) * free;
    let rest = met / -gain(0.6 + load + brake);
    let turned = (N_0 + met) / 2.0 * free + met / 2.0 * rest;
    ((free + rest) * 1e3, turned / 60.0 * 20.0)
}

fn recorded(load: f64, even: &mut Even) -> Files {
    with_stops([COLD, WARM].map(|brake| failing(load, brake, even)), even)
}

const MACHINE: Machine = Machine { from: N_0, delay: 0.36, ramp: true, friction: 0.6, brake: 14.0 };

/// Two conditions, each with stops whose ramp works and those whose ramp fails.
pub(super) fn with_stops(failing: [Vec<Course>; 2], even: &mut Even) -> Files {
    let machine = MACHINE;
    let mut named = Vec::new();
    for (name, failing) in ["cold", "warm"].into_iter().zip(failing) {
        let works = file(&machine.stops(even), 0.36, 0.0, 0.8, Channel::Speed, even);
        let fails = file(&failing, 0.36, 0.0, 1.4, Channel::Speed, even);
        named.push((format!("{name}.csv"), works));
        named.push((format!("{name}-off.csv"), fails));
    }
    Files(named)
}

const CALCULATION: &str = r#"
works = "t_works"
fails = "t_fails"
J = "0.0101 kg·m² ± 2 %"
n_0 = "1450 r/min"
T_0 = "0.6 N·m"
T_load = "LOAD N·m"
lead = "20 mm/r"
f = "0 %"
T_max = "12 N·m"
n_rated = "1500 r/min"
n_break = "3000 r/min"
T_b = "12 N·m"
t_b = "65 ms"
t_b_build = "45 ms"
n_max = "4000 r/min"
E_max = "1500 J"
t_resp = "20 ms"
t_ramp = "0.3094 s"
tol_ramp = "5 %"
tol_delay = "2 %"
"#;

const AXIS: &str = r#"
device = "curtain"
edition = "2010"
d = "14 mm"
Z = "0 mm"
C_own = "0 mm"
towards = "past"
S_there = "6000 mm"
n_ref = "1500 r/min"
chopper = "yes"
shape = "slot"
t_delay_used = "360 ms"
I_max = "15 A"
R_min = "0 Ω"
t_cycle = "6 s"
t_sensor = "14 ms"
e = "12 mm"
tol_unlock = "5 %"
t_wear = "0 s"
t_unlock_step = "0.1 s"
t_unlock_low = "0 s"
t_unlock_high = "300 s"
t_mon = "50 ms"
n_band = "100 r/min"
T_fault = "30 N·m"
C_link = "470 µF"
U_0 = "565 V"
U_chop = "780 V"
U_trip = "820 V"
t_ramp_step = "0.01 s"
t_ramp_low = "0.01 s"
t_ramp_high = "600 s"
t_delay_step = "10 ms"
t_delay_low = "10 ms"
t_delay_high = "300000 ms"
t_logic = "20 ms"
t_network = "0 ms"
t_drive = "10 ms"
"#;

/// A plan that asks for all that is found, with every input read back.
pub(super) fn plan(load: f64, sheet: &str) -> String {
    let recordings = ["cold", "warm"].map(|name| {
        format!("[[recordings]]\nfile = \"{name}.csv\"\ncondition = \"{name}\"\n[[recordings]]\nfile = \"{name}-off.csv\"\ncondition = \"{name}\"\nramp = \"disabled\"\n")
    });
    let more = if sheet == "axis-stop" { AXIS } else { "t_delay = \"360 ms\"\n" };
    let tail = TAIL
        .replace("calculated WAY", "calculated fails")
        .replace("t_other = \"0 ms\"", "t_other = \"measured loss of torque\"")
        .replace("2500 mm", "4500 mm");
    format!(
        "{HEAD}speed = \"x in r/min\"\n{}[settings]\nT_b = \"12 N·m\"\nt_b = \"65 ms\"\nt_b_build = \"45 ms\"\nT_load = \"LOAD N·m\"\nT_0 = \"0.6 N·m\"\ncloses = \"delay\"\n[calculation]\nsheet = \"{sheet}\"{CALCULATION}{more}{tail}",
        recordings.concat()
    )
    .replace("LOAD", &load.to_string())
    .replace("closes = \"delay\"", if sheet == "axis-stop" { "closes = \"delay\"\nt_unlock = \"0 s\"" } else { "closes = \"delay\"" })
    .replace("0.3094 s", if sheet == "axis-stop" { "0.3 s" } else { "0.3094 s" })
}

/// The same for an axis that moves towards the person.
pub(super) fn with_way(plan: &str) -> String {
    plan.replace("s_meas = \"0 mm\"", "s_meas = \"measured way\"")
        .replace("v_own = \"0 mm/s\"", "v_own = \"measured speed\"")
        .replace("closes = \"delay\"", "closes = \"delay\"\nlead = \"20 mm/r\"")
}

/// A figure of the distance that was handed over.
fn handed(found: &Protocol, name: &str) -> f64 {
    let all = &found.issue.as_ref().unwrap().handed;
    let text = &all.iter().find(|it| it.0 == name).unwrap_or_else(|| panic!("{name}")).1;
    text.split(' ').next().unwrap().parse().unwrap()
}

/// Six loads, two conditions: released with the words, never below the truth of either condition, and not far above it.
#[test]
fn torque_lost_is_found_under_every_load() {
    let mut even = Even(2001);
    for load in [-0.7, -1.0, -2.0, -3.0, -4.0, -5.0] {
        let files = recorded(load, &mut even);
        let found = made(&with_way(&plan(load, "ss1-brake")), &files);
        assert!(found.is_released(), "{load}: {}", open(&found));
        let (time, way) = [COLD, WARM]
            .map(|brake| truth(load, brake))
            .into_iter()
            .fold((0.0_f64, 0.0_f64), |most, it| (most.0.max(it.0), most.1.max(it.1)));
        let (t_other, s_meas) = (handed(&found, "t_other"), handed(&found, "s_meas"));
        assert!(t_other >= time && t_other < 1.06 * time, "{load}: {t_other} {time}");
        assert!(s_meas >= way && s_meas < 1.1 * way, "{load}: {s_meas} {way}");
        assert!(handed(&found, "t_worn") >= t_other);
    }
}

/// A stop by a brake that loses a share of its torque for every energy of the machine at speed that it took up, followed
/// in steps: torque goes at `removed`, the brake is commanded at `commanded`. Speeds in r/min every 0.1 ms, time in ms and
/// way in mm.
fn fading(
    load: f64,
    (late, brake): Brake,
    loses: f64,
    (removed, commanded): (f64, f64),
) -> (Vec<f64>, f64, f64) {
    const STEP: f64 = 1e-4;
    let (full, mut speed) = (J * (N_0 * RPM).powi(2) / 2.0, N_0 * RPM);
    let (mut all, mut t, mut heat, mut angle) = (Vec::new(), 0.0, 0.0, 0.0);
    while speed > 0.0 && t < 20.0 {
        all.push(speed / RPM);
        if t >= removed {
            let grips = t >= commanded + late;
            let torque = if grips { (brake * (1.0 - loses * heat / full)).max(0.0) } else { 0.0 };
            heat += torque * speed * STEP;
            speed -= (0.6 + load + torque) / J * STEP;
        }
        angle += speed.max(0.0) * STEP;
        t += STEP;
    }
    (all, t * 1e3, angle / std::f64::consts::TAU * 20.0)
}

/// A brake that loses torque as it heats: torque lost heats it more than any measured stop, and what is issued is not
/// short of the stop that it makes then; where it would not stop any more, nothing is issued.
#[test]
fn a_brake_that_fades_makes_torque_lost_longer() {
    let mut even = Even(2007);
    for (load, loses) in [(-2.0, 0.1), (-4.0, 0.05), (-4.0, 0.2)] {
        let stops = [COLD, WARM].map(|(late, brake)| {
            let mut one = |_| -> Course {
                let brake = (late, brake * (1.0 + 0.01 * even.next()));
                let (all, ..) = fading(load, brake, loses, (0.36, 0.36));
                Box::new(move |t: f64| {
                    all.get((t.max(0.0) * 1e4).floor() as usize).copied().unwrap_or(0.0)
                })
            };
            (0..10).map(&mut one).collect::<Vec<_>>()
        });
        let files = with_stops(stops, &mut even);
        let plan = with_way(&plan(load, "ss1-brake"));
        if loses > 0.1 {
            let problems = tried(&plan, &files).unwrap_err();
            assert!(!problems.iter().any(|it| it.headline.contains("r_other")), "{problems:?}");
            let words = "loses torque as it heats";
            assert!(problems.iter().any(|it| it.headline.contains(words)), "{problems:?}");
            continue;
        }
        let found = made(&plan, &files);
        let [cold, warm] = [COLD, WARM].map(|it| fading(load, it, loses, (0.0, 0.3672)));
        let (time, way) = (cold.1.max(warm.1), cold.2.max(warm.2));
        let (t_other, s_meas) = (handed(&found, "t_other"), handed(&found, "s_meas"));
        assert!(t_other >= time && t_other < 1.12 * time, "{load} {loses}: {t_other} {time}");
        assert!(s_meas >= way && s_meas < 1.12 * way, "{load} {loses}: {s_meas} {way}");
        let said = open(&found);
        assert!(said.contains("% over a measured stop, as the stops show it"), "{said}");
    }
}

/// Whatever is typed in the place of what is found, and smaller, fails with both figures; what is found passes typed, too.
#[test]
fn what_is_typed_and_smaller_than_found_fails() {
    const LONGEST: &str = "FAILS a stop that nobody measured counts";
    const WAY: &str = "FAILS way and speed of the axis are not less than measured";
    let files = recorded(-4.0, &mut Even(2002));
    let right = with_way(&plan(-4.0, "ss1-brake"));
    let found = made(&right, &files);
    let typed = |other: f64, worn: f64, faster: f64| {
        let figures = format!(
            "t_other = \"{other:.4} ms\"\nt_worn = \"{worn:.4} ms\"\nr_other = \"{faster:.4}\"\nt_found = \"1 ms\""
        );
        right.replace("t_other = \"measured loss of torque\"", &figures)
    };
    let (other, worn, faster) =
        (handed(&found, "t_other"), handed(&found, "t_worn"), handed(&found, "r_other"));
    let same = made(&typed(other, worn, faster), &files);
    assert!(same.is_released(), "{}", open(&same));
    let way = |s: &str, v: &str| right.replace("measured way", s).replace("measured speed", v);
    let cold = truth(-4.0, COLD).0.round();
    let slow = |plan: &str| plan.replace("measured way", "262 mm");
    for (plan, words) in [
        (slow(&typed(cold, worn, faster)), [LONGEST, WAY]),
        (typed(other, worn, 1.01), [LONGEST, LONGEST]),
        (
            way("measured way", "484 mm/s").replace("measured loss of torque", "0 ms"),
            [LONGEST, WAY],
        ),
        (right.replace("measured loss of torque", &format!("{cold} ms")), [LONGEST, LONGEST]),
    ] {
        let found = made(&plan, &files);
        for words in words {
            assert!(open(&found).contains(words), "{words}: {}", open(&found));
        }
    }
    let twice = right.replace("[distance]\n", "[distance]\nt_worn = \"900 ms\"\n");
    assert!(tried(&twice, &files).is_err(), "what comes with it is not typed beside it");
    // a stop that is said to be longer than the one found goes farther too
    assert!(tried(&typed(other + 50.0, worn + 50.0, faster), &files).is_err());
    let wrong = right.replace("s_meas = \"measured way\"", "s_meas = \"measured loss of torque\"");
    assert!(tried(&wrong, &files).is_err());
}

/// Way and speed are held against the measured ones where no load drives, too, and the travel of a turn is asked.
#[test]
fn way_and_speed_are_not_less_than_measured() {
    let files = recorded(0.0, &mut Even(2003));
    let right = with_way(&plan(0.0, "ss1-brake"));
    let found = made(&right, &files);
    assert!(found.is_released(), "{}", open(&found));
    assert!((handed(&found, "t_other")).abs() < 1e-9, "no stop by torque lost is longer");
    let open_of = |plan: &str| open(&made(plan, &files));
    for (from, to) in [("measured speed", "48.4 mm/s"), ("measured way", "26.2 mm")] {
        let said = open_of(&right.replace(from, to));
        assert!(said.contains("FAILS way and speed of the axis"), "{said}");
    }
    let said = open_of(&right.replace("\nlead = \"20 mm/r\"\n[calculation]", "\n[calculation]"));
    assert!(said.contains("`lead`: no stop shows it"), "{said}");
    let said = open_of(&right.replace("lead = \"20 mm/r\"\nf", "lead = \"2 mm/r\"\nf"));
    assert!(said.contains("FAILS `lead` is as the calculation takes it"), "{said}");
}

/// The rest of an axis's distance is that of its calculation, also beside a stop by torque lost.
#[test]
fn what_else_the_calculation_counts_is_not_left_out() {
    const COUNTS: &str = "FAILS the distance counts what the calculation counts";
    let files = recorded(-4.0, &mut Even(2004));
    let right = plan(-4.0, "axis-stop");
    let found = made(&right, &files);
    assert!(found.is_released(), "{}", open(&found));
    for (from, to) in [
        ("t_device = \"44 ms\"", "t_device = \"0 ms\""),
        ("t_device = \"44 ms\"", "t_device = \"30 ms\""),
        ("towards = \"past\"", "towards = \"yes\""),
    ] {
        let said = open(&made(&right.replace(from, to), &files));
        assert!(said.contains(COUNTS), "{from}, {to}: {said}");
    }
}

/// A calculation with the brake that the stops show is not held against a data sheet that says less.
#[test]
fn what_is_read_back_to_the_safe_side_does_not_fail() {
    let files = recorded(-4.0, &mut Even(2005));
    let right = plan(-4.0, "ss1-brake");
    let of = |changes: &[(&str, &str)]| {
        let (before, calculation) = right.split_once("[calculation]").unwrap();
        let calculation =
            changes.iter().fold(calculation.to_owned(), |text, (from, to)| text.replace(from, to));
        made(&format!("{before}[calculation]{calculation}"), &files)
    };
    let weaker =
        of(&[("T_b = \"12 N·m\"", "T_b = \"11.5 N·m\""), ("t_b = \"65 ms\"", "t_b = \"70 ms\"")]);
    let said = open(&weaker);
    assert!(weaker.is_released(), "{said}");
    assert!(said.contains("look `T_b` is as the calculation takes it"), "{said}");
    let better = of(&[("T_b = \"12 N·m\"", "T_b = \"12.5 N·m\"")]);
    assert!(open(&better).contains("FAILS `T_b` is as the calculation takes it"));
    // later and weaker than any of the stops shows: joined, they are the brake as it is
    let shown = of(&[
        ("t_b = \"65 ms\"", "t_b = \"140 ms\""),
        ("t_b_build = \"45 ms\"", "t_b_build = \"0 ms\""),
        ("T_b = \"12 N·m\"", "T_b = \"11 N·m\""),
    ]);
    assert!(!open(&shown).contains("FAILS `t_b"), "{}", open(&shown));
}

/// No figure of a stop as it is listed may be read as thousands: each can be typed for a sheet.
#[test]
fn figures_of_a_stop_can_be_typed_as_they_are_listed() {
    let files = recorded(-4.0, &mut Even(2006));
    let found = made(&plan(-4.0, "ss1-brake"), &files);
    let tables = standstill::recording::tables(&found, true);
    let listed = tables.iter().filter(|it| it.title.starts_with("stops: "));
    let cells: Vec<&String> = listed.flat_map(|it| it.rows.iter().flatten()).collect();
    assert!(cells.len() > 400);
    for word in cells.iter().flat_map(|it| it.split_whitespace()) {
        assert_eq!(standstill::unit::may_be_thousands(word), None, "{word}");
    }
}

/// A word of the calculation without which torque lost would be the longest stop, and which no stop shows: it is not
/// confirmed until somebody says who saw it and how, and that stands in the verdict.
#[test]
fn a_word_that_no_stop_shows_is_asked_about() {
    let files = recorded(-4.0, &mut Even(2008));
    let right = with_way(&plan(-4.0, "ss1-brake"));
    let typed = right
        .replace("closes = \"delay\"", "closes = \"loss\"")
        .replace("[calculation]\n", "[calculation]\ncloses = \"loss\"\n");
    let found = made(&typed, &files);
    let said = open(&found);
    assert!(!found.is_released() && found.holds(), "{said}");
    assert!(
        said.contains("look `closes` = loss is shown: not confirmed: no measured stop"),
        "{said}"
    );
    assert!(said.contains("with `closes` = delay torque lost takes up to"), "{said}");
    let tables = standstill::recording::tables(&found, false);
    let notes: Vec<&String> = tables.iter().flat_map(|it| &it.notes).collect();
    let note = notes.iter().find(|it| it.starts_with("t_other = 0")).unwrap();
    assert!(note.ends_with("no stop shows it"), "{note}");
    let shown = |plan: &str, key: &str, words: &str| {
        plan.replace("[settings]\n", &format!("[shown]\n{key} = \"{words}\"\n[settings]\n"))
    };
    let words = "A. Name, 2026-06-15: the drive held the brake open, and it closed with the torque";
    let found = made(&shown(&typed, "closes", words), &files);
    assert!(found.is_released(), "{}", open(&found));
    assert!(open(&found).contains(&format!("; seen: {words}")), "{}", open(&found));
    let source = Source::new("p.toml", shown(&typed, "closes", "yes"));
    let problems = Plan::read(Some(&source), &[]).unwrap_err();
    let words_only = "`closes` is said to be shown, and not by whom and how";
    assert!(problems.iter().any(|it| it.headline == words_only), "{problems:?}");
    for (plan, key, words, problem) in [
        (&typed, "T_b", words, "`T_b` is said to be shown, and nothing rests on it"),
        (&right, "closes", words, "`closes` is said to be shown, and nothing rests on it"),
    ] {
        let problems = tried(&shown(plan, key, words), &files).unwrap_err();
        assert!(problems.iter().any(|it| it.headline == problem), "{key}: {problems:?}");
    }
}

/// What a filter of the recorder leaves open is not the brake's: of a brake that does not fade it is said that the
/// measurement cannot show it, and nothing of an input that nobody typed.
#[test]
fn what_a_filter_leaves_open_is_not_said_of_the_brake() {
    let mut even = Even(2009);
    let filtered = |all: &[f64]| -> Vec<f64> {
        let mut shown = N_0;
        let one = |speed: &f64| {
            shown += (speed - shown) * 0.1 / 10.0;
            shown
        };
        all.iter().chain(std::iter::repeat_n(&0.0, 2000)).map(one).collect()
    };
    let stops = [COLD, WARM].map(|(late, brake)| {
        let mut one = |_| -> Course {
            let brake = (late, brake * (1.0 + 0.01 * even.next()));
            let all = filtered(&fading(-4.0, brake, 0.0, (0.36, 0.36)).0);
            Box::new(move |t: f64| {
                all.get((t.max(0.0) * 1e4).floor() as usize).copied().unwrap_or(0.0)
            })
        };
        (0..10).map(&mut one).collect::<Vec<_>>()
    });
    let files = with_stops(stops, &mut even);
    let said = with_way(&plan(-4.0, "ss1-brake"))
        .replace("recorder = \"none\"", "recorder = \"first order 10 ms\"");
    match tried(&said, &files) {
        Ok(found) => {
            let said = open(&found);
            assert!(!said.contains("as the stops show it"), "{said}");
        }
        Err(problems) => {
            let all: Vec<&str> = problems.iter().map(|it| it.headline.as_str()).collect();
            let open = |it: &&str| it.starts_with("the measurement cannot show how much torque");
            assert!(!all.is_empty() && all.iter().all(open), "{all:?}");
            assert!(problems.iter().all(|it| it.remedy.contains("without the filter")));
        }
    }
}

/// Torque that went before its late channel says so, after a ramp that was over: the ramp is not what failed.
#[test]
fn a_late_channel_does_not_cut_a_ramp_short() {
    let mut even = Even(2010);
    let Files(mut named) = recorded(-4.0, &mut even);
    let gain = 3.4 / J / RPM;
    let stop = |_| -> Course {
        let Machine { from, .. } = MACHINE;
        Box::new(move |t: f64| match t {
            t if t < 0.352 => (from - 1500.0 / 0.32 * (t - 0.014).max(0.0)).clamp(0.0, from),
            t if t < 0.41 => gain * (t - 0.352),
            t => (gain * 0.058 - 3.0 * gain * (t - 0.41)).max(0.0),
        })
    };
    let works: Vec<Course> = (0..10).map(stop).collect();
    named[0].1 = file(&works, 0.36, 0.0, 0.8, Channel::Speed, &mut even);
    let found = made(&with_way(&plan(-4.0, "ss1-brake")), &Files(named));
    let said = open(&found);
    assert!(!said.contains("every ramp finishes"), "{said}");
    assert!(
        said.contains("look the machine stands until torque is removed: not confirmed"),
        "{said}"
    );
    assert!(!found.is_released());
}

/// A ramp that is set for another speed than the calculation takes it for: what the remedy says is typed, and it passes.
#[test]
fn a_ramp_for_another_speed_is_typed_as_the_remedy_says() {
    let files = recorded(-4.0, &mut Even(2011));
    let right = with_way(&plan(-4.0, "ss1-brake"));
    let short = right.replace("0.3094 s", "0.3 s");
    let found = made(&short, &files);
    let fails = found.findings().iter().find(|it| it.text == "the ramp is set as calculated");
    let fails = fails.filter(|it| it.verdict == Verdict::Fails).unwrap();
    assert!(fails.otherwise.contains("`t_ramp = \"0.309334 s\"`"), "{}", fails.otherwise);
    let found = made(&short.replace("t_ramp = \"0.3 s\"", "t_ramp = \"0.309334 s\""), &files);
    assert!(found.is_released(), "{}", open(&found));
    let delay = found.findings().iter().find(|it| it.text == "the delay is as it was set").unwrap();
    assert!(delay.detail.contains("`stop` is recorded late by up to"), "{}", delay.detail);
}

/// Stops of which too few samples show whether the brake fades leave that open, and the figure with it.
#[test]
fn too_few_samples_leave_open_whether_a_brake_fades() {
    let Files(named) = recorded(-4.0, &mut Even(2012));
    let thinned = |(name, text): (String, String)| {
        let kept = text.lines().enumerate().filter(|it| it.0 % 6 == 0 || !name.contains("off"));
        let text = kept.map(|it| it.1).collect::<Vec<_>>().join("\n");
        (name, text)
    };
    let files = Files(named.into_iter().map(thinned).collect());
    let said = with_way(&plan(-4.0, "ss1-brake"));
    let said = said.replace("recorder = \"none\"", "recorder = \"first order 10 ms\"");
    if let Ok(found) = tried(&said, &files) {
        assert!(!found.is_released(), "{}", open(&found));
        assert!(
            open(&found).contains("the stops show whether the brake loses torque"),
            "{}",
            open(&found)
        );
    }
}
