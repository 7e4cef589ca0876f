//! The words for inputs that are the sheet's examples: the one place where these are chosen.

use crate::calculation::Inputs;
use crate::program::Input;

/// What stands in the place of an input that nobody gave, since the words chosen leave it out.
pub(crate) const LEFT_OUT: &str = "not given: left out by the words chosen";

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

/// What stands beside the results of a calculation whose inputs are the sheet's examples, or come from a file in
/// which these were left standing; empty otherwise.
#[must_use]
pub fn not_your_machine(inputs: &Inputs) -> String {
    match examples_text(inputs) {
        words if words.is_empty() => left_as_examples(inputs),
        words => words,
    }
}

/// The inputs for which nothing may be set or signed: examples, else those that were left standing in a form, which had
/// them before anybody typed. Of a workbook of one's own, where all was typed, it is said alone: that is the machine's.
pub(crate) fn of_no_machine(inputs: &Inputs) -> Vec<&Input> {
    let all: Vec<&Input> = examples(inputs).collect();
    if all.is_empty() && inputs.is_form() { left(inputs).0 } else { all }
}

/// The same in words; empty where every input is a machine's.
pub(crate) fn of_no_machine_text(inputs: &Inputs) -> String {
    match of_no_machine(inputs).is_empty() {
        true => String::new(),
        false => not_your_machine(inputs),
    }
}

/// The inputs of a calculation that are the sheet's examples, and on which something depends.
pub(super) fn examples(inputs: &Inputs) -> impl Iterator<Item = &Input> {
    let all = inputs.program().inputs.iter();
    all.filter(|input| inputs.is_example(input) && !inputs.is_spared(input))
}

/// The inputs whose cells hold the value of the example, and how many have one. What is typed, at the terminal or into a
/// document, somebody has looked at.
fn alike(inputs: &Inputs) -> (Vec<&Input>, usize) {
    let all = inputs.program().inputs.iter();
    let asked = all.filter(|input| input.default.is_none() && !input.example.is_empty());
    let of = asked.clone().count();
    (asked.filter(|input| inputs.left_as_example(input)).collect(), of)
}

/// The same where these are most; none where few are, which may be chance.
pub(crate) fn left(inputs: &Inputs) -> (Vec<&Input>, usize) {
    let (same, of) = alike(inputs);
    if is_most(same.len(), of) { (same, of) } else { (Vec::new(), of) }
}

fn is_most(many: usize, of: usize) -> bool {
    many > 2 && 2 * many > of
}

/// The sentence for inputs that hold the value of the example.
pub(crate) const LEFT: &str =
    "{count} of {of} inputs hold the value of the sheet's example: not your machine yet";

/// What is said of a form in which most boxes still hold the examples; empty where few do.
#[must_use]
pub fn left_as_examples(inputs: &Inputs) -> String {
    let (same, of) = left(inputs);
    if same.is_empty() {
        return String::new();
    }
    let words = LEFT.replace("{count}", &same.len().to_string()).replace("{of}", &of.to_string());
    format!("{words}, where nobody has looked at {}", named(&same))
}

/// Values above a product line that are as in the sheet's example, from which on they are asked about: they count for
/// every variant, and fewer may be chance.
const IN_A_HEAD: usize = 3;

/// The boxes of a form that hold the value of the sheet's example, where they are few: the fewer are left, the likelier
/// they are forgotten; of a product line some of those that all its variants share. Empty where [`left_as_examples`]
/// speaks of them, none is, or in a workbook of one's own.
pub(crate) fn as_in_example(inputs: &Inputs) -> String {
    let (mut same, of) = alike(inputs);
    let most = is_most(same.len(), of);
    // a zero says that there is none of it, as of most machines
    let is_some = |input: &Input| input.example.iter().any(|it| it.si_f64() != 0.0);
    same.retain(|input| inputs.is_form() || (inputs.is_shared(input) && is_some(input)));
    let least = if inputs.is_form() { 1 } else { IN_A_HEAD };
    if most || same.len() < least {
        return String::new();
    }
    let verb = if same.len() == 1 { "is" } else { "are" };
    format!("{} {verb} as in the sheet's example: of this machine too?", named(&same))
}

/// The first of some inputs, and how many there are besides.
fn named(inputs: &[&Input]) -> String {
    let (named, others) = inputs.split_at(NAMED.min(inputs.len()));
    let named = named.iter().map(|it| it.name.as_str()).collect::<Vec<_>>().join(", ");
    match others.len() {
        0 => named,
        more => format!("{named} and {more} more"),
    }
}
