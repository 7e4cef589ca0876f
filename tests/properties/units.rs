//! Laws of unit notation, of the rule of the radian, and of numbers as written.

use proptest::prelude::*;
use standstill::unit::{
    Dimension, KINDS, Literal, Unit, UnitReason, catalogue, fits, kind, name_of, nearest_kinds,
    parse_number, parse_unit, settle, split_quantity, usual_unit,
};

fn symbol() -> impl Strategy<Value = String> {
    let prefix = prop::sample::select(vec!["", "k", "m", "M", "µ", "c", "da", "u"]);
    (
        prop::sample::select(catalogue().iter().collect::<Vec<_>>()),
        prefix,
        any::<prop::sample::Index>(),
    )
        .prop_map(|(entry, prefix, which)| {
            let mut spellings = vec![entry.symbol];
            spellings.extend(entry.spellings);
            let symbol = which.get(&spellings);
            if entry.prefixes { format!("{prefix}{symbol}") } else { (*symbol).to_owned() }
        })
}

fn product() -> impl Strategy<Value = String> {
    let power = prop::sample::select(vec!["", "", "", "²", "^3", "⁻¹", "^-2", "^(2)"]);
    let raised = (symbol(), power).prop_map(|(symbol, power)| {
        if symbol.contains('/') { format!("({symbol}){power}") } else { format!("{symbol}{power}") }
    });
    let sign = prop::sample::select(vec!["·", "*", "⋅", "×"]);
    prop::collection::vec((sign, raised), 1..4).prop_map(|parts| {
        let mut text = String::new();
        for (at, (sign, part)) in parts.iter().enumerate() {
            if at > 0 {
                text.push_str(sign);
            }
            text.push_str(part);
        }
        text
    })
}

fn notation() -> impl Strategy<Value = String> {
    let bottom = prop::option::of((product(), prop::sample::select(vec!["", "²", "^-1"])));
    (product(), bottom, any::<bool>()).prop_map(|(above, below, one)| match below {
        Some((below, power)) => {
            let above = if one { "1".to_owned() } else { above };
            format!("{above}/({below}){power}")
        }
        None => above,
    })
}

fn dimension() -> impl Strategy<Value = Dimension> {
    let some = prop::sample::select(KINDS.iter().map(|kind| kind.dimension).collect::<Vec<_>>());
    let rad = (-3_i32..=3).prop_map(|power| Dimension::ANGLE.power(power, 1).unwrap());
    (some, rad).prop_map(|(dimension, rad)| dimension.times(rad))
}

