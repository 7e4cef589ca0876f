//! The tab of the courses: charts of speed and way over time over points that are live formulas themselves.
//!
//! The states are the sheet's own values; between two of them the speed has the mean that the way asks, as
//! `calculation::motion` has it, here once more as formulas.

use rust_xlsxwriter::{
    Chart, ChartDataLabel, ChartDataLabelPosition, ChartFont, ChartLine, ChartMarker,
    ChartMarkerType, ChartSolidFill, ChartType, Color, Worksheet, XlsxError,
};

use super::cells::{Shown, write as put};
use super::constant::{factor, words};
use super::express::Express;
use super::heading;
use super::plan::{Plan, TabOf};
use super::stop::{TOP, finish, line_of};
use crate::calculation::motion::{Between, Motion, Part, STEPS, axis, is_moment, motions};
use crate::program::{CourseStates, Register};
use crate::unit::Unit;
use crate::workbook::cell_formats::{Page, Paper};

const WIDTHS: [f64; 12] = [26.0, 14.0, 14.0, 14.0, 12.0, 12.0, 12.0, 12.0, 12.0, 12.0, 12.0, 12.0];

const HEADS: [&str; 12] = [
    "state after", "time in SI", "speed in SI", "way in SI", "mean speed", "level", "share",
    "first part", "last part", "first corner", "last corner", "middle",
];

/// What is drawn upwards, each in a chart of its own, with its column.
type Drawn<'a> = (String, &'a Unit, u16);

/// Courses ready to be written.
pub(super) struct Courses<'a> {
    motion: Motion<'a>,
    time: (String, &'a Unit),
    drawn: Vec<Drawn<'a>>,
    /// Of each course, of each state, the values as formula and number.
    states: Vec<Vec<[(String, f64); 3]>>,
}

/// The courses of the first sheet that has some, if all of them stands in cells.
pub(super) fn find<'a>(plan: &Plan<'a>) -> Option<Courses<'a>> {
    let scopes = 0..plan.program.scopes.len();
    let motion = scopes.into_iter().find_map(|at| motions(plan.program, at).into_iter().next())?;
    let first = *motion.courses.first()?;
    let found = |part: Part| {
        let (at, _, word) = motion.parts.iter().find(|it| it.1 == part)?;
        Some((*at, word.clone(), &first.values.get(*at)?.unit))
    };
    let (time, speed, way) = (found(Part::Time)?, found(Part::Speed)?, found(Part::Way));
    let drawn = std::iter::once((speed.1, speed.2, 2));
    let way_at = way.as_ref().map(|it| it.0);
    let drawn = drawn.chain(way.map(|(_, word, unit)| (word, unit, 3))).collect();
    let live = |register: Register| {
        let text = Express { plan, tab: TabOf::Stop }.term(register, 0)?.text;
        Some((text, plan.exact(register, 0).map_or(f64::NAN, |value| value.to_f64())))
    };
    let states = |course: &&CourseStates| {
        let state = |k: usize| {
            let of = |at: usize| live(*course.values.get(at)?.registers.get(k)?);
            let way = way_at.map_or(Some((String::new(), 0.0)), of)?;
            Some([of(time.0)?, of(speed.0)?, way])
        };
        (0..=course.lines.len()).map(state).collect::<Option<Vec<_>>>()
    };
    let states = motion.courses.iter().map(states).collect::<Option<Vec<_>>>()?;
    Some(Courses { time: (time.1, time.2), drawn, states, motion })
}

fn shown(value: f64) -> Shown {
    if value.is_finite() { Shown::Number(value) } else { Shown::Error }
}

