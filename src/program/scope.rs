//! What a name stands for while a sheet is checked.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::across::Across;
use super::conversion::Figure;
use super::flat::{LineId, Op, Ratio, Register, TableId, Type};
use crate::diagnostic::{Place, Source};
use crate::language::{Take, Tree};
use crate::unit::{Base, Dimension, Kind};

/// A value that a step makes, with what a message may say of it.
#[derive(Clone, Debug)]
pub(super) struct Value {
    pub(super) register: Register,
    pub(super) type_: Type,
    /// The literal 0 without a unit: zero of any kind but a temperature.
    pub(super) zero: bool,
    /// The name it was read from, and where that is defined.
    pub(super) named: Option<(String, Place)>,
    /// What a product was made of, for the lints.
    pub(super) factors: Factors,
}

/// What a product was made of.
#[derive(Clone, Debug, Default)]
pub(super) struct Factors {
    /// The numbers without a unit, π included.
    pub(super) numbers: Vec<Plain>,
    /// Dimensions of the quantities, as they were before they were raised to a power.
    pub(super) quantities: Vec<Dimension>,
    /// Something that is not a plain number is among the factors: an input, a quantity, a result.
    pub(super) varies: bool,
    /// A part of a whole that is among the factors.
    pub(super) has_part: Option<Part>,
    /// Something else than numbers and quantities that are written in the formula is among the factors.
    pub(super) open: bool,
    /// Quantities written in the formula, multiplied: in SI, and their dimension.
    pub(super) written: Vec<(Figure, Dimension)>,
    /// Power of π, in sixths.
    pub(super) pi: i32,
    /// Power of lengths, radii, areas and volumes together, in sixths of a length.
    pub(super) lengths: i32,
    /// A problem of these factors has been reported.
    pub(super) reported: bool,
    /// What may take up a rad among the factors.
    pub(super) arms: Arms,
    /// Power of the diameters, in sixths.
    pub(super) diameters: i32,
    /// Power of the radii, in sixths.
    pub(super) radii: i32,
    /// Whether it is a share or an efficiency by its name and nothing else.
    pub(super) part: bool,
    /// Whether it is the root of a stiffness over an inertia: rad/s, as SI writes it without the rad.
    pub(super) angular: bool,
    /// Whether it is a radius, a diameter or a travel per turn and nothing else.
    pub(super) across: Option<Across>,
}

/// Powers, in sixths, of what may take up a rad.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Arms {
    /// Radii, diameters and travels per turn: each is a length too.
    above: i32,
    /// The same below the line.
    below: i32,
    /// Plain lengths: of these an inertia may be made, as of a rod.
    spans: i32,
    /// Of time, in what turns: -12 of ω².
    turns: i32,
}

/// What is a part of a whole by its kind.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Part {
    Share,
    Efficiency,
}

/// Stiffness, along and in torsion.
const STIFFNESS: [Dimension; 2] =
    [Dimension::of(0, 1, -2, 0, 0, 0), Dimension::of(2, 1, -2, 0, 0, -2)];

/// Mass and inertia.
const INERT: [Dimension; 2] = [Dimension::of(0, 1, 0, 0, 0, 0), Dimension::of(2, 1, 0, 0, 0, -2)];

/// Most numbers of one product that are kept apart; the others are multiplied into the last.
const MOST_NUMBERS: usize = 12;

/// Most quantities of one formula that are kept apart, likewise.
const MOST_WRITTEN: usize = 6;

/// Parts in which powers are counted, so that roots stay whole.
const SIXTHS: i32 = 6;

/// The power of length, where nothing else than lengths and the rad of radii is in it.
pub(super) fn length_of(dimension: Dimension) -> i32 {
    let other =
        |base: &Base| !matches!(base, Base::Length | Base::Angle) && dimension.sixths(*base) != 0;
    if Base::ALL.iter().any(other) { 0 } else { i32::from(dimension.sixths(Base::Length)) }
}

/// A number without a unit.
#[derive(Clone, Debug)]
pub(super) struct Plain {
    pub(super) figure: Figure,
    /// Before it was raised to a power.
    pub(super) base: Figure,
    /// π or a multiple of it.
    pub(super) pi: bool,
    /// Only a value that may be changed, or one of several: a default, a cell of a table, a case.
    pub(super) loose: bool,
    /// Where it stands, if not in the formula itself.
    pub(super) place: Option<Place>,
}

