"""What MuJoCo makes of MJCF files: reads a list of paths as JSON, prints bodies, joints, actuators and constraints.

Everything is in the world's frame with every joint at its drawn reading; masses and tensors in each body's own."""

import json
import sys

import mujoco
import numpy as np

mujoco.set_mju_user_warning(lambda message: None)


def six(t):
    return [t[0, 0], t[1, 1], t[2, 2], t[0, 1], t[0, 2], t[1, 2]]


def first(figures):
    return float(np.atleast_1d(figures)[0])


def turn(quaternion):
    matrix = np.zeros(9)
    mujoco.mju_quat2Mat(matrix, quaternion)
    return matrix.reshape(3, 3)


def body(model, data, b):
    frame = turn(model.body_iquat[b])
    return {
        "name": model.body(b).name,
        "pose": data.xpos[b].tolist() + data.xmat[b].tolist(),
        "mass": float(model.body_mass[b]),
        "center": model.body_ipos[b].tolist(),
        "tensor": six(frame @ np.diag(model.body_inertia[b]) @ frame.T),
    }


def limit(model, j):
    """Where the limits begin to act: its margin before each end that is one."""
    low, high = model.jnt_range[j]
    margin = model.jnt_margin[j]
    is_ball = model.jnt_type[j] == mujoco.mjtJoint.mjJNT_BALL
    return [low if is_ball else low + margin, high - margin]


def joint(model, data, j):
    dof, kind = model.jnt_dofadr[j], model.jnt_type[j]
    return {
        "name": model.joint(j).name,
        "kind": int(kind),
        "body": int(model.jnt_bodyid[j]),
        "anchor": data.xanchor[j].tolist(),
        "axis": data.xaxis[j].tolist(),
        "limit": limit(model, j) if model.jnt_limited[j] else None,
        "drawn_at": float(model.qpos0[model.jnt_qposadr[j]]) if kind >= 2 else 0.0,
        "effort": np.abs(model.jnt_actfrcrange[j]).min() if model.jnt_actfrclimited[j] else None,
        "damping": first(model.dof_damping[dof]),
        "friction": float(model.dof_frictionloss[dof]),
        "armature": float(model.dof_armature[dof]),
        "stiffness": first(model.jnt_stiffness[j]),
    }


def actuator(model, a):
    gain, bias = model.actuator_gainprm[a], model.actuator_biasprm[a]
    affine = model.actuator_gaintype[a] == 0 and model.actuator_biastype[a] == 1
    # a filter of the target (dyntype 2, 3) leaves the gains as they are
    direct = model.actuator_dyntype[a] in (0, 2, 3)
    servo = affine and gain[0] != 0 and bias[0] == 0 and bias[1] == -gain[0] and direct
    return {
        "name": model.actuator(a).name,
        "joint": int(model.actuator_trnid[a][0]),
        "gear": float(model.actuator_gear[a][0]),
        "force": model.actuator_forcerange[a].tolist() if model.actuator_forcelimited[a] else None,
        "control": model.actuator_ctrlrange[a].tolist() if model.actuator_ctrllimited[a] else None,
        "gains": [float(gain[0]), -float(bias[2])] if servo else None,
        "armature": first(model.actuator_armature[a]),
        "damping": first(model.actuator_damping[a]),
    }


def closure(model, data, e):
    by_sites = model.eq_objtype[e] == mujoco.mjtObj.mjOBJ_SITE
    ids = [int(model.eq_obj1id[e]), int(model.eq_obj2id[e])]
    found = {"weld": bool(model.eq_type[e] == 1), "sites": bool(by_sites), "active": bool(model.eq_active0[e])}
    figures = model.eq_data[e]
    if by_sites:
        found["links"] = [int(model.site_bodyid[i]) for i in ids]
        found["points"] = [data.site_xpos[i].tolist() for i in ids]
        return found
    place = lambda b, p: (data.xpos[b] + data.xmat[b].reshape(3, 3) @ p).tolist()
    found["links"] = ids
    if model.eq_type[e] == 0:
        found["points"] = [place(ids[0], figures[0:3]), place(ids[1], figures[3:6])]
    else:
        found["points"] = [place(ids[0], figures[3:6]), place(ids[1], figures[0:3])]
    return found


def coupling(model, e):
    return {
        "follower": int(model.eq_obj1id[e]),
        "leader": int(model.eq_obj2id[e]),
        "polynomial": model.eq_data[e][:5].tolist(),
        "active": bool(model.eq_active0[e]),
    }


def describe(path):
    try:
        model = mujoco.MjModel.from_xml_path(path)
    except ValueError as refusal:
        return {"refused": str(refusal)}
    data = mujoco.MjData(model)
    mujoco.mj_kinematics(model, data)
    mujoco.mj_comPos(model, data)
    drives = [a for a in range(model.nu) if model.actuator_trntype[a] in (0, 1)]
    return {
        "bodies": [body(model, data, b) for b in range(model.nbody)],
        "joints": [joint(model, data, j) for j in range(model.njnt)],
        "actuators": [actuator(model, a) for a in drives],
        "closures": [closure(model, data, e) for e in range(model.neq) if model.eq_type[e] in (0, 1)],
        "couplings": [coupling(model, e) for e in range(model.neq) if model.eq_type[e] == 2],
    }


json.dump([describe(path) for path in json.load(sys.stdin)], sys.stdout)
