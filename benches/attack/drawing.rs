//! A design as its text and, read from the same decimals with 32 digits, as what it says.

use std::fmt::Write;

use super::closed_form::Bars;
use super::double::{Double, Real};
use super::pad::{Finger, FingerMeaning};

/// A size as typed: nominal, and upper and lower deviation where a tolerance is drawn.
#[derive(Clone, Debug, PartialEq)]
pub struct Size {
    pub nominal: String,
    pub deviations: Option<[String; 2]>,
}

/// Which angle the stroke is given in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum By {
    Motor,
    Joint,
}

/// How the lengths and the zero pose are given.
#[derive(Clone, Debug, PartialEq)]
pub enum Geometry {
    /// `[linkage]` in mm (ground, crank, coupler, rocker), `[zero] crank` and `rocker` in deg.
    Lengths { sizes: [Size; 4], crank: Size, rocker: String },
    /// `[pivots]` in mm (motor, joint, crank, rocker), `[tolerance]`.
    Pivots { pins: [[String; 2]; 4], deviations: [Option<[String; 2]>; 4] },
}

/// One design file. Angles in deg unless said otherwise.
#[derive(Clone, Debug, PartialEq)]
pub struct Drawing {
    pub class: &'static str,
    pub away: bool,
    pub geometry: Geometry,
    pub reads: [String; 2],
    pub set_by: Option<&'static str>,
    pub by: By,
    pub stroke: [String; 2],
    pub ratio: Option<String>,
    /// `None` is 0; "best" or an angle.
    pub offset: Option<String>,
    pub preset: &'static str,
    /// rad; of a pad on the coupler its tilt.
    pub angle: Option<String>,
    /// Bare share, written as %; of a pad on the coupler its grip.
    pub ratio_limit: Option<String>,
    /// rad
    pub transmission: Option<String>,
    pub over: Option<&'static str>,
    pub finger: Option<Finger>,
}

const KEYS: [&str; 4] = ["ground", "crank", "coupler", "rocker"];
const PINS: [&str; 4] = ["motor", "joint", "crank", "rocker"];

fn deviations([upper, lower]: &[String; 2]) -> String {
    if format!("-{upper}") == *lower {
        format!("±{upper}")
    } else {
        let sign = |d: &String| if d.starts_with('-') { d.clone() } else { format!("+{d}") };
        format!("{}/{}", sign(upper), sign(lower))
    }
}

fn size(s: &Size, unit: &str) -> String {
    let tolerance = s.deviations.as_ref().map_or(String::new(), |d| format!(" {}", deviations(d)));
    format!("\"{}{tolerance} {unit}\"", s.nominal)
}

impl Drawing {
    /// The design file.
    pub fn text(&self) -> String {
        let mut out = format!("name = \"{}\"\n", self.class);
        if self.away {
            out.push_str("axis_points = \"away\"\n");
        }
        self.write_geometry(&mut out);
        let [motor, joint] = &self.reads;
        let zero = [("motor_reads", motor), ("joint_reads", joint)];
        for (key, value) in zero.into_iter().filter(|(_, value)| *value != "0") {
            let _ = writeln!(out, "{key} = \"{value} deg\"");
        }
        if let Some(set_by) = self.set_by {
            let _ = writeln!(out, "set_by = \"{set_by}\"");
        }
        let by = if self.by == By::Motor { "motor" } else { "joint" };
        let [low, high] = &self.stroke;
        let _ = writeln!(out, "[stroke]\n{by} = [\"{low} deg\", \"{high} deg\"]");
        self.write_direct_joint(&mut out);
        self.write_accept(&mut out);
        out.extend(self.finger.iter().map(Finger::text));
        out
    }

    /// The finger, where its pad rides on the coupler and is judged.
    pub fn jaw(&self) -> Option<&Finger> {
        self.finger.as_ref().filter(|finger| finger.on == "coupler")
    }