impl Factors {
    /// Factors of something that varies.
    pub(super) fn of(type_: &Type) -> Self {
        let quantities = match type_ {
            Type::Number { dimension, .. } if !dimension.is_none() => vec![*dimension],
            _ => Vec::new(),
        };
        let lengths = quantities.iter().map(|dimension| length_of(*dimension)).sum();
        let arms = quantities.first().map(|it| Arms::of(*it)).unwrap_or_default();
        Self { quantities, varies: true, open: true, lengths, arms, ..Self::default() }
    }

    /// Factors of a quantity that stands in the formula.
    pub(super) fn written(figure: Figure, dimension: Dimension) -> Self {
        let type_ = Type::Number { dimension, point: false, series: false };
        Self { open: false, written: vec![(figure, dimension)], ..Self::of(&type_) }
    }

    /// A number that stands in the formula.
    pub(super) fn plain(figure: Figure) -> Self {
        Self {
            numbers: vec![Plain::new(figure)],
            pi: figure.power_of_pi() * SIXTHS,
            ..Self::default()
        }
    }

    /// All numbers as one, where nothing else is among the factors.
    pub(super) fn constant(&self) -> Option<Figure> {
        if self.varies || self.numbers.is_empty() {
            return None;
        }
        let figures = self.numbers.iter().map(|number| number.figure);
        figures.reduce(Figure::times)
    }

    /// Whether it is a plain number, or a value without a unit that may be a conversion.
    pub(super) fn is_number(&self) -> bool {
        let loose = || self.numbers.iter().any(|number| number.loose);
        self.quantities.is_empty() && !self.numbers.is_empty() && (!self.varies || loose())
    }

    /// Factors of a value that may be this number, and may be another.
    pub(super) fn loose(figure: Figure, place: &Place) -> Self {
        let number = Plain { loose: true, place: Some(place.clone()), ..Plain::new(figure) };
        let pi = figure.power_of_pi() * SIXTHS;
        Self { numbers: vec![number], varies: true, open: true, pi, ..Self::default() }
    }

    /// Factors of a product, or of a quotient.
    pub(super) fn times(mut self, other: &Self, over: bool) -> Self {
        let by = |it: Across, number: Figure| {
            it.by(if over { number.recip().value } else { number.value })
        };
        self.part = false;
        self.angular |= other.angular;
        let plain = |factors: &Self| factors.quantities.is_empty();
        self.across = match (self.across, other.across) {
            (Some(Across::Lead), None) if plain(other) => Some(Across::Lead),
            (None, Some(Across::Lead)) if !over && plain(&self) => Some(Across::Lead),
            (Some(it), None) => other.constant().and_then(|number| by(it, number)),
            (None, Some(it)) if !over => self.constant().and_then(|number| by(it, number)),
            _ => None,
        };
        let turned = other.numbers.iter().map(|number| {
            let figure = if over { number.figure.recip() } else { number.figure };
            Plain { figure, ..number.clone() }
        });
        // functions that call functions must not make the lists grow without end
        for number in turned {
            let many = self.numbers.len() >= MOST_NUMBERS;
            match self.numbers.last_mut().filter(|_| many) {
                Some(last) => last.figure = last.figure.times(number.figure),
                None => self.numbers.push(number),
            }
        }
        for quantity in &other.quantities {
            if !self.quantities.contains(quantity) {
                self.quantities.push(*quantity);
            }
        }
        self.varies |= other.varies;
        self.has_part = self.has_part.or(other.has_part);
        self.reported |= other.reported;
        self.arms = self.arms.times(if over { other.arms.power(-1, 1) } else { other.arms });
        let diameters = if over { -other.diameters } else { other.diameters };
        self.diameters = self.diameters.saturating_add(diameters);
        let radii = if over { -other.radii } else { other.radii };
        self.radii = self.radii.saturating_add(radii);
        self.open |= other.open;
        let sign = if over { -1 } else { 1 };
        self.pi = self.pi.saturating_add(other.pi.saturating_mul(sign));
        self.lengths = self.lengths.saturating_add(other.lengths.saturating_mul(sign));
        let turned = other.written.iter().map(|(figure, dimension)| match over {
            true => (figure.recip(), Dimension::NONE.over(*dimension)),
            false => (*figure, *dimension),
        });
        for quantity in turned {
            let many = self.written.len() >= MOST_WRITTEN;
            match self.written.last_mut().filter(|_| many) {
                Some(last) => *last = product(*last, quantity),
                None => self.written.push(quantity),
            }
        }
        self.cancelled()
    }

