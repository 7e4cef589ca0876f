//! Angles brought between −π/4 and π/4, however large, without losing digits.

use super::Exact;

/// 2/π after the point, 345 digits. Source: mpmath 1.3.0, `nstr(2/pi, 345)` at 400 digits.
const TWO_OVER_PI: &[u8] = b"636619772367581343075535053490057448137838582961825794990669376235587190536906140360455211065012343824291370907031832147571647384458314611511869642926799356916959867749636310292310985587701230754869571584869590646773449560966894516047329520456890799022863761847560347610695824481957643747751376342114892399785773600994689390957838443593292387132";

/// Limbs of nine digits: one before the point of which two digits are used, twelve after it.
const LIMBS: usize = 13;
const BASE: u64 = 1_000_000_000;

/// An angle as a whole number of quarter turns and what remains, from −π/4 to π/4.
///
/// The product of the 28 digits with a window of 2/π is kept to 108 places (M. H. Payne, R. N. Hanek,
/// "Radian reduction for trigonometric functions", 1983, in decimal). The slack of the angle is not
/// looked at; that of the remainder is its own rounding.
pub(super) fn reduced(angle: &Exact) -> (usize, Exact) {
    let window = window(angle.exponent());
    let mut product = [0_u64; LIMBS];
    let mut digits = angle.digits().unsigned_abs();
    // least limb first
    for shift in 0..4 {
        let digit = u64::try_from(digits % u128::from(BASE)).unwrap_or(0);
        digits /= u128::from(BASE);
        let mut carry = 0_u64;
        for (to, from) in product.iter_mut().skip(shift).zip(window) {
            let sum = *to + digit * from + carry;
            *to = sum % BASE;
            carry = sum / BASE;
        }
    }
    let whole = product.last().copied().unwrap_or(0);
    let mut quarter = usize::try_from(whole % 4).unwrap_or(0);
    let fraction = product.get_mut(..LIMBS - 1).unwrap_or_default();
    let mut sign = angle.digits().signum();
    if fraction.last().is_some_and(|limb| *limb >= BASE / 2) {
        let mut carry = 1;
        for limb in fraction.iter_mut() {
            let complement = BASE - 1 - *limb + carry;
            *limb = complement % BASE;
            carry = complement / BASE;
        }
        quarter += 1;
        sign = -sign;
    }
    if angle.digits() < 0 {
        quarter = (4 - quarter % 4) % 4;
    }
    let turn = leading(fraction, sign);
    let half_pi = Exact::settle(15_707_963_267_948_966_192_313_216_916_397_514_421, -37, 0.5);
    (quarter % 4, turn.times(&half_pi).unwrap_or(Exact::ZERO))
}

/// 10^exponent · 2/π modulo 10^9, least limb first.
fn window(exponent: i32) -> [u64; LIMBS] {
    let mut limbs = [0_u64; LIMBS];
    for (at, limb) in limbs.iter_mut().rev().enumerate() {
        for place in 0..9 {
            // place of the digit after the point after the shift
            let behind = i32::try_from(at * 9 + place).unwrap_or(0) - 9 + exponent;
            let digit = usize::try_from(behind)
                .ok()
                .and_then(|behind| TWO_OVER_PI.get(behind))
                .map_or(0, |digit| u64::from(digit - b'0'));
            *limb = *limb * 10 + digit;
        }
    }
    limbs
}

/// The first 36 digits and more of a fraction.
fn leading(fraction: &[u64], sign: i128) -> Exact {
    let mut number = 0_i128;
    let mut exponent = 0;
    for limb in fraction.iter().rev() {
        if number >= 10_i128.pow(28) {
            break;
        }
        number = number * i128::from(BASE) + i128::from(*limb);
        exponent -= 9;
    }
    Exact::settle(number * sign, exponent, if number == 0 { 0.0 } else { 1.0 })
}
