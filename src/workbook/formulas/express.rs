//! Operations of a program as native formulas over cells.
//!
//! Only functions that every office suite has. Where a limit decides (comparisons, rounding, steps of a
//! table, preferred numbers), two values within one part in 10^12 count as equal: that is far more than
//! binary arithmetic loses here and far less than anybody can measure, so a tie goes the way that exact
//! decimals go.

use std::collections::{BTreeMap, BTreeSet};

use super::constant::{Binds, Term, float, literal, number, words};
use super::plan::{Home, Plan, TabOf};
use crate::number::Slot;
use crate::program::{
    Between, Binary, Block, Direction, Fold, Op, Ratio, Register, Relation, TableId, Type, Unary,
};

/// Longest formula that spreadsheets take is 8192 signs.
const LONGEST: usize = 8000;

/// What registers stand for inside a block.
type BoundRegisters = BTreeMap<Register, String>;

/// Writes formulas for one tab.
pub(super) struct Express<'a, 'b> {
    pub(super) plan: &'b Plan<'a>,
    pub(super) tab: TabOf,
}

impl Express<'_, '_> {
    /// What stands in the cell of a register; none if it cannot be written as a formula.
    pub(super) fn formula(&self, register: Register, at: u32) -> Option<String> {
        let text = self.made(register, at, &BoundRegisters::new(), true)?.text;
        (text.len() <= LONGEST).then_some(text)
    }

    /// A register as a part of a formula.
    pub(super) fn term(&self, register: Register, at: u32) -> Option<Term> {
        self.of(register, at, &BoundRegisters::new())
    }

    /// A function of a block at an argument that stands in a cell.
    pub(super) fn function(&self, block: &Block, argument: String) -> Option<String> {
        let bound = BoundRegisters::from([(*block.parameters.first()?, argument)]);
        let text = self.of(block.result, 0, &bound)?.text;
        (text.len() <= LONGEST).then_some(text)
    }

    /// A comparison; ties within one part in 10^12.
    pub(super) fn comparison(
        &self,
        relation: Relation,
        a: Register,
        b: Register,
        at: u32,
    ) -> Option<Term> {
        let (a, b) = (self.term(a, at)?, self.term(b, at)?);
        Some(compared(relation, &a, &b))
    }

    fn of(&self, register: Register, at: u32, bound: &BoundRegisters) -> Option<Term> {
        if let Some(text) = bound.get(&register) {
            return Some(Term::whole(text.clone()));
        }
        if let Some(home) = self.plan.homes.get(&register) {
            return Some(Term::whole(home.cell(self.tab, at)));
        }
        self.made(register, at, bound, false)
    }

    /// A register by its operation. `own` when it is what the cell itself holds.
    fn made(&self, register: Register, at: u32, bound: &BoundRegisters, own: bool) -> Option<Term> {
        let step = self.plan.makers.get(&register)?;
        let of = |register: &Register| self.of(*register, at, bound);
        let call = |name: &str, parts: &[Term]| {
            let parts: Vec<&str> = parts.iter().map(|part| part.text.as_str()).collect();
            Term::whole(format!("{name}({})", parts.join(",")))
        };
        Some(match &step.op {
            Op::Literal(value) => literal(value),
            Op::Pi => Term::whole("PI()"),
            Op::Input(_) => return None,
            Op::NoCase | Op::Never(_) => Term::whole("NA()"),
            Op::Unary(function, x) => unary(*function, &of(x)?),
            Op::Binary(function, x, y) => binary(*function, &of(x)?, &of(y)?),
            Op::Power(x, by) => power(&of(x)?, *by),
            Op::Compare(relation, x, y) => return self.compare(*relation, *x, *y, at, bound),
            Op::Both(x, y) => {
                let (a, b) = (of(x)?, of(y)?);
                // what is false decides, whatever the other; a spreadsheet's AND passes errors on
                if self.may_fail(*y) {
                    call("IF", &[a, b, Term::whole("FALSE")])
                } else {
                    call("AND", &[a, b])
                }
            }
            Op::Either(x, y) => {
                let (a, b) = (of(x)?, of(y)?);
                if self.may_fail(*y) {
                    call("IF", &[a, Term::whole("TRUE"), b])
                } else {
                    call("OR", &[a, b])
                }
            }
            Op::Negate(x) => call("NOT", &[of(x)?]),
            Op::Select(which, x, y) => call("IF", &[of(which)?, of(x)?, of(y)?]),
            Op::Round(direction, x, step) => rounded(*direction, &of(x)?, &of(step)?),
            Op::Preferred(direction, _, x) => {
                let decade = match self.plan.aids.get(&register) {
                    Some(home) if own => Term::whole(home.cell(self.tab, at)),
                    _ => decade(&of(x)?),
                };
                self.preferred(*direction, register, &of(x)?, &decade)?
            }
            Op::Read(table, x) => {
                let row = match self.plan.aids.get(&register) {
                    Some(home) if own => Term::whole(home.cell(self.tab, at)),
                    _ => Term::whole(self.table_row(*table, &of(x)?)?),
                };
                self.read(*table, &of(x)?, &row)?
            }
            Op::Fold(fold, series) => self.fold(*fold, *series)?,
            Op::Running { block, start, over } if own => {
                let home = self.plan.homes.get(&register)?;
                let block = self.plan.block(*block)?;
                let before = match at.checked_sub(1) {
                    Some(above) => home.cell(self.tab, above),
                    None => of(start)?.at_least(Binds::Whole),
                };
                let mut inner = bound.clone();
                let elements =
                    over.iter().map(|series| of(series).map(|term| term.at_least(Binds::Whole)));
                let values: Vec<String> =
                    std::iter::once(Some(before)).chain(elements).collect::<Option<_>>()?;
                inner.extend(block.parameters.iter().copied().zip(values));
                self.of(block.result, at, &inner)?
            }
            Op::Integral { .. } if own => {
                let known = self.plan.integrals.iter().find(|known| known.register == register)?;
                Term::whole(known.result(self.tab))
            }
            Op::Running { .. } | Op::Root { .. } | Op::Integral { .. } => return None,
        })
    }

