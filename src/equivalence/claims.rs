//! What has to hold, as functions over a box of linkages and poses with their exact slopes.
//!
//! A point of the box is (crank a, coupler b, rocker c, ground g, error δ of the crank in the zero pose, motor turn x).
//!
//! The slopes are those of `linkage::PoseOf::rocker_slopes` and `ratio_slopes`, less their value in the zero pose where
//! each robot is zeroed there.

use std::f64::consts::TAU;

use crate::linkage::{Branch, Closure, FourBar, Half, Pose, PoseOf};
use crate::numeric::search::{Curvatures, Objective};
use crate::numeric::{Interval, Jet, Scalar};

/// How many variables a point of the box has.
pub(super) const VARIABLES: usize = 6;
/// Index of the error of the crank in the zero pose.
pub(super) const CRANK_ERROR: usize = 4;
/// Index of the motor turn.
pub(super) const TURN: usize = 5;

/// A box of linkages and poses.
pub(super) type Domain = [Interval; VARIABLES];
/// One linkage in one pose.
pub(super) type Point = [f64; VARIABLES];

/// How each built robot gets its zero.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Zeroing {
    /// Motor and joint are zeroed where the crank stands in the zero pose, on each robot.
    OnEachRobot,
    /// The joint is zeroed where the drawing says.
    AsDrawn,
}

/// What all claims share.
#[derive(Clone, Copy, Debug)]
pub(super) struct Setting<'a> {
    /// The drawn linkage's branch.
    pub(super) branch: &'a Branch,
    /// 1 / ratio of the direct joint.
    pub(super) slope: Interval,
    /// Offset of the direct joint, rad.
    pub(super) offset: f64,
    /// How the zero is set.
    pub(super) zeroing: Zeroing,
}

impl Setting<'_> {
    /// Lengths are measured by themselves, angles in rad.
    pub(super) fn scale(&self) -> Point {
        let bars = self.branch.bars();
        [bars.crank, bars.coupler, bars.rocker, bars.ground, 1.0, 1.0]
    }

    fn closure(&self) -> Closure {
        self.branch.closure()
    }

    pub(super) fn pose(&self, over: &Domain, turn: Interval) -> Option<PoseOf<Interval>> {
        let [a, b, c, g, _, _] = *over;
        let bars = FourBar { ground: g, crank: a, coupler: b, rocker: c };
        let pose = bars.pose(Half::of_range(self.crank_angles(over, turn)), self.closure())?;
        (!pose.m.contains(0.0)).then_some(pose)
    }

    /// The crank angles of `over` at the motor turns `turn`.
    fn crank_angles(&self, over: &Domain, turn: Interval) -> Interval {
        Interval::point(self.branch.zero_crank()) + over[CRANK_ERROR] + turn
    }

    /// The pose with its slopes by the lengths and the crank angle.
    fn pose_jet(&self, over: &Domain, turn: Interval) -> Option<PoseOf<Jet<5>>> {
        let (bars, half) = jets(over, self.crank_angles(over, turn));
        let pose = bars.pose(half, self.closure())?;
        (!pose.m.value.contains(0.0)).then_some(pose)
    }

    /// The linkage at `at`, at its motor turn.
    pub(super) fn plain(&self, at: &Point) -> Option<Standing> {
        self.plain_at(at, at[TURN])
    }

    /// The same in its zero pose, where its own crank stands.
    pub(super) fn plain_zero(&self, at: &Point) -> Option<Standing> {
        self.plain_at(at, 0.0)
    }

    fn plain_at(&self, at: &Point, turn: f64) -> Option<Standing> {
        let [a, b, c, g, error, _] = *at;
        let bars = FourBar { ground: g, crank: a, coupler: b, rocker: c };
        let crank = (self.branch.zero_crank() + error) + turn;
        bars.at(crank, self.closure()).ok().map(|pose| Standing { crank, pose })
    }

    /// Joint's lead of the linkage at `at`: (at the turn, in the zero pose), on the sheet next to the drawn one's zero
    /// pose: where the crank may be longer or shorter than the ground, the two count whole turns apart.
    fn leads(&self, at: &Point) -> Option<[f64; 2]> {
        let [own, zero] = [self.plain(at)?, self.plain_zero(at)?].map(|standing| standing.lead());
        let drawn = self.branch.zero_lead();
        let on_sheet = drawn + libm::remainder(zero - drawn, TAU);
        Some([on_sheet + (own - zero), on_sheet])
    }
}

