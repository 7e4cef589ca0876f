//! The tab of ranges: each bound in the unit that is chosen, and the factors of the units offered.

use std::collections::{BTreeMap, BTreeSet};

use rust_xlsxwriter::{Formula, Worksheet, XlsxError};

use super::super::cell_formats::{Page, Paper};
use super::super::formulas::{Term, binary, factor, literal, power, unary};
use super::page::{Field, Form};
use crate::number::{Exact, Outcome};
use crate::program::{Binary, Limit, Op, Program, Register, Type, Unary};
use crate::unit::Unit;

/// Name of the tab.
pub(super) const TAB: &str = "ranges";

/// First row of the ranges, from 0.
const FIRST: u32 = 4;

/// What stands for no bound; beyond any value that is kept.
const NONE: &str = "1E+300";

const HEADS: [&str; 10] = [
    "form", "input", "unit chosen", "factor", "zero", "value in SI", "least in SI", "most in SI",
    "least", "most",
];

/// The units offered for one kind.
struct Offered {
    kind: &'static str,
    units: Vec<Unit>,
    /// First row, from 0.
    row: u32,
}

/// One input.
struct InputRow {
    form: String,
    name: String,
    /// The cells of value and unit.
    value: String,
    unit: String,
    kind: &'static str,
    /// Read without a unit.
    bare: bool,
    low: Option<CellBound>,
    high: Option<CellBound>,
    low_included: bool,
    high_included: bool,
    counts: bool,
    /// The unit and the value that stand there at first.
    chosen: Unit,
    given: Option<f64>,
}

/// A bound in coherent SI as a formula, its value where all that it depends on is filled in, and the rows
/// of the other inputs that it depends on.
struct CellBound {
    text: String,
    value: Option<f64>,
    depends: BTreeSet<u32>,
}

/// Row and value in SI of the single numbers of a form.
type CachedValues = BTreeMap<Register, (u32, Option<Exact>)>;

/// All ranges of a workbook of forms.
pub(super) struct Bounds {
    lines: Vec<InputRow>,
    offered: Vec<Offered>,
}

impl Bounds {
    pub(super) fn new(forms: &[Form]) -> Self {
        let mut offered: Vec<Offered> = Vec::new();
        let mut lines = Vec::new();
        for form in forms {
            let rows = rows(form, FIRST + u32::try_from(lines.len()).unwrap_or(0));
            for field in form.fields.iter().filter(|field| is_number(field)) {
                let Some(kind) = field.input.kind else { continue };
                offer(&mut offered, field);
                let bound = |limit: &Option<Limit>| {
                    limit.as_ref().and_then(|limit| bound(&form.program, limit.register, &rows))
                };
                let tab = format!("'{}'", form.tab);
                lines.push(InputRow {
                    form: form.tab.clone(),
                    name: field.input.name.clone(),
                    value: format!("{tab}!B{}", field.row + 1),
                    unit: format!("{tab}!C{}", field.row + 1),
                    kind: kind.name,
                    bare: kind.bare,
                    low: bound(&field.input.low),
                    high: bound(&field.input.high),
                    low_included: field.input.low.as_ref().is_some_and(|limit| limit.included),
                    high_included: field.input.high.as_ref().is_some_and(|limit| limit.included),
                    counts: kind.name == "count",
                    chosen: field.unit(),
                    given: if field.rows == 1 {
                        field.single().map(crate::unit::Literal::si_f64)
                    } else {
                        None
                    },
                });
            }
        }
        let mut row = FIRST + u32::try_from(lines.len()).unwrap_or(0) + 3;
        for kind in &mut offered {
            kind.row = row;
            row += u32::try_from(kind.units.len()).unwrap_or(0);
        }
        Self { lines, offered }
    }

    /// The units of the list of a field.
    pub(super) fn offered(&self, field: &Field) -> Vec<String> {
        let kind = field.input.kind.map_or("", |kind| kind.name);
        let units =
            self.offered.iter().find(|offered| offered.kind == kind).map(|offered| &offered.units);
        let mut symbols: Vec<String> = Vec::new();
        let own = field.unit().symbol;
        for symbol in
            std::iter::once(own).chain(units.into_iter().flatten().map(|unit| unit.symbol.clone()))
        {
            // a list of a validation holds 255 signs
            let long: usize = symbols.iter().map(|symbol| symbol.len() + 1).sum();
            if !symbol.is_empty() && !symbols.contains(&symbol) && long + symbol.len() <= 250 {
                symbols.push(symbol);
            }
        }
        symbols
    }

    /// What must hold for the first cell of a field, as a formula of its own tab.
    pub(super) fn rule(&self, form: &str, field: &Field) -> String {
        let cell = format!("B{}", field.row + 1);
        let known = (FIRST + 1..).zip(&self.lines);
        let mut line = known.filter(|(_, line)| line.form == form && line.name == field.input.name);
        let Some((row, line)) = line.next() else { return format!("=ISNUMBER({cell})") };
        let mut parts = vec![format!("ISNUMBER({cell})")];
        if line.counts {
            parts.push(format!("{cell}=INT({cell})"));
        }
        if line.low.is_some() {
            let sign = if line.low_included { ">=" } else { ">" };
            parts.push(format!("{cell}{sign}{TAB}!$I${row}"));
        }
        if line.high.is_some() {
            let sign = if line.high_included { "<=" } else { "<" };
            parts.push(format!("{cell}{sign}{TAB}!$J${row}"));
        }
        match parts.as_slice() {
            [one] => format!("={one}"),
            all => format!("=AND({})", all.join(",")),
        }
    }

