//! JSON of what is counted by a finger's crank, told by the motor that another drive stands before.

use serde_json::Value;

use super::super::readings::Readings;
use super::views::changed;

/// Turns of the crank become those of the motor where another drive stands between: under every key that ends in `motor_rad`,
/// with the distance from the `stroke` (crank turns) beside one, and both ends of a stroke so that the motor's rise.
pub(in crate::study) fn with_motor_turns(value: &mut Value, readings: &Readings, stroke: [f64; 2]) {
    if readings.front().is_none() {
        return;
    }
    match value {
        Value::Array(items) => {
            items.iter_mut().for_each(|item| with_motor_turns(item, readings, stroke));
        }
        Value::Object(object) => {
            object.values_mut().for_each(|item| with_motor_turns(item, readings, stroke));
            let motor = |turn: f64| readings.own_motor_turn(turn);
            for (key, numbers) in object.iter_mut() {
                if key.ends_with("motor_rad") {
                    *numbers = changed(numbers, &motor);
                    numbers.as_array_mut().into_iter().flatten().for_each(rising);
                }
            }
            if let Some(at) = object.get("motor_rad").and_then(Value::as_f64)
                && let Some(margin) = object.get_mut("margin_rad")
                && margin.as_f64().is_none_or(|margin| margin > 0.0)
            {
                let away = stroke.map(|end| (motor(end) - at).abs());
                *margin = Value::from(away[0].min(away[1]));
            } else if object.get("motor_rad").is_some_and(Value::is_null)
                && let Some(margin) = object.get_mut("margin_rad")
            {
                *margin = Value::Null;
            }
            if let Some([a, b]) = object.get("motor_rad").and_then(pair)
                && a > b
            {
                for key in ["motor_rad", "joint_rad", "motor_reading_rad", "joint_reading_rad"] {
                    if let Some(Value::Array(ends)) = object.get_mut(key) {
                        ends.reverse();
                    }
                }
            }
        }
        _ => {}
    }
}

/// A range of turns within a list of them.
fn rising(range: &mut Value) {
    if pair(range).is_some_and(|[a, b]| a > b)
        && let Some(ends) = range.as_array_mut()
    {
        ends.reverse();
    }
}

fn pair(value: &Value) -> Option<[f64; 2]> {
    match value.as_array()?.as_slice() {
        [a, b] => Some([a.as_f64()?, b.as_f64()?]),
        _ => None,
    }
}
