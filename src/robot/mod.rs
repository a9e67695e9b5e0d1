//! What does a robot format hold for one revolute joint, and how is it written?
//!
//! A joint, its two links and its actuator are described once, without any format
//! ([`RevoluteJoint`], [`Link`], [`Actuator`], [`Model`]); [`urdf`], [`sdformat`] and [`mjcf`] turn the
//! description into text, as a snippet for somebody's own file or as a small model that loads by itself.
//! Angles are readings of the joint in rad; at reading 0 the child link's frame is aligned with its
//! parent's. Nothing here knows a linkage.

mod description;
pub mod markup;
pub mod mjcf;
pub mod sdformat;
pub mod urdf;

pub use description::*;
