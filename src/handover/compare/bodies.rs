//! The two links: do they weigh what the design says, with what the linkage's parts add to them?

use super::expected::{Expected, Held, has_rotor};
use super::facts::JointFacts;
use super::measure::Measure;
use super::row::{Row, Sides, number, several};
use super::spot::inertial_line;
use crate::design::BodyFrame;
use crate::dynamics::Moments;
use crate::handover::Form;
use crate::handover::fault::EmitFault;
use crate::handover::fills::Fills;
use crate::handover::link_moments::moments;
use crate::handover::stand_in::plan::{Plan, on_carrier, on_palm};
use crate::handover::stand_in::{Draws, Jaw, link_frame};
use crate::robot::tensor_entries;

/// Which bodies the file holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum BodyState {
    /// With what the linkage's parts add.
    Patched,
    /// Without.
    Unpatched,
    /// Neither, or it cannot be told.
    Unknown,
}

/// The rows of both links, what is not compared and why, and which bodies the file holds.
pub(super) struct BodyRows {
    pub(super) rows: Vec<Row>,
    pub(super) notes: Vec<String>,
    pub(super) state: BodyState,
}

/// What a link weighs by the design: with the linkage's parts, and by itself.
struct Wanted {
    patched: Moments,
    own: Moments,
}

/// `plans` and `jaws` are those of all joints; `with_carrier`: its rows belong to the first joint that hangs on it.
pub(super) fn body_rows<G: Fills>(
    held: &Held<'_, G>,
    (plans, jaws): (&[Plan], &[Option<Jaw>]),
    with_carrier: bool,
) -> BodyRows {
    let Held { expected, facts, .. } = *held;
    let mut out = BodyRows { rows: Vec::new(), notes: Vec::new(), state: BodyState::Unknown };
    let mut states = Vec::new();
    let links = [
        carrier(expected, (plans, jaws)).map(|wanted| (true, wanted)),
        child(expected, facts).map(|wanted| (false, wanted)),
    ];
    for link in links {
        match link {
            Ok((_, None)) => {}
            Ok((is_carrier, Some(wanted))) => {
                let (rows, state) = one(held, &wanted, is_carrier);
                states.push(state);
                if with_carrier || !is_carrier {
                    out.rows.extend(rows);
                }
            }
            Err(fault) => out.notes.push(format!("a link's mass is not compared: {fault}")),
        }
    }
    let weighed = expected.side.design.mass.carrier.is_some() || !states.is_empty();
    if let Some(why) = expected.plan.why_not.as_ref().filter(|_| weighed) {
        out.notes.push(format!("what the linkage's parts add to the links is not known: {why}"));
    }
    out.state = common(&states);
    out
}

pub(super) fn common(states: &[BodyState]) -> BodyState {
    match states {
        [first, others @ ..] if others.iter().all(|other| other == first) => *first,
        _ => BodyState::Unknown,
    }
}

/// In the parent link's frame; every joint that hangs on it adds to it.
fn carrier<G: Draws>(
    expected: &Expected<'_, G>,
    (plans, jaws): (&[Plan], &[Option<Jaw>]),
) -> Result<Option<Wanted>, EmitFault> {
    let design = expected.side.design;
    let Some(body) = &design.mass.carrier else { return Ok(None) };
    let own = moments(&link_frame::carrier(body)?);
    let parent = &expected.robot.parent;
    let added = on_carrier(&design.robots, plans, parent);
    let added = added.chain(on_palm(&design.robots, jaws, parent));
    Ok(Some(Wanted { patched: added.fold(own, |sum, more| sum + more), own }))
}

/// At the joint's origin, in the parent's orientation at reading 0.
fn child<G: Fills>(
    expected: &Expected<'_, G>,
    facts: &JointFacts<'_>,
) -> Result<Option<Wanted>, EmitFault> {
    let side = expected.side;
    let Some(body) = &side.design.mass.child else { return Ok(None) };
    let request = side.request(Form::Direct, facts.robot.format);
    let own = G::child(&request, expected.robot, body)?;
    let own = match body.frame {
        BodyFrame::Drawing => moments(&own),
        BodyFrame::Robot => moments(&own).seen_from(&facts.child_frame),
    };
    let added = expected.plan.bodies.as_ref().map(|bodies| bodies.child);
    Ok(Some(Wanted { patched: added.map_or(own, |more| own + more), own }))
}

