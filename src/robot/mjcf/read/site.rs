//! Named points on bodies.

use nalgebra::{Point3, Vector3};

use super::Reading;
use super::body::{Part, Parts};
use crate::robot::model::{LinkId, LinkSite};

/// A named point on a body.
#[derive(Clone, Debug)]
pub(super) struct Site {
    pub(super) name: String,
    pub(super) link: LinkId,
    /// In the model's frame.
    pub(super) point: Point3<f64>,
    /// Its z axis, in the model's frame.
    pub(super) along: Vector3<f64>,
}

impl<'a> Reading<'a> {
    pub(super) fn sites(&mut self, parts: &Parts<'a>, link: LinkId) {
        for part in &parts.sites {
            self.site(part, link);
        }
    }

    fn site(&mut self, part: &Part<'a>, link: LinkId) {
        let layers = self.layers(part.node, part.class, &["site"]);
        let ends: Option<[f64; 6]> = self.numbers(&layers, "fromto");
        let own = match ends {
            Some([a, b, c, d, e, f]) => {
                Point3::new(f64::midpoint(a, d), f64::midpoint(b, e), f64::midpoint(c, f))
            }
            None => Point3::from(self.placement(&layers).translation.vector),
        };
        let pose = self.robot.links.get(link).map(|link| link.pose).unwrap_or_default();
        let Some(name) = part.node.name() else { return };
        if self.site_ids.insert(name.written.text.clone().into_owned(), self.sites.len()).is_some()
        {
            self.faults(name.document).twice("site", &name.written);
        }
        let along = pose * (part.frame * (self.placement(&layers) * Vector3::z()));
        let (name, point) = (name.written.text.into_owned(), pose * (part.frame * own));
        if let Some(link) = self.robot.links.get_mut(link) {
            link.sites.push(LinkSite { name: name.clone(), place: part.node.place(), at: point });
        }
        self.sites.push(Site { name, link, point, along });
    }
}
