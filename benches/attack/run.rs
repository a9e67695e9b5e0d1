//! One case from its number to its report; many of them on threads.

use std::cell::RefCell;
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Mutex, PoisonError};
use std::time::Instant;

use serde_json::Value;
use unloop::design::parse;
use unloop::study::check;

use super::compare::{Break, Report, against};
use super::double::{Double, Real};
use super::drawing::{By, Drawing, Geometry, Meaning};
use super::families::{Choice, Fit, draw};
use super::jaw;
use super::random::Random;
use super::tally::Tally;
use super::truth::{Question, motor_turn, motor_turns, worst};

/// What came of one case.
#[derive(Clone, Debug)]
pub struct Tried {
    pub case: u64,
    pub drawing: Drawing,
    pub report: Report,
    /// Of `check` alone, on its thread.
    pub seconds: f64,
}

thread_local! {
    static CURRENT: RefCell<(u64, String)> = const { RefCell::new((0, String::new())) };
}

/// Case and design file that this thread is at, for when it panics.
pub fn current() -> (u64, String) {
    CURRENT.with(|current| current.try_borrow().map(|c| c.clone()).unwrap_or_default())
}

/// What `check` answers: its JSON, or why it refused.
enum Answer {
    Judged(Value),
    Unread(String),
    Refused(String),
}

fn ask(text: &str) -> (Answer, f64) {
    let design = match parse("attack.toml", text) {
        Ok((design, _)) => design,
        Err(rejected) => return (Answer::Unread(rejected.to_string()), 0.0),
    };
    let start = busy();
    let found = check(&design);
    let seconds = busy() - start;
    let answer = match found {
        Err(faults) => {
            let all: Vec<String> =
                faults.iter().map(|f| format!("{}: {}", f.message, f.label)).collect();
            Answer::Refused(all.join("; "))
        }
        Ok(found) => match serde_json::to_value(&found) {
            Ok(json) => Answer::Judged(json),
            Err(error) => Answer::Unread(error.to_string()),
        },
    };
    (answer, seconds)
}

/// Seconds that this thread has computed, where the system says so; else the clock.
fn busy() -> f64 {
    static START: std::sync::OnceLock<Instant> = std::sync::OnceLock::new();
    let scheduled = std::fs::read_to_string("/proc/thread-self/schedstat").ok();
    let nanoseconds = scheduled.and_then(|s| s.split_whitespace().next()?.parse::<f64>().ok());
    nanoseconds
        .map_or_else(|| START.get_or_init(Instant::now).elapsed().as_secs_f64(), |ns| ns * 1e-9)
}

/// Judges a drawing and compares.
pub fn judge(drawing: &Drawing, (seed, case): (u64, u64)) -> (Report, f64) {
    let text = drawing.text();
    CURRENT.with(|current| {
        if let Ok(mut current) = current.try_borrow_mut() {
            *current = (case, text.clone());
        }
    });
    let mut random = Random::new(seed ^ 0x51, case);
    let (answer, seconds) = ask(&text);
    let report = match (answer, drawing.meaning()) {
        (Answer::Judged(json), Some(meaning)) => against(&meaning, &json, &mut random),
        (Answer::Judged(_), None) => {
            alone("accepted", "the zero pose does not close".to_owned(), true)
        }
        (Answer::Unread(why), meaning) => {
            let needless = meaning.is_some() && drawing.class.starts_with("jaw");
            let needless = needless && drawing.class != "jaw_absurd";
            alone(if needless { "needless refusal" } else { "text refused" }, why, needless)
        }
        (Answer::Refused(why), meaning) => {
            let needless = meaning.is_some_and(|m| runs(&m, &why));
            alone(if needless { "needless refusal" } else { "refused" }, why, needless)
        }
    };
    (report, seconds)
}

fn alone(kind: &'static str, says: String, is_break: bool) -> Report {
    let mut report = Report { verdict: "refused".to_owned(), ..Report::default() };
    if is_break {
        report.breaks.push(Break { kind, says });
    } else {
        report.remarks.push((kind, says));
    }
    report
}

/// Does the reference run over its stroke, and a little further?
fn runs(meaning: &Meaning, why: &str) -> bool {
    let further = |turn: Double| turn * Double::of(1.0 + 1e-6);
    let ends = meaning.stroke.map(further);
    if why.contains("flat") || why.contains("dead point") && meaning.by == By::Joint {
        return false;
    }
    match meaning.by {
        By::Joint if why.contains("change point") => false,
        By::Joint => ends.into_iter().all(|joint| motor_turn(meaning, joint, 0.0).is_some()),
        By::Motor => {
            let zero = Double::of(0.0);
            let from = if ends[0] < zero { ends[0] } else { zero };
            let to = if ends[1] > zero { ends[1] } else { zero };
            let crank = meaning.zero_crank;
            // Lengths this close to a change point count as one.
            let margin = if why.contains("change point") { 1e-7 } else { 1e-20 };
            meaning.reference.closes_over_by(crank + from, crank + to, Double::of(margin))
        }
    }
}

/// The case of this number.
pub fn attempt(seed: u64, case: u64, choice: Choice) -> Tried {
    let mut random = Random::new(seed, case);
    let drawn = draw(&mut random, choice);
    let mut drawing = drawn.drawing;
    if let Some(fit) = drawn.fit
        && let Some(fitted) = fitted(&drawing, fit, &mut random)
    {
        drawing = fitted;
    }
    let (report, seconds) = judge(&drawing, (seed, case));
    Tried { case, drawing, report, seconds }
}