/// Writes the points; answers with the charts over them.
pub(super) fn write(
    tab: &mut Worksheet,
    plan: &Plan<'_>,
    courses: &Courses<'_>,
    paper: &Paper,
) -> Result<Vec<Chart>, XlsxError> {
    let page = Page {
        widths: &WIDTHS,
        landscape: true,
        headings: (0, 1),
        foot: "courses over time; the states are the sheet's own values",
    };
    tab.set_name(TabOf::Stop.name())?;
    heading(tab, plan, paper, (TabOf::Stop.name(), ""), 0)?;
    let about = "the charts follow the inputs: their points are formulas, the states marked the sheet's own values; between the \
states marked: as the calculated angle or way asks, a parabola with that mean of the speed, or two with a constant speed between them";
    page.across(tab, 1, about, &paper.across)?;
    // one unit of each, in SI
    let mut row = TOP;
    page.part(tab, row - 1, "units", &[(1, "in SI")], paper)?;
    let units =
        std::iter::once((1, courses.time.1)).chain(courses.drawn.iter().map(|it| (it.2, it.1)));
    let mut factors = ["1".to_owned(), String::new(), String::new(), String::new()];
    for (column, unit) in units {
        tab.write_string_with_format(row, 0, format!("1 {}", unit.symbol), &paper.name)?;
        let (text, value) = (factor(unit.factor).text, unit.factor.as_f64());
        put(tab, (row, 1), Some(&text), &Shown::Number(value), &paper.side_number)?;
        if let Some(cell) = factors.get_mut(usize::from(column)) {
            *cell = format!("$B${}", row + 1);
        }
        row += 1;
    }
    let mut charts: Vec<Chart> =
        courses.drawn.iter().map(|_| Chart::new(ChartType::ScatterStraight)).collect();
    let mut sketch = Sketch { courses, page: &page, paper, factors, row: row + 1 };
    for at in 0..courses.states.len() {
        sketch.course(tab, at, &mut charts)?;
    }
    let count = courses.states.len();
    for (chart, (word, unit, _)) in charts.iter_mut().zip(&courses.drawn) {
        let title = format!("Courses: {word} over time");
        let way = courses.drawn.last().map_or("", |it| it.0.as_str());
        let between = format!("between the states marked: as the {way} asks, without peaks");
        let across = format!("{}; {between}", axis(&courses.time.0, courses.time.1));
        finish(chart, &title, &across, &axis(word, unit));
        // the states marked have no line of their own in the legend
        let marks: Vec<usize> = (0..count).map(|at| 2 * at + 1).collect();
        chart.legend().delete_entries(&marks);
    }
    page.set(tab)?;
    Ok(charts)
}

/// The tab under way.
struct Sketch<'a, 'b> {
    courses: &'a Courses<'b>,
    page: &'a Page<'a>,
    paper: &'a Paper,
    /// The cells of the units, by the column of what is in them.
    factors: [String; 4],
    row: u32,
}

