//! Slips of an author of sheets, each beside the same sheet without it: the slip is found by its name, and nothing is
//! found in the sheet as it was meant. What each slip is follows from the formula beside it; worked by hand.

use std::fs;

use standstill::diagnostic::{Diagnostic, Name, Source};
use standstill::program::compile;
use standstill::project::Project;
use standstill::unit::KINDS;

use super::Beside;

const USED: &[(&str, &str)] = &[
    (
        "rail",
        "takes\n  rail : one of dry, damp, icy \"rail\"\n  a : length in mm above 0 mm like 5 mm \"a\"\nworks\n  \
         x = when rail is dry  : a\n      when rail is damp : 2 * a\n      otherwise         : 3 * a\ngives\n  x in mm\n",
    ),
    (
        "four",
        "takes\n  a : time in s from 0 s like 1 s \"a\"\n  b : time in s from 0 s like 2 s \"b\"\n  \
         c : time in s from 0 s like 3 s \"c\"\n  e : time in s from 0 s like 4 s \"e\"\n\
         works\n  t = a + 2 * b + 3 * c + 4 * e\ngives\n  t in s\n",
    ),
    (
        "rim",
        "takes\n  r : radius in mm above 0 mm like 50 mm \"r\"\n  n : speed of rotation in r/min like 60 r/min \"n\"\n\
         works\n  v = r * n\ngives\n  v in m/s\n",
    ),
];

/// Errors, and cautions, that are found in a sheet of these blocks.
fn found(blocks: &str) -> Vec<Diagnostic> {
    let folder = tempfile::tempdir().unwrap();
    for (name, blocks) in USED {
        let text = format!("sheet {name}\ntitle \"T\"\nsource \"by hand\"\n{blocks}");
        fs::write(folder.path().join(format!("{name}.sheet")), text).unwrap();
    }
    let text = format!("sheet own\ntitle \"T\"\nsource \"by hand\"\n{blocks}");
    let source = Source::new("own.sheet", &text);
    compile(&source, &Project::new(&Beside(folder.path().to_owned()))).problems
}

/// Of a slip the name is found, and of what is meant nothing.
fn differs(slip: &str, meant: &str, name: Name) {
    let problems = found(slip);
    assert!(problems.iter().any(|it| it.name == name), "{slip}\n{problems:?}");
    let problems = found(meant);
    assert!(problems.is_empty(), "{meant}\n{problems:?}");
}

const TWO: &str = "takes\n  a : length in mm from 0 mm like 5 mm \"a\"\n  b : length in mm from 0 mm like 6 mm \"b\"\n";
const TURNS: &str = "takes\n  d : diameter in mm above 0 mm like 100 mm \"d\"\n  n : speed of rotation in r/min from 0 r/min like 60 r/min \"n\"\n";

/// What a line says and what is meant by it, on two lengths.
#[test]
fn a_term_of_a_sum_stands_in_it_once() {
    for (slip, meant) in [
        ("a + b + a", "2 * a + b"),
        ("a + b - a", "a + 2 * b"),
        ("b - (a - b)", "2 * b - a"),
        ("2 * b + a + 2 * b", "4 * b + a"),
        ("max(a, b + a + b)", "max(a, 2 * b)"),
        ("-a + b + a", "b + a"),
        ("(a * b + b * a) / (a + b)", "2 * a * b / (a + b)"),
        ("(a * b * 3 + 3 * (b * a)) / (a + b)", "6 * a * b / (a + b)"),
    ] {
        let sheet = |formula: &str| format!("{TWO}works\n  x = {formula}\ngives\n  x in mm\n");
        differs(&sheet(slip), &sheet(meant), Name::TwoStatements);
    }
}

/// What a line says and what is meant by it: the same figure stands there with a sign or a name that does nothing.
#[test]
fn what_changes_nothing_is_found() {
    for (slip, meant) in [
        ("b * 1 + a", "b + a"),
        ("1 * a + b", "1 + a / b"),
        ("a * 1.0 - b", "a * meant 1 \"one pole pair\" - b"),
        ("a / 1 + b", "1 / a + 1 / b"),
        ("a * 100 % + b", "a * 90 % + b"),
        ("a^1 + b", "a^2 + b^2"),
        ("(a + b)^1", "(a + b)^(1/2)"),
        ("a + b + 0 mm", "a + b + 1 mm"),
        ("a - 0 mm - b", "0 mm - a + b"),
        ("a + 0 * b", "when a > b : a otherwise : 0 mm"),
        ("0 mm * a + b^2", "2 mm * a + b^2"),
        ("a * b / a", "a * b / (a + b)"),
        ("a / b * b", "a / b * 2"),
        ("2 * a / (b * a)", "2 * a / (b * b) * 2"),
        ("max(a, b, a)", "max(a, b, 2 * a - b)"),
        ("min(a, a) + b", "min(a, b) + b"),
        ("max(a, min(a, b))", "max(a, min(b, 3 mm))"),
        ("when a > b and a > b : a otherwise : b", "when a > b and a > 1 mm : a otherwise : b"),
        ("sqrt(1 * a * b)", "sqrt(2 * a * b)"),
    ] {
        let sheet = |formula: &str| format!("{TWO}works\n  x = {formula}\ngives\n  x\n");
        let problems = found(&sheet(slip));
        assert!(problems.iter().any(|it| it.name == Name::ChangesNothing), "{slip}: {problems:?}");
        let problems = found(&sheet(meant));
        assert!(
            !problems.iter().any(|it| it.name == Name::ChangesNothing),
            "{meant}: {problems:?}"
        );
    }
}

const FOUR: &str = "takes\n  a : time in s from 0 s like 1 s \"a\"\n  b : time in s from 0 s like 2 s \"b\"\n  \
                    c : time in s from 0 s like 3 s \"c\"\n  e : time in s from 0 s like 4 s \"e\"\n";

/// A line, a used sheet or a table that was copied, and in which the one word was not changed: every pair of copies,
/// in every place that reads both.
#[test]
fn a_copy_in_which_nothing_was_changed_is_found() {
    let pairs = [
        ("", "p = a + 2 * b\n  q = a + 2 * b", "p", "q", "q = a + 2 * c"),
        ("", "p = a + 2 * b\n  q = 2 * b + a", "p", "q", "q = 2 * b + c"),
        (
            "",
            "p = a * e / b\n  p_1 = p + c\n  q = a * e / b\n  q_1 = q + c",
            "p_1",
            "q_1",
            "q = c * e / b",
        ),
        (
            "",
            "p = integral of x / c for x from 0 s to a\n  q = integral of y / c for y from 0 s to a",
            "p",
            "q",
            "q = integral of y / c for y from 0 s to b",
        ),
        (
            "",
            "p = root of x^2 - a * b for x from 0 s to (a + b)\n  q = root of y^2 - a * b for y from 0 s to (a + b)",
            "p",
            "q",
            "q = root of y^2 - a * c for y from 0 s to (a + c)",
        ),
        (
            "",
            "table k (x : time in s) : ratio, straight\n      0  1\n      9  2\n  \
             table l (x : time in s) : ratio, straight\n      0  1\n      9  2\n  p = k(a) * b\n  q = l(a) * b",
            "p",
            "q",
            "q = l(b) * b",
        ),
        (
            "uses\n  k_1 = four with a, b, c, e\n  k_2 = four with a, b, c, e\n",
            "z = a",
            "k_1.t",
            "k_2.t",
            "k_2 = four with a = c, b, c, e",
        ),
    ];
    let mut tried = 0;
    for (uses, lines, p, q, changed) in pairs {
        for (place, kind) in [
            (format!("max({p}, {q})"), "in s"),
            (format!("min(c, {p}, {q})"), "in s"),
            (format!("max({p} + c, {q} + c)"), "in s"),
            (format!("{p} + c + {q}"), "in s"),
            (format!("{p} - {q}"), "in s"),
            (format!("{p} / {q}"), ""),
            (format!("when {p} > {q} : a otherwise : b"), "in s"),
            (format!("when a > b : {p} otherwise : {q}"), "in s"),
        ] {
            let sheet = |uses: &str, lines: &str| {
                format!("{uses}{FOUR}works\n  {lines}\n  r = {place}\ngives\n  r {kind}\n")
            };
            let is_twin = |it: &Diagnostic| {
                it.name == Name::ChangesNothing
                    && !it.is_error()
                    && it.headline.contains("are the same, whatever is given")
            };
            let problems = found(&sheet(uses, lines));
            let twins: Vec<&Diagnostic> = problems.iter().filter(|it| is_twin(it)).collect();
            let [twin] = twins.as_slice() else { panic!("{lines}\n{place}: {problems:?}") };
            assert!(twin.headline.contains(p) && twin.headline.contains(q), "{place}: {twin:?}");
            // what is meant: the other line, or the other used sheet, with one word changed
            let name = changed.split(' ').next().unwrap();
            let other = |text: &str| -> String {
                let is_it = |line: &&str| line.trim_start().starts_with(&format!("{name} = "));
                let old = text.lines().find(is_it);
                old.map_or(text.to_owned(), |old| text.replace(old.trim_start(), changed))
            };
            let problems = found(&sheet(&other(uses), &other(lines)));
            assert!(!problems.iter().any(is_twin), "{changed}\n{place}: {problems:?}");
            tried += 1;
        }
    }
    assert_eq!(tried, 56);
    // numbers may be the same, an input may be added under names of its own, and a line may be read twice
    for works in [
        "p = 2 s\n  q = 2 s\n  r = p + q + a + b + c + e",
        "p = a\n  q = a\n  r = p + q + b + c + e",
        "p = a + b\n  q = p + c\n  r = max(p, q * 2 s / (1 s + e))",
        "p = when a > b : 1 s when c > b : 2 s otherwise : 1 s\n  r = p + e",
    ] {
        let problems = found(&format!("{FOUR}works\n  {works}\ngives\n  r in s\n"));
        assert!(problems.is_empty(), "{works}: {problems:?}");
    }
}

