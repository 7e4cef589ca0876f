//! Temperature over the duty cycle: of a resistor or a winding part by part, of a brake stop by stop.

use super::Roles;
use super::plot::{Bands, Curve, Panel, Plot, Points};
use super::svg::four_digits;

/// Parts in which a piece of a cycle is followed.
const PARTS: u32 = 12;

/// Parts in which the warming of a brake is followed.
const STOPS: u32 = 40;

/// 0 °C in K, exact by the definition of the degree Celsius.
const ICE: f64 = 273.15;

/// The temperature over a cycle.
struct Cycle<'a> {
    start: f64,
    ends: &'a [f64],
    power: &'a [f64],
    long: &'a [f64],
    resistance: f64,
    air: f64,
    tau: f64,
}

impl Cycle<'_> {
    /// Follows the cycle: the rise moves to P·R_th, and of the way there e^(−t/τ) is left.
    ///
    /// Source: first-order warming (derivation, from memory).
    fn followed(&self) -> Points {
        let mut points = vec![(0.0, self.start + self.air)];
        let mut rise = self.start;
        let mut begin = 0.0;
        for ((power, long), end) in self.power.iter().zip(self.long).zip(self.ends) {
            let last = power * self.resistance;
            for part in 1..=PARTS {
                let time = long * f64::from(part) / f64::from(PARTS);
                let left = exp(-time / self.tau);
                points.push((begin + time, last + (rise - last) * left + self.air));
            }
            begin += long;
            rise = *end;
        }
        points
    }
}

/// Two ends.
type Ends = (f64, f64);

/// A part of a cycle between its ends.
struct Part {
    /// When it begins.
    begin: Ends,
    long: Ends,
    /// The rise at its start, at its end, and where it would settle.
    start: Ends,
    end: Ends,
    last: Ends,
}

impl Part {
    /// The latest moment at which it may still run.
    fn over(&self) -> f64 {
        self.begin.1 + self.long.1
    }

    /// From where to where the rise may be at a moment at which the part may run.
    ///
    /// It has run for any time between that since its latest and that since its earliest beginning; of the
    /// way from the rise at its start to the one where it settles some share is left, and the rise is linear
    /// in that share and grows with both. It never leaves the span of its start and its end.
    fn rise(&self, moment: f64, tau: Ends) -> Ends {
        let shortest = (moment - self.begin.1).clamp(0.0, self.long.1);
        let longest = (moment - self.begin.0).clamp(shortest, self.long.1);
        let shares = [exp(-longest / tau.0), exp(-shortest / tau.1)];
        let high = shares.map(|left| self.last.1 + (self.start.1 - self.last.1) * left);
        let low = shares.map(|left| self.last.0 + (self.start.0 - self.last.0) * left);
        (
            low[0].min(low[1]).max(self.start.0.min(self.end.0)),
            high[0].max(high[1]).min(self.start.1.max(self.end.1)),
        )
    }
}

/// Where the rise over a cycle can lie, as a closed line: at each moment the farthest of all parts that may
/// run then.
fn envelope(parts: &[Part], tau: Ends, air: Ends) -> Points {
    let mut breaks: Vec<f64> = parts
        .iter()
        .flat_map(|part| {
            let (early, late) = part.begin;
            [early, late, early + part.long.0, early + part.long.1, part.over()]
        })
        .collect();
    breaks.sort_by(f64::total_cmp);
    let far = breaks.last().copied().unwrap_or(0.0);
    breaks.dedup_by(|a, b| *a - *b <= 1e-9 * far);
    if let Some(last) = breaks.last_mut() {
        *last = far;
    }
    let (mut upper, mut lower): (Points, Points) = (Vec::new(), Vec::new());
    for (from, to) in breaks.iter().zip(breaks.iter().skip(1)) {
        let middle = (from + to) / 2.0;
        let running: Vec<&Part> =
            parts.iter().filter(|part| part.begin.0 <= middle && middle <= part.over()).collect();
        // as many pieces as a part has, fewer for a short stretch
        let whole = running.iter().map(|part| part.long.1).fold(f64::MAX, f64::min);
        let pieces = (1..=PARTS)
            .find(|pieces| f64::from(*pieces) * whole >= (to - from) * f64::from(PARTS))
            .unwrap_or(PARTS);
        for piece in 0..=pieces {
            let moment = from + (to - from) * f64::from(piece) / f64::from(pieces);
            let rises = running.iter().map(|part| part.rise(moment, tau));
            let (low, high) = rises
                .fold((f64::MAX, f64::MIN), |most, rise| (most.0.min(rise.0), most.1.max(rise.1)));
            upper.push((moment, high + air.1));
            lower.push((moment, low + air.0));
        }
    }
    upper.into_iter().chain(lower.into_iter().rev()).collect()
}

