//! The `unloop` program: see [`unloop::cli`].

use std::process::ExitCode;

fn main() -> ExitCode {
    unloop::cli::run()
}
