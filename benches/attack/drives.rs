//! Drives in space and linear drives, drawn at random: each verdict and bound held against builds that are followed pose by
//! pose along the rod's own equation, without any closed form of the library.

use std::collections::BTreeMap;
use std::fmt::Write;
use std::sync::Mutex;
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::Instant;

use serde_json::Value;
use unloop::design::{AnyDesign, parse_any};
use unloop::study::{Driven, check_on};

use super::random::Random;

pub(super) type Point = [f64; 3];

type Vector = Point;

/// Poses between the zero pose and each end of the stroke that a build is looked at.
const STEPS: u32 = 48;

/// Rounding of the following, as a share of a figure, and on its own.
const ROUNDING: f64 = 1e-8;

pub(super) fn dot(a: Vector, b: Vector) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}

pub(super) fn cross([a, b, c]: Vector, [x, y, z]: Vector) -> Vector {
    [b * z - c * y, c * x - a * z, a * y - b * x]
}

pub(super) fn less(a: Vector, b: Vector) -> Vector {
    [a[0] - b[0], a[1] - b[1], a[2] - b[2]]
}

/// `start` + the sum of shares of directions.
pub(super) fn plus(start: Vector, shares: &[(f64, Vector)]) -> Vector {
    shares.iter().fold(start, |sum, (share, of)| std::array::from_fn(|k| sum[k] + share * of[k]))
}

/// A size: its name in the file, value and tolerance in the unit there.
#[derive(Clone, Debug)]
struct Size {
    name: &'static str,
    unit: &'static str,
    value: f64,
    tolerance: f64,
}

/// One design.
#[derive(Clone, Debug)]
pub struct Drive {
    kind: &'static str,
    sizes: Vec<Size>,
    /// Of crank or lever, deg.
    zero: f64,
    stroke: [f64; 2],
    limits: [f64; 3],
    tilt: Option<f64>,
}

const LEAD: f64 = 5.0;

impl Drive {
    fn draw(random: &mut Random) -> Self {
        let kind = random.pick(&["ball_rod", "ball_rod", "linear_actuator", "slider"]);
        let ground = random.within(100.0, 400.0);
        let lever = ground * random.within(0.12, 0.35);
        let near = |random: &mut Random, by: f64| {
            if random.chance(0.4) { 1.0 } else { 1.0 + random.within(-by, by) }
        };
        let t = random.pick(&[0.0, 0.02, 0.05, 0.1, 0.2]);
        let mm = |name, value: f64| Size { name, unit: "mm", value, tolerance: t };
        let deg = |name, value: f64| Size { name, unit: "deg", value, tolerance: t };
        let small = |random: &mut Random, by: f64| {
            if random.chance(0.4) { 0.0 } else { random.within(-by, by) }
        };
        let sizes = match kind {
            "ball_rod" => vec![
                mm("ground", ground),
                mm("crank", lever * near(random, 0.15)),
                mm("coupler", ground * near(random, 0.05)),
                mm("rocker", lever),
                mm("axial", small(random, 20.0)),
                deg("twist", small(random, 10.0)),
                deg("lean", small(random, 6.0)),
            ],
            "slider" => vec![
                mm("ground", ground),
                mm("coupler", lever * random.within(1.3, 3.0)),
                mm("rocker", lever),
                mm("guide_y", lever * random.within(0.8, 1.6)),
            ],
            _ => vec![mm("ground", ground), mm("rocker", lever)],
        };
        let half = random.log_within(2.0, 40.0);
        let limits =
            [random.log_within(0.01, 3.0), random.log_within(0.1, 20.0), random.within(10.0, 70.0)];
        let tilt = (kind == "ball_rod" && random.chance(0.5)).then(|| random.within(0.5, 15.0));
        let stroke = [-half * random.within(0.5, 1.0), half];
        let rounded = |x: f64| (x * 1e4).round() / 1e4;
        let sizes = sizes.into_iter().map(|s| Size { value: rounded(s.value), ..s }).collect();
        Self {
            kind,
            sizes,
            zero: rounded(random.within(75.0, 105.0)),
            stroke: stroke.map(rounded),
            limits: limits.map(rounded),
            tilt: tilt.map(rounded),
        }
    }

