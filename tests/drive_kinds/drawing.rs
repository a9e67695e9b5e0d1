//! What is varied and proved by a drawing's list of sizes is the drive that the drawing moves.

use unloop::drive::{
    Assembly, BallRod, BallRodPoints, Drawing, FixedRatio, JointDrive, LinearActuator, OneJoint,
    Slider,
};

use crate::known::{axis, vector};

fn drawings() -> Vec<Drawing> {
    let sizes = BallRod {
        ground: 0.3,
        crank: 0.045,
        coupler: 0.302,
        rocker: 0.05,
        axial: 0.015,
        twist: 0.1,
        lean: -0.05,
    };
    let points = BallRodPoints {
        motor: axis([0.0, 0.0, 0.3], [0.0, 1.0, 0.05]),
        joint: axis([0.0; 3], [0.0, 2.0, 0.0]),
        crank: vector([0.045, 0.03, 0.3]),
        rocker: vector([0.045, 0.01, 0.005]),
        rod: None,
    };
    let actuator = LinearActuator {
        motor: vector([0.05, 0.01, 0.3]),
        joint: axis([0.0; 3], [0.0, 1.0, 0.0]),
        rocker: vector([0.045, 0.0, 0.01]),
        line_offset: 0.004,
        lead: -0.005,
    };
    let slider = Slider {
        guide: vector([0.0675, 0.0, 0.2]),
        direction: vector([0.0, 0.02, -1.0]),
        coupler: 0.09,
        joint: axis([0.0; 3], [0.05, 1.0, 0.0]),
        rocker: vector([0.045, 0.002, 0.0]),
        lead: 0.004,
    };
    vec![
        Drawing::BallRod { sizes, zero_crank: 1.4, assembly: Assembly::Open },
        Drawing::BallRodPoints(points),
        Drawing::BallRodPoints(BallRodPoints { rod: Some(0.2955), ..points }),
        Drawing::PlanarActuator {
            ground: 0.3,
            rocker: 0.045,
            line_offset: 0.01,
            lead: 0.005,
            zero_rocker: 1.8,
            lengths: Some([0.2, 0.34]),
        },
        Drawing::ActuatorPoints { points: actuator, lengths: None },
        Drawing::PlanarSlider {
            ground: 0.2,
            coupler: 0.09,
            rocker: 0.045,
            guide: [0.0, 0.0675],
            direction: 0.02,
            lead: 0.004,
            zero_rocker: 1.6,
            nut: 0.1,
        },
        Drawing::SliderPoints { points: slider, nut: 0.1 },
    ]
}

#[test]
fn the_build_of_the_drawn_sizes_moves_as_the_drive_does() {
    for drawing in drawings() {
        let sizes: Vec<f64> = drawing.sizes().iter().map(|size| size.value).collect();
        let built = drawing.built(&sizes).unwrap();
        let drive = drawing.drive().unwrap();
        for joint in [-0.3, 0.0, 0.2] {
            let (reached, ratio) = built.at(joint).unwrap();
            let wanted = drive.motion(joint).unwrap().ratio;
            assert!((ratio / wanted - 1.0).abs() < 1e-12, "{drawing:?} {joint}");
            let pose = drive.rods(joint).unwrap()[0];
            assert!((pose.reached.length - reached.length).abs() < 1e-14, "{drawing:?} {joint}");
            let apart = pose.reached.pin - reached.pin;
            assert!(apart.length() < 1e-14, "{drawing:?} {joint}");
        }
    }
}

#[test]
fn a_series_is_drawn_by_the_sizes_of_its_stages() {
    let belt = Drawing::FixedRatio(FixedRatio(-2.5));
    let series = Drawing::Series(vec![belt, drawings().remove(0)]);
    let sizes = series.sizes();
    assert_eq!(sizes.len(), 9);
    assert_eq!([sizes[0].stage, sizes[1].stage], [0, 1]);
    let drive = series.drive().unwrap();
    assert!(matches!(drive, JointDrive::Series(_)));
    let alone = drawings().remove(0).drive().unwrap().motion(0.2).unwrap().ratio;
    assert!((drive.motion(0.2).unwrap().ratio / alone + 2.5).abs() < 1e-13);
}