    /// Quantities of the formula that cancel out, such as 1 kJ / 1 J, are a plain number, whatever others stand beside
    /// them.
    fn cancelled(mut self) -> Self {
        let chosen = |mask: u32| {
            let of = move |at: &usize| mask & (1 << at) != 0;
            let all = self.written.iter().enumerate();
            all.filter(move |(at, _)| of(at)).map(|(_, it)| *it).reduce(product)
        };
        let found = (1_u32..1 << self.written.len()).find_map(|mask| {
            let (figure, dimension) = chosen(mask)?;
            dimension.is_none().then_some((mask, figure))
        });
        let Some((mask, figure)) = found else { return self };
        let mut at = 0;
        self.written.retain(|_| {
            at += 1;
            mask & (1 << (at - 1)) == 0
        });
        self.numbers.push(Plain::new(figure));
        self.pi += figure.power_of_pi() * SIXTHS;
        if self.written.is_empty() && !self.open {
            self.quantities.clear();
            self.varies = false;
        }
        self
    }

    /// All quantities of the formula together.
    pub(super) fn all_written(&self) -> Option<(Figure, Dimension)> {
        self.written.iter().copied().reduce(product)
    }

    /// What is a radius or a diameter goes on as one.
    pub(super) fn take_across(&mut self, across: Option<Across>) {
        self.across = across;
        match across {
            Some(Across::Diameter) => self.diameters = SIXTHS,
            Some(Across::Radius) => self.radii = SIXTHS,
            // a lead is no length: its turn is not left out in writing
            Some(Across::Lead) => self.arms = Arms { spans: self.arms.spans, ..Arms::default() },
            None => {}
        }
    }

    /// The power of the diameters of a sum of two, or of a line by its name: that of each, where no number beside them
    /// halves one.
    pub(super) fn bare_diameters(&self) -> i32 {
        self.bare(self.diameters)
    }

    /// The same of the radii.
    pub(super) fn bare_radii(&self) -> i32 {
        self.bare(self.radii)
    }

    fn bare(&self, power: i32) -> i32 {
        let halved = self.numbers.iter().any(|number| number.figure.value != 1.0);
        if halved || power.abs() < 2 * SIXTHS { 0 } else { power }
    }

    /// Factors of a power; numbers below a root of a higher degree than two are left out.
    pub(super) fn power(mut self, ratio: Ratio) -> Self {
        self.across = None;
        self.part = false;
        self.angular = ratio == (Ratio { numerator: 1, denominator: 2 })
            && self.quantities.iter().any(|it| STIFFNESS.contains(it))
            && self.quantities.iter().any(|it| INERT.contains(it));
        // (5 / 18)^3: the number before it was raised is one
        if let (Some(base), [_, _, ..]) = (self.constant(), self.numbers.as_slice()) {
            let pi = self.numbers.iter().any(|number| number.pi);
            self.numbers = vec![Plain { pi, ..Plain::new(base) }];
        }
        let times = |sixths: i32| {
            sixths.saturating_mul(ratio.numerator).checked_div(ratio.denominator).unwrap_or(0)
        };
        (self.pi, self.lengths) = (times(self.pi), times(self.lengths));
        let raised = self.written.into_iter().filter_map(|(figure, dimension)| {
            Some((figure.power(ratio)?, dimension.power(ratio.numerator, ratio.denominator)?))
        });
        self.written = raised.collect();
        let raised = self.numbers.into_iter().filter_map(|number| {
            let figure = number.figure.power(ratio)?;
            Some(Plain { figure, ..number })
        });
        self.numbers = raised.collect();
        self.arms = self.arms.power(ratio.numerator, ratio.denominator);
        for power in [&mut self.diameters, &mut self.radii] {
            *power = power.saturating_mul(ratio.numerator) / ratio.denominator.max(1);
        }
        self
    }

    /// As they stand where a name is read that was defined elsewhere.
    pub(super) fn read_at(mut self, place: &Place) -> Self {
        for number in &mut self.numbers {
            number.place.get_or_insert_with(|| place.clone());
        }
        self
    }
}

/// Two quantities of a formula as one.
fn product((x, a): (Figure, Dimension), (y, b): (Figure, Dimension)) -> (Figure, Dimension) {
    (x.times(y), a.times(b))
}

