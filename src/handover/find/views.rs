//! What of a loop has another shape in JSON than it has.

use serde::{Serialize, Serializer};
use serde_json::{Map, Value, json};

use super::loop_drive::LoopDrive;
use super::{FoundLoop, FourBarLoop, Jaw, PointDrive};
use crate::drive::Kind;
use crate::linkage::FourBar;
use crate::study::{AtMotor, Ends, FingerFindings, Near};

shapes! {
    pub(super) fn remarks([(String, String)] as all) =
        all.iter().map(|(at, message)| json!({ "at": at, "message": message })).collect::<Value>();

    pub(super) fn ratio(Option<[f64; 2]> as ratio) = ratio.map(|ratio| Ends::of(Some(ratio)));

    pub(super) fn point_drives([PointDrive] as all) = all.iter().map(point_drive).collect::<Value>();
}

fn point_drive(one: &PointDrive) -> Value {
    json!({
        "name": one.name,
        "joint": one.joint,
        "at": one.whereabouts,
        "drive": drive_view(&one.drive),
    })
}

impl Serialize for FoundLoop {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let four_bar = self.four_bar.as_ref();
        let check = self.check();
        // Of a drive in space lengths, stroke and ratio would be those of its shadow.
        let is_plane = self.drive.is_none() && !four_bar.is_some_and(FourBarLoop::slides);
        let said = || self.obstacles.iter().chain(&self.remarks);
        let ratio = self.ratio.filter(|_| is_plane);
        let told = json!({
            "name": self.name,
            "links": self.links,
            "joints": self.pins,
            "parts": four_bar.and_then(|found| parts(self, found)),
            "roles": four_bar.and_then(|found| roles(self, found)),
            "mechanism": self.mechanism,
            "jaw": self.jaw.as_ref().map(|jaw| jaw_view(self, jaw)),
            "candidates": self.candidates,
            "springs": four_bar.map_or(&[][..], |found| &found.springs),
            "held": four_bar.map_or(&[][..], |found| &found.held),
            "linkage": four_bar.filter(|_| is_plane).map(|found| linkage(self, found)),
            "pins": four_bar.map_or_else(Vec::new, pins),
            "planar": four_bar.map(|_| !said().any(|o| o.code == "spatial")),
            "gap_m": four_bar.map(|found| found.gap().1),
            "motor_sign": four_bar.map(FourBarLoop::motor_sign),
            "drawn": four_bar
                .filter(|found| !found.slides())
                .map(|found| json!({ "crank_rad": found.drawn[0], "rocker_rad": found.drawn[1] })),
            "stroke": self.reach.as_ref().filter(|_| is_plane),
            "transmission_ratio": ratio.map(|ratio| Ends::of(Some(ratio))),
            "verdict": check.map(|check| check.verdict),
            "obstacles": self.obstacles,
            "remarks": self.remarks,
            "drive": self.drive.as_ref().map(drive_view),
            "check": check,
        });
        told.serialize(serializer)
    }
}

fn parts(one: &FoundLoop, found: &FourBarLoop) -> Option<Value> {
    let [carrier, crank, coupler, child] = one.parts.as_ref()?;
    Some(json!({
        "carrier": carrier,
        "crank": crank,
        "coupler": coupler,
        "child": child,
        "crank_told_by": found.roles.motor_told_by,
        "child_told_by": found.roles.child_told_by,
    }))
}

fn roles(one: &FoundLoop, found: &FourBarLoop) -> Option<Value> {
    let [_, _, _, child] = one.parts.as_ref()?;
    let roles = &found.roles;
    Some(json!({
        "motor": one.motor,
        "motor_told_by": roles.motor_told_by,
        "motor_sits_on": roles.seat,
        "tied_to": one.tied_to,
        "child": child,
        "child_told_by": roles.child_told_by,
    }))
}

/// What the pad does over the stroke; `null` where the loop is not judged.
fn jaw_view(one: &FoundLoop, jaw: &Jaw) -> Value {
    let four_bar = one.four_bar.as_ref();
    let found = one.judged.as_ref().and_then(|judged| judged.check.finger.as_ref());
    let ends = |figure: fn(&FingerFindings) -> [AtMotor; 2]| {
        found.map(|found| Ends::of(Some(figure(found).map(|at| at.value))))
    };
    json!({
        "told_by": four_bar.and_then(|f| f.roles.jaw_told_by.as_deref()).unwrap_or_default(),
        "radius_m": four_bar.map(|f| f.bars.crank),
        "point_m": jaw.pad.point,
        "point_told_by": jaw.point_told_by,
        "closing": jaw.pad.closing,
        "closing_told_by": jaw.closing_told_by,
        "zero_opening_m": jaw.opening,
        "other": jaw.other.as_ref().map(|other| other.name.as_str()),
        "other_turns": jaw.other.as_ref().map(|other| other.slope),
        "tilt_rad": ends(|f| f.tilt),
        "opening_m": ends(|f| f.opening).filter(|_| jaw.opening.is_some()),
        "shift_m": ends(|f| f.shift),
        "grip_n_per_n_m": ends(|f| f.grip),
    })
}

#[derive(Serialize)]
struct Linkage<'a> {
    #[serde(flatten)]
    nature: Value,
    #[serde(flatten)]
    near: Near,
    #[serde(flatten)]
    bars: &'a FourBar,
}

fn linkage<'a>(one: &FoundLoop, found: &'a FourBarLoop) -> Linkage<'a> {
    let nature = json!({
        "kind": one.nature.map(|nature| nature.kind),
        "class": one.nature.map(|nature| nature.class),
        "closure": one.nature.map(|nature| nature.closure),
    });
    let near = Near::of(one.nature.and_then(|nature| nature.near));
    Linkage { nature, near, bars: &found.bars }
}

fn pins(found: &FourBarLoop) -> Vec<Value> {
    let names = ["motor", "crank", "rocker", "joint"];
    let pins = found.pins.iter().zip(names);
    pins.map(|(pin, name)| {
        json!({
            "pin": name,
            "name": pin.name,
            "at": pin.whereabouts,
            "tilt_rad": pin.tilt,
            "axial_m": pin.axial,
            "gap_m": pin.gap(),
        })
    })
    .collect()
}

/// A drive that was found.
fn drive_view(found: &LoopDrive) -> Value {
    let sizes = found.figures().into_iter();
    let sizes: Map<String, Value> =
        sizes.map(|(name, value)| (name.to_owned(), value.into())).collect();
    json!({
        "kind": found.drawing.kind(),
        "motor": found.motor.map(|_| &found.joints[0]),
        "joint": found.joints[1],
        "sizes": sizes,
        "stroke": {
            "motor_rad": found.motor_turns,
            "joint_rad": found.joint_turns,
            "ended_by_limits": found.ended_by_limits,
        },
        "transmission_ratio": found.ratio,
        "transmission_angle_rad": Some(found.transmission_angle).filter(|x| x.is_finite()),
        "ball_tilt_rad": (found.drawing.kind() == Kind::BallRod).then_some(found.ball_tilt),
        "lead_known": !found.has_no_screw,
    })
}
