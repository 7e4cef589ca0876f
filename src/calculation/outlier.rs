//! A number far from the others that it stands among, by a factor that slips have: the mark or the unit of one value.
//!
//! Two rules, both on sizes as ratios. At an end: all others are near one another, and this one is not. Out of order: with
//! each size of a line several inputs rise or fall together, and one number leaves the order that all others keep.

use crate::unit::Kind;

/// Factors of common slips: the decimal mark, prefixes, min for s, h for s, turns for radians and both, the weight for the
/// mass, km/h for m/s, inches for mm. Common practice, no source; the numbers are exact by definition of the units.
pub(crate) const SLIPS: [f64; 11] = [
    10.0,
    100.0,
    1e3,
    1e6,
    60.0,
    3600.0,
    std::f64::consts::TAU,
    60.0 / std::f64::consts::TAU,
    9.806_65,
    3.6,
    25.4,
];

/// Factors of slips that inch and pound units of a kind bring about: one of them under a metric heading, or a foot for an
/// inch, a pound for an ounce. The numbers are exact by definition of the units, to ten digits.
pub(crate) const INCH_POUND: [(&str, &[f64]); 6] = [
    ("torque", &[8.850_745_791, 12.0, 16.0]),
    ("inertia", &[23.730_360_4, 32.174_048_56, 144.0, 16.0]),
    ("force", &[4.448_221_615, 16.0]),
    ("mass", &[16.0]),
    ("length", &[12.0]),
    ("pressure", &[14.503_773_77, 6.894_757_293]),
];

/// The factors of slips of a kind: those of every kind, and those of its inch and pound units.
fn slips(kind: Option<&Kind>) -> impl Iterator<Item = f64> {
    let own = INCH_POUND.iter().filter(move |(of, _)| kind.is_some_and(|it| it.name == *of));
    SLIPS.iter().chain(own.flat_map(|(_, factors)| *factors)).copied()
}

/// How many times the next a number is when it is asked whatever factor it is: a slip of the unit is one of 60 and more,
/// one of the mark of 100 and more; common practice, no source.
pub(crate) const FAR: f64 = 50.0;

/// How many times the next it is when it is asked for a factor of slips, and where all others are the same.
pub(crate) const OFF: (f64, f64) = (5.0, 3.5);

/// Numbers of each end that are known: as many as show the steps between them.
pub(crate) const ENDS: usize = 5;

/// By how much what is corrected may leave what it is to fit in, and what counts as the same.
pub(crate) const ROUNDED: f64 = 1.02;

/// The sizes of some numbers that are not zero, at both ends, with what they belong to.
#[derive(Clone, Debug, Default)]
pub(crate) struct Ends<T> {
    count: usize,
    /// Rising.
    least: Vec<(f64, T)>,
    /// Falling.
    most: Vec<(f64, T)>,
}

/// A number far from all others.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Far<T> {
    /// What it belongs to.
    pub(crate) of: T,
    /// Its size and that of the next.
    pub(crate) size: f64,
    pub(crate) next: f64,
    /// Whether its factor alone is enough to ask.
    pub(crate) very: bool,
}

impl<T: Copy + PartialEq> Ends<T> {
    pub(crate) fn take(&mut self, size: f64, of: T) {
        self.count += 1;
        // as nearly all are
        if let ([.., (low, _)], [.., (high, _)], true) =
            (self.least.as_slice(), self.most.as_slice(), self.count > ENDS)
            && size >= *low
            && size <= *high
        {
            return;
        }
        self.least.push((size, of));
        self.most.push((size, of));
        self.settle();
    }

    pub(crate) fn join(&mut self, other: Self) {
        self.count += other.count;
        self.least.extend(other.least);
        self.most.extend(other.most);
        self.settle();
    }

    fn settle(&mut self) {
        self.least.sort_by(|a, b| a.0.total_cmp(&b.0));
        self.most.sort_by(|a, b| b.0.total_cmp(&a.0));
        self.least.truncate(ENDS);
        self.most.truncate(ENDS);
    }

