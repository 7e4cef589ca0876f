//! `standstill review`: text with sheet blocks becomes a page in which every number can be followed.

use std::path::Path;

use super::arguments::{Form, Review, To};
use super::failure::{Ending, Failure};
use super::print::Terminal;
use super::{ExitStatus, is_workbook, no_sheet, output, read_sheet};
use crate::calculation::Verdict;
use crate::diagnostic::{Diagnostic, Name, Place};
use crate::environment::Environment;
use crate::review::{
    self, Document, MADE, is_as_made, moment, no_revision, revisions, unread_values, way_back,
};

pub(super) fn review(
    asked: &Review,
    environment: &dyn Environment,
    terminal: &mut Terminal,
) -> Ending {
    if is_workbook(&asked.document) {
        let place = Place::Argument { text: asked.document.clone() };
        return Err(Failure::input(no_sheet(&asked.document, "a document").at(place)));
    }
    let source = read_sheet(&asked.document, environment)?;
    let mut document = review::read(&source, environment).map_err(|it| {
        let unreadable = |problem: &Diagnostic| problem.name == Name::UnreadableFile;
        match it.problems.iter().any(unreadable) && !it.sheet_is_wrong {
            true => Failure::file(it.problems),
            false => Failure::workbook(it.problems, it.sheet_is_wrong),
        }
    })?;
    let output = asked.output.clone().unwrap_or_else(|| {
        let ending = if asked.to == To::Html { "html" } else { "review.md" };
        Path::new(&asked.document).with_extension(ending).to_string_lossy().into_owned()
    });
    says_its_form(&output, asked.to)?;
    document.back = way_back(Path::new(&asked.document), Path::new(&output), environment);
    let made = |moment: &str| match asked.to {
        To::Html => review::page(&document, moment),
        To::Md => review::plain(&document, moment),
    };
    let verdict = ExitStatus::of(document.holds());
    if asked.check {
        return Ok(check(&output, &document, &made, environment, terminal).unwrap_or(verdict));
    }
    let text = made(&moment(environment.clock().unwrap_or(0)));
    let fits: &[&str] = if asked.to == To::Html { &[".html", ".htm"] } else { &[".md"] };
    output::save_page(&output, text.as_bytes(), fits, asked.force, environment)?;
    verdicts(&document, terminal);
    revision(&document, terminal);
    unread(&document, terminal);
    terminal.print(format!("{output} written."));
    Ok(verdict)
}

/// A name that says the other form is the option forgotten.
fn says_its_form(output: &str, to: To) -> Result<(), Failure> {
    let (written, others, remedy): (_, &[&str], _) = match to {
        To::Html => ("a page", &[".md"], "add `--to md`, or write a name that ends with `.html`"),
        To::Md => (
            "text",
            &[".html", ".htm"],
            "leave out `--to md`, or write a name that ends with `.md`",
        ),
    };
    let lower = output.to_lowercase();
    if !others.iter().any(|ending| lower.ends_with(ending)) {
        return Ok(());
    }
    let headline = format!("what is written here is {written}, and the name says another format");
    let problem = Diagnostic::error(Name::UnwritableFile, headline);
    Err(Failure::input(problem.at(Place::File { name: output.to_owned() }).remedy(remedy)))
}

/// What the pages are known by, or why no revision stands on them though the text speaks of one.
fn revision(document: &Document, terminal: &mut Terminal) {
    let text = &document.source.text;
    let speaks = text.to_lowercase().contains("revision");
    let above = text.split("```").next().unwrap_or_default();
    let titled = above.lines().any(|line| line.starts_with("# ") || line.starts_with("==="));
    match revisions(text).as_slice() {
        [one] => terminal.print(format!("revision on every page: {one}")),
        _ if !no_revision(text).is_empty() => terminal.print(no_revision(text)),
        [] if titled && !speaks => {}
        _ => terminal.print("no revision on the pages: write a line `Revision B` above the first block; what follows the word begins with a capital letter or a digit and has at most 24 letters"),
    }
}

