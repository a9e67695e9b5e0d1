//! A motor on the carrier's parent, coaxial with the joint between the two: a knee motor at the hip.
//!
//! ```text
//! hip's parent ──(q₁)── carrier ──(q₂)── child        both motors on the hip's parent, θ = T q
//! T = [[1, 0], [1, i]]     rows: motors of hip and knee; columns: joints     τ = Tᵀ τ_motor
//! ```
//!
//! The crank stands at q₁ + φ(q₂) against the hip's parent, so that the knee's rotor turns at N (q̇₁ + i q̇₂) there. With J its
//! inertia, ω the hip's parent's angular speed and both joints and the motor parallel (z),
//!
//! ```text
//! ½ J (ω_z + N q̇₁ + N i q̇₂)² = ½ J [(1 − N) ω_z² + (N − N i) ω₁² + N i ω₂²
//!                              + (N² − N) q̇₁² + 2 (N² − N) i q̇₁ q̇₂ + (N² i² − N i) q̇₂²]
//! ω₁ = ω_z + q̇₁,  ω₂ = ω₁ + q̇₂
//! ```
//!
//! Proof: compare the coefficients of ω_z², ω_z q̇₁, ω_z q̇₂, q̇₁², q̇₁ q̇₂, q̇₂²; the last three give N², N² i, N² i² with N − N i + N i and
//! N i of the bodies. So the shares J (1 − N), J N (1 − i), J N i on the three links and the matrix of armatures
//! J [[N² − N, (N² − N) i], [(N² − N) i, N² i² − N i]] are exact for constant i. The hip's parent has −J N instead where its
//! own figures hold the rotor. That matrix is a tendon's over both joints with the coefficients 1 and i and the armature
//! J (N² − N), and J N i (i − 1) more at the driven joint; a file with one armature a joint lacks the entry beside the diagonal.
//! Derived here.

use serde::Serialize;

use crate::drive::Coaxial;

use super::super::masses::Rotor;

/// A rotor on the carrier's parent that turns a joint at the ratio `ratio` behind its gearbox.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CoaxialRotor {
    /// The rotor; `in_carrier` tells of the carrier's parent, which bears it.
    pub rotor: Rotor,
    /// i: crank turn against the carrier per joint turn, constant.
    pub ratio: f64,
}

/// What the rotor adds to a model of the three links with a direct joint between each, kg m².
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct RotorShares {
    /// About the axis, to the link that bears the motor.
    #[serde(rename = "to_motor_link_kg_m2")]
    pub parent: f64,
    /// To the carrier.
    #[serde(rename = "to_carrier_kg_m2")]
    pub carrier: f64,
    /// To the child.
    #[serde(rename = "to_child_kg_m2")]
    pub child: f64,
    /// Armature of a tendon over parent joint and driven joint with the coefficients 1 and i.
    #[serde(rename = "tendon_armature_kg_m2")]
    pub tendon: f64,
    /// Armature of the driven joint beside that tendon; below zero for i between 0 and 1.
    #[serde(rename = "armature_kg_m2")]
    pub driven: f64,
}

impl RotorShares {
    /// The armatures of both joints as one matrix: of the parent joint, between both, of the driven joint.
    #[must_use]
    pub fn armature(&self, ratio: f64) -> [[f64; 2]; 2] {
        let (whole, beside) = (self.tendon, self.tendon * ratio);
        [[whole, beside], [beside, beside * ratio + self.driven]]
    }
}

impl CoaxialRotor {
    /// T: rows are the motors of parent joint and drive, columns the joints.
    #[must_use]
    pub fn matrix(&self) -> [[f64; 2]; 2] {
        Coaxial::<crate::drive::FixedRatio>::matrix_of(self.ratio)
    }

    /// J N² [[1, i], [i, i²]]: what the rotor weighs at both joints, kg m².
    #[must_use]
    pub fn reflected(&self) -> [[f64; 2]; 2] {
        let Rotor { inertia, gear_ratio, .. } = self.rotor;
        let whole = inertia * gear_ratio * gear_ratio;
        let i = self.ratio;
        [[whole, whole * i], [whole * i, whole * i * i]]
    }

    /// What to add to the links and joints: exact for every motion about the common direction of the axes.
    #[must_use]
    pub fn shares(&self) -> RotorShares {
        let Rotor { inertia: j, gear_ratio: n, in_carrier } = self.rotor;
        let (i, own) = (self.ratio, if in_carrier { 0.0 } else { j });
        RotorShares {
            parent: own - j * n,
            carrier: j * n * (1.0 - i),
            child: j * n * i,
            tendon: j * (n * n - n),
            driven: j * n * i * (i - 1.0),
        }
    }
}
