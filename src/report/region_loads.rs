//! `loads` of two joints in words: what the rods bear over the region, and what both joints get.

use crate::study::{RegionDuty, RegionLoads, RodDuty};
use crate::units::{angle, fixed};

use super::blocks::{Block, Cell, Group, Table, listed, or_dash};
use super::cautions::DECIDES;
use super::region::powers;
use super::style::{Detail, Style};
use super::terminal;

/// The findings for a person.
#[must_use]
pub fn region_loads_text(found: &RegionLoads, detail: Detail, style: Style) -> String {
    let is_full = detail.is_full();
    let mut groups = vec![headline(found)];
    let duties = [("peak", &found.peak), ("rated", &found.rated)];
    let told = duties.into_iter().filter_map(|(name, duty)| Some((name, duty.as_ref()?)));
    groups.extend(told.map(|(name, of)| duty(found, name, of)));
    groups.push(powers(found.torque.as_ref(), found.speed.as_ref(), is_full));
    if !found.missing.is_empty() {
        groups.push(listed("would tell more", found.missing.iter().map(|m| (*m).into()).collect()));
    }
    let caution = if is_full {
        format!(
            "a sizing check at rest: motors' torques alone, weightless rods, no friction in balls and screws; no fatigue, impact, bending or wear, and no load from the ground, which comes besides. {DECIDES}"
        )
    } else {
        "a sizing check at rest; no fatigue, impact, bending or wear (--full)".to_owned()
    };
    groups.push(vec![Block::Caution(caution)]);
    terminal::text(&groups, style) + "\n"
}

fn headline(found: &RegionLoads) -> Group {
    let answer = format!("{} (worst poses computed, not proved)", answer(found));
    vec![Block::Title(found.design.clone(), None, answer)]
}

fn answer(found: &RegionLoads) -> String {
    let Some((name, duty)) = found.leading() else {
        return "no margin without a torque: [actuator] peak_torque or rated_torque".to_owned();
    };
    let margins = duty.rods.iter().flat_map(|rod| {
        let buckles = rod.buckling_margin.map(|margin| (margin, "buckles", rod));
        [buckles, rod.yield_margin.map(|margin| (margin, "yields", rod))].into_iter().flatten()
    });
    match margins.min_by(|a, b| a.0.total_cmp(&b.0)) {
        Some((margin, verb, rod)) if margin < 1.0 => format!(
            "THE ROD OF {} {}: margin {} at {name} torque",
            rod.motor.to_uppercase(),
            verb.to_uppercase(),
            fixed(margin, 2)
        ),
        Some((margin, verb, rod)) => format!(
            "margin {} at {name} torque, the rod of {} {verb} first",
            fixed(margin, 2),
            rod.motor
        ),
        None => {
            let most = duty.rods.iter().map(|rod| rod.force_n).fold(0.0, f64::max);
            format!("the rods bear up to {} N at {name} torque", fixed(most, 0))
        }
    }
}

fn place(found: &RegionLoads, [pitch, roll]: [f64; 2]) -> String {
    let [p, r] = found.joint_reads;
    format!("{}, {}", angle(pitch + p, 1), angle(roll + r, 1))
}

fn duty(found: &RegionLoads, name: &str, duty: &RegionDuty) -> Group {
    let row = |rod: &RodDuty| -> Vec<Cell> {
        vec![
            rod.motor.as_str().into(),
            format!("{} N", fixed(rod.force_n, 0)).into(),
            place(found, rod.force_at_rad).into(),
            format!("{} mm", fixed(1e3 * rod.smallest_arm_m, 2)).into(),
            or_dash(rod.stress_pa, |s| format!("{} MPa", fixed(1e-6 * s, 1))).into(),
            or_dash(rod.yield_margin, |m| fixed(m, 2)).into(),
            or_dash(rod.buckling_margin, |m| fixed(m, 2)).into(),
        ]
    };
    let names = ["rod of", "force", "at pitch, roll", "arm", "stress", "to yield", "to buckling"];
    let rows = duty.rods.iter().map(row).collect();
    let torque = fixed(duty.motor_torque_n_m, 2);
    let heading = format!("at {name} torque, {torque} N m of each motor");
    let joint = format!(
        "both rods push the joints with up to {} N at {}",
        fixed(duty.joint_force_n, 0),
        place(found, duty.joint_force_at_rad)
    );
    vec![Block::heading(heading), Block::Table(Table::new("", &names, rows)), Block::Line(joint)]
}
