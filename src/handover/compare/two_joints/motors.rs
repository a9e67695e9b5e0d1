//! The rows of both motors: how they move the joints, and what they can do, lose and weigh, each by its own turn.

use std::f64::consts::TAU;

use nalgebra::{Matrix2, Vector3};

use super::kept::Kept;
use super::pairing::{furthest, pins, scale, shares};
use super::{Looked, vector};
use crate::drive::{DrawnLeg, InputEnd};
use crate::handover::compare::bodies::BodyState;
use crate::handover::compare::joint::nearest;
use crate::handover::compare::measure::Measure;
use crate::handover::compare::row::{Line, Row, RowOutcome, number, several, word};
use crate::handover::compare::spot::{Spot, line_of};
use crate::handover::find::{Bodies, MotorSide, TwoRodsInFile, as_read};
use crate::handover::stand_in::two_joints::MotorRow;
use crate::numeric::evenly;
use crate::robot::{DriveEnds, LinkId, Robot, SharedDrive};

/// Pieces of each range over which the file's loops are held against the design's.
const PIECES: u32 = 6;

/// A joint's turn may be off by so many of a length's tolerance over the arm: four lengths make a leg.
const LENGTHS: f64 = 4.0;

pub(super) fn rows(at: Looked<'_>) -> Vec<Row> {
    let mut rows = at.restraints();
    rows.extend(match at.kept {
        Kept::Joints => Vec::new(),
        Kept::Readings(both) => at.each(|k| at.reading(k, both.get(k)?)),
        Kept::Points(both) => {
            at.each(|k| both.get(k).map(|(drive, ends)| at.points(k, drive, ends)))
        }
        Kept::Loops(drive, order) => at.each(|k| at.turning(k, drive, *order.get(k)?)),
        Kept::Other(why) => vec![at.other(why)],
    });
    rows
}