    /// The one number of a kind that is far from all others.
    pub(crate) fn far(&self, kind: Option<&Kind>) -> Option<Far<T>> {
        let end = |own, other| far_end(own, other, self.count, kind);
        end(&self.most, &self.least).or_else(|| end(&self.least, &self.most))
    }

    /// The one number that is four times what it would be among the others, or a quarter: GD² in the place of J, where
    /// inertias are alike. Twice as much is not asked: drives of a line differ by that.
    pub(crate) fn four_times(&self) -> Option<Far<T>> {
        let ends = [(&self.most, &self.least), (&self.least, &self.most)];
        ends.into_iter().find_map(|(own, other)| {
            let (first, next) = (own.first()?, own.get(1)?);
            let (away, spread) = (ratio(first.0, next.0), ratio(next.0, other.first()?.0));
            let meant = away / 4.0;
            let fits = meant <= ROUNDED && meant * spread * ROUNDED >= 1.0;
            let found = Far { of: first.1, size: first.0, next: next.0, very: false };
            (self.count >= MANY && spread <= ALIKE && fits).then_some(found)
        })
    }

    /// The one number that is [`AWAY`] from all others where these are near one another, whatever its factor: a frequency
    /// among speeds of rotation is a fifteenth of them to a sixtieth, by poles and slip.
    pub(crate) fn away(&self) -> Option<Far<T>> {
        let ends = [(&self.most, &self.least), (&self.least, &self.most)];
        ends.into_iter().find_map(|(own, other)| {
            let (first, next) = (own.first()?, own.get(1)?);
            let (away, spread) = (ratio(first.0, next.0), ratio(next.0, other.first()?.0));
            let enough = self.count >= if spread <= ROUNDED { 3 } else { ENDS };
            let stands_out = away >= AWAY && spread <= NARROW && away >= LEAVES * spread;
            let found = Far { of: first.1, size: first.0, next: next.0, very: false };
            (enough && stands_out).then_some(found)
        })
    }

    /// What the numbers at both ends belong to, where there are enough that others lie between.
    pub(crate) fn outermost(&self) -> impl Iterator<Item = T> {
        let enough = self.count >= ENDS - 1;
        let ends = [self.least.first(), self.most.first()];
        ends.into_iter().flatten().map(|it| it.1).filter(move |_| enough)
    }

    /// The number at an end, apart from all others, that belongs to something.
    pub(crate) fn apart(&self, of: T) -> Option<f64> {
        [&self.least, &self.most].into_iter().find_map(|end| match end.as_slice() {
            [(first, own), (second, _), ..] if *own == of && ratio(*first, *second) >= 2.0 => {
                Some(*first)
            }
            _ => None,
        })
    }

    /// Whether a size lies among those that do not belong to something.
    pub(crate) fn reaches(&self, size: f64, without: T) -> bool {
        let other = |end: &[(f64, T)]| end.iter().find(|(_, of)| *of != without).map(|it| it.0);
        let (least, most) = (other(&self.least), other(&self.most));
        least.zip(most).is_some_and(|(least, most)| (least..=most).contains(&size))
    }
}

fn ratio(one: f64, other: f64) -> f64 {
    (one / other).max(other / one)
}

/// Whether the first of an end is far from the others, which reach as far as the other end.
fn far_end<T: Copy>(
    own: &[(f64, T)],
    other: &[(f64, T)],
    count: usize,
    kind: Option<&Kind>,
) -> Option<Far<T>> {
    let [(size, of), rest @ ..] = own else { return None };
    let ((next, _), (last, _)) = (rest.first()?, other.first()?);
    let (away, spread) = (ratio(*size, *next), ratio(*next, *last));
    let found = Far { of: *of, size: *size, next: *next, very: true };
    if count >= 3 && spread < FAR && away >= FAR {
        return Some(found);
    }
    let steps = rest.windows(2).filter_map(|two| match two {
        [(one, _), (next, _)] => Some(ratio(*one, *next)),
        _ => None,
    });
    let step = steps.fold(1.0, f64::max);
    let off = if spread <= ROUNDED { OFF.1 } else { OFF.0 };
    let fits = |slip: f64| {
        let meant = away / slip;
        meant <= ROUNDED && meant * spread * ROUNDED >= 1.0
    };
    // three steps in one, on a logarithmic scale
    let stands_out = count >= ENDS && away >= off && away >= step * step * step;
    (stands_out && slips(kind).any(fits)).then_some(Far { very: false, ..found })
}

