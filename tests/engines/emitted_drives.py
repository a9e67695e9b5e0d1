"""Emitted models of drives with one joint as MuJoCo sees them: what the motor reads and its rate, at readings of the joint.

Input: a list of {xml, joint, reads: [..]}. The joint is held at each reading and every equality constraint brought to zero by
least-squares steps over the other coordinates, in small steps from the drawn pose. The motor's reading is the actuator's
length with the constant of its bias; `left` is what stays open of the loop.
"""

import json
import sys

import mujoco
import numpy as np


def residual(model, data):
    mujoco.mj_kinematics(model, data)
    mujoco.mj_comPos(model, data)
    mujoco.mj_tendon(model, data)
    mujoco.mj_makeConstraint(model, data)
    rows = np.array(data.efc_type) == mujoco.mjtConstraint.mjCNSTR_EQUALITY
    jacobian = np.array(data.efc_J).reshape(-1, model.nv)[: data.nefc][rows]
    return np.array(data.efc_pos)[rows], jacobian


def close(model, data, free):
    if model.neq == 0:
        return 0.0
    for _ in range(100):
        error, jacobian = residual(model, data)
        if np.abs(error).max() < 1e-15:
            break
        step = np.zeros(model.nv)
        step[free] = -np.linalg.lstsq(jacobian[:, free], error, rcond=1e-9)[0]
        mujoco.mj_integratePos(model, data.qpos, step, 1.0)
    return float(np.abs(residual(model, data)[0]).max())


def answer(one):
    model = mujoco.MjModel.from_xml_string(one["xml"])
    model.opt.jacobian = mujoco.mjtJacobian.mjJAC_DENSE
    data = mujoco.MjData(model)
    joint = model.joint(one["joint"])
    at, held = int(joint.qposadr[0]), int(joint.dofadr[0])
    free = [dof for dof in range(model.nv) if dof != held]
    start = float(data.qpos[at])
    # position = kp (target - length - shift): the constant of the bias is -kp shift
    kp = float(model.actuator_gainprm[0][0])
    shift = -float(model.actuator_biasprm[0][0]) / kp
    poses = []
    for reads in one["reads"]:
        mujoco.mj_resetData(model, data)
        for share in np.linspace(0.0, 1.0, 11):
            data.qpos[at] = start + share * (reads - start)
            left = close(model, data, free)
        mujoco.mj_forward(model, data)
        mujoco.mj_transmission(model, data)
        row = np.zeros((model.nu, model.nv))
        mujoco.mju_sparse2dense(row, data.actuator_moment, data.moment_rownnz, data.moment_rowadr, data.moment_colind)
        rate = np.zeros(model.nv)
        rate[held] = 1.0
        if model.neq:
            jacobian = residual(model, data)[1]
            rate[free] = -np.linalg.lstsq(jacobian[:, free], jacobian[:, held], rcond=1e-9)[0]
        mass = np.zeros((model.nv, model.nv))
        mujoco.mj_fullM(model, data, mass)
        poses.append(
            {
                "motor": float(data.actuator_length[0]) + shift,
                "rate": float(row[0] @ rate),
                "left": left,
                "inertia": float(rate @ mass @ rate),
            }
        )
    return poses


if __name__ == "__main__":
    json.dump([answer(one) for one in json.load(sys.stdin)], sys.stdout)
