//! The `unloop` program.

use std::process::ExitCode;

fn main() -> ExitCode {
    unloop::cli::run()
}
