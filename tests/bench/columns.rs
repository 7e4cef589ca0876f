//! Sheets on f64 columns beside the same formulas by hand.

use standstill::number::{Columns, OutputColumn};

use crate::by_hand::{self, ByHand};
use crate::line::{Line, Span};
use crate::measure::{Pair, paired};

/// A sheet of the comparison.
pub(crate) struct Subject {
    pub(crate) name: &'static str,
    pub(crate) spans: &'static [Span],
    pub(crate) shared: &'static [(&'static str, &'static str, f64)],
    pub(crate) by_hand: fn(&Line, std::ops::Range<usize>) -> ByHand,
}

/// The three sheets; the largest twice, with friction alone and with drag.
pub(crate) const SUBJECTS: &[Subject] = &[
    Subject {
        name: "separation-curtain",
        spans: &[("T", "ms", 50.0, 600.0), ("d", "mm", 14.0, 70.0), ("Z", "mm", 0.0, 100.0)],
        shared: &[("edition", "2010", 0.0)],
        by_hand: by_hand::separation_curtain,
    },
    Subject {
        name: "ramp-stop",
        spans: &[
            ("n_0", "r/min", 300.0, 3000.0),
            ("J", "kg·m²", 0.001, 0.1),
            ("t_dead", "ms", 1.0, 50.0),
            ("t_ramp", "s", 0.1, 5.0),
            ("f", "", 0.01, 0.4),
            ("T_0", "N·m", 0.1, 3.0),
            ("T_max", "N·m", 5.0, 50.0),
        ],
        shared: &[],
        by_hand: by_hand::ramp_stop,
    },
    Subject {
        name: "safe-stop",
        spans: SAFE_STOP,
        shared: &[("b", "0 N·m·s/rad", 0.0), ("c", "0 N·m·s²/rad²", 0.0)],
        by_hand: by_hand::safe_stop,
    },
    Subject {
        name: "safe-stop, with drag",
        spans: SAFE_STOP,
        shared: &[("b", "0.002 N·m·s/rad", 0.002), ("c", "0.00001 N·m·s²/rad²", 0.00001)],
        by_hand: by_hand::safe_stop,
    },
];

const SAFE_STOP: &[Span] = &[
    ("J_load", "kg·m²", 0.05, 0.5),
    ("i", "", 2.0, 12.0),
    ("J_motor", "kg·m²", 0.001, 0.005),
    ("n_0", "r/min", 900.0, 3000.0),
    ("T_0", "N·m", 0.5, 3.0),
    ("t_ramp", "s", 0.2, 1.5),
    ("T_max", "N·m", 8.0, 40.0),
    ("t_cycle", "s", 4.0, 30.0),
    ("t_sensor", "ms", 5.0, 30.0),
    ("t_drive", "ms", 5.0, 20.0),
    ("d", "mm", 14.0, 40.0),
    ("S_there", "mm", 900.0, 9000.0),
];

impl Subject {
    pub(crate) fn line(&self, rows: usize) -> Line {
        let name = self.name.split(',').next().unwrap_or(self.name);
        Line::new(name, rows, self.spans, self.shared)
    }
}

/// Both ways on one thread, and ours on two beside one, after a look at whether they say the same.
pub(crate) struct Compared {
    pub(crate) by_hand: Pair,
    pub(crate) threads: Pair,
    /// Share of the values that were settled on exact decimals, and rows that differ by hand.
    pub(crate) settled: f64,
    pub(crate) wrong_by_hand: f64,
}

/// Measures one sheet.
pub(crate) fn compare(subject: &Subject, rows: usize, repeats: usize) -> Compared {
    let line = subject.line(rows);
    let given = line.given();
    let ready = Columns::new(line.program(), &given);
    let run = |threads| ready.run(line.program(), &given, rows, threads);
    let (settled, wrong_by_hand) = agree(subject, &line);
    Compared {
        by_hand: paired(repeats, || run(1), || (subject.by_hand)(&line, 0..rows)),
        threads: paired(repeats, || run(1), || run(2)),
        settled,
        wrong_by_hand,
    }
}

/// Refuses to measure what does not say the same; gives shares of the rows.
fn agree(subject: &Subject, line: &Line) -> (f64, f64) {
    let rows = 20_000.min(line.rows());
    let given = line.given();
    let ours = Columns::new(line.program(), &given).run(line.program(), &given, rows, 2);
    let by_hand = (subject.by_hand)(line, 0..rows);
    assert!(ours.problems.is_empty(), "{}: {:?}", subject.name, ours.problems.first_key_value());
    assert_eq!(ours.outputs.len(), by_hand.results.len(), "{}", subject.name);
    let mut differs = vec![false; rows];
    for (ours, by_hand) in ours.outputs.iter().zip(&by_hand.results) {
        let OutputColumn::Numbers(ours) = ours else { panic!("numbers") };
        for (row, (x, y)) in ours.iter().zip(by_hand).enumerate() {
            differs[row] |= (x - y).abs() > 1e-9 * x.abs().max(1e-6);
        }
    }
    assert!(by_hand.checks.iter().all(|check| check.len() == rows));
    // a step of a round-up that lies within the rounding of f64 falls either way by hand
    let wrong = differs.iter().filter(|differs| **differs).count();
    assert!(wrong <= rows / 20, "{}: {wrong} rows differ", subject.name);
    (ours.settled as f64 / rows as f64, wrong as f64 / rows as f64)
}
