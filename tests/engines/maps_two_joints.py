"""Runs generated maps of two joints: one row of fourteen figures for each row of a map's vectors.

The input's first line is the folder, each other the module, its kind of number and its links. The gradients of both directions
come from an automatic differentiation of their own and are held against the matrix that the code gives.
"""

import csv
import importlib
import sys

import autograd
import autograd.numpy as differentiable
import numpy

sys.path.insert(0, sys.stdin.readline().strip())

for line in sys.stdin:
    name, number, *links = line.split()
    module = importlib.import_module(name)
    kind = numpy.float32 if number == "float" else numpy.float64
    with open(f"{sys.path[0]}/{name}.csv", newline="") as file:
        rows = list(csv.DictReader(file))
    for link in links:
        own = [row for row in rows if row["link"].replace(" ", "_") == link]
        pair = lambda *keys: tuple(numpy.array([row[key] for row in own], dtype=kind) for key in keys)
        joints, motors = pair("pitch_rad", "roll_rad"), pair("motor_1_rad", "motor_2_rad")
        speeds = pair("motor_1_speed_rad_per_s", "motor_2_speed_rad_per_s")
        torques = pair("motor_1_torque_n_m", "motor_2_torque_n_m")
        of = lambda what: getattr(module, f"{link}_{what}")
        with numpy.errstate(invalid="ignore", divide="ignore"):
            there, status = of("motors_from_joints")(joints, numpy)
            rates = of("rates_at_joints")(joints, numpy)
            *out, met = of("map")(motors, speeds, torques, numpy)
            back, again = of("joints_from_motors")(motors, numpy)
        assert numpy.array_equal(met, again) and numpy.array_equal(back[0], out[0][0], equal_nan=True)
        columns = [*there, status, *rates[0], *rates[1], *out[0], *out[1], *out[2], met]
        for column in columns:
            assert column.shape == joints[0].shape, (name, column)
            assert column.dtype.kind != "f" or column.dtype == kind, (name, column.dtype)
        for figures in zip(*columns):
            print(" ".join(repr(float(figure)) for figure in figures))
        if number == "float":
            continue
        # At the very edge the derivative of holding is not that of the map.
        inside = numpy.array([row["joints_status"] == "0" for row in own])
        for joint in joints:
            inside &= (joint > joint[inside].min()) & (joint < joint[inside].max())
        for k in numpy.flatnonzero(inside)[::20]:
            at, to = (numpy.array([pair[0][k], pair[1][k]]) for pair in (joints, motors))
            coded = numpy.array([[rates[i][j][k] for j in (0, 1)] for i in (0, 1)])
            forth = lambda x: differentiable.stack(of("motors_from_joints")((x[0], x[1]), differentiable)[0])
            jacobian = autograd.jacobian(forth)(at)
            assert numpy.abs(jacobian - coded).max() < 1e-12 * max(1.0, numpy.abs(coded).max()), (name, k)
            turned = lambda x: differentiable.stack(of("joints_from_motors")((x[0], x[1]), differentiable)[0])
            inverse = autograd.jacobian(turned)(to) @ coded
            assert numpy.abs(inverse - numpy.eye(2)).max() < 1e-10, (name, k, inverse)
    print("end")
