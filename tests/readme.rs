//! What the papers show is what the program prints: their blocks are filled from the program itself.
//!
//! `UPDATE_README=1 cargo test readme` writes them anew; without it they must match.

use std::fmt::Write as _;
use std::fs;
use std::io::Read as _;
use std::path::Path;
use std::process::Command;

use standstill::diagnostic::Source;
use standstill::language::parse;
use standstill::library::{GROUPS, SHEETS};

use crate::published_values::case_files;

/// What a command prints, in a folder with the example and the workbook with five mistakes.
fn prints(arguments: &[&str]) -> String {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let folder = tempfile::tempdir().unwrap();
    fs::create_dir(folder.path().join("examples")).unwrap();
    for (from, to) in [
        ("examples/carton-wrapper.xlsx", "examples/carton-wrapper.xlsx"),
        ("examples/roller-line.xlsx", "examples/roller-line.xlsx"),
        ("tests/workbooks/asked/five-mistakes.xlsx", "five-mistakes.xlsx"),
    ] {
        fs::copy(root.join(from), folder.path().join(to)).unwrap();
    }
    let stops = folder.path().join("examples/measured-stops");
    fs::create_dir(&stops).unwrap();
    for file in fs::read_dir(root.join("examples/measured-stops")).unwrap() {
        let file = file.unwrap();
        fs::copy(file.path(), stops.join(file.file_name())).unwrap();
    }
    let output = Command::new(env!("CARGO_BIN_EXE_standstill"))
        .args(arguments)
        .current_dir(folder.path())
        .output()
        .unwrap();
    let text = if output.stdout.is_empty() { output.stderr } else { output.stdout };
    crate::without_hashes(String::from_utf8(text).unwrap().trim_end())
}

/// The papers whose blocks are filled.
const PAPERS: &[&str] = &[
    "README.md", "sheets/README.md", "src/calculation/README.md", "src/recording/README.md",
    "src/workbook/README.md",
];

/// The reverse question that the papers ask.
const DESIGN: &[&str] = &[
    "design", "safe-stop", "S<=2300 mm", "by", "J_load", "from", "0.05 kg·m²", "to", "0.5 kg·m²",
    "in", "steps", "of", "0.01 kg·m²", "--example",
];

/// The recorded stops that the papers go through.
const MEASURED: &[&str] = &[
    "measured", "examples/measured-stops/stops.toml", "-o", "protocol.html", "-o", "protocol.xlsx",
];

/// All that can be said of recorded stops.
fn keys() -> String {
    let rows =
        standstill::recording::KEYS.iter().map(|it| format!("| `{}` | {} |", it.name, it.about));
    format!("| key | what it is |\n| --- | --- |\n{}", rows.collect::<Vec<_>>().join("\n"))
}

/// What the simulated stops show, as the test keeps it.
fn coverage() -> String {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let kept = fs::read_to_string(root.join("tests/recording/snapshots/coverage.snap")).unwrap();
    let body = kept.rsplit("---\n").next().unwrap().trim_end();
    let rows = body.lines().map(|line| format!("| {} |", line.replace(", ", " | ")));
    let rows: Vec<String> = rows.collect();
    format!("{}\n| --- | ---: | ---: | ---: | ---: |\n{}", rows[0], rows[1..].join("\n"))
}

/// The lines of what a command prints that hold one of some words.
fn lines_with(arguments: &[&str], words: &[&str]) -> String {
    let text = prints(arguments);
    let kept = text.lines().filter(|line| words.iter().any(|word| line.contains(word)));
    kept.collect::<Vec<_>>().join("\n")
}

fn fenced(text: &str) -> String {
    format!("```text\n{text}\n```")
}

