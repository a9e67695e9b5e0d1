//! `loads` in words: what the drive bears over the stroke, and with what margin.

use crate::dynamics::{Bounds, Duty, Loads, PinLoad, PinPlace};
use crate::linkage::Extreme;
use crate::study::{Borne, LoadFindings};
use crate::units::{degrees, fixed, number, percent, span};

use super::blocks::{
    Block, Cell, Column, Group, Holds, Table, cells, dash, figures, listed, or_dash,
};
use super::cautions::DECIDES;
use super::drive_loads::{self, at};
use super::finger_loads::{self, alike_forces, megapascal, with_unit};
use super::style::{Detail, Style};
use super::terminal;

/// The findings for a person: figures with their worst pose as joint turn.
#[must_use]
pub fn loads_text(found: &LoadFindings, detail: Detail, style: Style) -> String {
    let mut groups = vec![headline(found)];
    match (&found.borne, detail) {
        (Borne::Joint(loads), Detail::Full) => {
            groups.extend([duties(found, loads), pins(loads), structure(found, loads)]);
            groups.push(drive_loads::group(found, loads));
            groups.push(missing(found, loads));
        }
        (Borne::Joint(loads), Detail::Short) => {
            groups.extend([duties(found, loads), missing(found, loads)]);
        }
        (Borne::Finger(finger), _) => groups.extend(finger_loads::groups(found, finger, detail)),
    }
    groups.push(vec![match detail {
        Detail::Full => caution(found),
        Detail::Short => Block::Caution(
            "a sizing check under slow, steady load; no fatigue, impact, bending or wear (--full)"
                .to_owned(),
        ),
    }]);
    terminal::text(&groups, style)
}

/// The margin and what gives way first, and the smallest arm of the rod.
pub(super) fn headline(found: &LoadFindings) -> Group {
    let loads = match &found.borne {
        Borne::Joint(loads) => loads,
        Borne::Finger(finger) => return finger_loads::headline(found, finger),
    };
    let arm = match loads.smallest_arm {
        Some(arm) => format!(
            "smallest arm of the rod about the joint {} mm{}",
            fixed(1e3 * arm.value, 2),
            at(found, arm)
        ),
        None => "no rod: torque and speed follow from the ratio alone".to_owned(),
    };
    let answer = format!("{} (worst poses computed, not proved)", answer(loads));
    vec![Block::Title(found.design.clone(), None, answer), Block::Line(arm)]
}

/// With what margin the rod stands the torque, or what the joint gets where no rod is known.
fn answer(loads: &Loads) -> String {
    let given = [("peak", &loads.peak), ("rated", &loads.rated)];
    let duty = given.into_iter().find_map(|(name, duty)| Some((name, duty.as_ref()?)));
    let Some((name, duty)) = duty else {
        return "no margin without a torque: [actuator] peak_torque or rated_torque".to_owned();
    };
    let margin = |margin: f64| format!("margin {} at {name} torque", fixed(margin, 2));
    match (duty.buckling_margin, duty.yield_margin) {
        (Some(buckling), Some(yields)) => {
            let verb = if buckling <= yields { "buckles" } else { "yields" };
            let least = buckling.min(yields);
            if least < 1.0 {
                format!("THE ROD {}: {}", verb.to_uppercase(), margin(least))
            } else {
                format!("{}, the rod {verb} first", margin(least))
            }
        }
        (Some(only), None) => format!("{} to buckling; to yield not known", margin(only)),
        (None, Some(only)) => format!("{} to yield; to buckling not known", margin(only)),
        (None, None) => match duty.joint_torque.guaranteed {
            some if some.value > 0.0 => {
                format!("the joint gets at least {} at {name} torque", with_unit(some.value, "N m"))
            }
            _ => format!("THE PINS LOCK at {name} torque"),
        },
    }
}

/// Torque, speed and rod.
pub(super) fn duties(found: &LoadFindings, loads: &Loads) -> Group {
    let table = duty_table(found, loads);
    if table.is_none() && loads.joint_speed.is_none() {
        return Group::new();
    }
    let mut group = vec![Block::heading("torque, speed, rod")];
    group.extend(table.map(Block::Table));
    if let Some(Bounds { guaranteed, never_exceed }) = loads.joint_speed {
        let [low, high] = [guaranteed, never_exceed].map(|e| with_unit(e.value, "rad/s"));
        group.push(Block::Line(format!("joint speed {low} guaranteed, {high} never exceeded")));
    }
    group.extend(guaranteed(found, loads).map(|line| Block::Line(line.to_owned())));
    if !found.parent_joints.is_empty() {
        let joints = found.parent_joints.join(", ");
        group.push(Block::Line(format!(
            "the motor sits on the carrier's parent: its own torque acts on {joints} as well"
        )));
    }
    group
}

/// What "guaranteed" holds for.
fn guaranteed(found: &LoadFindings, loads: &Loads) -> impl Iterator<Item = &'static str> {
    let pins = loads.efficiency.is_some().then_some(
        "the guaranteed torque is what friction in the pins leaves, the one never exceeded is without it",
    );
    let tolerance = found.over_tolerance.then_some(
        "torque and speed hold for every linkage within the drawn tolerances, all else for the drawn one",
    );
    pins.into_iter().chain(tolerance)
}

/// Rows of the table that do not speak of a rod.
const WITHOUT_ROD: usize = 3;

