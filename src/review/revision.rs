//! The revision of a document: what a line or a part of one says that says nothing else.

/// The revisions that stand above the first block, each once: none is guessed from a sentence that speaks of one.
///
/// A statement is a whole line, or a sentence or a part between middle dots of one, that begins with the word and says
/// nothing else: `Revision C`, `- **Revision:** 2.1`, `| Revision | B-3 |`, `… · revision B`. What stands between commas
/// may speak of another thing: "Replaces the one before, revision B."
///
/// ```
/// use standstill::review::revisions;
/// assert_eq!(revisions("Design review. Revision C/3 (draft). It replaces the one before, revision B.\n"), ["C/3 (draft)"]);
/// ```
#[must_use]
pub fn stated(text: &str) -> Vec<&str> {
    let above = text.split("```").next().unwrap_or_default();
    let mut found: Vec<&str> = Vec::new();
    for line in above.lines() {
        for part in line.split([';', '·']).flat_map(|part| part.split(". ")) {
            if let Some(name) = named(part).filter(|name| !found.contains(name)) {
                found.push(name);
            }
        }
    }
    found
}

/// What a part of a line calls its revision.
fn named(part: &str) -> Option<&str> {
    let mark = |it: char| it.is_whitespace() || "*_|:#->`".contains(it);
    let words = part.trim_matches(mark);
    let (word, rest) = words.split_at_checked("revision".len())?;
    let name = rest.trim_start_matches(mark).trim_end_matches('.');
    let begins = word.eq_ignore_ascii_case("revision") && rest.starts_with(mark);
    let is_name = name.starts_with(|it: char| it.is_uppercase() || it.is_numeric());
    // `3 b` and `C (draft)`, and no sentence that goes on
    let more = name.split('(').next().unwrap_or_default().split_whitespace().skip(1);
    let is_name = is_name && more.into_iter().all(|word| word.chars().count() == 1);
    (begins && is_name && name.chars().count() <= 24).then_some(name)
}
