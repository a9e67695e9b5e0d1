"""How far MuJoCo's own connect and weld constraints are violated in the drawn pose: reads a list of paths as JSON, prints
for each the shift of the first point from the second, x y z of every active one, as the solver sees it."""

import json
import sys

import mujoco


def gaps(path):
    model = mujoco.MjModel.from_xml_path(path)
    data = mujoco.MjData(model)
    mujoco.mj_forward(model, data)
    found = []
    for e in range(model.neq):
        if model.eq_type[e] not in (0, 1) or not data.eq_active[e]:
            continue
        equality = data.efc_type == mujoco.mjtConstraint.mjCNSTR_EQUALITY
        rows = [i for i in range(data.nefc) if equality[i] and data.efc_id[i] == e]
        # the first three rows of a weld are its shift
        found += [float(data.efc_pos[i]) for i in rows[:3]]
    return found


json.dump([gaps(path) for path in json.load(sys.stdin)], sys.stdout)
