//! `[finger]`: a gripper's finger, whose pad rides on the coupler or the rocker.

use super::entry::Entry;
use super::gripper::{Finger, OtherFinger};
use super::model::{Design, Geometry};
use super::section::Section;
use super::stroke::is_best;
use crate::equivalence::PadStandIn;
use crate::linkage::{Pad, PadOn};
use crate::units::UnitKind;
use nalgebra::Vector3;

/// `[finger]` with what `[direct_joint]` says of its stand-in; `geometry` where it could be read.
pub(super) fn read(root: &Section<'_>, geometry: Option<&Geometry>) -> Option<Finger> {
    let table = root.section("finger")?;
    let on = table
        .required("pad", "pad = \"coupler\"")
        .and_then(|entry| entry.choice(&PadOn::ALL.map(|on| (on.name(), on))));
    let line = "point = [\"10 mm\", \"30 mm\"]";
    let point_entry = table.required("point", line);
    let closing_entry = table.required("closing", "closing = [-1.0, 0.0]");
    let point = point_entry.as_ref().and_then(point);
    let closing = closing_entry.as_ref().and_then(direction);
    let opening = table
        .required("opening", "opening = \"50 mm\"")
        .and_then(|entry| entry.not_negative(UnitKind::Length));
    let other = table.get("other").map_or(Some(OtherFinger::default()), |entry| {
        entry.choice(&OtherFinger::ALL.map(|other| (other.name(), other)))
    });
    let best_multiplier = is_best_multiplier(root, on?);
    let stand_in = stand_in(root, on?);
    let geometry = geometry?;
    let coordinates = if geometry.pivots.is_some() { 3 } else { 2 };
    let alike = |entry: Option<&Entry<'_>>, at: Option<(Vector3<f64>, usize)>| {
        at.filter(|(_, count)| has_coordinates(entry, *count, coordinates))
    };
    let point = alike(point_entry.as_ref(), point);
    let closing = alike(closing_entry.as_ref(), closing);
    let (point, closing) = (point?, closing?);
    let [x, y, z] = geometry.drawing_frame.map(Vector3::from);
    let (point, toward) = (point.0, closing.0);
    let flat = toward - z * toward.dot(&z);
    if flat.norm() < ALONG_AXIS {
        let help = "write the direction in which the pad closes, across the joint axis";
        closing_entry?.fault("points along the joint axis", "a pad closes across it", help);
        return None;
    }
    if toward.dot(&z).abs() > OUT_OF_PLANE {
        let help = "write it without its part along the joint axis: the pad moves across that";
        closing_entry?.fault("leads out of the linkage's plane", "the pad stays in it", help);
        return None;
    }
    let n = flat.normalize();
    let in_plane = |v: Vector3<f64>| [v.dot(&x), v.dot(&y)];
    let seen = z * geometry.drawing_frame_sense();
    let pad = Pad {
        on: on?,
        point: in_plane(point),
        closing: in_plane(n),
        across: in_plane(n.cross(&seen)),
        fingers: if other? == OtherFinger::Mirrored { 2.0 } else { 1.0 },
    };
    Some(Finger {
        pad,
        height: point.dot(&z),
        opening: opening?,
        other: other?,
        stand_in: stand_in?,
        best_multiplier,
    })
}

/// A closing direction with less than this across the axis has none.
const ALONG_AXIS: f64 = 1e-3;

/// One with more than this along it is more than roughly written: the grip is told along what is left of it.
const OUT_OF_PLANE: f64 = 1e-2;

fn point(entry: &Entry<'_>) -> Option<(Vector3<f64>, usize)> {
    let items = entry.items()?;
    let at: Vec<Option<f64>> = items.iter().map(|item| item.quantity(UnitKind::Length)).collect();
    let help = "write [\"10 mm\", \"30 mm\"], or three coordinates where [pivots] has three";
    coordinates(entry, &at, "is no point", help)
}

