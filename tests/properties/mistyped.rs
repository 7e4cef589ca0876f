//! One mistyped word in a sheet of the library gives one problem at its place, with a remedy that is there.

use std::collections::BTreeSet;

use standstill::diagnostic::{Diagnostic, Name, Place, Source};
use standstill::environment::NoFs;
use standstill::language::parse;
use standstill::library::{SHEETS, inputs};
use standstill::program::compile;
use standstill::project::Project;

/// What people write over a block.
const HEADS: &[(&str, &[&str])] = &[
    ("uses", &["use", "uses =", "usse", "Uses", "imports", "  uses"]),
    (
        "takes",
        &[
            "inptus", "Inputs:", "take", "TAKES", "tkaes", "takes -", "[takes]",
            "inputs of the machine", "  takes",
        ],
    ),
    ("works", &["work", "wroks", "Works:", "Formulas", "calculation", "the formulas", "    works"]),
    ("holds", &["hold", "checks", "Holds", "hodls", "limits:", "  holds"]),
    ("gives", &["result", "results", "Outputs", "give", "gievs", "=gives=", "gives.", "\tgives"]),
];

fn problems(text: &str) -> Vec<Diagnostic> {
    let checked = compile(&Source::new("mistyped.sheet", text), &Project::new(&NoFs));
    checked.problems.into_iter().filter(Diagnostic::is_error).collect()
}

#[test]
fn a_mistyped_head_is_one_problem_and_its_block_is_read() {
    let (mut tried, mut troubles) = (0, Vec::new());
    for sheet in SHEETS {
        let (right, _) = parse(&Source::new("mistyped.sheet", sheet.text));
        for (block, heads) in HEADS {
            let Some(at) = sheet.text.find(&format!("\n{block}\n")) else { continue };
            // every head over every fourth sheet, all of them over all sheets in turn
            for (turn, head) in heads.iter().enumerate() {
                if (turn + sheet.name.len()) % 4 != 0 {
                    continue;
                }
                tried += 1;
                let (before, after) = (&sheet.text[..=at], &sheet.text[at + 1 + block.len()..]);
                let text = format!("{before}{head}{after}");
                let (tree, found) = parse(&Source::new("mistyped.sheet", text.as_str()));
                let errors = problems(&text);
                let is_one =
                    found.len() == 1 && errors.len() == 1 && errors[0].name == Name::BlockOrder;
                if !is_one || blocks(&tree) != blocks(&right) {
                    troubles.push(format!("{}: {head:?}: {} problems", sheet.name, errors.len()));
                } else if !errors[0].remedy.contains(&format!("`{block}`")) {
                    troubles.push(format!("{}: {head:?}: {}", sheet.name, errors[0].remedy));
                }
            }
        }
    }
    assert!(tried > 500, "{tried}");
    assert!(troubles.is_empty(), "{} of {tried}:\n{}", troubles.len(), troubles.join("\n"));
}

fn blocks(tree: &standstill::language::Tree) -> [usize; 5] {
    [tree.uses.len(), tree.takes.len(), tree.works.len(), tree.holds.len(), tree.gives.len()]
}

/// The head that is not there is named, the block is read, and the remedy typed puts it right.
#[test]
fn a_head_that_is_missing_is_one_problem_and_its_block_is_read() {
    let (mut tried, mut troubles) = (0, Vec::new());
    for sheet in SHEETS {
        let (right, _) = parse(&Source::new("mistyped.sheet", sheet.text));
        for (block, _) in HEADS {
            let Some(at) = sheet.text.find(&format!("\n{block}\n")) else { continue };
            tried += 1;
            let (before, after) = (&sheet.text[..=at], &sheet.text[at + block.len() + 2..]);
            let text = format!("{before}{after}");
            let (tree, _) = parse(&Source::new("mistyped.sheet", text.as_str()));
            let errors = problems(&text);
            let one = errors.len() == 1 && errors[0].name == Name::BlockOrder;
            if !one {
                troubles.push(format!("{} without {block}: {errors:?}", sheet.name));
                continue;
            }
            // a first line of works that says `k : ratio = 0.5` is one of takes too
            if block != &"works" && blocks(&tree) != blocks(&right) {
                troubles.push(format!("{} without {block}: read as another", sheet.name));
            }
            let Some(Place::Text { span, .. }) = &errors[0].place else { panic!("{}", errors[0]) };
            let line = text[..span.0].rfind('\n').map_or(0, |it| it + 1);
            let typed = errors[0].remedy.split('`').nth(1).unwrap_or_default();
            let mended = format!("{}{typed}\n{}", &text[..line], &text[line..]);
            let left = problems(&mended);
            if typed != *block || !left.is_empty() {
                troubles.push(format!("{}: {} leaves {left:?}", sheet.name, errors[0].remedy));
            }
        }
    }
    assert!(tried > 400, "{tried}");
    assert!(troubles.is_empty(), "{} of {tried}:\n{}", troubles.len(), troubles.join("\n"));
}