    fn write_geometry(&self, out: &mut String) {
        match &self.geometry {
            Geometry::Lengths { sizes, crank, rocker } => {
                out.push_str("[linkage]\n");
                for (key, one) in KEYS.iter().zip(sizes) {
                    let _ = writeln!(out, "{key} = {}", size(one, "mm"));
                }
                let crank = size(crank, "deg");
                let _ = writeln!(out, "[zero]\ncrank = {crank}\nrocker = \"{rocker} deg\"");
            }
            Geometry::Pivots { pins, deviations: drawn } => {
                out.push_str("[pivots]\n");
                for (key, [x, y]) in PINS.iter().zip(pins) {
                    let _ = writeln!(out, "{key} = [\"{x} mm\", \"{y} mm\"]");
                }
                out.push_str("[tolerance]\n");
                for (key, one) in KEYS.iter().zip(drawn) {
                    if let Some(one) = one {
                        let _ = writeln!(out, "{key} = \"{} mm\"", deviations(one));
                    }
                }
                out.push_str("[zero]\n");
            }
        }
    }

    fn write_direct_joint(&self, out: &mut String) {
        let finger = self.finger.as_ref();
        let stand_in = finger.and_then(|finger| finger.stand_in);
        let is_best = finger.is_some_and(|finger| finger.best);
        if self.ratio.is_some() || self.offset.is_some() || stand_in.is_some() || is_best {
            out.push_str("[direct_joint]\n");
        }
        out.extend(stand_in.map(|stand_in| format!("stand_in = \"{stand_in}\"\n")));
        if is_best {
            out.push_str("ratio = \"best\"\n");
        }
        if let Some(ratio) = &self.ratio {
            let _ = writeln!(out, "ratio = {ratio}");
        }
        match self.offset.as_deref() {
            Some("best") => out.push_str("offset = \"best\"\n"),
            Some(offset) => {
                let _ = writeln!(out, "offset = \"{offset} deg\"");
            }
            None => {}
        }
    }

    fn write_accept(&self, out: &mut String) {
        let _ = writeln!(out, "[accept]\npreset = \"{}\"", self.preset);
        let [angle_key, ratio_key] =
            if self.jaw().is_some() { ["tilt", "grip"] } else { ["angle", "ratio"] };
        if let Some(angle) = &self.angle {
            let _ = writeln!(out, "{angle_key} = \"{angle} rad\"");
        }
        if let Some(ratio) = &self.ratio_limit {
            let _ = writeln!(out, "{ratio_key} = \"{ratio} %\"");
        }
        let of_pad = self.jaw().map(|finger| &finger.limits);
        for (key, limit) in ["shift", "opening"].into_iter().zip(of_pad.into_iter().flatten()) {
            out.extend(limit.as_ref().map(|limit| format!("{key} = \"{limit} m\"\n")));
        }
        if let Some(transmission) = &self.transmission {
            let _ = writeln!(out, "transmission_angle = \"{transmission} rad\"");
        }
        if let Some(over) = self.over {
            let _ = writeln!(out, "over = \"{over}\"");
        }
    }
}

/// What a drawing says, in mm and rad about the joint axis, with 32 digits.
#[derive(Clone, Debug)]
pub struct Meaning {
    /// The linkage that the constants are for: as drawn, or the middle of the limits where that lies outside them.
    pub reference: Bars<Double>,
    /// Smallest and largest of ground, crank, coupler, rocker that are allowed.
    pub limits: [[Double; 2]; 4],
    pub zero_crank: Double,
    /// Of the crank in the zero pose.
    pub crank_error: [Double; 2],
    /// The side of the zero pose.
    pub side: f64,
    pub as_drawn: bool,
    pub over_tolerance: bool,
    pub by: By,
    /// Turns from the zero pose, of the motor or the joint.
    pub stroke: [Double; 2],
    /// Angle error (rad), ratio error, transmission angle (rad); of a pad tilt (rad), grip, transmission angle (rad), shift
    /// and opening (m).
    pub accept: [Double; 5],
    /// Where they are given.
    pub ratio: Option<Double>,
    /// Where it is given (0 where it is left out).
    pub offset: Option<Double>,
    pub finger: Option<FingerMeaning>,
}