/// How many times the next a number of a line is when it is asked where all others lie within [`NARROW`]: less than what a
/// speed of eight poles is to its frequency.
const AWAY: f64 = 14.0;

/// Two poles to eight, and room for slip.
const NARROW: f64 = 5.0;

/// Within what factor inertias are alike, so that one of four times as much stands out.
const ALIKE: f64 = 1.5;

/// Pairs of which one value is looked for that leaves the order of the others: fewer may be in order by chance.
const ORDERED: usize = 8;

/// How many of the values, and of what they are put in order by, differ.
const DIFFERENT: usize = 6;

/// By what factor neighbours may change places among many pairs, and among few, and how many are many.
const SLACK: (f64, f64) = (1.3, 1.1);
const MANY: usize = 12;

/// By what factor the others reach at least.
const REACH: f64 = 4.0;

/// By what factor a value leaves the order at least.
const LEAVES: f64 = 3.0;

/// A value that leaves an order: its place among the pairs, and between which two values it would be in order.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct OutOfOrder {
    pub(crate) at: usize,
    pub(crate) rises: bool,
    pub(crate) between: (Option<f64>, Option<f64>),
}

/// The one value that leaves the order in which all others rise or fall with their keys, by a factor of slips.
pub(crate) fn out_of_order(pairs: &[(f64, f64)], kind: Option<&Kind>) -> Option<OutOfOrder> {
    if pairs.len() < ORDERED {
        return None;
    }
    [true, false].into_iter().find_map(|rises| {
        let mut order: Vec<(usize, f64, f64)> =
            pairs.iter().enumerate().map(|(at, (key, value))| (at, *key, *value)).collect();
        order.sort_by(|(_, one, own), (_, next, other)| {
            let keys = if rises { one.total_cmp(next) } else { next.total_cmp(one) };
            keys.then(own.total_cmp(other))
        });
        let found = leaves(&order, kind)?;
        Some(OutOfOrder { rises, ..found })
    })
}

fn leaves(order: &[(usize, f64, f64)], kind: Option<&Kind>) -> Option<OutOfOrder> {
    let slack = if order.len() < MANY { SLACK.1 } else { SLACK.0 };
    let values: Vec<f64> = order.iter().map(|it| it.2).collect();
    let before = reached(values.iter().copied(), f64::max);
    let mut behind = reached(values.iter().rev().copied(), f64::min);
    behind.reverse();
    let bounds = || values.iter().zip(before.iter().zip(&behind)).enumerate();
    // how many times a value is above what follows, and below what goes before
    let above = bounds().filter_map(|(at, (value, (_, low)))| Some((at, value / (*low)?)));
    let below = bounds().filter_map(|(at, (value, (high, _)))| Some((at, (*high)? / value)));
    let most = |all: &mut dyn Iterator<Item = (usize, f64)>| all.max_by(|a, b| a.1.total_cmp(&b.1));
    let (mut above, mut below) = (above, below);
    let found = [most(&mut above), most(&mut below)];
    found.into_iter().flatten().filter(|(_, off)| *off >= LEAVES).find_map(|(at, _)| {
        let value = *values.get(at)?;
        let others: Vec<&(usize, f64, f64)> =
            order.iter().enumerate().filter(|(other, _)| *other != at).map(|(_, it)| it).collect();
        let mut highest = 0.0_f64;
        let in_order = others.iter().all(|(.., value)| {
            highest = highest.max(*value);
            *value * slack >= highest
        });
        let different = |mut all: Vec<f64>| {
            all.sort_by(f64::total_cmp);
            all.dedup();
            all
        };
        let sizes = different(others.iter().map(|it| it.2).collect());
        let keys = different(others.iter().map(|it| it.1).collect());
        let spread = sizes.last().zip(sizes.first()).map_or(1.0, |(most, least)| most / least);
        let enough = sizes.len() >= DIFFERENT && keys.len() >= DIFFERENT && spread >= REACH;
        let between = match (*before.get(at)?, *behind.get(at)?) {
            (Some(low), Some(high)) => (Some(low.min(high)), Some(high.max(low))),
            one if order.len() >= MANY => one,
            _ => return None,
        };
        // beside one neighbour alone a value lies a few steps away from it
        let low = between.0.or(between.1.map(|it| it / LEAVES))? / slack;
        let high = between.1.or(between.0.map(|it| it * LEAVES))? * slack;
        let fits = |meant: f64| (low..=high).contains(&meant);
        let slips = || slips(kind).any(|slip| fits(value / slip) || fits(value * slip));
        let out = value > high * LEAVES / slack || value < low * slack / LEAVES;
        let found = OutOfOrder { at: order.get(at)?.0, rises: true, between };
        (in_order && enough && out && slips()).then_some(found)
    })
}

