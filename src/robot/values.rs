//! Numbers, names and places as robot files write them, each fault at the bytes that it means.

use std::borrow::Cow;
use std::ops::Range;

use nalgebra::{Isometry3, Quaternion, Translation3, UnitQuaternion, Vector3};

use super::document::Element;
use crate::diagnostic::{Diagnostic, nearest_name};

/// Nearest names are looked for until so many faults are found: a broken file of any size is answered in bounded time.
const SUGGESTED: usize = 100;

/// So many faults of one file are kept: more of them help nobody and would fill the memory.
const KEPT: usize = 10_000;

/// So much of a name is shown in a message, in characters.
const SHOWN: usize = 60;

/// A name as messages show it.
pub(super) fn shown(name: &str) -> Cow<'_, str> {
    match name.char_indices().nth(SHOWN) {
        Some((end, _)) => Cow::Owned(format!("{}...", name.get(..end).unwrap_or_default())),
        None => Cow::Borrowed(name),
    }
}

/// A piece of text of a file.
#[derive(Clone, Debug)]
pub(super) struct Written<'a> {
    /// The text, entities resolved.
    pub(super) text: Cow<'a, str>,
    /// Its bytes.
    pub(super) place: Range<usize>,
}

impl<'a> Written<'a> {
    /// The value of an attribute.
    pub(super) fn attribute(element: Element<'a>, name: &str) -> Option<Self> {
        let attribute = element.attribute(name)?;
        Some(Self { text: attribute.value(), place: attribute.value_range() })
    }

    /// What stands between the tags; where that is nothing, the place is the tag.
    pub(super) fn inside(element: Element<'a>) -> Self {
        let range = element.text_range();
        let place = if range.is_empty() { element.tag_range() } else { range };
        Self { text: element.text(), place }
    }

    /// The words of the text, each with its own bytes where the text is one plain piece.
    pub(super) fn words(&self) -> impl Iterator<Item = (&str, Range<usize>)> {
        let is_plain = self.place.len() == self.text.len();
        self.text.split_whitespace().map(move |word| {
            let at = word.as_ptr().addr() - self.text.as_ptr().addr();
            let start = self.place.start + at;
            (word, if is_plain { start..start + word.len() } else { self.place.clone() })
        })
    }
}

/// What is wrong with a file.
#[derive(Debug, Default)]
pub(super) struct Faults(Vec<Diagnostic>);

impl Faults {
    /// None so far.
    pub(super) fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// Those of another, too.
    pub(super) fn join(&mut self, other: Self) {
        other.0.into_iter().for_each(|fault| self.add_labelled(fault));
    }

    /// All that were found.
    pub(super) fn into_list(self) -> Vec<Diagnostic> {
        self.0
    }

    /// One more.
    pub(super) fn add(&mut self, place: Range<usize>, message: String, help: impl Into<String>) {
        self.add_labelled(Diagnostic::error(message).at(place).help(help));
    }

    /// One more with words under its place.
    pub(super) fn add_labelled(&mut self, fault: Diagnostic) {
        if self.0.len() < KEPT {
            self.0.push(fault);
        }
    }

