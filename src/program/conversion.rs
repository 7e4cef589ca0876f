//! Conversions of units as plain numbers: what a figure such as 9.55, 25.4 or 0.1047 stands for.
//!
//! The list is derived from the table of kinds: every pair of units of one kind, and the customary
//! figures that fold several units into one number.

use std::sync::LazyLock;

use super::customary::{CUSTOMARY, HEAT, ROUGH, ROUNDED, WELL_KNOWN};
use super::flat::Ratio;
use crate::elementary;
use crate::unit::{Base, Dimension, KINDS, Literal, Unit, parse_unit};

/// A plain number, and how well it is known.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Figure {
    /// The number.
    pub(super) value: f64,
    /// How far, relatively, it may lie from what is meant: half of its last digit; zero where it is
    /// exact, such as 1/60 or 2π.
    pub(super) slack: f64,
    /// How many digits are written.
    pub(super) digits: u32,
}

impl Figure {
    /// An exact number.
    pub(super) fn exact(value: f64) -> Self {
        Self { value, slack: 0.0, digits: EXACT }
    }

    /// A number as written.
    pub(super) fn written(literal: &Literal) -> Self {
        let mantissa = literal.digits.mantissa().unsigned_abs().to_string();
        let digits = match literal.digits.scale() {
            // the zeros at the end of 9550 are not known; those of 9.550 are
            0 => mantissa.trim_end_matches('0').len(),
            _ => mantissa.len(),
        };
        Self::rounded(literal.si_f64(), u32::try_from(digits).unwrap_or(EXACT))
    }

    /// A number of so many digits. Of one and two digits it is exact: nobody rounds a factor so far.
    fn rounded(value: f64, digits: u32) -> Self {
        if digits < 3 {
            return Self::exact(value);
        }
        let (leading, _) = normal(value.abs());
        let last = (1..digits).fold(1.0, |last, _| last / 10.0) / leading;
        Self { value, slack: 0.51 * last, digits }
    }

    /// 1 where it is π or 2π, also written in digits: 3.1416, 6.28; −1 where it is 1/π or 1/(2π); 2 where it is π² or
    /// one over or times two or four of it in digits: 9.87, 19.74; else 0.
    pub(super) fn power_of_pi(self) -> i32 {
        let pi = std::f64::consts::PI;
        // digits may have been cut off; of 0.159 and 0.318 they are rounded
        let is = |value: f64, cut: f64| {
            let slack = (cut * self.slack).max(1e-9);
            [pi, 2.0 * pi].iter().any(|exact| near(value.abs(), *exact, slack))
        };
        let squared = [0.5, 1.0, 2.0, 4.0].iter().any(|times| {
            let needed = if *times > 1.0 { 4 } else { 3 };
            self.digits >= needed && near(self.value.abs(), times * pi * pi, self.slack)
        });
        match self.digits {
            _ if squared && self.slack > 0.0 => 2,
            3.. if is(self.value, 2.0) => 1,
            4.. if is(self.value.recip(), 2.0) => -1,
            3 if is(self.value.recip(), 1.0) => -1,
            _ => 0,
        }
    }

    /// Whether it is a fraction that stands for π or 2π, or one over it: 22/7, 355/113.
    pub(super) fn is_fraction_of_pi(self) -> bool {
        let is = |value: f64| {
            [22.0 / 7.0, 355.0 / 113.0]
                .iter()
                .any(|pi| near(value, *pi, 1e-9) || near(value, 2.0 * pi, 1e-9))
        };
        let value = self.value.abs();
        is(value) || is(value.recip())
    }

    /// What a function makes of it; of a rounded one nothing is known.
    pub(super) fn of(self, function: impl Fn(f64) -> f64) -> Option<Self> {
        (self.slack == 0.0).then(|| Self::exact(function(self.value)))
    }

    /// Product of two; of two rounded ones the worse digits remain.
    pub(super) fn times(self, other: Self) -> Self {
        Self {
            value: self.value * other.value,
            slack: self.slack + other.slack,
            digits: self.digits.min(other.digits),
        }
    }

    /// One over it.
    pub(super) fn recip(self) -> Self {
        Self { value: self.value.recip(), ..self }
    }