/// A linkage in plain floats at a crank angle, rad.
#[derive(Clone, Copy, Debug)]
pub(super) struct Standing {
    crank: f64,
    pub(super) pose: Pose,
}

impl Standing {
    /// ψ − φ without jumps along its branch, rad.
    fn lead(&self) -> f64 {
        self.pose.lead_along(self.crank)
    }

    /// θ without jumps along its branch, rad.
    pub(super) fn coupler_angle(&self) -> f64 {
        self.pose.coupler_angle_along(self.crank)
    }
}

/// Lengths and crank angle as variables.
fn jets(over: &Domain, crank: Interval) -> (FourBar<Jet<5>>, Half<Jet<5>>) {
    let [a, b, c, g, _, _] = *over;
    let bars = FourBar {
        crank: Jet::variable(0, a),
        coupler: Jet::variable(1, b),
        rocker: Jet::variable(2, c),
        ground: Jet::variable(3, g),
    };
    let (Half { sin, cos }, by_half) = (Half::of_range(crank), Interval::point(0.5));
    let half =
        Half { sin: Jet::along(4, sin, by_half * cos), cos: Jet::along(4, cos, -(by_half * sin)) };
    (bars, half)
}

/// Second derivatives from slopes that bring their own; error of the crank and motor turn both turn the crank.
fn curvatures(slopes: &[Jet<5>; 5]) -> Curvatures<VARIABLES> {
    let [a, b, c, g, phi] = slopes.map(|slope| {
        let [a, b, c, g, phi] = slope.slopes;
        [a, b, c, g, phi, phi]
    });
    [a, b, c, g, phi, phi]
}

/// Entry by entry.
fn zip<const N: usize>(
    p: [Interval; N],
    q: [Interval; N],
    f: impl Fn(Interval, Interval) -> Interval,
) -> [Interval; N] {
    let mut result = p;
    for (mine, its) in result.iter_mut().zip(q) {
        *mine = f(*mine, its);
    }
    result
}

fn zip_rows(
    p: Curvatures<VARIABLES>,
    q: Curvatures<VARIABLES>,
    f: impl Fn(Interval, Interval) -> Interval,
) -> Curvatures<VARIABLES> {
    let mut result = p;
    for (mine, its) in result.iter_mut().zip(q) {
        *mine = zip(*mine, its, &f);
    }
    result
}

/// Turns from the zero pose shorter than this, rad, are integrated over too, not only subtracted.
const SHORT: f64 = 0.3;

/// ± the angle error of the direct joint, rad.
///
/// What the zero pose takes off where each robot is zeroed there is also an integral: every slope of ψ(x) − ψ(0) is x
/// times some value of that of the velocity ratio between zero pose and x. Near the zero pose that is the closer one.
#[derive(Clone, Copy, Debug)]
pub(super) struct AngleError<'a> {
    pub(super) setting: Setting<'a>,
    /// +1 or −1: which side is bounded.
    pub(super) side: f64,
}

