//! What a person may type into a field, with the binary's answer: `typed.txt`, to which browser.mjs holds the page.

use standstill::diagnostic::{Name, Place};
use standstill::number::InputValue;
use standstill::{Inputs, Sheet};

const SHEET: &str = "sheet typed
title \"Typed\"
source \"invented\"
takes
  n : speed of rotation in r/min like 1450 r/min
  T : torque in N·m like 7 N·m
  J : inertia in kg·m² like 2 kg·m²
  m : mass in kg like 9 kg
  t : time in ms like 350 ms
  a : temperature in °C like 20 °C
  p : ratio in % like 95 %
  k : count like 3
  U : voltage in V like 24 V
  h : series of time in ms like 312 ms, 318 ms
  q : series of ratio like 2, 3
  r : series of ratio in % like 50 %, 60 %
works
  all = n * T * t + n * T * sum(h) * k * p * sum(q) * sum(r)
  b = all * m / (1 kg) * J / (1 kg·m²)
  c = a
  d = U
gives
  b in J
  c in °C
  d in V
";

/// Numbers as they are typed; those that begin with a digit also with signs.
const NUMBERS: &[&str] = &[
    "1450", "1450.5", "1.450", "12.125", "100.000", "1,450", "0.350", "0,350", "0,5", "045",
    "0045.5", "00", "0", "007", ".5", "5.", "1 450", "1 450.5", "1 450,5", "1.450,5", "1,450.5",
    "1,234.5", "1'450", "1’450.5", "1.450.000", "1,234,567", "1.450.00", "1,2,3", "1e3", "1E+03",
    "1,45E+03", "1.450e3", "1.5e-3", "2.5e−2", "1e", "3/4", "1/3", "9/8", "7/0", "1 1/2", "1.5/2",
    "1/31.5", "1/0.0333", "1.4/4", "1/4 · 1.4", "22/0.7", "½", "1½", "12 ¾", "230/400", "7.5/9",
    "15/16", "1/100", ".5/.75", "1450-1500", "1450 – 1500", "1450..1500", "1450…1500",
    "28.11.2026", "2026-11-28", "28/11/2026", "12:30", "750,9,5", "78,4", "12,50", "100,000",
    "1\u{a0}450", "1\u{202f}450", "1.2345678901234567890123456789",
    "0.10000000000000000000000000000000000", "1.4.5", "1_000", "0x1f", "1234567", "0.321", "1..5",
    "5,", "5-", "1`450", "5:1", "1:4", "5:10", "0,35 bis 0,40", "24,17 –", "24,17 1/s",
    "24.17 1/s", "1 450,5 1/min",
];

/// What does not begin with a number.
const OTHERS: &[&str] = &[
    "", " ", "fast", "-", ".", "e3", "--7", "½", "NaN", "inf", "=5", "~5", "<5", "∞", "+-3",
    // dashes as the minus, as the sign between two ends, and as the unit of nothing
    "–7", "—7", "‑7", "–7,5", "‑1.450", "2.5e–3", "5−6", "5‑6", "0.9 –", "0.9 -", "0.9 −", "0.9 --",
    "0.9  – ", "–0.9 –", "0,9 –", "5 –6", "– 7", "–",
];

/// Units as they are typed, right and wrong, for each input.
const UNITS: &[(&str, &[&str])] = &[
    (
        "n",
        &[
            "r/min", "rpm", "RPM", "Rpm", "1/min", "min⁻¹", "min-1", "U/min", "rad/s", "r/s",
            "rps", "Hz", "m/s", "rmp", "upm", "r/min.", "rpm.", "r.p.m.", "1/min..",
        ],
    ),
    (
        "T",
        &[
            "N·m", "Nm", "N m", "N*m", "N.m", "NM", "mN·m", "mNm", "kNm", "lbf·ft", "lbf ft",
            "lb·ft", "J", "kg", "MNM", "nm", "N.m.", "Nm.",
        ],
    ),
    (
        "J",
        &[
            "kg·m²", "kgm2", "kgm²", "kg m2", "kg*m^2", "kg.m²", "kg m^2", "kg·cm²", "kgcm2",
            "N·m", "kg", "kg·m².", "N·m·s²", "kp·m·s²", "kN·m·s²", "N·mm·s²", "Nms2", "m·N·s²",
        ],
    ),
    ("m", &["kg", "KG", "Kg", "kgs", "g", "t", "lb", "lbs", "LBS", "N", "m"]),
    (
        "t",
        &[
            "ms", "msec", "s", "sec", "SEC", "min", "mins", "h", "hrs", "Ms", "m", "m in", "S",
            "ms.", "sec.", "min .", "h.",
        ],
    ),
    ("a", &["°C", "deg C", "celsius", "K", "°F", "C", "%"]),
    ("p", &["%", "pct", "percent", "per cent", "%%", "kg", "‰", "ppm", "–", "-", "−", "‰ –"]),
    ("k", &["–", "-"]),
    (
        "U",
        &[
            "V", "V DC", "VDC", "V dc", "Vdc", "V AC", "VAC", "V ac", "V d.c.", "V a.c.", "V-DC",
            "V⎓", "V ~", "kV DC", "mV DC", "V DD", "DC", "V DC AC", "A DC", "V DC.",
        ],
    ),
];

