"""A tolerance study of the same linkage in vectorised NumPy at 181 even poses, timed in turns with the program's own.

Started by benches/run.sh. Prints both times for a million linkages on one thread, the program's on two, their ratios (the
median over the turns of what was measured side by side; the second means something on two free cores only). How close
both come to the exact extremes is tested in src/tolerance/build.rs.
"""

import argparse
import os
import statistics
import subprocess
import time

import numpy as np

LENGTHS = {"ground": 0.3, "crank": 0.045, "coupler": 0.3, "rocker": 0.045}
HALF = {"ground": 3e-4, "crank": 1.5e-4, "coupler": 3e-4, "rocker": 1.5e-4}
ZERO, TURNS = np.radians(90.0), np.radians([-35.0, 40.0])
POSES, CHUNK, ROUNDS = 181, 10_000, 3


def rocker(a, b, c, g, cos, sin):
    hx, hy = a * cos - g, a * sin
    h2 = hx * hx + hy * hy
    k = ((c - b) * (c + b) + h2) / (2.0 * c)
    s = -np.sqrt(h2 - k * k)
    ux, uy = (k * hx - s * hy) / h2, (k * hy + s * hx) / h2
    wx, wy = c * ux - hx, c * uy - hy
    return ux, uy, a * (wy * cos - wx * sin) / (c * s)


def worst(rng, count):
    """Worst angle error and worst ratio error of `count` linkages drawn evenly within tolerance, ratio 1, set by a jig."""
    a, b, c, g = (LENGTHS[n] + HALF[n] * rng.uniform(-1, 1, (count, 1)) for n in ("crank", "coupler", "rocker", "ground"))
    x = np.linspace(*TURNS, POSES)[None, :]
    ux, uy, r = rocker(a, b, c, g, np.cos(ZERO + x), np.sin(ZERO + x))
    zx, zy, _ = rocker(a, b, c, g, np.cos(ZERO), np.sin(ZERO))
    dx, dy = zx * np.cos(x) - zy * np.sin(x), zy * np.cos(x) + zx * np.sin(x)
    return np.arcsin(np.abs(dx * uy - dy * ux).max(axis=1)), np.abs(1.0 / r - 1.0).max(axis=1)


def numpy_time():
    """Seconds for a million linkages, from a tenth of them."""
    rng = np.random.default_rng(1)
    start = time.perf_counter()
    means = [np.mean(worst(rng, CHUNK)[0]) for _ in range(10)]
    return (time.perf_counter() - start) * 10.0, float(np.mean(means))


class Study:
    """The program's side on so many threads."""

    def __init__(self, command, threads):
        env = os.environ | {"RAYON_NUM_THREADS": str(threads)}
        self.process = subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, env=env)

    def time(self):
        """Seconds for a million linkages and the mean of their worst angle errors."""
        self.process.stdin.write("study 1000000\n")
        self.process.stdin.flush()
        return [float(word) for word in self.process.stdout.readline().split()]


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("study", nargs=argparse.REMAINDER, help="command that starts the program's side")
    command = parser.parse_args().study
    one, two = Study(command, 1), Study(command, 2)
    turns = []
    for _ in range(ROUNDS):
        (alone, mean), (both, same) = one.time(), two.time()
        theirs, theirs_mean = numpy_time()
        assert mean == same, "the number of threads changes the figures"
        assert abs(mean / theirs_mean - 1.0) < 0.01, "the two sides study different linkages"
        turns.append((alone, both, theirs))
    alone, both, theirs = (statistics.median(times) for times in zip(*turns))
    ratio = statistics.median(theirs / alone for alone, _, theirs in turns)
    gain = statistics.median(alone / both for alone, both, _ in turns)
    print(f"a million linkages: {alone:.3f} s, NumPy at {POSES} poses {theirs:.2f} s, ratio {ratio:.1f}, one thread")
    print(f"on two threads {both:.3f} s, {gain:.2f} times as fast")


main()