impl AngleError<'_> {
    /// The joint's lead over the motor is what is left of e = ψ − ψ₀ − x/ratio − offset without x.
    fn assemble(&self, lead: Interval, zero: Interval, at: &Domain) -> Interval {
        let s = &self.setting;
        let straight = (Interval::point(1.0) - s.slope) * at[TURN];
        let from_zero = match s.zeroing {
            Zeroing::OnEachRobot => lead - zero,
            Zeroing::AsDrawn => lead - zero + at[CRANK_ERROR],
        };
        (from_zero + straight - Interval::point(s.offset)) * Interval::point(self.side)
    }

    /// The slopes of ψ(x) − ψ(0) as x times those of the velocity ratio in between.
    fn integrated(&self, over: &Domain) -> Option<[Interval; 5]> {
        let turn = over[TURN];
        if turn.magnitude() >= SHORT {
            return None;
        }
        let between = self.setting.pose(over, turn.hull(Interval::ZERO))?;
        Some(between.ratio_slopes().map(|slope| slope * turn))
    }

    /// The curvatures of ψ(x) − ψ(0), both ways where the turn is short.
    fn apart(&self, over: &Domain) -> Option<Curvatures<VARIABLES>> {
        let (s, turn) = (&self.setting, over[TURN]);
        let here = curvatures(&s.pose_jet(over, turn)?.rocker_slopes());
        let zero = curvatures(&s.pose_jet(over, Interval::ZERO)?.rocker_slopes());
        let apart = zip_rows(here, zero, |x, x0| x - x0);
        let between = if turn.magnitude() < SHORT {
            s.pose_jet(over, turn.hull(Interval::ZERO))
        } else {
            None
        };
        let Some(between) = between else { return Some(apart) };
        let integral = curvatures(&between.ratio_slopes()).map(|row| row.map(|x| x * turn));
        Some(zip_rows(apart, integral, |p, q| p.intersection(q).unwrap_or(p)))
    }
}

impl Objective<VARIABLES> for AngleError<'_> {
    fn scale(&self) -> Point {
        self.setting.scale()
    }

    fn enclose(&self, at: &Domain) -> Option<Interval> {
        let s = &self.setting;
        let [guess, zero_guess] = s.leads(&at.map(Interval::mid))?;
        let lead = s.pose(at, at[TURN])?.rocker_lead_near(guess);
        let zero = match s.zeroing {
            Zeroing::OnEachRobot => s.pose(at, Interval::ZERO)?.rocker_lead_near(zero_guess),
            Zeroing::AsDrawn => s.branch.lead_over(Interval::ZERO)?,
        };
        Some(self.assemble(lead, zero, at))
    }

    fn gradient(&self, over: &Domain) -> Option<Domain> {
        let s = &self.setting;
        let here = s.pose(over, over[TURN])?.rocker_slopes();
        let by_turn = here[4] - s.slope;
        let [a, b, c, g, error] = match s.zeroing {
            Zeroing::AsDrawn => here,
            Zeroing::OnEachRobot => {
                let zero = s.pose(over, Interval::ZERO)?.rocker_slopes();
                let apart = zip(here, zero, |x, x0| x - x0);
                self.integrated(over)
                    .map_or(apart, |other| zip(apart, other, |p, q| p.intersection(q).unwrap_or(p)))
            }
        };
        Some([a, b, c, g, error, by_turn].map(|slope| slope * Interval::point(self.side)))
    }

    fn curvatures(&self, over: &Domain) -> Option<Curvatures<VARIABLES>> {
        let s = &self.setting;
        let mut whole = match s.zeroing {
            Zeroing::AsDrawn => curvatures(&s.pose_jet(over, over[TURN])?.rocker_slopes()),
            Zeroing::OnEachRobot => self.apart(over)?,
        };
        // By the turn nothing is taken off: these are the slopes of the velocity ratio here.
        let [a, b, c, g, phi] = s.pose(over, over[TURN])?.ratio_slopes();
        let by_turn = [a, b, c, g, phi, phi];
        for (row, slope) in whole.iter_mut().zip(by_turn) {
            row[TURN] = slope;
        }
        whole[TURN] = by_turn;
        let side = Interval::point(self.side);
        Some(whole.map(|row| row.map(|x| x * side)))
    }

    fn sample(&self, at: &Point) -> Option<f64> {
        let s = &self.setting;
        let [lead, zero] = s.leads(at)?;
        let from_zero = match s.zeroing {
            Zeroing::OnEachRobot => lead - zero,
            Zeroing::AsDrawn => lead - s.branch.zero_lead() + at[CRANK_ERROR],
        };
        Some(self.side * (from_zero + (1.0 - s.slope.mid()) * at[TURN] - s.offset))
    }
}

