//! A verdict or a figure that is written where nobody can read it is told at its cell, with a remedy that helps.
//!
//! Where office programs spill, cut and shrink texts is common practice, no source; the layouts are those that people
//! make. What a column must hold is counted by hand.

use rust_xlsxwriter::{
    DataValidation, DataValidationRule, Format, FormatAlign, Formula, Shape, ShapeFormat,
    ShapeSolidFill, Workbook, Worksheet,
};
use standstill::diagnostic::{Diagnostic, Name, Place};
use standstill::program::{Checked, NoResolver, Sheets, compile};
use standstill::spreadsheet::Book;
use standstill::workbook::compute;
use standstill::workbook::range::{ProductLine, TableRequest};

/// A sheet whose check fails below 2.
struct Twofold;

impl Sheets for Twofold {
    fn checked(&self, _: &str, _: &Place) -> Result<Checked, Box<Diagnostic>> {
        let text = "sheet s\ntitle \"t\"\nsource \"none\"\ntakes\n  x : ratio like 1 \"x\"\nworks\n  y = x\nholds\n  y > 2 \"x is enough\"\ngives\n  y\n";
        Ok(compile(&standstill::diagnostic::Source::new("s.sheet", text), &NoResolver))
    }

    fn names(&self) -> Vec<String> {
        vec!["s".to_owned()]
    }
}

type Change = fn(&mut Worksheet);
type Hinder<'f> = &'f dyn Fn(&mut Worksheet);
/// What is done about it, by the remedy.
type Cure<'f> = &'f dyn Fn(&mut Worksheet, &str);

/// What is told of a block `x`, `y`, `checks` in A1 to B4 whose tab was changed.
fn told(x: f64, changes: &[&dyn Fn(&mut Worksheet)]) -> Vec<Diagnostic> {
    let mut book = Workbook::new();
    let other = book.add_worksheet().set_name("Other").unwrap();
    other.write_column(0, 0, [1.0, 3.0]).unwrap();
    let tab = book.add_worksheet().set_name("In").unwrap();
    tab.write_column(0, 0, ["sheet s", "x", "y", "checks"]).unwrap();
    tab.write(1, 1, x).unwrap();
    changes.iter().for_each(|change| change(tab));
    let book = Book::read("Case.xlsx", &book.save_to_buffer().unwrap()).unwrap();
    let filling = compute(&book, None, &Twofold).unwrap_or_else(|it| panic!("{:?}", it.problems));
    let ours = [Name::CheckFails, Name::HiddenCells, Name::TwoStatements];
    filling.cautions.into_iter().filter(|it| ours.contains(&it.name)).collect()
}

fn set(tab: &mut Worksheet, format: &Format) {
    tab.write_blank(3, 1, format).unwrap();
}

fn shape(tab: &mut Worksheet, row: u32, filled: bool) {
    let none = ShapeFormat::new().set_no_fill();
    let solid = ShapeFormat::new().set_solid_fill(&ShapeSolidFill::new().set_color("FFFFFF"));
    let shape = Shape::textbox().set_width(300).set_height(60);
    let shape = shape.set_format(&if filled { solid } else { none });
    tab.insert_shape(row, 0, &shape).unwrap();
}

/// The number that a remedy names.
fn number(remedy: &str) -> f64 {
    let word = remedy.split("at least ").nth(1).unwrap().split(' ').next().unwrap();
    word.parse().unwrap()
}

