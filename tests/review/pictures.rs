//! Pictures: every kind is drawn, well-formed, in words, with units on its axes; figures by hand.

use standstill::diagnostic::Source;
use standstill::environment::{Environment, NoFs};
use standstill::review::{page, read};

use super::{Files, example, is_well_formed, parts};

fn drawn(text: &str) -> Vec<String> {
    drawn_beside(text, &NoFs)
}

fn drawn_beside(text: &str, files: &dyn Environment) -> Vec<String> {
    let document = read(&Source::new("doc.md", text), files).unwrap();
    parts(&page(&document, "now"), "svg").into_iter().map(str::to_owned).collect()
}

const ALL: &str = "```sheet safe-stop as stop\nexamples\nT_0 = 1.6 N·m ± 10 %\nU_0 = 565 V ± 2 %\n```\n\n```sheet run-down as coast\nexamples\nJ = 0.0101 kg·m² ± 5 %\n```\n\n```sheet ramp-then-release as cut\nexamples\nt_delay_used = 300 ms ± 5 ms\nlead = 20 mm/r\n```\n\n```sheet brake-resistor as res\nexamples\nt_ramp = 0.4 s ± 5 %\n```\n\n```sheet resistor-pulse as pulse\nexamples\nR_th = 0.8 K/W ± 5 %\n```\n\n```sheet motor-thermal as motor\nexamples\n```\n\n```sheet brake-heating as heat\nexamples\nh = 25 W/(m²·K) ± 20 %\n```\n\n```sheet separation-curtain as curtain\nexamples\n```\n";

#[test]
fn every_picture_is_well_formed_and_said_in_words() {
    let all = drawn(ALL);
    let titles = [
        "Speed and travel over time in a stop",
        "DC-link voltage and power of the braking resistor in a stop",
        "Plan view of danger, light curtain and separation distance",
        "Speed and travel over time in a run-down",
        "Temperature over the duty cycle",
        "Temperature of the brake, stop after stop",
    ];
    for title in titles {
        assert!(
            all.iter().any(|svg| svg.contains(&format!("<title>{title}</title><desc>"))),
            "{title}"
        );
    }
    for svg in &all {
        assert!(is_well_formed(svg), "{svg}");
        assert!(
            svg.contains("role=\"img\"") && !svg.contains("NaN") && !svg.contains("inf"),
            "{svg}"
        );
    }
    for unit in [
        "motor speed / (r/min)", "angle of the load / r", "travel / mm", "time / s", "time / min",
        "DC-link voltage / V", "power / W", "temperature / °C",
    ] {
        assert!(all.iter().any(|svg| svg.contains(&format!(">{unit}</text>"))), "{unit}");
    }
}

#[test]
fn a_band_is_drawn_where_inputs_have_tolerances_and_nowhere_else() {
    let bands = |text: &str| drawn(text).iter().filter(|svg| svg.contains("class=\"bd\"")).count();
    assert_eq!(bands(ALL), 7, "all but those of motor and curtain, and the plan of the stop");
    assert_eq!(bands(&ALL.replace(" ± ", " # ")), 0);
}

// by hand: the link takes up 470 µF · (780² − 565²) V²/2 = 67.95 J of the 80.738 J; power falls straight, so it
// is full after 0.29387 s · (1 − √(1 − 67.95/80.738)) = 0.1769 s; without a chopper √(565² + 2 · 80.738/470e-6) = 814.1 V
#[test]
fn the_link_is_full_when_its_capacitance_says_so() {
    let with = drawn("```sheet safe-stop as stop\nexamples\n```\n");
    assert!(
        with[1].contains("from 0.1769 s on") && with[1].contains("rises from 565 V to 780 V"),
        "{}",
        with[1]
    );
    let without =
        drawn("```sheet safe-stop as stop\nexamples\nchopper = no\nU_trip = 900 V\n```\n");
    assert!(
        without[1].contains("takes it all up")
            && without[1].contains("rises from 565 V to 814.1 V"),
        "{}",
        without[1]
    );
}

// tests/published_values/resistor-pulse.cases: greatest rise by a differential equation marched until nothing changes
#[test]
fn a_temperature_curve_reaches_the_peak_that_the_sheet_gives() {
    let all = drawn("```sheet resistor-pulse as pulse\nexamples\n```\n");
    assert!(all[0].contains("after very many cycles: at most 131.1 °C"), "{}", all[0]);
}

