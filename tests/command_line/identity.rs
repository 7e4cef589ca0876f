//! Which sheet runs: files laid about in every combination, with an oracle of which sheet must run or which
//! problem must come. Each sheet gives a figure that no other gives, so the figure says which one ran.

use std::fs;
use std::path::Path;

use super::{output_text, standstill};

/// A sheet without inputs whose one result is `n`.
fn sheet(name: &str, uses: &str, n: &str) -> String {
    format!(
        "sheet {name}\ntitle \"t\"\nsource \"none\"\n{uses}takes\n  x : ratio = 1\nworks\n  n = {n} * x\ngives\n  n\n"
    )
}

/// Where the own sheets lie; `beside` is beside what asks.
#[derive(Clone, Copy, Debug, PartialEq)]
enum At {
    Beside,
    Said,
    Settings,
}

/// How a file is written.
#[derive(Clone, Copy, Debug, PartialEq)]
enum As {
    Plain,
    MarkAndCarriageReturns,
    NotText,
    Folder,
}

fn lay(folder: &Path, text: &str, how: As, name: &str) {
    fs::create_dir_all(folder).unwrap();
    let path = folder.join(format!("{name}.sheet"));
    match how {
        As::Plain => fs::write(path, text).unwrap(),
        As::MarkAndCarriageReturns => {
            fs::write(path, format!("\u{feff}{}", text.replace('\n', "\r\n"))).unwrap();
        }
        As::NotText => fs::write(path, [b"sheet x\n".as_slice(), &[0xff, 0xfe]].concat()).unwrap(),
        As::Folder => fs::create_dir(path).unwrap(),
    }
}

