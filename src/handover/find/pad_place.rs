//! Where on the coupler of a parallel jaw is the pad? A shape or a point that is called so, else what reaches furthest, else
//! the mass centre; what was taken is said.

use nalgebra::{Point3, Vector3};

use super::bearing::corners;
use super::cycles::Bodies;
use super::drives::line;
use super::four_bar::FourBarLoop;
use super::masses::together;
use crate::robot::{FileLink, LinkId, LinkShape, Robot};

/// The pad as the file draws it, in the model's frame.
#[derive(Clone, Debug)]
pub(super) struct PadPlace {
    /// The middle of what was taken.
    pub(super) middle: Point3<f64>,
    /// Corners of the boxes around it; none where it is a point.
    corners: Vec<Point3<f64>>,
    /// What was taken, as a clause.
    pub(super) told_by: String,
}

impl PadPlace {
    /// Of the coupler of `found`; `None` where the file says nothing of its extent or mass.
    pub(super) fn on(robot: &Robot, bodies: &Bodies, found: &FourBarLoop) -> Option<Self> {
        let links: Vec<LinkId> = bodies.links(found.bodies()[2]).collect();
        let each = || links.iter().filter_map(|id| robot.links.get(*id));
        named_shapes(robot, each())
            .or_else(|| each().find_map(|link| named_site(robot, link)))
            .or_else(|| furthest(robot, each(), found))
            .or_else(|| mass_centre(robot, &links))
    }

    /// The middle of the face that looks along `n`.
    pub(super) fn face(&self, n: &Vector3<f64>) -> Point3<f64> {
        let middle = n.dot(&self.middle.coords);
        let reach = self.corners.iter().map(|corner| n.dot(&corner.coords) - middle);
        self.middle + n * reach.fold(0.0_f64, f64::max)
    }

    fn around<'a>(
        shapes: impl Iterator<Item = (&'a FileLink, &'a LinkShape)>,
        told_by: String,
    ) -> Option<Self> {
        let boxes = shapes.filter_map(|(link, shape)| Some((link, shape.bounds?)));
        let corners: Vec<Point3<f64>> = boxes
            .flat_map(|(link, bounds)| corners(&bounds).map(|corner| link.pose * corner))
            .filter(|corner| corner.iter().all(|x| x.is_finite()))
            .collect();
        let first = *corners.first()?;
        let ends = corners.iter().fold([first; 2], |[low, high], at| [low.inf(at), high.sup(at)]);
        Some(Self { middle: nalgebra::center(&ends[0], &ends[1]), corners, told_by })
    }

    fn point(middle: Point3<f64>, told_by: String) -> Self {
        Self { middle, corners: Vec::new(), told_by }
    }
}

fn is_called_pad(name: &str) -> bool {
    name.to_ascii_lowercase().contains("pad")
}

fn touching<'a>(
    links: impl Iterator<Item = &'a FileLink>,
) -> impl Iterator<Item = (&'a FileLink, &'a LinkShape)> {
    let all = links.flat_map(|link| link.shapes.iter().map(move |shape| (link, shape)));
    all.filter(|(_, shape)| shape.touches && shape.bounds.is_some())
}

/// Shapes that are called pads, or stand on a link that is.
fn named_shapes<'a>(robot: &Robot, links: impl Iterator<Item = &'a FileLink>) -> Option<PadPlace> {
    let named: Vec<_> = touching(links)
        .filter(|(link, shape)| is_called_pad(&shape.name) || is_called_pad(&link.name))
        .collect();
    let (link, first) = named.first()?;
    let name = if is_called_pad(&first.name) { &first.name } else { &link.name };
    let told_by = format!("the shape of {name:?} ({})", line(robot, first.place));
    PadPlace::around(named.iter().copied(), told_by)
}

fn named_site(robot: &Robot, link: &FileLink) -> Option<PadPlace> {
    let site = link.sites.iter().find(|site| is_called_pad(&site.name))?;
    let told_by = format!("site {:?} ({})", site.name, line(robot, site.place));
    Some(PadPlace::point(site.at, told_by))
}

/// The shape whose middle stands furthest from the line between the coupler's pins.
fn furthest<'a>(
    robot: &Robot,
    links: impl Iterator<Item = &'a FileLink>,
    found: &FourBarLoop,
) -> Option<PadPlace> {
    let each = touching(links).filter_map(|one| {
        let told_by =
            format!("the furthest shape of {:?} ({})", one.0.name, line(robot, one.1.place));
        let place = PadPlace::around(std::iter::once(one), told_by)?;
        Some((found.off_coupler(&place.middle), place))
    });
    each.max_by(|a, b| a.0.total_cmp(&b.0)).map(|(_, place)| place)
}

fn mass_centre(robot: &Robot, links: &[LinkId]) -> Option<PadPlace> {
    let moments = together(robot, links.iter().copied(), &nalgebra::Isometry3::identity())?;
    let centre = Point3::from(moments.body().centre);
    Some(PadPlace::point(
        centre,
        "the finger's mass centre, for want of a shape or a point".to_owned(),
    ))
}
