"""The same control before and after a fold, in MuJoCo: reads {"closed", "folded": MJCF, "motor", "rod", "joint": names of
joints, "control": [a number for each actuator], "seconds", "error": the fold's figure of kinetic energy, "carrier_moves":
whether the carrier's body "carrier" is free and shaken} and prints where the joint stands at the end in each, how far the
two end apart, the largest difference of generalised force at the joint in 200 states of the closed loop's motion with the
largest share of the bound it takes, and the geoms that collide on bodies that both have.

The forces are those of inverse dynamics on the rates that the closed loop allows: a parallelogram's slopes are constant, so
that they are read off the constraint itself. Lagrange's equation of the joint, with the carrier's rates in its own frame:
what is left of it for two mass matrices M and M + DM is DM's share of the acceleration (gravity among it), which the error
of kinetic energy bounds, and terms of how DM changes with the joint."""

import json
import sys

import mujoco
import numpy as np

given = json.load(sys.stdin)
said = []
mujoco.set_mju_user_warning(lambda text: said.append(text))
closed, folded = (mujoco.MjModel.from_xml_string(given[key]) for key in ("closed", "folded"))
STEP = 5e-4
for model in (closed, folded):
    model.opt.timestep = STEP
    model.eq_solref[:] = [2 * STEP, 1]
    model.eq_solimp[:] = [0.999, 0.9999, 0.001, 0.5, 2]
    model.opt.gravity[:] = [0, 0, -9.81]
    # The engine's dry friction is a soft constraint of each joint: at the crank it is not the same as at the joint.
    model.dof_frictionloss[:] = 0.0


def dof(model, name):
    return model.jnt_dofadr[model.joint(name).id]


def reading(model, data, name):
    return float(data.qpos[model.jnt_qposadr[model.joint(name).id]])


def start(model):
    data = mujoco.MjData(model)
    data.ctrl[:] = given["control"]
    mujoco.mj_forward(model, data)
    return data


def rates(model, data, free):
    """What the loop allows: a column of rates for each of the carrier's own (6 where it is free, none where it stands), and
    one for rate 1 of the joint."""
    columns = np.zeros((model.nv, free + 1))
    columns[:free, :free] = np.eye(free)
    columns[dof(model, given["joint"]), free] = 1.0
    if model.neq == 0:
        return columns
    ends = []
    # The two sites that the loop holds together.
    for site in model.eq_obj1id[0], model.eq_obj2id[0]:
        jacobian = np.zeros((3, model.nv))
        mujoco.mj_jacSite(model, data, jacobian, None, site)
        ends.append(jacobian)
    apart = ends[0] - ends[1]
    moved = [dof(model, given["motor"]), dof(model, given["rod"])]
    driven = dof(model, given["joint"])
    columns[moved, free] = np.linalg.lstsq(apart[:, moved], -apart[:, driven], rcond=None)[0]
    return columns


def inertia(model, data, columns):
    full = np.zeros((model.nv, model.nv))
    mujoco.mj_fullM(model, data, full)
    return columns.T @ full @ columns


def needed(model, data, columns, speed, acceleration):
    """The force at the joint for these rates and accelerations, beyond springs, dampers and actuators."""
    data.qvel[:] = columns @ speed
    mujoco.mj_forward(model, data)
    full = np.zeros((model.nv, model.nv))
    mujoco.mj_fullM(model, data, full)
    own = full @ (columns @ acceleration) + data.qfrc_bias
    return float(columns[:, -1] @ (own - data.qfrc_spring - data.qfrc_damper - data.qfrc_actuator))


def placed(model, data, turned, carrier):
    """A copy of a state of the closed loop with the joint turned on by `turned`, the carrier where it is or at the origin."""
    still = mujoco.MjData(model)
    still.ctrl[:] = given["control"]
    if model is closed:
        still.qpos[:] = data.qpos
    for name in (given["joint"], given["motor"], given["rod"]):
        # In a parallelogram motor and joint turn alike, and the rod's own joint the other way.
        names_it = mujoco.mj_name2id(model, mujoco.mjtObj.mjOBJ_JOINT, name) >= 0
        if names_it:
            sign = LOOP[dof(closed, name), -1]
            at = model.jnt_qposadr[model.joint(name).id]
            still.qpos[at] = reading(closed, data, name) + sign * turned
    if FREE:
        still.qpos[:7] = data.qpos[:7] if carrier else [0, 0, 0, 1, 0, 0, 0]
    mujoco.mj_forward(model, still)
    return still


