//! `[pivots]` of drives other than a planar four-bar: points and axes, in a plane or in the carrier's frame.

use super::dimension::{Dimension, Tolerance};
use super::entry::Entry;
use super::geometry::Sources;
use super::model::AxisPoints;
use super::section::Section;
use super::sense::Sense;
use super::sizes::{Sizes, offset};
use crate::drive::{Axis, Vector};
use crate::units::{Deviation, UnitKind};
use toml::de::DeValue;

/// Names of a point's coordinates as sizes.
type Names = [&'static str; 3];

/// What is read of `[pivots]`.
pub(super) struct Points<'s, 'a> {
    pub(super) table: &'s Section<'a>,
    /// The points have three coordinates, in the carrier's frame.
    pub(super) is_spatial: bool,
    sense: Sense,
    /// `[tolerance] points` and `axes`.
    tolerances: [Option<(Tolerance, Entry<'a>)>; 2],
    pub(super) sizes: Sizes,
}

impl<'s, 'a> Points<'s, 'a> {
    /// The points of a drive that may be drawn in a plane or in space; what `[zero]` says of the pose besides is a fault.
    pub(super) fn new(sources: &Sources<'s, 'a>, table: &'s Section<'a>) -> Self {
        sources.zero.refuse_pose();
        let joint = table.get("joint");
        let is_spatial = joint
            .is_some_and(|entry| matches!(entry.value, DeValue::Array(items) if items.len() == 3));
        if is_spatial && sources.axis_points == AxisPoints::Away {
            refuse_view(sources.root);
        }
        let sense = Sense::new(sources.axis_points);
        let tolerances = tolerances(sources.tolerance);
        Self { table, is_spatial, sense, tolerances, sizes: Sizes::default() }
    }

    /// The points in space that `table` gives, beside what is read already.
    pub(super) fn in_space(
        table: &'s Section<'a>,
        tolerance: Option<&Section<'a>>,
        sizes: Sizes,
    ) -> Self {
        let (sense, tolerances) = (Sense::new(AxisPoints::Toward), tolerances(tolerance));
        Self { table, is_spatial: true, sense, tolerances, sizes }
    }

    /// A point with the tolerances of its coordinates.
    pub(super) fn point(&mut self, key: &str, names: Names) -> Option<Vector> {
        let example = if self.is_spatial {
            "\"0 mm\", \"0 mm\", \"-300 mm\""
        } else {
            "\"0 mm\", \"-300 mm\""
        };
        let entry = self.table.required(key, &format!("{key} = [{example}]"))?;
        let items = entry.items()?;
        let wanted = if self.is_spatial { 3 } else { 2 };
        if items.len() != wanted {
            let label = format!("coordinates given: {}", items.len());
            let help = format!("write {wanted} coordinates, as many for each point: [{example}]");
            entry.fault("is no point", &label, help);
            return None;
        }
        let mut at = [0.0; 3];
        let drawn: Vec<Option<Dimension>> = items.iter().map(offset).collect();
        for (k, (drawn, (name, item))) in
            drawn.into_iter().zip(names.into_iter().zip(&items)).enumerate()
        {
            let drawn = self.seen(k, drawn?);
            if let Some(slot) = at.get_mut(k) {
                *slot = self.sizes.put(name, &item.place, drawn);
            }
        }
        let [x, y, z] = at;
        Some(Vector::new(x, y, z))
    }

    /// The `k`-th coordinate about the joint axis, with the tolerance of all points where it has none of its own.
    fn seen(&self, k: usize, drawn: Dimension) -> Dimension {
        let [points, _] = &self.tolerances;
        let own =
            drawn.tolerance.or_else(|| points.as_ref().map(|(tolerance, _)| tolerance.clone()));
        if self.is_spatial || k != 1 {
            return match drawn.written_outside {
                Some(_) => Dimension { tolerance: own, ..drawn },
                None => Dimension::drawn(drawn.nominal, own),
            };
        }
        let turned = own.map(|own| self.sense.tolerance(own));
        let nominal = self.sense.angle(drawn.nominal);
        match drawn.written_outside {
            Some(written) => Dimension {
                nominal,
                tolerance: turned,
                written_outside: Some(self.sense.angle(written)),
            },
            None => Dimension::drawn(nominal, turned),
        }
    }

    /// A direction in space: three numbers; in a plane `flat`, or two numbers where there is none.
    pub(super) fn direction(&mut self, key: &str, flat: Option<Vector>) -> Option<Vector> {
        match (self.is_spatial, flat) {
            (true, _) => {
                let entry = self.table.required(key, &format!("{key} = [0.0, 1.0, 0.0]"))?;
                let [x, y, z] = entry.direction()?;
                Some(Vector::new(x, y, z))
            }
            (false, Some(flat)) => {
                if let Some(entry) = self.table.get(key) {
                    let help = "give the points three coordinates, or take this line out and use axis_points";
                    entry.fault(
                        "stands beside points with two coordinates",
                        "needs three coordinates",
                        help,
                    );
                }
                Some(flat)
            }
            (false, None) => {
                let entry = self.table.required(key, &format!("{key} = [1.0, 0.0]"))?;
                let [x, y] = entry.numbers::<2>("two numbers: [x, y]")?;
                let unit = Vector::new(x, self.sense.angle(y), 0.0).unit();
                if unit.is_none() {
                    entry.fault(
                        "has no direction",
                        "both are zero",
                        "such as [1, 0] for the x axis",
                    );
                }
                unit
            }
        }
    }

    /// The tolerance of both tilts of an axis.
    pub(super) fn tilts(&mut self, names: [&'static str; 2]) {
        let [_, axes] = &self.tolerances;
        let Some((tolerance, entry)) = axes.clone() else { return };
        for name in names {
            self.sizes.put(name, &entry.place, Dimension::drawn(0.0, Some(tolerance.clone())));
        }
    }

    /// A fault where the point lies on its own axis.
    pub(super) fn must_stand_off(&self, key: &str, point: Vector, axis: &Axis) -> Option<()> {
        let off = axis.foot(point).map_or(0.0, |foot| (point - foot).length());
        if off >= crate::design::lengths::SHORTEST {
            return Some(());
        }
        if let Some(entry) = self.table.get(key) {
            let help =
                "an arm has a length: correct this point, or the point and direction of its axis";
            entry.fault("lies on its own axis", "no arm is left", help);
        }
        None
    }
}

fn refuse_view(root: &Section<'_>) {
    if let Some(entry) = root.get("axis_points") {
        let help = "take this line out: with three coordinates `[pivots] joint_axis` says where the axis points";
        entry.fault("has no meaning here", "no drawing view is involved", help);
    }
}

/// `[tolerance] points` and `axes`.
fn tolerances<'a>(table: Option<&Section<'a>>) -> [Option<(Tolerance, Entry<'a>)>; 2] {
    [("points", UnitKind::Length), ("axes", UnitKind::Angle)].map(|(key, kind)| {
        let entry = table?.get(key)?;
        tolerance(&entry, kind).map(|read| (read, entry))
    })
}

/// A tolerance that stands for all points or all axes.
fn tolerance(entry: &Entry<'_>, kind: UnitKind) -> Option<Tolerance> {
    let drawn = entry.tolerance(kind)?;
    let Deviation::Limits { lower, upper } = drawn.deviation else {
        let help = "write the deviations themselves, such as \"±0.1 mm\"";
        entry.fault("goes by a size", "a point has none", help);
        return None;
    };
    Some(Tolerance { lower, upper, written: drawn.written })
}
