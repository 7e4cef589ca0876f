//! What the words about a value say of it: another quantity of four times or twice its size, a factor, another unit, another
//! of several, or that it does not count.
//!
//! A symbol is bound by its name, and its owner's words stand beside it: `GD² of the motor` beside a cell that is read as
//! the inertia is a mistake of a factor of four that no other check sees. Wherever words stand, they are read here.

use super::around::is_factor;
use super::label::{is_remark_word, label};
use super::reckoned::{Against, FLYWHEELS, Reckoned, flywheel_name, number, reckoned};
use super::words::{WITHIN, denies, is_change_alone, is_made, is_open_share, speaks, words};
use crate::diagnostic::{Diagnostic, Name, Place, Severity};
use crate::program::{Input, Program, Type};
use crate::spreadsheet::ends::End;
use crate::unit::{Kind, Literal, Unit, is_unit as is_unit_text, split_quantity};
use rust_decimal::prelude::ToPrimitive;

/// Words that name another quantity, the words that the input's kind or its own note then has, what it is to it, how many
/// times as large it is where that is known, and words that say that it was reckoned.
type Other = (
    &'static [&'static str],
    &'static [&'static str],
    &'static str,
    &'static [f64],
    &'static [&'static str],
);

const OTHERS: &[Other] = &[
    (DIAMETERS, RADII, "a diameter is twice the radius", &[2.0], HALF),
    (RADII, DIAMETERS, "a radius is half the diameter", &[0.5], &["twice", "double"]),
    (
        &["circumference"],
        &["radius", "diameter"],
        "a circumference is π times the diameter",
        &[std::f64::consts::PI, std::f64::consts::TAU],
        &[],
    ),
    (&["height"], &["width"], "a height is not a width", &[], &[]),
    (&["width"], &["height"], "a width is not a height", &[], &[]),
];

/// Common practice, no source; each ends a word, as in `Außendurchmesser`, and figures may touch it: `dia62`.
const DIAMETERS: &[&str] =
    &["diameter", "diameters", "dia", "diam", "ø", "od", "durchmesser", "durchm"];
const RADII: &[&str] = &["radius", "radii", "halbmesser"];

const HALF: &[&str] = &["half", "halb", "halbe", "halber", "halben"];

/// Signs of a diameter: that of ISO 129, and letters that people take for it.
const OF_DIAMETER: &[char] = &['Ø', 'ø', '⌀', '∅'];

/// What words say that a length is measured as, besides what they are: `Ø124`, `124⌀`, `dia62`, `O.D.`,
/// `Aussendurchmesser`; a sign among letters is one of them.
fn measures(text: &str) -> Vec<&'static str> {
    let alphabetic = |it: Option<char>| it.is_some_and(char::is_alphabetic);
    let sign = text.match_indices(OF_DIAMETER).any(|(at, sign)| {
        let (before, rest) = text.split_at_checked(at).unwrap_or_default();
        let after = rest.strip_prefix(sign).and_then(|it| it.chars().next());
        !alphabetic(before.chars().next_back()) && !alphabetic(after)
    });
    let lower = text.to_lowercase();
    let said = words(text);
    let ends = |all: &[&str]| {
        said.iter().map(|it| it.trim_matches(|it: char| it.is_ascii_digit())).any(|word| {
            let long = |it: &&str| it.len() > "diam".len() && word.ends_with(*it);
            all.contains(&word) || all.iter().any(long)
        })
    };
    let mut found = Vec::new();
    let outside = ["o.d", "o/d"];
    if sign
        || ends(DIAMETERS)
        || lower.split(' ').any(|it| outside.iter().any(|begin| it.starts_with(begin)))
    {
        found.push("diameter");
    }
    if ends(RADII) {
        found.push("radius");
    }
    found
}

/// The figures of what words say that a length is measured as: 180 of `disc Ø 180, 3 screws`, 5 of `groove radius 5 mm`.
fn measured(text: &str) -> Vec<f64> {
    let parts = |it: char| it.is_whitespace() || "=:;()".contains(it);
    let all: Vec<&str> = text.split(parts).filter(|it| !it.is_empty()).collect();
    let is_measure = |at: usize| all.get(at).is_some_and(|it| !measures(it).is_empty());
    let figure = |word: &str| {
        let digits = word.trim_end_matches([',', '.']);
        let digits =
            digits.trim_matches(|it: char| it.is_alphabetic() || OF_DIAMETER.contains(&it));
        digits.replace(',', ".").parse::<f64>().ok()
    };
    let is_unit = |at: usize| all.get(at).is_some_and(|it| is_unit_text(it));
    let found = all.iter().enumerate().filter(|(at, _)| {
        let before = at.checked_sub(1).is_some_and(is_measure);
        is_measure(*at) || before || is_measure(at + 1) || is_unit(at + 1) && is_measure(at + 2)
    });
    found.filter_map(|(_, word)| figure(word)).collect()
}

/// Whether words halve what they name: `Durchmesser/2`.
fn halves(text: &str) -> bool {
    let close: String = text.chars().filter(|it| !it.is_whitespace()).collect();
    close.ends_with("/2") || close.contains('½')
}

/// What the symbol before a quantity stands for, and the quantity: `D = 124`, `d 62`, `Da=62`, `R310`.
fn symbol_of_length(text: &str) -> Option<(&'static str, &str)> {
    let end = text.find(|it: char| !it.is_alphabetic())?;
    let (symbol, rest) = text.split_at_checked(end)?;
    let rest = rest.trim_start_matches([' ', '=', ':', '_', '\u{a0}']);
    let what = match symbol {
        "D" | "d" | "Da" | "da" | "DA" => "diameter",
        "R" | "r" | "Ra" | "ra" => "radius",
        _ => return None,
    };
    rest.starts_with(|it: char| it.is_ascii_digit()).then_some((what, rest))
}

/// Words of which those of one line mean the same and those of two lines of a group do not: where a value is taken, which
/// of several, and which way.
const SENSES: &[&[&[&str]]] = &[
    &[&["motor"], &["drum", "load", "machine", "wheel", "pulley", "roller", "spindle", "output"]],
    ENDS,
    &[&["inner", "inside"], &["outer", "outside"]],
    &[&["motor drives", "forward"], &["driven back", "backward", "backwards"]],
];

/// Which of several values is said: the greatest, the least, one between them.
const ENDS: &[&[&str]] = &[
    &["longest", "largest", "greatest", "highest", "most", "maximum", "max", "maximal", "latest"],
    &["shortest", "smallest", "least", "lowest", "minimum", "min", "minimal", "earliest"],
    &["mean", "average", "typical", "typ", NOMINAL],
];

