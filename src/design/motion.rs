//! `[motion]`: how fast things go, for what that costs in torque.

use super::model::MotionEnvelope;
use super::section::Section;
use crate::units::UnitKind;

/// `[motion]`, each line where it is given.
pub(super) fn read(root: &Section<'_>) -> Option<MotionEnvelope> {
    let table = root.section("motion")?;
    let most = |key: &str, kind| table.get(key).and_then(|entry| entry.not_negative(kind));
    Some(MotionEnvelope {
        joint_speed: most("joint_speed", UnitKind::AngularSpeed),
        joint_acceleration: most("joint_acceleration", UnitKind::AngularAcceleration),
        carrier_speed: most("carrier_speed", UnitKind::AngularSpeed),
        carrier_acceleration: most("carrier_acceleration", UnitKind::AngularAcceleration),
        base_acceleration: most("base_acceleration", UnitKind::Acceleration),
    })
}
