//! The worst case of a report: how far each result goes within the tolerances, and what becomes of the checks.

use serde_json::{Value, json};

use super::table::{Column, Table};
use super::{Check, Release, calculated, checks_json};
use crate::calculation::{Extreme, Range, Results, WorstCase, number_json, show, written};
use crate::number::Exact;
use crate::program::{Input, Output};
use crate::unit::{Literal, Unit};

const TOLERATED: &[Column] = &[
    Column::words("input"),
    Column::figures("nominal"),
    Column::words("anywhere"),
    Column::words("what it is"),
];

const EXTENTS: &[Column] = &[
    Column::words("name"),
    Column::figures("nominal"),
    Column::figures("lowest"),
    Column::figures("highest"),
];

const EXTENTS_OR_NONE: &[Column] = &[
    Column::words("name"),
    Column::figures("nominal"),
    Column::figures("lowest"),
    Column::figures("highest"),
    Column::words("or none"),
];

const BOTH_ENDS: &[Column] = &[
    Column::words("result"),
    Column::figures("lowest"),
    Column::figures("nominal"),
    Column::figures("highest"),
    Column::words("lowest at"),
    Column::words("highest at"),
];

const CAUSES: &[Column] = &[Column::words("name"), Column::words("end"), Column::words("at")];

/// A worst case.
#[derive(Clone, Debug, PartialEq)]
pub struct WorstCaseReport {
    /// The inputs that have a tolerance.
    pub tolerated: Vec<Tolerated>,
    /// How far each result goes.
    pub extents: Vec<Extent>,
    /// What becomes of the checks, and of the ranges of inputs that are not proved to be kept.
    pub checks: Vec<Check>,
}

/// An input anywhere within its tolerance.
#[derive(Clone, Debug, PartialEq)]
pub struct Tolerated {
    /// Its name, of a series with the place of the element.
    pub name: String,
    /// The nominal value.
    pub nominal: String,
    /// Where it lies: `from 1.9 kg·m² to 2.1 kg·m²`.
    pub within: String,
    /// What it is.
    pub note: String,
}

/// How far one result goes.
#[derive(Clone, Debug, PartialEq)]
pub struct Extent {
    /// Its name, of a series with the place of the element.
    pub name: String,
    /// Of a setting, whether it may be set; none of any other result.
    pub may_be_set: Option<bool>,
    /// The nominal value; the author's words where there is none.
    pub nominal: String,
    /// The lowest and the highest; none without a nominal value.
    pub ends: Option<[End; 2]>,
    /// Why it may not exist somewhere within the tolerances.
    pub may_not_exist: Option<String>,
}

/// One end of a result.
#[derive(Clone, Debug, PartialEq)]
pub struct End {
    /// The end that is proved, rounded outward where it is not reached.
    pub end: String,
    /// The value that is reached.
    pub reached: String,
    /// Whether it is proved that the end is reached.
    pub proved: bool,
    /// The inputs with which it is reached; empty where none moves it.
    pub at: String,
}

impl WorstCaseReport {
    /// Of a calculation.
    #[must_use]
    pub fn of(worst: &WorstCase) -> Self {
        let program = worst.nominal().program();
        let release = Release::of_worst(worst);
        let may_be_set = |output: &Output| output.setting.map(|_| release.may_be_set());
        let shown = |output: &Output, value: String| match output.setting {
            Some(_) => release.shown(&value),
            None => value,
        };
        let tolerated = worst.uncertain().iter().filter_map(|it| {
            let input = program.inputs.get(it.input)?;
            Some(Tolerated {
                name: numbered(&input.name, it.element),
                nominal: written(&it.value),
                within: within(input, &it.low, &it.high),
                note: input.note.clone(),
            })
        });
        let ranges = worst.ranges().iter().filter_map(|range| {
            let output = program.outputs.get(range.output)?;
            Some(Extent {
                name: numbered(&output.name, range.element),
                may_be_set: may_be_set(output),
                nominal: shown(output, show(&range.nominal, &output.unit)),
                ends: Some([(&range.low, false), (&range.high, true)].map(|(extreme, upwards)| {
                    let end = end(extreme, output, upwards);
                    End { end: shown(output, end.end), reached: shown(output, end.reached), ..end }
                })),
                may_not_exist: range.may.as_ref().map(|fault| fault.words.clone()),
            })
        });
        let nominal = worst.nominal();
        let never = program.outputs.iter().filter(|output| nominal.never(output).is_some());
        let never = never.map(|output| Extent {
            name: output.name.clone(),
            may_be_set: may_be_set(output),
            nominal: nominal.to_text(output),
            ends: None,
            may_not_exist: nominal.never(output).map(str::to_owned),
        });
        Self {
            tolerated: tolerated.collect(),
            extents: ranges.chain(never).collect(),
            checks: worst.checks().iter().map(Check::from).collect(),
        }
    }

