//! What one calculation takes from another, what a workbook's errors stop, product lines, worst cases.

use std::collections::BTreeMap;

use standstill::diagnostic::{Source, render_line};
use standstill::environment::NoFs;
use standstill::review::{Document, page, plain, read};

use super::{Files, example, problems, unlinked};

fn document(text: &str) -> Document {
    let found = read(&Source::new("doc.md", text), &NoFs);
    found.unwrap_or_else(|refused| {
        panic!("{:#?}", refused.problems.iter().map(render_line).collect::<Vec<_>>())
    })
}

fn md(text: &str) -> String {
    unlinked(&plain(&document(text), "now"))
}

// by hand from the machine's data: a = 151.8436/0.2938667 = 516.709 rad/s², T = 0.0101 · a − 1.6 = 3.61876 N·m,
// E = T · n²/(2a) = 80.7379 J, over 6 s 13.4563 W; delay 360 ms exactly, so the chain is 44 + 360 = 404 ms
#[test]
fn a_value_of_one_calculation_is_an_input_of_another_in_any_order() {
    let text = "{win.P_mean in W} {chain.T in ms}\n\n```sheet resistor-window as win\nexamples\nE = stop.E\n```\n\n```sheet response-chain as chain\nexamples\nt_stop = stop.t_delay\n```\n\n```sheet safe-stop as stop\nexamples\n```\n";
    let printed = md(text);
    let said = "\n13.4563 W (inputs are the sheet's examples; stands on stop, where inputs are the sheet's examples) 404 ms (inputs are the sheet's examples; stands on stop, where inputs are the sheet's examples)\n";
    assert!(printed.contains(said), "{}", &printed[..180]);
    let html = page(&document(text), "now");
    assert!(html.contains("<td class=\"fr\">stop.E</td>"), "the page says where it comes from");
}

#[test]
fn a_value_that_is_taken_has_the_kind_that_is_asked_for() {
    let text = "```sheet safe-stop as stop\nexamples\n```\n\n```sheet resistor-window as win\nexamples\nE = stop.T_peak\nt_cycle = stop.S\nU_chop = stop.E_peek\nI_max = stp.E\nP_peak = stop.edition\n```\n";
    let found = problems(text);
    for start in [
        "doc.md:7:1: error unit-mismatch: `E` is an energy, `stop.T_peak` is a torque",
        "doc.md:8:1: error unit-mismatch: `t_cycle` is a time, `stop.S` is a length",
        "doc.md:9:15: error unknown-name: `stop` has no value `E_peek`",
        "doc.md:10:9: error unknown-name: no calculation of the document is called `stp`",
        "doc.md:11:1: error unit-mismatch: `P_peak` is a power, `stop.edition` is of another kind",
    ] {
        assert!(found.iter().any(|line| line.starts_with(start)), "{start} in {found:#?}");
    }
    assert_eq!(found.len(), 5, "each cause once: {found:#?}");
}

// the mean power of the ramp is 80.7379 J/0.2938667 s = 274.74 W; with its pause 80.7379 J each 6.2938667 s
#[test]
fn a_series_takes_values_element_by_element() {
    let text = "{heat.P_mean in W} {heat.E_cycle in J}\n\n```sheet resistor-pulse as heat\nP_k = stop.regen.P_ramp, 0 W\nt_k = stop.ss1.t_ramp_quick, 6 s\nR_th = 0.8 K/W\ntau = 300 s\ndT_max = 300 K\nT_air = 40 °C\n```\n\n```sheet safe-stop as stop\nexamples\n```\n";
    assert!(
        md(text).contains(
            "\n12.828 W (stands on stop, where inputs are the sheet's examples) 80.7379 J (stands"
        ),
        "{}",
        &md(text)[..40]
    );
    let found = problems(
        &text
            .replace("stop.regen.P_ramp, 0 W", "stop.E, 0 s")
            .replace("R_th = 0.8", "R_th = stop.E, 0.8"),
    );
    assert_eq!(found.len(), 2, "{found:#?}");
    assert!(found[0].contains("`P_k` is a power, `stop.E` is an energy"), "{found:#?}");
    assert!(found[1].contains("`R_th` is one value, and there are 2"), "{found:#?}");
}

