//! Where an element is in its parent: a shift, and a turn in one of five ways.

use nalgebra::{Isometry3, Matrix3, Rotation3, Unit, UnitQuaternion, Vector3};

use super::Reading;
use super::defaults::Layers;
use super::include::{Node, Value};
use crate::robot::values::placed;

/// Ways to write a turn; the innermost that is written counts.
const TURNS: [&str; 5] = ["quat", "axisangle", "xyaxes", "zaxis", "euler"];

impl<'a> Reading<'a> {
    /// The place of an element that has no defaults.
    pub(super) fn own_placement(&mut self, node: Node<'a>) -> Isometry3<f64> {
        self.placement(&Layers(vec![node]))
    }

    /// The place of an element.
    pub(super) fn placement(&mut self, layers: &Layers<'a>) -> Isometry3<f64> {
        let shift = self.numbers(layers, "pos").unwrap_or_default();
        let turn = self.turn(layers);
        placed(shift, turn)
    }

    fn turn(&mut self, layers: &Layers<'a>) -> UnitQuaternion<f64> {
        let turn = match layers.any(&TURNS) {
            Some(("axisangle", value)) => self.axis_angle(&value),
            Some(("xyaxes", value)) => self.two_axes(&value),
            Some(("zaxis", value)) => {
                self.faults(value.document).direction("zaxis", &value.written).map(from_z)
            }
            Some(("euler", value)) => self.euler(&value),
            Some((_, value)) => self.quaternion(&value),
            None => None,
        };
        self.one_turn(layers);
        turn.unwrap_or_default()
    }

    /// A tag that writes two turns is refused by the engine too.
    fn one_turn(&mut self, layers: &Layers<'a>) {
        let Some(node) = layers.0.last() else { return };
        let mut written = TURNS.iter().filter_map(|name| Some((name, node.figures(name)?)));
        if let (Some((one, _)), Some((two, value))) = (written.next(), written.next()) {
            let message = format!("{one} and {two} in one tag");
            self.fault(&value, &message, "write the turn in one way and take the other out");
        }
    }

    fn quaternion(&mut self, value: &Value<'a>) -> Option<UnitQuaternion<f64>> {
        let faults = self.faults(value.document);
        let [w, x, y, z] = faults.finite("quat", &value.written)?;
        faults.quaternion(&value.written, [x, y, z, w], "1 0 0 0")
    }

    fn axis_angle(&mut self, value: &Value<'a>) -> Option<UnitQuaternion<f64>> {
        let [x, y, z, angle] = self.faults(value.document).finite("axisangle", &value.written)?;
        let axis = self.long_enough(value, Vector3::new(x, y, z))?;
        Some(UnitQuaternion::from_axis_angle(
            &Unit::new_unchecked(axis),
            angle * self.compiler.angle,
        ))
    }

    fn long_enough(&mut self, value: &Value<'a>, axis: Vector3<f64>) -> Option<Vector3<f64>> {
        self.faults(value.document).unit("the axis", &value.written, axis)
    }

    fn two_axes(&mut self, value: &Value<'a>) -> Option<UnitQuaternion<f64>> {
        let numbers = self.faults(value.document).finite("xyaxes", &value.written)?;
        let [a, b, c, d, e, f] = numbers;
        let x = self.long_enough(value, Vector3::new(a, b, c))?;
        let y = self.long_enough(value, Vector3::new(d, e, f))?;
        let y = y - x * x.dot(&y);
        if y.norm() < 1e-10 {
            self.fault(
                value,
                "the two axes are parallel",
                "write an x and a y axis square to each other",
            );
            return None;
        }
        let y = y.normalize();
        let turn = Matrix3::from_columns(&[x, y, x.cross(&y)]);
        Some(UnitQuaternion::from_rotation_matrix(&Rotation3::from_matrix_unchecked(turn)))
    }

    /// Lower case turns about moving axes, upper case about fixed ones.
    fn euler(&mut self, value: &Value<'a>) -> Option<UnitQuaternion<f64>> {
        let angles: [f64; 3] = self.faults(value.document).finite("euler", &value.written)?;
        let mut turn = UnitQuaternion::identity();
        for (letter, angle) in self.compiler.euler.into_iter().zip(angles) {
            let axis = match letter.to_ascii_lowercase() {
                'x' => Vector3::x_axis(),
                'y' => Vector3::y_axis(),
                _ => Vector3::z_axis(),
            };
            let step = UnitQuaternion::from_axis_angle(&axis, angle * self.compiler.angle);
            turn = if letter.is_ascii_lowercase() { turn * step } else { step * turn };
        }
        Some(turn)
    }
}

/// The smallest turn that takes z to a unit vector; half a turn about x where that is −z.
pub(super) fn from_z(direction: Vector3<f64>) -> UnitQuaternion<f64> {
    let axis = Vector3::z().cross(&direction);
    let sine = axis.norm();
    let axis = if sine < 1e-10 { Vector3::x_axis() } else { Unit::new_normalize(axis) };
    UnitQuaternion::from_axis_angle(&axis, sine.atan2(direction.z))
}