    pub(super) fn write(&self, tab: &mut Worksheet, paper: &Paper) -> Result<(), XlsxError> {
        let page = Page {
            widths: &[20.0, 16.0, 14.0, 14.0, 9.0, 14.0, 14.0, 14.0, 14.0, 14.0],
            landscape: true,
            headings: (0, 1),
            foot: "ranges of the inputs in the units that are chosen",
        };
        tab.set_name(TAB)?;
        page.title(tab, 0, "ranges", &paper.title)?;
        let about = "The forms look here while values are typed: what is allowed for each input, in the unit chosen beside it. \
Nothing is to be filled in. In SI = (value + zero) · factor; 1E+300 stands for no bound.";
        page.across(tab, 1, about, &paper.across)?;
        page.heads(tab, FIRST - 1, &HEADS, paper)?;
        for (row, line) in (FIRST..).zip(&self.lines) {
            self.line(tab, row, line, paper)?;
        }
        let head = FIRST + u32::try_from(self.lines.len()).unwrap_or(0) + 2;
        page.part(tab, head - 1, "units offered", &[], paper)?;
        page.heads(tab, head, &["kind", "", "unit", "factor", "zero"], paper)?;
        for offered in &self.offered {
            for (row, unit) in (offered.row..).zip(&offered.units) {
                let text = factor(unit.factor).text;
                tab.write_string_with_format(row, 0, offered.kind, &paper.name)?;
                tab.write_string_with_format(row, 2, &unit.symbol, &paper.unit)?;
                if text.contains(['*', '/', '(']) {
                    let formula = Formula::new(format!("={text}"))
                        .set_result(format!("{:?}", unit.factor.as_f64()));
                    tab.write_formula_with_format(row, 3, formula, &paper.number)?;
                } else {
                    tab.write_number_with_format(row, 3, unit.factor.as_f64(), &paper.number)?;
                }
                let zero: f64 = unit.zero.to_string().parse().unwrap_or(0.0);
                tab.write_number_with_format(row, 4, zero, &paper.number)?;
            }
        }
        page.set(tab)
    }

    fn line(
        &self,
        tab: &mut Worksheet,
        row: u32,
        line: &InputRow,
        paper: &Paper,
    ) -> Result<(), XlsxError> {
        tab.write_string_with_format(row, 0, &line.form, &paper.name)?;
        tab.write_string_with_format(row, 1, &line.name, &paper.name)?;
        let cell = row + 1;
        // spreadsheets match texts without regard to case, which makes mΩ of MΩ: EXACT does not
        let find = |column: char| {
            let Some(offered) = self.offered.iter().find(|offered| offered.kind == line.kind)
            else {
                return "0".to_owned();
            };
            let (first, last) =
                (offered.row + 1, offered.row + u32::try_from(offered.units.len()).unwrap_or(0));
            if last < first {
                return "0".to_owned();
            }
            format!(
                "SUMPRODUCT(EXACT($C${first}:$C${last},C{cell})*${column}${first}:${column}${last})"
            )
        };
        let bare =
            |found: String| if line.bare { format!("IF(C{cell}=\"-\",1,{found})") } else { found };
        let sure = |bound: &Option<CellBound>, none: &str| match bound {
            None => none.to_owned(),
            Some(bound) if bound.depends.is_empty() => bound.text.clone(),
            Some(bound) => {
                let unknown: Vec<String> =
                    bound.depends.iter().map(|row| format!("F{}=\"-\"", row + 1)).collect();
                format!("IF(OR({}),{none},{})", unknown.join(","), bound.text)
            }
        };
        let low_none = format!("-{NONE}");
        let in_unit = |column: char, included: bool, none: &str, sign: char| {
            let slack = if included {
                format!("{sign}1E-12*ABS({column}{cell}/D{cell})")
            } else {
                String::new()
            };
            format!(
                "IF(OR(D{cell}=0,ABS({column}{cell})>=1E+299),{none},{column}{cell}/D{cell}-E{cell}{slack})"
            )
        };
        let symbol = if line.chosen.symbol.is_empty() { "-" } else { &line.chosen.symbol };
        let (factor, zero) =
            (line.chosen.factor.as_f64(), line.chosen.zero.to_string().parse().unwrap_or(0.0));
        let (low, high) = (first_value(&line.low, -1e300), first_value(&line.high, 1e300));
        let there = |bound: f64, included: bool, sign: f64| {
            if bound.abs() >= 1e299 {
                return bound;
            }
            let slack = if included { sign * 1e-12 * (bound / factor).abs() } else { 0.0 };
            bound / factor - zero + slack
        };
        let given = line.given.map_or("-".to_owned(), |given| format!("{given:?}"));
        let cells = [
            (2, format!("IF({0}=\"\",\"-\",{0})", line.unit), symbol.to_owned()),
            (3, bare(find('D')), format!("{factor:?}")),
            (4, find('E'), format!("{zero:?}")),
            (
                5,
                format!("IF(OR({0}=\"\",D{cell}=0),\"-\",({0}+E{cell})*D{cell})", line.value),
                given,
            ),
            (6, sure(&line.low, &low_none), format!("{low:?}")),
            (7, sure(&line.high, NONE), format!("{high:?}")),
            (
                8,
                in_unit('G', line.low_included, &low_none, '-'),
                format!("{:?}", there(low, line.low_included, -1.0)),
            ),
            (
                9,
                in_unit('H', line.high_included, NONE, '+'),
                format!("{:?}", there(high, line.high_included, 1.0)),
            ),
        ];
        for (column, text, value) in cells {
            let formula = Formula::new(format!("={text}")).set_result(value);
            let format = if column == 2 { &paper.unit } else { &paper.number };
            tab.write_formula_with_format(row, column, formula, format)?;
        }
        Ok(())
    }
}

