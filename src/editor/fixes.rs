//! What a remedy says, done: only where the sheet that comes of it has been checked.

use std::collections::BTreeSet;

use crate::diagnostic::{Diagnostic, Place};
use crate::language::Span;

use super::documents::{Document, Documents};

/// A change that puts a problem right.
pub(super) struct Fix {
    pub(super) title: String,
    pub(super) span: Span,
    pub(super) text: String,
    /// Whether the remedy names nothing else that may be meant.
    pub(super) alone: bool,
}

impl Documents<'_> {
    /// The changes that a remedy names and that take the problem away without bringing another one.
    pub(super) fn fixes(&self, document: &Document, problem: &Diagnostic) -> Vec<Fix> {
        let Some(Place::Text { source, span }) = &problem.place else { return Vec::new() };
        if !source.is_same(&document.source) {
            return Vec::new();
        }
        let span = span.0..span.1;
        let mut places = vec![span.clone()];
        // the word that the headline names, where the place is wider than it
        let wide = document.text().get(span.clone()).unwrap_or_default();
        for named in quoted(&problem.headline).into_iter().filter(|it| *it != wide) {
            if let [(at, _)] = wide.match_indices(named).collect::<Vec<_>>().as_slice() {
                places.push(span.start + at..span.start + at + named.len());
            }
        }
        let mut found: Vec<Fix> = Vec::new();
        let texts = quoted(&problem.remedy);
        let alone = texts.len() == 1;
        // what is put for a number keeps one
        let bears = |text: &str| text.contains(|sign: char| sign.is_ascii_digit());
        let keeps = |place: &Span, text: &str| {
            let there = document.text().get(place.clone()).unwrap_or_default();
            !there.starts_with(|sign: char| sign.is_ascii_digit()) || bears(text)
        };
        for text in texts.into_iter().filter(|text| !text.contains('…')) {
            let fits = places
                .iter()
                .find(|place| keeps(place, text) && self.mends(document, problem, place, text));
            if let Some(place) = fits
                && !found.iter().any(|fix| fix.text == text)
            {
                let title = format!("write `{text}`");
                found.push(Fix { title, span: place.clone(), text: text.to_owned(), alone });
            }
        }
        found
    }

    /// Whether a change takes a problem away and brings no other.
    fn mends(&self, document: &Document, problem: &Diagnostic, span: &Span, text: &str) -> bool {
        let mut changed = document.text().to_owned();
        if text == document.text().get(span.clone()).unwrap_or_default()
            || changed.get(span.clone()).is_none()
        {
            return false;
        }
        changed.replace_range(span.clone(), text);
        let (_, after) = self.tried(document, changed);
        let known: BTreeSet<&str> =
            document.problems.iter().map(|it| it.headline.as_str()).collect();
        let again = after.iter().filter(|it| it.headline == problem.headline).count();
        let before = document.problems.iter().filter(|it| it.headline == problem.headline).count();
        again < before && after.iter().all(|it| known.contains(it.headline.as_str()))
    }
}

/// What stands between backticks.
fn quoted(text: &str) -> Vec<&str> {
    text.split('`').skip(1).step_by(2).filter(|it| !it.is_empty()).collect()
}
