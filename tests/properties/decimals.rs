//! Laws of exact decimals.

use proptest::prelude::*;
use rust_decimal::Decimal;
use standstill::diagnostic::Name;
use standstill::number::Exact;
use standstill::program::{Direction, Ratio};

/// Any decimal of up to 28 digits, from 1e-150 to 1e150, of either sign.
fn any_decimal() -> impl Strategy<Value = Exact> {
    (1_i128..10_i128.pow(28), 0_u32..28, -150_i32..120, any::<bool>()).prop_map(
        |(digits, cut, ten, negative)| {
            let digits = (digits / 10_i128.pow(cut)).max(1) * if negative { -1 } else { 1 };
            Exact::from_decimal(Decimal::from_i128_with_scale(digits, 0), ten).unwrap()
        },
    )
}

/// A decimal of few digits, as a person writes it.
fn written() -> impl Strategy<Value = Exact> {
    (-99_999_i64..100_000, 0_u32..6)
        .prop_map(|(digits, places)| Exact::from_decimal(Decimal::new(digits, places), 0).unwrap())
}

proptest! {
    #[test]
    fn sums_and_products_do_not_care_for_order(a in any_decimal(), b in any_decimal()) {
        prop_assert_eq!(a.plus(&b), b.plus(&a));
        prop_assert_eq!(a.times(&b), b.times(&a));
    }

    #[test]
    fn what_is_divided_and_multiplied_again_is_the_same(a in any_decimal(), b in any_decimal()) {
        if let Ok(quotient) = a.over(&b) {
            let again = quotient.times(&b).unwrap();
            prop_assert!(again.stands_to(&a).is_eq());
            // a quotient and a product: one unit of the last of 28 digits at most each, magnified tenfold
            prop_assert!(again.relative_error_bound() <= 2e-27);
        }
    }

    #[test]
    fn nothing_becomes_zero_unseen(a in any_decimal(), b in any_decimal()) {
        for outcome in [a.times(&b), a.over(&b)] {
            match outcome {
                Ok(value) => prop_assert!(value.mantissa() != Decimal::ZERO),
                Err(trouble) => prop_assert_eq!(trouble.name, Name::TooLarge),
            }
        }
        let sum = a.plus(&b).unwrap();
        prop_assert!(sum.mantissa() != Decimal::ZERO || a.negated() == b);
    }

    #[test]
    fn written_decimals_stay_exact(a in written(), b in written(), c in written()) {
        // at most 5 + 5 digits and 5 + 5 places: all fit in 28 digits
        let left = a.plus(&b).unwrap().times(&c).unwrap();
        let right = a.times(&c).unwrap().plus(&b.times(&c).unwrap()).unwrap();
        prop_assert!(left.is_exact() && right.is_exact());
        prop_assert_eq!(left, right);
        prop_assert_eq!(a.plus(&b).unwrap().minus(&b).unwrap(), a);
    }

    #[test]
    fn an_f64_comes_back(x in proptest::num::f64::NORMAL) {
        if let Ok(exact) = Exact::from_f64(x) {
            prop_assert_eq!(exact.to_f64().to_bits(), x.to_bits());
        } else {
            prop_assert!(!(1e-200..1e201).contains(&x.abs()));
        }
    }

    #[test]
    fn powers_and_roots_undo_each_other(a in any_decimal(), degree in 2_i32..7) {
        let size = a.absolute();
        let root = size.power(Ratio { numerator: 1, denominator: degree }).unwrap();
        let again = root.power(Ratio { numerator: degree, denominator: 1 }).unwrap();
        prop_assert!(again.stands_to(&size).is_eq());
    }

    #[test]
    fn an_exact_root_is_found_exactly(digits in 1_i64..10_000, ten in -20_i32..20, degree in 2_i32..7) {
        let a = Exact::from_decimal(Decimal::from(digits), ten).unwrap();
        let power = a.power(Ratio { numerator: degree, denominator: 1 }).unwrap();
        prop_assert!(power.is_exact());
        prop_assert_eq!(power.power(Ratio { numerator: 1, denominator: degree }).unwrap(), a);
    }

    #[test]
    fn logarithm_undoes_exponential(digits in -400_000_000_i64..400_000_000) {
        let x = Exact::from_decimal(Decimal::new(digits, 6), 0).unwrap();
        let again = x.exponential().unwrap().logarithm().unwrap();
        prop_assert!(again.stands_to(&x).is_eq(), "{x:?} {again:?}");
    }

    #[test]
    fn squares_of_sine_and_cosine_make_one(a in any_decimal()) {
        let square = |x: Exact| x.times(&x).unwrap();
        // sines of tiny angles square below 1e-200
        prop_assume!(a.to_f64().abs() > 1e-90);
        let sum = square(a.sine().unwrap()).plus(&square(a.cosine().unwrap())).unwrap();
        prop_assert!(sum.stands_to(&Exact::whole(1)).is_eq(), "{a:?}: {sum:?}");
        prop_assert!(sum.relative_error_bound() < 1e-26);
    }

    #[test]
    fn shown_digits_lie_on_the_side_asked_for(a in any_decimal(), digits in 1_u32..28) {
        let shown = |direction| {
            let text = a.to_decimal_string(digits, direction);
            let (number, ten) = text.split_once('e').unwrap_or((&text, "0"));
            let places = number.split_once('.').map_or(0, |(_, after)| after.len() as i32);
            let whole: i128 = number.replace('.', "").parse().unwrap();
            let zeros = whole.to_string().trim_end_matches('0').len();
            let cut = whole.to_string().len() - zeros;
            let whole = whole / 10_i128.pow(cut as u32);
            let ten = ten.parse::<i32>().unwrap() - places + cut as i32;
            Exact::from_decimal(Decimal::from_i128_with_scale(whole, 0), ten).unwrap()
        };
        let (down, near, up) =
            (shown(Direction::Down), shown(Direction::Nearest), shown(Direction::Up));
        prop_assert!(down.stands_to(&a).is_le() && up.stands_to(&a).is_ge());
        prop_assert!(near == down || near == up);
        // one unit of the last digit shown
        prop_assert!(up.minus(&down).unwrap().to_f64() <= 1.0001 * 10_f64.powi(a.ten() + 1 - digits as i32));
    }
}

