"""Emitted gripper files in MuJoCo (and Pinocchio): where the pads are, how hard they grip, what a push does to them."""

import json
import sys

import mujoco
import numpy as np

PAD_RADIUS = 0.005
STIFF = {"solref": [0.001, 1], "solimp": [0.9999, 0.99999, 0.001, 0.5, 2]}


def model(path, pads=(), block=None, floating=False):
    """The file with a site at each pad point, and where `block` is its half width with pads and a block to grip."""
    spec = mujoco.MjSpec.from_file(path)
    spec.option.gravity = [0, 0, 0]
    for pad in pads:
        body = spec.body(pad["link"])
        body.add_site(name="pad " + pad["link"], pos=pad["point"])
        if block is not None:
            back = np.array(pad["point"]) - PAD_RADIUS * np.array(pad["closing"])
            body.add_geom(type=mujoco.mjtGeom.mjGEOM_SPHERE, size=[PAD_RADIUS, 0, 0], pos=back, mass=0, friction=[0, 0, 0],
                          condim=1, name="touch " + pad["link"], **STIFF)
    if block is not None:
        spec.option.timestep = 0.0005
        one = spec.worldbody.add_body(name="block", pos=block["at"])
        one.add_joint(name="block", type=mujoco.mjtJoint.mjJNT_SLIDE, axis=pads[0]["closing"], damping=1.0)
        one.add_geom(type=mujoco.mjtGeom.mjGEOM_BOX, size=[block["half"], 0.04, 0.02], mass=0.05, condim=1, **STIFF)
    if floating:
        spec.body("palm").add_freejoint(name="float")
    return spec.compile()


def joints(m):
    return [m.joint(k).name for k in range(m.njnt)]


def sites(m):
    """Pairs of sites that a pin holds together."""
    pairs = []
    for k in range(m.neq):
        if m.eq_type[k] == mujoco.mjtEq.mjEQ_CONNECT:
            pairs.append((m.eq_obj1id[k], m.eq_obj2id[k]))
    return pairs


def jacobian(m, d, site):
    j = np.zeros((3, m.nv))
    mujoco.mj_jacSite(m, d, j, None, site)
    return j


def place(m, d, reading, driver, followers):
    """All joints where the driver has this reading; joints of a loop by closing it."""
    d.qpos[m.joint(driver).qposadr] = reading
    for joint, (multiplier, offset) in followers.items():
        d.qpos[m.joint(joint).qposadr] = multiplier * reading + offset
    loose = [j for j in joints(m) if j != driver and j not in followers and j not in ("float", "block")]
    free, at = [m.joint(j).dofadr[0] for j in loose], [m.joint(j).qposadr[0] for j in loose]
    for _ in range(60 if free else 0):
        mujoco.mj_kinematics(m, d)
        mujoco.mj_comPos(m, d)
        gap = np.concatenate([d.site_xpos[a] - d.site_xpos[b] for a, b in sites(m)])
        slope = np.vstack([jacobian(m, d, a) - jacobian(m, d, b) for a, b in sites(m)])[:, free]
        step, *_ = np.linalg.lstsq(slope, -gap, rcond=None)
        d.qpos[at] += step
        if np.abs(step).max() < 1e-14:
            break
    mujoco.mj_forward(m, d)


def followed(file):
    return {f["joint"]: (f["multiplier"], f["offset_rad"]) for f in file["followers"]}


def kinematics(request, file):
    """Pad points and attitudes over the stroke, all readings in steps so that the closing stays on its branch."""
    m = model(file["path"], file["pads"])
    d = mujoco.MjData(m)
    rows = []
    for joint, reading in file["start"].items():
        d.qpos[m.joint(joint).qposadr] = reading
    for reading in file["readings"]:
        place(m, d, reading, request["driver"], followed(file))
        row = []
        for pad in file["pads"]:
            row += d.site("pad " + pad["link"]).xpos.tolist() + d.body(pad["link"]).xmat.tolist()
        rows.append(row)
    return rows


def grip(request, file, case):
    """Force on each pad, after the motion has settled."""
    m = model(file["path"], file["pads"], case)
    d = mujoco.MjData(m)
    driver = m.joint(request["driver"])
    m.dof_damping[driver.dofadr] = file["damping"]
    place(m, d, case["way" if "metres" in file else "start"], request["driver"], followed(file))
    d.qvel[:] = 0
    d.ctrl[:] = case["force"] if "metres" in file else 1.0
    m.actuator_forcelimited[:] = 0
    m.actuator_ctrllimited[:] = 0
    for _ in range(round(3.0 / m.opt.timestep)):
        mujoco.mj_step(m, d)
    forces = {}
    for k in range(d.ncon):
        force = np.zeros(6)
        mujoco.mj_contactForce(m, d, k, force)
        names = [m.geom(g).name for g in d.contact[k].geom]
        touch = next(n for n in names if n.startswith("touch"))
        forces[touch] = forces.get(touch, 0.0) + float(force[0])
    return {"forces": list(forces.values()), "reading": float(d.qpos[driver.qposadr][0]), "speed": float(np.abs(d.qvel).max())}


def response(request, file, state):
    """Accelerations of palm (six) and driver under a push on palm and pads, all at speed, by the rates of a parallelogram."""
    m = model(file["path"], file["pads"], floating=True)
    d = mujoco.MjData(m)
    for joint, reading in file["start"].items():
        d.qpos[m.joint(joint).qposadr] = reading
    place(m, d, state["reading"], request["driver"], followed(file))
    g = np.zeros((m.nv, 7))
    g[:6, :6] = np.eye(6)
    for joint, rate in file["rates"].items():
        g[m.joint(joint).dofadr[0], 6] = rate
    d.qvel[:] = g @ np.array(state["speeds"])
    mujoco.mj_forward(m, d)
    mass = np.zeros((m.nv, m.nv))
    mujoco.mj_fullM(m, d, mass)
    force = -d.qfrc_bias
    for pad, push in zip(file["pads"], state["push"]):
        force = force + jacobian(m, d, m.site("pad " + pad["link"]).id).T @ np.array(push)
    return np.linalg.solve(g.T @ mass @ g, g.T @ force).tolist()


def urdf_moves(request, file):
    """The largest distance of link placements between the readers' URDF, its followers put where their mimics say."""
    import pinocchio as pin

    tied = pin.buildModelFromUrdf(file["path"], mimic=True)
    m = mujoco.MjModel.from_xml_path(file["path"])
    d = mujoco.MjData(m)
    data, worst = tied.createData(), 0.0
    for reading in file["readings"]:
        place(m, d, reading, request["driver"], followed(file))
        pin.framesForwardKinematics(tied, data, np.array([reading]))
        for pad in file["pads"]:
            frame = data.oMf[tied.getFrameId(pad["link"])]
            body = d.body(pad["link"])
            worst = max(worst, np.abs(frame.translation - body.xpos).max(), np.abs(frame.rotation.flatten() - body.xmat).max())
    return {"nq": tied.nq, "ties": int(m.neq), "off": float(worst)}


def measure(request):
    out = {}
    for name, file in request["files"].items():
        out[name] = {}
        if name == "urdf":
            out[name]["moves"] = urdf_moves(request, file)
            continue
        if "readings" in file:
            out[name]["poses"] = kinematics(request, file)
        out[name]["grips"] = [grip(request, file, case) for case in request.get("grips", [])]
        out[name]["responses"] = [response(request, file, s) for s in request.get("states", [])]
    return out


json.dump(measure(json.load(sys.stdin)), sys.stdout)
