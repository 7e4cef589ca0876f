//! What a calculation takes is measured, read back, or listed in the first words as not confirmed.

use std::fs;

use super::example::{STOPS, copied, printed, standstill};
use super::held::passing;

const COASTING: &str = "examples/measured-stops/coasting.toml";

/// Changes of a plan that passes, the exit code, and what is printed.
#[test]
fn every_input_of_the_stopping_time_is_shown_or_listed() {
    let folder = copied();
    let stops = passing(&fs::read_to_string(folder.path().join(STOPS)).unwrap());
    let coasting = fs::read_to_string(folder.path().join(COASTING)).unwrap();
    let without = |text: &str, keys: &[&str]| {
        let kept = text.lines().enumerate().filter(|(at, line)| {
            let of_the_plan = text.lines().take(*at).all(|line| !line.starts_with('['));
            let key = line.split('=').next().unwrap_or_default().trim();
            !(of_the_plan && keys.contains(&key))
        });
        kept.map(|(_, line)| format!("{line}\n")).collect::<String>()
    };
    let last = |text: &str, from: &str, to: &str| {
        let at = text.rfind(from).unwrap_or_else(|| panic!("{from}"));
        format!("{}{to}{}", &text[..at], &text[at + from.len()..])
    };
    for (what, plan, code, words) in [
        ("as it is", stops.clone(), 0, "it stands on a ramp that WORKS"),
        ("no inertia", without(&coasting, &["J", "tol_J"]), 1, "passed, NOT CONFIRMED"),
        ("no inertia", without(&coasting, &["J", "tol_J"]), 1, "`T_0`: no stop shows it"),
        ("no rounding", without(&stops, &["f"]), 1, "`f` is not read back"),
        (
            "another rounding",
            stops.replacen("f         = \"0 %\"", "f         = \"10 %\"", 1),
            1,
            "FAILS the ramp is rounded as calculated",
        ),
        (
            "a faster machine",
            last(&coasting, "\"1450 r/min\"", "\"1400 r/min\""),
            1,
            "FAILS the stops begin no faster than calculated",
        ),
        (
            "a reserve that is not calculated",
            format!("t_reserve = \"5 ms\"\n{stops}"),
            1,
            "FAILS the delay has the reserve that was calculated",
        ),
        (
            "a setting that the sheet does not give",
            format!("{stops}\n[settings]\nt_unlock = \"3 s\"\n"),
            2,
            "gives no setting `t_unlock`",
        ),
        (
            "a ramp that works where it is disabled",
            stops.replacen("condition = \"cold\"", "condition = \"cold\"\nramp = \"disabled\"", 1),
            1,
            "FAILS the ramp is disabled where it is said to be: it finishes in 10 stops",
        ),
        (
            "a tolerance of five times",
            stops.replacen("tol_ramp  = \"5 %\"", "tol_ramp  = \"500 %\"", 1),
            2,
            "`tol_ramp` = 500 % is not below 100 %",
        ),
        (
            "a tolerance that shows hardly anything",
            coasting.replacen("tol_J = \"2 %\"", "tol_J = \"60 %\"", 1),
            1,
            "look tolerances are narrow enough to show something: `tol_J` = 60 %",
        ),
        (
            "the friction that was measured, taken by the calculation",
            last(&coasting, "T_0    = \"1.6 N·m\"", "T_0    = \"measured T_0\""),
            0,
            "holds the friction is not less than the calculation takes",
        ),
        (
            "a friction that was looked up, and an inertia that is asked for where it is taken",
            coasting.replacen("J     = \"0.0101 kg·m²\"\ntol_J = \"2 %\"\n", "", 1)
                + "\n[settings]\nT_0 = \"1.6 N·m\"\nb = \"0 N·m·s/rad\"\nc = \"0 N·m·s²/rad²\"\nT_load = \"0 N·m\"\n",
            1,
            "not confirmed: `J`: no stop shows it, and nothing is said of it: look it up and say it in the plan, `J = \"…\"`",
        ),
        (
            "an inertia from a known torque, taken by the calculation",
            last(&coasting, "J      = \"0.0101 kg·m² ± 2 %\"", "J      = \"measured J\"").replacen(
                "J     = \"0.0101 kg·m²\"\ntol_J = \"2 %\"\n",
                "torque = \"1.66 N·m\"\n",
                1,
            ) + "\n[settings]\nT_0 = \"1.6 N·m\"\nb = \"0 N·m·s/rad\"\nc = \"0 N·m·s²/rad²\"\nT_load = \"0 N·m\"\n",
            0,
            "holds the inertia is not more than calculated: measured 0.0",
        ),
        (
            "an old calibration",
            stops.replacen("\"2026-03-02\"", "\"2016-03-02\"", 1),
            0,
            "calibrated 2016-03-02, 3757 days before the measurement, and nothing says for how long",
        ),
        (
            "a calibration that has run out",
            format!("calibrated_until = \"2026-06-14\"\n{stops}"),
            1,
            "FAILS the instrument is calibrated on the day of the measurement",
        ),
        (
            "a calibration that holds, said",
            format!("calibrated_until = \"2026-06-15\"\n{stops}"),
            0,
            "holds the instrument is calibrated on the day of the measurement",
        ),
        (
            "a calibration for twenty years",
            format!("calibrated_until = \"2046-06-15\"\n{stops}"),
            0,
            "look the calibration holds for as long as one does",
        ),
        (
            "a condition without a word",
            stops.replacen("condition = \"cold\"", "condition = \" \"", 1),
            2,
            "say under which it was recorded",
        ),
        (
            "a next check in twenty years",
            stops.replacen("\"2027-06-15\"", "\"2047-06-15\"", 1),
            0,
            "look the next check is within a year",
        ),
        (
            "stops of a clock that counts in minutes",
            last(&coasting, "T_0    = \"1.6 N·m\"", "T_0    = \"0.026 N·m\""),
            1,
            "FAILS the stops are not far shorter than calculated",
        ),
        (
            "a stopping time typed beside the calculation",
            stops.replacen("\"calculated works\"", "\"5 s\"", 1),
            2,
            "`t_calc` = 5 s is typed, and there is a calculation",
        ),
    ] {
        fs::write(folder.path().join(STOPS), plan).unwrap();
        let found = standstill(folder.path(), &["measured", STOPS]);
        let text = printed(&found).split_whitespace().collect::<Vec<_>>().join(" ");
        assert_eq!(found.status.code(), Some(code), "{what}: {text}");
        assert!(text.contains(words), "{what}: {text}");
    }
}

