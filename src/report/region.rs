//! `check` of two joints in words: the verdict, what stands in, the criteria, how far it would hold, torques and speeds, inertia.

use crate::drive::Kind;
use crate::equivalence::{Assessment, Basis, Figure, Verdict};
use crate::study::{
    BothAxes, DirectJoints, MatrixOrigin, MotorFacts, RegionCheck, RegionTurns, TwoRodsFacts,
    at_joints, claim_over_region, figure, over_joints, size_words,
};
use crate::units::{self, degrees, fixed, percent};

use super::blocks::{Block, Cell, Group, listed};
use super::cautions::{DECIDES, PINCH};
use super::check::warned;
use super::criteria::{criteria_table, held, open_clause};
use super::style::{Detail, Style};
use super::terminal;

/// One design's findings for a person; what the criteria do not need, all polygons and margins only in full.
#[must_use]
pub fn region_text(check: &RegionCheck, detail: Detail, style: Style) -> String {
    let is_full = detail.is_full();
    let mut groups = vec![headline(check, is_full), vec![facts(check, is_full)], criteria(check)];
    if is_full {
        groups.push(rates(check));
    }
    groups.push(would_do(check));
    let mut promised = powers(check.torque.as_ref(), check.speed.as_ref(), is_full);
    promised.extend(inertia(check, is_full));
    groups.push(promised);
    if is_full {
        groups.push(margins(check));
        groups.push(witness(check));
    }
    // That rods end in balls is no news where nothing else is assumed.
    if is_full || check.assumptions.len() > 1 {
        groups.push(assumed(check));
    }
    groups.push(warned(&check.warnings));
    groups.push(vec![Block::Caution(caution(is_full))]);
    terminal::text(&groups, style) + "\n"
}

pub(super) fn caution(is_full: bool) -> String {
    if is_full {
        format!(
            "rigid, without play; loads, strength and control are not covered. {PINCH} {DECIDES}"
        )
    } else {
        "rigid, without play; says nothing of strength, control or safety (--full)".to_owned()
    }
}

/// The figures that hold stand in the table below.
fn headline(check: &RegionCheck, is_full: bool) -> Group {
    let verdict = Some(Cell::verdict(check.verdict));
    let rests = format!("({})", rests(check));
    let is_short = check.verdict == Verdict::Equivalent && !is_full;
    let reason = if is_short { claim_over_region(check) } else { check.reason.clone() };
    vec![Block::Title(check.design.clone(), verdict, rests), Block::Line(reason)]
}

/// What a verdict rests on.
pub(super) fn rests(check: &RegionCheck) -> String {
    match (check.verdict, check.basis) {
        (Verdict::Equivalent, basis) => held(basis, &check.criteria, "drive"),
        (Verdict::NotEquivalent, Basis::Tolerance) if check.witness.is_some() => {
            "shown by a pose of a drive within the drawn tolerances".to_owned()
        }
        (Verdict::NotEquivalent, _) => "shown by a pose of the drawn drive".to_owned(),
        (Verdict::Undecided, Basis::Nominal) => {
            "neither proved nor refuted; drawn sizes only".to_owned()
        }
        (Verdict::Undecided, Basis::Tolerance) => {
            "neither proved nor refuted over the drawn tolerances".to_owned()
        }
    }
}

pub(super) fn facts(check: &RegionCheck, is_full: bool) -> Block {
    let named = check.drive.motors.iter().map(|motor| {
        let input = if motor.is_actuator { "linear actuator" } else { "crank" };
        format!("{} by a {input}", motor.name)
    });
    let named: Vec<String> = named.collect();
    let mut drive = vec![format!("{}: {}", Kind::TwoRods.title(), named.join(", "))];
    if is_full {
        drive.extend(sizes(&check.drive));
    }
    let region = over_joints(check, [check.region.pitch, check.region.roll]);
    let counted = if check.reads_turns() { "from the zero pose" } else { "as read" };
    Block::Facts(vec![
        ("drive", drive),
        ("region", vec![format!("{region} {counted}")]),
        ("stand-in", matrix(&check.direct_joints, &check.drive.motors)),
    ])
}

