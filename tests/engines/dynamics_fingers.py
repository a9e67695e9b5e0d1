"""Fingers on a palm: mass matrices of the closed linkages and of what stands in for them, and a push from outside, by MuJoCo.

The palm moves on three slides and three hinges along and about x, y, z of the first carrier frame, so that at reading 0 its
speeds are (v of B, w). Loops are closed by the engine's own kinematics; the crank turn is the one coordinate of all fingers.
"""

import json
import math
import sys

import mujoco
import numpy as np
from dynamics_model import SPECK, address, dof, hinge, inertial, mass_matrix, numbers, site, site_jacobian, turn

STEP, TIME = 2e-3, 0.36
SPRING, DRIVE, RATE = 0.5, 0.12, 2 * math.pi * 2.3  # N m/rad, N m, rad/s: at the crank
PUSH_PALM, PUSH_PAD = np.array([0.9, -0.6, 0.4]), np.array([0.25, 0.1, -0.1])  # N
MOUNT = "".join(
    f'<joint name="{kind} {axis}" type="{kind}" axis="{vector}"/>'
    for kind in ("slide", "hinge")
    for axis, vector in (("x", "1 0 0"), ("y", "0 1 0"), ("z", "0 0 1"))
)


def crank(case, name, body, armature, inside):
    joint = hinge(f"crank {name}", f'armature="{float(armature)!r}"')
    place = f'pos="{numbers([-case["ground"], 0, 0])}" {turn(case["zero_crank"])}'
    return f'<body name="crank {name}" {place}>{joint}{inertial(body)}{inside}</body>'


def coupler(case, name, body):
    place = f'pos="{numbers([case["crank_length"], 0, 0])}" {turn(case["zero_coupler"] - case["zero_crank"])}'
    return f"""<body name="coupler {name}" {place}>{hinge(f"coupler {name}")}{inertial(body)}
        <site name="rod end {name}" pos="{numbers([case["coupler_length"], 0, 0])}"/>
        <site name="pad {name}" pos="0.01 0.03 0"/></body>"""


def rocker(case, name):
    return f"""<body name="child {name}" {turn(case["zero_rocker"])}>{hinge(f"child {name}")}{inertial(case["child"])}
        <site name="rocker end {name}" pos="{numbers([case["rocker_length"], 0, 0])}"/></body>"""


def rotor(case):
    """As light as can be, its tensor taken from the palm where that holds it."""
    j = case["rotor"]["inertia"]
    return (
        f'<body name="rotor" pos="{numbers([-case["ground"], 0, 0])}">{hinge("rotor")}'
        f'<inertial pos="0 0 0" mass="{SPECK!r}" diaginertia="{numbers([j / 2, j / 2, j])}"/></body>'
    )


def palm_beside_rotor(case):
    if not case["rotor"]:
        return case["carrier"]
    j = case["rotor"]["inertia"]
    held = np.diag([j / 2, j / 2, j if case["rotor"]["in_carrier"] else 0.0])
    return dict(case["carrier"], tensor=(np.array(case["carrier"]["tensor"]) - held).tolist())


def linkage(case, name):
    open_chain = crank(case, name, case["crank"], 0.0, coupler(case, name, case["coupler"]))
    return open_chain + rocker(case, name) + (rotor(case) if case["rotor"] else "")


def pair(case, name):
    tree = case["pair"]
    return crank(case, name, tree["crank"], tree["armature"], coupler(case, name, case["coupler"]))


def model(palm, fingers):
    placed = "".join(
        f'<body name="seat {name}" pos="{numbers(place["at"])}" quat="{numbers(place["quaternion"])}">{inside}</body>'
        for name, place, inside in fingers
    )
    return mujoco.MjModel.from_xml_string(
        f"""<mujoco><compiler autolimits="true"/><option gravity="0 0 0"><flag contact="disable"/></option>
        <worldbody><body name="carrier">{MOUNT}{inertial(palm)}<site name="push" pos="-0.03 0.02 0.01"/>{placed}</body>
        </worldbody></mujoco>"""
    )


