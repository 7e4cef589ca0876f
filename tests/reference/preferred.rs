//! Preferred numbers against the library eseries (IEC 60063) and against the rule of ISO 3.

use standstill::number::series;
use standstill::program::Preferred;

const IEC: [Preferred; 6] =
    [Preferred::E3, Preferred::E6, Preferred::E12, Preferred::E24, Preferred::E48, Preferred::E96];
const ISO: [(Preferred, i32); 4] =
    [(Preferred::R5, 5), (Preferred::R10, 10), (Preferred::R20, 20), (Preferred::R40, 40)];

#[test]
fn the_e_series_are_those_of_another_program() {
    let lines: Vec<_> = include_str!("eseries.csv").lines().skip(1).collect();
    assert_eq!(lines.len(), IEC.len());
    for (line, which) in lines.iter().zip(IEC) {
        let (name, numbers) = line.split_once(' ').unwrap();
        let numbers: Vec<u16> = numbers.split(' ').map(|number| number.parse().unwrap()).collect();
        assert_eq!(series(which).name, name);
        assert_eq!(series(which).hundredths, numbers);
    }
}

// ISO 3, from memory: a preferred number is 10^(i/n) rounded, and lies within −1.01 % to +1.26 % of it, to half a unit of the last digit
#[test]
fn the_r_series_are_rounded_powers_of_ten() {
    for (which, count) in ISO {
        let decade = series(which).hundredths;
        assert_eq!(decade.len() as i32, count);
        for (at, number) in decade.iter().enumerate() {
            let power = 100.0 * 10_f64.powf(at as f64 / f64::from(count));
            let off = f64::from(*number) / power - 1.0;
            assert!((-0.01015..=0.01265).contains(&off), "{which:?} {number}: {off}");
        }
    }
}

// ISO 3, from memory: each series is every second (or fourth, eighth) number of R40
#[test]
fn the_coarser_r_series_are_taken_from_the_finest() {
    let finest = series(Preferred::R40).hundredths;
    for (which, count) in ISO {
        let expected: Vec<_> = finest.iter().step_by(40 / count as usize).copied().collect();
        assert_eq!(series(which).hundredths, expected);
    }
}
