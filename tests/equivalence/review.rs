//! Designs that once got a wrong verdict.

use unloop::design::parse;
use unloop::study::{Check, check};

/// Crank and ground alike but for the crank's tolerance, zeroed as drawn, seen from one side or the other.
fn crank_as_long_as_the_ground(axis_points: &str, rocker: &str, angle: &str) -> Check {
    let text = format!(
        r#"
name = "crank_as_long_as_the_ground"
axis_points = "{axis_points}"
[linkage]
ground = "100 mm"
crank = "100 +2/-0.1 mm"
coupler = "150 mm"
rocker = "80 mm"
[zero]
crank = "90 deg"
rocker = "{rocker}"
set_by = "drawing"
[stroke]
motor = ["-10 deg", "10 deg"]
[accept]
angle = "{angle}"
ratio = "90 %"
transmission_angle = "5 deg"
"#
    );
    let (design, _) = parse("drawing.toml", &text).unwrap();
    check(&design).unwrap()
}

#[test]
fn a_crank_that_may_be_longer_or_shorter_than_the_ground_gets_one_verdict_from_either_side() {
    // A drawing and its mirror image are the same machine, so that every figure has the same size.
    for rocker in ["54.92 deg", "-144.92 deg"] {
        for angle in ["1 deg", "5 deg"] {
            let [front, back] =
                ["toward", "away"].map(|side| crank_as_long_as_the_ground(side, rocker, angle));
            assert_eq!(front.verdict, back.verdict, "{rocker} {angle}");
            let bounds =
                [&front, &back].map(|c| c.criteria.first().unwrap().bound.unwrap().value());
            let [front, back] = bounds;
            assert!((front / back - 1.0).abs() < 2e-3, "{rocker} {angle}: {front} {back}");
        }
    }
}