    /// `kind "name" does not exist`, with the nearest of those that do.
    pub(super) fn unknown<'n>(
        &mut self,
        kind: &str,
        name: &Written<'_>,
        known: impl Iterator<Item = &'n str>,
    ) {
        let help = match self.nearest(&name.text, known) {
            Some(nearest) => format!("did you mean \"{nearest}\"?"),
            None => format!("write the name of a {kind} of this file"),
        };
        self.add(name.place.clone(), format!("there is no {kind} \"{}\"", shown(&name.text)), help);
    }

    /// A word that the format does not know, with those that it does.
    pub(super) fn no_word(&mut self, kind: &str, word: &Written<'_>, known: &[&str]) {
        let nearest = self.nearest(&word.text, known.iter().copied());
        let nearest = nearest.map_or(String::new(), |near| format!("did you mean \"{near}\"? "));
        let help = format!("{nearest}known are {}", known.join(", "));
        self.add(word.place.clone(), format!("there is no {kind} \"{}\"", shown(&word.text)), help);
    }

    /// Two things of one kind have one name; the fault stands at the second.
    pub(super) fn twice(&mut self, kind: &str, name: &Written<'_>) {
        let message = format!("two {kind}s are named \"{}\"", shown(&name.text));
        self.add(name.place.clone(), message, format!("give each {kind} a name of its own"));
    }

    /// What the `type` of a joint stands for; `None`, and a fault, where it has none that is known.
    pub(super) fn joint_type<T: Copy>(
        &mut self,
        joint: Element<'_>,
        known: &[(&str, T)],
    ) -> Option<T> {
        let names: Vec<&str> = known.iter().map(|(name, _)| *name).collect();
        let Some(written) = Written::attribute(joint, "type") else {
            let help = format!("write type=\"...\": one of {}", names.join(", "));
            self.add(joint.tag_range(), "the <joint> has no type".to_owned(), help);
            return None;
        };
        let found = known.iter().find(|(name, _)| *name == written.text);
        if found.is_none() {
            self.no_word("joint type", &written, &names);
        }
        found.map(|(_, meaning)| *meaning)
    }

    fn nearest<'n>(&self, name: &str, known: impl Iterator<Item = &'n str>) -> Option<&'n str> {
        if self.0.len() > SUGGESTED { None } else { nearest_name(name, known, 0.7) }
    }

    /// `N` finite numbers.
    pub(super) fn finite<const N: usize>(
        &mut self,
        what: &str,
        written: &Written<'_>,
    ) -> Option<[f64; N]> {
        self.numbers(what, written, f64::is_finite)
    }

    /// One finite number.
    pub(super) fn number(&mut self, what: &str, written: &Written<'_>) -> Option<f64> {
        self.finite(what, written).map(|[x]| x)
    }

    /// A mass, kg; a fault where it is negative.
    pub(super) fn mass(&mut self, written: &Written<'_>) -> Option<f64> {
        let mass = self.number("mass", written)?;
        if mass < 0.0 {
            let message = format!("a mass of {mass} kg");
            self.add(written.place.clone(), message, "a mass is 0 or more, in kg");
        }
        Some(mass)
    }

    /// One number, which may be infinite.
    pub(super) fn open_number(&mut self, what: &str, written: &Written<'_>) -> Option<f64> {
        self.open_numbers(what, written).map(|[x]| x)
    }

    /// `N` numbers, which may be infinite.
    pub(super) fn open_numbers<const N: usize>(
        &mut self,
        what: &str,
        written: &Written<'_>,
    ) -> Option<[f64; N]> {
        self.numbers(what, written, |x| !x.is_nan())
    }

    fn numbers<const N: usize>(
        &mut self,
        what: &str,
        written: &Written<'_>,
        is_good: fn(f64) -> bool,
    ) -> Option<[f64; N]> {
        if is_template(&written.text) {
            let message = format!("{what} is a xacro expression, no number");
            self.add(written.place.clone(), message, "expand the file with xacro first");
            return None;
        }
        let mut found = Vec::with_capacity(N);
        let mut count = 0_usize;
        for (word, place) in written.words() {
            count += 1;
            match word.parse::<f64>() {
                Ok(x) if is_good(x) => found.extend((count <= N).then_some(x)),
                Ok(_) => self.add(place, format!("{what}: {} is not finite", shown(word)), FINITE),
                Err(_) => {
                    self.add(
                        place,
                        format!("{what}: {} is no number", shown(word)),
                        number_help(word),
                    );
                }
            }
            if count > N + 1 {
                break;
            }
        }
        if count != N {
            self.wrong_count(what, written, N);
            return None;
        }
        found.try_into().ok()
    }

    fn wrong_count(&mut self, what: &str, written: &Written<'_>, wanted: usize) {
        let found = written.text.split_whitespace().count();
        let numbers =
            |n: usize| if n == 1 { "1 number".to_owned() } else { format!("{n} numbers") };
        let message = format!("{what} holds {}, not {wanted}", numbers(found));
        self.add(
            written.place.clone(),
            message,
            format!("write {}, blanks between", numbers(wanted)),
        );
    }

    /// The unit vector along three numbers.
    pub(super) fn direction(&mut self, what: &str, written: &Written<'_>) -> Option<Vector3<f64>> {
        let xyz = Vector3::from(self.finite(what, written)?);
        self.unit(what, written, xyz)
    }

    /// The same of a vector that is read.
    pub(super) fn unit(
        &mut self,
        what: &str,
        written: &Written<'_>,
        xyz: Vector3<f64>,
    ) -> Option<Vector3<f64>> {
        let largest = xyz.amax();
        if largest < f64::MIN_POSITIVE {
            let message = format!("{what} has no length");
            self.add(written.place.clone(), message, "an axis needs a direction, such as 0 1 0");
            return None;
        }
        // scaled first: squares of tiny and huge figures leave the range of f64
        Some((xyz / largest).normalize())
    }

    /// A turn from a quaternion x y z w; `idle` is how one that does not turn is written.
    pub(super) fn quaternion(
        &mut self,
        written: &Written<'_>,
        [x, y, z, w]: [f64; 4],
        idle: &str,
    ) -> Option<UnitQuaternion<f64>> {
        let largest = [x, y, z, w].map(f64::abs).into_iter().fold(0.0, f64::max);
        if largest < f64::MIN_POSITIVE {
            let help = format!("a turn by nothing is {idle}");
            self.add(written.place.clone(), "the quaternion has no length".to_owned(), help);
            return None;
        }
        Some(UnitQuaternion::new_normalize(Quaternion::new(w, x, y, z) / largest))
    }

    /// The name of an element; `None`, and a fault, where it has none.
    pub(super) fn name<'a>(&mut self, element: Element<'a>) -> Option<Written<'a>> {
        let name = Written::attribute(element, "name").filter(|name| !name.text.is_empty());
        if name.is_none() {
            let message = format!("the <{}> has no name", element.name());
            self.add(element.tag_range(), message, "write name=\"...\" into the tag");
        }
        name
    }
}

