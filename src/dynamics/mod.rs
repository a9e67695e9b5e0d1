//! What moves with the joint, what stands in for it, and what the drive bears on the way.
//!
//! ```text
//!          P ______coupler______ Q          carrier frame: origin B, x along A→B, z the joint axis;
//!          /                     \          crank frame: origin A, x along the crank to P;
//!    crank/ φ                   ψ \ rocker  coupler frame: origin P, x to Q;
//!        A ________ground__________B        child frame: origin B, x to Q. All z along the joint axis.
//! ```
//!
//! SI throughout; angles, turns and torques are about the joint axis, counter-clockwise with the axis pointing at the
//! reader. Heights (z) of all bodies are counted from one plane, the one through B. Rigid bodies, no play, no friction
//! but where a figure says so; nothing here knows of files or units.
//!
//! | file | question |
//! |---|---|
//! | `body` | what does a part weigh, and can its figures belong to a real body? |
//! | `moments` | a part's mass, first moment and inertia about B, to be added up |
//! | `lumping` | a rod as two point masses; a motor's figures behind a ratio |
//! | `masses` | the parts of one drive |
//! | `reflected` | the linkage's inertia at one pose: exact |
//! | `tree` | a carrier and a child with one joint between them |
//! | `replacement`, `real_bodies` | the direct joint that stands in: such a tree of real bodies |
//! | `parallel`, `averaged` | its bodies for a parallelogram, and for any other ratio |
//! | `crank_kept`, `coupling` | the bodies of the coupled model and the closed loop; the polynomial that couples |
//! | `balance` | what moves freely between two bodies on one axis, so that both stay real bodies |
//! | `counterweight` | what would make a parallelogram's replacement exact |
//! | `fidelity` | how far the replacement is from the linkage |
//! | `counter_pair`, `slide` | what stands in for a finger whose coupler carries the pad |
//! | `spatial` | the same of a drive whose bodies need not move in one plane |
//! | `two_joints` | the same of two motors with a rod each on a universal joint, and what torques and speeds they give |
//! | `seat`, `shared_carrier` | a drive in its place on the carrier that it shares with others, and that carrier |
//! | `together`, `tied` | how far several replacements on one carrier are, each moving or all turned by one motor |
//! | `certificate`, `pair_certificate` | a bound of that for every pose and every linkage in a box |
//! | `frame_over`, `congruent`, `mean_value` | the same of parts that move in space: their frames, and both mass matrices with slopes |
//! | `shortcuts` | what each usual shortcut costs |
//! | `rod`, `pin`, `bearings` | strength, stiffness and friction of the parts |
//! | `transmitted` | how much of the motor's torque arrives at the joint, after friction in the pins |
//! | `loads` | torque, speed, forces, play and losses over the stroke |
//! | `jaw_statics` | grip and pin forces of a pad on the coupler |

mod averaged;
mod balance;
mod bearings;
mod body;
mod certificate;
mod congruent;
mod counter_pair;
mod counterweight;
mod coupling;
mod crank_kept;
mod crank_stroke;
mod enclosed;
mod fault;
mod fidelity;
mod frame_over;
mod jaw_statics;
mod loads;
mod lumping;
mod masses;
mod mean_value;
mod moments;
mod monotone_stroke;
mod pair_certificate;
mod parallel;
mod pin;
mod real_bodies;
mod reflected;
mod replacement;
mod rod;
mod seat;
mod shared_carrier;
mod shortcuts;
mod slide;
mod spatial;
mod tied;
mod together;
mod transmitted;
mod tree;
mod two_joints;

pub use bearings::{Bearings, Bounds, joint_friction, pin_turns, rod_arm};
pub use body::{Body, BodyFault, Inertia};
pub use certificate::Certificate;
pub use counter_pair::CounterPair;
pub use counterweight::Counterweight;
pub use coupling::{Coupling, Fit, OneWay, Turned};
pub use crank_kept::{Coupled, CrankKept, OwnRotor};
pub use crank_stroke::CrankStroke;
pub use fault::DynamicsFault;
pub use fidelity::{Envelope, Fidelity, MeasuredOver, StandIn, fidelity, torque_error_bound};
pub use jaw_statics::{Jaw, JawDuty, JawLoad, jaw_load};
pub use loads::{Duty, Loads, Motor, Parts, PinLoad, PoseLoad, load_at, loads};
pub use lumping::{PinMasses, TwoMasses, behind_ratio};
pub use masses::{Masses, Rotor, mirrored_place};
pub use moments::Moments;
pub use monotone_stroke::MonotoneStroke;
pub use pair_certificate::PairCertificate;
pub use pin::{Pin, PinPlace};
pub use reflected::{JointInertia, Matrix7, joint_inertia, mass_matrix, mass_matrix_by};
pub use replacement::Replacement;
pub use rod::{Buckling, BucklingLaw, Rod, euler_slenderness};
pub use seat::DriveOnCarrier;
pub use shared_carrier::{OnCarrier, shared_carrier};
pub use shortcuts::{Shortcut, ShortcutCost, shortcut_table};
pub use slide::{Slide, SlideCourse};
pub use spatial::{
    BallTilts, BuildsOver, CoaxialRotor, DriveBuild, DriveCertificate, DriveLoadParts, DriveParts,
    DrivePoseLoad, InSpace, JointStroke, PartFrame, PartFrames, PartsOnCarrier, RodAtPins,
    RotorShares, ScrewDuty, ScrewLoads, coupled_fidelity, drive_error_at, drive_fidelity,
    drive_load_at, drive_loads, drive_mass_matrix, drive_replacement, drives_together,
    tendon_fidelity,
};
pub use tied::tied;
pub use together::{Together, together};
pub use transmitted::{Allowed, transmitted};
pub use tree::Tree;
pub use two_joints::{
    ArmatureForm, Capabilities, Capability, LegLoad, LegLoadParts, LegParts, LegPlaces, Matrix8,
    Placed, Promise, Rates, RotorInertia, Spread, TwoJointCertificate, TwoJointFidelity,
    TwoJointLoads, TwoJointParts, TwoJointTree, TwoRodsOver, WeighedPose, energy_error,
    fidelity_beside_rotors, leg_places, rotor_inertia, two_joint_fidelity, two_joint_loads,
    two_joint_mass_matrix, two_joint_tree,
};
