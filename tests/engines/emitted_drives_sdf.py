"""Closed loops of drives with one joint in SDFormat as Drake reads them: readings and rates of the motor's joint at readings of
the driven one.

Input: a list of {sdf, joint, motor, closing, reads: [..]}. The engine holds trees alone, so the joint `closing` is taken out
and its two points are brought together by least-squares steps over all other coordinates, in small steps from the drawn pose
of all joints at 0. `drawn` is what is open there between the closing joint's place on its parent and `foot` on its child, `left`
what stays open; `mass` is that of all bodies, `limits` and `effort` are the motor joint's.
"""

import json
import logging
import sys
import xml.etree.ElementTree as tree

import numpy as np
from pydrake.multibody.parsing import Parser
from pydrake.multibody.plant import MultibodyPlant
from pydrake.multibody.tree import JacobianWrtVariable

logging.getLogger("drake").setLevel(logging.CRITICAL)


def opened(text, closing):
    """The text without the closing joint, its two links and its place on the first."""
    root = tree.fromstring(text)
    model = root.find("model")
    joint = next(j for j in model.findall("joint") if j.get("name") == closing)
    model.remove(joint)
    pose = joint.find("pose")
    parent, child = joint.find("parent").text, joint.find("child").text
    assert joint.get("type") == "ball" and pose.get("relative_to") == parent, joint.attrib
    at = [float(x) for x in pose.text.split()]
    assert at[3:] == [0.0, 0.0, 0.0]
    return tree.tostring(root, encoding="unicode"), parent, child, np.array(at[:3])


def answer(one):
    text, parent, child, at = opened(one["sdf"], one["closing"])
    plant = MultibodyPlant(time_step=0.0)
    Parser(plant).AddModelsFromString(text, "sdf")
    plant.Finalize()
    context = plant.CreateDefaultContext()
    world = plant.world_frame()
    frames = [plant.GetFrameByName(name) for name in (parent, child)]
    joint, motor = (plant.GetJointByName(one[name]) for name in ("joint", "motor"))
    held, own = joint.position_start(), motor.position_start()
    free = [k for k in range(plant.num_positions()) if k != held]
    foot = plant.CalcPointsPositions(context, frames[0], at, frames[1]).ravel()
    points = [at, foot]

    def gap():
        first, second = (plant.CalcPointsPositions(context, f, p, world).ravel() for f, p in zip(frames, points))
        return first - second

    def slopes():
        first, second = (
            plant.CalcJacobianPositionVector(context, f, p, world, world)
            if hasattr(plant, "CalcJacobianPositionVector")
            else plant.CalcJacobianTranslationalVelocity(context, JacobianWrtVariable.kQDot, f, p, world, world)
            for f, p in zip(frames, points)
        )
        return first - second

    def close():
        for _ in range(60):
            error = gap()
            if np.abs(error).max() < 1e-15:
                break
            q = plant.GetPositions(context).copy()
            q[free] -= np.linalg.lstsq(slopes()[:, free], error, rcond=1e-9)[0]
            plant.SetPositions(context, q)
        return float(np.abs(gap()).max())

    poses = []
    for reads in one["reads"]:
        plant.SetPositions(context, np.zeros(plant.num_positions()))
        for share in np.linspace(0.0, 1.0, 21):
            q = plant.GetPositions(context).copy()
            q[held] = share * reads
            plant.SetPositions(context, q)
            left = close()
        jacobian = slopes()
        rate = np.zeros(plant.num_positions())
        rate[held] = 1.0
        rate[free] = -np.linalg.lstsq(jacobian[:, free], jacobian[:, held], rcond=1e-9)[0]
        poses.append({"motor": float(plant.GetPositions(context)[own]), "rate": float(rate[own]), "left": left})
    actuators = [plant.get_joint_actuator(i) for i in plant.GetJointActuatorIndices()]
    effort = [a.effort_limit() for a in actuators if a.joint().name() == one["motor"]]
    return {
        "poses": poses,
        "foot": foot.tolist(),
        "limits": [float(motor.position_lower_limits()[0]), float(motor.position_upper_limits()[0])],
        "effort": effort,
        "mass": plant.CalcTotalMass(context),
    }


if __name__ == "__main__":
    given = json.load(sys.stdin)
    # Engines write to standard output as they load: the answer is its last line.
    found = [answer(one) for one in given]
    print()
    print(json.dumps(found))
