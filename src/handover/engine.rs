//! Which version of the MJCF engine a file is for.

use std::fmt;
use std::str::FromStr;

/// A version as typed: `3.2`, `3.2.3`; what is left out is 0.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct EngineVersion {
    /// First figure.
    pub major: u32,
    /// Second figure.
    pub minor: u32,
    /// Third figure.
    pub patch: u32,
}

impl EngineVersion {
    /// The oldest that files are written for.
    ///
    /// # Source
    /// Tried: 3.0.1 refuses `kv` on `position`, 3.1.0 takes it.
    pub const OLDEST: Self = Self::new(3, 1, 0);
    /// Closes loops from site to site.
    ///
    /// # Source
    /// Tried: 3.2.2 refuses `site1` on `connect`, 3.2.3 takes it.
    pub const LOOPS_BY_SITES: Self = Self::new(3, 2, 3);
    /// Knows `armature` of a tendon.
    ///
    /// # Source
    /// Tried: 3.3.0 refuses `armature` on a tendon, 3.3.1 takes it.
    pub const TENDON_ARMATURE: Self = Self::new(3, 3, 1);
    /// Knows `armature` and `damping` of an actuator, scaled by gear².
    ///
    /// # Source
    /// Tried: 3.6.0 refuses `armature` on an actuator, 3.7.0 takes it.
    pub const ACTUATOR_ARMATURE: Self = Self::new(3, 7, 0);

    /// The version `major.minor.patch`.
    #[must_use]
    pub const fn new(major: u32, minor: u32, patch: u32) -> Self {
        Self { major, minor, patch }
    }
}

impl fmt::Display for EngineVersion {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}.{}", self.major, self.minor)?;
        if self.patch > 0 { write!(f, ".{}", self.patch) } else { Ok(()) }
    }
}

/// Why a text is no version of the engine.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum VersionFault {
    /// Not two or three whole numbers with dots between them.
    NoVersion,
    /// Older than [`EngineVersion::OLDEST`].
    TooOld,
}

impl fmt::Display for VersionFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoVersion => f.write_str("write it like 3.2 or 3.2.3"),
            Self::TooOld => {
                write!(f, "the oldest that files are written for is {}", EngineVersion::OLDEST)
            }
        }
    }
}

impl std::error::Error for VersionFault {}

impl FromStr for EngineVersion {
    type Err = VersionFault;

    fn from_str(text: &str) -> Result<Self, VersionFault> {
        let figure = |part: &str| match part.bytes().all(|b| b.is_ascii_digit()) {
            true => part.parse::<u32>().map_err(|_| VersionFault::NoVersion),
            false => Err(VersionFault::NoVersion),
        };
        let figures: Vec<u32> = text.split('.').map(figure).collect::<Result<_, _>>()?;
        let version = match figures[..] {
            [major, minor] => Self::new(major, minor, 0),
            [major, minor, patch] => Self::new(major, minor, patch),
            _ => return Err(VersionFault::NoVersion),
        };
        if version < Self::OLDEST { Err(VersionFault::TooOld) } else { Ok(version) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_or_three_figures_are_a_version() {
        assert_eq!("3.2".parse(), Ok(EngineVersion::new(3, 2, 0)));
        assert_eq!("4.0.1".parse(), Ok(EngineVersion::new(4, 0, 1)));
        assert_eq!("3.10".parse::<EngineVersion>().unwrap().to_string(), "3.10");
        assert!("3.10".parse::<EngineVersion>().unwrap() > EngineVersion::ACTUATOR_ARMATURE);
    }

    #[test]
    fn anything_else_is_none_and_what_is_too_old_is_told() {
        for text in
            ["", "3", "3.", "v3.2", "3.2.1.0", "3.-2", "3.+2", "latest", "3,2", "99999999999.0"]
        {
            assert_eq!(text.parse::<EngineVersion>(), Err(VersionFault::NoVersion), "{text}");
        }
        assert_eq!("3.0.1".parse::<EngineVersion>(), Err(VersionFault::TooOld));
    }
}
