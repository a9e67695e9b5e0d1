"""An MJCF robot with its loop held closed, beside the folded one, in MuJoCo: reads {"closed", "folded": MJCF, "sites": the
two that the closure holds together, "motor", "rod" (one or several), "joint": names of joints, "poses": [{name: reading}]} and prints, over
the poses, the masses, the largest difference of mass centre and gravity torque, the largest |eig(M^-1 dM)| with M the closed
robot's mass matrix, and the largest difference of what each actuator does for a signal of 1, all on the folded robot's rates;
beside these the motor's readings, the folded robot's tendon lengths, and the rates of motor and rod per rate of the joint.

The rod may hang on a ball: then it turns about its own line as little as it can. The loop is closed by Newton's method on the sites' distance; nothing of the linkage's own formulas is used."""

import json
import sys

import mujoco
import numpy as np

given = json.load(sys.stdin)
closed, folded = (mujoco.MjModel.from_xml_string(given[key]) for key in ("closed", "folded"))
motor, joint = given["motor"], given["joint"]
rods = given["rod"] if isinstance(given["rod"], list) else [given["rod"]]


def joints(model):
    return [model.joint(j).name for j in range(model.njnt)]


def dofs(model, name):
    j = model.joint(name).id
    width = {0: 6, 1: 3, 2: 1, 3: 1}[int(model.jnt_type[j])]
    return list(range(model.jnt_dofadr[j], model.jnt_dofadr[j] + width))


def at(model, readings):
    data = mujoco.MjData(model)
    for name, reading in readings.items():
        if name in joints(model):
            data.qpos[model.jnt_qposadr[model.joint(name).id]] = reading
    data.qpos[:7] = [0.1, -0.2, 0.8, *(np.array([0.8, 0.3, -0.4, 0.2]) / np.linalg.norm([0.8, 0.3, -0.4, 0.2]))]
    return data


def gap(data):
    mujoco.mj_forward(closed, data)
    sites = [closed.site(name).id for name in given["sites"]]
    rates = []
    for site in sites:
        jacobian = np.zeros((3, closed.nv))
        mujoco.mj_jacSite(closed, data, jacobian, None, site)
        rates.append(jacobian)
    return data.site_xpos[sites[0]] - data.site_xpos[sites[1]], rates[0] - rates[1]


def close(data):
    moved = dofs(closed, motor) + [dof for rod in rods for dof in dofs(closed, rod)]
    for _ in range(60):
        apart, rates = gap(data)
        step = np.zeros(closed.nv)
        step[moved] = np.linalg.lstsq(rates[:, moved], -apart, rcond=1e-12)[0]
        mujoco.mj_integratePos(closed, data.qpos, step, 1.0)
    apart, rates = gap(data)
    assert np.abs(apart).max() < 1e-12, apart
    return dict(zip(moved, np.linalg.lstsq(rates[:, moved], -rates[:, dofs(closed, joint)[0]], rcond=1e-12)[0]))


# The robot's free rates: of every joint of the folded robot that follows no other.
free = [name for name in joints(folded) if name not in (motor, *rods)]


def allowed(model, slopes):
    """Columns: the model's rates for each free one; what follows the joint has its slope."""
    rows, column, columns = {}, 0, {}
    for name in free:
        for dof in dofs(model, name):
            rows[dof], column = column, column + 1
        columns[name] = column - 1
    matrix = np.zeros((model.nv, column))
    for dof, k in rows.items():
        matrix[dof, k] = 1.0
    for name, each in slopes.items():
        if name in joints(model):
            matrix[dofs(model, name), columns[joint]] = each
    return matrix


def mass_matrix(model, data):
    full = np.zeros((model.nv, model.nv))
    mujoco.mj_fullM(model, data, full)
    return full


def moments(model, data):
    dense = np.zeros((model.nu, model.nv))
    mujoco.mju_sparse2dense(dense, data.actuator_moment, data.moment_rownnz, data.moment_rowadr, data.moment_colind)
    return dense


along = {"reads": [], "lengths": [], "rates": []}
worst = {"centre": 0.0, "gravity": 0.0, "energy": 0.0, "drive": 0.0}
for readings in given["poses"]:
    data = at(closed, readings)
    by_dof = close(data)
    slopes = {name: [by_dof[dof] for dof in dofs(closed, name)] for name in (motor, *rods)}
    followed = dict(readings)
    for name in (motor, *rods):
        followed[name] = float(data.qpos[closed.jnt_qposadr[closed.joint(name).id]])
    other = at(folded, followed)
    mujoco.mj_forward(folded, other)
    along["reads"].append(followed[motor])
    along["lengths"].append([float(x) for x in other.ten_length])
    along["rates"].append({name: [float(x) for x in slopes[name]] for name in (motor, *rods)})
    g, h = allowed(closed, slopes), allowed(folded, slopes)
    worst["centre"] = max(worst["centre"], float(np.abs(data.subtree_com[0] - other.subtree_com[0]).max()))
    torque = g.T @ data.qfrc_bias - h.T @ other.qfrc_bias
    worst["gravity"] = max(worst["gravity"], float(np.abs(torque).max()))
    m, n = g.T @ mass_matrix(closed, data) @ g, h.T @ mass_matrix(folded, other) @ h
    worst["energy"] = max(worst["energy"], float(np.abs(np.linalg.eigvals(np.linalg.solve(m, n - m))).max()))
    drive = moments(closed, data) @ g - moments(folded, other) @ h
    worst["drive"] = max(worst["drive"], float(np.abs(drive).max()))

print(json.dumps({
    "joints": [joints(closed), joints(folded)],
    "mass": [float(model.body_subtreemass[0]) for model in (closed, folded)],
    "constraints": [closed.neq, folded.neq],
    "keys": [model.nkey for model in (closed, folded)],
    **worst,
    **along,
}))
