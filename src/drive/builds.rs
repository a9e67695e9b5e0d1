//! Builds of a whole drive from the sizes of its drawing, a rod or a ratio a stage: where the motor of each is at a joint turn.
//!
//! A build is followed along the joint turn in the assembly that is drawn; angles of cranks are told on the sheet of the
//! drawn drive's.

use super::angular::Angular;
use super::built::Built;
use super::drawing::Drawing;
use super::fault::DriveFault;
use super::one_joint::OneJoint as _;
use super::series::JointDrive;
use super::space::Vector;

/// What all builds of a drawing share.
#[derive(Clone, Debug)]
pub struct Builds {
    stages: Vec<DrawnStage>,
}

/// One stage as drawn.
#[derive(Clone, Debug)]
struct DrawnStage {
    drawing: Drawing,
    drive: JointDrive,
    sizes: usize,
    /// The zero pose is set by the crank's angle.
    is_set_by_crank: bool,
    /// Motor angle of the zero pose, and the lever there, from the joint axis to Q.
    zero: f64,
    lever: Option<Vector>,
}

/// One build of a drive, or a box of them.
#[derive(Clone, Debug)]
pub struct Build<T = f64> {
    stages: Vec<Stage<T>>,
}

#[derive(Clone, Debug)]
enum Stage<T> {
    Rod { built: Built<T>, off: Off<T> },
    Ratio(T),
}

/// The joint turn that the build's zero pose is at, and the motor angle from its datum that counts as 0; rad.
#[derive(Clone, Copy, Debug)]
struct Off<T> {
    joint: T,
    motor: T,
}

/// How a build's turns are counted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Counted {
    /// Motor and joint from the build's own zero pose.
    FromOwnZero,
    /// Both from the drawn zero pose. A crank that the zero pose is set by counts as 0 wherever it was set, and the lever
    /// follows; elsewhere the lever stands as drawn, and the motor follows.
    AsDrawn,
}

/// A build at a joint turn.
#[derive(Clone, Copy, Debug)]
pub struct BuildPose<T = f64> {
    /// Motor turn, rad.
    pub motor: T,
    /// Motor rate per joint rate, signed.
    pub ratio: T,
    /// Sine of the smallest transmission angle of the rods; 1 where there is none.
    pub sine: T,
    /// |r_B| of the last rod, its arm about the joint; `None` behind a belt.
    pub arm: Option<T>,
}

impl Builds {
    /// Builds of `drawing`.
    ///
    /// # Errors
    /// As [`Drawing::drive`].
    pub fn of(drawing: &Drawing) -> Result<Self, DriveFault> {
        let stages = match drawing {
            Drawing::Series(stages) => {
                let of = |(k, stage): (usize, &Drawing)| {
                    DrawnStage::of(stage).map_err(|fault| fault.of_stage(k))
                };
                stages.iter().enumerate().map(of).collect::<Result<_, _>>()?
            }
            one => vec![DrawnStage::of(one)?],
        };
        Ok(Self { stages })
    }

    /// The build of `sizes`, in the order of [`Drawing::sizes`]; `None` where one does not close in its zero pose.
    pub fn build<T: Angular>(&self, mut sizes: &[T], counted: Counted) -> Option<Build<T>> {
        let mut stages = Vec::with_capacity(self.stages.len());
        for stage in &self.stages {
            let (own, rest) = sizes.split_at_checked(stage.sizes)?;
            stages.push(stage.build(own, counted)?);
            sizes = rest;
        }
        Some(Build { stages })
    }

    /// The motor angle of every stage of the drawn drive at joint turn `joint`, from the motor on: what the angles of
    /// builds are told next to.
    ///
    /// # Errors
    /// As [`super::OneJoint::motion`].
    pub fn sheets(&self, joint: f64) -> Result<Vec<f64>, DriveFault> {
        let mut turn = joint;
        let mut sheets = Vec::with_capacity(self.stages.len());
        for stage in self.stages.iter().rev() {
            turn = stage.drive.motor_turn(turn)?;
            sheets.push(stage.zero + turn);
        }
        sheets.reverse();
        Ok(sheets)
    }
}

impl DrawnStage {
    fn of(drawing: &Drawing) -> Result<Self, DriveFault> {
        let (drive, sizes) = (drawing.drive()?, drawing.sizes());
        let zero = match &drive {
            JointDrive::Rod(rod) => rod.zero_angles()[1],
            _ => 0.0,
        };
        let values: Vec<f64> = sizes.iter().map(|size| size.value).collect();
        Ok(Self {
            drawing: drawing.clone(),
            drive,
            sizes: sizes.len(),
            is_set_by_crank: sizes.iter().any(|size| size.name == "zero_crank"),
            zero,
            lever: drawing.built(&values).map(|built| built.foot - built.joint.point),
        })
    }

    fn build<T: Angular>(&self, sizes: &[T], counted: Counted) -> Option<Stage<T>> {
        if let Drawing::FixedRatio(_) = self.drawing {
            return sizes.first().copied().map(Stage::Ratio);
        }
        let built = self.drawing.built(sizes)?;
        let own = || Some(built.input.angle(built.input.reach(built.foot)?.place, self.zero));
        let off = match counted {
            Counted::FromOwnZero => Off { joint: T::exactly(0.0), motor: own()? },
            Counted::AsDrawn if self.is_set_by_crank => {
                Off { joint: built.ahead_of(self.lever?.map(T::exactly)), motor: own()? }
            }
            Counted::AsDrawn => Off { joint: T::exactly(0.0), motor: T::exactly(self.zero) },
        };
        Some(Stage::Rod { built, off })
    }
}

impl<T: Angular> Build<T> {
    /// The build at joint turn `joint` from its own zero pose; `sheets` are those of the drawn drive there.
    pub fn at(&self, joint: T, sheets: &[f64]) -> Option<BuildPose<T>> {
        let one = T::exactly(1.0);
        let mut whole = BuildPose { motor: joint, ratio: one, sine: one, arm: None };
        let stages = self.stages.iter().zip(sheets).enumerate().rev();
        for (k, (stage, sheet)) in stages {
            whole = stage.behind(whole, *sheet, k + 1 == self.stages.len())?;
        }
        Some(whole)
    }
}

impl<T: Angular> Stage<T> {
    /// This stage in front of `whole`, whose motor turn is its joint turn.
    fn behind(&self, whole: BuildPose<T>, sheet: f64, is_last: bool) -> Option<BuildPose<T>> {
        let (built, off) = match self {
            Self::Rod { built, off } => (built, off),
            Self::Ratio(ratio) => {
                let (motor, ratio) = (*ratio * whole.motor, *ratio * whole.ratio);
                return Some(BuildPose { motor, ratio, ..whole });
            }
        };
        let axis = built.joint.direction;
        let turn = (whole.motor - off.joint).sin_cos();
        let arm = (built.foot - built.joint.point).turned(axis, turn);
        let reached = built.input.reach(built.joint.point + arm)?;
        let way = axis.cross(arm);
        let rate = reached.rate(way) * built.input.gain();
        let along = sized(reached.rod.dot(way) / reached.length);
        let sine = along / way.length();
        Some(BuildPose {
            motor: built.input.angle(reached.place, sheet) - off.motor,
            ratio: rate * whole.ratio,
            sine: if sine.middle() < whole.sine.middle() { sine } else { whole.sine },
            arm: if is_last { Some(along) } else { whole.arm },
        })
    }
}

/// The size of `x`, whose sign is that of its middle.
fn sized<T: Angular>(x: T) -> T {
    if x.middle() < 0.0 { -x } else { x }
}
