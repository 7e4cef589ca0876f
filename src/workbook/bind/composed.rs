//! Formulas of several cells behind an input: what their units make of them, term by term.
//!
//! A sum of parts, a product, a table that is looked up: each cell has the unit that stands about it, and their product
//! must be of the input's kind and in its unit, but for what the plain numbers of the formula convert.

use super::diameters::arm;
use super::feed::{
    CONVERSIONS, Fed, NOT_QUARTERED, OtherInput, Times, UnitOf, Way, differs, is_effect,
    is_quartered, is_weighed, near, short, size, symbol,
};
use super::{Binder, CellAt};
use crate::diagnostic::{Diagnostic, Name, Severity};
use crate::spreadsheet::link;
use crate::spreadsheet::terms::{Of, Part, Term, Terms, terms};
use crate::spreadsheet::{Area, Cell, Position};
use crate::unit::{Dimension, Unit, parse_unit};

/// Formulas that lead to formulas.
const DEEPEST: u32 = 12;

const LENGTH: Dimension = Dimension::of(1, 0, 0, 0, 0, 0);

/// What the cells of a product are together.
struct Measure {
    dimension: Dimension,
    /// What one of it is in coherent SI.
    size: f64,
    /// The unit, where it is of one cell alone.
    unit: Option<Unit>,
    /// Its units as a person writes a product.
    words: String,
    /// Where the last of its units stands.
    text: Option<CellAt>,
    /// The product of the numbers in cells of which no unit is known, where there are any.
    bare: Option<f64>,
    /// Whether one of its cells holds a flywheel effect.
    effect: bool,
    /// What stands between its cells and those of which a unit is known.
    through: Times,
    /// What its only length must be multiplied by to be a radius, where words say what it is.
    to_radius: Option<f64>,
}