    fn compare(
        &self,
        relation: Relation,
        x: Register,
        y: Register,
        at: u32,
        bound: &BoundRegisters,
    ) -> Option<Term> {
        if let Some(term) = self.is_word(relation, x, y) {
            return Some(term);
        }
        let count = self.plan.count(x).max(self.plan.count(y));
        let Some(count) = count.filter(|_| bound.is_empty()) else {
            return Some(compared(relation, &self.of(x, at, bound)?, &self.of(y, at, bound)?));
        };
        // a series keeps to a limit if every element does
        let all: Vec<String> = (0..count.min(250))
            .map(|at| {
                Some(compared(relation, &self.of(x, at, bound)?, &self.of(y, at, bound)?).text)
            })
            .collect::<Option<_>>()?;
        (count <= 250).then(|| Term::whole(format!("AND({})", all.join(","))))
    }

    /// `mode is linear`: the word itself is compared.
    fn is_word(&self, relation: Relation, x: Register, y: Register) -> Option<Term> {
        let home = self.plan.homes.get(&x)?;
        let input = self
            .plan
            .program
            .inputs
            .iter()
            .find(|input| self.plan.homes.get(&input.register) == Some(home))?;
        let Type::Choice(all) = &input.type_ else { return None };
        let Op::Literal(place) = &self.plan.makers.get(&y)?.op else { return None };
        let word = all.get(usize::try_from(place.digits).ok()?)?;
        let sign = relation.sign();
        Some(Term::new(format!("{}{sign}{}", self.word(*home), words(word)), Binds::Comparison))
    }

    /// A word of a choice as a text, even where a drop-down has made a number of it.
    fn word(&self, home: Home) -> String {
        format!("{}&\"\"", home.cell(self.tab, 0))
    }

    fn fold(&self, fold: Fold, series: Register) -> Option<Term> {
        let home = self.plan.homes.get(&series)?;
        let range = home.range(self.tab);
        Some(Term::whole(match fold {
            Fold::Sum => format!("SUM({range})"),
            Fold::Product => format!("PRODUCT({range})"),
            Fold::Mean => format!("AVERAGE({range})"),
            Fold::SampleDeviation => format!("STDEV({range})"),
            Fold::Greatest => format!("MAX({range})"),
            Fold::Least => format!("MIN({range})"),
            Fold::Count => format!("COUNT({range})"),
            Fold::First => home.cell(self.tab, 0),
            Fold::Last => home.cell(self.tab, home.count?.checked_sub(1)?),
        }))
    }

    /// The formula of the row at which a table is read.
    pub(super) fn table_row_of(&self, register: Register, at: u32) -> Option<String> {
        match self.plan.makers.get(&register)?.op {
            Op::Read(table, x) => self.table_row(table, &self.term(x, at)?),
            _ => None,
        }
    }

