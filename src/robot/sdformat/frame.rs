//! Where everything is in an SDFormat file, and which link each frame moves with.

use nalgebra::Isometry3;

use super::reading::Reading;
use super::scope::{Entities, Entity, EntityId, EntityKind, ScopeId, WORLD};
use crate::diagnostic::Diagnostic;
use crate::robot::chains::Chains;
use crate::robot::document::Element;
use crate::robot::values::{Written, shown};

/// So many names are listed in one message.
const LISTED: usize = 5;

/// The answers, by entity.
pub(super) struct Frames {
    poses: Vec<Isometry3<f64>>,
    /// The links that frames move with, by the links' own count.
    links: Vec<Option<usize>>,
}

impl Frames {
    /// Faults go to the reading's.
    pub(super) fn new(entities: &Entities<'_>, reading: &mut Reading) -> Self {
        let all = 0..entities.all.len();
        let attached: Vec<_> = all.clone().map(|id| attached(entities, id, reading)).collect();
        let bases: Vec<_> = all.map(|id| base(entities, id, &attached, reading)).collect();
        let own: Vec<_> = entities.all.iter().map(|entity| own_pose(entity, reading)).collect();
        let moved = ordered(entities, &attached, "attached to", reading);
        let placed = ordered(entities, &bases, "placed relative to", reading);
        let links = bodies(entities, &attached, &moved);
        let mut frames = Self { poses: own, links };
        if reading.faults.is_empty() {
            frames.place(entities, &bases, &placed, reading);
        }
        frames
    }

    /// From the entity's frame to the world's.
    pub(super) fn pose(&self, id: EntityId) -> Isometry3<f64> {
        self.poses.get(id).copied().unwrap_or_default()
    }

    /// The link that the entity moves with, by the links' own count; `None` for what stands in the world.
    pub(super) fn link(&self, id: EntityId) -> Option<usize> {
        self.links.get(id).copied().flatten()
    }

    /// From each one's own figures to the world.
    fn place(
        &mut self,
        entities: &Entities<'_>,
        bases: &[Option<EntityId>],
        order: &[EntityId],
        reading: &mut Reading,
    ) {
        self.respect_placement_frames(entities, bases, reading);
        for &id in order {
            let base = bases.get(id).copied().flatten().map(|base| self.pose(base));
            if let (Some(base), Some(pose)) = (base, self.poses.get_mut(id)) {
                *pose = base * *pose;
            }
        }
    }

    /// Where a model names a `placement_frame`, its figures are that frame's, not the model's. Inner models come first.
    fn respect_placement_frames(
        &mut self,
        entities: &Entities<'_>,
        bases: &[Option<EntityId>],
        reading: &mut Reading,
    ) {
        for (id, entity) in entities.all.iter().enumerate().rev() {
            let EntityKind::Model { inside } = entity.kind else { continue };
            let Some(name) = Written::attribute(entity.element, "placement_frame") else {
                continue;
            };
            let Some(frame) = look_up(entities, inside, &name, reading) else { continue };
            let Some(inner) = self.within(frame, id, bases) else {
                let help = "name a frame or link inside this model";
                let message = format!("\"{}\" is not placed inside the model", shown(&name.text));
                reading.faults.add(name.place, message, help);
                continue;
            };
            if let Some(pose) = self.poses.get_mut(id) {
                *pose *= inner.inverse();
            }
        }
    }

    /// From a frame to the model around it, by each one's own figures.
    fn within(
        &self,
        mut frame: EntityId,
        model: EntityId,
        bases: &[Option<EntityId>],
    ) -> Option<Isometry3<f64>> {
        let mut pose = Isometry3::identity();
        while frame != model {
            pose = self.pose(frame) * pose;
            frame = bases.get(frame).copied().flatten()?;
        }
        Some(pose)
    }
}

/// What the name means in a scope; a fault where it means nothing.
pub(super) fn look_up(
    entities: &Entities<'_>,
    scope: ScopeId,
    name: &Written<'_>,
    reading: &mut Reading,
) -> Option<EntityId> {
    let found = entities.find(scope, &name.text);
    if found.is_none() && entities.may_be_included(scope, &name.text) {
        let message =
            format!("\"{}\" may be of an included model, which is not read", shown(&name.text));
        reading.faults.add(name.place.clone(), message, "write the included model into the file");
    } else if found.is_none() {
        reading.faults.unknown("frame", name, entities.names(scope));
    }
    found
}

