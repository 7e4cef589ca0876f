//! Product lines with a mistake, calculated.

use std::collections::BTreeMap;

use standstill::environment::NoFs;
use standstill::program::{Input, Output, Type};
use standstill::project::Project;
use standstill::spreadsheet::{Book, NewValue, Reading};
use standstill::workbook::range::{ProductLine, TableRequest, VariantVerdict};
use standstill::{Inputs, Results};

use super::block::{SHEETS, cells, says};
use super::grid::{Content, Grid, Tab};
use super::{Outcome, Rng, example, many, refused, slips};

/// A column of the table.
#[derive(Clone)]
struct Column {
    name: String,
    column: u16,
    unit: String,
    input: Option<Input>,
}

/// A well-formed table, and what it means.
struct Case {
    grid: Grid,
    sheet: &'static str,
    columns: Vec<Column>,
    shared: Vec<Column>,
    header: u32,
    inputs: Inputs,
    /// Figures of each variant by result.
    wanted: Vec<BTreeMap<String, f64>>,
    /// As it is written.
    file: &'static str,
    comma: bool,
    other_units: bool,
    /// An input that is to have a column of tolerances.
    tolerance: Option<String>,
    /// Whether a row holds totals over the variants.
    totals: bool,
    /// Whether only a question is right.
    asked: bool,
}

const VARIANTS: u32 = 3;

impl Case {
    fn new(rng: &mut Rng) -> Option<Self> {
        let sheet = *rng.pick(SHEETS);
        let (inputs, _) = example(rng, sheet)?;
        let program = inputs.program().clone();
        let mut tab = Tab { name: "Line".to_owned(), ..Tab::default() };
        tab.text(0, 0, &format!("sheet {sheet}"));
        let mut row = 1;
        let mut columns = Vec::new();
        let mut shared = Vec::new();
        let mut values = Vec::new();
        for input in &program.inputs {
            let given = inputs.value(input)?;
            if matches!(input.type_, Type::Number { series: true, .. }) {
                return None;
            }
            if input.default.is_some() && !inputs.is_given(input) && rng.coin() {
                continue;
            }
            let (mut found, unit) = cells(input, &given);
            let cell = found.remove(0);
            let of = |column| Column {
                name: input.name.clone(),
                column,
                unit: unit.clone(),
                input: Some(input.clone()),
            };
            if rng.below(3) == 0 {
                tab.text(row, 0, &input.name);
                tab.cells.insert((row, 1), cell);
                tab.text(row, 2, &unit);
                shared.push(Column { column: u16::try_from(row).unwrap(), ..of(0) });
                row += 1;
            } else {
                let column = u16::try_from(columns.len()).unwrap() + 1;
                columns.push(of(column));
                values.push(cell);
            }
        }
        if columns.len() < 2 {
            return None;
        }
        let header = row + 1;
        tab.text(header, 0, "variant");
        let unit_row = rng.coin();
        for output in &program.outputs {
            let plain = matches!(output.type_, Type::Number { series: false, .. });
            if plain && !program.inputs.iter().any(|input| input.name == output.name) && rng.coin()
            {
                let column = u16::try_from(columns.len()).unwrap() + 1;
                columns.push(Column {
                    name: output.name.clone(),
                    column,
                    unit: output.unit.symbol.clone(),
                    input: None,
                });
            }
        }
        for column in &columns {
            if unit_row || column.unit.is_empty() {
                tab.text(header, column.column, &column.name);
                if unit_row {
                    tab.text(header + 1, column.column, &column.unit);
                }
            } else {
                tab.text(header, column.column, &format!("{} / ({})", column.name, column.unit));
            }
        }
        tab.text(header, u16::try_from(columns.len()).unwrap() + 1, "status");
        let first = header
            + 1
            + u32::from(unit_row && columns.iter().any(|column| !column.unit.is_empty()));
        let mut wanted = Vec::new();
        for variant in 0..VARIANTS {
            tab.text(first + variant, 0, &format!("V{variant}"));
            let mut own = inputs.clone();
            for (column, value) in columns.iter().zip(&values) {
                let mut value = value.clone();
                if let (Content::Number(number), true) = (&mut value, column.column == 1) {
                    *number *= 1.0 + f64::from(variant) / 64.0;
                    let text = format!("{number} {}", column.unit);
                    own.write(&column.name, text.trim()).ok()?;
                }
                tab.cells.insert((first + variant, column.column), value);
            }
            let results = Results::compute(&program, &own).ok()?;
            let figure = |output: &Output| {
                let exact = results.exact(&output.name)?;
                Some((output.name.clone(), output.unit.from_si(exact.to_f64())))
            };
            wanted.push(program.outputs.iter().filter_map(figure).collect());
        }
        let grid = Grid { tabs: vec![tab], names: Vec::new() };
        let file = *rng.pick(&["Line.xlsx", "Line.xlsx", "comma.csv", "semicolon.csv"]);
        let comma = file == "semicolon.csv" && rng.coin();
        Some(Self {
            grid,
            sheet,
            columns,
            shared,
            header,
            inputs,
            wanted,
            file,
            comma,
            other_units: false,
            tolerance: None,
            totals: false,
            asked: false,
        })
    }

