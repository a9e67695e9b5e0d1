//! Arguments of the commands that take a robot file, as typed.

use std::path::PathBuf;

use clap::Args;

use crate::design::Preset;
use crate::handover::find::FindOptions;
use crate::handover::fold::FoldOptions;
use crate::handover::{ActuatorUnits, Form, LimitBasis};
use crate::robot::IncludeFolders;

use super::choices::folded_form;

/// Every closed loop of a URDF, SDFormat or MJCF file, with its lengths, kind and verdict.
///
/// Exit status: 0 whatever is found, 2 where the file cannot be read; with --lines 0 where a direct joint may stand in for every
/// loop, 1 where for one it may not, 3 where one is undecided or not judged.
#[derive(Args, Debug)]
#[command(
    after_help = "Example: unloop find models/robots/leg.urdf --loops models/robots/leg.loops.toml"
)]
pub(super) struct FindArguments {
    #[command(flatten)]
    pub(super) robot: RobotArguments,
    /// Findings as JSON on standard output
    #[arg(long)]
    pub(super) json: bool,
    /// Only what is not equivalent, as FILE:LINE: MESSAGE, a line each
    #[arg(long, conflicts_with_all = ["json", "full"])]
    pub(super) lines: bool,
    /// All that is known, not only what decides
    #[arg(long, conflicts_with = "json")]
    pub(super) full: bool,
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
    /// The link that a loop carries, where its shapes do not tell; may be given for each loop
    #[arg(long, value_name = "BODY")]
    pub(super) child: Vec<String>,
    /// Limits of the verdict
    #[arg(long, value_enum, default_value_t = Preset::Training)]
    pub(super) preset: Preset,
    #[command(flatten)]
    pub(super) include: IncludeArguments,
}

impl RobotArguments {
    /// How to look for loops.
    pub(super) fn find_options(&self) -> FindOptions<'_> {
        FindOptions { preset: self.preset, motors: &self.motor, children: &self.child }
    }
}

/// Where included files may stand.
#[derive(Args, Debug)]
pub(super) struct IncludeArguments {
    /// Read included files below this folder too, not only below the folder that holds the robot file's own folder
    #[arg(long, value_name = "DIR")]
    pub(super) include_root: Vec<PathBuf>,
    /// Read included files from anywhere
    #[arg(long)]
    pub(super) include_anywhere: bool,
}

impl IncludeArguments {
    /// The folders that included files may lie in.
    pub(super) fn folders(&self) -> IncludeFolders<'_> {
        IncludeFolders { roots: &self.include_root, anywhere: self.include_anywhere }
    }
}

/// The same file with a loop replaced by a direct joint, every other byte kept.
///
/// Crank and rod go, their masses into carrier and child; motor, limits and losses move to the driven joint. Of a parallel jaw
/// the passive rocker goes, and the finger follows its driver; both fingers of one motor go through it together. Refuses
/// where the verdict is not "equivalent" (exit status 1, or 3 when undecided) unless --anyway, and where something
/// else in the file speaks of what goes. With --all exit status 0 where at least one loop went, 1 where none may.
#[derive(Args, Debug)]
#[command(
    after_help = "Example: unloop fold models/robots/leg.urdf --loops models/robots/leg.loops.toml -o tree.urdf"
)]
pub(super) struct FoldArguments {
    #[command(flatten)]
    pub(super) robot: RobotArguments,
    /// The loop, by its own name or its driven joint's; may be left out where there is only one
    #[arg(long = "loop", value_name = "NAME", conflicts_with = "all")]
    pub(super) loop_name: Option<String>,
    /// Every loop that may go, in one call; what stays is named with why
    #[arg(long)]
    pub(super) all: bool,
    /// Another file, such as a scene that includes this one: refuse where it speaks of what goes
    #[arg(long, value_name = "FILE")]
    pub(super) also: Vec<PathBuf>,
    /// File to write, with NAME.joint.json beside it; `-` is standard output
    #[arg(short, long, value_name = "FILE")]
    pub(super) output: Option<PathBuf>,
    /// Show the change as a unified diff and write nothing
    #[arg(long)]
    pub(super) diff: bool,
    /// Go on though the verdict is not "equivalent"
    #[arg(long)]
    pub(super) anyway: bool,
    /// Overwrite existing files
    #[arg(long)]
    pub(super) force: bool,
    /// What stands in the file afterwards
    #[arg(long, value_parser = folded_form(), default_value = "direct")]
    pub(super) model: Form,
    /// Keep crank and rod to be seen, without mass, moved along with the joint
    #[arg(long, conflicts_with = "model")]
    pub(super) keep_visuals: bool,
    /// Torque and speed limits: reached everywhere on the stroke, or exceeded nowhere
    #[arg(long, value_enum, default_value_t = LimitBasis::Guaranteed)]
    pub(super) limits: LimitBasis,
    /// Units of the control signal (MJCF): the joint's, or the motor's as before
    #[arg(long, value_enum, default_value_t = ActuatorUnits::Joint)]
    pub(super) actuator: ActuatorUnits,
}

impl FoldArguments {
    pub(super) fn options(&self) -> FoldOptions {
        FoldOptions {
            model: self.model,
            anyway: self.anyway,
            keep_visuals: self.keep_visuals,
            limits: self.limits,
            actuator: self.actuator,
        }
    }
}

/// Does the robot file still say what the design says? Joint by joint, figure by figure.
///
/// Several robot files are held against the design and against each other. Exit status: 0 in step, 1 not, 2 wrong
/// input, 3 where nothing differs and the design's verdict is undecided.
#[derive(Args, Debug)]
#[command(after_help = "Example: unloop compare models/ankle.toml robot.urdf robot.xml --lines")]
pub(super) struct CompareArguments {
    /// Design file; `-` is standard input
    #[arg(value_name = "DESIGN")]
    pub(super) design: PathBuf,
    /// Robot files; `-` is standard input
    #[arg(required = true, value_name = "ROBOT")]
    pub(super) robots: Vec<PathBuf>,
    /// Findings as JSON on standard output
    #[arg(long, conflicts_with = "lines")]
    pub(super) json: bool,
    /// Only the differences, as FILE:LINE: MESSAGE
    #[arg(long)]
    pub(super) lines: bool,
    /// Demand one of the two limits of torque and speed; else both are accepted, and all between
    #[arg(long, value_enum)]
    pub(super) limits: Option<LimitBasis>,
    /// Loops that the robot files' format cannot hold, as TOML; for each file that has their links
    #[arg(long, value_name = "FILE")]
    pub(super) loops: Option<PathBuf>,
    #[command(flatten)]
    pub(super) include: IncludeArguments,
}
