//! `unloop new [--kind KIND] [-o FILE]`

use std::path::{Path, PathBuf};

use clap::Args;
use clap::builder::PossibleValuesParser;

use crate::design;
use crate::drive::Kind;

use crate::cli::exit::Exit;
use crate::cli::{output, terminal};

/// A design to start from, with every table and key.
///
/// It can be judged as it stands; what may be left out is behind a `#`.
#[derive(Args, Debug)]
#[command(after_help = "Example: unloop new -o knee.toml && unloop check knee.toml")]
pub(in crate::cli) struct NewArguments {
    /// Kind of the drive
    #[arg(long, value_name = "KIND", default_value = "four_bar", value_parser = PossibleValuesParser::new(KINDS))]
    kind: String,
    /// File to write; `-` is standard output
    #[arg(short, long, value_name = "FILE", default_value = "-")]
    output: PathBuf,
    /// Overwrite an existing file
    #[arg(long)]
    force: bool,
}

/// Kinds with a template.
const KINDS: [&str; 7] =
    ["four_bar", "ball_rod", "linear_actuator", "slider", "two_rods", "fixed_ratio", "series"];

pub(in crate::cli) fn run(arguments: &NewArguments) -> Exit {
    let kind = Kind::ALL.into_iter().find(|kind| kind.name() == arguments.kind);
    let text = kind.map(design::template).unwrap_or_default();
    if arguments.output == Path::new("-") {
        return terminal::print(&text, Exit::Done);
    }
    if let Some(fault) = output::fault(&arguments.output, &["TOML"], arguments.force) {
        return output::wrong(&fault);
    }
    output::write(&[(&arguments.output, &text)], arguments.force)
}
