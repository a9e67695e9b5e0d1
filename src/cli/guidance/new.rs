//! `unloop new [-o FILE]`

use std::path::{Path, PathBuf};

use clap::Args;

use crate::design;

use crate::cli::exit::Exit;
use crate::cli::{output, terminal};

/// A design to start from, with every table and key.
///
/// It can be judged as it stands; what may be left out is behind a `#`.
#[derive(Args, Debug)]
#[command(after_help = "Example: unloop new -o knee.toml && unloop check knee.toml")]
pub(in crate::cli) struct NewArguments {
    /// File to write; `-` is standard output
    #[arg(short, long, value_name = "FILE", default_value = "-")]
    output: PathBuf,
    /// Overwrite an existing file
    #[arg(long)]
    force: bool,
}

pub(in crate::cli) fn run(arguments: &NewArguments) -> Exit {
    if arguments.output == Path::new("-") {
        return terminal::print(design::TEMPLATE, Exit::Done);
    }
    if let Some(fault) = output::fault(&arguments.output, &["TOML"], arguments.force) {
        return output::wrong(&fault);
    }
    output::write(&[(&arguments.output, design::TEMPLATE)], arguments.force)
}
