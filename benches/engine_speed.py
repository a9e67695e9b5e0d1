"""How fast a physics engine steps the direct joint beside the closed loop, for the two ankles of the demo.

Started by benches/engine_speed.sh with the emitted models. Both are stepped in turns in one run at the same time step,
with the ankles swinging over the stroke; prints the median of the ratios.
"""

import math
import statistics
import sys
import time

import mujoco

STEPS, TURNS = 20_000, 9


def load(path):
    model = mujoco.MjModel.from_xml_path(path)
    model.opt.timestep = 0.001
    return model


def seconds(model):
    data = mujoco.MjData(model)
    start = time.perf_counter()
    for step in range(STEPS):
        data.ctrl[:] = 0.5 * math.sin(0.006 * step)
        mujoco.mj_step(model, data)
    return time.perf_counter() - start


def main():
    direct, loop = (load(path) for path in sys.argv[1:])
    pairs = [(seconds(direct), seconds(loop)) for _ in range(TURNS)]
    ratio = statistics.median(theirs / ours for ours, theirs in pairs)
    ours, theirs = (statistics.median(times) / STEPS * 1e6 for times in zip(*pairs))
    print(f"direct {ours:.2f} us a step, loop {theirs:.2f} us a step, MuJoCo {mujoco.__version__}: {ratio:.1f} times faster")


main()
