//! What of a loop has another shape in JSON than it has.

use serde::{Serialize, Serializer};

use super::PointDrive;
use super::drive_view::DriveView;
use super::{
    FoundLoop, FourBarLoop, HeldJoint, Jaw, LoopSpring, MotorCandidate, MotorSeat, Obstacle, Reach,
    TiedLoops,
};
use crate::equivalence::Verdict;
use crate::linkage::{Class, Closure, FourBar, Kind};
use crate::study::{AtMotor, Check, Ends, FingerFindings, Near};

#[derive(Serialize)]
struct Remark<'a> {
    at: &'a str,
    message: &'a str,
}

pub(super) fn remarks<S: Serializer>(
    all: &[(String, String)],
    serializer: S,
) -> Result<S::Ok, S::Error> {
    serializer.collect_seq(all.iter().map(|(at, message)| Remark { at, message }))
}

#[derive(Serialize)]
struct PointView<'a> {
    name: &'a str,
    joint: &'a str,
    at: &'a str,
    drive: DriveView,
}

pub(super) fn point_drives<S: Serializer>(
    all: &[PointDrive],
    serializer: S,
) -> Result<S::Ok, S::Error> {
    serializer.collect_seq(all.iter().map(|one| PointView {
        name: &one.name,
        joint: &one.joint,
        at: &one.whereabouts,
        drive: DriveView::of(&one.drive),
    }))
}

pub(super) fn ratio<S: Serializer>(
    ratio: &Option<[f64; 2]>,
    serializer: S,
) -> Result<S::Ok, S::Error> {
    ratio.map(|ratio| Ends::of(Some(ratio))).serialize(serializer)
}

#[derive(Serialize)]
struct Told<'a> {
    name: &'a str,
    links: &'a [String],
    joints: &'a [String],
    parts: Option<Parts<'a>>,
    roles: Option<LoopRoles<'a>>,
    mechanism: &'a Option<TiedLoops>,
    jaw: Option<JawView<'a>>,
    candidates: &'a [MotorCandidate],
    springs: &'a [LoopSpring],
    held: &'a [HeldJoint],
    linkage: Option<Linkage<'a>>,
    pins: Vec<Pin<'a>>,
    planar: Option<bool>,
    gap_m: Option<f64>,
    motor_sign: Option<f64>,
    drawn: Option<Pose>,
    stroke: Option<&'a Reach>,
    #[serde(serialize_with = "ratio")]
    transmission_ratio: Option<[f64; 2]>,
    verdict: Option<Verdict>,
    obstacles: &'a [Obstacle],
    remarks: &'a [Obstacle],
    drive: Option<DriveView>,
    check: Option<&'a Check>,
}

#[derive(Serialize)]
struct Parts<'a> {
    carrier: &'a str,
    crank: &'a str,
    coupler: &'a str,
    child: &'a str,
    crank_told_by: &'a str,
    child_told_by: &'a str,
}

#[derive(Serialize)]
struct LoopRoles<'a> {
    motor: Option<&'a str>,
    motor_told_by: &'a str,
    motor_sits_on: MotorSeat,
    tied_to: Option<&'a str>,
    child: &'a str,
    child_told_by: &'a str,
}

#[derive(Serialize)]
struct Linkage<'a> {
    kind: Option<Kind>,
    class: Option<Class>,
    closure: Option<Closure>,
    #[serde(flatten)]
    near: Near,
    #[serde(flatten)]
    bars: &'a FourBar,
}

#[derive(Serialize)]
struct Pin<'a> {
    pin: &'static str,
    name: &'a str,
    at: &'a str,
    tilt_rad: Option<f64>,
    axial_m: f64,
    gap_m: f64,
}

#[derive(Serialize)]
struct Pose {
    crank_rad: f64,
    rocker_rad: f64,
}

