//! What a link weighs, what a joint allows and resists, what an actuator does: the same read and to be written.

use nalgebra::{Isometry3, Matrix3, Vector3};

/// Mass properties of a link, in the link's own frame.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Inertial {
    /// kg.
    pub mass: f64,
    /// Mass centre, m.
    pub center: [f64; 3],
    /// xx, yy, zz, xy, xz, yz about the mass centre, kg m², as entries of the tensor.
    pub tensor: [f64; 6],
}

impl Inertial {
    /// With the tensor as a matrix about the mass centre.
    pub(super) fn new(mass: f64, center: Vector3<f64>, t: &Matrix3<f64>) -> Self {
        Self { mass, center: center.into(), tensor: tensor_entries(t) }
    }

    /// Of a tensor in a frame of its own, which lies in the mass centre.
    pub(super) fn placed(mass: f64, place: &Isometry3<f64>, tensor: [f64; 6]) -> Self {
        let center = place.translation.vector;
        let own = Self { mass, center: center.into(), tensor };
        if place.rotation.angle() < f64::MIN_POSITIVE {
            return own;
        }
        let turn = place.rotation.to_rotation_matrix();
        Self::new(mass, center, &(turn.matrix() * own.matrix() * turn.matrix().transpose()))
    }

    /// The tensor as a matrix, kg m².
    #[must_use]
    pub fn matrix(&self) -> Matrix3<f64> {
        let [xx, yy, zz, xy, xz, yz] = self.tensor;
        Matrix3::new(xx, xy, xz, xy, yy, yz, xz, yz, zz)
    }
}

/// xx, yy, zz, xy, xz, yz.
#[must_use]
pub fn tensor_entries(t: &Matrix3<f64>) -> [f64; 6] {
    [t.m11, t.m22, t.m33, t.m12, t.m13, t.m23]
}

/// reading = `multiplier` · the leader's reading + `offset`.
#[derive(Clone, Debug, PartialEq)]
pub struct Mimic {
    /// The name of the joint that leads.
    pub leader: String,
    /// Reading per reading of the leader.
    pub multiplier: f64,
    /// rad.
    pub offset: f64,
}

/// What a joint allows and what resists it, read or to be written.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct JointProperties {
    /// Smallest and largest reading, rad (m); an end that the file leaves open is infinite, `None` where both are.
    pub limit: Option<[f64; 2]>,
    /// The reading in the pose in which the two links are drawn; 0 but in MJCF.
    pub drawn_at: f64,
    /// Largest torque, N m (N for a slide).
    pub effort: Option<f64>,
    /// Largest speed, rad/s (m/s).
    pub velocity: Option<f64>,
    /// Viscous damping, N m s/rad.
    pub damping: Option<f64>,
    /// Coulomb friction, N m.
    pub friction: Option<f64>,
    /// Armature, kg m², as seen at the joint.
    pub armature: Option<f64>,
    /// The joint that it follows, by its own format's element.
    pub mimic: Option<Mimic>,
}

/// What an actuator does, all before its gear, read or to be written.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct ActuatorProperties {
    /// Joint torque per actuator force, signed.
    pub gear: f64,
    /// Smallest and largest force.
    pub force: Option<[f64; 2]>,
    /// Smallest and largest control signal.
    pub control: Option<[f64; 2]>,
    /// Its force per control signal, where that alone makes it.
    pub force_per_signal: Option<f64>,
    /// Position and velocity gain, N m/rad and N m s/rad, where it is a position controller.
    pub gains: Option<[f64; 2]>,
    /// What a position controller's reading is more than gear · length, rad.
    pub shift: f64,
    /// Its own armature, kg m².
    pub armature: Option<f64>,
    /// Its own damping, N m s/rad.
    pub damping: Option<f64>,
    /// The file switches it off.
    pub is_off: bool,
    /// What it does beyond these figures, in the format's words; empty where they say all.
    pub unread: String,
}

impl ActuatorProperties {
    /// Of a motor behind `gear`: with `gains` a position controller that is told where to go, within `target`; else what it
    /// is told is the force.
    #[must_use]
    pub fn of_motor(
        gear: f64,
        force: Option<[f64; 2]>,
        gains: Option<[f64; 2]>,
        target: Option<[f64; 2]>,
    ) -> Self {
        let control = if gains.is_some() { target } else { force };
        Self { gear, force, control, gains, ..Self::default() }
    }

    /// What it can do both ways, at the joint: the smaller end of its force behind its gear, N m.
    #[must_use]
    pub fn effort(&self) -> Option<f64> {
        let [low, high] = self.efforts()?;
        Some(low.abs().min(high.abs()))
    }

    /// What it can do each way, low and high, at the joint, N m: see [`Self::forces`].
    #[must_use]
    pub fn efforts(&self) -> Option<[f64; 2]> {
        self.forces().map(|force| scaled(force, self.gear))
    }

    /// Its force each way, low and high, before its gear: within its range and what its signal's range makes.
    #[must_use]
    pub fn forces(&self) -> Option<[f64; 2]> {
        let made = self.control.zip(self.force_per_signal);
        let made = made.map(|(control, per_signal)| scaled(control, per_signal));
        match (self.force, made) {
            (Some([low, high]), Some([least, most])) => Some([low.max(least), high.min(most)]),
            (force, made) => force.or(made),
        }
    }

    /// Armature, damping or a gain of its own behind its gear.
    pub fn at_joint(&self, figure: impl Fn(&Self) -> Option<f64>) -> Option<f64> {
        Some(figure(self)? * self.gear * self.gear)
    }
}

impl JointProperties {
    /// Largest torque, N m: the tightest of the joint's own bound and of what each of `actuators` can do both ways.
    #[must_use]
    pub fn effort_with<'a>(
        &self,
        actuators: impl IntoIterator<Item = &'a ActuatorProperties>,
    ) -> Option<f64> {
        let driven = actuators.into_iter().filter_map(ActuatorProperties::effort);
        self.effort.into_iter().chain(driven).reduce(f64::min)
    }

    /// Armature with the actuator's behind its gear, kg m².
    #[must_use]
    pub fn armature_with(&self, actuator: Option<&ActuatorProperties>) -> Option<f64> {
        together(self.armature, actuator.and_then(|actuator| actuator.at_joint(|a| a.armature)))
    }

    /// Damping with the actuator's behind its gear, N m s/rad.
    #[must_use]
    pub fn damping_with(&self, actuator: Option<&ActuatorProperties>) -> Option<f64> {
        together(self.damping, actuator.and_then(|actuator| actuator.at_joint(|a| a.damping)))
    }
}

/// A range times a figure, low end first.
fn scaled([low, high]: [f64; 2], by: f64) -> [f64; 2] {
    if by < 0.0 { [high * by, low * by] } else { [low * by, high * by] }
}

/// The sum of what is known.
fn together(a: Option<f64>, b: Option<f64>) -> Option<f64> {
    a.into_iter().chain(b).reduce(|a, b| a + b)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_quarter_turn_about_z_swaps_x_and_y_of_a_tensor() {
        let turn = Isometry3::rotation(Vector3::z() * std::f64::consts::FRAC_PI_2);
        let t = Inertial::placed(1.0, &turn, [1.0, 2.0, 3.0, 0.1, 0.2, 0.3]).tensor;
        let wanted = [2.0, 1.0, 3.0, -0.1, -0.3, 0.2];
        assert!(t.iter().zip(wanted).all(|(a, b)| (a - b).abs() < 1e-15), "{t:?}");
    }
}
