//! What the words about a value say of it: another quantity of four times or twice its size, a factor, another unit, another
//! of several, or that it does not count.
//!
//! A symbol is bound by its name, and its owner's words stand beside it: `GD² of the motor` beside a cell that is read as
//! the inertia is a mistake of a factor of four that no other check sees. Wherever words stand, they are read here.

use super::change::{Changed, is_open_change};
use super::diameters::{
    DIAMETERS, HALF, OF_DIAMETER, RADII, halves, measured, measures, symbol_of_length,
    symbols_among,
};
use super::factor::is_factor;
use super::figures::{
    Figure, counts_pieces, interval, is_interval, leaves_out, restates_by_power, states_other,
};
use super::flywheels::{flywheel, is_flywheel, is_of_inertia, names_flywheel};
use super::label::{is_remark_word, label};
use super::pieces::{PIECES, SEVERAL};
use super::reckoned::{Against, Reckoned, flywheel_name, number, reckoned};
use super::taken_back::{BACK, remark_beside, takes_back};
use super::unit_words::{
    FEW, NOT_ALONE, another_unit, near, read_in, states_again, unit_of_words, unit_said,
};
use super::which_end::{
    ENDS, NOMINAL, end_measured, end_of_limit, is_limit, lines_spoken, note_of,
};
use super::words::{WITHIN, is_made, is_open_share, words};
use crate::calculation::{has_tolerance, is_tolerance, written};
use crate::diagnostic::{Diagnostic, Name, Place, Severity};
use crate::program::{Input, Program, Type};
use crate::spreadsheet::ends::End;
use crate::unit::{Literal, Unit, is_unit as is_unit_text, parse_unit, split_quantity};

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

/// Words of which those of one line mean the same and those of two lines of a group do not: where a value is taken, which
/// of several, and which way.
const SENSES: &[&[&[&str]]] = &[
    &[&["motor"], &["drum", "load", "machine", "wheel", "pulley", "roller", "spindle", "output"]],
    ENDS,
    &[&["inner", "inside"], &["outer", "outside"]],
    &[&["motor drives", "forward"], &["driven back", "backward", "backwards"]],
];

/// Words behind which stands to where a value is brought.
const BROUGHT: &[&str] =
    &["brought", "referred", "reflected", "converted", "reduced", "related", "seen"];

