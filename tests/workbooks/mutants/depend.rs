//! Workbooks whose formulas speak of cells in every way: the plan knows which of them depend on a result.
//!
//! A true dependent loses its saved result, any other keeps it, and the second run changes not a byte.

use rust_xlsxwriter::{Formula, Table, TableColumn, Workbook};
use standstill::diagnostic::{Name, Source};
use standstill::environment::NoFs;
use standstill::project::Project;
use standstill::spreadsheet::{Allow, Book, Cell, Position, write_cells};
use standstill::workbook::{Unfilled, compute};

use super::Rng;

/// Whether a formula depends on a result.
#[derive(Clone, Copy, PartialEq, Debug)]
enum Depends {
    Yes,
    No,
    Perhaps,
}

use Depends::{No, Perhaps, Yes};

/// Formulas of the tab `Calc`; results stand in `Data!B5` and `Data!B6`, nothing of ours in column C, formulas over
/// column B in column D.
const FORMS: &[(&str, Depends)] = &[
    ("=Data!B5*2", Yes),
    ("=Data!C5*2", No),
    ("=$A$900+Data!$B$6", Yes),
    ("=SUM(Data!B4:C6)", Yes),
    ("=SUM(Data!B2:C4)", No),
    ("=SUM(Data!B:B)", Yes),
    ("=SUM(Data!C:C)", No),
    ("=SUM(Data!C:D)", Yes),
    ("=SUM(Data!5:5)", Yes),
    ("=SUM(Data!1:3)", No),
    ("=SUM(Line[Value])", Yes),
    ("=SUM(Line[Other])", No),
    ("=SUM(Line[[Value]:[Other]])", Yes),
    ("=COUNTA(Line[#Headers])", No),
    ("=COUNTA(Line[[#Headers],[#Data],[Value]])", Yes),
    ("=ROWS(Line)", Yes),
    ("=SUM(Remark[Text])", No),
    ("=stop_time*2", Yes),
    ("=other_value*2", No),
    ("=twice_stop+1", Yes),
    ("=twice_other+1", No),
    ("=own_stop+1", Yes),
    ("=INDIRECT(\"Data!B5\")", Yes),
    ("=INDIRECT(\"Data!C5\")", No),
    ("=INDIRECT(\"stop_time\")", Yes),
    ("=INDIRECT($D$1)", Perhaps),
    ("=INDIRECT(\"Data!B\"&$D$2)", Perhaps),
    ("=OFFSET(Data!$A$1,4,1)", Yes),
    ("=OFFSET(Data!$A$1,4,2)", No),
    ("=SUM(OFFSET(Data!$A$1,1,1,5,1))", Yes),
    ("=SUM(OFFSET(Data!$B$5,0,1,2,1))", No),
    ("=OFFSET(Data!$A$1,$D$2,1)", Perhaps),
    ("=INDEX(Data!$B$1:$B$7,5)", Yes),
    ("=INDEX(Data!$C$1:$C$7,5)", No),
    ("=VLOOKUP(\"x\",Data!$A$1:$B$7,2,FALSE)", Yes),
    ("=SUM(Data:More!B5)", Yes),
    ("=SUM(Data:More!C5)", No),
    ("=SUM(More:Calc!Z9)", No),
    ("=SUM('Data:More'!B5:C5)", Yes),
    ("=[1]Data!B5", No),
    ("=LEN(\"Data!B5\")", No),
];

/// The saved result of every formula: none of them has this value.
const SAVED: f64 = 7.5;

struct Plan {
    forms: Vec<(String, Depends)>,
    /// The formula that gives the input `J`.
    input: (String, Depends),
}

impl Plan {
    fn new(rng: &mut Rng) -> Self {
        let mut forms: Vec<(String, Depends)> = Vec::new();
        for row in 0..12 {
            // one in three depends on a formula above it
            if row > 0 && rng.below(3) == 0 {
                let at = rng.below(row);
                forms.push((format!("=A{}+1", at + 1), forms[at].1));
            } else {
                let (text, depends) = *rng.pick(FORMS);
                forms.push((text.to_owned(), depends));
            }
        }
        let at = rng.below(forms.len());
        let input = match rng.below(3) {
            // what a formula gives is compared with what is saved, where it is calculated again
            0 => (format!("={SAVED}*1"), No),
            1 => ("=SUM(Line[Other])".to_owned(), No),
            _ => (format!("=SKEW(Calc!A{})", at + 1), forms[at].1),
        };
        // what reads the whole column of values reads the input as well: fine, it is no result
        Self { forms, input }
    }