    fn tab(&mut self) -> &mut Tab {
        &mut self.grid.tabs[0]
    }

    fn column(&self, rng: &mut Rng, wanted: impl Fn(&Column) -> bool) -> Option<Column> {
        let fit: Vec<&Column> = self.columns.iter().filter(|column| wanted(column)).collect();
        (!fit.is_empty()).then(|| (*rng.pick(&fit)).clone())
    }

    fn knows(&self, name: &str) -> bool {
        let program = self.inputs.program();
        program.inputs.iter().any(|input| input.name == name)
            || program.outputs.iter().any(|output| output.name == name)
            || ["checks", "status", "variant"].contains(&name.to_lowercase().as_str())
    }

    /// The row of a variant.
    fn row(&self, rng: &mut Rng) -> u32 {
        let name = format!("V{}", rng.below(VARIANTS as usize));
        let cells = &self.grid.tabs[0].cells;
        cells
            .iter()
            .find(|(_, cell)| **cell == Content::Text(name.clone()))
            .map_or(0, |((row, _), _)| *row)
    }

    fn outcome(&self) -> Outcome {
        match self.become_of() {
            Outcome::Right if self.asked => {
                Outcome::Wrong(format!("passed over{}", self.grid.to_text()))
            }
            other => other,
        }
    }

