//! Sites, bodies and geoms that sensors, tendons and actuators speak of: they make a body more than a part of a linkage.

use std::collections::HashMap;

use super::Reading;
use super::include::Node;
use crate::robot::influence::Fitting;
use crate::robot::model::{FileLink, LinkId};
use crate::robot::values::shown;

/// Attributes that name a site.
const SITES: [&str; 5] = ["site", "refsite", "cranksite", "slidersite", "sidesite"];

/// `camera "wrist"`, or `a camera` where it has no name.
pub(super) fn called(node: Node<'_>) -> String {
    let name = node.text("name");
    if name.is_empty() {
        format!("a {}", node.tag())
    } else {
        format!("{} \"{}\"", node.tag(), shown(&name))
    }
}

impl<'a> Reading<'a> {
    /// What the elements of a section name is noted at its body.
    pub(super) fn mentions(&mut self, section: Node<'a>) {
        let geoms = self.geoms();
        let mut waiting = self.files.children(section);
        while let Some(node) = waiting.pop() {
            for (link, what) in self.mentioned(node, &geoms) {
                let place = node.place();
                let fitting =
                    Fitting { place, what: format!("{what}, of which <{}> speaks", node.tag()) };
                self.robot
                    .links
                    .get_mut(link)
                    .into_iter()
                    .for_each(|l| l.fittings.push(fitting.clone()));
            }
            waiting.extend(self.files.children(node));
        }
    }

    fn geoms(&self) -> HashMap<String, LinkId> {
        let of = |(id, link): (LinkId, &FileLink)| -> Vec<(String, LinkId)> {
            let named = link.shapes.iter().filter(|shape| !shape.name.is_empty());
            named.map(|shape| (shape.name.clone(), id)).collect()
        };
        self.robot.links.iter().enumerate().flat_map(of).collect()
    }

    fn mentioned(&self, node: Node<'a>, geoms: &HashMap<String, LinkId>) -> Vec<(LinkId, String)> {
        let mut found = Vec::new();
        for key in SITES {
            found.extend(self.site_mentioned(&node.text(key)));
        }
        let name = node.text("objname");
        match node.text("objtype").as_str() {
            "site" => found.extend(self.site_mentioned(&name)),
            "body" | "xbody" => found.extend(self.body_mentioned(&name)),
            "geom" => found.extend(geoms.get(&name).map(|id| (*id, named("geom", &name)))),
            _ => {}
        }
        for key in ["body", "body1", "body2"] {
            found.extend(self.body_mentioned(&node.text(key)));
        }
        for key in ["geom", "geom1", "geom2"] {
            let name = node.text(key);
            found.extend(geoms.get(&name).map(|id| (*id, named("geom", &name))));
        }
        found
    }

    fn site_mentioned(&self, name: &str) -> Option<(LinkId, String)> {
        let site = self.sites.get(*self.site_ids.get(name)?)?;
        Some((site.link, named("site", name)))
    }

    fn body_mentioned(&self, name: &str) -> Option<(LinkId, String)> {
        self.link_ids.get(name).map(|id| (*id, named("body", name)))
    }
}

fn named(kind: &str, name: &str) -> String {
    format!("{kind} \"{}\"", shown(name))
}