/// What a formula binds and does not read: the outer name of one kind was written for it.
#[test]
fn a_bound_name_that_is_not_read_is_found() {
    let bodies = [
        ("f(x) = a + 2 * x\n  r = f(b) + c + e", "a + 2 * x", "a + 2 * b"),
        ("f(x, y) = x + 2 * y\n  r = f(a, b) + c + e", "x + 2 * y", "x + 2 * b"),
        ("r = (integral of x / b for x from 0 s to a) + c + e", "x / b", "c / b"),
        ("r = (integral of (c + x)^2 / b^2 for x from 0 s to a) + e", "(c + x)^2", "(c + a)^2"),
        (
            "r = (root of x * e - a * b for x from 0 s to (a + b)) + c",
            "root of x * e",
            "root of c * e",
        ),
        (
            "t_k = running y from 0 s : y * 0.5 + s_k\n  r = max(t_k) + a + b + c + e",
            "y * 0.5 + s_k",
            "a * 0.5 + s_k",
        ),
    ];
    for (meant, read, other) in bodies {
        let sheet = |works: &str| {
            let series = "  s_k : series of time in s from 0 s like 1 s, 2 s \"each\"\n";
            let series = if works.contains("s_k") { series } else { "" };
            format!("{FOUR}{series}works\n  {works}\ngives\n  r in s\n")
        };
        let unread = |it: &Diagnostic| {
            it.name == Name::UnusedDefinition
                && !it.is_error()
                && it.headline.contains("is not read")
                && !it.remedy.is_empty()
        };
        let problems = found(&sheet(meant));
        assert!(problems.is_empty(), "{meant}: {problems:?}");
        let slip = meant.replace(read, other);
        let problems = found(&sheet(&slip));
        assert!(problems.iter().any(unread), "{slip}: {problems:?}");
    }
}

/// Cases that were copied and in which the value was not changed, beside others that differ.
#[test]
fn cases_that_give_the_same_beside_others_are_found() {
    let sheet = |works: &str| {
        format!(
            "{FOUR}  way : one of one, two, three \"way\"\nworks\n  {works}\n  rest = when way is one : a + b when way is two : c otherwise : a + b + c + e\n\
             gives\n  r in s, rest in s\n"
        )
    };
    let words = "r = when way is one : V when way is two : W otherwise : a + b + c";
    let last = "r = when way is one : a + b when way is two : V when way is three : W";
    let rest = "r = when way is one : a + b when way is two : V otherwise : W";
    let compared = "r = when a > b : V when a > c : W otherwise : 5 * e";
    for (values, copied) in [(["2 * a", "2 * b"], "2 * a"), (["a + 2 * c", "e + c"], "a + 2 * c")] {
        for formula in [words, last, rest, compared] {
            let of = |one: &str, other: &str| sheet(&formula.replace('V', one).replace('W', other));
            let is_alike = |it: &Diagnostic| {
                it.name == Name::ChangesNothing
                    && !it.is_error()
                    && it.headline.contains("apart here")
            };
            let meant = found(&of(values[0], values[1]));
            assert!(meant.is_empty(), "{formula}: {meant:?}");
            let problems = found(&of(copied, copied));
            assert!(problems.iter().any(is_alike), "{formula}: {problems:?}");
        }
    }
    // copies behind two names, and one condition that names both
    let two = "p = 2 * a\n  q = 2 * a\n  r = when way is one : p when way is two : q otherwise : e";
    let problems = found(&sheet(two));
    assert!(problems.iter().any(|it| it.headline.contains("are the same")), "{problems:?}");
    for right in [
        "r = when way is one or way is two : 2 * a otherwise : e",
        "r = when a > b : 1 s when a > c : 1 s otherwise : e",
        "r = when way is one : 2 * a when a > b : e otherwise : 2 * a",
        // a case between decides for the second of them alone
        "r = when way is one : 2 * a when a > b : e when way is two : 2 * a otherwise : c",
        "r = when way is one : 2 * a when way is two and a > b : e when way is two : 2 * a otherwise : c",
    ] {
        let problems = found(&sheet(right));
        assert!(problems.is_empty(), "{right}: {problems:?}");
    }
}

/// Every way to give one of two formulas to each case: of words of a choice, of windows that lie apart, and of windows
/// one within the other. Two that are the same are found where they could be one and no other condition would change.
#[test]
fn cases_that_could_be_one_are_found_wherever_they_stand() {
    let formulas = ["2 * a", "e + c", "b"];
    // the conditions, and the pairs between which a case stands that decides for one of them
    let both = &[(0, 2), (1, 3), (0, 3)];
    for (conditions, kept) in [
        (["way is one", "way is two", "way is three"], &[][..]),
        (["a < 1 s", "a > 5 s", "a = 3 s"], &[]),
        (["a < 1 s", "a < 3 s", "a < 5 s"], both),
        (["a > b", "a > c", "a > e"], both),
        // a narrower window before a wider one
        (["a < 1 s", "a > 5 s", "a > 3 s"], &[(0, 2), (1, 3)]),
    ] {
        for code in 0..81 {
            let given: Vec<&str> = (0..4).map(|at| formulas[code / 3_usize.pow(at) % 3]).collect();
            if given.iter().all(|it| *it == given[0]) {
                continue;
            }
            let cases =
                conditions.iter().zip(&given).map(|(it, value)| format!("when {it} : {value} "));
            let sheet = format!(
                "{FOUR}  way : one of one, two, three, four \"way\"\nworks\n  r = {}otherwise : {}\n  \
                 rest = when way is one : a + b when way is two : c when way is three : e otherwise : a + b + c + e\n\
                 gives\n  r in s, rest in s\n",
                cases.collect::<String>(),
                given[3]
            );
            let pairs = (0..4).flat_map(|last| (0..last).map(move |first| (first, last)));
            let alike =
                pairs.filter(|it| given[it.0] == given[it.1] && !kept.contains(it)).count() > 0;
            let problems = found(&sheet);
            let is_alike = |it: &Diagnostic| !it.is_error() && it.headline.contains("apart here");
            assert_eq!(problems.iter().any(is_alike), alike, "{sheet}\n{problems:?}");
            assert!(alike || problems.is_empty(), "{sheet}\n{problems:?}");
        }
    }
    // a condition may have no value, and says so for its case
    let never = "t = when a > b : a otherwise : never \"it does not stand\"\n  r = when c > e : e when t > 1 s : 2 * b otherwise : 2 * b";
    let problems = found(&format!("{FOUR}works\n  {never}\ngives\n  r in s\n"));
    assert!(problems.is_empty(), "{problems:?}");
}

/// One value given under two names.
#[test]
fn a_value_that_is_given_twice_is_found() {
    let sheet = |works: &str, gives: &str| format!("{FOUR}works\n  {works}\ngives\n  {gives}\n");
    let works = "p = a + 2 * b\n  q = c + 2 * e";
    let copied = "p = a + 2 * b\n  q = a + 2 * b\n  r = c + e";
    let is_twice = |it: &Diagnostic| !it.is_error() && it.headline.contains("given twice");
    for (works, gives) in [
        (works, "p in s as t_one, p in s as t_two, q in s"),
        (works, "p in s, p in s as t_two, q in s"),
        (copied, "p in s, q in s, r in s"),
    ] {
        let problems = found(&sheet(works, gives));
        assert!(problems.iter().any(is_twice), "{gives}: {problems:?}");
    }
    for gives in [
        "p in s as t_one, p in s as t_old \"the same as t_one, for the workbooks\", q in s",
        "p in s as t_one \"t_old of last year\", p in s as t_old, q in s",
        "p in s as t_one, q in s as t_two",
        "p in s, p in min as t_min, q in s",
        "p in s, p in s rounded up to 1 s as t_set, q in s",
    ] {
        let problems = found(&sheet(works, gives));
        assert!(!problems.iter().any(is_twice), "{gives}: {problems:?}");
    }
}

/// Of two values one is never the smaller: it holds the other and what is not below zero.
#[test]
fn a_value_beside_a_sum_that_holds_it_decides_nothing() {
    let sheet = |formula: &str| format!("{TWO}works\n  x = {formula}\ngives\n  x in mm\n");
    for (slip, meant) in [
        ("max(a, a + b)", "max(a, 2 * b)"),
        ("min(b + a, a)", "min(b + a, 2 * a)"),
        ("max(a + b, a - b)", "max(b, a - b)"),
        ("max(a + b + 1 mm, a + b)", "max(a + b - 1 mm, 0 mm)"),
    ] {
        differs(&sheet(slip), &sheet(meant), Name::ChangesNothing);
    }
}