/// What must come out: the figure of the sheet that runs, or the name of the problem.
#[derive(Clone, Copy, Debug)]
enum Expect {
    Figure(&'static str),
    Problem(&'static str),
}

/// The oracle: own sheets by where they lie and how they are written, and what the library has of that name.
fn expected(own: &[(At, As)], library: bool, whose: &str) -> Expect {
    let figures = |at: At| match at {
        At::Beside => "11",
        At::Said => "12",
        At::Settings => "13",
    };
    match (whose, own, library) {
        ("library ", _, true) => Expect::Figure("library"),
        ("library ", _, false) => Expect::Problem("unknown-sheet"),
        (_, [], true) if whose.is_empty() => Expect::Figure("library"),
        (_, [], _) => Expect::Problem("unknown-sheet"),
        ("", [_], true) | (_, [_, _, ..], _) => Expect::Problem("ambiguous-sheet"),
        (_, [(_, As::NotText | As::Folder)], _) => Expect::Problem("unreadable-file"),
        (_, [(at, _)], _) => Expect::Figure(figures(*at)),
    }
}

/// Every door by which a sheet is asked for: what is laid down for it, and the words of the command.
const DOORS: [&str; 8] =
    ["run", "uses", "fill", "bind", "range-cell", "range-word", "review", "form"];

#[test]
fn the_sheet_that_runs_is_the_one_that_is_meant_at_every_door() {
    let places = [At::Beside, At::Said, At::Settings];
    let mut laid: Vec<Vec<(At, As)>> = vec![Vec::new()];
    for how in [As::Plain, As::MarkAndCarriageReturns, As::NotText, As::Folder] {
        laid.extend(places.map(|at| vec![(at, how)]));
    }
    laid.push(vec![(At::Beside, As::Plain), (At::Said, As::Plain)]);
    laid.push(vec![(At::Beside, As::Plain), (At::Settings, As::NotText)]);
    laid.push(vec![(At::Said, As::Folder), (At::Settings, As::Plain)]);
    let mut troubles = Vec::new();
    let mut count = 0;
    for own in &laid {
        for library in [false, true] {
            for whose in ["", "own ", "library "] {
                for door in DOORS {
                    count += 1;
                    let expect = expected(own, library, whose);
                    if let Err(trouble) = at_door(door, own, library, whose, expect) {
                        troubles.push(format!(
                            "{door}, {own:?}, library {library}, `{whose}`: expected {expect:?}: {trouble}"
                        ));
                    }
                }
            }
        }
    }
    assert!(count > 700, "{count}");
    let first: Vec<&String> = troubles.iter().take(5).collect();
    assert!(troubles.is_empty(), "{} of {count}: {first:#?}", troubles.len());
}

/// Asks for a sheet at one door, from a folder that is not the asking one where the door allows it.
fn at_door(
    door: &str,
    own: &[(At, As)],
    library: bool,
    whose: &str,
    expect: Expect,
) -> Result<(), String> {
    let root = tempfile::tempdir().unwrap();
    let here = root.path().join("project/here");
    let elsewhere = root.path().join("elsewhere");
    for folder in [&here, &elsewhere, &root.path().join("said"), &root.path().join("project/more")]
    {
        fs::create_dir_all(folder).unwrap();
    }
    fs::write(root.path().join("project/standstill.toml"), "sheets = [\"more\"]\n").unwrap();
    // a sheet of the library that needs no input but `x`'s like is not there: `run-down` gives t_stop
    let name = if library { "run-down" } else { "press" };
    for (at, how) in own {
        let (folder, n) = match at {
            At::Beside => (here.clone(), "11"),
            At::Said => (root.path().join("said"), "12"),
            At::Settings => (root.path().join("project/more"), "13"),
        };
        lay(&folder, &sheet(name, "", n), *how, name);
    }
    let asked = format!("{whose}{name}");
    let said = root.path().join("said").to_string_lossy().into_owned();
    let path = |file: &str| here.join(file).to_string_lossy().into_owned();
    let mut words: Vec<String>;
    // words of the command line ask from the working folder; all else from where it stands
    let mut from = &elsewhere;
    match door {
        "run" => {
            from = &here;
            words = vec!["run".into(), asked, "--example".into()];
        }
        "uses" => {
            let is_library = matches!(expect, Expect::Figure("library"));
            let (with, result) = if is_library {
                (
                    " with J = 1 kg·m², n_0 = 1500 r/min, T_0 = 1 N·m",
                    "min(u.t_stop / 1 s, meant 0 \"unused\") + 99",
                )
            } else {
                (" with x", "u.n")
            };
            let uses = format!("uses\n  u = {asked}{with}\n");
            let n = format!("({result})");
            fs::write(here.join("asks.sheet"), sheet("asks", &uses, &n)).unwrap();
            words = vec!["run".into(), path("asks.sheet"), "--example".into()];
        }
        "fill" => {
            let inputs = "J,1,kg·m²\nn_0,1500,r/min\nT_0,1,N·m\n";
            let inputs = if library && !matches!(expect, Expect::Figure("11" | "12" | "13")) {
                inputs
            } else {
                "x,1,\n"
            };
            fs::write(here.join("b.csv"), format!("sheet {asked},,\n{inputs}")).unwrap();
            words = vec!["fill".into(), path("b.csv"), "--dry-run".into()];
            if matches!(expect, Expect::Figure(_)) {
                words.extend(["-o".into(), path("out.xlsx")]);
            }
        }
        "bind" => {
            let lines = if matches!(expect, Expect::Figure("library")) {
                "J = 1 kg·m²\nn_0 = 1500 r/min\nT_0 = 1 N·m\n"
            } else {
                "x = 1\n"
            };
            fs::write(here.join("b.csv"), "nothing\n").unwrap();
            fs::write(here.join("b.bind"), format!("sheet {asked}\n{lines}")).unwrap();
            words = [
                "fill",
                &path("b.csv"),
                "--bind",
                &path("b.bind"),
                "--dry-run",
                "-o",
                &path("out.xlsx"),
            ]
            .map(str::to_owned)
            .to_vec();
        }
        "range-cell" | "range-word" => {
            let table = if matches!(expect, Expect::Figure("library")) {
                "name,J / (kg·m²),n_0 / (r/min),T_0 / (N·m),t_stop / s\na,1,1500,1,\nb,2,1500,1,\n"
            } else {
                "name,x,n\na,1,\nb,1,\n"
            };
            let head =
                if door == "range-cell" { format!("sheet {asked}\n\n") } else { String::new() };
            fs::write(here.join("l.csv"), format!("{head}{table}")).unwrap();
            words = vec!["range".into(), path("l.csv")];
            if door == "range-word" {
                from = &here;
                words.push(asked);
            }
            words.extend(["-o".into(), path("out.csv")]);
        }
        "review" => {
            let value = if matches!(expect, Expect::Figure("library")) { "t_stop" } else { "n" };
            let text =
                format!("# T\n\n```sheet {asked} as c\nexamples\n```\n\nIt is {{c.{value}}}.\n");
            fs::write(here.join("d.md"), text).unwrap();
            words = vec!["review".into(), path("d.md"), "-o".into(), path("out.html")];
        }
        _ => {
            from = &here;
            words = vec!["form".into(), asked, "--example".into(), "-o".into(), path("f.xlsx")];
        }
    }
    words.extend(["--sheets".into(), said]);
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    let output = standstill(from, &words);
    let text = output_text(&output);
    match expect {
        Expect::Problem(name) => {
            let named = text.contains(&format!("error {name}:"));
            let written = ["out.xlsx", "out.csv", "out.html", "f.xlsx"];
            let written = written.iter().any(|file| here.join(file).exists());
            if !named || written || output.status.code() == Some(0) {
                return Err(text);
            }
        }
        Expect::Figure(figure) => {
            let said = match (door, figure) {
                // a form holds no figure: it is filled, and that says which sheet it asks for
                ("form", _) => {
                    let book = path("f.xlsx");
                    let filled = standstill(&elsewhere, &["fill", &book]);
                    output_text(&filled)
                }
                ("range-cell" | "range-word", _) if output.status.code() == Some(0) => {
                    let rows = fs::read_to_string(here.join("out.csv")).unwrap();
                    format!("{text}\n{rows}")
                }
                ("review", _) if output.status.code() == Some(0) => {
                    fs::read_to_string(here.join("out.html")).unwrap()
                }
                _ => text,
            };
            let right = match (door, figure) {
                ("uses", "library") => says(&said, "99"),
                (_, "library") => said.contains("t_stop") && said.contains("library of Standstill"),
                (_, figure) => says(&said, figure),
            };
            if !right || output.status.code() != Some(0) {
                return Err(said.lines().take(30).collect::<Vec<_>>().join("\n"));
            }
        }
    }
    Ok(())
}

/// Whether a figure stands in a text as a number of its own.
fn says(text: &str, figure: &str) -> bool {
    text.split(|sign: char| !sign.is_ascii_alphanumeric() && sign != '.').any(|word| word == figure)
}

/// Two uses in one sheet, in either order: the library's inside the library, the own one where it is said.
#[test]
fn an_own_sheet_never_stands_in_inside_the_library_whatever_the_order() {
    // the library's run-down: J·ω/T = 1 · 157.0796 / 1; the own one gives a hundred times that
    let own = "sheet run-down\ntitle \"t\"\nsource \"none\"\ntakes\n  J : inertia in kg·m²\n  n_0 : speed of rotation in r/min\n  T_0 : torque in N·m\nworks\n  t_stop = meant 100 \"told apart by it\" * J * n_0 / T_0\ngives\n  t_stop in s\n";
    let with = "with J = 1 kg·m², n_0 = 1500 r/min, T_0 = 1 N·m";
    for order in [["own", "library"], ["library", "own"]] {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join("run-down.sheet"), own).unwrap();
        let uses: String =
            order.iter().map(|whose| format!("  {whose}_1 = {whose} run-down {with}\n")).collect();
        let text = format!(
            "sheet both\ntitle \"t\"\nsource \"none\"\nuses\n{uses}works\n  t_own = own_1.t_stop\n  t_library = library_1.t_stop\ngives\n  t_own in s, t_library in s\n"
        );
        fs::write(folder.path().join("both.sheet"), text).unwrap();
        let output = standstill(folder.path(), &["run", "both", "--json"]);
        let json: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
        let number = |at: usize| json["results"][at]["value"].to_string();
        assert!(
            number(0).contains("15707.96") && number(1).contains("157.0796"),
            "{order:?} {json:#}"
        );
        let origins: Vec<&str> = json["sheets"]
            .as_array()
            .unwrap()
            .iter()
            .map(|it| it["origin"].as_str().unwrap())
            .collect();
        assert_eq!(origins.len(), 3, "{origins:?}");
        assert!(origins.contains(&"run-down.sheet"), "{origins:?}");
    }
}

/// Sheets written in one document each run for themselves, and none changes what the library says.
#[test]
fn sheets_written_in_a_document_are_each_their_own() {
    let folder = tempfile::tempdir().unwrap();
    let one = sheet("first", "", "11");
    let two = sheet("second", "", "12");
    let three = sheet("run-down", "", "13");
    let text = format!(
        "```sheet first as a\n```\n```sheet second as b\n```\n```sheet own run-down as c\n```\n\n```sheet safe-stop as s\nexamples\n```\n\n\
         {{a.n}} {{b.n}} {{c.n}}\n\n```sheet\n{one}```\n\n```sheet\n{two}```\n\n```sheet\n{three}```\n"
    );
    fs::write(folder.path().join("d.md"), &text).unwrap();
    let output = standstill(folder.path(), &["review", "d.md", "--to", "md", "-o", "out.md"]);
    let page = fs::read_to_string(folder.path().join("out.md")).unwrap_or_default();
    assert!(
        output.status.code() == Some(0) && page.contains("[11](#calculation-a \"a.n\") [12](#calculation-b \"b.n\") [13](#calculation-c \"c.n\")"),
        "{}{page}",
        output_text(&output)
    );
    // asked for without saying whose, the name stands for two
    fs::write(folder.path().join("d.md"), text.replace("own run-down", "run-down")).unwrap();
    let output = standstill(folder.path(), &["review", "d.md", "-o", "out.html"]);
    assert!(output_text(&output).contains("error ambiguous-sheet:"), "{}", output_text(&output));
}

/// The settings file is read or refused, never passed over.
#[test]
fn a_settings_file_with_an_unknown_key_or_an_absent_folder_is_an_error() {
    for (settings, problem) in [
        ("sheet = [\"a\"]\n", "error settings-file: there is no setting `sheet`"),
        ("sheets = \"a\"\n", "error settings-file: `sheets` is not a list of folders"),
        ("sheets = [\n", "error settings-file: line"),
        ("sheets = [\"absent\"]\n", "error unreadable-file: there is no folder"),
    ] {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join("standstill.toml"), settings).unwrap();
        let output = standstill(folder.path(), &["run", "run-down", "--example"]);
        assert!(output_text(&output).contains(problem), "{settings}: {}", output_text(&output));
        assert_ne!(output.status.code(), Some(0));
    }
}

