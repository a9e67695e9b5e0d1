"""A gripper of a model grips a block in MuJoCo.

Input: {"models": [text, ...], "driver": joint, "torque": N m, "half": half width of the block in m, "at": its height,
"pads": [geom, geom], "fingers": [body, body], "poses": [reading, ...]}. The block slides along x alone. Of each model: the
driver's reading, the normal force on each pad and each finger's turn when all is still; and without the block, at each
reading of the driver held by a stiff servo, the distance of the pads' facing sides and each finger's turn.
"""

import json
import sys

import mujoco
import numpy as np


def with_block(text, half, at):
    spec = mujoco.MjSpec.from_string(text)
    if half:
        block = spec.worldbody.add_body(name="block", pos=[0.0, 0.0, at])
        block.add_joint(type=mujoco.mjtJoint.mjJNT_SLIDE, axis=[1, 0, 0], damping=0.2)
        block.add_geom(
            name="block", type=mujoco.mjtGeom.mjGEOM_BOX, size=[half, 0.02, 0.03], mass=0.05,
            solref=[0.002, 1], solimp=[0.999, 0.9999, 0.0001, 0.5, 2],
        )
    return spec.compile()


def turn(data, body):
    x = data.body(body).xmat.reshape(3, 3)[:, 0]
    return float(np.arctan2(-x[2], x[0]))


def forces(model, data, pads):
    found = dict.fromkeys(pads, 0.0)
    for k, contact in enumerate(data.contact[: data.ncon]):
        names = [model.geom(g).name for g in (contact.geom1, contact.geom2)]
        force = np.zeros(6)
        mujoco.mj_contactForce(model, data, k, force)
        if "block" in names:
            for name in names:
                if name in found:
                    found[name] += float(force[0])
    return [found[name] for name in pads]


def gripping(text, asked):
    model = with_block(text, asked["half"], asked["at"])
    data = mujoco.MjData(model)
    data.ctrl[0] = asked["torque"]
    for _ in range(int(3.0 / model.opt.timestep)):
        mujoco.mj_step(model, data)
    return {
        "joints": model.nv,
        "reads": float(data.joint(asked["driver"]).qpos[0]),
        "speed": float(np.abs(data.qvel).max()),
        "forces": forces(model, data, asked["pads"]),
        "turns": [turn(data, body) for body in asked["fingers"]],
    }


def posed(text, asked):
    model = with_block(text, None, None)
    found = []
    for wanted in asked["poses"]:
        data = mujoco.MjData(model)
        for _ in range(int(2.0 / model.opt.timestep)):
            joint = data.joint(asked["driver"])
            servo = 40.0 * (wanted - joint.qpos[0]) - 0.4 * joint.qvel[0]
            joint.qfrc_applied[0] = servo + asked["spring"] * wanted
            mujoco.mj_step(model, data)
        right, left = (data.geom(pad).xpos[0] for pad in asked["pads"])
        half = model.geom(asked["pads"][0]).size[0]
        found.append({
            "reads": float(data.joint(asked["driver"]).qpos[0]),
            "opening": float(right - left - 2 * half),
            "turns": [turn(data, body) for body in asked["fingers"]],
        })
    return found


asked = json.load(sys.stdin)
json.dump(
    [{**gripping(text, asked), "poses": posed(text, asked)} for text in asked["models"]],
    sys.stdout,
)
