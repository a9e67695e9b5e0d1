//! `[zero]`: what motors and joints read in the pose that is drawn.

use crate::design::model::SetBy;
use crate::design::section::Section;
use crate::design::zero;
use crate::units::UnitKind;

/// `[zero]`.
pub(super) struct Zero<'a> {
    table: Option<Section<'a>>,
    pub(super) motor_reads: Option<[f64; 2]>,
    pub(super) joint_reads: Option<[f64; 2]>,
    pub(super) set_by: Option<SetBy>,
}

pub(super) fn read<'a>(root: &Section<'a>) -> Zero<'a> {
    let table = root.section("zero");
    let reads = |key: &str| {
        let Some(entry) = table.as_ref().and_then(|table| table.get(key)) else {
            return Some([0.0; 2]);
        };
        entry.quantities::<2>(UnitKind::Angle, "two angles: [\"0 deg\", \"0 deg\"]")
    };
    Zero {
        motor_reads: reads("motor_reads"),
        joint_reads: reads("joint_reads"),
        set_by: zero::set_by(table.as_ref()),
        table,
    }
}

impl Zero<'_> {
    pub(super) fn check_set_by(&self, root: &Section<'_>, tolerance_is_drawn: Option<bool>) {
        zero::check_set_by(self.table.as_ref(), root, tolerance_is_drawn);
    }
}