fn one<G: Draws>(held: &Held<'_, G>, wanted: &Wanted, is_carrier: bool) -> (Vec<Row>, BodyState) {
    let Held { look, expected, facts } = *held;
    let robot = expected.robot;
    let (name, link, found) = if is_carrier {
        let weighs = [wanted.patched.mass, wanted.own.mass];
        (&robot.parent, facts.joint.parent, facts.carrier_that_weighs(&weighs))
    } else {
        (&robot.child, facts.joint.child, facts.borne())
    };
    let line = |row: &Row| inertial_line(facts.robot, link, row.measure);
    let rows = |wanted: &Moments| -> Vec<Row> {
        let rows = moment_rows(name, wanted, found.as_ref(), look.sides);
        rows.into_iter()
            .map(|row| {
                let at = line(&row);
                row.at(at)
            })
            .collect()
    };
    // Without a rotor `emit` adds nothing, and `fold` what crank and rod weigh.
    let may_be_plain = !has_rotor(expected.side.design);
    let is_patched = (wanted.patched.mass - wanted.own.mass).abs() > 0.0
        || (wanted.patched.first - wanted.own.first).norm() > 0.0;
    settled([rows(&wanted.patched), rows(&wanted.own)], is_patched, may_be_plain)
}

/// The rows that hold, of those with what the linkage's parts add and those without, and which bodies the file holds; a link
/// `may_be_plain` where it is no slip that nothing was added.
pub(super) fn settled(
    [as_patched, as_own]: [Vec<Row>; 2],
    is_patched: bool,
    may_be_plain: bool,
) -> (Vec<Row>, BodyState) {
    let agree = |rows: &[Row]| !rows.iter().any(Row::differs);
    match (agree(&as_patched), agree(&as_own) && is_patched) {
        (true, false) => (as_patched, BodyState::Patched),
        (true, true) => (as_patched, BodyState::Unknown),
        (false, true) if may_be_plain => (as_own, BodyState::Unpatched),
        (false, true) => (unpatched(as_patched), BodyState::Unpatched),
        (false, false) => (as_patched, BodyState::Unknown),
    }
}

fn unpatched(rows: Vec<Row>) -> Vec<Row> {
    const CLAUSE: &str = "the file holds the link without what the linkage's parts add; the patch list of emit or fold has it";
    rows.into_iter().map(|row| row.explained(CLAUSE)).collect()
}

/// Mass, centre and inertia about the centre of the link of this name; both in one frame.
pub(super) fn moment_rows(
    link: &str,
    wanted: &Moments,
    found: Option<&Moments>,
    sides: Sides<'_>,
) -> Vec<Row> {
    let mass = number(
        Row::new("mass", Measure::Mass).of(link),
        [Some(wanted.mass), found.map(|found| found.mass)],
        sides,
        true,
    );
    let mut rows: Vec<Row> = mass.into_iter().collect();
    let Some(found) = found else { return rows };
    let (a, b) = (wanted.body(), found.body());
    let both = [a.centre.as_slice(), b.centre.as_slice()];
    let off = (b.centre - a.centre).norm();
    rows.push(several(Row::new("mass centre", Measure::Centre).of(link), both, off, 1.0, sides));
    let (ta, tb) = (tensor_entries(&a.tensor()), tensor_entries(&b.tensor()));
    let (off, size) = worst_moment(&ta, &tb);
    rows.push(several(
        Row::new("inertia", Measure::Inertia).of(link),
        [&ta, &tb],
        off,
        size,
        sides,
    ));
    rows
}

/// The difference of the entry that is furthest off for its size, and that size: of a product of inertia the largest entry, of a
/// moment its own with a share of the largest, which a file's decimals may cost it. The moment about a thin body's axis is the
/// smallest, and it is what a joint along it feels.
fn worst_moment(wanted: &[f64; 6], found: &[f64; 6]) -> (f64, f64) {
    const DECIMALS: f64 = 0.1;
    let largest = wanted.iter().fold(0.0_f64, |most, x| most.max(x.abs()));
    let each = wanted.iter().zip(found).enumerate().map(|(at, (a, b))| {
        let own = (a.abs() + DECIMALS * largest).min(largest);
        ((b - a).abs(), if at < 3 { own } else { largest })
    });
    let share = |(off, size): &(f64, f64)| off / size.max(f64::MIN_POSITIVE);
    each.max_by(|p, q| share(p).total_cmp(&share(q))).unwrap_or_default()
}