// 40 °C + 91.08 K = 131.08 °C: the next whole degree on the scale is 132 °C, the next multiple of 5 °C 135 °C
#[test]
fn a_temperature_is_rounded_on_its_own_scale() {
    let text = "{heat.T_peak in °C rounded up to 1 °C} {heat.T_peak in °C rounded down to 5 K} {heat.d_peak in K rounded up to 1 K}\n\n```sheet resistor-pulse as heat\nexamples\n```\n";
    let text = md(text).replace(" (inputs are the sheet's examples)", "");
    // the sheet does not say which side is the safe one of the first two: how they are rounded stands beside them
    let words = "\n132 °C (rounded up to 1 °C) 130 °C (rounded down to 5 K) 92 K";
    assert!(text.contains(words), "{text}");
}

#[test]
fn a_tolerance_may_stand_apart_from_its_value() {
    let text = "```sheet run-down as coast\nexamples\nJ ± 5 %\nshow worst\n```\n";
    assert!(
        md(text).contains("Worst case, with J from 0.009595 kg·m² to 0.010605 kg·m²"),
        "{}",
        md(text)
    );
    let found = problems(&text.replace("J ± 5 %", "J ± 5 mm\nK ± 5 %"));
    assert_eq!(found.len(), 2, "{found:#?}");
    assert!(
        found[0].starts_with("doc.md:3:1: error")
            && found[1].starts_with("doc.md:4:1: error unknown-input"),
        "{found:#?}"
    );
}

#[test]
fn calculations_that_wait_for_each_other_are_refused() {
    let block = |alias: &str, t_stop: &str| {
        format!("```sheet response-chain as {alias}\nexamples\nt_stop = {t_stop}\n```\n\n")
    };
    let circle = format!("{}{}{}", block("a", "b.T"), block("b", "c.T"), block("c", "a.T"));
    // one behind the circle and its values in the text are silent; one beside it is calculated
    let text =
        format!("{circle}{}{}{{a.T in ms}} {{d.T in kg}}", block("d", "c.T"), block("e", "1 s"));
    let found = problems(&text);
    assert_eq!(found.len(), 1, "{found:#?}");
    assert!(
        found[0].starts_with(
            "doc.md:3:1: error circular-definition: `a`, `b` and `c` wait for each other"
        ),
        "{found:#?}"
    );
    assert!(
        found[0].contains("`b` waits for `c`") && found[0].contains("`c` waits for `a`"),
        "{found:#?}"
    );
    // a block in a circle still tells what else is wrong with it
    let found = problems(&circle.replace("t_stop = b.T", "t_stop = b.T\nt_logic = 20 mm"));
    assert_eq!(found.len(), 2, "{found:#?}");
    assert!(found[1].starts_with("doc.md:4:1: error unit-mismatch: `t_logic`"), "{found:#?}");
    let found = problems(&block("a", "a.T"));
    assert!(found[0].contains("`a` takes an input from itself"), "{found:#?}");
    let two = format!(
        "{}{}{}{}",
        block("a", "b.T"),
        block("b", "a.T"),
        block("x", "y.T"),
        block("y", "x.T")
    );
    assert_eq!(problems(&two).len(), 2, "each circle once");
}

#[test]
fn what_waits_for_a_failed_calculation_is_silent() {
    let text = "```sheet safe-stop as stop\nexamples\nn_0 = 1450 Hz\n```\n\n```sheet resistor-window as win\nexamples\nE = stop.E\n```\n\n{win.P_mean in W}\n";
    let found = problems(text);
    assert_eq!(found.len(), 1, "{found:#?}");
    assert!(found[0].contains("rotation-meets-rate"), "{found:#?}");
}

// by hand as above with T_0 of 1.44 and 1.76 N·m: E = 84.308 J and 77.168 J, so 14.0513 W and 12.8613 W
#[test]
fn a_worst_case_is_handed_on() {
    let text = "```sheet safe-stop as stop\nexamples\nT_0 = 1.6 N·m ± 10 %\n```\n\n```sheet resistor-window as win\nexamples\nE = stop.E\nshow worst\n```\n";
    let printed = md(text);
    let tables = printed.split("### Symbols").next().unwrap();
    let row = tables.lines().rfind(|line| line.starts_with("| P\\_mean |")).unwrap();
    let numbers: Vec<f64> =
        row.split('|').filter_map(|cell| cell.trim().split(' ').next()?.parse().ok()).collect();
    for (found, wanted) in numbers.iter().zip([12.8613, 13.4563, 14.0513]) {
        assert!((found - wanted).abs() < 2e-4, "{row}");
    }
    assert_eq!(numbers.len(), 3, "{row}");
}

