//! Stops recorded through a filter that the plan names: the filter is worked step by step (its difference equation, a
//! tenth of a sample), the truth is known.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use standstill::diagnostic::Diagnostic;
use standstill::recording::{Measured, Ramp, Stop, judge, read};

use super::simulated::Draw;
use super::{OneFile, plan};

const N_0: f64 = 1450.0;
const RPM: f64 = std::f64::consts::PI / 30.0;
const BEFORE: f64 = 0.3;

/// A stop of which speeds in r/min and times in s from the command are known.
#[derive(Clone, Copy, Debug)]
struct Truth {
    response: f64,
    /// Of n_0.
    ramp: f64,
    /// When torque goes.
    delay: f64,
    /// Run-down after it, in r/min a second.
    fall: f64,
    /// The last of the way down, in r/min, that ends as a parabola, flat; zero where it ends sharply.
    rounded: f64,
}

impl Truth {
    fn straight(&self, t: f64) -> f64 {
        let ramp = |t: f64| N_0 * (1.0 - (t - self.response).max(0.0) / self.ramp);
        if t < self.delay { ramp(t) } else { ramp(self.delay) - self.fall * (t - self.delay) }
    }

    fn left(&self) -> f64 {
        self.straight(self.delay).max(0.0)
    }

    fn slope(&self) -> f64 {
        if self.left() > 0.0 { self.fall } else { N_0 / self.ramp }
    }

    /// When it stands: the flat end takes twice as long as the straight one from there.
    fn time(&self) -> f64 {
        let straight = if self.left() > 0.0 {
            self.delay + self.left() / self.fall
        } else {
            self.response + self.ramp
        };
        straight + self.rounded / self.slope()
    }

    fn speed(&self, t: f64) -> f64 {
        let left = (self.time() - t).max(0.0);
        let long = 2.0 * self.rounded / self.slope();
        if left < long { self.rounded * (left / long).powi(2) } else { self.straight(t).max(0.0) }
    }
}

/// A filter as the plan names it, and its state.
struct Filter {
    words: String,
    mean: f64,
    order: usize,
    constant: f64,
}

fn filters() -> Vec<Filter> {
    let mean = |ms: f64| Filter {
        words: format!("mean {ms} ms"),
        mean: ms * 1e-3,
        order: 0,
        constant: 0.0,
    };
    let order = |order: usize, ms: f64| Filter {
        words: if order == 1 {
            format!("first order {ms} ms")
        } else {
            format!("order {order}, {ms} ms")
        },
        mean: 0.0,
        order,
        constant: ms * 1e-3,
    };
    vec![
        mean(8.0),
        mean(20.0),
        mean(50.0),
        order(1, 2.0),
        order(1, 5.0),
        order(1, 15.0),
        order(2, 5.0),
        order(4, 3.0),
    ]
}

fn recorded(
    truth: &Truth,
    filter: &Filter,
    (noise, step, sampling): (f64, f64, f64),
    draw: &mut Draw,
) -> String {
    const FINE: u32 = 10;
    let fine = sampling / f64::from(FINE);
    let phase = draw.uniform() * sampling;
    let mut states = vec![N_0; filter.order];
    let mut window: std::collections::VecDeque<f64> = std::collections::VecDeque::new();
    let long = (filter.mean / fine).round();
    let mut sum = 0.0;
    let mut text = "t / s;n / (r/min);stop;torque\n".to_owned();
    let mut k = 0_u32;
    loop {
        let t = f64::from(k) * fine - BEFORE - 0.2 + phase;
        if t > truth.time() + 0.5 {
            return text;
        }
        let mut n = truth.speed(t);
        if long > 0.0 {
            window.push_back(n);
            sum += n;
            if window.len() > long as usize {
                sum -= window.pop_front().unwrap();
            }
            n = sum / f64::from(u32::try_from(window.len()).unwrap());
        }
        for state in &mut states {
            *state += fine / filter.constant * (n - *state);
            n = *state;
        }
        if k.is_multiple_of(FINE) && t > -BEFORE {
            let raw = n + noise * draw.normal();
            let n = if step > 0.0 { (raw / step).round() * step } else { raw };
            let on = |on: bool| u8::from(on);
            writeln!(text, "{:.6};{n:.5};{};{}", t + 1.0, on(t < 0.0), on(t < truth.delay))
                .unwrap();
        }
        k += 1;
    }
}

