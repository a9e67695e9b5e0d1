//! What a reader should know besides the verdict.

use std::f64::consts::PI;

use crate::design::{AxisPoints, Design, Dimension};
use crate::diagnostic::Code;
use crate::linkage::Kind;
use crate::units::{angle, degrees, fixed, millimetres};

use super::findings::{Check, Limit, Warning};
use super::lacking::named;
use super::slips;

/// A stroke that ends this near to a limit gets a warning.
const NEAR: f64 = 10.0 * PI / 180.0;

/// All that applies to `check`, in the order of the motion: limits first, then form, then reading.
#[must_use]
pub(super) fn of(design: &Design, check: &Check) -> Vec<Warning> {
    [
        near_limit(Code::NearChangePoint, "change point, where the linkage can leave on either side", check.change_point, turned(check)),
        near_limit(Code::NearCrankLimit, "crank limit (toggle), where the crank can go no further and pin forces grow without bound", check.crank_limit, turned(check)),
        rocker_limit(check),
        stands_still(check),
        near_toggle(check),
        pads_meet(check),
        nearly_special(check),
        zero_outside(check),
        ratio_given_off(check),
        axial_spread(check),
        axis_away(design),
    ]
    .into_iter()
    .flatten()
    .chain(outside_limits(design))
    .chain(design.front.is_none().then(|| slips::warnings(design)).into_iter().flatten())
    .collect()
}

/// What the turns of the stroke are of.
fn turned(check: &Check) -> &'static str {
    if check.readings.front().is_some() { "crank" } else { "motor" }
}

fn near_limit(code: Code, what: &str, limit: Option<Limit>, whose: &str) -> Option<Warning> {
    let limit = limit.filter(|l| l.margin < NEAR)?;
    let margin = angle(limit.margin, 2);
    let message = format!("the stroke ends {margin} of {whose} angle before a {what}");
    Some(Warning { code, message })
}

fn rocker_limit(check: &Check) -> Option<Warning> {
    // Nothing drives a pad on the coupler by its rocker: what counts there is the toggle.
    let limit = check.rocker_limit.filter(|l| l.margin < NEAR && !check.is_of_pad())?;
    if limit.margin <= 0.0 {
        let message = format!(
            "the stroke passes a dead point at joint {}: the rocker turns back there and cannot drive the crank",
            angle(check.readings.joint(limit.at), 2)
        );
        return Some(Warning { code: Code::DeadPointInStroke, message });
    }
    near_limit(
        Code::NearDeadPoint,
        "dead point (rocker limit), where the rocker cannot drive the crank",
        Some(limit),
        "joint",
    )
}

fn stands_still(check: &Check) -> Option<Warning> {
    check.direct_joint.ratio.is_infinite().then(|| Warning {
        code: Code::RockerStandsStill,
        message: "the rocker comes to no turn over the stroke: there is no ratio to give. Is the zero pose on the assembly that moves, and is each length in its place?".to_owned(),
    })
}

fn near_toggle(check: &Check) -> Option<Warning> {
    let toggle = check.finger.as_ref()?.toggle.filter(|toggle| toggle.margin < NEAR)?;
    let at = match check.readings.motor(toggle.motor) {
        beyond if beyond.is_nan() => "beyond the drive's reach".to_owned(),
        at => angle(at, 2),
    };
    let message = if toggle.margin <= 0.0 {
        format!(
            "the stroke passes the gripper's toggle at motor {at}: behind it the pad opens as the motor goes on, and a load opens it"
        )
    } else {
        format!(
            "the stroke ends {} of {} angle before the gripper's toggle at motor {at}, behind which it opens under load",
            angle(toggle.margin, 2),
            turned(check)
        )
    };
    Some(Warning { code: Code::NearToggle, message })
}

/// Pads that close to this, m, just touch at the end of the stroke.
const MEET: f64 = 1e-9;

fn pads_meet(check: &Check) -> Option<Warning> {
    let [least, _] = check.finger.as_ref()?.opening;
    (least.value < -MEET).then(|| Warning {
        code: Code::PadsMeet,
        message: format!(
            "the pads meet within the stroke: the opening would come to {} at motor {}",
            millimetres(least.value),
            angle(check.readings.motor(least.motor), 1)
        ),
    })
}

fn nearly_special(check: &Check) -> Option<Warning> {
    let facts = check.linkage.filter(|facts| facts.kind == Kind::General)?;
    let (kind, off) = facts.near?;
    let message = format!(
        "the lengths miss a {} by {} % of the longest; if one is meant, check the drawing",
        kind.name(),
        fixed(100.0 * off, 3)
    );
    Some(Warning { code: Code::NearlySpecial, message })
}

pub(super) fn zero_outside(check: &Check) -> Option<Warning> {
    let [from, to] = check.stroke.motor;
    (from > 0.0 || to < 0.0).then(|| Warning {
        code: Code::ZeroOutsideStroke,
        message: "the zero pose lies outside the stroke: errors are counted from a pose that is never used".to_owned(),
    })
}

pub(super) fn ratio_given_off(check: &Check) -> Option<Warning> {
    let mean = check.transmission_ratio.mean;
    (!check.ratio_is_best && check.direct_joint.ratio * mean < 0.0).then(|| Warning {
        code: Code::RatioSign,
        message: format!(
            "the ratio given has the wrong sign: over the stroke the linkage has {}",
            fixed(mean, 5)
        ),
    })
}

fn axial_spread(check: &Check) -> Option<Warning> {
    let [_, crank, rocker] = check.axial_offsets?;
    let apart = (rocker - crank).abs();
    (apart > 1e-6 * check.linkage?.bars.longest()).then(|| Warning {
        code: Code::AxialOffsets,
        message: format!(
            "the rod's two pins stand {} mm apart along the axis: a straight rod on parallel pins cannot be assembled so, and a bent one bends its pins",
            fixed(apart * 1e3, 2)
        ),
    })
}

/// Sizes that lie outside their own limits.
pub(super) fn outside_limits(design: &Design) -> Option<Warning> {
    let g = &design.geometry;
    let lengths = [
        ("ground", &g.ground),
        ("crank", &g.crank),
        ("coupler", &g.coupler),
        ("rocker", &g.rocker),
    ];
    let length = |(name, d): (&str, &Dimension)| {
        let written = millimetres(d.written_outside?);
        Some(format!("{name} {written} (judged from {})", millimetres(d.nominal)))
    };
    let angle = g.zero_crank.written_outside.map(|written| {
        let middle = degrees(g.zero_crank.nominal);
        format!("[zero] crank {} (judged from {middle})", degrees(written))
    });
    let named: Vec<String> = lengths.into_iter().filter_map(length).chain(angle).collect();
    (!named.is_empty()).then(|| Warning {
        code: Code::DrawnOutsideLimits,
        message: format!(
            "a size lies outside its own limits, so that none is built to it; the middle of the limits stands for it: {}",
            named.join(", ")
        ),
    })
}

pub(super) fn axis_away<G>(design: &Design<G>) -> Option<Warning> {
    (design.axis_points == AxisPoints::Away).then(|| Warning {
        code: Code::AxisPointsAway,
        message: "the joint axis points away from the reader of the drawing: the robot counts angles against the drawing; readings here are in the drawing's sense, as in [stroke]".to_owned(),
    })
}

/// Tables that are read and kept but that `check` cannot use yet.
#[must_use]
pub(super) fn unused(design: &Design, check: &Check) -> Vec<&'static str> {
    named([
        (design.motion.is_some() && check.inertia.is_none(), "[motion]"),
        (!design.together.is_empty(), "[tolerance] together"),
    ])
}
