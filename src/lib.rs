//! May one direct joint stand in a robot model for a joint that a motor turns through a four-bar?
//!
//! | floor | module | question it answers |
//! |---|---|---|
//! | 0 | [`numeric`] | intervals with outward rounding, roots, extremes, best constant, sampling: arithmetic that knows no linkage |
//! | 0 | [`standards`] | what do ISO 2768-1 and ISO 286 say for this size? |
//! | 0 | [`units`] | "45 ±0.05 mm" to SI and back |
//! | 0 | [`diagnostic`] | a message that points at a place in a file |
//! | 1 | [`linkage`] | where is the rocker, how fast, on which circuit, how far from its limits? |
//! | 1 | [`drive`] | the same of the other ways to turn a joint by a motor elsewhere: rods in space, actuators, nuts, belts, two motors on one joint |
//! | 1 | [`robot`] | what does this robot file say, how is one part of it changed with every other byte kept, how is a joint written? Knows no linkage |
//! | 2 | [`dynamics`] | inertia and its replacement, loads, play and stiffness over the stroke |
//! | 3 | [`equivalence`] | criteria, the verdict with its three outcomes, the proof |
//! | 4 | [`tolerance`] | what do the drawn tolerances do: builds drawn at random, yield, ranking, budget |
//! | 5 | [`design`] | the file that the user wrote: values with their places, checked, in SI |
//! | 6 | [`study`] | design in, findings out: the one place where the analyses are put together |
//! | 7 | [`handover`] | findings and robot files together |
//! | 8 | [`report`] | findings as text, JSON, CSV, pictures and a page. Renders, computes nothing |
//!
//! A module knows only those on floors below it. Above them stands the program, behind the feature `cli`; pictures as
//! PNG are behind `pictures`. Both features are on by default; `default-features = false` builds neither.
//!
//! # Conventions
//!
//! ```text
//!            P o------------- coupler --------------o Q
//!             /                                    / \
//!      crank /                             rocker /   \  child
//!           / φ                                  / ψ
//!   motor  A o------------- ground -------------o - - - - - > x
//!                                        joint  B, z out of the page
//! ```
//!
//! - **Units**: SI, radians; a figure in another unit says so in its name. Only [`units`] knows millimetres and degrees.
//! - **Datum**: the crank angle φ and the rocker angle ψ count from the direction A→B.
//! - **Zero pose**: the one pose that fixes the assembly and what motor and joint read. A *turn* counts from it: motor
//!   turn φ − φ₀, joint turn ψ − ψ₀ followed along the branch, beyond ±π where it goes so far. A *reading* is what the
//!   encoder shows: the turn, with the robot axis' sign, on what it shows in the zero pose
//!   ([`study::Readings`]).
//! - **Signs**: angles, turns and torques are positive counter-clockwise with the joint axis pointing at the reader. The
//!   ratio i = motor turn / joint turn is signed; signs of axes in a robot file come in at [`handover`] only.
//! - **Pairs** of motor turns rise; the joint turns beside them fall where the ratio is negative.
//! - **Errors** are the linkage's joint turn less the direct joint's: joint turn = motor turn / ratio + offset.
//!
//! # From lengths to a joint
//!
//! Without a file: four lengths, a zero pose and a stroke give the joint's best constants, its limits, and whether it may
//! stand in for every linkage within ±0.1 mm.
//!
//! ```
//! use unloop::equivalence::{
//!     Basis, Constants, Family, Limits, Question, Verdict, Weights, Zeroing, judge,
//! };
//! use unloop::linkage::{Branch, Closure, Drive, FourBar, Stroke, Sweep};
//! use unloop::numeric::Interval;
//!
//! let bars = FourBar { ground: 0.3, crank: 0.045, coupler: 0.3, rocker: 0.045 };
//! let branch = Branch::through(bars, 90_f64.to_radians(), Closure::Open)?;
//! let stroke = Stroke::on(&branch, Drive::Joint, [-0.6, 0.7])?;
//! let joint = Constants { ratio: None, offset: Some(0.0) }.resolve(&Sweep::over(&branch, stroke)?);
//! let limits = Limits { angle: 0.01, ratio: 0.02, transmission_angle: 0.5 };
//! let judgement = judge(&Question {
//!     branch: &branch, stroke, joint, limits,
//!     inertia_limit: 0.05, inertia_is_asked: false, weights: Weights::NotGiven(&["masses"]),
//!     basis: Basis::Tolerance, zeroing: Zeroing::OnEachRobot, finger: None,
//!     family: Family::symmetric(&bars, 0.1e-3, Interval::ZERO),
//! })?;
//! assert_eq!(judgement.verdict, Verdict::Equivalent);
//! assert!(judgement.proved);
//! let [lower, upper] = stroke.joint;
//! let line = format!("revolute, {lower} to {upper} rad, gear {:.3}", joint.ratio);
//! assert_eq!(line, "revolute, -0.6 to 0.7 rad, gear 1.000");
//! # Ok::<(), unloop::linkage::LinkageFault>(())
//! ```
//!
//! With a design file: [`design::read`], [`study::check`], [`handover::emit()`]. With a robot file: [`robot::read`],
//! [`handover::find`]. Every fault is a [`std::error::Error`]; those of a file point at its line.

#![cfg_attr(
    test,
    allow(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        clippy::cast_precision_loss,
        clippy::float_cmp,
        reason = "tests compare exact figures and count small numbers"
    )
)]

#[macro_use]
mod word;

#[cfg(feature = "cli")]
#[doc(hidden)]
pub mod cli;
pub mod design;
pub mod diagnostic;
pub mod drive;
pub mod dynamics;
pub mod equivalence;
pub mod handover;
pub mod linkage;
pub mod numeric;
pub mod report;
pub mod robot;
pub mod standards;
pub mod study;
pub mod tolerance;
pub mod units;
