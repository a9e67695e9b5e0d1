//! The stable word for a kind of message, by which more can be asked about it.

use std::fmt;

/// The codes: variant and word, in the order of [`Code::ALL`].
macro_rules! codes {
    ($($(#[$doc:meta])+ $variant:ident = $word:literal,)+) => {
        /// A kind of warning or fault that is worth more words than its message has.
        ///
        /// Its word is stable: it stands in JSON, in brackets in text, and `unloop explain` takes it.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
        pub enum Code {
            $($(#[$doc])+ $variant,)+
        }

        impl Code {
            /// Every code: warnings first, then faults.
            pub const ALL: &'static [Self] = &[$(Self::$variant,)+];

            /// Snake case.
            #[must_use]
            pub const fn name(self) -> &'static str {
                match self {
                    $(Self::$variant => $word,)+
                }
            }
        }
    };
}

codes! {
    /// The stroke ends shortly before a change point.
    NearChangePoint = "near_change_point",
    /// The stroke ends shortly before a crank limit.
    NearCrankLimit = "near_crank_limit",
    /// The stroke ends shortly before a dead point.
    NearDeadPoint = "near_dead_point",
    /// The rocker turns back within the stroke.
    DeadPointInStroke = "dead_point_in_stroke",
    /// The lengths miss a special kind by little.
    NearlySpecial = "nearly_special",
    /// The zero pose is not on the stroke.
    ZeroOutsideStroke = "zero_outside_stroke",
    /// The ratio given has the wrong sign.
    RatioSign = "ratio_sign",
    /// The pins stand apart along the axis.
    AxialOffsets = "axial_offsets",
    /// The drawing is seen from behind the joint axis.
    AxisPointsAway = "axis_points_away",
    /// A tolerance study without a tolerance.
    NoToleranceDrawn = "no_tolerance_drawn",
    /// The tolerance study leaves the pins' friction alone.
    PinFrictionUnused = "pin_friction_unused",
    /// The rated torque is over the peak torque.
    RatedOverPeak = "rated_over_peak",
    /// A bare number where a quantity belongs.
    UnitMissing = "unit_missing",
    /// A table or key that no design has.
    UnknownKey = "unknown_key",
    /// The loop does not close in the zero pose.
    LoopDoesNotClose = "loop_does_not_close",
    /// All four pins lie in line in the zero pose.
    FlatZeroPose = "flat_zero_pose",
    /// Crank and coupler are in line in the zero pose, and the stroke is one of the joint.
    ZeroPoseIsDeadPoint = "zero_pose_is_dead_point",
    /// `[zero] rocker` is near neither assembly.
    RockerFitsNeither = "rocker_fits_neither",
    /// The stroke leaves the branch of the zero pose.
    OutsideBranch = "outside_branch",
    /// A tolerance is drawn, but not how a built robot gets its zero.
    SetByMissing = "set_by_missing",
    /// A verdict over a tolerance that is not drawn.
    ToleranceMissing = "tolerance_missing",
    /// A limit of inertia without masses.
    InertiaCannotBeJudged = "inertia_cannot_be_judged",
    /// No real body has these moments of inertia.
    NoRealBody = "no_real_body",
    /// A standard has no value for this size.
    OutsideTheStandard = "outside_the_standard",
    /// The axes of drawing and robot are not parallel.
    AxesNotParallel = "axes_not_parallel",
    /// `motor_at` is not the ground length away.
    MotorOffGround = "motor_off_ground",
    /// Motor stops and stroke do not overlap.
    StopsLeaveNothing = "stops_leave_nothing",
    /// No direct joint: the verdict is "not equivalent".
    NotEquivalent = "not_equivalent",
    /// No direct joint: the verdict is "undecided".
    Undecided = "undecided",
    /// The format couples joints by a straight line, which is not enough.
    CouplingNotLinear = "coupling_not_linear",
}

impl Code {
    /// Whether the design can be judged all the same.
    #[must_use]
    pub fn is_warning(self) -> bool {
        self <= Self::RatedOverPeak
    }

    /// The code of this word.
    #[must_use]
    pub fn named(word: &str) -> Option<Self> {
        Self::ALL.iter().copied().find(|code| code.name() == word)
    }
}

impl fmt::Display for Code {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(self.name())
    }
}

impl PartialEq<str> for Code {
    fn eq(&self, word: &str) -> bool {
        self.name() == word
    }
}

impl PartialEq<&str> for Code {
    fn eq(&self, word: &&str) -> bool {
        self.name() == *word
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_code_is_found_by_its_own_word() {
        for code in Code::ALL {
            assert_eq!(Code::named(code.name()), Some(*code));
            assert!(code.name().bytes().all(|b| b.is_ascii_lowercase() || b == b'_'), "{code}");
        }
        assert_eq!(Code::named("near_change"), None);
    }
}
