//! The tab of the stop: a chart of speed over time over points that are live formulas themselves.
//!
//! The corner points are the sheet's own values. A run-down between two of them is the angular momentum
//! balance J·dω/dt = −T(ω) with T = T_0 + T_load + b·ω + c·ω², summed by Simpson's rule over 24 equal steps
//! of speed and fitted to the time that the sheet calculates.

use std::collections::BTreeMap;

use rust_xlsxwriter::{
    Chart, ChartFont, ChartLegendPosition, ChartLine, ChartLineDashType, ChartType, Color, Format,
    ObjectMovement, Worksheet, XlsxError,
};

use super::cells::{Shown, write as put};
use super::constant::words;
use super::express::Express;
use super::heading;
use super::plan::{Plan, TabOf};
use crate::calculation::picture_spec::{Kind, joined, register, speed_over_time};
use crate::program::Type;
use crate::workbook::cell_formats::{Page, Paper};

/// Steps of speed in a run-down, and of time on a ramp.
const STEPS: u32 = 24;

/// The first row below the headings, from 0.
pub(super) const TOP: u32 = 4;

/// Widths of the columns in digits.
const WIDTHS: [f64; 5] = [22.0, 14.0, 18.0, 14.0, 28.0];

/// Friction below which a run-down would never end.
const LEAST_TORQUE: f64 = 1e-12;

/// Speed left when torque goes, as a part of the first, below which the ramp is taken to have ended.
const NEXT_TO_NOTHING: f64 = 0.001;

/// What the roles are, as the tab says it.
const ROLES: &[(&str, &str)] = &[
    ("n_0", "speed when the stop begins"),
    ("n_end", "rest speed, down to which a run-down is followed"),
    ("J", "inertia"),
    ("T_0", "constant friction"),
    ("b", "friction that grows with the speed"),
    ("c", "fan or windage"),
    ("T_load", "load torque, plus helps the stop"),
    ("t_before", "until the ramp begins"),
    ("t_ramp", "the ramp at its slowest"),
    ("f", "share of the ramp at each end rounded by limited jerk"),
    ("x", "part of the ramp that is done when torque goes"),
    ("t_cut", "torque is removed, in the run with a ramp that works"),
    ("n_left", "speed left then"),
    ("t_early", "torque is removed at the earliest"),
    ("t_late", "torque is removed at the latest"),
    ("t_works", "stop with a ramp that works"),
    ("t_fails", "stop with a ramp that fails"),
    ("t_release", "run-down when torque is removed at once"),
];

/// A formula and its value.
type Live = (String, f64);

/// The stop of a sheet, ready to be written.
pub(super) struct Stop {
    kind: Kind,
    roles: BTreeMap<&'static str, Role>,
}

struct Role {
    /// The sheet's name for it.
    name: String,
    unit: String,
    live: Live,
}

/// The stop that the sheet has, if it has one and all of it stands in cells.
pub(super) fn find(plan: &Plan<'_>) -> Option<Stop> {
    let (drawn, path) = speed_over_time(plan.program)?;
    let roles = drawn.roles.iter().map(|role| known(plan, &path, role));
    Some(Stop { kind: drawn.kind, roles: roles.collect::<Option<_>>()? })
}

