//! The design's parts as the bodies of one drive: where the robot's own frames come in.
//!
//! The carrier frame has its origin on the joint axis B, x along A→B and z along the drawing's joint axis, which is
//! opposite to the robot's where `mirrored`. A `[[robot]]` with `motor_at`, or pivots in three coordinates, places it in
//! the parent link's frame. The child link's frame is aligned with its parent's at reading 0.
//!
//! **Along the axis** each body stands where its pins do: heights are counted from B along the drawing's axis, the crank's
//! frame lies at A's height and the coupler's at P's. `mirrored` beside a drawing in the plane: it is seen from the other
//! side, and all that is drawn, heights and bodies, counts along the drawing's axis. `mirrored` beside pivots with three
//! coordinates: these and the bodies given in drawing frames stand as their mirror image, so that along the drawing's axis,
//! which is the mirror image turned round, all heights change sign.

use nalgebra::{Isometry3, Matrix3, Rotation3, Translation3, Unit, UnitQuaternion, Vector3};

use crate::design::{self, BodyFrame, BodyInertia, Design, RobotJoint, SpatialPivots};
use crate::dynamics::{Body, Inertia, Masses, Rotor};

use super::findings::ZeroPose;
use super::lacking::{named, of_rotor};

/// What the design says of its masses.
#[derive(Clone, Debug)]
pub struct Drive {
    /// The bodies, each in the frame that the dynamics want it in.
    pub masses: Masses,
    /// What is left out for want of a table or of a place on the robot, e.g. the carrier; named as in the file.
    pub left_out: Vec<&'static str>,
}

/// The tables that an inertia figure needs and that are missing, named as in the file.
#[must_use]
pub fn missing_for_inertia<G>(design: &Design<G>) -> Vec<&'static str> {
    let mass = &design.mass;
    let bodies = [
        (mass.crank.is_none(), "[mass.crank]"),
        (mass.coupler.is_none(), "[mass.coupler]"),
        (mass.child.is_none(), "[mass.child]"),
    ];
    named(bodies.into_iter().chain(of_rotor(design.actuator.as_ref())))
}

/// The drive's bodies; `None` where the child's masses are not given or cannot be placed. Crank, coupler and rotor may be
/// missing and then weigh nothing: [`missing_for_inertia`] tells.
#[must_use]
pub fn drive(design: &Design, zero: &ZeroPose) -> Option<Drive> {
    let robot = design.robots.iter().find(|r| !r.mirrored).or_else(|| design.robots.first());
    drive_on(design, robot, zero)
}

/// How many `[[robot]]` tables name the parent of `robot`, itself among them; 1 without a robot.
#[must_use]
pub fn joints_on<G>(design: &Design<G>, robot: Option<&RobotJoint>) -> u32 {
    let same = |other: &&RobotJoint| robot.is_some_and(|robot| robot.parent == other.parent);
    u32::try_from(design.robots.iter().filter(same).count()).unwrap_or(1).max(1)
}

/// The drive's bodies as [`drive`] has them, in the frames of one `[[robot]]`.
#[must_use]
pub fn drive_on(design: &Design, robot: Option<&RobotJoint>, zero: &ZeroPose) -> Option<Drive> {
    let frame = robot.and_then(|robot| carrier_frame(design, robot));
    let heights = heights(design, robot);
    let drawn = |body: &design::BodyMass| plain(&as_drawn_on(design, robot, body));
    let lifted = |body: &Option<design::BodyMass>, by: f64| {
        let body = drawn(body.as_ref()?);
        Some(Body { centre: body.centre + Vector3::new(0.0, 0.0, by), ..body })
    };
    let child = design.mass.child.as_ref().and_then(|body| match body.frame {
        BodyFrame::Drawing => Some(drawn(body)),
        BodyFrame::Robot => {
            let turned = child_axes(design, robot?, &frame?, zero.rocker);
            Some(seen(body, &Isometry3::from_parts(Translation3::identity(), turned)))
        }
    })?;
    let in_carrier = |body: &Option<design::BodyMass>| Some(seen(body.as_ref()?, &frame?));
    let (carrier, carried) = (in_carrier(&design.mass.carrier), in_carrier(&design.mass.carried));
    let left_out = [
        (carrier.is_none(), "[mass.carrier]"),
        (design.mass.carried.is_some() && carried.is_none(), "[mass.carried]"),
    ];
    let masses = Masses {
        crank: lifted(&design.mass.crank, heights.motor),
        coupler: lifted(&design.mass.coupler, heights.crank),
        child,
        carrier,
        carried,
        rotor: rotor(design),
    };
    Some(Drive { masses, left_out: named(left_out) })
}

/// The rotor about the crank's axis; none where another drive turns the crank.
pub(super) fn rotor(design: &Design) -> Option<Rotor> {
    rotor_of(design.actuator.as_ref()).filter(|_| design.front.is_none())
}

