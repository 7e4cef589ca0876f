//! Courses are flat when compiled: a course of whatever phases calculates step by step what the same used sheets do when
//! every value of the state is handed on by hand; and one that is cut in two, its end a phase of its own, comes to the same.
//!
//! The phases are invented; what is expected follows from the words of the language alone.

use proptest::prelude::*;
use standstill::calculation::{Inputs, Results};
use standstill::program::Program;

use super::groups::program;

const STATE: &str = "group moving\ntitle \"how it moves\"\ntakes\n  n : speed of rotation in r/min\n  \
    phi : angle in r = 0 r\n  t : time in s = 0 s\n";

/// Phases with what each takes besides the state: one value of them is called as a line of the course may be.
const PHASES: [(&str, &str, &str); 3] = [
    (
        "going-on",
        "d : time in s from 0 s like 0.1 s",
        "next n = n\n  next phi = phi + n * d\n  next t = t + d",
    ),
    (
        "slower",
        "k : ratio from 0 to 1 like 0.5",
        "next n = k * n\n  next t = t + 1 s\n  next phi = phi + (n + k * n) / 2 * 1 s",
    ),
    (
        "kept",
        "d : time in s from 0 s like 0.1 s",
        "next n = n\n  next phi = phi\n  next t = when n > 0 r/min : t + d\n      otherwise : t",
    ),
];

const ASKED: &str = "takes\n  n_0 : speed of rotation in r/min from 0 r/min like 1450 r/min\n  \
    d_0 : time in s from 0 s like 0.3 s\n  k_0 : ratio from 0 to 1 like 0.7\n";

fn head(name: &str) -> String {
    format!("sheet {name}\ntitle \"t\"\nsource \"s\"\n")
}

fn phase((name, take, works): &(&str, &str, &str)) -> String {
    format!("{}takes\n  state moving\n  {take}\nworks\n  {works}\n", head(name))
}

/// What a line of a course hands to its phase besides the state.
fn handed(at: usize, factor: u8) -> String {
    match PHASES[at].0 {
        "slower" => "k = k_0".to_owned(),
        _ => format!("d = {} * d_0", factor + 1),
    }
}

fn course(lines: &[(usize, u8)], from: &str) -> String {
    let lines = lines.iter().enumerate();
    let lines = lines.map(|(line, (at, factor))| {
        format!("\n    p{line} = {} with {}", PHASES[*at].0, handed(*at, *factor))
    });
    format!("c = course of moving{from}{}", lines.collect::<String>())
}

/// The same, every value of the state handed on by hand.
fn by_hand(lines: &[(usize, u8)]) -> String {
    let mut text = String::new();
    for (line, (at, factor)) in lines.iter().enumerate() {
        let state = match line.checked_sub(1) {
            None => "n = n_0".to_owned(),
            Some(last) => {
                format!("n = c{last}.next_n, phi = c{last}.next_phi, t = c{last}.next_t")
            }
        };
        let (phase, handed) = (PHASES[*at].0, handed(*at, *factor));
        text += &format!("\n  c{line} = {phase} with {state}, {handed}");
    }
    text
}

fn gives(end: &str, next: &str) -> String {
    format!(
        "gives\n  {end}.{next}n in r/min as n_1, {end}.{next}phi in r as phi_1, {end}.{next}t in s as t_1\n"
    )
}

fn made(uses: &str, gives: &str, more: &[(&str, &str)]) -> std::sync::Arc<Program> {
    let phases = PHASES.map(|it| (format!("{}.sheet", it.0), phase(&it)));
    let phases = phases.iter().map(|(name, text)| (name.as_str(), text.as_str()));
    let files: Vec<(&str, &str)> =
        phases.chain([("moving.group", STATE)]).chain(more.iter().copied()).collect();
    program(&files, &format!("{}uses\n  {uses}\n{ASKED}{gives}", head("asked")))
}

