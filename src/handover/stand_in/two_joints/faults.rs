//! What stands against a file of two joints.

use super::TwoJointsAsked;
use crate::design::TwoJointRobot;
use crate::drive::InputEnd;
use crate::equivalence::Verdict;
use crate::handover::Form;
use crate::handover::fault::EmitFault;
use crate::robot::Format;
use crate::robot::markup::is_fit_for_a_name;

impl TwoJointsAsked<'_> {
    /// The names, the form, what the format demands, the masses, the verdict.
    pub(super) fn faults(&self) -> Vec<EmitFault> {
        let mut faults = self.name_faults();
        faults.extend(self.form_fault());
        faults.extend(self.pose_fault());
        let ask = self.ask;
        if ask.format.needs_limits() {
            let keys = [
                (self.torque.is_none(), "[actuator] peak_torque", "peak_torque = \"... N m\""),
                (self.speed.is_none(), "[actuator] max_speed", "max_speed = \"... rpm\""),
            ];
            faults.extend(keys.into_iter().filter(|(lacks, ..)| *lacks).map(|(_, key, line)| {
                EmitFault::Missing {
                    key,
                    needed_for: "this format demands effort and velocity of every joint".into(),
                    help: format!("add to [actuator]: {line}"),
                }
            }));
        }
        if ask.whole || ask.form == Form::Loop {
            faults.extend(self.mass_faults());
        }
        let stands = self.verdict == Verdict::Equivalent || ask.anyway || ask.form.keeps_crank();
        if !stands {
            let (verdict, reason) = (self.verdict, self.reason.to_owned());
            faults.push(EmitFault::Refused { verdict, reason });
        }
        faults
    }

    pub(super) fn mass_faults(&self) -> Vec<EmitFault> {
        let help = match self.ask.form {
            Form::Loop => "add it, or take --model direct",
            Form::Direct | Form::Coupled => {
                "add it, or leave --whole out and paste the joints into your own file"
            }
        };
        let lacking = |key: &'static str| EmitFault::Missing {
            key,
            needed_for: "a file that loads by itself needs the bodies' figures".into(),
            help: help.into(),
        };
        let mut faults: Vec<EmitFault> = self.lacks.iter().map(|key| lacking(key)).collect();
        if self.parts.is_some_and(|parts| parts.carrier.is_none()) {
            faults.push(lacking("[mass.carrier]"));
        }
        faults
    }

    fn name_faults(&self) -> Vec<EmitFault> {
        if self.robots.is_empty() {
            return vec![EmitFault::Missing {
                key: "[[robot]]",
                needed_for: "it names both joints, both motors and the links".into(),
                help: "add a [[robot]] table with joints, motors, parent and child".into(),
            }];
        }
        let all = |robot: &TwoJointRobot| {
            let [pitch, roll] = robot.joints.clone();
            let [first, second] = robot.motors.clone();
            let (parent, middle, child) =
                (robot.parent.clone(), robot.middle.clone(), robot.child.clone());
            [pitch, roll, first, second, parent, middle, child]
        };
        let mut faults = Vec::new();
        for (k, robot) in self.robots.iter().enumerate() {
            let own = all(robot);
            let unfit = own.iter().find(|name| !is_fit_for_a_name(name)).map(|name| {
                format!("the name {name:?} is empty or holds characters that a robot file cannot")
            });
            let before = self.robots.iter().take(k);
            let links = [&robot.middle, &robot.child];
            let shared = before.flat_map(|b| [&b.middle, &b.child]).find(|b| links.contains(b));
            let twice = shared.map(|name| format!("two [[robot]] tables name the link {name:?}"));
            let world = [&robot.parent, &robot.middle, &robot.child];
            let own_name = ["world", crate::robot::mjcf::BASE];
            let taken = world.into_iter().find(|name| own_name.contains(&name.as_str()));
            let taken = taken.filter(|_| self.ask.whole).map(|name| {
                format!("a whole model has a {name:?} of its own: no link may have that name")
            });
            let whys = [unfit, twice, taken];
            faults.extend(
                whys.into_iter().flatten().map(|why| EmitFault::UnfitName { robot: k, why }),
            );
        }
        faults
    }

    /// Why no element of the format holds the actuators' own motion.
    pub(in crate::handover) fn unheld(&self) -> Option<&'static str> {
        let legs = &self.drive.geometry().legs;
        let runs_beside = legs
            .iter()
            .any(|leg| matches!(leg.input, InputEnd::Actuator { offset, .. } if offset != 0.0));
        let has_cranks = legs.iter().any(|leg| !matches!(leg.input, InputEnd::Actuator { .. }));
        let is_coupled = self.ask.form == Form::Coupled;
        match self.ask.form {
            Form::Direct => None,
            Form::Loop if runs_beside => Some(
                "a slide line runs beside the carrier's pin, and no loop is written of such a one",
            ),
            _ if runs_beside => Some(
                "a slide line runs beside the carrier's pin, which no element of the format holds",
            ),
            _ => (is_coupled && has_cranks)
                .then_some("no element of the format holds a crank's curve over two joints"),
        }
    }

    /// A loop that cannot be drawn where the format draws it.
    fn pose_fault(&self) -> Option<EmitFault> {
        let is_reached = self.drive.motor_turns(self.drawn_turns()).is_ok();
        (self.ask.form == Form::Loop && !is_reached).then(|| EmitFault::Unfit {
            key: "[zero] joint_reads",
            why: "SDFormat draws links at reading 0, which the drive does not reach from its zero pose"
                .into(),
            help: "let joint_reads name a pose within reach of reading 0, or take --to mjcf".into(),
        })
    }

    /// What no file of this form holds.
    fn form_fault(&self) -> Option<EmitFault> {
        let ask = self.ask;
        let legs = &self.drive.geometry().legs;
        let why = match ask.form {
            Form::Direct => return None,
            Form::Loop if ask.format == Format::Urdf => return Some(EmitFault::NoLoops),
            Form::Coupled if ask.format != Format::Mjcf => {
                "this format has no element that couples two motors to two joints"
            }
            form => match (self.unheld(), form) {
                (Some(why), _) => why,
                (None, Form::Loop) if !ask.whole => "both loops need all links in one file",
                (None, Form::Loop)
                    if legs.iter().any(|leg| matches!(leg.input, InputEnd::Slide { .. })) =>
                {
                    "a nut on a guide is not written as a loop over two joints"
                }
                _ => return None,
            },
        };
        let help = match (ask.form, ask.format) {
            (Form::Loop, _) if !ask.whole && self.unheld().is_none() => "add --whole",
            (Form::Loop, _) => "take --model direct",
            (_, Format::Mjcf) => {
                "take --model direct --actuator motor (a constant matrix) or --model loop"
            }
            (_, Format::Sdformat) => "take --model direct or --model loop, or --to mjcf",
            (_, Format::Urdf) => "take --model direct, or --to mjcf",
        };
        Some(EmitFault::Unfit { key: "[drive] kind", why: why.into(), help: help.into() })
    }
}
