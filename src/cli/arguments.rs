//! Arguments as typed.

use std::path::PathBuf;

use clap::{Args, Parser, Subcommand};
use serde::Serialize;

use crate::dynamics::Fit;
use crate::handover::map::{Beyond, Language, MapForm, Number};
use crate::handover::{ActuatorUnits, EngineVersion, Form, LimitBasis};
use crate::linkage::Drive;
use crate::report::{self, Detail, Style};
use crate::robot::Format;
use crate::tolerance::Distribution;
use crate::units::{self, UnitKind};

use super::guidance::{AFTER_HELP, Guidance};
use super::robot_arguments::{CompareArguments, FindArguments, FoldArguments};
use super::terminal;

/// May a direct joint stand in for a four-bar drive in your robot model? unloop checks it and writes the joint.
#[derive(Debug, Parser)]
#[command(name = "unloop", version, about, max_term_width = 100, after_help = AFTER_HELP)]
pub(super) struct Arguments {
    #[command(subcommand)]
    pub(super) command: Command,
}

#[derive(Debug, Subcommand)]
pub(super) enum Command {
    Check(CheckArguments),
    Stroke(StrokeArguments),
    Tolerance(ToleranceArguments),
    Loads(LoadsArguments),
    Emit(EmitArguments),
    Map(MapArguments),
    Report(ReportArguments),
    Find(FindArguments),
    Fold(FoldArguments),
    Compare(CompareArguments),
    #[command(flatten)]
    Guidance(Guidance),
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
    /// The same, always an array: of one design too
    #[arg(long)]
    pub(super) json_list: bool,
    /// Only what fails or stays open, as FILE:LINE: MESSAGE, a line each
    #[arg(long, conflicts_with_all = ["json", "json_list", "full"])]
    pub(super) lines: bool,
    /// All that is known, not only what decides
    #[arg(long, conflicts_with_all = ["json", "json_list"])]
    pub(super) full: bool,
    #[command(flatten)]
    pub(super) plot: PlotArguments,
    /// Also write the proof, or what breaks it, as JSON that docs/check_proof.py checks without this program
    #[arg(long, value_name = "FILE")]
    pub(super) proof: Option<PathBuf>,
}

/// The table over the stroke: angles, ratio, slope, transmission angle, angle error.
#[derive(Args, Debug)]
#[command(after_help = "Example: unloop stroke models/ankle.toml --steps 61 --csv > ankle.csv")]
pub(super) struct StrokeArguments {
    /// Design file; `-` is standard input
    #[arg(value_name = "DESIGN")]
    pub(super) design: PathBuf,
    /// Rows, evenly spaced, both ends included [default: 31]
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(2..=10_000_000))]
    pub(super) steps: Option<u32>,
    /// Whose angle the rows are evenly spaced in [default: motor]
    #[arg(long, value_enum)]
    pub(super) over: Option<Drive>,
    /// One pose: the motor's reading, e.g. "12 deg"
    #[arg(long, value_name = "ANGLE", value_parser = reading, allow_hyphen_values = true,
        conflicts_with_all = ["steps", "over"])]
    pub(super) at_motor: Option<f64>,
    /// One pose: the joint's reading
    #[arg(long, value_name = "ANGLE", value_parser = reading, allow_hyphen_values = true,
        conflicts_with_all = ["steps", "over", "at_motor"])]
    pub(super) at_joint: Option<f64>,
    /// Of two joints: so many rows in pitch, evenly spaced, both ends included
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(2..=100_000),
        conflicts_with_all = ["steps", "over", "at_motor", "at_joint"])]
    pub(super) pitch: Option<u32>,
    /// Of two joints: so many rows in roll
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(2..=100_000),
        conflicts_with_all = ["steps", "over", "at_motor", "at_joint"])]
    pub(super) roll: Option<u32>,
    /// Table as JSON on standard output
    #[arg(long, conflicts_with = "csv")]
    pub(super) json: bool,
    /// Table as CSV on standard output
    #[arg(long)]
    pub(super) csv: bool,
    #[command(flatten)]
    pub(super) plot: PlotArguments,
}

