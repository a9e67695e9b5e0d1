//! What is printed for people can be pasted into the design file: readings, in the drawing's sense.

use serde_json::Value;
use unloop::design::{Design, parse};
use unloop::handover::snippets;
use unloop::report::{self, Detail, Style};
use unloop::study::{self, Mechanism};

const PLAIN: Style = Style { colour: false, unicode: true, width: 100 };

/// A general four-bar whose joint reads 30 deg in the zero pose; `more` stands before the tables, `robot` at the end.
fn design(more: &str, robot: &str) -> Design {
    let text = format!(
        "name = \"ankle\"\n{more}\n[linkage]\nground = \"300 mm\"\ncrank = \"45 mm\"\ncoupler = \"300 mm\"\nrocker = \"52 mm\"\n\
         [zero]\ncrank = \"90 deg\"\nrocker = \"90 deg\"\njoint_reads = \"30 deg\"\n[stroke]\njoint = [\"-5 deg\", \"70 deg\"]\n\
         [accept]\nratio = \"20 %\"\n[actuator]\npeak_torque = \"10 N m\"\nmax_speed = \"10 rad/s\"\n\
         [[robot]]\njoint = \"j\"\nparent = \"p\"\nchild = \"c\"\naxis = [0.0, 0.0, 1.0]\norigin = [\"0 mm\", \"0 mm\", \"0 mm\"]\n{robot}\n"
    );
    parse("ankle.toml", &text).unwrap_or_else(|r| panic!("{r}")).0
}

const KINDS: [(&str, &str); 4] =
    [("", ""), ("", "mirrored = true"), ("axis_points = \"away\"", ""), ("", "motor_sign = -1")];

#[test]
fn every_screen_shows_the_strokes_ends_as_the_design_file_has_them() {
    for (more, robot) in KINDS {
        let design = design(more, robot);
        let check = study::check(&design).unwrap();
        let text = report::check_text(&check, Detail::Full, PLAIN);
        assert!(check.reason.contains("joint -5.0…70.0 deg"), "{}", check.reason);
        assert!(text.contains("joint -5.00…70.00 deg as read"), "{text}");
        assert!(text.contains("zero pose    crank 90.00 deg"), "{text}");
        let mechanism = Mechanism::of(&design).unwrap();
        let rows = study::stroke(&design, &mechanism, &check.direct_joint, 5);
        let mut csv = Vec::new();
        report::stroke_csv(rows.into_iter(), &mut csv).unwrap();
        let csv = String::from_utf8(csv).unwrap();
        let at = csv.lines().next().unwrap().split(',').position(|c| c == "joint_reading_rad");
        let read = |line: &str| line.split(',').nth(at.unwrap()).unwrap().parse::<f64>().unwrap();
        let mut ends = [1, 5].map(|k| read(csv.lines().nth(k).unwrap()).to_degrees());
        ends.sort_by(f64::total_cmp);
        assert!((ends[0] + 5.0).abs() < 1e-9 && (ends[1] - 70.0).abs() < 1e-9, "{ends:?}");
        let loads = report::loads_text(&study::loads(&design).unwrap(), Detail::Full, PLAIN);
        assert!(loads.contains("at joint 70.0 deg"), "{loads}");
    }
}

#[test]
fn a_robot_that_counts_the_other_way_is_told_the_limits_that_its_file_gets() {
    for (more, robot) in KINDS {
        let design = design(more, robot);
        let check = study::check(&design).unwrap();
        let mechanism = Mechanism::of(&design).unwrap();
        let emitted = snippets(&design, &mechanism, &check);
        let limits = emitted[0].outcome.as_ref().unwrap().joints[0].limit_rad;
        let told = match &check.other_way[..] {
            [] => check.readings.joint_range(check.stroke.joint),
            [one] => one.joint,
            more => panic!("{more:?}"),
        };
        for (told, written) in told.into_iter().zip(limits) {
            assert!((told - written).abs() < 1e-12, "{more} {robot}: {told} {written}");
        }
        assert_eq!(check.other_way.is_empty(), (more, robot) == KINDS[0]);
    }
}

#[test]
fn turns_stay_turns_in_json_and_their_readings_stand_beside_them() {
    for (more, robot) in KINDS {
        let design = design(more, robot);
        let check = study::check(&design).unwrap();
        let json = serde_json::to_value(&check).unwrap();
        let sense = if more.is_empty() { 1.0 } else { -1.0 };
        let mut seen = 0;
        each_object(&json, &mut |object| {
            for (key, turn) in object {
                let Some(stem) = key.strip_suffix("joint_rad") else { continue };
                let reading = &object[&format!("{stem}joint_reading_rad")];
                if let (Some(turn), Some(reading)) = (turn.as_f64(), reading.as_f64()) {
                    assert!((reading - 30_f64.to_radians() - sense * turn).abs() < 1e-12, "{key}");
                    seen += 1;
                }
            }
        });
        assert!(seen > 4, "{seen}");
        let stroke = &json["stroke"]["joint_reading_rad"];
        let ends = [0, 1].map(|k| stroke[k].as_f64().unwrap().to_degrees());
        let [low, high] = [ends[0].min(ends[1]), ends[0].max(ends[1])];
        assert!((low + 5.0).abs() < 1e-9 && (high - 70.0).abs() < 1e-9, "{ends:?}");
    }
}

fn each_object(value: &Value, take: &mut impl FnMut(&serde_json::Map<String, Value>)) {
    match value {
        Value::Array(items) => items.iter().for_each(|item| each_object(item, take)),
        Value::Object(object) => {
            take(object);
            object.values().for_each(|item| each_object(item, take));
        }
        _ => {}
    }
}
