//! Series made by rule, walked from door to door: sheets, kinds of stops, names of conditions, channels and filters. What
//! was recorded right is released when only what is printed is typed, and one slip in it never passes without a word.

use std::fmt::Write as _;

use standstill::calculation::Verdict;
use standstill::diagnostic::Source;
use standstill::recording::{Plan, Protocol};

use super::doubted::Even;
use super::kinds::{BRAKE, Course, Files, J, RPM, open};

pub(super) const N_0: f64 = 1450.0;

/// How the speed is recorded.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Channel {
    Speed,
    Volts,
    /// Counts of 4096 a turn that begin again after 65536.
    Counts,
}

/// A file of ten stops, each with its course; one channel is `late` by so much.
pub(super) fn file(
    stops: &[Course],
    delay: f64,
    late: f64,
    end: f64,
    channel: Channel,
    even: &mut Even,
) -> String {
    let mut text = "t in ms;x;stop;torque\n".to_owned();
    let mut turned = 0.0;
    for (at, course) in (0_u32..).zip(stops) {
        let phase = 2.0 * even.next();
        let mut clock = 0.0;
        while clock < 200.0 + end * 1e3 {
            let t = (clock - 200.0 + phase) / 1e3;
            turned += course(t) / 60.0 * 2e-3;
            let noisy = course(t) + (0..4).map(|_| even.next() - 0.5).sum::<f64>();
            let value = match channel {
                Channel::Speed => format!("{noisy:.3}"),
                Channel::Volts => format!("{:.5}", noisy / 150.0 + 0.02),
                Channel::Counts => format!("{}", (turned * 4096.0).floor().rem_euclid(65536.0)),
            };
            let now = f64::from(at) * 60_000.0 + clock;
            let (on, torque) = (u8::from(t < late), u8::from(t < delay + late));
            writeln!(text, "{now};{value};{on};{torque}").unwrap();
            clock += 2.0;
        }
        // nothing is recorded meanwhile, and somebody turns the machine
        turned += 16.0 * even.next();
    }
    text
}

/// A machine after a ramp of 0.32 s for 1500 r/min that works or not; torque goes at `delay`, a brake grips 60 ms later.
#[derive(Clone, Copy)]
pub(super) struct Machine {
    pub(super) from: f64,
    pub(super) delay: f64,
    pub(super) ramp: bool,
    pub(super) friction: f64,
    pub(super) brake: f64,
}

impl Machine {
    pub(super) fn stops(self, even: &mut Even) -> Vec<Course> {
        let course = |at: f64| -> Course {
            let (friction, response) = (self.friction * (1.0 + 0.01 * at), 0.014 + 0.002 * at);
            let fall = |torque: f64| torque / J / RPM;
            let grips = if self.brake > 0.0 { self.delay + 0.06 } else { f64::INFINITY };
            Box::new(move |t: f64| {
                if self.ramp {
                    return (self.from - 1500.0 / 0.32 * (t - response).max(0.0))
                        .clamp(0.0, self.from);
                }
                let free = self.from - fall(friction) * (t.min(grips) - self.delay).max(0.0);
                (free - fall(friction + self.brake) * (t - grips).max(0.0)).clamp(0.0, self.from)
            })
        };
        (0..10).map(|_| course(even.next())).collect()
    }
}

pub(super) const HEAD: &str = r#"
machine = "wrapper 3 (invented)"
instrument = "recorder R-12 (invented)"
calibrated = "2026-03-02"
measured = "2026-06-15"
next = "2027-06-15"
time = "t in ms"
stop = "stop falls"
removed = "torque falls"
standstill = "10 r/min"
filter = "8 ms"
recorder = "none"
error = "1 r/min"
n_ref = "1500 r/min"
t_ramp = "0.32 s"
tol_ramp = "5 %"
f = "0 %"
t_delay = "360 ms"
tol_delay = "2 %"
J = "0.0101 kg·m²"
tol_J = "2 %"
"#;

pub(super) const TAIL: &str = r#"
[distance]
sheet = "compare-with-calculation"
t_k = "measured times"
u = "measured uncertainty"
t_calc = "calculated WAY"
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

