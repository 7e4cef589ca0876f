//! Problems as the protocol carries them.

use std::path::Path;

use lsp_types::{
    Diagnostic as Shown, DiagnosticRelatedInformation, DiagnosticSeverity, NumberOrString, Range,
};

use super::documents::{Document, Documents};
use super::position::range;
use crate::diagnostic::{Diagnostic, Place, Source};

impl Documents<'_> {
    /// The problems of a document, each with the range at which it is underlined.
    pub(super) fn shown(&self, document: &Document) -> Vec<Shown> {
        document.problems.iter().map(|problem| self.problem(document, problem)).collect()
    }

    pub(super) fn problem(&self, document: &Document, problem: &Diagnostic) -> Shown {
        let mut message = problem.headline.clone();
        if !problem.words.is_empty() {
            message.push_str(&format!(" ({})", problem.words));
        }
        if !problem.remedy.is_empty() {
            message.push_str(&format!("\nremedy: {}", problem.remedy));
        }
        let mut related: Vec<DiagnosticRelatedInformation> = Vec::new();
        let mut relate = |source: &Source, span: &(usize, usize), words: &str| {
            if let Some(location) = self.location(source, &(span.0..span.1)) {
                related.push(DiagnosticRelatedInformation { location, message: words.to_owned() });
            }
        };
        if let Some(Place::Text { source, span }) = &problem.place
            && !source.is_same(&document.source)
        {
            message = format!("in `{}`: {message}", source.name);
            relate(source, span, &problem.headline);
        }
        for label in &problem.labels {
            match &label.place {
                Place::Text { source, span } => relate(source, span, &label.words),
                place => message.push_str(&format!("\n{}: {}", place.to_text(), label.words)),
            }
        }
        Shown {
            range: place_in(document, problem),
            severity: Some(match problem.is_error() {
                true => DiagnosticSeverity::ERROR,
                false => DiagnosticSeverity::WARNING,
            }),
            code: Some(NumberOrString::String(problem.name.word().to_owned())),
            source: Some("standstill".to_owned()),
            message,
            related_information: (!related.is_empty()).then_some(related),
            ..Shown::default()
        }
    }
}

/// Where a problem is underlined: what lies in a used sheet at the line that uses it, what lies nowhere at the top.
pub(super) fn place_in(document: &Document, problem: &Diagnostic) -> Range {
    match &problem.place {
        Some(Place::Text { source, span }) if source.is_same(&document.source) => {
            range(document.text(), &(span.0..span.1))
        }
        Some(Place::Text { source, .. }) => {
            let stem = Path::new(&source.name).file_stem().unwrap_or_default().to_string_lossy();
            let line = document.tree.uses.iter().find(|line| line.sheet.value == stem);
            // a sheet that a used one uses
            let line = line.or(document.tree.uses.first());
            range(document.text(), &line.map_or(0..0, |line| line.sheet.span.clone()))
        }
        _ => Range::default(),
    }
}
