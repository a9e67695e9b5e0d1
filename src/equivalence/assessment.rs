//! One criterion held against its limit: figures, outcome, and how that was shown.

use super::criterion::{Basis, Criterion, Figure};
use super::outcome::Outcome;
use crate::dynamics::{DynamicsFault, MeasuredOver};

/// How an outcome was shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shown {
    /// For every pose of every linkage that the verdict is over.
    Proved,
    /// By one linkage in one pose.
    ByPose,
    /// By figures of the drawn lengths at chosen poses; no more than that.
    Computed,
    /// Not at all: undecided or not assessed.
    NotShown,
}

/// Why a criterion is undecided or not assessed, or fails without a figure; or what its figure is of.
#[derive(Clone, Debug, PartialEq)]
pub enum Why {
    /// A linkage that the verdict is over does not close somewhere over the stroke.
    DoesNotClose,
    /// It was not shown that every linkage closes over the stroke.
    NearlyFlat,
    /// It was not shown that an actuator stays between its shortest and its longest in every build.
    BeyondLengths,
    /// The search ended undecided after this many boxes.
    OutOfBoxes(u32),
    /// The rocker stands still at this motor turn (rad) inside the stroke.
    StandsStill(f64),
    /// What is not given, named as in the design file.
    NotGiven(Vec<&'static str>),
    /// Crank and rod were judged alone, since the rotor is not given: the largest error of kinetic energy over these
    /// motions.
    WithoutRotor(MeasuredOver),
    /// No model with real bodies exists.
    NoModel(DynamicsFault),
    /// The figure cannot be told: the masses are not those of real bodies.
    NoFigure,
    /// What the figure of kinetic energy is over, and how many drives on one link move together in it; `bounded` where
    /// it is certified for the whole basis.
    Energy {
        /// The motions.
        over: MeasuredOver,
        /// Drives that move together.
        drives: usize,
        /// Is there a certified bound?
        bounded: bool,
    },
}

/// One criterion of a verdict. Figures are in the criterion's own unit.
#[derive(Clone, Debug, PartialEq)]
pub struct Assessment {
    /// Which.
    pub criterion: Criterion,
    /// What it is held against.
    pub limit: f64,
    /// What the verdict is over.
    pub basis: Basis,
    /// The drawn linkage's worst figure.
    pub nominal: Option<Figure>,
    /// A certified bound over the basis.
    pub bound: Option<Figure>,
    /// The figure that breaks the limit, where one does.
    pub seen: Option<Figure>,
    /// The motor turn where it is worst, rad.
    pub worst_at_motor: Option<f64>,
    /// The joint turn there, rad.
    pub worst_at_joint: Option<f64>,
    /// The turns of both joints there, pitch before roll, where two motors turn two of them, rad.
    pub worst_at_joints: Option<[f64; 2]>,
    /// What came out.
    pub outcome: Outcome,
    /// How.
    pub shown: Shown,
    /// Why, where the figures do not say it.
    pub why: Option<Why>,
}

impl Assessment {
    /// Without a figure, and not looked at.
    #[must_use]
    pub fn not_assessed(criterion: Criterion, limit: f64, basis: Basis) -> Self {
        Self {
            criterion,
            limit,
            basis,
            nominal: None,
            bound: None,
            seen: None,
            worst_at_motor: None,
            worst_at_joint: None,
            worst_at_joints: None,
            outcome: Outcome::NotAssessed,
            shown: Shown::NotShown,
            why: None,
        }
    }

    /// The figure to hold against the limit: the certified bound where the claim holds, the one that breaks the limit
    /// where it fails, else the drawn linkage's.
    #[must_use]
    pub fn worst(&self) -> Option<Figure> {
        match self.outcome {
            Outcome::Holds => self.bound_over(Basis::Tolerance).or(self.nominal),
            Outcome::Fails => self.seen,
            Outcome::Undecided | Outcome::NotAssessed => self.nominal,
        }
    }

    /// The certified bound where the verdict is over `basis`.
    #[must_use]
    pub fn bound_over(&self, basis: Basis) -> Option<Figure> {
        self.bound.filter(|_| self.basis == basis)
    }

    /// By what factor the worst figure exceeds the limit, below 1 it holds; infinite where it fails without a figure.
    #[must_use]
    pub fn load(&self) -> f64 {
        match self.worst() {
            Some(worst) => self.criterion.load(worst, self.limit),
            None if self.outcome == Outcome::Fails => f64::INFINITY,
            None => 0.0,
        }
    }

    /// How far the worst figure is within the limit, in the criterion's unit; negative where it fails.
    #[must_use]
    pub fn margin(&self) -> Option<f64> {
        Some(self.criterion.margin(self.worst()?, self.limit))
    }

    /// Is the outcome proved, or shown by a pose?
    #[must_use]
    pub fn is_proved(&self) -> bool {
        matches!(self.shown, Shown::Proved | Shown::ByPose)
    }

    /// A criterion of the motion that is proved on every stretch of the stroke holds over the whole of it: the limit
    /// itself is a bound then, where the search over the whole stroke found no better one.
    pub(super) fn hold_on_every_stretch(&mut self) {
        if self.criterion == Criterion::Inertia || self.outcome != Outcome::Undecided {
            return;
        }
        (self.outcome, self.shown, self.why) = (Outcome::Holds, Shown::Proved, None);
        self.bound = Figure::new(self.limit);
    }
}
