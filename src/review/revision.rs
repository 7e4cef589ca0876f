//! The revision of a document: what a line or a part of one says that says nothing else.

/// The revisions that stand above the first block, each once: none is guessed from a sentence that speaks of one.
///
/// A statement is a whole line, or a sentence or a part between middle dots or dashes of one, that begins with the word
/// and says nothing else but a date: `Revision C`, `Rev. G`, `- **Revision:** 2.1`, `| Rev. | B-3 |`, `… · revision B`,
/// `Revision B, 2026-11-02`. What stands between commas may speak of another thing: "Replaces the one before, revision B."
///
/// ```
/// use standstill::review::revisions;
/// assert_eq!(revisions("Design review. Revision C/3 (draft). It replaces the one before, revision B.\n"), ["C/3 (draft)"]);
/// assert_eq!(revisions("Design review. Rev. G, 2026-11-02.\n"), ["G"]);
/// ```
#[must_use]
pub fn stated(text: &str) -> Vec<&str> {
    let mut found: Vec<&str> = Vec::new();
    for part in above(text).lines().flat_map(parts) {
        if let Some(name) = named(part).filter(|name| !found.contains(name)) {
            found.push(name);
        }
    }
    found
}

/// Why no revision stands on the pages though the text names one, in words; empty where one does, or none is named.
#[must_use]
pub fn not_on_pages(text: &str) -> String {
    match stated(text).as_slice() {
        [_] => String::new(),
        [] => {
            let mut lines = above(text).lines().enumerate();
            let found = lines.find_map(|(at, line)| Some((at + 1, mention(line)?)));
            found.map_or_else(String::new, |(line, words)| {
                format!(
                    "No revision stands on the pages: “{words}” in line {line} of the document is not a statement of one. Write a line `Revision B` above the first block, with nothing else in it but a date."
                )
            })
        }
        all => format!(
            "No revision stands on the pages: the document states {}. Leave one of them above its first block.",
            crate::diagnostic::phrase::joined(all, "and")
        ),
    }
}

/// What stands above the first block.
fn above(text: &str) -> &str {
    text.split("```").next().unwrap_or_default()
}

/// The sentences of a line, and what stands between its middle dots and dashes; the point of `Rev.` and `No.` ends none.
fn parts(line: &str) -> Vec<&str> {
    let pieces =
        line.split([';', '·']).flat_map(|it| it.split(" – ")).flat_map(|it| it.split(" — "));
    let mut found = Vec::new();
    for piece in pieces {
        let mut start = 0;
        for (at, _) in piece.match_indices(". ") {
            let sentence = piece.get(start..at).unwrap_or_default();
            let last = sentence.rsplit(mark).next().unwrap_or_default();
            if !["rev", "no"].iter().any(|short| last.eq_ignore_ascii_case(short)) {
                found.push(sentence);
                start = at + 2;
            }
        }
        found.extend(piece.get(start..));
    }
    found
}

/// What stands around words without belonging to them.
fn mark(it: char) -> bool {
    it.is_whitespace() || "*_|:#->".contains(it)
}

/// What follows the word, of a text that begins with it.
fn behind_word(text: &str) -> Option<&str> {
    let rest = ["revision", "rev"].iter().find_map(|word| {
        let (own, rest) = text.split_at_checked(word.len())?;
        (own.eq_ignore_ascii_case(word) && rest.starts_with(|it| mark(it) || it == '.'))
            .then_some(rest)
    })?;
    let open = |it: char| mark(it) || it == '.';
    let rest = rest.trim_start_matches(open);
    let number = ["number", "no."].iter().find_map(|word| {
        let (own, rest) = rest.split_at_checked(word.len())?;
        own.eq_ignore_ascii_case(word).then_some(rest)
    });
    Some(number.map_or(rest, |it| it.trim_start_matches(open)))
}

/// What a part of a line calls its revision.
fn named(part: &str) -> Option<&str> {
    let name = behind_word(part.trim_matches(mark))?.trim_end_matches('.');
    let name = match name.split_once(',') {
        Some((name, date)) if is_date(date) => name.trim_end_matches(mark),
        _ => name,
    };
    // `3 b` and `C (draft)`, and no sentence that goes on
    let more = name.split('(').next().unwrap_or_default().split_whitespace().skip(1);
    let is_name = begins_name(name) && more.into_iter().all(|word| word.chars().count() == 1);
    (is_name && name.chars().count() <= 24).then_some(name)
}

fn begins_name(text: &str) -> bool {
    text.starts_with(|it: char| it.is_uppercase() || it.is_numeric())
}

/// A date in digits, or with its month in letters.
fn is_date(text: &str) -> bool {
    let words = text.trim_matches(mark).split(|it: char| !it.is_alphanumeric());
    let words: Vec<&str> = words.filter(|it| !it.is_empty()).collect();
    let digits = |it: &&str| it.chars().all(|sign| sign.is_ascii_digit());
    let months = words.iter().filter(|it| !digits(it)).count();
    (2..=3).contains(&words.len())
        && months <= 1
        && words.iter().any(|it| digits(it) && it.len() == 4)
}

/// Words in a line that name a revision, wherever they stand.
fn mention(line: &str) -> Option<&str> {
    let begins = line.char_indices().filter(|(at, _)| {
        !line.get(..*at).is_some_and(|before| before.ends_with(char::is_alphanumeric))
    });
    begins.into_iter().find_map(|(at, _)| {
        let words = line.get(at..)?;
        let rest = behind_word(words)?;
        let name = rest.split(|it: char| it.is_whitespace() || ",;)".contains(it)).next()?;
        let end = at + words.len() - rest.len() + name.len();
        let short = name.trim_end_matches('.').chars().count() <= 4;
        line.get(at..end).filter(|_| begins_name(name) && short)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    // the forms are common practice, no source
    #[test]
    fn the_usual_forms_are_read() {
        for (line, name) in [
            ("Revision G", "G"),
            ("Rev. G", "G"),
            ("Rev G", "G"),
            ("Rev.G", "G"),
            ("REV. 03", "03"),
            ("rev: G", "G"),
            ("Rev.: G", "G"),
            ("Revision: B", "B"),
            ("Revision B, 2026-11-02", "B"),
            ("Revision B, 2 November 2026.", "B"),
            ("**Rev. B**, 02.11.2026", "B**"),
            ("| Rev. | G |", "G"),
            ("Revision No. 3", "3"),
            ("Design review. Rev. G. Of an invented machine.", "G"),
            ("# Safe stop – Rev. G", "G"),
            ("Revision 2.1", "2.1"),
        ] {
            let found: Vec<&str> = stated(line);
            let name = name.trim_end_matches('*');
            assert_eq!(found, [name], "{line}");
            assert_eq!(not_on_pages(line), "", "{line}");
        }
    }

    #[test]
    fn what_names_one_and_states_none_is_told() {
        for (text, told) in [
            ("Title\n\nIt replaces the one before, revision B.", "“revision B.” in line 3"),
            ("Safe stop (Rev. G)", "“Rev. G” in line 1"),
            ("Revision B, as agreed", "“Revision B” in line 1"),
            ("Revision B\n\nRev. C", "states B and C"),
        ] {
            assert!(not_on_pages(text).contains(told), "{text}: {}", not_on_pages(text));
        }
        for silent in ["The revision of the drawings follows.", "Reverse 5 mm", "rev", ""] {
            assert_eq!(not_on_pages(silent), "", "{silent}");
        }
    }
}
