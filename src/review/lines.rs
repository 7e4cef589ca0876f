//! Worked lines, results, checks and settings of a calculation as HTML.

use std::cell::RefCell;
use std::collections::BTreeMap;

use super::client_data::{Formats, NUMBER};
use super::formula::{Writer, symbol, symbol_in_text};
use super::given::given;
use super::markup::{escaped, tied_words, with_minus, worded};
use super::model::{Calculation, Role, WorstReview, anchor, step_anchor, withholds};
use super::tables;
use super::width::{fit, is_wide};
use crate::calculation::{Results, Verdict, difference};
use crate::diagnostic::Place;
use crate::language::{Body, Expression, Node};
use crate::number::Slot;
use crate::program::{Input, Line, LineSource, Op, Program, Register, Scope, Type};
use crate::report::markdown::signs;
use crate::report::{self, AT_THE_VALUES_GIVEN, NOT_TO_BE_SET, Release, Table, tolerance};
use crate::unit::Unit;

/// What is said once on paper of the notes below each formula.
const PLACES: &str = "Each note is followed by its line and column in the file of its sheet.";

/// The class of a step whose formula and note the page has shown already.
const AGAIN: &str = "w ag";

/// Writes the parts of a calculation.
pub(super) struct SectionWriter<'a> {
    /// Place of the calculation on the page.
    pub(super) at: usize,
    pub(super) results: &'a Results,
    pub(super) release: &'a Release,
    /// That it stands on what is none to go by, above its figures.
    pub(super) stands: &'a str,
    pub(super) formats: &'a Formats,
    /// Sources of the whole page; a sheet names its own by number.
    pub(super) sources: &'a [&'a str],
    /// Formulas that the page has shown, each with the part where it stands: paper has them once.
    pub(super) shown: &'a RefCell<BTreeMap<String, String>>,
    /// How the calculation is called on the page.
    pub(super) alias: &'a str,
    /// Values of which the text speaks: each of their steps is a place that the text leads to.
    pub(super) spoken: &'a [Register],
}

impl<'a> SectionWriter<'a> {
    /// A value that follows the inputs.
    pub(super) fn live(&self, register: Register, type_: &Type, unit: &Unit) -> String {
        let text = self.results.register_text(register, type_, unit);
        let format = self.formats.number(type_, unit);
        format!("<span data-r=\"{} {format}\">{}</span>", register.0, tied(&text))
    }

    /// The results.
    pub(super) fn figures(&self) -> String {
        let mut rows = String::new();
        for (at, output) in self.results.program().outputs.iter().enumerate() {
            let about = match (output.note.as_str(), output.rounding.as_str()) {
                (note, "") => escaped(note),
                ("", rounding) => format!("<i>{}</i>", escaped(rounding)),
                (note, rounding) => format!("{}, <i>{}</i>", escaped(note), escaped(rounding)),
            };
            let mut value = self.live(output.register, &output.type_, &output.unit);
            if output.setting.is_some() {
                value = format!("{}{value}", self.not_to_be_set());
            }
            rows.push_str(&format!(
                "<tr id=\"{}\">{}<td class=\"q\">{value}</td><td>{about}</td></tr>",
                anchor(self.at, Role::Result, at),
                row_head(&output.name)
            ));
        }
        format!(
            "<h4>Results</h4>{}<table class=\"fig\"><thead><tr><th scope=\"col\">symbol</th><th scope=\"col\" class=\"q\">value</th><th scope=\"col\">what it is</th></tr></thead><tbody>{rows}</tbody></table>",
            self.stands
        )
    }