fn known(
    plan: &Plan<'_>,
    path: &str,
    (role, below, name): &(&'static str, &str, &str),
) -> Option<(&'static str, Role)> {
    let at = joined(path, below);
    let register = register(plan.program, &at, name)?;
    let text = Express { plan, tab: TabOf::Stop }.term(register, 0)?.text;
    let value = plan.exact(register, 0).filter(|_| plan.count(register).is_none())?.to_f64();
    let line = plan.program.lines.iter().find(|line| line.register == register);
    let unit = match line.map(|line| &line.type_) {
        Some(Type::Number { dimension, .. }) if !dimension.is_none() => dimension.to_string(),
        _ => String::new(),
    };
    let name = if at.is_empty() { (*name).to_owned() } else { format!("{at}.{name}") };
    Some((role, Role { name, unit, live: (text, value) }))
}

/// Writes the points; answers with the chart over them.
pub(super) fn write(
    tab: &mut Worksheet,
    plan: &Plan<'_>,
    stop: &Stop,
    paper: &Paper,
) -> Result<Chart, XlsxError> {
    let page = Page {
        widths: &WIDTHS,
        landscape: false,
        headings: (0, 1),
        foot: "speed over time; corner points are the sheet's own values",
    };
    tab.set_name(TabOf::Stop.name())?;
    let (title, up) = match stop.kind {
        Kind::Stop => ("Speed over time in a stop", "motor speed"),
        _ => ("Speed over time in a run-down", "speed"),
    };
    heading(tab, plan, paper, (TabOf::Stop.name(), ""), 0)?;
    let about = "the chart follows the inputs: its points are formulas, its corner points the sheet's own values; a run-down between \
them is the angular momentum balance with the sheet's friction in 24 steps of speed, fitted to the time calculated";
    page.across(tab, 1, about, &paper.across)?;
    let mut sketch = Sketch::new(stop, paper);
    sketch.values(tab, &page, paper)?;
    match stop.kind {
        Kind::Stop => {
            sketch.ramp_works(tab, &page, paper)?;
            sketch.ramp_fails(tab, &page, paper)?;
            sketch.released(tab, &page, paper)?;
            sketch.removal(tab, &page, paper)?;
        }
        _ => sketch.released(tab, &page, paper)?,
    }
    finish(&mut sketch.chart, title, "time / s", &format!("{up} / (r/min)"));
    page.set(tab)?;
    Ok(sketch.chart)
}

/// The tab under way.
struct Sketch<'a> {
    stop: &'a Stop,
    /// The row of each role, from 0.
    rows: BTreeMap<&'static str, u32>,
    /// The row of the factor of r/min.
    factor: u32,
    /// The next free row.
    row: u32,
    chart: Chart,
    drawn: usize,
    /// Formats of parts, of speeds in SI, of times and of speeds in r/min.
    formats: [Format; 4],
}

impl<'a> Sketch<'a> {
    fn new(stop: &'a Stop, paper: &Paper) -> Self {
        let first = TOP;
        let there = ROLES.iter().filter(|(role, _)| stop.roles.contains_key(role));
        let rows: BTreeMap<_, _> = there.map(|(role, _)| *role).zip(first..).collect();
        let factor = first + u32::try_from(rows.len()).unwrap_or(0);
        let chart = Chart::new(ChartType::ScatterStraight);
        let value = |role: &str| stop.roles.get(role).map_or(0.0, |role| role.live.1);
        let (speed, time) =
            (value("n_0"), value("t_works").max(value("t_fails")).max(value("t_release")));
        let side = |most: f64| paper.side_number.clone().set_num_format(places(most));
        let own = |most: f64| paper.number.clone().set_num_format(places(most));
        let formats = [side(1.0), side(speed), own(time), own(speed * RPM)];
        Self { stop, rows, factor, row: factor + 2, chart, drawn: 0, formats }
    }

    /// The cell and value of a role.
    fn of(&self, role: &str) -> Live {
        let cell = self.rows.get(role).map_or("0".to_owned(), |row| format!("$B${}", row + 1));
        (cell, self.stop.roles.get(role).map_or(0.0, |role| role.live.1))
    }

    /// The values that the points are made from.
    fn values(&self, tab: &mut Worksheet, page: &Page<'_>, paper: &Paper) -> Result<(), XlsxError> {
        let heads = [(1, "in SI"), (2, "SI unit"), (3, "what it is")];
        page.part(
            tab,
            self.rows.values().min().copied().unwrap_or(1) - 1,
            "values",
            &heads,
            paper,
        )?;
        for (role, words) in ROLES {
            let (Some(row), Some(known)) = (self.rows.get(role), self.stop.roles.get(role)) else {
                continue;
            };
            let (text, value) = &known.live;
            tab.write_string_with_format(*row, 0, &known.name, &paper.name)?;
            put(tab, (*row, 1), Some(text), &Shown::Number(*value), &paper.number)?;
            tab.write_string_with_format(*row, 2, &known.unit, &paper.unit)?;
            tab.write_string_with_format(*row, 3, *words, &paper.unit)?;
        }
        tab.write_string_with_format(self.factor, 0, "r/min in one rad/s", &paper.name)?;
        put(tab, (self.factor, 1), Some("30/PI()"), &Shown::Number(RPM), &paper.side_number)
    }

