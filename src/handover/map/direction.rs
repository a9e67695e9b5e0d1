//! One direction of a map: the core's lines, what each joint reads before and behind them, and what is certified of it.

use std::f64::consts::PI;

use super::approximation::{Approximation, Transfer};
use super::core::{self, GIVEN, RATE, TURN};
use super::expression::{Expression, Line, Numbers, constant, line, name};
use super::number::Number;
use super::rounding::{Bounded, Rounding};
use super::{Beyond, MapFault, MapForm};
use crate::linkage::{self, FourBar};
use crate::numeric::{Interval, evenly};

/// What one end of a joint reads.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct End {
    /// In the zero pose, rad.
    pub(super) in_zero: f64,
    /// +1, or −1 where the reading falls as the turn rises.
    pub(super) sense: f64,
}

impl End {
    pub(super) fn reading(self, turn: f64) -> f64 {
        self.in_zero + self.sense * turn
    }

    /// The turn at the reading `read`.
    pub(super) fn turn(self, read: Expression) -> Expression {
        match (self.in_zero == 0.0, self.sense > 0.0) {
            (true, true) => read,
            (true, false) => -read,
            (false, true) => read - constant(self.in_zero),
            (false, false) => constant(self.in_zero) - read,
        }
    }

    /// The reading at the turn `turn`.
    pub(super) fn read(self, turn: Expression) -> Expression {
        match (self.in_zero == 0.0, self.sense > 0.0) {
            (true, true) => turn,
            (true, false) => -turn,
            (false, true) => constant(self.in_zero) + turn,
            (false, false) => constant(self.in_zero) - turn,
        }
    }
}

/// The reading that a wrapper is given.
pub(super) const READING: &str = "reading";
/// The same held within the stroke.
pub(super) const HELD: &str = "held";
/// The reading that is asked for.
pub(super) const RESULT: &str = "result";

/// From one end's reading to the other's, around the core.
#[derive(Clone, Debug)]
pub(super) struct Wrapper {
    /// Readings between which the code follows the linkage, ascending, numbers of the code's own kind.
    pub(super) within: [f64; 2],
    /// From [`READING`] to the core's turn.
    pub(super) before: Vec<Line>,
    /// From the core's turn and rate to [`RESULT`] and the rate of readings.
    pub(super) behind: Vec<Line>,
}

impl Wrapper {
    pub(super) fn new(given: End, asked: End, turns: [f64; 2], ask: &Choice) -> Self {
        let mut ends = turns.map(|turn| given.reading(turn));
        ends.sort_by(f64::total_cmp);
        let [low, high] = ends;
        // Numbers inside the stroke: rounding never leaves it.
        let within = [ask.number.above(low), ask.number.below(high)];
        let before = vec![
            line(HELD, Expression::Held(READING, within)),
            line(GIVEN, given.turn(name(HELD))),
        ];
        let same_way = given.sense * asked.sense > 0.0;
        let rate = (!same_way).then(|| line(RATE, -name(RATE)));
        let held = asked.read(name(TURN));
        let result = match ask.beyond {
            Beyond::Hold => held,
            Beyond::Tangent => held + name(RATE) * (name(READING) - name(HELD)),
        };
        Self { within, before, behind: rate.into_iter().chain([line(RESULT, result)]).collect() }
    }
}

/// What was chosen for the code.
#[derive(Clone, Copy, Debug)]
pub(super) struct Choice {
    pub(super) number: Number,
    pub(super) form: MapForm,
    pub(super) beyond: Beyond,
    /// Largest certified error wanted, rad.
    pub(super) within: Option<f64>,
}

/// What certainly holds of a reading that the code gives, over the stroke.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Certified {
    /// Of the polynomial against the linkage, and of the digits that the code's own figures have, rad.
    pub(super) approximation: f64,
    /// Of the code's arithmetic, rad.
    pub(super) rounding: f64,
    /// Of the rate, both together, as a share of the linkage's own; `None` where the rate goes through 0.
    pub(super) rate: Option<f64>,
}

