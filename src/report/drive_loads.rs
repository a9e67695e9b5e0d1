//! `loads` of drives other than a planar four-bar: balls, screw, guide, play of the motor, in words.

use crate::dynamics::{BallTilts, InSpace, Loads, ScrewDuty, ScrewLoads};
use crate::linkage::Extreme;
use crate::study::LoadFindings;
use crate::units::{angle, degrees, percent};

use super::blocks::{Group, listed};
use super::finger_loads::with_unit;

pub(super) fn at(found: &LoadFindings, e: Extreme) -> String {
    format!(" at joint {}", angle(found.joint_reading_at(e.turn), 1))
}

/// What only such drives have.
pub(super) fn group(found: &LoadFindings, loads: &Loads) -> Group {
    let Some(InSpace { ball_tilt, backlash, screw }) = &loads.in_space else {
        return Group::new();
    };
    let mut lines = tilts(found, ball_tilt);
    if let Some(play) = backlash {
        lines.push(format!(
            "joint turn within the motor's backlash: {}{}",
            degrees(play.value),
            at(found, *play)
        ));
    }
    if let Some(screw) = screw {
        lines.extend(losses(screw));
        let given = [("peak", &screw.peak), ("rated", &screw.rated)];
        let given = given.into_iter().filter_map(|(name, duty)| Some((name, duty.as_ref()?)));
        lines.extend(given.flat_map(|(name, duty)| thrust(found, name, duty)));
    }
    listed("balls, screw, guide", lines)
}

fn tilts(found: &LoadFindings, tilts: &BallTilts) -> Vec<String> {
    let BallTilts { crank, rocker } = tilts;
    let tilt = |(pin, tilt): (&str, &Option<Extreme>)| {
        let tilt = (*tilt)?;
        Some(format!(
            "tilt of the ball at {pin}, largest: {}{}",
            degrees(tilt.value),
            at(found, tilt)
        ))
    };
    [("P", crank), ("Q", rocker)].into_iter().filter_map(tilt).collect()
}

fn losses(screw: &ScrewLoads) -> Vec<String> {
    let driving = screw.efficiency.map(|share| {
        format!("the screw lets {} of the motor's work through; the guaranteed torque is after that loss", percent(share))
    });
    let back = match (screw.locks_itself, screw.back_efficiency) {
        (Some(true), _) => Some(
            "the screw locks itself: no load turns the motor back, and no direct joint with damping stands in for that"
                .to_owned(),
        ),
        (_, Some(share)) => {
            Some(format!("the load drives the motor back with {} of its work", percent(share)))
        }
        _ => None,
    };
    driving.into_iter().chain(back).collect()
}

fn thrust(found: &LoadFindings, name: &str, duty: &ScrewDuty) -> Vec<String> {
    let thrust = with_unit(duty.thrust, "N");
    let mut lines = vec![format!("thrust in the screw at {name} torque, without loss: {thrust}")];
    if let Some(side) = duty.side_force {
        let force = with_unit(side.value, "N");
        lines.push(format!("across the guide at {name} torque: {force}{}", at(found, side)));
    }
    if let Some(back) = duty.back_driving {
        let torque = with_unit(back.value, "N m");
        lines.push(format!(
            "the motor at {name} torque is driven back by {torque} at the joint{}",
            at(found, back)
        ));
    }
    lines
}