/// The exponential for a picture: a power of (1 + x/1024) by squaring, the same in every language.
fn exp(x: f64) -> f64 {
    if x < -40.0 {
        return 0.0;
    }
    let mut power = 1.0 + x / 1_048_576.0;
    for _ in 0..20 {
        power *= power;
    }
    power
}

/// The temperature of a resistor or a winding over its cycle.
pub(super) fn plot(roles: &Roles) -> Plot {
    let get = |name| roles.get(name);
    let cycle = |start: f64, ends: &'static str| {
        let cycle = Cycle {
            tau: get("tau"),
            start,
            ends: roles.many(ends),
            power: roles.many("P_k"),
            long: roles.many("t_k"),
            resistance: get("R_th"),
            air: get("T_air") - ICE,
        };
        cycle.followed()
    };
    let (warm, cold) = (cycle(get("x_0"), "d_warm"), cycle(0.0, "d_cold"));
    let most = |points: &Points| points.iter().fold(f64::MIN, |most, point| most.max(point.1));
    let (air, limit) = (get("T_air") - ICE, get("T_air") + get("limit") - ICE);
    let far = roles.many("t_k").iter().sum();
    Plot {
        title: "Temperature over the duty cycle".to_owned(),
        words: format!(
            "Over a cycle of {} s: at most {} °C after very many cycles, at most {} °C in the first from cold; permitted {} °C, air {} °C.",
            four_digits(far),
            four_digits(most(&warm)),
            four_digits(most(&cold)),
            four_digits(limit),
            four_digits(air)
        ),
        across: "time / s".into(),
        far,
        panels: vec![Panel {
            up: "temperature / °C".into(),
            height: 200.0,
            span: (air, limit.max(most(&warm))),
            levels: vec![(limit, format!("permitted {} °C", four_digits(limit)))],
            curves: vec![
                Curve {
                    class: "c1",
                    name: format!(
                        "after very many cycles: at most {} °C",
                        four_digits(most(&warm))
                    ),
                    points: warm,
                },
                Curve {
                    class: "c2",
                    name: format!(
                        "first cycle, from cold: at most {} °C",
                        four_digits(most(&cold))
                    ),
                    points: cold,
                },
            ],
        }],
        mark: None,
    }
}

/// Where these curves can lie; durations may be uncertain too.
pub(super) fn bands(low: &Roles, high: &Roles) -> Bands {
    let both =
        |name: &'static str| low.many(name).iter().copied().zip(high.many(name).iter().copied());
    let resistance = (low.get("R_th"), high.get("R_th"));
    let closed = |ends: &'static str, mut start: Ends| {
        let mut begin = (0.0, 0.0);
        let mut parts = Vec::new();
        for ((power, long), end) in both("P_k").zip(both("t_k")).zip(both(ends)) {
            let last = (power.0 * resistance.0, power.1 * resistance.1);
            parts.push(Part { begin, long, start, end, last });
            begin = (begin.0 + long.0, begin.1 + long.1);
            start = end;
        }
        let air = (low.get("T_air") - ICE, high.get("T_air") - ICE);
        envelope(&parts, (low.get("tau"), high.get("tau")), air)
    };
    vec![vec![closed("d_warm", (low.get("x_0"), high.get("x_0"))), closed("d_cold", (0.0, 0.0))]]
}

