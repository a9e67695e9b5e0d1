//! How a linkage is written on its sheet: lengths or pins, with tolerances.

use super::drawing::{Geometry, Size};
use super::families::{Base, OUTSIDE};
use super::random::Random;

pub fn written(x: f64, digits: usize) -> String {
    let text = format!("{x:.digits$}");
    if text.starts_with('-') && text.chars().all(|c| "-0.".contains(c)) {
        return text.trim_start_matches('-').to_owned();
    }
    text
}

/// Upper and lower deviation, mm.
fn tolerance(random: &mut Random, class: &str, size: f64) -> [String; 2] {
    let most = if class == "wide_box" { 0.01 * size } else { 0.2_f64.min(0.05 * size) };
    let t = random.log_within(0.05 * most, most);
    let digits = 3;
    let text = |x: f64| written(x, digits);
    if class == OUTSIDE && random.chance(0.6) {
        let shift = random.sign() * random.within(1.0, 80.0) * t;
        return [text(shift + t), text(shift - t)];
    }
    if random.chance(if class == "realistic" { 0.9 } else { 0.5 }) {
        let t = text(t);
        return [t.clone(), format!("-{t}")];
    }
    match random.pick(&[0, 1, 2]) {
        0 => [text(t), "0".to_owned()],
        1 => ["0".to_owned(), text(-t)],
        _ => [text(t), text(-t * random.within(0.1, 2.0))],
    }
}

fn size(text: String, deviations: Option<[String; 2]>) -> Size {
    Size { nominal: text, deviations }
}

/// Rocker angle in the zero pose in deg, seen with the joint axis pointing at the reader.
pub fn geometry(
    random: &mut Random,
    class: &str,
    base: &Base,
    (sense, toleranced): (f64, bool),
    rocker: f64,
) -> Geometry {
    let one = |random: &mut Random, size: f64| {
        (toleranced && random.chance(0.9)).then(|| tolerance(random, class, size))
    };
    let mut deviations = base.bars.map(|size| one(random, size));
    if toleranced && deviations.iter().all(Option::is_none) {
        deviations[0] = Some(tolerance(random, class, base.bars[0]));
    }
    if class.ends_with("pivots") {
        return Geometry::Pivots { pins: pins(random, base, (sense, rocker)), deviations };
    }
    let mut all = deviations.into_iter();
    let sizes = base.bars.map(|x| {
        let drawn = all.next().flatten();
        size(drawn_at(x, drawn.as_ref()), drawn)
    });
    let crank = (toleranced && random.chance(0.25)).then(|| {
        let t = written(random.log_within(0.02, 1.0), 2);
        if random.chance(0.7) { [t.clone(), format!("-{t}")] } else { [t, "0".to_owned()] }
    });
    let hint = wrapped(rocker * sense + random.within(-3.0, 3.0));
    Geometry::Lengths {
        sizes,
        crank: size(shortest(base.zero * sense + 0.0), crank),
        rocker: written(hint, 0),
    }
}

/// The nominal size: where both deviations lie on one side, so that their middle is `size`.
fn drawn_at(size: f64, deviations: Option<&[String; 2]>) -> String {
    let ends = deviations.map(|d| [0, 1].map(|k| d[k].parse::<f64>().unwrap_or(0.0)));
    match ends {
        Some([upper, lower]) if upper * lower > 0.0 => written(size - 0.5 * (upper + lower), 3),
        _ => shortest(size),
    }
}

fn shortest(x: f64) -> String {
    format!("{x}")
}

fn wrapped(degrees: f64) -> f64 {
    let turn = degrees.rem_euclid(360.0);
    if turn > 180.0 { turn - 360.0 } else { turn }
}

/// The pins of the zero pose anywhere on the sheet, rounded.
fn pins(random: &mut Random, base: &Base, (sense, rocker): (f64, f64)) -> [[String; 2]; 4] {
    let [ground, crank, _, lever] = base.bars;
    let origin = [random.within(-200.0, 200.0).round(), random.within(-200.0, 200.0).round()];
    let turned = random.pick(&[0.0, 90.0, -90.0, 37.0]);
    let digits = random.pick(&[1, 2, 4]);
    let at = |[x, y]: [f64; 2]| {
        let (sin, cos) = f64::to_radians(turned).sin_cos();
        let (u, v) = (cos * x - sin * y, sin * x + cos * y);
        [written(origin[0] + u, digits), written(origin[1] + sense * v, digits)]
    };
    let arm = |length: f64, degrees: f64| {
        let (sin, cos) = degrees.to_radians().sin_cos();
        [length * cos, length * sin]
    };
    let [px, py] = arm(crank, base.zero);
    let [qx, qy] = arm(lever, rocker);
    [at([0.0, 0.0]), at([ground, 0.0]), at([px, py]), at([ground + qx, qy])]
}
