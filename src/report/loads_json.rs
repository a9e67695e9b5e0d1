//! `loads --json`, schema `unloop/loads/1`: SI, the unit in the field's name, what is not known as null.

use serde::Serialize;

use crate::dynamics::{Bounds, BucklingLaw, Duty};
use crate::linkage::Extreme;
use crate::study::LoadFindings;

#[derive(Serialize)]
struct LoadsJson<'a> {
    schema: &'static str,
    design: &'a str,
    proved: bool,
    smallest_rod_arm_m: WorstJson,
    joint_speed_rad_per_s: Option<BoundsJson>,
    peak: Option<DutyJson>,
    rated: Option<DutyJson>,
    buckling: Option<BucklingJson>,
    lost_motion_rad: Option<LostMotionJson>,
    rod_stiffness_n_m_per_rad: Option<WorstJson>,
    pin_efficiency: Option<WorstJson>,
    missing: &'a [&'static str],
}

/// A figure in its worst pose.
#[derive(Serialize)]
struct WorstJson {
    value: f64,
    at_motor_rad: f64,
    at_joint_rad: f64,
}

#[derive(Serialize)]
struct BoundsJson {
    guaranteed: WorstJson,
    never_exceed: WorstJson,
}

#[derive(Serialize)]
struct DutyJson {
    motor_torque_n_m: f64,
    joint_torque_n_m: BoundsJson,
    rod_force_n: WorstJson,
    rod_stress_pa: Option<f64>,
    yield_margin: Option<f64>,
    buckling_margin: Option<f64>,
    pins: Vec<PinJson>,
    deflection_rad: Option<WorstJson>,
}

#[derive(Serialize)]
struct PinJson {
    pin: &'static str,
    force_n: f64,
    bearing_pressure_pa: Option<f64>,
    shear_pa: Option<f64>,
}

#[derive(Serialize)]
struct BucklingJson {
    law: &'static str,
    load_n: f64,
    slenderness: f64,
    change_over_slenderness: Option<f64>,
}

#[derive(Serialize)]
struct LostMotionJson {
    smallest_clearances: WorstJson,
    largest_clearances: WorstJson,
}

/// The findings as a JSON value.
///
/// # Errors
/// None that a finding can cause; serialisation to a value is total for these types.
pub fn loads_json(found: &LoadFindings) -> serde_json::Result<serde_json::Value> {
    let worst = |e: Extreme| WorstJson {
        value: e.value,
        at_motor_rad: e.turn,
        at_joint_rad: found.joint_at(e.turn),
    };
    let bounds = |b: Bounds| BoundsJson {
        guaranteed: worst(b.guaranteed),
        never_exceed: worst(b.never_exceed),
    };
    let duty = |d: Duty| DutyJson {
        motor_torque_n_m: d.motor_torque,
        joint_torque_n_m: bounds(d.joint_torque),
        rod_force_n: worst(d.rod_force),
        rod_stress_pa: d.rod_stress,
        yield_margin: d.yield_margin,
        buckling_margin: d.buckling_margin,
        pins: d.pins.iter().map(pin).collect(),
        deflection_rad: d.deflection.map(worst),
    };
    let loads = &found.loads;
    serde_json::to_value(LoadsJson {
        schema: "unloop/loads/1",
        design: &found.design,
        proved: false,
        smallest_rod_arm_m: worst(loads.smallest_arm),
        joint_speed_rad_per_s: loads.joint_speed.map(bounds),
        peak: loads.peak.map(duty),
        rated: loads.rated.map(duty),
        buckling: loads.buckling.map(|b| BucklingJson {
            law: match b.law {
                BucklingLaw::Euler => "Euler",
                BucklingLaw::Johnson => "Johnson",
            },
            load_n: b.load,
            slenderness: b.slenderness,
            change_over_slenderness: b.change_over,
        }),
        lost_motion_rad: loads.lost_motion.map(|[least, most]| LostMotionJson {
            smallest_clearances: worst(least),
            largest_clearances: worst(most),
        }),
        rod_stiffness_n_m_per_rad: loads.stiffness.map(worst),
        pin_efficiency: loads.efficiency.map(worst),
        missing: &found.missing,
    })
}

fn pin(p: &crate::dynamics::PinLoad) -> PinJson {
    PinJson {
        pin: p.place.name(),
        force_n: p.force,
        bearing_pressure_pa: p.pressure,
        shear_pa: p.shear,
    }
}
