//! Arguments as typed.

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand};

/// May a direct joint stand in for a four-bar drive in your robot model? unloop checks it and writes the joint.
#[derive(Debug, Parser)]
#[command(name = "unloop", version, about, max_term_width = 100)]
pub(super) struct Arguments {
    #[command(subcommand)]
    pub(super) command: Command,
}

#[derive(Debug, Subcommand)]
pub(super) enum Command {
    Check(CheckArguments),
    Stroke(StrokeArguments),
    #[command(hide = true)]
    Tolerance(Later),
    #[command(hide = true)]
    Loads(Later),
    #[command(hide = true)]
    Report(Later),
    #[command(hide = true)]
    Find(Later),
    #[command(hide = true)]
    Fold(Later),
    #[command(hide = true)]
    Compare(Later),
}

/// The verdict: may a direct joint stand in?
///
/// Exit status: 0 equivalent, 1 not equivalent, 2 wrong input, 3 undecided.
#[derive(Args, Debug)]
#[command(after_help = "Example: unloop check models/ankle.toml")]
pub(super) struct CheckArguments {
    /// Design files; `-` is standard input
    #[arg(required = true, value_name = "DESIGN")]
    pub(super) designs: Vec<PathBuf>,
    /// Findings as JSON on standard output
    #[arg(long)]
    pub(super) json: bool,
    #[arg(long, hide = true, value_name = "FILE")]
    pub(super) plot: Option<PathBuf>,
}

/// The table over the stroke: angles, ratio, slope, transmission angle, angle error.
#[derive(Args, Debug)]
#[command(after_help = "Example: unloop stroke models/ankle.toml --steps 61 --csv > ankle.csv")]
pub(super) struct StrokeArguments {
    /// Design file; `-` is standard input
    #[arg(value_name = "DESIGN")]
    pub(super) design: PathBuf,
    /// Rows, evenly spaced in motor angle, both ends included
    #[arg(long, default_value_t = 31, value_parser = clap::value_parser!(u32).range(2..=10_000_000))]
    pub(super) steps: u32,
    /// Table as JSON on standard output
    #[arg(long, conflicts_with = "csv")]
    pub(super) json: bool,
    /// Table as CSV on standard output
    #[arg(long)]
    pub(super) csv: bool,
    #[arg(long, hide = true, value_name = "FILE")]
    pub(super) plot: Option<PathBuf>,
}

/// Not built yet.
#[derive(Args, Debug)]
pub(super) struct Later {
    #[arg(trailing_var_arg = true, allow_hyphen_values = true, hide = true)]
    _rest: Vec<String>,
}
