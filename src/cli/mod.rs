//! Arguments, commands, exit status.

mod arguments;
mod check;
mod designs;
mod emit;
mod exit;
mod loads;
mod not_built;
mod plot;
mod report;
mod stroke;
mod terminal;
mod tolerance;

use std::process::ExitCode;

use clap::Parser as _;

use arguments::{Arguments, Command};
use exit::Exit;

/// Runs the program with the arguments of this process.
#[must_use]
pub fn run() -> ExitCode {
    match Arguments::try_parse() {
        Ok(arguments) => execute(&arguments.command).into(),
        Err(error) => {
            // Help and version go to standard output and are an answer; the rest is a wrong call.
            let wrong = error.use_stderr();
            if error.print().is_err() || !wrong { Exit::Done.into() } else { Exit::Wrong.into() }
        }
    }
}

fn execute(command: &Command) -> Exit {
    match command {
        Command::Check(arguments) => check::run(arguments),
        Command::Stroke(arguments) => stroke::run(arguments),
        Command::Emit(arguments) => emit::run(arguments),
        Command::Tolerance(arguments) => tolerance::run(arguments),
        Command::Loads(arguments) => loads::run(arguments),
        Command::Report(arguments) => report::run(arguments),
        Command::Find(_) => not_built::say("find"),
        Command::Fold(_) => not_built::say("fold"),
        Command::Compare(_) => not_built::say("compare"),
    }
}