#[test]
fn a_workbook_error_stops_its_own_blocks_and_all_is_reported_in_one_go() {
    let mut book = rust_xlsxwriter::Workbook::new();
    let tab = book.add_worksheet();
    tab.write(0, 0, "sheet run-down").unwrap();
    for (row, (name, value)) in (1..).zip([("n_0", "fast"), ("J", "2,0")]) {
        tab.write(row, 0, name).unwrap();
        tab.write(row, 1, value).unwrap();
    }
    tab.write(3, 0, "T_0").unwrap();
    tab.write(3, 1, 4.0).unwrap();
    let files = Files(BTreeMap::from([("bad.xlsx", book.save_to_buffer().unwrap())]));
    let text = "```sheet run-down as a\nfrom bad.xlsx\n```\n\n```sheet run-down as b\nfrom bad.xlsx\n```\n\n```sheet run-down as c\nfrom gone.xlsx\n```\n\n```sheet run-down as d\nexamples\nJ = 2 mm\n```\n\n```sheet run-down as e\nexamples\n```\n\n{a.t_stop in s} {e.t_stop in kg} {e.t_stop in s}\n";
    let refused = read(&Source::new("doc.md", text), &files).unwrap_err();
    let found: Vec<String> = refused.problems.iter().map(render_line).collect();
    for part in [
        "text-for-number: `n_0`", "text-for-number: `J`", "missing-unit: `T_0`", "unreadable-file",
        "doc.md:15:1: error unit-mismatch: `J`", "result-unit: `e.t_stop`",
    ] {
        assert_eq!(
            found.iter().filter(|line| line.contains(part)).count(),
            1,
            "{part} in {found:#?}"
        );
    }
    assert_eq!(found.len(), 6, "{found:#?}");
}

// the five mistakes that the README shows; made by tests/workbooks/make_asked.py
#[test]
fn a_workbook_reports_in_a_review_what_it_reports_when_it_is_filled() {
    let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/workbooks/asked/five-mistakes.xlsx");
    let files = Files(BTreeMap::from([("five.xlsx", std::fs::read(path).unwrap())]));
    let text = "```sheet brake-resistor as res\nfrom five.xlsx\n```\n\n```sheet resistor-window as win\nexamples\nE = res.E\n```\n";
    let refused = read(&Source::new("doc.md", text), &files).unwrap_err();
    let found: Vec<String> = refused.problems.iter().map(render_line).collect();
    for part in [
        "text-for-number: `J_load`", "rotation-meets-rate: `n_0`", "empty-cell: `t_cycle`",
        "unit-mismatch: `I_max`", "out-of-range: `eta`",
    ] {
        assert_eq!(
            found.iter().filter(|line| line.contains(part)).count(),
            1,
            "{part} in {found:#?}"
        );
    }
    assert_eq!(found.len(), 5, "{found:#?}");
}

