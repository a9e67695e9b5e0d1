//! Everything in an SDFormat file that has a name and a place, and who may call it by which name.
//!
//! Links, joints, frames and nested models of one model are one scope; a world is one too, with its models and frames.
//! From outside, what is in a nested model is called `model::name`.

use std::borrow::Cow;
use std::collections::HashMap;
use std::mem::discriminant;

use super::reading::Reading;
use crate::robot::document::Element;
use crate::robot::values::{Written, shown};

/// Index into [`Entities::all`]; the first is the world.
pub(super) type EntityId = usize;

/// Index into [`Entities::scopes`].
pub(super) type ScopeId = usize;

/// The world's own frame.
pub(super) const WORLD: EntityId = 0;

/// The most bytes of a name with its models in front: nested names must not grow faster than the file.
const LONGEST: usize = 300;

/// What it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum EntityKind {
    World,
    Model {
        inside: ScopeId,
    },
    /// `id` counts the links.
    Link {
        id: usize,
    },
    Joint,
    Frame,
}

/// A thing with a name and a place.
pub(super) struct Entity<'a> {
    pub(super) element: Element<'a>,
    pub(super) kind: EntityKind,
    /// In which its own `pose` and other names are looked up.
    pub(super) scope: ScopeId,
    /// As the file has it.
    own_name: Cow<'a, str>,
    /// As the robot's list has it, nested models in front.
    pub(super) name: String,
}

/// Where names are looked up.
pub(super) struct Scope {
    /// The model or world that it is.
    pub(super) frame: EntityId,
    names: HashMap<String, EntityId>,
    joints: HashMap<String, EntityId>,
    /// Names here may be of an included model.
    has_include: bool,
}

/// All of them, in the order of the file.
pub(super) struct Entities<'a> {
    pub(super) all: Vec<Entity<'a>>,
    pub(super) scopes: Vec<Scope>,
    /// Models that the file includes, which are not read.
    pub(super) includes: usize,
    links: usize,
}

impl<'a> Entities<'a> {
    pub(super) fn new(root: Element<'a>, reading: &mut Reading) -> Self {
        let world = Entity {
            element: root,
            kind: EntityKind::World,
            scope: 0,
            own_name: "world".into(),
            name: "world".into(),
        };
        let mut entities = Self { all: vec![world], scopes: Vec::new(), includes: 0, links: 0 };
        let tops = root.children_named("world").chain([root]);
        let models: usize = tops.map(|top| top.children_named("model").count()).sum();
        for top in [root].into_iter().chain(root.children_named("world")) {
            entities.scope(top, WORLD, "", models > 1, reading);
        }
        entities
    }

