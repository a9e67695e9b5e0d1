//! Loops that a robot file cannot hold, stated in a small TOML file beside it.
//!
//! ```toml
//! [[loop]]
//! name  = "left_ankle"
//! links = ["left_rod", "left_foot"]            # the two links that the last pin holds together
//! at    = ["0 mm", "0 mm", "-300 mm"]          # the pin's place in the first link's frame
//! motor = "left_ankle_motor"                   # the motor's joint, where the robot file does not tell
//! child = "left_foot"                          # the link that is carried, likewise
//! ```

use std::ops::Range;

use nalgebra::Point3;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

use crate::diagnostic::{Diagnostic, nearest_name};
use crate::robot::{Closure, ClosureKind, JointId, LinkId, Robot, StatedRoles};
use crate::units::{UnitKind, quantity};

type Value<'a> = Spanned<DeValue<'a>>;

/// Adds the loops that `text` states to the robot's closures.
///
/// # Errors
/// Every fault of the text, each at its place; then the robot is as it was.
pub fn state_loops(robot: &mut Robot, text: &str) -> Result<(), Vec<Diagnostic>> {
    let table = DeTable::parse(text).map_err(|error| {
        let fault = Diagnostic::error(format!("not TOML: {}", error.message()));
        let fault = fault.help("a loop is stated as [[loop]] with name, links and at");
        vec![match error.span() {
            Some(place) => fault.at(place),
            None => fault,
        }]
    })?;
    let mut faults = Vec::new();
    let mut closures = Vec::new();
    for (key, value) in table.get_ref() {
        match (key.get_ref().as_ref(), value.get_ref()) {
            ("loop", DeValue::Array(loops)) => {
                for one in loops {
                    match closure(robot, one) {
                        Ok(closure) => closures.push(closure),
                        Err(fault) => faults.push(fault),
                    }
                }
            }
            ("loop", _) => faults.push(needs(value.span(), "loop", "[[loop]], with two brackets")),
            (other, _) => faults.push(unknown(key.span(), other, &["loop"])),
        }
    }
    if faults.is_empty() {
        robot.closures.extend(closures);
        return Ok(());
    }
    Err(faults)
}

const KEYS: [&str; 5] = ["name", "links", "at", "motor", "child"];

fn needs(place: Range<usize>, what: &str, form: &str) -> Diagnostic {
    Diagnostic::error(format!("{what} is not of the right kind"))
        .at(place)
        .help(format!("write {form}"))
}

fn unknown(place: Range<usize>, key: &str, known: &[&str]) -> Diagnostic {
    let nearest = nearest_name(key, known.iter().copied(), 0.75);
    let help =
        nearest.map_or(format!("known are {}", known.join(", ")), |n| format!("did you mean {n}?"));
    Diagnostic::error(format!("unknown key `{key}`")).at(place).help(help)
}

fn closure(robot: &Robot, one: &Value<'_>) -> Result<Closure, Diagnostic> {
    let DeValue::Table(table) = one.get_ref() else {
        return Err(needs(one.span(), "loop", "[[loop]], with two brackets"));
    };
    if let Some((key, _)) = table.iter().find(|(key, _)| !KEYS.contains(&key.get_ref().as_ref())) {
        return Err(unknown(key.span(), key.get_ref(), &KEYS));
    }
    let get = |key: &str, form: &str| {
        table.get(key).ok_or_else(|| {
            Diagnostic::error(format!("the loop has no `{key}`"))
                .at(one.span())
                .help(format!("add {form}"))
        })
    };
    let name = string(get("name", "name = \"left_ankle\"")?, "name")?;
    let pair = r#"links = ["left_rod", "left_foot"]"#;
    let links = list::<2>(get("links", pair)?, "links", pair)?;
    let point = r#"at = ["0 mm", "0 mm", "-300 mm"], in the first link's frame"#;
    let at = list::<3>(get("at", point)?, "at", point)?;
    let [first, second] = links;
    let (first, second) = (link(robot, first)?, link(robot, second)?);
    let [x, y, z] = at.map(length);
    let roles = roles(robot, table);
    let (place, pose) = robot
        .links
        .get(first)
        .map(|link| (link.place, link.pose))
        .ok_or_else(|| needs(one.span(), "links", pair))?;
    let point = pose.transform_point(&Point3::new(x?, y?, z?));
    Ok(Closure {
        name: name.to_owned(),
        place,
        kind: ClosureKind::Connect,
        links: [first, second],
        points: [point; 2],
        by_sites: true,
        is_active: true,
        softness: None,
        roles: roles?,
    })
}

fn roles(robot: &Robot, table: &DeTable<'_>) -> Result<StatedRoles, Diagnostic> {
    let joint = table.get("motor").map(|value| joint(robot, value)).transpose()?;
    let child = table.get("child").map(|value| link(robot, value)).transpose()?;
    Ok(StatedRoles { motor: joint, child })
}

fn joint(robot: &Robot, value: &Value<'_>) -> Result<JointId, Diagnostic> {
    let name = string(value, "motor")?;
    let known = robot.joints.iter().map(|joint| joint.name.as_str());
    robot.joint_named(name).ok_or_else(|| not_there("joint", name, known).at(value.span()))
}

fn not_there<'a>(kind: &str, name: &str, known: impl Iterator<Item = &'a str>) -> Diagnostic {
    let help = nearest_name(name, known, 0.75).map_or_else(
        || format!("name a {kind} of the robot file"),
        |n| format!("did you mean {n:?}?"),
    );
    Diagnostic::error(format!("the robot has no {kind} {name:?}")).help(help)
}

fn string<'a>(value: &'a Value<'_>, key: &str) -> Result<&'a str, Diagnostic> {
    match value.get_ref() {
        DeValue::String(text) => Ok(text.as_ref()),
        _ => Err(needs(value.span(), key, "a text in quotes")),
    }
}

fn list<'a, 'b, const N: usize>(
    value: &'a Value<'b>,
    key: &str,
    form: &str,
) -> Result<[&'a Value<'b>; N], Diagnostic> {
    let DeValue::Array(items) = value.get_ref() else { return Err(needs(value.span(), key, form)) };
    let items: Vec<&Value<'_>> = items.iter().collect();
    <[&Value<'_>; N]>::try_from(items).map_err(|_| needs(value.span(), key, form))
}

fn link(robot: &Robot, value: &Value<'_>) -> Result<LinkId, Diagnostic> {
    let name = string(value, "a link")?;
    let known = robot.links.iter().map(|link| link.name.as_str());
    robot.link_named(name).ok_or_else(|| not_there("link", name, known).at(value.span()))
}

fn length(value: &Value<'_>) -> Result<f64, Diagnostic> {
    let text = string(value, "at")?;
    quantity(text, UnitKind::Length).map_err(|fault| {
        let message = format!("`at` {}", fault.summary);
        Diagnostic::error(message).at(value.span()).label(fault.label).help(fault.help)
    })
}
