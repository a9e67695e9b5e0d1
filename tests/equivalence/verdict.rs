//! What a verdict says, from design text to sentence: never of a joint that cannot be written, never by a figure that is
//! none, and in the words of the criterion that decides.

use unloop::equivalence::{Criterion, Outcome, Shown, Verdict};
use unloop::study::{self, Check, Fault};

const ANKLE: &str = include_str!("../../models/ankle.toml");
const KNEE: &str = include_str!("../../models/knee_offset.toml");
const TWO_HIPS: &str = include_str!("../data/two_hips_on_a_pelvis.toml");
const MIRRORED: &str = include_str!("../data/mirrored_seen_from_the_other_side.toml");

fn judged(text: &str) -> Result<Check, Vec<Fault>> {
    let design = unloop::design::parse("d.toml", text).unwrap_or_else(|r| panic!("{r}")).0;
    study::check(&design)
}

fn check(text: &str) -> Check {
    judged(text).unwrap_or_else(|faults| panic!("{faults:?}"))
}

/// The ankle with the line that starts with `key` written anew.
fn ankle(key: &str, line: &str) -> String {
    let same = |old: &str| if old.starts_with(key) { line.to_owned() } else { old.to_owned() };
    ANKLE.lines().map(same).collect::<Vec<_>>().join("\n")
}

fn outcome(check: &Check, criterion: Criterion) -> Outcome {
    check.criterion(criterion).unwrap().outcome
}

/// The file without its first `[[robot]]`.
fn without_first_robot(text: &str) -> String {
    let (head, robots) = text.split_once("[[robot]]").unwrap();
    let (_, rest) = robots.split_once("[[robot]]").unwrap();
    format!("{head}[[robot]]{rest}")
}

#[test]
fn a_rotor_beyond_its_carrier_is_an_error_at_its_line_and_not_a_figure_that_is_none() {
    let text = ankle("rotor_inertia ", "rotor_inertia = \"0.1 kg m2\"");
    let faults = judged(&text).unwrap_err();
    assert!(faults[0].message.contains("rotor's inertia is larger"), "{faults:?}");
    assert_eq!(faults[0].parameter, unloop::design::Parameter::RotorInertia);
    let beside = text.replace("rotor_in_carrier = true", "rotor_in_carrier = false");
    assert_eq!(outcome(&check(&beside), Criterion::Inertia), Outcome::Fails);
}

#[test]
fn a_heavy_rotor_never_holds_by_a_figure_that_is_not_a_number() {
    for rotor in ["0.01", "0.02", "0.05", "0.0512"] {
        let text = ankle("rotor_inertia ", &format!("rotor_inertia = \"{rotor} kg m2\""));
        let inertia = check(&text).criterion(Criterion::Inertia).unwrap().clone();
        let figure = inertia.worst().map(|f| f.value());
        assert!(figure.is_none_or(|x| x > 0.05), "{rotor}: {figure:?}");
        assert_eq!(inertia.outcome, Outcome::Fails, "{rotor}");
    }
}

#[test]
fn equivalent_is_never_said_of_a_joint_whose_bodies_cannot_be_real() {
    // Rotors of every size and sense: what holds can be written, and what cannot is the headline.
    let mut refused = 0;
    let gears = ["-200", "-60", "-30", "-7.75", "7.75", "30", "60", "200"];
    let rotors = gears.map(|gear| ankle("gear_ratio ", &format!("gear_ratio = {gear}")));
    let heavy_crank = ANKLE.replace("mass    = \"0.09 kg\"", "mass    = \"10 kg\"");
    for text in rotors.into_iter().chain([heavy_crank]) {
        let check = check(&text);
        let drives = &check.inertia.as_ref().unwrap().drives;
        match drives {
            Ok(all) => assert!(all.iter().all(|d| d.replacement.carrier().check().is_ok())),
            Err(_) => {
                refused += 1;
                assert_eq!(check.verdict, Verdict::NotEquivalent);
                assert!(check.reason.contains("no direct joint with real bodies"));
            }
        }
    }
    assert!(refused > 0, "one of them is beyond what real bodies can do");
}