    /// The only model's name, else the world's.
    pub(super) fn robot_name(&self) -> String {
        let is_top = |entity: &&Entity<'_>| {
            let above = self.scopes.get(entity.scope).map(|scope| scope.frame);
            matches!(entity.kind, EntityKind::Model { .. }) && above == Some(WORLD)
        };
        let mut models = self.all.iter().filter(is_top);
        let found = match (models.next(), models.next()) {
            (Some(only), None) => only.element.value("name"),
            _ => self.all.first().and_then(|w| w.element.child("world")?.value("name")),
        };
        found.map(Cow::into_owned).unwrap_or_default()
    }

    /// Reads what is right inside a model or world; `prefix` goes in front of names, and so does the name of a model
    /// in here where `is_shown`.
    fn scope(
        &mut self,
        element: Element<'a>,
        frame: EntityId,
        prefix: &str,
        is_shown: bool,
        reading: &mut Reading,
    ) -> ScopeId {
        let scope = self.scopes.len();
        self.scopes.push(Scope {
            frame,
            names: HashMap::new(),
            joints: HashMap::new(),
            has_include: false,
        });
        for child in element.children() {
            let kind = match child.name() {
                "link" => EntityKind::Link { id: self.links },
                "joint" => EntityKind::Joint,
                "frame" => EntityKind::Frame,
                "model" => EntityKind::Model { inside: scope },
                "include" => {
                    self.include(child, scope, reading);
                    continue;
                }
                _ => continue,
            };
            let Some(id) = self.add(child, kind, scope, prefix, reading) else { continue };
            if matches!(kind, EntityKind::Model { .. }) {
                self.model(id, prefix, is_shown, reading);
            }
        }
        scope
    }

    fn model(&mut self, id: EntityId, prefix: &str, is_shown: bool, reading: &mut Reading) {
        let Some(entity) = self.all.get(id) else { return };
        let element = entity.element;
        let name = element.value("name").unwrap_or_default();
        let prefix = if is_shown { format!("{prefix}{name}::") } else { prefix.to_owned() };
        let inside = self.scope(element, id, &prefix, true, reading);
        if let Some(entity) = self.all.get_mut(id) {
            entity.kind = EntityKind::Model { inside };
        }
    }

    fn include(&mut self, element: Element<'a>, scope: ScopeId, reading: &mut Reading) {
        self.includes += 1;
        self.scopes.get_mut(scope).into_iter().for_each(|scope| scope.has_include = true);
        let uri = element.child("uri").map(Element::text).unwrap_or_default();
        reading.remark(element, format!("the included model {} is not read", shown(&uri)));
    }

    fn add(
        &mut self,
        element: Element<'a>,
        kind: EntityKind,
        scope: ScopeId,
        prefix: &str,
        reading: &mut Reading,
    ) -> Option<EntityId> {
        let name = reading.faults.name(element)?;
        if !prefix.is_empty() && prefix.len() + name.text.len() > LONGEST {
            let message = format!("the name {}{} is too long", shown(prefix), shown(&name.text));
            let help =
                format!("at most {LONGEST} bytes, the names of the models around it included");
            reading.faults.add(name.place, message, help);
            return None;
        }
        let id = self.all.len();
        if !self.register(scope, &name, kind, id) {
            reading.faults.twice(element.name(), &name);
            return None;
        }
        self.links += usize::from(matches!(kind, EntityKind::Link { .. }));
        let shown = format!("{prefix}{}", name.text);
        self.all.push(Entity { element, kind, scope, own_name: name.text, name: shown });
        Some(id)
    }

    /// False where one of the same kind has the name. Files before 1.7 give a joint or a frame the name of a link: the
    /// name means the link then.
    fn register(
        &mut self,
        scope: ScopeId,
        name: &Written<'_>,
        kind: EntityKind,
        id: EntityId,
    ) -> bool {
        let Some(scope) = self.scopes.get_mut(scope) else { return true };
        let key = name.text.clone().into_owned();
        if kind == EntityKind::Joint {
            let is_new = !scope.joints.contains_key(&key);
            scope.joints.entry(key).or_insert(id);
            return is_new;
        }
        let other = scope.names.get(&key).and_then(|other| self.all.get(*other));
        let is_new = other.is_none_or(|other| discriminant(&other.kind) != discriminant(&kind));
        if is_new && (other.is_none() || matches!(kind, EntityKind::Link { .. })) {
            scope.names.insert(key, id);
        }
        is_new
    }

    /// What a name means in a scope: a link, frame or model, else a joint.
    pub(super) fn find(&self, scope: ScopeId, name: &str) -> Option<EntityId> {
        let (scope, last) = self.innermost(scope, name)?;
        scope
            .names
            .get(last)
            .copied()
            .or_else(|| own_frame(scope, last))
            .or_else(|| scope.joints.get(last).copied())
    }

    /// The joint that a name means in a scope.
    pub(super) fn find_joint(&self, scope: ScopeId, name: &str) -> Option<EntityId> {
        let (scope, last) = self.innermost(scope, name)?;
        scope.joints.get(last).copied()
    }

    /// The scope in which `a::b::name` is `name`; a name with `::` in it goes before a nested model.
    fn innermost<'n>(&self, scope: ScopeId, name: &'n str) -> Option<(&Scope, &'n str)> {
        let (mut scope, mut rest) = (self.scopes.get(scope)?, name);
        loop {
            let is_here = scope.names.contains_key(rest) || scope.joints.contains_key(rest);
            let Some((model, inner)) = rest.split_once("::").filter(|_| !is_here) else {
                return Some((scope, rest));
            };
            let model = self.all.get(*scope.names.get(model)?)?;
            let EntityKind::Model { inside } = model.kind else { return None };
            (scope, rest) = (self.scopes.get(inside)?, inner);
        }
    }

    /// Whether the name may be one of an included model.
    pub(super) fn may_be_included(&self, scope: ScopeId, name: &str) -> bool {
        let Some(here) = self.scopes.get(scope) else { return false };
        let Some((model, inner)) = name.split_once("::") else { return here.has_include };
        match here.names.get(model).and_then(|id| self.all.get(*id)).map(|model| model.kind) {
            Some(EntityKind::Model { inside }) => self.may_be_included(inside, inner),
            _ => here.has_include,
        }
    }

    /// The names of a scope's joints.
    pub(super) fn joint_names(&self, scope: ScopeId) -> impl Iterator<Item = &str> {
        let here =
            move |entity: &&Entity<'_>| entity.scope == scope && entity.kind == EntityKind::Joint;
        self.all.iter().filter(here).map(|entity| &*entity.own_name)
    }

    /// The names of a scope.
    pub(super) fn names(&self, scope: ScopeId) -> impl Iterator<Item = &str> {
        let here = self.all.iter().filter(move |entity| entity.scope == scope);
        here.skip(usize::from(scope == 0)).map(|entity| &*entity.own_name)
    }
}

fn own_frame(scope: &Scope, name: &str) -> Option<EntityId> {
    match name {
        "__model__" | "__root__" => Some(scope.frame),
        "world" => Some(WORLD),
        _ => None,
    }
}
