//! One rod over ranges of builds and joint turns: how much the joint turn and each size move its place, rate and margins.
//!
//! With Q_s, Q_qs, P_s, v_s what a variable s does to the pin Q, to its way Q_q per joint turn, to P and to v = dP/dx at a
//! standing motor, and W_s = Q_s − P_s − v x_s what it does to the rod w, the rod's equation differentiated gives
//!
//! ```text
//! x_s = (w·(Q_s − P_s) − ½(b²)_s)/λ     x_qs = (W_s·W_q + w·Q_qs − x_q w·v_s − x_q x_s σ)/λ     λ_s = W_s·v + w·v_s + σ x_s
//! x_qqq = (3 W_q·W_qq + w·Q_qqq − 3 x_q x_qq σ + …)/λ     w_q = W_q     w_qq = Q_qq − v x_qq − v_q x_q
//! ```
//!
//! x is the place of the input end ([`super::input_end`]). A joint axis m carries Q as B + R y: what it carries moves with y by
//! R, and a tilt ṁ of it turns what it carries by sin q ṁ + (1 − cos q) m × ṁ. What a size does to the build in its zero pose
//! comes from the gradient of the drawing's own closed form. Derived here; checked against gradients of the closed form.

use super::angular::Angular as _;
use super::built::Built;
use super::input_end::{InputEnd, Place, Reached};
use super::rod_pose::RodPose;
use super::space::Vector;
use crate::numeric::{Interval, Scalar as _};

/// One rod in all poses of a range.
#[derive(Clone, Copy, Debug)]
pub struct RodOver {
    /// Its pose.
    pub pose: RodPose<Interval>,
    build: Built<Interval>,
    /// (sin, cos) of the joint turn from the zero pose.
    turn: (Interval, Interval),
    /// From the joint axis' point to Q.
    arm: Vector<Interval>,
    /// Q's way per rad, differentiated once and twice by the joint turn.
    ways: [Vector<Interval>; 2],
    /// x_q.
    rate: Interval,
    /// W_q.
    moved: Vector<Interval>,
}

/// What one variable moves of a rod: derivatives by it.
#[derive(Clone, Copy, Debug)]
pub struct RodShare {
    /// Of x.
    pub place: Interval,
    /// Of x_q.
    pub rate: Interval,
    /// Of w.
    pub rod: Vector<Interval>,
    /// Of the rod's length.
    pub length: Interval,
    /// Of Q's way per rad of joint turn.
    pub way: Vector<Interval>,
    /// What w·v changes by for what v does at a standing motor.
    pub turned: Interval,
    /// Of |v|.
    pub speed: Interval,
    /// Of the directions of the bolts at P and Q.
    pub bolts: [Vector<Interval>; 2],
    /// Of the motor angle per unit of x.
    pub gain: Interval,
}

/// What goes on along the joint turn.
struct Course {
    /// x_qq.
    place: Interval,
    /// w_qq.
    rod: Vector<Interval>,
    /// v_q.
    velocity: Vector<Interval>,
    /// σ_q.
    bend: Interval,
}

/// What a variable does while the motor stands.
struct Move {
    foot: Vector<Interval>,
    way: Vector<Interval>,
    pin: Vector<Interval>,
    velocity: Vector<Interval>,
    /// Half of b², or of e² of an actuator.
    half_square: Interval,
    /// Of the length of a rod whose length is fixed.
    length: Interval,
    speed: Interval,
    bolts: [Vector<Interval>; 2],
    gain: Interval,
}

const ZERO: Interval = Interval::ZERO;
const NONE: Vector<Interval> = Vector::new(ZERO, ZERO, ZERO);

impl Move {
    fn of_foot(foot: Vector<Interval>, way: Vector<Interval>) -> Self {
        Self {
            foot,
            way,
            pin: NONE,
            velocity: NONE,
            half_square: ZERO,
            length: ZERO,
            speed: ZERO,
            bolts: [NONE; 2],
            gain: ZERO,
        }
    }
}

impl RodOver {
    /// Of `build` over the joint turns `joint` (rad) from its zero pose; `None` where the rod may not reach.
    #[must_use]
    pub fn new(build: &Built<Interval>, joint: Interval) -> Option<Self> {
        let mut own = Self::met(build, joint.sin_cos())?;
        if joint.lo() < joint.hi() {
            let middle = Interval::point(joint.mid());
            own.meet(&Self::met(build, middle.sin_cos())?, joint - middle);
        }
        Some(own)
    }

