//! What ends a drive's motion, and where.

words! {
    /// What ends a drive's motion.
    #[derive(Clone, Copy, Debug, PartialEq, Eq)]
    pub enum StopKind {
        /// The rod in line with the crank, or square to the guide: the joint can go no further.
        DeadPoint = "dead point",
        /// The rod in line with the joint's lever: the motor can go no further, and holds nothing there.
        CrankLimit = "crank limit",
        /// The shortest length of an actuator.
        Shortest = "shortest length",
        /// The longest length of an actuator.
        Longest = "longest length",
    }
}

/// A place where a drive's motion ends.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stop {
    /// What stands there.
    pub kind: StopKind,
    /// Joint turn from the zero pose, rad.
    pub joint: f64,
    /// Motor turn from the zero pose, rad.
    pub motor: f64,
}
