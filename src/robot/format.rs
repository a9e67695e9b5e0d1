//! The formats of a robot file, and what each can hold.

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

    /// The name of a file's outermost element gives its format.
    pub(super) fn of_root(name: &str) -> Option<Self> {
        match name {
            "robot" => Some(Self::Urdf),
            "sdf" => Some(Self::Sdformat),
            "mujoco" | "mujocoinclude" => Some(Self::Mjcf),
            _ => None,
        }
    }

    /// A joint has an armature.
    #[must_use]
    pub fn holds_armature(self) -> bool {
        self == Self::Mjcf
    }

    /// A joint has a largest speed.
    #[must_use]
    pub fn holds_speed_limit(self) -> bool {
        self != Self::Mjcf
    }

    /// A joint has a spring.
    #[must_use]
    pub fn holds_springs(self) -> bool {
        self != Self::Urdf
    }

    /// Two joints are coupled by a polynomial; else by a straight line alone, as `mimic`.
    #[must_use]
    pub fn holds_polynomials(self) -> bool {
        self == Self::Mjcf
    }

    /// Loops are closed; else links and joints make a tree.
    #[must_use]
    pub fn holds_loops(self) -> bool {
        self != Self::Urdf
    }

    /// Actuators, with gear, force range and gains.
    #[must_use]
    pub fn holds_actuators(self) -> bool {
        self == Self::Mjcf
    }

    /// The links may be drawn at another reading of a joint than 0.
    #[must_use]
    pub fn holds_drawn_readings(self) -> bool {
        self == Self::Mjcf
    }

    /// A revolute joint must have an effort and a speed limit.
    #[must_use]
    pub fn needs_limits(self) -> bool {
        self == Self::Urdf
    }
}