impl Serialize for FoundLoop {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let four_bar = self.four_bar.as_ref();
        let check = self.check();
        // Of a drive in space lengths, stroke and ratio would be those of its shadow.
        let is_plane = self.drive.is_none() && !four_bar.is_some_and(FourBarLoop::slides);
        let said = || self.obstacles.iter().chain(&self.remarks);
        Told {
            name: &self.name,
            links: &self.links,
            joints: &self.pins,
            parts: four_bar.and_then(|found| parts(self, found)),
            roles: four_bar.and_then(|found| roles(self, found)),
            mechanism: &self.mechanism,
            jaw: self.jaw.as_ref().map(|jaw| JawView::of(self, jaw)),
            candidates: &self.candidates,
            springs: four_bar.map_or(&[], |found| &found.springs),
            held: four_bar.map_or(&[], |found| &found.held),
            linkage: four_bar.filter(|_| is_plane).map(|found| linkage(self, found)),
            pins: four_bar.map_or_else(Vec::new, pins),
            planar: four_bar.map(|_| !said().any(|o| o.code == "spatial")),
            gap_m: four_bar.map(|found| found.gap().1),
            motor_sign: four_bar.map(FourBarLoop::motor_sign),
            drawn: four_bar
                .filter(|f| !f.slides())
                .map(|f| Pose { crank_rad: f.drawn[0], rocker_rad: f.drawn[1] }),
            stroke: self.reach.as_ref().filter(|_| is_plane),
            transmission_ratio: self.ratio.filter(|_| is_plane),
            verdict: check.map(|check| check.verdict),
            obstacles: &self.obstacles,
            remarks: &self.remarks,
            drive: self.drive.as_ref().map(DriveView::of),
            check,
        }
        .serialize(serializer)
    }
}

fn parts<'a>(one: &'a FoundLoop, found: &'a FourBarLoop) -> Option<Parts<'a>> {
    let [carrier, crank, coupler, child] = one.parts.as_ref()?;
    let (crank_told_by, child_told_by) = (&*found.roles.motor_told_by, &*found.roles.child_told_by);
    Some(Parts { carrier, crank, coupler, child, crank_told_by, child_told_by })
}

fn roles<'a>(one: &'a FoundLoop, found: &'a FourBarLoop) -> Option<LoopRoles<'a>> {
    let [_, _, _, child] = one.parts.as_ref()?;
    let roles = &found.roles;
    Some(LoopRoles {
        motor: one.motor.as_deref(),
        motor_told_by: &roles.motor_told_by,
        motor_sits_on: roles.seat,
        tied_to: one.tied_to.as_deref(),
        child,
        child_told_by: &roles.child_told_by,
    })
}

/// What the pad does over the stroke; `null` where the loop is not judged.
#[derive(Serialize)]
struct JawView<'a> {
    told_by: &'a str,
    radius_m: Option<f64>,
    point_m: [f64; 2],
    point_told_by: &'a str,
    closing: [f64; 2],
    closing_told_by: &'a str,
    zero_opening_m: Option<f64>,
    other: Option<&'a str>,
    other_turns: Option<f64>,
    tilt_rad: Option<Ends>,
    opening_m: Option<Ends>,
    shift_m: Option<Ends>,
    grip_n_per_n_m: Option<Ends>,
}

impl<'a> JawView<'a> {
    fn of(one: &'a FoundLoop, jaw: &'a Jaw) -> Self {
        let four_bar = one.four_bar.as_ref();
        let found = one.judged.as_ref().and_then(|judged| judged.check.finger.as_ref());
        let ends = |figure: fn(&FingerFindings) -> [AtMotor; 2]| {
            found.map(|found| Ends::of(Some(figure(found).map(|at| at.value))))
        };
        Self {
            told_by: four_bar.and_then(|f| f.roles.jaw_told_by.as_deref()).unwrap_or_default(),
            radius_m: four_bar.map(|f| f.bars.crank),
            point_m: jaw.pad.point,
            point_told_by: &jaw.point_told_by,
            closing: jaw.pad.closing,
            closing_told_by: &jaw.closing_told_by,
            zero_opening_m: jaw.opening,
            other: jaw.other.as_ref().map(|other| other.name.as_str()),
            other_turns: jaw.other.as_ref().map(|other| other.slope),
            tilt_rad: ends(|f| f.tilt),
            opening_m: ends(|f| f.opening).filter(|_| jaw.opening.is_some()),
            shift_m: ends(|f| f.shift),
            grip_n_per_n_m: ends(|f| f.grip),
        }
    }
}

fn linkage<'a>(one: &'a FoundLoop, found: &'a FourBarLoop) -> Linkage<'a> {
    Linkage {
        kind: one.nature.map(|nature| nature.kind),
        class: one.nature.map(|nature| nature.class),
        closure: one.nature.map(|nature| nature.closure),
        near: Near::of(one.nature.and_then(|nature| nature.near)),
        bars: &found.bars,
    }
}

fn pins(found: &FourBarLoop) -> Vec<Pin<'_>> {
    let names = ["motor", "crank", "rocker", "joint"];
    let pins = found.pins.iter().zip(names);
    pins.map(|(pin, name)| Pin {
        pin: name,
        name: &pin.name,
        at: &pin.whereabouts,
        tilt_rad: pin.tilt,
        axial_m: pin.axial,
        gap_m: pin.gap(),
    })
    .collect()
}
