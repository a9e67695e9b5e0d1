"""A design file and the closed loop that it draws, worked out from its numbers alone.

This is a second source: it reads the design's text by itself, puts carrier, crank, rod, child and rotor where the drawing
has them in the robot's parent link, and adds up what each weighs. Nothing here knows how the program under test works, or
what it writes. Conventions, as the design file's documentation has them:

    B       joint axis, `origin`; A the motor axis; P the crank's pin; Q the rocker's
    z       the drawing's joint axis: the robot's `axis`, or its opposite where `mirrored`
    x       from A to B across z; y = z cross x. Angles count from x about z; the drawing's sense is about z too, or
            against it where `axis_points = "away"`
    height  along z from B: of A by `motor_at`, else by pins of three coordinates, else 0; of P by such pins, else A's;
            of Q by such pins, else P's
    crank   frame at A, x towards P; coupler at P, x towards Q as seen along z; child at B, x towards Q; all with z
    mirrored with pins of three coordinates: pins, and bodies in the drawing's frames, are the exact mirror image
    rotor   J about z, N turns per crank turn against the carrier: J (w + N crank rate)^2 / 2. A carrier that holds it
            has J w^2 / 2 of that already

Speeds are [v of the parent link's origin, w, rate of the driven joint's reading ...], all in the parent link's frame. SI.
Arrays over poses have the pose as their first index.
"""
import copy
import tomllib

import numpy as np

UNITS = {
    "mm": 1e-3, "m": 1.0, "deg": np.pi / 180, "rad": 1.0, "kg": 1.0, "kg m2": 1.0, "N m": 1.0, "rad/s": 1.0,
    "rad/s2": 1.0, "m/s2": 1.0, "N m s/rad": 1.0, "N m/rad": 1.0,
}
FREE_FALL = 9.80665  # m/s^2, 3rd CGPM (1901)
BAR = 0.02  # inertia about its length of a bar whose inertia about z alone is known, as a share of that


def si(text):
    """The value of "45 mm", or of a list of such texts."""
    if isinstance(text, list):
        return np.array([si(item) for item in text])
    number, unit = text.split(" ", 1)
    return float(number) * UNITS[unit]


def unit(vector):
    return vector / np.linalg.norm(vector)


def cross_matrix(v):
    """[v] with [v] u = v cross u."""
    v = np.asarray(v)
    found = np.zeros(v.shape + (3,))
    for (row, column), k in {(2, 1): 0, (0, 2): 1, (1, 0): 2}.items():
        found[..., row, column], found[..., column, row] = v[..., k], -v[..., k]
    return found


def turned(axis, angle):
    """Rotation matrices about a unit vector (Rodrigues)."""
    k, angle = cross_matrix(axis), np.asarray(angle)[..., None, None]
    return np.eye(3) + np.sin(angle) * k + (1 - np.cos(angle)) * (k @ k)


def wrapped(angle):
    return (angle + np.pi) % (2 * np.pi) - np.pi


class Body:
    """Mass, centre and tensor about it, in one frame; a tensor of which zz alone is known is a bar along x."""

    def __init__(self, table):
        self.mass = si(table["mass"])
        self.centre = np.zeros(3)
        given = si(table["center"])
        self.centre[: len(given)] = given
        six = np.atleast_1d(si(table["inertia"]))
        self.is_spatial = len(six) == 6
        if not self.is_spatial:
            six = [BAR * six[0], six[0], six[0], 0.0, 0.0, 0.0]
        xx, yy, zz, xy, xz, yz = six
        self.tensor = np.array([[xx, xy, xz], [xy, yy, yz], [xz, yz, zz]])
        self.in_robot_frame = table.get("frame") == "robot"

    def in_mirror(self):
        """As in the mirror that turns z round."""
        flip = np.diag([1.0, 1.0, -1.0])
        self.centre, self.tensor = flip @ self.centre, flip @ self.tensor @ flip


