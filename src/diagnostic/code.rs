//! The stable word for a kind of message, by which more can be asked about it.

use std::fmt;

words! {
    /// A kind of warning or fault that is worth more words than its message has: warnings first, then faults, then what
    /// is said of a loop in a robot file.
    ///
    /// Its word is stable: it stands in JSON, in brackets in text, and `unloop explain` takes it.
    #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
    pub enum Code {
        /// The stroke ends shortly before a change point.
        NearChangePoint = "near_change_point",
        /// The stroke ends shortly before a crank limit.
        NearCrankLimit = "near_crank_limit",
        /// The stroke ends shortly before a dead point.
        NearDeadPoint = "near_dead_point",
        /// The stroke ends shortly before an end of a linear actuator.
        NearActuatorEnd = "near_actuator_end",
        /// The load never turns the motor.
        ScrewLocksItself = "screw_locks_itself",
        /// The nut may turn against its housing.
        NutTurns = "nut_turns",
        /// Hinged pins must give what balls would tilt.
        PinsMustGive = "pins_must_give",
        /// The rocker turns back within the stroke.
        DeadPointInStroke = "dead_point_in_stroke",
        /// The pad stands still along its closing direction within the stroke or shortly beyond it.
        NearToggle = "near_toggle",
        /// The pads meet before the stroke ends.
        PadsMeet = "pads_meet",
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
        /// A size that lies outside its own limits.
        DrawnOutsideLimits = "drawn_outside_limits",
        /// An angle in degrees with the figures of one in radians.
        RadiansAsDegrees = "radians_as_degrees",
        /// An angle in radians with the figures of one in degrees.
        DegreesAsRadians = "degrees_as_radians",
        /// One length or pin in another unit than all the others.
        UnitDiffers = "unit_differs",
        /// The axis does not lie across the plane of the pins.
        AxisDoesNotFit = "axis_does_not_fit",
        /// Two pins stand in each other's place.
        PinsSwapped = "pins_swapped",
        /// A bar that is too long or too short for any robot.
        LengthOutOfScale = "length_out_of_scale",
        /// The rocker stands still in the stroke.
        RockerStandsStill = "rocker_stands_still",
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
        /// The carrier cannot hold the rotor that it is said to hold.
        RotorBeyondCarrier = "rotor_beyond_carrier",
        /// A standard has no value for this size.
        OutsideTheStandard = "outside_the_standard",
        /// The axes of drawing and robot are not parallel.
        AxesNotParallel = "axes_not_parallel",
        /// `motor_at` is not the ground length away.
        MotorOffGround = "motor_off_ground",
        /// What is asked needs a joint, and the pad rides on the coupler.
        PadOnCoupler = "pad_on_coupler",
        /// Motor stops and stroke do not overlap.
        StopsLeaveNothing = "stops_leave_nothing",
        /// No direct joint: the verdict is "not equivalent".
        NotEquivalent = "not_equivalent",
        /// No direct joint: the verdict is "undecided".
        Undecided = "undecided",
        /// The format couples joints by a straight line, which is not enough.
        CouplingNotLinear = "coupling_not_linear",
        /// In a robot file: a loop of five bodies.
        FiveBar = "five_bar",
        /// In a robot file: a loop of other than four or five bodies.
        NotFourJoints = "not_four_joints",
        /// In a robot file: a joint of the loop slides.
        Slider = "slider",
        /// In a robot file: a joint of the loop is neither hinge nor ball.
        OtherJoint = "other_joint",
        /// In a robot file: two bodies of the loop are held by several joints in a row.
        SeveralJoints = "several_joints",
        /// In a robot file: a body of the loop only holds two crossed hinges apart.
        CrossBody = "cross_body",
        /// In a robot file: the ends of a rod in space leave it too few turns.
        OverConstrained = "over_constrained",
        /// In a robot file: the motor is not on the slide of a loop that has one.
        MotorElsewhere = "motor_elsewhere",
        /// In a robot file: no hinge at the carrier.
        NoHinge = "no_hinge",
        /// In a robot file: two pins of one body lie in line along the axis.
        PinsCoincide = "pins_coincide",
        /// In a robot file: the axes of the loop are not parallel.
        Spatial = "spatial",
        /// In a robot file: the coupler bears further parts.
        CouplerBears = "coupler_bears",
        /// In a robot file: the crank bears further joints.
        CrankBears = "crank_bears",
        /// In a robot file: a pin of the rod is driven.
        DrivenPin = "driven_pin",
        /// In a robot file: a tendon springs, brakes or stops a joint of the loop.
        Tendon = "tendon",
        /// In a robot file: an equality holds a joint of the loop still.
        HeldStill = "held_still",
        /// In a robot file: a spring or damper of the loop whose figures are not read.
        UnreadFigures = "unread_figures",
        /// In a robot file: both joints on the carrier are driven.
        DrivenTwice = "driven_twice",
        /// In a robot file: nothing says which joint is the motor's.
        MotorUnknown = "motor_unknown",
        /// In a robot file: nothing says which body is carried.
        ChildUnknown = "child_unknown",
        /// In a robot file: the coupler is what is carried.
        ParallelJaw = "parallel_jaw",
        /// In a robot file: nothing says where the pad is.
        PadUnknown = "pad_unknown",
        /// In a robot file: the pad does not travel towards anything.
        NoTravel = "no_travel",
        /// In a robot file: the finger's joint follows its driver besides.
        Multiplier = "multiplier",
        /// In a robot file: the motor sits on the child's own joint.
        ChildDriven = "child_driven",
        /// In a robot file: a spring holds a joint at its stop.
        HeldAtStop = "held_at_stop",
        /// In a robot file: two loops share joints.
        SharesJoints = "shares_joints",
        /// In a robot file: two loops together turn one body about two joints.
        TwoRods = "two_rods",
        /// In a robot file: a joint of a double loop has no limits.
        NoRange = "no_range",
        /// In a robot file: what the design of a double loop does not hold.
        LeftOut = "left_out",
        /// In a robot file: a spring in the loop.
        Spring = "spring",
        /// In a robot file: the loop does not close in the drawn pose.
        Open = "open",
        /// In a robot file: the two sides of a pin stand apart as drawn.
        DrawnOpen = "drawn_open",
        /// In a robot file: the loop is drawn with all four pins in line.
        DrawnFlat = "drawn_flat",
        /// In a robot file: the joint limits leave no motion.
        NoMotion = "no_motion",
        /// In a robot file: the loop cannot be judged.
        NotJudged = "not_judged",
        /// In a robot file: the child weighs nothing in the file.
        NoMass = "no_mass",
        /// In a robot file: inertia is not part of the verdict: the file gives no rotor.
        InertiaWithoutRotor = "inertia_without_rotor",
        /// In a robot file: inertia is not part of the verdict: a part of the drive weighs nothing.
        InertiaWithoutMasses = "inertia_without_masses",
        /// In a robot file: one anchor closes the loop: an engine takes the lengths from the drawn pose.
        AnchorFreezesPose = "anchor_freezes_pose",
        /// In a robot file: the constraint that closes the loop is softer than the engine's own default.
        SoftLoop = "soft_loop",
        /// In a robot file: crank and driven joint are tied with another ratio than the linkage has.
        TiedOtherwise = "tied_otherwise",
    }
}

impl Code {
    /// What its messages are about, as the heading of a list.
    #[must_use]
    pub fn heading(self) -> &'static str {
        if self <= Self::RatedOverPeak {
            "warnings"
        } else if self <= Self::CouplingNotLinear {
            "faults"
        } else {
            "loops of a robot file"
        }
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
            assert_eq!(Code::named(code.name()), Some(code));
            assert!(code.name().bytes().all(|b| b.is_ascii_lowercase() || b == b'_'), "{code}");
        }
        assert_eq!(Code::named("near_change"), None);
    }
}
