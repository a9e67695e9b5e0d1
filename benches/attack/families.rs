//! Families of designs, drawn at random and aimed at where a proof may go wrong.

use super::closed_form::Bars;
use super::drawing::{By, Drawing, Geometry};
use super::fingers::{self, finger};
use super::random::Random;
use super::sheet::{geometry, written};

/// The classes, each as likely as the number beside it.
const CLASSES: [(&str, u32); 14] = [
    ("realistic", 16),
    ("short_crank", 10),
    ("tie", 14),
    ("near_limit", 14),
    ("near_equal", 6),
    ("change_point", 6),
    ("dead_point", 5),
    ("crank_limit", 6),
    ("antiparallelogram", 4),
    ("kite", 4),
    ("long_stroke", 3),
    ("away_from_zero", 5),
    ("wide_box", 5),
    ("pivots", 8),
];
/// Sizes drawn outside their own limits.
pub const OUTSIDE: &str = "drawn_outside";

/// A linkage in its zero pose: ground, crank, coupler, rocker in mm, crank angle in deg, side.
#[derive(Clone, Copy, Debug)]
pub struct Base {
    pub bars: [f64; 4],
    pub zero: f64,
    pub side: f64,
}

/// What is drawn: a design, and what its limits are still to be fitted to.
#[derive(Clone, Debug)]
pub struct Drawn {
    pub drawing: Drawing,
    pub fit: Option<Fit>,
}

/// Where limits are to stand: share and hair of the worst of each figure found.
#[derive(Clone, Copy, Debug)]
pub struct Fit(pub [Option<[f64; 2]>; 5]);

/// Which classes are drawn besides.
#[derive(Clone, Copy, Debug, Default)]
pub struct Choice {
    /// Sizes that lie outside their own limits too.
    pub outside: bool,
    /// Fingers alone.
    pub fingers: bool,
}

fn class(random: &mut Random, choice: Choice) -> &'static str {
    let extra = if choice.outside { 10 } else { 0 };
    let joints = CLASSES.into_iter().chain([(OUTSIDE, extra)]).filter(|_| !choice.fingers);
    let all = fingers::CLASSES.into_iter().chain(joints);
    let total: u32 = all.clone().map(|(_, weight)| weight).sum();
    let mut left = random.within(0.0, f64::from(total));
    for (name, weight) in all {
        left -= f64::from(weight);
        if left < 0.0 {
            return name;
        }
    }
    OUTSIDE
}

impl Base {
    fn bars(&self) -> Bars<f64> {
        Bars::of(self.bars)
    }

    fn rocker(&self, turn: f64) -> Option<f64> {
        let crank = (self.zero + turn).to_radians();
        self.bars().pose(crank, self.side).map(|p| p.rocker.to_degrees())
    }

    fn rate(&self, turn: f64) -> Option<f64> {
        let crank = (self.zero + turn).to_radians();
        self.bars().pose(crank, self.side).map(|p| p.velocity_ratio)
    }

    /// How far the crank can turn one way, deg, at most `most`: to a crank limit or (for a joint stroke) a dead point.
    fn reach(&self, direction: f64, dead_points_end: bool, most: f64) -> f64 {
        let first = self.rate(0.0).unwrap_or(0.0);
        let fine =
            |turn: f64| self.rate(turn).is_some_and(|rate| !dead_points_end || rate * first > 0.0);
        let (mut turn, mut step) = (0.0, 0.5);
        while turn < most && step > 1e-9 {
            if fine(direction * (turn + step)) { turn += step } else { step *= 0.5 }
        }
        turn
    }

    /// The smallest transmission angle over a range of turns, deg.
    fn transmission(&self, turn: f64) -> f64 {
        let crank = (self.zero + turn).to_radians();
        self.bars().pose(crank, self.side).map_or(0.0, |p| p.transmission_angle.to_degrees())
    }
}

fn rounded(x: f64, digits: usize) -> f64 {
    format!("{x:.digits$}").parse().unwrap_or(x)
}

/// A base of the class that closes in its zero pose.
fn base(random: &mut Random, class: &str) -> Option<Base> {
    let ground = random.log_within(20.0, 500.0);
    let crank = ground * crank_share(random, class);
    let side = random.sign();
    let zero = random.sign() * zero_crank(random, class);
    let bars = lengths(random, class, ground, crank);
    let digits = random.pick(&[0, 1, 2, 3]);
    let bars = bars.map(|size| rounded(size, if class == "near_equal" { 5 } else { digits }));
    let zero = rounded(zero, random.pick(&[0, 0, 1, 3]));
    let base = Base { bars, zero, side };
    let closes = bars.iter().all(|size| *size > 0.5) && base.rocker(0.0).is_some();
    // A parallelogram is the assembly with the parallel rocker; its other one is the antiparallelogram.
    let side = match class {
        "antiparallelogram" => against(&base)?,
        "realistic" | "short_crank" | "change_point" | "near_equal" | "jaw" | "jaw_tie"
        | "jaw_toggle" | "jaw_pivots" => along(&base)?,
        _ => side,
    };
    closes.then_some(Base { side, ..base })
}

