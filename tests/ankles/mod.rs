//! The ankles of `tests/data/check-values-drives.toml`: pitch about +y through the origin, then roll about the turned +x. Points
//! in mm.

use unloop::drive::{Axis, DrawnLeg, TwoRodsDrawing, Vector};

const MM: f64 = 1e-3;

pub(crate) fn at([x, y, z]: [f64; 3]) -> Vector {
    Vector::new(x * MM, y * MM, z * MM)
}

fn crank(motor: [f64; 3], axis: [f64; 3], pin: [f64; 3], foot: [f64; 3]) -> DrawnLeg {
    let [x, y, z] = axis;
    DrawnLeg::Crank {
        motor: Axis { point: at(motor), direction: Vector::new(x, y, z) },
        crank: at(pin),
        foot: at(foot),
        rod: None,
    }
}

fn ankle(roll: [f64; 3], legs: [DrawnLeg; 2]) -> TwoRodsDrawing {
    TwoRodsDrawing {
        pitch: Axis { point: at([0.0; 3]), direction: Vector::new(0.0, 1.0, 0.0) },
        roll: Axis { point: at(roll), direction: Vector::new(1.0, 0.0, 0.0) },
        legs,
    }
}

/// Motor axes parallel, arms square to the rods.
pub(crate) fn ankle_a() -> TwoRodsDrawing {
    let leg = |y: f64, z: f64| crank([0.0, y, z], [0.0, 1.0, 0.0], [-45.0, y, z], [-45.0, y, 0.0]);
    ankle([0.0; 3], [leg(32.0, 280.0), leg(-32.0, 160.0)])
}

/// Motors toed in, axes apart.
pub(crate) fn ankle_b() -> TwoRodsDrawing {
    let (sine, cosine) = 5.0_f64.to_radians().sin_cos();
    let left =
        crank([5.0, 30.0, 270.0], [sine, cosine, 0.0], [-40.0, 38.0, 265.0], [-48.0, 36.0, -12.0]);
    let right = crank(
        [5.0, -30.0, 150.0],
        [-sine, cosine, 0.0],
        [-40.0, -38.0, 145.0],
        [-48.0, -36.0, -12.0],
    );
    ankle([0.0, 0.0, -8.0], [left, right])
}

/// Side cranks.
pub(crate) fn ankle_c() -> TwoRodsDrawing {
    let leg = |side: f64| {
        crank(
            [-20.0, 5.0 * side, 200.0],
            [1.0, 0.0, 0.0],
            [-20.0, 60.0 * side, 200.0],
            [-42.0, 50.0 * side, 10.0],
        )
    };
    ankle([0.0; 3], [leg(1.0), leg(-1.0)])
}

/// Two linear actuators.
pub(crate) fn ankle_linear() -> TwoRodsDrawing {
    let leg = |side: f64| DrawnLeg::Actuator {
        pin: at([-50.0, 34.0 * side, 220.0]),
        foot: at([-44.0, 36.0 * side, -12.0]),
        line_offset: 0.0,
        lead: 5.0 * MM,
        lengths: None,
    };
    ankle([0.0, 0.0, -8.0], [leg(1.0), leg(-1.0)])
}
