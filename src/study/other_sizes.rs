//! The drawn sizes of a planar four-bar with all that a judgement of others needs: for the page, whose script judges what is
//! typed and can put it into the user's text.

use serde::Serialize;
use std::ops::Range;
use std::path::Path;

use crate::design::{Design, Dimension, Parameter, StrokeBy, Wish};
use crate::equivalence::{Assessment, Criterion, Outcome};

use super::drive_weights::{self, DriveWeights};
use super::review::Review;

/// What is typed into: a drawn size, or a coordinate of a pin.
#[derive(Debug, Serialize)]
pub struct SizeField {
    /// What it is called.
    #[serde(skip)]
    pub name: String,
    /// As it is written; empty where there is none.
    #[serde(skip)]
    pub tolerance: String,
    /// In `unit`.
    pub value: f64,
    /// `mm` or `deg`.
    pub unit: &'static str,
    /// UTF-16 units of the text that hold it; none where it cannot be replaced alone.
    place: Option<[usize; 2]>,
    /// The number that stands there, and what 1 of it is in SI; without them the whole value is replaced.
    literal: Option<f64>,
    per: Option<f64>,
}

/// What the script needs: SI, angles about the joint axis.
#[derive(Debug, Serialize)]
pub struct OtherSizes {
    /// The sizes that can be changed.
    pub fields: Vec<SizeField>,
    pins: Option<Pins>,
    /// +1, or -1 where the drawing shows the joint axis pointing away.
    sense: f64,
    by: &'static str,
    /// Turns of the stroke's ends.
    range: [f64; 2],
    /// What motor and joint read in the zero pose.
    reads: [f64; 2],
    constants: Constants,
    limits: Limits,
    /// Rows of the criteria.
    criteria: Vec<&'static str>,
    /// The verdict rests on the inertia error too.
    weighs: bool,
    /// The masses of every drive, where the script can weigh them.
    drives: Option<Vec<DriveWeights>>,
    /// The fields on which the places in `[[robot]]` rest.
    robot: Vec<usize>,
    file: String,
    text: String,
}

/// How the pins make the linkage: the joint axis, and the sign of y that points it at the reader.
#[derive(Debug, Serialize)]
struct Pins {
    axis: [f64; 3],
    flip: f64,
}

#[derive(Debug, Serialize)]
struct Constants {
    ratio: Option<f64>,
    offset: Option<f64>,
}

#[derive(Debug, Serialize)]
struct Limits {
    angle: f64,
    ratio: f64,
    inertia: f64,
    transmission_angle: f64,
}

impl OtherSizes {
    /// Of `design` as `review` found it; `None` where no other sizes can be judged: of fingers, and of pins that cannot be told
    /// from the text.
    #[must_use]
    pub fn of(design: &Design, review: &Review) -> Option<Self> {
        if design.finger.is_some() {
            return None;
        }
        let (fields, pins) = match &design.places.of(Parameter::MotorPin) {
            Some(_) => coordinates(design).map(|(fields, pins)| (fields, Some(pins)))?,
            None => (lengths(design), None),
        };
        Some(all(review, design, fields, pins))
    }
}

fn all(review: &Review, design: &Design, fields: Vec<SizeField>, pins: Option<Pins>) -> OtherSizes {
    let check = &review.check;
    let path = Path::new(&review.path);
    let file = path.file_name().and_then(|name| name.to_str()).unwrap_or(&review.path);
    let given = |wish| match wish {
        Wish::Best => None,
        Wish::Given(value) => Some(value),
    };
    let (wanted, accept) = (&design.direct_joint, &design.accept);
    let has_inertia =
        |c: &Assessment| c.criterion == Criterion::Inertia && c.outcome != Outcome::NotAssessed;
    OtherSizes {
        fields,
        pins,
        sense: design.drawing_sense(),
        by: if design.stroke.by == StrokeBy::Joint { "joint" } else { "motor" },
        range: [design.stroke.low, design.stroke.high],
        reads: review.reads,
        constants: Constants { ratio: given(wanted.ratio), offset: given(wanted.offset) },
        limits: Limits {
            angle: accept.angle,
            ratio: accept.ratio,
            inertia: accept.inertia,
            transmission_angle: accept.transmission_angle,
        },
        criteria: check.criteria.iter().map(|c| c.criterion.name()).collect(),
        weighs: check.criteria.iter().any(has_inertia),
        drives: drive_weights::drives(design),
        robot: robot(design),
        file: file.to_owned(),
        text: review.text.clone(),
    }
}