fn crank_share(random: &mut Random, class: &str) -> f64 {
    match class {
        "short_crank" => random.log_within(0.02, 0.12),
        "antiparallelogram" | "long_stroke" => random.log_within(0.1, 4.0),
        "dead_point" => random.log_within(0.1, 0.6),
        "near_equal" => random.pick(&[0.3, 1.0, 1.0]),
        _ if class.starts_with("jaw") => random.log_within(0.5, 4.0),
        _ => random.log_within(0.08, 0.5),
    }
}

fn zero_crank(random: &mut Random, class: &str) -> f64 {
    match class {
        "change_point" => random.pick(&[15.0, 30.0, 150.0, 170.0, 60.0]),
        "realistic" | "short_crank" | "jaw" | "jaw_tie" => random.within(40.0, 140.0),
        _ => random.within(5.0, 175.0),
    }
}

fn lengths(random: &mut Random, class: &str, ground: f64, crank: f64) -> [f64; 4] {
    let parallel = [ground, crank, ground, crank];
    let near = |share: f64, random: &mut Random| {
        parallel.map(|size| size * (1.0 + random.within(-share, share)))
    };
    let general =
        [ground, crank, ground * random.within(0.6, 1.4), crank * random.log_within(0.5, 2.0)];
    match class {
        "realistic" | "tie" | "near_limit" | "short_crank" | "away_from_zero" | "wide_box"
        | "pivots" | OUTSIDE => match random.pick(&[0, 1, 2]) {
            0 => parallel,
            1 => near(0.02, random),
            _ => general,
        },
        "near_equal" => near(random.pick(&[1e-6, 1e-5, 1e-4, 1e-3]), random),
        "jaw" | "jaw_tie" | "jaw_toggle" | "jaw_pivots" => {
            near(random.pick(&[0.0, 0.0, 1e-4, 1e-3, 0.02, 0.2]), random)
        }
        "change_point" => near(random.pick(&[0.0, 0.0, 1e-5, 1e-3]), random),
        "antiparallelogram" => parallel,
        "kite" if random.chance(0.5) => [ground, crank, crank, ground],
        "kite" => {
            let other = ground * random.within(0.3, 2.0);
            [ground, ground, other, other]
        }
        "long_stroke" => {
            let [b, c] = [random.within(1.5, 3.0), random.within(1.5, 3.0)];
            [ground, ground * random.within(1.5, 3.0), ground * b, ground * c]
        }
        "dead_point" => [ground, crank, ground * random.within(0.7, 1.2), 1.5 * crank],
        _ => general,
    }
}

/// The side with the larger (or the smaller) velocity ratio.
fn along(base: &Base) -> Option<f64> {
    let rate = |side: f64| Base { side, ..*base }.rate(0.0);
    Some(if rate(1.0)? > rate(-1.0)? { 1.0 } else { -1.0 })
}

fn against(base: &Base) -> Option<f64> {
    Some(-along(base)?)
}

/// Motor turns of the stroke, deg.
fn stroke(random: &mut Random, class: &str, base: &Base, by: By) -> [f64; 2] {
    let most = if class == "long_stroke" { 900.0 } else { 340.0 };
    let dead = by == By::Joint || random.chance(0.8);
    let dead = dead && !(class == "dead_point" && by == By::Motor);
    let [below, above] = [-1.0, 1.0].map(|way| base.reach(way, dead, most));
    let near_end = |random: &mut Random, reach: f64| {
        let gap = random.log_within(1e-4, 20.0);
        (reach - gap).max(0.3 * reach)
    };
    match class {
        "crank_limit" | "change_point" | "kite" | "dead_point" | "jaw_wild" => {
            let ends = [below, above].map(|reach| near_end(random, reach).min(170.0));
            if random.chance(0.5) { [-0.2 * ends[0], ends[1]] } else { [-ends[0], 0.2 * ends[1]] }
        }
        "away_from_zero" => {
            let (way, reach) = random.pick(&[(-1.0, below), (1.0, above)]);
            let far = 0.9 * reach.min(100.0);
            let (x, y) = (random.within(0.05, 0.5) * far, random.within(0.6, 1.0) * far);
            if way < 0.0 { [-y, -x] } else { [x, y] }
        }
        "long_stroke" => [-random.unit() * 0.9 * below, random.unit() * 0.9 * above],
        "short_crank" => {
            let half = random.log_within(1.0, 50.0);
            [-half.min(0.9 * below), half.min(0.9 * above)]
        }
        _ => {
            let width = random.within(10.0, 110.0);
            let place = random.unit();
            let wanted = [width * place, width * (1.0 - place)];
            let floor = if class == "realistic" { 20.0 } else { 2.0 };
            let cut = |end: f64, way: f64, reach: f64| {
                let mut end = end.min(0.95 * reach);
                while end > 0.5 && base.transmission(way * end) < floor {
                    end *= 0.9;
                }
                end
            };
            [-cut(wanted[0], -1.0, below), cut(wanted[1], 1.0, above)]
        }
    }
}

