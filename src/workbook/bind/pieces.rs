//! Words of things of which a machine has several, each with its value.

use super::words::words;

/// Of which there may be several, each with its value; common practice, no source.
pub(super) const PIECES: &[&str] = &[
    "piece", "brake", "motor", "roller", "roll", "pad", "wheel", "axis", "drive", "unit", "side",
    "rope", "drum", "caliper", "spring", "disc", "channel", "stück", "bremse", "motor", "rolle",
    "rad", "seite", "seil", "belag", "spindle", "chopper", "resistor",
];

pub(super) const SEVERAL: &str =
    "make sure that the value is that of as many as the sheet asks for, and take those words out";

/// Whether words say of what stands below them that it is of one of several, or of several: `Per roller, 4 rollers`.
pub(super) fn is_of_several(text: &str) -> bool {
    let said = words(text);
    let one = |pair: &[String]| {
        matches!(pair, [per, piece] if matches!(per.as_str(), "per" | "each" | "je" | "pro")
            && PIECES.contains(&piece.as_str()))
    };
    said.windows(2).any(one)
}