/// The calculations of a stop with a ramp, each with the friction and the brake of the machine that it is of.
const SHEETS: [(&str, f64, f64, &str); 4] = [
    (
        "calculated fails",
        1.7,
        0.0,
        r#"sheet = "ramp-then-release"
works = "t_ramp_works"
fails = "t_ramp_fails"
n_0 = "1450 r/min"
J_ref = "0.0101 kg·m² ± 2 %"
T_0 = "1.6 N·m"
T_load = "0 N·m"
lead = "0 mm/r"
t_ramp = "0.3 s"
f = "0 %"
n_ref = "1500 r/min"
tol_ramp = "5 %"
t_resp = "20 ms"
tol_delay = "2 %"
t_ramp_step = "0.01 s"
t_ramp_low = "0.01 s"
t_ramp_high = "600 s"
t_delay_step = "10 ms"
t_delay_low = "10 ms"
t_delay_high = "300000 ms"
"#,
    ),
    (
        "calculated fails",
        0.7,
        15.0,
        r#"sheet = "ss1-brake"
works = "t_works"
fails = "t_fails"
J = "0.0101 kg·m² ± 2 %"
n_0 = "1450 r/min"
T_0 = "0.6 N·m"
T_load = "0 N·m"
lead = "0 mm/r"
f = "0 %"
T_max = "12 N·m"
n_rated = "1500 r/min"
n_break = "3000 r/min"
T_b = "14 N·m"
t_b = "65 ms"
t_b_build = "20 ms"
n_max = "4000 r/min"
E_max = "1200 J"
t_resp = "20 ms"
t_ramp = "0.3094 s"
tol_ramp = "5 %"
tol_delay = "2 %"
t_delay = "360 ms"
"#,
    ),
    (
        "calculated fails",
        1.7,
        0.0,
        r#"sheet = "ramp-cut"
works = "t_stop"
fails = "t_fails"
n_0 = "1450 r/min"
t_dead = "20 ms"
t_ramp = "0.325 s"
t_cut = "0.3528 s"
t_late = "0.3672 s"
J = "0.0101 kg·m² ± 2 %"
T_0 = "1.6 N·m"
c = "0 N·m·s²/rad²"
T_load = "0 N·m"
"#,
    ),
    (
        "calculated works",
        1.7,
        0.0,
        r#"sheet = "ramp-stop"
works = "t_stop"
fails = "t_stop"
n_0 = "1450 r/min"
J = "0.0101 kg·m² ± 2 %"
t_dead = "20 ms"
t_ramp = "0.325 s"
f = "0 %"
T_0 = "1.6 N·m"
T_max = "12 N·m"
n_rated = "1500 r/min"
n_break = "3000 r/min"
T_load = "0 N·m"
lead = "0 mm/r"
"#,
    ),
];

/// A plan in its parts: what a person types into it.
#[derive(Clone)]
struct Typed {
    head: String,
    recordings: String,
    settings: String,
    calculation: String,
    tail: String,
}

impl Typed {
    fn text(&self) -> String {
        format!(
            "{}{}\n[settings]\n{}\n[calculation]\n{}{}",
            self.head, self.recordings, self.settings, self.calculation, self.tail
        )
    }

    fn taken(&self, name: &str) -> Option<String> {
        let begin = format!("{name} = ");
        let line = self.calculation.lines().find(|it| it.starts_with(&begin))?;
        Some(line.split('±').next().unwrap().trim_end().trim_end_matches('"').to_owned() + "\"")
    }

    /// Types what one finding prints; whether it says anything that can be typed.
    fn follow(&mut self, detail: &str, otherwise: &str) -> bool {
        let before = self.text();
        for part in detail.split("`: no stop shows it").collect::<Vec<_>>().windows(2) {
            let name = part[0].rsplit('`').next().unwrap();
            let line = self.taken(name).unwrap_or_else(|| panic!("{name}: {detail}"));
            match part[1].contains("say it in the plan, `J") {
                true => self.head += &format!("J = {}\n", line.split(" = ").nth(1).unwrap()),
                false => self.settings += &format!("{line}\n"),
            }
        }
        if let Some(rest) = otherwise.strip_prefix("leave ") {
            let (names, _) = rest.split_once(" out of the plan").unwrap();
            for name in names.split(", ").map(|it| it.trim_matches('`')) {
                let begin = format!("{name} = ");
                let kept = self.head.lines().filter(|it| !it.starts_with(&begin));
                self.head = kept.map(|it| format!("{it}\n")).collect();
            }
        }
        before != self.text()
    }
}

pub(super) fn tried(plan: &str, files: &Files) -> Result<Protocol, standstill::Problems> {
    let read = Plan::read(Some(&Source::new("p.toml", plan)), &[]);
    Protocol::make(&read.unwrap_or_else(|it| panic!("{it:?}\n{plan}")), &[], files)
}

pub(super) fn made(plan: &str, files: &Files) -> Protocol {
    tried(plan, files).unwrap_or_else(|it| panic!("{it:?}"))
}

/// Types what is printed until nothing more can be, at most twice.
fn walked(mut typed: Typed, files: &Files) -> (Protocol, Typed) {
    for _ in 0..2 {
        let found = made(&typed.text(), files);
        let open = |it: &&standstill::recording::Finding| it.verdict != Verdict::Holds;
        let followed: Vec<bool> = found
            .findings()
            .iter()
            .filter(open)
            .map(|it| typed.follow(&it.detail, &it.otherwise))
            .collect();
        if !followed.contains(&true) {
            return (found, typed);
        }
    }
    (made(&typed.text(), files), typed)
}

