//! From a model to the text of a file, whatever the format.

use super::description::Model;
use super::format::Format;
use super::{mjcf, sdformat, urdf};

impl Format {
    /// The joints alone, for somebody's own file.
    #[must_use]
    pub fn snippet(self, model: &Model) -> String {
        match self {
            Self::Urdf => urdf::snippet(model),
            Self::Sdformat => sdformat::snippet(model),
            Self::Mjcf => mjcf::snippet(model),
        }
    }

    /// A file that loads by itself: each carrier fixed to the world, each child on its joint.
    #[must_use]
    pub fn whole(self, model: &Model) -> String {
        match self {
            Self::Urdf => urdf::whole(model),
            Self::Sdformat => sdformat::whole(model),
            Self::Mjcf => mjcf::whole(model),
        }
    }

    /// What the format cannot hold, said in the file.
    #[must_use]
    pub fn remarks(self) -> &'static [&'static str] {
        match self {
            Self::Urdf => urdf::REMARKS,
            Self::Sdformat => sdformat::REMARKS,
            Self::Mjcf => mjcf::REMARKS,
        }
    }

    /// What readers of the format make of a closed loop.
    #[must_use]
    pub fn loop_remarks(self) -> &'static [&'static str] {
        match self {
            Self::Sdformat => sdformat::LOOP_REMARKS,
            Self::Urdf | Self::Mjcf => &[],
        }
    }

    /// What a user has to know who pastes a snippet.
    #[must_use]
    pub fn snippet_remarks(self) -> &'static [&'static str] {
        match self {
            Self::Urdf => urdf::SNIPPET_REMARKS,
            Self::Sdformat => sdformat::SNIPPET_REMARKS,
            Self::Mjcf => mjcf::SNIPPET_REMARKS,
        }
    }
}