/// The sheets that are compared with a simulation or the standards' formulas on random sets.
fn simulated() -> String {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/reference");
    let scripts = ["simulated.py", "simulated_loads.py", "simulated_heat.py", "distances.py"]
        .map(|name| fs::read_to_string(folder.join(name)).unwrap());
    let drawn = |name: &str| {
        let begins = format!("\ndef {}(", name.replace('-', "_"));
        scripts.iter().any(|script| script.contains(&begins))
    };
    let names = SHEETS.iter().filter(|sheet| drawn(sheet.name));
    names.map(|sheet| format!("`{}`", sheet.name)).collect::<Vec<_>>().join(", ")
}

/// One line a sheet: what it is, its first source, and what it is held against.
fn sheets() -> String {
    let cases = case_files();
    let mut table =
        String::from("| sheet | calculates | source | held against |\n| --- | --- | --- | --- |\n");
    for (group, about) in GROUPS {
        let _ = writeln!(table, "| **{group}** | {about} | | |");
        for sheet in SHEETS.iter().filter(|sheet| sheet.group == *group) {
            let (tree, _) = parse(&Source::new("", sheet.text));
            let title = tree.title.map(|title| title.value).unwrap_or_default();
            let source =
                tree.sources.first().map(|source| source.value.clone()).unwrap_or_default();
            let own = cases
                .iter()
                .find(|file| file.sheet == sheet.name)
                .map(|file| file.cases.as_slice())
                .unwrap_or_default();
            let mut sources: Vec<&str> = own.iter().map(|case| case.source.as_str()).collect();
            sources.dedup();
            let first = sources.first().copied().unwrap_or_default();
            let _ = writeln!(
                table,
                "| `{}` | {title} | {} | {} cases: {} |",
                sheet.name,
                source.replace('|', "\\|"),
                own.len(),
                first.replace('|', "\\|")
            );
        }
    }
    table.trim_end().to_owned()
}

#[test]
fn the_papers_show_what_the_program_prints() {
    let fill = prints(&["fill", "examples/carton-wrapper.xlsx", "-o", "filled.xlsx"]);
    let words = ["  t_ramp_set ", "  t_delay ", "  R  ", "  T_used ", "  S  ", "checks: "];
    let kept = fill.lines().filter(|line| words.iter().any(|word| line.starts_with(word)));
    let first: Vec<&str> = kept.take(words.len()).collect();
    let decisive = first.join("\n");
    let blocks = [
        ("fill", fenced(&fill)),
        ("fill-decisive", fenced(&decisive)),
        (
            "run",
            fenced(&prints(&["run", "run-down", "J=0.35 kg·m²", "n_0=1450 r/min", "T_0=4.2 N·m"])),
        ),
        (
            "worst",
            fenced(&lines_with(
                &[
                    "run", "safe-stop", "--example", "T_0=1.6 N·m ± 10 %", "t_sensor=14 ms ± 2 ms",
                    "--worst",
                ],
                &["nominal", "  S_works ", "  S_fails ", "far enough"],
            )),
        ),
        (
            "slopes",
            fenced(
                &prints(&["run", "safe-stop", "--example", "--slopes", "--of", "t_ramp_fails"])
                    .lines()
                    .skip_while(|line| !line.starts_with("t_ramp_fails = "))
                    .take(5)
                    .collect::<Vec<_>>()
                    .join("\n"),
            ),
        ),
        ("mistakes", fenced(&prints(&["fill", "five-mistakes.xlsx"]))),
        (
            "design",
            fenced(prints(DESIGN).split("\n\n").take(2).collect::<Vec<_>>().join("\n\n").as_str()),
        ),
        ("sheets", sheets()),
        ("simulated", simulated()),
        (
            "measured",
            fenced(prints(MEASURED).split("\nmachine, instrument").next().unwrap().trim_end()),
        ),
        ("measured-keys", keys()),
        ("measured-coverage", coverage()),
    ];
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut found = Vec::new();
    for paper in PAPERS {
        let before = fs::read_to_string(root.join(paper)).unwrap();
        let mut after = before.clone();
        for (name, text) in &blocks {
            let (open, close) = (format!("<!-- {name} -->\n"), format!("<!-- /{name} -->"));
            let Some(start) = after.find(&open) else { continue };
            let start = start + open.len();
            let end = start + after[start..].find(&close).unwrap();
            after.replace_range(start..end, &format!("{text}\n"));
            found.push(*name);
        }
        if std::env::var_os("UPDATE_README").is_some() {
            fs::write(root.join(paper), &after).unwrap();
        } else {
            assert!(
                before == after,
                "{paper} shows something else than the program prints; UPDATE_README=1 cargo test readme"
            );
        }
    }
    for (name, _) in &blocks {
        let shown = found.iter().filter(|it| it == &name).count();
        assert_eq!(shown, 1, "{name} is shown {shown} times");
    }
}

