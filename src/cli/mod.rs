//! Arguments, commands, exit status.

mod arguments;
mod check;
mod choices;
mod compare;
mod designs;
mod emit;
mod exit;
mod find;
mod fold;
mod guidance;
mod loads;
mod map;
mod plot;
mod report;
mod robot_arguments;
mod robots;
mod stroke;
mod terminal;
mod tolerance;

use std::process::ExitCode;

use clap::error::ErrorKind;
use clap::{CommandFactory as _, Parser as _};

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
            let printed = error.print().is_ok();
            if error.kind() == ErrorKind::InvalidSubcommand {
                terminal::complain(&commands());
            }
            if printed && wrong { Exit::Wrong.into() } else { Exit::Done.into() }
        }
    }
}

/// What there is, after a command that there is not.
fn commands() -> String {
    let program = Arguments::command();
    let shown = program.get_subcommands().filter(|command| !command.is_hide_set());
    let names: Vec<&str> = shown.map(clap::Command::get_name).collect();
    format!("Commands: {}\n", names.join(", "))
}

fn execute(command: &Command) -> Exit {
    match command {
        Command::Check(arguments) => check::run(arguments),
        Command::Stroke(arguments) => stroke::run(arguments),
        Command::Emit(arguments) => emit::run(arguments),
        Command::Map(arguments) => map::run(arguments),
        Command::Tolerance(arguments) => tolerance::run(arguments),
        Command::Loads(arguments) => loads::run(arguments),
        Command::Report(arguments) => report::run(arguments),
        Command::Find(arguments) => find::run(arguments),
        Command::Fold(arguments) => fold::run(arguments),
        Command::Compare(arguments) => compare::run(arguments),
        Command::Guidance(command) => guidance::run(command),
    }
}
