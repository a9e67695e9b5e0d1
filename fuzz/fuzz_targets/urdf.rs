//! No bytes make the reader of robot files panic, and every message can be shown; the corpus is URDF.
#![no_main]

use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    let none = &mut |_: &str| Err("nothing is included".to_owned());
    match unloop::robot::read("fuzz.urdf", bytes.to_vec(), none) {
        Ok(robot) => {
            for joint in &robot.joints {
                assert!(joint.parent < robot.links.len() && joint.child < robot.links.len());
            }
            for remark in &robot.remarks {
                std::hint::black_box(robot.whereabouts(remark.place));
            }
        }
        Err(rejected) => assert!(rejected.render(true).contains("error")),
    }
});