impl Binder<'_> {
    /// What the units of its cells say against a formula behind an input.
    pub(super) fn composed_otherwise(
        &self,
        fed: &Fed<'_>,
        way: Way<'_>,
        other: OtherInput<'_>,
        unit_of: UnitOf<'_>,
    ) -> Option<Diagnostic> {
        let tab = self.book.tab(&way.at.tab)?;
        let found = terms(self.book, tab, way.at.position).filter(|_| way.depth < DEEPEST)?;
        let against =
            found.terms.iter().find_map(|term| self.term_otherwise(fed, way, term, unit_of));
        let converted = || {
            found.converted.iter().find_map(|(terms, from)| {
                let own = read_conversion(from)?;
                let way = Way { own: &own, times: &Times::one(), ..way };
                terms.iter().find_map(|term| self.term_otherwise(fed, way, term, unit_of))
            })
        };
        let behind = || {
            let parts =
                found.terms.iter().flat_map(|term| term.parts.iter().map(move |part| (term, part)));
            parts.into_iter().find_map(|(term, part)| {
                let Of::Cell(tab, position) = &part.of else { return None };
                let at = CellAt { tab: tab.clone(), position: *position };
                let said = unit_of(&at).map(|(unit, _)| unit);
                let alone = term.cell().map(|_| way.times.with(term.factor, &term.plain));
                let (own, times) = match (&said, alone) {
                    // what the effect is made of is looked at as it stands
                    (Some(said), _) if !is_effect(said) => (said, Times::one()),
                    (None, Some(times)) => (way.own, times),
                    _ => return None,
                };
                let way = Way { at: &at, own, times: &times, depth: way.depth + 1 };
                (!self.is_read_here(fed, &at, other))
                    .then(|| self.composed_otherwise(fed, way, &|_| None, unit_of))?
            })
        };
        let chosen = || {
            let terms = found.terms.iter().filter(|_| way.depth == 0 && !found.added);
            terms.into_iter().find_map(|term| self.looked_up_otherwise(fed, term, other))
        };
        // what is one of several may be meant
        let severity = if found.terms.len() == 1 { Severity::Error } else { Severity::Caution };
        let chosen = || chosen().map(|problem| Diagnostic { severity, ..problem });
        against
            .or_else(converted)
            .or_else(behind)
            .or_else(chosen)
            .or_else(|| self.left_out(fed, way, &found))
    }

    /// Whether a cell is another input's, whose own formula is looked at with it.
    fn is_read_here(&self, fed: &Fed<'_>, at: &CellAt, other: OtherInput<'_>) -> bool {
        at == fed.cell || other(at).is_some()
    }

    /// A cell that is looked up and is another input's, or bears another input's name.
    fn looked_up_otherwise(
        &self,
        fed: &Fed<'_>,
        term: &Term,
        other: OtherInput<'_>,
    ) -> Option<Diagnostic> {
        let (tab, position) = term.cell().filter(|_| term.factor == 1.0)?;
        let at = CellAt { tab: tab.to_owned(), position };
        let (name, there) = (&fed.input.name, self.there(fed, &at));
        if let Some(other) = other(&at) {
            let words =
                format!("the formula of `{name}` takes {there}, which is the cell of `{other}`");
            let label = format!("`{other}` is read from here");
            return Some(self.asked_of_formula(fed, &at, words, label));
        }
        let (said, text) = self.named_otherwise(fed.program, name, &at)?;
        let is_input = fed.program.input_named(&said).is_some();
        let words = format!(
            "the formula of `{name}` takes {there}, and the text in {} calls it `{said}`",
            text.position.name()
        );
        is_input.then(|| self.asked_of_formula(fed, &text, words, format!("here it is `{said}`")))
    }

    fn term_otherwise(
        &self,
        fed: &Fed<'_>,
        way: Way<'_>,
        term: &Term,
        unit_of: UnitOf<'_>,
    ) -> Option<Diagnostic> {
        let measure = self.measure(term, unit_of)?;
        let by = way.times.with(term.factor, &term.plain).and(&measure.through);
        let factor = by.factor;
        let percent = way.own.dimension.is_none() && self.shows_percent(way.at);
        let one = Unit::one();
        let own = if percent { &one } else { way.own };
        let (what, sure) = match &measure.unit {
            Some(unit) => (differs(own, unit, &by)?, true),
            None => against(own, &measure, &by)?,
        };
        let cells: Vec<String> = term
            .parts
            .iter()
            .filter_map(|part| match &part.of {
                Of::Cell(tab, position) => {
                    Some(self.there(fed, &CellAt { tab: tab.clone(), position: *position }))
                }
                Of::Unit(_) => None,
            })
            .collect();
        let cells = if cells.is_empty() { "a conversion".to_owned() } else { cells.join(" with ") };
        let times = match factor == 1.0 {
            true => String::new(),
            false => format!(" times {}", short(factor)),
        };
        let of = match way.at == fed.cell {
            true => format!("`{}` is", fed.input.name),
            false => {
                format!("{}, from which `{}` is taken, is", self.there(fed, way.at), fed.input.name)
            }
        };
        let words = format!(
            "{of} in {}, and its formula takes {cells}{times}, which is in {}: {what}",
            symbol(own),
            measure.words
        );
        let at = measure.text.unwrap_or_else(|| way.at.clone());
        let problem = self.asked_of_formula(fed, &at, words, "this unit".to_owned());
        let severity = if sure { Severity::Error } else { Severity::Caution };
        let convert = size(own).recip() * measure.size;
        let alone = own.dimension == measure.dimension && !own.point && way.at == fed.cell;
        let problem = match measure.to_radius.filter(|_| what == WHOLE_DIAMETER) {
            Some(by) if way.at == fed.cell && !self.is_of_several(&way) => {
                return Some(self.asked_with_factor(fed, problem, by));
            }
            _ => problem,
        };
        let problem = match alone && (term.plain.is_empty() || what == NOT_QUARTERED) {
            true if !self.is_of_several(&way) => self.asked_with_factor(fed, problem, convert),
            _ => problem,
        };
        Some(Diagnostic { severity, ..problem })
    }

    /// Whether a formula adds several terms, or chooses among them: a factor about it all would convert each.
    fn is_of_several(&self, way: &Way<'_>) -> bool {
        let tab = self.book.tab(&way.at.tab);
        let found = tab.and_then(|tab| terms(self.book, tab, way.at.position));
        found.is_none_or(|it| it.terms.len() != 1 || !it.sums.is_empty())
    }

    /// What a term is in; none where a unit of it is not known.
    fn measure(&self, term: &Term, unit_of: UnitOf<'_>) -> Option<Measure> {
        let mut found = Measure {
            dimension: Dimension::NONE,
            size: 1.0,
            unit: None,
            words: String::new(),
            text: None,
            bare: None,
            effect: false,
            through: Times::one(),
            to_radius: None,
        };
        let mut lengths = 0;
        for part in &term.parts {
            let (over, under) = part.power;
            let (unit, text) = match &part.of {
                Of::Unit(text) => (read_conversion(text)?, None),
                Of::Cell(tab, position) => {
                    let at = CellAt { tab: tab.clone(), position: *position };
                    let mut through = Times::one();
                    let known = self.unit_through(&at, &mut through, unit_of);
                    if part.power == (1, 1) {
                        found.through = found.through.and(&through);
                    } else if through.factor != 1.0 {
                        return None;
                    }
                    let Some((unit, text)) = known else {
                        let Cell::Number(number) = self.cell(&at) else { return None };
                        let root = match under {
                            1 => *number,
                            2 => number.sqrt(),
                            _ => return None,
                        };
                        found.bare = Some(found.bare.unwrap_or(1.0) * root.powi(over));
                        continue;
                    };
                    let percent = unit.dimension.is_none() && self.shows_percent(&at);
                    (if percent { Unit::one() } else { unit }, Some(text))
                }
            };
            let alone = term.parts.len() == 1 && part.power == (1, 1);
            if unit.point && !alone {
                return None;
            }
            if unit.dimension == LENGTH {
                lengths += 1;
                found.to_radius = text.as_ref().and_then(|_| self.to_radius(part));
            }
            found.effect |= is_effect(&unit);
            found.dimension = found.dimension.times(unit.dimension.power(over, under)?);
            let root = match under {
                1 => size(&unit),
                2 => size(&unit).sqrt(),
                4 => size(&unit).sqrt().sqrt(),
                _ => return None,
            };
            found.size *= root.powi(over);
            let power = match (over, under) {
                (1, 1) => String::new(),
                (over, 1) => crate::unit::superscript(over),
                (over, under) => format!("^({over}/{under})"),
            };
            let times = if found.words.is_empty() { "" } else { "·" };
            let written = symbol(&unit);
            let written = match written.contains(['/', '·']) && !alone {
                true => format!("({written})"),
                false => written.to_owned(),
            };
            found.words = format!("{}{times}{written}{power}", found.words);
            found.text = text.or(found.text);
            found.unit = alone.then_some(unit);
        }
        found.to_radius = found.to_radius.filter(|_| lengths == 1);
        (!found.words.is_empty()).then_some(found)
    }

    /// By what the length in a cell is multiplied, or divided, to be a radius: a half where the words about it say that it
    /// is a diameter. None where they say neither.
    fn to_radius(&self, part: &Part) -> Option<f64> {
        let Of::Cell(tab, position) = &part.of else { return None };
        let at = CellAt { tab: tab.clone(), position: *position };
        let words = self.labels(&at).into_iter().chain(self.headings(&at));
        let words: Vec<String> = words.filter_map(|it| self.text_of(&it)).collect();
        let said: Vec<&str> = words.iter().flat_map(|it| arm(it)).collect();
        let by = match (said.contains(&"diameter"), said.contains(&"radius")) {
            (true, false) => 0.5,
            (false, true) => 1.0,
            _ => return None,
        };
        match part.power {
            (1, 1) => Some(by),
            (-1, 1) => Some(1.0 / by),
            _ => None,
        }
    }

    /// The unit of a cell, or of the one that its formula takes, with what the formulas between multiply by.
    fn unit_through(
        &self,
        cell: &CellAt,
        through: &mut Times,
        unit_of: UnitOf<'_>,
    ) -> Option<(Unit, CellAt)> {
        let mut at = cell.clone();
        let mut times = Times::one();
        for _ in 0..DEEPEST {
            if let Some(found) = unit_of(&at) {
                *through = through.and(&times);
                return Some(found);
            }
            let tab = self.book.tab(&at.tab)?;
            let next = link(self.book, tab, at.position).filter(|it| it.added == 0.0)?;
            let numbers = terms(self.book, tab, at.position);
            let numbers = numbers.and_then(|it| it.terms.into_iter().next());
            times = times.with(next.factor, &numbers.map_or_else(Vec::new, |it| it.plain));
            at = CellAt { tab: next.tab, position: next.cell };
        }
        None
    }

    /// A row that a sum leaves out, and a table in which a row is taken that only lies near.
    fn left_out(&self, fed: &Fed<'_>, way: Way<'_>, found: &Terms) -> Option<Diagnostic> {
        let name = &fed.input.name;
        let here = way.at.position.name();
        let taken = |next: &CellAt| {
            let here = |tab: &str| tab.eq_ignore_ascii_case(&next.tab);
            let terms = found.terms.iter().filter_map(Term::cell);
            terms.into_iter().any(|(tab, cell)| here(tab) && cell == next.position)
                || found.sums.iter().any(|(tab, area)| here(tab) && area.contains(next.position))
        };
        let mut sums = found.sums.iter();
        let sum = sums.find_map(|(tab, area)| {
            let next = self.goes_on_behind(tab, *area).filter(|next| !taken(next))?;
            // a column of the calculation itself, of another quantity
            let head = self.heading_over(&next).map(|head| super::label(&head).name);
            let own = head.is_some_and(|head| {
                head != *name
                    && (fed.program.input_named(&head).is_some()
                        || super::asked_result(fed.program, &head).is_some())
            });
            (!own).then_some((next, area))
        });
        if let Some((next, area)) = sum {
            let words = format!(
                "the formula of `{name}` takes {}, and {} beside it holds a number as well",
                area.name(),
                next.position.name()
            );
            return Some(
                Diagnostic::caution(Name::TwoStatements, words)
                    .at(self.place(way.at))
                    .label(self.place(&next), "this number is left out")
                    .remedy(format!(
                        "if it belongs to `{name}`, let the formula of {here} reach over it"
                    )),
            );
        }
        found.nearest.then(|| {
            let words =
                format!("the formula of `{name}` takes the nearest row of a table where none fits");
            Diagnostic::caution(Name::TwoStatements, words).at(self.place(way.at)).remedy(format!(
                "let the formula of {here} look for the very row: FALSE or 0 as its last argument"
            ))
        })
    }

    /// The number that goes on where an area in one column or one row ends, with words before it as those in the area
    /// have, or without.
    fn goes_on_behind(&self, tab: &str, area: Area) -> Option<CellAt> {
        let at = |position| CellAt { tab: tab.to_owned(), position };
        let down = area.first.column == area.last.column;
        let step = |from: Position, by: i64| match down {
            true => self.beside(&at(from), by, 0),
            false => self.beside(&at(from), 0, by),
        };
        if !down && area.first.row != area.last.row {
            return None;
        }
        let is_part = |cell: &CellAt| {
            let formula = self.book.tab(tab).is_some_and(|it| it.has_formula(cell.position));
            matches!(self.cell(cell), Cell::Number(_)) && !formula
        };
        let unit = |cell: &CellAt| match down {
            true => self.beside(cell, 0, 1).and_then(|it| self.text_of(&it)),
            false => self.heading_over(cell).and_then(|head| super::label(&head).unit),
        };
        if !is_part(&at(area.first)) || !is_part(&at(area.last)) {
            return None;
        }
        // `run 3`, `3` and nothing are labels of runs; `motor` and `gear` are those of parts
        let label = |cell: &CellAt| {
            let near = || self.labels(cell).first().and_then(|it| self.text_of(it));
            let text =
                if down { near().or_else(|| self.row_head(cell)) } else { self.heading_over(cell) };
            let text = text.unwrap_or_default();
            text.chars().filter(|it| it.is_alphabetic()).collect::<String>().to_lowercase()
        };
        let own = label(&at(area.last));
        let alike = own == label(&at(area.first));
        let goes_on = |next: &CellAt| {
            let next = label(next);
            next == own || !alike && !SUMMARIES.contains(&next.as_str())
        };
        let ends = [(area.last, 1), (area.first, -1)];
        ends.into_iter().find_map(|(end, way)| {
            let next = step(end, way).filter(is_part);
            next.filter(|next| unit(next) == unit(&at(end)) && goes_on(next))
        })
    }

    /// The text with which the row of a cell begins, where numbers of the row stand between.
    fn row_head(&self, cell: &CellAt) -> Option<String> {
        let row = self.book.tab(&cell.tab)?.row(cell.position.row);
        let first = row.iter().find(|entry| !entry.cell.is_empty())?;
        (first.position.column < cell.position.column)
            .then(|| self.text_of(&CellAt { position: first.position, ..cell.clone() }))?
    }

    /// The nearest text above a cell, where numbers of the column stand between.
    fn heading_over(&self, cell: &CellAt) -> Option<String> {
        let above = (1..=HEADINGS).map_while(|up| self.beside(cell, -up, 0));
        above.take_while(|at| !self.cell(at).is_empty()).find_map(|at| self.text_of(&at))
    }
}