/// The rotor of an actuator, where it is known.
pub(super) fn rotor_of(actuator: Option<&design::Actuator>) -> Option<Rotor> {
    let actuator = actuator?;
    Some(Rotor {
        inertia: actuator.rotor_inertia?,
        gear_ratio: actuator.gear_ratio?,
        in_carrier: actuator.rotor_in_carrier.unwrap_or(true),
    })
}

/// In the frame that it is given in.
pub(super) fn plain(body: &design::BodyMass) -> Body {
    let inertia = match body.inertia {
        BodyInertia::AboutAxis(about) => Inertia::AboutAxis(about),
        BodyInertia::Tensor([xx, yy, zz, xy, xz, yz]) => {
            Inertia::Tensor(Matrix3::new(xx, xy, xz, xy, yy, yz, xz, yz, zz))
        }
    };
    Body { mass: body.mass, centre: body.center.into(), inertia }
}

/// Heights of the pins along the drawing's axis, counted from B, m.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Heights {
    /// Of A, where the crank's frame has its origin.
    pub motor: f64,
    /// Of P, where the coupler's has.
    pub crank: f64,
    /// Of Q.
    pub rocker: f64,
}

/// Less than this is the rounding of coordinates, m.
const NO_HEIGHT: f64 = 1e-12;

/// The heights on `robot`: A's by `motor_at`, else by the pivots; P's and Q's by the pivots, else A's.
#[must_use]
pub fn heights(design: &Design, robot: Option<&RobotJoint>) -> Heights {
    let side = if robot.is_some_and(|robot| is_mirror_image(design, robot)) { -1.0 } else { 1.0 };
    let clean = |height: f64| if height.abs() < NO_HEIGHT { 0.0 } else { height };
    let pivots = design.geometry.pivots.as_ref();
    let given = pivots.map(|pivots| pivots.axial_offsets.map(|along| clean(side * along)));
    let placed = robot.and_then(|robot| {
        let apart = Vector3::from(robot.motor_at?) - Vector3::from(robot.origin);
        Some(clean(apart.dot(&Vector3::from(robot.axis)) * sense(robot)))
    });
    let motor = placed.or(given.map(|[motor, ..]| motor)).unwrap_or(0.0);
    let [crank, rocker] = given.map_or([motor; 2], |[_, crank, rocker]| [crank, rocker]);
    Heights { motor, crank, rocker }
}

/// Are pivots and bodies of the drawing there as their mirror image?
fn is_mirror_image(design: &Design, robot: &RobotJoint) -> bool {
    robot.mirrored && design.geometry.pivots.is_some()
}

/// A body given in a drawing frame as it stands on `robot`: its mirror image where the pivots do so.
#[must_use]
pub fn as_drawn_on(
    design: &Design,
    robot: Option<&RobotJoint>,
    body: &design::BodyMass,
) -> design::BodyMass {
    if !robot.is_some_and(|robot| is_mirror_image(design, robot)) {
        return body.clone();
    }
    let [x, y, z] = body.center;
    let inertia = match body.inertia {
        BodyInertia::Tensor([xx, yy, zz, xy, xz, yz]) => {
            BodyInertia::Tensor([xx, yy, zz, xy, -xz, -yz])
        }
        about @ BodyInertia::AboutAxis(_) => about,
    };
    design::BodyMass { center: [x, y, -z], inertia, ..body.clone() }
}

/// A body given in a link's frame, in the frame that stands at `frame` in that link's.
pub(super) fn seen(body: &design::BodyMass, frame: &Isometry3<f64>) -> Body {
    plain(body).seen_from(&frame.inverse())
}

/// +1, or −1 where the drawing is seen from the robot's other side.
fn sense(robot: &RobotJoint) -> f64 {
    if robot.mirrored { -1.0 } else { 1.0 }
}

/// The carrier frame in the parent link's frame; `None` where nothing places the direction A→B.
#[must_use]
pub fn carrier_frame(design: &Design, robot: &RobotJoint) -> Option<Isometry3<f64>> {
    let z = Unit::try_new(Vector3::from(robot.axis) * sense(robot), 1e-12)?;
    let joint = Vector3::from(robot.origin);
    let ground = match (&robot.motor_at, &design.geometry.pivots) {
        (Some(motor), _) => joint - Vector3::from(*motor),
        (None, Some(pivots)) => drawn_ground(robot, pivots)?,
        (None, None) => return None,
    };
    let x = (ground - z.into_inner() * z.dot(&ground)).try_normalize(1e-12)?;
    let axes = Rotation3::from_basis_unchecked(&[x, z.cross(&x), z.into_inner()]);
    Some(Isometry3::from_parts(joint.into(), UnitQuaternion::from_rotation_matrix(&axes)))
}