def turned_back(data):
    """Carrier's rates and accelerations (gravity off) in its own frame, then the joint's: MuJoCo has a free body's linear
    ones in the world's."""
    joint = dof(closed, given["joint"])
    speed, acceleration = [np.append(x[:FREE], x[joint]) for x in (data.qvel, data.qacc)]
    if not FREE:
        return speed, acceleration, speed, acceleration
    frame = np.zeros(9)
    mujoco.mju_quat2Mat(frame, data.qpos[3:7])
    turn = frame.reshape(3, 3).T
    own_speed, own_acceleration = speed.copy(), acceleration.copy()
    own_speed[:3] = turn @ speed[:3]
    own_acceleration[:3] = turn @ (acceleration[:3] - closed.opt.gravity) - np.cross(speed[3:6], own_speed[:3])
    return speed, acceleration, own_speed, own_acceleration


FREE = 6 if given["carrier_moves"] else 0
STEP_BACK = 1e-4
a, b = start(closed), start(folded)
LOOP = rates(closed, a, FREE)
joint = given["joint"]
steps = round(given["seconds"] / STEP)
worst, used = 0.0, 0.0
for k in range(steps):
    if FREE:
        # Shaken by one and the same wrench in both, N and N m.
        wrench = [12 * np.sin(9 * k * STEP), 3, 40 + 25 * np.cos(7 * k * STEP), 1, 3 * np.cos(8 * k * STEP), 0.5]
        for model, data in (closed, a), (folded, b):
            data.xfrc_applied[model.body(given["carrier"]).id] = wrench
    mujoco.mj_step(closed, a)
    mujoco.mj_step(folded, b)
    if k % max(steps // 200, 1) == 0:
        mujoco.mj_forward(closed, a)
        speed, acceleration, own_speed, own_acceleration = turned_back(a)
        still, tree = placed(closed, a, 0.0, True), placed(folded, a, 0.0, True)
        first = needed(closed, still, rates(closed, still, FREE), speed, acceleration)
        second = needed(folded, tree, rates(folded, tree, FREE), speed, acceleration)
        matrices = []
        for turned in -STEP_BACK, 0.0, STEP_BACK:
            pair = [(model, placed(model, a, turned, False)) for model in (closed, folded)]
            matrices.append([inertia(model, data, rates(model, data, FREE)) for model, data in pair])
        mass = matrices[1][0]
        slope = (np.subtract(*matrices[2]) - np.subtract(*matrices[0])) / (2 * STEP_BACK)
        # |x' DM a| <= error sqrt(x' M x) sqrt(a' M a), and what goes with speeds by how DM changes with the joint.
        bound = given["error"] * np.sqrt(mass[-1, -1] * (own_acceleration @ mass @ own_acceleration))
        bound += abs(slope[-1] @ own_speed * own_speed[-1]) + 0.5 * abs(own_speed @ slope @ own_speed)
        # The loop is held by a constraint, which leaves the sites apart by some nanometres.
        off = abs(first - second)
        worst, used = max(worst, off), max(used, off / (bound + 2e-3))


def colliding(model, others):
    names = {others.body(i).name for i in range(others.nbody)}
    return sum(
        1 for g in range(model.ngeom)
        if (model.geom_contype[g] or model.geom_conaffinity[g]) and model.body(model.geom_bodyid[g]).name in names
    )


ends = [reading(closed, a, joint), reading(folded, b, joint)]
print(json.dumps({
    "warnings": said,
    "ends": ends,
    "apart_deg": float(np.degrees(abs(ends[0] - ends[1]))),
    "force": worst,
    "share_of_bound": used,
    "colliding": [colliding(closed, folded), colliding(folded, closed)],
}))