/// The first block of a paper that begins with some words.
fn block_of(paper: &str, begins: &str) -> String {
    let text = fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join(paper)).unwrap();
    let start = text.find(&format!("```text\n{begins}")).unwrap() + "```text\n".len();
    let end = start + text[start..].find("```").unwrap();
    text[start..end].to_owned()
}

#[test]
fn the_sheet_of_the_language_paper_runs_and_its_bind_file_fits_it() {
    let text = block_of("src/language/README.md", "sheet stop-resistor");
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("stop-resistor.sheet"), &text).unwrap();
    let output = Command::new(env!("CARGO_BIN_EXE_standstill"))
        .args(["run", "stop-resistor.sheet", "--example"])
        .current_dir(folder.path())
        .output()
        .unwrap();
    let printed = String::from_utf8(output.stdout).unwrap();
    assert_eq!(
        output.status.code(),
        Some(0),
        "{printed}{}",
        String::from_utf8_lossy(&output.stderr)
    );
    // 1/2 · 0.35 kg·m² · (1450 r/min)² · 0.95 = 3833 J, over 0.5 s 15.33 kW; 780² / 15 332 = 39.68, next E24 below
    assert!(printed.contains("P_peak  15.3326 kW") && printed.contains("39 Ω"), "{printed}");
    let (tree, _) = parse(&Source::new("", text.as_str()));
    for line in block_of("src/workbook/README.md", "sheet stop-resistor").lines().skip(1) {
        if line.trim().is_empty() {
            continue;
        }
        let name = line.split_whitespace().next().unwrap();
        let known = name == "checks"
            || tree.takes.iter().any(|take| take.name.value == name)
            || text.contains(&format!("{name} in "));
        assert!(known, "{name} is not in the sheet");
    }
}

#[test]
fn the_courses_of_the_language_paper_run() {
    let folder = of_the_language_paper(&[
        ("group turning", "turning.group"),
        ("sheet going-on", "going-on.sheet"),
        ("sheet slowing", "slowing.sheet"),
        ("sheet late-stop", "late-stop.sheet"),
    ]);
    let run = |arguments: &[&str]| run_in(folder.path(), arguments);
    let (status, printed) = run(&["prove", "--strict", "."]);
    assert!(status == Some(0) && printed.contains("4 sheets checked, no problems"), "{printed}");
    // 0.3 s + 2 kg·m² · 50π rad/s / 20 N·m = 16.008 s; 25 r/s · 0.3 s = 7.5 r, and 25 r/s / 2 · 15.708 s more
    let (status, printed) =
        run(&["run", "late-stop.sheet", "--example", "--worst", "J=2 kg·m² ± 1 %"]);
    assert!(status == Some(0), "{printed}");
    for figure in ["16.008 s", "15.708 s", "7.5 r", "203.85 r"] {
        assert!(printed.contains(figure), "{figure}: {printed}");
    }
    let (status, printed) = run(&["form", "late-stop.sheet", "--output", "form.xlsx", "--example"]);
    assert_eq!(status, Some(0), "{printed}");
    let (status, printed) = run(&["fill", "form.xlsx"]);
    assert!(status == Some(0) && printed.contains("16.0079"), "{printed}");
    let table = "sheet late-stop,,\nn_0,t_late,J,T_0,t_late_stop\nr/min,s,kg·m²,N·m,s\n1500,0.3,2,20,\n750,0.3,2,20,\n";
    fs::write(folder.path().join("line.csv"), table).unwrap();
    let (status, printed) = run(&["range", "line.csv"]);
    let line = fs::read_to_string(folder.path().join("line.csv")).unwrap();
    // half the speed, half the run-down
    assert!(
        status == Some(0) && line.contains("16.0079") && line.contains("8.1539"),
        "{printed}{line}"
    );
    // every line as a live formula
    let (status, printed) =
        run(&["run", "late-stop.sheet", "--example", "--steps", "-o", "result.xlsx"]);
    assert!(status == Some(0) && printed.contains("next_t = t + t_run"), "{printed}");
    // 1 % more inertia: 0.157 s more
    let (status, printed) = run(&["run", "late-stop.sheet", "--example", "--slopes"]);
    assert!(status == Some(0) && printed.contains("+0.1571 s"), "{printed}");
}