    /// By the meeting of rod and input end alone.
    fn met(build: &Built<Interval>, turn: (Interval, Interval)) -> Option<Self> {
        let axis = build.joint.direction;
        let arm = (build.foot - build.joint.point).turned(axis, turn);
        let way = axis.cross(arm);
        let second = axis.cross(way);
        let pose = build.pose_of(arm, way, second)?;
        let rate = pose.reached.rate(way);
        let moved = way - pose.reached.velocity * rate;
        Some(Self { pose, build: *build, turn, arm, ways: [second, -way], rate, moved })
    }

    /// The meeting loses much over a range: what it tells is met with what follows from the pose in the middle by the slopes,
    /// `away` from there.
    fn meet(&mut self, middle: &Self, away: Interval) {
        let reached = &mut self.pose.reached;
        let from = &middle.pose.reached;
        reached.rod = reached.rod.both_ways(from.rod + self.moved * away);
        if let (InputEnd::Crank { circle, rod, .. }, Place::Angle(sine, cosine)) =
            (self.build.input, from.place)
        {
            let guess = libm::atan2(sine.mid(), cosine.mid());
            let angle = Interval::angle_near(sine, cosine, guess) + self.rate * away;
            let at = angle.sin_cos();
            let foot = self.pose.joint_pin;
            let turned =
                Reached::of_crank([circle.centre, circle.axis], circle.arm(at), at, rod, foot);
            reached.place = Place::Angle(at.0, at.1);
            reached.pin = reached.pin.both_ways(turned.pin);
            reached.rod = reached.rod.both_ways(turned.rod);
            reached.velocity = reached.velocity.both_ways(turned.velocity);
            let arm = reached.pin - circle.centre;
            reached.lever = reached.lever.both_ways(reached.rod.dot(reached.velocity));
            reached.bend = reached.bend.both_ways(-reached.rod.dot(arm));
        }
        self.rate = self.rate.both_ways(reached.rate(self.pose.joint_way));
        let [second, _] = self.ways;
        let slope = reached.second_rate([self.pose.joint_way; 2], second, [self.rate; 2]);
        self.rate = self.rate.both_ways(middle.rate + slope * away);
        self.moved = self.pose.joint_way - reached.velocity * self.rate;
        self.pose.ratio = self.pose.gain * self.rate;
        self.pose.slope = self.pose.gain * slope;
    }

    /// What the joint turn moves.
    #[must_use]
    pub fn of_turn(&self) -> RodShare {
        let [second, _] = self.ways;
        self.share(&Move::of_foot(self.pose.joint_way, second))
    }

    /// What a size moves that does `by` to the build in its zero pose.
    #[must_use]
    pub fn of_size(&self, by: &Built<Interval>) -> RodShare {
        self.share(&self.size_move(by))
    }

    /// The ratio's slope and curvature by the joint turn.
    #[must_use]
    pub fn bends(&self) -> [Interval; 2] {
        let (reached, two) = (&self.pose.reached, Interval::point(2.0));
        let ([second, third], w) = (self.ways, reached.rod);
        let (x1, moved, lever, bend) = (self.rate, self.moved, reached.lever, reached.bend);
        let course = self.course();
        let lever_rate = moved.dot(reached.velocity) + bend * x1;
        let rate = two * moved.dot(course.rod) + moved.dot(second) + w.dot(third)
            - two * x1 * course.place * bend
            - x1.square() * course.bend;
        let x3 = (rate - lever_rate * course.place) / lever;
        [course.place, x3].map(|x| x * self.pose.gain)
    }

    fn course(&self) -> Course {
        let (reached, [second, _]) = (&self.pose.reached, self.ways);
        let (x1, moved, lever) = (self.rate, self.moved, reached.lever);
        let place =
            (moved.length_squared() + reached.rod.dot(second) - x1.square() * reached.bend) / lever;
        // v is straight but for a crank, whose v falls off by its arm.
        let (velocity, bend) = match self.build.input {
            InputEnd::Crank { circle, .. } => {
                let arm = reached.pin - circle.centre;
                (-(arm * x1), -(moved.dot(arm) + lever * x1))
            }
            InputEnd::Slide { .. } | InputEnd::Actuator { .. } => (NONE, ZERO),
        };
        let rod = second - reached.velocity * place - velocity * x1;
        Course { place, rod, velocity, bend }
    }

    /// The curvature by the joint turn of the place of the input end.
    #[must_use]
    pub fn place_bend(&self) -> Interval {
        self.course().place
    }

