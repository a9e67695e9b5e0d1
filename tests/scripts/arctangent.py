"""The coefficients of `ARCTANGENT` in src/numeric/lane_arithmetic.rs, and how far the polynomial is off. Needs mpmath."""

import mpmath as mp

mp.mp.dps = 50
TERMS, TOP = 9, mp.tan(mp.pi / 8) ** 2


def wanted(z):
    t = mp.sqrt(z)
    return (mp.atan(t) / t - 1) / z


points = [TOP / 2 * (1 + mp.cos((2 * k + 1) * mp.pi / (2 * TERMS))) for k in range(TERMS)]
powers = mp.matrix([[z**n for n in range(TERMS)] for z in points])
found = list(mp.lu_solve(powers, mp.matrix([wanted(z) for z in points])))
print("\n".join(repr(float(c)) for c in found))
even = [TOP * k / 2000 for k in range(1, 2001)]
print(mp.nstr(max(abs(z * (mp.polyval(found[::-1], z) - wanted(z))) for z in even), 3), "off in arctan t/t")
