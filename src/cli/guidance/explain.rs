//! `unloop explain [CODE]...`

use clap::Args;

use crate::diagnostic::{Code, nearest_word};
use crate::report;

use crate::cli::exit::Exit;
use crate::cli::terminal;

/// More about a warning or fault: what it means, why it matters, what to do.
///
/// Its code stands in brackets in the message.
#[derive(Args, Debug)]
#[command(after_help = "Example: unloop explain near_change_point")]
pub(in crate::cli) struct ExplainArguments {
    /// The word in brackets beside `warning` or `error`; without one all are listed
    #[arg(value_name = "CODE")]
    codes: Vec<String>,
}

pub(in crate::cli) fn run(arguments: &ExplainArguments) -> Exit {
    let style = terminal::output_style();
    if arguments.codes.is_empty() {
        return terminal::print(&report::explanation_list(style), Exit::Done);
    }
    let mut exit = Exit::Done;
    let mut texts = Vec::new();
    for word in &arguments.codes {
        match Code::named(bare(word)) {
            Some(code) => texts.push(report::explanation_text(code, style)),
            None => {
                terminal::complain(&unknown(word));
                exit = Exit::Wrong;
            }
        }
    }
    terminal::print(&texts.join("\n"), exit)
}

/// The word without the brackets that it stands in.
fn bare(word: &str) -> &str {
    word.trim_start_matches('[').trim_end_matches(']')
}

fn unknown(word: &str) -> String {
    let near = match nearest(word) {
        Some(code) => format!("did you mean {code}? "),
        None => String::new(),
    };
    format!("error: there is no code `{word}`\n = help: {near}`unloop explain` lists them all\n")
}

/// The code that was probably meant.
fn nearest(word: &str) -> Option<Code> {
    Code::named(nearest_word(
        &word.replace('-', "_"),
        Code::ALL.iter().map(|code| code.name()),
        0.5,
    )?)
}