    /// The inputs of a calculation whose worst case cannot be had.
    #[must_use]
    pub fn none(results: &Results) -> Self {
        let inputs = results.program().inputs.iter();
        let tolerated = inputs.filter_map(|input| {
            Some(Tolerated {
                name: input.name.clone(),
                nominal: results.register_text(input.register, &input.type_, &input.unit),
                within: tolerance(results, input)?,
                note: input.note.clone(),
            })
        });
        Self { tolerated: tolerated.collect(), extents: Vec::new(), checks: Vec::new() }
    }

    /// The results that may have no value somewhere within the tolerances, in sentences.
    pub fn may_not_exist(&self) -> impl Iterator<Item = String> {
        self.extents.iter().filter(|it| it.ends.is_some()).filter_map(|it| {
            Some(format!("{} may not exist: {}", it.name, it.may_not_exist.as_ref()?))
        })
    }

    /// The inputs that have a tolerance.
    #[must_use]
    pub fn inputs(&self) -> Table {
        let title = match self.tolerated.as_slice() {
            [] => "no input has a tolerance; write one as `350 ms ± 10 ms`",
            _ => "inputs with a tolerance",
        };
        let row = |it: &Tolerated| {
            vec![it.name.clone(), it.nominal.clone(), it.within.clone(), it.note.clone()]
        };
        Table {
            title: title.to_owned(),
            columns: TOLERATED,
            rows: self.tolerated.iter().map(row).collect(),
            ..Table::default()
        }
    }

    /// The results with both their ends.
    #[must_use]
    pub fn results(&self) -> Table {
        let row = |it: &Extent| {
            let mut ends = it.ends.iter().flatten().map(|end| end.end.clone());
            let [low, high] = [ends.next(), ends.next()].map(Option::unwrap_or_default);
            let why = it.ends.as_ref().and(it.may_not_exist.as_ref());
            let none = why.map_or_else(String::new, |why| format!("may not exist: {why}"));
            vec![it.name.clone(), it.nominal.clone(), low, high, none]
        };
        let sure = self.may_not_exist().next().is_none();
        Table {
            title: "results".to_owned(),
            columns: if sure { EXTENTS } else { EXTENTS_OR_NONE },
            headed: true,
            rows: self.extents.iter().map(row).collect(),
            notes: Vec::new(),
        }
    }

    /// With which inputs the ends are reached; none where nothing moves.
    #[must_use]
    pub fn causes(&self) -> Option<Table> {
        let mut rows = Vec::new();
        for extent in &self.extents {
            for (which, end) in ["lowest", "highest"].iter().zip(extent.ends.iter().flatten()) {
                let words = end.cause();
                if !words.is_empty() {
                    rows.push(vec![extent.name.clone(), (*which).to_owned(), words]);
                }
            }
        }
        (!rows.is_empty()).then(|| Table {
            title: "at these inputs".to_owned(),
            columns: CAUSES,
            rows,
            ..Table::default()
        })
    }

    /// The results that move, with both ends and the inputs of both; below, how many do not move.
    #[must_use]
    pub fn moving(&self) -> Table {
        let (still, moving): (Vec<&Extent>, Vec<&Extent>) =
            self.extents.iter().partition(|extent| extent.stands_still());
        let row = |it: &&Extent| {
            let words = |of: fn(&End) -> String| {
                it.ends.as_ref().map_or_else(Default::default, |ends| ends.each_ref().map(of))
            };
            let ([low, high], [mut low_at, high_at]) =
                (words(|it| it.end.clone()), words(End::cause));
            if let Some(why) = &it.may_not_exist {
                low_at =
                    format!("may not exist: {why}; {low_at}").trim_end_matches("; ").to_owned();
            }
            vec![it.name.clone(), low, it.nominal.clone(), high, low_at, high_at]
        };
        let note = match still.len() {
            0 => None,
            1 => Some("One further result does not move.".to_owned()),
            many => Some(format!("{many} further results do not move.")),
        };
        Table {
            title: "worst case".to_owned(),
            columns: BOTH_ENDS,
            headed: true,
            rows: moving.iter().map(row).collect(),
            notes: note.into_iter().collect(),
        }
    }
}

