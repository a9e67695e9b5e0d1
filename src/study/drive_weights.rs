//! The masses of a planar four-bar's drives, as the page's script weighs them.

use serde::Serialize;

use crate::design::{BodyFrame, Design, MotorOn};
use crate::dynamics::{Body, Masses};

use super::drive::{drive_on, joints_on, missing_for_inertia};
use super::findings::ZeroPose;

/// One drive's bodies, each in its own frame: the crank's x along the crank from A, the coupler's along it from P, the
/// child's towards Q from B, the carrier's along A→B from B.
#[derive(Debug, Serialize)]
pub(super) struct DriveWeights {
    crank: Option<Weight>,
    coupler: Option<Weight>,
    child: Weight,
    carrier: Option<Weight>,
    rotor: Rotor,
    /// The child stands in the carrier's axes: it turns with the rocker's angle in the zero pose.
    turns: bool,
    /// All tensors are known; and with crank and coupler taken as bars where theirs are not.
    spatial: bool,
    spatial_as_bars: bool,
}

/// kg, m, kg m²: about its own centre xx yy zz xy xz yz, or zz alone where the rest is not `known`.
#[derive(Debug, Serialize)]
struct Weight {
    m: f64,
    c: [f64; 3],
    #[serde(rename = "I")]
    inertia: [f64; 6],
    known: bool,
}

#[derive(Debug, Serialize)]
struct Rotor {
    inertia: f64,
    gear: f64,
    /// It is no part of the carrier's masses.
    beside: bool,
}

impl From<&Body> for Weight {
    fn from(body: &Body) -> Self {
        let t = body.tensor();
        let inertia = [t.m11, t.m22, t.m33, t.m12, t.m13, t.m23];
        Self { m: body.mass, c: body.centre.into(), inertia, known: body.is_spatial() }
    }
}

/// The drives, equal ones once; `None` where masses are missing, where one link bears several joints, and where what places the
/// bodies moves with the pins.
pub(super) fn drives(design: &Design) -> Option<Vec<DriveWeights>> {
    let robots: Vec<_> = if design.robots.is_empty() {
        vec![None]
    } else {
        design.robots.iter().map(Some).collect()
    };
    let mass = &design.mass;
    let in_robot = mass.child.as_ref().is_some_and(|body| body.frame == BodyFrame::Robot);
    let placed = in_robot || mass.carrier.is_some() || mass.carried.is_some();
    let moves = placed && robots.iter().flatten().any(|robot| robot.motor_at.is_none());
    let shared = robots.iter().any(|robot| joints_on(design, *robot) > 1);
    let missing = !missing_for_inertia(design).is_empty() || design.motor_on == MotorOn::Parent;
    if moves || shared || missing {
        return None;
    }
    // With the rocker on A→B: the script turns the child by its angle.
    let flat = ZeroPose { crank: 0.0, rocker: 0.0 };
    let mut known: Vec<Masses> = Vec::new();
    for robot in robots {
        let masses = drive_on(design, robot, &flat)?.masses;
        if !known.contains(&masses) {
            known.push(masses);
        }
    }
    known.iter().map(|masses| weighed(masses, in_robot)).collect()
}

fn weighed(masses: &Masses, turns: bool) -> Option<DriveWeights> {
    let rotor = masses.rotor?;
    let weight = |body: &Option<Body>| body.as_ref().map(Weight::from);
    Some(DriveWeights {
        crank: weight(&masses.crank),
        coupler: weight(&masses.coupler),
        child: Weight::from(&masses.child),
        carrier: weight(&masses.carrier),
        rotor: Rotor { inertia: rotor.inertia, gear: rotor.gear_ratio, beside: !rotor.in_carrier },
        turns,
        spatial: masses.are_spatial(),
        spatial_as_bars: masses.with_bars().are_spatial(),
    })
}
