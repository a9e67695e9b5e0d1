//! In which form does a robot file hold the drive?

words! {
    /// What stands in the file in the linkage's place.
    #[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
    pub enum Form {
        /// One revolute joint.
        #[default]
        Direct = "direct",
        /// The crank as a body of its own, coupled to the joint.
        Coupled = "coupled",
        /// Crank and coupler as bodies, the loop closed.
        Loop = "loop",
    }
}

impl Form {
    /// `direct joint`, `coupled crank` or `closed loop`.
    #[must_use]
    pub fn title(self) -> &'static str {
        match self {
            Self::Direct => "direct joint",
            Self::Coupled => "coupled crank",
            Self::Loop => "closed loop",
        }
    }

    /// Does the crank stay a body of its own?
    #[must_use]
    pub fn keeps_crank(self) -> bool {
        self != Self::Direct
    }
}
