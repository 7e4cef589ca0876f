//! Several plans in one call, a table of machines: no stop counts for two of them, no distance twice, and every option is
//! honoured or refused.

use std::fs;
use std::path::Path;

use super::doubted::{SAW, Saw};
use super::example::{printed, standstill};
use super::held::COASTS;

/// A plan of a machine and its recordings, in a folder.
fn machine(folder: &Path, name: &str, seed: u64, year: u32) {
    let text = Saw { seed, ..SAW }.recorded(&|speed, noise| speed + noise);
    fs::write(folder.join(format!("{name}.csv")), text).unwrap();
    let plan = COASTS
        .replace("saw.csv", &format!("{name}.csv"))
        .replace("saw (invented)", &format!("{name} (invented)"))
        .replace("2026-06-15", &format!("{year}-06-15"))
        .replace("2026-03-02", &format!("{year}-03-02"))
        .replace("2027-06-15", &format!("{}-06-15", year + 1));
    fs::write(folder.join(format!("{name}.toml")), plan).unwrap();
}

fn ran(folder: &Path, words: &[&str]) -> (Option<i32>, String) {
    let output = standstill(folder, &[&["measured"], words].concat());
    (output.status.code(), printed(&output).split_whitespace().collect::<Vec<_>>().join(" "))
}

/// A copy of a plan, of its recordings too, a link, another spelling of its path, another way to write a value: none of
/// them is a second machine, and none counts. Another device at the same machine, or another machine, does.
#[test]
fn no_plan_counts_twice_whatever_it_is_called() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    machine(folder, "a", 11, 2026);
    machine(folder, "b", 12, 2026);
    fs::create_dir(folder.join("copy")).unwrap();
    let plan = fs::read_to_string(folder.join("a.toml")).unwrap();
    fs::copy(folder.join("a.csv"), folder.join("copied.csv")).unwrap();
    let written = |name: &str, plan: &str| fs::write(folder.join(name), plan).unwrap();
    written("same.toml", &plan);
    written("moved.toml", &plan.replace("a.csv", "copied.csv"));
    written("said.toml", &format!("# the same\n{}", plan.replace("\"2500 mm\"", "\"2.5 m\"")));
    written("late.toml", &plan.replace("next = \"2027-06-15\"", "next = \"2027-06-14\""));
    written("cased.toml", &plan.replace("a (invented)", "A (invented) "));
    written("no-more.toml", &plan.replace("t_other = \"0 ms\"", "t_other = \"0 s\""));
    for other in ["same", "moved", "said", "late", "cased", "no-more"] {
        let other = format!("{other}.toml");
        let (code, text) = ran(folder, &["a.toml", "b.toml", &other]);
        assert_eq!(code, Some(2), "{other}: {text}");
        assert!(text.contains(&format!("`{other}` is `a.toml` once more")), "{other}: {text}");
        assert!(text.contains(&format!("remedy: leave `{other}` out")), "{other}: {text}");
        assert!(text.starts_with("NOT PASSED or NOT CONFIRMED: 2 of 3 plans"), "{other}: {text}");
    }
    for other in ["./a.toml", "copy/../a.toml"] {
        let (code, text) = ran(folder, &["a.toml", "b.toml", other]);
        assert!(code == Some(2) && text.contains("are one file"), "{other}: {text}");
    }
    #[cfg(unix)]
    {
        std::os::unix::fs::symlink("a.toml", folder.join("link.toml")).unwrap();
        let (code, text) = ran(folder, &["a.toml", "link.toml"]);
        assert!(
            code == Some(2) && text.contains("`link.toml` and `a.toml` are one file"),
            "{text}"
        );
        fs::hard_link(folder.join("a.toml"), folder.join("hard.toml")).unwrap();
        let (code, text) = ran(folder, &["a.toml", "hard.toml"]);
        assert!(code == Some(2) && text.contains("once more"), "{text}");
    }
    written("other.toml", &plan.replace("t_device = \"44 ms\"", "t_device = \"20 ms\""));
    let (code, text) = ran(folder, &["a.toml", "other.toml"]);
    assert_eq!(code, Some(0), "{text}");
    assert!(text.starts_with("passed: all 2 plans of 1 machine"), "{text}");
    let (code, text) = ran(folder, &["a.toml", "b.toml"]);
    assert!(code == Some(0) && text.starts_with("passed: all 2 plans machines"), "{text}");
    written("c.toml", &plan.replace("a (invented)", "c (invented)"));
    let (code, text) = ran(folder, &["a.toml", "c.toml"]);
    assert!(code == Some(2) && text.contains("no two machines stop alike"), "{text}");
}