/// Whether a text turns a quotient of the note round: `load speed over motor speed` of `motor speed over load speed`.
fn is_turned(text: &str, note: &str) -> bool {
    let (text, note) = (words(text).join(" "), words(note).join(" "));
    note.split_once(" over ").is_some_and(|(above, below)| {
        text.contains(&format!("{below} over {above}")) && !text.contains(note.as_str())
    })
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

    /// A caution of these words, with what to do about it.
    pub(in crate::workbook) fn caution((words, remedy): (String, String)) -> Self {
        Self { severity: Severity::Caution, words, remedy }
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
        if text.is_empty() || self.is_named(text) {
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
        if self.figure(|figure| restates_by_power(text, figure)) == Some(true) {
            return None;
        }
        // `10 stops per minute` of the time between two stops
        if let Some(said) = self.interval_said(text) {
            return said;
        }
        let against = self.another_quantity(bare).or_else(|| self.factor(bare));
        // `28 N·m − 20 %` may be a tolerance, and `5 % not included` of something else
        let margin = text.contains('%') && text.contains(['-', '−', '–']) && !text.contains('=')
            || is_open_share(text);
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
            let sense = || sense().or_else(|| self.of_one(bare));
            let above = || self.factor_above_one(bare);
            let change = || {
                let open = self.is_open_change(bare) || bare != text && self.is_open_change(text);
                open.then(|| self.unchanged(text, "beside"))
            };
            let other = || {
                self.unit_of_another(bare)
                    .or_else(|| self.of_pieces(bare))
                    .or_else(|| self.another_value(bare))
            };
            let told = back.or_else(sense).or_else(above).or_else(change).or_else(other);
            told.map(|it| (Severity::Caution, it))
        };
        let (severity, (words, remedy)) = against.or_else(doubt)?;
        Some(Said { severity, words, remedy })
    }

    /// Whether a text is of the sheet, or a word that another input chooses, as may stand above.
    pub(super) fn is_named(&self, text: &str) -> bool {
        let chosen =
            |it: &Input| matches!(&it.type_, Type::Choice(all) if all.iter().any(|it| it == text));
        self.is_of_sheet(text) || self.program.inputs.iter().any(chosen)
    }

    /// Whether words that bear figures are read to their end: a unit, a value with a power of ten, a time between two.
    pub(super) fn is_read(&self, text: &str) -> bool {
        let is_unit = || self.input.kind.is_some_and(|kind| unit_of_words(kind, text).is_some());
        self.is_named(text)
            || is_unit()
            || self.is_of_test(text)
            || self.figure(|figure| restates_by_power(text, figure)) == Some(true)
            || self.interval_said(text).is_some()
    }

    /// The value as it is, of which a change may be asked.
    pub(super) fn changed(&self) -> Option<Changed<'_>> {
        let kind = self.input.kind.filter(|_| self.as_it_is)?;
        let held = self.value.filter(|it| it.unit.zero.is_zero()).map(Literal::si_f64);
        Some(Changed { name: self.input.name.as_str(), kind, unit: self.unit, held })
    }

    /// What words are to be held against, and what they must not name.
    pub(super) fn figure<T>(&self, look: impl FnOnce(Figure<'_>) -> T) -> Option<T> {
        let of = self.changed()?;
        let (input, kind) = (self.input, of.kind);
        let end = end_measured(input).or_else(|| end_of_limit(self.program, input));
        let others = self.program.inputs.iter().filter(|it| it.name != input.name);
        let others = others.filter(|it| it.kind.is_some_and(|it| it.name == kind.name));
        let mut own = words(&input.note);
        own.extend(words(kind.name));
        let distinct = |it: &String| {
            let end = ENDS.iter().any(|line| line.contains(&it.as_str()));
            it.chars().count() > 3 && !own.contains(it) && !JOINING.contains(&it.as_str()) && !end
        };
        let named = others.flat_map(|it| {
            let note = words(&it.note).into_iter().filter(distinct);
            note.chain([it.name.to_lowercase()])
        });
        let named: Vec<String> = named.collect();
        let of_another = |said: &[String]| said.iter().any(|it| named.contains(it));
        Some(look(Figure {
            of,
            input,
            end: end.map(|it| it.0),
            is_limit: is_limit(input),
            of_another: &of_another,
        }))
    }

    /// Another value of the kind among words, which none of the rules before has seen.
    fn another_value(&self, text: &str) -> Option<(String, String)> {
        if self.reckoned(text, false) == Reckoned::Result
            || is_tolerance(text)
            || has_tolerance(text)
            || is_made(text, WITHIN)
            || is_flywheel(text) && self.states_times(text, 4.0)
            || self.is_of_test(text)
        {
            return None;
        }
        let other = self.figure(|figure| states_other(text, figure))?;
        other.then(|| self.two_values(text))?
    }

    /// That a value and what words say of it are two, with what to do about it.
    fn two_values(&self, text: &str) -> Option<(String, String)> {
        let held = written(self.value?);
        Some((
            format!("`{}` is {held}, and \"{text}\" stands beside it", self.input.name),
            "make sure which of the two figures counts; write it as the value, and take the other out of the words"
                .to_owned(),
        ))
    }

    /// What is said of the time from one to the next by words that give their number in a time; that it says nothing where
    /// both are the same.
    fn interval_said(&self, text: &str) -> Option<Option<Said>> {
        let held = self.value.filter(|_| self.as_it_is && is_interval(self.input))?.si_f64();
        let said = interval(text)?;
        let harmless = match end_measured(self.input) {
            Some((End::Greatest, _)) => said < held,
            Some(_) => said > held,
            None => false,
        };
        let silent = harmless || (said - held).abs() <= 0.01 * held;
        Some((!silent).then(|| self.two_values(text).map(Said::caution)).flatten())
    }

    /// Words that count pieces of which the value may be one, or leave a part of it out.
    fn of_pieces(&self, text: &str) -> Option<(String, String)> {
        if self.reckoned(text, false) == Reckoned::Result || is_made(text, WITHIN) {
            return None;
        }
        let own = words(&self.input.note);
        let told = self.figure(|figure| {
            counts_pieces(text, figure, PIECES)
                && !own.iter().any(|it| OF_PIECES.contains(&it.as_str()))
                || leaves_out(text, figure, PIECES)
        })?;
        told.then(|| self.of_several(text))
    }

    fn of_several(&self, text: &str) -> (String, String) {
        (
            format!(
                "\"{text}\" stands beside `{}`, of which the sheet says \"{}\"",
                self.input.name, self.input.note
            ),
            SEVERAL.to_owned(),
        )
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
        let symbols = symbols_among(text).filter(|it| self.states_once_more_bare(&it.2));
        said.extend(symbols.map(|it| it.1.to_owned()));
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

    /// A factor above one and nothing before it: `× 1.25`, `J × 1.1`, `x2`. Of lengths it may be a size.
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

    /// Whether words tell a person to change the value: `20 % ab`, `deduct 4 N·m`, `half`.
    pub(in crate::workbook) fn is_open_change(&self, text: &str) -> bool {
        let held = self.value.filter(|it| it.unit.zero.is_zero()).map(Literal::si_f64);
        let (name, unit) = (self.input.name.as_str(), self.unit);
        let open = |kind| is_open_change(text, Changed { name, kind, unit, held });
        self.as_it_is
            && self.input.kind.is_some_and(open)
            && self.reckoned(text, false) != Reckoned::Result
    }

    /// That what is said of a value is not reckoned, with what to do about it.
    pub(in crate::workbook) fn not_applied(&self, text: &str, stands: &str) -> (String, String) {
        let name = &self.input.name;
        (
            format!("\"{text}\" stands {stands} `{name}`, and a factor is not applied to it"),
            format!(
                "write the value itself{}, with the factor in it, and take the factor out of the words",
                self.in_own_unit()
            ),
        )
    }

    /// That no words change a value, with what to do about it.
    pub(in crate::workbook) fn unchanged(&self, text: &str, stands: &str) -> (String, String) {
        let name = &self.input.name;
        (
            format!("\"{text}\" stands {stands} `{name}`, and words do not change a value"),
            format!(
                "if that is in the value, say so: `{text}, included`; if not, write the value itself{}, with the change in it, and take the change out of the words",
                self.in_own_unit()
            ),
        )
    }

    /// In which unit the value is to be written: that of its cell; a pure number in none.
    fn in_own_unit(&self) -> String {
        match self.unit.map(|it| it.typed.as_ref().unwrap_or(&it.symbol)) {
            None => " in the unit that is stated for it".to_owned(),
            Some(symbol) if symbol.is_empty() => String::new(),
            Some(symbol) => format!(" in `{symbol}`"),
        }
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
        Some((
            format!(
                "`{}` is read {}, and the words \"{text}\" beside it say {said}",
                self.input.name,
                read_in(unit)
            ),
            match unit.symbol.as_str() {
                "" => {
                    format!("write the value as a plain number, and take {said} out of the words")
                }
                own => format!("write the value in {own}, and {own} or nothing into the words"),
            },
        ))
    }

    /// A unit of another kind and nothing else: `Hz`, `in Hz` beside a speed in r/min.
    fn unit_of_another(&self, text: &str) -> Option<(String, String)> {
        let (kind, own) = (self.input.kind.filter(|_| self.as_it_is)?, self.unit?);
        let said = text.trim_end_matches(['!', '?', '.']);
        let said = said.strip_prefix("in ").unwrap_or(said).trim();
        let word = said.to_lowercase();
        let is_word = is_remark_word(said) || NOT_ALONE.contains(&word.as_str());
        let other = said.chars().count() > 1
            && !is_word
            && kind.read_plate(said).is_err()
            && parse_unit(said).is_ok_and(|it| it.dimension != own.dimension);
        // it may be that of another input
        let frequency = kind.name == "speed of rotation" && said.contains("Hz");
        let named = || {
            self.program.inputs.iter().any(|it| {
                let reads = || it.kind.is_some_and(|kind| kind.read_plate(said).is_ok());
                it.name == said || !frequency && reads()
            })
        };
        (other && !own.symbol.is_empty() && !named()).then(|| {
            (
                format!(
                    "`{}` is read in {}, and \"{text}\" stands beside it",
                    self.input.name, own.symbol
                ),
                format!("write the value in {}, and take that unit out of the words", own.symbol),
            )
        })
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
        if self.is_measured_otherwise(text) || self.has_another_sign(text) {
            return true;
        }
        let said = text.rsplit([':', '=', '\n']).next().unwrap_or(text).trim();
        let known = |word: &&str| BEFORE.contains(&word.to_lowercase().as_str());
        // `18 N·m when worn`: of the least that is another value, and `28 N·m when new` is none
        let under = words(said).iter().any(|it| UNDER.contains(&it.as_str()));
        let said = said.trim_end_matches('!');
        let alone = without_end(said);
        let said = alone.as_str();
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
        let said = match unit {
            "" => self.unit.cloned(),
            unit => self.input.kind.and_then(|kind| unit_said(kind, unit)),
        };
        let Some(unit) = said else { return false };
        let (said, held_si) = (unit.to_si(digits, ten), held.si_f64());
        let of_end = match under {
            true => of_end.map(|it| it.0).or_else(|| end_measured(self.input).map(|it| it.0)),
            false => of_end.map(|it| it.0),
        };
        let beyond = match of_end {
            Some(End::Greatest) => said > held_si,
            Some(_) => said < held_si,
            None => true,
        };
        unit.zero == held.unit.zero && beyond && !near(said, held_si)
    }

    /// Whether words state the input's own measure by its symbol with another figure: `R 310`, `drum R 310` beside the drum's
    /// radius of 62 mm; of another part it is that one's.
    fn is_measured_otherwise(&self, text: &str) -> bool {
        let kind = self.input.kind.map_or("", |kind| kind.name);
        let mut own = words(&self.input.note);
        own.extend(words(kind));
        let of_own = |before: &str| words(before).iter().all(|it| own.contains(it));
        matches!(kind, "radius" | "diameter")
            && symbols_among(text).any(|(before, what, figure)| {
                what == kind && of_own(before) && !self.states_once_more_bare(&figure)
            })
    }

    /// Whether a text tells a person to take another value: `take 18 N·m`, `→ 18 N·m`, `ramp shortened to 0.3 s`.
    pub(in crate::workbook) fn asks_for_another(&self, text: &str) -> bool {
        let first = text.split_whitespace().next().unwrap_or_default().to_lowercase();
        let said = words(text);
        let changed = said
            .windows(2)
            .any(|pair| matches!(pair, [it, to] if it.ends_with("ed") && to == "to"));
        ASKING.contains(&first.as_str()) && self.states_another(text)
            || changed && self.another_value(text).is_some()
    }

    /// Whether a text says nothing but which sign the value has, and it has the other.
    fn has_another_sign(&self, text: &str) -> bool {
        let held = self.value.map_or(0.0, Literal::si_f64);
        match words(text).as_slice() {
            [word] if word == "negative" => held > 0.0,
            [word] if word == "positive" => held < 0.0,
            _ => false,
        }
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
        let of_sheet = note_of(input);
        let (mut said, mut note) = (words(&bare), words(&of_sheet));
        note.extend(words(&input.name));
        if !self.as_it_is {
            return None;
        }
        if !is_nominal(input, &said) {
            said.retain(|word| word != NOMINAL);
        } else {
            said.push(NOMINAL.to_owned());
        }
        // `load inertia referred to the motor`: where it is taken stands behind
        let places = SENSES.first().copied().unwrap_or_default();
        let brought = said.iter().position(|it| BROUGHT.contains(&it.as_str()));
        if let Some(behind) = brought.and_then(|at| said.get(at..))
            && !lines_spoken(places, behind).is_empty()
        {
            said = behind.to_vec();
        }
        if is_turned(text, &input.note) {
            return Some((
                format!(
                    "\"{text}\" stands beside `{}`, of which the sheet says \"{}\": the other way round",
                    input.name, input.note
                ),
                "write one divided by it, or correct the words".to_owned(),
            ));
        }
        // of times the slowest is the longest
        if input.kind.is_some_and(|it| it.name == "time") {
            for word in &mut said {
                match word.as_str() {
                    "slowest" => "longest".clone_into(word),
                    "quickest" | "fastest" => "shortest".clone_into(word),
                    _ => {}
                }
            }
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
                        "\"{text}\" stands beside `{}`, of which the sheet says \"{of_sheet}\"",
                        input.name
                    ),
                    format!(
                        "make sure that it is the value of the {own} one; if so, say that in the words beside it"
                    ),
                )),
                _ => None,
            }
        })
    }

    /// Words that say of a value that it is that of one of several, or of several together, where the sheet's own do not.
    fn of_one(&self, text: &str) -> Option<(String, String)> {
        let own = words(&self.input.note);
        let said = words(text);
        let said: Vec<&str> = said.iter().map(String::as_str).collect();
        let counted = |it: &&str| PIECES.contains(it);
        let one = match said.as_slice() {
            [.., "each" | "apiece"] => true,
            ["per" | "je" | "pro", piece, ..]
            | ["each" | "one", piece]
            | ["one", piece, "only"] => counted(piece),
            ["one", "of", ..] => said.len() == 3,
            ["both", "together"] | ["all", "together"] => true,
            ["both" | "all", piece, "together"] => counted(piece),
            _ => false,
        };
        let spoken = own.iter().any(|it| OF_PIECES.contains(&it.as_str()));
        (one && self.as_it_is && !spoken).then(|| self.of_several(text))
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

/// Words by which a sheet says of how many a value is.
const OF_PIECES: &[&str] = &["each", "per", "one", "single", "all", "together", "sum"];

/// Words between others that say nothing of a value.
const JOINING: &[&str] = &[
    "the", "and", "for", "from", "with", "that", "this", "its", "are", "was", "per", "all", "one",
];

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
    factor.then(|| of_row(text))
}

