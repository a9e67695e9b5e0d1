"""The kernel's formulas in vectorised NumPy, timed in turns with the program's own kernel.

Started by benches/run.sh. Prints both times a pose and their ratio: the median over the turns of what was measured side
by side, so that a busy machine slows both. With --least N, fails below N.
"""

import argparse
import statistics
import subprocess
import time

import numpy as np

GROUND, CRANK, COUPLER, ROCKER = 0.2, 0.05, 0.21, 0.06
POSES, CALLS, TURNS = 4096, 50, 15


def figures(cos, sin):
    """Velocity ratio and sine of the transmission angle, closure open: src/linkage/kernel.rs line by line."""
    g, a, b, c = GROUND, CRANK, COUPLER, ROCKER
    h2 = (a * a + g * g) - 2.0 * a * g * cos
    k = ((c - b) * (c + b) + h2) * (0.5 / c)
    s = -np.sqrt(h2 - k * k)
    hx, hy = a * cos - g, a * sin
    along, cs = c * k - h2, c * s
    wx, wy = along * hx - cs * hy, along * hy + cs * hx
    return a * (wy * cos - wx * sin) / (cs * h2), np.abs(s) * (1.0 / b)


def numpy_time(cos, sin):
    """Nanoseconds a pose, the best of three rounds."""
    best = float("inf")
    for _ in range(3):
        start = time.perf_counter()
        for _ in range(CALLS):
            figures(cos, sin)
        best = min(best, time.perf_counter() - start)
    return best / CALLS / POSES * 1e9


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("--least", type=float, default=0.0, help="fail where the ratio is smaller")
    parser.add_argument("kernel", nargs=argparse.REMAINDER, help="command that starts the kernel's side")
    arguments = parser.parse_args()
    angles = 0.8 + 1.4 * np.arange(POSES) / (POSES - 1)
    cos, sin = np.cos(angles), np.sin(angles)
    kernel = subprocess.Popen(arguments.kernel, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)

    def kernel_time():
        kernel.stdin.write("3\n")
        kernel.stdin.flush()
        return [float(word) for word in kernel.stdout.readline().split()]

    pairs = []
    for _ in range(TURNS):
        ours, *sums = kernel_time()
        pairs.append((ours, numpy_time(cos, sin)))
    kernel.stdin.close()
    for ours, theirs in zip(sums, figures(cos, sin)):
        assert abs(ours - theirs.sum()) < 1e-9 * abs(ours), "the two sides compute different figures"
    ratio = statistics.median(theirs / ours for ours, theirs in pairs)
    ours, theirs = (statistics.median(times) for times in zip(*pairs))
    print(f"kernel {ours:.2f} ns a pose, NumPy {np.__version__} {theirs:.1f} ns a pose, ratio {ratio:.1f}")
    if ratio < arguments.least:
        raise SystemExit(f"ratio below {arguments.least:g}")


main()
