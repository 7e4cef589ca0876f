//! A number or a row that may be meant in two ways is asked, and the answer that the question offers is read as it was meant.

use rust_xlsxwriter::{Format, Workbook, Worksheet};
use standstill::calculation::written;
use standstill::environment::NoFs;
use standstill::number::InputValue;
use standstill::project::Project;
use standstill::spreadsheet::{Book, Reading};
use standstill::workbook::bind;
use standstill::workbook::range::{ProductLine, TableRequest};

/// What an input of a block is read as, or the headline and remedy of what is wrong with it.
fn read(text: &str, input: &str) -> Result<String, (String, String)> {
    of(&Book::read("Case.csv", text.as_bytes()).unwrap(), input)
}

fn of(book: &Book, name: &str) -> Result<String, (String, String)> {
    let bound = bind(book, None, &Project::new(&NoFs));
    if let Some(problem) = bound.problems.iter().find(|problem| problem.is_error()) {
        assert!(problem.place.is_some(), "{problem:?}");
        return Err((problem.headline.clone(), problem.remedy.clone()));
    }
    let request = bound.requests.first().unwrap();
    let input = request.program.inputs.iter().find(|input| input.name == name).unwrap();
    match request.inputs.value(input).unwrap() {
        InputValue::One(value) => Ok(written(&value)),
        InputValue::Many(values) => Ok(values.iter().map(written).collect::<Vec<_>>().join(", ")),
        InputValue::Word(at) => Ok(at.to_string()),
    }
}

/// Inputs that are usually 100 %, 1 %, and 10 % of any size.
fn efficiency(value: &str, unit: &str) -> Result<String, (String, String)> {
    read(&format!("sheet lowering\neta,{value},{unit}\n"), "eta")
}

fn tolerance(value: &str, unit: &str) -> Result<String, (String, String)> {
    read(&format!("sheet largest-inertia\ntol,{value},{unit}\n"), "tol")
}

fn reserve(value: &str, unit: &str) -> Result<String, (String, String)> {
    read(&format!("sheet moving-field\nreserve,{value},{unit}\n"), "reserve")
}

#[test]
fn a_plain_number_beside_a_percent_sign_that_may_be_the_share_is_asked() {
    // lowering: eta like 100 %; largest-inertia: tol like 1 %, below 50 %
    for number in ["0.05", "0.9", "1"] {
        let (words, remedy) = efficiency(number, "%").unwrap_err();
        assert!(words.contains("may be the share"), "{words}");
        assert!(
            remedy.starts_with(&format!("if {number} % is meant, write `{number} %` into B2")),
            "{remedy}"
        );
        assert_eq!(efficiency(&format!("{number} %"), "%"), Ok(format!("{number} %")));
        assert_eq!(efficiency(&format!("{number}%"), ""), Ok(format!("{number} %")));
    }
    assert_eq!(efficiency("90", "%"), Ok("90 %".to_owned()));
    // what is usually about 1 % is read as it stands
    for number in ["0.2", "0.5", "1", "2"] {
        assert_eq!(tolerance(number, "%"), Ok(format!("{number} %")));
    }
    assert!(tolerance("0.01", "%").unwrap_err().1.ends_with("if 1 %, write 1"));
    // its hundredfold is not allowed: 60 % is beyond the range
    assert_eq!(tolerance("0.6", "%"), Ok("0.6 %".to_owned()));
}

#[test]
fn a_plain_number_of_a_share_that_may_be_a_percentage_is_asked() {
    let (words, remedy) = efficiency("95", "").unwrap_err();
    assert_eq!(words, "`eta` (efficiency): 95 without a unit is 9500 %, and may be meant as 95 %");
    assert_eq!(remedy, "if 95 % is meant, write `95 %` into B2");
    assert_eq!(efficiency("0.95", ""), Ok("0.95".to_owned()));
    let (_, remedy) = reserve("15", "").unwrap_err();
    assert_eq!(remedy, "if 15 % is meant, write `15 %` into B2; if 1500 %, write `1500 %`");
    assert_eq!(reserve("1500 %", "%"), Ok("1500 %".to_owned()));
    let (_, remedy) = reserve("1450", "%").unwrap_err();
    assert_eq!(remedy, "if 14.5 % is meant, write 14.5 into B2; if 1450 %, write `1450 %`");
    assert_eq!(reserve("20", "%"), Ok("20 %".to_owned()));
    // a gear ratio has any size
    assert_eq!(read("sheet reflected-rotary\ni,120,\n", "i"), Ok("120".to_owned()));
}