/// The end of several values that an input is, with the word that says so.
pub(super) fn end_said(input: &Input) -> Option<(End, &'static str)> {
    let mut own = words(&input.note);
    own.extend(words(&input.name));
    match lines_spoken(ENDS, &own).as_slice() {
        [(0, word)] => Some((End::Greatest, word)),
        [(1, word)] => Some((End::Least, word)),
        _ => None,
    }
}

/// The end of several measured or known values that an input is. Of several limits the least counts where they bear, and the
/// greatest where they demand: which one no word says. Of what has a sign, the most may be the lowest number.
pub(super) fn end_measured(input: &Input) -> Option<(End, &'static str)> {
    let mut own = words(&input.note);
    if own.iter().any(|it| it == "minus") {
        return None;
    }
    // `mean braking torque, the least`: of several means
    let (of_several, between) = ENDS.split_at_checked(2)?;
    let several = closing_end(&input.note, of_several);
    if is_limit(input) && (several.is_none() || !is_measured_limit(&own)) {
        return None;
    }
    if let (Some(found), false) = (several, lines_spoken(between, &own).is_empty()) {
        return Some(found);
    }
    if several.is_some() && is_limit(input) {
        return several;
    }
    own.extend(words(&input.name).into_iter().filter(|it| matches!(it.as_str(), "least" | "most")));
    match lines_spoken(ENDS, &own).as_slice() {
        [(0, word)] => Some((End::Greatest, word)),
        [(1, word)] => Some((End::Least, word)),
        _ => None,
    }
}

