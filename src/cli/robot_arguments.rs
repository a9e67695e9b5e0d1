//! Arguments of the commands that take a robot file, as typed.

use std::path::PathBuf;

use clap::{Args, ValueEnum};

use crate::design::Preset;

/// Every closed loop of a URDF, SDFormat or MJCF file, with its lengths, kind and verdict.
///
/// Exit status: 0 whatever is found, 2 where the file cannot be read.
#[derive(Args, Debug)]
#[command(after_help = "Example: unloop find models/robots/walker.xml --design loops")]
pub(super) struct FindArguments {
    #[command(flatten)]
    pub(super) robot: RobotArguments,
    /// Findings as JSON on standard output
    #[arg(long)]
    pub(super) json: bool,
    /// Write each judged loop as a design file into this folder, as NAME.toml
    #[arg(long, value_name = "DIR")]
    pub(super) design: Option<PathBuf>,
    /// Overwrite existing files
    #[arg(long)]
    pub(super) force: bool,
}

/// A robot file, and what it cannot say itself.
#[derive(Args, Debug)]
pub(super) struct RobotArguments {
    /// Robot file; `-` is standard input
    #[arg(value_name = "ROBOT")]
    pub(super) file: PathBuf,
    /// Loops that the format cannot hold, as TOML: [[loop]] with name, links and at
    #[arg(long, value_name = "FILE")]
    pub(super) loops: Option<PathBuf>,
    /// A joint that a motor drives, where the file does not tell; may be given for each loop
    #[arg(long, value_name = "JOINT")]
    pub(super) motor: Vec<String>,
    /// Limits of the verdict
    #[arg(long, value_enum, default_value_t = PresetName::Training)]
    pub(super) preset: PresetName,
    /// Read included files from anywhere, not only below the robot file's own folder
    #[arg(long)]
    pub(super) include_anywhere: bool,
}

#[derive(Clone, Copy, Debug, ValueEnum)]
pub(super) enum PresetName {
    Invisible,
    Training,
    Coarse,
}

impl From<PresetName> for Preset {
    fn from(name: PresetName) -> Self {
        match name {
            PresetName::Invisible => Self::Invisible,
            PresetName::Training => Self::Training,
            PresetName::Coarse => Self::Coarse,
        }
    }
}