    /// The curvature by the joint turn of the sine of the transmission angle.
    #[must_use]
    pub fn transmission_bend(&self) -> Interval {
        let (course, way, w, [second, third]) =
            (self.course(), self.pose.joint_way, self.pose.reached.rod, self.ways);
        let radius = way.length();
        let along = w.dot(way);
        let slope = self.moved.dot(way) + w.dot(second);
        let bend =
            course.rod.dot(way) + Interval::point(2.0) * self.moved.dot(second) + w.dot(third);
        self.bend_over_length([along, slope, bend].map(|x| x / radius), &course)
    }

    /// The curvature by the joint turn of the sine at the input end.
    #[must_use]
    pub fn input_bend(&self) -> Interval {
        let (course, reached, moved) = (self.course(), &self.pose.reached, self.moved);
        let slope = moved.dot(reached.velocity) + reached.bend * self.rate;
        let bend = course.rod.dot(reached.velocity)
            + moved.dot(course.velocity)
            + course.bend * self.rate
            + reached.bend * course.place;
        let speed = self.speed();
        self.bend_over_length([reached.lever, slope, bend].map(|x| x / speed), &course)
    }

    /// The curvature by the joint turn of the sine of the tilt of the ball at P (0) or Q (1); `None` where it has no bolt.
    #[must_use]
    pub fn tilt_bend(&self, end: usize) -> Option<Interval> {
        let (course, bolt) = (self.course(), (*self.pose.bolts.get(end)?)?);
        let along = [self.pose.reached.rod, self.moved, course.rod].map(|w| w.dot(bolt));
        Some(self.bend_over_length(along, &course))
    }

    /// f″ of f = N/|w|, by N, N′ and N″.
    fn bend_over_length(&self, [own, slope, bend]: [Interval; 3], course: &Course) -> Interval {
        let Reached { rod: w, length, place, .. } = self.pose.reached;
        let Place::Length(_) = place else { return bend / length };
        let longer = w.dot(self.moved) / length;
        let longer_still =
            (self.moved.length_squared() + w.dot(course.rod) - longer.square()) / length;
        let share = own / length;
        let rate = (slope - share * longer) / length;
        (bend - Interval::point(2.0) * rate * longer - share * longer_still) / length
    }

    /// |v|.
    fn speed(&self) -> Interval {
        match self.build.input {
            InputEnd::Crank { circle, .. } => circle.radius,
            InputEnd::Slide { .. } | InputEnd::Actuator { .. } => Interval::point(1.0),
        }
    }

    fn size_move(&self, by: &Built<Interval>) -> Move {
        let axis = self.build.joint.direction;
        let (point, tilt) = (by.joint.point, by.joint.direction);
        let (lever, mut arm, mut way) = (by.foot - point, NONE, NONE);
        if lever != NONE {
            arm = lever.turned(axis, self.turn);
            way = axis.cross(arm);
        }
        if tilt != NONE {
            let (sine, cosine) = self.turn;
            let rest = Interval::point(1.0) - cosine;
            let swung = (tilt * sine + axis.cross(tilt) * rest).cross(self.arm);
            arm = arm + swung;
            way = way + (axis.cross(swung) + tilt.cross(self.arm));
        }
        let own = Move::of_foot(point + arm, way);
        let own = Move { bolts: [NONE, tilt], ..own };
        self.with_input(own, by)
    }

    /// What it does to the input end besides.
    fn with_input(&self, own: Move, by: &Built<Interval>) -> Move {
        let reached = &self.pose.reached;
        let slower = |lead: Interval, by: Interval| -(self.pose.gain * by / lead);
        match (&self.build.input, &by.input) {
            (InputEnd::Crank { circle, rod, .. }, InputEnd::Crank { circle: of, rod: b, .. }) => {
                let Place::Angle(sine, cosine) = reached.place else { return own };
                let (mut arm, mut velocity) = (NONE, NONE);
                if of.radius != ZERO {
                    arm = (circle.datum * cosine + circle.quarter * sine) * of.radius;
                }
                if [of.datum, of.quarter] != [NONE; 2] {
                    arm = arm + (of.datum * cosine + of.quarter * sine) * circle.radius;
                }
                if arm != NONE {
                    velocity = circle.axis.cross(arm);
                }
                if of.axis != NONE {
                    velocity = velocity + of.axis.cross(reached.pin - circle.centre);
                }
                Move {
                    pin: of.centre + arm,
                    velocity,
                    half_square: *rod * *b,
                    length: *b,
                    speed: of.radius,
                    bolts: [of.axis, own.bolts[1]],
                    ..own
                }
            }
            (
                InputEnd::Slide { rod, lead, .. },
                InputEnd::Slide { point, direction, rod: b, lead: l, .. },
            ) => {
                let Place::Travel(travel) = reached.place else { return own };
                Move {
                    pin: *point + *direction * travel,
                    velocity: *direction,
                    half_square: *rod * *b,
                    length: *b,
                    gain: slower(*lead, *l),
                    ..own
                }
            }
            (
                InputEnd::Actuator { offset, lead, .. },
                InputEnd::Actuator { pin, offset: e, lead: l },
            ) => Move { pin: *pin, half_square: *offset * *e, gain: slower(*lead, *l), ..own },
            _ => own,
        }
    }

