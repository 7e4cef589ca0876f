//! Load and friction of a calculation against what moves the machine between the removal of torque and the grip of its
//! brake, from door to door: series whose truth is in closed form. More that drives than calculated fails, whichever
//! input is wrong; what was recorded right is not refused.

use standstill::calculation::Verdict;
use standstill::recording::Protocol;

use super::doors::{N_0, made, tried};
use super::doubted::Even;
use super::kinds::{Course, Files, J, RPM, open};
use super::lost::{Brake, COLD, WARM, failing, plan, with_stops, with_way};

const DRIVES: &str = "what drives before the brake grips is not more than calculated";

/// How the finding came out, and its words.
fn found(protocol: &Protocol) -> (Verdict, String, String) {
    let it = protocol.findings().iter().find(|it| it.text == DRIVES);
    let it = it.unwrap_or_else(|| panic!("{}", open(protocol)));
    (it.verdict, it.detail.clone(), it.otherwise.clone())
}

fn both(load: f64, brakes: [Brake; 2], even: &mut Even) -> Files {
    with_stops(brakes.map(|brake| failing(load, brake, even)), even)
}

/// What is typed in backticks, such as `T_load = "-3 N·m"`, in the place of the line of that name.
fn typed(plan: &str, words: &str) -> String {
    let line = words.split('`').find(|it| it.contains(" = \"")).unwrap();
    let name = line.split(' ').next().unwrap();
    let lines = plan.lines().map(|it| if it.split(' ').next() == Some(name) { line } else { it });
    lines.collect::<Vec<_>>().join("\n")
}

/// The load of the stops is -4 N·m: a plan that says less of it, more friction, or more inertia, fails, and what the
/// finding says passes when it is typed.
#[test]
fn more_that_drives_than_calculated_fails() {
    let files = both(-4.0, [COLD, WARM], &mut Even(2201));
    let right = with_way(&plan(-4.0, "ss1-brake"));
    let protocol = made(&right, &files);
    assert!(protocol.is_released(), "{}", open(&protocol));
    assert_eq!(found(&protocol).0, Verdict::Holds);
    for (from, to, names) in [
        ("\"-4 N·m\"", "\"-3 N·m\"", "-3 N·m"),
        ("0.0101 kg·m²", "0.0131 kg·m²", "J = 0.012838 kg·m²"),
    ] {
        let wrong = right.replace(from, to);
        let protocol = made(&wrong, &files);
        let (verdict, detail, otherwise) = found(&protocol);
        assert_eq!(verdict, Verdict::Fails, "{to}: {detail}");
        assert!(detail.contains(names) && detail.contains("times as much"), "{to}: {detail}");
        let again = made(&typed(&wrong, &otherwise), &files);
        assert_eq!(found(&again).0, Verdict::Holds, "{to}, {otherwise}: {}", found(&again).1);
    }
    let axis = plan(-2.0, "axis-stop");
    assert_eq!(found(&made(&axis, &files)).0, Verdict::Fails);
}

/// One stop in ten under a heavier load fails, though all together they lie within.
#[test]
fn one_stop_that_surely_drives_more_is_not_excused_by_the_others() {
    let mut even = Even(2208);
    let mut stops = [COLD, WARM].map(|brake| failing(-3.8, brake, &mut even));
    stops[0][9] = failing(-5.6, COLD, &mut even).remove(0);
    let files = with_stops(stops, &mut even);
    let protocol = made(&with_way(&plan(-4.0, "ss1-brake")), &files);
    let (verdict, detail, _) = found(&protocol);
    assert_eq!(verdict, Verdict::Fails, "{detail}");
    assert!(detail.contains("the stop of cold-off.csv"), "{detail}");
}

