//! `find --json`, schema `unloop/find/1`: SI, the unit in the field's name, what is not known as null.

use serde::Serialize;

use crate::handover::find::{
    EndedBy, Findings, FoundLoop, FourBarLoop, MotorCandidate, MotorSeat, MovingPair, NamedHeld,
    NamedSpring, Obstacle, Reach, ZeroPose,
};
use crate::linkage::Closure;

use super::check_json::check_json;
use super::words::verdict_word;

#[derive(Serialize)]
struct FindJson<'a> {
    schema: &'static str,
    file: &'a str,
    format: &'static str,
    model: &'a str,
    links: usize,
    moving_joints: usize,
    loops: Vec<LoopJson<'a>>,
    pairs: Vec<PairJson<'a>>,
    unread: usize,
    remarks: Vec<RemarkJson<'a>>,
}

#[derive(Serialize)]
struct RemarkJson<'a> {
    at: &'a str,
    message: &'a str,
}

#[derive(Serialize)]
struct PairJson<'a> {
    follower: &'a str,
    leader: &'a str,
    multiplier: f64,
    is_curved: bool,
    same_parent: bool,
    at: &'a str,
}

#[derive(Serialize)]
struct LoopJson<'a> {
    name: &'a str,
    links: &'a [String],
    joints: &'a [String],
    parts: Option<PartsJson<'a>>,
    roles: Option<RolesJson<'a>>,
    mechanism: Option<MechanismJson<'a>>,
    candidates: Vec<CandidateJson<'a>>,
    springs: Vec<SpringJson<'a>>,
    held: Vec<HeldJson<'a>>,
    linkage: Option<LinkageJson>,
    pins: Vec<PinJson<'a>>,
    planar: Option<bool>,
    gap_m: Option<f64>,
    motor_sign: Option<f64>,
    drawn: Option<PoseJson>,
    stroke: Option<StrokeJson>,
    transmission_ratio: Option<RatioJson>,
    verdict: Option<&'static str>,
    obstacles: Vec<NoteJson<'a>>,
    remarks: Vec<NoteJson<'a>>,
    check: Option<serde_json::Value>,
}

#[derive(Serialize)]
struct PartsJson<'a> {
    carrier: &'a str,
    crank: &'a str,
    coupler: &'a str,
    child: &'a str,
    crank_told_by: &'a str,
    child_told_by: &'a str,
}

#[derive(Serialize)]
struct RolesJson<'a> {
    motor: Option<&'a str>,
    motor_told_by: &'a str,
    motor_sits_on: &'static str,
    tied_to: Option<&'a str>,
    child: &'a str,
    child_told_by: &'a str,
}

#[derive(Serialize)]
struct MechanismJson<'a> {
    loops: &'a [String],
    tied_by: &'a str,
}

#[derive(Serialize)]
struct CandidateJson<'a> {
    motor: &'a str,
    driven: &'a str,
    stroke: StrokeJson,
    transmission_ratio: Option<RatioJson>,
}

#[derive(Serialize)]
struct SpringJson<'a> {
    joint: &'a str,
    stiffness_n_m_per_rad: f64,
    rests_at_rad: f64,
}

#[derive(Serialize)]
struct HeldJson<'a> {
    joint: &'a str,
    held_by: &'a str,
    reads_rad: f64,
    turned_rad: f64,
}

#[derive(Serialize)]
struct LinkageJson {
    kind: Option<&'static str>,
    class: Option<&'static str>,
    closure: Option<&'static str>,
    near_kind: Option<&'static str>,
    near_kind_off: Option<f64>,
    ground_m: f64,
    crank_m: f64,
    coupler_m: f64,
    rocker_m: f64,
}

#[derive(Serialize)]
struct PinJson<'a> {
    pin: &'static str,
    name: &'a str,
    at: &'a str,
    tilt_rad: Option<f64>,
    axial_m: f64,
    gap_m: f64,
}

#[derive(Serialize)]
struct PoseJson {
    crank_rad: f64,
    rocker_rad: f64,
}

#[derive(Serialize)]
struct StrokeJson {
    motor_rad: [f64; 2],
    joint_rad: [f64; 2],
    ended_by: &'static str,
    zero_pose: &'static str,
    zero_turn_rad: f64,
}

#[derive(Serialize)]
struct RatioJson {
    min: Option<f64>,
    max: Option<f64>,
}

#[derive(Serialize)]
struct NoteJson<'a> {
    code: &'static str,
    message: &'a str,
}

/// One file's findings.
///
/// # Errors
/// None that these types can earn.
pub fn find_json(found: &Findings) -> serde_json::Result<serde_json::Value> {
    serde_json::to_value(FindJson {
        schema: "unloop/find/1",
        file: &found.file,
        format: found.format,
        model: &found.model,
        links: found.links,
        moving_joints: found.joints,
        loops: found.loops.iter().map(loop_json).collect::<Result<_, _>>()?,
        pairs: found.pairs.iter().map(pair_json).collect(),
        unread: found.unread,
        remarks: found.remarks.iter().map(|(at, message)| RemarkJson { at, message }).collect(),
    })
}

fn pair_json(pair: &MovingPair) -> PairJson<'_> {
    PairJson {
        follower: &pair.follower,
        leader: &pair.leader,
        multiplier: pair.multiplier,
        is_curved: pair.is_curved,
        same_parent: pair.same_parent,
        at: &pair.whereabouts,
    }
}