fn direction(entry: &Entry<'_>) -> Option<(Vector3<f64>, usize)> {
    let items = entry.items()?;
    let at: Vec<Option<f64>> = items.iter().map(Entry::number).collect();
    let help = "write [-1.0, 0.0], or three numbers where [pivots] has three coordinates";
    let (vector, count) = coordinates(entry, &at, "is no direction", help)?;
    let largest = vector.amax();
    if largest <= 0.0 {
        entry.fault("has no direction", "all are zero", "from the pad towards the object");
        return None;
    }
    Some(((vector / largest).normalize(), count))
}

fn coordinates(
    entry: &Entry<'_>,
    at: &[Option<f64>],
    summary: &str,
    help: &str,
) -> Option<(Vector3<f64>, usize)> {
    match *at {
        [x, y] => Some((Vector3::new(x?, y?, 0.0), 2)),
        [x, y, z] => Some((Vector3::new(x?, y?, z?), 3)),
        _ => {
            entry.fault(summary, &format!("coordinates given: {}", at.len()), help);
            None
        }
    }
}

fn has_coordinates(entry: Option<&Entry<'_>>, given: usize, wanted: usize) -> bool {
    if given != wanted
        && let Some(entry) = entry
    {
        let help = if wanted == 3 {
            "[pivots] has three coordinates: give three, in the carrier's frame"
        } else {
            "the linkage is drawn in a plane: give two, in the drawing's axes"
        };
        entry.fault(&format!("has {given} coordinates"), &format!("{wanted} are needed"), help);
    }
    given == wanted
}

/// `[direct_joint] stand_in`.
pub(super) fn stand_in(root: &Section<'_>, on: PadOn) -> Option<PadStandIn> {
    let get = |key: &str| root.within("direct_joint", key);
    let wanted = match get("stand_in") {
        Some(entry) => (entry.choice(&PadStandIn::ALL.map(|one| (one.name(), one)))?, Some(entry)),
        None if on == PadOn::Coupler => (PadStandIn::Counter, None),
        None => (PadStandIn::Hinge, None),
    };
    if let (PadOn::Rocker, PadStandIn::Counter | PadStandIn::Slide, Some(entry)) =
        (on, wanted.0, wanted.1)
    {
        let help = "a pad on the rocker swings with it: its stand-in is \"hinge\"; a pad that only shifts rides on the coupler";
        entry.fault("does not fit a pad on the rocker", "for pad = \"coupler\"", help);
        return None;
    }
    Some(wanted.0)
}

/// Whether the counter-turning pair's multiplier is to be found; other constants of a joint have no meaning for a pad on the
/// coupler.
fn is_best_multiplier(root: &Section<'_>, on: PadOn) -> bool {
    let get = |key: &str| root.within("direct_joint", key);
    let ratio = get("ratio");
    let is_best = ratio.as_ref().is_some_and(is_best);
    if on == PadOn::Coupler {
        let offset = get("offset");
        let written = [ratio.filter(|_| !is_best), offset];
        for entry in written.into_iter().flatten() {
            let help = "take the line out: the counter-turning pair turns by -1 for each motor turn (ratio = \"best\" looks for the best figure), slide and hinge take their best constants";
            entry.fault("has no meaning here", "the pad rides on the coupler", help);
        }
    }
    is_best
}

/// Without `[finger]` there is nothing that `stand_in` could choose from.
pub(super) fn refuse_stand_in(root: &Section<'_>) {
    if root.get("finger").is_none()
        && let Some(entry) = root.within("direct_joint", "stand_in")
    {
        let help = "add [finger], or take this line out: without a finger a direct joint stands in";
        entry.fault("needs [finger]", "no finger is given", help);
    }
}

impl Geometry {
    /// +1 where the axes that points are written in are seen with the joint axis pointing at the reader, −1 where away.
    #[must_use]
    pub fn drawing_frame_sense(&self) -> f64 {
        match self.pivots {
            Some(_) => 1.0,
            None => self.drawing_frame[2][2],
        }
    }
}

impl<G> Design<G> {
    /// The finger, where its pad rides on the coupler.
    #[must_use]
    pub fn parallel_jaw(&self) -> Option<&Finger> {
        self.finger.as_ref().filter(|finger| finger.is_parallel_jaw())
    }
}
