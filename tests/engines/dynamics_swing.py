"""One second of motion: direct joints and a closed loop against the exact linkage, carrier fixed and swinging.

The crank is held by a spring and driven by a torque that comes and goes; free fall along x. All but the engine's own
closed loop are integrated by the same Runge-Kutta rule (order 4) on the engine's mass matrix and bias forces.
"""

import json
import math
import sys

import mujoco
import numpy as np
from dynamics_model import (
    Loop,
    address,
    child_body,
    crank_alone,
    crank_and_rod,
    direct,
    dof,
    inertial,
    mass_matrix,
    model,
    numbers,
    site,
)

STEP, TIME = 1e-3, 1.0
SPRING, DRIVE, RATE = 4.0, 0.9, 2 * math.pi * 1.7  # N m/rad, N m, rad/s
HIP, SWUNG = -0.7, 0.5  # hip axis along x from B, m; where the carrier is let go, rad


def crank_torque(turn, time):
    return DRIVE * math.sin(RATE * time) - SPRING * turn


def mount(swinging):
    return f'<joint name="hip" type="hinge" axis="0 0 1" pos="{HIP} 0 0"/>' if swinging else ""


def runge_kutta(rate, state):
    history, h = [state.copy()], STEP
    for k in range(round(TIME / h)):
        t = k * h
        a = rate(t, state)
        b = rate(t + h / 2, state + h / 2 * a)
        c = rate(t + h / 2, state + h / 2 * b)
        d = rate(t + h, state + h * c)
        state = state + h / 6 * (a + 2 * b + 2 * c + d)
        history.append(state.copy())
    return np.array(history)


def start(swinging):
    return [SWUNG] if swinging else []


def of_linkage(case, swinging):
    """Child angle over time; state: hip, crank, and the speeds of hip and child."""
    loop = Loop(case, mount(swinging))
    loop.m.opt.gravity[:] = [9.80665, 0, 0]
    rigid = len(loop.rigid)

    def rates_at(crank):
        loop.close(crank)
        return loop.rates()

    def rate(time, state):
        position, speed = state[: rigid + 1], state[rigid + 1 :]
        if swinging:
            loop.d.qpos[address(loop.m, "hip")] = position[0]
        crank = position[-1]
        around = [rates_at(crank + e) for e in (1e-5, -1e-5)]
        rates = rates_at(crank)
        crank_speed = rates[0] * speed[-1]
        bend = np.zeros(loop.m.nv)
        bend[loop.dofs] = (around[0] - around[1]) / 2e-5 * crank_speed * speed[-1]
        g = loop.projection()
        loop.d.qvel[:] = g @ speed
        mujoco.mj_forward(loop.m, loop.d)
        whole = mass_matrix(loop.m, loop.d)
        force = -loop.d.qfrc_bias - whole @ bend
        force[loop.dofs[0]] += crank_torque(crank, time)
        gain = np.linalg.solve(g.T @ whole @ g, g.T @ force)
        return np.concatenate([speed[:-1], [crank_speed], gain])

    turns = runge_kutta(rate, np.array(start(swinging) + [0.0] * (rigid + 2)))[:, rigid]
    angles = []
    for turn in turns:
        loop.close(turn)
        angles.append(float(loop.d.qpos[address(loop.m, "child")]))
    return np.array(angles)


def of_tree(case, tree, swinging):
    m = direct(case, tree, mount(swinging))
    m.opt.gravity[:] = [9.80665, 0, 0]
    d = mujoco.MjData(m)

    def rate(time, state):
        d.qpos[:], d.qvel[:] = state[: m.nv], state[m.nv :]
        d.qfrc_applied[-1] = crank_torque(state[m.nv - 1], time)
        mujoco.mj_forward(m, d)
        return np.concatenate([state[m.nv :], d.qacc])

    return runge_kutta(rate, np.array(start(swinging) + [0.0] * (m.nv + 1)))[:, m.nv - 1]


def crank_model(case, swinging, bodies, softness):
    """Crank and child, joined by the rod with a pin at Q or, without a rod, by one polynomial."""
    extra = f'armature="{bodies["armature"]!r}" stiffness="{SPRING}"'
    if bodies["coupler"]:
        inside = crank_and_rod(dict(case, coupler=bodies["coupler"]), inertial(bodies["crank"]), extra)
        tie = f'<connect site1="rod_end" site2="rocker_end" {softness}/>'
    else:
        inside = crank_alone(case, inertial(bodies["crank"]), extra)
        tie = f'<joint joint1="crank" joint2="child" polycoef="{numbers(case["polynomial"])}" {softness}/>'
    inside += child_body(case, bodies["child"])
    option = f'timestep="{STEP / 2}" integrator="RK4"'
    tie = f"<equality>{tie}</equality>"
    return model(bodies["carrier"], inside, mount(swinging), extra=tie, option=option)


def gap_at_q(m, d):
    if site(m, "rod_end") < 0:
        return 0.0
    return float(np.linalg.norm(d.site_xpos[site(m, "rod_end")] - d.site_xpos[site(m, "rocker_end")]))


def of_engine(case, swinging, bodies, softness):
    m = crank_model(case, swinging, bodies, softness)
    m.opt.gravity[:] = [9.80665, 0, 0]
    d = mujoco.MjData(m)
    if swinging:
        d.qpos[address(m, "hip")] = SWUNG
    child = address(m, "child")
    angles, gap = [0.0], 0.0
    for k in range(2 * round(TIME / STEP)):
        d.qfrc_applied[dof(m, "crank")] = crank_torque(0.0, d.time + m.opt.timestep / 2)
        mujoco.mj_step(m, d)
        gap = max(gap, gap_at_q(m, d))
        if k % 2:
            angles.append(float(d.qpos[child]))
    return np.array(angles), gap


TIGHT = f'solref="{STEP} 1" solimp="0.999 0.9999 0.001"'


def measure(case):
    rows = {}
    for swinging in (False, True):
        truth = of_linkage(case, swinging)
        off = lambda angles: float(np.degrees(np.abs(angles - truth).max()))
        column = {name: off(of_tree(case, tree, swinging)) for name, tree in case["trees"].items()}
        for name, bodies, softness in (
            ("loop, pin tuned", case["loop"], TIGHT),
            ("loop, pin as by default", case["loop"], ""),
            ("crank kept, one coupling", case["coupled"], TIGHT),
        ):
            angles, gap = of_engine(case, swinging, bodies, softness)
            column[name], column[f"{name}: gap"] = off(angles), gap
        column["range"] = [float(truth.min()), float(truth.max())]
        rows["swinging" if swinging else "fixed"] = column
    return rows


print(json.dumps([measure(case) for case in json.load(sys.stdin)]))
