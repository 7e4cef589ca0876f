//! Labelled blocks and defined names with a mistake, filled.

use std::collections::BTreeMap;

use standstill::Inputs;
use standstill::environment::NoFs;
use standstill::number::InputValue;
use standstill::program::{Input, Type};
use standstill::project::Project;
use standstill::spreadsheet::Book;
use standstill::unit::Literal;
use standstill::workbook::{bind, compute};

use super::grid::{Content, Grid, Tab};
use super::{Outcome, Rng, example, figures, many, refused, slips};

/// Sheets with choices, series, ratios, percentages, angles, temperatures and defaults among their inputs.
pub(super) const SHEETS: &[&str] = &[
    "run-down", "solid-cylinder", "separation-curtain", "brake-energy", "hand-approach",
    "stops-per-hour", "response-chain", "measured-stops", "belt-drive", "conveyor-load", "slope",
    "hollow-cylinder", "dc-link-rise", "two-hand-control", "ramp-stop",
];

/// A row of the block.
#[derive(Clone)]
pub(super) struct Line {
    pub(super) name: String,
    pub(super) row: u32,
    /// Rows of its values.
    pub(super) count: u32,
    pub(super) input: Option<Input>,
    pub(super) unit: String,
}

/// A well-formed workbook, and what it means.
pub(super) struct Case {
    pub(super) grid: Grid,
    pub(super) sheet: &'static str,
    pub(super) lines: Vec<Line>,
    pub(super) inputs: Inputs,
    /// The results by name, of the sheet and of the second sheet in the workbook.
    figures: BTreeMap<String, BTreeMap<String, String>>,
    /// Whether a unit of a result has changed, so that its cell takes another number for the same figure.
    other_units: bool,
    /// Whether only a question is right: what was meant is another figure.
    pub(super) asked: bool,
}

/// Column of the names.
pub(super) const NAME: u16 = 1;
pub(super) const VALUE: u16 = 2;
pub(super) const UNIT: u16 = 3;
const NOTE: u16 = 4;

pub(super) fn number(literal: &Literal) -> f64 {
    format!("{}e{}", literal.digits, literal.ten).parse().unwrap()
}

impl Case {
    /// A workbook with a block, and often a second one on another tab.
    pub(super) fn new(rng: &mut Rng) -> Option<Self> {
        let sheet = *rng.pick(SHEETS);
        let (inputs, results) = example(rng, sheet)?;
        let mut tab = Tab { name: "Inputs".to_owned(), ..Tab::default() };
        tab.text(0, NAME, "Carton wrapper 7, axis 2");
        let start = 2 + u32::try_from(rng.below(3)).unwrap();
        tab.text(start, NAME, &format!("sheet {sheet}"));
        let mut row = start + 1;
        if rng.coin() {
            for (column, heading) in
                [(NAME, "name"), (VALUE, "value"), (UNIT, "unit"), (NOTE, "what it is")]
            {
                tab.text(row, column, heading);
            }
            row += 1;
        }
        let program = inputs.program().clone();
        let mut lines = Vec::new();
        for input in &program.inputs {
            let Some(given) = inputs.value(input) else { continue };
            // an input that has a default is left out now and then
            if input.default.is_some() && !inputs.is_given(input) && rng.coin() {
                continue;
            }
            let (cells, unit) = cells(input, &given);
            let count = u32::try_from(cells.len()).unwrap();
            tab.text(row, NAME, &input.name);
            for (down, cell) in (0..).zip(cells) {
                tab.cells.insert((row + down, VALUE), cell);
            }
            tab.text(row, UNIT, &unit);
            tab.text(row, NOTE, "see drawing 4711");
            lines.push(Line {
                name: input.name.clone(),
                row,
                count,
                input: Some(input.clone()),
                unit,
            });
            row += count;
        }
        if rng.coin() {
            row += 1;
        }
        for output in &program.outputs {
            // the block gives an input's name to the input
            if program.inputs.iter().any(|input| input.name == output.name) {
                continue;
            }
            let one = matches!(output.type_, Type::Number { series: false, .. });
            if !one {
                continue;
            }
            tab.text(row, NAME, &output.name);
            tab.text(row, UNIT, &output.unit.symbol);
            let unit = output.unit.symbol.clone();
            lines.push(Line { name: output.name.clone(), row, count: 1, input: None, unit });
            row += 1;
        }
        tab.text(row, NAME, "checks");
        lines.push(Line {
            name: "checks".to_owned(),
            row,
            count: 1,
            input: None,
            unit: String::new(),
        });
        let mut grid = Grid { tabs: vec![tab], names: Vec::new() };
        let mut all = BTreeMap::new();
        if rng.coin() {
            let mut other = Tab { name: "Second".to_owned(), ..Tab::default() };
            other.text(0, 0, "sheet sphere");
            let (given, of_other) = example(rng, "sphere")?;
            let mut row = 1;
            for input in &given.program().inputs {
                let (values, unit) = cells(input, &given.value(input)?);
                other.text(row, 0, &input.name);
                other.cells.insert((row, 1), values.into_iter().next()?);
                other.text(row, 2, &unit);
                row += 1;
            }
            other.text(row, 0, "J");
            other.text(row, 2, "kg·m²");
            grid.tabs.push(other);
            all.insert("sphere".to_owned(), figures(&of_other));
        }
        all.insert(sheet.to_owned(), figures(&results));
        Some(Self { grid, sheet, lines, inputs, figures: all, other_units: false, asked: false })
    }

