//! What a person sees in a cell that is read or written: the figure and the verdict meant, or an error.
//!
//! Number formats as ECMA-376 Part 1, 18.8.31, describes them, conditional formats as 18.3.1.18, displayed paragraphs of
//! cells as OpenDocument 1.3, part 3 (all from memory).

use rust_xlsxwriter::{
    Color, ConditionalFormatCell, ConditionalFormatCellRule, ConditionalFormatDataBar, Format,
    Workbook, Worksheet,
};
use standstill::environment::NoFs;
use standstill::project::Project;
use standstill::spreadsheet::Book;
use standstill::workbook::compute;
use standstill::workbook::range::{ProductLine, Summary, TableRequest};

use super::files::container;

/// A block of `run-down` with its stop time and verdict.
fn run_down(tab: &mut Worksheet) {
    tab.write(0, 0, "sheet run-down").unwrap();
    for (row, name, value, unit) in
        [(1, "J", 0.35, "kg·m²"), (2, "n_0", 1450.0, "r/min"), (3, "T_0", 4.2, "N·m")]
    {
        tab.write(row, 0, name).unwrap();
        tab.write(row, 1, value).unwrap();
        tab.write(row, 2, unit).unwrap();
    }
    tab.write_row(4, 0, ["t_stop", "", "s"]).unwrap();
    tab.write(5, 0, "checks").unwrap();
}

/// Such a block, changed; the names of what is wrong.
fn block(change: &dyn Fn(&mut Worksheet)) -> Vec<String> {
    let mut book = Workbook::new();
    let tab = book.add_worksheet();
    run_down(tab);
    change(tab);
    wrong("Case.xlsx", &book.save_to_buffer().unwrap())
}

fn wrong(name: &str, bytes: &[u8]) -> Vec<String> {
    let book = Book::read(name, bytes).unwrap();
    let unfilled = compute(&book, None, &Project::new(&NoFs)).err();
    let problems = unfilled.map(|it| it.problems).unwrap_or_default();
    problems.iter().map(|problem| problem.name.word().to_owned()).collect()
}

fn shown(code: &str) -> Format {
    Format::new().set_num_format(code)
}

/// A figure that is shown less than it is, or more by a part of itself, is told: 12.65 s as 13, 0.35 kg·m² as 0.
#[test]
fn a_figure_that_its_cell_rounds_is_told() {
    let told = |row: u32, value: Option<f64>, code: &str| {
        let mut book = Workbook::new();
        let tab = book.add_worksheet();
        run_down(tab);
        match value {
            Some(value) => tab.write_with_format(row, 1, value, &shown(code)).unwrap(),
            None => tab.write_blank(row, 1, &shown(code)).unwrap(),
        };
        let book = Book::read("Case.xlsx", &book.save_to_buffer().unwrap()).unwrap();
        let filling = compute(&book, None, &Project::new(&NoFs)).unwrap();
        filling.cautions.iter().filter(|it| it.name.word() == "two-statements").count()
    };
    for (row, value, code, wanted) in [
        (4, None, "0", 1),
        (4, None, "0.0", 0),
        (4, None, "0.00", 0),
        (4, None, "General", 0),
        (4, None, "0.00E+00", 0),
        (1, Some(0.35), "0", 1),
        (1, Some(0.35), "0.0", 1),
        (1, Some(0.35), "0.00", 0),
        (2, Some(1450.4), "0", 0),
        (3, Some(4.2), "0", 1),
    ] {
        assert_eq!(told(row, value, code), wanted, "row {row} in {code}");
    }
}

