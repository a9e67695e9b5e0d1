//! The drive's dynamics: the table of shortcuts.

mod drive;

use unloop::dynamics::{Course, shortcut_table};

#[test]
fn the_table() {
    let branch = drive::branch();
    let course = Course::over(&branch, drive::stroke(&branch)).unwrap();
    let t = std::time::Instant::now();
    for row in shortcut_table(&course, &drive::masses(), 1.0).unwrap() {
        let f = row.fidelity;
        let p = |x: Option<unloop::linkage::Extreme>| x.map_or(f64::NAN, |x| 100.0 * x.value);
        println!(
            "{:50} {:.4} {:.4} {:.4}  carried {:.4} {:.4} gravity {:.2e}",
            row.shortcut.name(),
            100.0 * f.fixed.value,
            p(f.planar),
            p(f.spatial),
            p(f.planar_carried),
            p(f.spatial_carried),
            f.gravity_torque.value
        );
    }
    println!("{:?}", t.elapsed());
}
