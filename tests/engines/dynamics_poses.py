"""Mass matrices, weight and static torque of drives at single poses, by MuJoCo and Pinocchio."""

import json
import sys

import mujoco
import numpy as np
import pinocchio as pin
from dynamics_model import Loop, address, direct, dof, mass_matrix, site, site_jacobian

GRAVITY = np.array([9.80665, 0.0, 0.0])  # along x, from A to B


def share(error, whole):
    """max |eig(M^-1 dM)|"""
    lower = np.linalg.cholesky(whole)
    half = np.linalg.solve(lower, error)
    return float(np.abs(np.linalg.eigvalsh(np.linalg.solve(lower, half.T))).max())


def figures(error, whole):
    plane = np.ix_([0, 1, 5, 6], [0, 1, 5, 6])
    fixed = abs(error[6, 6] / whole[6, 6])
    return [float(fixed), share(error[plane], whole[plane]), share(error, whole)]


class Direct:
    def __init__(self, case):
        self.m = direct(case, case["tree"])
        self.d = mujoco.MjData(self.m)

    def at(self, joint):
        self.d.qpos[address(self.m, "child")] = joint
        mujoco.mj_forward(self.m, self.d)
        return mass_matrix(self.m, self.d)


def spatial_inertia(body):
    return pin.Inertia(body["mass"], np.array(body["centre"]), np.array(body["tensor"]))


def by_pinocchio(case, joint):
    tree = case["tree"]
    m = pin.Model()
    carrier = m.addJoint(0, pin.JointModelFreeFlyer(), pin.SE3.Identity(), "carrier")
    z = case["zero_rocker"]
    place = pin.SE3(pin.utils.rotate("z", z), np.zeros(3))
    child = m.addJoint(carrier, pin.JointModelRZ(), place, "child")
    m.appendBodyToJoint(carrier, spatial_inertia(tree["carrier"]), pin.SE3.Identity())
    m.appendBodyToJoint(child, spatial_inertia(tree["child"]), pin.SE3.Identity())
    m.armature = np.array([0, 0, 0, 0, 0, 0, tree["armature"]])
    d = m.createData()
    q = pin.neutral(m)
    q[-1] = joint
    upper = np.triu(pin.crba(m, d, q))
    return upper + np.triu(upper, 1).T


def weight(m, d, projection=None):
    """Torque that holds the joint up against free fall along x."""
    m.opt.gravity[:] = GRAVITY
    d.qvel[:] = 0.0
    mujoco.mj_forward(m, d)
    held = d.qfrc_bias.copy() if projection is None else projection.T @ d.qfrc_bias
    m.opt.gravity[:] = 0.0
    return float(held[-1])


def static_torque(case, turn, motor):
    """Torque on the child that holds the closed loop still under a motor torque, with the pin as a stiff constraint."""
    from dynamics_model import child_body, crank_and_rod, inertial, model

    loop = '<equality><connect site1="rod_end" site2="rocker_end" solref="-1e13 -1e6" solimp="0.9999 0.9999 1"/></equality>'
    inside = crank_and_rod(case, inertial(case["crank"])) + child_body(case, case["child"])
    m = model(case["carrier"], inside, mount="", extra=loop, option='iterations="200" tolerance="1e-15"')
    d = mujoco.MjData(m)
    closed = Loop(case)
    closed.follow(turn)
    names = ["crank", "coupler", "child"]
    base = np.array([closed.d.qpos[address(closed.m, n)] for n in names])
    # Crank and coupler give way a little against the child; unknowns: their give and the child's torque.
    dofs = [dof(m, n) for n in names]

    def acceleration(x):
        for name, value in zip(names, base + np.array([x[0], x[1], 0.0])):
            d.qpos[address(m, name)] = value
        d.qvel[:] = 0.0
        d.qfrc_applied[dofs[0]] = motor
        d.qfrc_applied[dofs[2]] = x[2]
        mujoco.mj_forward(m, d)
        return d.qacc[dofs].copy()

    guess = -motor * closed.rates()[0]
    x, scale = np.array([0.0, 0.0, guess]), np.array([1e-9, 1e-9, 1e-3 * abs(guess)])
    for _ in range(6):
        a0 = acceleration(x)
        j = np.column_stack([(acceleration(x + np.eye(3)[k] * scale) - a0) / scale[k] for k in range(3)])
        x = x - np.linalg.solve(j, a0)
    at_end = d.site_xpos[site(m, "rod_end")] - d.site_xpos[site(m, "rocker_end")]
    return -float(x[2]), float(np.linalg.norm(at_end))


def measure(case):
    loop, tree = Loop(case), Direct(case)
    rows, worst = [], [0.0, 0.0, 0.0]
    for turn in np.linspace(*case["ends"], 101):
        loop.follow(turn)
        mujoco.mj_forward(loop.m, loop.d)
        projection = loop.projection()
        truth = projection.T @ mass_matrix(loop.m, loop.d) @ projection
        joint = float(loop.d.qpos[address(loop.m, "child")])
        error = tree.at(joint) - truth
        worst = [max(a, b) for a, b in zip(worst, figures(error, truth))]
    for turn in case["turns"]:
        loop.follow(turn)
        mujoco.mj_forward(loop.m, loop.d)
        projection = loop.projection()
        truth = projection.T @ mass_matrix(loop.m, loop.d) @ projection
        joint = float(loop.d.qpos[address(loop.m, "child")])
        tree_matrix = tree.at(joint)
        torque, gap = static_torque(case, turn, 3.0)
        rows.append(
            {
                "joint": joint,
                "linkage": truth.flatten().tolist(),
                "tree": tree_matrix.flatten().tolist(),
                "tree_by_pinocchio": by_pinocchio(case, joint).flatten().tolist(),
                "figures": figures(tree_matrix - truth, truth),
                "weight": weight(loop.m, loop.d, projection),
                "weight_of_tree": weight(tree.m, tree.d),
                "joint_torque": torque,
                "pin_gap": gap,
            }
        )
    return {"worst": worst, "poses": rows}


print(json.dumps([measure(case) for case in json.load(sys.stdin)]))