/// What the drawn tolerances do: which length matters, worst case, statistics, budget, ranges.
#[derive(Args, Debug)]
#[command(
    after_help = "Example: unloop tolerance models/ankle_toleranced.toml --samples 1000000 --ranges ankle.yaml"
)]
pub(super) struct ToleranceArguments {
    /// Design file; `-` is standard input
    #[arg(value_name = "DESIGN")]
    pub(super) design: PathBuf,
    /// Builds to draw at random
    #[arg(long, value_name = "N", default_value_t = 65_536, value_parser = clap::value_parser!(u64).range(1..=100_000_000))]
    pub(super) samples: u64,
    /// Same seed, same figures
    #[arg(long, value_name = "S", default_value_t = 1)]
    pub(super) seed: u64,
    /// How every length scatters between its limits (normal: the tolerance is 3 sigma)
    #[arg(long, value_enum, default_value_t = Distribution::Normal)]
    pub(super) distribution: Distribution,
    #[command(flatten)]
    pub(super) shown: ShownArguments,
    /// Also write what a training run should randomise, as TOML, or YAML where FILE ends so
    #[arg(long, value_name = "FILE")]
    pub(super) ranges: Option<PathBuf>,
    #[command(flatten)]
    pub(super) plot: PlotArguments,
}

/// Torque, speed, rod force, pin loads, buckling, play and stiffness over the stroke.
#[derive(Args, Debug)]
#[command(after_help = "Example: unloop loads models/ankle.toml")]
pub(super) struct LoadsArguments {
    /// Design file; `-` is standard input
    #[arg(value_name = "DESIGN")]
    pub(super) design: PathBuf,
    #[command(flatten)]
    pub(super) shown: ShownArguments,
    #[command(flatten)]
    pub(super) plot: PlotArguments,
}

/// How findings are shown.
#[derive(Args, Debug)]
pub(super) struct ShownArguments {
    /// Findings as JSON on standard output
    #[arg(long)]
    pub(super) json: bool,
    /// All that is known, not only what decides
    #[arg(long, conflicts_with = "json")]
    pub(super) full: bool,
}

impl ShownArguments {
    /// `found` as asked for.
    pub(super) fn text<F: Serialize>(
        &self,
        found: &F,
        in_words: fn(&F, Detail, Style) -> String,
    ) -> String {
        if self.json {
            return report::json(found);
        }
        in_words(found, terminal::detail(self.full), terminal::output_style())
    }
}

/// The picture beside what is printed.
#[derive(Args, Debug)]
pub(super) struct PlotArguments {
    /// Also draw it, as SVG or PNG by the file's ending
    #[arg(long = "plot", value_name = "FILE")]
    pub(super) file: Option<PathBuf>,
    /// Overwrite existing files
    #[arg(long)]
    pub(super) force: bool,
}

/// The joint as URDF, SDFormat or MJCF, with NAME.joint.json beside it.
///
/// Refuses a direct joint when the verdict is not "equivalent" (exit status 1, or 3 when undecided) unless
/// --anyway. The coupled and the loop model do not rest on the verdict.
#[derive(Args, Debug)]
#[command(after_help = "Example: unloop emit models/ankle.toml --to urdf -o ankle.urdf")]
pub(super) struct EmitArguments {
    /// Design file; `-` is standard input
    #[arg(value_name = "DESIGN")]
    pub(super) design: PathBuf,
    /// Format of the robot file
    #[arg(long, value_enum, value_name = "FORMAT")]
    pub(super) to: Format,
    /// File to write; `-` is standard output
    #[arg(short, long, value_name = "FILE")]
    pub(super) output: PathBuf,
    /// What stands for the linkage
    #[arg(long, value_enum, default_value_t = Form::Direct)]
    pub(super) model: Form,
    /// A model that loads by itself, not a snippet; needs [mass.carrier] and [mass.child]
    #[arg(long)]
    pub(super) whole: bool,
    /// Go on though the verdict is not "equivalent"; the file then says so
    #[arg(long)]
    pub(super) anyway: bool,
    /// Overwrite existing files
    #[arg(long)]
    pub(super) force: bool,
    /// Torque and speed limits: reached everywhere on the stroke, or exceeded nowhere
    #[arg(long, value_enum, default_value_t = LimitBasis::Guaranteed)]
    pub(super) limits: LimitBasis,
    /// Units of the direct joint's control signal (MJCF); the other models are driven at the motor
    #[arg(long, value_enum, default_value_t = ActuatorUnits::Joint)]
    pub(super) actuator: ActuatorUnits,
    /// MuJoCo version that an MJCF file is for, e.g. 3.2; the oldest that does by default
    #[arg(long, value_name = "VERSION")]
    pub(super) engine_version: Option<EngineVersion>,
    /// What the coupled model's polynomial favours (MJCF): angle and slope alike, or the slope, which is ratio, torque and
    /// inertia, where the ratio varies widely; the file says what each costs
    #[arg(long, value_enum, default_value_t = Fit::Balanced)]
    pub(super) fit: Fit,
}

