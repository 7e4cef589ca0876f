//! `standstill prove`: sheets checked without running them.

use super::arguments::{Form, Prove};
use super::print::Terminal;
use super::{Ending, check_sheet, find_sheet};
use crate::diagnostic::{Diagnostic, put_in_order, totals};
use crate::environment::Environment;
use crate::library::SHELVED;
use crate::report::{self, text};

pub(super) fn prove(
    asked: &Prove,
    environment: &dyn Environment,
    terminal: &mut Terminal,
) -> Ending {
    let names: Vec<String> = if asked.sheets.is_empty() {
        SHELVED.iter().map(|sheet| sheet.name.to_owned()).collect()
    } else {
        asked.sheets.clone()
    };
    let mut problems: Vec<Diagnostic> = Vec::new();
    let mut meant = Vec::new();
    let mut ending = Ending::Holds;
    let mut taken = Vec::new();
    for name in &names {
        match find_sheet(name, environment) {
            Ok(source) => {
                let checked = check_sheet(&source, environment);
                problems.extend(checked.problems);
                meant.extend(checked.program.iter().flat_map(|program| program.meant.clone()));
                taken.extend(checked.program.as_deref().and_then(|program| {
                    let words = report::defaults_in_words(&report::defaults_of_used(program))?;
                    Some(format!("{name}: {words}"))
                }));
            }
            Err((problem, how)) => {
                problems.push(problem);
                ending = how;
            }
        }
    }
    // of the whole library it would be a book
    if asked.form == Form::Long && !asked.sheets.is_empty() {
        terminal.lines(text::list("defaults of used sheets that are taken", &taken));
    }
    put_in_order(&mut problems);
    let counted = totals(&problems);
    let sheets =
        if names.len() == 1 { "1 sheet".to_owned() } else { format!("{} sheets", names.len()) };
    if asked.form == Form::Long {
        for number in &meant {
            terminal.say(format!(
                "meant: {} ({}): {}",
                number.written,
                number.place.in_words(),
                number.why
            ));
        }
    }
    if problems.is_empty() {
        if asked.form == Form::Long {
            terminal.say(format!("{sheets} checked, no problems."));
        }
        return Ending::Holds;
    }
    terminal.each_problem(&problems, asked.form);
    if asked.form == Form::Long {
        let counted = match (asked.strict, counted.errors, counted.cautions) {
            (true, 0, 1) => "1 caution, and `--strict` allows none".to_owned(),
            (true, 0, many) => format!("{many} cautions, and `--strict` allows none"),
            _ => counted.in_words(),
        };
        terminal.tell(format!("{counted}. {sheets} checked."));
    }
    if ending != Ending::Holds {
        return ending;
    }
    if counted.errors > 0 || asked.strict { Ending::WrongSheet } else { Ending::Holds }
}
