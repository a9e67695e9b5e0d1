"""What Drake makes of a file: reads a list of requests as JSON, prints what each joint became."""

import json
import sys

import numpy as np
from pydrake.multibody.parsing import Parser
from pydrake.multibody.plant import MultibodyPlant


def six(t):
    return [t[0, 0], t[1, 1], t[2, 2], t[0, 1], t[0, 2], t[1, 2]]


def joint(plant, request):
    context = plant.CreateDefaultContext()
    j = plant.GetJointByName(request["joint"])
    j.set_angle(context, request["reading"])
    child = j.child_body()
    pose = plant.EvalBodyPoseInWorld(context, child)
    spatial = child.CalcSpatialInertiaInBodyFrame(context)
    rotation = pose.rotation().matrix()
    center = spatial.get_com()
    about_center = spatial.Shift(center).CalcRotationalInertia().CopyToFullMatrix3()
    axis = plant.CalcRelativeTransform(
        context, plant.world_frame(), j.frame_on_parent()
    ).rotation().matrix() @ j.revolute_axis()
    found = {
        "child": child.name(),
        "axis": axis.tolist(),
        "origin": pose.translation().tolist(),
        "limited": bool(np.isfinite(j.position_upper_limit())),
        "limit": [float(j.position_lower_limit()), float(j.position_upper_limit())],
        "velocity": float(j.velocity_upper_limit()),
        "damping": float(j.default_damping()),
        "rotation": rotation.flatten().tolist(),
        "center": (pose.translation() + rotation @ center).tolist(),
        "tensor": six(rotation @ about_center @ rotation.T),
        "mass": float(spatial.get_mass()),
    }
    if request["format"] == "sdformat":
        actuator = plant.GetJointActuatorByName(request["joint"])
        found["effort"] = float(actuator.effort_limit())
    return found


answers = []
for request in json.load(sys.stdin):
    plant = MultibodyPlant(time_step=0.0)
    Parser(plant).AddModels(request["file"])
    plant.Finalize()
    answers.append([joint(plant, dict(each, format=request["format"])) for each in request["joints"]])

# Infinity is no JSON; an absent limit is left out.
for joints in answers:
    for found in joints:
        for key in ("velocity", "effort"):
            if not np.isfinite(found.get(key, 0.0)):
                del found[key]
json.dump(answers, sys.stdout)
