"""An SDFormat robot beside its folded one: reads {"closed", "folded": SDFormat, both with their loops opened so that the
engine loads them, "poses": [{"closed": {joint: reading}, "folded": {...}}]} and prints how many joints each has, the masses,
the largest difference of the mass centre and of the whole robot's inertia about it (share of its largest entry), from Drake;
and joints and mass of the folded one from Bullet."""

import json
import logging
import sys
import tempfile
import xml.etree.ElementTree as tree

import numpy as np
import pybullet as bullet
from pydrake.multibody.parsing import Parser
from pydrake.multibody.plant import MultibodyPlant
from pydrake.multibody.tree import BodyIndex

logging.getLogger("drake").setLevel(logging.CRITICAL)
given = json.load(sys.stdin)


def load(text):
    plant = MultibodyPlant(time_step=0.0)
    Parser(plant).AddModelsFromString(text, "sdf")
    plant.Finalize()
    return plant, plant.CreateDefaultContext()


def whole(plant, context, readings):
    for name, reading in readings.items():
        plant.GetJointByName(name).set_angle(context, reading)
    bodies = [BodyIndex(i) for i in range(1, plant.num_bodies())]
    spatial = plant.CalcSpatialInertia(context, plant.world_frame(), bodies)
    centre = spatial.get_com()
    return centre, spatial.Shift(centre).CalcRotationalInertia().CopyToFullMatrix3()


closed, folded = load(given["closed"]), load(given["folded"])
worst = {"centre": 0.0, "inertia": 0.0}
for pose in given["poses"]:
    (a, i), (b, j) = whole(*closed, pose["closed"]), whole(*folded, pose["folded"])
    worst["centre"] = max(worst["centre"], float(np.abs(a - b).max()))
    worst["inertia"] = max(worst["inertia"], float(np.abs(i - j).max() / np.abs(i).max()))



def limited(text):
    """With wide limits where a hinge has none, and without losses and springs: Bullet reads no hinge otherwise."""
    root = tree.fromstring(text)
    for axis in root.iter("axis"):
        for losses in axis.findall("dynamics"):
            axis.remove(losses)
        if axis.find("limit") is None:
            limit = tree.SubElement(axis, "limit")
            tree.SubElement(limit, "lower").text, tree.SubElement(limit, "upper").text = "-3", "3"
    return tree.tostring(root, encoding="unicode")


bullet.connect(bullet.DIRECT)
with tempfile.NamedTemporaryFile("w", suffix=".sdf") as file:
    file.write(limited(given["folded"]))
    file.flush()
    (body,) = bullet.loadSDF(file.name)
links = range(-1, bullet.getNumJoints(body))
names = sorted(bullet.getJointInfo(body, j)[1].decode() for j in links if j >= 0)
mass = sum(bullet.getDynamicsInfo(body, link)[0] for link in links)
# Engines write to standard output as they load: the answer is its last line.
print()
print(json.dumps({
    "joints": [plant.num_joints() for plant, _ in (closed, folded)],
    "mass": [plant.CalcTotalMass(context) for plant, context in (closed, folded)],
    "other_engine": {"joints": names, "mass": mass},
    **worst,
}))