    /// The formula of the power of ten below a number.
    pub(super) fn decade_of(&self, register: Register, at: u32) -> Option<String> {
        match self.plan.makers.get(&register)?.op {
            Op::Preferred(_, _, x) => Some(decade(&self.term(x, at)?).text),
            _ => None,
        }
    }

    fn table_row(&self, table: TableId, x: &Term) -> Option<String> {
        let (table, arguments, _) = self.plan.table(table)?;
        let range = arguments.range(self.tab);
        let rows = table.rows.len();
        Some(match table.between {
            Between::StepFrom => format!("MATCH({},{range},1)", more(x)),
            Between::StepUpTo => {
                let (less, first) = (less(x), arguments.cell(self.tab, 0));
                format!("IF({less}<={first},1,MATCH({less},{range},1)+1)")
            }
            Between::Straight if rows < 2 => "1".to_owned(),
            Between::Straight => format!("MIN(MATCH({},{range},1),{})", more(x), rows - 1),
        })
    }

    fn read(&self, table: TableId, x: &Term, row: &Term) -> Option<Term> {
        let (table, arguments, values) = self.plan.table(table)?;
        let (a, v, k) = (arguments.range(self.tab), values.range(self.tab), &row.text);
        let last = arguments.cell(self.tab, arguments.count?.checked_sub(1)?);
        let less = less(x);
        Some(Term::whole(match table.between {
            Between::StepFrom => format!("IF({less}>{last},NA(),INDEX({v},{k}))"),
            Between::StepUpTo => match &table.lowest {
                Some(lowest) => {
                    let lowest = literal(lowest).at_least(Binds::Sum);
                    format!("IF({}<{lowest},NA(),INDEX({v},{k}))", more(x))
                }
                None => format!("INDEX({v},{k})"),
            },
            Between::Straight if table.rows.len() < 2 => {
                format!(
                    "IF({},INDEX({v},{k}),NA())",
                    compared(Relation::Equal, x, &Term::whole(last)).text
                )
            }
            Between::Straight => {
                let x = x.at_least(Binds::Product);
                format!(
                    "IF({less}>{last},NA(),INDEX({v},{k})+({x}-INDEX({a},{k}))*(INDEX({v},{k}+1)-INDEX({v},{k}))\
                     /(INDEX({a},{k}+1)-INDEX({a},{k})))"
                )
            }
        }))
    }

    fn preferred(
        &self,
        direction: Direction,
        register: Register,
        x: &Term,
        decade: &Term,
    ) -> Option<Term> {
        let Op::Preferred(_, which, _) = self.plan.makers.get(&register)?.op else { return None };
        let (_, home) = self.plan.decades.iter().find(|(known, _)| *known == which)?;
        let range = home.range(self.tab);
        let ten = decade.at_least(Binds::Power);
        let part = format!("{}/{ten}", x.at_least(Binds::Product));
        let found = match direction {
            Direction::Down => format!("INDEX({range},MATCH({part}*(1+1E-12),{range},1))"),
            Direction::Up => {
                format!(
                    "IF({part}*(1-1E-12)<=1,1,INDEX({range},MATCH({part}*(1-1E-12),{range},1)+1))"
                )
            }
            Direction::Nearest => {
                // nearest by ratio: the border is the geometric mean of both neighbours
                let below = format!(
                    "MIN(MATCH({part}*(1+1E-12),{range},1),{})",
                    home.count?.checked_sub(1)?
                );
                let (low, high) =
                    (format!("INDEX({range},{below})"), format!("INDEX({range},{below}+1)"));
                format!("IF(({part})^2*(1+1E-12)<{low}*{high},{low},{high})")
            }
        };
        Some(Term::new(format!("{found}*{ten}"), Binds::Product))
    }

    /// Whether a value may be an error for some inputs, as far as the formula itself goes.
    fn may_fail(&self, register: Register) -> bool {
        let Some(step) = self.plan.makers.get(&register) else { return false };
        match &step.op {
            Op::Literal(_) | Op::Pi | Op::Input(_) => false,
            Op::Compare(..) | Op::Both(..) | Op::Either(..) | Op::Negate(_) | Op::Select(..) => {
                step.op.reads().into_iter().any(|read| self.may_fail(read))
            }
            Op::Unary(Unary::Negate | Unary::Absolute, x) => self.may_fail(*x),
            Op::Binary(Binary::Divide | Binary::Raise, ..) => true,
            Op::Binary(_, x, y) => self.may_fail(*x) || self.may_fail(*y),
            _ => true,
        }
    }

