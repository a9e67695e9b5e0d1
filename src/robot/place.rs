//! Where in a file something stands, and what the user should know of it.

use super::document::{Element, ElementId};

/// One element of one file.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Place {
    /// Which of the robot's documents.
    pub document: usize,
    /// Which element there.
    pub element: ElementId,
}

/// Of an element of the file that was named.
impl From<Element<'_>> for Place {
    fn from(element: Element<'_>) -> Self {
        Self { document: 0, element: element.id() }
    }
}

/// Something that the user should know of a place.
#[derive(Clone, Debug, PartialEq)]
pub struct Remark {
    /// Where.
    pub place: Place,
    /// A sentence without a full stop.
    pub message: String,
}
