//! What torque and speed both joints have at once: polygons over pitch and roll.

use crate::report::drawing::{Axis, Chart, Form, Ink, Layer};
use crate::study::{BothAxes, RegionCheck};

use super::CHART;
use super::region_maps::closed;

/// Torque and speed, as far as the motor's figures are given.
pub(in crate::report) fn powers(check: &RegionCheck) -> Vec<Chart> {
    let torque = check.torque.as_ref().and_then(|of| polygons(of, ["torque", "N m"]));
    let speed = check.speed.as_ref().and_then(|of| polygons(of, ["speed", "rad/s"]));
    torque.into_iter().chain(speed).collect()
}

fn polygons(of: &BothAxes, [what, unit]: [&str; 2]) -> Option<Chart> {
    let [pitch, roll] = of.capability.guaranteed;
    let motor = of.of_motor;
    let figures = [[motor, -motor], [motor, motor], [-motor, motor], [-motor, -motor]];
    let common = of.capability.common();
    let given = || of.capability.zero_pose.iter().chain(&common);
    let largest = given().flatten().map(|x| x.abs()).fold(0.0, f64::max);
    // Behind a screw the motor's own figure is of another size than the joints'.
    let is_near = (0.25..=4.0).contains(&(motor / largest));
    let all = || given().chain(figures.iter().filter(|_| is_near));
    let most = |axis: fn(&[f64; 2]) -> f64| all().map(axis).map(f64::abs).fold(0.0, f64::max);
    let [along, up] = [most(|p| p[0]), most(|p| p[1])].map(|most| 1.12 * most);
    let is_drawn = [along, up].iter().all(|range| *range > 0.0 && range.is_finite());
    let edge = |corners: &[[f64; 2]], ink, name: &'static str| {
        Layer(Form::Curve(closed(corners)), ink, name.into())
    };
    let mut layers = vec![Layer(
        Form::Cells(vec![[[-pitch, -roll], [pitch, roll]]]),
        Ink::Certified,
        "guaranteed at once".into(),
    )];
    layers.push(edge(&of.capability.zero_pose, Ink::Ghost, "zero pose"));
    layers.push(edge(&common, Ink::Curve, "every pose"));
    if is_near {
        layers.push(edge(&figures, Ink::Limit, "motor on each axis"));
    }
    is_drawn.then(|| Chart {
        title: format!("{} of pitch and roll together", crate::report::words::capital(what)),
        description: format!("What both motors give together, {unit}: in the zero pose, in every pose, the box that every pose gives, and what a file with the motor's figure on each axis promises."),
        size: CHART,
        x: Axis { label: format!("pitch {what}, {unit}"), range: [-along, along] },
        y: Axis { label: format!("roll {what}, {unit}"), range: [-up, up] },
        layers,
    })
}