class Bars:
    """The four-bar in its plane: B = 0, A = -g, points as complex numbers; angles about z, turns from the zero pose."""

    def __init__(self, ground, crank, coupler, rocker, zero_crank, zero_rocker):
        self.g, self.a, self.b, self.c = ground, crank, coupler, rocker
        self.zero_crank = zero_crank
        # Which of the two meetings of circles is the drawn one, seen from either side.
        pin = -self.g + self.a * np.exp(1j * zero_crank)
        ends = [self._meeting(pin, self.b, 0.0, self.c, side) for side in (1.0, -1.0)]
        off = [abs(wrapped(np.angle(end) - zero_rocker)) for end in ends]
        self.q_side = (1.0, -1.0)[int(np.argmin(off))]
        self.zero_rocker = float(np.angle(ends[int(np.argmin(off))]))
        q = self.c * np.exp(1j * self.zero_rocker)
        across = np.imag(np.conj(-self.g - q) * (pin - q))
        self.p_side = float(np.sign(across))

    @staticmethod
    def _meeting(one, radius, other, its_radius, side):
        """Where circles about two points meet, left (side 1) or right (-1) of the line from one to the other."""
        apart = other - one
        d = np.abs(apart)
        along = (d**2 + radius**2 - its_radius**2) / (2 * d)
        across = np.sqrt(radius**2 - along**2)
        return one + apart / d * (along + 1j * side * across)

    def joint_turn(self, motor_turn):
        pin = -self.g + self.a * np.exp(1j * (self.zero_crank + np.asarray(motor_turn)))
        end = self._meeting(pin, self.b, 0.0, self.c, self.q_side)
        return wrapped(np.angle(end) - self.zero_rocker)

    def motor_turn(self, joint_turn):
        end = self.c * np.exp(1j * (self.zero_rocker + np.asarray(joint_turn)))
        pin = self._meeting(end, self.b, -self.g + 0j, self.a, self.p_side)
        return wrapped(np.angle(pin + self.g) - self.zero_crank)

    def pose(self, joint_turn):
        """Absolute angles of crank, coupler, rocker at joint turns, and crank's and coupler's rates per rocker's."""
        rocker = self.zero_rocker + np.asarray(joint_turn, dtype=float)
        crank = self.zero_crank + self.motor_turn(joint_turn)
        p, q = self.a * np.exp(1j * crank), self.c * np.exp(1j * rocker)
        w = q + self.g - p
        # The loop stays closed: i p crank' + i w coupler' = i q.
        closing = np.stack([np.stack([p.real, w.real], -1), np.stack([p.imag, w.imag], -1)], -2)
        rates = np.linalg.solve(closing, np.stack([q.real, q.imag], -1)[..., None])[..., 0]
        return {
            "crank": crank, "coupler": np.angle(w), "rocker": rocker, "p": p, "q": q,
            "crank_rate": rates[..., 0], "coupler_rate": rates[..., 1],
        }


class Design:
    """The design's numbers in SI, angles about the drawing's axis."""

    def __init__(self, text):
        self.table = tomllib.loads(text)
        get = self.table.get
        zero, self.actuator = get("zero", {}), get("actuator", {})
        self.drawn_sense = -1.0 if get("axis_points") == "away" else 1.0
        self.motor_reads, self.joint_reads = (si(zero.get(k, "0 deg")) for k in ("motor_reads", "joint_reads"))
        self.pins = {k: si(v) for k, v in get("pivots", {}).items() if k != "axis"}
        self.has_spatial_pins = "axis" in get("pivots", {})
        self.bars = self._bars(zero)
        self.stroke = self._stroke()
        self.stops = self._turns(self.actuator["stops"], self.motor_reads) if "stops" in self.actuator else None
        n = self.actuator.get("gear_ratio")
        self.rotor = None if n is None else (si(self.actuator["rotor_inertia"]), float(n))
        self.robots = [Placed(self, robot) for robot in get("robot", [])]

    def figure(self, key):
        """Of the actuator, None where it is not given."""
        return si(self.actuator[key]) if key in self.actuator else None

    def _bars(self, zero):
        if not self.pins:
            lengths = [si(self.table["linkage"][k]) for k in ("ground", "crank", "coupler", "rocker")]
            return Bars(*lengths, *(self.drawn_sense * si(zero[k]) for k in ("crank", "rocker")))
        # The plane across z, with any x of its own: lengths and angles from A to B are the same in all.
        if self.has_spatial_pins:
            z = unit(np.array(self.table["pivots"]["axis"], dtype=float))
            x = unit(np.cross(z, np.eye(3)[np.argmin(abs(z))]))
            flat = {k: complex(x @ v, np.cross(z, x) @ v) for k, v in self.pins.items()}
        else:
            flat = {k: complex(v[0], self.drawn_sense * v[1]) for k, v in self.pins.items()}
        ground = flat["joint"] - flat["motor"]
        arms = [flat["crank"] - flat["motor"], flat["rocker"] - flat["crank"], flat["rocker"] - flat["joint"]]
        lengths = [abs(ground), *(abs(arm) for arm in arms)]
        return Bars(*lengths, float(np.angle(arms[0] / ground)), float(np.angle(arms[2] / ground)))

    def _turns(self, readings, reads):
        return np.sort(self.drawn_sense * (si(readings) - reads))

    def _stroke(self):
        """Joint turns about z, the smaller first."""
        table = self.table["stroke"]
        if "joint" in table:
            return self._turns(table["joint"], self.joint_reads)
        return np.sort(self.bars.joint_turn(self._turns(table["motor"], self.motor_reads)))