    /// Sum of two.
    pub(super) fn plus(self, other: Self) -> Self {
        let value = self.value + other.value;
        if self.slack == 0.0 && other.slack == 0.0 {
            // 9.5 + 0.049 has the digits of 9.549
            let text = format!("{:.8e}", value.abs());
            let mantissa = text.split('e').next().unwrap_or_default();
            let digits = mantissa.trim_end_matches('0').len().saturating_sub(1);
            return Self::rounded(value, u32::try_from(digits).unwrap_or(EXACT));
        }
        let slack = (self.slack * self.value.abs() + other.slack * other.value.abs()) / value.abs();
        Self { value, slack, digits: self.digits.min(other.digits) }
    }

    /// A whole power, or one of halves.
    pub(super) fn power(self, ratio: Ratio) -> Option<Self> {
        let whole = |value: f64| match ratio.denominator {
            1 => Some(value.powi(ratio.numerator)),
            2 => Some(value.sqrt().powi(ratio.numerator)),
            3 => Some(elementary::cube_root(value).powi(ratio.numerator)),
            _ => None,
        };
        let times = f64::from(ratio.numerator.abs()) / f64::from(ratio.denominator.max(1));
        Some(Self { value: whole(self.value)?, slack: self.slack * times, ..self })
    }

    /// Whether it is an exact number of one or two digits, at any power of ten.
    fn is_short(self) -> bool {
        let (leading, _) = normal(self.value);
        self.slack == 0.0 && near(leading * 10.0, (leading * 10.0).round(), 1e-9)
    }
}

/// Digits of an exact number.
const EXACT: u32 = 28;

/// One unit as a number of another.
#[derive(Debug)]
struct Conversion {
    /// How many of the second unit make the first.
    ratio: f64,
    words: (String, String),
    /// What must be at hand for it to be meant.
    kind: Dimension,
    /// So well known that it is meant wherever it stands.
    everywhere: bool,
}

fn conversions() -> &'static [Conversion] {
    static ALL: LazyLock<Vec<Conversion>> = LazyLock::new(|| {
        let mut all: Vec<Conversion> = Vec::new();
        for kind in KINDS.iter().filter(|kind| !kind.point) {
            let units: Vec<(&str, Unit)> = kind
                .units
                .iter()
                .filter_map(|text| Some((*text, kind.read_unit(text).ok()?)))
                .collect();
            for (at, (from, a)) in units.iter().enumerate() {
                for (to, b) in units.iter().skip(at + 1) {
                    let ratio = a.factor.as_f64() / b.factor.as_f64();
                    let pair = |(x, y): &(&str, &str)| (x, y) == (from, to) || (y, x) == (from, to);
                    if is_plain(ratio) || is_turn(ratio) {
                        continue;
                    }
                    all.push(Conversion {
                        ratio,
                        words: ((*from).to_owned(), (*to).to_owned()),
                        kind: kind.dimension,
                        everywhere: WELL_KNOWN.iter().any(pair),
                    });
                }
            }
        }
        for line in CUSTOMARY {
            let product = |units: &[&str]| {
                let factors =
                    units.iter().map(|text| parse_unit(text).map(|it| it.factor.as_f64()));
                factors.product::<Result<f64, _>>()
            };
            // a test sees to it that each line reads
            let (Ok(from), Ok(to)) = (product(line.from), product(line.to)) else { continue };
            all.push(Conversion {
                ratio: line.times * from / to,
                words: (line.words.0.to_owned(), line.words.1.to_owned()),
                kind: Dimension::NONE,
                everywhere: true,
            });
        }
        let energy = Dimension::of(2, 1, -2, 0, 0, 0);
        for (ratio, from, to) in HEAT {
            for kind in [energy, energy.over(Dimension::of(0, 0, 1, 0, 0, 0))] {
                let words = ((*from).to_owned(), (*to).to_owned());
                all.push(Conversion { ratio: *ratio, words, kind, everywhere: false });
            }
        }
        all.sort_by_key(|conversion| !conversion.everywhere);
        all
    });
    &ALL
}

/// A power of a conversion, as it stands in J·n² or below a root.
#[derive(Clone, Copy, PartialEq)]
enum Power {
    Whole(i32),
    Root,
    RootBelow,
}