class Fingers:
    """One or two fingers with one crank turn; closed linkages, or their pairs."""

    def __init__(self, cases, closed):
        self.cases, self.closed = cases, closed
        palm = palm_beside_rotor(cases[0]) if closed else cases[0]["palm"]
        make = linkage if closed else pair
        self.names = [str(k) for k in range(len(cases))]
        inside = [(n, c["place"], make(c, n)) for n, c in zip(self.names, cases)]
        self.m = model(palm, inside)
        self.d = mujoco.MjData(self.m)

    def update(self):
        mujoco.mj_kinematics(self.m, self.d)
        mujoco.mj_comPos(self.m, self.d)

    def gap(self, name):
        ends = [self.d.site_xpos[site(self.m, f"{end} end {name}")] for end in ("rod", "rocker")]
        return ends[0] - ends[1]

    def gap_jacobian(self, name):
        ends = [site_jacobian(self.m, self.d, f"{end} end {name}") for end in ("rod", "rocker")]
        return ends[0] - ends[1]

    def dofs(self, name):
        return [dof(self.m, f"{part} {name}") for part in ("coupler", "child")]

    def close(self, case, name):
        at = [address(self.m, f"{part} {name}") for part in ("coupler", "child")]
        for _ in range(40):
            self.update()
            step, *_ = np.linalg.lstsq(self.gap_jacobian(name)[:, self.dofs(name)], -self.gap(name), rcond=None)
            self.d.qpos[at] += step
            if np.abs(step).max() < 1e-15:
                break
        self.update()

    def place(self, crank_turn):
        for case, name in zip(self.cases, self.names):
            self.d.qpos[address(self.m, f"crank {name}")] = crank_turn
            if self.closed:
                self.close(case, name)
            else:
                self.d.qpos[address(self.m, f"coupler {name}")] = case["pair"]["follower_rate"] * crank_turn
        self.update()

    def follow(self, crank_turn, step=0.02):
        now = self.d.qpos[address(self.m, "crank 0")]
        for at in np.linspace(now, crank_turn, max(2, int(abs(crank_turn - now) / step) + 2))[1:]:
            self.place(at)

    def column(self):
        """Speeds of the open chain per crank turn."""
        g = np.zeros(self.m.nv)
        for case, name in zip(self.cases, self.names):
            crank_dof = dof(self.m, f"crank {name}")
            g[crank_dof] = 1.0
            if not self.closed:
                g[dof(self.m, f"coupler {name}")] = case["pair"]["follower_rate"]
                continue
            j = self.gap_jacobian(name)
            two, *_ = np.linalg.lstsq(j[:, self.dofs(name)], -j[:, crank_dof], rcond=None)
            g[self.dofs(name)] = two
        if self.closed and self.cases[0]["rotor"]:
            g[dof(self.m, "rotor")] = self.cases[0]["rotor"]["gear_ratio"]
        return g

    def projection(self):
        g = np.zeros((self.m.nv, 7))
        g[:6, :6] = np.eye(6)
        g[:, 6] = self.column()
        return g

    def matrix(self, crank_turn):
        self.follow(crank_turn)
        mujoco.mj_forward(self.m, self.d)
        g = self.projection()
        return g.T @ mass_matrix(self.m, self.d) @ g

    def pushed(self, time):
        """Forces of the palm's and the pads' push on all speeds."""
        push = lambda name, force: site_jacobian(self.m, self.d, name).T @ force
        forces = push("push", PUSH_PALM * math.sin(7.0 * time))
        for name in self.names:
            forces = forces + push(f"pad {name}", PUSH_PAD * math.cos(5.0 * time))
        return forces

    def gain(self, time, state):
        position, speed = state[:7], state[7:]
        self.d.qpos[:6] = position[:6]
        crank_turn, rate = position[6], speed[6]
        columns = []
        for e in (1e-5, -1e-5, 0.0):
            self.place(crank_turn + e)
            columns.append(self.column())
        bend = (columns[0] - columns[1]) / 2e-5 * rate * rate
        g = self.projection()
        self.d.qvel[:] = g @ speed
        mujoco.mj_forward(self.m, self.d)
        whole = mass_matrix(self.m, self.d)
        force = g.T @ (self.pushed(time) - self.d.qfrc_bias - whole @ bend)
        force[6] += DRIVE * math.sin(RATE * time) - SPRING * crank_turn
        return np.concatenate([speed, np.linalg.solve(g.T @ whole @ g, force)])

    def motion(self):
        """Crank turn and the palm's six readings over time, by Runge and Kutta's rule of order 4."""
        state, history, h = np.zeros(14), [], STEP
        for k in range(round(TIME / h)):
            t = k * h
            a = self.gain(t, state)
            b = self.gain(t + h / 2, state + h / 2 * a)
            c = self.gain(t + h / 2, state + h / 2 * b)
            d = self.gain(t + h, state + h * c)
            state = state + h / 6 * (a + 2 * b + 2 * c + d)
            history.append(state[:7].copy())
        return np.array(history)


def share(error, whole):
    """max |eig(M^-1 dM)|"""
    lower = np.linalg.cholesky(whole)
    half = np.linalg.solve(lower, error)
    return float(np.abs(np.linalg.eigvalsh(np.linalg.solve(lower, half.T))).max())


def measure(fingers):
    closed, tree = Fingers(fingers, True), Fingers(fingers, False)
    out, worst = {"poses": []}, 0.0
    low, high = fingers[0]["ends"]
    for at in np.linspace(low, high, 41):
        whole = closed.matrix(at)
        worst = max(worst, share(tree.matrix(at) - whole, whole))
    for at in fingers[0]["turns"]:
        gap = max(np.abs(closed.gap(n)).max() for n in closed.names)
        row = {"linkage": closed.matrix(at).flatten().tolist(), "pair": tree.matrix(at).flatten().tolist(), "gap": float(gap)}
        out["poses"].append(row)
    out["worst"] = worst
    if fingers[0]["moves"]:
        truth, model = Fingers(fingers, True).motion(), Fingers(fingers, False).motion()
        off = np.abs(model - truth).max(axis=0)
        out["off"] = off.tolist()
        out["range"] = (truth.max(axis=0) - truth.min(axis=0)).tolist()
    return out


print(json.dumps([measure(case) for case in json.load(sys.stdin)]))
