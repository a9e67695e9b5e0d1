//! A series whose last stage is a gripper's finger.
//!
//! The series' own file says what a series says: stroke, limits, motor, robots. The finger's file says what is drawn of the
//! finger, and what its parts weigh. Turns of the crank are the motor's turns taken through the stages before the last.

use super::{AnyDesign, Drawn};
use crate::design::drawn_size::ScrewFigures;
use crate::design::finger;
use crate::design::front::Front;
use crate::design::gripper::Finger;
use crate::design::model::{Design, Parameter};
use crate::design::section::Section;
use crate::drive::Drawing;
use crate::linkage::PadOn;

/// The finger of the last stage, with the stand-in that the series' own file names.
pub(in crate::design) fn finger(root: &Section<'_>, gripper: &Design) -> Option<Finger> {
    let own = gripper.finger?;
    if let Some(entry) = root.get("mass") {
        let help = "write them into the gripper's own file: the finger has its parts there, and what stands before it is not weighed";
        entry.fault("does not belong here", "the last stage is a gripper's finger", help);
    }
    if let Some(entry) = root.within("accept", "inertia") {
        let help =
            "take this line out: what a drive before a gripper's finger weighs is not judged";
        entry.fault("is not judged here", "the last stage is a gripper's finger", help);
    }
    if let Some(entry) = root.within("direct_joint", "offset") {
        let help = "take this line out: the stand-in's crank is counted from the zero pose; ratio is the motor's turn per turn of the crank";
        entry.fault("has no meaning here", "the last stage is a gripper's finger", help);
    }
    Some(Finger { stand_in: finger::stand_in(root, PadOn::Coupler)?, ..own })
}

/// What only a series that ends in a gripper's finger has.
pub(in crate::design) fn refuse_what_it_has(root: &Section<'_>) {
    let help = "name a gripper's finger as the last stage, or take this line out";
    if let Some(entry) = root.within("direct_joint", "stand_in") {
        entry.fault("needs a gripper's finger", "no stage has one", help);
    }
}

/// A series as it stands, or the finger that it ends in with what turns its crank.
pub(in crate::design) fn behind_stages(series: Design<Drawn>) -> AnyDesign {
    let Some(finger) = series.finger else { return AnyDesign::OneJoint(Box::new(series)) };
    let mut drawn = series.geometry;
    let (Drawing::Series(drawings), Some(AnyDesign::FourBar(gripper))) =
        (&mut drawn.drawing, drawn.stages.pop())
    else {
        // A series with a finger ends in it.
        return AnyDesign::OneJoint(Box::new(Design { geometry: drawn, ..series }));
    };
    drawings.pop();
    let front = Front {
        kinds: drawn.stages.iter().map(AnyDesign::kind).collect(),
        screws: drawn.stages.iter().filter_map(screw).collect(),
        crank_reads: gripper.motor_reads,
        drawing: drawn.drawing.clone(),
        drawn: Vec::new(),
    };
    let named = drawn.drawn.last().and_then(|size| size.place.clone());
    let mut sizes = drawn.drawn;
    sizes.truncate(front.drawing.sizes().len());
    let mut places = series.places;
    let of_finger = [
        Parameter::Ground,
        Parameter::Crank,
        Parameter::Coupler,
        Parameter::Rocker,
        Parameter::ZeroCrank,
        Parameter::ZeroRocker,
        Parameter::FingerPad,
    ];
    places.0.extend(of_finger.into_iter().filter_map(|one| Some((one, named.clone()?))));
    AnyDesign::FourBar(Box::new(Design {
        source: series.source,
        name: series.name,
        axis_points: series.axis_points,
        geometry: gripper.geometry,
        motor_on: series.motor_on,
        motor_reads: series.motor_reads,
        joint_reads: series.joint_reads,
        set_by: series.set_by,
        stroke: series.stroke,
        direct_joint: series.direct_joint,
        accept: series.accept,
        actuator: series.actuator,
        mass: gripper.mass,
        rod: gripper.rod,
        pins: gripper.pins,
        together: gripper.together,
        motion: series.motion,
        finger: Some(finger),
        front: Some(Box::new(Front { drawn: sizes, ..front })),
        robots: series.robots,
        places,
    }))
}

fn screw(stage: &AnyDesign) -> Option<ScrewFigures> {
    match stage {
        AnyDesign::OneJoint(design) => design.geometry.screw,
        AnyDesign::FourBar(_) | AnyDesign::TwoJoints(_) => None,
    }
}