class Placed:
    """One [[robot]]: the closed loop on its parent link."""

    def __init__(self, design, table):
        self.design, self.name, self.parent = design, table["joint"], table["parent"]
        self.mirrored = table.get("mirrored", False)
        self.sense = -1.0 if self.mirrored else 1.0
        self.motor_sign = float(table.get("motor_sign", 1))
        self.axis = unit(np.array(table["axis"], dtype=float))
        self.z = self.sense * self.axis
        pins = self._spatial_pins(table)
        self.b = si(table["origin"]) if "origin" in table else pins["joint"]
        a = si(table["motor_at"]) if "motor_at" in table else pins["motor"]
        x = self.b - a
        x = unit(x - self.z * (self.z @ x))
        self.axes = np.stack([x, np.cross(self.z, x), self.z], axis=1)
        self.heights = self._heights(a, pins)
        self.a = self.b - design.bars.g * x + self.heights[0] * self.z
        self.parts = self._parts()

    def _spatial_pins(self, table):
        """The pins of three coordinates on this side of the robot; None where there are none."""
        if not self.design.has_spatial_pins:
            return None
        pins = self.design.pins
        if not self.mirrored:
            shift = (si(table["origin"]) if "origin" in table else pins["joint"]) - pins["joint"]
            return {k: v + shift for k, v in pins.items()}
        if "motor_at" in table:
            # Heights alone are asked of these: the mirror leaves them along the axis.
            shift = si(table["origin"]) - pins["joint"]
            return {k: v + shift for k, v in pins.items()}
        origin = si(table["origin"])
        normal = pins["joint"] - origin
        if np.linalg.norm(normal) < 1e-12:
            normal = np.cross(self.axis, origin)
        normal = unit(normal - self.axis * (self.axis @ normal))
        assert np.allclose(pins["joint"] - 2 * normal * (normal @ pins["joint"]), origin, rtol=0, atol=1e-8)
        return {k: v - 2 * normal * (normal @ v) for k, v in pins.items()}

    def _heights(self, a, pins):
        """Of A, P, Q along z."""
        of_a = float(self.z @ (a - self.b))
        if pins is None:
            return [of_a, of_a, of_a]
        return [of_a, *(float(self.z @ (pins[k] - pins["joint"])) for k in ("crank", "rocker"))]

    def _parts(self):
        table = self.design.table["mass"]
        parts = {name: Body(given) for name, given in table.items()}
        if self.mirrored and self.design.has_spatial_pins:
            for part in parts.values():
                if not part.in_robot_frame:
                    part.in_mirror()
        return parts

    @property
    def is_spatial(self):
        return all(part.is_spatial for name, part in self.parts.items() if name != "carried") and "carrier" in self.parts

    # Readings

    def joint_reading(self, turn):
        return self.design.joint_reads + self.sense * np.asarray(turn)

    def motor_reading(self, turn):
        return self.design.motor_reads + self.motor_sign * self.sense * np.asarray(turn)

    def turn(self, joint_reading):
        return self.sense * (np.asarray(joint_reading) - self.design.joint_reads)

    # What moves

    def moving(self, turn):
        """Parts that move against the parent link: rotation, origin, its speed and the turning rate per joint rate."""
        pose = self.design.bars.pose(turn)
        x, y, z = self.axes.T
        still = np.zeros(np.shape(turn) + (3,))

        def spatial(point, height):
            return self.b + point.real[..., None] * x + point.imag[..., None] * y + height * z

        def part(name, angle, rate, origin, speed):
            axes = turned(z, angle) @ self.axes
            body = self.parts[name]
            if body.in_robot_frame:
                axes = turned(self.axis, self.joint_reading(turn))
            rate = self.sense * np.asarray(rate)[..., None] * z
            return body, axes, origin, self.sense * speed, rate

        p, q = pose["p"], pose["q"]
        pin_speed = 1j * p * pose["crank_rate"]
        pin_speed = pin_speed.real[..., None] * x + pin_speed.imag[..., None] * y
        one = np.ones(np.shape(turn))
        return pose, [
            part("crank", pose["crank"], pose["crank_rate"], spatial(0 * p - self.design.bars.g, self.heights[0]), still),
            part("coupler", pose["coupler"], pose["coupler_rate"], spatial(p - self.design.bars.g, self.heights[1]), pin_speed),
            part("child", pose["rocker"], one, spatial(0 * q, 0.0), still),
        ]

    def matrix(self, turn):
        """7x7 mass matrix of all parts but the carrier, at joint turns."""
        pose, moving = self.moving(turn)
        whole = np.zeros(np.shape(turn) + (7, 7))
        for body, axes, origin, speed, rate in moving:
            whole += rigid(body, axes, origin, speed, rate)
        if self.design.rotor is not None:
            inertia, gear = self.design.rotor
            with_carrier = np.zeros(np.shape(turn) + (7,))
            with_carrier[..., 3:6] = self.z
            along = with_carrier.copy()
            along[..., 6] = gear * self.sense * pose["crank_rate"]
            whole += inertia * along[..., :, None] * along[..., None, :]
            if self.design.actuator.get("rotor_in_carrier", True):
                whole -= inertia * with_carrier[..., :, None] * with_carrier[..., None, :]
        return whole

    def child_alone(self, turn):
        """The child's share of it."""
        return rigid(*self.moving(turn)[1][-1])

    def own(self, name):
        """6x6 matrix of the carrier, or of what it bears besides."""
        still = np.zeros(3)
        return rigid(self.parts[name], np.eye(3), still, still, still)[:6, :6]

    def child_in_its_link(self):
        """The child with centre and tensor in its own link's frame, which is aligned with the parent's at reading 0."""
        body, axes, *_ = self.moving(np.array(0.0))[1][-1]
        axes = turned(self.axis, -self.design.joint_reads) @ axes
        placed = copy.copy(body)
        placed.centre, placed.tensor = axes @ body.centre, axes @ body.tensor @ axes.T
        return placed

    def planar(self):
        """Speeds from those in the plane: x, y of B, the carrier's turn about z, the joint."""
        g = np.zeros((7, 4))
        g[:3, :2] = self.axes[:, :2]
        g[:3, 2] = -np.cross(self.z, self.b)
        g[3:6, 2] = self.z
        g[6, 3] = 1.0
        return g