fn is_toleranced(random: &mut Random, class: &str) -> bool {
    let share = match class {
        "realistic" | "wide_box" | OUTSIDE => 1.0,
        "short_crank" => 0.8,
        _ => 0.6,
    };
    random.chance(share)
}

/// The next design of the seed.
pub fn draw(random: &mut Random, choice: Choice) -> Drawn {
    loop {
        let class = class(random, choice);
        if let Some(drawn) = draw_of(random, class) {
            return drawn;
        }
    }
}

/// A design of this class, if this attempt makes one.
pub fn draw_of(random: &mut Random, class: &'static str) -> Option<Drawn> {
    let base = base(random, class)?;
    let by = if random.chance(0.5) { By::Joint } else { By::Motor };
    let away = random.chance(0.2);
    let sense = if away { -1.0 } else { 1.0 };
    let motor = stroke(random, class, &base, by);
    if motor[1] - motor[0] < 0.2 {
        return None;
    }
    let reads = [0, 1].map(|_| {
        let reading = if random.chance(0.8) { 0.0 } else { random.within(-90.0, 90.0).round() };
        written(reading, 0)
    });
    let start = base.rocker(0.0)?;
    let joint = motor.map(|turn| base.rocker(turn).map(|psi| psi - start));
    let joint = [joint[0]?, joint[1]?];
    let (turns, read) = if by == By::Motor { (motor, &reads[0]) } else { (joint, &reads[1]) };
    let read: f64 = read.parse().ok()?;
    let digits = random.pick(&[1, 2, 4, 7]);
    let mut ends = turns.map(|turn| read + sense * turn);
    ends.sort_by(f64::total_cmp);
    let stroke = ends.map(|end| written(end, digits));
    if stroke[0].parse::<f64>().ok()? >= stroke[1].parse::<f64>().ok()? {
        return None;
    }
    let toleranced = is_toleranced(random, class);
    let geometry = geometry(random, class, &base, (sense, toleranced), start);
    let drawn = toleranced
        || matches!(&geometry, Geometry::Lengths { crank, .. } if crank.deviations.is_some());
    let fit = fit(random, class);
    let mean = (motor[1] - motor[0]) / (joint[1] - joint[0]);
    let given = random.chance(if fit.is_some() { 0.5 } else { 0.3 });
    let own = |random: &mut Random, low: f64, high: f64| {
        random.chance(0.2).then(|| format!("{:.4e}", random.log_within(low, high)))
    };
    let on_sheet = motor.map(|turn| sense * (base.zero + turn));
    let finger = finger(random, class, base.bars[1], on_sheet);
    let is_jaw = finger.as_ref().is_some_and(|finger| finger.on == "coupler");
    let drawing = Drawing {
        class,
        away,
        geometry,
        reads,
        set_by: drawn.then(|| random.pick(&["jig", "drawing"])),
        by,
        stroke,
        ratio: (given && !is_jaw).then(|| ratio(random, mean)).flatten(),
        offset: (!is_jaw && random.chance(0.3)).then(|| offset(random)),
        preset: random.pick(&["invisible", "training", "coarse"]),
        angle: own(random, 1e-4, 0.5),
        ratio_limit: own(random, 0.05, 60.0),
        transmission: own(random, 0.02, 1.2),
        over: (drawn && random.chance(0.1)).then_some("nominal"),
        finger,
    };
    Some(Drawn { drawing, fit })
}

fn fit(random: &mut Random, class: &str) -> Option<Fit> {
    let room = |random: &mut Random, figure: usize| {
        let share = random.log_within(1.02, 3.0);
        Some([if figure == 2 { 1.0 / share } else { share }, 0.0])
    };
    let mut all = [0, 1, 2, 3, 4].map(|figure| room(random, figure));
    let figures: &[usize] = if class == "jaw_tie" { &[0, 1, 2, 3, 4] } else { &[0, 1, 2] };
    let aimed = random.pick(figures);
    match class {
        "tie" | "jaw_tie" => {
            let hair = random.sign() * random.pick(&[0.0, 1e-12, 1e-10, 3e-10, 2e-9, 1e-8]);
            all[aimed] = Some([1.0, hair]);
        }
        "near_limit" => all[aimed] = Some([1.0 + random.within(-0.03, 0.03), 0.0]),
        "realistic" => return None,
        _ if random.chance(0.5) => return None,
        _ => {}
    }
    Some(Fit(all))
}

fn ratio(random: &mut Random, mean: f64) -> Option<String> {
    let close = mean * (1.0 + random.within(-0.01, 0.01));
    let text = written(close, random.pick(&[1, 2, 3, 6]));
    let value: f64 = text.parse().ok()?;
    (value.abs() > 1e-3).then_some(text)
}

fn offset(random: &mut Random) -> String {
    if random.chance(0.6) { "best".to_owned() } else { written(random.within(-0.3, 0.3), 3) }
}