/// What all values before each come to; none before the first.
fn reached(values: impl Iterator<Item = f64>, of_two: fn(f64, f64) -> f64) -> Vec<Option<f64>> {
    let mut all = None;
    values
        .map(|value| {
            let before = all;
            all = Some(all.map_or(value, |known| of_two(known, value)));
            before
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn far(numbers: &[f64]) -> Option<usize> {
        let mut ends = Ends::default();
        numbers.iter().enumerate().for_each(|(at, number)| ends.take(*number, at));
        ends.far(None).map(|it| it.of)
    }

    #[test]
    fn a_slip_among_values_that_are_alike_is_seen_and_a_line_of_sizes_is_not() {
        let alike = [4.2, 4.2, 4.2, 4.2, 4.2, 4.2];
        for slip in SLIPS {
            for factor in [slip, 1.0 / slip] {
                let mut numbers = alike;
                numbers[3] *= factor;
                assert_eq!(far(&numbers), Some(3), "{slip}");
            }
        }
        for factor in [2.0, 4.0, 5.0, 7.5] {
            assert_eq!(far(&[4.2, 4.2, 4.2, 4.2, 4.2, 4.2 * factor]), None, "{factor}");
        }
        assert_eq!(far(&[312.0, 318.0, 305.0, 3090.0, 321.0, 310.0]), Some(3));
        // rated powers in kW: IEC 60072-1, from memory; R 10 of ISO 3; decades; two sizes
        let powers = [
            0.37, 0.55, 0.75, 1.1, 1.5, 2.2, 3.0, 4.0, 5.5, 7.5, 11.0, 15.0, 18.5, 22.0, 30.0,
            37.0, 45.0, 55.0, 75.0, 90.0,
        ];
        for end in 3..=powers.len() {
            assert_eq!(far(&powers[..end]), None);
        }
        assert_eq!(far(&[1.0, 1.25, 1.6, 2.0, 2.5, 3.15, 4.0, 5.0, 6.3, 8.0, 10.0]), None);
        assert_eq!(far(&[0.1, 1.0, 10.0, 100.0, 1000.0, 10_000.0]), None);
        assert_eq!(far(&[1.0, 1.0, 1.0, 10.0, 10.0, 10.0]), None);
    }

    #[test]
    fn a_slip_between_inch_and_metric_units_is_seen_of_its_kind_alone() {
        // a roller line: each drive within 5 %
        let alike = [4.10, 4.15, 4.20, 4.25, 4.30, 4.12, 4.18, 4.22, 4.28];
        for (name, factors) in INCH_POUND {
            for factor in factors.iter().flat_map(|it| [*it, 1.0 / it]) {
                let mut ends = Ends::default();
                for (at, number) in alike.iter().enumerate() {
                    ends.take(number * if at == 2 { factor } else { 1.0 }, at);
                }
                // four and a half is less than what is asked where the others differ
                let found = (factor.max(1.0 / factor) >= OFF.0).then_some(2);
                assert_eq!(ends.far(crate::unit::kind(name)).map(|it| it.of), found, "{factor}");
                if [16.0, 1.0 / 16.0].contains(&factor) {
                    assert_eq!(ends.far(crate::unit::kind("ratio")), None);
                }
            }
        }
    }

    #[test]
    fn an_inertia_of_four_times_as_much_is_seen_among_many_that_are_alike() {
        // drives of one size, J rising evenly
        let inertia = |at: usize| 0.0213 + 0.0003 * f64::from(u8::try_from(at).unwrap());
        for count in [12, 24] {
            let all = (0..count).map(inertia).collect::<Vec<f64>>();
            let found = |numbers: &[f64]| {
                let mut ends = Ends::default();
                numbers.iter().enumerate().for_each(|(at, number)| ends.take(*number, at));
                ends.four_times().map(|it| it.of)
            };
            assert_eq!(found(&all), None);
            for (at, factor) in (0..count).flat_map(|at| [(at, 4.0), (at, 0.25)]) {
                let mut numbers = all.clone();
                numbers[at] *= factor;
                assert_eq!(found(&numbers), Some(at), "{count} {at} {factor}");
                numbers[at] = all[at] * factor.sqrt();
                assert_eq!(found(&numbers), None, "{count} {at} {factor}");
            }
        }
    }

    #[test]
    fn a_frequency_among_speeds_is_seen_and_the_largest_of_a_line_of_sizes_is_not() {
        let away = |numbers: &[f64]| {
            let mut ends = Ends::default();
            numbers.iter().enumerate().for_each(|(at, number)| ends.take(*number, at));
            ends.away().map(|it| it.of)
        };
        // speeds of motors of 2 to 8 poles at 50 and at 60 Hz, alone and together
        let own: &[(f64, &[f64])] = &[
            (50.0, &[2920.0, 1460.0, 1435.0, 965.0, 720.0]),
            (60.0, &[3520.0, 1755.0, 1160.0, 870.0]),
            (87.0, &[2560.0]),
        ];
        for (hertz, speeds) in own {
            for speed in *speeds {
                for count in 3..9 {
                    let mut line = vec![*speed; count];
                    line[1] = *hertz;
                    assert_eq!(away(&line), Some(1), "{hertz} {speed}");
                }
            }
            let line: Vec<f64> = speeds.iter().cycle().take(8).copied().collect();
            assert_eq!(away(&line), None);
            assert_eq!(away(&[&line[..], &[*hertz]].concat()), Some(8), "{hertz}");
        }
        let powers = [0.12, 0.18, 0.25, 0.37, 0.55, 0.75, 1.1, 1.5, 2.2, 3.0, 4.0, 5.5, 7.5];
        for end in 3..=powers.len() {
            for first in 0..end {
                assert_eq!(away(&powers[first..end]), None);
            }
        }
        assert_eq!(away(&[1.0, 1.0, 12.0]), None);
        assert_eq!(away(&[0.55, 0.75, 15.0]), None);
    }

    #[test]
    fn a_value_that_leaves_the_order_of_a_line_is_seen() {
        let powers = [0.37, 0.55, 0.75, 1.1, 1.5, 2.2, 3.0, 4.0, 5.5, 7.5, 11.0, 15.0];
        // an inertia that grows with the power, not quite evenly
        let inertia =
            |at: usize| 0.0012 * powers[at] * f64::sqrt(powers[at]) * [1.0, 1.1, 0.93][at % 3];
        let line: Vec<(f64, f64)> = (0..powers.len()).map(|at| (powers[at], inertia(at))).collect();
        assert_eq!(out_of_order(&line, None), None);
        for slip in [10.0, 100.0, 1e3, 60.0, std::f64::consts::TAU, 9.806_65] {
            for (at, factor) in (2..10).flat_map(|at| [(at, slip), (at, 1.0 / slip)]) {
                let mut line = line.clone();
                line[at].1 *= factor;
                let found = out_of_order(&line, None).map(|it| (it.at, it.rises));
                assert_eq!(found, Some((at, true)), "{at} {factor}");
                line.iter_mut().for_each(|pair| pair.0 = 1.0 / pair.0);
                let found = out_of_order(&line, None).map(|it| (it.at, it.rises));
                assert_eq!(found, Some((at, false)), "{at} {factor}");
            }
        }
        let mut line = line;
        line[5].1 *= 2.0;
        assert_eq!(out_of_order(&line, None), None);
    }
}
