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
        ("no inertia", without(&coasting, &["J", "tol_J"]), 0, "passed, NOT CONFIRMED"),
        ("no inertia", without(&coasting, &["J", "tol_J"]), 0, "`T_0`: no stop shows it"),
        ("no rounding", without(&stops, &["f"]), 0, "`f` is not read back"),
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
