"""What MuJoCo makes of whole models: mass matrices with the carrier let go, gaps of the loop, and motion.

Reads a list of requests as JSON: a file; `poses` (joint readings by name); `run`, where given, with a start pose, a
constant control signal or one that swings, and what to record.
"""

import json
import math
import sys

import mujoco
import numpy as np


def warned(message):
    print("warning:", message, file=sys.stderr)


mujoco.set_mju_user_warning(warned)


def name(model, kind, index):
    return mujoco.mj_id2name(model, kind, index)


def joints(model):
    return {name(model, mujoco.mjtObj.mjOBJ_JOINT, j) or "free": j for j in range(model.njnt)}


def gap(model, data):
    """Distance of the two sites of every closed loop, the largest; an anchored loop has no sites."""
    if model.nsite < 2:
        return None
    pairs = {name(model, mujoco.mjtObj.mjOBJ_SITE, k): k for k in range(model.nsite)}
    gaps = [
        np.linalg.norm(data.site_xpos[k] - data.site_xpos[pairs[one + "_on_child"]])
        for one, k in pairs.items()
        if not one.endswith("_on_child")
    ]
    return float(max(gaps))


def place(model, data, readings):
    for joint, reading in readings.items():
        data.qpos[model.jnt_qposadr[joints(model)[joint]]] = reading


def with_carrier_free(file, carrier):
    spec = mujoco.MjSpec.from_file(file)
    spec.body(carrier).add_freejoint()
    return spec.compile()


def matrices(request):
    model = with_carrier_free(request["file"], request["carrier"])
    data = mujoco.MjData(model)
    found = []
    for readings in request.get("poses", []):
        place(model, data, readings)
        mujoco.mj_forward(model, data)
        whole = np.zeros((model.nv, model.nv))
        mujoco.mj_fullM(model, data, whole)
        order = {n: int(model.jnt_dofadr[j]) for n, j in joints(model).items()}
        found.append({"matrix": whole.tolist(), "dof": order, "gap": gap(model, data)})
    return found


def run(request):
    model = mujoco.MjModel.from_xml_path(request["file"])
    data = mujoco.MjData(model)
    wanted = request["run"]
    model.opt.gravity[:] = wanted["gravity"]
    stated = model.opt.timestep
    if wanted.get("rk4"):
        model.opt.integrator = mujoco.mjtIntegrator.mjINT_RK4
    model.opt.timestep = wanted.get("step", stated)
    drawn = mujoco.MjData(model)
    mujoco.mj_forward(model, drawn)
    place(model, data, wanted["start"])
    step = model.opt.timestep
    where = {n: int(model.jnt_qposadr[joints(model)[n]]) for n in wanted["record"]}
    rows, widest = [], 0.0
    for k in range(round(wanted["seconds"] / step)):
        data.ctrl[0] = wanted["mean"] + wanted["swing"] * math.sin(wanted["rate"] * (k + 0.5) * step)
        mujoco.mj_step(model, data)
        if k % round(0.01 / step) == round(0.01 / step) - 1:
            mujoco.mj_kinematics(model, data)
            widest = max(widest, gap(model, data) or 0.0)
            rows.append([float(data.qpos[where[n]]) for n in wanted["record"]])
    return {"step": stated, "rows": rows, "gap": widest, "gap_as_drawn": gap(model, drawn)}


def parse(request):
    """A snippet's host or another engine's file only has to load."""
    mujoco.MjModel.from_xml_path(request["file"])


answers = []
for request in json.load(sys.stdin):
    answer = {"poses": matrices(request)} if request.get("poses") else {}
    if "run" in request:
        answer["run"] = run(request)
    if not answer:
        parse(request)
    answers.append(answer)
json.dump(answers, sys.stdout)
