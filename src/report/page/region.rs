//! A drive of two joints on the page: verdict, criteria, the drive from two sides, maps over pitch and roll, torque and speed.

mod motion;

use crate::equivalence::{Assessment, Verdict};
use crate::handover::{ActuatorUnits, TwoJointSnippet};
use crate::report::blocks::{Block, Cell, dash};
use crate::report::check::worst_and_limit;
use crate::report::drawing::{Chart, Drawing, Place, cursor, inline};
use crate::report::pictures;
use crate::report::region::{self, rests};
use crate::report::words::{capital, escaped, prose, sentence};
use crate::study::{RegionCheck, RegionCourse, over_joints};

use super::element::{heading, set};
use super::{PageRegion, joint, sections_of, verdict};

/// One design of two joints on the page.
#[derive(Clone, Copy)]
pub(super) struct RegionLeaf<'a> {
    pub(super) of: PageRegion<'a>,
    /// What all its ids begin with.
    pub(super) id: &'a str,
    /// The rank of its own heading, 1 or 2.
    pub(super) rank: u8,
}

/// What a verdict is worth, in a sentence.
fn meaning(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Equivalent => {
            "two direct joints with a constant matrix may stand in for the drive in a robot model"
        }
        Verdict::NotEquivalent => "two direct joints must not stand in for the drive",
        Verdict::Undecided => {
            "it could be neither proved nor refuted that two direct joints may stand in"
        }
    }
}

