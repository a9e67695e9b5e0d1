//! `kind = "series"`: stages in order from the motor, each in a design file of its own.

use std::fs::File;
use std::path::Path;

use super::{AnyDesign, Drawn, DrawnSize};
use crate::design::dimension::Dimension;
use crate::design::entry::Entry;
use crate::design::geometry::Sources;
use crate::design::model::{Design, Geometry, MotorOn};
use crate::design::section::TWO_DESIGNS;
use crate::design::sense::Sense;
use crate::design::{Place, bytes_of, from_bytes};
use crate::diagnostic::{Diagnostic, why};
use crate::drive::{Assembly, BallRod, Drawing};
use crate::units::clipped;

/// A series has so many stages at most: no joint is driven through more.
const MOST: usize = 8;

pub(super) fn read(sources: &Sources<'_, '_>) -> Option<Drawn> {
    let line = "stages = [\"upper.toml\", \"lower.toml\"]  # design files, in order from the motor";
    let entry = sources.drive?.required("stages", line)?;
    let items = entry.items()?;
    if !(2..=MOST).contains(&items.len()) {
        let label = format!("{} here", items.len());
        let help = format!("name 2 to {MOST} design files, in order from the motor");
        entry.fault("is no series of stages", &label, help);
        return None;
    }
    let last = items.len() - 1;
    let stages: Vec<Option<(AnyDesign, Entry<'_>)>> = items
        .into_iter()
        .enumerate()
        .map(|(k, item)| Some((stage(sources, &item, k == last)?, item)))
        .collect();
    let stages = stages.into_iter().collect::<Option<Vec<_>>>()?;
    Some(assembled(sources, stages))
}

fn assembled(sources: &Sources<'_, '_>, stages: Vec<(AnyDesign, Entry<'_>)>) -> Drawn {
    let (mut drawings, mut drawn, mut designs) = (Vec::new(), Vec::new(), Vec::new());
    for (design, entry) in stages {
        let (drawing, sizes) = match &design {
            AnyDesign::FourBar(design) => planar(design),
            AnyDesign::OneJoint(design) => {
                (design.geometry.drawing.clone(), design.geometry.drawn.clone())
            }
            // Refused as a stage before it is read.
            AnyDesign::TwoJoints(_) => continue,
        };
        let here = |size: DrawnSize| DrawnSize { place: Some(entry.place.clone()), ..size };
        drawn.extend(sizes.into_iter().map(here));
        drawings.push(drawing);
        designs.push(design);
    }
    let sense = Sense::new(sources.axis_points).angle(1.0);
    Drawn {
        drawing: Drawing::Series(drawings),
        drawn,
        screw: None,
        stages: designs,
        drawing_frame: [[1.0, 0.0, 0.0], [0.0, sense, 0.0], [0.0, 0.0, sense]],
        is_in_carrier_frame: false,
    }
}

/// A planar four-bar as the drive with ball ends that it is a case of.
fn planar(design: &Design) -> (Drawing, Vec<DrawnSize>) {
    let Geometry { ground, crank, coupler, rocker, zero_crank, zero_rocker, .. } = &design.geometry;
    let none = Dimension::drawn(0.0, None);
    let sizes = BallRod {
        ground: ground.nominal,
        crank: crank.nominal,
        coupler: coupler.nominal,
        rocker: rocker.nominal,
        axial: 0.0,
        twist: 0.0,
        lean: 0.0,
    };
    let off = |assembly: Assembly| {
        let drive = sizes.drive(zero_crank.nominal, assembly).ok()?;
        let [lever, _] = drive.zero_angles();
        Some(libm::remainder(lever - zero_rocker, std::f64::consts::TAU).abs())
    };
    let assembly = match (off(Assembly::Open), off(Assembly::Crossed)) {
        (Some(open), Some(crossed)) if crossed < open => Assembly::Crossed,
        _ => Assembly::Open,
    };
    let drawn = [ground, crank, coupler, rocker, &none, &none, &none, zero_crank].map(|size| {
        let Dimension { tolerance, written_outside, .. } = size.clone();
        DrawnSize { tolerance, written_outside, place: None }
    });
    let zero_crank = zero_crank.nominal;
    (Drawing::BallRod { sizes, zero_crank, assembly }, drawn.into())
}

/// The design that `entry` names, read from beside the file that names it; the `last` stage may be a gripper's finger.
fn stage(sources: &Sources<'_, '_>, entry: &Entry<'_>, last: bool) -> Option<AnyDesign> {
    let name = entry.name()?;
    let folder = Path::new(sources.path).parent().unwrap_or(Path::new(""));
    let path = folder.join(&name);
    let shown = path.to_string_lossy();
    let bytes = match File::open(&path).and_then(bytes_of) {
        Ok(bytes) => bytes,
        Err(error) => {
            let label = format!("{}: {}", clipped(&shown), why(&error));
            let help = "name design files, from the folder of this one";
            entry.fault("names a file that cannot be read", &label, help);
            return None;
        }
    };
    match from_bytes(&shown, &bytes, Place::Stage, &[]) {
        Ok((design, warnings)) => {
            for warning in &warnings {
                pass_on(entry, &design, warning);
            }
            fits(sources, entry, &design, last).then_some(design)
        }
        Err(rejected) => {
            let label = format!("see {} below", clipped(&rejected.source.path));
            entry.fault("names a file that is no design of a stage", &label, "correct that file");
            entry.faults.push_stage(rejected);
            None
        }
    }
}

/// A warning about a stage, at the place that names it.
fn pass_on(entry: &Entry<'_>, design: &AnyDesign, warning: &Diagnostic) {
    let line = warning.place.as_ref().map_or(0, |place| {
        let text = design.source().text.as_bytes();
        1 + text.iter().take(place.start).filter(|byte| **byte == b'\n').count()
    });
    let mut told = warning.clone();
    told.message = format!("{}:{line}: {}", clipped(&design.source().path), warning.message);
    entry.faults.push(told.at(entry.place.clone()));
}

fn fits(sources: &Sources<'_, '_>, entry: &Entry<'_>, design: &AnyDesign, last: bool) -> bool {
    let (motor_on, finger, axis_points) = match design {
        AnyDesign::FourBar(design) => (design.motor_on, design.finger, design.axis_points),
        AnyDesign::OneJoint(design) => (design.motor_on, None, design.axis_points),
        // Refused as a stage before it is read.
        AnyDesign::TwoJoints(_) => return false,
    };
    if motor_on == MotorOn::Parent {
        let help = "a stage turns the next one on the same carrier: take motor_on out of its file";
        entry.fault("names a stage with its motor on the parent", "not on the carrier", help);
        return false;
    }
    match finger {
        None => true,
        Some(_) if !last => {
            let help = "a gripper's finger is the last stage: name what turns its crank before it";
            entry.fault("names a gripper's finger", "not the last stage", help);
            false
        }
        Some(finger) if !finger.is_parallel_jaw() => {
            let label = "its pad swings with the rocker";
            entry.fault("names a finger that is not read behind a drive", label, TWO_DESIGNS);
            false
        }
        Some(_) if axis_points != sources.axis_points => {
            let help = "write the same axis_points into both files: turns of the motor, the crank and the pad count alike";
            entry.fault("names a finger that is seen from the other side", "axis_points", help);
            false
        }
        Some(_) => true,
    }
}