// plain arithmetic over the rows of examples/make_product_line.py, apart from this program: J_load/i² + motor and
// brake, run-down J·n/T_0, ramp and delay rounded up, S = 1600 mm/s · T up to 5 mm, against the distance of the row
#[test]
fn a_product_line_shows_the_least_margin_of_each_check() {
    let files = Files(BTreeMap::from([("roller-line.xlsx", example("roller-line.xlsx"))]));
    let text = "{rollers.checks}\n\n```sheet safe-stop as rollers\nrange roller-line.xlsx\n```\n";
    let document = read(&Source::new("doc.md", text), &files).unwrap();
    assert!(!document.holds());
    let printed = unlinked(&plain(&document, "now"));
    assert!(printed.contains("\n7 of 40 variants FAIL"), "{}", &printed[..60]);
    let row = printed
        .lines()
        .find(|line| line.starts_with("| the curtain stands far enough away"))
        .unwrap();
    assert!(
        row.contains("**FAILS** in 7 | -230 mm |") && row.contains("RW-240-800-H (row 70)"),
        "{row}"
    );
    let html = page(&document, "now");
    // of S = 2935 mm in that row: 230/2935 = 7.8 %
    assert!(
        html.contains("-230 mm (-7.8 %), RW-240-800-H (row 70): FAILS in 7"),
        "the picture names it"
    );
    let strip = html.split("the curtain stands far enough away</text>").nth(1).unwrap();
    let strip = strip.split("class=\"b\"").next().unwrap();
    let marks = |class: &str, per: usize| {
        let d = strip.split(&format!("<path class=\"{class}\" d=\"")).nth(1).unwrap();
        d.split('"').next().unwrap().matches('M').count() / per
    };
    assert_eq!((marks("vr", 1), marks("vx", 2)), (33, 7), "a mark for every variant");
    let table = html.split("The worst 10 of 40 variants").nth(1).unwrap();
    let table = table.split("</table>").next().unwrap();
    assert_eq!(table.matches("<th scope=\"row\">").count(), 10);
    let first = table.split("<tbody>").nth(1).unwrap().split("</tr>").next().unwrap();
    assert!(
        first.contains("RW-240-800-H (row 70)")
            && first.contains("\u{2212}230\u{a0}mm")
            && first.contains("<b>\u{2212}7.8</b>"),
        "{first}"
    );
    let found: Vec<String> = read(
        &Source::new("doc.md", "```sheet safe-stop as rollers\nrange roller-line.xlsx\nJ_load = 2 kg·m²\n```\n\n```sheet safe-stop as x\nexamples\nS_there = rollers.S\n```\n{rollers.S}"),
        &files,
    )
    .unwrap_err()
    .problems
    .iter()
    .map(render_line)
    .collect();
    assert!(
        found[0].contains("review-line: a product line takes its inputs from its workbook alone"),
        "{found:#?}"
    );
}

#[test]
fn a_wrong_row_of_a_product_line_is_reported_with_its_cell() {
    let files = Files(BTreeMap::from([("line.csv", b"sheet run-down\nT_0,4,N\xc2\xb7m\n\nroller,J / (kg\xc2\xb7m\xc2\xb2),n_0 / (r/min)\nA,2,1500\nB,heavy,1500\nC,,1500\n".to_vec())]));
    let text = "```sheet run-down as line\nrange line.csv\n```\n";
    let refused = read(&Source::new("doc.md", text), &files).unwrap_err();
    let found: Vec<String> = refused.problems.iter().map(render_line).collect();
    assert_eq!(found.len(), 2, "{found:#?}");
    assert!(found[0].contains("B6") && found[1].contains("B7"), "{found:#?}");
}

#[test]
fn what_a_product_line_says_never_becomes_markup() {
    let csv = "sheet run-down\nT_0,4,N·m\n\nroller,J / (kg·m²),n_0 / (r/min)\n<img src=x onerror=a()>,2,1500\n</text><script>b()</script>,3,1500\n";
    let files = Files(BTreeMap::from([("<i>.csv", csv.as_bytes().to_vec())]));
    let text = "{line.checks}\n\n```sheet run-down as line\nrange <i>.csv\n```\n";
    let html = page(&read(&Source::new("doc.md", text), &files).unwrap(), "now");
    let body = html.split("<main>").nth(1).unwrap().split("</main>").next().unwrap();
    assert!(body.contains("&lt;img src=x onerror=a()&gt; (row 5)"), "{body}");
    assert!(!body.contains("<img") && !body.contains("<script") && !body.contains("<i>.csv"));
}

// t = J·ω/T: 2 · 157.0796/4 = 78.5398 s, and 1 % of J, of ω and of 1/T each 0.7854 s
#[test]
fn slopes_are_shown_as_bars_and_asked_for_by_name() {
    let text = "```sheet run-down as coast\nJ = 2 kg·m²\nn_0 = 1500 r/min\nT_0 = 4 N·m\nslopes of t_stop\n```\n";
    let html = page(&document(text), "now");
    // a second calculation: 1 % more of T_0 gives 78.5398 s/1.01, 0.7776 s less
    for part in ["J +0.7854 s", "n_0 +0.7854 s", "T_0 -0.7776 s"] {
        assert!(html.contains(part), "{part}");
    }
    let found = problems(&text.replace("of t_stop", "of t_stop, t_stp"));
    assert_eq!(found.len(), 1, "{found:#?}");
    assert!(found[0].starts_with("doc.md:5:19: error unknown-name"), "{found:#?}");
}

