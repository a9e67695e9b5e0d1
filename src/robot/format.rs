//! The formats of a robot file.

/// The format of a robot file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Format {
    /// URDF.
    Urdf,
    /// SDFormat; written as 1.7 and later.
    Sdformat,
    /// MJCF.
    Mjcf,
}

impl Format {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Urdf, Self::Sdformat, Self::Mjcf];

    /// The format's name.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Urdf => "URDF",
            Self::Sdformat => "SDFormat",
            Self::Mjcf => "MJCF",
        }
    }

    /// The name in small letters, as an option of a command.
    #[must_use]
    pub fn id(self) -> &'static str {
        match self {
            Self::Urdf => "urdf",
            Self::Sdformat => "sdformat",
            Self::Mjcf => "mjcf",
        }
    }
}