#[test]
fn a_verdict_that_nobody_can_read_is_told_and_its_remedy_helps() {
    let align = |it: FormatAlign| Format::new().set_align(it);
    let wrapped = Format::new().set_text_wrap();
    let hinder: [(&str, Hinder<'_>, Cure<'_>); 13] = [
        ("align B4 to the left", &|tab| set(tab, &align(FormatAlign::Right)), &|tab, _| {
            set(tab, &align(FormatAlign::Left))
        }),
        ("align B4 to the left", &|tab| set(tab, &align(FormatAlign::Center)), &|tab, _| {
            set(tab, &align(FormatAlign::Left))
        }),
        (
            "make column B at least ",
            &|tab| {
                set(tab, &align(FormatAlign::Right));
                tab.write(3, 2, "remark").unwrap().set_column_width(1, 3).unwrap();
            },
            &|tab, remedy| {
                tab.set_column_width(1, number(remedy)).unwrap();
            },
        ),
        (
            "make column B at least ",
            &|tab| {
                tab.write(3, 2, "remark").unwrap().set_column_width(1, 3).unwrap();
            },
            &|tab, remedy| {
                tab.set_column_width(1, number(remedy)).unwrap();
            },
        ),
        (
            "make row 4 at least ",
            &|tab| {
                set(tab, &wrapped);
                tab.set_row_height(3, 16).unwrap();
            },
            &|tab, remedy| {
                tab.set_row_height(3, number(remedy)).unwrap();
            },
        ),
        (
            "make row 4 at least ",
            &|tab| {
                tab.set_row_height(3, 2).unwrap();
            },
            &|tab, remedy| {
                tab.set_row_height(3, number(remedy)).unwrap();
            },
        ),
        (
            "make row 4 at least ",
            &|tab| {
                set(tab, &Format::new().set_rotation(90));
                tab.set_row_height(3, 20).unwrap();
            },
            &|tab, remedy| {
                tab.set_row_height(3, number(remedy)).unwrap();
            },
        ),
        (
            "take the indentation of B4 off",
            &|tab| set(tab, &Format::new().set_indent(15)),
            &|tab, _| set(tab, &Format::new()),
        ),
        (
            "make column B at least ",
            &|tab| {
                set(tab, &Format::new().set_shrink());
                tab.set_column_width(1, 0.8).unwrap();
            },
            &|tab, remedy| {
                tab.set_column_width(1, number(remedy)).unwrap();
            },
        ),
        (
            "show row 4",
            &|tab| {
                tab.set_row_hidden(3).unwrap();
            },
            &|tab, _| {
                tab.set_row_unhidden(3).unwrap();
            },
        ),
        (
            "show the tab `In`",
            &|tab| {
                tab.set_hidden(true);
            },
            &|tab, _| {
                tab.set_hidden(false);
            },
        ),
        (
            "take B4 into the print area of the tab",
            &|tab| {
                tab.set_print_area(0, 0, 2, 5).unwrap();
            },
            &|tab, _| {
                tab.set_print_area(0, 0, 3, 5).unwrap();
            },
        ),
        (
            "move what lies over B4 to another place",
            &|tab| shape(tab, 2, tab.name() == "In"),
            &|_, _| {},
        ),
    ];
    for (remedy, hinder, cure) in hinder {
        let found = told(1.0, &[hinder]);
        let first = found.first().unwrap_or_else(|| panic!("{remedy}"));
        assert_eq!(first.name, Name::CheckFails, "{remedy}");
        assert!(first.headline.contains("\"FAILS: x is enough\""), "{}", first.headline);
        assert!(first.remedy.starts_with(remedy), "{} for {remedy}", first.remedy);
        assert_eq!(first.place.as_ref().unwrap().to_text(), "Case.xlsx ▸ In!B4");
        if !remedy.starts_with("move") {
            let after = told(1.0, &[hinder, &|tab| cure(tab, &first.remedy)]);
            let verdicts = after.iter().filter(|it| it.name == Name::CheckFails);
            assert_eq!(verdicts.count(), 0, "{remedy} {after:?}");
        }
        // a verdict that holds is no alarm
        let holds = told(3.0, &[hinder]);
        assert!(holds.iter().all(|it| it.name != Name::CheckFails), "{holds:?}");
    }
}