impl Looked<'_> {
    fn each(&self, rows: impl Fn(usize) -> Option<Vec<Row>>) -> Vec<Row> {
        [0, 1].into_iter().filter_map(rows).flatten().collect()
    }

    /// The design's motors follow a target, which counts from somewhere.
    fn is_servo(&self) -> bool {
        self.side.design.actuator.as_ref().is_some_and(|motor| motor.position_gain.is_some())
    }

    fn motor(&self, k: usize) -> &str {
        self.wanted.motors.get(k).map_or("", String::as_str)
    }

    fn other(&self, why: &str) -> Row {
        let row = Row::new("drive", Measure::Name).at(self.seen.facts[0].line(Spot::Joint));
        word(row, ["two motors with a rod each", "something else"], self.look.sides).because(why)
    }

    /// What springs, brakes or stops both joints besides: no design has it.
    fn restraints(&self) -> Vec<Row> {
        let robot = self.seen.robot;
        let own: Vec<String> = match self.kept {
            Kept::Readings(both) => both.iter().filter_map(|one| tendon_of(robot, one)).collect(),
            Kept::Points(both) => {
                both.iter().filter_map(|(one, _)| tendon_of(robot, one)).collect()
            }
            _ => Vec::new(),
        };
        let acts = robot.restraints.iter().filter(|one| {
            let is_ours = one.joints.iter().any(|id| self.seen.ids.contains(id));
            is_ours && (!own.contains(&one.name) || one.by.contains("stiffness"))
        });
        let row = |one: &crate::robot::Restraint| {
            let row = Row::new("restraint", Measure::Name).at(line_of(robot, one.place));
            let found =
                if own.contains(&one.name) { "a spring of a motor's tendon" } else { &one.by };
            word(row, ["none", found], self.look.sides)
        };
        acts.map(row).collect()
    }

    /// A tendon whose length is a sum of both readings.
    fn reading(&self, k: usize, drive: &SharedDrive) -> Option<Vec<Row>> {
        let asked = self.side.as_kept(self.kept, false);
        let row = asked.rows(self.wanted).into_iter().nth(k)?;
        let shares = shares(self.seen, drive);
        let line = line_of(self.seen.robot, drive.place);
        let scale = scale(&row, shares, drive.actuator.gear);
        let found = shares.map(|share| scale * share);
        let off = furthest(row.figures, found);
        let size = furthest(row.figures, [0.0; 2]);
        let turns = Row::new("turns per pitch, roll", Measure::Ratio).of(self.motor(k));
        let both = [row.figures.as_slice(), found.as_slice()];
        let mut rows = vec![several(turns.at(line.clone()), both, off, size, self.look.sides)];
        rows.extend(self.zero(k, row.at_zero, (drive, scale), line.clone()));
        rows.extend(self.range(k, &row, (drive, scale), line.clone()));
        rows.extend(self.own(k, (MotorSide::of_length(drive).geared(scale), true), line));
        Some(rows)
    }

    /// What a position controller's reading is where its length is none.
    fn zero(
        &self,
        k: usize,
        wanted: f64,
        (drive, scale): (&SharedDrive, f64),
        line: Option<Line>,
    ) -> Option<Row> {
        drive.actuator.gains.filter(|_| self.is_servo())?;
        let found = drive.actuator.shift * scale / drive.actuator.gear;
        let row = Row::new("reading at no length", Measure::Angle).of(self.motor(k)).at(line);
        let row = number(row, [Some(wanted), Some(found)], self.look.sides, true)?;
        Some(row.explained("targets of the motor count otherwise"))
    }

    /// A tendon's own limits must leave the joints theirs.
    fn range(
        &self,
        k: usize,
        row: &MotorRow,
        (drive, scale): (&SharedDrive, f64),
        line: Option<Line>,
    ) -> Vec<Row> {
        let Some(mut ends) = drive.tendon.limit.map(|ends| ends.map(|end| end * scale)) else {
            return Vec::new();
        };
        ends.sort_by(f64::total_cmp);
        let [[p0, p1], [r0, r1]] = self.side.as_kept(self.kept, false).limits();
        let corners = [[p0, r0], [p0, r1], [p1, r0], [p1, r1]];
        let lengths = corners.map(|[p, r]| row.figures[0] * p + row.figures[1] * r);
        let low = lengths.into_iter().fold(f64::INFINITY, f64::min);
        let high = lengths.into_iter().fold(f64::NEG_INFINITY, f64::max);
        let each = [
            ("lower length", low, ends[0], ends[0] - low),
            ("upper length", high, ends[1], high - ends[1]),
        ];
        let row = |(quantity, wanted, found, over): (&'static str, f64, f64, f64)| {
            let row = Row::new(quantity, Measure::Angle).of(self.motor(k)).at(line.clone());
            let mut row = number(row, [Some(wanted), Some(found)], self.look.sides, true)?;
            if over <= Measure::Angle.allowed(0.0) {
                row.outcome = RowOutcome::NotInDesign;
                row.why = String::new();
            }
            Some(row.explained("the tendon stops before both joints are at their limits"))
        };
        each.into_iter().filter_map(row).collect()
    }

    /// A tendon from pin to pin.
    fn points(&self, k: usize, drive: &SharedDrive, ends: &DriveEnds) -> Vec<Row> {
        let line = line_of(self.seen.robot, drive.place);
        let asked = self.side.as_kept(self.kept, false);
        let leg = self.side.of.drive.geometry().legs.get(k).copied();
        let per = asked.per_travel(self.wanted, k);
        let (Some(leg), Some([gear, shift])) = (leg, per) else {
            let row = Row::new("drive", Measure::Name).of(self.motor(k)).at(line);
            return vec![word(row, ["a crank with a rod", "a linear actuator"], self.look.sides)];
        };
        let InputEnd::Actuator { pin, .. } = leg.input else { return Vec::new() };
        let [carrier, foot] = pins(self.seen, ends);
        let row = |quantity, wanted: Vector3<f64>, found: Vector3<f64>| {
            let row = Row::new(quantity, Measure::Position).of(self.motor(k)).at(line.clone());
            let both = [wanted.as_slice(), found.as_slice()];
            several(row, both, (found - wanted).norm(), 1.0, self.look.sides)
        };
        let mut rows =
            vec![row("carrier pin", vector(pin), carrier), row("foot pin", vector(leg.foot), foot)];
        rows.push(self.seats(k, ends, line.clone()));
        // A file without a screw pulls the length itself.
        let has_screw = (drive.actuator.gear.abs() - 1.0).abs() > 1e-9;
        if has_screw {
            let turns = Row::new("turns per length", Measure::Ratio).of(self.motor(k));
            let both = [Some(gear), Some(drive.actuator.gear)];
            rows.extend(number(turns.at(line.clone()), both, self.look.sides, true));
            if drive.actuator.gains.is_some() && self.is_servo() {
                let zero = Row::new("reading at no length", Measure::Angle).of(self.motor(k));
                let both = [Some(shift), Some(drive.actuator.shift)];
                rows.extend(number(zero.at(line.clone()), both, self.look.sides, true));
            }
        }
        rows.extend(self.own(k, (MotorSide::of_length(drive).geared(gear), true), line));
        rows
    }

    /// The bodies that the pins stand on.
    fn seats(&self, k: usize, ends: &DriveEnds, line: Option<Line>) -> Row {
        let [pitch, roll] = &self.seen.facts;
        let bodies = Bodies::new(self.seen.robot);
        let wanted = [pitch.joint.parent, roll.joint.child].map(|link| bodies.of_link(link));
        let found = ends.links.map(|link| bodies.of_link(link));
        let is_right = found == wanted || [found[1], found[0]] == wanted;
        let told = if is_right { "carrier and child" } else { "other links" };
        let row = Row::new("pins on", Measure::Name).of(self.motor(k)).at(line);
        word(row, ["carrier and child", told], self.look.sides)
    }

    /// The file's own loop: how far its motor turns and how fast, where it is furthest off, and what crank and rod weigh.
    fn turning(&self, k: usize, drive: &TwoRodsInFile, leg: usize) -> Option<Vec<Row>> {
        let robot = self.seen.robot;
        let joint = robot.joints.get(*drive.motors.get(leg)?)?;
        let line = line_of(robot, joint.place);
        let mut rows = self.motion(k, drive, leg, line.clone())?;
        let own = drive.motor_sides(robot).get(leg).copied().flatten()?;
        // Of a slide without a screw what it does and loses is the design's motor's by the design's lead.
        let lacks_screw = drive.has_no_screw.get(leg).copied().unwrap_or_default();
        let leads = [drive.drawing.legs.get(leg)?, self.side.design.drawing.legs.get(k)?];
        let [theirs, ours] = leads.map(travel_per_turn);
        let own = if lacks_screw { own.geared(theirs / ours) } else { own };
        rows.extend(self.own(k, (own, false), line));
        rows.extend(self.masses(k, drive.bodies.get(leg)?));
        Some(rows)
    }

    fn motion(
        &self,
        k: usize,
        found: &TwoRodsInFile,
        leg: usize,
        line: Option<Line>,
    ) -> Option<Vec<Row>> {
        let row =
            |quantity, measure| Row::new(quantity, measure).of(self.motor(k)).at(line.clone());
        let kinds = [self.side.design.drawing.legs.get(k)?, found.drawing.legs.get(leg)?];
        let mut rows = vec![word(row("input", Measure::Name), kinds.map(input), self.look.sides)];
        if input(kinds[0]) != input(kinds[1]) {
            return Some(rows);
        }
        let (turn, rate) = self.furthest_off(k, found, leg)?;
        let ([wanted, own], off) = turn;
        let is_crank = matches!(kinds[0], DrawnLeg::Crank { .. });
        let (name, measure) =
            if is_crank { ("turn", Measure::Angle) } else { ("travel", Measure::Travel) };
        let both = [Some(wanted), Some(own)];
        let moved = number(row(name, measure), both, self.look.sides, true)?;
        let allowed = measure.allowed(wanted) + LENGTHS * slack(kinds[0]);
        let moved = Row { why: String::new(), ..moved }.judged(off, allowed, self.look.sides);
        rows.push(moved.explained("from the zero pose, where it is furthest off"));
        let ([wanted, own], off) = rate;
        let size = furthest(wanted, [0.0; 2]);
        let per = row(
            if is_crank { "turns per pitch, roll" } else { "travel per pitch, roll" },
            Measure::Ratio,
        );
        rows.push(several(per, [&wanted, &own], off, size, self.look.sides));
        Some(rows)
    }

    /// Turn and rates by the design and by the file, each with its difference, at the pose where that is largest; of a screw
    /// as travel, which is positive where the actuator grows if the file has no screw to say what the motor reads.
    fn furthest_off(
        &self,
        k: usize,
        found: &TwoRodsInFile,
        leg: usize,
    ) -> Option<(Off<f64>, Off<[f64; 2]>)> {
        let (ours, reads) = (&self.side.of.drive, self.side.design.joint_reads);
        let theirs = found.drawing.drive().ok()?;
        let legs = [self.side.design.drawing.legs.get(k)?, found.drawing.legs.get(leg)?];
        let [from, to] = match (legs.map(lead), found.has_no_screw.get(leg)?) {
            ([Some(own), Some(theirs)], true) => [own / TAU, theirs / TAU],
            _ => {
                let [own, theirs] = legs.map(travel_per_turn);
                [self.wanted.motor_signs.get(k)? * own, theirs]
            }
        };
        let back = [reads[0] - found.joint_reads[0], reads[1] - found.joint_reads[1]];
        let start = theirs.motor_turns(back).ok()?.get(leg).copied()?;
        let [pitch, roll] = self.side.of.region;
        let poses = evenly(pitch, PIECES).flat_map(|p| evenly(roll, PIECES).map(move |r| [p, r]));
        let (mut turn, mut rate) = (([0.0; 2], -1.0), ([[0.0; 2]; 2], -1.0));
        for joints in poses {
            let seen = [joints[0] + back[0], joints[1] + back[1]];
            let rates = per_joint(&ours.pose(joints).ok()?.rates(), k, from);
            let own = theirs.pose(seen).ok();
            let own = own.map_or([f64::NAN; 2], |pose| per_joint(&pose.rates(), leg, to));
            let off = furthest(rates, own);
            if is_worse(off, rate.1) {
                rate = ([rates, own], off);
            }
            let wanted = from * ours.motor_turns(joints).ok()?.get(k).copied()?;
            let own = theirs.motor_turns(seen).ok().and_then(|all| all.get(leg).copied());
            let own = own.map_or(f64::NAN, |own| (own - start) * to);
            let off = (own - wanted).abs();
            if is_worse(off, turn.1) {
                turn = ([wanted, own], off);
            }
        }
        Some((turn, rate))
    }

    /// Crank and rod, or housing and nut.
    fn masses(&self, k: usize, bodies: &[LinkId; 2]) -> Vec<Row> {
        let Some(own) = self.side.design.masses.legs.get(k) else { return Vec::new() };
        let robot = self.seen.robot;
        let all = Bodies::new(robot);
        let wanted =
            [own.crank.as_ref().or(own.housing.as_ref()), own.rod.as_ref().or(own.nut.as_ref())];
        let each = bodies.iter().zip(wanted).filter_map(|(body, wanted)| {
            let link = robot.links.get(*body)?;
            let found = as_read(robot, all.links(all.of_link(*body)), &link.pose);
            let row = Row::new("mass", Measure::Mass).of(&link.name);
            let row =
                row.at(crate::handover::compare::spot::inertial_line(robot, *body, Measure::Mass));
            let both = [wanted.map(|body| body.mass), found.map(|body| body.mass)];
            number(row, both, self.look.sides, true)
        });
        each.collect()
    }

    /// What the motor can do, loses and weighs; where the file's law of force is read, also its gains.
    fn own(
        &self,
        k: usize,
        (found, are_gains_read): (MotorSide, bool),
        line: Option<Line>,
    ) -> Vec<Row> {
        let wanted = self.side.design.actuator.clone().unwrap_or_default();
        let row = |name, measure, wanted: Option<f64>, found: Option<f64>| {
            let row = Row::new(name, measure).of(self.motor(k)).at(line.clone());
            number(
                row,
                [wanted, found],
                self.look.sides,
                found.is_some() || measure != Measure::Armature,
            )
        };
        let holds_armature = self.seen.robot.format.holds_armature();
        let mut rows = vec![
            row("effort", Measure::Torque, wanted.peak_torque, found.effort),
            row("damping", Measure::Damping, wanted.damping, Some(found.damping)),
            row("friction", Measure::Friction, wanted.friction, Some(found.friction)),
            row(
                "armature",
                Measure::Armature,
                self.motor_armature(k, found.armature),
                Some(found.armature).filter(|_| holds_armature),
            ),
        ];
        let [position, velocity] = found.gains;
        if are_gains_read || position.is_some() {
            rows.push(row("position gain", Measure::PositionGain, wanted.position_gain, position));
            rows.push(row("velocity gain", Measure::VelocityGain, wanted.velocity_gain, velocity));
        }
        rows.into_iter().flatten().collect()
    }

    /// The rotor's, or what belongs to the bodies that the file holds.
    fn motor_armature(&self, k: usize, found: f64) -> Option<f64> {
        let asked = self.side.as_kept(self.kept, true);
        let plain = asked.rotor()?;
        let parts = self.side.parts.as_ref().filter(|_| self.side.has_rotors);
        match self.kept {
            Kept::Readings(_) => {
                let tree =
                    parts.and_then(|parts| asked.tree_on(parts, !self.seen.is_one_body()).ok());
                let split = tree.and_then(|tree| tree.motor_armatures.get(k).copied());
                Some(match (self.state, split) {
                    (BodyState::Patched, Some(split)) => split,
                    (BodyState::Unpatched, _) | (_, None) => plain,
                    (_, Some(split)) => nearest(Some(found), [split, plain]),
                })
            }
            Kept::Loops(..) => {
                let moved = asked.rotor_share(k).unwrap_or(0.0);
                Some(nearest(Some(found), [plain, plain - moved]))
            }
            _ => Some(plain),
        }
    }
}