/// The end that a clause of a note says of several values: `from the command to standstill, the longest`.
fn closing_end(note: &str, ends: &[&[&'static str]]) -> Option<(End, &'static str)> {
    let clauses = note.split([',', ':', ';']).filter_map(|it| it.trim().strip_prefix("the "));
    let mut found = clauses.filter_map(|clause| {
        let line = ends.iter().position(|line| line.contains(&clause))?;
        let word = ends.get(line)?.iter().find(|it| **it == clause)?;
        Some((if line == 0 { End::Greatest } else { End::Least }, *word))
    });
    found.next()
}

/// Whether a note is that of a limit by a threshold alone that something is measured at.
fn is_measured_limit(note: &[String]) -> bool {
    let said: Vec<_> = LIMITS.iter().filter(|it| speaks(note, it)).collect();
    said.iter().all(|it| **it == "threshold") && !said.is_empty()
}

/// The end of several limits that counts, known by the checks: the least where a higher one only ever helps them.
pub(super) fn end_of_limit(program: &Program, input: &Input) -> Option<(End, &'static str)> {
    let mut own = words(&input.note);
    if !is_limit(input) || ["threshold", "still"].iter().any(|it| speaks(&own, it)) {
        return None;
    }
    own.extend(words(&input.name));
    let is_lower = lines_spoken(ENDS, &own).iter().any(|it| it.0 == 1);
    match program.helped_by_more(input)? {
        true => Some((End::Least, "least")),
        false => is_lower.then_some((End::Greatest, "greatest")),
    }
}

/// Words by which a sheet describes what an input bounds.
const LIMITS: &[&str] = &[
    "bear", "bears", "allow", "allows", "allowed", "permitted", "permits", "limit", "may",
    "can be set", "can give", "can take", "give", "gives", "threshold", "still",
];

/// Whether an input bounds something: by its words, or by a name such as `n_max` of which the words say no other end.
fn is_limit(input: &Input) -> bool {
    let (note, name) = (words(&input.note), words(&input.name));
    let ends = |words: &[String]| lines_spoken(ENDS, words).first().map(|it| it.0);
    let named = name.iter().any(|it| matches!(it.as_str(), "max" | "min"))
        && ends(&note).is_none_or(|it| Some(it) == ends(&name));
    named || LIMITS.iter().any(|it| speaks(&note, it))
}

/// The lines of a group of which words speak, each with its word.
fn lines_spoken(group: &[&[&'static str]], words: &[String]) -> Vec<(usize, &'static str)> {
    let found = group.iter().enumerate();
    let found =
        found.filter_map(|(at, line)| Some((at, *line.iter().find(|it| speaks(words, it))?)));
    found.collect()
}

/// Stands for `nominal` and `rated` where they speak of the value itself.
const NOMINAL: &str = "nominal";

/// Whether an input is an inertia, and not itself a flywheel effect.
pub(in crate::workbook) fn is_of_inertia(input: &Input) -> bool {
    input.kind.is_some_and(|kind| kind.name == "inertia")
        && ![&input.name, &input.note].into_iter().any(|own| is_flywheel(own))
}

/// Whether a text names a flywheel effect, converted or not.
pub(in crate::workbook) fn names_flywheel(text: &str) -> bool {
    let mut words = text.split(|it: char| it.is_whitespace() || "()[],;:/=".contains(it));
    words.any(|word| flywheel_name(word).is_some()) || is_flywheel(text)
}

/// Whether a text speaks of a flywheel effect that is not converted: `GD²`, `J (GD2)`, `PD^2 of the motor`, `not GD²/4`.
/// `WK²`, mass times the square of the radius of gyration, is the inertia itself, and so is `GD²/4`.
pub(in crate::workbook) fn is_flywheel(text: &str) -> bool {
    let spoken = "flywheel effect";
    let parts = |it: char| it.is_whitespace() || "()[],;:/=".contains(it);
    let mut found = FLYWHEELS.iter().flat_map(|name| text.match_indices(name));
    let named = found.any(|(at, _)| {
        let (before, rest) = text.split_at_checked(at).unwrap_or_default();
        let Some(name) = flywheel_name(rest) else { return false };
        let rest = rest.get(name..).unwrap_or_default();
        let begins = before.chars().next_back().is_none_or(parts);
        let (of_it, last) = before.trim_end().rsplit_once(' ').unwrap_or(("", before.trim_end()));
        // `GD² / 4`, and `GD² 0.0936 kg·m² / 4`
        let over = rest.rsplit(['/', '÷', ':']).next().is_some_and(|under| {
            let four = under.trim_start().strip_prefix('4');
            let is_digit = |it: char| it.is_ascii_digit() || it == '.';
            under.len() < rest.len() && four.is_some_and(|it| !it.starts_with(is_digit))
        });
        let quarter = over || matches!(last, "1/4" | "¼" | "0.25");
        let not = last.eq_ignore_ascii_case("not");
        // `not GD²`; `not converted from GD²` is one
        let apart = of_it.is_empty() || of_it.ends_with([',', ';']);
        let converted = quarter && !not && !denies(text) || !quarter && not && apart;
        begins && !converted
    });
    let named = named || text.len() >= spoken.len() && text.to_lowercase().contains(spoken);
    named && !is_converted(text)
}

/// Whether words say that what they name was converted: `from GD², converted`, `a quarter of GD²`.
fn is_converted(text: &str) -> bool {
    let said = words(text);
    let done = |word: &String| matches!(word.as_str(), "converted" | "quarter");
    said.iter().any(done) && !denies(text)
}

/// Which way what is said weighs, its words, and what to do about it.
pub(in crate::workbook) struct Said {
    pub(in crate::workbook) severity: Severity,
    words: String,
    remedy: String,
}

impl Said {
    /// An error of these words, with what to do about it.
    pub(in crate::workbook) fn error((words, remedy): (String, String)) -> Self {
        Self { severity: Severity::Error, words, remedy }
    }

    pub(in crate::workbook) fn is_error(&self) -> bool {
        self.severity == Severity::Error
    }

    pub(in crate::workbook) fn at(self, place: Place) -> Diagnostic {
        let problem = Diagnostic::error(Name::TwoStatements, self.words);
        Diagnostic { severity: self.severity, ..problem }.at(place).remedy(self.remedy)
    }
}

/// A value about which words stand.
#[derive(Clone, Copy)]
pub(in crate::workbook) struct About<'a> {
    pub(in crate::workbook) program: &'a Program,
    pub(in crate::workbook) input: &'a Input,
    /// In which its number is read.
    pub(in crate::workbook) unit: Option<&'a Unit>,
    /// What is held, where one number is.
    pub(in crate::workbook) value: Option<&'a Literal>,
    /// Whether what stands there is what the input is; a formula may make it of something else.
    pub(in crate::workbook) as_it_is: bool,
}

impl About<'_> {
    /// What a text says against the value about which it stands: the one reader of all words of owners, whether a label, a
    /// heading, a remark, a note or what stands in the cell of a unit. The sheet's own words say nothing.
    pub(in crate::workbook) fn said(&self, text: &str) -> Option<Said> {
        let text = text.trim();
        // a word that another input chooses may stand above
        let chosen =
            |it: &Input| matches!(&it.type_, Type::Choice(all) if all.iter().any(|it| it == text));
        if text.is_empty() || self.is_of_sheet(text) || self.program.inputs.iter().any(chosen) {
            return None;
        }
        // a unit and nothing else, in its cell or as a remark, with the name before it or without
        let named = text.strip_prefix(self.input.name.as_str());
        let named = named.filter(|it| it.starts_with([':', '=', ',', ' ']));
        let bare = named.map_or(text, |it| it.trim_start_matches([':', '=', ',', ' ']));
        let is_unit =
            |it: &str| self.input.kind.is_some_and(|kind| unit_of_words(kind, it).is_some());
        if let Some(unit) = [text, bare].into_iter().find(|it| is_unit(it)) {
            return self.another_unit(unit).map(Said::error);
        }
        let against = self.another_quantity(bare).or_else(|| self.factor(bare));
        // `28 N·m − 20 %` may be a tolerance, and `5 % not included` of something else
        let margin = text.contains('%') && text.contains(['-', '−', '–']) && !text.contains('=')
            || is_open_share(text)
            || self.is_open_change(text);
        let severity = if margin { Severity::Caution } else { Severity::Error };
        let against = against.map(|it| (severity, it));
        let against = against.or_else(|| Some((Severity::Error, self.another_unit(text)?)));
        if let Some(same) = against.is_none().then(|| self.same_figure(text)).flatten() {
            return Some(same);
        }
        let doubt = || {
            // `T_b: TBC`
            let taken = takes_back(text) || takes_back(bare);
            let back = (taken || self.states_another(text)).then(|| self.back(text));
            let sense = || self.another_sense(bare).or_else(|| self.of_another(text));
            let above = || self.factor_above_one(bare);
            back.or_else(sense).or_else(above).map(|it| (Severity::Caution, it))
        };
        let (severity, (words, remedy)) = against.or_else(doubt)?;
        Some(Said { severity, words, remedy })
    }

    /// Whether words are those with which the sheet itself, or its form, describes the input.
    fn is_of_sheet(&self, text: &str) -> bool {
        let input = self.input;
        text == input.name
            || text == input.note.trim()
            || input.kind.is_some_and(|kind| kind.name == text)
            || input.allowed_text().is_some_and(|allowed| allowed == text)
    }

    fn back(&self, text: &str) -> (String, String) {
        (remark_beside(&format!("`{}`", self.input.name), text), BACK.to_owned())
    }

    /// What words say of an input that it is not, with what to do about it.
    fn another_quantity(&self, text: &str) -> Option<(String, String)> {
        let input = self.input;
        let kind = input.kind.filter(|_| self.as_it_is)?;
        let reckoned = self.reckoned(text, false);
        let open = || is_flywheel(text) && !self.states_times(text, 4.0);
        let effect = is_of_inertia(input) && names_flywheel(text);
        if effect && (reckoned == Reckoned::Before || reckoned != Reckoned::Result && open()) {
            return Some(flywheel(text, &format!("beside `{}`", input.name)));
        }
        let (mut said, mut note) = (words(text), words(&input.note));
        if matches!(text, "r" | "R") {
            said = vec!["radius".to_owned()];
        }
        if matches!(kind.name, "radius" | "diameter") {
            note.push(kind.name.to_owned());
        }
        said.extend(measures(text).into_iter().map(str::to_owned));
        // a letter may stand for much else, but not before the very value
        let symbol = symbol_of_length(text).filter(|it| self.states_once_more_bare(it.1));
        said.extend(symbol.map(|it| it.0.to_owned()));
        let any = |all: &[&str], of: &[String]| of.iter().any(|word| all.contains(&word.as_str()));
        let (_, _, what, ..) = OTHERS.iter().find(|(names, own, _, times, reckoned)| {
            any(names, &said)
                && !any(names, &note)
                && any(own, &note)
                && !any(own, &said)
                && !any(reckoned, &said)
                && !halves(text)
                && !times.iter().any(|it| self.states_times(text, *it))
                && (times.is_empty() || !self.is_of_another_part(text, times))
        })?;
        Some((
            format!("\"{text}\" stands beside `{}` ({}): {what}", input.name, input.note),
            format!("write the value that `{}` is, and words that say the same", input.name),
        ))
    }

    /// Whether words measure something else: `bore Ø 22` at a radius of 62 mm, which is neither that, nor twice, nor half of it.
    fn is_of_another_part(&self, text: &str, times: &[f64]) -> bool {
        let figures = measured(text);
        let ours = |it: &f64| self.states_times(text, 1.0) || self.states_times(text, 1.0 / it);
        !figures.is_empty() && self.value.is_some() && !times.iter().any(ours)
    }

    /// Whether a number among words is so many times the value: `Ø 124` or `124 mm diameter` at a radius of 62 mm.
    fn states_times(&self, text: &str, times: f64) -> bool {
        let Some(held) = self.value.map(Literal::si_f64) else { return false };
        let size = self.unit.map_or(1.0, |unit| unit.factor.as_f64());
        let parts =
            |it: char| it.is_whitespace() || "=:;()/×".contains(it) || OF_DIAMETER.contains(&it);
        let words: Vec<&str> = text.split(parts).filter(|it| !it.is_empty()).collect();
        words.iter().enumerate().any(|(at, word)| {
            let digits = word.trim_end_matches([',', '.']);
            let number =
                digits.trim_matches(|it: char| it.is_alphabetic()).replace(',', ".").parse::<f64>();
            let behind = words.get(at + 1).map(|it| it.trim_end_matches(','));
            let unit = behind.zip(self.input.kind);
            let unit = unit.and_then(|(unit, kind)| kind.read_plate(unit).ok());
            let size = unit.map_or(size, |unit| unit.factor.as_f64());
            number.is_ok_and(|number| near(number * size, held * times))
        })
    }

    /// How the value stands to what words reckon; `of_many` values they may speak of another.
    pub(in crate::workbook) fn reckoned(&self, text: &str, of_many: bool) -> Reckoned {
        let held = self.value.filter(|it| self.as_it_is && it.unit.zero.is_zero());
        let (Some(kind), Some(held), Some(unit)) = (self.input.kind, held, self.unit) else {
            return Reckoned::No;
        };
        let (held, flywheel) = (held.si_f64(), is_of_inertia(self.input));
        reckoned(text, Against { kind, unit, held, flywheel, of_many })
    }

    /// Whether words speak of what a load is tested with, or where an overload or too high a speed trips: that is another
    /// value.
    fn is_of_test(&self, text: &str) -> bool {
        let all = match self.input.kind.map_or("", |kind| kind.name) {
            "mass" => OF_TESTS,
            "speed of rotation" => OF_OVERSPEED,
            _ => return false,
        };
        words(text).iter().any(|it| all.iter().any(|word| it.starts_with(word)))
    }

    /// A factor above one and nothing before it: `× 1.25`, `J × 1.1`. A whole number may count pieces, and of lengths it may
    /// be a size.
    fn factor_above_one(&self, text: &str) -> Option<(String, String)> {
        let kind = self.input.kind.filter(|_| self.as_it_is)?;
        let is_length = matches!(kind.name, "length" | "radius" | "diameter");
        let bare = text.trim_start_matches('(');
        let said = bare.strip_prefix(self.input.name.as_str()).unwrap_or(bare).trim_start();
        // `× 41.5` is a size of a length, and `× 1.25` beside 310 mm is none
        let size = |held: &Literal| held.si_f64().abs() / held.unit.factor.as_f64() < LARGE;
        let size = is_length && (self.value.is_none_or(size) || !is_below_two(said));
        let above = !size && is_above_one(said) && !is_made(text, WITHIN) && !self.is_of_test(text);
        above.then(|| self.not_applied(text, "beside"))
    }

    /// A factor among the words: it would be applied by a person, and is not applied here.
    fn factor(&self, text: &str) -> Option<(String, String)> {
        let name = &self.input.name;
        let reckoned = self.reckoned(text, false);
        if reckoned == Reckoned::Result {
            return None;
        }
        if reckoned == Reckoned::No && is_made(text, WITHIN) || self.is_of_test(text) {
            return None;
        }
        let factor = reckoned == Reckoned::Before
            || is_open_share(text)
            || self.is_open_change(text)
            || is_factor(text)
            || is_times(name, text)
            || self.is_multiplied(text);
        // `27.5 N·m × 0.8 = 22 N·m`
        let worked_out = || {
            let last = text.rsplit_once('=').map(|(_, last)| last.trim());
            last.is_some_and(|last| self.states_once_more(last))
        };
        if !self.as_it_is || !factor || reckoned != Reckoned::Before && worked_out() {
            return None;
        }
        Some(self.not_applied(text, "beside"))
    }

    /// Whether words are a change that is still to be made and nothing else: `20 % ab`, `minus 4 N·m`, `half`.
    fn is_open_change(&self, text: &str) -> bool {
        let of_kind = |it: &str| self.input.kind.is_some_and(|kind| kind.read_plate(it).is_ok());
        // `minus 4 N·m` of −4 N·m is the value itself
        self.as_it_is
            && is_change_alone(text, &of_kind)
            && !self.states_times(text, 1.0)
            && !self.states_times(text, -1.0)
    }

    /// That what is said of a value is not reckoned, with what to do about it.
    pub(in crate::workbook) fn not_applied(&self, text: &str, stands: &str) -> (String, String) {
        let name = &self.input.name;
        let usual = self.input.kind.and_then(|kind| kind.units.first());
        let usual = usual.filter(|unit| !unit.is_empty());
        let unit = usual
            .map_or_else(|| "the unit that is stated for it".to_owned(), |it| format!("`{it}`"));
        (
            format!("\"{text}\" stands {stands} `{name}`, and a factor is not applied to it"),
            format!(
                "write the value itself in {unit}, with the factor in it, and take the factor out of the words"
            ),
        )
    }

    /// Whether a text states the value that is held.
    fn states_once_more(&self, text: &str) -> bool {
        let (Some(kind), Some(held)) = (self.input.kind, self.value) else { return false };
        states_again(kind, &held.unit, held.si_f64(), text)
    }

    /// Whether a text states the value that is held, without its unit or with it.
    fn states_once_more_bare(&self, text: &str) -> bool {
        let (Some(held), Some(unit)) = (self.value, self.unit) else { return false };
        let (number, taken) = number(text);
        let bare = text.len() == taken;
        bare && number.is_some_and(|it| near(it * unit.factor.as_f64(), held.si_f64()))
            || self.states_once_more(text)
    }

    /// Whether a text multiplies the value that is held: `22 N·m × 10` at 22 N·m.
    fn is_multiplied(&self, text: &str) -> bool {
        let signs = |sign: char| matches!(sign, '×' | '*' | '÷');
        let (of, by) =
            text.split_once(signs).or_else(|| text.split_once(" x ")).unwrap_or_default();
        // of lengths two bare numbers are a size: `62 × 41`
        let kind = self.input.kind.map_or("", |kind| kind.name);
        let whole = |text: &str| {
            number(text.trim_start()).0.is_some_and(|it| it.fract() == 0.0 && it > 2.0)
        };
        let is_size = matches!(kind, "length" | "radius" | "diameter")
            && (whole(by) || !text.contains(|it: char| it.is_alphabetic() && it != 'x'));
        if is_size {
            return false;
        }
        by.trim_start().starts_with(|it: char| it.is_ascii_digit()) && self.states_once_more(of)
    }

    fn another_unit(&self, text: &str) -> Option<(String, String)> {
        // a letter that names another quantity
        if self.program.inputs.iter().any(|it| it.name == text) {
            return None;
        }
        let unit = self.unit?;
        let said = another_unit(self.input.kind?, unit, text)?;
        let own = &unit.symbol;
        Some((
            format!(
                "`{}` is read in {own}, and the words \"{text}\" beside it say {said}",
                self.input.name
            ),
            format!("write the value in {own}, and {own} or nothing into the words"),
        ))
    }

    /// What a text says that bears the value's own figure with another unit: `37 lb-in (plate)` at 37 N·m. Among other
    /// words it may be a figure of something else.
    pub(in crate::workbook) fn same_figure(&self, text: &str) -> Option<Said> {
        let (unit, rest) = self.figure_once_more(text)?;
        let own = self.unit.filter(|own| !unit.is_same(own))?;
        let name = &self.input.name;
        let plate = |word: &str| {
            is_remark_word(word)
                || word == name
                || flywheel_name(word).is_some()
                || ["says", "WK²", "WR²", "WK2", "WR2"].contains(&word)
                || BEFORE.contains(&word.to_lowercase().as_str())
        };
        let mut words = rest.split(|it: char| it.is_whitespace() || "()[],;:=.".contains(it));
        let alone = words.all(|word| word.is_empty() || plate(word));
        let (own, said) = (&own.symbol, unit.typed.as_ref().unwrap_or(&unit.symbol));
        Some(Said {
            severity: if alone { Severity::Error } else { Severity::Caution },
            words: format!(
                "`{name}` is read in {own}, and \"{text}\" states the same figure in {said}"
            ),
            remedy: "find out which of the two units is right; write the value in it, and no other into the words"
                .to_owned(),
        })
    }

    /// The unit behind the value's own figure among words, as plates write it, and the words around both.
    pub(in crate::workbook) fn figure_once_more(&self, text: &str) -> Option<(Unit, String)> {
        let held = self.value.filter(|it| self.as_it_is && !it.unit.dimension.is_none())?;
        let (kind, own) = (self.input.kind?, self.unit?);
        let held = own.from_si(held.si_f64());
        let digit = |it: char| it.is_ascii_digit();
        let begins = text.match_indices(digit).map(|(at, _)| at).find(|at| {
            let before = text.get(..*at).unwrap_or_default();
            let (figure, taken) = number(text.get(*at..).unwrap_or_default());
            !before.ends_with(|it: char| it.is_alphanumeric() || ".,^_".contains(it))
                && taken > 0
                && figure.is_some_and(|it| (it - held).abs() <= 1e-9 * held.abs())
        })?;
        let (before, rest) = text.split_at_checked(begins)?;
        let behind = rest.get(number(rest).1..)?.trim_start_matches([' ', '\u{a0}']);
        // the longest that reads: `lbf in`
        let ends = behind.match_indices(|it: char| it.is_whitespace() || "()[],;:=".contains(it));
        let ends: Vec<usize> = ends.map(|(at, _)| at).chain([behind.len()]).take(FEW).collect();
        ends.into_iter().rev().find_map(|end| {
            let (unit, after) = behind.split_at_checked(end)?;
            let unit = unit_said(kind, unit.trim_end_matches('.'))?;
            Some((unit, format!("{before} {after}")))
        })
    }

    /// Whether a text states a value of the kind that is not the one that is held: `measured: 5.2 N·m`, `n_0 = 1480 r/min`.
    fn states_another(&self, text: &str) -> bool {
        let Some(held) = self.value.filter(|_| self.as_it_is) else { return false };
        match self.reckoned(text, false) {
            Reckoned::Result => return false,
            Reckoned::Wrongly => return true,
            Reckoned::No | Reckoned::Before => {}
        }
        // a flywheel effect of four times the value is that value
        if is_flywheel(text) && self.states_times(text, 4.0) {
            return false;
        }
        // a diameter beside a radius is twice that or of another part, and the very value is refused before
        if matches!(
            (self.input.kind.map(|it| it.name), symbol_of_length(text)),
            (Some("radius"), Some(("diameter", _))) | (Some("diameter"), Some(("radius", _)))
        ) {
            return false;
        }
        let said = text.rsplit([':', '=', '\n']).next().unwrap_or(text).trim();
        let known = |word: &&str| BEFORE.contains(&word.to_lowercase().as_str());
        let turned = end_first(said);
        let said = turned.as_deref().unwrap_or(said);
        let of_end = self.own_end(said);
        let said = of_end.map_or(said, |it| it.1);
        let words: Vec<&str> = said.split_whitespace().skip_while(known).collect();
        let mut words = words.join(" ");
        if of_end.is_some() && words.matches(',').count() == 1 {
            words = words.replace(',', ".");
        }
        let Ok((digits, ten, unit)) = split_quantity(&words) else { return false };
        let named = || text.split_once('=').is_some_and(|it| it.0.trim() == self.input.name);
        if unit.is_empty() && !named() {
            return false;
        }
        let Some(unit) = self.input.kind.and_then(|kind| unit_said(kind, unit)) else {
            return false;
        };
        let (said, held_si) = (unit.to_si(digits, ten), held.si_f64());
        let beyond = match of_end {
            Some((End::Greatest, _)) => said > held_si,
            Some(_) => said < held_si,
            None => true,
        };
        unit.zero == held.unit.zero && beyond && !near(said, held_si)
    }

    /// The end that the input is and that a text begins with, and what follows: `max. 120 ms` of the longest.
    fn own_end<'t>(&self, text: &'t str) -> Option<(End, &'t str)> {
        let (end, _) = end_measured(self.input)?;
        let at = text.find(|it: char| it.is_ascii_digit())?;
        let (before, rest) = text.split_at_checked(at)?;
        let said = words(before).join(" ");
        let line = usize::from(end == End::Least);
        let own = ENDS.get(line).is_some_and(|line| line.contains(&said.as_str()));
        let sign = if end == End::Greatest { "≤" } else { "≥" };
        let up = before.trim() == sign
            || match end {
                End::Greatest => {
                    matches!(said.as_str(), "up to" | "bis" | "bis zu" | "at most" | "höchstens")
                }
                _ => matches!(said.as_str(), "at least" | "mindestens" | "mind"),
            };
        (own || up || said == "worst case").then_some((end, rest))
    }

    /// Of several limits the greatest, where the least holds: `greatest of 3600, 3000, 1900`.
    fn greatest_of_limits(&self, text: &str, said: &[String]) -> Option<(String, String)> {
        let listed = text.contains(',') || text.contains(" and ");
        let greatest = ENDS.first()?;
        let of = said.windows(2).any(
            |pair| matches!(pair, [end, of] if of == "of" && greatest.contains(&end.as_str())),
        );
        let (end, _) = end_of_limit(self.program, self.input).filter(|_| listed && of)?;
        let name = &self.input.name;
        (end == End::Least).then(|| {
            (
                format!(
                    "\"{text}\" stands beside `{name}`, and a higher `{name}` only ever helps the checks: of several limits the least holds"
                ),
                "write the least of them, or say in the words which limit it is".to_owned(),
            )
        })
    }

    /// What words say of where an input is taken, or which of several it is, that its own note says otherwise: `mean` of one
    /// that is the longest.
    fn another_sense(&self, text: &str) -> Option<(String, String)> {
        let input = self.input;
        // `min` is a unit too
        let label = label(text);
        let is_unit = |unit: &String| input.kind.is_some_and(|kind| kind.read_plate(unit).is_ok());
        let text_alone = if label.unit.as_ref().is_some_and(is_unit) { &label.name } else { text };
        let units = |word: &&str| !word.contains('/');
        let tokens: Vec<&str> = text_alone.split_whitespace().filter(units).collect();
        // `air gap 0.3 mm, max 0.9 mm`: the greatest of something else
        let of_other = |at: usize| {
            let number =
                tokens.get(at + 1).is_some_and(|it| it.starts_with(|it: char| it.is_ascii_digit()));
            let unit = tokens.get(at + 2).map(|it| it.trim_matches([',', ';', '(', ')']));
            number && unit.is_some_and(|it| is_unit_text(it) && !is_unit(&it.to_owned()))
        };
        let own = tokens.iter().enumerate().filter(|(at, _)| !of_other(*at)).map(|(_, it)| *it);
        let bare = own.collect::<Vec<_>>().join(" ");
        let (mut said, mut note) = (words(&bare), words(&input.note));
        note.extend(words(&input.name));
        if !self.as_it_is {
            return None;
        }
        if !is_nominal(input, &said) {
            said.retain(|word| word != NOMINAL);
        } else {
            said.push(NOMINAL.to_owned());
        }
        if let Some(found) = self.greatest_of_limits(text, &said) {
            return Some(found);
        }
        SENSES.iter().find_map(|group| {
            match (lines_spoken(group, &said).as_slice(), lines_spoken(group, &note).as_slice()) {
                // of several limits the sheet's own word does not say which one counts
                ([(0 | 1, _)], [(0 | 1, _)]) if *group == ENDS && is_limit(input) => None,
                ([(at, _)], [(other, own)]) if at != other => Some((
                    format!(
                        "\"{text}\" stands beside `{}`, of which the sheet says \"{}\"",
                        input.name, input.note
                    ),
                    format!(
                        "make sure that it is the value of the {own} one; if so, say that in the words beside it"
                    ),
                )),
                _ => None,
            }
        })
    }

    /// Words in which the sheet describes another of its inputs, of the same kind, and not this one.
    fn of_another(&self, text: &str) -> Option<(String, String)> {
        let input = self.input;
        let (said, mut own) = (words(text), words(&input.note));
        own.extend(words(&input.name));
        let alike = |other: &&Input| {
            other.name != input.name
                && other.kind.zip(input.kind).is_some_and(|(one, two)| one.name == two.name)
        };
        let tells = |pair: &[String]| {
            pair.iter().all(|it| {
                it.chars().count() > 2 && !own.contains(it) && !JOINING.contains(&it.as_str())
            })
        };
        let others = self.program.inputs.iter().filter(|_| self.as_it_is).filter(alike);
        let other = others.into_iter().find(|other| {
            let note = words(&other.note);
            said.windows(2).any(|pair| tells(pair) && note.windows(2).any(|it| it == pair))
        })?;
        Some((
            format!(
                "\"{text}\" stands beside `{}`, and so the sheet describes `{}`: \"{}\"",
                input.name, other.name, other.note
            ),
            format!(
                "make sure that it is the value of `{}` ({}); if so, say that in the words beside it",
                input.name, input.note
            ),
        ))
    }
}

/// Words between others that say nothing of a value.
const JOINING: &[&str] = &[
    "the", "and", "for", "from", "with", "that", "this", "its", "are", "was", "per", "all", "one",
];

/// By what part two numbers may differ that state the same: people round.
fn near(one: f64, other: f64) -> bool {
    (one - other).abs() <= 0.005 * one.abs().max(other.abs())
}

/// Whether `nominal` or `rated` speaks of the value itself: alone, or of its kind, `nominal torque`; not `at nominal voltage`.
fn is_nominal(input: &Input, said: &[String]) -> bool {
    let kind = input.kind.and_then(|kind| kind.name.split(' ').next()).unwrap_or_default();
    let of_it = |word: &String| word == kind || word == "value";
    said.iter().enumerate().any(|(at, word)| {
        let before = at.checked_sub(1).and_then(|at| said.get(at));
        matches!(word.as_str(), "nominal" | "rated")
            && before.is_none_or(|it| it != "at")
            && (said.len() == 1 || said.iter().skip(at + 1).take(2).any(of_it))
    })
}

/// Whether a text states a value once more, in its own unit or in another: `194.7 lbf·in` behind 22 N·m. `held` in coherent
/// SI.
pub(super) fn states_again(kind: &'static Kind, own: &Unit, held: f64, text: &str) -> bool {
    split_quantity(text).is_ok_and(|(digits, ten, said_unit)| {
        let said = unit_said(kind, said_unit).filter(|said| said.zero == own.zero);
        // `100.5 1/s` is said of radians and of turns
        let turns = || {
            let said =
                kind.name == "speed of rotation" && matches!(said_unit, "1/s" | "s⁻¹" | "s^-1");
            let number = digits.to_f64().filter(|_| said && ten == 0);
            number.is_some_and(|it| near(it, held) || near(it * std::f64::consts::TAU, held))
        };
        said.is_some_and(|said| near(said.to_si(digits, ten), held)) || turns()
    })
}

/// What is said of a flywheel effect in the place of an inertia.
pub(in crate::workbook) fn flywheel(text: &str, stands: &str) -> (String, String) {
    let open = match is_flywheel(text) {
        true => "; if the value is converted already, say so: `GD²/4`",
        false => "",
    };
    (
        format!("\"{text}\" stands {stands}, and a flywheel effect is four times the inertia"),
        format!(
            "write the inertia, a quarter of it, and take the flywheel effect out of the words{open}"
        ),
    )
}

/// What is said of a factor that stands alone in a row of many values.
pub(in crate::workbook) fn factor_alone(text: &str) -> Option<(String, String)> {
    let alone = |word: &str| ["value", "values", "all", "each", "in"].contains(&word);
    let words = text.split_whitespace().map(str::to_lowercase);
    // `2 rollers × 0.55 kg` are counted
    let counted = || {
        let mut first = text.split_whitespace();
        first.next().is_some_and(|it| it.chars().all(|it| it.is_ascii_digit()))
            && first.next().is_some_and(|it| it.len() > 1 && it.chars().all(char::is_alphabetic))
    };
    let mut before = words.take_while(|it| it.chars().all(char::is_alphabetic) && it != "x");
    let factor = is_factor(text)
        && !counted()
        && before.all(|it| alone(&it) || it.starts_with("thousand") || it.starts_with("million"));
    factor.then(|| {
        (
            format!("\"{text}\" stands in the row, and a factor is not applied to its values"),
            "write the values themselves, with the factor in them, and take it out of the words"
                .to_owned(),
        )
    })
}

/// `1000 J` before the value of `J`.
fn is_times(name: &str, text: &str) -> bool {
    let number = text
        .strip_suffix(name)
        .map(|number| number.trim_end_matches([' ', '\u{a0}', '·', '*', '×']));
    number.is_some_and(|number| {
        number.len() > 1
            && number.starts_with('1')
            && number.trim_start_matches('1').chars().all(|it| it == '0')
    })
}

/// Words in a text of a few that are each looked at for a unit.
const FEW: usize = 3;

/// Bytes of a unit that is looked for in a remark.
const LONGEST_UNIT: usize = 20;

/// Letters that stand for a quantity as well as for a unit of its kind; common practice, no source.
const NAMES: &[(&str, &str)] = &[("acceleration", "g"), ("force", "N")];

/// A unit of the kind among words that is not the stated one: `friction, mN·m`, `brake torque in N·cm`, `turns per second`;
/// the unit of a number among them belongs to that number, and letters alone may name something.
pub(in crate::workbook) fn another_unit(
    kind: &'static Kind,
    unit: &Unit,
    text: &str,
) -> Option<String> {
    if is_converted(text) {
        return None;
    }
    let read = |word: &str| unit_of_words(kind, word);
    let differs = |word: &str| {
        read(word).is_some_and(|said| said.dimension == unit.dimension && !said.is_same(unit))
    };
    // a unit and nothing else
    if read(text).is_some() {
        let named = NAMES.iter().any(|(of, name)| *of == kind.name && *name == text);
        // a cell that shows a percentage holds the share: `%` beside it says what is seen
        let silent = named || is_remark_word(text) || text == "in" || unit.symbol.is_empty();
        return (!silent && differs(text)).then(|| text.to_owned());
    }
    let digit = |it: char| it.is_ascii_digit();
    let words: Vec<&str> = text.split_whitespace().collect();
    let of_kind = words.iter().enumerate().find_map(|(at, raw)| {
        let before = at.checked_sub(1).and_then(|at| words.get(at)).copied().unwrap_or_default();
        let bare = raw.trim_matches([',', ';', ':', '.', '!', '=', '/']);
        let inside = bare.trim_matches(['(', ')', '[', ']']);
        let bracketed = bare.starts_with(['(', '[']) && bare.ends_with([')', ']']);
        let word = if read(bare).is_some() && !bracketed { bare } else { inside };
        let of_number = before.starts_with(digit)
            || words.get(at + 1).is_some_and(|next| next.starts_with(digit));
        let said_in = before.eq_ignore_ascii_case("in");
        let signed = word.contains(['·', '/', '²', '³']);
        let stated =
            said_in || raw.starts_with(['(', '[']) || before.ends_with([',', ';', ':', '=', '/']);
        let several = words.len() > 1 && words.len() <= FEW;
        let plain = word.chars().count() > 1
            && !is_remark_word(word)
            && !matches!(word, "in" | "bar" | "turn" | "turns" | "rev");
        let counts = !of_number && (stated || several || words.len() == 1 && signed);
        (counts && (said_in || plain) && differs(word)).then(|| word.to_owned())
    });
    if of_kind.is_some() {
        return of_kind;
    }
    // `T_0/(N·cm)`
    let label = label(text);
    // `above 0 r/min` is of that number
    let of_number = text.starts_with(digit) || label.name.ends_with(digit);
    let of_label = label.unit.filter(|it| !of_number && !is_remark_word(it) && differs(it));
    if of_label.is_some() {
        return of_label;
    }
    let words = text.split(|it: char| it.is_whitespace() || ",;:()[]=".contains(it));
    let words: Vec<&str> = words.filter(|word| !word.is_empty()).collect();
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

/// A quantity with its end behind it, the end first: `120 ms max`.
fn end_first(text: &str) -> Option<String> {
    let (before, end) = text.rsplit_once(' ')?;
    let is_end = matches!(end.trim_end_matches('.'), "max" | "min");
    // `4 min` is a time
    let of_unit = before.contains(' ') && before.ends_with(char::is_alphabetic);
    (is_end && of_unit && before.starts_with(|it: char| it.is_ascii_digit()))
        .then(|| format!("{end} {before}"))
}

/// Whether a text begins with a sign and a factor above one that is no whole number, or is one with the sign behind it.
fn is_above_one(text: &str) -> bool {
    let signs = ["×", "*", "x ", "X ", "mal ", "times "];
    let signed = signs.iter().find_map(|sign| Some((*sign, text.strip_prefix(sign)?)));
    let glued = || {
        let rest = text.strip_prefix(['x', 'X'])?;
        rest.starts_with(|it: char| it.is_ascii_digit()).then_some(("x", rest))
    };
    let (sign, rest) = signed.or_else(glued).unwrap_or(("", text));
    let rest = rest.trim_start();
    let (number, taken) = number(rest);
    let behind = rest.get(taken..).unwrap_or_default();
    let apart = |it: char| it.is_whitespace() || matches!(it, ')' | '!' | ',' | ';' | ':');
    let alone = behind.trim().trim_end_matches([')', '!', ' ']).is_empty();
    let mut after = behind.split_whitespace();
    let unit = after.next().is_some_and(|it| match it {
        // `× 1.5 in fault`
        "in" => after.next().is_none(),
        it => is_unit_text(it) || it.starts_with(['×', '*', '±']) || it == "x",
    });
    let stands = match sign {
        "" => matches!(behind.trim(), "×" | "*" | "x" | "mal" | "times"),
        // the mark of a footnote
        "*" => alone,
        _ => alone || behind.starts_with(apart) && !unit,
    };
    stands && number.is_some_and(|it| it > 1.0 && it.fract() != 0.0)
}

/// Lengths in their units beside which nothing is as short as one or two of these.
const LARGE: f64 = 20.0;

/// Whether a text is a factor below two with its sign before it: `× 1.25`.
fn is_below_two(text: &str) -> bool {
    let rest = text.trim_start_matches(|it: char| !it.is_ascii_digit());
    number(rest).0.is_some_and(|it| it < 2.0)
}

/// Beginnings of words that speak of a test or of too much load; common practice, no source.
const OF_TESTS: &[&str] = &["test", "proof", "overload", "prüf", "überlast"];

/// As [`OF_TESTS`], of a speed.
const OF_OVERSPEED: &[&str] = &["overspeed", "schleuder", "überdrehzahl"];

/// Words by which an owner takes a value back; common practice, no source.
const TAKEN_BACK: &[&str] = &[
    "wrong", "incorrect", "obsolete", "outdated", "superseded", "replaced by", "not valid",
    "invalid", "do not use", "not to be used", "old value", "no longer", "to be corrected",
    "use instead", "not correct", "not right", "typo", "not applicable", "to be measured",
    "to be confirmed", "to be clarified", "to be checked", "preliminary", "provisional",
    "placeholder", "guess", "guessed", "not measured", "not yet measured", "dummy", "estimated",
    "estimate", "not released", "not yet released", "discontinued",
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

/// The unit behind a figure among words, or in a column of units, as plates write it and as they are stamped.
pub(in crate::workbook) fn unit_said(kind: &'static Kind, text: &str) -> Option<Unit> {
    kind.unit_of_plate(text).or_else(|| kind.unit_as_stamped(text))
}

/// A unit among words: capitals without a sign may be a word, `RAD`, `LB`.
fn unit_of_words(kind: &'static Kind, text: &str) -> Option<Unit> {
    let signed = |it: &Unit| it.symbol.contains(['·', '/', '²', '³']);
    kind.unit_of_plate(text).or_else(|| kind.unit_as_stamped(text).filter(signed))
}

/// The unit that a remark is and nothing else: `kg·cm²`, `in N·cm`, `[rad/s]`, of a product also as plates write it:
/// `lb-in`, `Ncm`; none for letters that may name something.
pub(in crate::workbook) fn unit_alone(kind: &'static Kind, text: &str) -> Option<Unit> {
    let text = text.trim();
    let bare = text.strip_prefix("in ");
    let inner =
        |open, close| text.strip_prefix(open).and_then(|text: &str| text.strip_suffix(close));
    let unit = bare.or_else(|| inner('[', ']')).or_else(|| inner('(', ')')).unwrap_or(text).trim();
    // every text of every row of a product line comes by here
    let words = unit.split_whitespace().count() <= FEW && unit.len() <= LONGEST_UNIT;
    if !words || unit.contains(['0', '4', '5', '6', '7', '8', '9']) {
        return None;
    }
    let read = unit_said(kind, unit)?;
    let signed = unit.contains(['·', '/', '²', '³']) || read.symbol.contains(['·', '²', '³']);
    (bare.is_some() || signed).then_some(read)
}

/// That a row says another unit than that in which its value is read, and what to do about it.
pub(in crate::workbook) fn two_units(name: &str, own: &Unit, said: &Unit) -> (String, String) {
    (
        format!("`{name}` is read in {}, and its row says {}", own.symbol, said.symbol),
        format!("write the value in {}, and {} or nothing as its unit", own.symbol, own.symbol),
    )
}

fn remark_beside(name: &str, text: &str) -> String {
    format!("{name} is used, and the remark \"{}\" stands beside it", text.trim())
}

const BACK: &str = "make sure that what is used counts, and take the remark out";

/// What is said of a remark that takes a value back.
pub(in crate::workbook) fn taken_back(name: &str, text: &str, place: Place) -> Diagnostic {
    let caution = Diagnostic::caution(Name::TwoStatements, remark_beside(name, text)).at(place);
    caution.remedy(BACK)
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

    /// Common practice, no source: of several upper limits the least holds, of several lower limits the greatest.
    #[test]
    fn the_checks_of_the_library_say_which_of_several_limits_holds() {
        const UPPER: &[&str] =
            &["n_max", "E_max", "I_max", "p_max", "v_max", "t_ramp_high", "t_delay_high", "e_max"];
        let mut seen = std::collections::BTreeSet::new();
        for sheet in crate::library::SHEETS {
            let sheet = crate::Sheet::library(sheet.name).unwrap();
            let program = sheet.program();
            for input in &program.inputs {
                let found = end_of_limit(program, input).map(|it| it.0);
                let expected = match input.name.as_str() {
                    "R_min" | "R_drive" => Some(End::Greatest),
                    name if UPPER.contains(&name) => Some(End::Least),
                    // what is measured or known is no limit
                    "T_b" | "T_f" | "J" | "n_0" | "t_resp" | "t_build" => None,
                    _ => continue,
                };
                assert_eq!(found, expected, "{} {}", program.scopes[0].sheet, input.name);
                seen.insert(input.name.as_str().to_owned());
            }
        }
        assert!(UPPER.iter().all(|name| seen.contains(*name)), "{seen:?}");
    }
}
