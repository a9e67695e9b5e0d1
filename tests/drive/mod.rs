//! A leg's ankle drive of our own making, as the dynamics tests use it; no real robot has these figures.
//!
//! The shank hangs down from the motor axis A to the ankle axis B, 300 mm below; crank and rocker, 40 mm, point forward
//! in the zero pose. Carrier frame: origin B, x down, y forward, z the joint axis; child frame: x forward, y up in the
//! zero pose.

#![allow(dead_code, reason = "each test file uses its own part")]

use std::f64::consts::FRAC_PI_2;

use nalgebra::{Matrix3, Vector3};
use unloop::dynamics::{Body, Inertia, Masses, Rotor};
use unloop::linkage::{Branch, Closure, Drive, FourBar, Stroke};

pub(crate) const BARS: FourBar = FourBar { ground: 0.3, crank: 0.04, coupler: 0.3, rocker: 0.04 };

pub(crate) fn body(mass: f64, centre: [f64; 3], diagonal: [f64; 3]) -> Body {
    let tensor = Matrix3::from_diagonal(&Vector3::from(diagonal));
    Body { mass, centre: centre.into(), inertia: Inertia::Tensor(tensor) }
}

pub(crate) fn masses() -> Masses {
    Masses {
        crank: Some(body(0.08, [0.022, 0.0, 0.012], [3e-6, 1.9e-5, 2e-5])),
        coupler: Some(body(0.12, [0.15, 0.0, 0.02], [4e-6, 9e-4, 9e-4])),
        child: body(0.9, [0.03, -0.04, 0.0], [1.2e-3, 3.4e-3, 3e-3]),
        carrier: Some(body(2.2, [-0.17, 0.0, 0.0], [3e-3, 0.0185, 0.018])),
        carried: Some(body(9.0, [-0.6, 0.02, -0.05], [0.2, 0.25, 0.15])),
        rotor: Some(Rotor { inertia: 1.5e-4, gear_ratio: 7.75, in_carrier: true }),
    }
}

/// The same without the figures that motion in the plane leaves out.
pub(crate) fn planar(masses: &Masses) -> Masses {
    let flat = |b: Body| Body { inertia: Inertia::AboutAxis(b.tensor().m33), ..b };
    Masses {
        crank: masses.crank.map(flat),
        coupler: masses.coupler.map(flat),
        child: flat(masses.child),
        carrier: masses.carrier.map(flat),
        carried: masses.carried.map(flat),
        rotor: masses.rotor,
    }
}

pub(crate) fn branch() -> Branch {
    Branch::through(BARS, FRAC_PI_2, Closure::Open).unwrap()
}

pub(crate) fn stroke(branch: &Branch) -> Stroke {
    Stroke::on(branch, Drive::Joint, [-0.7, 0.6]).unwrap()
}