    /// Begins a curve: its heading is its name in the chart.
    fn begin(
        &mut self,
        tab: &mut Worksheet,
        page: &Page<'_>,
        paper: &Paper,
        (text, value): (String, String),
    ) -> Result<u32, XlsxError> {
        let title = self.row;
        page.part(tab, title, "", &[], paper)?;
        put(tab, (title, 0), Some(&text), &Shown::Words(value), &paper.part)?;
        let heads = ["part", "speed in SI", "run-down, not fitted", "time / s", "speed / (r/min)"];
        page.heads(tab, title + 1, &heads, paper)?;
        self.row = title + 2;
        Ok(title)
    }

    /// Ends a curve: its points go into the chart.
    fn end(&mut self, title: u32) {
        let (first, last) = (title + 2, self.row - 1);
        let name = TabOf::Stop.name();
        self.chart
            .add_series()
            .set_categories((name, first, 3, last, 3))
            .set_values((name, first, 4, last, 4))
            .set_name((name, title, 0))
            .set_format(&mut line_of(self.drawn));
        self.drawn += 1;
        self.row += 1;
    }

    /// One point: part, speed in SI, time.
    fn point(
        &mut self,
        tab: &mut Worksheet,
        part: Option<u32>,
        speed: &Live,
        time: &Live,
    ) -> Result<(), XlsxError> {
        let (row, cell) = (self.row, self.row + 1);
        let [of_part, of_speed, of_time, of_shown] = &self.formats;
        if let Some(part) = part {
            let share = f64::from(part) / f64::from(STEPS);
            put(tab, (row, 0), Some(&format!("{part}/{STEPS}")), &Shown::Number(share), of_part)?;
        }
        put(tab, (row, 1), Some(&speed.0), &Shown::Number(speed.1), of_speed)?;
        put(tab, (row, 3), Some(&time.0), &Shown::Number(time.1), of_time)?;
        let shown = format!("B{cell}*$B${}", self.factor + 1);
        put(tab, (row, 4), Some(&shown), &Shown::Number(speed.1 * RPM), of_shown)?;
        self.row += 1;
        Ok(())
    }

    /// The points of a run-down from a speed, that begins and ends at given times.
    fn run_down(
        &mut self,
        tab: &mut Worksheet,
        from: &Live,
        start: &Live,
        end: &Live,
    ) -> Result<(), XlsxError> {
        let (n_end, rest) = (self.of("n_end"), self.of("n_end").1.min(from.1));
        let first = self.row;
        let part = (from.1 - rest) / f64::from(STEPS);
        let speeds: Vec<f64> = (0..=STEPS).map(|step| from.1 - part * f64::from(step)).collect();
        let mut sums = vec![0.0];
        for (high, low) in speeds.iter().zip(speeds.iter().skip(1)) {
            let inverse = |w: f64| self.of("J").1 / self.torque(w);
            let step = (high - low) / 6.0
                * (inverse(*high) + 4.0 * inverse((high + low) / 2.0) + inverse(*low));
            sums.push(sums.last().copied().unwrap_or(0.0) + step);
        }
        let whole = sums.last().copied().unwrap_or(0.0);
        let scale = if whole > 0.0 { (end.1 - start.1) / whole } else { 0.0 };
        let last = first + STEPS + 1;
        for (step, (speed, sum)) in (0..=STEPS).zip(speeds.iter().zip(&sums)) {
            let (row, cell) = (self.row, self.row + 1);
            let text = if step == 0 {
                "0".to_owned()
            } else {
                let (high, low) = (format!("B{row}"), format!("B{cell}"));
                let j = self.of("J").0;
                format!(
                    "C{row}+({high}-{low})/6*({j}/{}+4*{j}/{}+{j}/{})",
                    self.torque_text(&high),
                    self.torque_text(&format!("(({high}+{low})/2)")),
                    self.torque_text(&low)
                )
            };
            let [of_part, ..] = &self.formats;
            put(tab, (row, 2), Some(&text), &Shown::Number(*sum), of_part)?;
            let time = format!("{0}+C{cell}*IF(C${last}>0,({1}-{0})/C${last},0)", start.0, end.0);
            let speed = (format!("{0}-({0}-MIN({1},{0}))*A{cell}", from.0, n_end.0), *speed);
            self.point(tab, Some(step), &speed, &(time, start.1 + sum * scale))?;
        }
        Ok(())
    }