fn values(program: &std::sync::Arc<Program>) -> Vec<String> {
    let mut inputs = Inputs::new(program);
    inputs.fill_with_examples();
    let results = Results::compute(program, &inputs).unwrap();
    program.outputs.iter().map(|output| results.to_text(output)).collect()
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(40) })]

    #[test]
    fn a_course_is_its_used_sheets_by_hand(lines in prop::collection::vec((0..3_usize, 1..9_u8), 1..7)) {
        let course = made(&course(&lines, " from n = n_0"), &gives("c", ""), &[]);
        let last = format!("c{}", lines.len() - 1);
        let plain = made(&by_hand(&lines), &gives(&last, "next_"), &[]);
        prop_assert_eq!(&course.steps, &plain.steps);
        prop_assert_eq!(&course.guards.len(), &plain.guards.len());
        prop_assert_eq!(values(&course), values(&plain));
    }

    #[test]
    fn a_course_that_is_cut_in_two_comes_to_the_same(
        first in prop::collection::vec((0..3_usize, 1..9_u8), 1..4),
        second in prop::collection::vec((0..3_usize, 1..9_u8), 1..4),
    ) {
        let all: Vec<(usize, u8)> = first.iter().chain(&second).copied().collect();
        let whole = made(&course(&all, " from n = n_0"), &gives("c", ""), &[]);
        let rest = format!(
            "{}uses\n  {}\ntakes\n  state moving\n  d_0 : time in s from 0 s like 1 s\n  k_0 : ratio from 0 to 1 like 1\nworks\n  next moving = c\n  k_1 = k_0 + d_0 / (1 s)\ngives\n  k_1\n",
            head("rest"),
            course(&second, ""),
        );
        let cut = format!("{}\n    rest = rest with d_0, k_0", course(&first, " from n = n_0"));
        let cut = made(&cut, &gives("c", ""), &[("rest.sheet", &rest)]);
        prop_assert_eq!(values(&whole), values(&cut));
        // and where it was cut stands what the line above leaves
        let at = format!("c.p{}", first.len() - 1);
        let inside = made(&course(&all, " from n = n_0"), &gives(&at, ""), &[]);
        let alone = made(&course(&first, " from n = n_0"), &gives("c", ""), &[]);
        prop_assert_eq!(values(&inside), values(&alone));
    }
}

/// The example of a stop in twenty lines comes to what the library's own sheet of that stop comes to, for the same
/// axis: that one is held against a simulation in time.
#[test]
fn twenty_lines_are_the_stop_that_the_library_knows() {
    let text = include_str!("../../examples/hanging-load.sheet");
    let lines = text.lines().filter(|line| !line.trim().is_empty() && !line.starts_with('#'));
    assert!(lines.count() <= 20);
    let given = [
        ("J", "0.02 kg·m²"),
        ("n_0", "1200 r/min"),
        ("T_0", "0.4 N·m"),
        ("T_load", "-6 N·m"),
        ("T_b", "14 N·m"),
        ("t_b", "70 ms"),
        ("t_b_build", "30 ms"),
        ("t_resp", "25 ms"),
        ("t_ramp", "0.5 s"),
        ("tol_ramp", "4 %"),
        ("tol_delay", "3 %"),
        ("t_delay", "600 ms"),
    ];
    let found = |program: &std::sync::Arc<Program>| {
        let mut inputs = Inputs::new(program);
        for (name, value) in given {
            inputs.write(name, value).unwrap();
        }
        inputs.fill_with_examples();
        let results = Results::compute(program, &inputs).unwrap();
        ["t_works", "t_fails", "t_lost", "phi_works", "phi_fails", "phi_lost"]
            .map(|name| results.exact(name).unwrap().to_f64())
    };
    let twenty = found(&program(&[], text));
    let library = standstill::library::sheet("ss1-brake").unwrap();
    assert_eq!(twenty, found(&program(&[], &library.text)));
}

/// Parts that are handed the same values ask the same question once.
#[test]
fn a_check_of_two_parts_with_the_same_values_is_asked_once() {
    let part = format!(
        "{}takes\n  d : time in s from 0 s like 0.1 s\nworks\n  t = 2 * d\nholds\n  d <= 1 s \"short\" else \"less\"\ngives\n  t in s\n",
        head("part")
    );
    let whole = |second: &str| {
        let text = format!(
            "{}uses\n  a = part with d = d_0\n  b = part with d = {second}\n{ASKED}gives\n  a.t in s as t_a, b.t in s as t_b, n_0 in r/min, k_0\n",
            head("asked")
        );
        let program = program(&[("part.sheet", &part)], &text);
        program.checks.iter().filter(|check| check.text == "short").count()
    };
    assert_eq!((whole("d_0"), whole("d_0 + 1 s")), (1, 2));
}