def rigid(body, axes, origin, speed, rate):
    """7x7 matrix of one rigid body whose frame has these axes, origin, and speed and turning rate per joint rate."""
    arm = axes @ body.centre
    centre = origin + arm
    shape = np.shape(centre)[:-1]
    linear = np.zeros(shape + (3, 7))
    linear[..., :3] = np.eye(3)
    linear[..., 3:6] = -cross_matrix(centre)
    linear[..., 6] = speed + (cross_matrix(rate) @ arm[..., None])[..., 0]
    angular = np.zeros(shape + (3, 7))
    angular[..., 3:6] = np.eye(3)
    angular[..., 6] = rate
    tensor = axes @ body.tensor @ np.swapaxes(axes, -1, -2)
    return body.mass * np.swapaxes(linear, -1, -2) @ linear + np.swapaxes(angular, -1, -2) @ tensor @ angular


def rows_of(k):
    """Where the 7x7 matrix of the k-th drive stands in that of all."""
    rows = np.array([*range(6), 6 + k])
    return rows[:, None], rows


def on_one_link(robots, turns):
    """Mass matrix of a parent link with all its drives, one joint turn (or array of them) for each."""
    n = 6 + len(robots)
    whole = np.zeros(np.shape(turns[0]) + (n, n))
    whole[..., :6, :6] += robots[0].own("carrier")
    for k, (robot, turn) in enumerate(zip(robots, turns)):
        whole[(..., *rows_of(k))] += robot.matrix(turn)
    return whole


def largest_share(error, whole):
    """max |eig(M^-1 dM)|, over the last two indices."""
    lower = np.linalg.cholesky(whole)
    half = np.linalg.solve(lower, error)
    return np.abs(np.linalg.eigvalsh(np.linalg.solve(lower, np.swapaxes(half, -1, -2)))).max(axis=-1)
