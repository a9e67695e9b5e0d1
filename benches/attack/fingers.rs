//! Fingers, drawn at random.

use super::pad::Finger;
use super::random::Random;

/// The classes, each as likely as the number beside it.
pub const CLASSES: [(&str, u32); 7] = [
    ("jaw", 8),
    ("jaw_tie", 4),
    ("jaw_wild", 4),
    ("jaw_toggle", 3),
    ("jaw_pivots", 3),
    ("jaw_absurd", 1),
    ("swing", 2),
];

/// Directions and points that no finger has.
const NO_DIRECTIONS: [[&str; 2]; 5] =
    [["0.0", "0.0"], ["-0.0", "0"], ["inf", "0.0"], ["nan", "1.0"], ["1e300", "1e300"]];
const NO_POINTS: [[&str; 2]; 4] =
    [["1e9", "0"], ["nan", "0"], ["-1e15", "1e15"], ["0.000000001", "0"]];

fn pair(of: [&str; 2]) -> [String; 2] {
    of.map(str::to_owned)
}

/// Of this class; `crank` in mm, `ends` the crank's directions (deg, on the sheet) at the ends of the stroke.
pub fn finger(random: &mut Random, class: &str, crank: f64, ends: [f64; 2]) -> Option<Finger> {
    let is_known = CLASSES.iter().any(|(name, _)| *name == class);
    is_known.then(|| {
        let on = if class == "swing" { "rocker" } else { "coupler" };
        let mut finger = of(random, class, crank, ends);
        finger.on = on;
        if class == "jaw_absurd" {
            spoil(random, &mut finger);
        }
        finger
    })
}

fn of(random: &mut Random, class: &str, crank: f64, ends: [f64; 2]) -> Finger {
    let (unit, size) =
        random.pick(&[("mm", 1.0), ("mm", 1.0), ("cm", 0.1), ("m", 1e-3), ("in", 0.04)]);
    let reach = crank * size * if random.chance(0.05) { 20.0 } else { 1.5 };
    let coordinate = |random: &mut Random| format!("{:.5}", random.within(-reach, reach));
    let point = match random.pick(&[0, 1, 1, 1, 1, 1, 1, 2]) {
        0 => pair(["0", "0"]),
        1 => [coordinate(random), coordinate(random)],
        _ => [coordinate(random), "0".to_owned()],
    };
    let is_jaw = class != "swing";
    let stand_in = match random.pick(&[0, 0, 0, 1, 2, 3]) {
        0 => None,
        1 if is_jaw => Some("slide"),
        2 if is_jaw => Some("counter"),
        _ => Some("hinge"),
    };
    let limit = |random: &mut Random| {
        random.chance(0.3).then(|| format!("{:.4e}", random.log_within(1e-5, 0.05)))
    };
    let of_drive = |random: &mut Random, low: f64, high: f64| {
        random.chance(0.4).then(|| format!("{:.4}", random.log_within(low, high)))
    };
    Finger {
        on: "coupler",
        unit,
        point,
        closing: closing(random, class, ends),
        opening: match random.pick(&[0, 1, 1, 1, 1]) {
            0 => "0".to_owned(),
            _ => format!("{:.4}", random.within(0.0, 3.0 * crank * size)),
        },
        other: random.pick(&[None, Some("mirrored"), Some("none")]),
        stand_in,
        best: is_jaw && random.chance(0.15),
        limits: if is_jaw { [limit(random), limit(random)] } else { [None, None] },
        actuator: [
            of_drive(random, 0.1, 20.0),
            of_drive(random, 0.5, 30.0),
            if random.chance(0.1) { Some("0".to_owned()) } else { of_drive(random, 0.01, 5.0) },
        ],
    }
}

fn closing(random: &mut Random, class: &str, ends: [f64; 2]) -> [String; 2] {
    let along = |angle: f64, size: f64| {
        let (sin, cos) = angle.to_radians().sin_cos();
        [cos, sin].map(|x| format!("{:.6}", size * x))
    };
    if class == "jaw_toggle" {
        // The pad of a parallelogram stands still where its crank points along the closing direction.
        let off = random.sign() * random.log_within(1e-3, 20.0);
        return along(random.pick(&ends) + off, random.sign());
    }
    match random.pick(&[0, 0, 1, 1, 2]) {
        0 => pair(["-1.0", "0.0"]),
        1 => pair(["1.0", "0.0"]),
        _ => along(random.within(-180.0, 180.0), random.log_within(0.1, 30.0)),
    }
}

fn spoil(random: &mut Random, finger: &mut Finger) {
    match random.pick(&[0, 1, 2, 3, 4]) {
        0 => finger.closing = pair(random.pick(&NO_DIRECTIONS)),
        1 => finger.point = pair(random.pick(&NO_POINTS)),
        2 => finger.opening = random.pick(&["-5", "nan", "1e12"]).to_owned(),
        3 => finger.on = "rocker",
        _ => finger.limits = [Some("0".to_owned()), Some("-1e-3".to_owned())],
    }
}
