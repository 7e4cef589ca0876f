//! Calculations of one workbook run in the order in which they feed each other, or not at all.
//!
//! Each workbook is made from a plan that knows what is meant, so the outcome is either the right figures or a
//! problem at the cell concerned; the expected figures are calculated here by plain recursion.

use rust_xlsxwriter::{Formula, Workbook};
use standstill::diagnostic::{Diagnostic, Name, Place, Source};
use standstill::program::Sheets;
use standstill::program::{Checked, NoResolver, compile, unknown_sheet};
use standstill::spreadsheet::{Allow, Book, Cell, Position, write_cells};
use standstill::workbook::{Options, compute, compute_with};

/// y = 2·x + 1 s: every step of a chain can be told from every other.
const STEP: &str = "sheet step\ntitle \"Step\"\nsource \"made for this test\"\n\ntakes\n  x : time in s\n\nworks\n  y = 2 * x + 1 s\n\ngives\n  y in s\n";

struct Own;

impl Sheets for Own {
    fn checked(&self, name: &str, place: &Place) -> Result<Checked, Box<Diagnostic>> {
        let text = STEP.replace("sheet step", &format!("sheet {name}"));
        let known = name == "step" || name.starts_with("step_");
        match known {
            true => Ok(compile(&Source::new("step.sheet", text), &NoResolver)),
            false => Err(unknown_sheet(name, &[], &[], place)),
        }
    }

    fn names(&self) -> Vec<String> {
        vec!["step".to_owned()]
    }
}

/// Numbers that look random and are the same in each run.
struct Dice(u64);

impl Dice {
    fn below(&mut self, many: usize) -> usize {
        self.0 =
            self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        usize::try_from(self.0 >> 33).unwrap() % many
    }
}

/// What a calculation of the plan reads: a cell of its own, or the result of another.
#[derive(Clone, Copy)]
enum From {
    Own(i32),
    Result(usize),
}

/// Where the calculations of a plan stand: `R!A1` … hold results, `R!B1` … own inputs; units in the bind file.
struct Plan {
    from: Vec<From>,
    /// The unit in which each result is written: s or ms.
    in_ms: Vec<bool>,
    order: Vec<usize>,
}

impl Plan {
    fn of(dice: &mut Dice) -> Self {
        let count = 2 + dice.below(6);
        let from = (0..count).map(|at| match dice.below(3) {
            0 => From::Own(i32::try_from(dice.below(50)).unwrap()),
            _ if at == 0 => From::Own(7),
            _ => From::Result(dice.below(at)),
        });
        let from = from.collect();
        let in_ms = (0..count).map(|_| dice.below(2) == 0).collect();
        let mut order: Vec<usize> = (0..count).collect();
        for at in (1..count).rev() {
            order.swap(at, dice.below(at + 1));
        }
        Self { from, in_ms, order }
    }

    fn result(&self, at: usize) -> f64 {
        let x = match self.from[at] {
            From::Own(number) => f64::from(number),
            From::Result(other) => self.result(other),
        };
        2.0 * x + 1.0
    }

    fn unit(&self, at: usize) -> &str {
        if self.in_ms[at] { "ms" } else { "s" }
    }

    fn bind(&self) -> String {
        let mut text = String::new();
        for at in &self.order {
            let (cell, unit) = match self.from[*at] {
                From::Own(_) => (format!("B{}", at + 1), "s"),
                From::Result(other) => (format!("A{}", other + 1), self.unit(other)),
            };
            let own = self.unit(*at);
            text.push_str(&format!(
                "sheet step\n  x from R!{cell} in {unit}\n  y to R!A{} in {own}\n",
                at + 1
            ));
        }
        text
    }

    /// Results of an earlier state stand where the new ones are to go.
    fn book(&self, dice: &mut Dice) -> Vec<u8> {
        let mut workbook = Workbook::new();
        let tab = workbook.add_worksheet().set_name("R").unwrap();
        for (at, from) in self.from.iter().enumerate() {
            let row = u32::try_from(at).unwrap();
            if dice.below(2) == 0 {
                tab.write(row, 0, 990.0 + f64::from(row)).unwrap();
            }
            if let From::Own(number) = from {
                tab.write(row, 1, *number).unwrap();
            }
        }
        workbook.save_to_buffer().unwrap()
    }
}

