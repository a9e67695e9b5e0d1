"""A URDF robot with its loop held closed, beside the folded one: reads {"closed", "folded": URDF, "pin": {"links": two
names, "at": the pin in the first link's frame, drawn}, "motor", "rod", "joint": names, "armature": at the joint,
"poses": [{name: reading}]} and prints, over the poses, how many joints each has, the masses, the largest difference of
mass centre and of gravity torque, and the largest |eig(M^-1 dM)| with M the closed robot's mass matrix.

The loop is closed by Newton's method on the distance of the two pins and its rates follow from their Jacobians; nothing of
the linkage's own formulas is used."""

import json
import sys

import mujoco
import numpy as np
import pinocchio as pin

given = json.load(sys.stdin)


def model(text):
    return pin.buildModelFromXML(text, pin.JointModelFreeFlyer())


closed, folded = model(given["closed"]), model(given["folded"])
data, other = closed.createData(), folded.createData()
motor, rod, joint = (given[key] for key in ("motor", "rod", "joint"))

# The pin in both links' frames, from the drawn pose.
first, second = (closed.getFrameId(name) for name in given["pin"]["links"])
zero = pin.neutral(closed)
pin.framesForwardKinematics(closed, data, zero)
on_first = np.array(given["pin"]["at"])
on_second = data.oMf[second].actInv(data.oMf[first].act(on_first))


def q_at(model, readings):
    q = pin.neutral(model)
    for name, reading in readings.items():
        if model.existJointName(name):
            q[model.idx_qs[model.getJointId(name)]] = reading
    return q


def column(model, name):
    return model.idx_vs[model.getJointId(name)]


def point_rates(q, frame, at):
    full = pin.computeFrameJacobian(closed, data, q, frame, pin.LOCAL_WORLD_ALIGNED)
    arm = data.oMf[frame].rotation @ at
    return full[:3] - pin.skew(arm) @ full[3:]


def gap(q):
    pin.framesForwardKinematics(closed, data, q)
    apart = data.oMf[first].act(on_first) - data.oMf[second].act(on_second)
    return apart, point_rates(q, first, on_first) - point_rates(q, second, on_second)


def close(q):
    moved = [column(closed, motor), column(closed, rod)]
    for _ in range(50):
        apart, rates = gap(q)
        step = np.linalg.lstsq(rates[:, moved], -apart, rcond=None)[0]
        v = np.zeros(closed.nv)
        v[moved] = step
        q = pin.integrate(closed, q, v)
        if np.abs(step).max() < 1e-14:
            break
    apart, rates = gap(q)
    assert np.abs(apart).max() < 1e-12, apart
    slopes = np.linalg.lstsq(rates[:, moved], -rates[:, column(closed, joint)], rcond=None)[0]
    return q, dict(zip(moved, slopes))


def allowed(slopes):
    """Columns: the closed robot's rates for each rate of the folded one."""
    matrix = np.zeros((closed.nv, folded.nv))
    matrix[:6, :6] = np.eye(6)
    for name in list(folded.names)[2:]:
        matrix[column(closed, name), column(folded, name)] = 1.0
    for row, slope in slopes.items():
        matrix[row, column(folded, joint)] = slope
    return matrix


def symmetric(m):
    return np.triu(m) + np.triu(m, 1).T


worst = {"centre": 0.0, "gravity": 0.0, "energy": 0.0}
for readings in given["poses"]:
    q, slopes = close(q_at(closed, readings))
    p = q_at(folded, readings)
    base = pin.SE3(pin.utils.rotate("x", 0.4) @ pin.utils.rotate("y", -0.7), np.array([0.1, -0.2, 0.3]))
    q[:7] = p[:7] = pin.SE3ToXYZQUAT(base)
    away = pin.centerOfMass(closed, data, q) - pin.centerOfMass(folded, other, p)
    worst["centre"] = max(worst["centre"], float(np.abs(away).max()))
    g = allowed(slopes)
    torque = g.T @ pin.computeGeneralizedGravity(closed, data, q) - pin.computeGeneralizedGravity(folded, other, p)
    worst["gravity"] = max(worst["gravity"], float(np.abs(torque).max()))
    m = g.T @ symmetric(pin.crba(closed, data, q)) @ g
    n = symmetric(pin.crba(folded, other, p))
    n[column(folded, joint), column(folded, joint)] += given["armature"]
    worst["energy"] = max(worst["energy"], float(np.abs(np.linalg.eigvals(np.linalg.solve(m, n - m))).max()))

engine = mujoco.MjModel.from_xml_string(given["folded"].replace("<robot name=\"leg\">", "<robot name=\"leg\"><mujoco><compiler fusestatic=\"false\"/></mujoco>"))
print(json.dumps({
    "joints": [closed.njoints - 2, folded.njoints - 2],
    "mass": [pin.computeTotalMass(closed), pin.computeTotalMass(folded)],
    "other_engine": {"joints": engine.njnt, "names": [engine.joint(j).name for j in range(engine.njnt)]},
    **worst,
}))
