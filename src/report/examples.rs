//! The words for inputs that are the sheet's examples: the one place where these are chosen.

use crate::calculation::Inputs;
use crate::program::Input;

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
    examples_words(examples(inputs).count(), inputs.program().inputs.len())
}

/// The inputs of a calculation that are the sheet's examples.
pub(super) fn examples(inputs: &Inputs) -> impl Iterator<Item = &Input> {
    inputs.program().inputs.iter().filter(|input| inputs.is_example(input))
}

/// What is said of a form in which most boxes still hold the examples; empty where few do, which may be chance.
#[must_use]
pub fn left_as_examples(inputs: &Inputs) -> String {
    let all = &inputs.program().inputs;
    let asked = all.iter().filter(|input| input.default.is_none() && !input.example.is_empty());
    let (of, same) = asked.fold((0, Vec::new()), |(of, mut same), input| {
        same.extend(inputs.equals_example(input).then_some(input.name.as_str()));
        (of + 1, same)
    });
    match same.len() {
        many if many > 2 && 2 * many > of => format!(
            "{many} of {of} inputs hold the value of the sheet's example: not your machine yet, where nobody has looked at {}",
            same.join(", ")
        ),
        _ => String::new(),
    }
}
