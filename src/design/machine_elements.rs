//! What is bought or turned for a drive: its actuator, the rod's tube, the pins.

/// `[actuator]`, at the output shaft but for the rotor.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Actuator {
    /// Rotor turns per output turn, signed.
    pub gear_ratio: Option<f64>,
    /// kg m², at the rotor.
    pub rotor_inertia: Option<f64>,
    /// The carrier's own figures hold the rotor.
    pub rotor_in_carrier: Option<bool>,
    /// N m.
    pub peak_torque: Option<f64>,
    /// N m.
    pub rated_torque: Option<f64>,
    /// rad/s.
    pub max_speed: Option<f64>,
    /// N m s/rad.
    pub damping: Option<f64>,
    /// N m.
    pub friction: Option<f64>,
    /// What the unpowered drive holds at its output shaft, N m.
    pub holding_friction: Option<f64>,
    /// rad.
    pub backlash: Option<f64>,
    /// Motor turns from the zero pose about the joint axis, rad, low < high.
    pub stops: Option<[f64; 2]>,
    /// N m/rad at the motor shaft.
    pub position_gain: Option<f64>,
    /// N m s/rad at the motor shaft.
    pub velocity_gain: Option<f64>,
}

impl Actuator {
    /// N²J, the rotor's inertia at the output shaft, kg m².
    #[must_use]
    pub fn rotor_at_output(&self) -> Option<f64> {
        let ratio = self.gear_ratio?;
        Some(ratio * ratio * self.rotor_inertia?)
    }

    /// Smallest and largest torque, N m.
    #[must_use]
    pub fn torques(&self) -> Option<[f64; 2]> {
        self.peak_torque.map(|torque| [-torque, torque])
    }

    /// Position and velocity gain; without the second it counts as none.
    #[must_use]
    pub fn gains(&self) -> Option<[f64; 2]> {
        self.position_gain.map(|gain| [gain, self.velocity_gain.unwrap_or(0.0)])
    }
}

/// `[rod]`.
#[derive(Clone, Debug, PartialEq)]
pub struct Rod {
    /// Outer diameter, m.
    pub outer: f64,
    /// Inner diameter, m; 0 for a solid rod.
    pub inner: f64,
    /// Young's modulus, Pa.
    pub modulus: Option<f64>,
    /// Yield stress, Pa.
    pub yield_stress: Option<f64>,
}

/// One pin of `[pins]`.
#[derive(Clone, Debug, PartialEq)]
pub struct Pin {
    /// Diametral clearance, m: smallest and largest.
    pub clearance: [f64; 2],
    /// Nominal diameter, m, where a fit names it.
    pub diameter: Option<f64>,
    /// The fit as written.
    pub fit: Option<String>,
    /// Bearing length, m.
    pub width: Option<f64>,
}

/// `[pins]`.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Pins {
    /// At A.
    pub motor: Option<Pin>,
    /// At P.
    pub crank: Option<Pin>,
    /// At Q.
    pub rocker: Option<Pin>,
    /// At B.
    pub joint: Option<Pin>,
    /// Friction coefficient.
    pub friction: Option<f64>,
}

impl Pins {
    /// Those that are given, from the motor on.
    pub fn given(&self) -> impl Iterator<Item = &Pin> {
        [&self.motor, &self.crank, &self.rocker, &self.joint].into_iter().flatten()
    }
}