/// The same design with one limit at the worst figure found.
fn fitted(drawing: &Drawing, fit: Fit, random: &mut Random) -> Option<Drawing> {
    let meaning = drawing.meaning()?;
    let turns = motor_turns(&meaning)?;
    let family = asked(&meaning, drawing, turns)?;
    let truth = worst(&family, random);
    let mut out = drawing.clone();
    for (figure, fit) in fit.0.into_iter().enumerate() {
        let Some([share, hair]) = fit else { continue };
        let found = truth.worst(figure).filter(|_| truth.open.is_none())?.value.value();
        let wanted = found * share + hair;
        if (1e-7..[1.5, 5.0, 1.57, 0.5, 0.5][figure]).contains(&wanted) {
            match (figure, &mut out.finger) {
                (0, _) => out.angle = Some(format!("{wanted:e}")),
                (1, _) => out.ratio_limit = Some(format!("{:e}", wanted * 100.0)),
                (2, _) => out.transmission = Some(format!("{wanted:e}")),
                (_, Some(finger)) => finger.limits[figure - 3] = Some(format!("{wanted:e}")),
                _ => {}
            }
        }
    }
    Some(out)
}

/// The family with the constants that are given or, where they are to be the best, said to be.
fn asked(meaning: &Meaning, drawing: &Drawing, turns: [Double; 2]) -> Option<Question<Double>> {
    let of = |ratio: f64, offset: f64| {
        let slope = Double::of(1.0) / Double::of(ratio);
        Question::of(meaning, turns, slope, Double::of(offset))
    };
    if let (Some(ratio), Some(offset)) = (meaning.ratio, meaning.offset) {
        return Some(of(ratio.value(), offset.value()));
    }
    let (Answer::Judged(json), _) = ask(&drawing.text()) else { return None };
    if meaning.is_of_pad() {
        let pad = jaw::asked(meaning, &json, &mut Report::default())?;
        return Some(Question { pad: Some(pad), ..of(1.0, 0.0) });
    }
    let joint = &json["direct_joint"];
    Some(of(joint["ratio"].as_f64()?, joint["offset_rad"].as_f64()?))
}

/// A design with rounder figures that breaks in the same way.
pub fn shrunk(tried: &Tried, seed: u64) -> Drawing {
    let Some(kind) = tried.report.breaks.first().map(|b| b.kind) else {
        return tried.drawing.clone();
    };
    let mut best = tried.drawing.clone();
    if tried.seconds > 0.1 {
        return best;
    }
    let breaks = |drawing: &Drawing| {
        judge(drawing, (seed, tried.case)).0.breaks.iter().any(|b| b.kind == kind)
    };
    for k in 0..texts(&mut best.clone()).len() {
        for digits in 0..4 {
            let mut rounder = best.clone();
            if let Some(text) = texts(&mut rounder).into_iter().nth(k) {
                let Ok(value) = text.parse::<f64>() else { break };
                let short = format!("{value:.digits$}");
                if short.len() >= text.len() {
                    break;
                }
                *text = short;
            }
            if breaks(&rounder) {
                best = rounder;
                break;
            }
        }
    }
    best
}

fn texts(drawing: &mut Drawing) -> Vec<&mut String> {
    let mut all: Vec<&mut String> = Vec::new();
    match &mut drawing.geometry {
        Geometry::Lengths { sizes, crank, .. } => {
            for one in sizes.iter_mut().chain([crank]) {
                all.push(&mut one.nominal);
                all.extend(one.deviations.iter_mut().flatten());
            }
        }
        Geometry::Pivots { pins, deviations } => {
            all.extend(pins.iter_mut().flatten());
            all.extend(deviations.iter_mut().flatten().flatten());
        }
    }
    all.extend(drawing.reads.iter_mut());
    all.extend(drawing.stroke.iter_mut());
    all.extend([&mut drawing.ratio, &mut drawing.offset].into_iter().flatten());
    if let Some(finger) = &mut drawing.finger {
        all.extend(finger.point.iter_mut().chain(&mut finger.closing));
        all.push(&mut finger.opening);
        all.extend(finger.limits.iter_mut().chain(&mut finger.actuator).flatten());
    }
    all
}

/// Which cases of which seed, and for how long.
#[derive(Clone, Copy, Debug)]
pub struct Plan {
    pub seed: u64,
    pub choice: Choice,
    pub threads: u64,
    pub seconds: f64,
    pub cases: u64,
}

/// Cases 0, 1, 2, … on all threads until the time or the cases are over; `seen` is told of each.
pub fn run(plan: &Plan, tally: &Mutex<Tally>, seen: &(impl Fn(&Tried) + Sync)) {
    let (next, start) = (AtomicU64::new(0), Instant::now());
    let work = || {
        while start.elapsed().as_secs_f64() < plan.seconds {
            let case = next.fetch_add(1, Ordering::Relaxed);
            if case >= plan.cases {
                break;
            }
            let tried = attempt(plan.seed, case, plan.choice);
            tally.lock().unwrap_or_else(PoisonError::into_inner).add(&tried);
            seen(&tried);
        }
    };
    std::thread::scope(|scope| {
        for _ in 0..plan.threads {
            scope.spawn(work);
        }
    });
}
