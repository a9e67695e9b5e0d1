"""Emitted models of two joints as MuJoCo sees them, as Pinocchio sees the same in URDF and Drake in SDFormat.

Input: a list of {xml, urdf, sdf, joints: [pitch, roll], actuators: [2], balls: [[body, site], ..], poses}. Both joints are held at each
pose and every equality brought to zero by least-squares steps over the other coordinates, in small steps from the drawn pose; a
body on a ball does not spin about its line to its site.

Answer for each pose: what both motors read (the actuators' lengths with the constants of their biases), their rates by pitch and
roll, the mass matrix of both joints, what stays open of the loops, and the mass matrices of the URDF and of the SDFormat file.
"""

import json
import sys

import mujoco
import numpy as np
import pinocchio as pin
from emitted_drives import close, residual
from pydrake.multibody.parsing import Parser
from pydrake.multibody.plant import MultibodyPlant


def spins(model, data, balls):
    rows = []
    for body, site in balls:
        turning = np.zeros((3, model.nv))
        mujoco.mj_jacBody(model, data, None, turning, model.body(body).id)
        along = data.site(site).xpos - data.body(body).xpos
        rows.append(along / np.linalg.norm(along) @ turning)
    return rows


def in_mujoco(one):
    model = mujoco.MjModel.from_xml_string(one["xml"])
    model.opt.jacobian = mujoco.mjtJacobian.mjJAC_DENSE
    data = mujoco.MjData(model)
    joints = [model.joint(name) for name in one["joints"]]
    at, held = [int(j.qposadr[0]) for j in joints], [int(j.dofadr[0]) for j in joints]
    free = [dof for dof in range(model.nv) if dof not in held]
    start = [float(data.qpos[k]) for k in at]
    drives = [model.actuator(name).id for name in one["actuators"]]
    poses = []
    for pose in one["poses"]:
        mujoco.mj_resetData(model, data)
        for share in np.linspace(0.0, 1.0, 21):
            for k, zero, reads in zip(at, start, pose):
                data.qpos[k] = zero + share * (reads - zero)
            left = close(model, data, free)
        mujoco.mj_forward(model, data)
        mujoco.mj_transmission(model, data)
        moments = np.zeros((model.nu, model.nv))
        mujoco.mju_sparse2dense(moments, data.actuator_moment, data.moment_rownnz, data.moment_rowadr, data.moment_colind)
        speeds = np.zeros((model.nv, 2))
        for column, dof in enumerate(held):
            speeds[dof, column] = 1.0
            if free:
                rows = np.vstack([residual(model, data)[1], *spins(model, data, one["balls"])])
                speeds[free, column] = np.linalg.lstsq(rows[:, free], -rows[:, dof], rcond=1e-12)[0]
        whole = np.zeros((model.nv, model.nv))
        mujoco.mj_forward(model, data)
        mujoco.mj_fullM(model, data, whole)
        # position = kp (target - length - shift): the constant of the bias is -kp shift
        shift = [-model.actuator_biasprm[k][0] / model.actuator_gainprm[k][0] for k in drives]
        poses.append(
            {
                "motors": [float(data.actuator_length[k] + s) for k, s in zip(drives, shift)],
                "rates": (moments @ speeds)[drives].tolist(),
                "mass": (speeds.T @ whole @ speeds).tolist(),
                "force": [float(model.actuator_forcerange[k][1]) for k in drives],
                "left": left,
            }
        )
    return poses


def in_drake(text, joints, poses):
    plant = MultibodyPlant(0.0)
    Parser(plant).AddModelsFromString(text, "sdf")
    plant.Finalize()
    context = plant.CreateDefaultContext()
    hinges = [plant.GetJointByName(name) for name in joints]
    order = [hinge.velocity_start() for hinge in hinges]
    for pose in poses:
        for hinge, reads in zip(hinges, pose):
            hinge.set_angle(context, reads)
        yield plant.CalcMassMatrixViaInverseDynamics(context)[np.ix_(order, order)].tolist()


def answer(one):
    poses = in_mujoco(one)
    if one["urdf"]:
        model = pin.buildModelFromXML(one["urdf"])
        data = model.createData()
        for pose, found in zip(one["poses"], poses):
            mass = pin.crba(model, data, np.array(pose))
            found["urdf"] = (np.triu(mass) + np.triu(mass, 1).T).tolist()
        for found, mass in zip(poses, in_drake(one["sdf"], one["joints"], one["poses"])):
            found["sdf"] = mass
    return poses


json.dump([answer(one) for one in json.load(sys.stdin)], sys.stdout)