    /// The checks, as sentences with their margin.
    pub(super) fn checks(&self) -> String {
        let program = self.results.program();
        if program.checks.is_empty() {
            return String::new();
        }
        let calculation = self.at;
        let mut items = String::new();
        let found = report::checks(self.results);
        for (at, (check, outcome)) in program.checks.iter().zip(&found).enumerate() {
            let (class, word) = (class(outcome.verdict), outcome.verdict.word());
            let path = if check.path.is_empty() {
                String::new()
            } else {
                format!("<small>{}</small> ", escaped(&check.path))
            };
            let sides = tied(&signs(&outcome.detail()));
            let formula = if check.sides.is_some() || check.written == check.text {
                String::new()
            } else {
                format!(" <code>{}</code>", escaped(&check.written))
            };
            let otherwise = if check.otherwise.is_empty() {
                String::new()
            } else {
                format!(" <span class=\"els\">What to do: {}.</span>", worded(&check.otherwise))
            };
            // the ways of writing are asked for here so that the page carries them
            self.formats.number(&NUMBER, &check.unit);
            self.formats.number(&NUMBER, &difference(&check.unit));
            items.push_str(&format!(
                "<li class=\"{class}\" id=\"calc{calculation}k{at}\" data-k=\"{at}\"><b>{word}</b> <span>{path}{}{formula}: <span class=\"sd\">{sides}</span>{otherwise}</span></li>",
                coded(&check.text)
            ));
        }
        format!("<h4>{}</h4><ul class=\"chk\">{items}</ul>", self.checks_head())
            .replace(": <span class=\"sd\"></span>", "<span class=\"sd\"></span>")
    }

    /// What stands above the checks: a verdict at the values given is not taken for the worst case.
    fn checks_head(&self) -> String {
        match self.results.inputs().any_spread() {
            true => format!("Checks {AT_THE_VALUES_GIVEN}"),
            false => "Checks".to_owned(),
        }
    }

    /// The checks where the document does not show them: those that hold are left unseen.
    pub(super) fn failing(&self) -> String {
        self.checks().replace(
            &format!("<h4>{}</h4><ul class=\"chk\">", self.checks_head()),
            "<ul class=\"chk ff\" aria-label=\"checks that do not hold\">",
        )
    }

    /// What stands before a setting that may not be set; hidden while it may.
    fn not_to_be_set(&self) -> String {
        let hidden = if self.release.may_be_set() { " hidden" } else { "" };
        format!("<b class=\"ns\"{hidden}>{NOT_TO_BE_SET}:\u{a0}</b>")
    }

    /// What is set in the drive, with a line to confirm it, below the verdict on the calculation: where that
    /// fails, in a trial too, nothing is left to sign. `worst` is the worst case, where there are tolerances.
    pub(super) fn settings(&self, worst: Option<&WorstReview>) -> String {
        let program = self.results.program();
        let rows: String = program
            .outputs
            .iter()
            .filter_map(|output| {
                let (step, low, high) = output.setting?;
                let value = |register| self.live(register, &output.type_, &output.unit);
                Some(format!(
                    "<tr>{}<td class=\"q\">{}<b>{}</b></td><td class=\"q\">{}</td><td class=\"q\">{} to {}</td><td>{}</td><td class=\"sig\"><span class=\"dns\">do not set</span><span class=\"tns\">a trial: not to be signed</span></td></tr>",
                    row_head(&output.name), self.not_to_be_set(), value(output.register), value(step), value(low), value(high), escaped(&output.note)
                ))
            })
            .collect();
        if rows.is_empty() {
            return rows;
        }
        let bad = if self.results.holds() { "" } else { " bad" };
        let no = format!("<b class=\"no\">{NOT_TO_BE_SET}. </b>");
        let open = worst.map_or_else(String::new, |worst| {
            let class = if withholds(self.release) { "gate bad" } else { "gate" };
            format!(
                "<p class=\"{class}\">{no}<span data-wg=\"{}\">{}</span></p>",
                self.at,
                worded(&worst.to_text())
            )
        });
        let examples = report::of_no_machine_text(self.results.inputs());
        let hidden = if examples.is_empty() { " hidden" } else { "" };
        // what it stands on is said as its verdict is: nothing is left to sign
        let rests = match self.stands {
            "" => String::new(),
            _ => {
                let hidden = if self.release.stands_on().is_empty() { " hidden" } else { "" };
                format!("<div class=\"gate bad\"{hidden}>{no}{}</div>", self.stands)
            }
        };
        let open = format!(
            "{open}{rests}<p class=\"gate bad\"{hidden}>{no}<span data-xg=\"{}\">{}.</span></p>",
            self.at,
            escaped(&examples)
        );
        format!(
            "<h4>To be set in the drive</h4>{open}<p class=\"gate{bad}\">{no}<span data-c=\"{}\" data-ck>{}</span></p><div class=\"wide\" tabindex=\"0\" role=\"group\" aria-label=\"settings\"><table class=\"set\"><thead><tr><th scope=\"col\">setting</th><th scope=\"col\" class=\"q\">value</th><th scope=\"col\" class=\"q\">step</th><th scope=\"col\" class=\"q\">range</th><th scope=\"col\">what it is</th><th scope=\"col\">read back, date, name</th></tr></thead><tbody>{rows}</tbody></table></div>",
            self.at,
            worded(&self.results.verdict_text())
        )
    }