/// Friction of which the brake hides that it is not there: the whole stop is as calculated.
#[test]
fn friction_that_is_not_there_fails_beside_a_brake() {
    let files = both(0.0, [COLD, WARM], &mut Even(2202));
    let wrong = plan(0.0, "ss1-brake").replace("T_0 = \"0.6 N·m\"", "T_0 = \"0.9 N·m\"");
    let (verdict, detail, otherwise) = found(&made(&wrong, &files));
    assert_eq!(verdict, Verdict::Fails, "{detail}");
    assert!(otherwise.contains("`T_0 = \"0."), "{otherwise}");
    let again = made(&typed(&wrong, &otherwise), &files);
    assert!(again.is_released(), "{otherwise}: {}", open(&again));
}

/// A stop with the ramp off: load and friction by the speed and the time after removal, a brake that grips so late and
/// reaches its torque in so long a time, and what is added to the speed.
fn course(
    torque: impl Fn(f64, f64) -> f64 + 'static,
    (late, brake, build): (f64, f64, f64),
    added: impl Fn(f64) -> f64 + 'static,
) -> Course {
    const STEP: f64 = 1e-4;
    let (mut speed, mut all) = (N_0, Vec::new());
    for at in 0..14_000_u32 {
        let t = f64::from(at) * STEP - 0.36;
        all.push(speed);
        if t >= 0.0 {
            let full = if build > 0.0 { ((t - late) / build).clamp(0.0, 1.0) } else { 1.0 };
            let braking = if t >= late { brake * full } else { 0.0 };
            speed = (speed - (torque(speed, t) + braking) / J / RPM * STEP).max(0.0);
        }
    }
    Box::new(move |t: f64| {
        let at = (t.max(0.0) / STEP).floor();
        let speed = all.get(at as usize).copied().unwrap_or(0.0);
        if speed > 0.0 { speed + added(t) } else { 0.0 }
    })
}

