#!/usr/bin/env python3
"""Writes tests/data/attack_vectors.txt: poses of four-bars with 50 digits, by mpmath 1.3.0.

    python3 -m venv target/laws-venv && target/laws-venv/bin/pip install mpmath==1.3.0
    target/laws-venv/bin/python tests/scripts/attack_vectors.py > tests/data/attack_vectors.txt

Independent of every closed form: the two loop equations a cos(phi) + b cos(theta) - c cos(psi) = g and
a sin(phi) + b sin(theta) - c sin(psi) = 0 are solved for theta and psi by Newton's method, from the zero pose to the
motor turn in steps of at most 1/64 rad, each from the solution before; so the rocker angle is counted on through
whole turns. The velocity ratio is the solution of the derivative of the same two equations.

A line: ground, crank, coupler, rocker, crank angle in the zero pose, about the rocker angle there, motor turn, all as
decimals to be taken as they stand; then the joint turn, the velocity ratio and the transmission angle there.
"""

import math
import random

from mpmath import mp, mpf

mp.dps = 60


def newton(g, a, b, c, phi, theta, psi):
    for _ in range(20):
        x = a * mp.cos(phi) + b * mp.cos(theta) - c * mp.cos(psi) - g
        y = a * mp.sin(phi) + b * mp.sin(theta) - c * mp.sin(psi)
        # [-b sin(theta), c sin(psi); b cos(theta), -c cos(psi)] [dtheta, dpsi] = -[x, y]
        det = b * c * mp.sin(theta - psi)
        if abs(det) < mpf(10) ** -12 * b * c:
            return None
        dtheta = (c * mp.cos(psi) * x + c * mp.sin(psi) * y) / det
        dpsi = (b * mp.cos(theta) * x + b * mp.sin(theta) * y) / det
        theta, psi = theta + dtheta, psi + dpsi
        if abs(dtheta) + abs(dpsi) < mpf(10) ** -55:
            return theta, psi
    return None


def rocker_angles(g, a, b, c, phi):
    """Where a rocker turned through a whole turn comes to the coupler's length from the crank pin, to 0.005 rad."""
    g, a, b, c, phi = (float(x) for x in (g, a, b, c, phi))
    px, py = a * math.cos(phi), a * math.sin(phi)
    gap = lambda psi: math.hypot(g + c * math.cos(psi) - px, c * math.sin(psi) - py) - b
    grid = [k * 2 * math.pi / 1440 - math.pi for k in range(1441)]
    return [(x + y) / 2 for x, y in zip(grid, grid[1:]) if gap(x) * gap(y) <= 0]


def start(g, a, b, c, phi, psi):
    theta = mp.atan2(c * mp.sin(psi) - a * mp.sin(phi), g + c * mp.cos(psi) - a * mp.cos(phi))
    return newton(g, a, b, c, phi, theta, psi)


def follow(g, a, b, c, phi, hint, turn):
    first = start(g, a, b, c, phi, hint)
    if not first:
        return None
    theta, psi = first
    sign = mp.sign(mp.sin(theta - psi))
    count = int(abs(turn) * 64) + 1
    for k in range(1, count + 1):
        found = newton(g, a, b, c, phi + turn * k / count, theta, psi)
        if not found or abs(found[1] - psi) > 0.5 or mp.sign(mp.sin(found[0] - found[1])) != sign:
            return None
        theta, psi = found
    # a sin(theta - phi) = c r sin(theta - psi), from the derivative along the coupler's normal
    ratio = a * mp.sin(theta - phi - turn) / (c * mp.sin(theta - psi))
    mu = mp.atan2(abs(mp.sin(theta - psi)), abs(mp.cos(theta - psi)))
    return psi - first[1], ratio, mu


def write(lengths, phi, turn):
    numbers = [mpf(x) for x in (*lengths, phi)]
    for hint in (f"{x:.2f}" for x in rocker_angles(*numbers)):
        found = follow(*numbers, mpf(hint), mpf(turn))
        if found:
            print(*lengths, phi, hint, turn, *(mp.nstr(x, 45, min_fixed=-3, max_fixed=6) for x in found))


def main():
    print("# Made by tests/scripts/attack_vectors.py; its head tells the columns.")
    draw = random.Random(20)
    write(("300", "45", "300", "45"), "1.5", "0.7")
    write(("300", "45", "300", "45"), "-2.5", "2.25")
    write(("200", "50", "190", "64"), "1.9", "-0.35")
    write(("100", "100.000001", "100", "99.999999"), "-0.7", "-0.4")
    write(("100", "100.000001", "100.000003", "99.999999"), "-0.7", "-1.2")
    write(("20", "50", "60", "55"), "1.1", "11.5")
    write(("20", "50", "60", "55"), "1.1", "-14.25")
    for _ in range(60):
        g = draw.uniform(20, 500)
        a, b, c = g * draw.uniform(0.08, 2.5), g * draw.uniform(0.5, 2.5), g * draw.uniform(0.1, 2.5)
        lengths = [f"{x:.{draw.choice((0, 2, 5))}f}" for x in (g, a, b, c)]
        turn = f"{draw.uniform(-2, 2) if draw.random() < 0.8 else draw.uniform(-12, 12):.6f}"
        write(lengths, f"{draw.uniform(-3.1, 3.1):.3f}", turn)


main()
