"""Where Pinocchio sees the links and joints of URDF files, all joints at 0: reads file names as JSON."""

import json
import sys

import numpy as np
import pinocchio as pin


def six(t):
    return [t[0, 0], t[1, 1], t[2, 2], t[0, 1], t[0, 2], t[1, 2]]


def pose(placement):
    return [*placement.translation, *placement.rotation.flatten()]


def joint(model, data, j):
    found = {"anchor": data.oMi[j].translation.tolist(), "carries": carried(model, data, j)}
    if model.joints[j].nv == 1:
        v, q = model.idx_vs[j], model.idx_qs[j]
        jacobian = pin.getJointJacobian(model, data, j, pin.ReferenceFrame.LOCAL_WORLD_ALIGNED)
        column = np.reshape(jacobian, (6, model.nv))[:, v]
        found["turn"], found["slide"] = column[3:].tolist(), column[:3].tolist()
        if model.joints[j].nq == 1:
            ends = [model.lowerPositionLimit[q], model.upperPositionLimit[q]]
            found["limit"] = [float(end) for end in ends]
        found["effort"] = float(model.upperEffortLimit[v])
        found["velocity"] = float(model.upperVelocityLimit[v])
        found["damping"] = float(model.damping[v])
        found["friction"] = float(model.upperDryFrictionLimit[v])
    return found


def carried(model, data, j):
    """All that is rigid with the joint's child: mass, centre, tensor about the centre, in the world's axes."""
    inertia = data.oMi[j].act(model.inertias[j])
    return [inertia.mass, *inertia.lever, *six(inertia.inertia)]


def robot(path):
    try:
        model = pin.buildModelFromUrdf(path)
    except Exception as fault:
        return {"refused": str(fault)}
    data = model.createData()
    zero = pin.neutral(model)
    pin.computeJointJacobians(model, data, zero)
    pin.updateFramePlacements(model, data)
    bodies = {f.name: pose(data.oMf[i]) for i, f in enumerate(model.frames) if f.type == pin.BODY}
    joints = {model.names[j]: joint(model, data, j) for j in range(1, model.njoints)}
    return {"links": bodies, "joints": joints, "base": carried(model, data, 0)}


# Infinity is no JSON; 1e300 stands for it.
def finite(value):
    if isinstance(value, dict):
        return {key: finite(each) for key, each in value.items()}
    if isinstance(value, list):
        return [finite(each) for each in value]
    return max(min(value, 1e300), -1e300) if isinstance(value, float) else value


json.dump([finite(robot(path)) for path in json.load(sys.stdin)], sys.stdout)
