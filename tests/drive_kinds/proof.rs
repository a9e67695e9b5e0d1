//! What is certain of every build of a rod drive holds for builds drawn at random, and is close to what they reach.

use proptest::prelude::*;
use unloop::drive::{
    Assembly, BallRod, LinearActuator, RodAngleError, RodDrive, RodFamily, RodRatioError, Slider,
    Vector,
};
use unloop::numeric::Interval;
use unloop::numeric::search::{Effort, Found, NOTHING_TO_DECIDE, Objective, largest};

use crate::known::{axis, vector};

const EFFORT: Effort = Effort {
    relative: 0.05,
    absolute: 1e-7,
    decide: NOTHING_TO_DECIDE,
    boxes: 5_000,
    proved_below: f64::NEG_INFINITY,
    refuted_above: f64::INFINITY,
};

fn knee() -> RodDrive {
    let drawing = BallRod {
        ground: 0.3,
        crank: 0.045,
        coupler: 0.3,
        rocker: 0.045,
        axial: 0.0,
        twist: 4.5_f64.to_radians(),
        lean: 2_f64.to_radians(),
    };
    drawing.drive(90_f64.to_radians(), Assembly::Open).unwrap()
}

fn actuator() -> RodDrive {
    LinearActuator::planar([0.3, 0.045, 0.01, 0.005], 1.75).drive(None).unwrap()
}

fn slider() -> RodDrive {
    let slider = Slider {
        guide: Vector::new(0.0, 0.0675, 0.0),
        direction: Vector::new(1.0, 0.02, 0.0),
        coupler: 0.09,
        joint: axis([0.0; 3], [0.0, 0.05, 1.0]),
        rocker: vector([0.0, 0.045, 0.002]),
        lead: 0.004,
    };
    slider.drive(-1.0).unwrap()
}

/// The joint turns `turns` with ±`size` on all lengths and ±0.1 deg on tilts times `share`.
fn domain(turns: [f64; 2], share: f64) -> [Interval; 11] {
    let length = Interval::new(-1e-4 * share, 1e-4 * share);
    let tilt = 0.1_f64.to_radians() * share;
    let mut domain = [length; 11];
    domain[0] = Interval::new(turns[0], turns[1]);
    domain[9] = Interval::new(-tilt, tilt);
    domain[10] = domain[9];
    domain
}

/// A screw's lead is known to a millionth of the lengths' tolerance, for this.
fn of_screw(mut domain: [Interval; 11]) -> [Interval; 11] {
    domain[2] = domain[2] * Interval::point(1e-3);
    domain
}

fn cases() -> Vec<(&'static str, RodDrive, [Interval; 11])> {
    let turns = [-0.65, 0.65];
    vec![
        ("rod in space", knee(), domain(turns, 1.0)),
        ("rod in space as drawn", knee(), domain(turns, 0.0)),
        ("actuator", actuator(), of_screw(domain([-0.3, 0.3], 1.0))),
        ("slider", slider(), of_screw(domain([-0.4, 0.4], 1.0))),
    ]
}

fn ratio_error(drive: &RodDrive, side: f64) -> RodRatioError<'_> {
    let ratio = drive.pose(0.0).unwrap().ratio;
    RodRatioError { family: RodFamily::new(drive), ratio, side }
}

fn angle_error(drive: &RodDrive, side: f64) -> RodAngleError<'_> {
    let RodRatioError { family, ratio, side } = ratio_error(drive, side);
    RodAngleError { family, ratio, offset: 0.0, side }
}

/// Builds spread over the domain: its corners by a fixed pattern, and points inside.
fn builds(domain: &[Interval; 11]) -> impl Iterator<Item = [f64; 11]> + '_ {
    (0..4000_u64).map(move |n| {
        let mut bits = n.wrapping_mul(0x9E37_79B9_7F4A_7C15) ^ (n << 21);
        domain.map(|over| {
            bits = bits.wrapping_mul(0xD129_42F0_9E37_79B9).rotate_left(17);
            let share = if n % 2 == 0 {
                f64::from((bits >> 60) as u8 & 1)
            } else {
                (bits >> 40) as f64 / (1_u64 << 24) as f64
            };
            over.lo() + share * (over.hi() - over.lo())
        })
    })
}

