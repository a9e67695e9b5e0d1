//! Fingers and their counter-turning pairs in a general-purpose physics engine (MuJoCo): mass matrices of one finger and of
//! two on one palm, and a push from outside with the palm free to move.

use nalgebra::{Isometry3, SMatrix};
use serde_json::{Value, json};
use unloop::dynamics::{
    CounterPair, CrankStroke, DriveOnCarrier, Masses, Matrix7, StandIn, mass_matrix_by,
    mirrored_place, shared_carrier, tied,
};
use unloop::linkage::{Branch, Drive, FourBar};

use crate::engine::{body, matrix, measured};
use crate::fingers::{FINGER, branch, masses, on, speeds_at};

const TURNS: [f64; 2] = [-0.5, 0.6];

/// A finger, or a finger and its mirror image, on one palm.
struct Case {
    name: &'static str,
    branch: Branch,
    rate: f64,
    fingers: Vec<(Isometry3<f64>, Masses)>,
    moves: bool,
}

impl Case {
    fn new(name: &'static str, bars: FourBar, rocker: [f64; 3], rate: f64) -> Self {
        let fingers = vec![(Isometry3::identity(), masses(rocker))];
        Self { name, branch: branch(bars), rate, fingers, moves: false }
    }

    fn mirrored(mut self) -> Self {
        let place = mirrored_place([-0.035, 0.01], [0.9, 0.3]);
        let (_, first) = self.fingers[0];
        self.fingers.push((place, first.mirrored(&place)));
        self
    }

    fn moving(self) -> Self {
        Self { moves: true, ..self }
    }

