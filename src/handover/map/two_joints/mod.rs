//! The map of two joints that two motors with a rod each turn: closed form from joints to motors, Newton's steps back.
//!
//! | file | tells |
//! |---|---|
//! | `rods` | joint turns to motor turns and their rates in lines of code |
//! | `lines` | readings around them, a step of Newton's, speeds and torques |
//! | `bounds` | what is certified of both directions |
//! | `vectors` | the code's own answers, to test it by |
//! | `head`, `c99`, `rust`, `python` | the same lines in each language |

mod bounds;
mod c99;
mod head;
mod lines;
mod python;
mod rods;
mod rust;
mod vectors;

use super::code::identifier;
use super::direction::{End, HALF_TURN, USUAL};
use super::expression::Line;
use super::{Beyond, Language, MapAsk, MapCode, MapFault, MapForm, Number};
use crate::design::{TwoJointDesign, TwoJointRobot};
use crate::study::TwoMotors;

use self::bounds::Certified;

/// The variables that hold both joints' turns.
const PITCH: &str = "pitch";
const ROLL: &str = "roll";
/// Those that hold both motors' turns, and their rates per rate of pitch and roll.
const FIRST: &str = "first";
const SECOND: &str = "second";
const RATES: [[&str; 2]; 2] =
    [["first_by_pitch", "first_by_roll"], ["second_by_pitch", "second_by_roll"]];

/// All of a file, in no language yet.
#[derive(Clone, Debug)]
struct Code {
    design: String,
    /// The design file's name.
    source: String,
    /// The design's name in code.
    name: String,
    number: Number,
    beyond: Beyond,
    /// Turns of pitch and roll, numbers of the code's own kind.
    region: [[f64; 2]; 2],
    /// From joint turns to motor turns and rates.
    core: Vec<Line>,
    /// Steps of Newton's at every call.
    steps: u32,
    certified: Certified,
    pairs: Vec<Pair>,
}

/// Two joints that are built from the drawing.
#[derive(Clone, Debug)]
struct Pair {
    /// The link that they turn.
    link: String,
    /// Names of pitch and roll, and of both motors.
    joint_names: [String; 2],
    motor_names: [String; 2],
    /// In code.
    name: String,
    joints: [End; 2],
    motors: [End; 2],
}

/// The design's joint angles to its motors' and back as code, once per `[[robot]]` under the name of its child; one map under
/// the design's name where there is none.
///
/// # Errors
/// A polynomial that was asked for, names that are one in code, a region over which no error bound holds or joints do not
/// certainly belong to their motors alone.
pub fn map_of_two_joints(
    design: &TwoJointDesign,
    two: &TwoMotors,
    ask: &MapAsk,
) -> Result<MapCode, MapFault> {
    let code = code(design, two, ask)?;
    let text = match ask.language {
        Language::C99 => c99::text(&code, ask.as_header),
        Language::Rust => rust::text(&code),
        Language::Python => python::text(&code),
    };
    Ok(MapCode { vectors: vectors::csv(&code, two), notes: head::notes(&code), code: text })
}

fn code(design: &TwoJointDesign, two: &TwoMotors, ask: &MapAsk) -> Result<Code, MapFault> {
    const NO_BOUND: MapFault = MapFault::Region(
        "no error bound holds over this region: a rod nearly fails to reach, or comes nearly in line",
    );
    if ask.form == Some(MapForm::Polynomial) {
        return Err(MapFault::NoPolynomial);
    }
    within_half_a_turn(two)?;
    let number = ask.number;
    let region = two.region.map(|[low, high]| [number.above(low), number.below(high)]);
    let pins = two.drive.pose([0.0; 2]).map_err(|_| NO_BOUND)?.rods.map(|rod| rod.pin);
    let core = rods::closed_form(two.drive.geometry(), pins).ok_or(NO_BOUND)?;
    let mut code = Code {
        design: design.name.clone(),
        source: design.source.path.clone(),
        name: identifier(&design.name),
        number,
        beyond: ask.beyond,
        region,
        core,
        steps: 0,
        certified: Certified::default(),
        pairs: pairs(design)?,
    };
    code.certified = bounds::certified(&code, design, two).ok_or(NO_BOUND)?;
    let ends = MapFault::Region("Newton's steps do not end at every pose of this region");
    code.steps = vectors::steps(&code, two).ok_or(ends)?;
    let (wanted, reached) = (ask.within.unwrap_or(USUAL), code.certified.largest());
    if reached > wanted {
        return Err(MapFault::NotWithin { wanted, reached, degree: None });
    }
    Ok(code)
}

/// Pieces of each range that are looked at, for cranks that turn far.
const PIECES: u32 = 24;

fn within_half_a_turn(two: &TwoMotors) -> Result<(), MapFault> {
    let grid = two.grid(PIECES);
    let turns = grid.turns().map(|joints| two.drive.motor_turns(joints));
    let cranks = two.drive.geometry().legs.each_ref().map(|leg| leg.input.bolt().is_some());
    let is_far = |turns: [f64; 2]| {
        cranks.iter().zip(turns).any(|(is_crank, turn)| *is_crank && turn.abs() >= HALF_TURN)
    };
    if turns.flatten().any(is_far) {
        return Err(MapFault::Region(
            "a crank turns by half a turn from the zero pose, and the closed form tells no further",
        ));
    }
    Ok(())
}

/// One for each `[[robot]]`, or one that reads as the drawing does.
fn pairs(design: &TwoJointDesign) -> Result<Vec<Pair>, MapFault> {
    let ends = |reads: [f64; 2], [first, second]: [f64; 2]| {
        let [one, two] = reads;
        [End { in_zero: one, sense: first }, End { in_zero: two, sense: second }]
    };
    let joints = ends(design.joint_reads, [1.0; 2]);
    let of_robot = |robot: &TwoJointRobot| Pair {
        link: robot.child.clone(),
        joint_names: robot.joints.clone(),
        motor_names: robot.motors.clone(),
        name: identifier(&robot.child),
        joints,
        motors: ends(design.motor_reads, robot.motor_signs),
    };
    let mut pairs: Vec<Pair> = design.robots.iter().map(of_robot).collect();
    if pairs.is_empty() {
        pairs.push(Pair {
            link: design.name.clone(),
            joint_names: ["pitch", "roll"].map(str::to_owned),
            motor_names: design.motors.each_ref().map(|motor| motor.name.clone()),
            name: identifier(&design.name),
            joints,
            motors: ends(design.motor_reads, [1.0; 2]),
        });
    }
    for (k, pair) in pairs.iter().enumerate() {
        if let Some(other) = pairs.iter().take(k).find(|other| other.name == pair.name) {
            let names = [other.link.clone(), pair.link.clone()];
            return Err(MapFault::SameName { robot: k, names, in_code: pair.name.clone() });
        }
    }
    Ok(pairs)
}