/// What lasts or weighs no less than nothing has a lower bound, or a check that says something there.
#[test]
fn a_lower_bound_that_was_lost_is_found() {
    let sheet = |input: &str, holds: &str| {
        format!("takes\n  x : {input} \"x\"\nworks\n  y = 2 * x\n{holds}gives\n  y\n")
    };
    for (kind, unit) in [
        ("time", "s"),
        ("mass", "kg"),
        ("inertia", "kg·m²"),
        ("length", "mm"),
        ("diameter", "mm"),
        ("resistance", "Ω"),
        ("capacitance", "µF"),
        ("coefficient of friction", ""),
    ] {
        let input = |low: &str| match unit {
            "" => format!("{kind} {low} like 2"),
            unit => format!("{kind} in {unit} {low} like 2 {unit}"),
        };
        let y = |text: String| {
            text.replace(
                "  y\n",
                &format!(
                    "  y{}\n",
                    if unit.is_empty() { String::new() } else { format!(" in {unit}") }
                ),
            )
        };
        let zero = format!("0 {unit}");
        for low in [
            format!("from {}", zero.trim()),
            format!("above {}", zero.trim()),
            "from 1e-9".to_owned() + if unit.is_empty() { "" } else { " " } + unit,
        ] {
            differs(&y(sheet(&input(""), "")), &y(sheet(&input(&low), "")), Name::OpenBelow);
        }
        let holds = format!("holds\n  x >= {} \"x is there\" else \"look at x\"\n", zero.trim());
        differs(&y(sheet(&input(""), "")), &y(sheet(&input(""), &holds)), Name::OpenBelow);
    }
    for input in [
        "torque in N·m like 2 N·m",
        "force in N like 2 N",
        "angle in ° like 2 °",
        "temperature in °C from -40 °C like 2 °C",
    ] {
        let problems = found(&sheet(input, ""));
        assert!(problems.iter().all(|it| it.name != Name::OpenBelow), "{input}: {problems:?}");
    }
}

/// Cases that all say the same are an error: no condition decides anything.
#[test]
fn cases_that_say_the_same_are_found() {
    for (slip, meant) in [
        ("when a > b : a + b otherwise : a + b", "when a > b : a + b otherwise : a + 2 * b"),
        (
            "when a > b : a when b > 3 mm : a otherwise : a",
            "when a > b : a when b > 3 mm : b otherwise : a",
        ),
        (
            "b + (when a > b : 2 * a otherwise : 2 * a)",
            "b + (when a > b : 2 * a otherwise : 3 * a)",
        ),
    ] {
        let sheet = |formula: &str| format!("{TWO}works\n  x = {formula}\ngives\n  x in mm\n");
        differs(&sheet(slip), &sheet(meant), Name::ChangesNothing);
    }
}

/// Words of a choice that no condition asks for, in the sheet or in one that is handed the choice.
#[test]
fn words_that_nothing_tells_apart_are_found() {
    let sheet = |words: &str, formula: &str| {
        format!(
            "takes\n  rail : one of {words} \"rail\"\n  a : length in mm above 0 mm like 5 mm \"a\"\n\
             works\n  x = {formula}\ngives\n  x in mm\n"
        )
    };
    for (slip, meant) in [
        (
            "when rail is icy : 3 * a otherwise : a",
            "when rail is icy : 3 * a when rail is damp : 2 * a otherwise : a",
        ),
        (
            "when rail is dry : 3 * a otherwise : a",
            "when rail is dry : 3 * a when rail is damp or rail is icy : a",
        ),
        (
            "when rail is damp and a > 2 mm : 3 * a otherwise : a",
            "when rail is damp and a > 2 mm : 3 * a when rail is icy : 2 * a otherwise : a",
        ),
    ] {
        differs(
            &sheet("dry, damp, icy", slip),
            &sheet("dry, damp, icy", meant),
            Name::ChangesNothing,
        );
    }
    let handed = |words: &str| {
        format!(
            "uses\n  on = rail with rail, a\ntakes\n  rail : one of {words} \"rail\"\n  \
             a : length in mm above 0 mm like 5 mm \"a\"\nworks\n  x = 2 * on.x\ngives\n  x in mm\n"
        )
    };
    let problems = found(&handed("dry, damp, icy"));
    assert!(problems.is_empty(), "{problems:?}");
}

/// Sums of ends of ranges, by hand: 0 <= a, 0 < b <= 9, so 0 < a + b, and -9 <= a - b.
#[test]
fn what_the_ranges_decide_is_found() {
    let takes = "takes\n  a : torque in N·m from 0 N·m\n  b : torque in N·m above 0 N·m to 9 N·m\n  \
                 c : torque in N·m from b to 20 N·m\n  phi : angle in °\n";
    for (check, decided) in [
        ("b > 0 N·m", true),
        ("b > 1e-30 N·m", false),
        ("b < 10 N·m", true),
        ("b <= 9 N·m", true),
        ("b < 9 N·m", false),
        ("a >= -1 N·m", true),
        ("a > 0 N·m", false),
        ("a + b > 0 N·m", true),
        ("a - b > -9.01 N·m", true),
        ("a - b > -8.99 N·m", false),
        ("b - a <= 9.01 N·m", true),
        ("c > 0 N·m", true),
        ("c >= 0.001 N·m", false),
        ("c > b", false),
        ("b > 20 N·m", true),
        ("a < 0 N·m", true),
        ("a + b <= -1 N·m", true),
        ("not (a < -1 N·m)", true),
        ("a >= 0 N·m and b <= 9 N·m", true),
        ("a >= 0 N·m and b <= 8 N·m", false),
        ("a > -1 N·m or b > 3 N·m", true),
        ("a * b >= 0 N²·m²", true),
        ("a * b > 0 N²·m²", false),
        ("c * b > 0 N²·m²", true),
        ("a / b >= 0", true),
        ("b / c > 0", true),
        ("b / c <= 1", true),
        ("b / c < 0.9", false),
        ("1 / (a - b) > -1 / (1 N·m)", false),
        ("sqrt(b / c) > 0", true),
        ("(a - b)^2 >= 0 N²·m²", true),
        ("(a - b)^3 >= 0 N³·m³", false),
        ("abs(a - b) < 0 N·m", true),
        ("sin(phi) <= 1", true),
        ("sin(phi) < 1", false),
        ("max(a, 2 N·m) >= 1 N·m", true),
        ("max(a, 2 N·m) > 2 N·m", false),
        ("min(b, 2 N·m) <= 2 N·m", true),
        ("(b rounded up to 1 N·m) > 0 N·m", true),
        ("(b rounded down to 1 N·m) > 0 N·m", false),
        ("(b rounded down to 1 N·m) >= 0 N·m", true),
    ] {
        let sheet = format!(
            "{takes}works\n  x = a + b + c\nholds\n  {check}\ngives\n  x in N·m, phi in °\n"
        );
        let problems = found(&sheet);
        assert!(problems.iter().all(|it| it.name == Name::DecidedCheck), "{check}: {problems:?}");
        assert_eq!(!problems.is_empty(), decided, "{check}: {problems:?}");
    }
    for (formula, name) in [
        ("when a + b > 0 N·m : a  otherwise : c", Some(Name::UnreachedCase)),
        ("when a - b > 0 N·m : a  otherwise : c", None),
        ("when b - c > 0 N·m : a  when a > c : b  otherwise : 2 * c", None),
        ("when b > 9 N·m or a < 0 N·m : a  otherwise : c", Some(Name::UnreachedCase)),
        ("min(a, 0 N·m)", Some(Name::ChangesNothing)),
        ("max(a, 0 N·m)", Some(Name::ChangesNothing)),
        ("max(a - b, 0 N·m)", None),
        ("max(1.2 N·m, 0.85 N·m)", Some(Name::ChangesNothing)),
        ("min(b, 9 N·m)", Some(Name::ChangesNothing)),
        ("max(a, b, -1 N·m)", Some(Name::ChangesNothing)),
        ("max(abs(a - b), 0 N·m)", Some(Name::ChangesNothing)),
        ("min(a, b, c)", None),
    ] {
        let sheet = format!(
            "{takes}works\n  x = {formula}\n  y = a + b + c\ngives\n  x in N·m, y in N·m, phi in °\n"
        );
        let problems = found(&sheet);
        assert_eq!(problems.first().map(|it| it.name), name, "{formula}: {problems:?}");
        // inside a function the values that it is called with count
        let sheet = format!(
            "{takes}works\n  f(a, b, c) = {formula}\n  x = f(a - c, 2 * b - c, c - 9 N·m)\n  y = a + b + c\ngives\n  x in N·m, y in N·m, phi in °\n"
        );
        let beside = [Name::DefinedTwice, Name::UnusedDefinition];
        let decided = |it: &&Diagnostic| !beside.contains(&it.name);
        let problems = found(&sheet);
        let constant = formula.starts_with("max(1.2") || formula.contains("abs");
        assert!(constant || problems.iter().find(decided).is_none(), "{formula}: {problems:?}");
    }
}

/// What a condition on a series comes to within its ranges, 0 s <= s_k <= 9 s and 1 s <= b <= 9 s: always, never or either.
const ON_A_SERIES: &[(&str, Option<bool>)] = &[
    ("s_k >= 0 s", Some(true)),
    ("9 s >= s_k", Some(true)),
    ("s_k + b >= 0.99 s", Some(true)),
    ("s_k * b >= 0 s²", Some(true)),
    ("s_k / b <= 9.01", Some(true)),
    ("max(s_k, b) > 0 s", Some(true)),
    ("not (s_k < 0 s)", Some(true)),
    ("s_k > 1 s or s_k <= 2 s", Some(true)),
    ("s_k < 0 s", Some(false)),
    ("s_k > 9 s", Some(false)),
    ("s_k + b > 18.01 s", Some(false)),
    ("s_k - b > 8.01 s", Some(false)),
    ("s_k > 2 s and s_k < 1 s", Some(false)),
    ("s_k > b and s_k + b < 0.99 s", Some(false)),
    ("s_k > 0 s", None),
    ("s_k + b > 17.99 s", None),
    ("s_k - b > 7.99 s", None),
    ("s_k < b", None),
    ("s_k > 1 s and s_k < 2 s", None),
    ("max(s_k, b) > 1 s", None),
];

