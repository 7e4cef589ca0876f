//! Units as rating plates and sheets of data write them: `Nm`, `kgm2`, `RPM`, `min-1`, `sec`.
//!
//! Calculation sheets keep the strict notation; a value that comes from a person is read so too, where it can mean one
//! thing only for the kind that is asked for. What may mean two things is asked, never chosen.

use std::collections::BTreeMap;

use super::catalogue::{atom, catalogue};
use super::kinds::KINDS;
use super::{Kind, Unit, UnitProblem, parse_unit};

/// Symbols of plates and the strict notation of each, the case of letters kept: `mNm` and `MNm` are a thousand million
/// apart. What the trade uses for two units is not in it: HP, psig, kcal, ton, g, mpm.
#[rustfmt::skip]
const SYMBOLS: &[(&str, &str)] = &[
    // rotation
    ("RPM", "r/min"), ("Rpm", "r/min"), ("r.p.m.", "r/min"), ("upm", "r/min"), ("Upm", "r/min"), ("UPM", "r/min"),
    ("U", "r"), ("tr", "r"), ("turn", "r"), ("turns", "r"), ("revs", "r"), ("rps", "r/s"), ("RPS", "r/s"),
    ("degs", "°"), ("degree", "°"), ("degrees", "°"),
    // time
    ("sec", "s"), ("Sec", "s"), ("SEC", "s"), ("secs", "s"), ("sek", "s"), ("Sek", "s"), ("msec", "ms"), ("mins", "min"),
    ("hr", "h"), ("hrs", "h"), ("Hr", "h"), ("Hrs", "h"), ("HRS", "h"),
    // length, area, volume, mass
    ("mtr", "m"), ("meter", "m"), ("inches", "in"), ("feet", "ft"), ("\"", "in"), ("micron", "µm"), ("microns", "µm"),
    ("sqm", "m²"), ("sqmm", "mm²"), ("cc", "cm³"), ("ccm", "cm³"), ("lbs", "lb"), ("Lbs", "lb"), ("LBS", "lb"),
    ("KG", "kg"), ("Kg", "kg"), ("kgs", "kg"), ("Kgs", "kg"), ("KGS", "kg"),
    // speed
    ("kph", "km/h"), ("KPH", "km/h"), ("kmh", "km/h"), ("kmph", "km/h"), ("MPH", "mile/h"), ("fpm", "ft/min"),
    ("FPM", "ft/min"), ("fps", "ft/s"), ("ipm", "in/min"), ("IPM", "in/min"), ("ips", "in/s"), ("mps", "m/s"),
    // force, torque, pressure, power, energy
    ("KN", "kN"), ("NM", "N·m"), ("KPa", "kPa"), ("kpa", "kPa"), ("BAR", "bar"), ("Bar", "bar"), ("PSI", "psi"),
    ("Psi", "psi"), ("KW", "kW"), ("Kw", "kW"), ("kw", "kW"), ("PS", "hp_M"), ("CV", "hp_M"), ("KJ", "kJ"), ("kj", "kJ"),
    // electricity
    ("VDC", "V"), ("Vdc", "V"), ("VAC", "V"), ("Vac", "V"), ("KV", "kV"), ("kv", "kV"), ("amp", "A"), ("amps", "A"),
    ("Amp", "A"), ("Amps", "A"), ("Ohms", "Ω"), ("ohms", "Ω"), ("OHM", "Ω"), ("OHMS", "Ω"), ("KOhm", "kΩ"), ("Kohm", "kΩ"),
    ("hz", "Hz"), ("HZ", "Hz"), ("khz", "kHz"), ("KHz", "kHz"),
    // temperature, parts
    ("deg C", "°C"), ("deg F", "°F"), ("° C", "°C"), ("° F", "°F"), ("º C", "°C"), ("ºC", "°C"), ("ºF", "°F"), ("℃", "°C"),
    ("℉", "°F"), ("celsius", "°C"), ("Celsius", "°C"), ("fahrenheit", "°F"), ("Fahrenheit", "°F"), ("°K", "K"), ("degK", "K"),
    ("pct", "%"), ("percent", "%"), ("per cent", "%"),
];