/// The results of the earlier state are short numbers, as a person types them.
const OVER: Options<'_> = Options { worst: false, only: None, over_numbers: true };

fn tried(plans: u64) {
    for seed in 0..plans {
        let mut dice = Dice(seed);
        let plan = Plan::of(&mut dice);
        let bytes = plan.book(&mut dice);
        let book = Book::read("r.xlsx", &bytes).unwrap();
        let bind = Source::new("r.bind", plan.bind());
        let filling = compute_with(&book, Some(&bind), &Own, OVER)
            .unwrap_or_else(|it| panic!("{}: {:?}", plan.bind(), it.problems));
        let written = write_cells("r.xlsx", &bytes, &filling.edits(), Allow::default()).unwrap();
        assert_eq!(filling.outdated(&book, &written), []);
        let filled = Book::read("r.xlsx", &written.bytes).unwrap();
        for at in 0..plan.from.len() {
            let cell = Position { row: u32::try_from(at).unwrap(), column: 0 };
            let Cell::Number(found) = filled.tab("R").unwrap().cell(cell) else {
                panic!("no number")
            };
            let wanted = plan.result(at) * if plan.in_ms[at] { 1000.0 } else { 1.0 };
            assert!(
                (found - wanted).abs() < 1e-9,
                "seed {seed}, A{}: {found} for {wanted}\n{}",
                at + 1,
                plan.bind()
            );
        }
        // a second run changes nothing
        let again = compute(&filled, Some(&bind), &Own).unwrap();
        let again =
            write_cells("r.xlsx", &written.bytes, &again.edits(), Allow::default()).unwrap();
        assert_eq!(again.changed, []);
        broken(&plan, &book, &mut dice);
    }
}

/// One line of the bind file made wrong: always a problem, never a figure.
fn broken(plan: &Plan, book: &Book, dice: &mut Dice) {
    let linked: Vec<usize> =
        (0..plan.from.len()).filter(|at| matches!(plan.from[*at], From::Result(_))).collect();
    let mut mutants: Vec<(String, Name)> = Vec::new();
    if let Some(at) = linked.get(dice.below(linked.len().max(1))) {
        let From::Result(other) = plan.from[*at] else { return };
        let (right, wrong) = if plan.in_ms[other] { ("ms", "s") } else { ("s", "ms") };
        let line = format!("x from R!A{} in ", other + 1);
        mutants.push((
            plan.bind().replace(&format!("{line}{right}\n"), &format!("{line}{wrong}\n")),
            Name::UnitMismatch,
        ));
        // the one that is read reads the reader: a circle
        let mut round =
            Plan { from: plan.from.clone(), in_ms: plan.in_ms.clone(), order: plan.order.clone() };
        round.from[other] = From::Result(*at);
        mutants.push((round.bind(), Name::CircularDefinition));
    }
    let twice = plan.bind().replace("y to R!A2 ", "y to R!A1 ");
    mutants.push((twice, Name::AskedTwice));
    for (at, from) in plan.from.iter().enumerate() {
        if let From::Own(_) = from {
            let own = format!("y to R!A{} ", at + 1);
            let over = plan.bind().replace(&own, &format!("y to R!B{} ", at + 1));
            mutants.push((over, Name::WrittenAndRead));
        }
    }
    for (text, name) in mutants {
        let bind = Source::new("r.bind", text.clone());
        let Err(unfilled) = compute_with(book, Some(&bind), &Own, OVER) else {
            panic!("passed:\n{text}")
        };
        assert!(
            unfilled.problems.iter().any(|it| it.name == name),
            "{:?}\n{text}",
            unfilled.problems
        );
    }
}

#[test]
fn each_calculation_comes_after_those_that_feed_it() {
    tried(200);
}

#[test]
#[ignore = "the long run: 20 000 plans and their mutants"]
fn each_calculation_comes_after_those_that_feed_it_in_the_long_run() {
    tried(20_000);
}

/// Two blocks, and between them a formula of the owner with what was saved for it.
fn with_formula(saved: &str, result: Option<f64>) -> Vec<u8> {
    with_formula_over(3.0, saved, result)
}

