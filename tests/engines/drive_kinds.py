"""Drives as closed loops in MuJoCo, projected on their pins: motor angles, travels and rates at given joint turns.

Input: a list of {joints: [{point, axis}], rods: [..], poses: [[turn, ..], ..]}, everything in metres in the zero pose. The driven
body hangs on one hinge, or on two that follow each other (the second is carried by the first). A rod is

    {kind: crank, point, axis, pin, foot}        crank hinge, rod with a ball at the pin, its other end held at the foot
    {kind: slide, direction, pin, foot}          nut on a guide, rod with a ball at the nut
    {kind: actuator, pin, foot}                  housing on a ball at the pin, nut sliding in it towards the foot

Answer for each pose: the position of every input (rad; m of travel), its rates by each joint, and what is left of the loop.
The engine's own kinematics, constraints and Jacobian alone are used: nothing of the closed forms is here.
"""

import json
import sys

import mujoco
import numpy as np

SMALL = '<inertial pos="0 0 0" mass="1" diaginertia="1 1 1"/>'


def text(vector):
    return " ".join(repr(float(x)) for x in vector)


def rod_bodies(k, rod):
    """The bodies of a rod; its far end carries the site `end{k}`."""
    pin, foot = np.array(rod["pin"]), np.array(rod["foot"])
    if rod["kind"] == "actuator":
        along = (foot - pin) / np.linalg.norm(foot - pin)
        return f"""<body pos="{text(pin)}">{SMALL}<joint type="ball"/>
          <body pos="0 0 0">{SMALL}<joint name="input{k}" type="slide" axis="{text(along)}"/>
            <site name="end{k}" pos="{text(foot - pin)}"/></body></body>"""
    if rod["kind"] == "slide":
        hinge = f'<joint name="input{k}" type="slide" axis="{text(rod["direction"])}"/>'
        origin = pin
    else:
        origin = np.array(rod["point"])
        hinge = f'<joint name="input{k}" type="hinge" axis="{text(rod["axis"])}"/>'
    return f"""<body pos="{text(origin)}">{SMALL}{hinge}
      <body pos="{text(pin - origin)}">{SMALL}<joint type="ball"/>
        <site name="end{k}" pos="{text(foot - pin)}"/></body></body>"""


def driven_bodies(joints, rods):
    inner = "".join(
        f'<site name="foot{k}" pos="{text(np.array(rod["foot"]) - joints[-1]["point"])}"/>' for k, rod in enumerate(rods)
    )
    for n in reversed(range(len(joints))):
        before = joints[n - 1]["point"] if n else [0, 0, 0]
        offset = np.array(joints[n]["point"]) - before
        hinge = f'<joint name="joint{n}" type="hinge" axis="{text(joints[n]["axis"])}"/>'
        inner = f'<body pos="{text(offset)}">{SMALL}{hinge}{inner}</body>'
    return inner


def model(drive):
    rods = drive["rods"]
    bodies = driven_bodies(drive["joints"], rods) + "".join(rod_bodies(k, rod) for k, rod in enumerate(rods))
    loops = "".join(f'<connect site1="end{k}" site2="foot{k}"/>' for k in range(len(rods)))
    return mujoco.MjModel.from_xml_string(
        f'<mujoco><compiler angle="radian"/><option jacobian="dense"/><worldbody>{bodies}</worldbody>'
        f"<equality>{loops}</equality></mujoco>"
    )


def residual(model, data):
    mujoco.mj_kinematics(model, data)
    mujoco.mj_comPos(model, data)
    mujoco.mj_makeConstraint(model, data)
    return np.array(data.efc_pos), np.array(data.efc_J).reshape(-1, model.nv)


def close(model, data, free):
    for _ in range(100):
        error, jacobian = residual(model, data)
        step = np.zeros(model.nv)
        step[free] = -np.linalg.lstsq(jacobian[:, free], error, rcond=1e-10)[0]
        mujoco.mj_integratePos(model, data.qpos, step, 1.0)
        if np.abs(step).max() < 1e-15:
            break
    return residual(model, data)


def answer(drive):
    built = model(drive)
    data = mujoco.MjData(built)
    joints = [built.joint(f"joint{n}") for n in range(len(drive["joints"]))]
    inputs = [built.joint(f"input{k}") for k in range(len(drive["rods"]))]
    held = [int(joint.dofadr[0]) for joint in joints]
    free = [dof for dof in range(built.nv) if dof not in held]
    found = []
    for pose in drive["poses"]:
        mujoco.mj_resetData(built, data)
        # in small steps from the drawn pose, so that the assembly stays
        for share in np.linspace(0.0, 1.0, 41):
            for joint, turn in zip(joints, pose):
                data.qpos[joint.qposadr[0]] = share * turn
            error, jacobian = close(built, data, free)
        rates = []
        for dof in held:
            others = np.linalg.lstsq(jacobian[:, free], -jacobian[:, dof], rcond=1e-10)[0]
            speed = np.zeros(built.nv)
            speed[free] = others
            rates.append([float(speed[int(one.dofadr[0])]) for one in inputs])
        places = [float(data.qpos[one.qposadr[0]]) for one in inputs]
        found.append({"inputs": places, "rates": rates, "left": float(np.abs(error).max())})
    return found


json.dump([answer(drive) for drive in json.load(sys.stdin)], sys.stdout)
