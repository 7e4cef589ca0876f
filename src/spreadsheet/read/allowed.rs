//! The owner's rules for what may stand in cells; ECMA-376 Part 1, 18.3.1.32, and [MS-XLSX], 2.3.4 (both from memory).

use quick_xml::events::{BytesStart, Event};

use super::layout::target;
use super::xml::{Step, append, attribute};
use crate::spreadsheet::formula::both;
use crate::spreadsheet::model::allowed::{Allowed, Limits, What};
use crate::spreadsheet::model::names::Target;
use crate::spreadsheet::model::position::Area;

/// The rules of a tab while they are read.
#[derive(Default)]
pub(crate) struct Rules {
    found: Vec<Said>,
    /// Whether one is open, and what of it is being read.
    open: Option<Said>,
    part: Option<(Part, String)>,
}

#[derive(Clone, Copy, PartialEq)]
enum Part {
    First,
    Second,
    Areas,
}

/// A rule as it is said.
#[derive(Default)]
struct Said {
    kind: String,
    relation: String,
    areas: String,
    first: String,
    second: String,
}

impl Rules {
    /// Takes in what stands beside the cells.
    pub(crate) fn take(&mut self, step: &Step<'_>) -> Result<(), String> {
        match &step.event {
            Event::Start(element) => self.begin(element),
            Event::End(element) if self.open.is_some() => match element.local_name().as_ref() {
                "dataValidation" => self.found.extend(self.open.take()),
                "formula1" | "formula2" | "sqref" => {
                    let (Some(said), Some((part, text))) = (&mut self.open, self.part.take())
                    else {
                        return Ok(());
                    };
                    match part {
                        Part::First => said.first = text,
                        Part::Second => said.second = text,
                        Part::Areas => said.areas = text,
                    }
                }
                _ => {}
            },
            other => {
                if let Some((_, text)) = &mut self.part {
                    append(other, text)?;
                }
            }
        }
        Ok(())
    }

    fn begin(&mut self, element: &BytesStart<'_>) {
        let said = |name| attribute(element, name).unwrap_or_default();
        let part = match element.local_name().as_ref() {
            "dataValidation" => {
                self.open = Some(Said {
                    kind: said("type"),
                    relation: said("operator"),
                    areas: said("sqref"),
                    ..Said::default()
                });
                return;
            }
            "formula1" => Part::First,
            "formula2" => Part::Second,
            "sqref" => Part::Areas,
            _ => return,
        };
        if self.open.is_some() {
            self.part = Some((part, String::new()));
        }
    }

    /// The rules that are understood.
    pub(crate) fn allowed(&self, names: &[(String, Target)]) -> Vec<Allowed> {
        let rules = self.found.iter().filter_map(|said| {
            let areas = said.areas.split_ascii_whitespace().map(Area::parse);
            Some(Allowed { areas: areas.collect::<Option<_>>()?, what: said.what(names)? })
        });
        rules.collect()
    }
}

impl Said {
    fn what(&self, names: &[(String, Target)]) -> Option<What> {
        match self.kind.as_str() {
            "list" => self.list(names),
            kind @ ("whole" | "decimal") => {
                let whole = kind == "whole";
                Some(match self.limits() {
                    Some(limits) => What::Number { whole, limits },
                    None => What::Beside {
                        whole,
                        relation: self.relation.clone(),
                        first: self.first.clone(),
                        second: self.second.clone(),
                    },
                })
            }
            "custom" => Some(What::Formula(self.first.clone())),
            "textLength" => Some(What::Length(self.limits()?)),
            _ => None,
        }
    }

    fn list(&self, names: &[(String, Target)]) -> Option<What> {
        let text = self.first.trim();
        if let Some(words) = text.strip_prefix('"').and_then(|it| it.strip_suffix('"')) {
            let words = words.split([',', ';']).map(|word| word.trim().to_owned());
            return Some(What::Words(words.collect()));
        }
        if let Some((_, target)) = names.iter().find(|(name, _)| name.eq_ignore_ascii_case(text)) {
            let Target::Cells { tab, area } = target else { return None };
            return Some(What::Cells(Some(tab.clone()), *area));
        }
        if let Some((tab, _)) = text.rsplit_once('!') {
            let tab = tab.trim_matches('\'').replace("''", "'");
            let Target::Cells { tab, area } = target(text, &[&tab]) else { return None };
            return Some(What::Cells(Some(tab), area));
        }
        let (one, other) = text.split_once(':').unwrap_or((text, text));
        let (first, last) = both(one, other)?;
        let fixed = [&first, &last].iter().all(|it| it.row_fixed && it.column_fixed);
        fixed.then(|| What::Cells(None, Area::between(first.cell, last.cell)))
    }

    fn limits(&self) -> Option<Limits> {
        let number = |text: &str| text.trim().trim_start_matches('=').parse::<f64>().ok();
        Limits::of(&self.relation, number(&self.first)?, number(&self.second))
    }
}