    fn book(&self) -> Vec<u8> {
        let saved = |text: &str| Formula::new(text).set_result(SAVED.to_string());
        let mut book = Workbook::new();
        let data = book.add_worksheet();
        data.set_name("Data").unwrap();
        let columns = ["Name", "Value", "Other", "Twice"];
        let heads: Vec<_> = columns.iter().map(|it| TableColumn::new().set_header(*it)).collect();
        let table = Table::new().set_name("Line").set_columns(&heads);
        data.add_table(0, 0, 6, 3, &table).unwrap();
        data.write_formula(1, 1, saved(&self.input.0)).unwrap();
        data.write_number(2, 1, 1450.0).unwrap();
        data.write_number(3, 1, 1.6).unwrap();
        data.write_number(6, 1, 3.0).unwrap();
        for row in 1..7 {
            // their sum is what is saved
            data.write_number(row, 2, SAVED / 6.0).unwrap();
            data.write_formula(row, 3, saved("=Line[[#This Row],[Value]]*2")).unwrap();
        }
        let more = book.add_worksheet();
        more.set_name("More").unwrap();
        let text =
            Table::new().set_name("Remark").set_columns(&[TableColumn::new().set_header("Text")]);
        more.add_table(0, 0, 3, 0, &text).unwrap();
        let calc = book.add_worksheet();
        calc.set_name("Calc").unwrap();
        for ((text, _), row) in self.forms.iter().zip(0..) {
            calc.write_formula(row, 0, saved(text)).unwrap();
        }
        calc.write_string(0, 3, "Data!C5").unwrap();
        calc.write_number(1, 3, 5.0).unwrap();
        for (name, text) in [
            ("stop_time", "=Data!$B$5"),
            ("other_value", "=Data!$C$5"),
            ("twice_stop", "=2*Data!$B$5"),
            ("twice_other", "=OFFSET(Data!$A$1,4,2)*2"),
            ("Calc!own_stop", "=Data!$B$6"),
        ] {
            book.define_name(name, text).unwrap();
        }
        book.save_to_buffer().unwrap()
    }
}

const BIND: &str = "sheet run-down\n  J from Data!B2 in kg·m²\n  n_0 from Data!B3 in r/min\n  T_0 from Data!B4 in N·m\n  t_stop to Data!B5 in s\n  E_stop to Data!B6 in J\n";

fn cell(bytes: &[u8], tab: &str, row: u32, column: u32) -> Cell {
    let book = Book::read("Case.xlsx", bytes).unwrap();
    book.tab(tab).unwrap().cell(Position { row, column }).clone()
}

#[test]
fn only_true_dependents_lose_what_was_saved_and_a_second_run_changes_nothing() {
    let count = std::env::var("STANDSTILL_MUTANTS").ok().and_then(|it| it.parse().ok());
    let mut seen = [0; 3];
    for seed in 0..count.map_or(40, |count: u64| count / 10) {
        let plan = Plan::new(&mut Rng::of(seed));
        let bytes = plan.book();
        let source = Source::new("case.bind", BIND);
        let fill = |bytes: &[u8]| {
            let book = Book::read("Case.xlsx", bytes).unwrap();
            let filling = compute(&book, Some(&source), &Project::new(&NoFs))?;
            let written =
                write_cells("Case.xlsx", bytes, &filling.edits(), Allow::default()).unwrap();
            let outdated = filling.outdated(&book, &written);
            let uncertain = filling.uncertain(&book, &written);
            Ok::<_, Unfilled>((written, outdated, uncertain))
        };
        let (written, outdated, uncertain) = match fill(&bytes) {
            Ok(found) => found,
            // a result that is still empty is found before anything is written
            Err(unfilled) => {
                let names: Vec<Name> = unfilled.problems.iter().map(|it| it.name).collect();
                let depends = plan.input.1 != No && names == [Name::StaleFigures];
                // nor is a sum over words a figure
                let words = |text: &str| text.contains("Remark[Text]");
                let of_words =
                    names == [Name::EmptyCell] && plan.forms.iter().any(|it| words(&it.0));
                assert!(
                    depends || of_words,
                    "seed {seed}: {:?} in {:?}: {names:?}",
                    plan.input,
                    plan.forms
                );
                continue;
            }
        };
        // an input is a saved figure only where it depends on no result
        let names: Vec<Name> = outdated.iter().map(|problem| problem.name).collect();
        let wanted = if plan.input.1 == Yes { vec![Name::StaleFigures] } else { Vec::new() };
        assert_eq!(names, wanted, "seed {seed}: {:?} in {:?}", plan.input, plan.forms);
        assert_eq!(
            uncertain.len(),
            usize::from(plan.input.1 == Perhaps),
            "seed {seed}: {:?}",
            plan.forms
        );
        if plan.input.1 == Yes {
            continue;
        }
        // whether the input itself is certain or not, the column in which it stands holds results
        for ((text, depends), row) in plan.forms.iter().zip(0..) {
            let found = cell(&written.bytes, "Calc", row, 0);
            let wanted = if *depends == Yes { Cell::Empty } else { Cell::Number(SAVED) };
            assert_eq!(found, wanted, "seed {seed}: {text} in Calc!A{}", row + 1);
            seen[*depends as usize] += 1;
        }
        for row in 1..7 {
            let found = cell(&written.bytes, "Data", row, 3);
            let wanted = if row == 4 || row == 5 { Cell::Empty } else { Cell::Number(SAVED) };
            assert_eq!(found, wanted, "seed {seed}: Data!D{}", row + 1);
        }
        assert_eq!(
            cell(&written.bytes, "Data", 1, 1),
            Cell::Number(SAVED),
            "the input of seed {seed}"
        );
        let (again, outdated, _) = fill(&written.bytes).unwrap();
        assert!(
            again.bytes == written.bytes && outdated.is_empty(),
            "the second run of seed {seed}"
        );
    }
    assert!(seen.iter().all(|count| *count > 10), "{seen:?}");
}