fn degrees(text: &str) -> Option<Double> {
    Some(Double::decimal(text)? * Double::pi() / Double::of(180.0))
}

fn smaller(a: Double, b: Double) -> Double {
    if a < b { a } else { b }
}

fn larger(a: Double, b: Double) -> Double {
    if a < b { b } else { a }
}

/// Lengths, zero crank angle with its error, rocker angle.
type Pinned = ([Double; 4], [[Double; 2]; 4], Double, [Double; 2], Double);

impl Drawing {
    /// Nothing where a text is no decimal or the zero pose does not close.
    pub fn meaning(&self) -> Option<Meaning> {
        let sense = Double::of(if self.away { -1.0 } else { 1.0 });
        let over_tolerance = self.is_toleranced() && self.over != Some("nominal");
        let (drawn, allowed, zero_crank, error, rocker) = self.pinned(sense)?;
        let mut reference = drawn;
        for (size, [low, high]) in reference.iter_mut().zip(allowed) {
            if *size < low || *size > high {
                *size = (low + high) * Double::of(0.5);
            }
        }
        let limits = if over_tolerance { allowed } else { reference.map(|size| [size, size]) };
        let crank_error = if over_tolerance { error } else { [Double::of(0.0); 2] };
        let reference = Bars::of(reference);
        let reads = degrees(&self.reads[usize::from(self.by == By::Joint)])?;
        let [first, second] = [degrees(&self.stroke[0])?, degrees(&self.stroke[1])?];
        let ends = [(first - reads) * sense, (second - reads) * sense];
        let offset = match self.offset.as_deref() {
            Some("best") => None,
            Some(offset) => Some(degrees(offset)? * sense),
            None => Some(Double::of(0.0)),
        };
        Some(Meaning {
            side: reference.side(zero_crank, rocker)?,
            reference,
            limits,
            zero_crank,
            crank_error,
            as_drawn: self.set_by == Some("drawing"),
            over_tolerance,
            by: self.by,
            stroke: [smaller(ends[0], ends[1]), larger(ends[0], ends[1])],
            accept: self.accept()?,
            ratio: self.ratio.as_deref().map(Double::decimal).and_then(|r| r),
            offset,
            finger: match &self.finger {
                Some(finger) => Some(finger.meaning(self.lean(sense)?, sense)?),
                None => None,
            },
        })
    }

    /// Sine and cosine of the angle from the drawing's x axis to the line from motor to joint.
    fn lean(&self, sense: Double) -> Option<(Double, Double)> {
        let Geometry::Pivots { pins: [motor, joint, ..], .. } = &self.geometry else {
            return Some((Double::of(0.0), Double::of(1.0)));
        };
        let apart = |k: usize| Some(Double::decimal(&joint[k])? - Double::decimal(&motor[k])?);
        let (x, y) = (apart(0)?, apart(1)? * sense);
        let size = (x * x + y * y).sqrt();
        Some((y / size, x / size))
    }

    /// Is any tolerance drawn?
    pub fn is_toleranced(&self) -> bool {
        match &self.geometry {
            Geometry::Lengths { sizes, crank, .. } => {
                sizes.iter().chain([crank]).any(|s| s.deviations.is_some())
            }
            Geometry::Pivots { deviations, .. } => deviations.iter().any(Option::is_some),
        }
    }