impl Sketch<'_, '_> {
    /// A course: its states, then its points.
    fn course(
        &mut self,
        tab: &mut Worksheet,
        at: usize,
        charts: &mut [Chart],
    ) -> Result<(), XlsxError> {
        let (Some(course), Some(states)) =
            (self.courses.motion.courses.get(at), self.courses.states.get(at))
        else {
            return Ok(());
        };
        let (number, small) = (&self.paper.number, &self.paper.side_number);
        let title = self.row;
        let first = title + 2;
        let count = u32::try_from(states.len()).unwrap_or(0);
        let end = first + count - 1;
        self.page.part(tab, title, "", &[], self.paper)?;
        let factor = self.courses.time.1.factor.as_f64();
        let [time, ..] = &self.factors;
        let (before, symbol) =
            (format!("{}: ", course.name), format!(" {}", self.courses.time.1.symbol));
        let live = format!(
            "IF(ISNUMBER(B{0}),{1}&ROUND(B{0}/{time},4)&{2},{3})",
            end + 1,
            words(&before),
            words(&symbol),
            words(&format!("{before}no end"))
        );
        let last = states.last().map_or(f64::NAN, |it| it[0].1) / factor;
        let told = match last.is_finite() {
            true => format!("{before}{}{symbol}", (last * 1e4).round() / 1e4),
            false => format!("{before}no end"),
        };
        put(tab, (title, 0), Some(&live), &Shown::Words(told), &self.paper.part)?;
        self.page.heads(tab, title + 1, &HEADS, self.paper)?;
        let names = std::iter::once("the start").chain(course.lines.iter().map(String::as_str));
        let mut shapes = Vec::new();
        for ((row, state), name) in (first..).zip(states).zip(names) {
            tab.write_string_with_format(row, 0, name, &self.paper.name)?;
            for (column, (text, value)) in (1_u16..).zip(state).filter(|it| !it.1.0.is_empty()) {
                put(tab, (row, column), Some(text), &shown(*value), number)?;
            }
            let Some(before) = (row > first).then(|| states.get(shapes.len())).flatten() else {
                continue;
            };
            let (mean, shape) = shape(before, state, self.has_way());
            let live = shape_texts(row, self.has_way()).into_iter().zip(shape_values(mean, &shape));
            for (column, (text, value)) in (4_u16..).zip(live) {
                put(tab, (row, column), Some(&text), &value, small)?;
            }
            shapes.push(shape);
        }
        // the points, in the units of the axes
        self.row = end + 2;
        let heads = ["part", "time", "speed", "way"];
        self.page.heads(tab, self.row, &heads, self.paper)?;
        let points = self.row + 1;
        self.row = points;
        for ((row, pair), shape) in (first + 1..).zip(states.windows(2)).zip(&shapes) {
            let [before, after] = pair else { continue };
            self.points(tab, row, [before, after], shape)?;
        }
        // the states once more, in the units of the axes, to be marked
        let marks = self.row;
        for (row, state) in (first..).zip(states).skip(1) {
            let cell = |column: char| format!("{column}{}", row + 1);
            self.point(
                tab,
                None,
                [cell('B'), cell('C'), cell('D')],
                [state[0].1, state[1].1, state[2].1],
            )?;
        }
        let name = TabOf::Stop.name();
        let range = |from: u32, until: u32, column: u16| (name, from, column, until, column);
        for (chart, (.., column)) in charts.iter_mut().zip(&self.courses.drawn) {
            chart
                .add_series()
                .set_categories(range(points, marks - 1, 1))
                .set_values(range(points, marks - 1, *column))
                .set_name((name, title, 0))
                .set_format(&mut line_of(at));
            let labels: Vec<ChartDataLabel> = course
                .lines
                .iter()
                .map(|line| ChartDataLabel::new().set_value(line.as_str()).to_custom())
                .collect();
            let mut font = ChartFont::new();
            font.set_name("Arial").set_size(8);
            let mut label = ChartDataLabel::new();
            label.show_value().set_position(ChartDataLabelPosition::Above).set_font(&font);
            let mut marker = ChartMarker::new();
            let mut fill = ChartSolidFill::new();
            fill.set_color(Color::Black);
            marker.set_type(ChartMarkerType::Square).set_size(5).set_format(&mut fill);
            chart
                .add_series()
                .set_categories(range(marks, self.row - 1, 1))
                .set_values(range(marks, self.row - 1, *column))
                .set_name(&format!("{}: states", course.name))
                .set_marker(&marker)
                .set_format(ChartLine::new().set_hidden(true))
                .set_data_label(&label)
                .set_custom_data_labels(&labels);
        }
        self.row += 1;
        Ok(())
    }

    fn has_way(&self) -> bool {
        self.courses.drawn.len() > 1
    }
}

impl Sketch<'_, '_> {
    /// The points of a phase that ends in the state of a row: of its first part outwards, of its last inwards.
    fn points(
        &mut self,
        tab: &mut Worksheet,
        row: u32,
        [before, after]: [&[(String, f64); 3]; 2],
        shape: &Between,
    ) -> Result<(), XlsxError> {
        let has_way = self.has_way();
        let (from, to) = (row, row + 1);
        let long = after[0].1 - before[0].1;
        let halves = [(from, "+", 'H', 'J', before, 1.0), (to, "-", 'I', 'K', after, -1.0)];
        for (half, (end, sign, part, corner, state, way)) in halves.into_iter().enumerate() {
            let Some((of_time, toward)) = shape.long.get(half).zip(shape.corner.get(half)) else {
                continue;
            };
            for step in 0..=STEPS {
                let step = if half == 0 { step } else { STEPS - step };
                let u = f64::from(step) / f64::from(STEPS);
                let a = format!("A{}", self.row + 1);
                let length = format!("(B${to}-B${from})*{part}${to}");
                let ends = [state[1].1, *toward];
                let texts = [
                    format!("(B${end}{sign}{length}*{a})"),
                    format!("((1-{a})^2*C${end}+2*{a}*(1-{a})*{corner}${to}+{a}^2*L${to})"),
                    format!(
                        "(D${end}{sign}{length}*(C${end}*(1-(1-{a})^3)+{corner}${to}*(3-2*{a})*{a}^2+L${to}*{a}^3)/3)"
                    ),
                ];
                let whole = way * long * of_time;
                let values = [
                    state[0].1 + whole * u,
                    shape.speed(ends, u),
                    if has_way { state[2].1 + whole * shape.way(ends, u) } else { 0.0 },
                ];
                self.point(tab, Some(step), texts, values)?;
            }
        }
        Ok(())
    }