#[test]
fn a_heavy_crank_is_refused_for_its_inertia_and_not_for_a_transmission_angle() {
    let heavy = ANKLE.replace("mass    = \"0.09 kg\"", "mass    = \"0.9 kg\"");
    let light_foot = heavy
        .replace("mass    = \"0.9 kg\"\ncenter  = [\"-30", "mass = \"0.3 kg\"\ncenter = [\"-30");
    for text in [heavy, light_foot] {
        let found = check(&text);
        if outcome(&found, Criterion::Inertia) == Outcome::Fails {
            assert!(!found.reason.contains("transmission angle"), "{}", found.reason);
        }
    }
    let strict = ANKLE.replace("preset = \"training\"", "inertia = \"0.5 %\"");
    let found = check(&strict);
    assert_eq!(outcome(&found, Criterion::Inertia), Outcome::Fails);
    let want = "the kinetic energy of the direct joint's model is up to 1.24 % off";
    assert!(found.reason.contains(want), "{}", found.reason);
}

#[test]
fn the_reason_is_made_from_the_criterion_that_fails_whichever_that_is() {
    let knee = |limits: &str| check(&KNEE.replace("[accept]", &format!("[accept]\n{limits}")));
    let wide = "angle = \"80 deg\"\nratio = \"900 %\"\ntransmission_angle = \"1 deg\"\n";
    let with = |key: &str, line: &str| {
        let kept: Vec<&str> = wide.lines().filter(|l| !l.starts_with(key)).collect();
        format!("{}\n{line}\n", kept.join("\n"))
    };
    let cases = [
        (Criterion::Angle, with("angle", "angle = \"0.1 deg\""), "deg off the linkage"),
        (Criterion::Ratio, with("ratio", "ratio = \"1 %\""), "% off 1.35"),
        (
            Criterion::TransmissionAngle,
            with("transmission", "transmission_angle = \"80 deg\""),
            "the transmission angle falls to",
        ),
    ];
    for (criterion, limits, words) in cases {
        let found = knee(&limits);
        assert_eq!(found.verdict, Verdict::NotEquivalent);
        assert!(found.reason.contains(words), "{criterion:?}: {}", found.reason);
        let failing = found.criterion(criterion).unwrap();
        let limit = study::figure(criterion, failing.limit);
        assert!(found.reason.contains(&format!("({} {limit})", criterion.side().limit_name())));
    }
    let inertia = check(&ANKLE.replace("preset = \"training\"", "inertia = \"0.5 %\""));
    assert!(inertia.reason.contains("kinetic energy") && inertia.reason.contains("(limit 0.50 %"));
}

#[test]
fn two_hips_on_one_pelvis_are_judged_moving_together() {
    // Each alone is 4.03 % off, both moving 5.32 %: an engine's mass matrix of both closed loops against the trees'.
    let found = check(TWO_HIPS);
    let inertia = found.criterion(Criterion::Inertia).unwrap();
    assert!((inertia.worst().unwrap().value() - 0.0532).abs() < 5e-5, "{inertia:?}");
    assert_eq!(found.verdict, Verdict::NotEquivalent);
    let all = found.inertia.as_ref().unwrap();
    assert_eq!(all.together.len(), 1);
    for drive in all.drives.as_ref().unwrap() {
        assert!((drive.error.value - 0.0403).abs() < 5e-5, "{drive:?}");
    }
}

#[test]
fn hips_within_the_limit_together_are_proved_and_the_bound_covers_both() {
    let wide = TWO_HIPS.replace("[actuator]", "[accept]\ninertia = \"8 %\"\n[actuator]");
    let found = check(&wide);
    let inertia = found.criterion(Criterion::Inertia).unwrap();
    assert_eq!((found.verdict, inertia.shown), (Verdict::Equivalent, Shown::Proved));
    let together = found.inertia.as_ref().unwrap().together[0].error;
    assert!(inertia.bound.unwrap().value() >= together);
}

#[test]
fn a_mirrored_joint_counts_with_its_own_figure() {
    // 1.22 % on the first robot, 1.57 % on the mirrored one: an engine's mass matrices.
    let figure =
        |text: &str| check(text).criterion(Criterion::Inertia).unwrap().nominal.unwrap().value();
    let alone = without_first_robot(MIRRORED);
    assert!((figure(MIRRORED) - 0.0157).abs() < 5e-5);
    assert!((figure(MIRRORED) - figure(&alone)).abs() < 1e-15);
}