/// What the ranges decide of a series is found as it is of a value, wherever a condition can stand.
#[test]
fn what_the_ranges_decide_of_a_series_is_found() {
    let places = [
        ("x = mean(s_k where C)", ""),
        ("x = b * count(s_k where C)", ""),
        ("x = max(s_k where C) + min(s_k where s_k > b)", ""),
        ("f(p) = p + mean(s_k where C)\n  x = f(b)", ""),
        ("r_k = when C : s_k otherwise : 2 * s_k\n  x = max(r_k)", ""),
        ("r_k = running y from 0 s : (when C : y + s_k otherwise : y)\n  x = max(r_k)", ""),
        ("x = (integral of (when C : 1 otherwise : 2) for s_k from 0 s to 9 s) * b / 9 s", ""),
        ("x = root of (when C : s_k otherwise : 2 * s_k) - b for s_k from 0 s to 9 s", ""),
        ("f(s_k) = when C : s_k otherwise : 2 * s_k\n  x = max(f(S))", ""),
        ("x = 2 * b", "holds\n  count(s_k where C) >= 3 \"enough\" else \"more\"\n"),
    ];
    for (condition, outcome) in ON_A_SERIES {
        for (works, holds) in places {
            // what a search goes through, or a function is called with, bears another name than the series
            let is_bound = works.contains("for s_k") || works.contains("f(s_k)");
            let put = |text: &str| {
                let text = text.replace('C', condition);
                let text = if is_bound { text.replace("s_k", "u") } else { text };
                text.replace('S', "s_k")
            };
            let sheet = format!(
                "takes\n  s_k : series of time in s from 0 s to 9 s like 1 s, 5 s, 8 s \"s\"\n  \
                 b : time in s from 1 s to 9 s like 4 s \"b\"\nworks\n  s_1 = first(s_k)\n  {}\n{}\
                 gives\n  x in s, b in s, s_1 in s\n",
                put(works),
                put(holds)
            );
            let decided = |it: &Diagnostic| {
                it.is_error() && [Name::UnreachedCase, Name::ChangesNothing].contains(&it.name)
            };
            let problems = found(&sheet);
            let wanted = usize::from(outcome.is_some());
            let count = problems.iter().filter(|it| decided(it)).count();
            assert_eq!(count, wanted, "{sheet}\n{problems:?}");
            assert!(wanted > 0 || problems.is_empty(), "{sheet}\n{problems:?}");
            if *outcome == Some(false) {
                assert!(problems.iter().any(|it| it.name == Name::UnreachedCase), "{problems:?}");
            }
        }
    }
    // a function is asked at each of its calls
    for (calls, decided) in [
        ("f(b)", true),
        ("f(b) + f(2 * b)", true),
        ("f(b) + f(-b)", false),
        ("f(b) + f(c - b)", false),
        ("f(-b)", false),
        ("f(-b - 1 s)", true),
    ] {
        let sheet = format!(
            "{FOUR}works\n  f(p) = when p >= 0 s : a otherwise : e\n  x = {calls}\n  y = a + b + c + e\ngives\n  x in s, y in s\n"
        );
        let problems = found(&sheet);
        let is_decided = |it: &&Diagnostic| it.name == Name::UnreachedCase;
        assert_eq!(
            problems.iter().filter(is_decided).count(),
            usize::from(decided),
            "{calls}: {problems:?}"
        );
    }
}

/// Values along a series, by hand: sums of what is never below zero are not, and of two negative numbers the product is
/// above zero.
#[test]
fn what_is_carried_along_a_series_keeps_its_side_of_zero() {
    for (works, check, decided) in [
        ("r_k = running y from 0 s : y + s_k", "max(r_k) >= 0 s", true),
        ("r_k = running y from 2 s : y / 2 + s_k", "last(r_k) > -1 s", true),
        ("r_k = running y from 0 s : y - s_k", "max(r_k) <= 0 s", true),
        ("r_k = running y from 0 s : y - s_k", "min(r_k) >= -50 s", false),
        ("r_k = running y from 5 s : min(max(y, s_k), 5 s)", "max(r_k) <= 5 s", true),
        ("r_k = running y from 5 s : max(y, s_k)", "max(r_k) <= 8 s", false),
        ("r_k = running y from 0 s : s_k - y", "max(r_k) >= 0 s", false),
        ("r_k = max(s_k, b)", "min(r_k) >= 1 s", true),
        ("r_k = s_k + b", "sum(r_k) > 8 s", false),
        ("r_k = b * product(q_k) + s_k", "max(r_k) >= -9 s", false),
        ("r_k = b * product(q_k) + s_k", "max(r_k) <= 9 s", false),
        ("r_k = s_k + (integral of u / b for u from 0 s to b)", "max(r_k) >= 0 s", true),
        ("r_k = s_k + (integral of u / b for u from 0 s to b)", "max(r_k) <= 90.01 s", true),
        ("r_k = s_k + (integral of u / b for u from 0 s to b)", "max(r_k) <= 80 s", false),
    ] {
        let sheet = format!(
            "takes\n  s_k : series of time in s from 0 s to 9 s like 1 s, 5 s, 8 s \"s\"\n  \
             b : time in s from 1 s to 9 s like 4 s \"b\"\n  q_k : series of ratio from -2 to 0 like -1, -2 \"q\"\n\
             works\n  {works}\n  x = max(r_k)\n  s_1 = first(s_k)\n  q_1 = last(q_k)\nholds\n  {check} \"c\" else \"d\"\n\
             gives\n  x in s, b in s, s_1 in s, q_1\n"
        );
        let problems = found(&sheet);
        let is_decided = problems.iter().any(|it| it.name == Name::DecidedCheck);
        assert_eq!(is_decided, decided, "{works} {check}: {problems:?}");
    }
    // each element beside a bound that never, or always, decides
    for (formula, idle) in [
        ("max(s_k, 0 s)", true),
        ("min(s_k, 9 s)", true),
        ("min(s_k, b + 8.01 s)", true),
        ("max(s_k, 1 s)", false),
        ("min(s_k, b)", false),
    ] {
        for works in
            [format!("r_k = {formula}"), format!("r_k = running y from 0 s : y / 2 + {formula}")]
        {
            let sheet = format!(
                "takes\n  s_k : series of time in s from 0 s to 9 s like 1 s, 5 s, 8 s \"s\"\n  \
                 b : time in s from 1 s to 9 s like 4 s \"b\"\nworks\n  {works}\n  x = max(r_k)\n\
                 gives\n  x in s, b in s\n"
            );
            let problems = found(&sheet);
            let is_idle = |it: &Diagnostic| it.headline.contains("decides nothing in this");
            assert_eq!(problems.iter().any(is_idle), idle, "{works}: {problems:?}");
            assert!(idle || problems.is_empty(), "{works}: {problems:?}");
        }
    }
}

/// Every chain of up to four values: one that goes one way passes, and of every other both readings can be typed.
#[test]
fn a_chain_of_comparisons_goes_one_way() {
    let signs = ["<", "<=", ">", ">=", "=", "<>"];
    let values = ["a", "b", "2 * c", "e"];
    let chains = |links: u32| {
        (0..signs.len().pow(links)).map(move |code| {
            let at = |link: u32| signs[code / signs.len().pow(link) % signs.len()];
            (0..links).map(at).collect::<Vec<_>>()
        })
    };
    let one_way = |chain: &[&str]| {
        let up = chain.iter().any(|it| it.starts_with('<') && *it != "<>");
        let down = chain.iter().any(|it| it.starts_with('>'));
        chain.len() == 1 || !(up && down || chain.contains(&"<>"))
    };
    let sheet = |condition: &str| {
        format!(
            "{FOUR}works\n  r = when {condition} : a + b otherwise : c\n  z = a + b + c + e\ngives\n  r in s, z in s\n"
        )
    };
    let unread = |text: &str| found(text).into_iter().find(|it| it.name == Name::UnreadableLine);
    let (mut tried, mut refused) = (0, 0);
    for chain in (1..=3).flat_map(chains) {
        let links = chain.iter().zip(values.iter().skip(1));
        let whole =
            links.fold(values[0].to_owned(), |all, (sign, value)| format!("{all} {sign} {value}"));
        let each = chain.iter().zip(values.iter().zip(&values[1..]));
        let each =
            each.map(|(sign, (a, b))| format!("{a} {sign} {b}")).collect::<Vec<_>>().join(" and ");
        tried += 1;
        let text = sheet(&whole);
        let Some(problem) = unread(&text) else {
            assert!(one_way(&chain), "{whole}");
            continue;
        };
        assert!(!one_way(&chain), "{whole}: {problem:?}");
        refused += 1;
        let readings: Vec<&str> = problem.remedy.split('`').skip(1).step_by(2).collect();
        assert_eq!(readings.last(), Some(&each.as_str()), "{whole}");
        assert_eq!(readings.len(), if chain.contains(&"<>") { 1 } else { 2 }, "{}", problem.remedy);
        let Some(standstill::diagnostic::Place::Text { source, span }) = &problem.place else {
            panic!("{problem:?}")
        };
        assert_eq!(&source.text[span.0..span.1], whole);
        for reading in readings {
            assert!(unread(&sheet(reading)).is_none(), "{whole}: {reading}");
        }
    }
    assert_eq!((tried, refused), (258, 182));
    // where a chain can stand, and below `not`
    for (slip, reading) in [
        ("r = when not a <= b >= c : a otherwise : b", "(a <= b and b >= c)"),
        ("r = count(s_k where a <= s_k >= b) * a", "a <= s_k and s_k >= b"),
        ("r = when e > a and (a <\n      b > c) : a otherwise : b", "a < b and b > c"),
    ] {
        let text = format!(
            "{FOUR}  s_k : series of time in s from 0 s like 1 s, 2 s \"s\"\nworks\n  {slip}\ngives\n  r in s, max(s_k, c, e) in s as m_k\n"
        );
        let problem = unread(&text).unwrap();
        assert!(problem.remedy.ends_with(&format!("write `{reading}`")), "{}", problem.remedy);
    }
}

