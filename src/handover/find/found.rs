//! A closed loop of a robot file, and all that is said of it.

use serde::Serialize;

use super::four_bar::FourBarLoop;
use super::loop_drive::LoopDrive;
use super::obstacle::Obstacle;
use super::reach::Reach;
use super::tied::TiedLoops;
use crate::design::{Design, Drawn};
use crate::linkage::{Class, Closure, Kind, Pad};
use crate::study::{Check, Driven, Mechanism};

/// A parallel jaw as its file draws it.
#[derive(Clone, Debug)]
pub struct Jaw {
    /// The pad in the plane of the linkage, in the zero pose.
    pub pad: Pad,
    /// What the pad point was taken from, as a clause.
    pub point_told_by: String,
    /// How the closing direction was taken, as a clause.
    pub closing_told_by: String,
    /// Distance of the two pads in the zero pose, m; `None` where the file has one finger, or they overlap.
    pub opening: Option<f64>,
    /// The finger that the same motor moves as a mirror image.
    pub other: Option<MirroredFinger>,
}

/// The other finger of a gripper.
#[derive(Clone, Debug)]
pub struct MirroredFinger {
    /// Name of its loop.
    pub name: String,
    /// Reading of its crank's joint per reading of this finger's.
    pub slope: f64,
    /// Its linkage.
    pub four_bar: FourBarLoop,
    /// Where it moves.
    pub reach: Reach,
}

/// A closed loop of a robot file.
#[derive(Clone, Debug)]
pub struct FoundLoop {
    /// What closes it, by name; else the driven joint's name.
    pub name: String,
    /// Names of its links, the one nearest to the robot's base first.
    pub links: Vec<String>,
    /// Names of the pins in the same order: the first is between the first two links.
    pub pins: Vec<String>,
    /// The names of its joints.
    pub joints: Vec<String>,
    /// The four-bar, where it is one.
    pub four_bar: Option<FourBarLoop>,
    /// Kind, class and closure, where it closes.
    pub nature: Option<Nature>,
    /// Names of carrier, crank, coupler and child.
    pub parts: Option<[String; 4]>,
    /// Its pad and the other finger, where its coupler is what is carried.
    pub jaw: Option<Jaw>,
    /// The mechanism that it is a part of with others; `None` where it stands alone.
    pub mechanism: Option<TiedLoops>,
    /// The motor's joint by name; `None` where it is not known.
    pub motor: Option<String>,
    /// The name of the driven joint that the motor's is tied to.
    pub tied_to: Option<String>,
    /// What the crank's joint and the driven one read in the zero pose, rad.
    pub zero_readings: Option<[f64; 2]>,
    /// What the loop would be with each of its joints on the carrier as the motor's, where nothing says which is.
    pub candidates: Vec<MotorCandidate>,
    /// Where it moves.
    pub reach: Option<Reach>,
    /// Smallest and largest transmission ratio there, signed; infinite across a dead point.
    pub ratio: Option<[f64; 2]>,
    /// What stands against a direct joint, the verdict aside.
    pub obstacles: Vec<Obstacle>,
    /// What else the user should know, each a clause.
    pub remarks: Vec<Obstacle>,
    /// What it is where it is no planar four-bar.
    pub drive: Option<LoopDrive>,
    /// The design file of that.
    pub drive_text: Option<String>,
    /// The design file of the loop, and what `check` says of it.
    pub judged: Option<Judged>,
    /// The same of a loop that is no planar four-bar, its design read from `drive_text`.
    pub judged_drive: Option<JudgedDrive>,
}

impl FoundLoop {
    /// What `check` says of it, whichever kind of drive it is.
    #[must_use]
    pub fn check(&self) -> Option<&Check> {
        let drive = || self.judged_drive.as_ref().map(|judged| &judged.check);
        self.judged.as_ref().map(|judged| &judged.check).or_else(drive)
    }

    /// Whether it is one of two loops that turn a body about two joints: what is said of them is said of both together.
    #[must_use]
    pub fn is_of_two_joints(&self) -> bool {
        self.obstacles.iter().any(|obstacle| obstacle.code == "two_rods")
    }

    /// Whether another loop runs through joints of it.
    #[must_use]
    pub fn shares_joints(&self) -> bool {
        self.obstacles.iter().any(|obstacle| obstacle.code == "shares_joints")
    }

    /// Its design file, judged or not.
    #[must_use]
    pub fn design_text(&self) -> Option<&str> {
        let judged = self.judged.as_ref().map(|judged| judged.text.as_str());
        judged.or(self.drive_text.as_deref())
    }
}

/// An actuator between two points of a file, which stands for a linear drive already.
#[derive(Clone, Debug)]
pub struct PointDrive {
    /// The actuator's name, else the driven joint's.
    pub name: String,
    /// The driven joint's name.
    pub joint: String,
    /// `file:line:column`.
    pub whereabouts: String,
    /// What it is.
    pub drive: LoopDrive,
    /// Its design file.
    pub text: String,
}

/// A loop with one of its joints taken for the motor's.
#[derive(Clone, Debug, Serialize)]
pub struct MotorCandidate {
    /// The joint's name.
    pub motor: String,
    /// The other joint on the carrier, which it would drive.
    pub driven: String,
    /// Where it moves.
    #[serde(rename = "stroke")]
    pub reach: Reach,
    /// Smallest and largest transmission ratio there, signed; infinite across a dead point.
    #[serde(rename = "transmission_ratio", serialize_with = "super::views::ratio")]
    pub ratio: Option<[f64; 2]>,
}

/// What a linkage is, in words of the trade.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Nature {
    /// On its circuit.
    pub kind: Kind,
    /// The special kind that it misses by at most 1 %, and by what share of the longest length.
    pub near: Option<(Kind, f64)>,
    /// Grashof class.
    pub class: Class,
    /// In the zero pose.
    pub closure: Closure,
}

/// A loop as a design, checked.
#[derive(Clone, Debug)]
pub struct Judged {
    /// The text of the design file.
    pub text: String,
    /// The same, read.
    pub design: Design,
    /// The linkage over its stroke.
    pub mechanism: Mechanism,
    /// What `check` finds.
    pub check: Check,
}

/// A loop that is no planar four-bar as a design, checked.
#[derive(Clone, Debug)]
pub struct JudgedDrive {
    /// Its design file, read.
    pub design: Design<Drawn>,
    /// The drive over its stroke.
    pub driven: Driven,
    /// What `check` finds.
    pub check: Check,
}