/// Rows above a number in which its heading is looked for.
const HEADINGS: i64 = 200;

/// Labels of a row under values that is none of them, letters alone; common practice, no source.
const SUMMARIES: &[&str] = &[
    "mean", "average", "avg", "mittel", "mittelwert", "median", "s", "sd", "stdev", "sigma", "n",
    "count", "min", "max", "least", "greatest", "limit", "grenze", "grenzwert", "sum", "summe",
    "total", "year", "date", "no", "nr",
];

/// What is wrong where a force turns at, or a turn moves, a diameter as if it were the radius, and the other way round.
const WHOLE_DIAMETER: &str = "a diameter stands where the radius is meant";
const HALF_RADIUS: &str = "a radius is halved as if it were a diameter";

/// What is wrong with a product of several cells, and whether it is sure; none where it is in the unit.
fn against(own: &Unit, said: &Measure, by: &Times) -> Option<(&'static str, bool)> {
    let plain = !by.is_bare();
    let times = (by.factor * size(own) / said.size).abs();
    // a radian is what makes a torque of a force at a radius, and a speed of a turn
    if let Some(to_radius) = said.to_radius.filter(|_| own.dimension != said.dimension) {
        let weight = is_weighed(own.dimension, said.dimension, 9.81);
        let times = if weight { times / 9.81 } else { times };
        let is = |it: f64| (times / it - 1.0).abs() < if weight { 0.01 } else { 1e-3 };
        let alike = own.dimension.without_angle() == said.dimension.without_angle();
        match to_radius {
            _ if !alike && !weight => {}
            1.0 if is(0.5) || is(2.0) => return Some((HALF_RADIUS, false)),
            1.0 => {}
            by if is(by) => return None,
            _ if is(1.0) => return Some((WHOLE_DIAMETER, true)),
            _ => {}
        }
    }
    if own.dimension.without_angle() != said.dimension.without_angle() {
        // a number without a unit may be a quantity whose unit nobody has written
        if said.bare.is_some() {
            return None;
        }
        let gravity = is_weighed(own.dimension, said.dimension, times);
        return match (gravity && plain, plain) {
            (true, _) => None,
            (false, true) => {
                Some(("units of two kinds, unless a number in the formula has one", false))
            }
            (false, false) => Some(("units of two kinds", true)),
        };
    }
    let turn = std::f64::consts::TAU;
    let turned =
        own.dimension != said.dimension && [turn, 1.0 / turn].into_iter().any(|it| near(times, it));
    if near(times, 1.0) || turned {
        return None;
    }
    // a number that nothing names counts pieces, or converts
    if let Some(bare) = said.bare {
        if near((times * bare).abs(), 1.0) {
            return None;
        }
        if said.effect && !is_quartered(&by.with(bare, &[bare]), said.size / size(own)) {
            return Some((NOT_QUARTERED, true));
        }
        if by.is_bare() || !by.fits(said.size / size(own), times) {
            return Some(("nothing converts it", true));
        }
    } else if by.is_bare() && own.dimension == said.dimension {
        return Some(("nothing converts it", true));
    } else if said.effect && !is_quartered(by, said.size / size(own)) {
        return Some((NOT_QUARTERED, true));
    }
    let conversion = CONVERSIONS.iter().any(|it| near(times, *it) || near(times, 1.0 / it));
    let far = !(0.03..=30.0).contains(&times);
    (conversion || far).then_some(("the formula does not convert it so", true))
}

