//! `unloop completions SHELL`

use clap::{Args, CommandFactory as _};
use clap_complete::Shell;

use crate::cli::arguments::Arguments;
use crate::cli::exit::Exit;
use crate::cli::terminal;

/// Completion of commands and options for your shell.
#[derive(Args, Debug)]
#[command(
    after_help = "Example: unloop completions bash > ~/.local/share/bash-completion/completions/unloop"
)]
pub(in crate::cli) struct CompletionsArguments {
    /// The shell that reads them
    #[arg(value_enum, value_name = "SHELL")]
    shell: Shell,
}

pub(in crate::cli) fn run(arguments: &CompletionsArguments) -> Exit {
    let mut script = Vec::new();
    clap_complete::generate(arguments.shell, &mut Arguments::command(), "unloop", &mut script);
    terminal::print(&String::from_utf8_lossy(&script), Exit::Done)
}