#[test]
fn the_groups_of_the_language_paper_are_taken_and_handed_on() {
    let folder = of_the_language_paper(&[
        ("group shaft", "shaft.group"),
        ("sheet coasting", "coasting.sheet"),
        ("sheet two-rollers", "two-rollers.sheet"),
        ("sheet stop-resistor", "stop-resistor.sheet"),
    ]);
    let run = |arguments: &[&str]| run_in(folder.path(), arguments);
    let (status, printed) = run(&["run", "two-rollers.sheet", "--example"]);
    // 0.1 s + 2 kg·m² · 50π rad/s / (0.8 · 20 N·m) = 19.735 s
    assert!(status == Some(0) && printed.contains("19.735 s"), "{printed}");
    // all of them, and the group by itself
    let (status, printed) = run(&["prove", "--strict", "."]);
    assert!(status == Some(0) && printed.contains("4 sheets checked, no problems"), "{printed}");
    let (status, printed) = run(&["prove", "--tidy", "--check", "."]);
    assert_eq!(status, Some(0), "{printed}");
    let (status, printed) = run(&["show", "two-rollers.sheet"]);
    let lines: Vec<&str> = printed.lines().map(str::trim).collect();
    let at = |line: &str| lines.iter().position(|it| it.starts_with(line));
    assert_eq!(status, Some(0));
    assert!(at("left: What turns:").is_some_and(|it| at("left_J ") == Some(it + 1)), "{printed}");
    assert!(
        at("right: What turns:") < at("right_J ") && at("right_J ") < at("t_dead "),
        "{printed}"
    );
    let (status, printed) = run(&["run", "shaft.group"]);
    assert!(status == Some(2) && printed.contains("holds a group of inputs"), "{printed}");
    // a form with its headings is filled as it is
    let (status, printed) =
        run(&["form", "two-rollers.sheet", "--output", "form.xlsx", "--example"]);
    assert_eq!(status, Some(0), "{printed}");
    let (status, printed) = run(&["fill", "form.xlsx"]);
    assert!(status == Some(0) && printed.contains("19.735"), "{printed}");
    let (_, printed) = run(&["run", "two-rollers.sheet", "--example", "--json"]);
    assert!(printed.contains("\"group shaft\""), "{printed}");
}

/// Words in backticks of a part of the paper of the library.
fn quoted(part: &str) -> impl Iterator<Item = &str> {
    part.split('`').skip(1).step_by(2)
}

