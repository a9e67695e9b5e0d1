"""`Linkage.solve` beside the same formulas in vectorised NumPy, timed in turns in one process.

Prints both times a pose and their ratio: the median over the turns of what was measured side by side, so that a busy
machine slows both. With --least N, fails below N.

    python python/benches/solve.py
"""

import argparse
import statistics
import time
from collections.abc import Callable
from typing import Any

import numpy as np
import unloop

GROUND, CRANK, COUPLER, ROCKER, ZERO = 0.2, 0.05, 0.21, 0.06, 1.5
POSES, TURNS = 20_000, 60


def plain(motor: Any) -> tuple[Any, Any, Any]:
    """Joint turn, ratio and transmission angle, closure open, the joint within half a turn."""
    g, a, b, c = GROUND, CRANK, COUPLER, ROCKER
    phi = ZERO + motor
    cos, sin = np.cos(phi), np.sin(phi)
    hx, hy = a * cos - g, a * sin
    h2 = hx * hx + hy * hy
    k = ((c - b) * (c + b) + h2) * (0.5 / c)
    s = -np.sqrt(h2 - k * k)
    ux, uy = k * hx - s * hy, k * hy + s * hx
    wx, wy = c * ux - h2 * hx, c * uy - h2 * hy
    ratio = a * (wy * cos - wx * sin) / (c * s * h2)
    return np.arctan2(uy, ux), ratio, np.arctan2(np.abs(s), np.abs(c - k))


def seconds(call: Callable[[Any], Any], motor: Any) -> float:
    best = float("inf")
    for _ in range(5):
        start = time.perf_counter()
        call(motor)
        best = min(best, time.perf_counter() - start)
    return best


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--least", type=float, default=0.0, help="fail where the ratio is smaller")
    least = parser.parse_args().least
    motor = np.linspace(-0.7, 0.7, POSES)
    solve = unloop.Linkage(GROUND, CRANK, COUPLER, ROCKER, zero_crank=ZERO).solve
    zero = plain(np.zeros(1))[0]
    (joint, *ours), (angle, *theirs) = solve(motor), plain(motor)
    for found, wanted in zip([joint, *ours], [angle - zero, *theirs]):
        assert np.abs(found - wanted).max() < 1e-11, "the two sides compute different figures"
    pairs = [(seconds(solve, motor), seconds(plain, motor)) for _ in range(TURNS)]
    fast, slow = (statistics.median(times) / POSES * 1e9 for times in zip(*pairs))
    ratio = statistics.median(theirs / ours for ours, theirs in pairs)
    print(f"solve {fast:.1f} ns a pose, NumPy {np.__version__} {slow:.1f} ns a pose, ratio {ratio:.1f}")
    if ratio < least:
        raise SystemExit(f"ratio below {least:g}")


main()
