//! What the code answers, to test it by: the same lines worked out in the code's own numbers.

use std::fmt::Write as _;

use super::super::expression::{Doubles, Expression, Floats, Numbers, line, name};
use super::super::number::Number;
use super::super::vectors::quoted;
use super::lines::{
    ASKED, HELD, JOINT_READINGS, JOINT_SPEEDS, JOINT_TORQUES, JOINTS, MOTOR_READINGS, MOTORS, OFF,
    SPEEDS, TORQUES,
};
use super::{Code, PITCH, Pair, ROLL};
use crate::numeric::evenly;
use crate::study::TwoMotors;

/// Pieces of pitch and of roll: 525 poses.
const PIECES: [u32; 2] = [24, 20];

/// How far beyond the region the code is asked too, rad.
const BEYOND: f64 = 0.125;

/// The motors' speeds, rad/s, and torques, N m.
const MOTION: [[f64; 2]; 2] = [[1.5, -0.5], [-0.75, 2.0]];

/// More steps of Newton's are not tried.
const MOST_STEPS: u32 = 12;

const COLUMNS: &str = "link,pitch_rad,roll_rad,motor_1_rad,motor_2_rad,motor_1_speed_rad_per_s,motor_2_speed_rad_per_s,\
motor_1_torque_n_m,motor_2_torque_n_m,motor_1_from_joints_rad,motor_2_from_joints_rad,joints_status,\
motor_1_by_pitch,motor_1_by_roll,motor_2_by_pitch,motor_2_by_roll,pitch_from_motors_rad,roll_from_motors_rad,\
pitch_speed_rad_per_s,roll_speed_rad_per_s,pitch_torque_n_m,roll_torque_n_m,motors_status,\
drive_motor_1_rad,drive_motor_2_rad,drive_pitch_rad,drive_roll_rad\n";

/// Where a reading lies, as the code tells it.
const INSIDE: u8 = 0;
const OUTSIDE: u8 = 1;
const NOT_A_NUMBER: u8 = 2;