    pub(super) fn tab(&mut self) -> &mut Tab {
        &mut self.grid.tabs[0]
    }

    pub(super) fn line(&self, rng: &mut Rng, wanted: impl Fn(&Line) -> bool) -> Option<Line> {
        let fit: Vec<&Line> = self.lines.iter().filter(|line| wanted(line)).collect();
        (!fit.is_empty()).then(|| (*rng.pick(&fit)).clone())
    }

    pub(super) fn knows(&self, name: &str) -> bool {
        let program = self.inputs.program();
        program.inputs.iter().any(|input| input.name == name)
            || program.outputs.iter().any(|output| output.name == name)
            || name == "checks"
    }

    /// What became of it.
    pub(super) fn outcome(&self, bind_file: Option<&str>) -> Outcome {
        match self.become_of(bind_file) {
            Outcome::Right if self.asked => {
                Outcome::Wrong(format!("passed over{}", self.grid.to_text()))
            }
            other => other,
        }
    }

    fn become_of(&self, bind_file: Option<&str>) -> Outcome {
        let bytes = self.grid.xlsx();
        let book = match Book::read("Case.xlsx", &bytes) {
            Ok(book) => book,
            Err(problems) => return refused(&problems),
        };
        let source = bind_file.map(|text| standstill::diagnostic::Source::new("case.bind", text));
        let project = Project::new(&NoFs);
        let filled = match compute(&book, source.as_ref(), &project) {
            Ok(filled) => filled,
            Err(unfilled) => return refused(&unfilled.problems),
        };
        for (sheet, wanted) in &self.figures {
            let found = filled.calculated.iter().find(|one| {
                one.results.program().scopes.first().is_some_and(|scope| scope.sheet == *sheet)
            });
            let Some(found) = found else {
                return Outcome::Wrong(format!("`{sheet}` is not calculated"));
            };
            let results = figures(&found.results);
            if let Some((name, figure)) =
                wanted.iter().find(|(name, figure)| results.get(*name) != Some(figure))
            {
                return Outcome::Wrong(format!(
                    "{name} is {:?}, not {figure}{}",
                    results.get(name),
                    self.grid.to_text()
                ));
            }
            if sheet == self.sheet {
                let written: Vec<&str> =
                    found.cells.iter().map(|(name, ..)| name.as_str()).collect();
                for line in self.lines.iter().filter(|line| line.input.is_none()) {
                    if !written.contains(&line.name.as_str()) {
                        return Outcome::Wrong(format!(
                            "`{}` is not written{}",
                            line.name,
                            self.grid.to_text()
                        ));
                    }
                }
                if let Some(words) = self.wrong_number(found) {
                    return Outcome::Wrong(words);
                }
            }
        }
        if let Some(words) = self.lost_tolerance(&book, source.as_ref()) {
            return Outcome::Wrong(words);
        }
        Outcome::Right
    }

