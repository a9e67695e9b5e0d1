//! Designs to start from.

use crate::drive::Kind;

/// A design of a planar four-bar to start from: it can be judged as it stands, and every other table and key is behind a `#`.
///
/// Lines that start with `#` and no blank are settings that may be left out; `##` marks those that replace others.
pub const TEMPLATE: &str = include_str!("template.toml");

/// Tables that are the same for every kind.
const SHARED: [&str; 7] = [
    "[stroke]",
    "[direct_joint]",
    "[actuator]",
    "[mass.child]",
    "[mass.carrier]",
    "[mass.carried]",
    "[motion]",
];

/// The like of [`TEMPLATE`] for a drive of this kind. A series names files of stages.
#[must_use]
pub fn template(kind: Kind) -> String {
    let own = match kind {
        Kind::FourBar => return TEMPLATE.to_owned(),
        Kind::BallRod => include_str!("template/ball_rod.toml"),
        Kind::LinearActuator => include_str!("template/linear_actuator.toml"),
        Kind::Slider => include_str!("template/slider.toml"),
        Kind::FixedRatio => include_str!("template/fixed_ratio.toml"),
        Kind::Series => include_str!("template/series.toml"),
        Kind::TwoRods => return include_str!("template/two_rods.toml").to_owned(),
    };
    let shared = TEMPLATE.split("\n\n").filter(|block| is_shared(block)).map(without_finger);
    let blocks: Vec<String> = std::iter::once(own.trim_end().to_owned()).chain(shared).collect();
    blocks.join("\n\n") + "\n"
}

fn is_shared(block: &str) -> bool {
    let headers = block.lines().map(|line| line.trim_start_matches('#'));
    headers
        .filter(|line| line.starts_with('['))
        .any(|line| SHARED.iter().any(|t| line.starts_with(t)))
}

fn without_finger(block: &str) -> String {
    let lines: Vec<&str> = block.lines().filter(|line| !line.starts_with("###")).collect();
    lines.join("\n")
}