/// Stops of another kind than the closed form: never refused, and never said to hold where the brake hides the load.
#[test]
fn right_series_of_every_kind_are_not_refused() {
    let mut even = Even(2203);
    type Kind = (&'static str, f64, fn(f64) -> Course);
    let kinds: [Kind; 7] = [
        ("friction that grows with the speed", 0.0, |f| {
            course(|n, _| 0.6 + 0.002 * n, (0.06, 14.0 * f, 0.0), |_| 0.0)
        }),
        ("a load that grows as it falls", -3.0, |f| {
            course(|_, t| 0.6 - 3.0 - 2.0 * (t - 0.06).max(0.0), (0.06, 14.0 * f, 0.0), |_| 0.0)
        }),
        ("a brake that builds up slowly", -3.0, |f| {
            course(|_, _| 0.6 - 3.0, (0.03, 15.0 * f, 0.06), |_| 0.0)
        }),
        ("a brake that begins at once, slowly", -3.0, |f| {
            course(|_, _| 0.6 - 3.0, (0.0, 15.0 * f, 0.08), |_| 0.0)
        }),
        ("torque that is gone 4 ms late", 0.0, |f| {
            course(|_, t| if t < 0.004 { 0.0 } else { 0.6 }, (0.06, 14.0 * f, 0.0), |_| 0.0)
        }),
        ("a ripple, alike in every stop", -3.0, |f| {
            course(|_, _| 0.6 - 3.0, (0.06, 14.0 * f, 0.0), |t| 1.5 * (150.0 * t).sin())
        }),
        ("a load that helps", 2.0, |f| course(|_, _| 0.6 + 2.0, (0.06, 14.0 * f, 0.0), |_| 0.0)),
    ];
    for (name, load, of) in kinds {
        let mut stops = || (0..10).map(|_| of(1.0 + 0.01 * even.next())).collect::<Vec<_>>();
        let both = [stops(), stops()];
        let files = with_stops(both, &mut even);
        let protocol = made(&plan(load, "ss1-brake"), &files);
        let all = protocol.findings().iter().filter(|it| it.text == DRIVES);
        let all: Vec<_> = all.collect();
        assert!(all.iter().all(|it| it.verdict != Verdict::Fails), "{name}: {}", open(&protocol));
        if name.contains("at once") {
            let (verdict, detail, _) = found(&protocol);
            assert_eq!(verdict, Verdict::Caution, "{name}: {detail}");
            assert!(detail.contains("ms would show it"), "{name}: {detail}");
        }
        assert!(protocol.is_released() || name.contains("gone"), "{name}: {}", open(&protocol));
    }
}

/// As long as is said to be needed is enough, and much less is not.
#[test]
fn what_is_said_to_be_long_enough_is() {
    let mut even = Even(2204);
    let of = |late: f64, even: &mut Even| {
        let brake = (late, 14.0, 0.0);
        let stops = |even: &mut Even| {
            let one =
                |_| course(|_, _| 0.6 - 3.0, (brake.0, brake.1 + 0.1 * even.next(), 0.0), |_| 0.0);
            (0..10).map(one).collect::<Vec<_>>()
        };
        let both = [stops(even), stops(even)];
        found(&made(&plan(-3.0, "ss1-brake"), &with_stops(both, even)))
    };
    let (verdict, detail, _) = of(0.008, &mut even);
    assert_eq!(verdict, Verdict::Caution, "{detail}");
    let needs = detail.split("; about ").nth(1).unwrap().split(' ').next().unwrap();
    let needs: f64 = needs.parse().unwrap();
    assert!((10.0..60.0).contains(&needs), "{needs}");
    let (verdict, detail, _) = of(needs * 1.25e-3, &mut even);
    assert_eq!(verdict, Verdict::Holds, "{needs}: {detail}");
}

/// A load that drives only within its tolerance: what is printed makes the calculation exist when it is typed.
#[test]
fn a_load_that_drives_within_its_tolerance_alone_has_a_way_on() {
    let files = both(-0.62, [COLD, WARM], &mut Even(2205));
    let open_ended = plan(-0.55, "ss1-brake")
        .replace("\"-0.55 N·m\"", "\"-0.55 N·m ± 20 %\"")
        .replace("\"0.6 N·m\"", "\"0.6 N·m ± 5 %\"");
    let problems = tried(&open_ended, &files).unwrap_err();
    let problem = problems.iter().find(|it| it.headline.contains("within all")).unwrap();
    assert!(!problem.remedy.contains("never ends"), "{}", problem.remedy);
    let protocol = made(&typed(&open_ended, &problem.remedy), &files);
    assert!(protocol.is_released(), "{}", open(&protocol));
}

/// What is missing of torque lost and of an axis is asked for in the words that hand it what was measured.
#[test]
fn what_is_missing_is_asked_for_in_words_that_are_read() {
    let files = both(-4.0, [COLD, WARM], &mut Even(2206));
    let right = with_way(&plan(-4.0, "ss1-brake"));
    for name in ["t_other", "s_meas"] {
        let begins = format!("{name} = ");
        let without: Vec<&str> = right.lines().filter(|it| !it.starts_with(&begins)).collect();
        let problems = tried(&without.join("\n"), &files).unwrap_err();
        let remedy = &problems.iter().next().unwrap().remedy;
        let line = remedy.split('`').nth(1).unwrap();
        let again = without.join("\n").replace("[distance]", &format!("[distance]\n{line}"));
        assert!(made(&again, &files).is_released(), "{name}: {remedy}");
    }
}

/// A longer stop that is said for a brake which holds less at speed is no longer asked for, once its way is said, too.
#[test]
fn a_longer_stop_that_is_said_is_not_asked_for_again() {
    const HOLDS: &str = "the brake holds as much at the speed";
    let files = both(-4.0, [COLD, WARM], &mut Even(2207));
    let right = with_way(&plan(-4.0, "ss1-brake"));
    let longer = right.replace("measured loss of torque", "900 ms");
    assert!(tried(&longer, &files).is_err(), "its way is that of another stop");
    let whole = longer.replace("measured way", "600 mm").replace("measured speed", "1200 mm/s");
    let protocol = made(&whole, &files);
    assert!(protocol.is_released() && !open(&protocol).contains(HOLDS), "{}", open(&protocol));
}