    /// A point in the units of the axes: time, speed, way in SI.
    fn point(
        &mut self,
        tab: &mut Worksheet,
        step: Option<u32>,
        texts: [String; 3],
        values: [f64; 3],
    ) -> Result<(), XlsxError> {
        if let Some(step) = step {
            let share = f64::from(step) / f64::from(STEPS);
            let text = format!("{step}/{STEPS}");
            put(tab, (self.row, 0), Some(&text), &Shown::Number(share), &self.paper.side_number)?;
        }
        let units = std::iter::once((1, self.courses.time.1));
        for (column, unit) in units.chain(self.courses.drawn.iter().map(|it| (it.2, it.1))) {
            let at = usize::from(column);
            let (Some(text), Some(value), Some(cell)) =
                (texts.get(at - 1), values.get(at - 1), self.factors.get(at))
            else {
                continue;
            };
            let value = shown(value / unit.factor.as_f64());
            put(
                tab,
                (self.row, column),
                Some(&format!("{text}/{cell}")),
                &value,
                &self.paper.number,
            )?;
        }
        self.row += 1;
        Ok(())
    }
}

/// The mean of the speed between two states, and how it goes.
fn shape(before: &[(String, f64); 3], after: &[(String, f64); 3], has_way: bool) -> (f64, Between) {
    let [(_, t_0), (_, n_0), (_, w_0)] = before;
    let [(_, t_1), (_, n_1), (_, w_1)] = after;
    let mean = match has_way && !is_moment(*t_0, *t_1) {
        true => (w_1 - w_0) / (t_1 - t_0),
        false => (n_0 + n_1) / 2.0,
    };
    (mean, Between::new(*n_0, *n_1, mean))
}

/// What stands beside the state in which a phase ends, as formulas: the mean of the speed, the level that it keeps to,
/// the share of the time away from that, and the curve as `Between` has it.
fn shape_texts(row: u32, has_way: bool) -> [String; 8] {
    let (p, r) = (row, row + 1);
    let straight = format!("(C{p}+C{r})/2");
    let mean = match has_way {
        true => format!("IF(B{r}-B{p}>1E-9*B{r},(D{r}-D{p})/(B{r}-B{p}),{straight})"),
        false => straight,
    };
    let (low, high) = (format!("MIN(C{p},C{r})"), format!("MAX(C{p},C{r})"));
    let near = format!("1E-9*MAX(ABS(C{p}),ABS(C{r}))");
    let (a, b) = (format!("ABS(C{p}-F{r})"), format!("ABS(C{r}-F{r})"));
    let long = |of: &str| format!("IF(G{r}<1,G{r}*SQRT({of})/(SQRT({a})+SQRT({b})),0.5)");
    [
        mean,
        format!(
            "IF(AND(E{r}>={low}-{near},E{r}<={high}+{near}),IF(E{r}<(2*{low}+{high})/3-{near},{low},IF(E{r}>({low}+2*{high})/3+{near},{high},\"none\")),IF(OR(AND(E{r}>=0,E{r}<{low}),AND(E{r}>{high},E{r}<=0)),0,\"none\"))"
        ),
        format!("IF(F{r}=\"none\",1,MIN(1,ABS(E{r}-F{r})*3/({a}-SQRT({a}*{b})+{b})))"),
        long(&a),
        long(&b),
        format!("IF(G{r}<1,F{r},(3*E{r}-C{r})/2)"),
        format!("IF(G{r}<1,F{r},(3*E{r}-C{p})/2)"),
        format!("IF(G{r}<1,F{r},(J{r}+K{r})/2)"),
    ]
}

/// The same as numbers.
fn shape_values(mean: f64, shape: &Between) -> [Shown; 8] {
    let [first, last] = shape.long;
    let [toward, from] = shape.corner;
    // what rests on a value that does not exist does not exist either
    let of = |value: f64| if mean.is_finite() { shown(value) } else { Shown::Error };
    let level = match shape.level {
        None if mean.is_finite() => Shown::Words("none".to_owned()),
        level => of(level.unwrap_or(0.0)),
    };
    [
        shown(mean),
        level,
        of(shape.share),
        of(first),
        of(last),
        of(toward),
        of(from),
        of(shape.middle),
    ]
}
