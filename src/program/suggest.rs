//! The names nearest to a name that is not there.

/// How many slips of a finger lie between two words: a letter more, less, other, or two exchanged.
#[must_use]
pub(crate) fn slips(a: &str, b: &str) -> usize {
    let a: Vec<char> = a.chars().collect();
    let b: Vec<char> = b.chars().collect();
    let mut before: Vec<usize> = Vec::new();
    let mut last: Vec<usize> = (0..=b.len()).collect();
    for (row, x) in a.iter().enumerate() {
        let mut this = vec![row + 1];
        for (column, y) in b.iter().enumerate() {
            let at =
                |list: &[usize], index: usize| list.get(index).copied().unwrap_or(usize::MAX / 2);
            let other = usize::from(x != y);
            let mut best = (at(&last, column) + other)
                .min(at(&last, column + 1) + 1)
                .min(at(&this, column) + 1);
            let exchanged =
                row > 0 && column > 0 && a.get(row - 1) == Some(y) && b.get(column - 1) == Some(x);
            if exchanged {
                best = best.min(at(&before, column - 1) + 1);
            }
            this.push(best);
        }
        before = std::mem::replace(&mut last, this);
    }
    last.last().copied().unwrap_or(0)
}

/// The nearest names, best first, none further than a third of the word (and never more than 3).
#[must_use]
pub fn nearest<'a>(word: &str, names: impl Iterator<Item = &'a str>) -> Vec<(&'a str, usize)> {
    let length = word.chars().count();
    let furthest = (length / 3).clamp(1, 3);
    let lower = word.to_lowercase();
    let mut found: Vec<(&str, usize)> = names
        .map(|name| {
            let distance = if name.to_lowercase() == lower { 1 } else { slips(word, name) };
            (name, distance)
        })
        .filter(|(name, distance)| *distance <= furthest && *distance < name.chars().count())
        .collect();
    found.sort_by(|a, b| (a.1, a.0).cmp(&(b.1, b.0)));
    found.truncate(3);
    found
}

#[cfg(test)]
mod tests {
    use super::{nearest, slips};

    #[test]
    fn exchanged_letters_are_one_slip() {
        assert_eq!(slips("J_laod", "J_load"), 1);
        assert_eq!(slips("t_ramp", "t_ramp"), 0);
        assert_eq!(slips("n_0", "n_1"), 1);
    }

    #[test]
    fn the_nearest_comes_first_and_strangers_do_not_come() {
        let names = ["J_load", "J_motor", "t_ramp"];
        assert_eq!(nearest("J_laod", names.into_iter()), vec![("J_load", 1)]);
        assert_eq!(nearest("velocity", names.into_iter()), vec![]);
    }
}
