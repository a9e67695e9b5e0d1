"""Holds what the program says of many designs, and the files it writes, against closed loops made from the designs alone.

Reads {"designs": [{"name", "text", "check", "loads", "models": {kind: {"file", "joints"} or {"refused"}}, "alone",
"heavier"}]} on standard input: `alone` are the drives of two on one link one by one, `heavier` is the direct model for
heavier links where there is none for the design's own. Writes {"rows": [{"design", "what", "stated", "measured", "size"}],
"counts"}: a row is held when stated and measured differ by no more than a share of size. The closed loops are
`drawn_drive`'s; MuJoCo says what the written files weigh, where their ties let them go, and how hard gravity pulls.
"""
import json
import os
import sys
from collections import Counter

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # small matrices; tests run side by side

import mujoco
import numpy as np
from numpy.polynomial import chebyshev

from drawn_drive import FREE_FALL, Design, largest_share, on_one_link, rows_of, si
from moments import about, added, moments_of, patched

OFF = mujoco.mjtDisableBit
SLIDES = mujoco.mjtJoint.mjJNT_SLIDE
BALL = mujoco.mjtJoint.mjJNT_BALL


class Written:
    """An emitted MJCF file with its carriers let go: speeds are [v, w of each carrier, rates of the driven joints]."""

    def __init__(self, text, carriers, driven):
        spec = mujoco.MjSpec.from_string(text)
        for carrier in carriers:
            body = spec.body(carrier)
            for k, axis in enumerate(np.eye(3)):
                body.add_joint(name=f"{carrier} {k}", type=SLIDES, axis=axis)
            body.add_joint(name=f"{carrier} turn", type=BALL)
        self.model = spec.compile()
        option = self.model.opt
        option.jacobian = mujoco.mjtJacobian.mjJAC_DENSE
        option.disableflags |= OFF.mjDSBL_LIMIT | OFF.mjDSBL_FRICTIONLOSS | OFF.mjDSBL_CONTACT
        self.data = mujoco.MjData(self.model)  # in the drawn pose
        hinges = np.flatnonzero(self.model.jnt_type == mujoco.mjtJoint.mjJNT_HINGE)
        self.joints = [int(k) for k in hinges if self.model.joint(k).name not in driven]
        self.follow = [int(self.model.jnt_dofadr[k]) for k in self.joints]

    def joint(self, name):
        return self.model.joint(name)

    def has(self, name):
        return mujoco.mj_name2id(self.model, mujoco.mjtObj.mjOBJ_JOINT, name) >= 0

    def dof(self, name):
        return int(self.joint(name).dofadr[0])

    def reading(self, name):
        return float(self.data.qpos[self.joint(name).qposadr[0]])

    def put(self, name, value):
        self.data.qpos[self.joint(name).qposadr[0]] = value

    def carrier_dofs(self, carrier):
        return [self.dof(f"{carrier} {k}") for k in range(3)] + [self.dof(f"{carrier} turn") + k for k in range(3)]

    def place(self, readings):
        """Driven joints where they are wanted; what hangs on them by ties follows by Newton's rule. The gap left."""
        for name, value in readings.items():
            self.put(name, value)
        for _ in range(20):
            mujoco.mj_fwdPosition(self.model, self.data)
            if not self.follow:
                return 0.0
            gap, ties = self.ties()
            step = -np.linalg.lstsq(ties[:, self.follow], gap, rcond=None)[0]
            if np.abs(step).max() < 1e-13:
                break
            self.data.qpos[self.model.jnt_qposadr[self.joints]] += step
        return float(np.abs(self.ties()[0]).max())

    def walk(self, readings):
        """The same by small steps from where the driven joints stand, so that a loop stays on its own branch."""
        start = {name: self.reading(name) for name in readings}
        furthest = max(abs(value - start[name]) for name, value in readings.items())
        for share in np.linspace(0.0, 1.0, 2 + int(furthest / 0.05)):
            gap = self.place({name: start[name] + share * (value - start[name]) for name, value in readings.items()})
        return gap

    def ties(self):
        data, rows = self.data, self.data.ne
        return data.efc_pos[:rows].copy(), data.efc_J.reshape(-1, self.model.nv)[:rows].copy()

    def freedom(self, carrier, names):
        """All speeds from those of one carrier and its driven joints; what follows keeps the ties closed."""
        kept = self.carrier_dofs(carrier) + [self.dof(name) for name in names]
        g = np.zeros((self.model.nv, len(kept)))
        g[kept, range(len(kept))] = 1.0
        if self.follow:
            _, ties = self.ties()
            g[self.follow] = -np.linalg.lstsq(ties[:, self.follow], ties[:, kept], rcond=None)[0]
        return g

    def matrix(self, carrier, names):
        """The mass matrix that is left of the file's where it is placed."""
        full = np.zeros((self.model.nv, self.model.nv))
        mujoco.mj_fullM(self.model, self.data, full)
        g = self.freedom(carrier, names)
        return g.T @ full @ g

    def weight(self, carrier, names):
        """Generalised forces of gravity for a fall along x, y, z of 1 m/s^2, as columns."""
        columns = []
        for axis in np.eye(3):
            self.model.opt.gravity[:] = axis
            mujoco.mj_fwdPosition(self.model, self.data)
            mujoco.mj_fwdVelocity(self.model, self.data)
            columns.append(-self.data.qfrc_bias.copy())
        return self.freedom(carrier, names).T @ np.array(columns).T


