//! Small phrases of which messages are made.

/// Words in a row, the last joined by a word of its own: `a`, `a or b`, `a, b or c`.
pub(crate) fn joined<T: AsRef<str>>(words: &[T], by: &str) -> String {
    let words: Vec<&str> = words.iter().map(AsRef::as_ref).collect();
    match words.split_last() {
        Some((last, before)) if !before.is_empty() => format!("{} {by} {last}", before.join(", ")),
        _ => words.concat(),
    }
}

/// Each word in back quotes.
pub(crate) fn quoted<T: AsRef<str>>(words: impl IntoIterator<Item = T>) -> Vec<String> {
    words.into_iter().map(|word| format!("`{}`", word.as_ref())).collect()
}

/// The word with its article: `a torque`, `an inertia`.
pub(crate) fn with_article(word: &str) -> String {
    let vowel = word.starts_with(['a', 'e', 'i', 'o', 'u']);
    format!("{} {word}", if vowel { "an" } else { "a" })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_are_joined_as_a_person_would() {
        assert_eq!(joined::<&str>(&[], "or"), "");
        assert_eq!(joined(&["a"], "or"), "a");
        assert_eq!(joined(&quoted(["a", "b", "c"]), "and"), "`a`, `b` and `c`");
        assert_eq!([with_article("inertia"), with_article("time")], ["an inertia", "a time"]);
    }
}
