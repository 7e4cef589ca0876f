//! Integrals as sums over fixed points: the Gauss–Kronrod pair of 15 and 31 points, each function value in a
//! cell of its own. The two sums are calculated over the same points; where they differ by more than one part
//! in 10^9 the result is `#N/A` instead of a poor figure. The sum of 31 is far better than that difference.
//!
//! Source of the method: R. Piessens et al., "QUADPACK", 1983.

use rust_xlsxwriter::{Worksheet, XlsxError};

use super::cells::{Shown, write as put};
use super::express::Express;
use super::heading;
use super::plan::{FIRST, Plan, TabOf};
use crate::number::{Exact, PAIR, function_at};
use crate::program::{Block, Op, Register};
use crate::workbook::cell_formats::{Page, Paper};

/// Largest difference of both sums, over the sum of magnitudes.
const DIFFERENCE: f64 = 1e-9;

/// Difference from the exact integral, over it, above which the points are not good enough.
const GOOD: f64 = 1e-11;

/// Rows before the first point: name, headings, bounds, headings.
const ABOVE: u32 = 4;

/// Points.
const POINTS: u32 = 31;

/// Rows of one integral, with the line free below it.
const ROWS: u32 = ABOVE + POINTS + 3;

/// An integral that is written point by point.
pub(super) struct Integral<'a> {
    pub(super) register: Register,
    block: &'a Block,
    from: Register,
    to: Register,
    /// First row, from 0.
    row: u32,
    /// Argument and function at each point.
    points: Vec<(f64, f64)>,
}

impl Integral<'_> {
    /// The result, as a formula of another tab.
    pub(super) fn result(&self, from: TabOf) -> String {
        let row = self.row + ABOVE + POINTS + 2;
        let tab = if from == TabOf::Integrals { "" } else { "integrals!" };
        format!("IF(ABS({tab}A{row}-{tab}B{row})<=1E-9*{tab}C{row},{tab}A{row},NA())")
    }
}

/// Node, weight among 31, weight among 15, from −1 to 1.
fn pair() -> Vec<(f64, f64, f64)> {
    let number = |digits: i128| format!("{digits}e-30").parse().unwrap_or(f64::NAN);
    let right: Vec<(f64, f64, f64)> = PAIR
        .iter()
        .map(|(node, fine, rough)| (number(*node), number(*fine), number(*rough)))
        .collect();
    let left = right
        .iter()
        .filter(|(node, ..)| *node > 0.0)
        .map(|(node, fine, rough)| (-node, *fine, *rough));
    left.chain(right.iter().rev().copied()).collect()
}

/// The integrals for which the points are good enough.
pub(super) fn find<'a>(plan: &Plan<'a>) -> Vec<Integral<'a>> {
    let mut found = Vec::new();
    let express = Express { plan, tab: TabOf::Integrals };
    for step in &plan.program.steps {
        let Op::Integral { block, from, to } = step.op else { continue };
        let Some(block) = plan.block(block) else { continue };
        let row = FIRST - 1 + ROWS * u32::try_from(found.len()).unwrap_or(0);
        let written = express.function(block, "D1".to_owned()).is_some();
        if let Some(points) = points(plan, step.to, block, from, to).filter(|_| written) {
            found.push(Integral { register: step.to, block, from, to, row, points });
        }
    }
    found
}

fn points(
    plan: &Plan<'_>,
    register: Register,
    block: &Block,
    from: Register,
    to: Register,
) -> Option<Vec<(f64, f64)>> {
    if plan.count(register).is_some() {
        return None;
    }
    let (a, b) = (plan.exact(from, 0)?.to_f64(), plan.exact(to, 0)?.to_f64());
    let (half, middle) = ((b - a) / 2.0, (a + b) / 2.0);
    let pair = pair();
    let at: Vec<f64> = pair.iter().map(|(node, ..)| middle + half * node).collect();
    let arguments: Vec<Exact> =
        at.iter().map(|x| Exact::from_f64(*x).ok()).collect::<Option<_>>()?;
    let values = function_at(plan.program, plan.results.run(), block, &arguments);
    let values: Vec<f64> =
        values.iter().map(|value| value.map(|value| value.to_f64())).collect::<Option<_>>()?;
    let points: Vec<(f64, f64)> = at.into_iter().zip(values).collect();
    let (fine, rough, size) = sums(&points, half);
    let exact = plan.exact(register, 0)?.to_f64();
    let good = (fine - rough).abs() <= DIFFERENCE / 10.0 * size
        && (fine - exact).abs() <= GOOD * exact.abs();
    good.then_some(points)
}