#[test]
fn a_check_among_the_formulas_is_no_missing_head() {
    let text = "sheet s\ntitle \"t\"\nsource \"s\"\ntakes\n  a : time in s like 1 s\nworks\n  b = 2 * a\n  b < 3 s \"short\" else \"x\"\n  d = b + a\ngives\n  d in s\n";
    let found = problems(text);
    assert_eq!(found.iter().map(|it| it.name).collect::<Vec<_>>(), vec![Name::UnreadableLine]);
}

#[test]
fn all_heads_missing_are_named_each_once() {
    let text = "sheet s\ntitle \"t\"\nsource \"s\"\n  a : time in s like 1 s\n  b = 2 * a\n  c = 2 * b\n  b < 3 s \"short\" else \"x\"\n  c in s\n";
    let remedies: Vec<String> = problems(text).into_iter().map(|it| it.remedy).collect();
    let wanted = ["takes", "works", "holds", "gives"];
    let wanted: Vec<String> =
        wanted.iter().map(|it| format!("put the line `{it}` above it, at the edge")).collect();
    assert_eq!(remedies, wanted);
}

#[test]
fn lines_at_the_edge_are_one_problem() {
    let text = "sheet s\ntitle \"t\"\nsource \"s\"\ntakes\n  a : time in s like 1 s\nworks\nb = 2 * a\nc = 3 * b\n  d = b + c\ngives\n  d in s\n";
    let found = problems(text);
    assert_eq!(found.iter().map(|it| it.name).collect::<Vec<_>>(), vec![Name::BlockOrder]);
    assert_eq!(found[0].headline, "a line of `works` stands at the edge");
}

/// Two names that are nowhere, near to one another and to one that is there: none is recommended but what is there.
#[test]
fn what_is_recommended_is_there() {
    let (mut tried, mut troubles) = (0, Vec::new());
    for sheet in SHEETS {
        let (tree, _) = parse(&Source::new("mistyped.sheet", sheet.text));
        let takes = tree.takes.iter().map(|line| &line.name.value);
        let works = tree.works.iter().map(|line| &line.name.value);
        let mut there: BTreeSet<&str> = takes.chain(works).map(String::as_str).collect();
        there.extend(tree.uses.iter().map(|line| line.alias.value.as_str()));
        there.extend(["pi", "g_n"]);
        let groups = tree.groups.iter().map(|it| parse(&inputs(&it.name.value).unwrap()).0.takes);
        let grouped: Vec<String> = groups.flatten().map(|take| take.name.value).collect();
        there.extend(grouped.iter().map(String::as_str));
        let Some(line) = tree.works.last() else { continue };
        let Some(input) = tree.takes.first() else { continue };
        let name = &input.name.value;
        for (one, other) in [("qq", "qqq"), ("_x", "_xx"), ("q", "qq")] {
            tried += 1;
            let more = format!(
                "zz_1 = 2 * {name}{one}\n  zz_2 = 3 * {name}{other}\n  zz_3 = {name}{other}.S + {name}{one}{one}(1)\n  "
            );
            let (before, after) = sheet.text.split_at(line.span.start);
            for it in problems(&format!("{before}{more}{after}")) {
                let wanted = [Name::UnknownName, Name::UnknownFunction].contains(&it.name);
                let named =
                    it.remedy.strip_prefix("did you mean `").and_then(|it| it.split('`').next());
                if let (true, Some(named)) = (wanted, named)
                    && !there.contains(named)
                    && !standstill::language::FUNCTIONS.contains(&named)
                {
                    troubles.push(format!("{}: {it}", sheet.name));
                }
            }
        }
    }
    assert!(tried > 200, "{tried}");
    assert!(troubles.is_empty(), "{}", troubles.join("\n"));
}