    fn become_of(&self) -> Outcome {
        let bytes = match self.file {
            "comma.csv" => self.grid.csv(',', false),
            "semicolon.csv" => self.grid.csv(';', self.comma),
            _ => self.grid.xlsx(),
        };
        let reading = Reading { decimal_comma: self.comma, ..Reading::default() };
        let book = match Book::read_as(self.file, &bytes, &reading) {
            Ok(book) => book,
            Err(problems) => return refused(&problems),
        };
        let project = Project::new(&NoFs);
        let line = match ProductLine::find(&book, &TableRequest::default(), &project) {
            Ok(line) => line,
            Err(unfilled) => return refused(&unfilled.problems),
        };
        if let Some(name) = &self.tolerance
            && !line
                .inputs
                .iter()
                .any(|it| line.program.inputs[it.input].name == *name && it.tolerance.is_some())
        {
            return Outcome::Wrong(format!(
                "the tolerance of {name} is not taken{}",
                self.grid.to_text()
            ));
        }
        let outcome = line.compute(&book, 0..line.variants.len(), 1, &|_| {});
        let mut all_right = true;
        if self.totals && line.variants.len() > VARIANTS as usize {
            return Outcome::Wrong(format!("a total is a variant{}", self.grid.to_text()));
        }
        for (variant, wanted) in self.wanted.iter().enumerate() {
            let name = format!("V{variant}");
            let found: Vec<_> = outcome
                .variants
                .iter()
                .filter(|found| {
                    line.variant_text(&book, found.row).split_whitespace().any(|word| word == name)
                })
                .collect();
            let [found] = found.as_slice() else {
                return Outcome::Wrong(format!(
                    "{name} is calculated {} times{}",
                    found.len(),
                    self.grid.to_text()
                ));
            };
            if found.verdict == VariantVerdict::Wrong {
                all_right = false;
                if found.problems.is_empty() {
                    return Outcome::Wrong(format!("{name} is wrong and has no problem"));
                }
                continue;
            }
            for column in self.columns.iter().filter(|column| column.input.is_none()) {
                let at = line.results.iter().position(|result| {
                    result.end.is_none()
                        && line.program.outputs[result.output].name == column.name
                        && !result.appended
                });
                let Some(at) = at else {
                    return Outcome::Wrong(format!(
                        "{} has no column{}",
                        column.name,
                        self.grid.to_text()
                    ));
                };
                let (NewValue::Number(number), Some(figure)) =
                    (&found.values[at], wanted.get(&column.name))
                else {
                    continue;
                };
                let symbol = &line.results[at].unit.symbol;
                let figure =
                    if symbol.is_empty() && column.unit == "%" { figure / 100.0 } else { *figure };
                if !self.other_units && (number - figure).abs() > 1e-9 * figure.abs() {
                    return Outcome::Wrong(format!(
                        "{} of {name} is {number}, not {figure}{}",
                        column.name,
                        self.grid.to_text()
                    ));
                }
            }
            for (name, figure) in wanted {
                if self.other_units || self.columns.iter().any(|column| column.input.is_none()) {
                    break;
                }
                let at = line
                    .results
                    .iter()
                    .position(|result| line.program.outputs[result.output].name == *name);
                if let Some(NewValue::Number(number)) = at.and_then(|at| found.values.get(at))
                    && (number - figure).abs() > 1e-9 * figure.abs()
                {
                    return Outcome::Wrong(format!(
                        "{name} is {number}, not {figure}{}",
                        self.grid.to_text()
                    ));
                }
            }
        }
        if all_right { Outcome::Right } else { Outcome::Refused }
    }
}