#[test]
fn what_a_percent_format_shows_is_what_is_read() {
    let cell = |number: f64| {
        let mut book = Workbook::new();
        let tab = book.add_worksheet();
        tab.write_row(0, 0, ["sheet lowering"]).unwrap();
        tab.write_row(1, 0, ["eta", "", "%"]).unwrap();
        let format = Format::new().set_num_format("0.0%");
        tab.write_number_with_format(1, 1, number, &format).unwrap();
        of(&Book::read("Case.xlsx", &book.save_to_buffer().unwrap()).unwrap(), "eta")
    };
    // as an office program stores `0.9 %` and `90 %` when they are typed
    assert_eq!(cell(0.009), Ok("0.009".to_owned()));
    assert_eq!(cell(0.9), Ok("0.9".to_owned()));
}

#[test]
fn a_column_of_percentages_asks_in_the_row_and_reads_the_answer() {
    let line = |value: &str| {
        let text = format!(
            "sheet return-to-mains\nE,70,kJ\nz,40,1/h\nt_year,4000,h\nP_idle,20,W\nt_idle,6000,h\nlife,10,\nprice_kWh,0.25,\nprice_unit,900,\n\ntype,eta in %\nA,95\nB,{value}\n"
        );
        let book = Book::read_as("Line.csv", text.as_bytes(), &Reading::default()).unwrap();
        let line = ProductLine::find(&book, &TableRequest::default(), &Project::new(&NoFs));
        let line = line.map_err(|it| it.problems).unwrap();
        let row = *line.variants.last().unwrap();
        line.inputs_of(&book, row)
            .map(|inputs| {
                let input = line.program.inputs.iter().find(|it| it.name == "eta").unwrap();
                let Some(InputValue::One(value)) = inputs.value(input) else { panic!("one") };
                written(&value)
            })
            .map_err(|problems| problems[0].remedy.clone())
    };
    assert_eq!(
        line("0.9"),
        Err("if 0.9 % is meant, write `0.9 %` into B13; if 90 %, write 90".to_owned())
    );
    assert_eq!(line("0.9 %"), Ok("0.9 %".to_owned()));
    assert_eq!(line("90"), Ok("90 %".to_owned()));
}

#[test]
fn a_ratio_as_it_stands_on_a_gear_unit_is_read_or_asked() {
    let ratio = |text: &str| read(&format!("sheet reflected-rotary\ni,{text},\n"), "i");
    for text in ["30:1", "30 : 1", "i = 30", "i=30:1"] {
        assert_eq!(ratio(text), Ok("30".to_owned()), "{text}");
    }
    assert_eq!(
        ratio("1:4").unwrap_err().1,
        "write 0.25 or 4 into B2 as a number, whichever is meant"
    );
    assert_eq!(
        ratio("20:50").unwrap_err().1,
        "write 0.4 or 2.5 into B2 as a number, whichever is meant"
    );
    assert!(ratio("1.450:1").is_err());
    assert!(read("sheet run-down\nn_0,30:1,r/min\n", "n_0").is_err());
}

/// A block of `run-down` with a cell changed: its `T_0`, or what is wrong.
fn struck(change: impl Fn(&mut Worksheet, &Format)) -> Result<String, (String, String)> {
    let mut book = Workbook::new();
    let tab = book.add_worksheet();
    tab.write_row(0, 0, ["sheet run-down"]).unwrap();
    tab.write_row(1, 0, ["T_0", "", "N·m"]).unwrap();
    tab.write_number(1, 1, 4.2).unwrap();
    change(tab, &Format::new().set_font_strikethrough());
    of(&Book::read("Case.xlsx", &book.save_to_buffer().unwrap()).unwrap(), "T_0")
}