impl Certified {
    pub(super) fn total(&self) -> f64 {
        (self.approximation + self.rounding) * (1.0 + f64::EPSILON)
    }
}

/// One direction for every joint of the drawing.
#[derive(Clone, Debug)]
pub(super) struct Direction {
    /// Degree of the polynomial; `None` for the closed form.
    pub(super) degree: Option<usize>,
    pub(super) core: Vec<Line>,
    /// One for each joint.
    pub(super) wrappers: Vec<Wrapper>,
    pub(super) certified: Certified,
}

/// No code is written whose error is not certified to be within this, rad, where nothing else is asked: 0.01 deg.
pub(super) const USUAL: f64 = 0.01 * PI / 180.0;

/// The largest degree that is tried.
const LARGEST_DEGREE: u32 = 25;

/// Without a wish the polynomial may add this share of what rounding does.
const SMALL_BESIDE_ROUNDING: f64 = 0.125;

/// No degree is wanted that brings an error below this, rad: it could not be certified.
const LEAST: f64 = 1e-12;

impl Direction {
    /// Of a planar four-bar. `ends` are given and asked end of every joint; `is_same` where the turn is the other end's own.
    pub(super) fn new(
        transfer: &linkage::Transfer,
        turns: [f64; 2],
        ends: &[(End, End)],
        is_same: bool,
        choice: &Choice,
    ) -> Result<Self, MapFault> {
        let own_digits = own_digits(transfer, turns);
        let made = Maker::new((transfer, own_digits), turns, ends, choice);
        let direction = if is_same {
            made.approximated(&Approximation::same_turn())?
        } else {
            match choice.form {
                MapForm::Formula => made.closed_form(transfer)?,
                MapForm::Polynomial => made.of_least_degree(choice.within)?,
            }
        };
        direction.within(choice)
    }

    /// By a polynomial, of whatever drive; `own_digits` are as of a [`ClosedForm`].
    pub(super) fn of_polynomial(
        (transfer, own_digits): (&dyn Transfer, [f64; 2]),
        turns: [f64; 2],
        ends: &[(End, End)],
        choice: &Choice,
    ) -> Result<Self, MapFault> {
        let made = Maker::new((transfer, own_digits), turns, ends, choice);
        made.of_least_degree(choice.within)?.within(choice)
    }

    /// Itself, where it is as close as was asked.
    fn within(self, choice: &Choice) -> Result<Self, MapFault> {
        let (wanted, reached) = (choice.within.unwrap_or(USUAL), self.certified.total());
        if reached > wanted {
            return Err(MapFault::NotWithin { wanted, reached, degree: self.degree });
        }
        Ok(self)
    }
}

struct Maker<'a> {
    transfer: &'a dyn Transfer,
    /// What the digits of the drive's figures do to the turn, rad, and to the rate, as a share.
    own_digits: [f64; 2],
    turns: [f64; 2],
    wrappers: Vec<Wrapper>,
    number: Number,
}

/// Turns from here on leave the range of an angle between two directions, rad.
pub(super) const HALF_TURN: f64 = PI - 1e-6;