    fn share(&self, by: &Move) -> RodShare {
        let reached = &self.pose.reached;
        let (w, v, bend, lever) = (reached.rod, reached.velocity, reached.bend, reached.lever);
        let own = by.foot - by.pin;
        let along_rod = |moved: Vector<Interval>| if moved == NONE { ZERO } else { w.dot(moved) };
        let place = (along_rod(own) - by.half_square) / lever;
        let rod = own - v * place;
        let turned = along_rod(by.velocity);
        let second = rod.dot(self.moved) + along_rod(by.way) - self.rate * turned;
        let rate = (second - self.rate * place * bend) / lever;
        let is_fixed = !matches!(reached.place, Place::Length(_));
        RodShare {
            place,
            rate,
            rod,
            length: if is_fixed { by.length } else { w.dot(rod) / reached.length },
            way: by.way,
            turned,
            speed: by.speed,
            bolts: by.bolts,
            gain: by.gain,
        }
    }

    /// The place of the input end along its line; zero of a crank.
    fn travel(&self) -> Interval {
        self.pose.travel().unwrap_or(ZERO)
    }
}

/// Slopes of figures by the variable of a share.
impl RodOver {
    /// Of the motor's angle.
    #[must_use]
    pub fn motor_slope(&self, by: &RodShare) -> Interval {
        self.pose.gain * by.place + by.gain * self.travel()
    }

    /// Of the ratio.
    #[must_use]
    pub fn ratio_slope(&self, by: &RodShare) -> Interval {
        self.pose.gain * by.rate + by.gain * self.rate
    }

    /// Of [`RodPose::sin_transmission`].
    #[must_use]
    pub fn transmission_slope(&self, by: &RodShare) -> Interval {
        let (w, way, length) =
            (self.pose.reached.rod, self.pose.joint_way, self.pose.reached.length);
        let radius = way.length();
        let sine = w.dot(way) / length / radius;
        let moment = by.rod.dot(way) + w.dot(by.way);
        moment / (length * radius) - sine * (by.length / length + way.dot(by.way) / radius.square())
    }

    /// Of [`RodPose::sin_input`].
    #[must_use]
    pub fn input_slope(&self, by: &RodShare) -> Interval {
        let reached = &self.pose.reached;
        let speed = self.speed();
        let sine = reached.lever / (reached.length * speed);
        let lever = by.rod.dot(reached.velocity) + by.turned + reached.bend * by.place;
        lever / (reached.length * speed) - sine * (by.length / reached.length + by.speed / speed)
    }

    /// Of [`RodPose::sin_tilts`] at P (0) or Q (1).
    #[must_use]
    pub fn tilt_slope(&self, end: usize, by: &RodShare) -> Option<Interval> {
        let (reached, bolt) = (&self.pose.reached, (*self.pose.bolts.get(end)?)?);
        let sine = reached.rod.dot(bolt) / reached.length;
        let of_bolt = reached.rod.dot(*by.bolts.get(end)?);
        Some((by.rod.dot(bolt) + of_bolt - sine * by.length) / reached.length)
    }
}

impl RodShare {
    /// This share and `times` that of another variable, which moves with it.
    #[must_use]
    pub fn with(&self, other: &Self, times: Interval) -> Self {
        let [p, q] = self.bolts;
        let [its_p, its_q] = other.bolts;
        Self {
            place: self.place + other.place * times,
            rate: self.rate + other.rate * times,
            rod: self.rod + other.rod * times,
            length: self.length + other.length * times,
            way: self.way + other.way * times,
            turned: self.turned + other.turned * times,
            speed: self.speed + other.speed * times,
            bolts: [p + its_p * times, q + its_q * times],
            gain: self.gain + other.gain * times,
        }
    }
}