    /// Every line as formula, values and result; a part for each sheet.
    pub(super) fn steps(&self) -> String {
        let program = self.results.program();
        let idle = self.results.idle_scopes();
        let mut needed = format!("<h4>Worked steps</h4><p class=\"pp rest\">{PLACES}</p>");
        let mut folded = String::new();
        for (at, scope) in program.scopes.iter().enumerate() {
            let own: Vec<String> = program
                .lines
                .iter()
                .filter(|line| usize::try_from(line.scope) == Ok(at))
                .filter_map(|line| self.line(scope, line, idle.contains(&at)))
                .collect();
            let Some((first, others)) = own.split_first() else { continue };
            let numbers: Vec<String> = scope
                .sources
                .iter()
                .filter_map(|source| self.sources.iter().position(|known| known == source))
                .map(|place| format!("<a href=\"#src{0}\">{0}</a>", place + 1))
                .collect();
            let sources = if numbers.is_empty() {
                String::new()
            } else {
                format!(
                    "<p class=\"rest\">Sources: {}. <span class=\"sc\">The file of the sheet is {}; each note is followed by its line and column.</span></p>",
                    numbers.join(", "),
                    escaped(scope.source.name.rsplit(['/', '\\']).next().unwrap_or_default())
                )
            };
            let repeats = |own: &String| own.contains(AGAIN);
            let (again, above) = match own.iter().any(repeats) {
                true => (" class=\"again\"", self.above(scope)),
                false => ("", String::new()),
            };
            let path = if scope.path.is_empty() {
                String::new()
            } else {
                format!("<b>{}</b>: ", escaped(&scope.path))
            };
            let open = if at == 0 { " open" } else { "" };
            let to = if idle.contains(&at) { &mut folded } else { &mut needed };
            to.push_str(&format!(
                "<details{again}{open}><summary>{path}{} <small>({}{above})</small></summary><div class=\"hd\">{sources}{first}</div><div class=\"cols\">{}</div>{}</details>",
                escaped(&scope.title), escaped(&scope.sheet), others.concat(), tables::of(self.results, self.formats, scope, at)
            ));
        }
        if !folded.is_empty() {
            // said of the values as they were made: a trial may choose another case
            needed.push_str(&format!(
                "<details class=\"idle\"><summary>As made, {}</summary>{folded}</details>",
                escaped(&crate::report::idle_text(self.results))
            ));
        }
        needed
    }

    /// Where the formulas of a sheet stand that paper does not repeat.
    fn above(&self, scope: &Scope) -> String {
        let shown = self.shown.borrow();
        let place = shown.get(&scope.source.name).map_or("", String::as_str);
        format!("<span class=\"pp\">; formulas, notes and sources as at {}</span>", escaped(place))
    }