impl<'a> Maker<'a> {
    fn new(
        (transfer, own_digits): (&'a dyn Transfer, [f64; 2]),
        turns: [f64; 2],
        ends: &[(End, End)],
        choice: &Choice,
    ) -> Self {
        let wrappers =
            ends.iter().map(|(given, asked)| Wrapper::new(*given, *asked, turns, choice)).collect();
        Self { transfer, own_digits, turns, wrappers, number: choice.number }
    }

    fn closed_form(&self, transfer: &linkage::Transfer) -> Result<Direction, MapFault> {
        let ([from, to], sense) = (self.turns, transfer.sense());
        // Furthest at an end, or where the asked end turns back in between.
        let back = transfer
            .branch()
            .dead_turns((sense * from).min(sense * to), (sense * from).max(sense * to));
        let poses = [from, to].into_iter().chain(back.into_iter().map(|turn| sense * turn));
        let reached = poses.map(|turn| transfer.at(turn).unwrap_or(f64::INFINITY));
        let furthest = reached.max_by(|a, b| a.abs().total_cmp(&b.abs()));
        if let Some(turn) = furthest.filter(|turn| turn.abs() >= HALF_TURN) {
            return Err(MapFault::TurnsTooFar { turn });
        }
        self.direction(core::closed_form(transfer), None, 0.0, Some(0.0))
    }

    fn approximated(&self, fit: &Approximation) -> Result<Direction, MapFault> {
        let error = fit.largest_error(self.transfer, self.turns).ok_or(MapFault::NotCertified)?;
        let rate = fit.largest_rate_error(self.transfer, self.turns);
        self.direction(core::polynomial(fit), Some(fit.degree()), error, rate)
    }

    /// The least degree that is certified to stay within `wanted`, or that adds little to rounding; the closest of all
    /// where there is none.
    fn of_least_degree(&self, wanted: Option<f64>) -> Result<Direction, MapFault> {
        let mut closest: Option<(f64, Approximation)> = None;
        for degree in 1..=LARGEST_DEGREE {
            let fit = |number| Approximation::of_degree(self.transfer, self.turns, degree, number);
            let written = fit(self.number);
            let rounding = self.rounding(&core::polynomial(&written), COARSE)[0];
            let seen = fit(Number::Double).seen(self.transfer, self.turns);
            let is_enough = match wanted {
                None => seen <= (SMALL_BESIDE_ROUNDING * rounding).max(LEAST),
                // Rounding over coarse pieces is a bound already.
                Some(wanted) if seen < wanted => {
                    let error = written.largest_error(self.transfer, self.turns);
                    error.is_some_and(|error| error + rounding <= wanted)
                }
                Some(_) => false,
            };
            if is_enough {
                return self.approximated(&written);
            }
            if closest.as_ref().is_none_or(|(least, _)| seen < *least) {
                closest = Some((seen, written));
            }
        }
        closest.ok_or(MapFault::NotCertified).and_then(|(_, fit)| self.approximated(&fit))
    }

    fn direction(
        &self,
        core: Vec<Line>,
        degree: Option<usize>,
        approximation: f64,
        rate: Option<f64>,
    ) -> Result<Direction, MapFault> {
        let [rounding, of_rate] = self.rounding(&core, FINE);
        if !rounding.is_finite() {
            return Err(MapFault::NotCertified);
        }
        let [own, own_rate] = self.own_digits;
        let approximation = approximation + own;
        let rate = rate.map(|share| share + of_rate + own_rate).filter(|share| share.is_finite());
        let certified = Certified { approximation, rounding, rate };
        Ok(Direction { degree, core, wrappers: self.wrappers.clone(), certified })
    }

    fn rounding(&self, core: &[Line], pieces: u32) -> [f64; 2] {
        let slowest =
            |turn: Interval, _| self.transfer.rates_over(turn).map(|rates| rates[0].mignitude());
        rounding(&self.wrappers, self.number, core, pieces, &slowest)
    }
}

/// What the digits of the figures that the code is made from do to the turn, rad, and to the rate, as a share: lengths
/// as shares of the ground, the directions of the zero pose and what is made of them carry a few roundings each. From
/// slopes at poses of the stroke, and twice that for what lies between.
fn own_digits(transfer: &linkage::Transfer, turns: [f64; 2]) -> [f64; 2] {
    let branch = transfer.branch();
    let FourBar { ground, crank, coupler, rocker } = *branch.bars();
    let sizes = [crank, coupler, rocker, ground, PI];
    let at = |turn: f64| {
        let pose = branch.pose(transfer.sense() * turn).ok()?;
        let moved = |slopes: [f64; 5]| {
            slopes.into_iter().zip(sizes).map(|(slope, size)| (slope * size).abs()).sum::<f64>()
        };
        let of_rate = moved(pose.ratio_slopes()) / pose.velocity_ratio().abs();
        Some([PI + moved(pose.rocker_slopes()), of_rate])
    };
    let most = |a: [f64; 2], b: [f64; 2]| [a[0].max(b[0]), a[1].max(b[1])];
    let worst = evenly(turns, COARSE).filter_map(at).fold([0.0; 2], most);
    worst.map(|moved| 2.0 * FEW_ROUNDINGS * moved)
}

/// What rounding does at most: to a reading, rad, and to the rate, as a share; infinite where that is not known. `slowest`
/// is the least size of the rate over a range of turns, from that range and the code's own rate over it.
fn rounding(
    wrappers: &[Wrapper],
    number: Number,
    core: &[Line],
    pieces: u32,
    slowest: &dyn Fn(Interval, Bounded) -> Option<f64>,
) -> [f64; 2] {
    let over_piece = |wrapper: &Wrapper, over: Bounded| {
        let numbers = Rounding(number);
        let mut known = vec![(READING, over)];
        for lines in [&wrapper.before[..], core, &wrapper.behind[..]] {
            numbers.run(lines, &mut known)?;
        }
        let turn = known.iter().find(|(name, _)| *name == GIVEN)?.1;
        let [result, rate] = [RESULT, RATE].map(|of| numbers.value(&name(of), &known));
        let (result, rate) = (result?, rate?);
        let slowest = slowest(turn.exact, rate)?;
        Some([result.error, if slowest > 0.0 { rate.error / slowest } else { f64::INFINITY }])
    };
    let mut worst = [0.0_f64; 2];
    for wrapper in wrappers {
        let edges: Vec<f64> = evenly(wrapper.within, pieces).collect();
        for (from, to) in edges.iter().zip(edges.iter().skip(1)) {
            let over = Bounded::input(Interval::new(*from, *to));
            let here = over_piece(wrapper, over).unwrap_or([f64::INFINITY; 2]);
            worst = [worst[0].max(here[0]), worst[1].max(here[1])];
        }
    }
    worst
}

/// A closed form with what is known of it beside its lines.
#[derive(Clone, Debug)]
pub(super) struct ClosedForm {
    pub(super) core: Vec<Line>,
    /// The furthest turn that is asked for, rad, where the form tells half a turn only.
    pub(super) furthest: Option<f64>,
    /// What the digits of its figures do to the turn, rad, and to the rate, as a share.
    pub(super) own_digits: [f64; 2],
}

impl Direction {
    /// The same by a closed form of whatever drive.
    pub(super) fn of_closed_form(
        form: ClosedForm,
        turns: [f64; 2],
        ends: &[(End, End)],
        choice: &Choice,
    ) -> Result<Self, MapFault> {
        if let Some(turn) = form.furthest.filter(|turn| turn.abs() >= HALF_TURN) {
            return Err(MapFault::TurnsTooFar { turn });
        }
        let wrappers: Vec<Wrapper> =
            ends.iter().map(|(given, asked)| Wrapper::new(*given, *asked, turns, choice)).collect();
        let slowest = |_, rate: Bounded| Some(rate.exact.mignitude());
        let found = rounding(&wrappers, choice.number, &form.core, FINE, &slowest);
        let [rounding, of_rate] = found;
        if !rounding.is_finite() {
            return Err(MapFault::NotCertified);
        }
        let [approximation, own_rate] = form.own_digits;
        let rate = Some(of_rate + own_rate).filter(|share| share.is_finite());
        let certified = Certified { approximation, rounding, rate };
        Self { degree: None, core: form.core, wrappers, certified }.within(choice)
    }
}

/// As a share.
pub(super) const FEW_ROUNDINGS: f64 = 4.0 * 0.5 * f64::EPSILON;

/// Pieces of the stroke that rounding is bounded over, for the figure that is told.
const FINE: u32 = 512;

/// While the degree is looked for.
pub(super) const COARSE: u32 = 64;
