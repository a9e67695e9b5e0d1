//! `[mass.*]` of a drive of two joints: `[mass.MOTOR.crank]` and the like, and the links.

use super::DrawnMotor;
use crate::design::bodies::BodyMass;
use crate::design::mass::{Frames, body};
use crate::design::schema;
use crate::design::section::Section;
use crate::units::clipped;

/// What one motor moves.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct LegMasses {
    /// Origin at the centre of the crank pin's circle, x towards the crank's pin, z along the motor axis.
    pub crank: Option<BodyMass>,
    /// Origin at the crank's pin, x towards the foot's.
    pub rod: Option<BodyMass>,
    /// Of a linear actuator: origin at the carrier's pin, x towards the foot's.
    pub housing: Option<BodyMass>,
    /// Of a linear actuator: origin at the foot's pin, x as the housing's.
    pub nut: Option<BodyMass>,
}

/// `[mass.*]`.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct TwoJointMasses {
    /// Of both motors in the order of the file.
    pub legs: [LegMasses; 2],
    /// `[mass.middle]`: the link between pitch and roll, in its own frame: origin at pitch's point, its axes parallel to the
    /// carrier's where both joints read zero.
    pub middle: Option<BodyMass>,
    /// `[mass.child]`, in its own frame: origin at roll's point, its axes as the middle link's.
    pub child: Option<BodyMass>,
    /// `[mass.carrier]`.
    pub carrier: Option<BodyMass>,
}

pub(super) fn read(root: &Section<'_>, motors: Option<&[DrawnMotor; 2]>) -> Option<TwoJointMasses> {
    let Some(table) = root.section("mass") else { return Some(TwoJointMasses::default()) };
    let link = |key: &str| table.section(key).and_then(|table| body(&table, Frames::Robot));
    let links = [link("middle"), link("child"), link("carrier")];
    let motors = motors?;
    let leg = |motor: &DrawnMotor| {
        let Some(table) = table.section(&motor.name) else { return LegMasses::default() };
        let part = |key: &str| {
            let is_of_screw = matches!(key, "housing" | "nut");
            let found = table.section(key)?;
            if is_of_screw != motor.screw.is_some() {
                let help = "a crank's motor has crank and rod, a linear actuator housing and nut";
                found.fault(format!("{} has no such part", found.title), "of another input", help);
                return None;
            }
            body(&found, Frames::Drawing)
        };
        LegMasses {
            crank: part("crank"),
            rod: part("rod"),
            housing: part("housing"),
            nut: part("nut"),
        }
    };
    let legs = [leg(&motors[0]), leg(&motors[1])];
    let known: Vec<&str> = schema::SHARED_PARTS
        .into_iter()
        .chain(motors.iter().map(|motor| motor.name.as_str()))
        .collect();
    for (name, place) in table.names() {
        if !known.contains(&name) {
            let fault = crate::diagnostic::Diagnostic::error(format!(
                "there is no `{}` in [mass]",
                clipped(name)
            ));
            let help = format!("known here: {}", known.join(", "));
            root.faults.push(fault.at(place).label("unknown").help(help));
        }
    }
    let [middle, child, carrier] = links;
    Some(TwoJointMasses { legs, middle, child, carrier })
}
