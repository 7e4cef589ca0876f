//! The list of symbols: every input and result of a document, and every other value that its text speaks of, with
//! words, unit and kind, and where it stands.

use std::cmp::Reverse;
use std::collections::BTreeSet;

use super::block::Show;
use super::lines::row_head;
use super::markup::{escaped, worded};
use super::model::{Calculation, Document, Role, What, anchor};
use crate::program::{Line, LineSource, Program, Type};
use crate::report::markdown;
use crate::report::{Column, Table};
use crate::unit::{self, Kind, Unit, kinds_of, name_of};

const COLUMNS: &[Column] = &[
    Column::words("symbol"),
    Column::words("what it is"),
    Column::words("unit"),
    Column::words("kind"),
    Column::words("where"),
];

/// A symbol in one meaning.
struct Symbol {
    name: String,
    words: String,
    unit: String,
    kind: String,
    /// Where it stands.
    stands: Vec<Stand>,
}

/// A calculation or a product line that has a symbol.
struct Stand {
    role: Role,
    /// Empty where the document has no other.
    alias: String,
    /// The place on the page; none where the page does not show it.
    place: Option<String>,
    /// Whether that is its row in a table of inputs or results.
    row: bool,
}

impl Symbol {
    /// `input of stop, rollers; result of ramp`, each name as `written`.
    fn stands(&self, written: &dyn Fn(&Stand, &str) -> String) -> String {
        let mut parts: Vec<String> = Vec::new();
        for role in [Role::Input, Role::Result, Role::Line] {
            let own: Vec<&Stand> = self.stands.iter().filter(|it| it.role == role).collect();
            parts.extend(match own.as_slice() {
                [] => None,
                [one] if one.alias.is_empty() => Some(written(one, role.word())),
                all => {
                    let names: Vec<String> = all.iter().map(|it| written(it, &it.alias)).collect();
                    Some(format!("{} of {}", role.word(), names.join(", ")))
                }
            });
        }
        parts.join("; ")
    }
}

/// All of them, in the order of the alphabet.
fn symbols(document: &Document) -> Vec<Symbol> {
    let mut all: Vec<Symbol> = Vec::new();
    let many = document.calculations.len() + document.lines.len() > 1;
    let alias = |alias: &str| if many { alias.to_owned() } else { String::new() };
    for (of, one) in document.calculations.iter().enumerate() {
        let place = |show: Show, row: String| match one.shows.as_slice() {
            [] => (None, false),
            shows if shows.contains(&show) => (Some(row), show != Show::Steps),
            _ => (Some(format!("calc{of}")), false),
        };
        let text = text_of(document, of);
        for (symbol, role, at) in of_program(one.results.program()) {
            let show = if role == Role::Input { Show::Inputs } else { Show::Results };
            let (place, row) = place(show, anchor(of, role, at));
            let stands = vec![Stand { role, alias: alias(&one.alias), place, row }];
            add(&mut all, Symbol { stands, ..symbol });
        }
        for name in text {
            let Some(symbol) = of_line(one, name) else { continue };
            let (place, row) = place(Show::Steps, format!("calc{of}"));
            let stands = vec![Stand { role: Role::Line, alias: alias(&one.alias), place, row }];
            add(&mut all, Symbol { stands, ..symbol });
        }
    }
    for (at, line) in document.lines.iter().enumerate() {
        for (symbol, role, _) in of_program(&line.program) {
            let place = Some(format!("line{at}"));
            let stands = vec![Stand { role, alias: alias(&line.alias), place, row: false }];
            add(&mut all, Symbol { stands, ..symbol });
        }
    }
    // `t` before `T`, and both before `t_1`
    all.sort_by_cached_key(|it| {
        (it.name.to_lowercase(), Reverse(it.name.clone()), it.words.clone())
    });
    all
}

/// Another place of a symbol that is known, or a further one.
fn add(all: &mut Vec<Symbol>, symbol: Symbol) {
    let key = |it: &Symbol| (it.name.clone(), it.words.clone(), it.unit.clone(), it.kind.clone());
    match all.iter_mut().find(|known| key(known) == key(&symbol)) {
        Some(known) => known.stands.extend(symbol.stands),
        None => all.push(symbol),
    }
}

/// The values of a calculation that the text speaks of.
fn text_of(document: &Document, calculation: usize) -> BTreeSet<&String> {
    let own = document.values.iter().filter(|(_, it)| it.calculation == calculation);
    own.filter_map(|(_, it)| match &it.what {
        What::Value { name, .. } => Some(name),
        _ => None,
    })
    .collect()
}