type Known<N> = Vec<(&'static str, <N as Numbers>::Number)>;

/// The least steps of Newton's after which every pose of the grid is met, and one more.
pub(super) fn steps(code: &Code, two: &TwoMotors) -> Option<u32> {
    match code.number {
        Number::Float => least_steps(&Floats, code, two),
        Number::Double => least_steps(&Doubles, code, two),
    }
}

fn least_steps<N: Numbers>(numbers: &N, code: &Code, two: &TwoMotors) -> Option<u32>
where
    N::Number: Into<f64>,
{
    let mut least = 0;
    for joints in grid(code) {
        let turns = two.drive.motor_turns(joints).ok()?;
        let mut known = start(numbers, code);
        known.extend(ASKED.into_iter().zip(turns.map(|turn| numbers.constant(turn))));
        let met = (1..=MOST_STEPS)
            .find(|_| step(numbers, code, &mut known).is_some_and(|off| is_met(code, off)))?;
        least = least.max(met);
    }
    Some(least + 1)
}

fn grid(code: &Code) -> Vec<[f64; 2]> {
    let [pitch, roll] = code.region;
    let within = |x: f64, [low, high]: [f64; 2]| code.number.nearest(x).clamp(low, high);
    let rolls: Vec<f64> = evenly(roll, PIECES[1]).map(|r| within(r, roll)).collect();
    let pitches = evenly(pitch, PIECES[0]).map(|p| within(p, pitch));
    pitches.flat_map(|p| rolls.iter().map(move |r| [p, *r]).collect::<Vec<_>>()).collect()
}

fn start<N: Numbers>(numbers: &N, code: &Code) -> Known<N> {
    [PITCH, ROLL].into_iter().zip(code.start().map(|turn| numbers.constant(turn))).collect()
}

/// One step of Newton's; how far the motors were off before it.
fn step<N: Numbers>(numbers: &N, code: &Code, known: &mut Known<N>) -> Option<[f64; 2]>
where
    N::Number: Into<f64>,
{
    numbers.run(&code.step_before(), known)?;
    code.ask(numbers, HELD, known)?;
    numbers.run(&Code::step_behind(), known)?;
    figures(numbers, OFF, known)
}

fn is_met(code: &Code, off: [f64; 2]) -> bool {
    off.iter().all(|off| off.abs() <= code.certified.close)
}

fn figures<N: Numbers, const K: usize>(
    numbers: &N,
    names: [&'static str; K],
    known: &Known<N>,
) -> Option<[f64; K]>
where
    N::Number: Into<f64>,
{
    let mut out = [f64::NAN; K];
    for (figure, of) in out.iter_mut().zip(names) {
        *figure = numbers.value(&name(of), known)?.into();
    }
    Some(out)
}

/// The table: columns that start with `drive` are what the drawn drive does there; the rest what the code answers.
pub(super) fn csv(code: &Code, two: &TwoMotors) -> String {
    let mut out = COLUMNS.to_owned();
    for pair in &code.pairs {
        for given in given(code, pair, two) {
            let row = match code.number {
                Number::Float => row(&Floats, code, pair, two, given),
                Number::Double => row(&Doubles, code, pair, two, given),
            };
            out += &row.unwrap_or_default();
        }
    }
    out
}

/// Readings of the joints and of the motors: the region evenly, beyond its corners, and no number.
fn given(code: &Code, pair: &Pair, two: &TwoMotors) -> Vec<[[f64; 2]; 2]> {
    let number = |x: f64| code.number.nearest(x);
    let read = |ends: [super::End; 2], turns: [f64; 2], past: [f64; 2]| {
        let [first, second] = ends;
        [number(first.reading(turns[0] + past[0])), number(second.reading(turns[1] + past[1]))]
    };
    let ends = code.joint_ends(pair);
    let at = |joints: [f64; 2], past: [f64; 2]| {
        let motors = two.drive.motor_turns(joints).ok()?;
        let mut readings = read(pair.joints, joints, past);
        if past.iter().all(|turn| turn.abs() == 0.0) {
            for (reading, [low, high]) in readings.iter_mut().zip(ends) {
                *reading = reading.clamp(low, high);
            }
        }
        Some([readings, read(pair.motors, motors, past.map(|turn| 4.0 * turn))])
    };
    let mut all: Vec<_> =
        grid(code).into_iter().filter_map(|joints| at(joints, [0.0; 2])).collect();
    let [[p_low, p_high], [r_low, r_high]] = code.region;
    for (joints, past) in [
        ([p_low, r_low], [-BEYOND, 0.0]),
        ([p_high, r_low], [BEYOND, -BEYOND]),
        ([p_low, r_high], [0.0, BEYOND]),
    ] {
        all.extend(at(joints, past));
    }
    all.push([[f64::NAN; 2]; 2]);
    all
}

fn row<N: Numbers>(
    numbers: &N,
    code: &Code,
    pair: &Pair,
    two: &TwoMotors,
    [joints, motors]: [[f64; 2]; 2],
) -> Option<String>
where
    N::Number: Into<f64>,
{
    let (to_motors, status) = motors_from_joints(numbers, code, pair, joints)?;
    let (to_joints, met) = joints_from_motors(numbers, code, pair, motors)?;
    let mut row = quoted(&pair.link);
    let mut tell = |figures: &[f64]| {
        figures.iter().for_each(|x| _ = write!(row, ",{}", code.number.decimals(*x)));
    };
    let [motion, pushes] = MOTION;
    [joints, motors, motion, pushes].iter().for_each(|pair| tell(pair));
    let (readings, rates) = to_motors.split_at(2);
    tell(readings);
    _ = write!(row, ",{status}");
    let mut tell = |figures: &[f64]| {
        figures.iter().for_each(|x| _ = write!(row, ",{}", code.number.decimals(*x)));
    };
    tell(rates);
    tell(&to_joints);
    _ = write!(row, ",{met}");
    let exact = [
        exact_motors(pair, two, joints).filter(|_| status == INSIDE),
        exact_joints(pair, two, motors).filter(|_| met == INSIDE),
    ];
    for pair in exact {
        let [first, second] =
            pair.map_or([const { String::new() }; 2], |pair| pair.map(|x| format!("{x:?}")));
        _ = write!(row, ",{first},{second}");
    }
    Some(row + "\n")
}

/// Both readings, then the matrix row by row.
fn motors_from_joints<N: Numbers>(
    numbers: &N,
    code: &Code,
    pair: &Pair,
    joints: [f64; 2],
) -> Option<([f64; 6], u8)>
where
    N::Number: Into<f64>,
{
    let mut known: Known<N> = JOINTS.into_iter().zip(joints.map(|x| numbers.constant(x))).collect();
    numbers.run(&code.joints_before(pair), &mut known)?;
    code.ask(numbers, [PITCH, ROLL], &mut known)?;
    numbers.run(&code.motors_behind(pair), &mut known)?;
    let [[a, b], [c, d]] = Code::rates_behind(pair);
    let told = |rate: Expression| line("rate", rate);
    let mut rates = [0.0; 4];
    for (rate, of) in rates.iter_mut().zip([a, b, c, d]) {
        numbers.run(&[told(of)], &mut known)?;
        [*rate] = figures(numbers, ["rate"], &known)?;
    }
    let [first, second] = figures(numbers, MOTOR_READINGS, &known)?;
    let [a, b, c, d] = rates;
    let inside =
        joints.iter().zip(code.joint_ends(pair)).all(|(x, [low, high])| (low..=high).contains(x));
    let status = status(inside, joints);
    Some(([first, second, a, b, c, d], status))
}

fn status(is_inside: bool, given: [f64; 2]) -> u8 {
    match is_inside {
        true => INSIDE,
        false if given.iter().any(|x| x.is_nan()) => NOT_A_NUMBER,
        false => OUTSIDE,
    }
}

/// Both readings, both speeds, both torques.
fn joints_from_motors<N: Numbers>(
    numbers: &N,
    code: &Code,
    pair: &Pair,
    motors: [f64; 2],
) -> Option<([f64; 6], u8)>
where
    N::Number: Into<f64>,
{
    let mut known = start(numbers, code);
    known.extend(MOTORS.into_iter().zip(motors.map(|x| numbers.constant(x))));
    let [speeds, torques] = MOTION;
    known.extend(SPEEDS.into_iter().zip(speeds.map(|x| numbers.constant(x))));
    known.extend(TORQUES.into_iter().zip(torques.map(|x| numbers.constant(x))));
    numbers.run(&Code::motors_before(pair), &mut known)?;
    let mut off = [f64::NAN; 2];
    for _ in 0..code.steps {
        off = step(numbers, code, &mut known)?;
    }
    let reached = figures(numbers, [PITCH, ROLL], &known)?;
    numbers.run(&code.joints_behind(pair), &mut known)?;
    numbers.run(&Code::motion(pair), &mut known)?;
    let [pitch, roll] = figures(numbers, JOINT_READINGS, &known)?;
    let [fast, faster] = figures(numbers, JOINT_SPEEDS, &known)?;
    let [strong, stronger] = figures(numbers, JOINT_TORQUES, &known)?;
    let status = status(is_met(code, off), reached);
    Some(([pitch, roll, fast, faster, strong, stronger], status))
}

fn turned(ends: [super::End; 2], readings: [f64; 2]) -> [f64; 2] {
    let turn = |end: super::End, reading: f64| end.sense * (reading - end.in_zero);
    let ([one, two], [first, second]) = (ends, readings);
    [turn(one, first), turn(two, second)]
}

fn exact_motors(pair: &Pair, two: &TwoMotors, joints: [f64; 2]) -> Option<[f64; 2]> {
    let [first, second] = two.drive.motor_turns(turned(pair.joints, joints)).ok()?;
    let [one, two] = pair.motors;
    Some([one.reading(first), two.reading(second)])
}

fn exact_joints(pair: &Pair, two: &TwoMotors, motors: [f64; 2]) -> Option<[f64; 2]> {
    let [pitch, roll] = two.drive.joint_turns(turned(pair.motors, motors)).ok()?.turns;
    let [one, two] = pair.joints;
    Some([one.reading(pitch), two.reading(roll)])
}