impl Extent {
    fn stands_still(&self) -> bool {
        let still = |[low, high]: &[End; 2]| {
            low.reached == high.reached && low.proved && high.proved && low.at.is_empty()
        };
        self.may_not_exist.is_none() && self.ends.as_ref().is_some_and(still)
    }
}

impl End {
    /// The inputs with which it is reached, or how near they come.
    #[must_use]
    pub fn cause(&self) -> String {
        if self.proved {
            return self.at.clone();
        }
        format!("{} is reached with {}; between the two nothing is proved", self.reached, self.at)
    }
}

/// From where to where an input may lie; ends that come from another calculation stand in coherent units.
fn within(input: &Input, low: &Literal, high: &Literal) -> String {
    let words = |literal: &Literal| {
        let unit = if literal.unit.symbol.is_empty() { &input.unit } else { &literal.unit };
        Exact::from_literal(literal).map_or_else(|fault| fault.words, |value| show(&value, unit))
    };
    format!("from {} to {}", words(low), words(high))
}

/// From where to where an input may lie within its tolerance; none where it has none.
#[must_use]
pub fn tolerance(results: &Results, input: &Input) -> Option<String> {
    let spread = results.inputs().spread(input)?;
    let all: Vec<String> = spread.ends.iter().map(|(low, high)| within(input, low, high)).collect();
    Some(all.join("; "))
}

fn end(extreme: &Extreme, output: &Output, upwards: bool) -> End {
    End {
        end: extreme.to_text(output, upwards),
        reached: show(&extreme.reached, &output.unit),
        proved: extreme.limit.is_none(),
        at: extreme.corner.clone(),
    }
}

fn numbered(name: &str, element: Option<usize>) -> String {
    element.map_or_else(|| name.to_owned(), |element| format!("{name}[{}]", element + 1))
}

/// The end that is proved; null where none is.
fn end_json(extreme: &Extreme, unit: &Unit, upwards: bool) -> Value {
    match extreme.limit {
        None => number_json(&extreme.reached, unit),
        Some(limit) => {
            Exact::from_bound(limit, upwards).map_or(Value::Null, |limit| number_json(&limit, unit))
        }
    }
}

/// A worst case for a program.
#[must_use]
pub fn worst_json(worst: &WorstCase) -> Value {
    let case = WorstCaseReport::of(worst);
    let outputs = &worst.nominal().program().outputs;
    let end = |it: &End, extreme: &Extreme, unit: &Unit, upwards: bool| {
        json!({
            "reached": it.reached, "end": it.end, "proved_to_be_reached": it.proved, "corner": it.at,
            "reached_value": number_json(&extreme.reached, unit), "end_value": end_json(extreme, unit, upwards),
        })
    };
    let result = |it: &Extent, range: Option<&Range>| {
        let output = match range {
            Some(range) => outputs.get(range.output),
            None => outputs.iter().find(|output| output.name == it.name),
        };
        let unit = output.map_or_else(Unit::one, |output| output.unit.clone());
        let mut to = json!({
            "name": it.name, "unit": unit.symbol, "nominal": it.nominal, "may_not_exist": it.may_not_exist,
            "nominal_value": range.map(|range| number_json(&range.nominal, &unit)),
        });
        if let Some(object) = to.as_object_mut() {
            object.extend(it.may_be_set.map(|may| ("may_be_set".to_owned(), may.into())));
        }
        if let (Some(object), Some(range), Some([low, high])) =
            (to.as_object_mut(), range, it.ends.as_ref())
        {
            object.insert("lowest".to_owned(), end(low, &range.low, &unit, false));
            object.insert("highest".to_owned(), end(high, &range.high, &unit, true));
        }
        to
    };
    // the extents that have ends stand first, in the order of the ranges
    let ranges = worst.ranges().iter().map(Some).chain(std::iter::repeat(None));
    let results = case.extents.iter().zip(ranges).map(|(it, range)| result(it, range));
    let input =
        |it: &Tolerated| json!({ "name": it.name, "nominal": it.nominal, "within": it.within });
    calculated(
        worst.nominal().inputs(),
        Some(worst.nominal()),
        json!({
            "holds": worst.holds(),
            "inputs": case.tolerated.iter().map(input).collect::<Vec<_>>(),
            "results": results.collect::<Vec<_>>(),
            "checks": checks_json(&case.checks),
            "defaults": super::sheets::defaults_json(super::defaults(worst.nominal())),
        }),
    )
}