#[test]
fn what_is_struck_through_is_asked_before_it_is_read() {
    let value = struck(|tab, line| {
        tab.write_number_with_format(1, 1, 4.2, line).unwrap();
    });
    assert!(value.unwrap_err().0.ends_with("what stands there is struck through"));
    let name = struck(|tab, line| {
        tab.write_string_with_format(1, 0, "T_0", line).unwrap();
    });
    assert!(name.unwrap_err().0.contains("A2"));
    let beside = |tab: &mut Worksheet, line: &Format| {
        tab.write_number_with_format(1, 4, 3.9, line).unwrap();
    };
    assert_eq!(struck(beside), Ok("4.2 N·m".to_owned()));
}

/// The rows of a table of `run-down` that are variants, or the headline of what is wrong.
fn variants(row: &str) -> Result<usize, String> {
    let text = format!(
        "sheet run-down\n\ntype,J / (kg·m²),n_0 / (r/min),T_0 / (N·m)\nA,2,1500,4\nB,3,1500,4\n{row},5,1500,4\n"
    );
    let book = Book::read_as("Line.csv", text.as_bytes(), &Reading::default()).unwrap();
    let line = ProductLine::find(&book, &TableRequest::default(), &Project::new(&NoFs));
    line.map(|line| line.variants.len()).map_err(|it| it.problems[0].headline.clone())
}

#[test]
fn a_row_that_may_be_no_variant_is_asked_or_listed_apart() {
    // a customer may be called Total: what holds plain numbers is never passed over
    let totals = ["average", "Total", "Sum", "mean:", "Gesamt", "Total of hall 3"];
    let others = ["max", "Min:", "spare", "old", "Example", "C (old)", "not used"];
    for word in totals.into_iter().chain(others) {
        let words = variants(word).unwrap_err();
        assert!(words.ends_with("holds values as a variant does"), "{word}: {words}");
    }
    // an old verdict never stays in a row that is not calculated
    for (status, refused) in [("all 4 checks hold", true), ("FAILS: s", true), ("see above", false)]
    {
        let text = format!(
            "sheet run-down\n\ntype,J / (kg·m²),n_0 / (r/min),T_0 / (N·m),t_stop / s,status\nA,2,1500,4,,\nTotal,,,,9,{status}\n"
        );
        let book = Book::read_as("Line.csv", text.as_bytes(), &Reading::default()).unwrap();
        let line = ProductLine::find(&book, &TableRequest::default(), &Project::new(&NoFs));
        match line {
            Ok(line) => assert!(!refused && line.variants.len() == 1, "{status}"),
            Err(it) => assert!(
                refused && it.problems[0].headline.ends_with("stands in F5"),
                "{:?}",
                it.problems
            ),
        }
    }
    // the answer that the question offers
    for word in ["variant max", "variant C old", "C", "old saw"] {
        assert_eq!(variants(word), Ok(3), "{word}");
    }
}

#[test]
fn a_title_that_speaks_for_all_values_is_compared_or_asked() {
    let block = |title: &str, remark: &str| {
        read(
            &format!(
                "{title},,\nsheet run-down,,\n{remark},,\nJ,2,kg·m²\nn_0,1500,r/min\nT_0,4,N·m\n"
            ),
            "T_0",
        )
    };
    for title in
        ["Inputs (×1000)", "speeds x1000", "torques in thousands", "torques in mN·m", "all in kN·m"]
    {
        assert!(block(title, "inputs").is_err(), "{title}");
        assert!(block("Press 3", title).is_err(), "{title}");
    }
    for title in ["torques in N·m", "all in mm", "Press 3 (A)", "drawing 4711/100", "1000 mm table"]
    {
        assert_eq!(block(title, "inputs"), Ok("4 N·m".to_owned()), "{title}");
    }
    let table = |title: &str| {
        let text = format!(
            "{title},,,\nsheet run-down,,,\n\ntype,J / (kg·m²),n_0 / (r/min),T_0 / (N·m)\nA,2,1500,4\n"
        );
        let book = Book::read_as("Line.csv", text.as_bytes(), &Reading::default()).unwrap();
        ProductLine::find(&book, &TableRequest::default(), &Project::new(&NoFs)).is_ok()
    };
    assert!(table("Press 3") && table("torques in N·m"));
    assert!(!table("speeds ×1000") && !table("torques in kN·m"));
}
