//! No bytes make the reader of robot files panic, and every message can be shown; the corpus is MJCF.
#![no_main]

use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    // every included file is one and the same
    let part = &mut |_: &str| Ok(b"<mujocoinclude><body/></mujocoinclude>".to_vec());
    match unloop::robot::read("fuzz.mjcf", bytes.to_vec(), part) {
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