/// Run together on plates, with a prefix or a force that is none among others.
const STAMPED: &[(&str, &str)] = &[
    ("daNm", "daN·m"),
    ("DANM", "daN·m"),
    ("kgm", "kgf·m"),
    ("KGM", "kgf·m"),
    ("mkg", "kgf·m"),
    ("MKG", "kgf·m"),
    ("kpcm", "kgf·cm"),
    ("KPCM", "kgf·cm"),
    ("cmkp", "kgf·cm"),
    ("cmkg", "kgf·cm"),
    ("kgcm", "kgf·cm"),
    ("KGCM", "kgf·cm"),
];

/// How a keyboard and a plate write the letters and the product of a unit; [`Kind::read_plate`] says which of them
/// mean it. A torque's pound is a force, and a product is turned round: `ft-lb`.
fn as_typed(unit: &str) -> Vec<String> {
    let mut all = vec![unit.to_owned()];
    for (from, to) in [
        ("lbf", "lb"),
        ("lb", "lbs"),
        ("µ", "u"),
        ("Ω", "ohm"),
        ("Ω", "Ohm"),
        ("°", "deg"),
        ("in", "inch"),
        ("V", "volts"),
    ] {
        let more: Vec<String> =
            all.iter().filter(|it| it.contains(from)).map(|it| it.replace(from, to)).collect();
        all.extend(more);
    }
    let turned: Vec<String> = all
        .iter()
        .filter_map(|it| it.split_once('·'))
        .map(|(one, other)| format!("{other}·{one}"))
        .collect();
    all.extend(turned);
    let joined: Vec<String> = all.iter().map(|it| it.replace('·', "-")).collect();
    all.extend(joined);
    all
}

/// What a turn per minute looks like where the plate leaves the turn out.
const PER_MINUTE: &[&str] = &["1/min", "min⁻¹"];
const ROTATION: &str = "speed of rotation";

/// Symbols that are right in their letters and a slip of the prefix on every plate and sheet of data: a million or
/// a thousand million times what is meant. In calculation sheets they keep their meaning.
const SLIPS: &[(&str, &str, &str)] = &[
    ("MA", "current", "mA"),
    ("MF", "capacitance", "mF or µF"),
    ("Mm", "length", "mm"),
    ("Ms", "time", "ms"),
    ("Grad", "angle", "°"),
];

/// SI prefixes as words.
const PREFIXES: &[(&str, &str)] =
    &[("kilo", "k"), ("mega", "M"), ("centi", "c"), ("milli", "m"), ("micro", "µ")];

/// Prefixes of symbols that plates run together with others.
const USUAL: &[&str] = &["k", "M", "c", "m", "µ", "u", "\u{3bc}"];

/// Kinds on whose plates the kind of current stands behind the unit.
const OF_CURRENT: &[&str] = &["voltage", "current"];

/// Longest text that is looked at, and most readings that are tried.
const LONGEST: usize = 40;
const MOST: usize = 256;

/// Symbols of plates that stand for one of the catalogue, and slips of a prefix, for a reader that has tables alone.
pub(crate) fn symbols_of_plates() -> (Vec<(&'static str, &'static str)>, Vec<&'static str>) {
    let one = |(_, strict): &&(&str, &str)| atom(strict).is_some() && !strict.contains('/');
    (
        SYMBOLS.iter().filter(one).copied().collect(),
        SLIPS.iter().map(|(typed, ..)| *typed).collect(),
    )
}

/// The prefixes with their powers of ten, and which of them are run together with others.
pub(crate) fn prefixes() -> Vec<(&'static str, i32, bool)> {
    let all = super::entries::PREFIXES.iter().copied();
    let micro = [("u", -6), ("\u{3bc}", -6)];
    all.chain(micro).map(|(prefix, ten)| (prefix, ten, USUAL.contains(&prefix))).collect()
}

impl Kind {
    /// Reads a unit of this kind as [`Self::read_unit`] does, and else as rating plates and sheets of data write it,
    /// where that can mean one thing only for this kind. The text is then kept in [`Unit::typed`], to be reported.
    ///
    /// # Errors
    /// As [`Self::read_unit`]; also where a plate's notation may mean two units of the kind.
    ///
    /// # Source
    /// The notations are common practice, no source; their units are those of the catalogue.
    ///
    /// # Example
    /// ```
    /// use standstill::unit::kind;
    /// let torque = kind("torque").unwrap();
    /// let unit = torque.read_plate("Nm").unwrap();
    /// assert_eq!((unit.symbol.as_str(), unit.typed.as_deref()), ("N·m", Some("Nm")));
    /// assert_eq!(torque.read_plate("N·m").unwrap().typed, None);
    /// // a torque is not an energy, however it is written
    /// assert!(kind("energy").unwrap().read_plate("Nm").is_err());
    /// // mN·m or MN·m?
    /// assert!(torque.read_plate("MNM").is_err());
    /// ```
    pub fn read_plate(&'static self, text: &str) -> Result<Unit, UnitProblem> {
        if let Some(problem) = self.slip(text) {
            return Err(problem);
        }
        match self.unit_of_plate(text) {
            Some(unit) => Ok(unit),
            // says why not
            None => self.read_unit(text).map_err(|problem| match problem.certain {
                true => problem,
                false => self.plate_of_another(text).unwrap_or(problem),
            }),
        }
    }