// worked by hand
#[test]
fn the_ends_of_the_range_are_faults() {
    let tiny = Exact::from_decimal(Decimal::ONE, -150).unwrap();
    assert_eq!(tiny.times(&tiny).unwrap_err().name, Name::TooLarge);
    assert_eq!(Exact::whole(1).over(&tiny).unwrap().over(&tiny).unwrap_err().name, Name::TooLarge);
    // what is gone is zero, with the bound of what was left out
    for power in [-460, -1000, -1_000_000] {
        let gone = Exact::whole(power).exponential().unwrap();
        assert!(gone.is_like_zero() && gone.error_bound() > 1e-200 && gone.error_bound() < 2e-199);
        assert_eq!(Exact::whole(1).over(&gone).unwrap_err().name, Name::DividedByZero);
        assert_eq!(Exact::whole(7).plus(&gone).unwrap().to_f64(), 7.0);
    }
    assert!(Exact::whole(-455).exponential().unwrap().to_f64() > 2e-198);
    assert_eq!(Exact::whole(1000).exponential().unwrap_err().name, Name::TooLarge);
    assert_eq!(Exact::from_f64(f64::NAN).unwrap_err().name, Name::TooLarge);
}

// worked by hand
#[test]
fn a_function_is_not_asked_outside_its_range() {
    let outside = [
        Exact::whole(-2).square_root(),
        Exact::ZERO.logarithm(),
        Exact::whole(2).arc_sine(),
        Exact::from_f64(-1.0001).unwrap().arc_cosine(),
        Exact::whole(-1).raised(&Exact::from_f64(0.5).unwrap()),
    ];
    for outcome in outside {
        assert_eq!(outcome.unwrap_err().name, Name::OutsideFunction);
    }
    let trouble = Exact::whole(-2).square_root().unwrap_err();
    assert_eq!(
        trouble.words,
        "the square root of -2 is asked for, which needs a value zero or above"
    );
    let cube = Ratio { numerator: 1, denominator: 3 };
    assert_eq!(Exact::whole(-27).power(cube), Ok(Exact::whole(-3)));
}

