"""Pinocchio's mimic joints: how far the follower's link is from where its own reading puts it, at given poses."""

import json
import sys

import numpy as np
import pinocchio as pin


def placement(model, joint, q):
    data = model.createData()
    pin.forwardKinematics(model, data, q)
    return data.oMi[model.getJointId(joint)]


def off(request, pose):
    tied = pin.buildModelFromUrdf(request["file"], mimic=True)
    free = pin.buildModelFromUrdf(request["file"])
    assert tied.nq == 1 and free.nq == 2, (tied.nq, free.nq)
    q = np.zeros(2)
    for joint in (request["leader"], request["follower"]):
        q[free.idx_qs[free.getJointId(joint)]] = pose[joint]
    there = placement(tied, request["follower"], np.array([pose[request["leader"]]]))
    here = placement(free, request["follower"], q)
    return float(np.abs(there.homogeneous - here.homogeneous).max())


json.dump([[off(r, pose) for pose in r["poses"]] for r in json.load(sys.stdin)], sys.stdout)
