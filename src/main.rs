//! The terminal program; it hands over at once.

use std::process::ExitCode;

fn main() -> ExitCode {
    standstill::command::main()
}
