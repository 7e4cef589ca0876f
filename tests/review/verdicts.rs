//! The verdict of many calculations, variants and protocols in one sentence, and what stands beside it.
//!
//! The figures: energy of a turning body E = 1/2·J·ω² (any mechanics handbook). At 900 r/min ω = 94.24778 1/s, so
//! 0.01 kg·m² hold 44.4 J, 0.02 kg·m² 88.8 J, 0.03 kg·m² 133.2 J; a belt bears 120 J, that of the product line 121 J, and
//! half of it is to be spare.

use std::collections::BTreeMap;

use super::{Files, unlinked};
use standstill::diagnostic::{Source, render_line};
use standstill::recording::{SEAL, seal};
use standstill::review::{Document, page, plain, read};
use standstill::spreadsheet::Book;

const SHEET: &str = "```sheet
sheet cap-turret
title \"Capping turret\"
source \"Energy of a turning body 1/2·J·ω² (derivation)\"
takes
  J : inertia in kg·m² above 0 kg·m² like 0.02 kg·m² \"all at the motor\"
  n_0 : speed of rotation in r/min above 0 r/min like 900 r/min \"highest\"
  E_ok : energy in J above 0 J like 120 J \"that the belt bears\"
works
  E = 1/2 * J * n_0^2
holds
  E <= E_ok \"the belt bears the stop\" else \"a wider belt\"
  E <= 0.5 * E_ok \"half of it is spare\" else caution \"check the belt each month\"
gives
  E in J