    fn text(&self) -> String {
        let mut out = format!("name = \"attack\"\n[drive]\nkind = \"{}\"\n[linkage]\n", self.kind);
        let written = |s: &Size| format!("\"{} ±{} {}\"", s.value, s.tolerance, s.unit);
        for size in self.sizes.iter().filter(|size| size.name != "guide_y") {
            _ = writeln!(out, "{} = {}", size.name, written(size));
        }
        if let Some(height) = self.sizes.iter().find(|size| size.name == "guide_y") {
            let nut = self.nut(&self.drawn());
            _ = writeln!(
                out,
                "guide = {{ point = [\"0 mm\", {}], direction = \"0 deg\" }}\n[zero]\nrocker = \"{} deg\"\nnut = \"{nut:.3} mm\"",
                written(height),
                self.zero
            );
        } else if self.kind == "ball_rod" {
            let lever = self.build(&self.drawn()).zero_lever(0.0).unwrap_or(f64::NAN);
            let lever = libm::remainder(lever, std::f64::consts::TAU).to_degrees();
            _ = writeln!(out, "[zero]\ncrank = \"{} deg\"\nrocker = \"{lever:.3} deg\"", self.zero);
        } else {
            _ = writeln!(out, "[zero]\nrocker = \"{} deg\"", self.zero);
        }
        out.push_str("set_by = \"jig\"\n");
        if self.kind != "ball_rod" {
            _ = writeln!(out, "[screw]\nlead = \"{LEAD} mm\"");
        }
        let [angle, ratio, transmission] = self.limits;
        _ = writeln!(
            out,
            "[stroke]\njoint = [\"{} deg\", \"{} deg\"]\n[accept]\nangle = \"{angle} deg\"\nratio = \"{ratio} %\"\ntransmission_angle = \"{transmission} deg\"",
            self.stroke[0], self.stroke[1]
        );
        if let Some(tilt) = self.tilt {
            _ = writeln!(out, "ball_tilt = \"{tilt} deg\"");
        }
        out
    }

    fn drawn(&self) -> Vec<f64> {
        self.sizes.iter().map(|size| size.value).collect()
    }

    /// The nut's travel in the zero pose, mm: ahead of the lever's pin.
    fn nut(&self, at: &[f64]) -> f64 {
        let (sin, cos) = self.zero.to_radians().sin_cos();
        let across = at[2] * sin - at[3];
        at[0] + at[2] * cos - (at[1] * at[1] - across * across).sqrt()
    }

    /// A build with these sizes.
    fn build(&self, at: &[f64]) -> Build {
        let m = |k: usize| at[k] * 1e-3;
        let x = [1.0, 0.0, 0.0];
        match self.kind {
            "ball_rod" => {
                let (twist, lean) = (at[5].to_radians(), at[6].to_radians());
                let axis = [lean.sin(), -twist.sin() * lean.cos(), twist.cos() * lean.cos()];
                let square = plus(x, &[(-axis[0], axis)]);
                let datum = square.map(|v| v / dot(square, square).sqrt());
                Build {
                    centre: [m(0), 0.0, m(4)],
                    axis,
                    datum,
                    lever: m(3),
                    input: Input::Crank { radius: m(1), rod: m(2), zero: self.zero.to_radians() },
                }
            }
            "slider" => Build {
                centre: [m(0), 0.0, 0.0],
                axis: [0.0, 0.0, 1.0],
                datum: x,
                lever: m(2),
                input: Input::Slide { height: m(3), rod: m(1), zero: self.nut(at) * 1e-3 },
            },
            _ => Build {
                centre: [m(0), 0.0, 0.0],
                axis: [0.0, 0.0, 1.0],
                datum: x,
                lever: m(1),
                input: Input::Actuator,
            },
        }
    }
}

#[derive(Clone, Copy, Debug)]
enum Input {
    Crank { radius: f64, rod: f64, zero: f64 },
    Slide { height: f64, rod: f64, zero: f64 },
    Actuator,
}

#[derive(Clone, Copy, Debug)]
struct Build {
    centre: Vector,
    axis: Vector,
    datum: Vector,
    lever: f64,
    input: Input,
}

/// Joint turn, motor turn, ratio, sine of the transmission angle, sine of the larger ball tilt.
#[derive(Clone, Copy, Debug)]
struct Pose {
    joint: f64,
    motor: f64,
    ratio: f64,
    transmission: f64,
    tilt: f64,
}

impl Build {
    /// Q and its way per joint turn.
    fn lever_pin(&self, angle: f64) -> [Vector; 2] {
        let (sin, cos) = angle.sin_cos();
        let side = cross(self.axis, self.datum);
        let along = plus([0.0; 3], &[(self.lever * cos, self.datum), (self.lever * sin, side)]);
        [plus(self.centre, &[(1.0, along)]), cross(self.axis, along)]
    }

