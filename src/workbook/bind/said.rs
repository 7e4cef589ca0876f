//! What the words around a value say of it: another quantity of four times or twice its size, or another unit.
//!
//! A symbol is bound by its name, and its owner's words stand beside it: `GD² of the motor` beside a cell that is read as
//! the inertia is a mistake of a factor of four that no other check sees.

use super::around::is_factor;
use super::label::{is_remark_word, label};
use super::{Binder, CellAt};
use crate::diagnostic::{Diagnostic, Name, Place};
use crate::program::Input;
use crate::spreadsheet::Cell;
use crate::unit::{Kind, Unit, parse_unit, split_quantity};

/// Words that name another quantity, the word that the input's kind or its own note then has, and what it is to it.
const OTHERS: &[(&[&str], &[&str], &str)] = &[
    (&["diameter", "diameters", "dia", "diam", "ø"], &["radius"], "a diameter is twice the radius"),
    (&["radius", "radii"], &["diameter"], "a radius is half the diameter"),
    (&["circumference"], &["radius", "diameter"], "a circumference is π times the diameter"),
    (&["height"], &["width"], "a height is not a width"),
    (&["width"], &["height"], "a width is not a height"),
];

/// Words of which those of one line mean the same and those of two lines of a group do not: where a value is taken, and
/// which of several.
const SENSES: &[&[&[&str]]] = &[
    &[&["motor"], &["drum", "load", "machine", "wheel", "pulley", "roller", "spindle", "output"]],
    &[
        &[
            "longest", "largest", "greatest", "highest", "most", "maximum", "max", "maximal",
            "latest",
        ],
        &["shortest", "smallest", "least", "lowest", "minimum", "min", "minimal", "earliest"],
        &["mean", "average", "typical", "typ"],
    ],
];

/// Flywheel effects: four times the inertia (DIN 1304 and common practice).
const FLYWHEELS: &[&str] = &["GD", "WD", "PD", "MD"];

/// Whether a text speaks of a flywheel effect: `GD²`, `J (GD2)`, `PD^2 of the motor`. `WK²`, mass times the square of the
/// radius of gyration, is the inertia itself.
pub(in crate::workbook) fn is_flywheel(text: &str) -> bool {
    let mut words = text.split(|it: char| it.is_whitespace() || "()[],;:/=".contains(it));
    let squared = |word: &str| {
        FLYWHEELS.iter().any(|name| {
            word.strip_prefix(name).is_some_and(|rest| matches!(rest, "²" | "2" | "^2"))
        })
    };
    let spoken = "flywheel effect";
    words.any(squared) || text.len() >= spoken.len() && text.to_lowercase().contains(spoken)
}

/// What words say of an input that it is not, with what to do about it.
pub(in crate::workbook) fn another_quantity(input: &Input, text: &str) -> Option<(String, String)> {
    let kind = input.kind?;
    let own = [&input.name, &input.note].into_iter().any(|own| is_flywheel(own));
    if kind.name == "inertia" && is_flywheel(text) && !own {
        return Some((
            format!(
                "\"{text}\" stands beside `{}`, and a flywheel effect is four times the inertia",
                input.name
            ),
            "write the inertia, a quarter of it, and take the flywheel effect out of the words"
                .to_owned(),
        ));
    }
    let (said, mut note) = (words(text), words(&input.note));
    if matches!(kind.name, "radius" | "diameter") {
        note.push(kind.name.to_owned());
    }
    let (.., what) = OTHERS.iter().find(|(names, own, _)| {
        names.iter().any(|name| {
            said.iter().any(|word| word == name) && !note.iter().any(|word| word == name)
        }) && own
            .iter()
            .any(|own| note.iter().any(|word| word == own) && !said.iter().any(|word| word == own))
    })?;
    Some((
        format!("\"{text}\" stands beside `{}` ({}): {what}", input.name, input.note),
        format!("write the value that `{}` is, and words that say the same", input.name),
    ))
}

fn words(text: &str) -> Vec<String> {
    text.split(|it: char| !it.is_alphanumeric()).map(str::to_lowercase).collect()
}

