"""Where Drake sees the links and joints of SDFormat files, all joints at 0: reads file names as JSON."""

import json
import logging
import sys

import numpy as np
from pydrake.multibody.parsing import Parser
from pydrake.multibody.plant import MultibodyPlant
from pydrake.multibody.tree import BodyIndex

logging.getLogger("drake").setLevel(logging.CRITICAL)


def six(t):
    return [t[0, 0], t[1, 1], t[2, 2], t[0, 1], t[0, 2], t[1, 2]]


def pose(x):
    return [*x.translation(), *x.rotation().matrix().flatten()]


def link(plant, context, body):
    spatial = body.CalcSpatialInertiaInBodyFrame(context)
    center = spatial.get_com()
    tensor = spatial.Shift(center).CalcRotationalInertia().CopyToFullMatrix3()
    inertial = [spatial.get_mass(), *center, *six(tensor)]
    return {"pose": pose(plant.EvalBodyPoseInWorld(context, body)), "inertial": inertial}


def joint(plant, context, j):
    at = j.frame_on_child().CalcPoseInWorld(context)
    found = {"anchor": at.translation().tolist(), "type": j.type_name()}
    if j.type_name() in ("revolute", "prismatic"):
        own = j.revolute_axis() if j.type_name() == "revolute" else j.translation_axis()
        rotation = j.frame_on_parent().CalcPoseInWorld(context).rotation().matrix()
        found["axis"] = (rotation @ own).tolist()
        found["limit"] = [j.position_lower_limits()[0], j.position_upper_limits()[0]]
        found["velocity"] = float(j.velocity_upper_limits()[0])
        found["damping"] = float(j.default_damping())
    return found


def robot(path):
    plant = MultibodyPlant(time_step=0.0)
    try:
        Parser(plant).AddModels(path)
        plant.Finalize()
    except Exception as fault:
        return {"refused": str(fault)}
    context = plant.CreateDefaultContext()

    def scope(x):
        return f"{plant.GetModelInstanceName(x.model_instance())}::{x.name()}"

    bodies = [plant.get_body(BodyIndex(i)) for i in range(plant.num_bodies())]
    joints = [plant.get_joint(i) for i in plant.GetJointIndices()]
    return {
        "links": {scope(b): link(plant, context, b) for b in bodies if b is not plant.world_body()},
        "joints": {scope(j): joint(plant, context, j) for j in joints},
    }


# Infinity and NaN are no JSON; 1e300 stands for infinity, null for NaN.
def finite(value):
    if isinstance(value, dict):
        return {key: finite(each) for key, each in value.items()}
    if isinstance(value, list):
        return [finite(each) for each in value]
    if isinstance(value, (float, np.floating)):
        return None if np.isnan(value) else float(max(min(value, 1e300), -1e300))
    return value


json.dump([finite(robot(path)) for path in json.load(sys.stdin)], sys.stdout)