    /// P and its way per place of the input.
    fn input_pin(&self, place: f64) -> [Vector; 2] {
        match self.input {
            Input::Crank { radius, .. } => {
                let (sin, cos) = place.sin_cos();
                [[radius * cos, radius * sin, 0.0], [-radius * sin, radius * cos, 0.0]]
            }
            Input::Slide { height, .. } => [[place, height, 0.0], [1.0, 0.0, 0.0]],
            Input::Actuator => [[0.0; 3]; 2],
        }
    }

    fn rod(&self) -> f64 {
        match self.input {
            Input::Crank { rod, .. } | Input::Slide { rod, .. } => rod,
            Input::Actuator => f64::NAN,
        }
    }

    /// The lever's angle in the zero pose: of a crank drive where the rod reaches from the open side.
    fn zero_lever(&self, drawn: f64) -> Option<f64> {
        let Input::Crank { zero, .. } = self.input else { return Some(drawn) };
        let [pin, _] = self.input_pin(zero);
        let gap = |angle: f64| {
            let w = less(self.lever_pin(angle)[0], pin);
            dot(w, w) - self.rod().powi(2)
        };
        // Open: the lever's arm about its axis is below zero, so that the gap falls as the angle rises.
        let at = |k: u32| f64::from(k) * std::f64::consts::TAU / 720.0;
        let k = (0..720).find(|k| gap(at(*k)) > 0.0 && gap(at(k + 1)) <= 0.0)?;
        let (mut low, mut high) = (at(k), at(k + 1));
        for _ in 0..60 {
            let middle = 0.5 * (low + high);
            if gap(middle) > 0.0 { low = middle } else { high = middle }
        }
        Some(0.5 * (low + high))
    }

    /// The input's place at the lever's angle, by Newton's rule from `near`.
    fn place(&self, angle: f64, near: f64) -> Option<f64> {
        let [q, _] = self.lever_pin(angle);
        let mut place = near;
        for _ in 0..12 {
            let [p, way] = self.input_pin(place);
            let w = less(q, p);
            let step = (dot(w, w) - self.rod().powi(2)) / (2.0 * dot(w, way));
            place += step;
            if step.abs() < 1e-15 {
                break;
            }
        }
        let [p, _] = self.input_pin(place);
        let w = less(q, p);
        ((dot(w, w).sqrt() - self.rod()).abs() < 1e-12).then_some(place)
    }

    fn pose(&self, (joint, angle): (f64, f64), place: f64, zero: f64) -> Pose {
        let [q, q_way] = self.lever_pin(angle);
        let [p, p_way] = self.input_pin(place);
        let w = less(q, p);
        let length = dot(w, w).sqrt();
        let arm = dot(w, q_way) / length;
        let rate = match self.input {
            Input::Actuator => arm,
            _ => arm * length / dot(w, p_way),
        };
        let turns = match self.input {
            Input::Crank { .. } => 1.0,
            _ => std::f64::consts::TAU / (LEAD * 1e-3),
        };
        let own = match self.input {
            Input::Actuator => length,
            _ => place,
        };
        let bolt = |axis: Vector| (dot(w, axis) / length).abs();
        Pose {
            joint,
            motor: (own - zero) * turns,
            ratio: rate * turns,
            transmission: (arm / self.lever).abs(),
            tilt: bolt([0.0, 0.0, 1.0]).max(bolt(self.axis)),
        }
    }

    /// Followed from the zero pose to either end of the stroke; `None` where it does not get there.
    fn poses(&self, drawn_lever: f64, stroke: [f64; 2]) -> Option<Vec<Pose>> {
        let zero_lever = self.zero_lever(drawn_lever)?;
        let start = match self.input {
            Input::Crank { zero, .. } | Input::Slide { zero, .. } => zero,
            Input::Actuator => {
                let [q, _] = self.lever_pin(zero_lever);
                dot(q, q).sqrt()
            }
        };
        let mut all = vec![self.pose((0.0, zero_lever), start, start)];
        for end in stroke {
            let mut place = start;
            for step in 1..=STEPS {
                let joint = end * f64::from(step) / f64::from(STEPS);
                if !matches!(self.input, Input::Actuator) {
                    place = self.place(zero_lever + joint, place)?;
                }
                all.push(self.pose((joint, zero_lever + joint), place, start));
            }
        }
        Some(all)
    }
}

