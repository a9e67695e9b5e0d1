"""A gripper whose fingers hung on their rockers, beside its fold, in MuJoCo.

Input: {"closed": path, "folded": text, "lead": joint, "servo": actuator, "poses": [reading, ...], "pads": [geom, geom],
"held": [joint, ...], "grip": [signal, half width of a block in m], "contype": what the block touches}. Meshes are left out,
the joints "held" with their actuators too, so that the palm stands. Given back are of both files the number of coordinates
and the mass; the largest differences of place (m) and axes of named bodies, geoms and sites in the drawn pose, in the
keyframes and over the poses, in which the loops, and the followers, are brought to zero by Gauss-Newton; how far friction,
size and contact of named geoms differ; and the force on each pad, N, once the servo has closed them on a block that slides
from the one to the other.
"""

import json
import os
import sys
import tempfile

import mujoco
import numpy as np


def stripped(spec, held):
    for geom in list(spec.geoms):
        if geom.type == mujoco.mjtGeom.mjGEOM_MESH or geom.meshname:
            spec.delete(geom)
    for name in ("meshes", "materials", "textures", "hfields", "skins"):
        for asset in list(getattr(spec, name)):
            spec.delete(asset)
    for geom in spec.geoms:
        geom.material = ""
    for site in spec.sites:
        site.material = ""
    for actuator in list(spec.actuators):
        if actuator.target in held:
            spec.delete(actuator)
    for joint in list(spec.joints):
        if joint.name in held:
            spec.delete(joint)
    for key in list(spec.keys) if held else []:
        spec.delete(key)
    spec.compiler.boundmass = 1e-6
    spec.compiler.boundinertia = 1e-9
    return spec


def named(model, data):
    found = {}
    for kind, count in (("body", model.nbody), ("geom", model.ngeom), ("site", model.nsite)):
        of = getattr(data, kind)
        for k in range(count):
            one = of(k)
            if one.name:
                found[kind, one.name] = np.concatenate([one.xpos, one.xmat])
    return found


def apart(one, other):
    shared = [key for key in other if key in one]
    off = np.array([np.abs(one[key] - other[key]) for key in shared])
    return {"of": len(shared), "place": float(off[:, :3].max()), "axes": float(off[:, 3:].max())}


def residual(model, data):
    mujoco.mj_kinematics(model, data)
    mujoco.mj_comPos(model, data)
    mujoco.mj_makeConstraint(model, data)
    rows = np.array(data.efc_type) == mujoco.mjtConstraint.mjCNSTR_EQUALITY
    jacobian = np.array(data.efc_J).reshape(-1, model.nv)[: data.nefc][rows]
    return np.array(data.efc_pos)[rows], jacobian


def posed(model, lead, reading):
    model.opt.jacobian = mujoco.mjtJacobian.mjJAC_DENSE
    data = mujoco.MjData(model)
    joint = model.joint(lead)
    start, held = float(data.qpos[joint.qposadr[0]]), int(joint.dofadr[0])
    free = [dof for dof in range(model.nv) if dof != held]
    for share in np.linspace(0.0, 1.0, 21):
        data.qpos[joint.qposadr[0]] = start + share * (reading - start)
        for _ in range(200):
            error, jacobian = residual(model, data)
            if np.abs(error).max() < 1e-13:
                break
            step = np.zeros(model.nv)
            step[free] = -np.linalg.lstsq(jacobian[:, free], error, rcond=1e-9)[0]
            mujoco.mj_integratePos(model, data.qpos, step, 1.0)
    mujoco.mj_kinematics(model, data)
    return named(model, data), float(np.abs(error).max())


