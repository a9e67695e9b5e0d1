//! Who drives a loop with one slide, and what it carries: the slide's place alone says which body is the child.

use super::bearing::bearing;
use super::obstacle::Obstacle;
use super::ring::Ring;
use super::roles::{
    Cast, Look, MotorSeat, Roles, coupler_bears, crank_bears, driven_twice, motor_unknown, motors,
    told_child,
};

/// Gives nut, rod or housing, and child their places; `slide` as [`Ring::slide`] has it.
pub(super) fn cast(look: Look<'_>, ring: Ring, (slide, is_turned): (usize, bool)) -> Cast {
    let ring = if is_turned { ring.reversed() } else { ring };
    let (at_slide, elsewhere): (Vec<_>, Vec<_>) =
        motors(look, &ring).into_iter().partition(|motor| motor.pin == slide);
    let mut obstacles = Vec::new();
    let motor = match (at_slide.as_slice(), elsewhere.as_slice()) {
        ([only], []) => Some(only),
        ([], []) => {
            obstacles.push(motor_unknown());
            None
        }
        ([], [other, ..]) => {
            obstacles.push(beside_slide(&ring, other.pin, &other.told_by));
            None
        }
        ([own, ..], others) => {
            let all: Vec<_> = [own].into_iter().chain(others).cloned().collect();
            obstacles.push(driven_twice(&all));
            None
        }
    };
    if told_child(look, &ring).is_some_and(|body| body != 3) {
        obstacles.push(Obstacle::new(
            "child_unknown",
            "what is told to be carried lies between the slide and the driven joint: of a loop with a slide the body across from it is the child",
        ));
    }
    let joint = motor.and_then(|motor| ring.pins.get(motor.pin)?.joint);
    let roles = Roles {
        motor: joint,
        motor_told_by: motor.map_or("nothing says which".to_owned(), |m| m.told_by.clone()),
        seat: MotorSeat::Crank,
        drives: joint.map_or_else(Vec::new, |joint| look.drives.on(joint).to_vec()),
        tied_to: motor.and_then(|motor| motor.tied_to),
        child_told_by: "the slide moves it by its pin".to_owned(),
        jaw_told_by: None,
    };
    obstacles.extend(crank_bears(look.robot, &ring));
    if ring.spare.get(2).is_some_and(|spare| *spare > 0)
        && let Some(why) = bearing(look.robot, look.bodies, &ring, 2).strong
    {
        obstacles.push(coupler_bears(&ring, look.robot, &why, ""));
    }
    Cast { ring, roles, obstacles }
}

/// A motor that the kinds of drives do not know: on a pin of a loop whose slide only follows.
fn beside_slide(ring: &Ring, pin: usize, told_by: &str) -> Obstacle {
    let name = ring.pins.get(pin).map_or("", |pin| pin.name.as_str());
    Obstacle::new(
        "motor_elsewhere",
        format!(
            "{name} is driven and the slide only follows ({told_by}): this is no linear drive, and is kept as it is"
        ),
    )
}