fn sums(points: &[(f64, f64)], half: f64) -> (f64, f64, f64) {
    let pair = pair();
    let sum = |of: &dyn Fn(f64, f64, f64) -> f64| -> f64 {
        pair.iter()
            .zip(points)
            .map(|((_, fine, rough), (_, value))| of(*fine, *rough, *value))
            .sum()
    };
    (
        sum(&|fine, _, value| fine * value) * half,
        sum(&|_, rough, value| rough * value) * half,
        sum(&|fine, _, value| fine * value.abs()) * half.abs(),
    )
}

pub(super) fn write(tab: &mut Worksheet, plan: &Plan<'_>, paper: &Paper) -> Result<(), XlsxError> {
    let page = Page {
        widths: &[18.0, 18.0, 18.0, 18.0, 18.0],
        landscape: false,
        headings: (0, 1),
        foot: "integrals as sums over the points of the Gauss–Kronrod pair 15-31",
    };
    tab.set_name(TabOf::Integrals.name())?;
    heading(tab, plan, paper, (TabOf::Integrals.name(), ""), 0)?;
    let about = "each integral as two sums over the same points (Gauss–Kronrod pair of 15 and 31, QUADPACK 1983), in SI; where \
they differ by more than one part in 10^9 the working shows #N/A";
    page.across(tab, 1, about, &paper.across)?;
    let express = Express { plan, tab: TabOf::Integrals };
    for integral in &plan.integrals {
        one(tab, &express, &page, integral, paper)?;
    }
    page.set(tab)
}

fn one(
    tab: &mut Worksheet,
    express: &Express<'_, '_>,
    page: &Page<'_>,
    integral: &Integral<'_>,
    paper: &Paper,
) -> Result<(), XlsxError> {
    let plan = express.plan;
    let home = plan.homes.get(&integral.register);
    let line = plan.makers.get(&integral.register).and_then(|step| plan.line(step.line));
    let name = line.map_or("", |line| line.name.as_str());
    let cell =
        home.map_or(String::new(), |home| format!(", for {}", home.cell(TabOf::Integrals, 0)));
    let top = integral.row;
    page.part(tab, top, &format!("{name}{cell}"), &[], paper)?;
    page.heads(tab, top + 1, &["from", "to", "half the width", "middle"], paper)?;
    let bounds = top + 3;
    for (column, register) in [(0, integral.from), (1, integral.to)] {
        let text = express.term(register, 0).map(|term| term.text);
        put(tab, (top + 2, column), text.as_deref(), &plan.shown(register, 0), &paper.number)?;
    }
    let number = |register| plan.exact(register, 0).map_or(f64::NAN, |value| value.to_f64());
    let (a, b) = (number(integral.from), number(integral.to));
    let (half, middle) = ((b - a) / 2.0, (a + b) / 2.0);
    put(
        tab,
        (top + 2, 2),
        Some(&format!("(B{bounds}-A{bounds})/2")),
        &Shown::Number(half),
        &paper.number,
    )?;
    put(
        tab,
        (top + 2, 3),
        Some(&format!("(A{bounds}+B{bounds})/2")),
        &Shown::Number(middle),
        &paper.number,
    )?;
    page.heads(
        tab,
        top + 3,
        &["point", "weight of 31", "weight of 15", "argument", "function"],
        paper,
    )?;
    let first = top + ABOVE;
    for (row, ((node, fine, rough), (x, value))) in
        (first..).zip(pair().iter().zip(&integral.points))
    {
        let cell = row + 1;
        for (column, constant) in [(0, node), (1, fine), (2, rough)] {
            put(tab, (row, column), None, &Shown::Number(*constant), &paper.side_number)?;
        }
        let argument = format!("D${bounds}+C${bounds}*A{cell}");
        put(tab, (row, 3), Some(&argument), &Shown::Number(*x), &paper.number)?;
        let function = express.function(integral.block, format!("D{cell}"));
        put(tab, (row, 4), function.as_deref(), &Shown::Number(*value), &paper.number)?;
    }
    let (start, end) = (first + 1, first + POINTS);
    page.heads(tab, first + POINTS, &["sum of 31", "sum of 15", "sum of magnitudes"], paper)?;
    let (fine, rough, size) = sums(&integral.points, half);
    let range = |column: char| format!("{column}{start}:{column}{end}");
    let texts = [
        (format!("SUMPRODUCT({},{})*C{bounds}", range('B'), range('E')), fine),
        (format!("SUMPRODUCT({},{})*C{bounds}", range('C'), range('E')), rough),
        (format!("SUMPRODUCT({},ABS({}))*ABS(C{bounds})", range('B'), range('E')), size),
    ];
    for (column, (text, value)) in (0_u16..).zip(texts) {
        put(tab, (first + POINTS + 1, column), Some(&text), &Shown::Number(value), &paper.number)?;
    }
    Ok(())
}
