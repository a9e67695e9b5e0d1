"""One second of motion of two rods on a universal joint: the closed loop, projected on both joints, beside the emitted tree.

Input: a list of {loop, tree, names, swings}; `loop` as `dynamics_two_joints.py` has it, `tree` the MJCF text with the joints
`names`, `swings` for pitch and roll {middle, size, rate, phase} of middle + size·sin(rate·t + phase), in rad and rad/s.

Answer: {states: [{turns, rates, accelerations, loop, tree}], apart} with the torques on pitch and roll that the motion asks of
each at 200 instants, carrier still, under gravity along −z; and how far the joints of both are apart after 1 s, rad, let go from
the same pose against the same springs. The loop's constraint forces do no work: its torques are what is left along the motions
that keep it closed, no rod spinning about its own line.
"""

import json
import math
import sys

import mujoco
import numpy as np

from dynamics_space import axes, close, residual, unit
from dynamics_two_joints import model, upright

GRAVITY = [0.0, 0.0, -9.80665]
STATES, STEP = 200, 5e-3
SPRING = np.array([14.0, 6.0])  # N m/rad


class Loop:
    def __init__(self, case):
        self.case, self.m = case, model(case)
        self.d = mujoco.MjData(self.m)
        self.m.opt.gravity[:] = GRAVITY
        dof = lambda name: int(self.m.joint(name).dofadr[0])
        self.held = [dof(name) for name in ("pitch", "roll")]
        self.addresses = [int(self.m.joint(name).qposadr[0]) for name in ("pitch", "roll")]
        self.rotors, self.inputs = ([dof(f"{what}_{k}") for k in (0, 1)] for what in ("rotor", "input"))
        self.free = [dof for dof in range(6, self.m.nv) if dof not in self.held + self.rotors]
        self.axis = unit(case["pitch"]["axis"])

    def rows(self):
        """What must not move: both pins apart, both rods about their own lines."""
        _, jacobian = residual(self.m, self.d)
        rows = [jacobian]
        for k in (0, 1):
            turning = np.zeros((3, self.m.nv))
            mujoco.mj_jacBody(self.m, self.d, None, turning, self.m.body(f"rod_{k}").id)
            rows.append(unit(self.d.site(f"foot_{k}").xpos - self.d.body(f"rod_{k}").xpos) @ turning)
        return np.vstack(rows)

    def go(self, joints):
        self.d.qpos[self.addresses] = joints
        close(self.m, self.d, self.free)
        for k, leg in enumerate(self.case["legs"]):
            upright(self.m, self.d, k, axes(np.array(leg["foot"]) - leg["pin"], self.axis), self.axis)

    def kept(self, rows, held, asked):
        """The speeds or accelerations of all that keep `rows · x = asked`, with those of both joints given."""
        x = np.zeros(self.m.nv)
        x[self.held] = held
        x[self.free] = np.linalg.lstsq(rows[:, self.free], asked - rows[:, self.held] @ held, rcond=1e-12)[0]
        for k, leg in enumerate(self.case["legs"]):
            x[self.rotors[k]] = leg["rotor"]["turns"] * x[self.inputs[k]]
        return x

    def parts(self, joints, rates):
        """Mass matrix of both joints, and their torques at these rates without acceleration."""
        self.go(joints)
        rows, qpos = self.rows(), self.d.qpos.copy()
        none = np.zeros(len(rows))
        ways = np.stack([self.kept(rows, one, none) for one in np.eye(2)], axis=1)
        speeds = ways @ rates
        bent = []
        for h in (1e-5, -1e-5):
            self.d.qpos[:] = qpos
            mujoco.mj_integratePos(self.m, self.d.qpos, speeds, h)
            bent.append(self.rows())
        bend = (bent[0] - bent[1]) @ speeds / 2e-5
        self.d.qpos[:] = qpos
        self.d.qvel[:] = speeds
        mujoco.mj_forward(self.m, self.d)
        whole = np.zeros((self.m.nv, self.m.nv))
        mujoco.mj_fullM(self.m, self.d, whole)
        rest = whole @ self.kept(rows, np.zeros(2), -bend) + self.d.qfrc_bias
        return ways.T @ whole @ ways, ways.T @ rest


class Tree:
    def __init__(self, text, names):
        self.m = mujoco.MjModel.from_xml_string(text)
        self.d = mujoco.MjData(self.m)
        self.m.opt.gravity[:] = GRAVITY
        self.held = [int(self.m.joint(name).dofadr[0]) for name in names]
        self.addresses = [int(self.m.joint(name).qposadr[0]) for name in names]

    def parts(self, joints, rates):
        self.d.qpos[self.addresses] = joints
        self.d.qvel[:] = 0.0
        self.d.qvel[self.held] = rates
        mujoco.mj_forward(self.m, self.d)
        whole = np.zeros((self.m.nv, self.m.nv))
        mujoco.mj_fullM(self.m, self.d, whole)
        return whole[np.ix_(self.held, self.held)], self.d.qfrc_bias[self.held]


def let_go(of, joints):
    state = np.array([*joints, 0.0, 0.0])

    def rate(state):
        mass, rest = of.parts(state[:2], state[2:])
        return np.array([*state[2:], *np.linalg.solve(mass, -SPRING * state[:2] - rest)])

    # The rule of Runge and Kutta, order 4.
    for _ in range(round(1.0 / STEP)):
        a = rate(state)
        b = rate(state + STEP / 2 * a)
        c = rate(state + STEP / 2 * b)
        state = state + STEP / 6 * (a + 2 * b + 2 * c + rate(state + STEP * c))
    return state[:2]


def answer(case):
    loop, tree, swings = Loop(case["loop"]), Tree(case["tree"], case["names"]), case["swings"]
    of = lambda k, wave, power: np.array(
        [s["size"] * s["rate"] ** power * wave(s["rate"] * k / (STATES - 1) + s["phase"]) for s in swings]
    )
    middle = np.array([s["middle"] for s in swings])
    states = []
    for k in range(STATES):
        turns, rates = middle + of(k, math.sin, 0), of(k, math.cos, 1)
        accelerations = -of(k, math.sin, 2)
        if k == 0:
            # In small steps from the drawn pose, so that the assembly stays.
            for share in np.linspace(0.0, 1.0, 41):
                loop.go(share * turns)
        told = {"turns": turns, "rates": rates, "accelerations": accelerations}
        for name, one in (("loop", loop), ("tree", tree)):
            mass, rest = one.parts(turns, rates)
            told[name] = mass @ accelerations + rest
        states.append({key: value.tolist() for key, value in told.items()})
    start = [s["middle"] + 0.6 * s["size"] for s in swings]
    ends = [let_go(one, start) for one in (loop, tree)]
    return {"states": states, "apart": np.abs(ends[0] - ends[1]).tolist()}


if __name__ == "__main__":
    json.dump([answer(case) for case in json.load(sys.stdin)], sys.stdout)