#[test]
fn the_verdict_is_seen_as_it_is_or_the_run_is_refused() {
    let grey = Format::new().set_font_color(Color::RGB(0xF8_F8_F8));
    let tiny = Format::new().set_font_size(1);
    let blue = Format::new().set_font_color(Color::Blue).set_background_color(Color::Blue);
    let mut hiding: Vec<Format> = [
        ";;;", "0;0;0;\"the check holds\"", "0;0;0;\"not \"@", "\"not \"@", "@\" (old)\"",
        "[White]@",
    ]
    .map(shown)
    .into();
    hiding.extend([grey, tiny, blue]);
    for format in &hiding {
        let change = |tab: &mut Worksheet| {
            tab.write_blank(5, 1, format).unwrap();
        };
        assert_eq!(block(&change), ["two-statements"], "{format:?}");
        // as a conditional format
        let rule = ConditionalFormatCell::new()
            .set_rule(ConditionalFormatCellRule::GreaterThan(0))
            .set_format(format.clone());
        let change = |tab: &mut Worksheet| {
            tab.add_conditional_format(5, 1, 5, 1, &rule).unwrap();
        };
        let size_alone = format == &hiding[7];
        if !size_alone {
            // a conditional format cannot set a size
            assert_eq!(block(&change), ["two-statements"], "{format:?}");
        }
    }
    let white = Format::new().set_font_color(Color::White).set_background_color(Color::Navy);
    let plain =
        [shown("General"), shown("@"), shown("0.00"), shown("[Red]@"), shown("0;-0;0;@"), white];
    for format in plain {
        let change = |tab: &mut Worksheet| {
            tab.write_blank(5, 1, &format).unwrap();
        };
        assert_eq!(block(&change), [""; 0], "{format:?}");
    }
}

#[test]
fn a_conditional_format_over_a_number_counts_as_its_own() {
    let over = |row: u32, code: &str| {
        let rule = ConditionalFormatCell::new()
            .set_rule(ConditionalFormatCellRule::GreaterThan(-1e9))
            .set_format(shown(code));
        block(&|tab: &mut Worksheet| {
            tab.add_conditional_format(row, 1, row, 1, &rule).unwrap();
        })
    };
    // an input and a result
    for row in [2, 4] {
        for code in ["0.0,", ";;;", "0\" kW\"", "0\" ms\"", "(0.0)", "*-0.0", "0%", "yyyy-mm-dd"] {
            assert_eq!(over(row, code), ["two-statements"], "{row} {code}");
        }
        for code in ["0.00", "#,##0.0", "[Red]0.0", "0;-0"] {
            assert_eq!(over(row, code), [""; 0], "{row} {code}");
        }
    }
    for (bare, wanted) in [(true, 1), (false, 0)] {
        let bar = ConditionalFormatDataBar::new().set_bar_only(bare);
        let found = block(&|tab: &mut Worksheet| {
            tab.add_conditional_format(2, 1, 2, 1, &bar).unwrap();
        });
        assert_eq!(found.len(), wanted, "{bare} {found:?}");
    }
    let red = ConditionalFormatCell::new()
        .set_rule(ConditionalFormatCellRule::GreaterThan(0))
        .set_format(Format::new().set_background_color(Color::Red));
    let found = block(&|tab: &mut Worksheet| {
        tab.add_conditional_format(0, 0, 9, 9, &red).unwrap();
    });
    assert_eq!(found, [""; 0], "a colour that leaves the figures readable");
}

#[test]
fn a_value_under_a_merged_area_is_not_read() {
    for area in [(3, 0, 3, 1), (2, 1, 3, 1)] {
        let found = block(&|tab: &mut Worksheet| {
            let (top, left, bottom, right) = area;
            let first = if left == 0 { "T_0" } else { "1450" };
            tab.merge_range(top, left, bottom, right, first, &Format::new()).unwrap();
            if left == 1 {
                tab.write(2, 1, 1450.0).unwrap();
            }
            tab.write(3, 1, 4.2).unwrap();
        });
        assert_eq!(found, ["merged-cell"], "{area:?}");
    }
}