def force(spec, asked, signal, half):
    model = spec.compile()
    data = mujoco.MjData(model)
    mujoco.mj_forward(model, data)
    pads = [np.array(data.geom(name).xpos) for name in asked["pads"]]
    way = (pads[1] - pads[0]) / np.linalg.norm(pads[1] - pads[0])
    other = np.cross(way, np.eye(3)[np.argmin(np.abs(way))])
    axes = np.column_stack([way, other, np.cross(way, other)])
    quat = np.zeros(4)
    mujoco.mju_mat2Quat(quat, axes.flatten())
    block = spec.worldbody.add_body(name="block", pos=0.5 * (pads[0] + pads[1]), quat=quat)
    block.add_joint(type=mujoco.mjtJoint.mjJNT_SLIDE, axis=[1, 0, 0], damping=0.2)
    block.add_geom(
        name="block", type=mujoco.mjtGeom.mjGEOM_BOX, size=[half, 0.02, 0.02], mass=0.05, contype=asked["contype"], conaffinity=0,
        solref=[0.002, 1], solimp=[0.999, 0.9999, 0.0001, 0.5, 2], priority=1,
    )
    model = spec.compile()
    data = mujoco.MjData(model)
    servo = model.actuator(asked["servo"]).id
    for _ in range(int(4.0 / model.opt.timestep)):
        data.ctrl[servo] = signal
        mujoco.mj_step(model, data)
    found = {}
    for k, contact in enumerate(data.contact[: data.ncon]):
        names = [model.geom(g).name for g in (contact.geom1, contact.geom2)]
        pushed = np.zeros(6)
        mujoco.mj_contactForce(model, data, k, pushed)
        if "block" in names:
            names.remove("block")
            found[names[0]] = found.get(names[0], 0.0) + float(pushed[0])
    reads = float(data.joint(asked["lead"]).qpos[0])
    return {"on": found, "reads": reads, "speed": float(np.abs(data.qvel).max())}


def in_keys(model):
    found = []
    for key in range(model.nkey):
        data = mujoco.MjData(model)
        mujoco.mj_resetDataKeyframe(model, data, key)
        error, jacobian = residual(model, data)
        rates = jacobian @ data.qvel
        found.append((named(model, data), float(np.abs(error).max()), float(np.abs(rates).max())))
    return found


def touch(model):
    kept = {}
    for k in range(model.ngeom):
        geom = model.geom(k)
        if geom.name:
            own = [geom.friction, geom.size, geom.contype, geom.conaffinity, geom.solref, geom.solimp]
            kept[geom.name] = np.concatenate([np.ravel(x) for x in own])
    return kept


def loaded(text, folder):
    path = os.path.join(folder, "model.xml")
    with open(path, "w") as file:
        file.write(text)
    return mujoco.MjSpec.from_file(path)


def answer(asked):
    with open(asked["closed"]) as file:
        texts = [file.read(), asked["folded"]]
    with tempfile.TemporaryDirectory() as folder:
        spec = lambda text: stripped(loaded(text, folder), asked["held"])
        models = [spec(text).compile() for text in texts]
        keys = [in_keys(stripped(loaded(text, folder), []).compile()) for text in texts]
        grips = [force(spec(text), asked, *asked["grip"]) for text in texts]
    drawn = []
    for model in models:
        data = mujoco.MjData(model)
        mujoco.mj_kinematics(model, data)
        drawn.append(named(model, data))
    over = []
    for reading in asked["poses"]:
        (closed, left), (tree, off) = (posed(model, asked["lead"], reading) for model in models)
        over.append({**apart(closed, tree), "left": max(left, off)})
    ours, theirs = (touch(model) for model in models)
    pairs = [(one[0], other[0]) for one, other in zip(*keys)]
    return {
        "keys": [apart(*pair) for pair in pairs],
        "keys_left": [[*map(float, key[1:])] for key in keys[1]],
        "touch": max(float(np.abs(theirs[name] - ours[name]).max()) for name in theirs),
        "coordinates": [model.nq for model in models],
        "mass": [float(model.body_mass.sum()) for model in models],
        "drawn": apart(*drawn),
        "poses": over,
        "grips": grips,
    }


json.dump(answer(json.load(sys.stdin)), sys.stdout)