/// A zero, however it is written, as a factor, a divisor, a base or an exponent leaves the formula without what stands
/// beside it, or without a value.
#[test]
fn a_zero_among_factors_is_found() {
    for zero in [
        "0", "0.0", "0 %", "0 mm", "0/3", "(0 / 2.5)", "(1 - 1)", "(2 mm - 2 mm)", "(0 * 7)", "0^2",
    ] {
        for (form, meant) in [
            ("a * b * Z", "a * b * 2"),
            ("Z * a", "2 * a"),
            ("a / (Z)", "a / 2"),
            ("a + b / (Z)", "a + b / 2"),
            ("a * (1 + b * Z)", "a * (2 + b / a)"),
            ("max(a, a^(Z) * b)", "max(a, a^2 * b)"),
            ("when a > b : b * Z otherwise : a", "when a > b : b * 2 otherwise : a"),
        ] {
            let sheet = |formula: &str| format!("{TWO}works\n  x = {formula}\ngives\n  x\n");
            let is_of_zero = |it: &Diagnostic| {
                let names = [Name::ChangesNothing, Name::DividedByZero, Name::TwoStatements];
                it.is_error() && names.contains(&it.name) && !it.remedy.is_empty()
            };
            let slip = form.replace('Z', zero);
            let problems = found(&sheet(&slip));
            assert!(problems.iter().any(is_of_zero), "{slip}: {problems:?}");
            let problems = found(&sheet(meant));
            assert!(!problems.iter().any(is_of_zero), "{meant}: {problems:?}");
        }
    }
    // in the place of a value it is no formula, and a letter between two values no sign
    for (default, words) in [
        ("0/2 mm", "a plain number with its unit is needed here"),
        ("1/0 mm", "a plain number with its unit is needed here"),
        ("0 x 3 mm", "a product is written with a sign"),
    ] {
        let text = format!(
            "takes\n  a : length in mm from 0 mm like {default} \"a\"\nworks\n  x = 2 * a\ngives\n  x in mm\n"
        );
        let problems = found(&text);
        assert!(problems.iter().any(|it| it.headline.contains(words)), "{default}: {problems:?}");
    }
    for (slip, remedy) in [
        ("0 a", "write `… * a`"),
        ("1 a", "write `a`"),
        ("3 a", "write `3 * a`"),
        ("b / 1 a", "write `(a)`"),
        ("0 x a", "write `*`"),
        ("2 x (a + b)", "write `*`"),
    ] {
        let problems = found(&format!("{TWO}works\n  x = {slip}\ngives\n  x\n"));
        assert!(problems.iter().any(|it| it.remedy.starts_with(remedy)), "{slip}: {problems:?}");
    }
}

/// ∫ₐᵇ = −∫ᵇₐ: from a higher bound to a lower one the sign turns, and a limit would hold.
#[test]
fn an_integral_runs_upwards() {
    let sheet = |ranges: [&str; 2], bounds: &str| {
        format!(
            "takes\n  a : length in mm {} like 5 mm \"a\"\n  b : length in mm {} like 6 mm \"b\"\n\
             works\n  x = integral of y for y from {bounds}\nholds\n  x <= 1 m²\ngives\n  x in mm²\n",
            ranges[0], ranges[1]
        )
    };
    let open = ["above 0 mm to 9 mm", "above 0 mm to 9 mm"];
    for (ranges, bounds, wanted) in [
        (["above 0 mm to 3 m", "from a to 9 m"], "a to b", Some(true)),
        (["above 0 mm to 3 m", "from a to 9 m"], "b to a", Some(false)),
        (open, "0 mm to a + b", Some(true)),
        (open, "a + b to b", Some(false)),
        (open, "b to a + b", Some(true)),
        (open, "a to 0 mm", Some(false)),
        (open, "max(a, b) to a", Some(false)),
        (open, "a to b", None),
        (open, "b to a", None),
    ] {
        let problems = found(&sheet(ranges, bounds));
        let backwards = problems.iter().any(|it| it.headline.contains("runs backwards"));
        assert_eq!(backwards, wanted == Some(false), "{bounds} {ranges:?}: {problems:?}");
        let text = format!("sheet own\ntitle \"T\"\nsource \"by hand\"\n{}", sheet(ranges, bounds));
        let folder = tempfile::tempdir().unwrap();
        let checked = compile(
            &Source::new("own.sheet", &text),
            &Project::new(&Beside(folder.path().to_owned())),
        );
        let asked = checked.program.is_some_and(|program| {
            program.checks.iter().any(|check| check.written == "`x` exists")
        });
        assert_eq!(asked, wanted.is_none(), "{bounds} {ranges:?}");
    }
}

#[test]
fn a_check_that_cannot_fail_or_never_holds_with_another_is_found() {
    let sheet =
        |checks: &str| format!("{TWO}works\n  x = a + b\nholds\n  {checks}\ngives\n  x in mm\n");
    for (slip, meant) in [
        ("2 * a >= 0 mm", "2 * a >= 1 mm"),
        ("0 mm <= x", "1 mm <= x"),
        ("x >= b", "x >= 2 * b"),
        ("sqrt(a * b) >= 0 mm", "sqrt(a * b) >= 2 mm"),
        ("x <= 5 mm\n  x >= 6 mm", "x <= 6 mm\n  x >= 5 mm"),
        ("a <= b\n  a > b", "a <= b\n  a > 1 mm"),
        ("a < b\n  b < a", "a < b\n  b < 9 mm"),
    ] {
        differs(&sheet(slip), &sheet(meant), Name::DecidedCheck);
    }
    // two limits of one value: they hold together where the lower lies below the upper
    for low in [1, 5, 9] {
        for high in [2, 5, 8] {
            let checks = format!("x >= {low} mm\n  x <= {high} mm");
            let never = found(&sheet(&checks)).iter().any(|it| it.name == Name::DecidedCheck);
            assert_eq!(never, low > high, "{checks}");
        }
    }
}

/// Every way to hand four values of these names on: only that which hands each to its own passes.
#[test]
fn values_are_handed_to_inputs_of_their_own_name() {
    let names = ["a", "b", "c", "e"];
    let mut tried = 0;
    for code in 0..256 {
        let order: Vec<&str> = (0..4).map(|at| names[(code >> (2 * at)) & 3]).collect();
        // one that is left out is unused, which is another problem
        let mut sorted = order.clone();
        sorted.sort_unstable();
        if sorted != names {
            continue;
        }
        tried += 1;
        let with: Vec<String> =
            names.iter().zip(&order).map(|(input, ours)| format!("{input} = {ours}")).collect();
        let takes: String = names
            .iter()
            .map(|name| format!("  {name} : time in s from 0 s like 1 s \"{name}\"\n"))
            .collect();
        let blocks = format!(
            "uses\n  s = four with {}\ntakes\n{takes}works\n  x = s.t\ngives\n  x in s\n",
            with.join(", ")
        );
        let problems = found(&blocks);
        let own = order == names;
        assert_eq!(problems.is_empty(), own, "{blocks}\n{problems:?}");
        assert!(own || problems.iter().all(|it| it.name == Name::NotHanded), "{problems:?}");
    }
    assert_eq!(tried, 24);
}

#[test]
fn a_value_is_not_handed_to_a_second_input_that_has_its_own() {
    let takes = "takes\n  a : time in s from 0 s like 1 s \"a\"\n  b : time in s from 0 s like 1 s \"b\"\n  \
         c : time in s from 0 s like 1 s \"c\"\n  e : time in s from 0 s like 1 s \"e\"\nworks\n  x = s.t + b\ngives\n  x in s\n";
    let uses = |with: &str| format!("uses\n  s = four with {with}\n{takes}");
    differs(&uses("a, b = a, c, e"), &uses("a, b, c, e"), Name::NotHanded);
}

#[test]
fn a_diameter_goes_where_a_radius_is_needed_as_its_half() {
    for slip in ["d", "2 * d", "d / 4", "d / 2 / 2", "d * 4"] {
        let sheet = |radius: &str| {
            format!(
                "uses\n  s = rim with r = {radius}, n\n{TURNS}works\n  x = s.v\ngives\n  x in m/s\n"
            )
        };
        differs(&sheet(slip), &sheet("d / 2"), Name::WrongPowerOfRad);
        let sheet = |radius: &str| {
            format!("{TURNS}works\n  r : radius = {radius}\n  x = r * n\ngives\n  x in m/s\n")
        };
        differs(&sheet(slip), &sheet("d / 2"), Name::WrongPowerOfRad);
    }
    for slip in ["n * d * 2", "2 * n * d", "n * d"] {
        let sheet = |formula: &str| format!("{TURNS}works\n  x = {formula}\ngives\n  x in m/s\n");
        differs(&sheet(slip), &sheet("n * d / 2"), Name::WrongPowerOfRad);
    }
}

/// Of every kind every two units that are a power of ten apart, from a hundred on: the power beside the value, in each
/// of the ways in which it is written, is a conversion by hand. The value without it converts itself.
#[test]
fn a_power_of_ten_between_two_units_of_a_kind_is_a_conversion() {
    let mut tried = 0;
    for kind in KINDS
        .iter()
        .filter(|kind| !kind.point && !kind.dimension.is_none() && kind.name != "flywheel effect")
    {
        let read = |text: &&'static str| Some((*text, kind.read_unit(text).ok()?.factor.as_f64()));
        let units: Vec<(&str, f64)> = kind.units.iter().filter_map(read).collect();
        for (from, a) in &units {
            for (to, b) in &units {
                let ten = (a / b).log10();
                if (ten - ten.round()).abs() > 1e-9 || ten.round().abs() < 2.0 {
                    continue;
                }
                tried += 1;
                let ten = ten.round();
                let number = format!("1e{ten}");
                let sheet = |formula: &str| {
                    format!(
                        "takes\n  a : {} in {from} from 0 {from} like 5 {from} \"a\"\nworks\n  x : {} = {formula}\ngives\n  x in {to}\n",
                        kind.name, kind.name
                    )
                };
                let plain = match ten > 0.0 {
                    true => format!("a * {}", 10_f64.powf(ten)),
                    false => format!("a / {}", 10_f64.powf(-ten)),
                };
                for slip in [format!("{number} * a"), format!("a * {number}"), plain] {
                    differs(&sheet(&slip), &sheet("a"), Name::HiddenConversion);
                }
                // a number of which the sheet says why is meant
                let meant = sheet(&format!("meant {number} \"as measured\" * a"));
                assert!(found(&meant).is_empty(), "{meant}\n{:?}", found(&meant));
            }
        }
    }
    assert!(tried > 100, "{tried}");
}