/// The rise of a brake just after the stop at a moment, beginning cold: the n-th comes at (n − 1)/z.
///
/// Source: sum of a geometric series, each stop's rise fading with the time constant (derivation).
fn after(peak: f64, rate: f64, tau: f64, moment: f64) -> f64 {
    peak * (1.0 - exp(-(moment + 1.0 / rate) / tau))
}

/// The temperature of a brake that warms up stop by stop.
pub(super) fn plot_brake(roles: &Roles) -> Plot {
    let get = |name| roles.get(name);
    let (air, limit) = (get("T_air") - ICE, get("T_max") - ICE);
    let far = 5.0 * get("tau");
    let curve = |less: f64| -> Points {
        (0..=STOPS)
            .map(|part| {
                let moment = far * f64::from(part) / f64::from(STOPS);
                let rise = after(get("d_peak"), get("z"), get("tau"), moment) - less;
                (moment / 60.0, air + rise)
            })
            .collect()
    };
    let peak = air + get("d_peak");
    Plot {
        title: "Temperature of the brake, stop after stop".to_owned(),
        words: format!(
            "From {} °C: {} °C after the first stop, at most {} °C after very many, with one stop every {} s; permitted {} °C.",
            four_digits(air),
            four_digits(air + get("d_one")),
            four_digits(peak),
            four_digits(1.0 / get("z")),
            four_digits(limit)
        ),
        across: "time / min".into(),
        far: far / 60.0,
        panels: vec![Panel {
            up: "temperature / °C".into(),
            height: 200.0,
            span: (air, limit.max(peak)),
            levels: vec![(limit, format!("permitted {} °C", four_digits(limit)))],
            curves: vec![
                Curve {
                    class: "c1",
                    points: curve(0.0),
                    name: format!("just after each stop: at most {} °C", four_digits(peak)),
                },
                Curve {
                    class: "c2",
                    points: curve(get("d_one")),
                    name: format!("just before each stop, every {} s", four_digits(1.0 / get("z"))),
                },
            ],
        }],
        mark: None,
    }
}

/// Where these curves can lie.
pub(super) fn bands_brake(low: &Roles, high: &Roles) -> Bands {
    let far = 5.0 * high.get("tau");
    let edge = |air: f64, peak: f64, rate: f64, tau: f64, less: f64| -> Points {
        (0..=STOPS)
            .map(|part| {
                let moment = far * f64::from(part) / f64::from(STOPS);
                (moment / 60.0, air - ICE + (after(peak, rate, tau, moment) - less).max(0.0))
            })
            .collect()
    };
    let closed = |less: (f64, f64)| {
        let upper =
            edge(high.get("T_air"), high.get("d_peak"), low.get("z"), low.get("tau"), less.0);
        let lower =
            edge(low.get("T_air"), low.get("d_peak"), high.get("z"), high.get("tau"), less.1);
        upper.into_iter().chain(lower.into_iter().rev()).collect()
    };
    vec![vec![closed((0.0, 0.0)), closed((low.get("d_one"), high.get("d_one")))]]
}

#[cfg(test)]
mod tests {
    use super::*;

    // e and e^-5 from a table of constants (from memory)
    #[test]
    fn the_exponential_of_a_picture_is_good_to_five_digits() {
        assert!((exp(-5.0) / 6.737_946_999e-3 - 1.0).abs() < 2e-5);
        assert!((exp(-1.0) / 0.367_879_441 - 1.0).abs() < 2e-6);
        assert_eq!(exp(-50.0), 0.0);
    }
}