fn stop(text: &str, recorder: &str) -> Result<Stop, Vec<Diagnostic>> {
    let recorder = format!("recorder={recorder}");
    let more = ["time=t in s", "standstill=20 r/min", "J=0.0101 kg·m²", "hold=300 ms", &recorder];
    let plan = plan("a.csv", &more);
    let file = read(&plan.recordings[0], &plan, &OneFile::new("a.csv", text)).unwrap();
    judge(&file.stops[0], &plan)
}

#[derive(Default)]
struct Tally {
    count: u32,
    covered: u32,
    most: f64,
    /// Sum of the uncertainties, in the unit of the figure.
    u: f64,
}

#[test]
fn what_is_read_through_a_filter_lies_within_its_uncertainty() {
    let mut draw = Draw(0x16_03);
    let mut tallies: BTreeMap<&str, Tally> = BTreeMap::new();
    let (mut refused, mut out) = (Vec::new(), Vec::new());
    for grid in [
        (0.0, 0.0, 0.001),
        (0.5, 0.0, 0.001),
        (2.0, 0.0, 0.001),
        (0.5, 1.0, 0.002),
        (0.0, 4.0, 0.002),
    ] {
        for filter in filters() {
            for at in 0..6 {
                let truth = Truth {
                    response: 0.015 + 0.01 * draw.uniform(),
                    ramp: [0.3, 0.6, 0.45][at % 3] * (1.0 + 0.1 * draw.uniform()),
                    delay: 0.40 + 0.01 * draw.uniform() + if at % 3 == 2 { 0.4 } else { 0.0 },
                    fall: 1500.0 + 1500.0 * draw.uniform(),
                    rounded: if at >= 3 { 60.0 * draw.uniform() } else { 0.0 },
                };
                let text = recorded(&truth, &filter, grid, &mut draw);
                let what = format!("{grid:?} {} {truth:?}", filter.words);
                let found = match stop(&text, &filter.words) {
                    Ok(found) => found,
                    Err(problems) => {
                        refused.push(format!("{what}: {}", problems[0].headline));
                        continue;
                    }
                };
                let mut add = |figure: &'static str, found: Measured, truth: f64| {
                    let tally = tallies.entry(figure).or_default();
                    let off = (found.value - truth).abs() / found.u.max(1e-6 * truth.abs());
                    tally.count += 1;
                    tally.covered += u32::from(off <= 1.0);
                    tally.most = tally.most.max(off);
                    tally.u += found.u;
                    if off > 1.0 {
                        out.push(format!("{figure} {off:.2}: {found:?} for {truth}, {what}"));
                    }
                };
                add("speed before", found.speed, N_0 * RPM);
                add("standstill", found.time, truth.time());
                // the angle, in pieces of 10 µs
                let pieces = 0..(truth.time() * 1e5) as u32;
                let turned: f64 =
                    pieces.map(|at| truth.speed((f64::from(at) + 0.5) * 1e-5) * 1e-5 * RPM).sum();
                add("turned", found.turned, turned);
                if let Some(response) = found.response {
                    add("response", response, truth.response);
                }
                if let Some(slope) = found.slope {
                    add("slope of the ramp", slope, N_0 / truth.ramp * RPM);
                }
                if truth.left() > 0.0 {
                    assert_eq!(found.ramp, Some(Ramp::CutShort), "{what}");
                    add("speed left", found.left.unwrap(), truth.left() * RPM);
                    if let Some(found) = found.run_down.filter(|it| it.terms == 1) {
                        assert!(found.departs.is_none(), "{what}: {found:?}");
                        add("friction", found.rates[0], truth.fall * RPM);
                    }
                }
            }
        }
    }
    for (figure, tally) in &tallies {
        println!(
            "{figure}: {} of {}, largest {:.2}, mean u {:.5}",
            tally.covered,
            tally.count,
            tally.most,
            tally.u / f64::from(tally.count)
        );
    }
    println!("{}\nrefused {}\n{}", out.join("\n"), refused.len(), refused.join("\n"));
    let sum = |of: fn(&Tally) -> u32| f64::from(tallies.values().map(of).sum::<u32>());
    assert!(sum(|it| it.covered) >= 0.96 * sum(|it| it.count), "all of them");
    for (figure, tally) in &tallies {
        // two standard deviations of how often chance leaves out one in twenty
        let count = f64::from(tally.count);
        let least = 0.95 * count - 2.0 * (0.05 * 0.95 * count).sqrt();
        assert!(f64::from(tally.covered) >= least, "{figure}");
        assert!(tally.most < 3.0, "{figure}");
    }
    assert!(refused.is_empty(), "all of these can be judged");
}