    /// A result cell that takes another number than the figure has in its unit.
    fn wrong_number(&self, found: &standstill::workbook::Calculated) -> Option<String> {
        if self.other_units {
            return None;
        }
        for output in &found.results.program().outputs {
            let Some((_, _, value)) = found.cells.iter().find(|(name, ..)| *name == output.name)
            else {
                continue;
            };
            let standstill::spreadsheet::NewValue::Number(number) = value else { continue };
            let exact = found.results.exact(&output.name)?;
            let wanted = output.unit.from_si(exact.to_f64());
            let percent =
                output.unit.symbol == "%" && (number * 100.0 - wanted).abs() <= 1e-9 * wanted.abs();
            if !percent && (number - wanted).abs() > 1e-9 * wanted.abs() {
                return Some(format!(
                    "the cell of {} takes {number}, not {wanted}{}",
                    output.name,
                    self.grid.to_text()
                ));
            }
        }
        None
    }

    /// A tolerance that is not taken.
    fn lost_tolerance(
        &self,
        book: &Book,
        source: Option<&std::sync::Arc<standstill::diagnostic::Source>>,
    ) -> Option<String> {
        let bound = bind(book, source, &Project::new(&NoFs));
        let request = bound.requests.iter().find(|request| request.sheet == self.sheet)?;
        for input in &self.inputs.program().inputs {
            let (wanted, found) = (self.inputs.spread(input), request.inputs.spread(input));
            if self.inputs.is_given(input)
                && wanted.map(|it| it.ends.len()) != found.map(|it| it.ends.len())
            {
                return Some(format!(
                    "the tolerance of {} is {found:?}{}",
                    input.name,
                    self.grid.to_text()
                ));
            }
        }
        None
    }
}

/// The cells of a value, one below the other, and their unit.
pub(super) fn cells(input: &Input, given: &InputValue) -> (Vec<Content>, String) {
    match (given, &input.type_) {
        (InputValue::Word(at), Type::Choice(words)) => {
            (vec![Content::Text(words[*at].clone())], String::new())
        }
        (InputValue::One(literal), _) => {
            (vec![Content::Number(number(literal))], literal.unit.symbol.clone())
        }
        (InputValue::Many(all), _) => {
            let unit = all.first().map_or(String::new(), |it| it.unit.symbol.clone());
            (all.iter().map(|it| Content::Number(number(it))).collect(), unit)
        }
        _ => (Vec::new(), String::new()),
    }
}

