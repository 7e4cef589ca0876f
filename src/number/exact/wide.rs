//! Products of two 128-bit numbers, kept whole.

/// A 256-bit number: high and low half.
pub(super) type Wide = (u128, u128);

const HALF: u128 = (1 << 64) - 1;

/// The whole product.
pub(super) fn multiply(a: u128, b: u128) -> Wide {
    let (a1, a0) = (a >> 64, a & HALF);
    let (b1, b0) = (b >> 64, b & HALF);
    let low = a0 * b0;
    let middle = a1 * b0 + (low >> 64);
    let other = a0 * b1 + (middle & HALF);
    (a1 * b1 + (middle >> 64) + (other >> 64), (other << 64) | (low & HALF))
}

/// Quotient and remainder of a division by a 64-bit number above zero.
pub(super) fn divide(wide: Wide, by: u64) -> (Wide, u64) {
    let by = u128::from(by.max(1));
    let mut rest = 0_u128;
    let mut part = |limb: u128| {
        let here = (rest << 64) | limb;
        rest = here % by;
        here / by
    };
    let [a, b, c, d] =
        [part(wide.0 >> 64), part(wide.0 & HALF), part(wide.1 >> 64), part(wide.1 & HALF)];
    (((a << 64) | b, (c << 64) | d), u64::try_from(rest).unwrap_or(0))
}

/// The number shifted right by 1 to 127 bits, rounded to nearest; what does not fit is cut off.
pub(super) fn shift_right(wide: Wide, bits: u32) -> u128 {
    let kept = (wide.0 << (128 - bits)) | (wide.1 >> bits);
    kept + ((wide.1 >> (bits - 1)) & 1)
}

#[cfg(test)]
mod tests {
    use super::*;

    // worked by hand: (2^128 − 1)² = 2^256 − 2^129 + 1
    #[test]
    fn the_largest_product_is_whole() {
        assert_eq!(multiply(u128::MAX, u128::MAX), (u128::MAX - 1, 1));
    }

    // worked by hand: 10^38 · 10^38 / 10^19 / 10^19 = 10^38
    #[test]
    fn dividing_undoes_multiplying() {
        let ten = 10_u64.pow(19);
        let (once, rest) = divide(multiply(10_u128.pow(38), 10_u128.pow(38)), ten);
        assert_eq!((rest, divide(once, ten)), (0, ((0, 10_u128.pow(38)), 0)));
    }
}
