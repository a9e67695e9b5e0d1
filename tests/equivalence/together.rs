//! Several joints of one drawing: each on its own links, and all that hang on one.

use unloop::dynamics::{
    Certificate, DriveOnCarrier, DynamicsFault, Fidelity, MeasuredOver, MonotoneStroke, Together,
    shared_carrier, together,
};
use unloop::linkage::FourBar;
use unloop::numeric::Interval;
use unloop::study::{self, Check, Mechanism};

use crate::hung::{self, Hung};

const TWO_HIPS: &str = include_str!("../data/two_hips_on_a_pelvis.toml");

/// A design with all that its robots weigh.
struct Found {
    mechanism: Mechanism,
    check: Check,
    each: Vec<Hung>,
}

fn found(text: &str) -> Found {
    let design = unloop::design::parse("d.toml", text).unwrap_or_else(|r| panic!("{r}")).0;
    let mechanism = Mechanism::of(&design).unwrap();
    let check = study::check_on(&design, &mechanism).unwrap();
    let each = hung::each(&design, &check);
    Found { mechanism, check, each }
}

impl Found {
    fn stroke(&self) -> MonotoneStroke<'_> {
        MonotoneStroke::over(&self.mechanism.branch, self.mechanism.stroke).unwrap()
    }

    fn together(&self, order: &[usize]) -> Together {
        let stroke = self.stroke();
        let drive = |k: &usize| {
            let robot = &self.each[*k];
            let stand_in = &robot.replacement.tree;
            DriveOnCarrier {
                frame: robot.frame.unwrap(),
                stroke: &stroke,
                masses: &robot.masses,
                stand_in,
            }
        };
        together(&order.iter().map(drive).collect::<Vec<_>>()).unwrap()
    }
}

fn spatial(fidelity: &Fidelity) -> f64 {
    fidelity.spatial.unwrap().value
}

#[test]
fn two_hips_on_one_pelvis_are_further_off_together_than_each_alone() {
    // Measured once in a physics engine (mass matrices of both closed loops on one pelvis against the file's): 4.03 % for each
    // alone, 5.32 % for both.
    let found = found(TWO_HIPS);
    for robot in &found.each {
        assert!((spatial(&robot.fidelity) - 0.0403).abs() < 5e-5, "{:?}", robot.fidelity);
    }
    let inertia = found.check.inertia.as_ref().unwrap();
    let [pelvis] = &inertia.together[..] else { panic!("{:?}", inertia.together) };
    assert_eq!((pelvis.link.as_str(), pelvis.joints.len()), ("pelvis", 2));
    assert_eq!(pelvis.over, MeasuredOver::Space);
    assert!((pelvis.error - 0.0532).abs() < 5e-5, "{pelvis:?}");
    assert!((pelvis.error - found.together(&[0, 1]).value).abs() < 1e-12);
    let each = found.each.iter();
    let placed: Vec<_> = each.map(|r| (r.frame.unwrap(), &r.masses, &r.replacement)).collect();
    assert_eq!(shared_carrier(&placed).unwrap().check(), Ok(()));
}

#[test]
fn the_order_of_the_joints_on_a_link_changes_no_figure() {
    let found = found(TWO_HIPS);
    let (there, back) = (found.together(&[0, 1]), found.together(&[1, 0]));
    assert!((there.value - back.value).abs() < 1e-9 * there.value, "{there:?} {back:?}");
}

#[test]
fn no_pair_of_poses_is_further_off_than_the_figure_for_both() {
    // Beside a plain search over 21 by 21 poses, by pairs of strokes of one pose each.
    let found = found(TWO_HIPS);
    let figure = found.together(&[0, 1]).value;
    let branch = &found.mechanism.branch;
    let [from, to] = found.mechanism.stroke.motor;
    let at = |k: u32| from + (to - from) * f64::from(k) / 20.0;
    let mut worst = 0.0_f64;
    for (one, other) in (0..=20).flat_map(|k| (0..=20).map(move |l| (at(k), at(l)))) {
        let pinned = |turn: f64| {
            let joint = branch.joint_turn(turn).unwrap();
            let stroke = unloop::linkage::Stroke { motor: [turn, turn], joint: [joint, joint] };
            MonotoneStroke::over(branch, stroke).unwrap()
        };
        let courses = [pinned(one), pinned(other)];
        let drives = [0, 1].map(|k| {
            let robot = &found.each[k];
            DriveOnCarrier {
                frame: robot.frame.unwrap(),
                stroke: &courses[k],
                masses: &robot.masses,
                stand_in: &robot.replacement.tree,
            }
        });
        worst = worst.max(together(&drives).unwrap().value);
    }
    assert!(worst <= figure * (1.0 + 1e-9), "{worst} beside {figure}");
    assert!(worst > 0.99 * figure, "{worst} beside {figure}");
}

#[test]
fn certificates_with_a_share_of_the_carrier_bound_all_drives_on_it() {
    let found = found(TWO_HIPS);
    let figure = found.together(&[0, 1]).value;
    let [ground, crank, coupler, rocker] = {
        let bars = found.mechanism.branch.bars();
        [bars.ground, bars.crank, bars.coupler, bars.rocker].map(Interval::point)
    };
    let bounds = found.each.iter().map(|robot| {
        let masses = robot.masses.sharing_carrier(2);
        let replacement = robot.replacement.on(&masses);
        let certificate = Certificate {
            branch: &found.mechanism.branch,
            masses: &masses,
            replacement: &replacement,
            over: MeasuredOver::Space,
            bars: FourBar { ground, crank, coupler, rocker },
            crank_error: Interval::ZERO,
        };
        certificate.bound(found.mechanism.stroke.motor, 1.02 * figure, 1.0).unwrap()
    });
    let bound = bounds.fold(0.0, f64::max);
    println!("together {figure:.5}, bound {bound:.5}");
    assert!(bound >= figure, "{bound} {figure}");
    assert!(bound < 2.0 * figure, "{bound} {figure}");
}

#[test]
fn a_pelvis_that_has_enough_for_one_hip_but_not_for_sixty_is_named() {
    // Each rotor's share takes J n = 8e-4 kg m² from a pelvis of 0.04 kg m².
    let found = found(TWO_HIPS);
    let robot = &found.each[0];
    let one = (robot.frame.unwrap(), &robot.masses, &robot.replacement);
    assert!(shared_carrier(&[one]).is_ok());
    let fault = shared_carrier(&[one; 60]).unwrap_err();
    assert!(matches!(fault, DynamicsFault::NoRealBody { body: "carrier", .. }), "{fault:?}");
}
