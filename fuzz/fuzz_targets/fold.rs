//! Whatever robot a file holds, every loop of it is found, and folded or refused in words; a folded file reads again.
#![no_main]

use libfuzzer_sys::fuzz_target;
use unloop::design::Preset;
use unloop::handover::Form;
use unloop::handover::find::{FindOptions, find};
use unloop::handover::fold::{FoldOptions, fold};
use unloop::handover::{ActuatorUnits, LimitBasis};

fuzz_target!(|bytes: &[u8]| {
    let read = |bytes: Vec<u8>| {
        unloop::robot::read("fuzz", bytes, &mut |_: &str| Err("nothing is included".to_owned()))
    };
    let Ok(robot) = read(bytes.to_vec()) else { return };
    for found in find(&robot, FindOptions::new(Preset::Coarse)) {
        for model in [Form::Direct, Form::Coupled] {
            let options = FoldOptions {
                model,
                anyway: true,
                keep_visuals: model == Form::Direct && bytes.len() % 2 == 0,
                limits: LimitBasis::Guaranteed,
                actuator: ActuatorUnits::Joint,
            };
            match fold(&robot, &found, options) {
                Ok(folded) => assert!(read(folded.text.into_bytes()).is_ok()),
                Err(faults) => assert!(!faults.is_empty()),
            }
        }
    }
});