```
";

fn document(body: &str, files: &[(&'static str, Vec<u8>)]) -> Document {
    let files: BTreeMap<_, _> = files.iter().cloned().collect();
    read(&Source::new("doc.md", format!("# T\n\n{SHEET}\n{body}")), &Files(files))
        .map_err(|it| it.problems.iter().map(render_line).collect::<Vec<_>>())
        .unwrap()
}

fn refused(body: &str) -> String {
    let files = Files(BTreeMap::from([("a.csv", book()), ("b.csv", book())]));
    let text = format!("# T\n\n{SHEET}\n{body}");
    let problems = read(&Source::new("doc.md", text), &files).unwrap_err().problems;
    problems.iter().map(render_line).collect::<Vec<_>>().join("\n")
}

fn book() -> Vec<u8> {
    b"sheet cap-turret\nJ,0.01,kg\xc2\xb7m\xc2\xb2\nn_0,900,r/min\nE_ok,120,J\n".to_vec()
}

/// The sentence at the head of a page, and that of the paper.
fn sentence(document: &Document) -> String {
    let html = page(document, "m");
    let said = html.split("data-vall><b>").nth(1).unwrap().split("</b>").next().unwrap();
    let paper = plain(document, "m");
    let paper = paper.split("**Verdict: ").nth(1).unwrap().split("**\n").next().unwrap();
    assert_eq!(said.replace("&#39;", "'"), paper.replace('\\', ""));
    assert_eq!(
        html.matches(&format!("data-vall><b>{said}</b>")).count(),
        2,
        "over the signatures too"
    );
    paper.replace('\\', "")
}

fn line(inertias: &[&str]) -> Vec<u8> {
    let mut text = "sheet cap-turret\nE_ok,121,J\n\nvariant,J / (kg·m²),n_0 / (r/min)\n".to_owned();
    for (at, inertia) in inertias.iter().enumerate() {
        text.push_str(&format!("V{at},{inertia},900\n"));
    }
    text.into_bytes()
}

// every mixture of variants that hold, hold with a caution and fail
#[test]
fn a_caution_of_a_product_line_is_in_the_verdict_and_every_failing_variant_is_named_or_counted() {
    for mixture in 1..27_usize {
        let [holds, cautions, fails] = [mixture % 3, mixture / 3 % 3, mixture / 9];
        let mut inertias = vec!["0.01"; holds];
        inertias.extend(vec!["0.02"; cautions]);
        inertias.extend(vec!["0.03"; fails]);
        let all = inertias.len();
        let body = "line: {l.checks}\n\n```sheet cap-turret as l\nrange line.csv\n```\n";
        let made = document(body, &[("line.csv", line(&inertias))]);
        let said = sentence(&made);
        let one = &made.lines[0];
        // what fails the limit leaves no half of it spare either
        assert_eq!((one.failing.len(), one.cautioned.len()), (fails, cautions + fails));
        assert_eq!(made.holds(), fails == 0, "a caution is not a failure");
        let words = one.to_text();
        match (fails, cautions) {
            (0, 0) => assert_eq!(said, "Every check holds."),
            (0, _) => assert_eq!(
                said,
                format!(
                    "No check fails; a caution was found: l: half of it is spare (in {cautions} of {all} variants)."
                )
            ),
            _ => assert_eq!(
                said,
                format!(
                    "1 of 2 checks FAILS: l: the belt bears the stop (in {fails} of {all} variants)."
                )
            ),
        }
        for at in holds..all {
            assert!(
                words.contains(&format!("V{at} (row {})", at + 5)) || words.contains("more)"),
                "{words}"
            );
        }
        let html = page(&made, "m");
        assert_eq!(html.contains("class=\"vx\""), fails > 0, "crosses are of what fails");
        assert_eq!(html.contains("class=\"vc\""), cautions + fails > 0);
    }
}

#[test]
fn examples_are_named_beside_every_verdict_until_they_are_ones_own() {
    let words = "inputs are the sheet's examples: not your machine yet";
    let made =
        document("{a.checks}\n\n```sheet cap-turret as a\nJ = 0.01 kg·m²\nexamples\n```\n", &[]);
    assert_eq!(sentence(&made), format!("Every check holds. a: 2 of 3 {words}."));
    let html = page(&made, "m");
    // at the head, over the signatures, and in the text; in the sentence twice
    assert_eq!(html.replace("&#39;", "'").matches(&format!("2 of 3 {words}.")).count(), 5);
    assert_eq!(made.calculations[0].examples_text(), format!("2 of 3 {words}"));
    let own =
        "```sheet cap-turret as a\nJ = 0.01 kg·m²\nn_0 = 900 r/min\nE_ok = 120 J\nexamples\n```\n";
    assert_eq!(sentence(&document(own, &[])), "Every check holds.");
}

#[test]
fn what_a_document_puts_on_top_of_a_workbook_is_named() {
    let with = |own: &str| {
        let body = format!("```sheet cap-turret as a\nfrom a.csv\n{own}\n```\n");
        let made = document(&body, &[("a.csv", book())]);
        assert!(page(&made, "m").contains("inputs from a.csv"));
        plain(&made, "m").replace('\\', "")
    };
    assert!(!with("").contains("from the document"));
    assert!(with("J = 0.011 kg·m²\nn_0 = 800 r/min").contains(", but J, n_0 from the document\n"));
    assert!(with("J ± 10 %").contains(", but the tolerance of J from the document\n"));
}

#[test]
fn a_block_says_everything_once() {
    let usual = "J = 0.01 kg·m²\nn_0 = 900 r/min\nE_ok = 120 J\n";
    for (one, other, what) in [
        ("J = 0.02 kg·m²", "J = 0.03 kg·m²", "a value of `J`"),
        ("J ± 1 %", "J ± 2 %", "the tolerance of `J`"),
        ("from a.csv", "from b.csv", "`from`"),
        ("range a.csv", "range b.csv", "`range`"),
        ("show results", "show checks", "`show`"),
        ("examples", "examples", "`examples`"),
    ] {
        let rest: String =
            usual.lines().filter(|it| !it.starts_with("J =")).map(|it| format!("{it}\n")).collect();
        let rest = if one.starts_with("J =") { rest } else { usual.to_owned() };
        let said = refused(&format!("```sheet cap-turret as a\n{one}\n{rest}{other}\n```\n"));
        assert!(said.contains(&format!("the block says {what} twice")), "{said}");
    }
}

#[test]
fn a_value_in_the_text_is_never_rounded_to_the_side_that_makes_a_check_look_better() {
    let with = |value: &str| format!("{{{value}}}\n\n```sheet cap-turret as a\nfrom a.csv\n```\n");
    // 44.4 J on the low side of a limit: up alone, or to the nearest that is not below it
    for (value, way) in [
        ("a.E in J rounded down to 5 J", "up to 5 J"),
        ("a.E rounded to 20 J", "up to 20 J"),
        ("a.E_ok rounded up to 50 J", "down to 50 J"),
    ] {
        let said = refused(&with(value));
        assert!(said.contains("is rounded to the unsafe side"), "{said}");
        assert!(said.contains(&format!("write `rounded {way}`")), "{said}");
    }
    for (value, figure) in [
        ("a.E rounded up to 5 J", "45 J"),
        ("a.E rounded to 5 J", "45 J"),
        ("a.E_ok rounded down to 50 J", "100 J"),
    ] {
        let made = document(&with(value), &[("a.csv", book())]);
        assert!(unlinked(&plain(&made, "m")).contains(&format!("\n{figure}")), "{value}");
    }
}

#[test]
fn a_value_in_the_text_says_how_far_it_goes_within_the_tolerances() {
    let body = "It is {a.E in J}.\n\n```sheet cap-turret as a\nfrom a.csv\nJ ± 10 %\n```\n";
    let paper = unlinked(&plain(&document(body, &[("a.csv", book())]), "m"));
    // 44.4 J · 0.9 and · 1.1
    let found = paper.split("It is ").nth(1).unwrap().lines().next().unwrap();
    assert!(found.starts_with("44.4132 J (nominal; 39.97"), "{found}");
    assert!(found.contains(" to 48.85") && found.ends_with("within the tolerances)."), "{found}");
}

/// A workbook as a protocol of measured stops leaves it, sealed.
fn protocol(verdict: &str, look: bool) -> Vec<u8> {
    let open = protocol_with(verdict, look, "");
    let seal = seal(&Book::read("p.xlsx", &open).unwrap());
    protocol_with(verdict, look, &seal)
}

fn protocol_with(verdict: &str, look: bool, seal: &str) -> Vec<u8> {
    let mut book = rust_xlsxwriter::Workbook::new();
    let tab = book.add_worksheet().set_name("protocol").unwrap();
    tab.write(1, 0, verdict).unwrap();
    tab.write(6, 0, if look { "look" } else { "holds" }).unwrap();
    tab.write(6, 1, "the distance does not stand on a ramp that works").unwrap();
    tab.write(6, 2, "it does").unwrap();
    let tab = book.add_worksheet().set_name("for the next check").unwrap();
    tab.write(7, 0, "verdict").unwrap().write(7, 1, verdict).unwrap();
    tab.write(8, 0, SEAL).unwrap().write(8, 1, seal).unwrap();
    if verdict.starts_with("passed") {
        let tab = book.add_worksheet().set_name("form").unwrap();
        for (row, line) in String::from_utf8(self::book()).unwrap().lines().enumerate() {
            for (column, word) in line.split(',').enumerate() {
                let at = (u32::try_from(row).unwrap(), u16::try_from(column).unwrap());
                match word.parse::<f64>() {
                    Ok(number) => tab.write(at.0, at.1, number).unwrap(),
                    Err(_) => tab.write(at.0, at.1, word).unwrap(),
                };
            }
        }
    }
    book.save_to_buffer().unwrap()
}

#[test]
fn what_a_protocol_asks_to_look_at_is_in_the_verdict_of_a_review_made_from_it() {
    let body = "```sheet cap-turret as a\nfrom p.xlsx\n```\n";
    let passed = "passed: all 17 findings hold, 1 to look at";
    let made = document(body, &[("p.xlsx", protocol(passed, true))]);
    let said = sentence(&made);
    assert_eq!(
        said,
        "No check fails; a caution was found: a: protocol of its inputs: look: the distance does not stand on a ramp that works: it does."
    );
    assert!(page(&made, "m").contains(&format!("(protocol {passed})")));
    // a verdict that is more than passed is not lost where its list is
    let bare = document(body, &[("p.xlsx", protocol(passed, false))]);
    assert!(sentence(&bare).contains(passed));
    let clean = document(body, &[("p.xlsx", protocol("passed: all 17 findings hold", false))]);
    assert_eq!(sentence(&clean), "Every check holds.");
    let not = "NOT PASSED: 2 of 21 findings FAIL";
    let files = Files(BTreeMap::from([("p.xlsx", protocol(not, false))]));
    let text = format!("{SHEET}\n{body}");
    let problems = read(&Source::new("doc.md", text), &files).unwrap_err().problems;
    let said: Vec<String> = problems.iter().map(render_line).collect();
    assert!(
        said.iter().any(|it| it.contains(&format!("holds a protocol that is {not}"))),
        "{said:#?}"
    );
}

/// What stands at the head of every printed page.
fn paper_head(html: &str) -> &str {
    html.split("@top-left { content: \"").nth(1).unwrap().split('"').next().unwrap()
}

/// The example of the library's run-down, left standing in a form.
const COAST: &str = "sheet run-down\nname,value,unit,what it is,kind,allowed\nJ,0.0101,kg·m²\nn_0,1450,r/min\nT_0,1.6,N·m\n";

#[test]
fn examples_are_at_the_head_of_every_printed_page_whichever_door_they_came_by() {
    let from = |more: &str| {
        let body = format!("{{a.t_stop}}\n\n```sheet run-down as a\nfrom left.csv\n{more}\n```\n");
        document(&body, &[("left.csv", COAST.as_bytes().to_vec())])
    };
    let typed = document("{a.t_stop}\n\n```sheet run-down as a\nexamples\n```\n", &[]);
    let held = "a: 3 of 3 inputs hold the value of the sheet's example: not your machine yet, where nobody has looked at J, n_0, T_0.";
    for (made, words) in
        [(typed, "inputs are the sheet's examples: not your machine yet."), (from(""), held)]
    {
        assert!(sentence(&made).ends_with(words), "{}", sentence(&made));
        let html = page(&made, "m");
        let head = paper_head(&html);
        assert!(head.starts_with("NOT YOUR MACHINE: examples in a, Every check holds"), "{head}");
        assert!(html.contains("<body class=\"unsigned\">") && html.contains("not to be signed"));
        assert!(html.contains("<span class=\"why\"> (inputs are the sheet&#39;s examples)</span>"));
        assert!(plain(&made, "m").contains("(inputs are the sheet's examples)"));
    }
    assert!(page(&from(""), "m").contains("B3, as the example<"), "the row says so");
    // what somebody typed, somebody has looked at: two of three may be chance
    let own = from("J = 0.0101 kg·m²");
    assert!(!sentence(&own).contains("not your machine"), "{}", sentence(&own));
    let html = page(&own, "m");
    assert!(paper_head(&html).starts_with("Every check holds") && html.contains("<body>"));
    assert!(!html.contains(", as the example<"));
    // in a workbook of one's own all was typed: a machine may be that of the example
    let file = COAST.replace("name,value,unit,what it is,kind,allowed\n", "").into_bytes();
    let body = "{a.t_stop}\n\n```sheet run-down as a\nfrom own.csv\n```\n";
    let html = page(&document(body, &[("own.csv", file)]), "m");
    assert!(paper_head(&html).starts_with("Every check holds") && html.contains("<body>"));
    assert!(!html.contains("sheet&#39;s example"));
}

#[test]
fn a_figure_that_is_calculated_looks_and_leads_otherwise_than_one_that_was_typed() {
    let body = "It is **44 J**, and calculated {a.E in J}, {a.J}, {a.checks}.\n\n[to {a.E}](#t) and `{a.E}`\n\n```sheet cap-turret as a\nfrom a.csv\n```\n";
    let html = page(&document(body, &[("a.csv", book())]), "m");
    let text = html.split("It is ").nth(1).unwrap().split("</p>").next().unwrap();
    assert!(
        text.starts_with("<strong>44 J</strong>, and calculated <a class=\"cf\" href=\"#calc0w")
    );
    for (name, place) in [("a.E in J", "calc0w"), ("a.J", "calc0i0"), ("a.checks", "calc0\"")] {
        let link = text.split("<a ").find(|it| it.contains(&format!("title=\"{name}\""))).unwrap();
        assert!(link.contains(&format!("href=\"#{place}")), "{name}: {link}");
    }
    // a link holds no other, and each leads to a place of the page: the author's stands behind its words
    assert!(
        html.contains("<p>to <a class=\"cf\" href=\"#calc0")
            && html.contains("(<a href=\"#t\">#t</a>)")
    );
    let mut count = 0;
    for link in html.split("<a class=\"cf\" href=\"#").skip(1) {
        let place = link.split('"').next().unwrap();
        assert_eq!(html.matches(&format!(" id=\"{place}\"")).count(), 1, "{place}");
        count += 1;
    }
    assert_eq!(count, 4);
    assert!(html.contains("a figure with a dotted underline is calculated"));
    // what the document shows nothing of has no place, and is marked all the same
    let hidden = body.replace("from a.csv", "from a.csv\nshow");
    let html = page(&document(&hidden, &[("a.csv", book())]), "m");
    assert!(html.contains("calculated <a class=\"cf\" title=\"a.E in J\">"), "no place, no link");
    let none = page(
        &document(
            "It is 44 J.\n\n```sheet cap-turret as a\nfrom a.csv\n```\n",
            &[("a.csv", book())],
        ),
        "m",
    );
    assert!(none.contains("No figure of the text is calculated") && !none.contains("class=\"cf\""));
}

/// The same of the text that a repository keeps: a link is all that every viewer has, and its place a heading there.
#[test]
fn in_markdown_a_figure_that_is_calculated_is_a_link_and_no_other_looks_like_it() {
    let body = "## Calculation a\n\nIt is **44 J** or [44 J](#calculation-a-1), and {a.E in J}, {a.checks}, {h.E}; [see](#calculation-a-1), [to {a.E}](#t), {l.checks}.\n\n```sheet cap-turret as a\nfrom a.csv\n```\n\n```sheet cap-turret as h\nfrom a.csv\nshow\n```\n\n```sheet cap-turret as l\nrange line.csv\n```\n";
    let files = [("a.csv", book()), ("line.csv", line(&["0.01"]))];
    let made = document(body, &files);
    let text = plain(&made, "m");
    let said = text.split("It is ").nth(1).unwrap().lines().next().unwrap();
    // the second heading of these words is that of the calculation
    for part in [
        "**44 J** or [44 J](#calculation-a-1) (typed)",
        "[44.4132 J](#calculation-a-1 \"a.E in J\")",
        "[both checks hold](#calculation-a-1 \"a.checks\")",
        "[44.4132 J](#symbols \"h.E\")",
        "[see](#calculation-a-1),",
        "\\[to [44.4132 J](#calculation-a-1 \"a.E\")](#t)",
        "[the only variant holds](#product-line-l \"l.checks\")",
    ] {
        assert!(said.contains(part), "{part} in {said}");
    }
    for heading in ["Calculation a", "Product line l", "Symbols"] {
        assert!(text.contains(&format!("\n### {heading}\n")), "{heading}");
    }
    assert!(text.contains("\nIn the text a figure that is a link"));
    let html = page(&made, "m");
    let shown = document(
        "[44 J](#calc0r0), [here](#calc0)\n\n```sheet cap-turret as a\nfrom a.csv\n```\n",
        &files,
    );
    assert!(
        page(&shown, "m")
            .contains("<a href=\"#calc0r0\">44 J</a> (typed), <a href=\"#calc0\">here</a><"),
        "{html}"
    );
}

#[test]
fn no_stroke_of_the_text_goes_through_what_is_calculated() {
    let body = "~~{a.checks}~~ ~{a.E}~ ~~44 J~~ $\\phantom\\{$ {a.E} $\\}$\n\n| a |\n| --- |\n| ~~{a.E}~~ |\n\n```sheet cap-turret as a\nfrom a.csv\n```\n";
    let made = document(body, &[("a.csv", book())]);
    let html = page(&made, "m");
    assert_eq!(html.matches("<del>").count(), 1, "what was typed may be struck out");
    assert!(html.contains("<del>44 J</del>"));
    let text = plain(&made, "m");
    let events = pulldown_cmark::Parser::new_ext(&text, pulldown_cmark::Options::all());
    let mut struck = 0;
    for event in events {
        assert!(!matches!(event, pulldown_cmark::Event::InlineMath(_)), "{text}");
        struck +=
            usize::from(event == pulldown_cmark::Event::Start(pulldown_cmark::Tag::Strikethrough));
    }
    assert_eq!(struck, 1, "{text}");
}

/// Three of three inputs of the row are those of the example: at every place that speaks of the line.
#[test]
fn a_variant_that_holds_the_example_is_of_no_machine_in_a_review_as_in_range() {
    let line = |limit: &str| {
        format!("sheet cap-turret\nE_ok,{limit},J\n\nvariant,J / (kg·m²),n_0 / (r/min)\nV0,0.01,900\nV1,0.02,900\n").into_bytes()
    };
    let body = "{l.checks}\n\n```sheet cap-turret as l\nrange line.csv\n```\n";
    let made = document(body, &[("line.csv", line("120"))]);
    let words = "V1 (row 6): 3 of 3 inputs hold the value of the sheet's example: not your machine yet, where nobody has looked at J, n_0, E_ok";
    assert!(sentence(&made).ends_with(&format!(" l: {words}.")), "{}", sentence(&made));
    let html = page(&made, "m").replace("&#39;", "'");
    // at the head and over the signatures, in the sentence and the row of each; in the text, and over the line's margins
    assert_eq!(html.matches(words).count(), 6);
    assert!(paper_head(&html).starts_with("NOT YOUR MACHINE: examples in l, "));
    // a table of one's own may be that of the example's machine: its owner signs, a form left standing nobody does
    assert!(html.contains("<body>"));
    let form = String::from_utf8(line("120")).unwrap();
    let form = form.replacen('\n', "\nname,value,unit,what it is,kind,allowed\n", 1).into_bytes();
    let html = page(&document(body, &[("line.csv", form)]), "m");
    assert!(html.contains("<body class=\"unsigned\">") && html.contains("not to be signed"));
    let text = plain(&made, "m").replace('\\', "");
    assert_eq!(text.matches(words).count(), 4, "{text}");
    let own = document(body, &[("line.csv", line("121"))]);
    assert!(
        !page(&own, "m").contains("3 of 3 inputs")
            && !paper_head(&page(&own, "m")).contains("YOUR")
    );
    assert!(!plain(&own, "m").contains("3 of 3 inputs"));
}

/// An input does not fail: what is calculated with it does.
#[test]
fn no_input_of_the_text_is_said_to_fail() {
    let body = "{a.E} and {a.J}\n\n```sheet cap-turret as a\nfrom a.csv\nJ = 0.03 kg·m²\n```\n";
    let made = document(body, &[("a.csv", book())]);
    let text = unlinked(&plain(&made, "m"));
    assert!(text.contains("J (a check FAILS) and 0.03 kg·m²\n"), "{text}");
    assert_eq!(page(&made, "m").matches("<span class=\"why\"> (a check FAILS)").count(), 1);
}