    /// What is wrong with a text that plates write for a unit of another kind.
    fn plate_of_another(&'static self, text: &str) -> Option<UnitProblem> {
        let symbol = super::KINDS
            .iter()
            .find_map(|kind| kind.unit_of_plate(text).filter(|unit| unit.typed.is_some()))?
            .symbol;
        let problem = self.read_unit(&symbol).err()?;
        let headline = problem.headline.replacen(
            &format!("`{symbol}` is"),
            &format!("`{text}` is {symbol},"),
            1,
        );
        Some(UnitProblem { span: 0..text.len(), found: text.to_owned(), headline, ..problem })
    }

    /// As [`Self::read_plate`], without a word about what is wrong otherwise.
    #[must_use]
    pub fn unit_of_plate(&self, text: &str) -> Option<Unit> {
        if self.slip(text).is_some() {
            return None;
        }
        if let Some(unit) = self.unit_written(text) {
            return Some(unit);
        }
        let found = self.among(&readings(text)).or_else(|| self.unit_of_current(text))?;
        Some(Unit { typed: Some(text.to_owned()), ..found })
    }

    /// The unit before the kind of current: `V DC`, `A d.c.`, `kV~`; letters are common practice, no source, the signs are
    /// those of IEC 60417.
    fn unit_of_current(&self, text: &str) -> Option<Unit> {
        let bare = without_current(text.trim()).filter(|_| OF_CURRENT.contains(&self.name))?;
        let readings: Vec<String> = readings(bare).into_iter().chain([bare.to_owned()]).collect();
        self.among(&readings).filter(|_| self.slip(bare).is_none())
    }

    /// Reads a unit as it is stamped, all letters capitals: `LB-IN`, `RAD/S`, `KGCM²`; or with a prefix or a force that
    /// plates run together with others and a value may not: `daNm`, `kgm`. For what is said beside a value, never for the
    /// value itself. One letter alone is never guessed, `MIN` is the least, and of `MNM` nobody knows the prefix.
    pub(crate) fn unit_as_stamped(&self, text: &str) -> Option<Unit> {
        let text = text.trim();
        if self.slip(text).is_some() || text.len() > LONGEST {
            return None;
        }
        if let Some((_, strict)) = STAMPED.iter().find(|(typed, _)| *typed == text) {
            return Some(Unit { typed: Some(text.to_owned()), ..self.unit_written(strict)? });
        }
        let letters = text.chars().filter(|it| it.is_alphabetic());
        if text == "MIN" || letters.clone().count() < 2 || letters.clone().any(char::is_lowercase) {
            return None;
        }
        let lower = text.to_lowercase();
        let mut meant = vec![lower.replace('n', "N"), lower];
        // a million may be meant, but not of millimetres or milliseconds
        if text.starts_with('M') && !["MM", "MS"].iter().any(|it| text.starts_with(it)) {
            let large = meant.iter().filter_map(|it| Some(format!("M{}", it.strip_prefix('m')?)));
            let large: Vec<String> = large.collect();
            meant.extend(large);
        }
        let strict = meant.iter().flat_map(|it| readings(it));
        let all: Vec<String> = meant.iter().cloned().chain(strict).collect();
        Some(Unit { typed: Some(text.to_owned()), ..self.among(&all)? })
    }