/// What is judged, as in the file's JSON, each side by itself.
const NAMES: [&str; 6] = ["angle", "angle", "ratio", "ratio", "transmission_angle", "ball_tilt"];

/// Of a pose, the figures that may not rise above their limits.
fn figures(pose: &Pose, [ratio, offset]: [f64; 2]) -> [f64; 6] {
    let angle = pose.joint - pose.motor / ratio - offset;
    let off = pose.ratio / ratio - 1.0;
    [angle, -angle, off, -off, -pose.transmission.min(1.0).asin(), pose.tilt.min(1.0).asin()]
}

/// The worst of each figure over builds: at corners that each figure rises towards, and at random.
struct Worst<'a> {
    drive: &'a Drive,
    joint: [f64; 2],
    largest: [f64; 6],
    builds: u64,
    fails_to_reach: bool,
}

impl Worst<'_> {
    fn look(&mut self, at: &[f64]) -> Option<[f64; 6]> {
        self.builds += 1;
        let stroke = self.drive.stroke.map(f64::to_radians);
        let Some(poses) = self.drive.build(at).poses(self.drive.zero.to_radians(), stroke) else {
            self.fails_to_reach = true;
            return None;
        };
        let mut own = [f64::NEG_INFINITY; 6];
        for pose in poses {
            for (own, figure) in own.iter_mut().zip(figures(&pose, self.joint)) {
                *own = own.max(figure);
            }
        }
        for (largest, own) in self.largest.iter_mut().zip(own) {
            *largest = largest.max(own);
        }
        Some(own)
    }

    /// The largest of one figure.
    fn of(&self, name: &str) -> f64 {
        let own = NAMES.into_iter().zip(self.largest).filter(|(of, _)| *of == name);
        own.map(|(_, figure)| figure).fold(f64::NEG_INFINITY, f64::max)
    }

    /// To a corner that one of the figures rises towards, from one at random.
    fn corner(&mut self, which: usize, random: &mut Random) {
        let drawn = self.drive.drawn();
        let mut at: Vec<f64> = self.drive.sizes.iter().map(|s| s.value).collect();
        for (k, size) in self.drive.sizes.iter().enumerate() {
            at[k] = drawn[k] + random.sign() * size.tolerance;
        }
        let Some(mut before) = self.look(&at) else { return };
        // Uphill a size at a time, until nothing rises.
        for _ in 0..3 {
            let mut moved = false;
            for (k, size) in self.drive.sizes.iter().enumerate() {
                let kept = at[k];
                at[k] = 2.0 * size.value - kept;
                match self.look(&at) {
                    Some(after) if after[which] > before[which] => (before, moved) = (after, true),
                    _ => at[k] = kept,
                }
            }
            if !moved {
                break;
            }
        }
    }

    fn inside(&mut self, random: &mut Random) {
        let at: Vec<f64> = (self.drive.sizes.iter())
            .map(|s| s.value + random.within(-s.tolerance, s.tolerance))
            .collect();
        self.look(&at);
    }
}

/// What came of many.
#[derive(Default)]
struct Tally {
    verdicts: BTreeMap<String, u64>,
    breaks: Vec<String>,
    builds: u64,
    loosest: Loosest,
}

/// Bound over what builds reach, where that counts, and of what.
#[derive(Clone, Default)]
struct Loosest {
    times: f64,
    of: String,
}

impl Loosest {
    fn see(&mut self, times: f64, of: impl FnOnce() -> String) {
        if times > self.times {
            *self = Self { times, of: of() };
        }
    }
}