proptest! {
    #[test]
    fn a_unit_printed_reads_as_the_same_unit(text in notation()) {
        match parse_unit(&text) {
            Ok(unit) => {
                let again = parse_unit(&unit.symbol);
                let same = match &again {
                    Ok(again) => *again == unit,
                    // Btu³/(mile/h)²: 38 digits on the way, more or fewer by the order of the parts
                    Err(problem) => problem.reason == UnitReason::TooManyDigits,
                };
                prop_assert!(same, "{} {:?} {:?}", text, unit, again);
            }
            // what is made of known symbols is refused for these reasons alone
            Err(problem) => {
                let pound = problem.headline().contains("its pound");
                let reason = problem.reason;
                prop_assert!(
                    pound || matches!(reason, UnitReason::TemperaturePoint | UnitReason::TooManyDigits),
                    "{} {}", text, problem
                );
            }
        }
    }

    #[test]
    fn a_problem_lies_between_characters_and_its_remedies_read(text in "[a-zA-Zµ°²³⁻¹·*/()^ 0-9-]{0,14}") {
        for kind in [None, kind("torque"), kind("ratio"), kind("speed of rotation")] {
            let result = match kind {
                None => parse_unit(&text),
                Some(kind) => kind.read_unit(&text),
            };
            if let Err(problem) = result {
                prop_assert!(text.get(problem.span.clone()).is_some(), "{} {:?}", text, problem);
                prop_assert!(!problem.headline().is_empty());
                prop_assert!(problem.nearest.len() <= 3);
                for near in &problem.nearest {
                    let readable = parse_unit(near).is_ok() || kind.is_some_and(|it| it.read_unit(near).is_ok());
                    prop_assert!(readable, "{} is offered for {}", near, text);
                }
            }
        }
    }

    #[test]
    fn no_text_makes_a_reader_panic(text in any::<String>(), twice in "\\PC{0,60}") {
        for text in [text.as_str(), twice.as_str()] {
            let _ = parse_unit(text);
            for kind in KINDS.iter().step_by(9) {
                let _ = kind.read_unit(text);
            }
            let _ = nearest_kinds(text);
            let _ = parse_number(text);
            if let Err(problem) = split_quantity(text) {
                prop_assert!(text.get(problem.span.clone()).is_some(), "{:?} {:?}", text, problem);
            }
        }
    }

    #[test]
    fn a_declared_kind_gives_its_own_dimension_or_refuses(text in notation()) {
        for kind in KINDS {
            if let Ok(unit) = kind.read_unit(&text) {
                prop_assert_eq!(unit.dimension, kind.dimension);
                prop_assert_eq!(unit.point, kind.point);
                match kind.read_unit(&unit.symbol) {
                    Ok(again) => prop_assert_eq!(again, unit, "{} {}", kind.name, text),
                    Err(problem) => prop_assert_eq!(problem.reason, UnitReason::TooManyDigits, "{}", text),
                }
            }
        }
    }

    #[test]
    fn fitting_is_mutual_and_settling_is_final(a in dimension(), b in dimension()) {
        prop_assert!(fits(a, a));
        prop_assert_eq!(fits(a, b), fits(b, a));
        prop_assert!(fits(a, settle(a)));
        prop_assert_eq!(settle(settle(a)), settle(a));
        if fits(a, b) {
            prop_assert_eq!(a.without_angle(), b.without_angle());
        }
    }

    #[test]
    fn every_dimension_has_a_name_and_a_unit(dimension in dimension()) {
        prop_assert!(name_of(dimension).starts_with('a'));
        let unit = usual_unit(dimension, false);
        prop_assert_eq!(unit.dimension, dimension);
        // the coherent unit of a dimension that no kind has reads back too
        prop_assert!(unit.symbol.is_empty() || parse_unit(&unit.symbol).is_ok(), "{}", unit.symbol);
    }

    #[test]
    fn a_number_split_off_is_the_number_written(digits in 0_u64..1_000_000_000_000, ten in -300_i32..290, negative: bool) {
        let sign = if negative { "-" } else { "" };
        let text = format!("{sign}{digits}e{ten} kg·m²");
        let (found, power, unit) = split_quantity(&text).unwrap();
        prop_assert_eq!(unit, "kg·m²");
        let literal = Literal::new(found, power, parse_unit(unit).unwrap());
        // the standard library reads decimals correctly rounded
        prop_assert_eq!(literal.si_f64(), format!("{sign}{digits}e{ten}").parse::<f64>().unwrap());
    }

    #[test]
    fn a_float_taken_as_digits_is_the_same_float(x in any::<f64>()) {
        match Literal::from_f64(x, Unit::one()) {
            Some(literal) => prop_assert_eq!(literal.si_f64(), x),
            None => prop_assert!(!x.is_finite()),
        }
    }

    // to and from: two roundings each way
    #[test]
    fn a_number_comes_back_from_coherent_si(x in -1e9_f64..1e9, which in any::<prop::sample::Index>()) {
        let units: Vec<(&str, &str)> =
            KINDS.iter().flat_map(|kind| kind.units.iter().map(|unit| (kind.name, *unit))).collect();
        let (name, text) = which.get(&units);
        let unit = kind(name).unwrap().read_unit(text).unwrap();
        let literal = Literal::from_f64(x, unit.clone()).unwrap();
        let back = unit.from_si(literal.si_f64());
        let zero: f64 = unit.zero.to_string().parse().unwrap();
        prop_assert!((back - x).abs() <= 4.0 * f64::EPSILON * (x.abs() + zero), "{} {} {}", text, x, back);
    }
}
