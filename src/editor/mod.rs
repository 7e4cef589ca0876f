//! What an editor asks about sheets, over the open language server protocol: problems as one types, with changes that
//! were checked; kind, unit and nominal value of a word; what may follow; where a name is defined; names changed
//! throughout the sheet; blanks in order.
//!
//! The sheets are those that the editor holds, saved or not; what they use is looked for beside them. A sheet of the
//! library is shown from a copy that is not to be changed. [`GRAMMAR`] colours the words before anything is asked.

mod complete;
mod documents;
mod fixes;
mod hover;
mod occurrences;
mod position;
mod problems;
mod rename;
mod server;
#[cfg(test)]
mod tests;

pub(crate) use server::serve;

/// The grammar by which an editor colours a sheet, for those that read grammars of regular expressions in JSON.
pub(crate) const GRAMMAR: &str = include_str!("grammar.json");

#[cfg(test)]
mod grammar_tests {
    use std::collections::BTreeSet;

    use crate::language::{CONSTANTS, FUNCTIONS, HEADER, RESERVED, block_words};
    use crate::unit::KINDS;

    /// The words that a rule lists between its first parentheses that hold nothing but words.
    fn listed(rule: &str, marked: &str) -> BTreeSet<String> {
        let grammar: serde_json::Value = serde_json::from_str(super::GRAMMAR).unwrap();
        let text = grammar["repository"][rule]["match"].as_str().unwrap();
        let list = text.split(marked).nth(1).unwrap().split(')').next().unwrap();
        list.split('|').map(str::to_owned).collect()
    }

    fn set<'a>(words: impl IntoIterator<Item = &'a str>) -> BTreeSet<String> {
        words.into_iter().map(str::to_owned).collect()
    }

    #[test]
    fn the_grammar_lists_the_words_of_the_language() {
        let (blocks, header) = (set(block_words()), set(HEADER.iter().copied()));
        let others: BTreeSet<String> = set(RESERVED.iter().copied())
            .into_iter()
            .filter(|it| !blocks.contains(it) && !header.contains(it))
            .collect();
        assert_eq!(listed("header", "^("), header);
        assert_eq!(listed("block", "^("), blocks);
        assert_eq!(listed("word", "\\b("), others);
        // after a number `in` is an inch
        let not_after_a_number = others.iter().filter(|it| *it != "in").cloned().collect();
        assert_eq!(listed("quantity", "(?!(?:"), not_after_a_number);
        assert_eq!(listed("function", "\\b("), set(FUNCTIONS.iter().copied()));
        assert_eq!(listed("constant", "\\b("), set(CONSTANTS.iter().copied()));
        assert_eq!(listed("kind", "of\\s+)?("), set(KINDS.iter().map(|kind| kind.name)));
    }

    #[test]
    fn every_rule_is_included_once() {
        let grammar: serde_json::Value = serde_json::from_str(super::GRAMMAR).unwrap();
        let included = grammar["patterns"]
            .as_array()
            .unwrap()
            .iter()
            .map(|it| it["include"].as_str().unwrap());
        let rules = grammar["repository"].as_object().unwrap().keys().map(|it| format!("#{it}"));
        assert_eq!(set(included), rules.collect());
    }
}
