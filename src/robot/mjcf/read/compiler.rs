//! What `compiler` says: how the numbers of all other sections are to be read.

use super::Reading;
use super::include::{Node, Value};
use crate::robot::values::shown;

/// Whether masses are inferred from shapes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum FromShapes {
    Never,
    Always,
    /// Where a body has no `inertial`.
    WhereMissing,
}

/// The settings, later ones over earlier ones.
#[derive(Clone, Debug)]
pub(super) struct Compiler {
    /// rad per unit of the file's angles.
    pub(super) angle: f64,
    /// Three letters of xyzXYZ.
    pub(super) euler: [char; 3],
    /// A range without `limited` limits.
    pub(super) auto_limits: bool,
    pub(super) from_shapes: FromShapes,
    /// Smallest and largest group whose shapes count.
    pub(super) groups: [f64; 2],
    /// No body weighs less, kg; 0 where nothing is asked.
    pub(super) least_mass: f64,
    /// No principal moment is less, kg m²; 0 where nothing is asked.
    pub(super) least_moment: f64,
    /// Three moments of which two are together less than the third are taken for three of their mean.
    pub(super) balances: bool,
    /// The engine scales all masses to a sum of its own.
    pub(super) scales_masses: bool,
}

impl Default for Compiler {
    fn default() -> Self {
        Self {
            angle: 1_f64.to_radians(),
            euler: ['x', 'y', 'z'],
            auto_limits: true,
            from_shapes: FromShapes::WhereMissing,
            groups: [0.0, 5.0],
            least_mass: 0.0,
            least_moment: 0.0,
            balances: false,
            scales_masses: false,
        }
    }
}

impl<'a> Reading<'a> {
    pub(super) fn compiler(&mut self, node: Node<'a>) {
        if let Some(angle) = self.choice(node, "angle", &["degree", "radian"]) {
            self.compiler.angle = if angle == "degree" { 1_f64.to_radians() } else { 1.0 };
        }
        if let Some(limits) = self.choice(node, "autolimits", &["true", "false"]) {
            self.compiler.auto_limits = limits == "true";
        }
        if let Some(from) = self.choice(node, "inertiafromgeom", &["true", "false", "auto"]) {
            self.compiler.from_shapes = match from.as_str() {
                "true" => FromShapes::Always,
                "false" => FromShapes::Never,
                _ => FromShapes::WhereMissing,
            };
        }
        if let Some(groups) = self.own_numbers(node, "inertiagrouprange") {
            self.compiler.groups = groups;
        }
        self.euler_sequence(node);
        self.coordinate(node);
        if let Some(balances) = self.choice(node, "balanceinertia", &["true", "false"]) {
            self.compiler.balances = balances == "true";
        }
        if let Some([least]) = self.own_numbers(node, "boundmass") {
            self.compiler.least_mass = least;
        }
        if let Some([least]) = self.own_numbers(node, "boundinertia") {
            self.compiler.least_moment = least;
        }
        self.scaled_masses(node);
    }

    fn euler_sequence(&mut self, node: Node<'a>) {
        let Some(value) = node.own("eulerseq") else { return };
        let letters: Vec<char> = value.written.text.chars().collect();
        let sequence: Result<[char; 3], _> = letters.try_into();
        match sequence {
            Ok(letters) if letters.iter().all(|c| "xyzXYZ".contains(*c)) => {
                self.compiler.euler = letters;
            }
            _ => self.fault(&value, "eulerseq is no sequence of three axes", "write three letters, such as xyz for turns about moving axes or XYZ for fixed ones"),
        }
    }

    fn coordinate(&mut self, node: Node<'a>) {
        let Some(value) = node.own("coordinate") else { return };
        if value.written.text == "global" {
            let message = "coordinate=\"global\": places are not relative to the parent";
            let help = "engines since 2.3.4 refuse it too: let an older one save the model, which writes local places";
            self.fault(&value, message, help);
        }
    }

    /// The engine weighs the whole model and scales it, with what this program does not read in it: the masses are not known.
    fn scaled_masses(&mut self, node: Node<'a>) {
        let total: Option<[f64; 1]> = self.own_numbers(node, "settotalmass");
        if total.is_some_and(|[total]| total > 0.0) {
            let what = "settotalmass scales every mass of the file, so that none is known here";
            self.remark(node, what.to_owned());
            self.compiler.scales_masses = true;
        }
    }

    /// One of some words; a fault where it is another.
    pub(super) fn choice(&mut self, node: Node<'a>, name: &str, words: &[&str]) -> Option<String> {
        let value = node.own(name)?;
        self.one_of(&value, name, words)
    }

    pub(super) fn one_of(
        &mut self,
        value: &Value<'a>,
        name: &str,
        words: &[&str],
    ) -> Option<String> {
        let text = value.written.text.clone().into_owned();
        if words.contains(&text.as_str()) {
            return Some(text);
        }
        let message = format!("{name}=\"{}\" is no word of the format", shown(&text));
        self.fault(value, &message, &format!("write one of {}", words.join(", ")));
        None
    }
}