/// Torque and rod under the motor's peak and rated torque, where one is given.
fn duty_table(found: &LoadFindings, loads: &Loads) -> Option<Table> {
    let Loads { peak, rated, .. } = loads;
    let given = [("peak", peak), ("rated", rated)];
    let given: Vec<(&str, &Duty)> =
        given.into_iter().filter_map(|(name, duty)| Some((name, duty.as_ref()?))).collect();
    let row = |name: &str, cell: &dyn Fn(&Duty) -> String| -> Vec<Cell> {
        let figures = given.iter().map(|(_, duty)| cell(duty).into());
        std::iter::once(name.into()).chain(figures).collect()
    };
    let located = |e: Extreme, words: String| format!("{words}{}", at(found, e));
    let torque = |e: Extreme| with_unit(e.value, "N m");
    let mut rows = vec![
        row("motor torque", &|d| with_unit(d.motor_torque, "N m")),
        row("joint torque, guaranteed", &|d| match d.joint_torque.guaranteed {
            some if some.value > 0.0 => torque(some),
            _ => "none: the pins lock".to_owned(),
        }),
        row("joint torque, never exceeded", &|d| torque(d.joint_torque.never_exceed)),
        row("rod force, largest", &|d| {
            or_dash(d.rod_force, |force| located(force, with_unit(force.value, "N")))
        }),
        row("rod stress", &|d| or_dash(d.rod_stress, megapascal)),
        row("margin to yield", &|d| or_dash(d.yield_margin, |x| fixed(x, 2))),
        row("margin to buckling", &|d| or_dash(d.buckling_margin, |x| fixed(x, 2))),
        row("joint gives way by", &|d| or_dash(d.deflection, |e| located(e, degrees(e.value)))),
    ];
    if loads.smallest_arm.is_none() {
        rows.truncate(WITHOUT_ROD);
    }
    rows.retain(|row| row.iter().skip(1).any(|cell| cell.text != dash()));
    let named = given.iter().map(|(name, _)| figures(*name));
    let columns = std::iter::once(Column(Holds::Outcome, "at motor torque".to_owned()))
        .chain(named)
        .collect();
    let caption = "Torque, rod force and margins at the motor's peak and rated torque".to_owned();
    (!given.is_empty()).then_some(Table { caption, columns, rows })
}

/// What the pins bear, under a heading that says at which torque.
pub(super) fn pins(loads: &Loads) -> Group {
    let duty = loads.peak.as_ref().or(loads.rated.as_ref());
    let Some(duty) = duty.filter(|duty| !duty.pins.is_empty()) else { return Group::new() };
    let forces = alike_forces(&duty.pins);
    let row = |(pin, force): (&PinLoad, String)| {
        cells([
            pin.place.name().to_owned(),
            force,
            or_dash(pin.pressure, megapascal),
            or_dash(pin.shear, megapascal),
        ])
    };
    let names = ["pin", "force", "bearing pressure", "shear, one plane"];
    let caption = "Largest force, pressure and shear of each pin";
    let torque = with_unit(duty.motor_torque, "N m");
    vec![
        Block::heading(format!("pins at {torque} of motor torque")),
        Block::Table(Table::new(caption, &names, duty.pins.iter().zip(forces).map(row).collect())),
    ]
}

/// Buckling, stiffness, lost motion and friction.
pub(super) fn structure(found: &LoadFindings, loads: &Loads) -> Group {
    let mut lines = Vec::new();
    if let Some(b) = &loads.buckling {
        let law = b.law.name();
        let change = b.change_over.map_or(String::new(), |c| {
            format!("; Euler's law holds above {}, Johnson's below", fixed(c, 0))
        });
        lines.push(format!(
            "the rod buckles at {} by {law}, pinned at both ends (slenderness {}{change})",
            with_unit(b.load, "N"),
            fixed(b.slenderness, 0)
        ));
    }
    let mut say = |what: &str, figure: String, e: Extreme| {
        lines.push(format!("{what}: {figure}{}", at(found, e)));
    };
    if let Some(k) = loads.stiffness {
        let stiffness = format!("{} N m/rad", number(k.value));
        say("rod stiffness at the joint, crank held", stiffness, k);
    }
    if let Some([least, most]) = loads.lost_motion {
        let motion = span([least.value, most.value].map(f64::to_degrees), "deg");
        say("lost motion from the pins' clearances", motion, most);
    }
    if let Some(e) = loads.efficiency {
        say("left of the joint torque after friction in the pins", percent(e.value), e);
    }
    listed("rod, play, losses", lines)
}

/// What was not given, and what that leaves out.
pub(super) fn missing(found: &LoadFindings, loads: &Loads) -> Group {
    let Loads { lost_motion, efficiency, without_clearance, without_diameter, .. } = loads;
    let names =
        |places: &[PinPlace]| places.iter().map(|p| p.name()).collect::<Vec<_>>().join(", ");
    [
        ("would tell more", true, found.missing.join(", ")),
        ("lost motion leaves out", lost_motion.is_some(), names(without_clearance)),
        ("friction leaves out", efficiency.is_some(), names(without_diameter)),
    ]
    .into_iter()
    .filter(|(_, known, names)| *known && !names.is_empty())
    .map(|(what, _, names)| Block::Line(format!("{what}: {names}")))
    .collect()
}

/// Where these figures end.
pub(super) fn caution(found: &LoadFindings) -> Block {
    if let Borne::Finger(_) = found.borne {
        return finger_loads::caution();
    }
    Block::Caution(format!(
        "a sizing check under slow, steady load. Fatigue, impact, bending from misalignment or rods offset along the \
         axis, threads, rod ends and the joint's own weight are left out. A stalled or back-driven leg can exceed peak torque. \
         {DECIDES}"
    ))
}
