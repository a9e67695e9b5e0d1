//! The closed loops of a robot file, and what may become of each: `cargo run --example loops_of_a_robot -- [FILE]`.

#![allow(clippy::print_stdout, reason = "its output is its purpose")]

use std::error::Error;

use unloop::design::Preset;
use unloop::handover::find::{FindOptions, find};

fn main() -> Result<(), Box<dyn Error>> {
    let path = std::env::args().nth(1).unwrap_or_else(|| "models/robots/leg.xml".to_owned());
    let bytes = std::fs::read(&path)?;
    // The library opens no file by itself: what the robot file includes is handed to it.
    let mut includes = |name: &str| std::fs::read(name).map_err(|error| error.to_string());
    let robot = unloop::robot::read(&path, bytes, &mut includes)?;

    for found in find(&robot, FindOptions::new(Preset::Training)) {
        println!("{}: {}", found.name, found.links.join(" - "));
        if let Some([carrier, crank, coupler, child]) = &found.parts {
            println!("  {carrier} carries; {crank} drives {child} through {coupler}");
        }
        match &found.judged {
            Some(judged) => {
                let check = &judged.check;
                println!(
                    "  {:?} as a direct joint with ratio {:.5}",
                    check.verdict, check.direct_joint.ratio
                );
            }
            None => println!("  not judged"),
        }
        for obstacle in found.obstacles.iter().chain(&found.remarks) {
            println!("  - {}", obstacle.message);
        }
    }
    Ok(())
}