fn attempt(seed: u64, case: u64, tally: &Mutex<Tally>) {
    let mut random = Random::new(seed ^ 0xD1, case);
    let drive = Drive::draw(&mut random);
    let text = drive.text();
    let (mut verdict, mut breaks, mut builds, mut loosest) =
        ("refused".to_owned(), Vec::new(), 0, Loosest::default());
    match judged(&text) {
        Err(why) => verdict = why,
        Ok(json) => {
            json["verdict"].as_str().unwrap_or_default().clone_into(&mut verdict);
            let joint = &json["direct_joint"];
            let of = |key: &str| joint[key].as_f64().unwrap_or(f64::NAN);
            let mut worst = Worst {
                drive: &drive,
                joint: [of("ratio"), of("offset_rad")],
                largest: [f64::NEG_INFINITY; 6],
                builds: 0,
                fails_to_reach: false,
            };
            worst.look(&drive.drawn());
            for which in 0..NAMES.len() {
                worst.corner(which, &mut random);
                worst.inside(&mut random);
            }
            builds = worst.builds;
            breaks = held(&json, &worst, &mut loosest);
        }
    }
    let mut tally = tally.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
    *tally.verdicts.entry(format!("{} {verdict}", drive.kind)).or_default() += 1;
    tally.builds += builds;
    tally.loosest.see(loosest.times, || format!("case {case}, {}", loosest.of));
    for says in breaks {
        println!("case {case}: {says}\n{text}");
        tally.breaks.push(format!("case {case}: {says}"));
    }
}

fn judged(text: &str) -> Result<Value, String> {
    let first = |why: String| why.lines().next().unwrap_or_default().to_owned();
    let (design, _) = parse_any("attack.toml", text).map_err(|why| first(why.to_string()))?;
    let AnyDesign::OneJoint(design) = design else { return Err("unread: a four-bar".into()) };
    let driven = Driven::of(&design).map_err(|_| "refused".to_owned())?;
    let check = check_on(&design, &driven).map_err(|_| "refused".to_owned())?;
    serde_json::to_value(&check).map_err(|why| format!("unread: {why}"))
}

/// What is said and is not so.
fn held(json: &Value, worst: &Worst<'_>, loosest: &mut Loosest) -> Vec<String> {
    let mut breaks = Vec::new();
    let yes = json["verdict"] == "equivalent";
    if worst.fails_to_reach && yes {
        breaks.push("untrue holds: a build does not reach".to_owned());
    }
    for name in ["angle", "ratio", "transmission_angle", "ball_tilt"] {
        let reached = worst.of(name);
        let all = json["criteria"].as_array().into_iter().flatten();
        let Some(said) = all.into_iter().find(|one| one["name"] == name) else { continue };
        let sign = if name == "transmission_angle" { -1.0 } else { 1.0 };
        let figure = |key: &str| said[key].as_f64().map(|x| sign * x);
        let above = |x: f64| reached > x + ROUNDING * x.abs() + ROUNDING;
        if said["outcome"] == "holds" && figure("limit").is_some_and(above) {
            breaks.push(format!("untrue holds: {name} {reached} over {}", said["limit"]));
        }
        let bound = figure("tolerance_bound").or(figure("nominal_bound"));
        if let Some(bound) = bound {
            if above(bound) {
                breaks.push(format!("bound beaten: {name} {reached} over {bound}"));
            }
            if name != "transmission_angle" && reached > 1e-4 && said["outcome"] == "holds" {
                loosest.see(bound / reached, || format!("{name} {reached:.6} of {bound:.6}"));
            }
        }
    }
    breaks
}

/// Cases until the time or the cases are over; how many broke.
pub fn run(seed: u64, cases: u64, seconds: f64, threads: u64) -> usize {
    let (next, start, tally) = (AtomicU64::new(0), Instant::now(), Mutex::new(Tally::default()));
    let work = || {
        while start.elapsed().as_secs_f64() < seconds {
            let case = next.fetch_add(1, Ordering::Relaxed);
            if case >= cases {
                break;
            }
            attempt(seed, case, &tally);
        }
    };
    std::thread::scope(|scope| {
        for _ in 0..threads {
            scope.spawn(work);
        }
    });
    let tally = tally.into_inner().unwrap_or_else(std::sync::PoisonError::into_inner);
    println!("drives, seed {seed}: {:?}", tally.verdicts);
    println!(
        "{} builds; {} broke; bound over reached at most {:.3} ({})",
        tally.builds,
        tally.breaks.len(),
        tally.loosest.times,
        tally.loosest.of
    );
    // An attack that judged nothing has shown nothing.
    tally.breaks.len() + usize::from(tally.builds == 0)
}

/// One case again.
pub fn replay(seed: u64, case: u64) -> usize {
    let tally = Mutex::new(Tally::default());
    println!("{}", Drive::draw(&mut Random::new(seed ^ 0xD1, case)).text());
    attempt(seed, case, &tally);
    tally.into_inner().map_or(1, |tally| {
        println!("{:?}", tally.verdicts);
        println!("bound over reached {:.3} ({})", tally.loosest.times, tally.loosest.of);
        tally.breaks.len()
    })
}
