//! What a warning or fault means, beyond its one line: `unloop explain CODE`.

mod design_faults;
mod motion_faults;
mod robot_loops;
mod slips;
mod warnings;

use std::fmt::Write as _;

use crate::diagnostic::Code;

use self::{design_faults as d, motion_faults as m, robot_loops as r, slips as s, warnings as w};

use super::style::Style;
use super::terminal::wrapped;

/// The longer text of one code.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Explanation {
    /// One line without a full stop.
    pub title: &'static str,
    /// What it means on the robot or in the file.
    pub meaning: &'static str,
    /// Why it matters.
    pub matters: &'static str,
    /// What to do.
    pub cure: &'static str,
    /// Lines of a design, or a command.
    pub example: &'static str,
}

/// The longer text of a code.
#[allow(clippy::too_many_lines, reason = "a line for each code")]
#[must_use]
pub fn explanation(code: Code) -> &'static Explanation {
    match code {
        Code::NearChangePoint => &w::NEAR_CHANGE_POINT,
        Code::NearCrankLimit => &w::NEAR_CRANK_LIMIT,
        Code::NearDeadPoint => &w::NEAR_DEAD_POINT,
        Code::NearActuatorEnd => &w::NEAR_ACTUATOR_END,
        Code::ScrewLocksItself => &w::SCREW_LOCKS_ITSELF,
        Code::NutTurns => &w::NUT_TURNS,
        Code::PinsMustGive => &w::PINS_MUST_GIVE,
        Code::NearToggle => &w::NEAR_TOGGLE,
        Code::PadsMeet => &w::PADS_MEET,
        Code::DeadPointInStroke => &w::DEAD_POINT_IN_STROKE,
        Code::NearlySpecial => &w::NEARLY_SPECIAL,
        Code::ZeroOutsideStroke => &w::ZERO_OUTSIDE_STROKE,
        Code::RatioSign => &w::RATIO_SIGN,
        Code::AxialOffsets => &w::AXIAL_OFFSETS,
        Code::AxisPointsAway => &w::AXIS_POINTS_AWAY,
        Code::DrawnOutsideLimits => &w::DRAWN_OUTSIDE_LIMITS,
        Code::RadiansAsDegrees => &s::RADIANS_AS_DEGREES,
        Code::DegreesAsRadians => &s::DEGREES_AS_RADIANS,
        Code::UnitDiffers => &s::UNIT_DIFFERS,
        Code::AxisDoesNotFit => &s::AXIS_DOES_NOT_FIT,
        Code::PinsSwapped => &s::PINS_SWAPPED,
        Code::LengthOutOfScale => &s::LENGTH_OUT_OF_SCALE,
        Code::RockerStandsStill => &s::ROCKER_STANDS_STILL,
        Code::NoToleranceDrawn => &w::NO_TOLERANCE_DRAWN,
        Code::PinFrictionUnused => &w::PIN_FRICTION_UNUSED,
        Code::RatedOverPeak => &w::RATED_OVER_PEAK,
        Code::UnitMissing => &d::UNIT_MISSING,
        Code::UnknownKey => &d::UNKNOWN_KEY,
        Code::LoopDoesNotClose => &m::LOOP_DOES_NOT_CLOSE,
        Code::FlatZeroPose => &m::FLAT_ZERO_POSE,
        Code::ZeroPoseIsDeadPoint => &m::ZERO_POSE_IS_DEAD_POINT,
        Code::RockerFitsNeither => &m::ROCKER_FITS_NEITHER,
        Code::OutsideBranch => &m::OUTSIDE_BRANCH,
        Code::SetByMissing => &d::SET_BY_MISSING,
        Code::ToleranceMissing => &d::TOLERANCE_MISSING,
        Code::InertiaCannotBeJudged => &d::INERTIA_CANNOT_BE_JUDGED,
        Code::NoRealBody => &d::NO_REAL_BODY,
        Code::RotorBeyondCarrier => &d::ROTOR_BEYOND_CARRIER,
        Code::OutsideTheStandard => &d::OUTSIDE_THE_STANDARD,
        Code::AxesNotParallel => &d::AXES_NOT_PARALLEL,
        Code::MotorOffGround => &d::MOTOR_OFF_GROUND,
        Code::PadOnCoupler => &m::PAD_ON_COUPLER,
        Code::StopsLeaveNothing => &m::STOPS_LEAVE_NOTHING,
        Code::NotEquivalent => &m::NOT_EQUIVALENT,
        Code::Undecided => &m::UNDECIDED,
        Code::CouplingNotLinear => &m::COUPLING_NOT_LINEAR,
        Code::FiveBar => &r::FIVE_BAR,
        Code::TwoRods => &r::TWO_RODS,
        Code::NoRange => &r::NO_RANGE,
        Code::LeftOut => &r::LEFT_OUT,
        Code::NotFourJoints => &r::NOT_FOUR_JOINTS,
        Code::Slider => &r::SLIDER,
        Code::OtherJoint => &r::OTHER_JOINT,
        Code::SeveralJoints => &r::SEVERAL_JOINTS,
        Code::CrossBody => &r::CROSS_BODY,
        Code::OverConstrained => &r::OVER_CONSTRAINED,
        Code::MotorElsewhere => &r::MOTOR_ELSEWHERE,
        Code::NoHinge => &r::NO_HINGE,
        Code::PinsCoincide => &r::PINS_COINCIDE,
        Code::Spatial => &r::SPATIAL,
        Code::CouplerBears => &r::COUPLER_BEARS,
        Code::CrankBears => &r::CRANK_BEARS,
        Code::DrivenPin => &r::DRIVEN_PIN,
        Code::Tendon => &r::TENDON,
        Code::HeldStill => &r::HELD_STILL,
        Code::UnreadFigures => &r::UNREAD_FIGURES,
        Code::DrivenTwice => &r::DRIVEN_TWICE,
        Code::MotorUnknown => &r::MOTOR_UNKNOWN,
        Code::ChildUnknown => &r::CHILD_UNKNOWN,
        Code::ParallelJaw => &r::PARALLEL_JAW,
        Code::PadUnknown => &r::PAD_UNKNOWN,
        Code::NoTravel => &r::NO_TRAVEL,
        Code::Multiplier => &r::MULTIPLIER,
        Code::ChildDriven => &r::CHILD_DRIVEN,
        Code::HeldAtStop => &r::HELD_AT_STOP,
        Code::SharesJoints => &r::SHARES_JOINTS,
        Code::Spring => &r::SPRING,
        Code::Open => &r::OPEN,
        Code::DrawnOpen => &r::DRAWN_OPEN,
        Code::DrawnFlat => &r::DRAWN_FLAT,
        Code::NoMotion => &r::NO_MOTION,
        Code::NotJudged => &r::NOT_JUDGED,
        Code::NoMass => &r::NO_MASS,
        Code::InertiaWithoutRotor => &r::INERTIA_WITHOUT_ROTOR,
        Code::InertiaWithoutMasses => &r::INERTIA_WITHOUT_MASSES,
        Code::AnchorFreezesPose => &r::ANCHOR_FREEZES_POSE,
        Code::SoftLoop => &r::SOFT_LOOP,
        Code::TiedOtherwise => &r::TIED_OTHERWISE,
    }
}

