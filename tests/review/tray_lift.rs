//! The second example machine: a hanging load behind a gate that stays locked.

use std::fs;
use std::path::Path;
use std::process::Command;

#[test]
fn the_review_of_the_tray_lift_is_kept_as_it_is_calculated() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let output = Command::new(env!("CARGO_BIN_EXE_standstill"))
        .args(["review", "examples/tray-lift-review.md", "--to", "md", "--check"])
        .current_dir(root)
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
    let kept = fs::read_to_string(root.join("examples/tray-lift-review.review.md")).unwrap();
    // by hand: 65 kg · 9.80665 m/s² · 40 mm / 10; (20 ms + 1.05 · 0.26 s · 1450/1500) / 0.98 is 289.7 ms, next 10 ms;
    // the reach through a slot of 10 mm by ISO 13857, table 4 (published copy)
    let kept = super::unlinked(&kept);
    for line in [
        "| T\\_load | -2.549729 N·m |",
        "| delay to be set (SS1-t) | **290 ms** |",
        "| distance of the gate, locked | **80 mm** needed, 250 mm there |",
    ] {
        assert!(kept.contains(line), "{line}");
    }
}