/// A rocker that turns by less than this per turn of the crank stands still: its ratio is no figure.
pub(super) const STANDS_STILL: f64 = 1e-9;

/// ± the relative ratio error i/ratio − 1 = slope/r − 1.
#[derive(Clone, Copy, Debug)]
pub(super) struct RatioError<'a> {
    pub(super) setting: Setting<'a>,
    /// +1 or −1.
    pub(super) side: f64,
}

impl Objective<VARIABLES> for RatioError<'_> {
    fn scale(&self) -> Point {
        self.setting.scale()
    }

    fn enclose(&self, at: &Domain) -> Option<Interval> {
        let excess = self.setting.pose(at, at[TURN])?.ratio_less_one;
        let one = Interval::point(1.0);
        let r = one + excess;
        let error = ((self.setting.slope - one) - excess) / r;
        (!r.contains(0.0)).then_some(error * Interval::point(self.side))
    }

    fn gradient(&self, over: &Domain) -> Option<Domain> {
        let pose = self.setting.pose(over, over[TURN])?;
        let r = pose.velocity_ratio();
        if r.contains(0.0) {
            return None;
        }
        let [a, b, c, g, phi] = pose.ratio_slopes();
        let factor = -(self.setting.slope / r.square()) * Interval::point(self.side);
        Some([a, b, c, g, phi, phi].map(|slope| slope * factor))
    }

    fn curvatures(&self, over: &Domain) -> Option<Curvatures<VARIABLES>> {
        let pose = self.setting.pose_jet(over, over[TURN])?;
        let r = pose.velocity_ratio();
        if r.value.contains(0.0) {
            return None;
        }
        let scale = Jet::constant(-(self.setting.slope * Interval::point(self.side)));
        let factor = scale / r.square();
        Some(curvatures(&pose.ratio_slopes().map(|slope| slope * factor)))
    }

    fn sample(&self, at: &Point) -> Option<f64> {
        let excess = self.setting.plain(at)?.pose.ratio_less_one;
        let (slope, r) = (self.setting.slope.mid(), 1.0 + excess);
        (r.abs() > STANDS_STILL).then(|| self.side * (((slope - 1.0) - excess) / r))
    }
}

/// ± the cosine of the angle at Q between coupler and rocker: 1 in size at a crank limit, beyond 1 where the loop does
/// not close.
#[derive(Clone, Copy, Debug)]
pub(super) struct CosineAtQ<'a> {
    pub(super) setting: Setting<'a>,
    /// +1 or −1.
    pub(super) side: f64,
}

/// The cosine and its slopes by a, b, c, g and the crank angle, from sine and cosine of half the crank angle.
fn cosine_with_slopes<T: Scalar>(bars: &FourBar<T>, half: Half<T>) -> (T, [T; 5]) {
    let FourBar { ground: g, crank: a, coupler: b, rocker: c } = *bars;
    let (one, two) = (T::exactly(1.0), T::exactly(2.0));
    let cos = one - two * half.sin.square();
    let sin = two * half.sin * half.cos;
    let h2 = (g - a).square() + T::exactly(4.0) * a * g * half.sin.square();
    let bc = b * c;
    let value = ((b.square() + c.square()) - h2) / (two * bc);
    let slopes = [
        -((a - g * cos) / bc),
        one / c - value / b,
        one / b - value / c,
        -((g - a * cos) / bc),
        -(a * g * sin / bc),
    ];
    (value, slopes)
}

impl CosineAtQ<'_> {
    fn evaluate(&self, over: &Domain) -> (Interval, [Interval; 5]) {
        let [a, b, c, g, _, turn] = *over;
        let crank = self.setting.crank_angles(over, turn);
        cosine_with_slopes(
            &FourBar { ground: g, crank: a, coupler: b, rocker: c },
            Half::of_range(crank),
        )
    }
}