#[test]
fn a_percentage_is_not_divided_by_a_hundred() {
    for kind in ["share", "efficiency"] {
        let sheet = |formula: &str| {
            format!(
                "takes\n  a : length in mm from 0 mm like 5 mm \"a\"\n  p : {kind} from 0 % to 100 % like 5 % \"p\"\n\
                 works\n  x = {formula}\ngives\n  x in mm\n"
            )
        };
        for (slip, meant) in [
            ("a * p / 100", "a * p"),
            ("p * 100 * a", "p * a"),
            ("a * (1 + p / 100)", "a * (1 + p)"),
            ("a / (p / 100 + 1)", "a / (p + 1)"),
        ] {
            differs(&sheet(slip), &sheet(meant), Name::PercentAsNumber);
        }
    }
    for (slip, meant) in [
        ("from 0 % like 5", "from 0 % like 5 %"),
        ("from 0 % to 50 like 5 %", "from 0 % to 50 % like 5 %"),
        ("from 0 to 50 % = 5", "from 0 to 50 % = 5 %"),
    ] {
        let sheet = |range: &str| {
            format!(
                "takes\n  a : length in mm from 0 mm like 5 mm \"a\"\n  p : ratio {range} \"p\"\nworks\n  x = a * p\ngives\n  x in mm\n"
            )
        };
        differs(&sheet(slip), &sheet(meant), Name::PercentAsNumber);
    }
}

/// Letters that a reader takes for one another; Unicode Technical Standard 39, confusables, from memory.
#[test]
fn names_that_look_alike_are_found() {
    for (one, other) in [
        ("φ", "ϕ"),
        ("θ", "ϑ"),
        ("ε", "ϵ"),
        ("ρ", "ϱ"),
        ("µ", "μ"),
        ("T_I", "T_1"),
        ("T_l", "T_1"),
        ("T_I", "T_l"),
        ("T_0", "T_O"),
        ("v", "ν"),
        ("x_11", "x_1l"),
    ] {
        let sheet = |one: &str, other: &str| {
            let take = |name: &str| format!("  {name} : length in mm from 0 mm like 5 mm \"a\"\n");
            format!(
                "takes\n{}{}works\n  y = {one} + {other}\ngives\n  y in mm\n",
                take(one),
                take(other)
            )
        };
        differs(&sheet(one, other), &sheet(one, "other"), Name::LooksAlike);
    }
    // a current and a length
    let sheet = "takes\n  I : current in A from 0 A like 5 A \"a\"\n  l : length in mm from 0 mm like 5 mm \"a\"\n\
                 works\n  y = I * l\ngives\n  y in A·m\n";
    assert!(found(sheet).is_empty(), "{:?}", found(sheet));
}

#[test]
fn a_parameter_that_hides_a_name_of_the_sheet_is_said() {
    for (slip, meant) in [
        ("f(a) = 2 * a\n  x = f(b) + a", "f(z) = 2 * z\n  x = f(b) + a"),
        (
            "y = integral of 2 * a for a from 0 mm to b\n  x = y / (a + b)",
            "y = integral of 2 * z for z from 0 mm to b\n  x = y / (a + b)",
        ),
    ] {
        let sheet = |works: &str| format!("{TWO}works\n  {works}\ngives\n  x in mm\n");
        differs(&sheet(slip), &sheet(meant), Name::DefinedTwice);
    }
}

/// Figures of handbooks by other powers of ten, π² and a flywheel effect in digits, π before an integral over a speed of
/// rotation, an integral from a bound to itself. The figures: 60/π = 19.0986; 2π² = 19.739; 8·(30/π)² = 729.5.
#[test]
fn figures_of_handbooks_are_found_in_their_other_forms() {
    let turns = "takes\n  n : speed of rotation in r/min above 0 r/min like 1450 r/min\n  \
        d : diameter in mm above 0 mm like 300 mm\n  J : inertia in kg·m² above 0 kg·m² like 0.5 kg·m²\n  \
        T : torque in N·m above 0 N·m like 4 N·m\n  GD2 : flywheel effect in kgf·m² above 0 kgf·m² like 2 kgf·m²\n";
    for (slips, meant, unit) in [
        (
            vec!["n * d / 19100", "0.0000524 * n * d", "n * d / 19.1", "n * d / 19100000"],
            "n * d / 2",
            "m/s",
        ),
        (
            vec![
                "19.74 * J * n^2", "19.739 * J * n^2", "9.87 * J * n^2", "4.93 * J * n^2",
                "39.48 * J * n^2",
            ],
            "J * n^2 / 2",
            "J",
        ),
        (
            vec!["GD2 * n^2 / 730", "GD2 * n^2 / 729.5", "GD2 * n^2 / 365", "GD2 * n^2 / 7160"],
            "1/2 * GD2 * n^2",
            "J",
        ),
        (
            vec![
                "1 / (2 * pi) * integral of J / T * w / n for w from 0 r/min to n",
                "6.28 * (integral of J / T * w / n for w from 0 r/min to n)",
            ],
            "integral of J / T * w / n for w from 0 r/min to n",
            "s",
        ),
    ] {
        let sheet = |formula: &str| {
            let all = "holds\n  d * n / 2 >= 0.001 m/s \"a\"\n  J / T * n >= 1e-9 s \"b\"\n  GD2 * n / T >= 1e-9 s \"c\"\n";
            format!("{turns}works\n  x = {formula}\n{all}gives\n  x in {unit}\n")
        };
        for slip in slips {
            differs(&sheet(slip), &sheet(meant), Name::HiddenConversion);
        }
    }
    let sheet = |from: &str| {
        format!(
            "{turns}works\n  x = integral of J / T * (n + w) / n for w from {from} to n\nholds\n  d * n / 2 >= 0.001 m/s \"a\"\n  GD2 * n / T >= 1e-9 s \"c\"\ngives\n  x in s\n"
        )
    };
    differs(&sheet("n"), &sheet("0 r/min"), Name::EmptyRange);
}

/// A result that leaves the sheet under the name of a value of a state is no value to begin a course with; a line of
/// works of that name is one.
#[test]
fn what_a_course_ends_with_begins_no_other_course() {
    let sheet = |works: &str, gives: &str| {
        format!(
            "uses\n  kept = course of shaft_motion from n = n_0\n    hold = phase-hold with t_until = t_1\n  \
             lost = course of shaft_motion from n = n_0\n    hold = phase-hold with t_until = t_1 + t_2\n\
             takes\n  n_0 : speed of rotation in r/min from 0 r/min to 3000 r/min like 1450 r/min \"n\"\n  \
             t_1 : time in s from 0 s like 1 s \"t\"\n  t_2 : time in s from 0 s like 2 s \"t\"\n\
             works\n  phi_all = kept.phi + lost.phi\n{works}gives\n  phi_all in r, kept.n in r/min as n_kept, lost.n in r/min as n_lost{gives}\n"
        )
    };
    for (value, unit) in [("n_hi", "r/min"), ("E_b", "J"), ("phi", "r"), ("t_m", "s")] {
        for course in ["kept", "lost"] {
            let meant = sheet("", &format!(", {course}.{value} in {unit} as {value}"));
            let problems = found(&meant);
            assert!(problems.is_empty(), "{meant}\n{problems:?}");
        }
    }
    let slip = sheet("  t_m = t_1 / 2\n", ", t_m in s");
    let problems = found(&slip);
    assert!(problems.iter().any(|it| it.name == Name::NotHanded), "{problems:?}");
}

/// Where a formula gives what no kind is measured in, the formula is wrong, not the limit beside it.
#[test]
fn a_wrong_formula_is_looked_for_in_its_own_line() {
    let takes = "takes\n  q : energy in J above 0 J like 400 J \"q\"\n  A : area in cm² above 0 cm² like 35 cm² \"A\"\n  \
                 n : speed of rotation in r/min from 0 r/min like 60 r/min \"n\"\n  t : time in s above 0 s like 1 s \"t\"\n";
    for (formula, limit, remedy) in [
        (
            "q * A",
            "60 J/cm²",
            "check the formula of `x` in line 10: no kind is measured in m⁴·kg·s⁻²",
        ),
        ("q * A", "60", "check the formula of `x` in line 10: no kind is measured in m⁴·kg·s⁻²"),
        (
            "n / t",
            "45 °",
            "check the formula of `x` in line 10; where it is right, write an angular acceleration, such as `45 rad/s²`",
        ),
    ] {
        let sheet = format!(
            "{takes}works\n  x = {formula}\nholds\n  x <= {limit} \"y\"\ngives\n  n in r/min\n"
        );
        let problems = found(&sheet);
        let problem = problems.iter().find(|it| it.name == Name::UnitMismatch).unwrap();
        assert_eq!(problem.remedy, remedy, "{sheet}");
        assert!(!problem.headline.contains("stiffness"), "{}", problem.headline);
        let said = standstill::diagnostic::render_long(problem);
        assert!(!said.contains("m⁴·kg·s⁻² in m⁴"), "{said}");
    }
}