fn holds(name: &str, claim: &impl Objective<11>, domain: &[Interval; 11], most: f64) {
    let found: Found<11> = largest(claim, domain, domain, &EFFORT);
    let mut reached = f64::NEG_INFINITY;
    for build in builds(domain) {
        let value = claim.sample(&build).unwrap();
        assert!(value <= found.upper, "{name}: {value} {found:?} {build:?}");
        reached = reached.max(value);
    }
    assert!(reached >= 0.25 * found.lower - 1e-9, "{name}: {reached} {found:?}");
    let close = found.upper <= most * found.lower + EFFORT.absolute;
    assert!(close && found.boxes < EFFORT.boxes, "{name}: {found:?}");
}

#[test]
fn no_build_exceeds_what_is_certain_and_what_is_certain_is_close() {
    for (name, drive, domain) in cases() {
        for side in [-1.0, 1.0] {
            holds(&format!("ratio of {name}"), &ratio_error(&drive, side), &domain, 1.0527);
            holds(&format!("angle of {name}"), &angle_error(&drive, side), &domain, 1.0527);
        }
    }
}

proptest! {
    #[test]
    fn slopes_by_every_tolerance_are_those_of_differences(shares in prop::array::uniform11(0.0..1.0_f64)) {
        for (name, drive, domain) in cases() {
            let mut at = domain.map(Interval::mid);
            for ((x, over), share) in at.iter_mut().zip(&domain).zip(shares) {
                *x = over.lo() + share * (over.hi() - over.lo());
            }
            let claims: [&dyn Objective<11>; 2] =
                [&ratio_error(&drive, 1.0), &angle_error(&drive, -1.0)];
            for claim in claims {
                let slopes = claim.gradient(&at.map(Interval::point)).unwrap();
                for k in 0..11 {
                    let h = if k == 0 || k > 8 { 1e-5 } else { 1e-7 };
                    let h = if k == 2 { 1e-9 } else { h };
                    let beside = |away: f64| {
                        let mut moved = at;
                        moved[k] += away;
                        claim.sample(&moved).unwrap()
                    };
                    let difference = (beside(h) - beside(-h)) / (2.0 * h);
                    let room = 1e-6 * slopes[k].magnitude() + 1e-9 / h * 1e-4;
                    prop_assert!((slopes[k].mid() - difference).abs() < room, "{name} {k} {slopes:?} {difference}");
                }
            }
        }
    }

    #[test]
    fn a_box_of_builds_holds_value_and_slopes_of_each(
        shares in prop::array::uniform11(0.0..1.0_f64), from in 0.0..0.9_f64,
    ) {
        for (name, drive, domain) in cases() {
            let mut narrow = domain;
            let [low, high] = [from, from + 0.1].map(|x| domain[0].lo() + x * domain[0].width());
            narrow[0] = Interval::new(low, high);
            let mut at = narrow.map(Interval::mid);
            for ((x, over), share) in at.iter_mut().zip(&narrow).zip(shares) {
                *x = over.lo() + share * (over.hi() - over.lo());
            }
            let claims: [&dyn Objective<11>; 2] =
                [&ratio_error(&drive, -1.0), &angle_error(&drive, 1.0)];
            for claim in claims {
                let value = claim.sample(&at).unwrap();
                let point = claim.enclose(&at.map(Interval::point)).unwrap();
                prop_assert!((value - point.mid()).abs() < 1e-12, "{name} {value} {point:?}");
                let (over, there) =
                    (claim.gradient(&narrow).unwrap(), claim.gradient(&at.map(Interval::point)).unwrap());
                for (wide, slope) in over.iter().zip(there) {
                    prop_assert!(wide.contains(slope.mid()), "{name} {wide:?} {slope:?}");
                }
            }
        }
    }
}
