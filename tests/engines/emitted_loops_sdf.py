"""Closed loops of drives in SDFormat as Drake reads them: readings and rates of the motors' joints at readings of the driven ones.

Input: a list of {sdf, joints, motors, closing, poses: [[..], ..]}. The engine holds trees alone, so the joints `closing` are taken
out and their two points are brought together by least-squares steps over all other coordinates, in small steps from the drawn
pose of all joints at 0. `feet` are the closing joints' places in their children as drawn, `left` is what stays open, `inertia` the
mass matrix at the driven joints; `mass` is that of all bodies, `limits` and `effort` are the motors' joints'.
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
    """The text without the closing joints; of each its two links and its place on the first."""
    root = tree.fromstring(text)
    model = root.find("model")
    pins = []
    for name in closing:
        joint = next(j for j in model.findall("joint") if j.get("name") == name)
        model.remove(joint)
        pose, parent = joint.find("pose"), joint.find("parent").text
        at = [float(x) for x in pose.text.split()]
        assert joint.get("type") == "ball" and pose.get("relative_to") == parent and at[3:] == [0.0] * 3
        pins.append((parent, joint.find("child").text, np.array(at[:3])))
    return tree.tostring(root, encoding="unicode"), pins


class Loops:
    """The opened model with the pairs of points that belong together."""

    def __init__(self, one):
        text, pins = opened(one["sdf"], one["closing"])
        self.plant = MultibodyPlant(time_step=0.0)
        Parser(self.plant).AddModelsFromString(text, "sdf")
        self.plant.Finalize()
        self.context = self.plant.CreateDefaultContext()
        self.ends, self.feet = [], []
        for parent, child, at in pins:
            first, second = self.plant.GetFrameByName(parent), self.plant.GetFrameByName(child)
            foot = self.plant.CalcPointsPositions(self.context, first, at, second).ravel()
            self.ends += [(first, at), (second, foot)]
            self.feet.append(foot)

    def gap(self):
        world = self.plant.world_frame()
        at = [self.plant.CalcPointsPositions(self.context, f, p, world).ravel() for f, p in self.ends]
        return np.concatenate([a - b for a, b in zip(at[::2], at[1::2])])

    def slopes(self, variable):
        plant, world = self.plant, self.plant.world_frame()
        of = plant.CalcJacobianTranslationalVelocity
        at = [of(self.context, variable, f, p, world, world) for f, p in self.ends]
        return np.concatenate([a - b for a, b in zip(at[::2], at[1::2])])

    def close(self, held):
        free = [k for k in range(self.plant.num_positions()) if k not in held]
        for _ in range(60):
            error = self.gap()
            if np.abs(error).max() < 1e-15:
                break
            q = self.plant.GetPositions(self.context).copy()
            slopes = self.slopes(JacobianWrtVariable.kQDot)
            q[free] -= np.linalg.lstsq(slopes[:, free], error, rcond=1e-9)[0]
            self.plant.SetPositions(self.context, q)
        return float(np.abs(self.gap()).max())

    def rates(self, held):
        """Of all velocities per velocity of those that are held, a column each."""
        free = [k for k in range(self.plant.num_velocities()) if k not in held]
        slopes = self.slopes(JacobianWrtVariable.kV)
        all = np.zeros((self.plant.num_velocities(), len(held)))
        for column, dof in enumerate(held):
            all[dof, column] = 1.0
            all[free, column] = -np.linalg.lstsq(slopes[:, free], slopes[:, dof], rcond=1e-9)[0]
        return all


def finite(x):
    return float(x) if np.isfinite(x) else None


def answer(one):
    loops = Loops(one)
    plant, context = loops.plant, loops.context
    joints, motors = ([plant.GetJointByName(name) for name in one[key]] for key in ("joints", "motors"))
    held = [joint.position_start() for joint in joints]
    poses = []
    for reads in one["poses"]:
        plant.SetPositions(context, np.zeros(plant.num_positions()))
        for share in np.linspace(0.0, 1.0, 21):
            q = plant.GetPositions(context).copy()
            q[held] = share * np.array(reads)
            plant.SetPositions(context, q)
            left = loops.close(held)
        rates = loops.rates([joint.velocity_start() for joint in joints])
        q = plant.GetPositions(context)
        poses.append(
            {
                "motors": [float(q[motor.position_start()]) for motor in motors],
                "rates": [rates[motor.velocity_start()].tolist() for motor in motors],
                "inertia": (rates.T @ plant.CalcMassMatrix(context) @ rates).tolist(),
                "left": left,
            }
        )
    actuators = [plant.get_joint_actuator(i) for i in plant.GetJointActuatorIndices()]
    efforts = {a.joint().name(): a.effort_limit() for a in actuators}
    ends = ("position_lower_limits", "position_upper_limits")
    return {
        "poses": poses,
        "feet": [foot.tolist() for foot in loops.feet],
        "limits": [[finite(getattr(motor, end)()[0]) for end in ends] for motor in motors],
        "effort": [efforts.get(name) for name in one["motors"]],
        "mass": plant.CalcTotalMass(context),
    }


if __name__ == "__main__":
    found = [answer(one) for one in json.load(sys.stdin)]
    # Engines write to standard output as they load: the answer is its last line.
    print()
    print(json.dumps(found))