#[test]
fn the_status_of_a_product_line_is_seen_as_it_is() {
    let line = |format: &Format, column: u16| {
        let mut book = Workbook::new();
        let tab = book.add_worksheet();
        tab.write(0, 0, "sheet run-down").unwrap();
        let headings = ["name", "J / (kg·m²)", "n_0 / (r/min)", "T_0 / (N·m)", "t_stop / s"];
        tab.write_row(2, 0, headings).unwrap();
        tab.write(3, 0, "A").unwrap();
        tab.write_row(3, 1, [0.35, 1450.0, 4.2]).unwrap();
        tab.set_column_format(column, format).unwrap();
        let book = Book::read("Line.xlsx", &book.save_to_buffer().unwrap()).unwrap();
        let line = ProductLine::find(&book, &TableRequest::default(), &Project::new(&NoFs));
        let line = line.unwrap_or_else(|unfilled| panic!("{:?}", unfilled.problems));
        let outcome = line.compute(&book, 0..1, 1, &|_| {});
        let Summary { foreign, .. } = line.summary(&book, &outcome);
        foreign.iter().filter(|it| it.is_error()).count()
    };
    for code in [";;;", "0;0;0;\"the check holds\"", "0;0;0;\"not \"@"] {
        assert_eq!(line(&shown(code), 5), 1, "{code}");
    }
    assert_eq!(line(&shown("0.00"), 5), 0);
}

/// An `.ods` whose `n_0` holds 1450 and shows that text.
fn ods(display: &str, covered: bool) -> Vec<u8> {
    let text = |it: &str| {
        format!(
            "<table:table-cell office:value-type=\"string\"><text:p>{it}</text:p></table:table-cell>"
        )
    };
    let number = |value: &str, display: &str, cell: &str| {
        // as the office suite writes a paragraph of nothing
        let shown = format!("<text:p>{display}</text:p>").replace("<text:p></text:p>", "<text:p/>");
        format!(
            "<table:{cell} office:value-type=\"float\" office:value=\"{value}\">{shown}</table:{cell}>"
        )
    };
    let row = |cells: &[String]| format!("<table:table-row>{}</table:table-row>", cells.concat());
    let friction = if covered {
        let name = text("T_0").replacen(
            "<table:table-cell",
            "<table:table-cell table:number-columns-spanned=\"2\"",
            1,
        );
        [name, number("4.2", "4.2", "covered-table-cell"), text("N·m")]
    } else {
        [text("T_0"), number("4.2", "4,2", "table-cell"), text("N·m")]
    };
    let rows = [
        row(&[text("sheet run-down")]),
        row(&[text("J"), number("0.35", "0.35", "table-cell"), text("kg·m²")]),
        row(&[text("n_0"), number("1450", display, "table-cell"), text("r/min")]),
        row(&friction),
        row(&[text("t_stop"), "<table:table-cell/>".to_owned(), text("s")]),
    ]
    .concat();
    let urn = "urn:oasis:names:tc:opendocument:xmlns";
    let content = format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?><office:document-content xmlns:office=\"{urn}:office:1.0\" xmlns:table=\"{urn}:table:1.0\" xmlns:text=\"{urn}:text:1.0\" office:version=\"1.3\"><office:body><office:spreadsheet><table:table table:name=\"In\">{rows}</table:table></office:spreadsheet></office:body></office:document-content>"
    );
    container(&[
        ("mimetype", b"application/vnd.oasis.opendocument.spreadsheet"),
        ("content.xml", content.as_bytes()),
    ])
}

#[test]
fn what_an_ods_shows_beside_its_number_counts() {
    for display in ["1450 rad/s", "", "1.5", "-1450", "145.0", "14.50", "1450 ms", "ca. 1450"] {
        assert_eq!(wrong("Case.ods", &ods(display, false)), ["two-statements"], "{display}");
    }
    for display in ["1450", "1,450.0", "1.450", "1450 r/min", "1.45E+03"] {
        assert_eq!(wrong("Case.ods", &ods(display, false)), [""; 0], "{display}");
    }
    assert_eq!(wrong("Case.ods", &ods("1450", true)), ["merged-cell"]);
}
