//! Groups are flat when compiled: whatever sheet puts its inputs into a group, takes it under another name, or hands it on
//! whole, calculates step by step what it calculates without.
//!
//! The sheets are those of the library; what is expected follows from each sheet alone.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use standstill::diagnostic::{Diagnostic, Name, Place, Source};
use standstill::environment::Environment;
use standstill::language::{Shape, Take, Tree, parse};
use standstill::library::{LibrarySheet, SHEETS};
use standstill::program::{Program, compile};
use standstill::project::Project;

/// Files that are nowhere else.
struct Memory(BTreeMap<PathBuf, String>);

impl Environment for Memory {
    fn read(&self, path: &Path) -> Result<Vec<u8>, Diagnostic> {
        self.0.get(path).map(|text| text.clone().into_bytes()).ok_or_else(|| {
            Diagnostic::error(Name::UnreadableFile, "there is no such file")
                .at(Place::File { name: path.display().to_string() })
        })
    }

    fn replace(&self, path: &Path, _: &[u8], _: Option<&[u8]>) -> Result<(), Diagnostic> {
        Err(Diagnostic::error(Name::UnwritableFile, "the tests write no files")
            .at(Place::File { name: path.display().to_string() }))
    }
}

pub(super) fn program(files: &[(&str, &str)], text: &str) -> std::sync::Arc<Program> {
    let files = files.iter().map(|(name, text)| (PathBuf::from(name), (*text).to_owned()));
    let memory = Memory(files.collect());
    let checked = compile(&Source::new("asked.sheet", text), &Project::new(&memory));
    let found: Vec<String> = checked.problems.iter().map(ToString::to_string).collect();
    checked.program.unwrap_or_else(|| panic!("{found:#?}\n{text}"))
}

/// A sheet of the library that takes no group, cut at its inputs; those of it that may be parted from the head.
struct Cut {
    head: String,
    takes: String,
    rest: String,
    tree: Tree,
}

fn cuts() -> Vec<Cut> {
    let cut = |sheet: &LibrarySheet| {
        let (tree, _) = parse(&Source::new(sheet.name, sheet.text));
        let (head, rest) = sheet.text.split_once("\ntakes\n")?;
        let (takes, rest) = rest.split_once("\n\nworks\n")?;
        (tree.groups.is_empty() && !rest.contains(".csv")).then(|| Cut {
            head: head.replacen(&format!("sheet {}", sheet.name), "sheet asked", 1),
            takes: takes.to_owned(),
            rest: format!("\n\nworks\n{rest}"),
            tree,
        })
    };
    let cuts: Vec<Cut> = SHEETS.iter().filter_map(cut).collect();
    assert!(cuts.len() > 90, "{}", cuts.len());
    cuts
}

fn group(takes: &str) -> String {
    format!("group all_inputs\ntitle \"a part\"\ntakes\n{takes}\n")
}

/// All that is asked for, but for where it is written.
fn asked(program: &Program, alias: &str) -> Vec<String> {
    let of = |name: &str| name.strip_prefix(alias).unwrap_or(name).to_owned();
    let written = |limit: &Option<standstill::program::Limit>| {
        limit.as_ref().map(|it| (it.register, it.included))
    };
    let inputs = program.inputs.iter().map(|it| {
        let range = (written(&it.low), written(&it.high), it.at_least);
        format!(
            "{} {:?} {:?} {:?} {:?} {}",
            of(&it.name),
            it.type_,
            it.default,
            it.example,
            range,
            it.note
        )
    });
    inputs.collect()
}

#[test]
fn inputs_of_a_group_are_inputs_of_the_sheet() {
    for Cut { head, takes, rest, .. } in cuts() {
        let plain = program(&[], &format!("{head}\ntakes\n{takes}{rest}"));
        let lines: Vec<&str> = takes.lines().collect();
        // a group is looked at by itself: what its bounds name stands in it
        let text = format!("{head}\ntakes\n  group all_inputs{rest}");
        let grouped = program(&[("all_inputs.group", &group(&lines.join("\n")))], &text);
        assert_eq!(plain.steps, grouped.steps, "{text}");
        assert_eq!(plain.blocks, grouped.blocks, "{text}");
        assert_eq!(asked(&plain, ""), asked(&grouped, ""), "{text}");
        assert!(grouped.inputs.iter().all(|input| input.heading == "a part"));
    }
}

#[test]
fn a_group_that_is_handed_on_hands_each_of_its_inputs() {
    for Cut { head, takes, rest, tree } in cuts() {
        let Some(give) = tree.gives.first() else { continue };
        let name = &give.name.value;
        let unit = give.unit.as_ref().map_or(String::new(), |unit| format!(" in {}", unit.value));
        let used = head.replacen("sheet asked", "sheet used", 1);
        let (one, whole) = (
            format!("{used}\ntakes\n{takes}{rest}"),
            format!("{used}\ntakes\n  group all_inputs{rest}"),
        );
        let part = group(&takes);
        let files = |used| [("used.sheet", used), ("all_inputs.group", part.as_str())];
        let inputs: Vec<&str> = tree.takes.iter().map(|take| take.name.value.as_str()).collect();
        let top = "sheet asked\ntitle \"t\"\nsource \"s\"";
        let end = format!("gives\n  behind.{name}{unit} as given_1\n");
        let plain = program(
            &files(&one),
            &format!(
                "{top}\nuses\n  behind = used with {}\ntakes\n{takes}\n{end}",
                inputs.join(", ")
            ),
        );
        let text = format!(
            "{top}\nuses\n  behind = used with all_inputs\ntakes\n  group all_inputs\n{end}"
        );
        let handed = program(&files(&whole), &text);
        assert_eq!(plain.steps, handed.steps, "{text}\n{whole}");
        let text = format!(
            "{top}\nuses\n  behind = used with all_inputs = left\ntakes\n  left : group all_inputs\n{end}"
        );
        let renamed = program(&files(&whole), &text);
        assert_eq!(plain.steps, renamed.steps, "{text}\n{whole}");
        assert_eq!(asked(&plain, ""), asked(&renamed, "left_"), "{text}\n{whole}");
    }
}

#[test]
fn a_choice_has_the_words_of_the_choice_that_it_is_handed_to() {
    let read = |sheet: &LibrarySheet| (sheet.name, parse(&Source::new(sheet.name, sheet.text)).0);
    let trees: BTreeMap<&str, Tree> = SHEETS.iter().map(read).collect();
    let choices = |tree: &Tree| -> BTreeMap<String, Vec<String>> {
        let of = |take: &Take| match &take.shape {
            Shape::Choice(words) => {
                Some((take.name.value.clone(), words.iter().map(|it| it.value.clone()).collect()))
            }
            _ => None,
        };
        tree.takes.iter().filter_map(of).collect()
    };
    let mut compared = 0;
    for (name, tree) in &trees {
        let own = choices(tree);
        for used in tree.uses.iter().filter_map(|it| trees.get(it.sheet.value.as_str())) {
            for (input, words) in choices(used) {
                if let Some(mine) = own.get(&input) {
                    assert_eq!(mine, &words, "`{input}` of {name}, handed to {:?}", used.name);
                    compared += 1;
                }
            }
        }
    }
    assert!(compared > 10, "{compared}");
}