/// Inputs and results of a program, each with its place among them.
fn of_program(program: &Program) -> Vec<(Symbol, Role, usize)> {
    let symbol = |name: &str, words: &str, unit: &Unit, kind: String| Symbol {
        name: name.to_owned(),
        words: words.to_owned(),
        unit: unit.symbol.clone(),
        kind,
        stands: Vec::new(),
    };
    let inputs = program.inputs.iter().enumerate().map(|(at, it)| {
        let kind = kind_of(&it.type_, &it.unit, it.kind);
        (symbol(&it.name, &it.note, &it.unit, kind), Role::Input, at)
    });
    let results = program.outputs.iter().enumerate().map(|(at, it)| {
        let kind = kind_of(&it.type_, &it.unit, None);
        let formula = program.lines.iter().find(|line| line.name == it.name).map(formula);
        let words = match it.note.as_str() {
            "" => formula.unwrap_or_default(),
            note => note.to_owned(),
        };
        (symbol(&it.name, &words, &it.unit, kind), Role::Result, at)
    });
    inputs.chain(results).collect()
}

/// Any other line that the text speaks of.
fn of_line(calculation: &Calculation, name: &str) -> Option<Symbol> {
    let program = calculation.results.program();
    let known = program.inputs.iter().any(|it| it.name == name)
        || program.outputs.iter().any(|it| it.name == name);
    let line = program.lines.iter().rev().find(|line| line.name == name)?;
    if known {
        return None;
    }
    Some(Symbol {
        name: name.to_owned(),
        words: if line.note.is_empty() { formula(line) } else { line.note.clone() },
        unit: line.unit.symbol.clone(),
        kind: kind_of(&line.type_, &line.unit, None),
        stands: Vec::new(),
    })
}

/// What a value is where its sheet has no words for it: the formula as it is written.
fn formula(line: &Line) -> String {
    let written = match (&line.says, &line.place) {
        (LineSource::Works(_), crate::diagnostic::Place::Text { source, span }) => {
            source.text.get(span.0..span.1)
        }
        _ => None,
    };
    let written = written.unwrap_or(&line.name).split_whitespace().collect::<Vec<_>>().join(" ");
    format!("calculated as {written}")
}

/// The kind of a value in words: its own, else the first that is read in its unit.
fn kind_of(type_: &Type, unit: &Unit, kind: Option<&Kind>) -> String {
    let Type::Number { dimension, point, series } = type_ else {
        return match type_ {
            Type::Choice(words) => format!("one of {}", words.join(", ")),
            Type::Number { .. } | Type::Truth => "true or false".to_owned(),
        };
    };
    let of_unit = || {
        if dimension.is_none() {
            return unit::kind("ratio");
        }
        let mut all = kinds_of(*dimension).into_iter().filter(|kind| kind.point == *point);
        all.find(|kind| unit.symbol.is_empty() || kind.units.contains(&unit.symbol.as_str()))
    };
    let name = match kind.or_else(of_unit) {
        Some(kind) => kind.name.to_owned(),
        None => {
            let name = name_of(*dimension);
            name.split_once(' ').map_or(name.clone(), |(_, rest)| rest.to_owned())
        }
    };
    if *series { format!("series of {name}") } else { name }
}

/// The heading of the list.
pub(super) const SYMBOLS: &str = "Symbols";

/// Said on paper, which has no need to say a symbol's words twice.
const ELSEWHERE: &str = "Symbols that a table of inputs or results shows with their words are not listed again on paper.";

/// The list as a part of a page, folded on a screen; a library in one file has thousands of rows, so that cells
/// are not closed, as HTML allows.
pub(super) fn html(document: &Document) -> String {
    let all = symbols(document);
    if all.is_empty() {
        return String::new();
    }
    let heads: String =
        COLUMNS.iter().map(|it| format!("<th scope=\"col\">{}</th>", it.head)).collect();
    let linked = |it: &Stand, words: &str| match &it.place {
        Some(place) => format!("<a href=\"#{place}\">{}</a>", escaped(words)),
        None => escaped(words),
    };
    let row = |it: &Symbol| {
        format!(
            "<tr{}>{}<td>{}<td>{}<td>{}<td>{}",
            if it.stands.iter().any(|it| it.row) { " class=rw" } else { "" },
            row_head(&it.name),
            worded(&it.words),
            escaped(&it.unit),
            escaped(&it.kind),
            it.stands(&linked)
        )
    };
    let rows: String = all.iter().map(row).collect();
    format!(
        "<section class=\"end\"><h2 id=\"symbols\">{SYMBOLS}</h2><p class=\"pp rest\">{ELSEWHERE}</p><details class=\"sy\"><summary>{} symbols: what each is, its unit and kind, and where it stands</summary><div class=\"wide\" tabindex=\"0\" role=\"group\" aria-label=\"symbols\"><table><thead><tr>{heads}</tr></thead><tbody>{rows}</tbody></table></div></details></section>\n",
        all.len()
    )
}

/// The list as Markdown.
pub(super) fn plain(document: &Document) -> String {
    let row = |it: Symbol| {
        let stands = it.stands(&|_, words| words.to_owned());
        vec![it.name, it.words, it.unit, it.kind, stands]
    };
    let rows: Vec<Vec<String>> = symbols(document).into_iter().map(row).collect();
    if rows.is_empty() {
        return String::new();
    }
    let table = Table { columns: COLUMNS, rows, ..Table::default() };
    format!("\n### {SYMBOLS}\n{}", markdown::table(&table))
}
