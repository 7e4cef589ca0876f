//! The words for inputs that are the sheet's examples: the one place where these are chosen.

use crate::calculation::Inputs;
use crate::program::Input;

/// Inputs that are named where a form still holds the examples of many.
const NAMED: usize = 8;

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

/// What stands beside the results of a calculation whose inputs are the sheet's examples, or come from a form in
/// which these were left standing; empty otherwise.
#[must_use]
pub fn not_your_machine(inputs: &Inputs) -> String {
    match examples_text(inputs) {
        words if words.is_empty() && inputs.any_from_cells() => left_as_examples(inputs),
        words => words,
    }
}

/// The inputs of a calculation that are the sheet's examples.
pub(super) fn examples(inputs: &Inputs) -> impl Iterator<Item = &Input> {
    inputs.program().inputs.iter().filter(|input| inputs.is_example(input))
}

/// What is said of a form in which most boxes still hold the examples; empty where few do, which may be chance.
#[must_use]
pub fn left_as_examples(inputs: &Inputs) -> String {
    let (of, same) = alike(inputs);
    match same.len() {
        many if is_most(many, of) => format!(
            "{many} of {of} inputs hold the value of the sheet's example: not your machine yet, where nobody has looked at {}",
            named(&same)
        ),
        _ => String::new(),
    }
}

/// The values of cells that are as in the sheet's example, where they are few: the fewer are left in a form, the
/// likelier they are forgotten. Empty where [`left_as_examples`] speaks of them, or none is.
#[must_use]
pub fn as_in_example(inputs: &Inputs) -> String {
    let (of, same) = alike(inputs);
    if same.is_empty() || is_most(same.len(), of) || !inputs.any_from_cells() {
        return String::new();
    }
    let verb = if same.len() == 1 { "is" } else { "are" };
    format!("{} {verb} as in the sheet's example: of this machine too?", named(&same))
}

fn is_most(many: usize, of: usize) -> bool {
    many > 2 && 2 * many > of
}

/// How many inputs have an example, and the names of those that hold its value.
fn alike(inputs: &Inputs) -> (usize, Vec<&str>) {
    let all = &inputs.program().inputs;
    let asked = all.iter().filter(|input| input.default.is_none() && !input.example.is_empty());
    asked.fold((0, Vec::new()), |(of, mut same), input| {
        same.extend(inputs.equals_example(input).then_some(input.name.as_str()));
        (of + 1, same)
    })
}

/// The first of some names, and how many there are besides.
fn named(names: &[&str]) -> String {
    let (named, others) = names.split_at(NAMED.min(names.len()));
    match others.len() {
        0 => named.join(", "),
        more => format!("{} and {more} more", named.join(", ")),
    }
}
