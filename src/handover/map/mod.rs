//! Motor angle, speed and torque to the joint's and back as code, with a certified error: for firmware and for those who
//! train.
//!
//! | file | tells |
//! |---|---|
//! | `approximation` | the turn as a polynomial that is exact in the zero pose, and its certified error |
//! | `core` | turn to turn in lines of code: polynomial or closed form |
//! | `stages`, `of_sizes` | the same of any other drive of one joint: closed form or polynomial, what its digits do |
//! | `two_joints` | the same of two joints that two motors turn |
//! | `direction` | one direction for every joint: readings around the core, the choice of the degree, all that is certified |
//! | `expression`, `number`, `rounding` | the code's arithmetic, told once: printed, worked out, bounded |
//! | `vectors` | the code's own answers, to test it by |
//! | `code`, `head`, `c99`, `rust`, `python` | the same lines in each language |

mod approximation;
mod c99;
mod code;
mod core;
mod direction;
mod expression;
mod fault;
mod head;
mod number;
mod of_sizes;
mod python;
mod rounding;
mod rust;
mod stages;
mod two_joints;
mod vectors;

use crate::design::{Design, Drawn, MotorOn, RobotJoint};
use crate::drive::OneJoint as _;
use crate::linkage::{Kind, Transfer, kind_of};
use crate::study::{Driven, Mechanism, Readings};

use self::code::{Code, Joint};
use self::direction::{Choice, Direction, End};
pub use self::fault::MapFault;
pub use self::number::Number;
pub use self::two_joints::map_of_two_joints;
use super::stand_in::figures::sense;
use super::stand_in::limits::motor_turns;

words! {
    /// The language of the code.
    #[derive(Clone, Copy, Debug, PartialEq, Eq)]
    pub enum Language {
        /// ISO C of 1999; nothing is allocated, no variable is shared.
        C99 = "c99",
        /// Needs `core` only; the closed form also the crate `libm`.
        Rust = "rust",
        /// The array module is an argument, so that the map can be differentiated.
        Python = "python",
    }
}

words! {
    /// What the code works out.
    #[derive(Clone, Copy, Debug, PartialEq, Eq)]
    pub enum MapForm {
        /// A polynomial that is exact in the zero pose.
        Polynomial = "polynomial",
        /// The meeting of two circles, with sine, cosine, root and arc tangent.
        Formula = "formula",
    }
}

words! {
    /// What the code does beyond the stroke.
    #[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
    pub enum Beyond {
        /// The angle stays at the end; so does the ratio.
        #[default]
        Hold = "hold",
        /// The angle goes on straight, with the end's ratio.
        Tangent = "tangent",
    }
}

/// What is asked of a map.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MapAsk {
    /// The language.
    pub language: Language,
    /// What the code computes in.
    pub number: Number,
    /// What it works out: where `None`, a polynomial in `float` and the closed form in `double`.
    pub form: Option<MapForm>,
    /// Largest certified error of an angle, rad: the least degree that meets it is taken. Where `None`, the degree that adds
    /// little to rounding, and no code that is not within 0.01 deg.
    pub within: Option<f64>,
    /// Beyond the stroke.
    pub beyond: Beyond,
    /// C: functions that may stand in a header, each `static inline`.
    pub as_header: bool,
}

impl MapAsk {
    /// In doubles, held at the ends of the stroke.
    #[must_use]
    pub fn new(language: Language) -> Self {
        let number = Number::Double;
        let beyond = Beyond::default();
        Self { language, number, form: None, within: None, beyond, as_header: false }
    }

    fn choice(&self) -> Choice {
        let usual = match self.number {
            Number::Float => MapForm::Polynomial,
            Number::Double => MapForm::Formula,
        };
        let (number, beyond, within) = (self.number, self.beyond, self.within);
        Choice { number, form: self.form.unwrap_or(usual), beyond, within }
    }
}

/// A map as text.
#[derive(Clone, Debug, PartialEq)]
pub struct MapCode {
    /// The file.
    pub code: String,
    /// What the code answers at poses of the stroke and beyond, as CSV.
    pub vectors: String,
    /// What the user should be told: what is certified, what is left out.
    pub notes: Vec<String>,
}