    fn stroke(&self) -> CrankStroke<'_> {
        on(&self.branch, TURNS)
    }

    fn pairs(&self) -> Vec<CounterPair> {
        let among = u32::try_from(self.fingers.len()).unwrap();
        let pair = |(_, masses): &(Isometry3<f64>, Masses)| {
            CounterPair::among(&self.stroke(), masses, self.rate, among).unwrap()
        };
        self.fingers.iter().map(pair).collect()
    }

    fn drives<T>(&self, check: impl Fn(&[DriveOnCarrier<'_>]) -> T) -> T {
        let (stroke, pairs) = (self.stroke(), self.pairs());
        let stroke = &stroke;
        let drive = |k: usize| {
            let (frame, masses) = &self.fingers[k];
            DriveOnCarrier { frame: *frame, stroke, masses, stand_in: &pairs[k] }
        };
        check(&(0..pairs.len()).map(drive).collect::<Vec<_>>())
    }

    fn json(&self) -> Value {
        let (bars, zero) = (self.branch.bars(), self.branch.pose(0.0).unwrap());
        let pairs = self.pairs();
        let placed: Vec<_> =
            self.fingers.iter().zip(&pairs).map(|((f, m), p)| (*f, m, p)).collect();
        let palm = shared_carrier(&placed).unwrap();
        let finger = |((frame, masses), pair): (&(Isometry3<f64>, Masses), &CounterPair)| {
            let q = frame.rotation;
            let rotor = masses.rotor.map(|r| {
                json!({"inertia": r.inertia, "gear_ratio": r.gear_ratio, "in_carrier": r.in_carrier})
            });
            json!({
                "ground": bars.ground, "crank_length": bars.crank,
                "coupler_length": bars.coupler, "rocker_length": bars.rocker,
                "zero_crank": self.branch.zero_crank(), "zero_coupler": zero.coupler_angle(),
                "zero_rocker": zero.rocker_angle(),
                "crank": body(&masses.crank.unwrap()), "coupler": body(&masses.coupler.unwrap()),
                "child": body(&masses.child), "carrier": body(&masses.carrier.unwrap()), "rotor": rotor,
                "palm": body(&palm),
                "pair": {"crank": body(&pair.crank), "armature": pair.armature, "follower_rate": pair.follower_rate},
                "place": {"at": frame.translation.vector.as_slice(), "quaternion": [q.w, q.i, q.j, q.k]},
                "ends": TURNS, "turns": [TURNS[0], 0.0, 0.35], "moves": self.moves,
            })
        };
        self.fingers.iter().zip(&pairs).map(finger).collect()
    }

    /// Mass matrices of linkages and pairs at a turn, in the first carrier frame.
    fn matrices(&self, turn: f64) -> [Matrix7; 2] {
        let pose = self.branch.pose(turn).unwrap();
        let palm = self.fingers[0].1.carrier;
        let mut sums = [Matrix7::zeros(), Matrix7::zeros()];
        for ((frame, masses), pair) in self.fingers.iter().zip(self.pairs()) {
            let alone = Masses { carrier: None, ..*masses };
            let linkage = mass_matrix_by(Drive::Motor, &pose, &alone);
            let stand_in = pair.on(&alone).mass_matrix(&pose, turn);
            let speeds = speeds_at(frame);
            for (sum, matrix) in sums.iter_mut().zip([linkage, stand_in]) {
                *sum += speeds.transpose() * matrix * speeds;
            }
        }
        let rigid = unloop::dynamics::Moments::from(&palm.unwrap()).mass_matrix();
        sums.map(|sum| {
            let mut sum = sum;
            let mut block = sum.fixed_view_mut::<6, 6>(0, 0);
            block += SMatrix::<f64, 6, 6>::from(rigid);
            sum
        })
    }
}

fn cases() -> Vec<Case> {
    let off = [0.02, 0.001, 0.004];
    let long = FourBar { rocker: 0.044, ..FINGER };
    vec![
        Case::new("rocker's centre on B", FINGER, [0.0, 0.0, 0.004], -1.0).moving(),
        Case::new("rocker's centre off B", FINGER, off, -1.0).moving(),
        Case::new("long rocker", long, off, -1.05).moving(),
        Case::new("both fingers, centres on B", FINGER, [0.0, 0.0, 0.004], -1.0)
            .mirrored()
            .moving(),
        Case::new("both fingers, long rockers", long, off, -1.05).mirrored(),
    ]
}

#[test]
fn the_engine_finds_our_matrices_and_figures_of_fingers_and_moves_them_as_far_apart_as_the_figure_says()
 {
    let cases = cases();
    let input: Vec<Value> = cases.iter().map(Case::json).collect();
    let found = measured("dynamics_fingers.py", &json!(input));
    for (case, found) in cases.iter().zip(found.as_array().unwrap()) {
        hold_matrices(case, found);
        let figure = case.drives(|drives| tied(drives).unwrap().spatial.unwrap().value);
        let there = found["worst"].as_f64().unwrap();
        println!("{}: ours {figure:.9}, anywhere {there:.9}", case.name);
        assert!(there <= figure + 1e-9 && there >= 0.99 * figure - 1e-9, "{}", case.name);
        if case.moves {
            hold_motion(case, found, figure);
        }
    }
}

fn hold_matrices(case: &Case, found: &Value) {
    for (turn, row) in [TURNS[0], 0.0, 0.35].iter().zip(found["poses"].as_array().unwrap()) {
        let [linkage, pair] = case.matrices(*turn);
        for (ours, key) in [(linkage, "linkage"), (pair, "pair")] {
            let off = (ours - matrix(&row[key])).amax();
            assert!(off < 1e-10, "{}: {key} off by {off} at {turn}", case.name);
        }
        assert!(row["gap"].as_f64().unwrap() < 1e-12);
    }
}

/// All seven readings, slides in m and turns in rad.
fn hold_motion(case: &Case, found: &Value, figure: f64) {
    let list = |key: &str| -> Vec<f64> { serde_json::from_value(found[key].clone()).unwrap() };
    let (off, range) = (list("off"), list("range"));
    println!("{}: off {off:?} of {range:?}", case.name);
    assert!(range[6] > 0.3 && range[..6].iter().all(|r| *r > 1e-3), "hardly moved: {range:?}");
    for (off, range) in off.iter().zip(&range) {
        let allowed = if figure < 1e-9 { 1e-6 } else { figure * range };
        assert!(*off <= allowed, "{}: {off} beyond {allowed}", case.name);
    }
    assert!(figure < 1e-9 || off.iter().any(|off| *off > 1e-6), "{}: nothing seen", case.name);
}