/// Of the lengths the ground, of the pins both axes, where a `[[robot]]` places them.
fn robot(design: &Design) -> Vec<usize> {
    match &design.geometry.pivots {
        Some(_) if !design.robots.is_empty() => (0..6).collect(),
        None if design.robots.iter().any(|robot| robot.motor_at.is_some()) => vec![0],
        _ => Vec::new(),
    }
}

/// The four lengths and both angles of the zero pose.
fn lengths(design: &Design) -> Vec<SizeField> {
    let g = &design.geometry;
    let sense = design.drawing_sense();
    let drawn = [
        ("ground, A to B", Parameter::Ground, &g.ground, "mm", 1.0),
        ("crank, A to P", Parameter::Crank, &g.crank, "mm", 1.0),
        ("coupler, P to Q", Parameter::Coupler, &g.coupler, "mm", 1.0),
        ("rocker, B to Q", Parameter::Rocker, &g.rocker, "mm", 1.0),
        ("crank angle in the zero pose", Parameter::ZeroCrank, &g.zero_crank, "deg", sense),
    ];
    let hint = Dimension::drawn(g.zero_rocker, None);
    let rocker = ("rocker angle there, about", Parameter::ZeroRocker, &hint, "deg", sense);
    drawn.into_iter().chain([rocker]).map(|one| length(design, one)).collect()
}