/// Of each result: the words of its sensitivities on the page.
fn on_page(html: &str) -> Vec<(String, Vec<String>)> {
    let figures = html.split("<title>Sensitivities of ").skip(1);
    let of = |figure: &str| {
        let (name, rest) = figure.split_once("</title><desc>").unwrap();
        let words = rest.split("</desc>").next().unwrap();
        let words = words.trim_start_matches("For 1 % more of an input: ").trim_end_matches('.');
        let rows = words.split("; ").filter(|it| !it.starts_with("no input"));
        (name.to_owned(), rows.map(str::to_owned).collect())
    };
    figures.map(of).collect()
}

/// The same as Markdown has it.
fn in_markdown(text: &str) -> Vec<(String, Vec<String>)> {
    let parts = text.split("Sensitivities of ").skip(1);
    let of = |part: &str| {
        let name = part.split(" = ").next().unwrap().replace('\\', "");
        let rows = part.lines().skip_while(|it| !it.starts_with("| ---")).skip(1);
        let rows = rows.take_while(|it| it.starts_with('|')).map(|row| {
            let row = row.replace('\\', "").replace('−', "-");
            let cells: Vec<&str> = row.split('|').map(str::trim).collect();
            match cells[3] {
                "" => format!("{} {}", cells[1], cells[2]),
                smooth => format!("{} {} (without steps {smooth})", cells[1], cells[2]),
            }
        });
        (name, rows.collect())
    };
    parts.map(of).collect()
}

#[test]
fn the_sensitivities_of_a_page_are_those_of_every_other_report() {
    let lib = "```sheet safe-stop as stop\nexamples\nslopes of T_used, E, S\nshow inputs slopes\n```\n\n```sheet run-down as coast\nexamples\nshow slopes\n```\n\n```sheet resistor-pulse as heat\nexamples\nshow slopes\n```\n";
    let (source, files) = super::carton_wrapper();
    let shipped = read(&source, &files).unwrap();
    let mut compared = 0;
    for made in [document(lib), shipped] {
        let (html, text) = (page(&made, "m"), plain(&made, "m"));
        let (mut page, mut md) = (on_page(&html), in_markdown(&text));
        page.sort();
        md.sort();
        assert!(!page.is_empty());
        for ((name, page), (other, md)) in page.iter().zip(&md) {
            assert_eq!(name, other);
            assert_eq!(page.len(), md.len().min(8), "{name}");
            for (page, md) in page.iter().zip(md) {
                assert_eq!(&page.replace("&#39;", "'"), md, "{name}");
                compared += 1;
            }
        }
        assert_eq!(page.len(), md.len());
    }
    assert!(compared > 20, "{compared}");
}

#[test]
fn a_whole_document_is_kept_as_markdown() {
    let text = "# Two calculations\n\n```sheet run-down as coast\nJ = 2 kg·m² ± 5 %\nn_0 = 1500 r/min\nT_0 = 4 N·m ± 0.5 N·m\nshow inputs results worst slopes\nslopes of t_stop\n```\n\n```sheet response-chain as chain\nt_sensor = 14 ms\nt_logic = 20 ms\nt_drive = 10 ms\nt_stop = coast.t_stop\ntol_sensor = 0 ms\ntol_logic = 0 ms\nt_network = 0 ms\ntol_network = 0 ms\ntol_drive = 0 ms\ntol_stop = 0 ms\nshow inputs results worst\n```\n";
    let printed = md(text);
    // behind it stand hashes of the library
    let printed = printed.split("\n\n---").next().unwrap();
    insta::with_settings!({ prepend_module_to_snapshot => false, omit_expression => true }, {
        insta::assert_snapshot!("two-calculations", printed);
    });
}

