//! The names nearest to a name that is not there.

use crate::unit::likeness;

/// The question whether the nearest of some names was meant; none where none is near.
pub(crate) fn did_you_mean<'a>(word: &str, names: impl Iterator<Item = &'a str>) -> Option<String> {
    nearest(word, names).first().map(|(near, _)| format!("did you mean `{near}`?"))
}

/// The nearest names, best first; of every three letters one may be wrong.
#[must_use]
pub fn nearest<'a>(word: &str, names: impl Iterator<Item = &'a str>) -> Vec<(&'a str, usize)> {
    let lower = word.to_lowercase();
    let mut found: Vec<(&str, usize)> = names
        .filter_map(|name| match name.to_lowercase() == lower {
            true => (name.chars().count() > 1).then_some((name, 1)),
            false => Some((name, likeness(word, name)?)),
        })
        .collect();
    // the same letters in another case are the likeliest slip
    let key = |it: &(&str, usize)| (it.1, it.0.to_lowercase() != lower, it.0.to_owned());
    found.sort_by_key(key);
    found.truncate(3);
    found
}

#[cfg(test)]
mod tests {
    use super::nearest;
    use crate::unit::slips;

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
        let names = ["P_mean", "p_peak", "P_beak", "P_peek"];
        assert_eq!(nearest("P_PEAK", names.into_iter()).first(), Some(&("p_peak", 1)));
    }
}