fn of_row(text: &str) -> (String, String) {
    (
        format!("\"{text}\" stands in the row, and a factor is not applied to its values"),
        "write the values themselves, with the factor in them, and take it out of the words"
            .to_owned(),
    )
}

/// What is said of a factor above one with its sign before it in such a row: `×2`. It may count pieces.
pub(in crate::workbook) fn above_one_alone(text: &str) -> Option<Said> {
    let signed = text.starts_with(['×', 'x', 'X']) && is_above_one(text);
    signed.then(|| Said::caution(of_row(text)))
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

/// A quantity with its end behind it, the end first: `120 ms max`.
fn end_first(text: &str) -> Option<String> {
    let (before, end) = text.rsplit_once(' ')?;
    let is_end = matches!(end.trim_end_matches('.'), "max" | "min");
    // `4 min` is a time
    let of_unit = before.contains(' ') && before.ends_with(char::is_alphabetic);
    (is_end && of_unit && before.starts_with(|it: char| it.is_ascii_digit()))
        .then(|| format!("{end} {before}"))
}

/// Whether a text begins with a sign and a factor above one, or is one with the sign behind it.
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
    // a whole number alone may be one of pieces, of which the value is one or all
    let mark = matches!(behind.trim(), "×" | "x" | "X");
    let whole = match sign {
        "*" => false,
        "" => mark,
        _ => alone || behind.trim_start().starts_with('('),
    };
    stands && number.is_some_and(|it| it > 1.0 && (whole || it.fract() != 0.0))
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

/// Words before a value in a note; common practice, no source.
const BEFORE: &[&str] = &[
    "new", "now", "is", "measured", "correct", "actual", "value", "really", "should", "be", "take",
    "use", "set", "enter", "write", "put", "change", "to", "better", "rather", "instead", "it",
    "changed", "drops", "falls", "rises", "goes", "corrected", "→", "->", "=>",
];

/// Those of them that ask for it.
const ASKING: &[&str] = &[
    "take", "use", "set", "enter", "write", "put", "change", "changed", "corrected", "→", "->",
    "=>",
];

/// Words that say under what a value is another one; common practice, no source.
const UNDER: &[&str] =
    &["when", "hot", "cold", "warm", "worn", "wet", "dry", "heiß", "kalt", "warm", "verschlissen"];

/// A quantity without the words behind it that say when it holds: `18 N·m` of `18 N·m when worn`; and without those before
/// it.
fn without_end(text: &str) -> String {
    let said = |it: &&str| {
        let word = it.trim_matches(|it: char| !it.is_alphanumeric()).to_lowercase();
        UNDER.contains(&word.as_str())
            || matches!(word.as_str(), "new" | "now" | "instead" | "only" | "really" | "actually")
    };
    let words: Vec<&str> = text.split_whitespace().skip_while(said).collect();
    let ends = words.iter().rev().take_while(|it| said(it)).count();
    words.get(..words.len() - ends).unwrap_or_default().join(" ")
}