const POWERS: [Power; 8] = [
    Power::Whole(1),
    Power::Whole(-1),
    Power::Whole(2),
    Power::Whole(-2),
    Power::Root,
    Power::RootBelow,
    Power::Whole(3),
    Power::Whole(-3),
];

impl Power {
    fn of(self, ratio: f64) -> f64 {
        match self {
            Self::Whole(power) => ratio.powi(power),
            Self::Root => ratio.sqrt(),
            Self::RootBelow => ratio.sqrt().recip(),
        }
    }

    fn is_once(self) -> bool {
        matches!(self, Self::Whole(1 | -1))
    }
}

/// What a plain number converts, in words: `turns r/min into rad/s`; nothing where it is a number of
/// a formula. `hand` are the dimensions of the quantities beside it: where few digits are all there is
/// to go by, a kind at hand decides.
pub(super) fn conversion_in(figure: Figure, hand: &[Dimension]) -> Option<String> {
    if !figure.value.is_normal() {
        return None;
    }
    let figure = Figure { value: figure.value.abs(), ..figure };
    if !hand.is_empty()
        && let Some(words) = short(figure, hand)
    {
        return Some(words);
    }
    if is_plain(figure.value) {
        return None;
    }
    let figure = as_used(figure);
    POWERS.iter().find_map(|power| {
        let is = |conversion: &&Conversion| conversion.is(figure, *power, hand);
        conversions().iter().find(is).map(|conversion| conversion.to_text(*power))
    })
}

/// What a single number of two or three digits converts beside the quantities it belongs to.
pub(super) fn rough_in(figure: Figure, hand: &[Dimension]) -> Option<String> {
    ROUGH.iter().filter(|it| hand.iter().any(|dimension| (it.beside)(*dimension))).find_map(|it| {
        let value = figure.value.abs();
        match (near(value, it.value, 1e-9), near(value, it.value.recip(), 1e-9)) {
            (true, _) => Some(it.words.0.to_owned()),
            (_, true) => Some(it.words.1.to_owned()),
            _ => None,
        }
    })
}

/// Whether every reader takes it for a conversion although it is written as a value of its own: the
/// default of an input, a cell of a table. A ratio of 19.1 is a gear's, 9550 and 0.10472 are not.
pub(super) fn is_unmistakable(figure: Figure) -> bool {
    let figure = Figure { value: figure.value.abs(), ..figure };
    let is = |conversion: &Conversion| {
        let whole = if figure.value < 1.0 { figure.value.recip() } else { figure.value };
        let known = conversion.is_rotation() && figure.digits >= 5
            || conversion.is_of_power() && whole > 900.0;
        known && POWERS.iter().any(|power| conversion.is(as_used(figure), *power, &[]))
    };
    !figure.is_short() && !is_plain(figure.value) && conversions().iter().any(is)
}

/// Whether a value that may be changed is a factor of time beside a quantity with a time in it: a ratio of 60 that is a
/// minute. A gear's stands beside what turns.
pub(super) fn is_of_time(figure: Figure, hand: &[Dimension]) -> bool {
    let turns = hand.iter().any(|dimension| dimension.sixths(Base::Angle) != 0);
    let is = |exact: f64| near(figure.value, exact, 1e-9) || near(figure.value, 1.0 / exact, 1e-9);
    !turns
        && hand.iter().any(|dimension| dimension.sixths(Base::Time) != 0)
        && [60.0, 3600.0, 60_000.0, 86_400.0].into_iter().any(is)
}

/// A time or a rate and nothing else, the angle set aside.
fn is_time(dimension: Dimension) -> bool {
    Base::ALL.iter().all(|base| match base {
        Base::Angle => true,
        Base::Time => dimension.sixths(*base).abs() == 6,
        _ => dimension.sixths(*base) == 0,
    })
}

/// Whether a power or a torque stands beside a speed of rotation.
fn has_power_and_rotation(hand: &[Dimension]) -> bool {
    hand.iter().any(|dimension| dimension.sixths(Base::Mass) == 6) && has_rotation(hand)
}

/// Whether a speed of rotation is at hand.
fn has_rotation(hand: &[Dimension]) -> bool {
    hand.iter().any(|it| is_time(*it) && it.sixths(Base::Angle) != 0)
}