// by hand, ISO 13855:2010 (from memory): 1600 mm/s · (25 + 310) ms = 536 mm, and 1200 mm − 0.4 · 300 mm = 1080 mm, 1616 mm;
// two-hand control 1600 mm/s · (t_device + 100.3 ms) + 250 mm
#[test]
fn every_protective_device_has_its_plan() {
    let field = drawn("```sheet parallel-approach as field\nexamples\n```\n");
    for part in [
        "The outer edge of the field must stand 1616 mm from the danger",
        "K·T = 1600 mm/s · 335 ms = 536 mm",
        "C = 1080 mm: reach towards the danger",
    ] {
        assert!(field[0].contains(part), "{part}: {}", field[0]);
    }
    // the distance as it is given, rounded up, with what rounding adds
    let hands = drawn(
        "```sheet two-hand-control as hands\nexamples\nt_device = 20 ms\nt_stop = 100.3 ms\n```\n",
    );
    for part in ["nearer actuator must stand 443 mm", "= 192.5 mm", "0.52 mm: rounding up"] {
        assert!(hands[0].contains(part), "{part}: {}", hands[0]);
    }
    for sheet in ["pressure-mat", "several-beams", "guard-opening"] {
        let plan = drawn(&format!("```sheet {sheet} as it\nexamples\n```\n"));
        assert!(plan[0].contains("Plan view of danger"), "{sheet}");
    }
}

/// The points of the curves of a class, in the panels of a picture from above: of the frame in `plot.rs`, whose axes reach
/// 4 % and 6 % beyond the largest time and the largest values.
fn points(svg: &str, class: &str, far: f64, highs: [f64; 2]) -> [Vec<(f64, f64)>; 2] {
    let begin = format!("<path class=\"{class}\" d=\"M");
    let mut paths = svg.split(&begin).skip(1);
    [(218.0, 190.0, highs[0]), (404.0, 150.0, highs[1])].map(|(bottom, height, high)| {
        let d = paths.next().unwrap().split('"').next().unwrap();
        let point = |text: &str| {
            let (x, y) = text.split_once(' ').unwrap();
            let (x, y): (f64, f64) = (x.parse().unwrap(), y.parse().unwrap());
            ((x - 62.0) / 564.0 * far * 1.04, (bottom - y) / height * high * 1.06)
        };
        d.split('L').map(point).collect()
    })
}

/// The area under a curve in r/min over s, in r.
fn turned(points: &[(f64, f64)]) -> f64 {
    points.windows(2).map(|it| (it[1].0 - it[0].0) * (it[1].1 + it[0].1) / 120.0).sum()
}

/// A brake that takes hold under a load, there and back, marched in steps of a microsecond: from a speed in rad/s, the
/// time and the angle in r until it stands for good, and the highest speed in r/min. The axis of `hanging-load`.
///
/// Source: angular momentum balance.
fn marched(mut speed: f64, free: f64) -> (f64, f64, f64) {
    let (inertia, friction, load, brake, build) = (0.0101, 0.6, -5.0_f64, 15.0, 0.04);
    let (step, mut time, mut angle, mut high) = (1e-6, 0.0, 0.0, speed);
    loop {
        let held = friction + brake * ((time - free) / build).clamp(0.0, 1.0);
        if speed == 0.0 && held >= load.abs() {
            break (time, angle / std::f64::consts::TAU, high * 30.0 / std::f64::consts::PI);
        }
        // from rest it goes where the load drives it
        let way = if speed == 0.0 { -load.signum() } else { f64::signum(speed) };
        let next = speed + step * (-load - way * held) / inertia;
        let next = if next * speed < 0.0 { 0.0 } else { next };
        angle += step * (speed + next).abs() / 2.0;
        time += step;
        speed = next;
        high = high.max(speed.abs());
    }
}