type Rule = (&'static str, fn(&mut Rng, &mut Case) -> Option<String>);

/// Whether a row holds one number.
pub(super) fn is_number(line: &Line) -> bool {
    line.count == 1 && line.input.as_ref().is_some_and(|input| input.kind.is_some())
}

fn is_input(line: &Line) -> bool {
    line.input.is_some()
}

/// Without these an input has no value.
fn is_needed(line: &Line) -> bool {
    line.input.as_ref().is_some_and(|input| input.default.is_none())
}

/// Whether a text reads as a unit of the same kind, and so says something else that could be meant.
pub(super) fn says_another(line: &Line, text: &str) -> bool {
    match line.input.as_ref().and_then(|input| input.kind) {
        Some(kind) => says(kind, &line.unit, text.trim()),
        None => standstill::unit::parse_unit(text.trim()).is_ok(),
    }
}

/// Whether a text reads as a unit of the kind and differs from the one that is meant.
pub(super) fn says(kind: &'static standstill::unit::Kind, meant: &str, text: &str) -> bool {
    match (kind.read_unit(text), kind.read_unit(meant)) {
        (Ok(one), Ok(other)) => one.factor != other.factor || one.zero != other.zero,
        (Ok(_), _) => true,
        _ => false,
    }
}

pub(super) fn value(case: &mut Case, line: &Line) -> f64 {
    match case.tab().cells.get(&(line.row, VALUE)) {
        Some(Content::Number(number)) => *number,
        _ => 1.0,
    }
}

/// Every mistake that is made in a block.
const RULES: &[Rule] = &[
    ("a slip in a name", |rng, case| {
        let line = case.line(rng, |_| true)?;
        let slip = slips::name(rng, &line.name);
        if slip == line.name || case.knows(slip.trim()) {
            return None;
        }
        case.tab().text(line.row, NAME, &slip);
        Some(format!("`{}` is written `{slip}`", line.name))
    }),
    ("a name with words", |rng, case| {
        let line = case.line(rng, |_| true)?;
        let other = match rng.below(7) {
            0 => format!("{} =", line.name),
            1 => format!("{}:", line.name),
            2 => format!("{} (measured)", line.name),
            3 => format!("{}, measured", line.name),
            4 => format!("speed {}", line.name),
            5 => format!("  {}\u{a0}", line.name),
            _ => format!("{} in {}", line.name, line.unit),
        };
        case.tab().text(line.row, NAME, &other);
        Some(format!("`{}` is written `{other}`", line.name))
    }),
    ("a slip in the name of the sheet", |rng, case| {
        let start = case.lines[0].row;
        let at = (0..start).rev().find(|row| {
            case.grid.tabs[0].text_at(*row, NAME).is_some_and(|text| text.starts_with("sheet "))
        })?;
        let sheet = case.sheet;
        let other = match rng.below(14) {
            0 => format!("Sheet {sheet}"),
            1 => format!("sheet: {sheet}"),
            2 => format!("sheets {sheet}"),
            3 => format!("sheet  {sheet}"),
            4 => format!("sheet\u{a0}{sheet}"),
            5 => format!("sheet {sheet}:"),
            6 => format!("sheet \"{sheet}\""),
            7 => format!("sheet {sheet} (axis 2)"),
            8 => sheet.to_owned(),
            9 => format!("sheet {}", sheet.replace('-', " ")),
            10 => format!("sheet {}", sheet.replace('-', "_")),
            11 => format!("sheet {}", slips::name(rng, sheet)),
            12 => format!("{} {sheet}", slips::name(rng, "sheet")),
            _ => format!("calculation sheet {sheet}"),
        };
        case.tab().text(at, NAME, &other);
        Some(format!("the sheet is asked for as `{other}`"))
    }),
    ("two units exchanged", |rng, case| {
        let one = case.line(rng, |line| is_input(line) && !line.unit.is_empty())?;
        let other = case.line(rng, |line| is_input(line) && line.name != one.name)?;
        if says_another(&one, &other.unit) || says_another(&other, &one.unit) {
            return None;
        }
        case.tab().swap((one.row, UNIT), (other.row, UNIT));
        Some(format!("the units of `{}` and `{}` are exchanged", one.name, other.name))
    }),
    ("a unit left out", |rng, case| {
        let line = case.line(rng, |line| !line.unit.is_empty())?;
        if line.unit == "%" && is_input(&line) {
            return None;
        }
        case.other_units = line.unit == "%";
        case.tab().cells.remove(&(line.row, UNIT));
        Some(format!("the unit of `{}` is left out", line.name))
    }),
    ("a slip in a unit", |rng, case| {
        let line = case.line(rng, |line| {
            is_input(line) && line.input.as_ref().is_some_and(|it| it.kind.is_some())
        })?;
        let slip = slips::unit(rng, &line.unit);
        if says_another(&line, &slip) {
            return None;
        }
        case.tab().text(line.row, UNIT, &slip);
        Some(format!("the unit of `{}` is written `{slip}`", line.name))
    }),
    ("a slip in the unit of a result", |rng, case| {
        let line = case.line(rng, |line| !is_input(line) && line.name != "checks")?;
        let slip = slips::unit(rng, &line.unit);
        case.other_units = true;
        case.tab().text(line.row, UNIT, &slip);
        Some(format!("the unit of `{}` is written `{slip}`", line.name))
    }),
    ("a unit in the label too", |rng, case| {
        let line = case.line(rng, |line| is_number(line) && !line.unit.is_empty())?;
        let other = if rng.coin() {
            line.unit.clone()
        } else {
            (*rng.pick(&["mm", "cm", "s", "min", "kg·m²", "r/s", "%", "kN"])).to_owned()
        };
        let label = match rng.below(3) {
            0 => format!("{} / ({other})", line.name),
            1 => format!("{} in {other}", line.name),
            _ => format!("{} [{other}]", line.name),
        };
        case.tab().text(line.row, NAME, &label);
        Some(format!("the label is `{label}`, the unit cell {}", line.unit))
    }),
    ("a number as text", |rng, case| {
        let line =
            case.line(rng, |line| is_number(line) && (line.unit.is_empty() || line.unit != "°C"))?;
        let text = slips::number(rng, value(case, &line), &line.unit);
        case.tab().text(line.row, VALUE, &text);
        if rng.coin() {
            case.tab().cells.remove(&(line.row, UNIT));
        }
        Some(format!("`{}` is the text \"{text}\"", line.name))
    }),
    ("a number shown in another way", |rng, case| {
        let line = case.line(rng, is_number)?;
        let number = value(case, &line);
        let (number, format) = match rng.below(8) {
            0 => (number, "0.00"),
            1 => (number, "0.0\"%\""),
            2 => (number, "0.00E+00"),
            3 => (number, "0\" r/min\""),
            4 => (number, "#,##0"),
            5 if line.unit == "%" => (number / 100.0, "0%"),
            6 if line.unit == "%" => (number / 100.0, "0.0 %"),
            _ => (number, "[Red]0;[Blue]-0"),
        };
        case.tab().cells.insert((line.row, VALUE), Content::Shown(number, format));
        Some(format!("`{}` is {number} shown as {format}", line.name))
    }),
    ("a value that is not a number", |rng, case| {
        let line = case.line(rng, is_number)?;
        let other = match rng.below(6) {
            0 => Content::Date(45_000.0),
            1 => Content::Truth(true),
            2 => Content::Text(" ".to_owned()),
            3 => Content::Text("see sheet 2".to_owned()),
            4 => Content::Text("-".to_owned()),
            _ => Content::Shown(value(case, &line), "hh:mm:ss"),
        };
        let words = format!("`{}` is {other:?}", line.name);
        case.tab().cells.insert((line.row, VALUE), other);
        Some(words)
    }),
    ("an empty value", |rng, case| {
        let line = case.line(rng, is_input)?;
        case.tab().cells.remove(&(line.row, VALUE));
        Some(format!("`{}` is empty", line.name))
    }),
    ("a formula with the value saved", |rng, case| {
        let line = case.line(rng, is_number)?;
        let number = value(case, &line);
        case.tab().cells.insert((line.row, VALUE), Content::Formula(format!("{number}*1"), number));
        Some(format!("`{}` is a formula", line.name))
    }),
    ("two rows exchanged", |rng, case| {
        let one = case.line(rng, |line| line.count == 1)?;
        let other = case.line(rng, |line| line.count == 1 && line.name != one.name)?;
        for column in [NAME, VALUE, UNIT, NOTE] {
            case.tab().swap((one.row, column), (other.row, column));
        }
        Some(format!("the rows of `{}` and `{}` are exchanged", one.name, other.name))
    }),
    ("two names exchanged", |rng, case| {
        let one = case.line(rng, is_number)?;
        let other = case.line(rng, |line| is_number(line) && line.name != one.name)?;
        if says_another(&one, &other.unit)
            || says_another(&other, &one.unit)
            || one.unit == other.unit
        {
            return None;
        }
        case.tab().swap((one.row, NAME), (other.row, NAME));
        Some(format!("the names of `{}` and `{}` are exchanged", one.name, other.name))
    }),
    ("a row twice", |rng, case| {
        let line = case.line(rng, |line| line.count == 1)?;
        let mut copy = case.tab().row(line.row);
        if rng.coin() {
            for (column, cell) in &mut copy {
                if let (VALUE, Content::Number(number)) = (*column, cell) {
                    *number *= 2.0;
                }
            }
        }
        let at = case.line(rng, |_| true)?.row;
        case.tab().insert_rows(at, 1);
        case.tab().put_row(at, copy);
        Some(format!("`{}` stands again in row {}", line.name, at + 1))
    }),
    ("empty rows within the block", |rng, case| {
        let line = case.line(rng, |_| true)?;
        let count = 1 + u32::try_from(rng.below(5)).unwrap();
        case.tab().insert_rows(line.row, count);
        Some(format!("{count} empty rows above `{}`", line.name))
    }),
    ("a remark within the block", |rng, case| {
        let line = case.line(rng, |_| true)?;
        case.tab().insert_rows(line.row, 1);
        let words = *rng.pick(&[
            "Friction", "measured on 12 May", "--- results ---", "J: see below",
            "brake data / plate", "n.a.",
        ]);
        case.tab().text(line.row, NAME, words);
        Some(format!("the remark `{words}` above `{}`", line.name))
    }),
    ("a row moved away", |rng, case| {
        let line = case.line(rng, |line| line.count == 1)?;
        let mut cells = case.tab().take_row(line.row);
        let last = case.tab().last_row();
        match rng.below(5) {
            0 => case.tab().put_row(last + 4, cells),
            1 => case.tab().put_row(1, cells),
            2 => {
                cells.iter_mut().for_each(|(column, _)| *column += 1);
                case.tab().put_row(line.row, cells);
            }
            3 => {
                cells.iter_mut().for_each(|(column, _)| *column += 6);
                case.tab().put_row(line.row, cells);
            }
            _ => {
                cells.iter_mut().for_each(|(column, _)| *column -= 1);
                case.tab().put_row(line.row, cells);
            }
        }
        Some(format!("the row of `{}` is moved away", line.name))
    }),
    ("a row taken out", |rng, case| {
        let line = case.line(rng, |line| line.count == 1 && is_needed(line))?;
        case.tab().delete_row(line.row);
        Some(format!("the row of `{}` is taken out", line.name))
    }),
    ("a column more", |rng, case| {
        let at = *rng.pick(&[NAME, VALUE, UNIT, NOTE]);
        case.tab().insert_column(at);
        let lines = case.lines.clone();
        let words = *rng.pick(&["", "see 4711", "7", "Inertia"]);
        for line in lines.iter().filter(|_| rng.below(3) > 0) {
            case.tab().text(line.row, at, words);
        }
        Some(format!("a column of \"{words}\" before column {at}"))
    }),
    ("a value in the next cell", |rng, case| {
        let line = case.line(rng, is_number)?;
        match rng.below(3) {
            0 => case.tab().swap((line.row, VALUE), (line.row, UNIT)),
            1 => {
                case.tab().swap((line.row, UNIT), (line.row, NOTE));
                case.tab().swap((line.row, VALUE), (line.row, UNIT));
            }
            _ if case.tab().cells.contains_key(&(line.row + 1, VALUE)) => return None,
            _ => case.tab().swap((line.row, VALUE), (line.row + 1, VALUE)),
        }
        Some(format!("the value of `{}` stands beside its cell", line.name))
    }),
    ("a second number in a row", |rng, case| {
        let line = case.line(rng, is_number)?;
        let at = *rng.pick(&[UNIT, NOTE]);
        let number = value(case, &line) * 2.0;
        case.tab().cells.insert((line.row, at), Content::Number(number));
        Some(format!("{number} stands in column {at} of `{}`", line.name))
    }),
    ("cells merged", |rng, case| {
        let line = case.line(rng, |_| true)?;
        let area = match rng.below(4) {
            0 => (line.row, NAME, line.row, VALUE),
            1 => (line.row, VALUE, line.row, UNIT),
            2 => (line.row, VALUE, line.row + 1, VALUE),
            _ => (line.row, UNIT, line.row + 1, UNIT),
        };
        case.tab().merged.push(area);
        Some(format!("{area:?} is merged"))
    }),
    ("hidden", |rng, case| {
        let line = case.line(rng, |_| true)?;
        match rng.below(2) {
            0 => drop(case.tab().hidden_rows.insert(line.row)),
            _ => drop(case.tab().hidden_columns.insert(VALUE)),
        }
        Some(format!("`{}` is hidden", line.name))
    }),
    ("the block moved", |rng, case| {
        let (down, right) =
            (u32::try_from(rng.below(4)).unwrap(), u16::try_from(rng.below(4)).unwrap());
        case.tab().remap(|row, column| (row + down, column + right));
        Some(format!("everything moved {down} down, {right} right"))
    }),
    ("the cell of the sheet moved", |rng, case| {
        let at = (0..9).find(|row| {
            case.grid.tabs[0].text_at(*row, NAME).is_some_and(|text| text.starts_with("sheet "))
        })?;
        let to = match rng.below(4) {
            0 => (at, NAME + 1),
            1 => (at, NAME - 1),
            2 => (case.lines[rng.below(case.lines.len())].row, NAME + 5),
            _ => (case.lines[rng.below(case.lines.len())].row, NOTE),
        };
        case.tab().swap((at, NAME), to);
        Some(format!("`sheet …` stands at {to:?}"))
    }),
    ("other headings", |rng, case| {
        let first = case.lines[0].row;
        let choices = [
            &["Parameter", "Value", "Unit"][..],
            &["name", "unit", "value"],
            &["", "Wert", "Einheit"],
            &["Inputs", "", ""],
            &["name", "value", "unit", "tolerance"],
            &["name", "value", "unit", "±"],
            &["name", "value [SI]", "unit"],
        ];
        let words = *rng.pick(&choices);
        case.tab().insert_rows(first, 1);
        for (column, word) in (NAME..).zip(words.iter()) {
            case.tab().text(first, column, word);
        }
        Some(format!("headings {words:?}"))
    }),
    ("a share for a percentage, or back", |rng, case| {
        let line = case.line(rng, |line| is_number(line) && line.unit == "%")?;
        let number = value(case, &line);
        if number == 0.0 {
            return None;
        }
        let without = rng.coin();
        if without {
            case.tab().cells.remove(&(line.row, UNIT));
        } else {
            case.tab().cells.insert((line.row, VALUE), Content::Number(number / 100.0));
        }
        case.asked = true;
        Some(format!(
            "{number} % of `{}` {}",
            line.name,
            if without { "has no sign" } else { "is the share" }
        ))
    }),
    ("a factor or a unit for all", |rng, case| {
        let line = case.line(rng, |line| is_number(line) && !line.unit.is_empty())?;
        let words = *rng.pick(&["Inputs (×1000)", "all x10^-3", "in thousands", "values × 0.001"]);
        match rng.below(3) {
            0 => {
                case.tab().insert_rows(line.row, 1);
                case.tab().text(line.row, NAME, words);
            }
            1 => case.tab().text(line.row, NAME - 1, words),
            _ => {
                let at = (0..9).find(|row| {
                    case.grid.tabs[0].text_at(*row, NAME).is_some_and(|it| it.starts_with("sheet "))
                })?;
                let column = *rng.pick(&[NAME, VALUE, UNIT, NOTE]);
                case.tab().text(at - 1, column, words);
            }
        }
        case.asked = true;
        Some(format!("\"{words}\" around the block"))
    }),
    ("an old result of a formula", |rng, case| {
        let line = case.line(rng, is_number)?;
        let (row, number) = (line.row, value(case, &line));
        let form = *rng.pick(&[
            "=ROUNDUP(Z900,0)", "=INT(Z900)", "=MEDIAN(Z900:Z901)", "=INDEX(Z900:Z901,1)",
            "=SUMIF(Z900:Z901,\">0\")", "=SUMPRODUCT(Z900:Z900,Z900:Z900)", "=IFERROR(Z900,0)",
            "=CEILING(Z900,0.3)",
        ]);
        // none of them gives what is saved
        let other = number.abs().mul_add(3.0, 7.25);
        case.tab().cells.insert((899, 25), Content::Number(other));
        case.tab().cells.insert((900, 25), Content::Number(other));
        case.tab().cells.insert((row, VALUE), Content::Formula(form.to_owned(), number));
        case.asked = true;
        Some(format!("`{}` is an old result of {form}", line.name))
    }),
    ("a text in pieces", |rng, case| {
        let line = case.line(rng, is_number)?;
        let number = value(case, &line).to_string();
        let cell = match rng.coin() {
            true => Content::HalfStruck("29".to_owned(), number),
            false => Content::Raised("10", "3"),
        };
        case.tab().cells.insert((line.row, VALUE), cell);
        case.asked = true;
        Some(format!("`{}` is a text in pieces", line.name))
    }),
    ("a million in the place of a thousandth", |rng, case| {
        let line = case.line(rng, |line| is_number(line) && line.unit.starts_with('m'))?;
        let unit = format!("M{}", &line.unit[1..]);
        let number = value(case, &line);
        case.tab().text(line.row, UNIT, &unit);
        case.asked = number != 0.0;
        Some(format!("`{}` in {unit}", line.name))
    }),
    ("a flywheel effect", |rng, case| {
        let of_inertia = |line: &Line| {
            let kind = line.input.as_ref().and_then(|input| input.kind);
            kind.is_some_and(|kind| kind.name == "inertia")
        };
        let line = case.line(rng, of_inertia)?;
        let words =
            *rng.pick(&["GD² of the motor", "from the list: GD2", "PD^2", "flywheel effect"]);
        case.tab().text(line.row, NOTE, words);
        case.asked = true;
        Some(format!("`{}` is \"{words}\"", line.name))
    }),
    ("a value struck through", |rng, case| {
        let line = case.line(rng, is_number)?;
        let number = value(case, &line);
        case.tab().cells.insert((line.row, VALUE), Content::Struck(number));
        case.asked = true;
        Some(format!("`{}` is struck through", line.name))
    }),
    ("a tolerance in the cell", |rng, case| {
        let line = case.line(rng, |line| is_number(line) && line.unit != "°C")?;
        let number = value(case, &line);
        if number == 0.0 {
            return None;
        }
        let text = match rng.below(6) {
            0 => format!("{number} ± 1"),
            1 => format!("{number} ± 5 %"),
            2 => format!("{number} +5/-10 %"),
            3 => format!("{number} +1 -0"),
            4 => format!("{number}±1"),
            _ => format!("from {number} to {number}"),
        };
        case.tab().text(line.row, VALUE, &text);
        let place = standstill::diagnostic::Place::Argument { text: "meant".to_owned() };
        case.inputs.tolerate(&line.name, "± 0 %", &place).ok()?;
        Some(format!("`{}` is \"{text}\"", line.name))
    }),
    ("a tolerance", |rng, case| {
        let line = case.line(rng, |line| is_number(line) && line.unit != "°C")?;
        let number = value(case, &line);
        if number == 0.0 {
            return None;
        }
        let unit = if line.unit.is_empty() { String::new() } else { format!(" {}", line.unit) };
        let text = match rng.below(13) {
            0 => format!("± 1{unit}"),
            1 => "± 5 %".to_owned(),
            2 => "+- 5 %".to_owned(),
            3 => "+/- 5 %".to_owned(),
            4 => "±5".to_owned(),
            5 => "± 5 percent".to_owned(),
            6 => "5 %".to_owned(),
            7 => "tol. 5 %".to_owned(),
            8 => "+5 % -0 %".to_owned(),
            9 => "+5%/-5%".to_owned(),
            10 => "± 1 banana".to_owned(),
            11 => format!("from {number}{unit} to {}{unit}", number * 1.01),
            _ => format!("{} ... {}", number, number * 1.01),
        };
        let column = *rng.pick(&[UNIT, NOTE, NOTE]);
        if column == UNIT {
            case.tab().text(line.row, NAME, &format!("{} / ({})", line.name, line.unit));
        }
        case.tab().text(line.row, column, &text);
        // what was meant is a tolerance, whatever became of it
        let place = standstill::diagnostic::Place::Argument { text: "meant".to_owned() };
        case.inputs.tolerate(&line.name, "± 0 %", &place).ok()?;
        Some(format!("`{}` has the tolerance \"{text}\"", line.name))
    }),
];

/// One block with a mistake.
fn one(rng: &mut Rng) -> Option<(&'static str, String, Outcome)> {
    let mut case = Case::new(rng)?;
    let (rule, change) = rng.pick(RULES);
    let what = change(rng, &mut case)?;
    let what = format!("{} with {what}", case.sheet);
    let outcome = case.outcome(None);
    Some((rule, what, outcome))
}

#[test]
fn a_mistake_in_a_block_is_an_error_or_changes_nothing() {
    for seed in 0..60 {
        let Some(case) = Case::new(&mut Rng::of(seed)) else { continue };
        match case.outcome(None) {
            Outcome::Right => {}
            Outcome::Refused => panic!("{} is well-formed and refused", case.sheet),
            Outcome::Wrong(words) => panic!("{words}"),
        }
    }
    many(600, one);
}
