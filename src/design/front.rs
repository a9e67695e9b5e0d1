//! What turns the crank of a gripper's finger where the motor does not: a series whose last stage is the finger.
//!
//! The series' own file says what a series says: stroke, limits, motor, robots. The finger's file says what is drawn of the
//! finger, and what its parts weigh. Turns of the crank are the motor's turns taken through the stages before the last.

use super::drawn::{AnyDesign, Drawn, ScrewFigures};
use super::finger;
use super::gripper::Finger;
use super::model::{Design, Parameter};
use super::section::Section;
use crate::drive::{Drawing, Screw};
use crate::linkage::PadOn;

/// The drive between the motor and the crank of a gripper's finger.
#[derive(Clone, Debug)]
pub struct Front {
    /// As a series, also where it is one drive: its joint is the crank.
    pub drawn: Drawn,
    /// What the crank reads in the zero pose, rad: the finger's own `[zero] motor_reads`.
    pub crank_reads: f64,
}

impl Front {
    fn screws(&self) -> impl Iterator<Item = ScrewFigures> + '_ {
        self.drawn.stages.iter().filter_map(|stage| match stage {
            AnyDesign::OneJoint(design) => design.geometry.screw,
            AnyDesign::FourBar(_) | AnyDesign::TwoJoints(_) => None,
        })
    }

    /// Share of the motor's work that its screws let through to the crank; `None` where no screw says one.
    #[must_use]
    pub fn efficiency(&self) -> Option<f64> {
        let told: Vec<f64> = self.screws().filter_map(|screw| screw.efficiency).collect();
        (!told.is_empty()).then(|| told.iter().product())
    }

    /// Share of a load's work at the crank that comes back to the motor, at most: 0 where a screw locks itself, and without
    /// what is not told of a screw, which only helps to hold.
    #[must_use]
    pub fn back_efficiency(&self) -> f64 {
        self.screws()
            .filter_map(full)
            .map(|screw| screw.back_efficiency().clamp(0.0, 1.0))
            .product()
    }

    /// Does the load never turn the motor?
    #[must_use]
    pub fn locks_itself(&self) -> bool {
        self.screws().filter_map(full).any(|screw| screw.locks_itself())
    }
}

/// A screw of which all is told.
fn full(screw: ScrewFigures) -> Option<Screw> {
    let (efficiency, mean_diameter) = (screw.efficiency?, screw.mean_diameter?);
    Some(Screw { lead: screw.lead, efficiency, mean_diameter })
}

/// The finger of the last stage, with the stand-in that the series' own file names.
pub(super) fn finger(root: &Section<'_>, gripper: &Design) -> Option<Finger> {
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
pub(super) fn refuse_what_a_gripper_has(root: &Section<'_>) {
    let help = "name a gripper's finger as the last stage, or take this line out";
    if let Some(entry) = root.within("direct_joint", "stand_in") {
        entry.fault("needs a gripper's finger", "no stage has one", help);
    }
}

/// A series as it stands, or the finger that it ends in with what turns its crank.
pub(super) fn behind_stages(series: Design<Drawn>) -> AnyDesign {
    let Some(finger) = series.finger else { return AnyDesign::OneJoint(Box::new(series)) };
    let mut drawn = series.geometry;
    let (Drawing::Series(drawings), Some(AnyDesign::FourBar(gripper))) =
        (&mut drawn.drawing, drawn.stages.pop())
    else {
        // A series with a finger ends in it.
        return AnyDesign::OneJoint(Box::new(Design { geometry: drawn, ..series }));
    };
    drawings.pop();
    let named = drawn.drawn.last().and_then(|size| size.place.clone());
    let sizes = drawn.drawing.sizes().len();
    drawn.drawn.truncate(sizes);
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
        front: Some(Box::new(Front { drawn, crank_reads: gripper.motor_reads })),
        robots: series.robots,
        places,
    }))
}