// 1 − (1/3 · 3) is within its slack of zero, and so is its square root
#[test]
fn what_cancels_says_that_nothing_is_certain() {
    let one = Exact::whole(1);
    let again = one.over(&Exact::whole(3)).unwrap().times(&Exact::whole(3)).unwrap();
    let rest = one.minus(&again).unwrap();
    assert!(rest.is_like_zero());
    assert!(rest.square_root().unwrap().is_like_zero());
    assert_eq!(one.over(&rest).unwrap_err().name, Name::DividedByZero);
    assert_eq!(rest.to_string(), "0");
}

// 12345/7·7 − 12345 is zero but for its slack, wherever the point stands: e^0 = cos 0 = 1, sin 0 = atan 0 = 0
#[test]
fn functions_of_what_cancels_are_those_of_zero() {
    let large = Exact::whole(12_345);
    let again = large.over(&Exact::whole(7)).unwrap().times(&Exact::whole(7)).unwrap();
    let zero = again.minus(&large).unwrap();
    assert!(!zero.is_exact() && zero.is_like_zero());
    let one = Exact::whole(1);
    for value in [zero.exponential(), zero.cosine()] {
        let value = value.unwrap();
        assert!(value.stands_to(&one).is_eq() && value.relative_error_bound() < 1e-22, "{value:?}");
    }
    for value in [zero.sine(), zero.arc_tangent(), zero.tangent(), zero.arc_sine()] {
        let value = value.unwrap();
        assert!(value.is_like_zero() && value.error_bound() < 1e-22, "{value:?}");
    }
}

proptest! {
    /// An exact value is rounded by all its digits, however near a tie it lies; against whole numbers.
    #[test]
    fn a_value_beside_a_tie_is_not_taken_for_the_tie(
        whole in 0_i128..99_999,
        beside in prop_oneof![Just(-1_i128), Just(0), Just(1)],
        far in 3_u32..22,
        negative in any::<bool>(),
    ) {
        // (whole + 1/2) · 10^22 ± 10^(22 − far), to as many digits as the whole number has
        let unit = 10_i128.pow(22);
        let digits = whole * unit + unit / 2 + beside * 10_i128.pow(22 - far);
        let up = digits - whole * unit >= unit / 2;
        let sign = if negative { -1 } else { 1 };
        let value = Exact::from_decimal(Decimal::from_i128_with_scale(sign * digits, 22), 0).unwrap();
        let expected = sign * (whole + i128::from(up));
        prop_assert!(value.is_exact());
        let significant = u32::try_from(whole.max(1).to_string().len()).unwrap();
        if whole > 0 && (whole + 1).to_string().len() == whole.to_string().len() {
            let found = value.to_decimal_string(significant, Direction::Nearest);
            prop_assert_eq!(found, expected.to_string());
        }
    }
}

/// The same through a sheet: 7.375 and 1000.125 less 10^-e, rounded to a quarter and to a hundredth (by hand).
#[test]
fn a_step_rounds_by_all_digits() {
    let sheet = "sheet r\ntitle \"r\"\nsource \"by hand\"\ntakes\n  a : ratio = 1\n  b : ratio = 0\nworks\n  k = a + b rounded to 0.25\n  h = a + b rounded to 0.01\ngives\n  k, h\n";
    let sheet = standstill::Sheet::parse("r.sheet", sheet).unwrap();
    for places in [3, 12, 15, 16, 17, 18, 20, 22, 23] {
        for (below, k, h) in [("7.375", "7.25", "7.37"), ("1000.125", "1000", "1000.12")] {
            let tie: Decimal = below.parse().unwrap();
            let value = tie - Decimal::new(1, places);
            let mut inputs = sheet.inputs();
            inputs.write("a", &value.to_string()).unwrap();
            let results = sheet.run(&inputs).unwrap();
            let read = |name: &str| results.exact(name).unwrap().to_string();
            assert_eq!((read("k"), read("h")), (k.to_owned(), h.to_owned()), "{value}");
            inputs.write("a", below).unwrap();
            let results = sheet.run(&inputs).unwrap();
            assert!(results.exact("k").unwrap().to_f64() > value.try_into().unwrap(), "{below}");
        }
    }
}
