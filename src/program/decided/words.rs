//! Words of a choice that nothing tells apart: `otherwise` takes them all, and a case may have been forgotten.

use std::collections::{BTreeMap, BTreeSet};

use super::{Compiler, Sheet};
use crate::diagnostic::{Diagnostic, Name, Place, phrase};
use crate::language::Shape;
use crate::program::flat::{Op, Register};

impl Compiler<'_> {
    /// Every choice of the asked sheet of which two words or more are asked for nowhere, in used sheets neither.
    pub(in crate::program) fn words_untold(&mut self, sheet: &Sheet) {
        let is_sound = !self.problems.iter().any(Diagnostic::is_error);
        if !sheet.path.is_empty() || !sheet.tree.is_whole() || !is_sound {
            return;
        }
        let asked = self.words_asked();
        let nothing = BTreeSet::new();
        let mut found = Vec::new();
        for take in &sheet.tree.takes {
            let Shape::Choice(words) = &take.shape else { continue };
            let Some(input) = self.program.input_named(&take.name.value) else { continue };
            let asked = asked.get(&input.register).unwrap_or(&nothing);
            let open = words.iter().enumerate().filter(|(at, _)| !asked.contains(at));
            let open: Vec<_> = open.map(|(_, word)| word).collect();
            // what nothing depends on is said of the input as a whole
            let is_unused = asked.is_empty()
                && self.problems.iter().any(|it| {
                    it.name == Name::UnusedInput && it.place.as_ref() == Some(&sheet.place_of(take))
                });
            let [.., before, last] = open.as_slice() else { continue };
            if is_unused {
                continue;
            }
            let name = &take.name.value;
            let quoted = phrase::quoted(open.iter().map(|word| &word.value));
            let source = take.from.as_ref().map_or(&sheet.source, |(source, _)| source);
            found.push(
                Diagnostic::caution(
                    Name::ChangesNothing,
                    format!("nothing tells {} apart", phrase::joined(&quoted, "and")),
                )
                .at(Place::text(source, last.span.clone()))
                .remedy(format!(
                    "write the case that is missing; where they are meant to be alike, name them in one: `when {name} is {} or {name} is {} : …`",
                    before.value, last.value
                )),
            );
        }
        self.problems.extend(found);
    }

    /// The words, as places in their lists, that each register is compared with.
    fn words_asked(&self) -> BTreeMap<Register, BTreeSet<usize>> {
        let ops = self.ops();
        let mut asked: BTreeMap<Register, BTreeSet<usize>> = BTreeMap::new();
        for op in ops.values() {
            let Op::Compare(_, choice, word) = op else { continue };
            let Some(Op::Literal(word)) = ops.get(word) else { continue };
            asked.entry(*choice).or_default().extend(usize::try_from(word.digits));
        }
        asked
    }
}