    fn torque(&self, w: f64) -> f64 {
        let get = |role| self.of(role).1;
        (get("T_0") + get("T_load") + get("b") * w + get("c") * w * w).max(LEAST_TORQUE)
    }

    fn torque_text(&self, w: &str) -> String {
        let get = |role| self.of(role).0;
        format!("MAX({}+{}+{}*{w}+{}*{w}^2,1E-12)", get("T_0"), get("T_load"), get("b"), get("c"))
    }

    fn ramp_works(
        &mut self,
        tab: &mut Worksheet,
        page: &Page<'_>,
        paper: &Paper,
    ) -> Result<(), XlsxError> {
        let title =
            self.begin(tab, page, paper, named("ramp works: stands after", &self.of("t_works")))?;
        let (n_0, before, ramp) = (self.of("n_0"), self.of("t_before"), self.of("t_ramp"));
        let (f, done) = (self.of("f"), self.of("x"));
        self.point(tab, None, &n_0, &("0".to_owned(), 0.0))?;
        self.point(tab, None, &n_0, &before)?;
        for part in 1..=STEPS {
            let x = done.1 * f64::from(part) / f64::from(STEPS);
            let at = format!("(A{}*{})", self.row + 1, done.0);
            let speed = (format!("{}*{}", n_0.0, left_text(&at, &f.0)), n_0.1 * left(x, f.1));
            let time = (format!("{}+{}*{at}", before.0, ramp.0), before.1 + ramp.1 * x);
            self.point(tab, Some(part), &speed, &time)?;
        }
        let (left, cut, works) = (self.of("n_left"), self.of("t_cut"), self.of("t_works"));
        let start = (
            format!("IF({}>{NEXT_TO_NOTHING}*{},{},{})", left.0, n_0.0, cut.0, works.0),
            if left.1 > NEXT_TO_NOTHING * n_0.1 { cut.1 } else { works.1 },
        );
        self.run_down(tab, &left, &start, &works)?;
        self.end(title);
        Ok(())
    }

    fn ramp_fails(
        &mut self,
        tab: &mut Worksheet,
        page: &Page<'_>,
        paper: &Paper,
    ) -> Result<(), XlsxError> {
        let words = "ramp fails, full speed until torque goes: stands after";
        let title = self.begin(tab, page, paper, named(words, &self.of("t_fails")))?;
        let n_0 = self.of("n_0");
        self.point(tab, None, &n_0, &("0".to_owned(), 0.0))?;
        let (late, fails) = (self.of("t_late"), self.of("t_fails"));
        self.run_down(tab, &n_0, &late, &fails)?;
        self.end(title);
        Ok(())
    }

    fn released(
        &mut self,
        tab: &mut Worksheet,
        page: &Page<'_>,
        paper: &Paper,
    ) -> Result<(), XlsxError> {
        let released = self.of("t_release");
        let title =
            self.begin(tab, page, paper, named("torque removed at once: stands after", &released))?;
        self.run_down(tab, &self.of("n_0"), &("0".to_owned(), 0.0), &released)?;
        self.end(title);
        Ok(())
    }