    /// A line as formula, values and result; `idle` where paper leaves it out.
    fn line(&self, scope: &Scope, line: &Line, idle: bool) -> Option<String> {
        let short = line.name.rsplit('.').next().unwrap_or(&line.name);
        let (name, tree) = match &line.says {
            LineSource::Works(definition) => match &definition.body {
                Body::Value(tree) => (symbol(short), tree),
                Body::Function { parameters, result } => {
                    let parameters: Vec<String> =
                        parameters.iter().map(|word| symbol(&word.value)).collect();
                    let head = format!(
                        "<mrow>{}<mo>(</mo>{}<mo>)</mo></mrow>",
                        symbol(short),
                        parameters.join("<mo>,</mo>")
                    );
                    return Some(self.function(scope, line, &head, result));
                }
                Body::Table(_) => return None,
            },
            LineSource::Hands(tree) => match &tree.node {
                Node::Name(_) | Node::Number { .. } | Node::Dotted(..) => return None,
                _ => (symbol(short), tree.as_ref()),
            },
            LineSource::Takes | LineSource::Default | LineSource::Holds(_) | LineSource::Gives => {
                return None;
            }
        };
        let cases = self.cases(line, tree);
        let taken =
            cases.iter().position(|condition| self.holds(*condition)).unwrap_or(cases.len());
        let [formula, values] = [false, true].map(|with_values| {
            let writer =
                Writer { results: self.results, formats: self.formats, scope, with_values };
            writer.pieces(tree)
        });
        let result = format!("= <b>{}</b>", self.live(line.register, &line.type_, &line.unit));
        let plain = formula == values || matches!(tree.node, Node::Name(_) | Node::Dotted(..));
        let below = if plain && cases.is_empty() {
            format!(" {result}</p>")
        } else if plain {
            format!("</p><p>{result}</p>")
        } else {
            format!("</p><p class=\"vl\">{}</p><p>{result}</p>", pieces(&values, "", &cases, taken))
        };
        let which = if cases.is_empty() {
            String::new()
        } else {
            let registers: Vec<String> = cases.iter().map(|it| it.0.to_string()).collect();
            format!(
                "<p class=\"cw\" data-w=\"{}\">case {} applies</p>",
                registers.join(" "),
                taken + 1
            )
        };
        let again = !idle && !plain && self.again(scope, line, &name, &formula);
        // on paper what is wide stands across both columns
        let wide = !again && formula.iter().any(|piece| is_wide(piece))
            || values.iter().any(|piece| is_wide(&marked(piece, taken, true)));
        let class = if again { AGAIN } else { "w" };
        let class = if wide { format!("{class} wd") } else { class.to_owned() };
        let id = match self.spoken.contains(&line.register) {
            true => format!(" id=\"{}\"", step_anchor(self.at, line.register)),
            false => String::new(),
        };
        Some(format!(
            "<div class=\"{class}\"{id}><p>{}{below}{which}{}</div>",
            pieces(&formula, &name, &cases, taken),
            note(line)
        ))
    }

    /// Whether the page has shown this formula of this sheet; from now on it has.
    fn again(&self, scope: &Scope, line: &Line, name: &str, formula: &[String]) -> bool {
        let mut shown = self.shown.borrow_mut();
        let place = match scope.path.as_str() {
            "" => self.alias.to_owned(),
            path => format!("{}, {path}", self.alias),
        };
        let key = format!("{}\n{name}\n{}\n{}", scope.source.name, line.note, formula.concat());
        if shown.contains_key(&key) {
            return true;
        }
        shown.insert(key, String::new());
        shown.entry(scope.source.name.clone()).or_insert(place);
        false
    }

    fn function(&self, scope: &Scope, line: &Line, head: &str, result: &Expression) -> String {
        let writer =
            Writer { results: self.results, formats: self.formats, scope, with_values: false };
        format!(
            "<div class=\"w\"><p>{}</p>{}</div>",
            pieces(&writer.pieces(result), head, &[], 0),
            note(line)
        )
    }

    /// The conditions of a line that is nothing but cases, in their order.
    fn cases(&self, line: &Line, tree: &Expression) -> Vec<Register> {
        let Node::Cases { cases, .. } = &tree.node else { return Vec::new() };
        let program: &Program = self.results.program();
        let mut found = Vec::new();
        let mut at = line.register;
        while found.len() < cases.len() {
            let Some(Op::Select(condition, _, other)) =
                program.steps.iter().find(|step| step.to == at).map(|step| &step.op)
            else {
                return Vec::new();
            };
            found.push(*condition);
            at = *other;
        }
        found
    }

    fn holds(&self, register: Register) -> bool {
        matches!(self.results.run().register(register), Ok(Slot::Truth(true)))
    }
}