class Smooth:
    """A function of the joint turn that is costly to ask, by Chebyshev's polynomials: it is analytic, so few nodes do."""

    def __init__(self, function, low, high, nodes=17):
        self.middle, self.half = 0.5 * (low + high), 0.5 * (high - low)
        at = chebyshev.chebpts1(nodes)
        values = np.array([function(turn) for turn in self.middle + self.half * at])
        self.shape = values.shape[1:]
        self.terms = chebyshev.chebfit(at, values.reshape(nodes, -1), nodes - 1)
        last, size = np.abs(self.terms[-2:]).max(), np.abs(self.terms).max()
        assert last <= 1e-11 * size, f"not smooth: {last} of {size}"

    def __call__(self, turns):
        turns = np.asarray(turns)
        powers = chebyshev.chebvander((turns - self.middle) / self.half, len(self.terms) - 1)
        return (powers @ self.terms).reshape(turns.shape + self.shape)


def peak(figure, low, high, points=65, rounds=4):
    """The largest value of a function of arrays over low..high: a grid, and finer ones about its three highest places."""
    at, width = np.linspace(low, high, points), (high - low) / (points - 1)
    values = figure(at)
    inner = np.r_[-np.inf, values, -np.inf]
    tops = np.flatnonzero((values >= inner[:-2]) & (values >= inner[2:]))
    centres, best = at[tops[np.argsort(-values[tops])][:3]], values.max()
    for _ in range(rounds):
        near = np.clip(centres[:, None] + np.linspace(-width, width, 33), low, high)
        found = figure(near.ravel()).reshape(near.shape)
        centres = np.take_along_axis(near, found.argmax(axis=1)[:, None], 1)[:, 0]
        best, width = max(best, found.max()), width / 16
    return float(best)


def peak_of_two(figure, low, high, points=25, rounds=5):
    """The same of a function of two turns."""
    ranges, width = [np.linspace(low, high, points)] * 2, (high - low) / (points - 1)
    best = -np.inf
    for _ in range(rounds):
        grid = np.meshgrid(*ranges, indexing="ij")
        found = figure(*grid)
        centre = [axis.flat[found.argmax()] for axis in grid]
        best = max(best, found.max())
        ranges = [np.clip(np.linspace(c - width, c + width, 17), low, high) for c in centre]
        width /= 8
    return float(best)


class Ledger:
    def __init__(self):
        self.rows, self.counts = [], Counter()

    def row(self, design, what, stated, measured, size=None):
        size = abs(float(measured)) if size is None else float(size)
        stated = None if stated is None else float(stated)
        self.rows.append({"design": design, "what": what, "stated": stated, "measured": float(measured), "size": size})


