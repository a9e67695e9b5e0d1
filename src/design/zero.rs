//! `[zero]`: one pose, named by its crank angle, and what is read there.

use super::dimension::{Dimension, Tolerance};
use super::entry::Entry;
use super::model::SetBy;
use super::section::Section;
use super::sense::{Sense, wrapped};
use crate::diagnostic::Code;
use crate::drive::Kind;
use crate::units::{self, Deviation, UnitKind};
use std::f64::consts::{PI, TAU};

/// The angle of the lever furthest from the one drawn that still picks an assembly, rad.
const HINT: f64 = 10.0 * PI / 180.0;

/// What `[zero]` says besides the pose itself.
#[derive(Debug)]
pub(super) struct Zero<'a> {
    table: Option<Section<'a>>,
    /// rad, as the software reads it.
    pub(super) motor_reads: Option<f64>,
    /// rad, as the software reads it.
    pub(super) joint_reads: Option<f64>,
    /// How each robot gets its zero.
    pub(super) set_by: Option<SetBy>,
}

/// `[zero]`, but for the pose.
pub(super) fn read<'a>(root: &Section<'a>) -> Zero<'a> {
    let table = root.section("zero");
    let get = |key: &str| table.as_ref().and_then(|table| table.get(key));
    let reads = |key: &str| get(key).map_or(Some(0.0), |entry| entry.quantity(UnitKind::Angle));
    Zero {
        motor_reads: reads("motor_reads"),
        joint_reads: reads("joint_reads"),
        set_by: set_by(table.as_ref()),
        table,
    }
}

impl<'a> Zero<'a> {
    /// Crank and rocker angle of the pose, about the joint axis.
    pub(super) fn pose(
        &self,
        root: &Section<'_>,
        sense: Sense,
    ) -> (Option<Dimension>, Option<f64>) {
        let Some(table) = &self.table else {
            let help = "add [zero] with the two angles of one pose: crank = \"90 deg\", rocker = \"90 deg\"";
            root.missing("zero", help);
            return (None, None);
        };
        let crank =
            table.required("crank", "crank = \"90 deg\"  # its angle from the line motor to joint");
        let rocker =
            table.required("rocker", "rocker = \"90 deg\"  # about: it only picks the closure");
        (
            crank.and_then(|entry| exact_angle(&entry, sense)),
            rocker.and_then(|entry| about(&entry, sense)),
        )
    }

    /// The entry of this key, where it is given.
    pub(super) fn get(&self, key: &str) -> Option<Entry<'a>> {
        self.table.as_ref()?.get(key)
    }

    /// The entry of this key; a fault where there is none, with the line to add.
    pub(super) fn required(&self, root: &Section<'_>, key: &str, line: &str) -> Option<Entry<'a>> {
        if let Some(table) = &self.table {
            return table.required(key, line);
        }
        root.missing("zero", &format!("add [zero] with the line: {line}"));
        None
    }

    /// The pose comes from `[pivots]`: it must not be given again.
    pub(super) fn refuse_pose(&self) {
        for entry in ["crank", "rocker", "length"].into_iter().filter_map(|key| self.get(key)) {
            let help = "take this line out, or give [linkage] instead of [pivots]";
            entry.fault("is given twice", "the pins in [pivots] say this already", help);
        }
    }

    /// Which of the two lever angles (rad about the joint axis) `rocker`, read as `hint`, is about; a fault where it is near neither.
    pub(super) fn nearest_of(&self, hint: f64, solved: [f64; 2], sense: Sense) -> Option<usize> {
        let off = solved.map(|angle| libm::remainder(angle - hint, TAU).abs());
        if off.iter().any(|off| *off <= HINT) {
            let [first, second] = off;
            return Some(usize::from(second < first));
        }
        let [first, second] = solved.map(|angle| units::angle(sense.angle(angle), 2));
        if let Some(entry) = self.get("rocker") {
            let label = format!("the lengths put the rocker at {first} or {second}");
            let help = format!(
                "write the one that is drawn: rocker = \"{first}\" or rocker = \"{second}\""
            );
            entry.coded(
                Code::RockerFitsNeither,
                "fits neither assembly of the drive",
                &label,
                help,
            );
        }
        None
    }

    /// A drawn tolerance needs `set_by`.
    pub(super) fn check_set_by(&self, root: &Section<'_>, tolerance_is_drawn: Option<bool>) {
        check_set_by(self.table.as_ref(), root, tolerance_is_drawn);
    }
}

/// `[zero] set_by`.
pub(super) fn set_by(table: Option<&Section<'_>>) -> Option<SetBy> {
    let words = [("jig", SetBy::Jig), ("drawing", SetBy::Drawing)];
    table?.get("set_by")?.choice(&words)
}

/// A drawn tolerance needs `set_by`.
pub(super) fn check_set_by(
    table: Option<&Section<'_>>,
    root: &Section<'_>,
    tolerance_is_drawn: Option<bool>,
) {
    let given = table.is_some_and(|table| table.get("set_by").is_some());
    if given || tolerance_is_drawn != Some(true) {
        return;
    }
    let (jig, drawing) = match root.faults.kind {
        Kind::FourBar | Kind::BallRod => ("crank set to its drawn angle", "rocker"),
        Kind::Series => ("every stage set to its zero pose", "joint"),
        Kind::TwoRods => ("pitch and roll set to zero", "motors' angles"),
        _ => ("lever set to its drawn angle", "joint"),
    };
    let help = format!(
        "a tolerance is drawn, so say how each built robot gets its zero: add under [zero] the line\n\
         set_by = \"jig\" ({jig}, motor and joint zeroed there), or\n\
         set_by = \"drawing\" (what the lengths do to the {drawing} counts as error)"
    );
    table.unwrap_or(root).missing("set_by", &help);
}

/// An angle with the tolerance that it may carry, about the joint axis.
pub(super) fn exact_angle(entry: &Entry<'_>, sense: Sense) -> Option<Dimension> {
    let drawn = entry.dimension(UnitKind::Angle)?;
    let tolerance = drawn.tolerance.and_then(|tolerance| match tolerance.deviation {
        Deviation::Limits { lower, upper } => {
            Some(Tolerance { lower, upper, written: tolerance.written })
        }
        Deviation::General(_) | Deviation::Grade(_) => None,
    });
    let widest = tolerance.as_ref().map_or(0.0, |one| one.upper.max(-one.lower));
    if widest > std::f64::consts::FRAC_PI_2 {
        entry.fault(
            "has a tolerance over 90 deg",
            "no pose is left",
            "is the unit of the tolerance right?",
        );
        return None;
    }
    let tolerance = tolerance.map(|tolerance| sense.tolerance(tolerance));
    Some(Dimension::drawn(wrapped(sense.angle(drawn.nominal)), tolerance))
}

/// An angle that only picks the closure.
pub(super) fn about(entry: &Entry<'_>, sense: Sense) -> Option<f64> {
    let drawn = entry.dimension(UnitKind::Angle)?;
    if drawn.tolerance.is_some() {
        let help =
            "leave it out here; tolerances of the lengths and of [zero] crank move the rocker";
        entry.fault("carries a tolerance", "this angle only picks the closure", help);
        return None;
    }
    Some(wrapped(sense.angle(drawn.nominal)))
}
