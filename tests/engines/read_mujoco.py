"""What MuJoCo makes of a file: reads a list of requests as JSON, prints what each joint became."""

import json
import sys

import mujoco
import numpy as np


def warned(message):
    print("warning:", message, file=sys.stderr)


mujoco.set_mju_user_warning(warned)


def six(t):
    return [t[0, 0], t[1, 1], t[2, 2], t[0, 1], t[0, 2], t[1, 2]]


def servo(model, data, joint, actuator, request):
    """Joint torque at the given control signals, at the given reading and speed."""
    dof = model.jnt_dofadr[joint]
    torques = []
    for case in request.get("drive", []):
        data.qpos[model.jnt_qposadr[joint]] = case["reading"]
        data.qvel[:] = 0.0
        data.qvel[dof] = case["speed"]
        data.ctrl[:] = 0.0
        data.ctrl[actuator] = case["control"]
        mujoco.mj_forward(model, data)
        torques.append(float(data.qfrc_actuator[dof]))
    return torques


def joint(model, data, request):
    j = mujoco.mj_name2id(model, mujoco.mjtObj.mjOBJ_JOINT, request["joint"])
    body, dof = model.jnt_bodyid[j], model.jnt_dofadr[j]
    data.qpos[:] = 0.0
    data.qvel[:] = 0.0
    data.qpos[model.jnt_qposadr[j]] = request["reading"]
    mujoco.mj_forward(model, data)
    frame = data.ximat[body].reshape(3, 3)
    found = {
        "child": mujoco.mj_id2name(model, mujoco.mjtObj.mjOBJ_BODY, body),
        "axis": data.xaxis[j].tolist(),
        "origin": data.xanchor[j].tolist(),
        "limited": bool(model.jnt_limited[j]),
        "limit": model.jnt_range[j].tolist(),
        "damping": float(np.atleast_1d(model.dof_damping[dof])[0]),
        "friction": float(model.dof_frictionloss[dof]),
        "armature": float(model.dof_armature[dof]),
        "rotation": data.xmat[body].tolist(),
        "center": data.xipos[body].tolist(),
        "tensor": six(frame @ np.diag(model.body_inertia[body]) @ frame.T),
        "mass": float(model.body_mass[body]),
    }
    if model.jnt_actfrclimited[j]:
        found["effort"] = float(model.jnt_actfrcrange[j][1])
    a = mujoco.mj_name2id(model, mujoco.mjtObj.mjOBJ_ACTUATOR, request["joint"])
    if a >= 0:
        gear = float(model.actuator_gear[a][0])
        found["gear"] = gear
        if model.actuator_forcelimited[a]:
            found["effort"] = float(model.actuator_forcerange[a][1]) * abs(gear)
        if model.actuator_ctrllimited[a]:
            found["control"] = model.actuator_ctrlrange[a].tolist()
        found["torques"] = servo(model, data, j, a, request)
    return found


answers = []
for request in json.load(sys.stdin):
    model = mujoco.MjModel.from_xml_path(request["file"])
    data = mujoco.MjData(model)
    answers.append([joint(model, data, each) for each in request["joints"]])
json.dump(answers, sys.stdout)
