"""Runs generated maps: one row of figures for each row of a map's vectors.

The input's first line is the folder, each other the module, its kind of number and its joints. The arrays' gradients
come from an automatic differentiation of their own and are held against the ratio that the code gives.
"""

import csv
import importlib
import sys

import autograd
import autograd.numpy as differentiable
import numpy

sys.path.insert(0, sys.stdin.readline().strip())

for line in sys.stdin:
    name, number, *joints = line.split()
    module = importlib.import_module(name)
    kind = numpy.float32 if number == "float" else numpy.float64
    with open(f"{sys.path[0]}/{name}.csv", newline="") as file:
        rows = list(csv.DictReader(file))
    for joint in joints:
        own = [row for row in rows if row["joint_name"] == joint]
        given = ["motor_rad", "motor_speed_rad_per_s", "motor_torque_n_m"]
        motor, speed, torque = (numpy.array([row[key] for row in own], dtype=kind) for key in given)
        of = lambda what: getattr(module, f"{joint}_{what}")
        with numpy.errstate(invalid="ignore", divide="ignore"):
            answers = list(of("map")(motor, speed, torque, numpy))
            ratio = of("ratio_at_motor")(motor, numpy)
            columns = [of("joint_from_motor")(motor, numpy), *answers[1:3], ratio, answers[3]]
            if hasattr(module, f"{joint}_motor_from_joint"):
                columns.append(of("motor_from_joint")(columns[0], numpy))
        for column in columns:
            assert column.shape == motor.shape, (name, column)
            assert column.dtype.kind != "f" or column.dtype == kind, (name, column.dtype)
        for figures in zip(*columns):
            print(" ".join(repr(float(figure)) for figure in figures))
        slope = autograd.grad(lambda x: of("joint_from_motor")(x, differentiable))
        inside = numpy.array([row["status"] == "0" for row in own])
        # At the very ends the derivative of holding is not that of the curve.
        inside &= (motor > motor[inside].min()) & (motor < motor[inside].max())
        if number == "double":
            for x, coded in zip(motor[inside], ratio[inside]):
                got = slope(float(x))
                assert abs(got - 1.0 / coded) <= 4e-15 * max(1.0, abs(got)), (name, x, got, coded)
    print("end")