/// A→B as the pivots have it, or its mirror image; `None` where no mirror plane is given.
fn drawn_ground(robot: &RobotJoint, pivots: &SpatialPivots) -> Option<Vector3<f64>> {
    let ground = Vector3::from(pivots.joint) - Vector3::from(pivots.motor);
    if !robot.mirrored {
        return Some(ground);
    }
    let normal = Vector3::from(pivots.mirror_normal(robot.origin, robot.axis)?);
    Some(ground - normal * (2.0 * normal.dot(&ground)))
}

/// The axes of the drawing's child frame (x towards Q) in the child link's frame; `rocker` is ψ₀, rad.
#[must_use]
pub fn child_axes(
    design: &Design,
    robot: &RobotJoint,
    carrier_frame: &Isometry3<f64>,
    rocker: f64,
) -> UnitQuaternion<f64> {
    // In the zero pose the child link stands turned by the reading about the robot's axis against its parent.
    let back = UnitQuaternion::from_scaled_axis(Vector3::from(robot.axis) * -design.joint_reads);
    back * carrier_frame.rotation * UnitQuaternion::from_axis_angle(&Vector3::z_axis(), rocker)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn design(robot: &str) -> Design {
        let text = format!(
            "name = \"d\"\n[linkage]\nground = \"300 mm\"\ncrank = \"45 mm\"\ncoupler = \"300 mm\"\nrocker = \"45 mm\"\n\
             [zero]\ncrank = \"90 deg\"\nrocker = \"90 deg\"\n{robot}"
        );
        crate::design::parse("d.toml", &text).unwrap_or_else(|r| panic!("{r}")).0
    }

    const ROBOT: &str = "[stroke]\njoint = [\"-20 deg\", \"20 deg\"]\n[[robot]]\njoint = \"j\"\nparent = \"p\"\nchild = \"c\"\n\
        axis = [0.0, 1.0, 0.0]\norigin = [\"0 mm\", \"0 mm\", \"-300 mm\"]\nmotor_at = [\"0 mm\", \"0 mm\", \"0 mm\"]\n";

    #[test]
    fn a_shank_with_its_joint_below_has_the_carrier_frame_pointing_down() {
        let design = design(ROBOT);
        let frame = carrier_frame(&design, &design.robots[0]).unwrap();
        // x down along the shank, z the joint axis y, so that y = z × x points to −x of the robot (backward).
        assert!((frame.rotation * Vector3::x() - Vector3::new(0.0, 0.0, -1.0)).norm() < 1e-15);
        assert!((frame.rotation * Vector3::y() - Vector3::new(-1.0, 0.0, 0.0)).norm() < 1e-15);
        let q = child_axes(&design, &design.robots[0], &frame, std::f64::consts::FRAC_PI_2);
        // The rocker stands square to the shank in the zero pose: backward.
        assert!((q * Vector3::x() - Vector3::new(-1.0, 0.0, 0.0)).norm() < 1e-15);
    }

    #[test]
    fn a_mirrored_robot_has_the_drawing_from_its_other_side() {
        let design = design(&format!("{ROBOT}mirrored = true\n"));
        let frame = carrier_frame(&design, &design.robots[0]).unwrap();
        assert!((frame.rotation * Vector3::z() - Vector3::new(0.0, -1.0, 0.0)).norm() < 1e-15);
        assert!((frame.rotation * Vector3::y() - Vector3::new(1.0, 0.0, 0.0)).norm() < 1e-15);
    }

    #[test]
    fn a_carrier_in_its_own_frame_comes_into_the_drawings() {
        let masses = "[mass.child]\nmass = \"1 kg\"\ncenter = [\"0 mm\", \"0 mm\"]\ninertia = \"1e-3 kg m2\"\n\
            [mass.carrier]\nmass = \"2 kg\"\ncenter = [\"10 mm\", \"0 mm\", \"-120 mm\"]\n\
            inertia = [\"1 kg m2\", \"2 kg m2\", \"2.5 kg m2\", \"0 kg m2\", \"0 kg m2\", \"0 kg m2\"]\nframe = \"robot\"\n";
        let design = design(&ROBOT.replace("[[robot]]", &format!("{masses}[[robot]]")));
        let zero = ZeroPose { crank: 1.57, rocker: 1.57 };
        let carrier = drive(&design, &zero).unwrap().masses.carrier.unwrap();
        assert!(
            (carrier.centre - Vector3::new(-0.18, -0.01, 0.0)).norm() < 1e-12,
            "{}",
            carrier.centre
        );
        let Inertia::Tensor(t) = carrier.inertia else { panic!("six figures were given") };
        // The robot's z is the drawing's x, its x the drawing's y, its y the drawing's z.
        assert!((t.diagonal() - Vector3::new(2.5, 1.0, 2.0)).norm() < 1e-12);
    }
}