impl Arms {
    fn of(dimension: Dimension) -> Self {
        let is = |base: &Base| dimension.sixths(*base) != 0;
        let only_length =
            Base::ALL.iter().all(|base| matches!(base, Base::Length | Base::Angle) || !is(base));
        let sixths = |base| i32::from(dimension.sixths(base));
        let (length, angle, time) = (sixths(Base::Length), sixths(Base::Angle), sixths(Base::Time));
        match angle {
            _ if angle.signum() * time.signum() < 0 => Self { turns: time, ..Self::default() },
            0 if only_length => Self { spans: length.abs(), ..Self::default() },
            _ if only_length => {
                Self { above: length.max(0), below: (-length).max(0), ..Self::default() }
            }
            _ => Self::default(),
        }
    }

    /// The powers of two, taken together one by one.
    pub(super) fn with(self, other: Self, of: impl Fn(i32, i32) -> i32) -> Self {
        Self {
            above: of(self.above, other.above),
            below: of(self.below, other.below),
            spans: of(self.spans, other.spans),
            turns: of(self.turns, other.turns),
        }
    }

    /// The least of several values of which it may be any.
    pub(super) fn of_one_of<'a>(all: impl Iterator<Item = &'a Factors>) -> Self {
        let nearer_zero = |x: i32, y: i32| if x.abs() < y.abs() { x } else { y };
        all.map(|it| it.arms).reduce(|x, y| x.with(y, nearer_zero)).unwrap_or_default()
    }

    fn times(self, other: Self) -> Self {
        self.with(other, i32::saturating_add)
    }

    fn power(self, numerator: i32, denominator: i32) -> Self {
        let raised = self.with(self, |it, _| it.saturating_mul(numerator) / denominator.max(1));
        match numerator < 0 {
            true => Self {
                above: raised.below.saturating_abs(),
                below: raised.above.saturating_abs(),
                spans: raised.spans.saturating_abs(),
                ..raised
            },
            false => raised,
        }
    }

    /// What is left where a value is taken for another dimension: a radius that became a length may become one again.
    pub(super) fn seen_as(self, from: Dimension, to: Dimension) -> Self {
        let rad = rad_between(from, to);
        let (above, below) = (self.above.saturating_sub(rad), self.below.saturating_add(rad));
        Self { above: above.max(0), below: below.max(0), ..self }
    }

    /// Whether a value may stand for one of a dimension that is another but for the angle; `of_rod` where plain lengths
    /// take one up too.
    pub(super) fn take_up(self, from: Dimension, to: Dimension, of_rod: bool) -> bool {
        let rad = rad_between(from, to);
        let spans = if of_rod { self.spans } else { 0 };
        // of ω² at a radius one ω goes with the radius, and the rad of the other is let go
        let whirls = self.turns / 2;
        let (own, turned, whirled) = match rad > 0 {
            true => (self.above, self.below, whirls),
            false => (self.below, self.above, -whirls),
        };
        rad.abs() <= own.saturating_add(spans).saturating_add(turned.min(whirled).max(0))
    }
}

fn rad_between(from: Dimension, to: Dimension) -> i32 {
    i32::from(to.sixths(Base::Angle)) - i32::from(from.sixths(Base::Angle))
}

impl Plain {
    pub(super) fn new(figure: Figure) -> Self {
        Self { figure, base: figure, pi: figure.power_of_pi() != 0, loose: false, place: None }
    }
}

impl Value {
    pub(super) fn new(register: Register, type_: Type) -> Self {
        let factors = Factors::of(&type_);
        Self { register, type_, zero: false, named: None, factors }
    }

    pub(super) fn made_of(self, factors: Factors) -> Self {
        Self { factors, ..self }
    }
}