/// What words say of where an input is taken, or which of several it is, that its own note says otherwise: `mean` of one
/// that is the longest.
fn another_sense(input: &Input, text: &str) -> Option<(String, String)> {
    // `min` is a unit too
    let (said, mut note) = (words(&label(text).name), words(&input.note));
    note.extend(words(&input.name));
    let of = |group: &[&[&'static str]], words: &[String]| -> Vec<(usize, &'static str)> {
        let found = group.iter().enumerate().filter_map(|(at, line)| {
            line.iter().find(|it| words.iter().any(|word| word == *it)).map(|it| (at, *it))
        });
        found.collect()
    };
    SENSES.iter().find_map(|group| match (of(group, &said).as_slice(), of(group, &note).as_slice()) {
        ([(at, _)], [(other, own)]) if at != other => Some((
            format!("\"{}\" stands beside `{}`, of which the sheet says \"{}\"", text.trim(), input.name, input.note),
            format!("make sure that it is the value of the {own} one; if so, say that in the words beside it"),
        )),
        _ => None,
    })
}

/// A unit of the kind among words that is not the stated one: `friction, mN·m`, `turns per second`.
fn another_unit(kind: &'static Kind, unit: &Unit, text: &str) -> Option<String> {
    let words = text.split(|it: char| it.is_whitespace() || ",;:()[]=".contains(it));
    let words: Vec<&str> = words.filter(|word| !word.is_empty()).collect();
    let differs = |said: &Unit| said.dimension == unit.dimension && !said.is_same(unit);
    let of_kind = words.iter().find(|word| {
        word.chars().count() > 1
            && !is_remark_word(word)
            && !matches!(**word, "in" | "min" | "bar" | "turn" | "turns" | "rev")
            && kind.read_plate(word).is_ok_and(|said| differs(&said))
    });
    if let Some(word) = of_kind {
        return Some((*word).to_owned());
    }
    let per = words.iter().position(|word| word.eq_ignore_ascii_case("per"))?;
    let (time, symbol) = match words.get(per + 1)?.to_lowercase().as_str() {
        "second" | "sec" | "s" => ("s", "s"),
        "minute" | "min" => ("min", "min"),
        "hour" | "h" => ("h", "h"),
        _ => return None,
    };
    let own = unit.symbol.rsplit_once('/').map(|(_, own)| own)?;
    let times = ["s", "min", "h"];
    (times.contains(&own) && own != symbol).then(|| format!("per {time}"))
}

/// Words by which an owner takes a value back; common practice, no source.
const TAKEN_BACK: &[&str] = &[
    "wrong",
    "incorrect",
    "obsolete",
    "outdated",
    "superseded",
    "replaced by",
    "not valid",
    "invalid",
    "do not use",
    "not to be used",
    "old value",
    "no longer",
    "to be corrected",
    "use instead",
    "not correct",
    "not right",
    "typo",
    "not applicable",
    "to be measured",
    "to be confirmed",
    "to be clarified",
    "to be checked",
    "preliminary",
    "provisional",
    "placeholder",
    "guess",
    "guessed",
    "not measured",
    "not yet measured",
];

/// Remarks that are nothing else and leave the value open; common practice, no source.
const OPEN: &[&str] = &["?", "??", "???", "n/a", "n.a.", "tbd", "tbc", "tba"];

/// Whether a remark takes the value beside it back: `wrong, use 0.5`, `old value`, `now 0.5`.
pub(in crate::workbook) fn takes_back(text: &str) -> bool {
    // every text of every row of a product line comes by here
    let text = text.trim();
    let mut words = text.split(|it: char| !it.is_alphanumeric()).filter(|it| !it.is_empty());
    let mut spoken = false;
    while !spoken {
        let here = words.clone();
        let Some(first) = words.next() else { break };
        let begins = |phrase: &&&str| {
            let letters = first.as_bytes().first().zip(phrase.as_bytes().first());
            letters.is_some_and(|(one, other)| one.eq_ignore_ascii_case(other))
        };
        spoken = TAKEN_BACK.iter().filter(begins).any(|phrase| {
            let mut rest = here.clone();
            let mut same = phrase.split(' ').map(|it| (it, rest.next()));
            same.all(|(it, word)| word.is_some_and(|word| word.eq_ignore_ascii_case(it)))
        });
    }
    let digit = |it: char| it.is_ascii_digit();
    let is = |word: &str, all: &[&str]| all.iter().any(|it| it.eq_ignore_ascii_case(word));
    let now = || {
        let mut two = text.split_whitespace().zip(text.split_whitespace().skip(1));
        two.any(|(word, number)| number.starts_with(digit) && is(word, &["now", "use", "be"]))
    };
    // `1450 or 1500?`
    let asks = || text.ends_with('?') && text.contains(digit);
    spoken || is(text, OPEN) || asks() || now()
}

/// Words before a value in a note; common practice, no source.
const BEFORE: &[&str] =
    &["new", "now", "is", "measured", "correct", "actual", "value", "really", "should", "be"];

/// Whether a note says another unit of the kind: `brake torque in N·cm`, `(lbf·ft)`; the unit of a number among its words
/// belongs to that number.
fn says_another_unit(kind: &'static Kind, note: &str, own: &Unit) -> bool {
    let words: Vec<&str> = note.split_whitespace().collect();
    let said = words.iter().enumerate().filter(|(at, word)| {
        let before = at.checked_sub(1).and_then(|at| words.get(at)).copied().unwrap_or_default();
        let of_number = before.starts_with(|it: char| it.is_ascii_digit());
        let stated = before.eq_ignore_ascii_case("in") || word.starts_with(['(', '[']);
        !of_number && (stated || words.len() <= 3)
    });
    said.into_iter().any(|(_, word)| another_unit(kind, own, word.trim_matches('.')).is_some())
}

/// Whether a note states another unit, or a value of the kind that is not the one in its cell: `measured: 5.2 N·m`,
/// `n_0 = 1480 r/min`.
fn states_another(input: &Input, note: &str, number: f64, own: &Unit) -> bool {
    if input.kind.is_some_and(|kind| says_another_unit(kind, note, own)) {
        return true;
    }
    let said = note.rsplit([':', '=', '\n']).next().unwrap_or(note).trim();
    let known = |word: &&str| BEFORE.contains(&word.to_lowercase().as_str());
    let words: Vec<&str> = said.split_whitespace().skip_while(known).collect();
    let words = words.join(" ");
    let Ok((digits, ten, unit)) = split_quantity(&words) else { return false };
    let Some(unit) = input.kind.and_then(|kind| kind.read_plate(unit).ok()) else { return false };
    let (said, held) = (unit.to_si(digits, ten), own.factor.as_f64() * number);
    unit.zero == own.zero && (said - held).abs() > 1e-6 * said.abs().max(held.abs())
}

/// The unit that a remark is and nothing else: `kg·cm²`, `in N·cm`, `[rad/s]`; none for letters that may name something.
pub(in crate::workbook) fn unit_alone(text: &str) -> Option<&str> {
    let text = text.trim();
    let bare = text.strip_prefix("in ");
    let inner =
        |open, close| text.strip_prefix(open).and_then(|text: &str| text.strip_suffix(close));
    let unit = bare.or_else(|| inner('[', ']')).or_else(|| inner('(', ')')).unwrap_or(text).trim();
    (bare.is_some() || unit.contains(['·', '/', '²', '³'])).then_some(unit)
}

/// Whether a note takes the value beside it back, speaks of another quantity or of a factor, or states another value
/// than the one that is held.
pub(in crate::workbook) fn speaks_against(
    input: &Input,
    note: &str,
    held: Option<(f64, &Unit)>,
) -> bool {
    let stated = || held.is_some_and(|(number, unit)| states_another(input, note, number, unit));
    takes_back(note) || another_quantity(input, note).is_some() || is_factor(note) || stated()
}

impl Binder<'_> {
    /// A remark behind a value that takes it back, or a line through the words before it; the sheet's own words do not.
    pub(super) fn taken_back(&self, input: &Input, value: &CellAt) -> Option<Diagnostic> {
        let name = format!("`{}`", input.name);
        let beside = (1..=4).map_while(|right| {
            // behind another number stands what belongs to that
            self.beside(value, 0, right).filter(|it| !matches!(self.cell(it), Cell::Number(_)))
        });
        let remark =
            beside.filter_map(|it| Some((self.text_of(&it)?, it))).find_map(|(text, beside)| {
                let remark = text.trim() != input.note.trim() && takes_back(&text);
                remark.then(|| taken_back(&name, &text, self.place(&beside)))
            });
        let struck =
            |it: &CellAt| self.book.tab(&it.tab).is_some_and(|tab| tab.is_struck(it.position));
        remark.or_else(|| {
            let label = self.labels(value).into_iter().find(struck)?;
            Some(name_struck(&name, &self.text_of(&label)?, self.place(&label)))
        })
    }

    /// Words around a value that say another sense of it than the sheet does.
    pub(super) fn another_sense(&self, input: &Input, value: &CellAt) -> Option<Diagnostic> {
        let behind = (1..=4).map_while(|right| {
            self.beside(value, 0, right).filter(|it| !matches!(self.cell(it), Cell::Number(_)))
        });
        let near = self.labels(value).into_iter().chain(self.headings(value)).chain(behind);
        near.into_iter().find_map(|beside| {
            let text = self.text_of(&beside)?;
            let (words, remedy) = another_sense(input, &text)?;
            let caution = Diagnostic::caution(Name::TwoStatements, words);
            Some(caution.at(self.place(&beside)).remedy(remedy))
        })
    }

    /// A remark behind a value that is a unit of its kind, and not its own.
    pub(super) fn unit_behind(
        &self,
        input: &Input,
        unit: Option<&(String, Place)>,
        value: &CellAt,
    ) -> Option<Diagnostic> {
        let (kind, (own, at)) = (input.kind?, unit?);
        let own = kind.read_plate(own).ok()?;
        let beside = (1..=4).map_while(|right| {
            self.beside(value, 0, right).filter(|it| !matches!(self.cell(it), Cell::Number(_)))
        });
        let (cell, said) = beside.filter(|cell| self.place(cell) != *at).find_map(|cell| {
            let said = kind.read_plate(unit_alone(&self.text_of(&cell)?)?).ok()?;
            (!said.is_same(&own)).then_some((cell, said))
        })?;
        let (words, remedy) = two_units(&input.name, &own, &said);
        Some(Diagnostic::error(Name::TwoStatements, words).at(self.place(&cell)).remedy(remedy))
    }

    /// A note of the owner's at a value, its name, its unit or its heading that takes the value back, or states another.
    pub(super) fn noted(&self, input: &Input, value: &CellAt) -> Option<Diagnostic> {
        let notes = &self.book.tab(&value.tab)?.notes;
        let near = self.labels(value).into_iter().chain(self.unit_cell(value));
        let cells = near.chain([value.clone()]).chain(self.headings(value));
        let held = || {
            let unit = self.unit_around(value, input.kind)?.0;
            let own = input.kind?.read_plate(&unit).ok()?;
            let Cell::Number(number) = self.cell(value) else { return None };
            Some((*number, own))
        };
        let mut found = cells.flat_map(|cell| {
            let place = self.place(&cell);
            let texts = notes.at(cell.position).map(str::to_owned).collect::<Vec<_>>();
            texts.into_iter().map(move |text| (text, place.clone()))
        });
        let held = held();
        let held = held.as_ref().map(|(number, unit)| (*number, unit));
        let (text, place) = found.find(|(text, _)| speaks_against(input, text, held))?;
        Some(taken_back(&format!("`{}`", input.name), &text, place))
    }

    /// Words before or above a bound cell that say another quantity or another unit than it is read as.
    pub(super) fn said_otherwise(
        &self,
        input: &Input,
        unit: Option<&str>,
        cell: &CellAt,
    ) -> Option<Diagnostic> {
        let kind = input.kind?;
        let unit = unit.and_then(|unit| kind.read_plate(unit).or_else(|_| parse_unit(unit)).ok());
        let near = self.labels(cell).into_iter().chain(self.headings(cell));
        near.into_iter().find_map(|beside| {
            let text = self.text_of(&beside)?;
            let away = cell.position.column - beside.position.column;
            let (words, remedy) = another_quantity(input, &text).or_else(|| {
                // a unit in its place is compared elsewhere
                if label(&text).unit.is_some_and(|unit| crate::unit::is_unit(&unit)) || away > 1 {
                    return None;
                }
                let unit = unit.as_ref()?;
                let said = another_unit(kind, unit, &text)?;
                let own = &unit.symbol;
                Some((
                    format!(
                        "`{}` is read in {own}, and the words beside it say {said}",
                        input.name
                    ),
                    format!("write the value in {own}, and {own} or nothing into the words"),
                ))
            })?;
            Some(
                Diagnostic::error(Name::TwoStatements, words)
                    .at(self.place(&beside))
                    .remedy(remedy),
            )
        })
    }

    /// Words in a row of a block that say another quantity than the row is read as.
    pub(super) fn row_says_another(&self, input: &Input, value: &CellAt) -> Option<Diagnostic> {
        let behind = (1..=4).filter_map(|right| self.beside(value, 0, right));
        self.labels(value).into_iter().chain(behind).find_map(|beside| {
            let text = self.text_of(&beside)?;
            let (words, remedy) = another_quantity(input, &text)?;
            Some(
                Diagnostic::error(Name::TwoStatements, words)
                    .at(self.place(&beside))
                    .remedy(remedy),
            )
        })
    }
}