// plain arithmetic: ways of 1 to 90 mm, there and back at most 120 mm
#[test]
fn many_variants_are_counted_on_both_sides_of_the_limit() {
    let sheet = "```sheet\nsheet wait\ntitle \"Time to wait\"\nsource \"plain arithmetic\"\n\ntakes\n  a : length in mm from 0 mm like 1 mm \"way\"\n\nworks\n  b = 2 * a\n\nholds\n  b <= 120 mm \"short enough\" else \"shorten it\"\n\ngives\n  b in mm\n```\n";
    let mut csv = String::from("sheet wait\n\nname,a / mm\n");
    for row in 1..=90 {
        csv.push_str(&format!("V{row},{row}\n"));
    }
    let files = Files(BTreeMap::from([("line.csv", csv.into_bytes())]));
    let text = format!("{sheet}\n```sheet wait as line\nrange line.csv\n```\n");
    let html = page(&read(&Source::new("doc.md", text), &files).unwrap(), "now");
    assert!(html.contains("30 of 90 variants FAIL"));
    // 2 · 60 mm = 120 mm stands at the limit and holds: bars of those that fail end at the line of the limit
    let line = html.split("class=\"zl\" d=\"M").nth(1).unwrap().split(' ').next().unwrap();
    let limit: f64 = line.parse().unwrap();
    let ends = |class: &str| -> Vec<(f64, f64)> {
        let d = html.split(&format!("<path class=\"{class}\" d=\"M")).nth(1).unwrap();
        let bars = d.split('"').next().unwrap().split('M');
        bars.map(|bar| {
            let (from, rest) = bar.split_once(' ').unwrap();
            let to = rest.split('H').nth(1).unwrap().split('V').next().unwrap();
            (from.parse().unwrap(), to.parse().unwrap())
        })
        .collect()
    };
    assert!(ends("br op").iter().all(|(_, to)| *to <= limit + 0.11), "{limit} {:?}", ends("br op"));
    assert!(ends("br").iter().all(|(from, _)| *from >= limit - 0.11), "{limit} {:?}", ends("br"));
    // V90: 120 mm against 180 mm is a third of the larger too little
    assert!(html.contains("-60 mm (-33.3 %), V90 (row 93): FAILS in 30"));
}

// ranges of stop.E and of t_ramp_quick depend on the same inertia and friction
#[test]
fn a_range_that_is_handed_on_says_that_common_causes_count_twice() {
    let text = |tolerance: &str, show: &str| {
        format!(
            "```sheet safe-stop as stop\nexamples\nT_0 = 1.6 N·m{tolerance}\n```\n\n```sheet resistor-pulse as warm\nP_k = stop.regen.P_ramp, 0 W\nt_k = stop.ss1.t_ramp_quick, 5.7 s\nR_th = 3.2 K/W\ntau = 120 s ± 5 %\ndT_max = 160 K\nT_air = 40 °C\nshow {show}\n```\n"
        )
    };
    let words = "P_k takes its range from the worst case of stop, as a range of its own.";
    for show in ["inputs", "picture inputs", "worst", "results picture worst"] {
        let html = page(&document(&text(" ± 10 %", show)), "now");
        assert_eq!(html.matches(words).count(), 1, "{show}");
        assert!(html.contains("on the safe side"));
    }
    assert!(md(&text(" ± 10 %", "worst")).contains(&words.replace('_', "\\_")));
    // one range by itself has nothing to share
    let alone = text(" ± 10 %", "inputs worst").replace("120 s ± 5 %", "120 s");
    assert!(!page(&document(&alone), "now").contains("takes its range"));
    assert!(!page(&document(&text("", "inputs worst")), "now").contains("takes its range"));
}

// t = J·ω/T: 3 · 157.0796/4 = 117.8 s; 5 % more 123.7 s, 30 % more 153.2 s, against 150 s
#[test]
fn running_text_reports_what_becomes_of_the_checks_within_the_tolerances() {
    let sheet = "```sheet\nsheet wait\ntitle \"Time to wait\"\nsource \"plain arithmetic\"\n\nuses\n  coast = run-down with J = J, n_0 = n_0, T_0 = T_0\n\ntakes\n  J : inertia in kg·m² above 0 kg·m² like 3 kg·m² \"rotor\"\n  n_0 : speed of rotation in r/min above 0 r/min like 1500 r/min \"speed\"\n  T_0 : torque in N·m above 0 N·m like 4 N·m \"friction\"\n\nworks\n  t = coast.t_stop\n\nholds\n  t <= 150 s \"it stands soon enough\" else \"brake it\"\n\ngives\n  t in s\n```\n\n";
    let said = |tolerance: &str| {
        let text = format!(
            "{sheet}{{w.worst}}\n\n```sheet wait as w\nexamples\nJ = 3 kg·m²{tolerance}\nshow results\n```\n"
        );
        let printed = md(&text);
        let from = printed.find("gives").unwrap();
        printed[from..].lines().nth(4).unwrap().to_owned()
    };
    assert_eq!(said(""), "no input has a tolerance");
    assert_eq!(said(" ± 5 %"), "all 4 checks are proved to hold within the tolerances");
    assert!(
        said(" ± 30 %").starts_with(
            "1 of 4 NOT PROVED within the tolerances: it stands soon enough: may fail"
        ),
        "{}",
        said(" ± 30 %")
    );
}