    /// How the offered units of this kind may be typed, for a page that has this list alone: [`folded`] texts that
    /// [`Self::read_plate`] reads as one of them, with the symbol of that one.
    #[must_use]
    pub(crate) fn spellings(&'static self) -> BTreeMap<String, &'static str> {
        let units = self.units.iter().chain(self.dimension.is_none().then_some(&"%"));
        let units = units.filter_map(|text| Some((*text, self.read_unit(text).ok()?)));
        let units: Vec<(&str, Unit)> = units.collect();
        let offered = units.iter().map(|(text, _)| *text);
        let known = offered.clone().chain(SYMBOLS.iter().map(|(typed, _)| *typed));
        let known = known.chain(catalogue().iter().map(|entry| entry.symbol));
        let known =
            known.chain(PER_MINUTE.iter().copied()).chain(["rpm", "U/min", "tr/min", "rev/min"]);
        let known: Vec<String> =
            known.map(str::to_owned).chain(offered.flat_map(as_typed)).collect();
        let joined = known.iter().map(|text| folded(text).replace('·', ""));
        let mut found = BTreeMap::new();
        for text in known.iter().cloned().chain(joined) {
            let Some(unit) = self.unit_of_plate(&text) else { continue };
            let same = units.iter().find(|(_, offered)| offered.is_same(&unit));
            found.extend(same.map(|(symbol, _)| (folded(&text), *symbol)));
        }
        found
    }

    /// What is wrong with a symbol whose prefix nobody means.
    fn slip(&self, text: &str) -> Option<UnitProblem> {
        let text = text.trim();
        if let Some(unit) = wrapped(text)
            && self.unit_written(unit).is_some()
        {
            return Some(UnitProblem {
                reason: super::UnitReason::Unknown,
                span: 0..text.len(),
                found: text.to_owned(),
                nearest: vec![unit.to_owned()],
                remedy: format!("write {unit}"),
                headline: format!("`{text}` is a unit with more around it"),
                certain: true,
            });
        }
        let (_, _, meant) =
            SLIPS.iter().find(|(typed, kind, _)| *typed == text && *kind == self.name)?;
        Some(UnitProblem {
            reason: super::UnitReason::Unknown,
            span: 0..text.len(),
            found: text.to_owned(),
            nearest: meant.split(" or ").map(str::to_owned).collect(),
            remedy: format!("write {meant}"),
            certain: !meant.contains(" or "),
            headline: format!("`{text}` is a prefix of a million or more: a slip for {meant}"),
        })
    }

    /// The one unit of this kind among some readings.
    fn among(&self, readings: &[String]) -> Option<Unit> {
        let mut found: Option<Unit> = None;
        for reading in readings {
            let reading = match PER_MINUTE.contains(&reading.as_str()) && self.name == ROTATION {
                true => "r/min",
                false => reading,
            };
            // a pure number is never made of several: %% is a slip
            if self.dimension.is_none() && reading.contains(['·', '/']) {
                continue;
            }
            let Some(unit) = self.unit_written(reading) else { continue };
            if found.as_ref().is_some_and(|found| !found.is_same(&unit)) {
                return None;
            }
            found.get_or_insert(unit);
        }
        found
    }
}

/// A unit with one sign for a product and its powers as digits: `kg m^2`, `kg*m²` and `kg.m2` are `kg·m2`.
fn folded(text: &str) -> String {
    let mut to = String::new();
    for sign in text.trim().chars() {
        match sign {
            '·' | '⋅' | '∙' | '*' | '×' | '.' => {
                to = format!("{}·", to.trim_end_matches('·'))
            }
            sign if sign.is_whitespace() && to.ends_with('·') => {}
            sign if sign.is_whitespace() => to.push('·'),
            '^' => {}
            '⁻' | '−' => to.push('-'),
            '¹' => to.push('1'),
            '²' => to.push('2'),
            '³' => to.push('3'),
            'μ' => to.push('µ'),
            sign => to.push(sign),
        }
    }
    to
}

/// Whether a text is a unit of some kind, in the strict notation or in that of plates.
#[must_use]
pub fn is_unit(text: &str) -> bool {
    if parse_unit(text).is_ok() {
        return true;
    }
    let readings = readings(text);
    !readings.is_empty() && KINDS.iter().any(|kind| kind.among(&readings).is_some())
        || KINDS.iter().any(|kind| kind.unit_of_current(text).is_some())
}

/// Whether a unit as it was typed says that its voltage or current alternates, or that it does not: `V AC`, `Vdc`, `V⎓`.
pub(crate) fn alternates(typed: &str) -> Option<bool> {
    let text = typed.trim().trim_end_matches('.').to_lowercase();
    without_current(&text)?;
    let ends = |marks: &[&str]| marks.iter().any(|mark| text.ends_with(mark));
    match (ends(&["ac", "a.c", "~", "∼"]), ends(&["dc", "d.c", "⎓", "="])) {
        (true, _) => Some(true),
        (_, true) => Some(false),
        _ => None,
    }
}

/// What stands before the kind of current.
fn without_current(text: &str) -> Option<&str> {
    let letters =
        ["d.c.", "a.c.", "d.c", "a.c", "dc.", "ac.", "dc", "ac"].iter().find_map(|mark| {
            let (bare, last) = text.split_at_checked(text.len().checked_sub(mark.len())?)?;
            last.eq_ignore_ascii_case(mark).then_some(bare)
        });
    let bare = letters.or_else(|| text.strip_suffix(['~', '∼', '⎓', '=']))?;
    let bare = bare.trim_end_matches(|it: char| it.is_whitespace() || it == '-');
    (!bare.is_empty()).then_some(bare)
}

/// Everything that a text may mean, in strict notation.
fn readings(text: &str) -> Vec<String> {
    let text = text.trim();
    // a share behind a unit is a tolerance that lost its sign, no factor: `100 J %`
    let share = text.contains(['%', '‰']) && text.contains(char::is_whitespace);
    if text.is_empty() || text.chars().count() > LONGEST || share {
        return Vec::new();
    }
    if let Some((_, strict)) = SYMBOLS.iter().find(|(typed, _)| *typed == text) {
        // one letter alone is never guessed
        return if text.chars().nth(1).is_some() || !text.chars().all(char::is_alphabetic) {
            vec![(*strict).to_owned()]
        } else {
            Vec::new()
        };
    }
    let plain = plain(text);
    if plain.chars().all(char::is_alphabetic) && plain.chars().nth(1).is_none() {
        return Vec::new();
    }
    let mut all = vec![String::new()];
    let mut rest = plain.as_str();
    while !rest.is_empty() {
        let end = rest.find(['·', '/', '(', ')']).unwrap_or(rest.len());
        // the parentheses of a power belong to it
        let end = if rest.get(end..).is_some_and(|it| it.starts_with('('))
            && rest.get(..end).is_some_and(|it| it.ends_with('^'))
        {
            rest.find(')').map_or(rest.len(), |at| at + 1)
        } else {
            end
        };
        let (token, others) = rest.split_at(end);
        if !token.is_empty() {
            let meant = meanings(token);
            all = all
                .iter()
                .flat_map(|before| meant.iter().map(move |one| format!("{before}{one}")))
                .take(MOST)
                .collect();
        }
        let sign = others.chars().next();
        for one in &mut all {
            one.extend(sign);
        }
        rest = others.get(sign.map_or(0, char::len_utf8)..).unwrap_or_default();
    }
    // J/kg·K on a plate: everything below the line, or the last one above it again
    if all.iter().any(|one| one.contains(['(', ')'])) {
        return all;
    }
    if all.iter().any(|one| one.matches('/').count() > 1) {
        return Vec::new();
    }
    let below = all.iter().filter_map(|one| {
        let (above, below) = one.split_once('/')?;
        below.contains('·').then(|| format!("{above}/({below})"))
    });
    let raised = all.iter().filter_map(|one| {
        let (above, rest) = one.split_once('/')?;
        let (below, last) = rest.split_once('·')?;
        Some(format!("{above}·{last}/{below}"))
    });
    let further: Vec<String> = below.chain(raised).collect();
    all.extend(further);
    all
}

/// The text with one sign for a product and none around it, and a one above a bare solidus.
fn plain(text: &str) -> String {
    let letters: Vec<char> = text.chars().collect();
    let mut plain = String::new();
    for (at, letter) in letters.iter().enumerate() {
        let next =
            letters.get(at + 1..).and_then(|rest| rest.iter().find(|it| !it.is_whitespace()));
        let joins = plain.chars().last().is_some_and(|it| !"·/(^".contains(it))
            && next.is_some_and(|it| !"·⋅∙*×/)^-−–.".contains(*it));
        match letter {
            '⋅' | '∙' | '*' | '×' => plain.push('·'),
            ' ' | '\u{a0}' | '\u{202f}' | '\t' if joins => plain.push('·'),
            letter if letter.is_whitespace() => {}
            '.' if joins => plain.push('·'),
            '.' => {}
            '-' | '−' | '–' => {
                let power = next.is_some_and(char::is_ascii_digit);
                plain.push(if power || plain.ends_with(['^', '(']) { '-' } else { '·' });
            }
            letter => {
                // W/m2K
                if (letter.is_alphabetic() || *letter == '°') && plain.ends_with(is_digit) {
                    plain.push('·');
                }
                plain.push(*letter);
            }
        }
    }
    if plain.starts_with('/') { format!("1{plain}") } else { plain }
}

fn is_digit(sign: char) -> bool {
    sign.is_ascii_digit() || matches!(sign, '⁰' | '¹' | '²' | '³' | '⁴'..='⁹')
}

/// What one symbol with its power may mean.
fn meanings(token: &str) -> Vec<String> {
    if token == "1" {
        return vec![token.to_owned()];
    }
    let end = token.find(|it: char| is_digit(it) || matches!(it, '^' | '-' | '⁻'));
    let (symbol, power) = token.split_at(end.unwrap_or(token.len()));
    let digits: String = power
        .chars()
        .filter(|it| !matches!(it, '^' | '(' | ')'))
        .map(|it| match it {
            '⁻' => '-',
            '¹' => '1',
            '²' => '2',
            '³' => '3',
            '⁰' => '0',
            '⁴'..='⁹' => char::from_digit(u32::from(it) - 0x2070, 10).unwrap_or(it),
            other => other,
        })
        .collect();
    let power = match digits.as_str() {
        "" if power.is_empty() => String::new(),
        digits => match digits.parse::<i32>() {
            Ok(power) => super::superscript(power),
            Err(_) => return Vec::new(),
        },
    };
    // (r/min)²
    if symbol.is_empty() {
        return vec![power];
    }
    let raised = |base: &str| match base.contains('/') || (base.contains('·') && !power.is_empty())
    {
        true => format!("({base}){power}"),
        false => format!("{base}{power}"),
    };
    if let Some(base) = known(symbol) {
        return vec![raised(&base)];
    }
    // symbols run together; the power is that of the last
    let cuts = || symbol.char_indices().map(|(at, _)| at).skip(1);
    let strict = |from: usize, to: usize| symbol.get(from..to).and_then(run_together);
    let mut all = Vec::new();
    if symbol.chars().count() > 8 {
        return all;
    }
    for first in cuts() {
        let Some(one) = strict(0, first) else { continue };
        if let Some(last) = strict(first, symbol.len()) {
            all.push(format!("{one}·{last}{power}"));
        }
        for second in cuts().filter(|second| *second > first) {
            let (middle, last) = (strict(first, second), strict(second, symbol.len()));
            if let (Some(middle), Some(last)) = (middle, last) {
                all.push(format!("{one}·{middle}·{last}{power}"));
            }
        }
    }
    all
}

/// The strict notation of a symbol: of the catalogue, of the table, or a name in words.
fn known(symbol: &str) -> Option<String> {
    if atom(symbol).is_some() {
        return Some(symbol.to_owned());
    }
    if let Some((_, strict)) = SYMBOLS.iter().find(|(typed, _)| *typed == symbol) {
        return Some((*strict).to_owned());
    }
    let lower = symbol.to_lowercase();
    let name = lower.strip_suffix('s').filter(|name| name.len() > 3).unwrap_or(&lower);
    let named = |name: &str| {
        let name = if name == "meter" { "metre" } else { name };
        let entry = catalogue().iter().find(|entry| entry.name == name || entry.name == lower);
        entry.map(|entry| (entry.symbol, entry.prefixes))
    };
    if let Some((symbol, _)) = named(name) {
        return Some(symbol.to_owned());
    }
    PREFIXES.iter().find_map(|(word, prefix)| {
        let (symbol, prefixes) = named(name.strip_prefix(word)?)?;
        prefixes.then(|| format!("{prefix}{symbol}"))
    })
}

/// A symbol as it may stand among others without a sign between: kgfm is kgf·m, never kg·fm.
fn run_together(symbol: &str) -> Option<String> {
    if let Some(found) = atom(symbol) {
        let prefix = symbol.strip_suffix(found.bare).unwrap_or(symbol);
        let usual = found.symbol == found.bare || USUAL.contains(&prefix);
        return usual.then(|| symbol.to_owned());
    }
    let (_, strict) = SYMBOLS.iter().find(|(typed, _)| *typed == symbol)?;
    atom(strict).map(|_| (*strict).to_owned())
}
/// The unit in brackets or after `in`, as a label has it: `[r/min]`, `in r/min`.
fn wrapped(text: &str) -> Option<&str> {
    let inside = text.strip_prefix('[').and_then(|rest| rest.strip_suffix(']'));
    inside.or_else(|| text.strip_prefix("in ")).map(str::trim)
}