fn with_formula_over(x: f64, saved: &str, result: Option<f64>) -> Vec<u8> {
    let mut workbook = Workbook::new();
    let one = workbook.add_worksheet().set_name("One").unwrap();
    one.write(0, 0, "sheet step").unwrap();
    one.write_row(1, 0, ["x", "", "s"]).unwrap();
    one.write(1, 1, x).unwrap();
    one.write_row(2, 0, ["y", "", "s"]).unwrap();
    if let Some(result) = result {
        one.write(2, 1, result).unwrap();
    }
    let two = workbook.add_worksheet().set_name("Two").unwrap();
    two.write(0, 0, "sheet step_two").unwrap();
    two.write_row(1, 0, ["x", "", "s"]).unwrap();
    two.write(1, 1, Formula::new("=One!B3*10").set_result(saved)).unwrap();
    two.write_row(2, 0, ["y", "", "s"]).unwrap();
    workbook.save_to_buffer().unwrap()
}

/// An office program saves 15 digits of a number: 1.666666666666666 comes back as another.
#[test]
fn a_result_that_was_saved_with_15_digits_is_not_a_new_one() {
    let bytes =
        with_formula_over(0.333_333_333_333_333, "16.6666666666667", Some(1.666_666_666_666_67));
    let book = Book::read("w.xlsx", &bytes).unwrap();
    let filling = compute(&book, None, &Own).unwrap();
    let written = write_cells("w.xlsx", &bytes, &filling.edits(), Allow::default()).unwrap();
    assert_eq!(filling.outdated(&book, &written), []);
}

#[test]
fn a_formula_in_between_is_filled_in_the_two_steps_that_the_message_names() {
    let bytes = with_formula("50", None);
    let book = Book::read("w.xlsx", &bytes).unwrap();
    // the result is still empty: nothing needs to be calculated to see it
    let outdated = compute(&book, None, &Own).unwrap_err().problems;
    let [problem] = outdated.as_slice() else { panic!("{outdated:?}") };
    assert_eq!(problem.name, Name::StaleFigures);
    assert_eq!(
        problem.remedy,
        "take two steps: fill with `--only step`, open the workbook in an office program so that it calculates B2, save it, then fill again without it"
    );
    // the first step
    let first = Options { only: Some("step"), ..Options::default() };
    let filling = compute_with(&book, None, &Own, first).unwrap();
    let written = write_cells("w.xlsx", &bytes, &filling.edits(), Allow::default()).unwrap();
    assert_eq!(filling.outdated(&book, &written), []);
    // without an office program the figure is missing, and not the old one
    let book = Book::read("w.xlsx", &written.bytes).unwrap();
    let unfilled = compute(&book, None, &Own).unwrap_err();
    assert_eq!(unfilled.problems.iter().map(|it| it.name).collect::<Vec<_>>(), [Name::EmptyCell]);
    // the second: as the office program saves it; 10 · (2 · 3 + 1) = 70, and 2 · 70 + 1 = 141
    let bytes = with_formula("70", Some(7.0));
    let book = Book::read("w.xlsx", &bytes).unwrap();
    let filling = compute(&book, None, &Own).unwrap();
    let written = write_cells("w.xlsx", &bytes, &filling.edits(), Allow::default()).unwrap();
    assert_eq!(filling.outdated(&book, &written), []);
    let filled = Book::read("w.xlsx", &written.bytes).unwrap();
    assert_eq!(
        filled.tab("Two").unwrap().cell(Position { row: 2, column: 1 }),
        &Cell::Number(141.0)
    );
}

#[test]
fn a_formula_that_leads_back_to_its_own_calculation_is_refused() {
    let mut workbook = Workbook::new();
    let one = workbook.add_worksheet().set_name("One").unwrap();
    one.write(0, 0, "sheet step").unwrap();
    one.write_row(1, 0, ["x", "", "s"]).unwrap();
    one.write(1, 1, Formula::new("=B3/2").set_result("3")).unwrap();
    one.write_row(2, 0, ["y", "", "s"]).unwrap();
    let bytes = workbook.save_to_buffer().unwrap();
    let book = Book::read("w.xlsx", &bytes).unwrap();
    let outdated = compute(&book, None, &Own).unwrap_err().problems;
    assert_eq!(outdated.len(), 1);
    assert_eq!(outdated[0].remedy, "let the formula of B2 not depend on a result of `step`");
}