    /// An upright line at the latest moment at which torque goes.
    fn removal(
        &mut self,
        tab: &mut Worksheet,
        page: &Page<'_>,
        paper: &Paper,
    ) -> Result<(), XlsxError> {
        let late = self.of("t_late");
        let title =
            self.begin(tab, page, paper, named("torque removed at the latest after", &late))?;
        self.point(tab, None, &("0".to_owned(), 0.0), &late)?;
        self.point(tab, None, &self.of("n_0"), &late)?;
        self.end(title);
        Ok(())
    }
}

/// The lines of the curves of a chart, in their order.
pub(super) fn line_of(at: usize) -> ChartLine {
    const LINES: [(ChartLineDashType, Color, f64); 4] = [
        (ChartLineDashType::Solid, Color::Black, 2.0),
        (ChartLineDashType::Dash, Color::Black, 1.75),
        (ChartLineDashType::RoundDot, Color::RGB(0x0059_5959), 1.75),
        (ChartLineDashType::Solid, Color::RGB(0x009A_9A9A), 1.0),
    ];
    let mut line = ChartLine::new();
    if let Some((dash, colour, width)) = LINES.get(at) {
        line.set_dash_type(*dash).set_color(*colour).set_width(*width);
    }
    line
}

/// r/min in one rad/s.
const RPM: f64 = 30.0 / std::f64::consts::PI;

/// The name of a curve with its time in s, as a formula and as it stands now.
fn named(what: &str, time: &Live) -> (String, String) {
    let text = format!("{}&ROUND({},3)&\" s\"", words(&format!("{what} ")), time.0);
    (text, format!("{what} {} s", (time.1 * 1000.0).round() / 1000.0))
}

/// A format that shows five digits of the largest value.
fn places(most: f64) -> &'static str {
    match most {
        most if most >= 10_000.0 => "0",
        most if most >= 1000.0 => "0.0",
        most if most >= 100.0 => "0.00",
        most if most >= 10.0 => "0.000",
        most if most >= 1.0 => "0.0000",
        _ => "0.00000",
    }
}

/// Part of the speed that is left on a ramp of which a part is done; a share f at each end is rounded.
///
/// Source: constant jerk integrated twice (derivation).
fn left(x: f64, f: f64) -> f64 {
    if f > 0.0 && x < f {
        1.0 - x * x / (2.0 * f * (1.0 - f))
    } else if x <= 1.0 - f + 1e-12 {
        1.0 - (x - f / 2.0) / (1.0 - f)
    } else {
        (1.0 - x) * (1.0 - x) / (2.0 * f * (1.0 - f))
    }
}

fn left_text(x: &str, f: &str) -> String {
    format!(
        "IF(AND({f}>0,{x}<{f}),1-{x}^2/(2*{f}*(1-{f})),IF({x}<=1-{f}+1E-12,1-({x}-{f}/2)/(1-{f}),(1-{x})^2/(2*{f}*(1-{f}))))"
    )
}

pub(super) fn finish(chart: &mut Chart, title: &str, across: &str, up: &str) {
    let mut small = ChartFont::new();
    small.set_name("Arial").set_size(9).unset_bold();
    let mut large = ChartFont::new();
    large.set_name("Arial").set_size(11);
    let mut grid = ChartLine::new();
    grid.set_color(Color::RGB(0x00D9_D9D9)).set_width(0.5);
    chart.title().set_name(title).set_font(&large);
    chart.legend().set_position(ChartLegendPosition::Bottom).set_font(&small);
    chart.x_axis().set_name(across).set_name_font(&small).set_font(&small).set_min(0);
    chart.x_axis().set_major_gridlines(true).set_major_gridlines_line(&grid);
    chart.y_axis().set_name(up).set_name_font(&small).set_font(&small).set_min(0);
    chart.y_axis().set_major_gridlines(true).set_major_gridlines_line(&grid);
    // the tab of the points is hidden
    chart.show_hidden_data();
    chart.set_alt_text(title);
    chart.set_object_movement(ObjectMovement::MoveButDontSizeWithCells);
}