/// The longer text of a code, broken to the width of the style.
#[must_use]
pub fn explanation_text(code: Code, style: Style) -> String {
    let text = explanation(code);
    let paragraph = |text: &str| wrapped(text, style.width, "  ");
    let mut out = format!("{}: {}\n\n", style.heading(code.name()), text.title);
    out.push_str(&paragraph(text.meaning));
    for (head, body) in [("Why it matters", text.matters), ("What to do", text.cure)] {
        let body = paragraph(&format!("{head}: {body}"));
        let _ = write!(out, "\n{}", body.replacen(head, &style.heading(head), 1));
    }
    let _ = write!(out, "\n  {}:\n\n", style.heading("For example"));
    for line in text.example.lines() {
        let _ = writeln!(out, "{}", format!("    {line}").trim_end());
    }
    style.fit(out)
}

/// Every code with its title.
#[must_use]
pub fn explanation_list(style: Style) -> String {
    let widest = Code::ALL.iter().map(|code| code.name().len()).max().unwrap_or(0);
    let mut out = String::new();
    for group in Code::ALL.chunk_by(|a, b| a.heading() == b.heading()) {
        let head = group.first().map_or("", |code| code.heading());
        let _ = writeln!(out, "{}", style.heading(head));
        for code in group {
            let _ = writeln!(out, "  {:widest$}  {}", code.name(), explanation(*code).title);
        }
        out.push('\n');
    }
    out.push_str("unloop explain CODE tells more about one of them.\n");
    style.fit(out)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_code_says_what_it_means_why_it_matters_and_what_to_do() {
        for code in Code::ALL {
            let text = explanation(code);
            assert!(text.title.len() < 72 && !text.title.ends_with('.'), "{code}: {}", text.title);
            for sentence in [text.meaning, text.matters, text.cure] {
                assert!(sentence.len() > 40 && sentence.ends_with('.'), "{code}: {sentence}");
                assert!(!sentence.contains("  "), "{code}: {sentence}");
            }
            assert!(!text.example.trim().is_empty(), "{code} has no example");
            assert!(text.example.lines().all(|line| line.chars().count() <= 96), "{code}");
        }
    }

    #[test]
    fn no_two_codes_have_the_same_text() {
        for code in Code::ALL {
            let same = Code::ALL.iter().filter(|other| explanation(**other) == explanation(code));
            assert_eq!(same.count(), 1, "{code}");
        }
    }

    #[test]
    fn the_text_keeps_to_the_width_and_to_ascii_where_asked() {
        let style = Style { unicode: false, width: 60, ..Style::PLAIN };
        for code in Code::ALL {
            let text = explanation_text(code, style);
            assert!(text.is_ascii(), "{text}");
            let of_us = text.split("  For example:").next().unwrap_or("");
            assert!(of_us.lines().skip(1).all(|line| line.len() <= 60), "{text}");
        }
    }
}