/// That a row says another unit than that in which its value is read, and what to do about it.
pub(in crate::workbook) fn two_units(name: &str, own: &Unit, said: &Unit) -> (String, String) {
    (
        format!("`{name}` is read in {}, and its row says {}", own.symbol, said.symbol),
        format!("write the value in {}, and {} or nothing as its unit", own.symbol, own.symbol),
    )
}

/// What is said of a remark that takes a value back.
pub(in crate::workbook) fn taken_back(name: &str, text: &str, place: Place) -> Diagnostic {
    let words = format!("{name} is used, and the remark \"{}\" stands beside it", text.trim());
    let caution = Diagnostic::caution(Name::TwoStatements, words).at(place);
    caution.remedy("make sure that what is used counts, and take the remark out")
}

/// What is said of a name that is struck through.
pub(in crate::workbook) fn name_struck(what: &str, name: &str, place: Place) -> Diagnostic {
    let words = format!("{what} is used, and its name \"{}\" is struck through", name.trim());
    let caution = Diagnostic::caution(Name::TwoStatements, words).at(place);
    caution
        .remedy("if it counts, take the line off its name; if not, take its row out of the table")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_flywheel_effect_is_seen_among_words() {
        for text in ["GD²", "J (GD²)", "GD2 of the motor", "PD^2", "flywheel effect", "J/WD²"] {
            assert!(is_flywheel(text), "{text}");
        }
        for text in ["J", "GD", "drum PD", "flywheel", "MD20", "WK²", "WR2 of the plate"] {
            assert!(!is_flywheel(text), "{text}");
        }
    }

    #[test]
    fn a_unit_among_words_is_compared() {
        let torque = crate::unit::kind("torque").unwrap();
        let unit = |kind: &'static Kind, text: &str| kind.read_plate(text).unwrap();
        let said = |text: &str| another_unit(torque, &unit(torque, "N·m"), text);
        assert_eq!(said("friction, mN·m").as_deref(), Some("mN·m"));
        assert_eq!(said("friction (mN·m), least").as_deref(), Some("mN·m"));
        assert_eq!(said("friction, N·m, least"), None);
        assert_eq!(said("friction at 20 °C, in the bearings"), None);
        let speed = crate::unit::kind("speed of rotation").unwrap();
        let said = |text: &str| another_unit(speed, &unit(speed, "r/min"), text);
        assert_eq!(said("turns per second").as_deref(), Some("per s"));
        assert_eq!(said("turns per minute"), None);
        assert_eq!(said("speed rad/s").as_deref(), Some("rad/s"));
    }
}
