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
            "p = root of x^2 - a * b for x from 0 s to a + b\n  q = root of y^2 - a * b for y from 0 s to a + b",
            "p",
            "q",
            "q = root of y^2 - a * c for y from 0 s to a + c",
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
            "r = (root of x * e - a * b for x from 0 s to a + b) + c",
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
        "torque in N·m like 2 N·m", "force in N like 2 N", "angle in ° like 2 °",
        "temperature in °C like 2 °C",
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
        // neither inside a function, whose values the caller says
        let sheet = format!(
            "{takes}works\n  f(a, b, c) = {formula}\n  x = f(a - c, b - c, c - 9 N·m)\n  y = a + b + c\ngives\n  x in N·m, y in N·m, phi in °\n"
        );
        let beside = [Name::DefinedTwice, Name::UnusedDefinition];
        let decided = |it: &&Diagnostic| !beside.contains(&it.name);
        let problems = found(&sheet);
        let constant = formula.starts_with("max(1.2");
        assert!(constant || problems.iter().find(decided).is_none(), "{formula}: {problems:?}");
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
            "u^2 * a for u from 0 mm to b + 1 mm",
            "u^2 * a - 7 mm * 6 mm * a for u from 0 mm to b + 1 mm",
        ),
        ("u * (u - a) for u from 0 mm to b", "u - a for u from 0 mm to b"),
        ("2 * u for u from -5 mm to 0 mm", "2 * u + a for u from -5 mm to 0 mm"),
        (
            "(u - b) / (a + b) for u from 0 mm to b",
            "(u - b) / (a + b) + u / b for u from 0 mm to b",
        ),
        ("sqrt(u * b) for u from 0 mm to b", "sqrt(u * b) - a for u from 0 mm to b"),
        ("sin(u / b * 1 rad) for u from 0 mm to b", "u - b / 2 for u from 0 mm to b"),
    ] {
        let sheet =
            |root: &str| format!("{TWO}works\n  x = root of {root}\ngives\n  x in mm, a in mm\n");
        let problems = found(&sheet(slip));
        assert!(problems.iter().any(|it| it.name == Name::NoRoot), "{slip}: {problems:?}");
        let problems = found(&sheet(meant));
        assert!(!problems.iter().any(|it| it.name == Name::NoRoot), "{meant}: {problems:?}");
    }
}
