"""The same tolerance study in plain NumPy: uniform deviations, 181 poses, textbook closure. Reads a JSON object on
standard input (lengths, half tolerances, zero crank, turns, ratio, limits; SI) and prints mean and quantiles of the
worst angle error and the worst ratio error, and the share of builds within all limits."""
import json
import sys

import numpy as np

d = json.load(sys.stdin)
rng = np.random.default_rng(d["seed"])
n, poses = d["samples"], d["poses"]
draw = lambda name: d[name] + d["half"][name] * rng.uniform(-1, 1, (n, 1))
a, b, c, g = draw("crank"), draw("coupler"), draw("rocker"), draw("ground")


def rocker(phi):
    hx, hy = a * np.cos(phi) - g, a * np.sin(phi)
    h2 = hx**2 + hy**2
    k = (c**2 + h2 - b**2) / (2 * c)
    s = -np.sqrt(h2 - k**2)
    psi = np.arctan2(k * hy + s * hx, k * hx - s * hy)
    wx, wy = c * np.cos(psi) - hx, c * np.sin(psi) - hy
    rate = a * (wy * np.cos(phi) - wx * np.sin(phi)) / (c * s)
    return psi, rate


turns = np.linspace(d["turns"][0], d["turns"][1], poses)[None, :]
psi, rate = rocker(d["zero_crank"] + turns)
zero, _ = rocker(np.array([[d["zero_crank"]]]))
error = np.abs((psi - zero + np.pi) % (2 * np.pi) - np.pi - turns / d["ratio"]).max(axis=1)
ratio = np.abs(1 / rate / d["ratio"] - 1).max(axis=1)
within = (error <= d["limits"]["angle"]) & (ratio <= d["limits"]["ratio"])
json.dump(
    {
        "angle_mean": error.mean(),
        "angle_95": np.quantile(error, 0.95),
        "angle_99": np.quantile(error, 0.99),
        "ratio_mean": ratio.mean(),
        "ratio_95": np.quantile(ratio, 0.95),
        "within": within.mean(),
    },
    sys.stdout,
)