    /// A value that is no formula, shown only while everything that it was calculated from is as it was.
    pub(super) fn frozen(&self, register: Register, at: u32, value: &str) -> Option<String> {
        let mut watched = BTreeSet::new();
        self.watched(register, true, &mut BTreeSet::new(), &mut watched);
        let mut conditions = Vec::new();
        for (home, register) in watched {
            conditions.extend(self.still(home, register, at)?);
        }
        let all = match conditions.as_slice() {
            [] => return Some(value.to_owned()),
            [one] => one.clone(),
            all if all.len() <= 250 => format!("AND({})", all.join(",")),
            _ => return None,
        };
        let text = format!("IF({all},{value},NA())");
        (text.len() <= LONGEST).then_some(text)
    }

    /// What says that the cells of a register are as they were; `at` is the element that is looked at where the
    /// register holds one value.
    pub(super) fn still(&self, home: Home, register: Register, at: u32) -> Option<Vec<String>> {
        Some(match self.plan.results.run().register(register).ok()? {
            Slot::One(value) => vec![match self.word_of(home) {
                Some(word) => format!("{}={}", self.word(home), words(&word)),
                None => unchanged(&Term::whole(home.cell(self.tab, at)), value.to_f64()),
            }],
            Slot::Many(values) => (0_u32..)
                .zip(values)
                .map(|(at, value)| unchanged(&Term::whole(home.cell(self.tab, at)), value.to_f64()))
                .collect(),
            Slot::Truth(truth) => {
                let word = if *truth { "TRUE" } else { "FALSE" };
                vec![format!("{}={word}", home.cell(self.tab, 0))]
            }
            Slot::Empty => Vec::new(),
        })
    }

    fn word_of(&self, home: Home) -> Option<String> {
        let plan = self.plan;
        let input = plan
            .program
            .inputs
            .iter()
            .find(|input| plan.homes.get(&input.register) == Some(&home))?;
        let Type::Choice(all) = &input.type_ else { return None };
        let Ok(Slot::One(place)) = plan.results.run().register(input.register) else { return None };
        let at = place.to_f64();
        let known = |place: &usize| u32::try_from(*place).is_ok_and(|place| f64::from(place) == at);
        (0..all.len()).find(known).and_then(|place| all.get(place)).cloned()
    }

    /// The cells that a register is calculated from, through its blocks.
    fn watched(
        &self,
        register: Register,
        own: bool,
        seen: &mut BTreeSet<Register>,
        found: &mut BTreeSet<(Home, Register)>,
    ) {
        if !seen.insert(register) {
            return;
        }
        if let Some(home) = self.plan.homes.get(&register).filter(|_| !own) {
            found.insert((*home, register));
            return;
        }
        let Some(step) = self.plan.makers.get(&register) else { return };
        for read in step.op.reads() {
            self.watched(read, false, seen, found);
        }
        if let Some(block) = step.op.calls().and_then(|id| self.plan.block(id)) {
            for inner in &block.steps {
                self.watched(inner.to, false, seen, found);
            }
        }
    }
}

fn unchanged(cell: &Term, value: f64) -> String {
    if value == 0.0 {
        return format!("{}=0", cell.text);
    }
    let size = float(value.abs()).text;
    format!("ABS({}-{})<=1E-12*{size}", cell.text, float(value).at_least(Binds::Product))
}

/// A little more than a value, however small or negative.
fn more(x: &Term) -> String {
    if is_zero(x) {
        "0".to_owned()
    } else {
        format!("{}+1E-12*ABS({})", x.at_least(Binds::Sum), x.text)
    }
}

fn less(x: &Term) -> String {
    if is_zero(x) {
        "0".to_owned()
    } else {
        format!("{}-1E-12*ABS({})", x.at_least(Binds::Sum), x.text)
    }
}

fn is_zero(x: &Term) -> bool {
    x.text == "0"
}

