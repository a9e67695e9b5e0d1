//! Numbers as MJCF writes them, their faults kept with the file that they stand in.

use nalgebra::Vector3;

use super::Reading;
use super::defaults::Layers;
use super::include::{Node, Value};
use crate::robot::values::{Faults, shown};

impl<'a> Reading<'a> {
    /// The faults of one file.
    pub(super) fn faults(&mut self, document: usize) -> &mut Faults {
        self.faults.entry(document).or_default()
    }

    /// One more fault at a value.
    pub(super) fn fault(&mut self, value: &Value<'a>, message: &str, help: &str) {
        let place = value.written.place.clone();
        self.faults(value.document).add(place, message.to_owned(), help);
    }

    /// One more fault at an element.
    pub(super) fn fault_at(&mut self, node: Node<'a>, message: String, help: &str) {
        self.faults(node.document).add(node.element.tag_range(), message, help);
    }

    /// What the user should know of an element.
    pub(super) fn remark(&mut self, node: Node<'a>, message: String) {
        self.robot.remark(node.place(), message);
    }

    /// `N` numbers of the element's own attribute.
    pub(super) fn own_numbers<const N: usize>(
        &mut self,
        node: Node<'a>,
        name: &str,
    ) -> Option<[f64; N]> {
        let value = node.figures(name)?;
        self.faults(value.document).finite(name, &value.written)
    }

    /// `N` numbers of an attribute, by class where the element does not write it.
    pub(super) fn numbers<const N: usize>(
        &mut self,
        layers: &Layers<'a>,
        name: &str,
    ) -> Option<[f64; N]> {
        let value = layers.figures(name)?;
        self.faults(value.document).finite(name, &value.written)
    }

    /// One number of an attribute.
    pub(super) fn number(&mut self, layers: &Layers<'a>, name: &str) -> Option<f64> {
        self.numbers(layers, name).map(|[x]| x)
    }

    /// One to `N` numbers, which replace the first of those that are given.
    pub(super) fn leading<const N: usize>(
        &mut self,
        value: &Value<'a>,
        name: &str,
        mut rest: [f64; N],
    ) -> [f64; N] {
        let words: Vec<_> = value.written.words().take(N + 1).collect();
        if words.is_empty() || words.len() > N {
            let found = value.written.words().count();
            let message = format!("{name} holds {found} numbers, not 1 to {N}");
            self.fault(value, &message, &format!("write 1 to {N} numbers, blanks between"));
            return rest;
        }
        for (slot, (word, place)) in rest.iter_mut().zip(words) {
            match word.parse::<f64>() {
                Ok(x) if x.is_finite() => *slot = x,
                _ => {
                    let message = format!("{name}: {} is no finite number", shown(word));
                    self.faults(value.document).add(
                        place,
                        message,
                        "write a number such as 0.25 or -1e-3",
                    );
                }
            }
        }
        rest
    }

    /// The same of an attribute, by class where the element does not write it.
    pub(super) fn leading_of<const N: usize>(
        &mut self,
        layers: &Layers<'a>,
        name: &str,
        rest: [f64; N],
    ) -> [f64; N] {
        match layers.figures(name) {
            Some(value) => self.leading(&value, name, rest),
            None => rest,
        }
    }

    /// A unit vector.
    pub(super) fn direction(&mut self, layers: &Layers<'a>, name: &str) -> Option<Vector3<f64>> {
        let value = layers.figures(name)?;
        self.faults(value.document).direction(name, &value.written)
    }

    /// Two numbers, which may be infinite.
    pub(super) fn open_range(&mut self, layers: &Layers<'a>, name: &str) -> Option<[f64; 2]> {
        let value = layers.figures(name)?;
        self.faults(value.document).open_numbers(name, &value.written)
    }

    /// Smallest and largest of something, where it limits: `limited` says so, or the range alone.
    pub(super) fn limited(
        &mut self,
        layers: &Layers<'a>,
        range: &str,
        limited: &str,
    ) -> Option<[f64; 2]> {
        let given = self.open_range(layers, range);
        let word = layers.value(limited);
        let word = word.and_then(|value| self.one_of(&value, limited, &["true", "false", "auto"]));
        let [low, high] = given.unwrap_or_default();
        let is_limited = match word.as_deref() {
            Some("true") => true,
            Some("false") => false,
            _ => self.by_range_alone(layers, range, limited, [low, high]),
        };
        if !is_limited || (low == f64::NEG_INFINITY && high == f64::INFINITY) {
            return None;
        }
        if low >= high {
            self.empty_range(layers, range, limited, [low, high]);
            return None;
        }
        Some([low, high])
    }

    fn empty_range(
        &mut self,
        layers: &Layers<'a>,
        range: &str,
        limited: &str,
        [low, high]: [f64; 2],
    ) {
        if let Some(value) = layers.figures(range) {
            let message = format!("{range}: {low} is not below {high}");
            self.fault(&value, &message, "write the smaller end first");
        } else if let Some(value) = layers.value(limited) {
            let message = format!("{limited} without {range}");
            let help = format!("write {range}=\"LOW HIGH\" into the tag");
            self.fault(&value, &message, &help);
        }
    }

    fn by_range_alone(
        &mut self,
        layers: &Layers<'a>,
        range: &str,
        limited: &str,
        [low, high]: [f64; 2],
    ) -> bool {
        let is_given = low != 0.0 || high != 0.0;
        if self.compiler.auto_limits {
            return low < high;
        }
        if let Some(value) = layers.figures(range).filter(|_| is_given) {
            let message = format!("{range} without {limited}, where autolimits is false");
            let help = format!("write {limited}=\"true\" or \"false\", or let autolimits be true");
            self.fault(&value, &message, &help);
        }
        false
    }
}