/// How near, relatively, a number is taken for a factor that is not to be mistaken for anything else.
const NEARLY: f64 = 5e-3;

/// What is meant by a number that is used rounded, such as 9550.
fn as_used(figure: Figure) -> Figure {
    let found = ROUNDED.iter().find_map(|(used, exact)| {
        let (over, exact) =
            if figure.value > 1.0 { (*used, *exact) } else { (used.recip(), exact.recip()) };
        near(figure.value, over, 1e-6).then_some(Figure { value: exact, slack: 1e-4, digits: 4 })
    });
    found.unwrap_or(figure)
}

impl Conversion {
    fn is(&self, figure: Figure, power: Power, hand: &[Dimension]) -> bool {
        let once = power.is_once();
        // of the speed of rotation alone powers are written as one rounded number, as in n²/91.2
        if !once && !self.is_rotation() && (figure.slack > 0.0 || !self.everywhere) {
            return false;
        }
        let (leading, ten) = normal(figure.value / power.of(self.ratio));
        // digits of what is well known may have been cut off
        let cut = if self.everywhere || figure.digits >= 4 { 2.0 } else { 1.0 };
        let mut slack = (cut * figure.slack).clamp(1e-9, NEARLY);
        // beside a power and a speed of rotation every number near 9550 is meant for it, 9500 as well
        let crude = figure.is_short() && self.is_of_power() && has_power_and_rotation(hand);
        if self.is_of_power() && figure.digits >= 3 && has_power_and_rotation(hand) {
            slack = if crude { 1.2 * NEARLY } else { NEARLY };
        }
        let ten = match (near(leading, 1.0, slack), near(leading, 10.0, slack)) {
            (true, _) => ten,
            (_, true) => ten + 1,
            _ => return false,
        };
        let at_hand = hand.iter().any(|dimension| has_bases(*dimension, self.kind));
        if figure.is_short() {
            return ten == 0 && once && (self.everywhere || at_hand || crude);
        }
        let needed = match (self.everywhere, at_hand) {
            _ if self.is_rotation() => {
                if once {
                    3
                } else {
                    4
                }
            }
            (true, _) | (_, true) if ten == 0 || self.is_of_power() && ten == -3 => 3,
            // a diameter in mm, a power in W: the same figure, a thousand times
            (true, _) if self.kind.is_none() && ten % 3 == 0 && has_rotation(hand) => 3,
            (true, _) | (_, true) if ten % 3 == 0 => 4,
            (true, _) | (_, true) => 5,
            (false, false) => 6,
        };
        figure.digits >= needed
    }

    /// Whether it is 9550 or one of its like, of kW and of W.
    fn is_of_power(&self) -> bool {
        self.kind.is_none() && self.ratio > 700.0
    }

    /// Whether it stands between r/min and rad/s.
    fn is_rotation(&self) -> bool {
        let factor = std::f64::consts::PI / 30.0;
        near(self.ratio, factor, 1e-9) || near(self.ratio, factor.recip(), 1e-9)
    }

    fn to_text(&self, power: Power) -> String {
        let (from, to) = &self.words;
        let (from, to, raised) = match power {
            Power::Whole(1) => (from, to, ""),
            Power::Whole(-1) => (to, from, ""),
            Power::Whole(2) => (from, to, ", squared"),
            Power::Whole(-2) => (to, from, ", squared"),
            Power::Root => (from, to, ", below a root"),
            Power::RootBelow => (to, from, ", below a root"),
            Power::Whole(3..) => (from, to, ", to the third power"),
            Power::Whole(_) => (to, from, ", to the third power"),
        };
        format!("turns {from} into {to}{raised}")
    }
}

