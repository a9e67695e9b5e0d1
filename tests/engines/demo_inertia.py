"""The demo's direct joint against its closed loop, carrier floating: reads {"direct": MJCF, "loop": MJCF, "side": name,
"turns": [joint angles]} on standard input and prints the largest |eig(M^-1 dM)| over the angles, M the loop's mass matrix
projected on what its closed pin allows, and where it lies."""
import json
import sys

import mujoco
import numpy as np

given = json.load(sys.stdin)


def floating(text, carrier):
    """The model with its carriers let go of the base: free joints may only stand on bodies of the world."""
    base, head = '<body name="fixed_base">', f'<body name="{carrier}">'
    before, _, after = text.replace(base, "", 1).rpartition("</body>")
    assert base in text and text.count(head) == 1
    return mujoco.MjModel.from_xml_string((before + after).replace(head, head + "<freejoint/>"))


def address(model, joint):
    return model.jnt_qposadr[model.joint(joint).id], model.jnt_dofadr[model.joint(joint).id]


def rows(model, side):
    """The six degrees of the carrier's free joint."""
    body = model.body(f"{side}_shank").id
    free = model.jnt_dofadr[model.body_jntadr[body]]
    return list(range(free, free + 6))


def mass_matrix(model, data):
    full = np.zeros((model.nv, model.nv))
    mujoco.mj_fullM(model, data, full)
    return full


side = given["side"]
joint = f"{side}_ankle_pitch"
direct, loop = (floating(given[kind], f"{side}_shank") for kind in ("direct", "loop"))


def direct_matrix(angle):
    data = mujoco.MjData(direct)
    q, v = address(direct, joint)
    data.qpos[q] = angle
    mujoco.mj_forward(direct, data)
    keep = rows(direct, side) + [v]
    return mass_matrix(direct, data)[np.ix_(keep, keep)]


def loop_matrix(angle):
    data = mujoco.MjData(loop)
    q, v = address(loop, joint)
    names = [f"{joint}_crank", f"{joint}_coupler"]
    (crank_q, crank_v), (coupler_q, coupler_v) = (address(loop, name) for name in names)
    # A parallelogram: the crank turns with the joint, the rod not at all.
    data.qpos[q], data.qpos[crank_q], data.qpos[coupler_q] = angle, angle, -angle
    mujoco.mj_forward(loop, data)
    ends = [loop.site(f"{joint}_coupler_end").id, loop.site(f"{joint}_coupler_end_on_child").id]
    assert np.linalg.norm(data.site_xpos[ends[0]] - data.site_xpos[ends[1]]) < 1e-12
    jacobians = []
    for end in ends:
        jacobian = np.zeros((3, loop.nv))
        mujoco.mj_jacSite(loop, data, jacobian, None, end)
        jacobians.append(jacobian)
    apart = jacobians[0] - jacobians[1]
    kept = rows(loop, side) + [v]
    follow = [crank_v, coupler_v]
    rates = -np.linalg.lstsq(apart[:, follow], apart[:, kept], rcond=None)[0]
    every = kept + follow
    projection = np.vstack([np.eye(len(kept)), rates])
    return projection.T @ mass_matrix(loop, data)[np.ix_(every, every)] @ projection


worst = (0.0, 0.0)
for angle in given["turns"]:
    true = loop_matrix(angle)
    error = np.abs(np.linalg.eigvals(np.linalg.solve(true, direct_matrix(angle) - true))).max()
    worst = max(worst, (float(error), angle))
json.dump({"error": worst[0], "at": worst[1]}, sys.stdout)
