#!/usr/bin/env python3
"""Writes tests/data/pose_vectors.txt: poses of four-bars with 60 digits, by mpmath 1.3.0.

    python3 -m venv target/laws-venv && target/laws-venv/bin/pip install mpmath==1.3.0
    target/laws-venv/bin/python tests/scripts/pose_vectors.py > tests/data/pose_vectors.txt

Independent of the program's closed forms: the rocker pin is where two circles meet, and rates, slopes and curvature
come from differentiating the loop equations a e(phi) + b e(theta) - c e(psi) = (g, 0) one, two and three times and
solving the 2x2 system each time. The lengths are taken as the floats they are, the crank angle likewise.

A line: kind, ground, crank, coupler, rocker, crank angle (rad), closure (-1 open, +1 crossed), then rocker angle less
crank angle in (-pi, pi], dpsi/dphi - 1, d2psi/dphi2, d3psi/dphi3, dtheta/dphi, transmission angle.
"""

import math
import random

from mpmath import mp, mpf, matrix

mp.prec = 900


def pose(g, a, b, c, phi, closure):
    g, a, b, c, phi = (mpf(x) for x in (g, a, b, c, phi))
    px, py = a * mp.cos(phi), a * mp.sin(phi)
    hx, hy = px - g, py
    h2 = hx * hx + hy * hy
    k = (c * c + h2 - b * b) / (2 * c)
    s2 = h2 - k * k
    if s2 <= 0:
        return None
    s = closure * mp.sqrt(s2)
    ux, uy = (k * hx - s * hy) / h2, (k * hy + s * hx) / h2
    wx, wy = g + c * ux - px, c * uy - py
    psi, theta = mp.atan2(uy, ux), mp.atan2(wy, wx)
    # loop: a e(phi) + b e(theta) - c e(psi) - g = 0, differentiated by phi
    i = mp.mpc(0, 1)
    A, B, C = a * mp.expj(phi), b * mp.expj(theta), c * mp.expj(psi)

    def solve(right):  # b i e(theta) x - c i e(psi) y = right
        p, q = i * B, -i * C
        det = p.real * q.imag - p.imag * q.real
        return ((right.real * q.imag - right.imag * q.real) / det, (p.real * right.imag - p.imag * right.real) / det)

    t1, r = solve(-i * A)
    t2, r1 = solve(A + B * t1**2 - C * r**2)
    # third derivative of e^{i f} is (i f3 - 3 f1 f2 - i f1^3) e^{i f}
    t3, r2 = solve(i * A + B * (3 * t1 * t2 + i * t1**3) - C * (3 * r * r1 + i * r**3))
    lead = psi - phi
    lead -= 2 * mp.pi * mp.nint(lead / (2 * mp.pi))
    mu = mp.atan2(abs(C.real * wy - C.imag * wx), abs(C.real * wx + C.imag * wy))
    return lead, r - 1, r1, r2, t1, mu


def write(kind, g, a, b, c, phi, closure):
    found = pose(g, a, b, c, phi, closure)
    if found is None:
        return
    values = " ".join(mp.nstr(x, 22, min_fixed=1, max_fixed=0) for x in found)
    print(kind, repr(g), repr(a), repr(b), repr(c), repr(phi), closure, values)


def main():
    print("# Made by tests/scripts/pose_vectors.py; its head tells the columns.")
    rng = random.Random(20240229)
    both = (-1, 1)
    for _ in range(60):
        g, a, b, c = (rng.uniform(0.02, 1.0) for _ in range(4))
        for closure in both:
            write("general", g, a, b, c, rng.uniform(-math.pi, math.pi), closure)
    for exponent in (-3, -6, -9, -12):
        for _ in range(12):
            off = lambda: 1.0 + rng.uniform(-1, 1) * 10.0**exponent
            g, a = rng.choice(((0.3, 0.045), (0.05, 0.2), (0.1, 0.1)))
            phi = rng.uniform(0.2, math.pi - 0.2) * rng.choice(both)
            for closure in both:
                write("parallelogram", g * off(), a * off(), g * off(), a * off(), phi, closure)
    for exponent in (-3, -6, -9, -12):
        for _ in range(8):
            off = lambda: 1.0 + rng.uniform(-1, 1) * 10.0**exponent
            s, l = rng.choice(((0.05, 0.13), (0.2, 0.11)))
            phi = rng.uniform(0.2, math.pi - 0.2) * rng.choice(both)
            for closure in both:
                write("kite", s * off(), s * off(), l * off(), l * off(), phi, closure)
                write("kite", s * off(), l * off(), l * off(), s * off(), phi, closure)
    # integer lengths with one of T1, T2, T3 zero, close to the flat pose
    for g, a, b, c, flat in ((4, 1, 2, 5, 0.0), (2, 5, 4, 1, 0.0), (3, 2, 4, 1, math.pi), (7, 3, 5, 5, math.pi), (5, 3, 4, 6, 0.0), (5, 5, 3, 3, 0.0), (3, 5, 5, 3, 0.0)):
        for distance in (1e-1, 1e-2, 1e-3, 1e-4, 1e-5, 1e-6):
            for closure in both:
                write("change_point", float(g), float(a), float(b), float(c), flat + distance * rng.uniform(0.5, 1.0), closure)
    # lengths whose T differs from zero by the last digits of the lengths only
    for g, a, b, c, flat in ((0.3, 0.045, 0.3, 0.045, math.pi), (0.4, 0.1, 0.2, 0.5, 0.0), (0.7, 0.3, 0.5, 0.5, math.pi)):
        for _ in range(10):
            c2 = c
            for _ in range(rng.randint(1, 9)):
                c2 = math.nextafter(c2, 1.0)
            for closure in both:
                write("few_ulps", g, a, b, c2, flat + 10.0 ** rng.uniform(-6, -1), closure)
    for scale in (1e-9, 1e4):
        for _ in range(10):
            g, a, b, c = (scale * rng.uniform(0.05, 1.0) for _ in range(4))
            write("scale", g, a, b, c, rng.uniform(-math.pi, math.pi), rng.choice(both))


main()