#[test]
fn a_course_is_drawn_as_a_simulation_has_it() {
    let files = Files([("hanging-load.sheet", example("hanging-load.sheet"))].into());
    let text = "```sheet hanging-load as load\nexamples\n```\n";
    let all = drawn_beside(text, &files);
    let [svg] = all.as_slice() else { panic!("{}", all.len()) };
    let n = 1450.0 * std::f64::consts::PI / 30.0;
    let (late, resp, ramp) = (0.36 * 1.02, 0.02, 0.3 * 1.05);
    let [kept, fails, lost] = [marched(0.0, 0.06), marched(n, 0.06), marched(n, late + 0.06)];
    let revolutions = 1450.0 / 60.0;
    let ends = [
        (late + kept.0, revolutions * (resp + ramp / 2.0) + kept.1),
        (late + fails.0, revolutions * late + fails.1),
        (lost.0, lost.1),
    ];
    for (class, end) in ["c1", "c2", "c3"].into_iter().zip(ends) {
        let [speed, angle] = points(svg, class, lost.0, [lost.2, lost.1]);
        let last = angle[angle.len() - 1];
        // a tenth of a point of the picture is 0.00015 s and 0.02 r
        assert!(
            (last.0 - end.0).abs() < 3e-4 && (last.1 - end.1).abs() < 0.04,
            "{class}: {last:?} {end:?}"
        );
        let area = turned(&speed);
        assert!((area - end.1).abs() < 0.015 * end.1, "{class}: {area} {end:?}");
        assert!(speed.iter().all(|it| it.1 > -5.0));
    }
    // the highest speed, which no curve through the states knows, and the phases by their names
    assert!(svg.contains(&format!("n_hi of lost: {:.0} r/min", lost.2)), "{svg}");
    for words in ["wait until 0.02 s, ramp until 0.335 s, hold until 0.3672 s,", ">runs<", ">ramp<"]
    {
        assert!(svg.contains(words), "{words}: {svg}");
    }
    assert!(is_well_formed(svg));
}

const STATE: &str = "group turning\ntitle \"how it turns\"\ntakes\n  n : speed of rotation in r/min from 0 r/min\n  \
    phi : angle in r = 0 r\n  t : time in s = 0 s\n";

const COAST: &str = "sheet coast\ntitle \"run-down by friction and drag\"\nsource \"s\"\ntakes\n  state turning\n  \
    J : inertia in kg·m² above 0 kg·m²\n  T : torque in N·m from 0 N·m\n  \
    b : speed-proportional drag in N·m·s/rad above 0 N·m·s/rad\nworks\n  \
    t_run = when T > 0 N·m : J / b * ln(1 + b * n / max(T, 1e-9 N·m))\n    otherwise : never \"drag alone stops nothing\"\n  \
    next n = 0 r/min\n  next phi = phi + (J * n - T * t_run) / b\n  next t = t + t_run\n";

const COASTING: &str = "sheet coasting\ntitle \"a run-down\"\nsource \"s\"\nuses\n  free = course of turning from n = n_0\n    \
    run = coast with J, T, b\ntakes\n  n_0 : speed of rotation in r/min above 0 r/min like 1500 r/min\n  \
    J : inertia in kg·m² above 0 kg·m² like 2 kg·m²\n  T : torque in N·m from 0 N·m like 4 N·m\n  \
    b : speed-proportional drag in N·m·s/rad above 0 N·m·s/rad like 0.05 N·m·s/rad\n\
    gives\n  free.t in s as t_stop, free.phi in r as phi_stop\n";

// J·dω/dt = −T − b·ω by hand: ω = (ω_0 + T/b)·e^(−b·t/J) − T/b
#[test]
fn a_run_down_with_drag_is_drawn_near_its_own_course() {
    let files = [("turning.group", STATE), ("coast.sheet", COAST), ("coasting.sheet", COASTING)];
    let files = Files(files.map(|(name, text)| (name, text.as_bytes().to_vec())).into());
    let of = |torque: &str| {
        drawn_beside(&format!("```sheet coasting as it\nexamples\n{torque}\n```\n"), &files)
            .remove(0)
    };
    for (given, torque) in [("T = 4 N·m", 4.0), ("T = 40 N·m", 40.0), ("T = 1 N·m", 1.0)] {
        let (n, inertia, drag) = (50.0 * std::f64::consts::PI, 2.0_f64, 0.05);
        let end = inertia / drag * (1.0 + drag * n / torque).ln();
        let angle = (inertia * n - torque * end) / drag / std::f64::consts::TAU;
        let [speed, way] = points(&of(given), "c1", end, [1500.0, angle]);
        assert!((turned(&speed) - angle).abs() < 0.01 * angle, "{given}: {}", turned(&speed));
        assert!((way[way.len() - 1].1 - angle).abs() < 0.002 * angle);
        for (time, shown) in speed {
            let true_speed =
                ((n + torque / drag) * (-drag * time / inertia).exp() - torque / drag) * 30.0;
            let off = (shown - true_speed / std::f64::consts::PI).abs();
            assert!(off < 0.06 * 1500.0, "{given}: {shown} at {time} s, off by {off}");
        }
    }
    let never = of("T = 0 N·m");
    assert!(
        never.contains("free: no end, run ends in no state") && is_well_formed(&never),
        "{never}"
    );
    assert!(never.contains("<path class=\"c1\" d=\"M62 38.8\"/>"), "{never}");
}