#[test]
fn what_can_be_read_is_not_told() {
    let quiet: [Change; 10] = [
        |_| {},
        |tab| {
            set(tab, &Format::new().set_align(FormatAlign::Right));
            tab.set_column_width(1, 40).unwrap();
        },
        |tab| {
            set(tab, &Format::new().set_align(FormatAlign::Center));
            tab.set_column_width(1, 40).unwrap();
        },
        |tab| set(tab, &Format::new().set_text_wrap()),
        |tab| {
            set(tab, &Format::new().set_text_wrap());
            tab.set_row_height(3, 60).unwrap();
        },
        |tab| set(tab, &Format::new().set_indent(1)),
        |tab| {
            tab.write(3, 2, "remark").unwrap();
        },
        |tab| {
            tab.set_print_area(0, 0, 9, 9).unwrap();
        },
        |tab| shape(tab, 7, true),
        |tab| shape(tab, 2, false),
    ];
    for (at, change) in quiet.iter().enumerate() {
        assert!(told(1.0, &[change]).is_empty(), "{at} {:?}", told(1.0, &[change]));
    }
}

#[test]
fn a_figure_that_its_column_cuts_is_told() {
    let narrow = |width: f64, code: &str| {
        let format = Format::new().set_num_format(code);
        move |tab: &mut Worksheet| {
            tab.write_blank(2, 1, &format).unwrap().set_column_width(1, width).unwrap();
        }
    };
    for (x, width, code, wanted) in [
        (1_234_567.25, 4.0, "General", Some((Name::HiddenCells, "make column B at least 9 wide"))),
        (1234.25, 4.0, "0.00", Some((Name::HiddenCells, "make column B at least 9 wide"))),
        (1234.25, 12.0, "0.00", None),
        (
            2.25,
            3.0,
            "General",
            Some((Name::TwoStatements, "give B3 a number format with more digits")),
        ),
        (2.25, 8.0, "General", None),
        (3.0, 3.0, "General", None),
        (12_345_678.0, 8.43, "General", None),
    ] {
        let found = told(x, &[&narrow(width, code)]);
        let of_y = found.iter().find(|it| it.headline.starts_with("`y`"));
        let seen = of_y.map(|it| (it.name, it.remedy.clone()));
        let same = match (&seen, wanted) {
            (Some((name, remedy)), Some((wanted, begins))) => {
                *name == wanted && remedy.starts_with(begins)
            }
            (None, None) => true,
            _ => false,
        };
        assert!(same, "{x} in {code} of {width}: {seen:?}");
    }
}

/// What is told of five variants whose tab was changed.
fn told_of_line(change: &dyn Fn(&mut Worksheet)) -> Vec<String> {
    let mut book = Workbook::new();
    let tab = book.add_worksheet();
    tab.write(0, 0, "sheet s").unwrap();
    tab.write_row(2, 0, ["name", "x", "y", "status"]).unwrap();
    change(tab);
    for (row, x) in (3..).zip([1.0, 3.0, 1.5, 4.0, 0.5]) {
        tab.write(row, 0, format!("V{row}")).unwrap().write(row, 1, x).unwrap();
    }
    let book = Book::read("Line.xlsx", &book.save_to_buffer().unwrap()).unwrap();
    let line = ProductLine::find(&book, &TableRequest::default(), &Twofold).unwrap();
    let outcome = line.compute(&book, 0..5, 1, &|_| {});
    let found = line.summary(&book, &outcome).unread();
    let words = found.iter().map(|it| {
        format!("{} {} {}", it.name.word(), it.place.as_ref().unwrap().to_text(), it.headline)
    });
    words.collect()
}

#[test]
fn verdicts_of_a_product_line_are_counted_by_column() {
    let told = |align: FormatAlign| {
        told_of_line(&|tab| {
            tab.set_column_format(3, &Format::new().set_align(align)).unwrap();
        })
    };
    let found = told(FormatAlign::Right);
    assert_eq!(found.len(), 2, "{found:?}");
    let grave = "check-fails Line.xlsx ▸ Sheet1!D4 the status is \"FAILS: x is enough\", and nobody reads that in D4: ";
    assert!(found[0].starts_with(grave), "{found:?}");
    assert!(found[0].ends_with(" (and so in 2 more cells)"), "{found:?}");
    let other = "hidden-cells Line.xlsx ▸ Sheet1!D5 the status cannot be read in D5: ";
    assert!(found[1].starts_with(other), "{found:?}");
    assert_eq!(told(FormatAlign::Left), [""; 0]);
}