/// The sizes of the joint axes, and in a line those of each motor.
fn sizes(drive: &TwoRodsFacts) -> Vec<String> {
    let of =
        |motor: &MotorFacts| format!("{}: {}", motor.name, size_words(&motor.sizes).join(", "));
    size_words(&drive.axes).into_iter().chain(drive.motors.iter().map(of)).collect()
}

/// Both rows of the matrix as sums.
pub(super) fn matrix(joints: &DirectJoints, motors: &[MotorFacts; 2]) -> Vec<String> {
    let row = |motor: &MotorFacts, [pitch, roll]: [f64; 2]| {
        let sign = if roll < 0.0 { "−" } else { "+" };
        let [pitch, roll] = [pitch, roll.abs()].map(|x| fixed(x, 5));
        format!("{} turn = {pitch} · pitch {sign} {roll} · roll", motor.name)
    };
    let [one, two] = motors;
    let [first, second] = joints.matrix;
    let how = match joints.matrix_is {
        MatrixOrigin::Best => "best constant matrix",
        MatrixOrigin::ZeroPose => "the matrix of the zero pose",
        MatrixOrigin::Diagonal => "best with one motor a joint",
        MatrixOrigin::Given => "matrix as given",
    };
    vec![row(one, first), format!("{}; {how}", row(two, second))]
}

pub(super) fn criteria(check: &RegionCheck) -> Group {
    criteria_table(&check.criteria, "at pitch, roll", &|c| {
        let [pitch, roll] = check.readings(c.worst_at_joints?).map(f64::to_degrees);
        Some(format!("{}, {} deg", fixed(pitch, 1), fixed(roll, 1)))
    })
}

/// What each joint's rate is off by either motion.
pub(super) fn rates(check: &RegionCheck) -> Group {
    let of = check.rate_error.drawn;
    let [pp, pr, rp, rr] = [of.pp, of.pr, of.rp, of.rr].map(percent);
    let [pitch, roll] = check.angle_error_rad.map(degrees);
    vec![Block::Line(format!(
        "as drawn: pitch rate off by {pp} of pitch and {pr} of roll, roll rate by {rp} of pitch and {rr} of roll; angles by {pitch} and {roll}"
    ))]
}

/// How far it would pass.
pub(super) fn would_do(check: &RegionCheck) -> Group {
    let Some(largest) = &check.largest_region else { return Group::new() };
    let part = |turns: &Option<RegionTurns>, what: &str, none: &str| match turns {
        Some(RegionTurns { pitch, roll }) => {
            format!("would pass over {} ({what})", over_joints(check, [*pitch, *roll]))
        }
        None => none.to_owned(),
    };
    let roll = part(
        &largest.roll_shortened,
        "roll shortened",
        "no roll range passes with this pitch range, however short",
    );
    let both = part(
        &largest.both_shortened,
        "both shortened alike",
        "no part of this region around the zero pose passes, however small",
    );
    listed("what would do", vec![roll, both])
}

pub(super) fn powers(torque: Option<&BothAxes>, speed: Option<&BothAxes>, is_full: bool) -> Group {
    let torque = torque.into_iter().flat_map(|of| power(of, "torque", "N m", is_full));
    let speed = speed.into_iter().flat_map(|of| power(of, "speed", "rad/s", is_full));
    torque.chain(speed).map(Block::Line).collect()
}