/// A clock whose heading states another unit than it counts in is asked about.
#[test]
fn a_clock_in_another_unit_is_asked() {
    let folder = copied();
    let plan = folder.path().join(STOPS);
    let stops = passing(&fs::read_to_string(&plan).unwrap());
    fs::write(&plan, stops.replace("\"t in ms\"", "\"t\"").replace("\"8 ms\"", "\"8 s\"")).unwrap();
    for name in ["cold", "warm"] {
        let file = folder.path().join(format!("examples/measured-stops/{name}.csv"));
        let text = fs::read_to_string(&file).unwrap();
        assert!(text.contains("t / ms;"));
        fs::write(&file, text.replacen("t / ms;", "t / s;", 1)).unwrap();
    }
    let found = standstill(folder.path(), &["measured", STOPS]);
    let text = printed(&found);
    assert_eq!(found.status.code(), Some(2), "{text}");
    assert!(text.contains("look whether the clock counts in the unit"), "{text}");
}

/// A sheet with inputs that are zero and a choice: each that moves the stopping time is said, or listed.
const BRAKED: &str = "sheet braked
takes
  n_0   : speed of rotation in r/min above 0 r/min
  J     : inertia in kg·m² above 0 kg·m²
  T_0   : torque in N·m above 0 N·m
  T_b   : torque in N·m from 0 N·m
  t_b   : time in ms from 0 ms
  lead  : travel per turn in mm/r from 0 mm/r
  closes : one of early, late
