//! The commands that show the way: a design to start from, codes explained, schemas, completions, the manual.

mod completions;
mod explain;
mod manual;
mod new;
mod schema;

use clap::Subcommand;

use super::exit::Exit;

/// Shown below the list of commands.
pub(super) const AFTER_HELP: &str = "\
Example: unloop new -o knee.toml && unloop check knee.toml
Exit status: 0 equivalent or done, 1 not equivalent, 2 wrong input or call, 3 undecided";

/// The commands.
#[derive(Debug, Subcommand)]
pub(super) enum Guidance {
    New(new::NewArguments),
    Explain(explain::ExplainArguments),
    Schema(schema::SchemaArguments),
    Completions(completions::CompletionsArguments),
    Manual(manual::ManualArguments),
}

pub(super) fn run(command: &Guidance) -> Exit {
    match command {
        Guidance::New(arguments) => new::run(arguments),
        Guidance::Explain(arguments) => explain::run(arguments),
        Guidance::Schema(arguments) => schema::run(arguments),
        Guidance::Completions(arguments) => completions::run(arguments),
        Guidance::Manual(arguments) => manual::run(arguments),
    }
}