#[test]
fn every_sheet_answers_a_question_and_every_question_has_its_sheet() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let paper = fs::read_to_string(root.join("sheets/README.md")).unwrap();
    let part = |from: &str, to: &str| paper.split(from).nth(1).unwrap().split(to).next().unwrap();
    let asked = part("## By question", "## How it is checked");
    let results = ["t_fails", "t_lost", "standstill design", "--line", "--worst"];
    let known = |name: &str| SHEETS.iter().any(|sheet| sheet.name == name);
    let steps = part("## By job step", "## By question");
    let unknown: Vec<&str> = quoted(asked)
        .chain(quoted(steps))
        .filter(|name| !known(name) && !results.contains(name) && !name.contains(" by "))
        .collect();
    assert!(unknown.is_empty(), "{unknown:?}");
    // bodies are listed by their shapes
    let silent: Vec<&str> = SHEETS
        .iter()
        .filter(|sheet| sheet.group != "inertia")
        .map(|sheet| sheet.name)
        .filter(|name| !quoted(asked).any(|word| word == *name))
        .collect();
    assert!(silent.is_empty(), "no question leads to {silent:?}");
}

#[test]
fn the_questions_turned_round_are_answered() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let paper = fs::read_to_string(root.join("sheets/README.md")).unwrap();
    let mut asked = 0;
    for command in quoted(&paper).filter(|text| text.starts_with("standstill design ")) {
        if !command.contains(" by ") {
            continue;
        }
        // words in quotes are one word
        let mut words: Vec<String> = Vec::new();
        for (at, part) in command.split('\'').enumerate() {
            match at % 2 {
                0 => words.extend(part.split_whitespace().map(str::to_owned)),
                _ => words.push(part.to_owned()),
            }
        }
        let words: Vec<&str> = words.iter().skip(1).map(String::as_str).collect();
        let told = prints(&words);
        let input = words[words.iter().position(|word| *word == "by").unwrap() + 1];
        assert!(
            told.contains(&format!("\n{input} = ")) && told.contains("proved"),
            "{command}: {told}"
        );
        asked += 1;
    }
    assert!(asked >= 7, "{asked}");
}

/// What can be read in the pictures stands in the workbooks and in the review as they are made today.
#[test]
fn the_pictures_show_what_is_made_today() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let folder = tempfile::tempdir().unwrap();
    let example = |name: &str| root.join("examples").join(name).display().to_string();
    let read = |name: &str| fs::read_to_string(root.join("examples/pictures").join(name)).unwrap();
    for (name, command) in [
        ("form", ["form", "brake-resistor"].map(str::to_owned).to_vec()),
        ("fill", vec!["fill".to_owned(), example("carton-wrapper.xlsx")]),
        ("chart", ["run", "safe-stop", "--example"].map(str::to_owned).to_vec()),
        ("range", vec!["range".to_owned(), example("roller-line.xlsx")]),
    ] {
        let made = folder.path().join(name).with_extension("xlsx");
        let output = Command::new(env!("CARGO_BIN_EXE_standstill"))
            .args(command)
            .arg("-o")
            .arg(&made)
            .output()
            .unwrap();
        // 1 is a check that fails: the product line of the example has some
        assert!(matches!(output.status.code(), Some(0 | 1)), "{name}: {output:?}");
        let text = text_of_parts(&made);
        let kept = read(&format!("{name}.txt"));
        // numbers may be shown shorter than they are stored, and cells may stand close to one another
        let mut looked_at = 0;
        let close = text.replace(' ', "");
        for line in kept.lines().filter(|it| it.chars().any(char::is_alphabetic)) {
            let whole = line.trim_start_matches(|c: char| c.is_numeric() || ". ".contains(c));
            let found = match line.contains(" checks ") {
                true => text.contains(whole),
                false => whole.split_whitespace().all(|word| close.contains(word)),
            };
            assert!(found, "{name}.png shows {line:?}: run examples/make_pictures.py");
            looked_at += 1;
        }
        assert!(looked_at > 6, "{name}: {kept}");
    }
    assert!(read("fill.txt").contains(" checks hold"));
    let review = fs::read_to_string(root.join("examples/carton-wrapper-review.review.md")).unwrap();
    // what stands behind a figure is in brackets there
    let bare = |text: &str| text.replace(['*', '\\', '(', ')', '.'], "");
    let review = bare(&crate::review::unlinked(&review));
    let kept = read("review.txt");
    let figures: Vec<&str> =
        kept.lines().filter(|it| it.contains(" checks ") && !it.starts_with("checks ")).collect();
    assert!(figures.len() > 2, "{kept}");
    for line in kept.lines().filter(|it| !it.starts_with("holds")) {
        assert!(
            review.contains(&bare(line)),
            "review.png shows {line:?}: node tests/review/picture.mjs"
        );
    }
}