/// The name that heads a row; read out as the sheet writes it.
pub(super) fn row_head(name: &str) -> String {
    format!("<th scope=\"row\" aria-label=\"{}\">{}</th>", escaped(name), symbol_in_text(name))
}

/// A note with the place in the sheet.
fn note(line: &Line) -> String {
    let place = line.place.to_text();
    let place = place.split_once(':').map(|(_, place)| place).unwrap_or_default();
    format!("<p class=\"n\">{} <small>{}</small></p>", escaped(&line.note), escaped(place))
}

/// A formula whose terms may stand on lines of their own.
fn pieces(pieces: &[String], name: &str, cases: &[Register], taken: usize) -> String {
    let mut to = String::new();
    for (at, piece) in pieces.iter().enumerate() {
        let head = if at == 0 { format!("{name}<mo form=\"infix\">=</mo>") } else { String::new() };
        let written = |piece: &str| format!("{head}{piece}");
        let (piece, paper) = if cases.is_empty() {
            (piece.clone(), None)
        } else {
            // with values, paper shows the case that applies alone
            (marked(piece, taken, false), name.is_empty().then(|| marked(piece, taken, true)))
        };
        let whole = written(&piece);
        let fit = fit(&paper.map_or_else(|| whole.clone(), |piece| written(&piece)));
        to.push_str(&math(&whole, fit));
        to.push(' ');
    }
    to.trim_end().to_owned()
}

/// Marks the row of the case that applies, or leaves the others out.
fn marked(formula: &str, taken: usize, alone: bool) -> String {
    let mut to = String::new();
    let mut depth = 0_usize;
    let mut row = 0_usize;
    let mut left_out = false;
    for (at, part) in formula.split("<mtr>").enumerate() {
        if at > 0 {
            // rows of cases within cases are left alone
            let head = match depth {
                1 => {
                    row += 1;
                    left_out = alone && row != taken + 1;
                    if row == taken + 1 { "<mtr class=\"tk\">" } else { "<mtr class=\"nt\">" }
                }
                _ => "<mtr>",
            };
            if !left_out {
                to.push_str(head);
            }
        }
        depth += part.matches("<mtable").count();
        depth = depth.saturating_sub(part.matches("</mtable>").count());
        if !left_out {
            to.push_str(part);
        } else if depth == 0 {
            // what comes after the last row
            to.push_str(part.rsplit_once("</mtr>").map_or("", |(_, behind)| behind));
        }
    }
    to
}

/// A formula of its own, with the share of its size that paper takes.
fn math(inner: &str, fit: f64) -> String {
    if fit >= 1.0 {
        return format!("<math>{inner}</math>");
    }
    format!("<math style=\"--fit:{fit:.2}\">{inner}</math>")
}

/// How a verdict is coloured.
pub(super) fn class(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Holds => "ok",
        Verdict::Caution => "look",
        Verdict::NotProved | Verdict::MayFail | Verdict::Fails => "bad",
    }
}

/// A table of a report, which a narrow page may push; nothing where it has no rows.
pub(super) fn html_table(table: &Table, class: &str) -> String {
    let notes: String =
        table.notes.iter().map(|note| format!("<p class=\"rest\">{}</p>", escaped(note))).collect();
    if table.rows.is_empty() {
        return notes;
    }
    let mark = |figures: bool| if figures { " class=\"q\"" } else { "" };
    let heads: String = table
        .columns
        .iter()
        .map(|it| format!("<th scope=\"col\"{}>{}</th>", mark(it.figures), escaped(it.head)))
        .collect();
    let row = |row: &Vec<String>| {
        let cells = row.iter().zip(table.columns).skip(1).map(|(text, column)| {
            let words = if column.figures { tied(text) } else { tied_words(text) };
            format!("<td{}>{words}</td>", mark(column.figures))
        });
        let first = row.first().map(|name| row_head(name)).unwrap_or_default();
        format!("<tr>{first}{}</tr>", cells.collect::<String>())
    };
    let rows: String = table.rows.iter().map(row).collect();
    format!(
        "<div class=\"wide\" tabindex=\"0\" role=\"group\" aria-label=\"{}\"><table class=\"{class}\"><thead><tr>{heads}</tr></thead><tbody>{rows}</tbody></table></div>{notes}",
        escaped(&table.title)
    )
}

