"""A MuJoCo model of an ankle as drawn, then as its builds come out of the workshop: each with ratio, armature and limits of
its own.

    python randomise_mujoco.py [BUILDS]
"""

import sys
from pathlib import Path

import mujoco
import numpy as np
import unloop

DRAWING = Path(__file__).resolve().parents[2] / "models" / "ankle.toml"
JOINT = "left_ankle_pitch"

# The drawing with tolerances, and one way to zero the robot.
text = DRAWING.read_text(encoding="utf-8")
text = text.replace('"45 mm" ', '"45 ±0.1 mm"').replace('rocker  = "45 mm"', 'rocker  = "45 ±0.1 mm"')
text = text.replace("# shank upright, foot flat", '\nset_by = "jig"')

count = int(sys.argv[1]) if len(sys.argv) > 1 else 8
drawn = unloop.check(text)["direct_joint"]
builds = unloop.builds(text, count, seed=1)
model = mujoco.MjModel.from_xml_string(unloop.emit(text, whole=True, actuator="motor", anyway=True))
joint, motor = model.joint(JOINT), model.actuator(JOINT)
gear, armature = motor.gear[0], joint.armature[0]

print("build   gear     armature    joint range")
for k in range(count):
    share = builds["ratio"][k] / drawn["ratio"]
    motor.gear[0] = gear * share
    joint.armature[:] = armature * share**2
    joint.range[:] = builds["joint_lower_rad"][k], builds["joint_upper_rad"][k]
    data = mujoco.MjData(model)
    data.ctrl[motor.id] = 0.3
    mujoco.mj_step(model, data, nstep=500)
    assert np.isfinite(data.qpos).all()
    low, high = joint.range
    print(f"{k:5}   {motor.gear[0]:.5f}  {joint.armature[0]:.6f}    {low:.5f} to {high:.5f} rad")