/// Of every kind, what is to be typed for a table that is stepped up to its arguments, typed.
#[test]
fn what_a_stepped_table_lacks_can_be_typed() {
    let mut tried = 0;
    for kind in KINDS.iter().filter(|kind| !kind.point) {
        let unit = kind.units.first().copied().unwrap_or_default();
        let column = if unit.is_empty() { String::new() } else { format!(" in {unit}") };
        let sheet = |head: &str| {
            format!(
                "takes\n  a : {0}{column} above 0 {unit} like 3 {unit} \"a\"\nworks\n  \
                 table stu {head} : ratio, stepped up to\n    1 1\n    8 4\n  x = stu(a)\ngives\n  x\n",
                kind.name
            )
        };
        let problems = found(&sheet(&format!("(u : {}{column})", kind.name)));
        let Some(problem) = problems.iter().find(|it| it.name == Name::TableUnreadable) else {
            continue;
        };
        let head = problem.remedy.split('`').nth(1).unwrap().trim_end_matches(" : …");
        let problems = found(&sheet(head));
        assert!(problems.is_empty(), "{head} {problems:?}");
        tried += 1;
    }
    assert!(tried > 40, "{tried}");
}

/// An upper bound of zero is a range from zero the wrong way round, where nothing is below zero.
#[test]
fn nothing_weighs_less_than_nothing() {
    for (kind, unit) in [("inertia", "kg·m²"), ("mass", "kg"), ("diameter", "mm")] {
        let sheet = |range: &str| {
            format!(
                "takes\n  a : {kind} in {unit} {range} \"a\"\nworks\n  x = 2 * a\ngives\n  x in {unit}\n"
            )
        };
        for slip in [
            "= 0 {} to 0 {}", "from 0 {} to 0 {} like 0 {}", "to 0 {} like 0 {}",
            "below 0 {} like -1 {}",
        ] {
            let problems = found(&sheet(&slip.replace("{}", unit)));
            assert!(problems.iter().any(|it| it.name == Name::EmptyRange), "{slip}: {problems:?}");
        }
        let problems = found(&sheet(&format!("= 0 {unit} from 0 {unit} to 9 {unit}")));
        assert!(problems.is_empty(), "{problems:?}");
    }
}

/// Of a line that no window holds, what stands around the mark is shown, and the mark below it.
#[test]
fn a_long_line_is_shown_around_its_mark() {
    let long = vec!["a"; 3000].join(" - b + ");
    for formula in [format!("ab + {long}"), format!("{long} + ab")] {
        let problems = found(&format!("{TWO}works\n  x = {formula}\ngives\n  x in mm\n"));
        for problem in &problems {
            let said = standstill::diagnostic::render_long(problem);
            assert!(said.lines().all(|line| line.chars().count() < 450), "{said}");
            let marked = said.lines().zip(said.lines().skip(1)).any(|(text, marks)| {
                let column = marks.chars().position(|sign| sign == '^');
                column.is_some_and(|at| text.chars().nth(at).is_some_and(|it| it != ' '))
            });
            assert!(marked, "{said}");
        }
        assert!(!problems.is_empty());
    }
}

/// A function that is zero at a bound by its formula has its root there whatever the inputs are: a term is lost. One
/// that is zero there for some inputs is as good as any.
#[test]
fn a_root_is_no_bound_whatever_the_inputs_are() {
    for (slip, meant) in [
        (
            "u^2 * a for u from 0 mm to (b + 1 mm)",
            "u^2 * a - 7 mm * 6 mm * a for u from 0 mm to (b + 1 mm)",
        ),
        ("u * (u - a) for u from 0 mm to b", "u - a for u from 0 mm to b"),
        ("2 * u for u from -5 mm to 0 mm", "2 * u + a for u from -5 mm to 0 mm"),
        (
            "(u - b) / (a + b) for u from 0 mm to b",
            "(u - b) / (a + b) + u / b for u from 0 mm to b",
        ),
        ("sqrt(u * b) for u from 0 mm to b", "sqrt(u * b) - a for u from 0 mm to b"),
        ("sin(u / b * 1 rad) for u from 0 mm to b", "u - b / 2 for u from 0 mm to b"),
        ("u - 5 mm for u from 5 mm to (b + 6 mm)", "u - 5 mm for u from 1 mm to (b + 6 mm)"),
        (
            "u^2 - 2 mm * u for u from 2 mm to (b + 3 mm)",
            "u^2 - 2 mm * u for u from 1 mm to (b + 3 mm)",
        ),
        (
            "(u - 3 mm) * a + u * b - 0.3 cm * b for u from 3 mm to (b + 4 mm)",
            "(u - 3 mm) * a + u * b - 0.4 cm * b for u from 3 mm to (b + 4 mm)",
        ),
    ] {
        let sheet =
            |root: &str| format!("{TWO}works\n  x = root of {root}\ngives\n  x in mm, a in mm\n");
        let problems = found(&sheet(slip));
        assert!(problems.iter().any(|it| it.name == Name::NoRoot), "{slip}: {problems:?}");
        let problems = found(&sheet(meant));
        assert!(!problems.iter().any(|it| it.name == Name::NoRoot), "{meant}: {problems:?}");
    }
}

/// A value that is compared with itself or with a multiple of itself, alone, in a chain or beside another condition: one
/// of the two names is wrong.
#[test]
fn a_value_against_itself_is_found_in_every_condition() {
    let problems = |condition: &str, check: bool| {
        let text = match check {
            true => format!("{TWO}holds\n  {condition} \"c\"\ngives\n  a in mm, b in mm\n"),
            false => format!(
                "{TWO}works\n  x = when {condition} : a + b\n      otherwise : b\ngives\n  x in mm, a in mm\n"
            ),
        };
        found(&text)
    };
    for check in [true, false] {
        for slip in [
            "a <= 2 * a", "1.5 * a >= a", "a / 2 < a", "a * b <= 2 * a * b", "a / b < 2 * a / b",
            "a <= a <= b", "a <= b <= b", "a <= b and b <= b", "a < b or a < 2 * a",
            "2 * a > 3 * a",
        ] {
            let problems = problems(slip, check);
            let names = [Name::ChangesNothing, Name::DecidedCheck, Name::UnreachedCase];
            assert!(problems.iter().all(|it| names.contains(&it.name)), "{slip}: {problems:?}");
            assert_eq!(problems.len(), 1, "{slip}: {problems:?}");
        }
        for meant in ["a <= 2 * b", "2 * a <= 3 * b", "a <= b <= 9 mm", "a * b <= 2 * a * 7 mm"] {
            let problems = problems(meant, check);
            assert!(
                !problems.iter().any(|it| it.name == Name::ChangesNothing),
                "{meant}: {problems:?}"
            );
        }
    }
}

/// Two sums of two lengths from 1 mm to 9 mm, with every factor from 0 to 2: how far one lies above the other is
/// p·a + q·b, whose ends are those of its terms. What that decides is said once, as is a term that stands in both sums
/// and a side that is the other times a number; all else passes.
#[test]
fn what_is_left_of_both_sides_decides() {
    let takes = "takes\n  a : length in mm from 1 mm to 9 mm like 2 mm \"a\"\n  b : length in mm from 1 mm to 9 mm like 3 mm \"b\"\n";
    let term = |times: i32, name: &str| match times {
        0 => None,
        1 => Some(name.to_owned()),
        _ => Some(format!("{times} * {name}")),
    };
    let sum = |(p, q): (i32, i32)| {
        let terms: Vec<String> = [term(p, "a"), term(q, "b")].into_iter().flatten().collect();
        if terms.is_empty() { "0 mm".to_owned() } else { terms.join(" + ") }
    };
    let end = |times: i32, low: bool| if (times > 0) == low { times } else { 9 * times };
    let all: Vec<(i32, i32)> = (0..3).flat_map(|p| (0..3).map(move |q| (p, q))).collect();
    let names = [Name::DecidedCheck, Name::UnreachedCase, Name::ChangesNothing];
    for (one, other) in all.iter().flat_map(|one| all.iter().map(move |other| (*one, *other))) {
        if one == (0, 0) && other == (0, 0) {
            continue;
        }
        let (p, q) = (one.0 - other.0, one.1 - other.1);
        let [least, most] = [true, false].map(|low| end(p, low) + end(q, low));
        let decided = most <= 0 || least > 0;
        let in_both = one.0 == other.0 && one.0 > 0 || one.1 == other.1 && one.1 > 0;
        let alone = [one, other].iter().all(|it| it.0 == 0 || it.1 == 0);
        let by_a_number = one.0 * other.1 == one.1 * other.0 && one != (0, 0) && other != (0, 0);
        let told = decided || in_both && !alone || by_a_number;
        let condition = format!("{} <= {}", sum(one), sum(other));
        for sheet in [
            format!("{takes}holds\n  {condition} \"c\"\ngives\n  a in mm, b in mm\n"),
            format!(
                "{takes}works\n  x = when {condition} : a * b / (1 mm + b)\n      otherwise : b\ngives\n  x in mm, a in mm\n"
            ),
        ] {
            let problems = found(&sheet);
            let said = problems.iter().filter(|it| names.contains(&it.name)).count();
            assert_eq!(said, usize::from(told), "{condition}: {problems:?}");
        }
        // beside another condition what the ranges alone decide is an idiom, and what stands on both sides is none
        let sheet =
            format!("{takes}holds\n  {condition} and a * b <= 20 mm² \"c\"\ngives\n  a in mm\n");
        let shares = one.0 * other.0 + one.1 * other.1 > 0;
        let problems = found(&sheet);
        let said = problems.iter().any(|it| names.contains(&it.name));
        let never = least > 0;
        assert_eq!(said, told && (shares || never), "{condition}: {problems:?}");
    }
}