/// What holds and what fails, each calculation and product line by its name; every failing check.
fn verdicts(document: &Document, terminal: &mut Terminal) {
    for calculation in &document.calculations {
        let own = [calculation.verdict().to_owned(), calculation.examples_text()];
        let own = own.into_iter().chain(calculation.stands_on());
        let words = own.chain(calculation.protocol_text());
        let words: Vec<String> = words.filter(|words| !words.is_empty()).collect();
        terminal.print(format!("{}: {}", calculation.alias, words.join("; ")));
        let fails = calculation.results.checks();
        let fails = fails.iter().filter(|check| check.verdict == Verdict::Fails);
        for check in fails.skip(1) {
            terminal.print(format!("{}: FAILS: {}", calculation.alias, check.text));
        }
        for remark in calculation.remarks() {
            terminal.print(format!("{}: to look at: {}", calculation.alias, remark.to_line()));
        }
    }
    for line in &document.lines {
        let words = [line.to_text(), line.examples.clone()];
        let words: Vec<String> = words.into_iter().filter(|words| !words.is_empty()).collect();
        terminal.print(format!("{}: {}", line.alias, words.join("; ")));
    }
    if document.calculations.is_empty() && document.lines.is_empty() {
        terminal.print("nothing is calculated in this document: it has no verdict");
    }
}

/// Whether a kept review still says what its inputs say; the moment at which it was made does not count.
fn check(
    output: &str,
    document: &Document,
    made: &dyn Fn(&str) -> String,
    environment: &dyn Environment,
    terminal: &mut Terminal,
) -> Option<ExitStatus> {
    let kept = match environment.read(Path::new(output)) {
        Ok(bytes) => String::from_utf8_lossy(&bytes).into_owned(),
        Err(problem) => {
            let remedy = "make it first, without `--check`, or name the kept one behind -o";
            terminal.problems(&[problem.remedy(remedy)], Form::Long, "");
            return Some(ExitStatus::File);
        }
    };
    let then = [MADE, "Calculated "].iter().find_map(|mark| {
        let at = kept.rfind(mark)? + mark.len();
        kept.get(at..)?.split_inclusive("UTC").next().map(str::to_owned)
    });
    let now = made(&then.unwrap_or_default());
    // an editor or a repository may have changed the line ends
    let kept = kept.replace("\r\n", "\n");
    verdicts(document, terminal);
    if now == kept {
        terminal.print(format!("{output} says what its inputs say."));
        return None;
    }
    let line = now.lines().zip(kept.lines()).position(|(a, b)| a != b).map_or(1, |at| at + 1);
    let problem = Diagnostic::error(
        Name::StaleReview,
        format!(
            "the review no longer says what its inputs say, from line {line} on: {}",
            why_stale(document, &kept, &now)
        ),
    )
    .at(Place::File { name: output.to_owned() })
    .remedy("make it again without `--check`, look at what has changed, and keep the new one");
    terminal.problems(&[problem], Form::Long, "");
    Some(ExitStatus::Fails)
}

/// Values of the text that stand where none is read.
fn unread(document: &Document, terminal: &mut Terminal) {
    for (line, value) in unread_values(document) {
        terminal.print(format!(
            "line {line}: `{value}` is not calculated here, in html, in an address or in a cell beyond those of the heading: move it into the text"
        ));
    }
}

/// What has changed since a kept review was made: its files by their hashes, the version, or itself; `now` is the
/// one that its inputs make.
fn why_stale(document: &Document, kept: &str, now: &str) -> String {
    // a comment may stand before it
    let is_page = |text: &str| text.lines().any(|line| line.trim_start().starts_with("<!doctype"));
    if kept.trim().is_empty() {
        return "it is empty".to_owned();
    }
    if is_page(kept) != is_page(now) {
        let [one, other] = ["a page (`.html`)", "Markdown (`--to md`)"];
        let (is, asked) = if is_page(kept) { (one, other) } else { (other, one) };
        return format!("it is {is}, and {asked} is asked for");
    }
    if !kept.trim_end().ends_with("-->") {
        return "it is cut off, or was not made here".to_owned();
    }
    let moved = |(name, hash): (&String, &String)| {
        let new = if kept.contains(name) { "" } else { " (new)" };
        (!kept.contains(hash)).then(|| format!("{name}{new}"))
    };
    let files = document.files.iter().map(|file| (&file.name, &file.hash));
    let mut changed: Vec<String> = files.filter_map(moved).collect();
    if changed.is_empty() {
        let sheets = document.sheets.iter().map(|sheet| (&sheet.sheet, &sheet.sha256));
        changed.extend(sheets.filter_map(moved));
    }
    let version = format!("Standstill {}", env!("CARGO_PKG_VERSION"));
    match changed.len() {
        0 if !kept.contains(&version) => format!("it was not made by {version}"),
        0 if !is_as_made(kept.as_bytes()) => {
            "none of its files has changed, it was itself changed by hand or made by an older build"
                .to_owned()
        }
        0 => "none of its files has changed, so another build made it, or somebody changed it with the sum at its end".to_owned(),
        1 => format!("{} has changed", changed.concat()),
        _ => format!("{} have changed", changed.join(", ")),
    }
}