/// 1.5 as 2 and 0.5 as 1, both as an input and as a result.
#[test]
fn figures_of_a_product_line_that_their_format_rounds_are_told() {
    let told = |code: &str| {
        told_of_line(&|tab| {
            let format = Format::new().set_num_format(code);
            tab.set_column_format(1, &format).unwrap();
            tab.set_column_format(2, &format).unwrap();
        })
    };
    assert_eq!(
        told("0"),
        [("y", "C6"), ("x", "B6")].map(|(name, cell)| {
            format!("two-statements Line.xlsx ▸ Sheet1!{cell} `{name}` is 1.5 in 1, and the number format of {cell} shows 2, more than it is (and so in 1 more cell)")
        })
    );
    for code in ["0.0", "General", "0.00"] {
        assert_eq!(told(code), [""; 0], "{code}");
    }
}

/// A rule for what is typed into a cell is a statement of its owner's: what breaks it is told, read or written.
#[test]
fn what_the_owner_does_not_allow_in_a_cell_is_told() {
    use DataValidationRule::{Between, GreaterThan, LessThanOrEqualTo, NotBetween};
    let any = DataValidation::new;
    let beside = |first, second| {
        any().allow_decimal_number_formula(Between(Formula::new(first), Formula::new(second)))
    };
    let rules: [(DataValidation, &[f64], &[f64], &str); 11] = [
        (any().allow_decimal_number(Between(0.1, 2.5)), &[1.0, 2.5], &[3.0], "0.1 to 2.5"),
        (any().allow_decimal_number(NotBetween(2.0, 4.0)), &[1.0], &[3.0], "not 2 to 4"),
        (any().allow_decimal_number(GreaterThan(1.0)), &[3.0], &[1.0], "more than 1 but not that"),
        (any().allow_decimal_number(LessThanOrEqualTo(2.0)), &[2.0], &[3.0], "less than 2 or that"),
        (any().allow_whole_number(Between(1, 4)), &[1.0, 3.0], &[1.5], "whole numbers"),
        (any().allow_list_strings(&["1", "2.5"]).unwrap(), &[1.0, 2.5], &[3.0], "1, 2.5"),
        (
            any().allow_list_formula(Formula::new("=$G$1:$G$2")),
            &[1.0, 3.0],
            &[2.5],
            "what stands in G1:G2",
        ),
        (
            any().allow_list_formula(Formula::new("=Other!$A$1:$A$2")),
            &[1.0, 3.0],
            &[2.5],
            "what stands in Other!A1:A2",
        ),
        (beside("=$G$1", "=$G$2"), &[1.0, 3.0], &[4.0, 0.5], "1 to 3"),
        (beside("=$G$1/2", "=SUM($G$1:$G$2)-2"), &[0.5, 2.0], &[3.0], "0.5 to 2"),
        // a limit that is empty, and a formula that is not known, say nothing
        (beside("=$G$1", "=$G$9"), &[1.0, 9.0], &[], ""),
    ];
    for (rule, right, wrong, allowed) in rules {
        let told = |x: f64| {
            let change = |tab: &mut Worksheet| {
                tab.write(0, 6, 1.0).unwrap().write(1, 6, 3.0).unwrap();
                tab.add_data_validation(1, 1, 2, 1, &rule).unwrap();
            };
            let found = told(x, &[&change]);
            let found = found.into_iter().filter(|it| it.name == Name::TwoStatements);
            found.map(|it| it.headline).collect::<Vec<_>>()
        };
        for x in right {
            assert_eq!(told(*x), [""; 0], "{x} within {allowed}");
        }
        for x in wrong {
            let words = |name: &str, cell: &str| {
                format!(
                    "`{name}` is the number {x} in {cell}, and the rule of that cell for what is typed there allows {allowed}"
                )
            };
            let mut found = told(*x);
            found.sort();
            assert_eq!(found, [words("x", "B2"), words("y", "B3")], "{x}");
        }
    }
    // a formula of the owner's is asked about what the input holds, not about what is still to be written
    for formula in [
        "=B2<2.5", "=AND(B2>0.5,B2<2.5)", "=B2<$G$2", "=B2<=G1*2", "=B2/$G$1=1", "=OR(B2=1,B2=2)",
        "=NOT(B2>2)", "=B2=$G$1", "=IF(B2>2,FALSE,TRUE)", "=ROUND(B2,1)=1", "=MAX(B2,2)=2",
    ] {
        let told = |x: f64| {
            let rule = any().allow_custom(Formula::new(formula));
            let found = told(
                x,
                &[&|tab: &mut Worksheet| {
                    tab.write(0, 6, 1.0).unwrap().write(1, 6, 3.0).unwrap();
                    tab.add_data_validation(1, 1, 2, 1, &rule).unwrap();
                }],
            );
            let found = found.into_iter().filter(|it| it.name == Name::TwoStatements);
            found.map(|it| it.headline).collect::<Vec<_>>()
        };
        assert_eq!(told(1.0), [""; 0], "{formula}");
        let text = formula.trim_start_matches('=');
        let words = format!(
            "`x` is the number 3 in B2, and the rule of that cell for what is typed there allows only what its formula `{text}` does"
        );
        assert_eq!(told(3.0), [words], "{formula}");
    }
    for formula in ["=ISNUMBER(B2)", "=COUNTIF($G:$G,B2)=1", "=B2<$G$9", "=LEN(B2)=1"] {
        let rule = any().allow_custom(Formula::new(formula));
        let add = |tab: &mut Worksheet| {
            tab.add_data_validation(1, 1, 2, 1, &rule).unwrap();
        };
        let found = told(3.0, &[&add]);
        assert!(found.iter().all(|it| it.name != Name::TwoStatements), "{formula}: {found:?}");
    }
    let number = any().allow_decimal_number(Between(0.0, 9.0));
    let found = told(
        1.0,
        &[&|tab| {
            tab.add_data_validation(3, 1, 3, 1, &number).unwrap();
        }],
    );
    assert!(
        found[0].headline.starts_with("`checks` is the text \"FAILS: x is enough\" in B4, and")
    );
    // in a product line, counted by column
    let found = told_of_line(&|tab| {
        let rule = any().allow_decimal_number(Between(0.0, 2.5));
        tab.add_data_validation(3, 1, 9, 1, &rule).unwrap();
    });
    assert_eq!(
        found,
        [
            "two-statements Line.xlsx ▸ Sheet1!B5 `x` is the number 3 in B5, and the rule of that cell for what is typed there allows 0 to 2.5 (and so in 1 more cell)"
        ]
    );
}

/// A variant whose inputs are those of the sheet's example is told, and a line of its owner's is not.
#[test]
fn a_product_line_of_example_values_is_told() {
    let told = |rows: &str| {
        let text = format!("sheet run-down\n\nname,J / (kg·m²),n_0 / (r/min),T_0 / (N·m)\n{rows}");
        let book = Book::read("line.csv", text.as_bytes()).unwrap();
        let sheets = standstill::project::Project::new(&standstill::environment::NoFs);
        let line = ProductLine::find(&book, &TableRequest::default(), &sheets).unwrap();
        let outcome = line.compute(&book, 0..line.variants.len(), 1, &|_| {});
        line.summary(&book, &outcome).examples.unwrap_or_default()
    };
    assert_eq!(told("A,0.02,1450,1.6\nB,0.03,1500,1.2\n"), "");
    assert_eq!(
        told("A,0.02,1450,1.2\nB,0.0101,1450,1.6\n"),
        "B (row 5): 3 of 3 inputs hold the value of the sheet's example: not your machine yet, where nobody has looked at J, n_0, T_0"
    );
}