/// Series: values without their unit, with what parts them.
const SERIES: &[&str] = &[
    "312, 318", "312; 318", "312,318", "78,4, 78,3", "78,4; 78,3", "78.4,78.3", "312, , 318",
    "312, 318,", ", 312", ";", "312;;318", "1.450, 2.310", "1.450, 2.31", "1,2,3", "1, 2, 3",
    "045, 3", "1e3, 2", "5", "3/4, 1", "0,5", "0.5,0.25", "312,  318", "1 450, 2", "1.450,5, 3",
    "12.5,3", "12,3.5", "", "312 318 305", "312,318,305", "400,400,400", "12.5 13.5", "6 1/2",
    "312 318, 305", "1'450 2'310", "-3 -4", "6, 0, 4.5 s, 0", "6 s, 0, 4.5", "6 s, 0, 4.5 ms",
];

/// A field with its unit beside it, as one types it at the terminal: a unit belongs to digits alone.
fn typed(series: bool, field: &str, unit: &str) -> String {
    let digits = |it: char| {
        it.is_ascii_digit() || it.is_whitespace() || "eE+−-‑–—.…/:,'’`¼½¾⅛⅜⅝⅞".contains(it)
    };
    // a dash behind a blank says that there is no unit
    let says_none = |text: &str| {
        let number = text.trim().trim_end_matches(|it| "−-‑–—".contains(it));
        number.len() < text.trim().len() && number.ends_with(char::is_whitespace)
    };
    let one = |text: &str| match !unit.is_empty()
        && !text.trim().is_empty()
        && !says_none(text)
        && text.chars().all(digits)
    {
        true => format!("{} {unit}", text.trim()),
        false => text.trim().to_owned(),
    };
    if !series {
        return one(field);
    }
    // where one value has a unit of its own, that of the field is not given to the others
    let all = |parts: &[String]| {
        let bare = |it: &String| !says_none(it) && it.chars().all(digits);
        let filled = || parts.iter().filter(|it| !it.trim().is_empty());
        let mixed = filled().any(bare) && !filled().all(bare);
        parts
            .iter()
            .map(|part| if mixed { part.trim().to_owned() } else { one(part) })
            .collect::<Vec<_>>()
    };
    if field.contains(';') {
        return all(&field.split(';').map(str::to_owned).collect::<Vec<_>>()).join("; ");
    }
    // a comma between two digits belongs to a number, but where both numbers have a point
    let signs: Vec<char> = field.chars().collect();
    let part = |it: &&char| it.is_ascii_digit() || **it == '.';
    let mut parts = vec![String::new()];
    for (at, sign) in signs.iter().enumerate() {
        let before: String = signs[..at].iter().rev().take_while(part).collect();
        let after: String = signs[at + 1..].iter().take_while(part).collect();
        let digit = |it: &String| it.starts_with(|it: char| it.is_ascii_digit());
        let within =
            digit(&before) && digit(&after) && !(before.contains('.') && after.contains('.'));
        match *sign == ',' && !within {
            true => parts.push(String::new()),
            false => parts.last_mut().unwrap().push(*sign),
        }
    }
    all(&parts).join(", ")
}

/// What the binary makes of it: `= values` in coherent SI, the remedy, or `unit` where the unit is the matter.
fn answer(inputs: &Inputs, name: &str, text: &str) -> String {
    let mut inputs = inputs.clone();
    let place = Place::Argument { text: String::new() };
    if let Err(problem) = inputs.write_typed(name, text, place) {
        let number =
            [Name::UnreadableQuantity, Name::MissingInput, Name::NotWhole].contains(&problem.name);
        return if number { problem.remedy } else { "unit".to_owned() };
    }
    if let Some(problem) = inputs.problems().into_iter().find(|it| it.name == Name::NotWhole) {
        return problem.remedy;
    }
    let input = inputs.program().inputs.iter().find(|it| it.name == name).unwrap();
    let values = match inputs.value(input).unwrap() {
        InputValue::One(value) => vec![value.si_f64()],
        InputValue::Many(values) => values.iter().map(standstill::unit::Literal::si_f64).collect(),
        InputValue::Word(_) => panic!("no input here is a word"),
    };
    format!("= {}", values.iter().map(f64::to_string).collect::<Vec<_>>().join(" "))
}