/// A heading is named by the words that are read in it, however it is written: a link to it leads there, on the page and
/// where the Markdown is shown.
#[test]
fn a_heading_is_named_by_the_words_that_are_read() {
    for (heading, name) in [
        ("## Limits and ends", "limits-and-ends"),
        ("## Limits and ends ##", "limits-and-ends"),
        ("Limits and ends\n---------------", "limits-and-ends"),
        ("Limits\nand ends\n---", "limits-and-ends"),
        ("## Limits [and](#calculation-stop) **ends**", "limits-and-ends"),
        ("## `Limits` *and* ends", "limits-and-ends"),
        ("## Limits and ![ends](https://example.org/a.png)", "limits-and-ends"),
        ("## Calculation stop", "calculation-stop"),
    ] {
        let text =
            format!("{heading}\n\n{{stop.S}}\n\n```sheet safe-stop as stop\nexamples\n```\n");
        let html = page(&document(&text), "now");
        assert!(html.contains(&format!("<h2 id=\"{name}\">")), "{heading}: {}", &html[..200]);
        // the calculation's own heading is the second of its name, and a figure leads to it
        let again =
            if name == "calculation-stop" { "#calculation-stop-1" } else { "#calculation-stop" };
        let printed = plain(&document(&text), "now");
        assert!(printed.contains(&format!("]({again} ")), "{heading}: {}", &printed[..300]);
    }
}

/// Viewers name the places of headings in small letters: of two calculations whose names differ by a capital alone, each
/// figure leads to its own.
#[test]
fn a_figure_leads_to_its_own_calculation_whatever_the_capitals() {
    let block = |alias: &str, time: &str| {
        format!(
            "```sheet separation-curtain as {alias}\nd = 14 mm\nT = {time}\nedition = 2010\nshow results\n```\n\n"
        )
    };
    let text = format!(
        "{{s.S in mm}} {{S.S in mm}}\n\n{}## Calculation S\n\n{}",
        block("s", "100 ms"),
        block("S", "400 ms")
    );
    let printed = plain(&document(&text), "now");
    for wanted in ["[200 mm](#calculation-s \"", "[640 mm](#calculation-s-2 \""] {
        assert!(printed.contains(wanted), "{wanted} in {}", &printed[..600]);
    }
}

/// What stands on a calculation that fails says so at its figures, on the page with a link; nothing of it may be set.
#[test]
fn what_stands_on_a_calculation_that_fails_says_so() {
    let text = "{late.w in kg}\n\n```sheet\nsheet first\ntitle \"First\"\nsource \"plain arithmetic\"\ntakes\n  m : mass in kg like 9 kg\nworks\n  w = 2 * m\nholds\n  m <= 8 kg \"light\" else \"take some off\"\ngives\n  w in kg\n```\n\n```sheet first as one\nm = 9 kg\n```\n\n```sheet first as late\nm = one.w\n```\n";
    let text = text.replace(
        "```sheet first as late\nm = one.w",
        "```sheet first as mid\nm = one.w\n```\n\n```sheet first as late\nm = mid.w",
    );
    // 9 kg, 18 kg and 36 kg: each is above 8 kg, and the last stands on both before it
    let printed = md(&text);
    let said = "72 kg (a check FAILS; stands on mid, where a check FAILS; stands on one, where a check FAILS)";
    assert!(printed.contains(said), "{printed}");
    assert!(printed.contains("3 of 3 FAIL: one: light: take some off (and 2 more). mid, late stand on what is none to go by."), "{printed}");
    let html = page(&document(&text), "now");
    assert!(html.contains("stands on <a href=\"#calc1\">mid</a>, where a check FAILS"), "a link");
}