const FINITE: &str = "write a finite number";

fn is_template(text: &str) -> bool {
    text.contains("${") || text.contains("$(")
}

fn number_help(word: &str) -> String {
    if word.strip_suffix(',').is_some_and(|number| number.parse::<f64>().is_ok()) {
        return "write blanks between the numbers, no commas".to_owned();
    }
    let with_point = word.replacen(',', ".", 1);
    if with_point.parse::<f64>().is_ok() {
        return format!("write the decimal point as a point: {with_point}");
    }
    "write a number such as 0.25 or -1e-3".to_owned()
}

/// Smallest and largest reading of a joint; `None` where both ends are open.
///
/// # Errors
/// The ends the wrong way round, as a sentence: so files of a physics engine's package write a joint without limits.
pub(super) fn rising([low, high]: [f64; 2]) -> Result<Option<[f64; 2]>, String> {
    if low > high {
        return Err(format!(
            "the lower limit {low} is above the upper limit {high}: read as no limit"
        ));
    }
    Ok((low.is_finite() || high.is_finite()).then_some([low, high]))
}

/// A place: a shift and a turn.
pub(super) fn placed(xyz: [f64; 3], turn: UnitQuaternion<f64>) -> Isometry3<f64> {
    Isometry3::from_parts(Translation3::from(Vector3::from(xyz)), turn)
}

/// Roll, pitch, yaw about fixed axes x, y, z, rad: yaw · pitch · roll.
pub(super) fn roll_pitch_yaw([roll, pitch, yaw]: [f64; 3]) -> UnitQuaternion<f64> {
    UnitQuaternion::from_euler_angles(roll, pitch, yaw)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn written(text: &str) -> Written<'_> {
        Written { text: Cow::Borrowed(text), place: 10..10 + text.len() }
    }

    #[test]
    fn a_word_that_is_no_number_is_shown_at_its_own_bytes() {
        let mut faults = Faults::default();
        assert_eq!(faults.finite::<3>("xyz", &written("1 x 3")), None);
        let list = faults.into_list();
        assert_eq!(list.len(), 1);
        assert_eq!(list.first().and_then(|one| one.place.clone()), Some(12..13));
    }

    #[test]
    fn a_decimal_comma_gets_a_hint() {
        assert_eq!(number_help("1,5"), "write the decimal point as a point: 1.5");
    }

    #[test]
    fn tiny_and_huge_axes_have_a_direction() {
        for text in ["0 1e-200 0", "0 1e300 0", "0 3 0"] {
            let axis = Faults::default().direction("xyz", &written(text));
            assert_eq!(axis, Some(Vector3::y()), "{text}");
        }
    }
}