fn length(
    design: &Design,
    (name, parameter, size, unit, sense): (&str, Parameter, &Dimension, &'static str, f64),
) -> SizeField {
    let text = &design.source.text;
    let value = sense * size.nominal / si(unit);
    let place = design.places.of(parameter);
    let found = place.clone().and_then(|place| literal(text, place));
    // A number in a unit that is known here can be replaced alone.
    let per = found.as_ref().and_then(|(_, written)| {
        let per = sense * size.nominal / written;
        PER.into_iter().find(|one| (per / one - 1.0).abs() < 1e-9)
    });
    let tolerance = size.tolerance.as_ref().map_or_else(String::new, |t| t.written.clone());
    let alone = found.filter(|_| per.is_some());
    let whole = place.filter(|_| alone.is_none());
    SizeField {
        name: name.to_owned(),
        tolerance,
        value: rounded(value),
        unit,
        place: alone.as_ref().map(|(place, _)| place.clone()).or(whole).map(|p| utf16(text, p)),
        literal: alone.map(|(_, written)| written),
        per,
    }
}

/// The pins' coordinates as they are written; `None` where they cannot be told from the text.
fn coordinates(design: &Design) -> Option<(Vec<SizeField>, Pins)> {
    let text = &design.source.text;
    let named = [
        ("motor axis A", Parameter::MotorPin),
        ("joint axis B", Parameter::JointPin),
        ("crank pin P", Parameter::CrankPin),
        ("rocker pin Q", Parameter::RockerPin),
    ];
    let mut found = Vec::new();
    for (name, parameter) in named {
        let items = items(text, design.places.of(parameter)?);
        for (item, axis) in items.into_iter().zip(["x", "y", "z"]) {
            let (place, written) = literal(text, item.clone())?;
            found.push((
                format!("{name}, {axis}"),
                written,
                place.clone(),
                unit_after(text, place.end..item.end),
            ));
        }
    }
    let pivots = design.geometry.pivots.as_ref();
    let pins = Pins {
        axis: pivots.map_or([0.0, 0.0, 1.0], |pivots| pivots.axis),
        flip: if pivots.is_some() { 1.0 } else { design.drawing_sense() },
    };
    // Bare numbers have one unit for all.
    let fits = PER.into_iter().find(|bare| {
        let at: Vec<f64> = found.iter().map(|(_, x, _, per)| x * per.unwrap_or(*bare)).collect();
        makes(design, &at, pins.axis)
    })?;
    let fields = found.into_iter().map(|(name, written, place, per)| {
        let per = per.unwrap_or(fits);
        SizeField {
            name,
            tolerance: String::new(),
            value: rounded(written * per / si("mm")),
            unit: "mm",
            place: Some(utf16(text, place)),
            literal: Some(written),
            per: Some(per),
        }
    });
    Some((fields.collect(), pins))
}

/// Are these coordinates (m) of the four pins those of the design's linkage?
fn makes(design: &Design, at: &[f64], axis: [f64; 3]) -> bool {
    let each = at.len() / 4;
    if !(2..=3).contains(&each) || at.len() != 4 * each {
        return false;
    }
    let pins: Vec<nalgebra::Vector3<f64>> = at
        .chunks(each)
        .map(|pin| nalgebra::Vector3::from_iterator(pin.iter().copied().chain([0.0]).take(3)))
        .collect();
    let [motor, joint, crank, rocker] = pins[..] else { return false };
    let axis = nalgebra::Vector3::from(axis);
    let apart = |from: nalgebra::Vector3<f64>, to: nalgebra::Vector3<f64>| {
        let apart = to - from;
        (apart - axis * apart.dot(&axis)).norm()
    };
    let g = &design.geometry;
    let made =
        [apart(motor, joint), apart(motor, crank), apart(crank, rocker), apart(joint, rocker)];
    let drawn = [&g.ground, &g.crank, &g.coupler, &g.rocker];
    made.into_iter().zip(drawn).all(|(made, drawn)| (made / drawn.nominal - 1.0).abs() < 1e-6)
}

/// What a number may be written in, SI.
const PER: [f64; 6] = [1e-3, 1.0, 1e-2, 1e-6, 25.4e-3, std::f64::consts::PI / 180.0];

fn si(unit: &str) -> f64 {
    if unit == "mm" { 1e-3 } else { std::f64::consts::PI / 180.0 }
}

/// Without the dust of a conversion.
fn rounded(value: f64) -> f64 {
    let short = format!("{value:.9}").parse().unwrap_or(value);
    if short == 0.0 { 0.0 } else { short }
}

fn unit_after(text: &str, rest: Range<usize>) -> Option<f64> {
    let word: String = text
        .get(rest)?
        .chars()
        .skip_while(|c| c.is_whitespace())
        .take_while(|c| c.is_alphabetic())
        .collect();
    let known = [("mm", 1e-3), ("cm", 1e-2), ("m", 1.0), ("um", 1e-6), ("in", 25.4e-3)];
    known.into_iter().find(|(unit, _)| *unit == word).map(|(_, per)| per)
}

/// The items of an array.
fn items(text: &str, array: Range<usize>) -> Vec<Range<usize>> {
    let mut start = array.start;
    let written = text.get(array).unwrap_or_default();
    let ranges = written.split(',').map(|item| {
        let range = start..start + item.len();
        start = range.end + 1;
        range
    });
    ranges.filter(|range| literal(text, range.clone()).is_some()).collect()
}

/// The first number in a part of the text.
fn literal(text: &str, part: Range<usize>) -> Option<(Range<usize>, f64)> {
    let written = text.get(part.clone())?;
    let digit = written.find(|c: char| c.is_ascii_digit())?;
    let before = written.get(..digit)?;
    let signs = before.chars().rev().take_while(|c| matches!(c, '-' | '+' | '.')).count();
    let from = digit - signs;
    let ends = written.char_indices().map(|(at, c)| at + c.len_utf8()).filter(|end| *end > digit);
    let number = |end| Some((end, written.get(from..end)?.parse::<f64>().ok()?));
    let (end, value) = ends.rev().find_map(number).filter(|(_, value)| value.is_finite())?;
    Some((part.start + from..part.start + end, value))
}

fn utf16(text: &str, part: Range<usize>) -> [usize; 2] {
    [part.start, part.end].map(|end| text.get(..end).map_or(0, |t| t.encode_utf16().count()))
}