/// A comparison that takes a difference within one part in 10^12 of the second side as none.
pub(super) fn compared(relation: Relation, a: &Term, b: &Term) -> Term {
    let left = a.at_least(Binds::Sum);
    let right = b.at_least(Binds::Product);
    let text = match relation {
        _ if is_zero(b) => format!("{left}{}0", relation.sign()),
        Relation::AtMost | Relation::Above => format!("{left}{}{}", relation.sign(), more(b)),
        Relation::AtLeast | Relation::Below => format!("{left}{}{}", relation.sign(), less(b)),
        Relation::Equal => format!("ABS({left}-{right})<=1E-12*ABS({})", b.text),
        Relation::Unequal => format!("ABS({left}-{right})>1E-12*ABS({})", b.text),
    };
    Term::new(text, Binds::Comparison)
}

pub(in crate::workbook) fn unary(function: Unary, x: &Term) -> Term {
    let name = match function {
        // spreadsheets read -x^2 as the square of -x
        Unary::Negate => return Term::new(format!("-{}", x.at_least(Binds::Whole)), Binds::Sum),
        Unary::Absolute => "ABS",
        Unary::SquareRoot => "SQRT",
        Unary::Exponential => "EXP",
        Unary::Logarithm => "LN",
        Unary::DecimalLogarithm => "LOG10",
        Unary::Sine => "SIN",
        Unary::Cosine => "COS",
        Unary::Tangent => "TAN",
        Unary::ArcSine => "ASIN",
        Unary::ArcCosine => "ACOS",
        Unary::ArcTangent => "ATAN",
    };
    Term::whole(format!("{name}({})", x.text))
}

pub(in crate::workbook) fn binary(function: Binary, x: &Term, y: &Term) -> Term {
    let joined = |sign: char, own: Binds, right: Binds| {
        Term::new(format!("{}{sign}{}", x.at_least(own), y.at_least(right)), own)
    };
    match function {
        Binary::Add => joined('+', Binds::Sum, Binds::Product),
        Binary::Subtract => joined('-', Binds::Sum, Binds::Product),
        Binary::Multiply => joined('*', Binds::Product, Binds::Power),
        Binary::Divide => joined('/', Binds::Product, Binds::Power),
        Binary::Raise => joined('^', Binds::Whole, Binds::Whole).with(Binds::Power),
        Binary::Least => Term::whole(format!("MIN({},{})", x.text, y.text)),
        Binary::Greatest => Term::whole(format!("MAX({},{})", x.text, y.text)),
    }
}

impl Term {
    fn with(self, binds: Binds) -> Self {
        Self { binds, ..self }
    }
}

pub(in crate::workbook) fn power(x: &Term, by: Ratio) -> Term {
    let base = x.at_least(Binds::Whole);
    match (by.numerator, by.denominator) {
        (1, 1) => x.clone(),
        (1, 2) => Term::whole(format!("SQRT({})", x.text)),
        (up, 1) if up >= 0 => Term::new(format!("{base}^{up}"), Binds::Power),
        (down, 1) => Term::new(format!("{base}^({down})"), Binds::Power),
        (up, down) if down % 2 == 0 => Term::new(format!("{base}^({up}/{down})"), Binds::Power),
        // an odd root is also that of a number below zero, which `^` refuses
        (up, down) if up % 2 == 0 => {
            Term::new(format!("ABS({})^({up}/{down})", x.text), Binds::Power)
        }
        (up, down) => {
            Term::new(format!("SIGN({0})*ABS({0})^({up}/{down})", x.text), Binds::Product)
        }
    }
}

/// A multiple of a step. INT rounds towards minus infinity in every office suite, unlike CEILING and
/// FLOOR, whose ways with signs differ. A quotient within one part in 10^12 of a whole number is that
/// number; a half goes away from zero.
fn rounded(direction: Direction, x: &Term, step: &Term) -> Term {
    let quotient = format!("{}/{}", x.at_least(Binds::Product), step.at_least(Binds::Power));
    let step = step.at_least(Binds::Power);
    Term::new(
        match direction {
            Direction::Up => format!("-INT(1E-12*ABS({quotient})-{quotient})*{step}"),
            Direction::Down => format!("INT({quotient}+1E-12*ABS({quotient}))*{step}"),
            Direction::Nearest => {
                format!("SIGN({quotient})*INT(ABS({quotient})*(1+1E-12)+0.5)*{step}")
            }
        },
        if direction == Direction::Up { Binds::Sum } else { Binds::Product },
    )
}

fn decade(x: &Term) -> Term {
    Term::new(format!("10^INT(LOG10({})+1E-12)", x.text), Binds::Power)
}

/// A whole number.
pub(super) fn whole(value: u32) -> Term {
    number(rust_decimal::Decimal::from(value), 0)
}
