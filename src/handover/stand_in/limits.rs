//! How far may the joint turn: the tighter of the stroke and the motor's stops, the latter taken through
//! the linkage itself and not through the constant ratio.

use crate::handover::fault::EmitFault;
use crate::linkage::Stroke;

/// What a limit comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LimitSetBy {
    /// The end of the stroke.
    Stroke,
    /// A stop of the motor.
    MotorStop,
}

impl LimitSetBy {
    /// `stroke` or `motor stop`.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Stroke => "stroke",
            Self::MotorStop => "motor stop",
        }
    }
}

/// One end of the joint's travel.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct JointLimit {
    /// rad: a reading of the robot's software in [`super::JointFigures`].
    pub angle: f64,
    /// Where it comes from.
    pub set_by: LimitSetBy,
}

/// The motor turns of the stroke between the stops, the smaller first where they leave anything of it.
pub(in crate::handover) fn between_stops(stroke: &Stroke, stops: Option<[f64; 2]>) -> [f64; 2] {
    let [first, last] = stroke.motor;
    let [low, high] = stops.unwrap_or(stroke.motor);
    [low.max(first), high.min(last)]
}

/// The same, where there are any.
///
/// # Errors
/// When the stops leave nothing of the stroke.
pub(in crate::handover) fn motor_turns(
    stroke: &Stroke,
    stops: Option<[f64; 2]>,
) -> Result<[f64; 2], EmitFault> {
    let [low, high] = between_stops(stroke, stops);
    if low >= high {
        let stops = stops.unwrap_or(stroke.motor);
        return Err(EmitFault::StopsLeaveNothing { stops, stroke: stroke.motor });
    }
    Ok([low, high])
}

/// The joint's limits, not yet readings but turns from the zero pose about the design's axis, the smaller first.
///
/// `stops` are motor turns, the smaller first; a stop counts only inside the stroke, where
/// `joint_of_motor` turns it into the joint turn of the linkage.
///
/// # Errors
/// When the stops leave nothing of the stroke, or the linkage cannot stand at a stop.
pub(in crate::handover) fn joint_limits(
    stroke: &Stroke,
    stops: Option<[f64; 2]>,
    joint_of_motor: &dyn Fn(f64) -> Option<f64>,
) -> Result<[JointLimit; 2], EmitFault> {
    let [first, last] = stroke.motor;
    let [low, high] = motor_turns(stroke, stops)?;
    let stop_at = |motor: f64| {
        let angle = joint_of_motor(motor).ok_or(EmitFault::StopNotReached { motor })?;
        Ok(JointLimit { angle, set_by: LimitSetBy::MotorStop })
    };
    let [mut start, mut end] =
        stroke.joint.map(|angle| JointLimit { angle, set_by: LimitSetBy::Stroke });
    if low > first {
        start = stop_at(low)?;
    }
    if high < last {
        end = stop_at(high)?;
    }
    Ok(rising(start, end))
}

/// The limits as the robot's software reads them: `joint_reads` + `sense` · turn, the smaller first.
#[must_use]
pub(in crate::handover) fn readings(
    limits: [JointLimit; 2],
    joint_reads: f64,
    sense: f64,
) -> [JointLimit; 2] {
    let [a, b] = limits.map(|l| JointLimit { angle: joint_reads + sense * l.angle, ..l });
    rising(a, b)
}

/// The limits moved out to what the joint reaches in between, where the rocker turns back within the stroke.
#[must_use]
pub(in crate::handover) fn widened(
    [low, high]: [JointLimit; 2],
    reached: Vec<f64>,
) -> [JointLimit; 2] {
    let of_stroke = |angle| JointLimit { angle, set_by: LimitSetBy::Stroke };
    reached.into_iter().fold([low, high], |[low, high], angle| {
        let low = if angle < low.angle { of_stroke(angle) } else { low };
        let high = if angle > high.angle { of_stroke(angle) } else { high };
        [low, high]
    })
}

fn rising(a: JointLimit, b: JointLimit) -> [JointLimit; 2] {
    if a.angle <= b.angle { [a, b] } else { [b, a] }
}

#[cfg(test)]
mod tests {
    use super::*;

    const STROKE: Stroke = Stroke { motor: [-1.0, 1.0], joint: [0.5, -0.5] };

    fn through(motor: f64) -> Option<f64> {
        Some(-0.5 * motor - 0.01)
    }

    #[test]
    fn without_stops_the_stroke_sets_both_limits_in_rising_order() {
        let [low, high] = joint_limits(&STROKE, None, &through).unwrap();
        assert_eq!((low.angle, high.angle), (-0.5, 0.5));
        assert_eq!((low.set_by, high.set_by), (LimitSetBy::Stroke, LimitSetBy::Stroke));
    }

    #[test]
    fn a_stop_inside_the_stroke_is_taken_through_the_linkage() {
        let [low, high] = joint_limits(&STROKE, Some([-2.0, 0.8]), &through).unwrap();
        assert_eq!((low.angle, low.set_by), (-0.41000000000000003, LimitSetBy::MotorStop));
        assert_eq!((high.angle, high.set_by), (0.5, LimitSetBy::Stroke));
    }

    #[test]
    fn a_mirrored_joint_swaps_the_sides_about_its_zero_reading() {
        let limits = joint_limits(&STROKE, Some([-2.0, 0.8]), &through).unwrap();
        let [low, high] = readings(limits, 0.1, -1.0);
        assert_eq!((low.angle, low.set_by), (-0.4, LimitSetBy::Stroke));
        assert_eq!((high.angle, high.set_by), (0.51, LimitSetBy::MotorStop));
    }

    #[test]
    fn a_rocker_that_turns_back_within_the_stroke_is_not_held_short_of_there() {
        let limits = joint_limits(&STROKE, None, &through).unwrap();
        let [low, high] = widened(limits, vec![0.2, 0.7]);
        assert_eq!((low.angle, high.angle), (-0.5, 0.7));
    }

    #[test]
    fn stops_outside_the_stroke_leave_nothing() {
        let fault = joint_limits(&STROKE, Some([1.0, 2.0]), &through).unwrap_err();
        assert!(matches!(fault, EmitFault::StopsLeaveNothing { .. }));
    }

    #[test]
    fn a_stop_that_the_linkage_does_not_reach_is_named() {
        let fault = joint_limits(&STROKE, Some([-0.5, 2.0]), &|_| None).unwrap_err();
        assert_eq!(fault, EmitFault::StopNotReached { motor: -0.5 });
    }
}
