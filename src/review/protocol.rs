//! The page of a protocol of measured stops: verdict, curves, tables, names to sign.

use super::files::sealed;
use super::lines::{class, coded, html_table};
use super::markup::{escaped, with_minus};
use super::page::{MADE, SIGNATURES, STYLE, running_head};
use super::picture::{NUMBER, numbered, recorded};
use crate::recording::{Finding, Protocol, tables};
use crate::report::markdown::signs;
use crate::report::{self, DISCLAIMER, Identity, sha256};

/// What a page of measured stops adds to the look of a review: its tables are as wide as paper.
const OWN: &str = "main { max-width: 60rem; } svg .rec { stroke-width: .9; stroke-opacity: .55; } td, th { font-size: .84rem; } .vd b { font-weight: 700; } @media print { main { columns: 1; } main > figure { display: inline-block; width: 49%; } .verdict .chk { columns: 2; } table { font-size: 8pt; } td, th { font: 7.5pt/1.1 \"Gill Sans\", \"Gill Sans MT\", Cabin, \"DejaVu Sans Condensed\", sans-serif; font-stretch: condensed; } thead th.q { white-space: normal; } tbody th { overflow-wrap: anywhere; min-width: 22mm; } .fig :is(td, td.q, th) { padding-right: .1rem; } }";

/// The whole page; `made` is the moment in words.
#[must_use]
pub fn protocol_page(protocol: &Protocol, made: &str) -> String {
    let machine = protocol.plan.text("machine");
    let title = if machine.is_empty() {
        "Measured stops".to_owned()
    } else {
        format!("Measured stops: {machine}")
    };
    let programs = [
        protocol.predicted.as_ref().map(|it| &it.results),
        protocol.issue.as_ref().map(|it| &it.results),
    ];
    let programs: Vec<_> = programs.into_iter().flatten().map(|it| &**it.program()).collect();
    let items: String = protocol.findings().iter().map(item).collect();
    let pictures: String = protocol
        .conditions
        .iter()
        .map(|it| format!("<figure><div class=\"wide\">{}</div><figcaption>{NUMBER}{}: recorded and calculated</figcaption></figure>", recorded(protocol, it), escaped(&it.label())))
        .collect();
    let tables: String = tables(protocol, true)
        .iter()
        .map(|table| {
            format!(
                "<section><h2>{}</h2>{}</section>\n",
                escaped(&capital(&table.title)),
                html_table(table, "fig")
            )
        })
        .collect();
    let list = |title: &str, texts: Vec<&str>| {
        let items: String =
            texts.iter().map(|text| format!("<li>{}</li>", escaped(text))).collect();
        if items.is_empty() {
            items
        } else {
            format!("<section class=\"end\"><h2>{title}</h2><ol>{items}</ol></section>\n")
        }
    };
    let sheets =
        html_table(&Identity::table(&report::identities(programs.iter().copied())), "files");
    let verdict = protocol.verdict_text();
    let body = format!(
        "<section class=\"verdict\" aria-labelledby=\"verdict\"><h2 id=\"verdict\">Verdict</h2><p class=\"vd\"><b>{}</b></p>{}<ul class=\"chk\">{items}</ul></section>\n\
         {}\n{tables}{}{}",
        escaped(&verdict),
        protocol
            .issued_text()
            .map_or_else(String::new, |it| format!("<p class=\"vd\">{}</p>", read(&it))),
        numbered(&pictures),
        list("Cautions", report::cautions(programs.iter().copied())),
        list("Sources", report::sources(programs.iter().copied())),
    );
    // one hash over all that is shown, on every page: sheets of two protocols cannot be put together
    let id = sha256(format!("{title}\n{body}{sheets}").as_bytes());
    let id = id.get(..12).unwrap_or_default();
    let head = running_head(&format!("{title} · {verdict} · {made} · sha256 {id}"));
    sealed(format!(
        "<!doctype html>\n<html lang=\"en\"><head><meta charset=\"utf-8\"><meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\
         <meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'\">\
         <title>{0} · {5} · sha256 {id}</title><style>\n{STYLE}{OWN}{head}</style></head>\n<body><main>\n<h1>{0}</h1>\n\
         {body}<section class=\"end\"><h2>What this page is made from</h2><p class=\"trust\">{1}</p><p>Made {MADE}{2}</time> by Standstill {3} from the recordings above; sha256 {id} of all that it shows.</p>{sheets}</section>\n{4}</main></body></html>\n",
        escaped(&title),
        escaped(DISCLAIMER),
        escaped(made),
        env!("CARGO_PKG_VERSION"),
        signatures(protocol),
        escaped(&verdict),
    ))
}

/// Where it is signed, the verdict stands above the names, with what does not hold or is not confirmed.
fn signatures(protocol: &Protocol) -> String {
    let open: String = protocol
        .findings()
        .iter()
        .filter(|it| it.verdict != crate::calculation::Verdict::Holds)
        .map(|it| {
            let word = it.verdict.word();
            format!(
                "<li class=\"{}\"><b>{word}</b><span>{}</span></li>",
                class(it.verdict),
                read(&it.text)
            )
        })
        .collect();
    let verdict = format!(
        "<p class=\"vd\"><b>{}</b></p><ul class=\"chk\">{open}</ul><table",
        escaped(&protocol.verdict_text())
    );
    SIGNATURES.replacen("<table", &verdict, 1)
}

/// A sentence as it is read: names, signs of comparison and one minus sign.
fn read(text: &str) -> String {
    coded(&with_minus(&signs(text)))
}

fn capital(text: &str) -> String {
    let mut signs = text.chars();
    signs.next().map_or_else(String::new, |first| first.to_uppercase().chain(signs).collect())
}

fn item(finding: &Finding) -> String {
    let advice =
        if finding.verdict == crate::calculation::Verdict::Holds || finding.otherwise.is_empty() {
            String::new()
        } else {
            format!("<br><span class=\"els\">{}</span>", read(&finding.otherwise))
        };
    format!(
        "<li class=\"{}\"><b>{}</b><span>{}<br><span class=\"sd\">{}</span>{advice}</span></li>",
        class(finding.verdict),
        finding.verdict.word(),
        read(&finding.text),
        read(&finding.detail),
    )
}