/// A figure by the design and by the file, and how far they are apart.
type Off<T> = ([T; 2], f64);

/// A pose out of reach is the worst there is.
fn is_worse(off: f64, most: f64) -> bool {
    off > most || off.is_nan()
}

/// A motor's rates per pitch and roll, scaled.
fn per_joint(rates: &Matrix2<f64>, motor: usize, scale: f64) -> [f64; 2] {
    let [p, r] = [0, 1].map(|joint| rates.get((motor, joint)).copied().unwrap_or(f64::NAN));
    [scale * p, scale * r]
}

fn tendon_of(robot: &Robot, drive: &SharedDrive) -> Option<String> {
    Some(robot.element(drive.place)?.value("tendon")?.into_owned())
}

fn input(leg: &DrawnLeg) -> &'static str {
    match leg {
        DrawnLeg::Crank { .. } => "a crank with a rod",
        DrawnLeg::Actuator { .. } => "a linear actuator",
    }
}

/// 1 of a crank; of a screw what it travels a turn, m/rad.
fn travel_per_turn(leg: &DrawnLeg) -> f64 {
    lead(leg).map_or(1.0, |lead| lead.abs() / TAU)
}

/// Travel per turn of a screw, m, signed.
fn lead(leg: &DrawnLeg) -> Option<f64> {
    match leg {
        DrawnLeg::Crank { .. } => None,
        DrawnLeg::Actuator { lead, .. } => Some(*lead),
    }
}

/// What a length's tolerance may turn the crank, rad; of a travel the tolerance itself, m.
fn slack(leg: &DrawnLeg) -> f64 {
    let allowed = Measure::Length.allowed(0.0);
    match leg {
        DrawnLeg::Crank { motor, crank, .. } => {
            let arm = motor.foot(*crank).map_or(f64::INFINITY, |at| (*crank - at).length());
            allowed / arm.max(f64::MIN_POSITIVE)
        }
        DrawnLeg::Actuator { .. } => allowed,
    }
}
