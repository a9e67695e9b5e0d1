"""Lengths, twist and lean of a biped's tilted knee loop, straight from its SDFormat file and independent of the program.

Usage: tilted_knee.py cassie_v2.sdf left|right. The file is the one of the PyPI package `example-robot-data` 6.0.0. The shin is the
carrier: the thigh's arm turns against it about the knee, the tarsus about its own joint, and the rod between thigh and heel has
its ends in a ball and in a hinge that is tilted, taken as a ball. Spring joints stand as drawn. Figures in m and rad, with axes
along the knee's and the tarsus' own readings of shin against thigh and tarsus against shin.
"""

import json
import sys
import xml.etree.ElementTree as ElementTree

import numpy as np


def pose(element):
    x, y, z, roll, pitch, yaw = map(float, (element.findtext("pose") or "0 0 0 0 0 0").split())
    (sr, cr), (sp, cp), (sy, cy) = ((np.sin(a), np.cos(a)) for a in (roll, pitch, yaw))
    turn = np.array([[cy, -sy, 0], [sy, cy, 0], [0, 0, 1]])
    turn = turn @ np.array([[cp, 0, sp], [0, 1, 0], [-sp, 0, cp]])
    turn = turn @ np.array([[1, 0, 0], [0, cr, -sr], [0, sr, cr]])
    return turn, np.array([x, y, z])


def placed(outer, inner):
    return outer[0] @ inner[0], outer[0] @ inner[1] + outer[1]


model = ElementTree.parse(sys.argv[1]).getroot().find("model")
side = sys.argv[2]
links = {link.get("name"): pose(link) for link in model.findall("link")}
joints = {joint.get("name"): joint for joint in model.findall("joint")}


def joint(name):
    """Anchor and axis; in version 1.6 a joint's pose is in its child link and its axis in the joint's frame."""
    element = joints[f"{side}-{name}"]
    frame = placed(links[element.findtext("child")], pose(element))
    axis = np.array(list(map(float, element.findtext("axis/xyz").split())))
    in_model = element.findtext("axis/use_parent_model_frame") in ("1", "true")
    axis = axis if in_model else frame[0] @ axis
    return frame[1], axis / np.linalg.norm(axis)


def circle(pin, point, axis):
    centre = point + axis * np.dot(pin - point, axis)
    return centre, np.linalg.norm(pin - centre)


knee, tarsus = joint("knee-op"), joint("shin-tarsus-joint")
ball, heel = joint("pitch-rod-joint")[0], joint("achilles-spring-joint")[0]
n, m = knee[1], tarsus[1]
a, crank = circle(ball, knee[0], n)
b, rocker = circle(heel, tarsus[0], m)
between = b - a
flat = between - n * np.dot(between, n)
x = flat / np.linalg.norm(flat)
y = np.cross(n, x)
# m = (sin lean, -sin twist cos lean, cos twist cos lean) along x, y, n
lean = np.arcsin(np.dot(m, x))
twist = np.arctan2(-np.dot(m, y), np.dot(m, n))
print(
    json.dumps(
        {
            "ground_m": float(np.linalg.norm(flat)),
            "crank_m": float(crank),
            "coupler_m": float(np.linalg.norm(heel - ball)),
            "rocker_m": float(rocker),
            "axial_m": float(np.dot(between, n)),
            "twist_rad": float(twist),
            "lean_rad": float(lean),
        }
    )
)
