"""The same control before and after a fold, in MuJoCo: reads {"closed", "folded": MJCF, "motor", "rod", "joint": names of
joints, "control": [a number for each actuator], "seconds", "error": the fold's figure of kinetic energy} and prints where
the joint stands at the end in each, how far the two end apart, the largest difference of generalised force at the joint in
200 states of the closed loop's motion with the largest share of the bound it takes, and the geoms that collide on bodies
that both have.

The forces are those of inverse dynamics (mj_inverse) on the rates that the closed loop allows: a parallelogram's slopes are
constant, so that they are read off the constraint itself. The bound: |x'DM a| <= e sqrt(x'Mx) sqrt(a'Ma) for DM within e M,
with half of DM's own change along the joint for what goes with speed."""

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


def slopes(data):
    """Rates of motor and rod for rate 1 of the joint, from the two sites that the loop holds together."""
    ends = []
    for site in closed.eq_obj1id[0], closed.eq_obj2id[0]:
        jacobian = np.zeros((3, closed.nv))
        mujoco.mj_jacSite(closed, data, jacobian, None, site)
        ends.append(jacobian)
    rates = ends[0] - ends[1]
    moved = [dof(closed, given["motor"]), dof(closed, given["rod"])]
    found = np.linalg.lstsq(rates[:, moved], -rates[:, dof(closed, given["joint"])], rcond=None)[0]
    column = np.zeros(closed.nv)
    column[moved] = found
    column[dof(closed, given["joint"])] = 1.0
    return column


def force(model, data, column, rates, acceleration):
    data.qvel[:] = rates
    mujoco.mj_forward(model, data)
    full = np.zeros((model.nv, model.nv))
    mujoco.mj_fullM(model, data, full)
    needed = full @ acceleration + data.qfrc_bias - data.qfrc_spring - data.qfrc_damper - data.qfrc_actuator
    return float(column @ needed), float(column @ full @ column)


a, b = start(closed), start(folded)
joint = given["joint"]
steps = round(given["seconds"] / STEP)
worst, used = 0.0, 0.0
for k in range(steps):
    mujoco.mj_step(closed, a)
    mujoco.mj_step(folded, b)
    if k % max(steps // 200, 1) == 0:
        speed, acceleration = float(a.qvel[dof(closed, joint)]), float(a.qacc[dof(closed, joint)])
        still, tree = mujoco.MjData(closed), mujoco.MjData(folded)
        still.qpos[:], still.ctrl[:], tree.ctrl[:] = a.qpos, given["control"], given["control"]
        mujoco.mj_forward(closed, still)
        column = slopes(still)
        tree.qpos[folded.jnt_qposadr[folded.joint(joint).id]] = reading(closed, a, joint)
        own = np.zeros(folded.nv)
        own[dof(folded, joint)] = 1.0
        first, inertia = force(closed, still, column, column * speed, column * acceleration)
        second, other = force(folded, tree, own, own * speed, own * acceleration)
        # The loop is held by a constraint, which leaves the sites apart by some nanometres.
        bound = given["error"] * inertia * (abs(acceleration) + speed**2) + 2e-3
        worst, used = max(worst, abs(first - second)), max(used, abs(first - second) / bound)


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