fn read_as(channel: Channel) -> &'static str {
    match channel {
        Channel::Speed => "speed = \"x in r/min\"\n",
        Channel::Volts => "speed = \"x in V scale 150 r/min per V offset 0.02 V\"\n",
        Channel::Counts => "position = \"x scale 1 r per 4096 counts wraps 65536 counts\"\n",
    }
}

/// A plan for a channel: a count of 4096 a turn within 2 ms is 7 r/min.
fn coarse(plan: &str, channel: Channel) -> String {
    match channel {
        Channel::Counts => plan
            .replace("standstill = \"10 r/min\"", "standstill = \"20 r/min\"")
            .replace("filter = \"8 ms\"", "filter = \"20 ms\""),
        _ => plan.to_owned(),
    }
}

/// Every sheet of a stop with a ramp, on every channel and with every spelling of a condition: released with what is
/// printed; and one slip each: it is not, or a line says what was found.
#[test]
fn what_is_recorded_right_is_released_with_what_is_printed() {
    let mut even = Even(1601);
    let names = [
        ("cold", "cold"),
        ("cold", "Cold (ramp off)"),
        ("cold", "ramp off, cold"),
        ("idle", "idle ramp disabled"),
    ];
    let channels = [Channel::Speed, Channel::Volts, Channel::Counts, Channel::Speed];
    for (at, (way, friction, brake, calculation)) in SHEETS.into_iter().enumerate() {
        let channel = channels[at];
        let (name, other) = names[at];
        let right = Machine { from: N_0, delay: 0.36, ramp: false, friction, brake };
        let typed = Typed {
            head: coarse(&format!("{HEAD}{}", read_as(channel)), channel),
            recordings: format!(
                "[[recordings]]\nfile = \"a.csv\"\ncondition = \"{name}\"\n[[recordings]]\nfile = \"b.csv\"\ncondition = \"{other}\"\nramp = \"disabled\"\n"
            ),
            settings: String::new(),
            calculation: calculation.to_owned(),
            tail: TAIL.replace("calculated WAY", way),
        };
        let alone = way == "calculated works";
        let recorded = |machine: Machine, late: f64, even: &mut Even| {
            let works = Machine { ramp: true, ..machine }.stops(even);
            let a = file(&works, 0.36, late, 0.8, channel, even);
            let b = file(&machine.stops(even), 0.36, late, 1.7, channel, even);
            Files(vec![("a.csv".to_owned(), a), ("b.csv".to_owned(), b)])
        };
        let only = |typed: &Typed| match typed
            .recordings
            .split_once("[[recordings]]\nfile = \"b.csv\"")
        {
            Some((first, _)) if alone => Typed { recordings: first.to_owned(), ..typed.clone() },
            _ => typed.clone(),
        };
        let files = recorded(right, 0.0, &mut even);
        let (found, typed) = walked(only(&typed), &files);
        assert!(found.is_released(), "{}{}", open(&found), typed.text());
        let quick = "the response is about as calculated";
        assert!(!open(&found).contains(quick), "{}", open(&found));
        if calculation.contains("t_resp = \"20 ms\"") {
            // by 13 ms late, less than the response: no sign but the response itself
            let found = made(&typed.text(), &recorded(right, 0.013, &mut even));
            assert!(open(&found).contains(quick), "{}", open(&found));
        }
        let count = if alone { 1 } else { 2 };
        assert_eq!(found.conditions.len(), count, "{name}, {other} are one condition");
        // one slip each
        for (what, files) in [
            ("both channels late", recorded(right, 0.03, &mut even)),
            ("slower", recorded(Machine { from: 1300.0, ..right }, 0.0, &mut even)),
            (
                "less friction and brake",
                recorded(
                    Machine { friction: 0.7 * friction, brake: 0.7 * brake, ..right },
                    0.0,
                    &mut even,
                ),
            ),
        ] {
            if alone && what.starts_with("less") {
                continue;
            }
            // a file that is refused is one with a word as well
            let Ok(found) = tried(&typed.text(), &files) else { continue };
            assert!(!found.is_released(), "{calculation}: {what}: {}", open(&found));
        }
    }
}

