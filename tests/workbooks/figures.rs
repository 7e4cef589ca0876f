//! Words that bear another value of the kind, count pieces or leave a part out are asked about, and those that say the value
//! itself, what it is made of or what does no harm are not. Both are made by rule.
//!
//! Common practice of offices, no source: the words are those that people write.

use super::spoken::{Answer, answer};

/// Where another value stands as `#`.
const TOLD: &[&str] = &[
    "max #", "up to #", "# at 60 °C", "manual says #", "CAD says #", "# since 2023",
    "changed to #, see mail", "with cartons #", "plate #", "site value #", "# acc. to manual",
    "set to # on site", "new brake; worn #", "with AC switching #", "was measured at # later",
];

/// An input, other values of it on the side that matters, and on the other where it is an end.
const VALUES: &[(&str, &[&str], &[&str])] = &[
    ("J", &["0.03 kg·m²", "0.012 kg·m²", "0.7 lb·ft²"], &[]),
    ("t_resp", &["120 ms", "0.12 s", "120ms"], &["60 ms", "0.05 s"]),
    ("T_b", &["18 N·m", "160 lb·in", "1.8 kpm"], &["28 N·m", "270 lb·in"]),
];

/// Words that bear figures and ask nothing.
const SILENT: &[(&str, &str)] = &[
    ("T_b", "2 × 11 N·m"),
    ("T_b", "11 N·m + 11 N·m"),
    ("T_b", "2 brakes, each 11 N·m"),
    ("T_b", "half of 44 N·m"),
    ("T_b", "was 18 N·m"),
    ("T_b", "margin 4 N·m"),
    ("T_b", "18 N·m before the overhaul"),
    ("t_resp", "2 brakes"),
    ("J", "2 rollers"),
    ("T_b", "need not be reduced by 4 N·m"),
    ("T_b", "deduct 4 N·m (done)"),
    ("J", "2.34 ×10⁻² kg·m²"),
    ("J", "0.0234 = 234·10⁻⁴"),
    ("J", "old drum 0.03 kg·m²"),
];

/// Words that count pieces, told where the sheet does not say that its value is that of all.
const COUNTS: &[&str] =
    &["2 rollers", "two brakes", "for 2 rollers", "each; 2 pieces", "2 in parallel", "x 3 pieces"];

/// Words that are told beside an inertia and a torque alike.
const PIECES: &[&str] = &[
    "x2", "×2", "2x", "x2 (two brakes)", "without drum", "excl. drum", "plus drum",
    "without the gearbox",
];

#[test]
fn another_value_of_the_kind_is_asked_about_where_it_may_matter() {
    let mut wrong = Vec::new();
    let mut ask = |input: &str, words: &str, wanted: Answer| {
        let found = answer("block", input, (0, 4, false), Some(words));
        if found != wanted {
            wrong.push(format!("{input} \"{words}\": {found:?}, not {wanted:?}"));
        }
    };
    for (input, others, harmless) in VALUES {
        for words in TOLD {
            for other in *others {
                ask(input, &words.replace('#', other), Answer::Caution);
            }
            for other in
                harmless.iter().filter(|_| !words.contains("to #") && !words.contains("max"))
            {
                ask(input, &words.replace('#', other), Answer::Nothing);
            }
        }
    }
    for (input, words) in SILENT {
        ask(input, words, Answer::Nothing);
    }
    COUNTS.iter().for_each(|words| ask("T_b", words, Answer::Caution));
    for words in PIECES {
        ask("J", words, Answer::Caution);
        ask("T_b", words, Answer::Caution);
    }
    for words in ["plus relay 25 ms", "relay 25 ms not counted", "without relay 25 ms"] {
        ask("t_resp", words, Answer::Caution);
    }
    for words in ["GD²!", "swing moment", "kgf·m²", "in kgf·m²"] {
        ask("J", words, Answer::Error);
    }
    ask("t_resp", "Hz", Answer::Caution);
    ask("T_b", "in kW", Answer::Caution);
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