type Rule = (&'static str, fn(&mut Rng, &mut Case) -> Option<String>);

fn is_number(column: &Column) -> bool {
    column.input.as_ref().is_some_and(|input| input.kind.is_some())
}

fn says_another(column: &Column, text: &str) -> bool {
    match column.input.as_ref().and_then(|input| input.kind) {
        Some(kind) => says(kind, &column.unit, text.trim()),
        None => standstill::unit::parse_unit(text.trim()).is_ok(),
    }
}

const RULES: &[Rule] = &[
    ("line: totals", |rng, case| {
        let last = case.tab().last_row();
        let row = last + 1 + u32::try_from(rng.below(3)).unwrap();
        let plain = case.file != "Line.xlsx";
        let word = *rng.pick(
            &["Total", "Sum", "average", "Mean:", "old", "spare:", ""][..if plain { 6 } else { 7 }],
        );
        let function = *rng.pick(&["SUM(", "AVERAGE(", "SUBTOTAL(109,", "MAX("]);
        let with_formulas = !plain && (word.is_empty() || rng.coin());
        case.tab().text(row, 0, word);
        for column in case.columns.clone() {
            let letter = char::from(b'A' + u8::try_from(column.column).unwrap());
            let text = format!("={function}{letter}{}:{letter}{})", last - VARIANTS + 2, last + 1);
            let cell = match (with_formulas, is_number(&column)) {
                (true, _) => Content::Formula(text, 7.5),
                (false, true) => Content::Number(7.5),
                (false, false) => continue,
            };
            case.tab().cells.insert((row, column.column), cell);
        }
        case.totals = true;
        Some(format!("the row \"{word}\" of {function})"))
    }),
    ("line: a share for a percentage", |rng, case| {
        let column = case.column(rng, |column| is_number(column) && column.unit == "%")?;
        let row = case.row(rng);
        let Some(Content::Number(number)) = case.tab().cells.get(&(row, column.column)).cloned()
        else {
            return None;
        };
        if number == 0.0 {
            return None;
        }
        case.tab().cells.insert((row, column.column), Content::Number(number / 100.0));
        case.asked = true;
        Some(format!("{number} % of `{}` is the share", column.name))
    }),
    ("line: a factor for all", |rng, case| {
        let at = case.header - 1;
        let column = u16::try_from(rng.below(case.columns.len())).unwrap();
        let words = *rng.pick(&["Inputs (×1000)", "speeds x1000", "in thousands"]);
        case.tab().text(at, column, words);
        case.asked = true;
        Some(format!("\"{words}\" above the table"))
    }),
    ("line: a value struck through", |rng, case| {
        let column = case.column(rng, is_number).filter(|_| case.file == "Line.xlsx")?;
        let row = case.row(rng);
        let Some(Content::Number(number)) = case.tab().cells.get(&(row, column.column)).cloned()
        else {
            return None;
        };
        case.tab().cells.insert((row, column.column), Content::Struck(number));
        case.asked = true;
        Some(format!("`{}` is struck through", column.name))
    }),
    ("line: a slip in a heading", |rng, case| {
        let column = case.column(rng, |_| true)?;
        let slip = slips::name(rng, &column.name);
        if case.knows(slip.trim()) {
            return None;
        }
        let text = case.grid.tabs[0].text_at(case.header, column.column)?;
        let to = text.replacen(&column.name, &slip, 1);
        let header = case.header;
        case.tab().text(header, column.column, &to);
        Some(format!("the heading `{text}` is `{to}`"))
    }),
    ("line: a heading with words", |rng, case| {
        let column = case.column(rng, |_| true)?;
        let text = case.grid.tabs[0].text_at(case.header, column.column)?;
        // "i measured" and "a remark" cannot be told apart: listed as not used
        if text.chars().count() == 1 {
            return None;
        }
        let to = match rng.below(6) {
            0 => format!("{text} measured"),
            1 => format!("speed {text}"),
            2 => format!(" {text}\u{a0}"),
            3 => format!("{text}:"),
            4 => format!("{text} *"),
            _ => format!("{text}\n(measured)"),
        };
        let header = case.header;
        case.tab().text(header, column.column, &to);
        Some(format!("the heading `{text}` is `{to}`"))
    }),
    ("line: a unit left out", |rng, case| {
        let column = case.column(rng, |column| !column.unit.is_empty() && column.unit != "%")?;
        let header = case.header;
        case.tab().text(header, column.column, &column.name);
        if case.tab().text_at(header + 1, column.column).as_deref() == Some(&column.unit) {
            case.tab().cells.remove(&(header + 1, column.column));
        }
        case.other_units = column.input.is_none();
        Some(format!("no unit of `{}`", column.name))
    }),
    ("line: a slip in a unit", |rng, case| {
        let column = case.column(rng, |column| !column.unit.is_empty())?;
        let slip = slips::unit(rng, &column.unit);
        if says_another(&column, &slip)
            || column.input.is_none() && standstill::unit::parse_unit(slip.trim()).is_ok()
        {
            return None;
        }
        let header = case.header;
        if case.tab().text_at(header + 1, column.column).as_deref() == Some(&column.unit) {
            case.tab().text(header + 1, column.column, &slip);
        } else {
            case.tab().text(header, column.column, &format!("{} / ({slip})", column.name));
        }
        Some(format!("the unit of `{}` is `{slip}`", column.name))
    }),
    ("line: two headings exchanged", |rng, case| {
        let one = case.column(rng, is_number)?;
        let other = case.column(rng, |column| is_number(column) && column.name != one.name)?;
        if says_another(&one, &other.unit)
            || says_another(&other, &one.unit)
            || one.unit == other.unit
        {
            return None;
        }
        let header = case.header;
        let (first, second) =
            (case.tab().text_at(header, one.column)?, case.tab().text_at(header, other.column)?);
        if first != one.name || one.unit.is_empty() || other.unit.is_empty() {
            return None;
        }
        case.tab().text(header, one.column, &second);
        case.tab().text(header, other.column, &first);
        Some(format!("`{first}` and `{second}` are exchanged"))
    }),
    ("line: a column twice", |rng, case| {
        let column = case.column(rng, |_| true)?;
        let at = u16::try_from(case.columns.len()).unwrap() + 2;
        for row in 0..=case.tab().last_row() {
            if let Some(mut cell) = case.tab().cells.get(&(row, column.column)).cloned()
                && row >= case.header
            {
                if let Content::Number(number) = &mut cell {
                    *number *= 2.0;
                }
                case.tab().cells.insert((row, at), cell);
            }
        }
        Some(format!("`{}` has a second column", column.name))
    }),
    ("line: a remark column", |rng, case| {
        let at = 1 + u16::try_from(rng.below(case.columns.len())).unwrap();
        case.tab().insert_column(at);
        let words =
            *rng.pick(&["supplier", "", "price / EUR", "drawing", "mass / kg", "remark", "No."]);
        let header = case.header;
        for shared in case.shared.clone() {
            let row = u32::from(shared.column);
            for column in [1, 2] {
                if at <= column && !case.tab().cells.contains_key(&(row, column)) {
                    case.tab().swap((row, column), (row, column + 1));
                }
            }
        }
        case.tab().text(header, at, words);
        for variant in 0..VARIANTS {
            case.tab().cells.insert((header + 2 + variant, at), Content::Number(7.0));
        }
        Some(format!("a column `{words}` at {at}"))
    }),
    ("line: a number as text", |rng, case| {
        let column = case.column(rng, |column| is_number(column) && column.unit != "°C")?;
        let row = case.row(rng);
        let Some(Content::Number(number)) = case.tab().cells.get(&(row, column.column)).cloned()
        else {
            return None;
        };
        let mut text = slips::number(rng, number, &column.unit);
        if case.comma {
            text = text.replace('.', ",");
        }
        // in a text file `1,450` is what its decimal sign makes of it, asked where it can be either
        case.tab().text(row, column.column, &text);
        Some(format!("`{}` is the text \"{text}\" ({})", column.name, case.file))
    }),
    ("line: a value that is not a number", |rng, case| {
        let column = case.column(rng, is_number)?;
        let row = case.row(rng);
        let other = match rng.below(5) {
            0 => Content::Date(45_000.0),
            1 => Content::Truth(false),
            2 => Content::Text("-".to_owned()),
            3 => Content::Text("see V0".to_owned()),
            _ => Content::Text("\u{a0}".to_owned()),
        };
        let words = format!("`{}` is {other:?}", column.name);
        case.tab().cells.insert((row, column.column), other);
        Some(words)
    }),
    ("line: an empty value", |rng, case| {
        let column = case.column(rng, |column| column.input.is_some())?;
        let row = case.row(rng);
        case.tab().cells.remove(&(row, column.column));
        Some(format!("`{}` is empty", column.name))
    }),
    ("line: rows between", |rng, case| {
        let row = case.row(rng);
        let count = 1 + u32::try_from(rng.below(4)).unwrap();
        case.tab().insert_rows(row, count);
        let words = *rng.pick(&["", "new in 2026", "sum", "---"]);
        case.tab().text(row, 0, words);
        Some(format!("{count} rows `{words}` before a variant"))
    }),
    ("line: a row below", |rng, case| {
        let last = case.tab().last_row() + 1 + u32::try_from(rng.below(3)).unwrap();
        let words = *rng.pick(&["sum", "mean", "checked: 12 May", ""]);
        case.tab().text(last, 0, words);
        if rng.coin() {
            let at = case.column(rng, |_| true)?.column;
            case.tab().cells.insert((last, at), Content::Number(7.0));
        }
        Some(format!("a row `{words}` below"))
    }),
    ("line: a slip in a shared name", |rng, case| {
        if case.shared.is_empty() {
            return None;
        }
        let shared = rng.pick(&case.shared).clone();
        let slip = slips::name(rng, &shared.name);
        if case.knows(slip.trim()) {
            return None;
        }
        case.tab().text(u32::from(shared.column), 0, &slip);
        Some(format!("`{}` above the table is `{slip}`", shared.name))
    }),
    ("line: a shared value moved", |rng, case| {
        if case.shared.is_empty() {
            return None;
        }
        let shared = rng.pick(&case.shared).clone();
        let row = u32::from(shared.column);
        let cells = case.tab().take_row(row);
        let last = case.tab().last_row();
        match rng.below(3) {
            0 => case.tab().put_row(last + 3, cells),
            1 => {
                let moved = cells.into_iter().map(|(column, cell)| (column + 4, cell)).collect();
                case.tab().put_row(row, moved);
            }
            _ => {
                case.tab().insert_rows(1, 3);
                case.header += 3;
                case.tab().put_row(1, cells);
            }
        }
        Some(format!("`{}` above the table is moved", shared.name))
    }),
    ("line: a shared value twice", |rng, case| {
        if case.shared.is_empty() {
            return None;
        }
        let shared = rng.pick(&case.shared).clone();
        let row = u32::from(shared.column);
        let cells = case.tab().row(row);
        case.tab().insert_rows(row, 1);
        case.tab().put_row(row, cells);
        Some(format!("`{}` stands twice above the table", shared.name))
    }),
    ("line: a tolerance column", |rng, case| {
        let column = case.column(rng, |column| is_number(column) && column.unit != "°C")?;
        let at = u16::try_from(case.columns.len()).unwrap() + 2;
        let name = match rng.below(4) {
            0 => slips::name(rng, &column.name),
            _ => column.name.clone(),
        };
        let heading = match rng.below(6) {
            0 => format!("± {name}"),
            1 => format!("{name} tolerance"),
            2 => format!("{name} tol."),
            3 => format!("tolerance of {name}"),
            4 => format!("+/- {name}"),
            _ => format!("{name} ±"),
        };
        let header = case.header;
        case.tab().text(header, at, &heading);
        let row = case.row(rng);
        case.tab().text(row, at, "± 1 %");
        case.tolerance = Some(column.name.clone());
        Some(format!("the column `{heading}`"))
    }),
    ("line: the head merged or hidden", |rng, case| {
        let column = case.column(rng, |_| true)?;
        let header = case.header;
        match rng.below(4) {
            0 => drop(case.tab().hidden_columns.insert(column.column)),
            1 => drop(case.tab().hidden_rows.insert(header)),
            2 => {
                // the heading of a result that is merged away is not there any more
                case.columns.iter().find(|it| it.column == column.column + 1)?.input.as_ref()?;
                case.tab().merged.push((header, column.column, header, column.column + 1));
            }
            _ => case.tab().merged.push((header, column.column, header + 1, column.column)),
        }
        Some(format!("at `{}`", column.name))
    }),
    ("line: a second head", |rng, case| {
        let row = case.row(rng);
        let header = case.header;
        let cells = case.tab().row(header);
        case.tab().insert_rows(row, 1);
        case.tab().put_row(row, cells);
        Some(format!("the head again in row {}", row + 1))
    }),
    ("line: a slip in the sheet", |rng, case| {
        let sheet = case.sheet;
        let to = match rng.below(6) {
            0 => format!("Sheet {sheet}"),
            1 => format!("sheet: {sheet}"),
            2 => format!("sheet {}", slips::name(rng, sheet)),
            3 => sheet.to_owned(),
            4 => format!("sheet {sheet} (2026)"),
            _ => format!("sheets {sheet}"),
        };
        case.tab().text(0, 0, &to);
        Some(format!("the sheet is asked for as `{to}`"))
    }),
];

fn one(rng: &mut Rng) -> Option<(&'static str, String, Outcome)> {
    let mut case = Case::new(rng)?;
    let (rule, change) = rng.pick(RULES);
    let what = change(rng, &mut case)?;
    let what = format!("{} in {}: {what}", case.sheet, case.file);
    Some((rule, what, case.outcome()))
}

#[test]
fn a_mistake_in_a_product_line_is_an_error_or_changes_nothing() {
    for seed in 0..60 {
        let Some(case) = Case::new(&mut Rng::of(seed)) else { continue };
        match case.outcome() {
            Outcome::Right => {}
            Outcome::Refused => {
                panic!("{} is well-formed and refused{}", case.sheet, case.grid.to_text())
            }
            Outcome::Wrong(words) => panic!("{words}"),
        }
    }
    many(600, one);
}