#[test]
fn a_missing_rotor_hides_neither_crank_nor_rod() {
    let bare: String = ANKLE
        .lines()
        .filter(|l| !l.starts_with("rotor_") && !l.starts_with("gear_ratio"))
        .collect::<Vec<_>>()
        .join("\n");
    let light = check(&bare);
    assert_eq!(light.verdict, Verdict::Equivalent);
    assert_eq!(outcome(&light, Criterion::Inertia), Outcome::NotAssessed);
    let note = study::note(light.criterion(Criterion::Inertia).unwrap()).unwrap();
    assert!(note.contains("crank and rod alone change the kinetic energy"), "{note}");
    let strict = check(&bare.replace("preset = \"training\"", "preset = \"invisible\""));
    assert_eq!(outcome(&strict, Criterion::Inertia), Outcome::Fails, "{}", strict.reason);
    assert!(strict.reason.contains("crank and rod alone"), "{}", strict.reason);
}

fn short(rocker: &str, more: &str) -> String {
    format!(
        "name = \"x\"\n[linkage]\nground = \"300 mm\"\ncrank = \"45 mm\"\ncoupler = \"300 mm\"\nrocker = \"{rocker}\"\n\
         [zero]\ncrank = \"90 deg\"\nrocker = \"90 deg\"\nset_by = \"jig\"\n[stroke]\njoint = [\"-35 deg\", \"40 deg\"]\n\
         [direct_joint]\nratio = 1.0\n{more}"
    )
}

#[test]
fn a_size_outside_its_own_limits_is_judged_as_it_is_built() {
    let middle = check(&short("45 ±0.01 mm", ""));
    for written in ["46 -0.99/-1.01 mm", "44 +1.01/+0.99 mm"] {
        let outside = check(&short(written, ""));
        assert_eq!(outside.verdict, Verdict::Equivalent, "{written}: {}", outside.reason);
        assert!(outside.warnings.iter().any(|w| w.code.name() == "drawn_outside_limits"));
        assert!((outside.linkage.unwrap().bars.rocker - 0.045).abs() < 1e-15);
        let pairs = outside.criteria.iter().zip(&middle.criteria);
        for (outside, middle) in pairs.filter(|(c, _)| c.criterion != Criterion::Inertia) {
            let [a, b] = [outside, middle].map(|c| c.worst().unwrap().value());
            assert!((a - b).abs() <= 1e-9 + 1e-3 * b.abs(), "{written}: {a} {b}");
        }
    }
    assert!(!middle.warnings.iter().any(|w| w.code.name() == "drawn_outside_limits"));
}

#[test]
fn a_limit_that_is_met_exactly_holds_and_one_missed_by_a_hair_more_does_not() {
    let stroke = |degrees: f64| {
        check(&short("45 mm", "").replace(
            "joint = [\"-35 deg\", \"40 deg\"]",
            &format!("joint = [\"-{degrees} deg\", \"{degrees} deg\"]"),
        ))
    };
    for met in [60.0, 59.999_999_999_99] {
        assert_eq!(stroke(met).verdict, Verdict::Equivalent, "{met}");
    }
    assert_eq!(stroke(60.000_001).verdict, Verdict::NotEquivalent);
}

#[test]
fn a_range_of_joint_angles_run_through_twice_is_not_called_proved_for_one_of_the_two_passes() {
    let turning_back = include_str!("../data/kite_turning_back.toml");
    let long = "name = \"x\"\n[linkage]\nground = \"426 mm\"\ncrank = \"147 mm\"\ncoupler = \"583 mm\"\nrocker = \"217 mm\"\n\
        [zero]\ncrank = \"128 deg\"\nrocker = \"73 deg\"\n[stroke]\nmotor = [\"-14 deg\", \"170 deg\"]\n\
        [direct_joint]\nratio = -10\n[accept]\nangle = \"50 deg\"\nratio = \"50 %\"\ntransmission_angle = \"14 deg\"\n";
    for text in [turning_back, long] {
        let found = check(text);
        assert_eq!(found.verdict, Verdict::NotEquivalent);
        assert_eq!(found.proved_joint, None, "{}", found.reason);
    }
}

#[test]
fn what_is_only_computed_is_not_called_unproved_and_equivalent_in_one_breath() {
    let designs = [ANKLE, KNEE, TWO_HIPS, MIRRORED];
    for text in designs {
        let found = check(text);
        let shown = unloop::report::check_text(
            &found,
            unloop::report::Detail::Full,
            unloop::report::Style::PLAIN,
        );
        let first = shown.lines().next().unwrap();
        let contradicts =
            first.contains("EQUIVALENT") && first.contains("neither proved nor refuted");
        assert!(!contradicts, "{first}");
        assert!(!shown.contains("NaN") && !shown.contains("inf "), "{shown}");
    }
}
