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
mod interrupt;
mod loads;
mod map;
mod output;
mod plot;
mod report;
mod robot_arguments;
mod robots;
mod stroke;
mod terminal;
mod tolerance;

use std::ffi::OsString;
use std::path::Path;
use std::process::ExitCode;

use clap::error::{ContextKind, ContextValue, ErrorKind};
use clap::{CommandFactory as _, Parser as _};

use arguments::{Arguments, Command};
use exit::Exit;

/// Runs the program with the arguments of this process.
#[must_use]
pub fn run() -> ExitCode {
    interrupt::listen();
    match Arguments::try_parse_from(as_meant(std::env::args_os().collect())) {
        Ok(arguments) => execute(&arguments.command).into(),
        Err(error) => answer(error).into(),
    }
}

/// A file that stands where a command belongs is to be checked.
fn as_meant(mut typed: Vec<OsString>) -> Vec<OsString> {
    let is_file = |name: &OsString| {
        Path::new(name).is_file() && Arguments::command().find_subcommand(name).is_none()
    };
    if typed.get(1).is_some_and(is_file) {
        typed.insert(1, "check".into());
    }
    typed
}

/// Help and version go to standard output and are an answer; the rest is a wrong call.
fn answer(mut error: clap::Error) -> Exit {
    if !error.use_stderr() {
        let help = error.render();
        let is_coloured = terminal::output_style().colour;
        let shown = if is_coloured { help.ansi().to_string() } else { help.to_string() };
        return terminal::print(&shown, Exit::Done);
    }
    // What overwrites a file or passes over a verdict is typed on purpose, or not at all.
    if error.get(ContextKind::SuggestedArg).is_some_and(is_dangerous) {
        // The usage names what was suggested too.
        error.remove(ContextKind::SuggestedArg);
        error.remove(ContextKind::Usage);
        if error.get(ContextKind::InvalidArg).is_some_and(|arg| arg.to_string() == "--format") {
            let json = ContextValue::String("--json".to_owned());
            error.insert(ContextKind::SuggestedArg, json);
        }
    }
    // That standard error cannot be written changes nothing of what was wrong.
    let _ = error.print();
    if error.kind() == ErrorKind::InvalidSubcommand {
        terminal::complain(&commands());
    }
    Exit::Wrong
}

/// Options that no tip offers.
const DANGEROUS: [&str; 2] = ["--force", "--anyway"];

fn is_dangerous(suggested: &ContextValue) -> bool {
    let words = suggested.to_string();
    DANGEROUS.iter().any(|option| words.contains(option))
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
