//! `unloop schema [NAME]`

use clap::{Args, ValueEnum};

use crate::cli::exit::Exit;
use crate::cli::terminal;

/// The JSON Schema of the design file or of a JSON output.
#[derive(Args, Debug)]
#[command(after_help = "Example: unloop schema design > design.schema.json")]
pub(in crate::cli) struct SchemaArguments {
    /// What the schema is of
    #[arg(value_enum, value_name = "NAME")]
    name: SchemaName,
}

/// Each has its file in `schemas/`. One for a new output goes here, into [`text`] and into `tests/report/schemas.rs`.
#[derive(Clone, Copy, Debug, ValueEnum)]
enum SchemaName {
    /// The design file (TOML)
    Design,
    /// `check --json`
    Check,
    /// What `check --proof` writes
    Proof,
    /// `stroke --json`
    Stroke,
    /// `stroke --json` of two joints
    #[value(name = "stroke_region")]
    StrokeRegion,
    /// `check --json` of two joints
    #[value(name = "check_region")]
    CheckRegion,
    /// `loads --json` of two joints
    #[value(name = "loads_region")]
    LoadsRegion,
    /// `tolerance --json`
    Tolerance,
    /// `tolerance --json` of two joints
    #[value(name = "tolerance_region")]
    ToleranceRegion,
    /// `loads --json`
    Loads,
    /// `find --json`
    Find,
    /// `compare --json`
    Compare,
    /// NAME.joint.json, which `emit` and `fold` write beside the robot file
    Joint,
    /// NAME.joints.json, which `emit` writes beside a robot file of two joints
    Joints,
}

const fn text(name: SchemaName) -> &'static str {
    match name {
        SchemaName::Design => include_str!("../../../schemas/design.schema.json"),
        SchemaName::Check => include_str!("../../../schemas/check.schema.json"),
        SchemaName::Proof => include_str!("../../../schemas/proof.schema.json"),
        SchemaName::Stroke => include_str!("../../../schemas/stroke.schema.json"),
        SchemaName::CheckRegion => include_str!("../../../schemas/check_region.schema.json"),
        SchemaName::LoadsRegion => include_str!("../../../schemas/loads_region.schema.json"),
        SchemaName::StrokeRegion => {
            include_str!("../../../schemas/stroke_region.schema.json")
        }
        SchemaName::Tolerance => include_str!("../../../schemas/tolerance.schema.json"),
        SchemaName::ToleranceRegion => {
            include_str!("../../../schemas/tolerance_region.schema.json")
        }
        SchemaName::Loads => include_str!("../../../schemas/loads.schema.json"),
        SchemaName::Find => include_str!("../../../schemas/find.schema.json"),
        SchemaName::Compare => include_str!("../../../schemas/compare.schema.json"),
        SchemaName::Joint => include_str!("../../../schemas/joint.schema.json"),
        SchemaName::Joints => include_str!("../../../schemas/joints.schema.json"),
    }
}

pub(in crate::cli) fn run(arguments: &SchemaArguments) -> Exit {
    terminal::print(text(arguments.name), Exit::Done)
}
