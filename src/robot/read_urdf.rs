//! Links and joints of a urdf file.

use super::document::Document;
use super::graph::Robot;
use super::read::RobotRejected;

pub(super) fn read(document: Document) -> Result<Robot, Box<RobotRejected>> {
    Err(Box::new(RobotRejected::of(&document, Vec::new())))
}
