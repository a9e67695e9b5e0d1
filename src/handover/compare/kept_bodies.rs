//! What crank and rod weigh where the file keeps them as bodies of their own.
//!
//! A file may lay their frames as it likes, so that what is compared is what no frame changes and what moves in the linkage's
//! plane: mass, how far the mass centre is from the pins, the moment about the axis. A crank may be written with what the
//! design's other parts give it, as `emit` does, or by itself.

use nalgebra::{Point3, Vector3};

use super::bodies::settled;
use super::expected::{Expected, Held};
use super::measure::Measure;
use super::row::{Look, Row, number};
use super::spot::inertial_line;
use crate::dynamics::Moments;
use crate::handover::find::{Bodies, FourBarLoop, as_read};
use crate::handover::link_moments::moments;
use crate::handover::stand_in::Draws;
use crate::robot::{LinkId, Robot};

/// What of a body no frame changes.
#[derive(Clone, Copy)]
struct Plain {
    /// kg.
    mass: f64,
    /// Of the mass centre from the axis through each pin, m.
    from_pins: [Option<f64>; 2],
    /// About the axis through the first pin, kg m².
    moment: f64,
}

impl Plain {
    /// `body` about a point of the first pin's axis; `next` is the way from there to the second pin.
    fn new(body: &Moments, axis: Vector3<f64>, next: Option<Vector3<f64>>) -> Self {
        let centre = body.body().centre;
        let away = |from: Vector3<f64>| {
            let off = centre - from;
            (off - axis * axis.dot(&off)).norm()
        };
        let from_pins = [Some(away(Vector3::zeros())), next.map(away)];
        Self { mass: body.mass, from_pins, moment: axis.dot(&(body.inertia * axis)) }
    }

    fn against(&self, found: &Self, name: &str, look: Look<'_>) -> Vec<Row> {
        let [first, second] =
            [0, 1].map(|k: usize| [self, found].map(|one| one.from_pins.get(k).copied().flatten()));
        let each = [
            ("mass", Measure::Mass, [Some(self.mass), Some(found.mass)]),
            ("mass centre from its pin", Measure::Centre, first),
            ("mass centre from its other pin", Measure::Centre, second),
            ("inertia about its pin", Measure::Inertia, [Some(self.moment), Some(found.moment)]),
        ];
        let rows = each.into_iter().filter_map(|(quantity, measure, both)| {
            number(Row::new(quantity, measure).of(name), both, look.sides, true)
        });
        rows.collect()
    }
}

/// The crank's; none where the design does not give it, or it weighs nothing in the file.
pub(super) fn crank_rows<G: Draws>(held: &Held<'_, G>) -> Vec<Row> {
    let Held { look, expected, facts: crank } = *held;
    let (Some(body), Some(found)) = (&expected.crank.body, crank.borne()) else {
        return Vec::new();
    };
    let found = Plain::new(&found, crank.axis, None);
    let patched = Plain::new(&moments(body), Vector3::from(expected.crank.axis), None);
    let own = expected.own_crank.as_ref().map(|own| Plain::new(own, Vector3::z(), None));
    let rows = |wanted: &Plain| wanted.against(&found, crank.child, look);
    let both = [rows(&patched), own.as_ref().map_or_else(Vec::new, rows)];
    let (rows, _) = settled(both, own.is_some(), true);
    placed(rows, crank.robot, crank.joint.child)
}

/// The rod's, where the loop is closed.
pub(super) fn rod_rows<G: Draws>(
    look: Look<'_>,
    expected: &Expected<'_, G>,
    robot: &Robot,
    bar: &FourBarLoop,
) -> Vec<Row> {
    let rows = || {
        let kept = expected.plan.bodies.as_ref()?.kept.as_ref()?;
        let bodies = Bodies::new(robot);
        let [_, _, rod, _] = bar.bodies();
        let [_, near, far, _] = &bar.pins;
        let (near, far): (Point3<f64>, Point3<f64>) = (near.points[1], far.points[0]);
        let at_pin = nalgebra::Isometry3::translation(near.x, near.y, near.z);
        let found = as_read(robot, bodies.links(rod), &at_pin)?;
        let found = Plain::new(&found, bar.axis, Some(far - near));
        let wanted = moments(&kept.rod);
        let end = Vector3::from(kept.rod_end);
        let wanted = Plain::new(&wanted, Vector3::from(expected.crank.axis), Some(end));
        let link = bodies
            .links(rod)
            .find(|id| robot.links.get(*id).is_some_and(|link| link.inertial.is_some()))?;
        Some(placed(wanted.against(&found, robot.link_name(link), look), robot, link))
    };
    rows().unwrap_or_default()
}

fn placed(rows: Vec<Row>, robot: &Robot, link: LinkId) -> Vec<Row> {
    let place = |row: Row| {
        let at = inertial_line(robot, link, row.measure);
        row.at(at)
    };
    rows.into_iter().map(place).collect()
}
