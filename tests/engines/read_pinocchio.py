"""What Pinocchio makes of a file: reads a list of requests as JSON, prints what each joint became."""

import json
import sys

import numpy as np
import pinocchio as pin


def six(t):
    return [t[0, 0], t[1, 1], t[2, 2], t[0, 1], t[0, 2], t[1, 2]]


def first_of(model, names, index):
    for name in names:
        if hasattr(model, name):
            return float(getattr(model, name)[index])
    raise SystemExit("the model has none of " + ", ".join(names))


def joint(model, request):
    j = model.getJointId(request["joint"])
    assert j < model.njoints, request["joint"]
    data, q, v = model.createData(), pin.neutral(model), model.idx_vs[j]
    q[model.idx_qs[j]] = request["reading"]
    pin.forwardKinematics(model, data, q)
    placement = data.oMi[j]
    pin.computeJointJacobians(model, data, q)
    jacobian = pin.getJointJacobian(model, data, j, pin.ReferenceFrame.LOCAL_WORLD_ALIGNED)
    jacobian = np.reshape(jacobian, (6, model.nv))  # with one joint it comes as a vector
    inertia = placement.act(model.inertias[j])
    return {
        "child": next(
            f.name
            for f in model.frames
            if f.type == pin.FrameType.BODY and f.parentJoint == j
        ),
        "axis": jacobian[3:, v].tolist(),
        "origin": placement.translation.tolist(),
        "limit": [
            float(model.lowerPositionLimit[model.idx_qs[j]]),
            float(model.upperPositionLimit[model.idx_qs[j]]),
        ],
        "limited": True,
        "effort": first_of(model, ["effortLimit", "upperEffortLimit"], v),
        "velocity": first_of(model, ["velocityLimit", "upperVelocityLimit"], v),
        "damping": first_of(model, ["damping"], v),
        "friction": first_of(model, ["friction", "upperDryFrictionLimit"], v),
        "armature": float(model.armature[v]),
        "rotation": placement.rotation.flatten().tolist(),
        "center": inertia.lever.tolist(),
        "tensor": six(inertia.inertia),
        "mass": float(inertia.mass),
    }


answers = []
for request in json.load(sys.stdin):
    if request["format"] == "mjcf":
        model = pin.buildModelFromMJCF(request["file"])
    else:
        model = pin.buildModelFromUrdf(request["file"])
    answers.append([joint(model, each) for each in request["joints"]])

# Infinity is no JSON; an absent limit is left out.
for joints in answers:
    for found in joints:
        for key in ("velocity", "effort"):
            if not np.isfinite(found[key]):
                del found[key]
json.dump(answers, sys.stdout)