/// Numbers of few digits that convert wherever a quantity is at hand, 3.6 and its like where time is.
fn short(figure: Figure, hand: &[Dimension]) -> Option<String> {
    const ANY: [(f64, &str, &str); 6] = [
        (3600.0, "turns h into s", "turns s into h"),
        (60.0, "turns min into s, or r/s into r/min", "turns s into min, or r/min into r/s"),
        (60_000.0, "turns min into ms", "turns ms into min"),
        (1e3, "stands for a prefix, k or m", "stands for a prefix, k or m"),
        (1e6, "stands for a prefix, M or µ", "stands for a prefix, M or µ"),
        (1e9, "stands for a prefix, G or n", "stands for a prefix, G or n"),
    ];
    const TIMED: [(f64, &str, &str); 4] = [
        (3.6, "turns m/s into km/h, or kW·h into MJ", "turns km/h into m/s, or MJ into kW·h"),
        (0.0036, "turns W·h into MJ", "turns MJ into W·h"),
        (86_400.0, "turns d into s", "turns s into d"),
        (1440.0, "turns d into min", "turns min into d"),
    ];
    const DAYS: [(f64, &str, &str); 2] =
        [(24.0, "turns d into h", "turns h into d"), (8760.0, "turns a into h", "turns h into a")];
    const DEGREE: (f64, &str, &str) = (1.8, "turns K into °F", "turns °F into K");
    let timed = hand.iter().any(|dimension| is_time(*dimension));
    let is = |exact: f64| {
        let slack = if timed && figure.digits >= 3 && [60.0, 3600.0].contains(&exact) {
            NEARLY
        } else {
            1e-9
        };
        near(figure.value, exact, figure.slack.max(slack))
    };
    // 0.0166 and 0.277 are cut off, not rounded
    let is_cut = |exact: f64| figure.value < exact && near(figure.value, exact, 2.0 * figure.slack);
    let turned = |(number, there, back): &(f64, &str, &str)| match () {
        () if is(*number) => Some((*there).to_owned()),
        () if is(number.recip()) || is_cut(number.recip()) => Some((*back).to_owned()),
        () => None,
    };
    let with = |base| hand.iter().any(|dimension| dimension.sixths(base) != 0);
    ANY.iter()
        .find_map(turned)
        .or_else(|| with(Base::Time).then(|| TIMED.iter().find_map(turned)).flatten())
        .or_else(|| with(Base::Temperature).then(|| turned(&DEGREE)).flatten())
        .or_else(|| timed.then(|| DAYS.iter().find_map(turned)).flatten())
}

/// Whether it is a number as formulas have it: a power of ten, a small whole number over another, or
/// such a one times a power of π.
fn is_plain(value: f64) -> bool {
    let value = value.abs();
    if near(value, 3.6, 1e-9) || near(value, 5.0 / 18.0, 1e-9) {
        return false;
    }
    let (leading, _) = normal(value);
    let whole = |value: f64, most: f64| {
        value > 0.5 && value < most + 0.5 && near(value, value.round(), 1e-10)
    };
    near(leading, 1.0, 1e-10)
        || (1..=32_u32).any(|below| whole(value * f64::from(below), 25.0))
        || whole(value, 32.0)
        // π/32, 4/3·π, π²/4 and the like
        || (1..=4).any(|power| whole(value / std::f64::consts::PI.powi(power) * 192.0, 192.0 * 16.0))
}

/// 2π: a turn. Whether it converts is seen by what stands beside it.
fn is_turn(ratio: f64) -> bool {
    let turn = std::f64::consts::TAU;
    let (leading, _) = normal(ratio);
    near(leading, turn, 1e-9) || near(leading, 10.0 / turn, 1e-9)
}

/// Whether a quantity is of the kind, the angle set aside, or a length, a mass, a time or an angle is in it.
fn has_bases(dimension: Dimension, kind: Dimension) -> bool {
    let rest = kind.without_angle();
    let needed = if rest.is_none() { kind } else { rest };
    let bases = || Base::ALL.iter().filter(|base| needed.sixths(**base) != 0);
    let single = bases().count() == 1;
    dimension.without_angle() == rest && !rest.is_none()
        || single && bases().all(|base| dimension.sixths(*base) != 0)
}

fn near(value: f64, exact: f64, slack: f64) -> bool {
    (value / exact - 1.0).abs() <= slack
}

/// A number from one to ten, and the power of ten beside it.
fn normal(value: f64) -> (f64, i32) {
    let mut ten = 0;
    while ten < 300 && value / 10_f64.powi(ten) >= 10.0 {
        ten += 1;
    }
    while ten > -300 && value / 10_f64.powi(ten) < 1.0 {
        ten -= 1;
    }
    (value / 10_f64.powi(ten), ten)
}