works
  t_late = when closes is late : 2 * t_b
           otherwise           : t_b
  t_stop = n_0 * J / (T_0 + T_b) + t_late
  s      = t_stop * n_0 * lead
gives
  t_stop in s
  s in mm
";

#[test]
fn an_input_of_zero_and_a_choice_are_said_or_listed() {
    let folder = copied();
    fs::write(folder.path().join("examples/measured-stops/braked.sheet"), BRAKED).unwrap();
    let plan = folder.path().join(COASTING);
    let text = fs::read_to_string(&plan).unwrap();
    let (from, to) = (text.find("[calculation]").unwrap(), text.find("[distance]").unwrap());
    let run = |inputs: &str, settings: &str| {
        let calculation = format!(
            "[calculation]\nsheet = \"./braked.sheet\"\nstops = \"t_stop\"\nbefore = \"30 ms\"\nJ = \"0.0101 kg·m² ± 2 %\"\nn_0 = \"1450 r/min\"\nT_0 = \"1.6 N·m\"\nlead = \"0 mm/r\"\n{inputs}\n[settings]\n{settings}\n"
        );
        fs::write(&plan, format!("{}{calculation}{}", &text[..from], &text[to..])).unwrap();
        let found = standstill(folder.path(), &["measured", COASTING]);
        let printed = printed(&found).split_whitespace().collect::<Vec<_>>().join(" ");
        (found.status.code(), printed)
    };
    let zero = "T_b = \"0 N·m\"\nt_b = \"0 ms\"\ncloses = \"early\"";
    let (code, found) = run(zero, "");
    assert_eq!(code, Some(1), "{found}");
    assert!(found.starts_with("passed, NOT CONFIRMED"), "{found}");
    for (name, listed) in [("T_b", true), ("t_b", true), ("lead", false), ("n_0", false)] {
        assert_eq!(
            found.contains(&format!("`{name}`: no stop shows it")),
            listed,
            "{name}: {found}"
        );
    }
    // with a choice that counts
    let more = zero.replace("t_b = \"0 ms\"", "t_b = \"1 ms\"");
    let (_, found) = run(&more, "T_b = \"0 N·m\"\nt_b = \"1 ms\"");
    assert!(found.starts_with("passed, NOT CONFIRMED"), "{found}");
    assert!(
        found.contains("`closes`: no stop shows it") && !found.contains("`t_b`: no stop"),
        "{found}"
    );
    let said = "T_b = \"0 N·m\"\nt_b = \"1 ms\"\ncloses = \"early\"";
    let (code, found) = run(&more, said);
    assert_eq!(code, Some(0), "{found}");
    assert!(found.starts_with("passed: "), "{found}");
    assert!(
        found.contains("holds `T_b` is as the calculation takes it: read back 0 N·m"),
        "{found}"
    );
    for (from, to, code, words) in [
        (
            "0 N·m",
            "1 N·m",
            0,
            "look `T_b` is as the calculation takes it: read back 1 N·m, calculated 0 N·m; with all that was read back no stop is longer",
        ),
        (
            "\"1 ms\"",
            "\"3 ms\"",
            1,
            "FAILS `t_b` is as the calculation takes it: read back 3 ms, calculated 1 ms",
        ),
        (
            "early",
            "late",
            1,
            "FAILS `closes` is as the calculation takes it: read back late, calculated early",
        ),
        ("early", "never", 2, "never"),
        ("\"1 ms\"", "\"1 mm\"", 2, "t_b"),
        (
            "T_b =",
            "n_0 =",
            2,
            "gives no setting `n_0` and takes no input `n_0` that could be said here",
        ),
    ] {
        let (found, text) = run(&more, &said.replacen(from, to, 1));
        assert_eq!(found, Some(code), "{to}: {text}");
        assert!(text.contains(words), "{to}: {text}");
    }
}