/// Through lines, along a series and within products, on values from 1 mm on.
#[test]
fn what_stands_on_both_sides_is_found_through_lines_and_along_series() {
    let takes = "takes\n  a : length in mm from 1 mm to 9 mm like 2 mm \"a\"\n  b : length in mm from 1 mm to 9 mm like 3 mm \"b\"\n  \
                 s_k : series of length in mm from 1 mm to 9 mm like 1 mm, 2 mm, 3 mm, at least 3 \"s\"\n";
    let sheet = |line: &str| {
        format!(
            "{takes}works\n  d = 2 * a\n  d_k = 2 * s_k\n  d_m = max(d_k)\n  x = {line}\ngives\n  x in mm, d in mm, b in mm as b_o, d_m in mm\n"
        )
    };
    for (slip, meant) in [
        ("when a > d : b otherwise : 2 * b", "when b > d : b otherwise : 2 * b"),
        ("when a * b < d * b : b otherwise : 2 * b", "when a * b < d * a : b otherwise : 2 * b"),
        (
            "when a / b < d / b + 1 : b otherwise : 2 * b",
            "when a / b < d / a + 1 : b otherwise : 2 * b",
        ),
        (
            "when a < b and a < d : b otherwise : 2 * b",
            "when a < b and b < d : b otherwise : 2 * b",
        ),
        ("when a^2 >= a * 0.5 mm : b otherwise : 2 * b", "when a^2 >= a * b : b otherwise : 2 * b"),
        ("max(a, d) + b", "max(b, d) + b"),
        ("min(2 * a, a) + b", "min(2 * a, b) + b"),
        ("mean(s_k where s_k < d_k)", "mean(s_k where s_k < d)"),
        ("mean(s_k where s_k < d_k and s_k > b)", "mean(s_k where s_k < d and s_k > b)"),
        ("mean(s_k where s_k <= s_k + b)", "mean(s_k where s_k <= a + b)"),
        ("max(min(s_k), max(s_k))", "max(min(s_k), b)"),
        ("min(mean(s_k), max(s_k))", "min(mean(s_k), b)"),
    ] {
        let names = [Name::UnreachedCase, Name::ChangesNothing];
        let said = |line: &str| {
            let problems = found(&sheet(line));
            assert!(problems.iter().all(|it| names.contains(&it.name)), "{line}: {problems:?}");
            problems.len()
        };
        assert_eq!((said(slip), said(meant)), (1, 0), "{slip}");
    }
}

/// An angle goes with a radius once; a second one is let go only where what turns is squared, as in m·r·ω².
#[test]
fn a_radius_takes_up_one_angle() {
    let takes = "takes\n  p : angle in rad from 0 rad to 9 rad like 1 rad \"p\"\n  q : angle in rad from 0 rad to 9 rad like 2 rad \"q\"\n  \
                 r : radius in mm above 0 mm to 900 mm like 200 mm \"r\"\n  d : diameter in mm above 0 mm to 900 mm like 300 mm \"d\"\n  \
                 n : speed of rotation in r/min above 0 r/min to 900 r/min like 60 r/min \"n\"\n  m : mass in kg above 0 kg to 9 kg like 2 kg \"m\"\n  \
                 t : time in s above 0 s to 9 s like 2 s \"t\"\n  a : acceleration in m/s² from 0 m/s² to 9 m/s² like 2 m/s² \"a\"\n  \
                 F : force in N from 0 N to 90 N like 2 N \"F\"\n";
    let told = |formula: &str, kind: &str, unit: &str| {
        ["", kind].map(|declared| {
            let declared = if declared.is_empty() { String::new() } else { format!(" : {declared}") };
            let problems = found(&format!(
                "{takes}works\n  x{declared} = {formula}\ngives\n  x in {unit}, p in rad as p_o, q in rad as q_o, r in mm as r_o, d in mm as d_o, \
                 n in r/min as n_o, m in kg as m_o, t in s as t_o, a in m/s² as a_o, F in N as F_o\n"
            ));
            let names: Vec<Name> = problems.iter().map(|it| it.name).collect();
            assert!(names.iter().all(|it| *it == Name::WrongPowerOfRad), "{formula}: {problems:?}");
            !names.is_empty()
        })
    };
    for (formula, kind, unit) in [
        ("p * q * r", "length", "mm"),
        ("p * q * d / 2", "length", "mm"),
        ("p^2 * r", "length", "mm"),
        ("m * r * p^2 / t^2", "force", "N"),
        ("p * q * r / t^2", "acceleration", "m/s²"),
        ("p * p * r + d / 2", "length", "mm"),
    ] {
        assert_eq!(told(formula, kind, unit), [true, true], "{formula}");
    }
    for (formula, kind, unit) in [
        ("(p + q) * r", "length", "mm"),
        ("p * r + d / 2", "length", "mm"),
        ("2 * pi * r", "length", "mm"),
        ("pi * r^2", "area", "m²"),
        ("m * r * n^2", "force", "N"),
        ("m * n * r * n", "force", "N"),
        ("m * d / 2 * n^2 + F", "force", "N"),
        ("F / (pi * r^2)", "pressure", "Pa"),
        ("F / (r * n^2)", "mass", "kg"),
        ("r * n^2 + a", "acceleration", "m/s²"),
        ("(r * n)^2 / r", "acceleration", "m/s²"),
    ] {
        assert_eq!(told(formula, kind, unit), [false, false], "{formula}");
    }
}

/// Two measured values are hardly ever equal; words of a choice, counts and a written number may be.
#[test]
fn a_check_that_two_measured_values_differ_is_told() {
    let counts = "takes\n  a : count like 1 \"a\"\n  b : count like 2 \"b\"\n";
    let sheet = |takes: &str, check: &str, unit: &str| {
        format!("{takes}holds\n  {check} \"c\"\ngives\n  a{unit} as a_o, b{unit} as b_o\n")
    };
    let in_mm = |check: &str| sheet(TWO, check, " in mm");
    differs(&in_mm("a <> b"), &in_mm("a >= 1.1 * b"), Name::DecidedCheck);
    differs(&in_mm("2 * a <> b"), &in_mm("a <> 3 mm"), Name::DecidedCheck);
    differs(&in_mm("a <> b"), &sheet(counts, "a <> b", ""), Name::DecidedCheck);
}

/// An input may not go beyond a table that it always goes into; where a case stands between, it may.
#[test]
fn a_range_wider_than_its_table_is_told() {
    let sheet = |range: &str, line: &str| {
        format!(
            "takes\n  v : speed in m/s {range} like 2 m/s \"v\"\nworks\n  table k (v : speed in m/s) : ratio, straight\n    0  1\n    1  2\n    3  5\n  \
             x = {line}\ngives\n  x, v in m/s as v_o\n"
        )
    };
    for (line, beyond) in
        [("k(v)", true), ("2 * k(v)", true), ("when v <= 3 m/s : k(v) otherwise : 5", false)]
    {
        for (range, wide) in [
            ("from 0 m/s to 4 m/s", true),
            ("from -1 m/s to 3 m/s", true),
            ("from 0 m/s to 3 m/s", false),
            ("from 0.5 m/s to 2.5 m/s", false),
            ("from 0 m/s to 0.004 km/s", true),
        ] {
            let problems = found(&sheet(range, line));
            let told = problems.iter().any(|it| it.name == Name::OutOfRange);
            assert_eq!(told, beyond && wide, "{line} {range}: {problems:?}");
            let others = problems.iter().filter(|it| it.name != Name::UnreachedCase).count();
            assert_eq!(others, usize::from(told), "{line} {range}: {problems:?}");
            let Some(problem) = problems.first().filter(|_| told) else { continue };
            // what is to be written, written
            let end = if range.starts_with("from -1") { "from 0 m/s" } else { "to 3 m/s" };
            assert!(problem.remedy.contains(&format!("`{end}`")), "{problem:?}");
        }
    }
}

/// What is to be written says what can be meant there, and can be written as it stands.
#[test]
fn remedies_name_what_fits() {
    let takes = "takes\n  T_br : torque in N·m from 1 N·m to 9 N·m like 2 N·m \"T\"\n  t_b : time in s from 0 s to 9 s like 2 s \"t\"\n  \
                 s : length in m from 0 m to 9 m like 1 m \"s\"\n";
    let gives = "gives\n  x in s, T_br in N·m as T_o, t_b in s as t_o, s in m as s_o\n";
    let remedy =
        |blocks: &str| found(blocks).first().map_or_else(String::new, |it| it.remedy.clone());
    let works = |line: &str| format!("{takes}works\n  {line}\n{gives}");
    for (blocks, wanted) in [
        (works("x = t_b + t_br"), vec!["`T_br`", "`t_b`"]),
        (works("y = 2 * s\n  x = t_b + y"), vec!["check the formula of `y` in line 9"]),
        (works("f(u : length) = 2 * u\n  x = f(t_b)"), vec!["`f(x) = formula`"]),
        (
            format!("{takes}works\n  x = 2 * t_b\ngives\n  x in s rounded up to 0.1 s as y\n"),
            vec!["`rounded up to 5 mm` stands behind"],
        ),
        (
            "takes\n  y : length in m = 4 s \"y\"\ngives\n  y in m\n".to_owned(),
            vec!["a length is given in m"],
        ),
        (
            "takes\n  y : length in m like 4 s \"y\"\ngives\n  y in m\n".to_owned(),
            vec!["a length is given in m"],
        ),
    ] {
        let said = remedy(&blocks);
        assert!(wanted.iter().all(|it| said.contains(it)), "{blocks}\n{said}");
        assert!(!said.ends_with("given in mm"), "{said}");
    }
}
