//! The slide: one prismatic joint along the closing direction that carries the coupler with the pad.
//!
//! It moves c (φ − φ₀) along n, c metres per crank turn the same all along, and never turns. Its mass matrix is written for the
//! crank rate, so that joint speed c φ̇ and armature mass M make c² M. Crank, rocker and what the coupler does beside the slide
//! are shared out by means over the crank angle: all that moves with the palm to the palm, what the crank rate alone sees to
//! the armature. Derived here.

use nalgebra::{Complex, Vector3};

use super::averaged::{Sample, Samples};
use super::body::Body;
use super::crank_stroke::CrankStroke;
use super::fault::DynamicsFault;
use super::fidelity::StandIn;
use super::masses::Masses;
use super::moments::Moments;
use super::reflected::{
    Matrix7, Placement, add_joint, add_rigid, coupler_direction, crank_direction, mass_matrix_by,
};
use crate::linkage::{Drive, LinkageFault, Pose};

/// Palm and slider.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Slide {
    /// The palm in the carrier frame, about B; where it is not known, only what is to be added to it.
    pub carrier: Moments,
    /// To be added to the palm's own moments, in the carrier frame.
    pub carrier_patch: Moments,
    /// The coupler with the pad, as given, in the coupler frame of the zero pose; `None` where it weighs nothing.
    pub slider: Option<Body>,
    /// What only the crank's rate sees, kg m².
    pub inertia_at_crank: f64,
    /// The way of the slide.
    pub course: SlideCourse,
    /// Are the whole tensors known? Else only z entries and centres in the plane hold.
    pub is_spatial: bool,
}

/// How a slide goes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SlideCourse {
    /// n in the carrier frame's plane, of length 1.
    pub direction: [f64; 2],
    /// c: way along n per crank turn, m/rad; not 0.
    pub way_per_turn: f64,
    /// P in the zero pose, from B, m.
    pub zero_pin: [f64; 2],
    /// θ in the zero pose, rad.
    pub zero_coupler: f64,
}

impl SlideCourse {
    /// The course along `direction` from the zero pose of `stroke`.
    ///
    /// # Errors
    /// The zero pose cannot be reached.
    pub fn from_zero(
        stroke: &CrankStroke<'_>,
        direction: [f64; 2],
        way_per_turn: f64,
    ) -> Result<Self, LinkageFault> {
        let zero = stroke.pose(0.0)?;
        let (pin, along) = (zero.crank_pin(), coupler_direction(&zero));
        let zero_coupler = libm::atan2(along.im, along.re);
        let zero_pin = [pin.x - zero.bars.ground, pin.y];
        Ok(Self { direction, way_per_turn, zero_pin, zero_coupler })
    }

    fn add_to(&self, matrix: &mut Matrix7, slider: Option<&Body>, turn: f64) {
        let Some(slider) = slider else { return };
        let ([nx, ny], [x, y]) = (self.direction, self.zero_pin);
        let rate = Complex { re: nx, im: ny } * self.way_per_turn;
        let (im, re) = libm::sincos(self.zero_coupler);
        let origin = Complex { re: x, im: y } + rate * turn;
        Placement::moving([origin, rate], Complex { re, im }, 0.0).add_to(matrix, slider);
    }
}

impl Slide {
    /// The slide that stands in for the linkage with `masses` over `stroke`: `masses.child` is the rocker, `masses.coupler`
    /// finger and pad.
    ///
    /// # Errors
    /// [`DynamicsFault::NoRealBody`] of "carrier"; a pose that cannot be reached.
    pub fn of(
        stroke: &CrankStroke<'_>,
        masses: &Masses,
        course: SlideCourse,
    ) -> Result<Self, DynamicsFault> {
        let sample = |(turn, pose, weight): (f64, Pose, f64)| {
            let mut slider = Matrix7::zeros();
            course.add_to(&mut slider, masses.coupler.as_ref(), turn);
            let matrix = mass_matrix_by(Drive::Motor, &pose, masses) - slider;
            Sample { weight, direction: crank_direction(&pose), matrix }
        };
        let samples = Samples(stroke.weighted_turns(|_| 1.0)?.into_iter().map(sample).collect());
        let carrier = samples.left_of(&Moments::default());
        let slide = Self {
            carrier,
            carrier_patch: carrier - masses.carrier_moments(),
            slider: masses.coupler,
            inertia_at_crank: samples.mean_entry(6, 6).max(0.0),
            course,
            is_spatial: masses.are_spatial(),
        };
        let fault = masses.carrier.and_then(|_| slide.carrier().check().err());
        fault.map_or(Ok(slide), |fault| {
            Err(DynamicsFault::NoRealBody { body: "carrier", fault, lacks: None })
        })
    }

    /// The same patch on another palm, that of `masses`.
    #[must_use]
    pub fn on(&self, masses: &Masses) -> Self {
        Self { carrier: masses.carrier_moments() + self.carrier_patch, ..*self }
    }

    /// The palm as a body, in the carrier frame.
    #[must_use]
    pub fn carrier(&self) -> Body {
        if self.is_spatial { self.carrier.body() } else { self.carrier.planar_body() }
    }

    /// Armature of the prismatic joint, kg.
    #[must_use]
    pub fn armature_mass(&self) -> f64 {
        self.inertia_at_crank / (self.course.way_per_turn * self.course.way_per_turn)
    }
}

impl StandIn for Slide {
    fn mass_matrix(&self, _pose: &Pose, turn: f64) -> Matrix7 {
        let mut matrix = Matrix7::zeros();
        add_rigid(&mut matrix, &self.carrier);
        self.course.add_to(&mut matrix, self.slider.as_ref(), turn);
        let still = Vector3::zeros();
        add_joint(&mut matrix, &still, &still, self.inertia_at_crank);
        matrix
    }

    fn counts_by(&self) -> Drive {
        Drive::Motor
    }
}