impl RegionLeaf<'_> {
    fn check(&self) -> &RegionCheck {
        self.of.check
    }

    fn set(&self, blocks: &[Block]) -> String {
        set(self.rank + 1, blocks)
    }

    /// All of the design.
    pub(super) fn article(&self, issue: &str) -> String {
        let check = self.check();
        let head = verdict::Head {
            rank: self.rank,
            design: &check.design,
            verdict: check.verdict,
            meaning: meaning(check.verdict),
            reason: &check.reason,
            rests: &rests(check),
        };
        let (links, body) = sections_of(self.id, self.rank, self.sections());
        format!(
            "<article id=\"{}\">\n{}<nav aria-label=\"On this page, {}\">\n<ul>\n{links}</ul>\n</nav>\n{body}</article>\n",
            self.id,
            head.shown(if self.rank == 1 { issue } else { "" }),
            escaped(&check.design)
        )
    }

    /// Name, heading and body of every section.
    fn sections(&self) -> Vec<(&'static str, &'static str, String)> {
        vec![
            ("criteria", "Criteria", self.criteria()),
            ("linkage", "The drive", motion::drive(self)),
            ("maps", "Over pitch and roll", self.maps()),
            ("power", "Torque, speed, inertia", self.powers()),
            ("joint", "What stands in", self.stand_in()),
            ("cautions", "Assumptions and cautions", self.cautions()),
            ("file", "The design file", super::findings::source_of(self.of.path, self.of.text)),
        ]
    }

    fn criteria(&self) -> String {
        let check = self.check();
        let (board, notes): (Vec<_>, Vec<_>) =
            region::criteria(check).into_iter().partition(|block| matches!(block, Block::Table(_)));
        let more = [notes, region::would_do(check), region::witness(check)].concat();
        format!("<div class=\"board\">\n{}</div>\n{}", self.set(&board), self.set(&more))
    }

    fn maps(&self) -> String {
        let (check, course) = (self.check(), self.of.course);
        let mut rate = pictures::rate_map(check, course);
        rate.description = sentence(&capital(&pictures::told(check)));
        let mut drawing = rate.draw();
        if let Some(at) = motion::place(self, course.nearest_zero) {
            cursor(&mut drawing, &rate.frame(), at);
        }
        let first = self.plot("rate", &drawing, &rate);
        let angles = self.plots("angle", pictures::angle_maps(check, course));
        let motors = self.plots("motor", pictures::motor_maps(check, course));
        format!(
            "{}<div class=\"plots\">\n{first}{angles}{motors}</div>\n",
            self.set(&region::rates(check))
        )
    }

    fn powers(&self) -> String {
        let check = self.check();
        let charts = self.plots("power", pictures::powers(check));
        let charts = if charts.is_empty() {
            charts
        } else {
            format!("<div class=\"plots\">\n{charts}</div>\n")
        };
        charts
            + &self.set(
                &[
                    region::powers(check.torque.as_ref(), check.speed.as_ref(), true),
                    region::inertia(check, true),
                ]
                .concat(),
            )
    }

    fn plots(&self, name: &str, charts: Vec<Chart>) -> String {
        let one =
            |(k, chart): (usize, Chart)| self.plot(&format!("{name}-{k}"), &chart.draw(), &chart);
        charts.into_iter().enumerate().map(one).collect()
    }

    fn plot(&self, name: &str, drawing: &Drawing, chart: &Chart) -> String {
        let id = format!("{}-{name}", self.id);
        format!(
            "<div id=\"{id}\" class=\"plot\">\n{}<figure>\n<p class=\"hint\">{}</p>\n{}\n<figcaption>{}</figcaption>\n</figure>\n</div>\n",
            heading(self.rank + 2, None, &chart.title),
            prose(&chart.y.label),
            inline(drawing, Place { id: &id, class: "chart" }),
            prose(&chart.description)
        )
    }

    /// The matrix, with what it is worth, and both joints as text to copy or why there are none.
    fn stand_in(&self) -> String {
        let check = self.check();
        let matrix = region::matrix(&check.direct_joints, &check.drive.motors);
        let worth = Block::Line(meaning(check.verdict).to_owned());
        let mut out = self.set(&[worth, Block::List(matrix)]);
        let (mut told, mut is_first) = (Vec::new(), true);
        for snippet in self.of.snippets {
            match &snippet.outcome {
                Ok(emission) => {
                    let [id, title] = self.named(snippet);
                    let title = [title.as_str(), "Both joints"];
                    out += &joint::shown(&id, title, &emission.file, &emission.notes, is_first);
                    is_first = false;
                }
                Err(faults) if told.contains(&faults) => {}
                Err(faults) => {
                    out += &joint::refused(faults);
                    told.push(faults);
                }
            }
        }
        out
    }

    /// A snippet's id and title.
    fn named(&self, snippet: &TwoJointSnippet) -> [String; 2] {
        let (id, name) = (snippet.format.id(), snippet.format.name());
        match snippet.units {
            ActuatorUnits::Joint => [format!("{}-{id}", self.id), name.to_owned()],
            ActuatorUnits::Motor => {
                [format!("{}-{id}-motors", self.id), format!("{name}, driven by the motors")]
            }
        }
    }

    fn cautions(&self) -> String {
        let check = self.check();
        let blocks = [
            crate::report::check::warned(&check.warnings),
            region::margins(check),
            region::assumed(check),
            vec![Block::Caution(region::caution(true))],
        ];
        self.set(&blocks.concat())
    }

    /// Its row in the index of several designs.
    pub(super) fn row(&self) -> Vec<Cell> {
        let check = self.check();
        let assessed = check.criteria.iter().filter(|c| c.worst().is_some());
        let tight = assessed.max_by(|a, b| a.load().total_cmp(&b.load()));
        let words = |c: &Assessment| format!("{} {}", c.criterion.title(), worst_and_limit(c));
        vec![
            Cell { link: Some(self.id.to_owned()), ..check.design.clone().into() },
            Cell { text: self.word(), ..Cell::verdict(check.verdict) },
            over_joints(check, [check.region.pitch, check.region.roll]).into(),
            dash().into(),
            tight.map_or_else(dash, words).into(),
        ]
    }

    /// The verdict as a word.
    pub(super) fn word(&self) -> String {
        capital(&Cell::verdict(self.check().verdict).text)
    }

    fn course(&self) -> &RegionCourse {
        self.of.course
    }
}
