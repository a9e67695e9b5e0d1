"""Closed loops as MuJoCo closes them: the driven joint's reading at readings of the motor's.

Input: a list of {path, motor, driven, motor_reads: [..], bodies: names, if any}; of the bodies place and axes are given. Meshes are left out: they take no part in
kinematics, and packages do not carry all of them. At each reading the motor's joint is held and the equality constraints
are brought to zero by least-squares steps (Gauss-Newton) over all other coordinates, from the last pose on. Directions that the constraints
hold by less than a millionth of the stiffest are left alone: rounding over a smaller share than that moves bodies by 1e-7.
"""

import json
import re
import sys
import xml.etree.ElementTree as ElementTree

import mujoco
import numpy as np


def parsed(path):
    """The file, without attributes that this version of the engine does not know any more."""
    try:
        return mujoco.MjSpec.from_file(path)
    except ValueError as error:
        text, why = open(path).read(), str(error)
    while unknown := re.search(r"unrecognized attribute: '(\w+)'\s*Element '(\w+)'", why):
        root = ElementTree.fromstring(text)
        for element in root.iter(unknown[2]):
            element.attrib.pop(unknown[1], None)
        text = ElementTree.tostring(root, encoding="unicode")
        try:
            return mujoco.MjSpec.from_string(text)
        except ValueError as error:
            why = str(error)
    raise ValueError(why)


def compiled(path):
    spec = parsed(path)
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
    for key in list(spec.keys):
        spec.delete(key)
    spec.compiler.boundmass = 1e-6
    spec.compiler.boundinertia = 1e-9
    return spec.compile()


def residual(model, data):
    mujoco.mj_kinematics(model, data)
    mujoco.mj_comPos(model, data)
    mujoco.mj_makeConstraint(model, data)
    rows = np.array(data.efc_type) == mujoco.mjtConstraint.mjCNSTR_EQUALITY
    jacobian = np.array(data.efc_J).reshape(-1, model.nv)[: data.nefc][rows]
    return np.array(data.efc_pos)[rows], jacobian


def close(model, data, held):
    free = [dof for dof in range(model.nv) if dof != held]
    for _ in range(200):
        error, jacobian = residual(model, data)
        if np.abs(error).max() < 1e-13:
            break
        step = np.zeros(model.nv)
        step[free] = -np.linalg.lstsq(jacobian[:, free], error, rcond=1e-6)[0]
        mujoco.mj_integratePos(model, data.qpos, step, 1.0)
    return float(np.abs(error).max())


def answer(one):
    model = compiled(one["path"])
    model.opt.jacobian = mujoco.mjtJacobian.mjJAC_DENSE
    data = mujoco.MjData(model)
    motor, driven = (model.joint(one[name]) for name in ("motor", "driven"))
    found = []
    start = float(data.qpos[motor.qposadr[0]])
    order = sorted(range(len(one["motor_reads"])), key=lambda k: abs(one["motor_reads"][k] - start))
    for k in order:
        mujoco.mj_resetData(model, data)
        # in small steps from the drawn pose, so that the assembly stays
        for share in np.linspace(0.0, 1.0, 21):
            data.qpos[motor.qposadr[0]] = start + share * (one["motor_reads"][k] - start)
            left = close(model, data, int(motor.dofadr[0]))
        bodies = [
            {"at": data.body(name).xpos.tolist(), "axes": data.body(name).xmat.tolist()}
            for name in one.get("bodies", [])
        ]
        reads = float(data.qpos[driven.qposadr[0]])
        found.append((k, {"reads": reads, "left": left, "bodies": bodies}))
    return [pose for _, pose in sorted(found, key=lambda each: each[0])]


json.dump([answer(one) for one in json.load(sys.stdin)], sys.stdout)
