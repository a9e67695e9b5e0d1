//! Torque, speed, inertia and loads of two motors with a rod each on a universal joint, and the two direct joints that stand in.
//!
//! ```text
//! q = (pitch, roll)     motors = J q̇     J = ∂θ/∂q     τ_joint = Jᵀ τ_motor
//! ```
//!
//! Torques and speeds of two such joints are parallelograms, no boxes; inertia is a matrix, no pair of figures. All bodies are
//! in the carrier's frame but for those that move with a rod ([`LegParts`]); SI throughout; a figure's place is a pair of joint
//! turns.
//!
//! | file | question |
//! |---|---|
//! | `placed` | where in the region is a figure largest? |
//! | `corner` | the convex hull of points, each with its pose |
//! | `power` | torque or speed of two motors at one pose, as two vectors made of J |
//! | `patch` | what they are over a piece of the region, enclosed |
//! | `hull` | their convex hull over the whole region, and the polygon that it bounds |
//! | `capability` | which torques and speeds are there at every pose, and which at none? |
//! | `both_moving` | where does each body stand, how does it move with both joints, and the mass matrix: exact |
//! | `two_joint_tree` | carrier, middle link and child with two joints in their place |
//! | `two_joint_fidelity` | how far that is from the drive |
//! | `frames_over` | where does each body stand in a range of poses and every build? |
//! | `rotors_moved` | how far do rotors weigh otherwise where J is another? |
//! | `two_joint_certificate` | how far the tree is from the drive at most, there |
//! | `rod_loads` | forces in rods, pins and the joint itself |

mod both_moving;
mod capability;
mod corner;
mod frames_over;
mod hull;
mod patch;
mod placed;
mod power;
mod rod_loads;
mod rotors_moved;
mod two_joint_certificate;
mod two_joint_fidelity;
mod two_joint_tree;

pub use both_moving::{
    LegParts, LegPlaces, Matrix8, TwoJointParts, leg_places, two_joint_mass_matrix,
};
pub use capability::{Capabilities, Capability, Promise};
pub use frames_over::TwoRodsOver;
pub use placed::{Placed, Spread};
pub use rod_loads::{LegLoad, LegLoadParts, TwoJointLoads, two_joint_loads};
pub use rotors_moved::Rates;
pub use two_joint_certificate::{TwoJointCertificate, WeighedPose};
pub use two_joint_fidelity::{
    RotorInertia, TwoJointFidelity, energy_error, fidelity_beside_rotors, rotor_inertia,
    two_joint_fidelity,
};
pub use two_joint_tree::{ArmatureForm, TwoJointTree, two_joint_tree};