class Held:
    """One design, what was said of it, and the rows that come of it."""

    def __init__(self, given, ledger):
        self.given, self.ledger, self.name = given, ledger, given["name"]
        self.design = Design(given["text"])
        self.check = given["check"]
        self.low, self.high = self.design.stroke
        self.measured = {}

    def row(self, what, stated, measured, size=None):
        self.ledger.row(self.name, what, stated, measured, size)

    def groups(self):
        parents = dict.fromkeys(robot.parent for robot in self.design.robots)
        return [[r for r in self.design.robots if r.parent == parent] for parent in parents]

    def hold(self):
        for alone in self.given["alone"]:
            one = Held(alone, self.ledger)
            one.hold()
            self.measured |= one.measured
        self.kinematics()
        for kind, model in self.given["models"].items():
            if "refused" in model:
                self.ledger.counts[f"{kind} refused"] += 1
                self.refused(kind, model)
                continue
            self.ledger.counts[f"{kind} written"] += 1
            self.model(kind, model)

    def refused(self, kind, model):
        """For want of real bodies alone, and then there are none: what is to be added is the same for heavier links."""
        self.row(f"{kind} model refused for another reason", float("real body" not in model["refused"]), 0.0, 1.0)
        if kind == "loop":
            for group in self.groups():
                self.row("room for the rotors in a link whose loop is refused", 0.0, max(0.0, room_for_rotors(group)), 1.0)
        if kind != "direct":
            return
        self.row("verdict without real bodies", float(self.check["verdict"] == "not_equivalent"), 1.0)
        heavier = self.given.get("heavier", {})
        if "file" not in heavier:
            return
        from real_bodies import most_real  # brings in a large package, for these few

        robot, patch = self.design.robots[0], heavier["joints"][0]["patch"]
        carrier = about(moments_of(robot.parts["carrier"]) + added(patch["carrier"]), robot.b)
        child = moments_of(robot.child_in_its_link()) + added(patch["child"])
        self.ledger.counts["refusals confirmed"] += 1
        self.row("real bodies that were missed", 0.0, max(0.0, most_real(carrier, child, robot.axis)), 1.0)

    # Geometry, and what the joint bears

    def kinematics(self):
        bars, check = self.design.bars, self.check
        motor = np.sort(bars.motor_turn(self.design.stroke))
        for k in (0, 1):
            self.row("stroke, motor", check["stroke"]["motor_rad"][k], motor[k], 1.0)
        ratio, offset = check["direct_joint"]["ratio"], check["direct_joint"]["offset_rad"]

        def crank_rate(turn):
            return bars.pose(turn)["crank_rate"]

        def angle_error(turn):
            return np.abs(turn - bars.motor_turn(turn) / ratio - offset)

        self.row("angle error", check["angle_error"]["max_rad"], self.peak(angle_error), 1.0)
        worst = self.peak(lambda t: np.abs(crank_rate(t) / ratio - 1))
        self.row("ratio error", check["transmission_ratio"]["worst_error"], worst, 1.0)
        self.largest_ratio = self.peak(lambda t: np.abs(crank_rate(t)))
        self.smallest_ratio = -self.peak(lambda t: -np.abs(crank_rate(t)))
        # The share of the torque that the pins leave: the rod's force turns about each of them.
        self.share_left = self.pins_leave()
        self.torque_left = -self.peak(lambda t: -np.abs(crank_rate(t)) * self.share_left(t))
        if "pins" in self.design.table:
            least = -self.peak(lambda t: -self.share_left(t))
            self.row("pin efficiency", self.given["loads"]["pin_efficiency"]["value"], least)
        wish = self.design.table.get("direct_joint", {})
        if wish.get("ratio", "best") == "best":
            self.best_constant(angle_error, bars, wish, ratio, offset)

    def best_constant(self, angle_error, bars, wish, ratio, offset):
        """No other constants near do better."""
        own = self.peak(angle_error)
        moves = [(s, o) for s in (-1e-5, 0, 1e-5) for o in ((-1e-5, 0, 1e-5) if wish.get("offset") == "best" else (0,))]

        def error_of(s, o):
            return self.peak(lambda t: np.abs(t - bars.motor_turn(t) / (ratio * (1 + s)) - offset - o))

        others = [error_of(s, o) for s, o in moves]
        self.row("constants that do better", 0.0, max(0.0, own - min(others)), 1.0)

    def peak(self, figure):
        return peak(figure, self.low, self.high)

    def pins_leave(self):
        pins, bars = self.design.table.get("pins"), self.design.bars
        if pins is None:
            return lambda turn: np.ones(np.shape(turn))
        radii = [0.5e-3 * float(pins[k]["fit"].split()[0]) for k in ("motor", "crank", "rocker", "joint")]

        def left(turn):
            pose = bars.pose(turn)
            i, s = pose["crank_rate"], pose["coupler_rate"]
            rod = np.exp(1j * pose["coupler"])
            arm = np.abs((np.conj(pose["q"]) * rod).imag)
            turns = np.abs([i, i - s, 1 - s, np.ones(np.shape(i))])
            return 1 - pins["friction"] * np.tensordot(radii, turns, 1) / arm

        return left

    # Files

    def model(self, kind, model):
        carriers = list(dict.fromkeys(robot.parent for robot in self.design.robots))
        written = Written(model["file"], carriers, [robot.name for robot in self.design.robots])
        joints = {stated["joint"]: stated for stated in model["joints"]}
        for group in self.groups():
            for robot in group:
                self.joint(kind, written, robot, joints[robot.name])
            if len(group) == 1:
                getattr(self, kind)(written, group[0], joints[group[0].name])
            else:
                self.together(kind, written, group, joints)

    def limits(self):
        """Joint turns between which stroke and stops let the joint go."""
        bars, low, high = self.design.bars, self.low, self.high
        if self.design.stops is not None:
            motor = np.clip(bars.motor_turn(np.array([low, high])), *self.design.stops)
            low, high = np.sort(bars.joint_turn(motor))
        return low, high

    def joint(self, kind, written, robot, stated):
        """Limits, torque, speed, damping, friction and gains: the JSON, and the file where it holds them."""
        d, ratio = self.design, self.check["direct_joint"]["ratio"]
        limit = np.sort(robot.joint_reading(np.array(self.limits())))
        peak_torque, fastest = d.figure("peak_torque"), d.figure("max_speed")
        figures = {
            "effort": (stated["torque_n_m"]["guaranteed"], peak_torque * self.torque_left),
            "never-exceed effort": (stated["torque_n_m"]["never_exceed"], peak_torque * self.largest_ratio),
            "speed": (stated["speed_rad_per_s"]["guaranteed"], fastest / self.largest_ratio),
            "never-exceed speed": (stated["speed_rad_per_s"]["never_exceed"], fastest / self.smallest_ratio),
            "damping": (stated["damping_n_m_s_per_rad"], d.figure("damping") * ratio**2),
            "friction": (stated["friction_n_m"], d.figure("friction") * abs(ratio)),
            "position gain": (stated["gains"]["position_n_m_per_rad"], d.figure("position_gain") * ratio**2),
            "velocity gain": (stated["gains"]["velocity_n_m_s_per_rad"], d.figure("velocity_gain") * ratio**2),
            "armature, plain": (stated["armature_kg_m2"]["plain"], d.rotor[0] * (d.rotor[1] * ratio) ** 2),
        }
        for what, (said, found) in figures.items():
            self.row(what, said, found)
        own, file_joint = written.model, written.joint(robot.name)
        for k in (0, 1):
            self.row("limit", stated["limit_rad"][k], limit[k], 1.0)
            self.row(f"limit in the {kind} file", file_joint.range[k], limit[k], 1.0)
        motor = file_joint if kind == "direct" else written.joint(f"{robot.name}_crank")
        by = ratio if kind == "direct" else 1.0
        rubs = file_joint if kind == "coupled" else motor
        rub = ratio if kind == "coupled" else by
        self.row(f"damping in the {kind} file", motor.damping[0], d.figure("damping") * by**2)
        self.row(f"friction in the {kind} file", rubs.frictionloss[0], d.figure("friction") * abs(rub))
        drives = [a for a in range(own.nu) if own.actuator_trnid[a, 0] == motor.id]
        effort = peak_torque * (self.torque_left if kind == "direct" else 1.0)
        self.row(f"actuators in the {kind} file", len(drives), 1)
        a = drives[0]
        self.row(f"effort in the {kind} file", own.actuator_forcerange[a, 1], effort)
        self.row(f"position gain in the {kind} file", own.actuator_gainprm[a, 0], d.figure("position_gain") * by**2)
        self.row(f"velocity gain in the {kind} file", -own.actuator_biasprm[a, 2], d.figure("velocity_gain") * by**2)

    # Inertia and gravity

    def matrices(self, written, robot):
        """The file's 7x7 matrices at joint turns."""

        def at(turn):
            written.place({robot.name: float(robot.joint_reading(turn))})
            return written.matrix(robot.parent, [robot.name])

        return Smooth(at, self.low, self.high)

    def figures(self, theirs, robot):
        """The largest error of kinetic energy: carrier fixed, planar, spatial, and with what the carrier bears."""
        plane = robot.planar()
        carried = robot.own("carried") if "carried" in robot.parts else None

        def share(over, borne=False):
            def at(turns):
                true = on_one_link([robot], [turns])
                error = theirs(turns) - true
                if borne:
                    true[..., :6, :6] += carried
                if over == "carrier_fixed":
                    return np.abs(error[..., 6, 6] / true[..., 6, 6])
                if over == "planar":
                    error, true = plane.T @ error @ plane, plane.T @ true @ plane
                return largest_share(error, true)

            return self.peak(at)

        found = {over: share(over) for over in ("carrier_fixed", "planar", "spatial")}
        if carried is not None:
            found |= {f"{over}_with_carried": share(over, True) for over in ("planar", "spatial")}
        return found

    def direct(self, written, robot, stated):
        theirs = self.matrices(written, robot)
        found = self.figures(theirs, robot)
        headline = found["spatial" if robot.is_spatial else "planar"]
        self.row("inertia error, direct", stated["inertia_error"], headline, 1.0)
        self.row("inertia error of check, each", self.each()[robot.name], headline, 1.0)
        stands_alone = len(self.design.robots) == 1
        if stands_alone:
            for key, value in found.items():
                if not robot.is_spatial and key.startswith("spatial"):
                    continue
                self.row(f"inertia error of check, {key}", self.check["inertia"][key], value, 1.0)

        def weight_error(turns):
            error = theirs(turns) - on_one_link([robot], [turns])
            return FREE_FALL * np.linalg.norm(error[..., 6, :3], axis=-1)

        scale = FREE_FALL * self.peak(lambda t: np.linalg.norm(robot.matrix(t)[..., 6, :3], axis=-1))
        if stands_alone:
            said = self.check["inertia"]["gravity_torque_error_n_m"]
            self.row("gravity torque error of check", said, self.peak(weight_error), scale)
            if "motion" in self.design.table:
                said = self.check["inertia"]["motion_torque_error_n_m"]
                self.row("motion torque error of check", said, *self.motion(theirs, robot))
        self.as_they_stand(robot, stated)
        self.weighs_as_it_swings(written, robot)

    def as_they_stand(self, robot, stated):
        """The links' own figures with the rotor as an armature n^2 J: what a pasted joint has without its patch."""

        def error(turns):
            error = robot.child_alone(turns) - robot.matrix(turns)
            error[..., 6, 6] += self.design.rotor[0] * (self.design.rotor[1] * stated["ratio"]) ** 2
            return error

        said = stated["inertia_error_as_they_stand"]
        self.row("inertia error as they stand", said, self.headline(error, robot), 1.0)

    def headline(self, error, robot):
        """The figure in space, or in the plane where no more is known; the error as a function of joint turns."""

        def share(turns):
            wrong, true = error(turns), on_one_link([robot], [turns])
            if not robot.is_spatial:
                plane = robot.planar()
                wrong, true = plane.T @ wrong @ plane, plane.T @ true @ plane
            return largest_share(wrong, true)

        return self.peak(share)

    def weighs_as_it_swings(self, written, robot):
        """The engine's gravity is that of its mass matrix: the figures above are about what will happen."""
        written.place({robot.name: float(robot.joint_reading(self.high))})
        matrix, weight = written.matrix(robot.parent, [robot.name]), written.weight(robot.parent, [robot.name])
        self.row("gravity in the engine", 0.0, np.abs(weight - matrix[:, :3]).max(), np.abs(matrix[:, :3]).max())

    def motion(self, theirs, robot):
        """The largest torque error of [motion] in the plane, and its size: derivatives by central differences."""
        most = {key: si(value) for key, value in self.design.table["motion"].items()}
        plane, h = robot.planar(), 1e-5

        def true(turns):
            return plane.T @ on_one_link([robot], [turns]) @ plane

        def at(turns):
            error = plane.T @ theirs(turns) @ plane - true(turns)
            slope = (error_at(turns + h) - error_at(turns - h)) / (2 * h)
            return (
                np.abs(error[..., 3, 3]) * most["joint_acceleration"]
                + 0.5 * np.abs(slope[..., 3, 3]) * most["joint_speed"] ** 2
                + np.abs(error[..., 2, 3]) * most["carrier_acceleration"]
                + 0.5 * np.abs(slope[..., 2, 2]) * most["carrier_speed"] ** 2
                + np.linalg.norm(error[..., :2, 3], axis=-1) * most["base_acceleration"]
            )

        def error_at(turns):
            return plane.T @ theirs(turns) @ plane - true(turns)

        size = np.abs(true(np.array([self.low]))[0, 3, 3]) * most["joint_acceleration"]
        return self.peak(at), size

    def loop(self, written, robot, stated):
        for turn in np.linspace(self.low, self.high, 7):
            self.loop_at(written, [robot], [turn])

    def loop_at(self, written, group, turns):
        """The closed loop of the file is the drawn one."""
        names, parent, bars = [r.name for r in group], group[0].parent, self.design.bars
        gap = written.walk({r.name: float(r.joint_reading(t)) for r, t in zip(group, turns)})
        self.row("loop left open", 0.0, gap, 1e-3)
        for robot, turn in zip(group, turns):
            reads = robot.motor_reading(bars.motor_turn(turn))
            self.row("crank of the loop", written.reading(f"{robot.name}_crank"), reads, 1.0)
        true = on_one_link(group, turns)
        error = written.matrix(parent, names) - true
        self.row("inertia error, loop", 0.0, largest_share(error, true), 1.0)
        whole = on_one_link(group, turns)
        off = (written.weight(parent, names) - whole[:, :3])[6:]
        self.row("gravity torque, loop", 0.0, np.abs(off).max(), np.abs(whole[6:, :3]).max())

    def coupled(self, written, robot, stated):
        coupling, bars = stated["coupling"], self.design.bars
        found = self.figures(self.matrices(written, robot), robot)
        self.row("inertia error, coupled", coupling["inertia_error"], found["spatial"], 1.0)
        self.measured["coupled", robot.name] = found["spatial"]
        self.pulls(self.matrices(written, robot), robot, coupling["inertia_error"])
        crank = f"{robot.name}_crank"

        def crank_at(turn):
            written.place({robot.name: float(robot.joint_reading(turn))})
            slope = written.freedom(robot.parent, [robot.name])[written.dof(crank), 6]
            return np.array([written.reading(crank), robot.motor_sign * slope])

        crank_of = Smooth(crank_at, self.low, self.high)

        def angle_error(turns):
            return np.abs(crank_of(turns)[..., 0] - robot.motor_reading(bars.motor_turn(turns)))

        def torque_error(turns):
            return np.abs(crank_of(turns)[..., 1] / bars.pose(turns)["crank_rate"] - 1)

        self.row("angle error, coupled", coupling["angle_error_rad"], self.peak(angle_error), 1.0)
        self.row("torque error, coupled", coupling["torque_error"], self.peak(torque_error), 1.0)
        self.weighs_as_it_swings(written, robot)

    def pulls(self, theirs, robot, share):
        """No more wrong in gravity's torque than the stated inertia error allows: |dM_vq| <= e (M_vv M_qq)^1/2."""

        def beyond(turns):
            true = on_one_link([robot], [turns])
            error = np.linalg.norm((theirs(turns) - true)[..., 6, :3], axis=-1)
            return error - share * np.sqrt(true[..., 0, 0] * true[..., 6, 6])

        self.row("gravity torque, coupled, beyond its inertia error", 0.0, max(0.0, self.peak(beyond)), 1e-2)

    # Two drives on one link

    def together(self, kind, written, group, joints):
        if kind == "loop":
            for share in (0.0, 0.3, 1.0):
                self.loop_at(written, group, [self.low + s * (self.high - self.low) for s in (share, 1 - share**2)])
            return
        if kind == "direct":
            self.each_of_several(written, group, joints)
        else:
            for robot in group:
                said = joints[robot.name]["coupling"]["inertia_error"]
                if (kind, robot.name) in self.measured:
                    self.row("inertia error beside another drive, coupled", said, self.measured[kind, robot.name], 1.0)
        measured = self.largest_together(written, group)
        if kind == "direct":
            said = {link["link"]: link["error"] for link in self.check["inertia"]["together"]}
            self.row("inertia error together, direct", said.get(group[0].parent), measured, 1.0)

    def each_of_several(self, written, group, joints):
        """The link of the file is made of all patch lists; each drive's own figure is that of its own patch list."""
        low, high = self.low, self.high
        turns = [low, high, 0.5 * (low + high)][: len(group)]
        written.place({r.name: float(r.joint_reading(t)) for r, t in zip(group, turns)})
        theirs = written.matrix(group[0].parent, [r.name for r in group])
        ours = np.zeros_like(theirs)
        ours[:6, :6] = group[0].own("carrier")
        for k, (robot, turn) in enumerate(zip(group, turns)):
            ours[rows_of(k)] += patched(robot, joints[robot.name]["patch"], turn)
        self.row("patch lists make the file", 0.0, np.abs(theirs - ours).max(), np.abs(ours).max())
        for robot in group:
            patch = joints[robot.name]["patch"]
            tree = Smooth(lambda turn: patched(robot, patch, turn), low, high)
            headline = self.headline(lambda turns: tree(turns) - robot.matrix(turns), robot)
            self.row("inertia error beside another drive, direct", joints[robot.name]["inertia_error"], headline, 1.0)
            self.row("inertia error of check beside another drive", self.each()[robot.name], headline, 1.0)

    def each(self):
        return {drive["joint"]: drive["error"] for drive in self.check["inertia"]["each"]}

    def largest_together(self, written, group):
        """Over all pairs of poses. Each drive adds its own share to the matrix, in the file as in truth."""
        names, parent = [r.name for r in group], group[0].parent

        def theirs(one, other):
            written.place({r.name: float(r.joint_reading(t)) for r, t in zip(group, (one, other))})
            return written.matrix(parent, names)

        base = theirs(self.low, self.low)
        first = Smooth(lambda turn: theirs(turn, self.low) - base, self.low, self.high)
        second = Smooth(lambda turn: theirs(self.low, turn), self.low, self.high)

        def share(one, other):
            true = on_one_link(group, [one, other])
            return largest_share(first(one) + second(other) - true, true)

        added = first(self.high) + second(self.high)
        self.row("drives add up", 0.0, np.abs(theirs(self.high, self.high) - added).max(), np.abs(base).max())
        return peak_of_two(share, self.low, self.high)


def room_for_rotors(group):
    """The least second moment (kg m^2, about the centre) that is left of a link's own when every rotor on it becomes a flat
    disc of its own: above 0 the drawn parts are the loop model's bodies, as they stand."""
    link, rotor = moments_of(group[0].parts["carrier"]), group[0].design.rotor[0]
    held = group[0].design.actuator.get("rotor_in_carrier", True)
    for robot in group:
        along = np.outer(robot.z, robot.z)
        # A disc has J about z and J/2 across. What is in the link already is taken out whole, else only what is across.
        link[:3, :3] -= 0.5 * rotor * ((np.eye(3) - along) if held else along)
    centre = link[:3, 3] / link[3, 3]
    return float(np.linalg.eigvalsh(link[:3, :3] - link[3, 3] * np.outer(centre, centre)).min())


def main():
    ledger = Ledger()
    for given in json.load(sys.stdin)["designs"]:
        Held(given, ledger).hold()
    json.dump({"rows": ledger.rows, "counts": ledger.counts}, sys.stdout)


if __name__ == "__main__":
    main()
