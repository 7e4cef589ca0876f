//! The words for inputs that are the sheet's examples: the one place where these are chosen.

use crate::calculation::Inputs;

/// The sentence for one input, then for many; a page puts its own counts into them.
pub(crate) const EXAMPLES: [&str; 2] = [
    "{count} of {of} inputs is the sheet's example: not your machine yet",
    "{count} of {of} inputs are the sheet's examples: not your machine yet",
];

/// What stands beside a verdict whose inputs are the sheet's examples; empty where none is.
///
/// # Example
/// ```
/// use standstill::report::examples_words;
/// assert_eq!(examples_words(36, 45), "36 of 45 inputs are the sheet's examples: not your machine yet");
/// assert_eq!(examples_words(0, 45), "");
/// ```
#[must_use]
pub fn examples_words(count: usize, of: usize) -> String {
    let [one, many] = EXAMPLES;
    match count {
        0 => String::new(),
        count => (if count == 1 { one } else { many })
            .replace("{count}", &count.to_string())
            .replace("{of}", &of.to_string()),
    }
}

/// The same of the inputs of a calculation, counted.
#[must_use]
pub fn examples_text(inputs: &Inputs) -> String {
    let all = &inputs.program().inputs;
    let is_example = |input: &&crate::program::Input| {
        inputs.is_given(input) && inputs.place(input) == input.place
    };
    examples_words(all.iter().filter(is_example).count(), all.len())
}