/// Motor angle, speed and torque to the joint's and back as code, with a certified error.
///
/// One function each way for every [[robot]] joint, or pair of joints of two motors, readings in and readings out.
/// Exit status: 0 written, 2 wrong input, 3 no code is certified to be as close.
#[derive(Args, Debug)]
#[command(
    after_help = "Example: unloop map models/knee_offset.toml --in c99 --number float --within \"0.001 deg\" -o knee.c"
)]
pub(super) struct MapArguments {
    /// Design file; `-` is standard input
    #[arg(value_name = "DESIGN")]
    pub(super) design: PathBuf,
    /// Language of the code
    #[arg(long = "in", value_enum, value_name = "LANGUAGE")]
    pub(super) language: Language,
    /// File to write; `-` is standard output; for C, FILE.h gets functions that may stand in a header
    #[arg(short, long, value_name = "FILE")]
    pub(super) output: PathBuf,
    /// What the code computes in
    #[arg(long, value_enum, default_value_t = Number::Double)]
    pub(super) number: Number,
    /// What it works out: a polynomial (the default in float) or the closed form (in double)
    #[arg(long = "by", value_enum, value_name = "FORM")]
    pub(super) form: Option<MapForm>,
    /// Largest certified error of an angle, e.g. "0.001 deg": the polynomial of least degree that meets it; without it the
    /// closest, and none that is not certified to be within 0.01 deg
    #[arg(long, value_name = "ANGLE", value_parser = angle, allow_hyphen_values = true)]
    pub(super) within: Option<f64>,
    /// Beyond the stroke: hold the angle at its end, or go on straight with the end's ratio
    #[arg(long, value_enum, default_value_t = Beyond::Hold)]
    pub(super) beyond: Beyond,
    /// Also write what the code answers at poses of the stroke and beyond, as CSV, to test it by
    #[arg(long, value_name = "FILE")]
    pub(super) vectors: Option<PathBuf>,
    /// Overwrite existing files
    #[arg(long)]
    pub(super) force: bool,
}

/// An angle with its unit, in rad.
fn reading(text: &str) -> Result<f64, String> {
    units::quantity(text, UnitKind::Angle)
        .map_err(|fault| format!("{} ({})", fault.summary, fault.help))
}

/// One above zero.
fn angle(text: &str) -> Result<f64, String> {
    let value = reading(text)?;
    if value > 0.0 { Ok(value) } else { Err("write an angle above zero".to_owned()) }
}

/// One self-contained page for a design review.
///
/// Exit status: 0 whatever the verdict, 2 wrong input.
#[derive(Args, Debug)]
#[command(after_help = "Example: unloop report models/ankle.toml -o ankle.html")]
pub(super) struct ReportArguments {
    /// Design files, all on one page; `-` is standard input
    #[arg(required = true, value_name = "DESIGN")]
    pub(super) designs: Vec<PathBuf>,
    /// File to write; `-` is standard output
    #[arg(short, long, value_name = "FILE")]
    pub(super) output: PathBuf,
    /// Revision of the design, as the page shall show it
    #[arg(long, value_name = "TEXT")]
    pub(super) revision: Option<String>,
    /// Date of the page, as it shall stand there; without it the page has none
    #[arg(long, value_name = "DATE")]
    pub(super) date: Option<String>,
    /// Leave out the fields in which the reader can try other sizes, and of two joints the sliders
    #[arg(long = "static")]
    pub(super) is_static: bool,
    /// Overwrite an existing file
    #[arg(long)]
    pub(super) force: bool,
}
