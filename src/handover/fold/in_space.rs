//! What of a fold has no meaning for a drive that is no planar four-bar.

use super::{FoldOptions, tendon};
use crate::drive::Kind;
use crate::handover::Form;
use crate::handover::stand_in::in_file::{FileDrive, Motion};
use crate::robot::Format;

/// Why such a drive is not folded as it is asked, and what to do.
pub(super) fn unfit(drive: &FileDrive<'_>, options: FoldOptions) -> Option<(String, &'static str)> {
    let Motion::Space(found, _) = drive.motion else { return None };
    let kind = found.drawing.kind().name();
    let refused = |why: &str| format!("a drive of kind {kind} {why}");
    let format = drive.robot.format;
    if format == Format::Urdf {
        let why = refused("is folded in MJCF and SDFormat files only");
        return Some((why, "write its design with find --design, and emit its direct joint"));
    }
    if options.model == Form::Coupled && (format != Format::Mjcf || tendon::points(found).is_none())
    {
        let why = match found.drawing.kind() {
            _ if format != Format::Mjcf => {
                "has no coupled form in this format, which has no tendons"
            }
            Kind::LinearActuator => {
                "has its slide line beside the carrier's pin, which no element of the file holds exactly"
            }
            _ => "has no coupled crank that the file could hold exactly",
        };
        return Some((refused(why), "take --model direct, or keep the loop"));
    }
    if options.keep_visuals {
        let why = refused("has a rod whose turns follow no line of the joint's");
        return Some((why, "leave --keep-visuals out"));
    }
    Some((drive.lost_in_space()?, "take that out, or keep the loop"))
}
