//! What carrier, middle link and child weigh, all seen in the carrier's frame in the design's zero pose.

use super::kept::Kept;
use super::{DesignSide, Seen};
use crate::design::TwoJointRobot;
use crate::dynamics::{Moments, TwoJointParts};
use crate::handover::compare::bodies::{BodyState, common, moment_rows, settled};
use crate::handover::compare::facts::rigid_moments;
use crate::handover::compare::row::{Look, Row};
use crate::handover::compare::spot::inertial_line;
use crate::handover::stand_in::{ActuatorUnits, TwoJointsAsked};
use crate::handover::{Form, Format};
use crate::robot::LinkId;

/// The rows that belong to pitch and to roll, what is not compared and why, and which bodies the file holds.
pub(super) struct BodyRows {
    pub(super) rows: [Vec<Row>; 2],
    pub(super) notes: Vec<String>,
    pub(super) state: BodyState,
}

/// What a link weighs by the design with the drive's parts and by itself, and in the file.
struct Link<'a> {
    name: &'a str,
    id: LinkId,
    wanted: [Moments; 2],
    found: Option<Moments>,
    /// The design says what it weighs.
    is_given: bool,
}

impl<'a> DesignSide<'a> {
    /// What `emit` is asked for what the file has.
    pub(super) fn as_kept(&self, kept: &Kept<'_>, whole: bool) -> TwoJointsAsked<'_> {
        let (form, units) = match kept {
            Kept::Joints => (Form::Direct, ActuatorUnits::Joint),
            Kept::Readings(_) => (Form::Direct, ActuatorUnits::Motor),
            Kept::Points(_) => (Form::Coupled, ActuatorUnits::Motor),
            Kept::Loops(..) | Kept::Other(_) => (Form::Loop, ActuatorUnits::Motor),
        };
        self.asked(form, Format::Mjcf, units, whole)
    }

    /// Carrier, middle link and child by themselves.
    fn own(&self, parts: &TwoJointParts, patched: &[Moments; 3]) -> [Moments; 3] {
        let carrier = parts.carrier.as_ref().map(Moments::from).unwrap_or_default();
        let middle = parts.middle.as_ref().map_or(patched[1], Moments::from);
        [carrier, middle, Moments::from(&parts.child)]
    }
}

pub(super) fn rows(
    side: &DesignSide<'_>,
    seen: &Seen<'_>,
    (wanted, kept): (&TwoJointRobot, &Kept<'_>),
    with_carrier: bool,
    look: Look<'_>,
) -> BodyRows {
    let mut out =
        BodyRows { rows: Default::default(), notes: Vec::new(), state: BodyState::Unknown };
    let Some(parts) = &side.parts else { return out };
    let asked = side.as_kept(kept, true);
    let patched = match asked.tree_on(parts, !seen.is_one_body()) {
        Ok(tree) => asked.weighed(parts, &tree),
        Err(fault) => {
            let why = crate::handover::fault::EmitFault::Dynamics(fault);
            out.notes.push(format!("what the drive's parts add to the links is not known: {why}"));
            return out;
        }
    };
    let own = side.own(parts, &patched);
    let may_be_plain = !side.has_rotors || matches!(kept, Kept::Loops(..));
    let mut states = Vec::new();
    for (at, link) in links(seen, wanted, parts, [patched, own]).into_iter().enumerate() {
        let Some(link) = link else { continue };
        let (rows, state) = one(seen, &link, may_be_plain, look);
        if state == BodyState::Unknown && !link.is_given && rows.iter().any(Row::differs) {
            continue;
        }
        states.push(state);
        let [of_pitch, of_roll] = &mut out.rows;
        match at {
            0 if !with_carrier => {}
            2 => of_roll.extend(rows),
            _ => of_pitch.extend(rows),
        }
    }
    out.state = common(&states);
    out
}

fn links<'a>(
    seen: &Seen<'_>,
    wanted: &'a TwoJointRobot,
    parts: &TwoJointParts,
    [patched, own]: [[Moments; 3]; 2],
) -> [Option<Link<'a>>; 3] {
    let [pitch, roll] = &seen.facts;
    let turned = |id: LinkId, frame| Some(rigid_moments(seen.robot, id)?.seen_from(frame));
    let masses = [patched[0].mass, own[0].mass];
    let link = |name, id, at: usize, found, is_given| {
        let wanted = [*patched.get(at)?, *own.get(at)?];
        Some(Link { name, id, wanted, found, is_given })
    };
    let carrier = || {
        let found = pitch.carrier_that_weighs(&masses);
        link(wanted.parent.as_str(), pitch.joint.parent, 0, found, true)
    };
    let middle = || {
        let found = turned(pitch.joint.child, &seen.frames[0]);
        link(wanted.middle.as_str(), pitch.joint.child, 1, found, parts.middle.is_some())
    };
    let child = turned(roll.joint.child, &seen.frames[1]);
    [
        parts.carrier.and_then(|_| carrier()),
        (!seen.is_one_body()).then(middle).flatten(),
        link(wanted.child.as_str(), roll.joint.child, 2, child, true),
    ]
}

fn one(
    seen: &Seen<'_>,
    link: &Link<'_>,
    may_be_plain: bool,
    look: Look<'_>,
) -> (Vec<Row>, BodyState) {
    let rows = |wanted: &Moments| -> Vec<Row> {
        let rows = moment_rows(link.name, wanted, link.found.as_ref(), look.sides).into_iter();
        rows.map(|row| {
            let at = inertial_line(seen.robot, link.id, row.measure);
            row.at(at)
        })
        .collect()
    };
    let [patched, own] = &link.wanted;
    settled([rows(patched), rows(own)], patched != own, may_be_plain)
}