/// Whatever the menu beside a field shows can be typed behind the number, and so can what a remedy names for a unit that is none:
/// of every input of every sheet.
#[test]
fn every_unit_that_is_offered_reads() {
    let mut tried = 0;
    for entry in standstill::library::SHEETS {
        let sheet = Sheet::library(entry.name).unwrap();
        let inputs = sheet.inputs();
        for input in &inputs.program().inputs {
            let Some(kind) = input.kind else { continue };
            let place = || Place::Argument { text: String::new() };
            let reads = |text: &str| inputs.clone().write_typed(&input.name, text, place());
            let none = kind.bare.then_some("–");
            for unit in kind.units.iter().copied().chain([input.unit.symbol.as_str()]).chain(none) {
                tried += 1;
                let text = format!("2 {unit}");
                assert_eq!(reads(text.trim()), Ok(()), "{}.{}", entry.name, input.name);
            }
            let remedy = reads("2 zz").unwrap_err().remedy;
            let named = remedy.split_once("given in ").map_or("", |(_, units)| units);
            for unit in named.split(", ").filter(|it| !it.is_empty()) {
                assert_eq!(
                    reads(&format!("2 {unit}")),
                    Ok(()),
                    "{}.{}: {remedy}",
                    entry.name,
                    input.name
                );
            }
        }
    }
    assert!(tried > 3000, "{tried}");
}

#[test]
fn the_corpus_of_typed_texts_has_the_answers_of_the_binary() {
    let sheet = Sheet::parse("typed.sheet", SHEET).unwrap();
    let mut inputs = sheet.inputs();
    inputs.fill_with_examples();
    let mut lines = Vec::new();
    let mut put = |name: &str, unit: &str, field: &str| {
        let typed = typed(matches!(name, "h" | "q" | "r"), field, unit);
        // a tolerance is taken by the binary alone
        if typed.contains('±') || typed.contains("+-") {
            return;
        }
        let found = answer(&inputs, name, &typed);
        // what is to be typed reads, or is told that its unit is wrong as well
        let written = found
            .strip_prefix("write ")
            .filter(|it| it.starts_with('`') && !it.contains("behind it its unit"));
        // of a series each value is told in its turn
        let one = !matches!(name, "h" | "q" | "r");
        for quoted in
            written.filter(|_| one).into_iter().flat_map(|it| it.split('`').skip(1).step_by(2))
        {
            let again = answer(&inputs, name, quoted);
            let whole = name == "k" && again == "write a whole number";
            assert!(again.starts_with("= ") || whole, "{typed}: {found}: {quoted}: {again}");
        }
        lines.push(format!("{name}\t{unit}\t{field}\t{typed}\t{found}"));
    };
    for (name, unit) in [("n", "r/min"), ("t", "s"), ("p", "%"), ("p", ""), ("k", "")] {
        for number in NUMBERS {
            for sign in ["", "-", "−", "+"] {
                put(name, unit, &format!("{sign}{number}"));
            }
            if name == "n" {
                put(name, unit, &format!("{number} r/min"));
                put(name, unit, &format!(" {number}"));
            }
        }
        OTHERS.iter().for_each(|other| put(name, unit, other));
    }
    for (name, units) in UNITS {
        for unit in *units {
            for field in [format!("2.5 {unit}"), format!("40{unit}"), format!("1.450 {unit}")] {
                put(name, if *name == "k" { "" } else { units[0] }, &field);
            }
        }
    }
    for series in SERIES {
        put("h", "ms", series);
        put("q", "", series);
        put("r", "%", series);
    }
    let made = format!("{SHEET}\n# corpus\n{}\n", lines.join("\n"));
    let kept = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/review/typed.txt");
    if std::env::var_os("UPDATE_TYPED").is_some() {
        std::fs::write(kept, &made).unwrap();
    }
    let there = std::fs::read_to_string(kept).unwrap().replace("\r\n", "\n");
    let other = made.lines().zip(there.lines()).find(|(made, there)| made != there);
    assert_eq!(other, None, "UPDATE_TYPED=1 writes {kept}");
    assert_eq!(made.len(), there.len());
}
