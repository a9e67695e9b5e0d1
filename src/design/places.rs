//! Where each parameter stands in the user's file, and messages from other floors that point there.

use super::model::{Design, Parameter, Places, Source};
use super::section::Section;
use crate::diagnostic::Diagnostic;
use std::ops::Range;

/// Where each parameter of the model stands: table, key, and key under `[pivots]` where pins are given.
const STANDS: [(Parameter, &str, &str, &str); 23] = [
    (Parameter::Drive, "drive", "kind", ""),
    (Parameter::Ground, "linkage", "ground", "joint"),
    (Parameter::Crank, "linkage", "crank", "crank"),
    (Parameter::Coupler, "linkage", "coupler", "rocker"),
    (Parameter::Rocker, "linkage", "rocker", "rocker"),
    (Parameter::ZeroCrank, "zero", "crank", "crank"),
    (Parameter::ZeroRocker, "zero", "rocker", "rocker"),
    (Parameter::SetBy, "zero", "set_by", ""),
    (Parameter::Ratio, "direct_joint", "ratio", ""),
    (Parameter::Offset, "direct_joint", "offset", ""),
    (Parameter::Matrix, "direct_joint", "matrix", ""),
    (Parameter::StrokePitch, "stroke", "pitch", ""),
    (Parameter::StrokeRoll, "stroke", "roll", ""),
    (Parameter::AcceptInertia, "accept", "inertia", ""),
    (Parameter::AcceptOver, "accept", "over", ""),
    (Parameter::Stops, "actuator", "stops", ""),
    (Parameter::RotorInertia, "actuator", "rotor_inertia", ""),
    (Parameter::JointReads, "zero", "joint_reads", ""),
    (Parameter::FingerPad, "finger", "pad", ""),
    (Parameter::MotorPin, "pivots", "motor", ""),
    (Parameter::JointPin, "pivots", "joint", ""),
    (Parameter::CrankPin, "pivots", "crank", ""),
    (Parameter::RockerPin, "pivots", "rocker", ""),
];

/// Where each parameter of a sound file stands; those that are left out have no place.
pub(super) fn collect(root: &Section<'_>) -> Places {
    let mut places = Places::default();
    for (parameter, table, key, pin) in STANDS {
        let place = root.place(table, key).or_else(|| root.place("pivots", pin));
        if let Some(place) = place {
            places.0.insert(parameter, place);
        }
    }
    let ends = root.item_places("stroke", "joint").or_else(|| root.item_places("stroke", "motor"));
    let parameters = [Parameter::StrokeFirst, Parameter::StrokeSecond];
    places.0.extend(parameters.into_iter().zip(ends.unwrap_or_default()));
    let robots = root.get("robot").and_then(|entry| entry.items()).unwrap_or_default();
    places
        .0
        .extend(robots.iter().enumerate().map(|(n, one)| (Parameter::Robot(n), one.place.clone())));
    places
}

impl Places {
    /// Bytes of the parameter in the file, where it stands there.
    #[must_use]
    pub fn of(&self, parameter: Parameter) -> Option<Range<usize>> {
        self.0.get(&parameter).cloned()
    }

    /// An error about a parameter, underlined where that stands in the file.
    #[must_use]
    pub fn diagnose(&self, parameter: Parameter, message: impl Into<String>) -> Diagnostic {
        let fault = Diagnostic::error(message);
        match self.of(parameter) {
            Some(place) => fault.at(place),
            None => fault,
        }
    }
}

/// A design of whatever drive, for messages that point into its file.
pub trait InFile {
    /// The file's name and text.
    fn source(&self) -> &Source;

    /// Where each parameter stands in it.
    fn places(&self) -> &Places;
}

impl<G> InFile for Design<G> {
    fn source(&self) -> &Source {
        &self.source
    }

    fn places(&self) -> &Places {
        &self.places
    }
}

impl<G> Design<G> {
    /// An error about a parameter, underlining the user's own line where it stands in the file.
    ///
    /// Add words under the place and a cure with [`Diagnostic::label`] and [`Diagnostic::help`]; show it with
    /// [`Design::render`].
    #[must_use]
    pub fn diagnose(&self, parameter: Parameter, message: impl Into<String>) -> Diagnostic {
        self.places.diagnose(parameter, message)
    }

    /// Messages against the text of this design; `coloured` adds ANSI colours.
    #[must_use]
    pub fn render(&self, diagnostics: &[Diagnostic], coloured: bool) -> String {
        crate::diagnostic::render(&self.source.path, &self.source.text, diagnostics, coloured)
    }
}