/// A brake alone, on every channel: no line but what was asked of the brake, and none that stands there always.
#[test]
fn a_brake_that_is_right_leaves_nothing_to_look_at() {
    let mut even = Even(1602);
    for channel in [Channel::Speed, Channel::Volts, Channel::Counts] {
        let plan = coarse(&BRAKE.replace("speed = \"n in r/min\"\n", read_as(channel)), channel);
        let machine = Machine { from: N_0, delay: 0.02, ramp: false, friction: 0.25, brake: 6.0 };
        let files = |late: f64, machine: Machine, even: &mut Even| {
            let text = file(&machine.stops(even), 0.02, late, 0.9, channel, even);
            Files(vec![("a.csv".to_owned(), text)])
        };
        let found = made(&plan, &files(0.0, machine, &mut even));
        assert!(found.is_released(), "{channel:?}: {}", open(&found));
        assert!(!open(&found).contains("run-down"), "{channel:?}: {}", open(&found));
        assert!(!open(&found).contains("is measured"), "{channel:?}: {}", open(&found));
        let one = plan.replace("stop = \"stop falls\"", "stop = \"torque falls\"");
        let found = made(&one, &files(0.0, machine, &mut even));
        let said =
            "name one channel, `torque`, so that it is 0 in every stop; calculated with 26 ms";
        assert!(!found.is_released() && open(&found).contains(said), "{}", open(&found));
        // and typed as it says
        let typed = one
            .replace("before = \"26 ms\"", "before = \"0 ms\"")
            .replace("t_delay = \"20 ms\"\ntol_delay = \"10 %\"\n", "");
        let found = made(&typed, &files(0.0, machine, &mut even));
        assert!(found.is_released(), "{channel:?}: {}", open(&found));
        let twice = files(0.0, machine, &mut even);
        let text = twice.0[0].1.replace(";stop;torque\n", ";stop;torque;again\n");
        let doubled = text.lines().map(|it| match it.rsplit_once(';') {
            Some((_, last)) if last != "again" => format!("{it};{last}\n"),
            _ => format!("{it}\n"),
        });
        let twice = Files(vec![("a.csv".to_owned(), doubled.collect())]);
        let found = made(
            &plan
                .replace("stop = \"stop falls\"", "stop = \"again falls\"")
                .replace("t_delay = \"20 ms\"\ntol_delay = \"10 %\"\n", ""),
            &twice,
        );
        assert!(open(&found).contains("both come in one sample in 10 stops"), "{}", open(&found));
        // another contact of what removes torque, a sample or two sooner
        let text = file(&machine.stops(&mut even), 0.003, 0.017, 0.9, channel, &mut even);
        let alone = plan.replace("t_delay = \"20 ms\"\ntol_delay = \"10 %\"\n", "");
        let found = made(&alone, &Files(vec![("a.csv".to_owned(), text)]));
        let said = "ms in the mean of 10 stops; calculated with 26 ms";
        assert!(open(&found).contains(said), "{}", open(&found));
        let weak = Machine { brake: 4.5, ..machine };
        let found = made(&plan, &files(0.0, weak, &mut even));
        assert!(!found.is_released(), "{channel:?}: {}", open(&found));
    }
}

/// The speed that was measured, taken by the calculation: up to which it holds is in the verdict, natural slip is shown
/// with what it means, and a condition from far slower is not passed.
#[test]
fn the_measured_speed_is_named_and_conditions_from_other_speeds_are_shown() {
    let mut even = Even(1603);
    let (_, friction, brake, calculation) = SHEETS[0];
    let calculation = calculation
        .replace("n_0 = \"1450 r/min\"", "n_0 = \"measured speed\"\nt_delay_used = \"360 ms\"");
    for (other, released, words) in [
        (1450.0, true, "up to 1450.2"),
        (1395.0, true, "under `loaded, ramp fails` 10 stops from 139"),
        (1300.0, false, "more than 5 % slower: c.csv"),
    ] {
        let mut files = Vec::new();
        let mut recordings = String::new();
        for (name, condition, from, ramp) in [
            ("a", "idle", N_0, true),
            ("b", "idle", N_0, false),
            ("c", "loaded", other, true),
            ("d", "loaded", other, false),
        ] {
            let stops = Machine { from, delay: 0.36, ramp, friction, brake }.stops(&mut even);
            files.push((
                format!("{name}.csv"),
                file(&stops, 0.36, 0.0, 1.7, Channel::Speed, &mut even),
            ));
            let off = if ramp { "" } else { "ramp = \"disabled\"\n" };
            recordings += &format!(
                "[[recordings]]\nfile = \"{name}.csv\"\ncondition = \"{condition}\"\n{off}"
            );
        }
        let typed = Typed {
            head: format!("{HEAD}{}", read_as(Channel::Speed)),
            recordings,
            settings: String::new(),
            calculation: calculation.clone(),
            tail: TAIL.replace("calculated WAY", "calculated fails"),
        };
        let (found, _) = walked(typed, &Files(files));
        let said = open(&found);
        assert_eq!(found.is_released(), released, "{other}: {said}");
        assert!(
            said.contains("the stops begin at the greatest speed that the machine reaches"),
            "{said}"
        );
        assert!(other == N_0 || said.contains(words), "{words}: {said}");
        assert!(
            !released || found.verdict_text().contains("it holds up to 1450"),
            "{}",
            found.verdict_text()
        );
    }
}