/// What the language paper gives as `alias.result in UNIT as NAME` or reads as `alias.result` can be typed so: the
/// alias is free to be a name.
#[test]
fn results_of_used_sheets_in_the_language_paper_can_be_typed() {
    let paper = Path::new(env!("CARGO_MANIFEST_DIR")).join("src/language/README.md");
    let paper = fs::read_to_string(paper).unwrap();
    let quoted = paper.lines().flat_map(|line| line.split('`').skip(1).step_by(2));
    let is_name = |it: &str| {
        it.starts_with(|first: char| first.is_ascii_alphabetic())
            && it.chars().all(|letter| letter.is_ascii_alphanumeric() || letter == '_')
    };
    let endings = ["sheet", "group", "cases", "toml", "csv", "xlsx", "md", "x"];
    let (mut tried, mut renamed) = (0, 0);
    for words in quoted {
        for word in words.split(|it: char| !it.is_alphanumeric() && !"._".contains(it)) {
            let Some((alias, result)) = word.split_once('.') else { continue };
            if !is_name(alias) || !is_name(result) || endings.contains(&result) {
                continue;
            }
            let of_run_down = format!("{alias}.t_stop");
            let given = match words.starts_with(word) && words.contains(" as ") {
                true => words.replace(word, &of_run_down),
                false => format!("{of_run_down} in s as t_0"),
            };
            renamed += usize::from(given.contains("as t_works"));
            let text = format!(
                "sheet typed\ntitle \"t\"\nsource \"s\"\nuses\n  {alias} = run-down with J, n_0, T_0\ntakes\n  \
                 J : inertia in kg·m² above 0 kg·m²\n  n_0 : speed of rotation in r/min above 0 r/min\n  \
                 T_0 : torque in N·m above 0 N·m\ngives\n  {given}\n"
            );
            let found = standstill::Sheet::parse("typed.sheet", &text);
            assert!(found.is_ok(), "`{words}`: {}", found.unwrap_err()[0]);
            tried += 1;
        }
    }
    assert_eq!((tried > 0, renamed), (true, 1), "{tried}");
}

/// All that the parts of a workbook say, one after another.
fn text_of_parts(book: &Path) -> String {
    let mut parts = zip::ZipArchive::new(fs::File::open(book).unwrap()).unwrap();
    let mut all = String::new();
    for part in 0..parts.len() {
        let mut text = String::new();
        if parts.by_index(part).unwrap().read_to_string(&mut text).is_ok() {
            all.push_str(&text);
        }
    }
    all.replace("&gt;", ">")
        .replace("&lt;", "<")
        .replace("&quot;", "\"")
        .replace("&apos;", "'")
        .replace("&amp;", "&")
}

/// Blocks of the language paper, by their first words, as files of a folder.
fn of_the_language_paper(blocks: &[(&str, &str)]) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    for (head, file) in blocks {
        fs::write(folder.path().join(file), block_of("src/language/README.md", head)).unwrap();
    }
    folder
}

/// The exit code, and what was printed on both outputs.
fn run_in(folder: &Path, arguments: &[&str]) -> (Option<i32>, String) {
    let output = Command::new(env!("CARGO_BIN_EXE_standstill"))
        .args(arguments)
        .current_dir(folder)
        .output()
        .unwrap();
    let error = String::from_utf8(output.stderr).unwrap();
    (output.status.code(), String::from_utf8(output.stdout).unwrap() + &error)
}
