//! Where is the rocker, how fast does it turn, on which circuit, and how far is it from its limits?

/// The two assemblies of a four-bar at one crank angle.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Closure {
    /// Q lies left of the directed line P→B.
    Open,
    /// Q lies right of the directed line P→B.
    Crossed,
}
