"""What a stranger does last: loads the model, pushes its only joint to both ends, prints where it stops."""

import math
import sys

import mujoco

model = mujoco.MjModel.from_xml_path(sys.argv[1])
data = mujoco.MjData(model)
peak = model.actuator_forcerange[0][1]
ends = []
for sign in (-1, 1):
    mujoco.mj_resetData(model, data)
    data.ctrl[0] = 0.2 * sign * peak
    for _ in range(4000):
        mujoco.mj_step(model, data)
    ends.append(round(math.degrees(data.qpos[0]), 0))
name = mujoco.mj_id2name(model, mujoco.mjtObj.mjOBJ_JOINT, 0)
print(name, model.njnt, round(peak, 6), *ends)
