#!/usr/bin/env python3
"""Writes tests/data/interval_vectors.txt: exact results of elementary operations on floats, by mpmath 1.3.0.

    python3 -m venv target/laws-venv && target/laws-venv/bin/pip install mpmath==1.3.0
    target/laws-venv/bin/python tests/scripts/interval_vectors.py > tests/data/interval_vectors.txt

A line is an operation, its operands, and the two floats that the exact result lies between (equal where the result is
a float), all floats as the 16 hexadecimal digits of their bits. The exact result is taken with 2,400 bits for the four
operations and the square root, whose results are then exact or certainly not a float, and with 50 digits beyond the
last bit of the float for the rest.
"""

import math
import random
import struct

from mpmath import mp, mpf

TINY, HUGE = 5e-324, 1.7976931348623157e308


def bits(x):
    return struct.pack(">d", x).hex()


def to_float_below(x):
    """The largest float at or below the mpf x (−inf below the range)."""
    if x > mpf(HUGE):
        return HUGE
    if x < -mpf(HUGE):
        return -math.inf
    f = float(x)  # any float nearby will do as a start
    if math.isinf(f):
        f = math.copysign(HUGE, f)
    while mpf(f) > x:
        f = math.nextafter(f, -math.inf)
    while mpf(math.nextafter(f, math.inf)) <= x:
        f = math.nextafter(f, math.inf)
    return f


def between(x):
    low = to_float_below(x)
    high = -to_float_below(-x)
    assert mpf(low) <= x <= mpf(high)
    return low, high


def write(name, operands, exact):
    low, high = between(exact)
    print(name, *(bits(x) for x in operands), bits(low), bits(high))


def random_float(rng):
    """Sizes that lengths, angles and their products have, with a share of floats at the edges."""
    kind = rng.randrange(12)
    sign = rng.choice((1.0, -1.0))
    if kind == 0:
        return sign * math.ldexp(rng.random(), rng.randint(-1074, 1023))
    if kind == 1:
        return sign * rng.choice((0.0, TINY, 2.2250738585072014e-308, HUGE, 1.0, 0.5, 3.0, math.nextafter(1.0, 2.0)))
    if kind == 2:  # few bits: exact results happen
        return sign * math.ldexp(rng.randint(1, 1023), rng.randint(-12, 12))
    if kind == 3:  # just beside a power of two
        x = math.ldexp(1.0, rng.randint(-40, 40))
        return sign * math.nextafter(x, rng.choice((0.0, math.inf)))
    return sign * math.ldexp(0.5 + rng.random() / 2, rng.randint(-30, 30))


def close_pair(rng):
    """Operands that nearly cancel, or whose sum is nearly halfway between floats."""
    a = math.ldexp(0.5 + rng.random() / 2, rng.randint(-30, 30))
    b = a
    for _ in range(rng.randint(0, 4)):
        b = math.nextafter(b, rng.choice((0.0, math.inf)))
    if rng.random() < 0.5:
        b = math.ldexp(a, -53) * rng.choice((1.0, 0.5, 1.5, math.nextafter(1.0, 2.0), math.nextafter(1.0, 0.0)))
    return a, rng.choice((1.0, -1.0)) * b


def arithmetic(rng, count):
    mp.prec = 2400
    for index in range(count):
        a, b = close_pair(rng) if index % 3 == 0 else (random_float(rng), random_float(rng))
        write("add", (a, b), mpf(a) + mpf(b))
        write("sub", (a, b), mpf(a) - mpf(b))
        write("mul", (a, b), mpf(a) * mpf(b))
        if b != 0.0:
            write("div", (a, b), mpf(a) / mpf(b))
        write("square", (a,), mpf(a) ** 2)
        write("root", (abs(a),), mp.sqrt(mpf(abs(a))))


def near_quarter_turns(rng):
    """Floats next to multiples of π/2, where the reduction of the argument loses most."""
    n = rng.choice((0, 1, 2, 3, 4, 5, 7, 100, 1023, 65535, 524287, 1048575, rng.randint(1, 1048575)))
    x = float(mp.pi / 2 * n)
    for _ in range(rng.randint(0, 3)):
        x = math.nextafter(x, rng.choice((-math.inf, math.inf)))
    return rng.choice((1.0, -1.0)) * x


def angle(rng):
    kind = rng.randrange(8)
    if kind < 3:
        return near_quarter_turns(rng)
    if kind == 3:
        return rng.choice((1.0, -1.0)) * math.ldexp(rng.random(), rng.randint(-1074, 0))
    if kind == 4:
        return rng.uniform(-1.6e6, 1.6e6)
    return rng.uniform(-10.0, 10.0)


def functions(rng, count):
    mp.prec = 1500
    for _ in range(count):
        x = angle(rng)
        write("sin", (x,), mp.sin(mpf(x)))
        write("cos", (x,), mp.cos(mpf(x)))
    for _ in range(count):
        t = rng.uniform(-math.pi, math.pi) if rng.random() < 0.7 else near_quarter_turns(rng)
        size = math.ldexp(0.5 + rng.random() / 2, rng.randint(-40, 20))
        y, x = size * math.sin(t), size * math.cos(t)
        if x == 0.0 and y == 0.0:
            continue
        guess = t + rng.choice((0.0, 1e-16, 1e-9, 1e-3, 0.3, 0.78)) * rng.choice((1.0, -1.0))
        exact = mp.atan2(mpf(y), mpf(x))
        exact += 2 * mp.pi * mp.nint((mpf(guess) - exact) / (2 * mp.pi))
        write("angle", (y, x, guess), exact)
    for _ in range(count):
        c = rng.choice((rng.uniform(-1, 1), 1.0 - math.ldexp(rng.random(), -rng.randint(1, 53)), math.ldexp(rng.random(), -rng.randint(1, 60))))
        c *= rng.choice((1.0, -1.0))
        write("arccos", (c,), mp.acos(mpf(c)))
    for c in (1.0, -1.0, 0.0, math.nextafter(1.0, 0.0), math.nextafter(-1.0, 0.0), TINY):
        write("arccos", (c,), mp.acos(mpf(c)))


def main():
    print("# Made by tests/scripts/interval_vectors.py: operation, operands, float below, float above; bits of binary64.")
    rng = random.Random(20240229)
    arithmetic(rng, 420)
    functions(rng, 420)


main()