/// The design's motor angle to its joint's and back as code, once per `[[robot]]`; one map under the design's name where
/// there is none.
///
/// # Errors
/// Stops that leave nothing of the stroke, names that are one in code, an error that no degree is certified to meet, a
/// stroke that the closed form does not tell the turns of.
///
/// # Examples
/// ```
/// use unloop::handover::map::{Language, MapAsk, map};
/// let text = std::fs::read("models/knee_offset.toml")?;
/// let (design, _) = unloop::design::read("knee_offset.toml", &text)?;
/// let mechanism = unloop::study::Mechanism::of(&design).map_err(|faults| faults[0].clone())?;
/// let knee = map(&design, &mechanism, &MapAsk::new(Language::C99))?;
/// assert!(knee.code.contains("double knee_pitch_joint_from_motor(double motor)"));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn map(design: &Design, mechanism: &Mechanism, ask: &MapAsk) -> Result<MapCode, MapFault> {
    let code = code(design, mechanism, ask)?;
    let exact = |turn: f64| mechanism.branch.joint_turn(turn).ok();
    Ok(written(&code, ask, &exact))
}

/// The same for a design of another drive.
///
/// # Errors
/// As [`map`].
pub fn map_of_sizes(
    design: &Design<Drawn>,
    driven: &Driven,
    ask: &MapAsk,
) -> Result<MapCode, MapFault> {
    let code = of_sizes::code(design, driven, ask)?;
    let exact = |turn: f64| driven.drive.joint_turn(turn).ok();
    Ok(written(&code, ask, &exact))
}

fn written(code: &Code, ask: &MapAsk, exact: &dyn Fn(f64) -> Option<f64>) -> MapCode {
    let text = match ask.language {
        Language::C99 => c99::text(code, ask.as_header),
        Language::Rust => rust::text(code),
        Language::Python => python::text(code),
    };
    MapCode { vectors: vectors::csv(code, exact), notes: head::notes(code), code: text }
}

/// All that is written, in no language yet.
fn code(design: &Design, mechanism: &Mechanism, ask: &MapAsk) -> Result<Code, MapFault> {
    if design.parallel_jaw().is_some() {
        return Err(MapFault::PadOnCoupler);
    }
    let choice = ask.choice();
    let branch = &mechanism.branch;
    let stops = design.actuator.as_ref().and_then(|actuator| actuator.stops);
    let motor_turns = motor_turns(&mechanism.stroke, stops)?;
    let joints = joints(design, mechanism.readings.clone())?;
    let is_same =
        kind_of(branch.bars(), branch.zero_crank(), branch.closure()) == Kind::Parallelogram;
    let ends: Vec<(End, End)> = joints.iter().map(|joint| (joint.motor, joint.joint)).collect();
    let there = Transfer::ToJoint(branch.clone());
    let to_joint = Direction::new(&there, motor_turns, &ends, is_same, &choice)?;
    let dead = branch.dead_turns(motor_turns[0], motor_turns[1]).first().copied();
    let to_motor = match dead {
        Some(_) => None,
        None => {
            let back = Transfer::ToMotor(branch.exchanged().map_err(|_| MapFault::NotCertified)?);
            let mut turns = motor_turns.map(|turn| there.at(turn).unwrap_or(f64::NAN));
            turns.sort_by(f64::total_cmp);
            let ends: Vec<(End, End)> =
                ends.iter().map(|(motor, joint)| (*joint, *motor)).collect();
            Some(Direction::new(&back, turns, &ends, is_same, &choice)?)
        }
    };
    Ok(Code {
        design: design.name.clone(),
        source: design.source.path.clone(),
        name: code::identifier(&design.name),
        choice,
        is_same,
        is_motor_on_parent: design.motor_on == MotorOn::Parent,
        motor_turns,
        dead_at: dead,
        joints,
        to_joint,
        to_motor,
    })
}

/// One for each `[[robot]]`, or one that reads as the drawing does.
fn joints<G>(design: &Design<G>, drawn: Readings) -> Result<Vec<Joint>, MapFault> {
    let end = |in_zero: f64, sense: f64| End { in_zero, sense };
    let of_robot = |robot: &RobotJoint| {
        let joint = sense(robot);
        Joint {
            joint_name: robot.joint.clone(),
            name: code::identifier(&robot.joint),
            motor: end(drawn.motor_in_zero, robot.motor_sign * joint),
            joint: end(drawn.joint_in_zero, joint),
        }
    };
    let mut joints: Vec<Joint> = design.robots.iter().map(of_robot).collect();
    if joints.is_empty() {
        joints.push(Joint {
            joint_name: design.name.clone(),
            name: code::identifier(&design.name),
            motor: end(drawn.motor_in_zero, drawn.sense),
            joint: end(drawn.joint_in_zero, drawn.sense),
        });
    }
    for (k, joint) in joints.iter().enumerate() {
        if let Some(other) = joints.iter().take(k).find(|other| other.name == joint.name) {
            let names = [other.joint_name.clone(), joint.joint_name.clone()];
            return Err(MapFault::SameName { robot: k, names, in_code: joint.name.clone() });
        }
    }
    Ok(joints)
}
