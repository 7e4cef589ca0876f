//! A report as Markdown.

use super::{Check, Table, checks};

/// Text that stays text in a table.
#[must_use]
pub fn cell(text: &str) -> String {
    let mut to = String::new();
    for sign in text.chars() {
        if matches!(sign, '|' | '<' | '>' | '*' | '_' | '`' | '[' | ']' | '\\' | '&' | '~' | '$') {
            to.push('\\');
        }
        to.push(if sign == '\n' { ' ' } else { sign });
    }
    to
}

/// A table below a free line, with the sentences that belong to it; nothing where it has no rows.
#[must_use]
pub fn table(table: &Table) -> String {
    if table.rows.is_empty() {
        return String::new();
    }
    let line = |cells: Vec<String>| format!("| {} |\n", cells.join(" | "));
    let mut to = String::from("\n");
    to.push_str(&line(table.columns.iter().map(|column| cell(column.head)).collect()));
    let rules = table.columns.iter().map(|it| if it.figures { "---:" } else { "---" }.to_owned());
    to.push_str(&line(rules.collect()));
    for row in &table.rows {
        to.push_str(&line(row.iter().take(table.columns.len()).map(|text| cell(text)).collect()));
    }
    for note in &table.notes {
        to.push_str(&format!("\n{}\n", cell(note)));
    }
    to
}

/// Checks as a list below a free line, and what their verdicts mean.
#[must_use]
pub fn list(all: &[Check]) -> String {
    if all.is_empty() {
        return String::new();
    }
    let mut to = String::from("\n");
    for check in all {
        let word = match check.holds() {
            true => check.word(),
            false => format!("**{}**", check.word()),
        };
        let detail = Some(check.detail()).filter(|detail| !detail.is_empty());
        let detail = detail.map_or_else(String::new, |detail| format!(": {detail}"));
        let advice =
            check.advice().map_or_else(String::new, |advice| format!(" What to do: {advice}."));
        let words = signs(&format!("{}{detail}{advice}", check.label()));
        to.push_str(&format!("- {word}: {}\n", cell(&words)));
    }
    for words in checks::explanations(all) {
        to.push_str(&format!("\n{}\n", cell(&words)));
    }
    to
}

/// Signs of comparison as a person reads them.
#[must_use]
pub fn signs(text: &str) -> String {
    text.replace("<=", "≤").replace(">=", "≥").replace("<>", "≠")
}
