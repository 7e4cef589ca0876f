//! `--of RESULT`: the results that a question is about.

use crate::diagnostic::{Diagnostic, Name, Place, Problems};
use crate::program::{Output, Program, nearest};

/// The results named with `--of`; all where none is named.
#[derive(Clone, Copy, Debug)]
pub(super) struct Chosen<'a>(&'a [String]);

impl<'a> Chosen<'a> {
    /// The results as named.
    ///
    /// # Errors
    /// `undefined-result` for each name that the sheet does not give.
    pub(super) fn new(program: &Program, names: &'a [String]) -> Result<Self, Problems> {
        let known = || program.outputs.iter().map(|output| output.name.as_str());
        let unknown: Problems = names
            .iter()
            .filter(|name| !known().any(|known| known == *name))
            .map(|name| {
                let remedy = match nearest(name, known()).first() {
                    Some((near, _)) => format!("did you mean `--of {near}`?"),
                    None => format!("it gives {}", known().collect::<Vec<_>>().join(", ")),
                };
                let found = format!("the sheet gives no result `{name}`");
                Diagnostic::error(Name::UndefinedResult, found)
                    .at(Place::Argument { text: format!("--of {name}") })
                    .remedy(remedy)
            })
            .collect();
        if unknown.is_empty() { Ok(Self(names)) } else { Err(unknown) }
    }

    /// Whether a result is asked for.
    pub(super) fn has(self, output: &Output) -> bool {
        self.0.is_empty() || self.0.contains(&output.name)
    }
}