impl Objective<VARIABLES> for CosineAtQ<'_> {
    fn scale(&self) -> Point {
        self.setting.scale()
    }

    fn enclose(&self, at: &Domain) -> Option<Interval> {
        Some(self.evaluate(at).0 * Interval::point(self.side))
    }

    fn gradient(&self, over: &Domain) -> Option<Domain> {
        let (_, [a, b, c, g, phi]) = self.evaluate(over);
        Some([a, b, c, g, phi, phi].map(|slope| slope * Interval::point(self.side)))
    }

    fn curvatures(&self, over: &Domain) -> Option<Curvatures<VARIABLES>> {
        let (bars, half) = jets(over, self.setting.crank_angles(over, over[TURN]));
        let side = Interval::point(self.side);
        let slopes = cosine_with_slopes(&bars, half).1;
        Some(curvatures(&slopes).map(|row| row.map(|x| x * side)))
    }

    fn sample(&self, at: &Point) -> Option<f64> {
        let [a, b, c, g, error, turn] = *at;
        let bars = FourBar { ground: g, crank: a, coupler: b, rocker: c };
        let half = Half::of_angle(self.setting.branch.zero_crank() + error + turn);
        Some(self.side * cosine_with_slopes(&bars, half).0)
    }
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;

    pub(in super::super) const KNEE: FourBar =
        FourBar { ground: 0.2, crank: 0.05, coupler: 0.21, rocker: 0.06 };
    const NOMINAL: Point = [0.05, 0.21, 0.06, 0.2, 0.002, 0.3];

    pub(in super::super) fn setting(branch: &Branch, zeroing: Zeroing) -> Setting<'_> {
        Setting { branch, slope: Interval::around(0.8, 1), offset: 0.01, zeroing }
    }

    pub(in super::super) fn slopes_agree_with_differences(claim: &impl Objective<VARIABLES>) {
        let exact = claim.gradient(&NOMINAL.map(Interval::point)).unwrap();
        for (index, slope) in exact.iter().enumerate() {
            let at = |step: f64| {
                let mut point = NOMINAL;
                point[index] += step;
                claim.sample(&point).unwrap()
            };
            let step = 1e-5 * NOMINAL[index].abs().max(0.1);
            let difference =
                (8.0 * (at(step) - at(-step)) - (at(2.0 * step) - at(-2.0 * step))) / (12.0 * step);
            assert!(
                slope.width() < 1e-9
                    && (slope.mid() - difference).abs() < 1e-7 * (1.0 + difference.abs()),
                "{index}: {slope:?} {difference}"
            );
        }
        let curved = claim.curvatures(&NOMINAL.map(Interval::point)).unwrap();
        for (index, row) in curved.iter().enumerate() {
            let step = 1e-5 * NOMINAL[index].abs().max(0.1);
            let slopes = |step: f64| {
                let mut point = NOMINAL;
                point[index] += step;
                claim.gradient(&point.map(Interval::point)).unwrap().map(Interval::mid)
            };
            let (above, below) = (slopes(step), slopes(-step));
            for (entry, (p, q)) in row.iter().zip(above.iter().zip(below)) {
                let difference = (p - q) / (2.0 * step);
                assert!(
                    (entry.mid() - difference).abs() < 1e-5 * (1.0 + difference.abs())
                        && entry.width() < 1e-9 * (1.0 + difference.abs()),
                    "{index}: {entry:?} {difference}"
                );
            }
        }
        let enclosed = claim.enclose(&NOMINAL.map(Interval::point)).unwrap();
        assert!(
            enclosed.width() < 1e-12
                && (enclosed.mid() - claim.sample(&NOMINAL).unwrap()).abs() < 1e-12
        );
    }

    #[test]
    fn every_slope_agrees_with_differences_of_plain_values() {
        let branch = Branch::through(KNEE, 1.4, Closure::Open).unwrap();
        for zeroing in [Zeroing::OnEachRobot, Zeroing::AsDrawn] {
            for side in [1.0, -1.0] {
                let setting = setting(&branch, zeroing);
                slopes_agree_with_differences(&AngleError { setting, side });
                slopes_agree_with_differences(&RatioError { setting, side });
                slopes_agree_with_differences(&CosineAtQ { setting, side });
            }
        }
    }
}