fn scope_frame(entities: &Entities<'_>, scope: ScopeId) -> EntityId {
    entities.scopes.get(scope).map_or(WORLD, |scope| scope.frame)
}

/// What an entity moves with: nothing for a link, the child for a joint, the canonical link for a model.
fn attached(entities: &Entities<'_>, id: EntityId, reading: &mut Reading) -> Option<EntityId> {
    let entity = entities.all.get(id)?;
    match entity.kind {
        EntityKind::World | EntityKind::Link { .. } => None,
        EntityKind::Model { inside } => canonical_link(entities, id, inside, reading),
        // a joint's child is looked up with its other side, and faults are told there
        EntityKind::Joint => {
            let child = Written::inside(entity.element.child("child")?);
            entities.find(entity.scope, &child.text)
        }
        EntityKind::Frame => match named(entity.element, "attached_to") {
            Some(name) => look_up(entities, entity.scope, &name, reading),
            None => Some(scope_frame(entities, entity.scope)),
        },
    }
}

/// The one that the model names, else its first, else its first nested model.
fn canonical_link(
    entities: &Entities<'_>,
    id: EntityId,
    inside: ScopeId,
    reading: &mut Reading,
) -> Option<EntityId> {
    let model = entities.all.get(id)?.element;
    if let Some(name) = named(model, "canonical_link") {
        return look_up(entities, inside, &name, reading);
    }
    let first = model.child("link").or_else(|| model.child("model"))?;
    entities.find(inside, &first.value("name")?)
}

/// What the pose of an entity is relative to.
fn base(
    entities: &Entities<'_>,
    id: EntityId,
    attached: &[Option<EntityId>],
    reading: &mut Reading,
) -> Option<EntityId> {
    let entity = entities.all.get(id)?;
    let relative_to = entity.element.child("pose").and_then(|pose| named(pose, "relative_to"));
    if let Some(name) = relative_to {
        return look_up(entities, entity.scope, &name, reading);
    }
    match entity.kind {
        EntityKind::World => None,
        EntityKind::Joint | EntityKind::Frame => attached.get(id).copied().flatten(),
        _ => Some(scope_frame(entities, entity.scope)),
    }
}

/// The attribute's value; none where it is empty, which the format allows.
fn named<'a>(element: Element<'a>, attribute: &str) -> Option<Written<'a>> {
    Written::attribute(element, attribute).filter(|name| !name.text.is_empty())
}

fn own_pose(entity: &Entity<'_>, reading: &mut Reading) -> Isometry3<f64> {
    if entity.kind == EntityKind::World {
        return Isometry3::identity();
    }
    let pose = entity.element.child("pose");
    if let Some(pose) = pose.filter(|pose| named(*pose, "frame").is_some()) {
        let what = "the frame of a pose is not read: versions before 1.7 gave it no meaning";
        reading.remark(pose, what.to_owned());
    }
    reading.pose(entity.element)
}

/// The order in which to follow `on`; circles are faults.
fn ordered(
    entities: &Entities<'_>,
    on: &[Option<EntityId>],
    how: &str,
    reading: &mut Reading,
) -> Vec<EntityId> {
    let chains = Chains::new(on);
    for circle in &chains.circles {
        let members: Vec<&Entity<'_>> =
            circle.iter().filter_map(|id| entities.all.get(*id)).collect();
        let Some(first) = members.first() else { continue };
        let mut names: Vec<_> =
            members.iter().take(LISTED).map(|entity| shown(&entity.name)).collect();
        if members.len() > LISTED {
            names.push("...".into());
        }
        names.push(shown(&first.name));
        let message = format!("frames are {how} one another in a circle: {}", names.join(" → "));
        let fault = Diagnostic::error(message)
            .at(first.element.tag_range())
            .label(format!("{how} itself"))
            .help("one of them must be placed relative to its model or a link outside the circle");
        reading.faults.add_labelled(fault);
    }
    chains.order
}

fn bodies(
    entities: &Entities<'_>,
    attached: &[Option<EntityId>],
    order: &[EntityId],
) -> Vec<Option<usize>> {
    let mut links = vec![None; entities.all.len()];
    for &id in order {
        let link = match entities.all.get(id).map(|entity| entity.kind) {
            Some(EntityKind::Link { id }) => Some(id),
            _ => attached.get(id).copied().flatten().and_then(|on| *links.get(on)?),
        };
        links.get_mut(id).into_iter().for_each(|slot| *slot = link);
    }
    links
}
