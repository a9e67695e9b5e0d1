//! What the actuators of a motor's joint see in that joint's place.

/// What actuators of the motor's joint see in its place.
#[derive(Clone, Copy, Debug)]
pub(super) struct Seen {
    /// The motor's reading along that: slope and shift.
    pub(super) line: [f64; 2],
    /// The share of the motor's force that becomes a limit there.
    pub(super) share: f64,
    /// The share of their armature that the actuators keep.
    pub(super) armature_share: f64,
}
