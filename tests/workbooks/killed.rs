//! A run that is killed at any moment leaves the old workbook or the new one, never a part of either.

use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::Duration;

#[test]
fn two_hundred_kills_leave_the_old_workbook_or_the_new_one() {
    let folder = tempfile::tempdir().unwrap();
    let book = folder.path().join("block.xlsx");
    let old =
        fs::read(Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/workbooks/asked/block.xlsx"))
            .unwrap();
    let fill = || {
        let mut command = Command::new(env!("CARGO_BIN_EXE_standstill"));
        command.arg("fill").arg("block.xlsx").current_dir(folder.path());
        command.stdout(Stdio::null()).stderr(Stdio::null());
        command
    };
    fs::write(&book, &old).unwrap();
    let started = std::time::Instant::now();
    assert!(fill().status().unwrap().success());
    let whole_run = started.elapsed();
    let new = fs::read(&book).unwrap();
    assert_ne!(old, new);
    let (mut olds, mut news) = (0_u32, 0_u32);
    // the moments are spread over a span that follows how fast the machine is just now
    let mut span = whole_run * 5 / 4;
    for kill in 0..200_u32 {
        fs::write(&book, &old).unwrap();
        let mut child = fill().spawn().unwrap();
        // 67 and 200 have no common divisor: every two-hundredth part of the span comes once
        std::thread::sleep(span * (kill * 67 % 200) / 200);
        let _ = child.kill();
        let _ = child.wait();
        let found = fs::read(&book).unwrap();
        assert!(
            found == old || found == new,
            "after kill {kill} the workbook is neither the old nor the new one"
        );
        if found == old {
            olds += 1
        } else {
            news += 1
        }
        if kill % 10 == 9 && news * 4 < kill {
            span = span * 3 / 2;
        } else if kill % 10 == 9 && olds * 4 < kill {
            span = span * 2 / 3;
        }
    }
    assert!(olds > 10 && news > 10, "{olds} old, {news} new: the kills did not fall on both sides");
    // what a killed run leaves beside the workbook does not stand in the way of the next
    fs::write(&book, &old).unwrap();
    std::thread::sleep(Duration::from_millis(10));
    assert!(fill().status().unwrap().success());
    assert_eq!(fs::read(&book).unwrap(), new);
}
