//! A figure that a case credits to a reference script stands in that script's stored output.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use standstill::calculation::Expectation;

use super::case_files;

/// Figures with fewer digits are inputs, rounded results, or worked in the head.
const DIGITS: usize = 9;

/// A case writes a figure in its own unit, the script in SI or as its name says: they may differ by a prefix or
/// a percentage.
const PREFIXES: [i32; 7] = [-6, -3, -2, 0, 2, 3, 6];

#[test]
fn every_figure_credited_to_a_script_stands_in_its_output() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/reference");
    let mut outputs: BTreeMap<String, Vec<f64>> = BTreeMap::new();
    let (mut troubles, mut looked_at) = (Vec::new(), 0);
    for file in case_files() {
        for case in &file.cases {
            let mut known: Vec<f64> = Vec::new();
            for part in case.source.split("tests/reference/").skip(1) {
                let Some((script, _)) = part.split_once(".py") else { continue };
                known.extend(
                    outputs
                        .entry(script.to_owned())
                        .or_insert_with(|| output_text(&folder, script))
                        .iter(),
                );
            }
            if !case.source.contains("tests/reference/") {
                continue;
            }
            for (expectation, _) in &case.expectations {
                let Expectation::Gives { name, value, .. } = expectation else { continue };
                for part in value.split([',', ';']) {
                    let digits = part.trim().split(' ').next().unwrap_or_default();
                    let mantissa = digits.split(['e', 'E']).next().unwrap_or_default();
                    let count = mantissa.chars().filter(char::is_ascii_digit).collect::<String>();
                    if count.trim_matches('0').len() < DIGITS {
                        continue;
                    }
                    looked_at += 1;
                    let written: f64 = digits.parse().unwrap();
                    let found = PREFIXES.iter().any(|ten| {
                        let scaled = written * 10_f64.powi(*ten);
                        known.iter().any(|known| (scaled - known).abs() <= 1e-9 * known.abs())
                    });
                    if !found {
                        troubles.push(format!("{}: {}: {name} = {value}", file.sheet, case.title));
                    }
                }
            }
        }
    }
    assert!(troubles.is_empty(), "{}", troubles.join("\n"));
    assert!(looked_at > 250, "only {looked_at} figures were looked at");
}

/// The last number of each line that a script has printed.
fn output_text(folder: &Path, script: &str) -> Vec<f64> {
    let text = fs::read_to_string(folder.join(format!("{script}.csv")))
        .unwrap_or_else(|_| panic!("{script}.csv is not there"));
    text.lines()
        .filter(|line| !line.starts_with('#'))
        .filter_map(|line| line.rsplit(',').next()?.trim().parse().ok())
        .collect()
}