fn notes(list: &[Obstacle]) -> Vec<NoteJson<'_>> {
    list.iter().map(|note| NoteJson { code: note.code, message: &note.message }).collect()
}

fn loop_json(one: &FoundLoop) -> serde_json::Result<LoopJson<'_>> {
    let four_bar = one.four_bar.as_ref();
    let check = one.judged.as_ref().map(|judged| &judged.check);
    Ok(LoopJson {
        name: &one.name,
        links: &one.links,
        joints: &one.pins,
        parts: four_bar.and_then(|_| parts(one)),
        roles: four_bar.and_then(|found| roles(one, found)),
        mechanism: one
            .mechanism
            .as_ref()
            .map(|tied| MechanismJson { loops: &tied.loops, tied_by: &tied.tied_by }),
        candidates: one.candidates.iter().map(candidate).collect(),
        springs: one.springs.iter().map(spring).collect(),
        held: one.held.iter().map(held).collect(),
        linkage: four_bar.map(|found| linkage(one, found)),
        pins: four_bar.map_or_else(Vec::new, pins),
        planar: four_bar.map(|_| !one.obstacles.iter().any(|o| o.code == "spatial")),
        gap_m: four_bar.map(|found| found.gap().1),
        motor_sign: four_bar.map(FourBarLoop::motor_sign),
        drawn: four_bar
            .map(|found| PoseJson { crank_rad: found.drawn[0], rocker_rad: found.drawn[1] }),
        stroke: one.reach.as_ref().map(stroke),
        transmission_ratio: one.ratio.map(ratio),
        verdict: check.map(|check| verdict_word(check.verdict)),
        obstacles: notes(&one.obstacles),
        remarks: notes(&one.remarks),
        check: check.map(check_json).transpose()?,
    })
}

fn stroke(reach: &Reach) -> StrokeJson {
    StrokeJson {
        motor_rad: reach.motor,
        joint_rad: reach.joint,
        ended_by: match reach.ended_by {
            EndedBy::Limits => "limits",
            EndedBy::TransmissionAngle => "transmission_angle",
            EndedBy::DeadPoint => "dead_point",
        },
        zero_pose: match reach.zero_pose {
            ZeroPose::Drawn => "drawn",
            ZeroPose::DrawnOutside => "drawn_outside_limits",
            ZeroPose::Flat => "middle_drawn_flat",
            ZeroPose::FlatOutside => "middle_drawn_flat_outside_limits",
        },
        zero_turn_rad: reach.zero,
    }
}

fn ratio([min, max]: [f64; 2]) -> RatioJson {
    RatioJson { min: min.is_finite().then_some(min), max: max.is_finite().then_some(max) }
}

fn candidate(one: &MotorCandidate) -> CandidateJson<'_> {
    CandidateJson {
        motor: &one.motor,
        driven: &one.driven,
        stroke: stroke(&one.reach),
        transmission_ratio: one.ratio.map(ratio),
    }
}

fn spring(one: &NamedSpring) -> SpringJson<'_> {
    SpringJson {
        joint: &one.joint,
        stiffness_n_m_per_rad: one.stiffness,
        rests_at_rad: one.rests_at,
    }
}

fn held(one: &NamedHeld) -> HeldJson<'_> {
    HeldJson { joint: &one.joint, held_by: &one.by, reads_rad: one.reads, turned_rad: one.turned }
}

fn roles<'a>(one: &'a FoundLoop, found: &'a FourBarLoop) -> Option<RolesJson<'a>> {
    let [_, _, _, child] = one.parts.as_ref()?;
    let roles = &found.roles;
    Some(RolesJson {
        motor: one.motor.as_deref(),
        motor_told_by: &roles.motor_told_by,
        motor_sits_on: match roles.seat {
            MotorSeat::Crank => "crank",
            MotorSeat::Child => "child",
        },
        tied_to: one.tied_to.as_deref(),
        child,
        child_told_by: &roles.child_told_by,
    })
}

fn parts(one: &FoundLoop) -> Option<PartsJson<'_>> {
    let [carrier, crank, coupler, child] = one.parts.as_ref()?;
    let roles = &one.four_bar.as_ref()?.roles;
    let (crank_told_by, child_told_by) = (&*roles.motor_told_by, &*roles.child_told_by);
    Some(PartsJson { carrier, crank, coupler, child, crank_told_by, child_told_by })
}

fn linkage(one: &FoundLoop, found: &FourBarLoop) -> LinkageJson {
    let bars = found.bars;
    let near = one.nature.and_then(|nature| nature.near);
    LinkageJson {
        kind: one.nature.map(|nature| nature.kind.name()),
        class: one.nature.map(|nature| nature.class.name()),
        closure: one.nature.map(|nature| match nature.closure {
            Closure::Open => "open",
            Closure::Crossed => "crossed",
        }),
        near_kind: near.map(|(kind, _)| kind.name()),
        near_kind_off: near.map(|(_, off)| off),
        ground_m: bars.ground,
        crank_m: bars.crank,
        coupler_m: bars.coupler,
        rocker_m: bars.rocker,
    }
}

fn pins(found: &FourBarLoop) -> Vec<PinJson<'_>> {
    let names = ["motor", "crank", "rocker", "joint"];
    let pins = found.pins.iter().zip(names);
    pins.map(|(pin, name)| PinJson {
        pin: name,
        name: &pin.name,
        at: &pin.whereabouts,
        tilt_rad: pin.tilt,
        axial_m: pin.axial,
        gap_m: pin.gap(),
    })
    .collect()
}