/// Units of the function CONVERT that are not written as ours; ECMA-376 part 1, 18.17.7.55 (from memory).
const CONVERTED: &[(&str, &str)] = &[
    ("mn", "min"),
    ("hr", "h"),
    ("sec", "s"),
    ("day", "d"),
    ("lbm", "lb"),
    ("HP", "hp"),
    ("h", "hp"),
    ("p", "Pa"),
    ("w", "W"),
    ("Wh", "W·h"),
    ("wh", "W·h"),
    ("C", "°C"),
    ("cel", "°C"),
    ("F", "°F"),
    ("fah", "°F"),
    ("kel", "K"),
];

fn read_conversion(text: &str) -> Option<Unit> {
    let own = CONVERTED.iter().find(|(theirs, _)| *theirs == text).map_or(text, |(_, own)| own);
    parse_unit(own).ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_product_of_units_is_converted_or_asked() {
        let product = |text: &str| {
            let unit = parse_unit(text).unwrap();
            Measure {
                dimension: unit.dimension,
                size: size(&unit),
                unit: None,
                words: String::new(),
                text: None,
                bare: None,
                effect: false,
                through: Times::one(),
                to_radius: None,
            }
        };
        let unit = |text: &str| parse_unit(text).unwrap();
        for (own, said, factor) in [
            ("kg·m²", "kg·m²", 0.5),
            ("kg·m²", "kg·mm²", 0.5e-6),
            ("N·m", "kW/(r/min)", 9550.0),
            ("N·m", "N·mm", 0.001),
            // v / (π·d), and v over the circumference
            ("r/min", "m/(s·mm)", 60_000.0 / std::f64::consts::PI),
            ("r/min", "m/(s·mm)", 60_000.0),
            ("N", "kg", 9.81),
        ] {
            let by = Times::one().with(factor, &[factor]);
            assert_eq!(against(&unit(own), &product(said), &by), None, "{own} {said}");
        }
        for (own, said, factor) in [
            ("kg·m²", "kg·mm²", 0.5),
            ("N·m", "W/(r/min)", 9550.0),
            ("N·m", "N·mm", 1.0),
            ("r/min", "m/(s·mm)", 60.0 / std::f64::consts::PI),
            ("W", "N·m·r/min", 1.0),
            ("N·m", "kg·m", 1.0),
        ] {
            let by = Times::one().with(factor, &[]);
            assert!(against(&unit(own), &product(said), &by).is_some(), "{own} {said}");
        }
    }

    #[test]
    fn the_units_of_a_conversion_are_read() {
        for (theirs, own) in
            [("mn", "min"), ("HP", "hp"), ("lbf", "lbf"), ("in", "in"), ("C", "°C")]
        {
            let found = read_conversion(theirs).unwrap_or_else(|| panic!("{theirs}"));
            assert!(found.is_same(&parse_unit(own).unwrap()), "{theirs}");
        }
    }
}
