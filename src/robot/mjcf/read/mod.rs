//! Links and joints of an MJCF file.
//!
//! Meaning as in the format's public reference: bodies are nested, sections of one name merge, classes of defaults say
//! what an element does not, included files stand in the place of their `include`. Link 0 is the world. Lenient where the
//! engine is; what the engine makes itself (`replicate`, `attach`, `composite`, ...) is not read, and said so.

mod actuator;
mod body;
mod compiler;
mod defaults;
mod equality;
mod figures;
mod geom_mass;
mod include;
mod inertial;
mod joint;
mod mention;
mod option;
mod orientation;
mod shape;
mod site;
mod tendon;

use std::collections::{BTreeMap, HashMap};

use crate::diagnostic::Diagnostic;
use crate::robot::document::Document;
use crate::robot::format::Format;
use crate::robot::model::{JointId, LinkId, Robot};
use crate::robot::read::{Includes, RobotRejected};
use crate::robot::values::Faults;
use compiler::Compiler;
use defaults::Defaults;
use include::{Files, Node};
use option::Options;
use site::Site;

pub(in crate::robot) fn read(
    document: Document,
    includes: &mut Includes<'_>,
) -> Result<Robot, Box<RobotRejected>> {
    let files = Files::load(document, includes)?;
    let mut reading = Reading::new(&files);
    if let Some(root) = files.root() {
        reading.model(root);
    }
    match reading.into_robot() {
        Ok(robot) => Ok(Robot { documents: files.documents, ..robot }),
        Err(rejected) => Err(rejected),
    }
}

/// What is read so far.
struct Reading<'a> {
    files: &'a Files,
    /// By file.
    faults: BTreeMap<usize, Faults>,
    compiler: Compiler,
    defaults: Defaults<'a>,
    /// Without its documents yet. Where some of it is unread, a name that is not known may be of that.
    robot: Robot,
    link_ids: HashMap<String, LinkId>,
    joint_ids: HashMap<String, JointId>,
    sites: Vec<Site>,
    site_ids: HashMap<String, usize>,
    tendons: HashMap<String, tendon::Tendon>,
    /// What the simulation leaves out.
    options: Options<'a>,
}

impl<'a> Reading<'a> {
    fn new(files: &'a Files) -> Self {
        Self {
            files,
            faults: BTreeMap::new(),
            compiler: Compiler::default(),
            defaults: Defaults::default(),
            robot: Robot::empty(Format::Mjcf),
            link_ids: HashMap::new(),
            joint_ids: HashMap::new(),
            sites: Vec::new(),
            site_ids: HashMap::new(),
            tendons: HashMap::new(),
            options: Options::default(),
        }
    }

    /// Sections in the order in which they explain each other, whatever the order of the file.
    fn model(&mut self, root: Node<'a>) {
        if root.tag() == "mujocoinclude" {
            let message = "the file is a part of a model, to be included by another".to_owned();
            return self.fault_at(root, message, "name the file that includes it");
        }
        self.robot.name = root.text("model");
        let sections = self.files.children(root);
        let named = |name: &'static str| sections.iter().filter(move |one| one.tag() == name);
        named("compiler").for_each(|section| self.compiler(*section));
        named("default").for_each(|section| self.default_section(*section));
        named("option").for_each(|section| self.option(*section));
        self.settings();
        let worlds: Vec<Node<'a>> = named("worldbody").copied().collect();
        self.world(root, &worlds);
        for section in named("equality") {
            self.files.children(*section).into_iter().for_each(|node| self.equality(node));
        }
        for section in named("tendon") {
            self.files.children(*section).into_iter().for_each(|node| self.tendon(node));
        }
        let equalities = named("equality").flat_map(|section| self.files.children(*section));
        let tied: Vec<Node<'a>> = equalities.filter(|one| one.tag() == "tendon").collect();
        tied.into_iter().for_each(|node| self.tied_tendons(node));
        for section in named("actuator") {
            self.files.children(*section).into_iter().for_each(|node| self.actuator(node));
        }
        for section in ["sensor", "tendon", "actuator"].into_iter().flat_map(named) {
            self.mentions(*section);
        }
        for section in named("asset") {
            let models =
                self.files.children(*section).into_iter().filter(|node| node.tag() == "model");
            models.for_each(|node| self.not_read(node));
        }
    }

    /// What the engine makes at this element is not read.
    fn not_read(&mut self, node: Node<'a>) {
        self.robot.unread += 1;
        self.remark(node, format!("<{}> is not read, nor what it makes", node.tag()));
    }

    /// Without its documents yet.
    fn into_robot(self) -> Result<Robot, Box<RobotRejected>> {
        let faulty = self.faults.into_iter().find(|(_, faults)| !faults.is_empty());
        if let Some((document, faults)) = faulty {
            let document = self.files.documents.get(document).or(self.files.documents.first());
            let Some(document) = document else { return Err(nothing()) };
            return Err(Box::new(RobotRejected::new(document, once(faults.into_list()))));
        }
        Ok(self.robot)
    }
}

/// What is wrong in a class is found at every element of the class, and said once.
fn once(mut faults: Vec<Diagnostic>) -> Vec<Diagnostic> {
    let place = |fault: &Diagnostic| fault.place.as_ref().map(|place| (place.start, place.end));
    faults.sort_by(|a, b| place(a).cmp(&place(b)).then_with(|| a.message.cmp(&b.message)));
    faults.dedup();
    faults
}

fn nothing() -> Box<RobotRejected> {
    Box::new(RobotRejected { path: String::new(), text: String::new(), diagnostics: Vec::new() })
}