/// The value that a bound has before anything more is filled in.
fn first_value(bound: &Option<CellBound>, none: f64) -> f64 {
    bound.as_ref().and_then(|bound| bound.value).unwrap_or(none)
}

fn is_number(field: &Field) -> bool {
    matches!(field.input.type_, Type::Number { .. })
}

/// The row of each single number of a form on this tab.
fn rows(form: &Form, first: u32) -> CachedValues {
    (first..)
        .zip(form.fields.iter().filter(|field| is_number(field)))
        .filter(|(_, field)| field.rows == 1)
        .map(|(row, field)| {
            let value = field.single().and_then(|value| Exact::from_literal(value).ok());
            (field.input.register, (row, value))
        })
        .collect()
}

fn offer(offered: &mut Vec<Offered>, field: &Field) {
    let Some(kind) = field.input.kind else { return };
    let at = offered.iter().position(|known| known.kind == kind.name);
    let entry = match at.and_then(|at| offered.get_mut(at)) {
        Some(known) => known,
        None => {
            let of_kind =
                if kind.units.is_empty() && kind.name != "count" { &["%"][..] } else { kind.units };
            let units = of_kind.iter().filter_map(|text| kind.read_unit(text).ok()).collect();
            offered.push(Offered { kind: kind.name, units, row: 0 });
            let Some(new) = offered.last_mut() else { return };
            new
        }
    };
    let own = field.unit();
    if !own.symbol.is_empty() && entry.units.iter().all(|unit| unit.symbol != own.symbol) {
        entry.units.push(own);
    }
}

/// A bound as a formula over the SI values of other inputs on this tab; none if it is more than plain
/// arithmetic, which is left to `fill`.
fn bound(program: &Program, register: Register, rows: &CachedValues) -> Option<CellBound> {
    let mut depends = BTreeSet::new();
    let (term, value) = arithmetic(program, register, rows, &mut depends)?;
    Some(CellBound { text: term.text, value: value.map(|value| value.to_f64()), depends })
}

fn arithmetic(
    program: &Program,
    register: Register,
    rows: &CachedValues,
    depends: &mut BTreeSet<u32>,
) -> Option<(Term, Option<Exact>)> {
    if let Some((row, value)) = rows.get(&register) {
        depends.insert(*row);
        return Some((Term::whole(format!("F{}", row + 1)), *value));
    }
    let step = program.steps.iter().find(|step| step.to == register)?;
    let mut of = |register: Register| arithmetic(program, register, rows, depends);
    match step.op {
        Op::Literal(ref value) => Some((literal(value), Exact::from_literal(value).ok())),
        Op::Pi => Some((Term::whole("PI()"), Some(Exact::pi()))),
        Op::Input(id) => {
            let input = program.input(id)?;
            (input.register != register).then(|| of(input.register))?
        }
        Op::Unary(Unary::Negate, x) => {
            let (term, value) = of(x)?;
            Some((unary(Unary::Negate, &term), value.map(|value| value.negated())))
        }
        Op::Binary(function, x, y) => {
            let ((x, a), (y, b)) = (of(x)?, of(y)?);
            let work: fn(&Exact, &Exact) -> Outcome = match function {
                Binary::Add => Exact::plus,
                Binary::Subtract => Exact::minus,
                Binary::Multiply => Exact::times,
                Binary::Divide => Exact::over,
                Binary::Least => |a, b| Ok(if a.stands_to(b).is_le() { *a } else { *b }),
                Binary::Greatest => |a, b| Ok(if a.stands_to(b).is_ge() { *a } else { *b }),
                Binary::Raise => return None,
            };
            let value = a.zip(b).and_then(|(a, b)| work(&a, &b).ok());
            Some((binary(function, &x, &y), value))
        }
        Op::Power(x, by) => {
            let (term, value) = of(x)?;
            Some((power(&term, by), value.and_then(|value| value.power(by).ok())))
        }
        _ => None,
    }
}