/// A sheet of the library's name in a file of another is not passed over.
#[test]
fn an_own_sheet_in_a_file_of_another_name_is_not_passed_over() {
    let own = "sheet run-down\ntitle \"t\"\nsource \"none\"\ntakes\n  J : inertia in kg·m² like 1 kg·m²\n  n_0 : speed of rotation in r/min like 1 r/min\n  T_0 : torque in N·m like 1 N·m\nworks\n  t_stop = J * n_0 / T_0\ngives\n  t_stop in s\n";
    let top = "sheet top\ntitle \"t\"\nsource \"none\"\nuses\n  coast = run-down with J = 1 kg·m², n_0 = 1500 r/min, T_0 = 1 N·m\nworks\n  t = coast.t_stop\ngives\n  t in s\n";
    for (file, header) in [
        ("rundown.sheet", "sheet run-down"),
        ("Run-Down.sheet", "sheet run-down"),
        ("mine.sheet", "sheet  Run-Down"),
    ] {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join(file), own.replace("sheet run-down", header)).unwrap();
        fs::write(folder.path().join("top.sheet"), top).unwrap();
        fs::write(folder.path().join("d.md"), "# d\n\n```sheet run-down as it\nexamples\n```\n")
            .unwrap();
        let doors: [&[&str]; 6] = [
            &["prove", "top.sheet"],
            &["run", "top"],
            &["run", "run-down", "--example"],
            &["form", "run-down", "-o", "f.xlsx"],
            &["design", "run-down", "t_stop<=1 s", "by", "T_0", "--example"],
            &["review", "d.md"],
        ];
        for words in doors {
            let output = standstill(folder.path(), words);
            let said = output_text(&output);
            assert!(
                said.contains("ambiguous-sheet") && said.contains(file),
                "{file} {words:?}: {said}"
            );
            assert_ne!(output.status.code(), Some(0), "{file} {words:?}");
        }
        let said = standstill(folder.path(), &["run", "library run-down", "--example"]);
        assert_eq!(said.status.code(), Some(0), "{}", output_text(&said));
    }
}