/// What a name stands for.
#[derive(Clone, Debug)]
pub(super) enum Named {
    /// A value.
    Value(Value, Option<&'static Kind>),
    /// A local function: index into the tree's `works`.
    Function(usize),
    /// A table, with the dimensions of argument and value.
    Table(TableId, Type, Type),
    /// A used sheet: its results; `None` where their trouble is reported already.
    Use(BTreeMap<String, Option<Value>>),
    /// Something whose trouble is reported already: what depends on it stays silent.
    Silent,
}

/// A sheet while it is checked.
#[derive(Debug)]
pub(super) struct Sheet {
    pub(super) source: Arc<Source>,
    pub(super) tree: Arc<Tree>,
    /// Index into the program's scopes.
    pub(super) scope: u32,
    /// Path of aliases with a point behind each, empty for the asked sheet.
    pub(super) path: String,
    pub(super) names: BTreeMap<String, Named>,
    /// Where each name is defined.
    pub(super) places: BTreeMap<String, Place>,
    /// In which unit each name is read.
    pub(super) units: BTreeMap<String, String>,
    /// Parameters of functions, roots and integrals, innermost last.
    pub(super) locals: Vec<(String, Value)>,
    /// Series that the body of a `running` reads element by element, innermost last.
    pub(super) running: Vec<Vec<(Register, Value)>>,
    /// Lines of the names, for the program's scope.
    pub(super) lines: BTreeMap<String, LineId>,
    /// Units in which results are given: also for reading the line that makes them.
    pub(super) given_units: BTreeMap<String, String>,
    /// How many sheets use one another above this one.
    pub(super) depth: usize,
}

impl Sheet {
    pub(super) fn place(&self, span: &std::ops::Range<usize>) -> Place {
        Place::text(&self.source, span.clone())
    }

    pub(super) fn text(&self, span: &std::ops::Range<usize>) -> &str {
        self.source.text.get(span.clone()).unwrap_or_default()
    }

    /// The names of one sort that are defined, as a message may recommend them.
    ///
    /// Lines stand in any order: what is defined and not looked at yet, or silent because its trouble is reported, may
    /// be of any sort.
    pub(super) fn names_of(&self, is: impl Fn(&Named) -> bool) -> impl Iterator<Item = &str> {
        let known = self.names.iter().filter(move |(_, named)| is(named)).map(|(name, _)| name);
        let open = |name: &&String| matches!(self.names.get(*name), None | Some(Named::Silent));
        known.chain(self.places.keys().filter(open)).map(String::as_str)
    }

    pub(super) fn is_broken(&self, name: &str) -> bool {
        self.tree.is_broken(name)
    }

    /// The text of the sheet, put aside while a line of a group is looked at.
    pub(super) fn turn_to(&mut self, take: &Take) -> Arc<Source> {
        let source = take.from.as_ref().map_or(&self.source, |(source, _)| source);
        let source = Arc::clone(source);
        std::mem::replace(&mut self.source, source)
    }

    /// Where an input stands: in its group, if it comes from one.
    pub(super) fn place_of(&self, take: &Take) -> Place {
        let source = take.from.as_ref().map_or(&self.source, |(source, _)| source);
        Place::text(source, take.name.span.clone())
    }
}

/// What is handed to a used sheet: by name of its input.
pub(super) type Arguments = BTreeMap<String, Argument>;

/// One argument of a used sheet.
#[derive(Clone, Debug)]
pub(super) enum Argument {
    /// A value, with the line that hands it over.
    Value(Box<Value>, LineId),
    /// A word of a choice.
    Word(String),
    /// Its trouble is reported already.
    Silent,
}

/// An integral of which it is not yet known whether it runs upwards.
pub(super) struct Pending {
    /// The integral alone.
    pub(super) integral: Op,
    /// From where to where it runs.
    pub(super) bounds: (Register, Register),
    /// What only an integral that may run backwards needs: the question, the answer without a value, the integral.
    pub(super) helpers: [Register; 3],
    /// Where its value stands.
    pub(super) result: Register,
    /// Its second bound.
    pub(super) place: Place,
    /// What to write where it surely runs backwards.
    pub(super) remedy: String,
}

/// A question of the asked sheet that its ranges may answer for good.
pub(super) struct Question {
    /// Where the condition, or the second value, stands.
    pub(super) place: Place,
    /// What is asked.
    pub(super) asks: Asks,
}

/// What is asked of the ranges.
pub(super) enum Asks {
    /// Whether a case is reached.
    Case {
        /// What its condition comes to.
        truth: Register,
        /// Where the case behind it stands, or `otherwise`.
        behind: Option<Place>,
    },
    /// Whether what a comparison has on both sides leaves it open.
    Compared {
        /// What it comes to.
        truth: Register,
        /// Both sides as written.
        words: [String; 2],
        /// The term that stands in the sums of both.
        shared: Option<String>,
    },
    /// Whether `where` takes an element.
    Taken {
        /// What its condition comes to.
        truth: Register,
    },
    /// Which of two values `max` or `min` takes.
    Extreme {
        /// `max` or `min`, and both values as written.
        words: [String; 3],
        /// The value of those before, and the second.
        values: [Register; 2],
        /// Whether it takes the larger.
        larger: bool,
    },
}