    fn pinned(&self, sense: Double) -> Option<Pinned> {
        match &self.geometry {
            Geometry::Lengths { sizes, crank, rocker } => {
                let mut drawn = [Double::of(0.0); 4];
                let mut allowed = [[Double::of(0.0); 2]; 4];
                for (k, one) in sizes.iter().enumerate() {
                    drawn[k] = Double::decimal(&one.nominal)?;
                    let [upper, lower] = ends(one.deviations.as_ref())?;
                    allowed[k] = [drawn[k] + lower, drawn[k] + upper];
                }
                let [upper, lower] = ends(crank.deviations.as_ref())?;
                let turned = [upper, lower].map(|e| e * sense * Double::pi() / Double::of(180.0));
                let error = [smaller(turned[0], turned[1]), larger(turned[0], turned[1])];
                let zero = degrees(&crank.nominal)? * sense;
                Some((drawn, allowed, zero, error, degrees(rocker)? * sense))
            }
            Geometry::Pivots { pins, deviations } => {
                let mut at = [[Double::of(0.0); 2]; 4];
                for (point, [x, y]) in at.iter_mut().zip(pins) {
                    *point = [Double::decimal(x)?, Double::decimal(y)? * sense];
                }
                let (drawn, zero, rocker) = measured(at);
                let mut allowed = [[Double::of(0.0); 2]; 4];
                for (k, one) in deviations.iter().enumerate() {
                    let [upper, lower] = ends(one.as_ref())?;
                    allowed[k] = [drawn[k] + lower, drawn[k] + upper];
                }
                Some((drawn, allowed, zero, [Double::of(0.0); 2], rocker))
            }
        }
    }

    fn accept(&self) -> Option<[Double; 5]> {
        let [angle, ratio, tilt, grip, transmission, shift, opening] = match self.preset {
            "invisible" => ["0.05", "0.5", "0.05", "1", "40", "1e-4", "0.5e-4"],
            "coarse" => ["1", "5", "1", "10", "20", "2e-3", "1e-3"],
            _ => ["0.5", "2", "0.5", "5", "30", "1e-3", "0.5e-3"],
        };
        let jaw = self.jaw();
        let [angle, ratio] = if jaw.is_some() { [tilt, grip] } else { [angle, ratio] };
        let own = |k: usize, preset| {
            let own = jaw.and_then(|finger| finger.limits[k].as_deref());
            Double::decimal(own.unwrap_or(preset))
        };
        let in_radians = |own: &Option<String>, preset| match own {
            Some(own) => Double::decimal(own),
            None => degrees(preset),
        };
        let ratio = Double::decimal(self.ratio_limit.as_deref().unwrap_or(ratio))?;
        Some([
            in_radians(&self.angle, angle)?,
            ratio / Double::of(100.0),
            in_radians(&self.transmission, transmission)?,
            own(0, shift)?,
            own(1, opening)?,
        ])
    }
}

/// Upper and lower deviation as written, whichever way round; 0 where none is drawn.
fn ends(deviations: Option<&[String; 2]>) -> Option<[Double; 2]> {
    let Some([first, second]) = deviations else {
        return Some([Double::of(0.0); 2]);
    };
    let (first, second) = (Double::decimal(first)?, Double::decimal(second)?);
    Some([larger(first, second), smaller(first, second)])
}

/// Lengths, crank angle and rocker angle of four pins (motor, joint, crank, rocker).
fn measured([motor, joint, crank, rocker]: [[Double; 2]; 4]) -> ([Double; 4], Double, Double) {
    let from = |a: [Double; 2], b: [Double; 2]| [b[0] - a[0], b[1] - a[1]];
    let length = |[x, y]: [Double; 2]| (x * x + y * y).sqrt();
    let ground = from(motor, joint);
    let angle =
        |[x, y]: [Double; 2]| (ground[0] * y - ground[1] * x).atan2(ground[0] * x + ground[1] * y);
    let (arm, rod, lever) = (from(motor, crank), from(crank, rocker), from(joint, rocker));
    ([ground, arm, rod, lever].map(length), angle(arm), angle(lever))
}