/// What a project sets comes before an example, and a slip in a name that it sets is an error.
#[test]
fn what_a_project_sets_comes_before_an_example() {
    let folder = tempfile::tempdir().unwrap();
    let run = |settings: &str| {
        fs::write(folder.path().join("standstill.toml"), settings).unwrap();
        standstill(folder.path(), &["run", "run-down", "--example", "--json"])
    };
    // J·ω/T with J = 2 kg·m², whatever the example is
    let time = |settings: &str| {
        let json: serde_json::Value = serde_json::from_slice(&run(settings).stdout).unwrap();
        json["results"][0]["value"]["number"].as_f64().unwrap()
    };
    let common = "n_0 = \"1500 r/min\"\nT_0 = \"1 N·m\"\nT_load = \"0 N·m\"\nb = \"0 N·m·s/rad\"\nc = \"0 N·m·s²/rad²\"\n";
    let one = time(&format!("[defaults]\nJ = \"1 kg·m²\"\n{common}"));
    let two = time(&format!("[defaults]\nJ = \"2 kg·m²\"\n{common}"));
    // 1500 r/min are 50·π rad/s
    let by_hand = 50.0 * std::f64::consts::PI;
    assert!((one - by_hand).abs() < 1e-9 * by_hand, "{one}");
    assert!((two - 2.0 * by_hand).abs() < 1e-9 * by_hand, "{two}");
    let output = run("[defaults]\nT_laod = \"0 N·m\"\n");
    assert!(output_text(&output).contains("did you mean `T_load`?"), "{}", output_text(&output));
    assert_ne!(output.status.code(), Some(0));
}
