//! The traps of the trade: numbers that hide a conversion, 2π beside a speed of rotation, percentages.

use super::compile::Compiler;
use super::scope::{Sheet, Value};
use crate::diagnostic::{Diagnostic, Name};
use crate::language::Expression;

/// A number that hides a conversion of units, and what it converts.
struct Trap {
    number: f64,
    hides: &'static str,
}

/// The literals of the trade's handbooks. All follow from the exact definitions of the units; where a
/// rounding is customary, the exact value stands behind it.
const TRAPS: &[Trap] = &[
    Trap { number: 9549.3, hides: "9550 (exactly 30 000/π) turns kW and r/min into N·m" },
    Trap { number: 9550.0, hides: "9550 (exactly 30 000/π) turns kW and r/min into N·m" },
    Trap { number: 9.5493, hides: "9.55 (exactly 30/π) turns W and r/min into N·m" },
    Trap { number: 5252.11, hides: "5252 (exactly 33 000/2π) turns hp and r/min into lbf·ft" },
    Trap {
        number: 5250.0,
        hides: "5250 (exactly 33 000/2π = 5252.1) turns hp and r/min into lbf·ft",
    },
    Trap { number: 63_025.4, hides: "63 025 turns hp and r/min into lbf·in" },
    Trap { number: 63_000.0, hides: "63 000 (exactly 63 025.4) turns hp and r/min into lbf·in" },
    Trap { number: 7120.9, hides: "7121 turns hp and r/min into N·m" },
    Trap { number: 7124.0, hides: "7124 (exactly 7120.9) turns hp and r/min into N·m" },
    Trap {
        number: 308.0,
        hides: "308 (exactly 307.24, not on the safe side) turns lb·ft², r/min and lbf·ft into s",
    },
    Trap { number: 307.24, hides: "307 (exactly 307.24) turns lb·ft², r/min and lbf·ft into s" },
    Trap {
        number: 375.0,
        hides: "375 (exactly 374.59) turns GD² in kgf·m², r/min and kgf·m into s",
    },
    Trap { number: 374.586, hides: "374.6 turns GD² in kgf·m², r/min and kgf·m into s" },
    Trap { number: 182.378, hides: "182.4 turns kg·m² and (r/min)² into J" },
    Trap { number: 5867.84, hides: "5868 turns lb·ft² and (r/min)² into ft·lbf" },
    Trap { number: 33_000.0, hides: "33 000 turns ft·lbf/min into hp" },
    Trap { number: 0.104_719_755, hides: "2π/60 turns r/min into rad/s" },
    Trap { number: 3600.0, hides: "3600 turns h into s" },
    Trap { number: 60.0, hides: "60 turns min into s, or r/min into r/s" },
    Trap { number: 1000.0, hides: "1000 is a prefix: k or m" },
    Trap { number: 1e6, hides: "1 000 000 is a prefix: M or µ" },
];

/// How near a literal must come to a trap; 9.55 is 7·10⁻⁵ from 30/π.
const NEAR: f64 = 1e-4;

/// Looks at a finished product.
pub(super) fn product(
    compiler: &mut Compiler<'_>,
    sheet: &Sheet,
    tree: &Expression,
    value: &Value,
) {
    let factors = value.factors;
    if !factors.quantity {
        return percent(compiler, sheet, tree, value);
    }
    if factors.pi && factors.rotation {
        compiler.problems.push(
            Diagnostic::caution(Name::HiddenConversion, "π stands beside a speed of rotation or an angle, which brings its own 2π")
                .at(sheet.place(&tree.span))
                .remedy("leave 2π and 60 out: r/min converts itself, and the speed at a radius is `n * d / 2`"),
        );
        return;
    }
    let Some(number) = factors.number else { return };
    let near = |trap: &&Trap| {
        [number, number.recip()].iter().any(|number| (number / trap.number - 1.0).abs() < NEAR)
    };
    if let Some(trap) = TRAPS.iter().find(near) {
        compiler.problems.push(
            Diagnostic::caution(
                Name::HiddenConversion,
                format!("a number here hides a conversion of units: {}", trap.hides),
            )
            .at(sheet.place(&tree.span))
            .remedy("leave the number out: every value carries its unit and converts itself"),
        );
        return;
    }
    percent(compiler, sheet, tree, value);
}

/// An efficiency beside 100.
fn percent(compiler: &mut Compiler<'_>, sheet: &Sheet, tree: &Expression, value: &Value) {
    let Some(number) = value.factors.number else { return };
    let hundred = [number, number.recip()].iter().any(|number| (number / 100.0 - 1.0).abs() < NEAR);
    if value.factors.efficiency && hundred {
        compiler.problems.push(
            Diagnostic::caution(
                Name::PercentAsNumber,
                "100 stands beside an efficiency, which is a ratio: 95 % is 0.95",
            )
            .at(sheet.place(&tree.span))
            .remedy("leave the 100 out, and write percentages with their sign: `95 %`"),
        );
    }
}

/// An efficiency whose default, example or bound says more than one.
pub(super) fn efficiency(
    compiler: &mut Compiler<'_>,
    sheet: &Sheet,
    tree: &Expression,
    number: f64,
    with_unit: bool,
) {
    if number <= 1.0 {
        return;
    }
    let written = sheet.text(&tree.span).to_owned();
    let problem = if with_unit {
        Diagnostic::error(
            Name::EfficiencyAboveOne,
            format!("an efficiency of {written} would create energy"),
        )
        .remedy("an efficiency is 100 % at most")
    } else {
        let remedy = if number < 2.0 {
            "an efficiency is 100 % at most, such as `95 %` or `0.95`".to_owned()
        } else {
            format!("write `{written} %`")
        };
        Diagnostic::error(
            Name::PercentAsNumber,
            format!("an efficiency of {written} would be {} %", number * 100.0),
        )
        .remedy(remedy)
    };
    compiler.problems.push(problem.at(sheet.place(&tree.span)));
}
