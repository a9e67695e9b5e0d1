//! Arguments, commands, exit status.

use std::process::ExitCode;

/// Runs the program with the arguments of this process.
#[must_use]
pub fn run() -> ExitCode {
    ExitCode::SUCCESS
}