fn power(of: &BothAxes, what: &str, unit: &str, is_full: bool) -> Vec<String> {
    let three = units::figure;
    let [pitch, roll] = of.capability.guaranteed.map(three);
    let motor = three(of.of_motor);
    let [alone_pitch, alone_roll] = of.alone.each_ref().map(|range| three(range.lowest));
    let mut told = vec![format!(
        "{what} at every pose: {pitch} {unit} pitch with {roll} {unit} roll at once, {alone_pitch} or {alone_roll} {unit} alone"
    )];
    // What a torque limit promises wrongly is the answer; the speed's is the same story.
    let is_told = is_full || what == "torque";
    if let Some(promised) = of.of_motor_figure.filter(|_| is_told) {
        let once = percent(promised.at_once.min(1.0));
        told.push(format!(
            "a file with the motor's {motor} {unit} on each axis promises both at once, and {once} of it is there"
        ));
    }
    if is_full {
        let span = |range: &crate::study::OverRegion| {
            format!("{}…{} {unit}", three(range.lowest), three(range.highest))
        };
        let [pitch, roll] = of.alone.each_ref().map(span);
        told.push(format!("{what} of either joint alone: {pitch} pitch, {roll} roll"));
        let [pitch, roll] = of.capability.never_exceed().map(|most| three(most.value));
        told.push(format!("{what} that no pose exceeds: {pitch} {unit} pitch, {roll} {unit} roll"));
        let corners = |points: &[[f64; 2]]| {
            let figures = units::alike(points.as_flattened(), "");
            let points = figures.chunks(2).map(|pair| pair.iter().map(|one| one.trim_end()));
            let points = points.map(|pair| format!("({})", pair.collect::<Vec<_>>().join(", ")));
            points.collect::<Vec<_>>().join(" ")
        };
        told.push(format!(
            "{what} in the zero pose, corners (pitch, roll): {}",
            corners(&of.capability.zero_pose)
        ));
        told.push(format!("{what} of every pose, corners: {}", corners(&of.capability.common())));
    }
    told
}

pub(super) fn inertia(check: &RegionCheck, is_full: bool) -> Group {
    let Some(of) = &check.reflected_inertia else { return Group::new() };
    let mut told = vec![format!(
        "rotors at the joints: two plain armatures are off by up to {}, a constant matrix by {}",
        percent(of.plain_armatures_off),
        percent(of.constant_matrix_off)
    )];
    if is_full {
        let coupling = percent(of.coupling);
        told.push(format!("they couple pitch and roll by up to {coupling} of the geometric mean"));
        let span = |range: &crate::study::OverRegion| {
            format!("{}…{} kg m2", units::figure(range.lowest), units::figure(range.highest))
        };
        told.push(format!("at pitch {}, at roll {}", span(&of.pitch_kg_m2), span(&of.roll_kg_m2)));
    }
    told.into_iter().map(Block::Line).collect()
}

pub(super) fn margins(check: &RegionCheck) -> Group {
    let motors = &check.drive.motors;
    let of = |what: &str, margin: crate::study::OfRod| {
        let name = motors.get(margin.motor).map_or("", |motor| motor.name.as_str());
        format!(
            "{what} {} at {}, rod of {name}",
            degrees(margin.angle),
            at_joints(check, margin.at)
        )
    };
    let all = &check.margins;
    let lines = [
        Some(of("smallest transmission angle", all.transmission_angle)),
        all.crank_side.map(|margin| of("smallest angle at a crank", margin)),
        all.ball_tilt.map(|margin| of("largest ball tilt", margin)),
        Some(format!("smallest arm in any direction {} mm", fixed(1e3 * all.smallest_arm, 2))),
    ];
    listed("margins of the drawn drive", lines.into_iter().flatten().collect())
}

pub(super) fn witness(check: &RegionCheck) -> Group {
    let Some(build) = &check.witness else { return Group::new() };
    let at = at_joints(check, build.joints);
    let what = match Figure::new(build.value) {
        Some(value) => format!(
            "the {} at {at} is {}, recomputed in plain arithmetic, with",
            build.criterion.title(),
            figure(build.criterion, value.value())
        ),
        None => format!("a rod does not reach at {at}, with"),
    };
    vec![Block::heading("what refutes it"), Block::Line(what), Block::List(sizes(&build.drive))]
}

pub(super) fn assumed(check: &RegionCheck) -> Group {
    vec![Block::Line(format!("assumed: {}", check.assumptions.join("; ")))]
}

/// A criterion that fails or stays open, in a clause that stands alone; `None` for the others.
#[must_use]
pub fn open_over_region(check: &RegionCheck, c: &Assessment) -> Option<String> {
    open_clause(&check.design, c, c.worst_at_joints.map(|joints| at_joints(check, joints)))
}