/// Text in which what stands between backticks is a name.
pub(super) fn coded(text: &str) -> String {
    let mut to = String::new();
    for (at, part) in text.split('`').enumerate() {
        to.push_str(&if at % 2 == 1 {
            format!("<code>{}</code>", escaped(part))
        } else {
            escaped(part)
        });
    }
    to
}

/// Text whose numbers stay with their units, below zero with a minus sign.
pub(super) fn tied(text: &str) -> String {
    escaped(&with_minus(text)).replace(' ', "\u{a0}").replace(",\u{a0}", ", ")
}

/// Where the value of an input comes from: a cell, a line of the document, another calculation, the example, a default.
pub(super) fn comes_from(calculation: &Calculation, at: usize, input: &Input) -> String {
    let inputs = calculation.results.inputs();
    let link = calculation.links.iter().find(|link| link.input == at);
    match (inputs.is_given(input), inputs.place(input)) {
        _ if link.is_some() => link.map_or_else(String::new, |link| link.written.clone()),
        _ if inputs.is_spared(input) => report::LEFT_OUT.to_owned(),
        (false, _) => input.default_source().unwrap_or_else(|| "default".to_owned()),
        (true, place @ Place::Cell { .. }) => {
            let words = place.to_text();
            let cell = words.rsplit(" ▸ ").next().unwrap_or_default();
            match report::of_no_machine(inputs).iter().any(|it| it.name == input.name) {
                true => format!("{cell}, as the example"),
                false => cell.to_owned(),
            }
        }
        (true, _) if inputs.is_example(input) => "example".to_owned(),
        (true, place) => place.to_text().split_once(':').map_or(String::new(), |(_, place)| {
            format!("line {}", place.split(':').next().unwrap_or_default())
        }),
    }
}

/// The inputs, to be changed by a reader; `place` is that of the calculation.
pub(super) fn inputs(place: usize, calculation: &Calculation, formats: &Formats) -> String {
    let results = &calculation.results;
    let program = results.program();
    let mut rows = String::new();
    for (at, input) in program.inputs.iter().enumerate() {
        let value = given(results, input);
        let link = calculation.links.iter().find(|link| link.input == at);
        let value = match link {
            // follows the other calculation: shown, not changed here
            Some(_) => {
                let format = formats.number(&input.type_, &input.unit);
                let words = results.register_text(input.register, &input.type_, &input.unit);
                format!("<span data-r=\"{} {format}\">{}</span>", input.register.0, tied(&words))
            }
            None => tied(&value),
        };
        let from = comes_from(calculation, at, input);
        let limits = input.limits_text();
        formats.number(&input.type_, &input.unit);
        if let Some(heading) = program.heading_above(at) {
            let heading = escaped(heading);
            rows.push_str(&format!(
                "<tr class=\"gr\"><th colspan=\"4\" scope=\"rowgroup\">{heading}</th></tr>"
            ));
        }
        rows.push_str(&format!(
            "<tr data-i=\"{at}\" id=\"{}\">{}<td class=\"iv\">{}</td><td>{}{}{}</td><td class=\"fr\">{}</td></tr>",
            anchor(place, Role::Input, at), row_head(&input.name), value, escaped(&input.note),
            tolerance(results, input).map_or_else(String::new, |words| format!(" <small class=\"tol\">tolerance: {}.</small>", worded(&words))),
            if limits.is_empty() { String::new() } else { format!(" <small>{}</small>", worded(&limits)) },
            escaped(&from)
        ));
    }
    format!(
        "<h4>Inputs</h4><p class=\"hint\" hidden>Change an input and the whole page follows: values, checks, steps and pictures. Escape puts the field back.</p><p class=\"tr\" role=\"status\" hidden></p><table class=\"inp\"><thead><tr><th scope=\"col\">symbol</th><th scope=\"col\" class=\"iv\">value</th><th scope=\"col\">what it is</th><th scope=\"col\" class=\"fr\">from</th></tr></thead><tbody>{rows}</tbody></table>"
    )
}