/// What each option does with several plans; one that is new must be said here.
#[test]
fn every_option_is_honoured_or_refused_with_several_plans() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    machine(folder, "a", 21, 2025);
    let (code, text) = ran(folder, &["a.toml", "-o", "a-2025.json", "-o", "a-2025.xlsx"]);
    assert_eq!(code, Some(0), "{text}");
    machine(folder, "a", 22, 2026);
    machine(folder, "b", 23, 2026);
    let both = ["a.toml", "b.toml"];
    let with = |words: &[&str]| ran(folder, &[&both, words].concat());
    let help = ran(folder, &["--help"]).1;
    let mut tried = Vec::new();
    for option in help.split_whitespace().filter(|it| it.starts_with("--")) {
        if tried.contains(&option) {
            continue;
        }
        tried.push(option);
        match option {
            "--json" => {
                let output = standstill(folder, &[&["measured"], &both[..], &["--json"]].concat());
                assert_eq!(output.status.code(), Some(0));
                let json: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
                assert_eq!(json["verdict"], "passed: all 2 plans");
                assert_eq!((&json["holds"], &json["confirmed"]), (&true.into(), &true.into()));
                for (at, name) in both.into_iter().enumerate() {
                    let plan = &json["plans"][at];
                    assert_eq!(plan["plan"], name);
                    assert_eq!(
                        (&plan["released"], &plan["overdue"]),
                        (&true.into(), &false.into())
                    );
                    let alone = standstill(folder, &["measured", name, "--json"]);
                    let mut alone: serde_json::Value =
                        serde_json::from_slice(&alone.stdout).unwrap();
                    alone.as_object_mut().unwrap().remove("format");
                    assert_eq!(plan["protocol"], alone, "{name}");
                    assert!(plan["distance"].as_str().unwrap().starts_with("S = "), "{plan}");
                }
            }
            "--output" => {
                let (code, text) = with(&["-o", "line.xlsx", "-o", "line.json"]);
                assert!(code == Some(0) && text.contains("line.xlsx, line.json written"), "{text}");
                let (code, text) = with(&["-o", "line.html"]);
                assert!(code == Some(2) && text.contains("write `-o line.xlsx`"), "{text}");
                let (code, text) = with(&["--before", "line.json"]);
                assert!(code == Some(4) && text.contains("the table of several plans"), "{text}");
                let (code, text) = ran(folder, &["a.toml", "none.toml", "-o", "none.xlsx"]);
                assert!(code == Some(4) && text.contains("Nothing was written"), "{text}");
                assert!(!folder.join("none.xlsx").exists());
            }
            "--force" => {
                let (code, text) = with(&["-o", "line.xlsx"]);
                assert!(code != Some(0), "it is there: {text}");
                let (code, text) = with(&["-o", "line.xlsx", "--force"]);
                assert_eq!(code, Some(0), "{text}");
            }
            "--before" => {
                for before in ["a-2025.json", "a-2025.xlsx"] {
                    let (code, text) = with(&["--before", before]);
                    let alone = ran(folder, &["a.toml", "--before", before]).1;
                    let a_year = alone.split(" ms a year").next().unwrap();
                    let a_year = a_year.rsplit(' ').next().unwrap();
                    assert_eq!(code, Some(0), "{text}");
                    assert!(text.contains("trend") && a_year.parse::<f64>().is_ok(), "{a_year}");
                    assert!(text.contains(&format!(" {a_year} ms a year")), "{a_year}: {text}");
                }
                let (code, text) = ran(folder, &["b.toml", "b.toml", "--before", "a-2025.json"]);
                assert!(code == Some(2) && text.contains("named twice"), "{text}");
                machine(folder, "c", 24, 2026);
                let (code, text) = ran(folder, &["b.toml", "c.toml", "--before", "a-2025.json"]);
                let words = "a protocol of `a (invented)`, and the plans are of `b (invented)`";
                assert!(code == Some(2) && text.contains(words), "{text}");
                let plan = fs::read_to_string(folder.join("a.toml")).unwrap();
                let device = plan.replace("t_device = \"44 ms\"", "t_device = \"20 ms\"");
                fs::write(folder.join("a-2.toml"), device).unwrap();
                let (code, text) = ran(folder, &["a.toml", "a-2.toml", "--before", "a-2025.json"]);
                assert!(code == Some(2) && text.contains("of which 2 plans are named"), "{text}");
                let typed = text.split("`standstill measured ").nth(1).unwrap();
                let typed: Vec<&str> = typed.split('`').next().unwrap().split(' ').collect();
                assert_eq!(ran(folder, &typed).0, Some(0), "{typed:?}");
            }
            "--stops" => {
                let (code, text) = with(&[option]);
                assert!(code == Some(2) && text.contains("belongs to one plan"), "{text}");
            }
            // of every command alike
            "--sheets" | "--help" => {}
            other => panic!("say what `{other}` does with several plans"),
        }
    }
    assert!(tried.len() > 5, "{tried:?}");
    let (code, text) = with(&["machine=saw"]);
    assert!(code == Some(2) && text.contains("belongs to one plan"), "{text}");
}
