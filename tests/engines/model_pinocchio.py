"""Pinocchio's mass matrix of a whole URDF with its root let go, at given readings of its one joint."""

import json
import sys

import numpy as np
import pinocchio as pin

answers = []
for request in json.load(sys.stdin):
    model = pin.buildModelFromUrdf(request["file"], pin.JointModelFreeFlyer())
    data = model.createData()
    matrices = []
    for reading in request["readings"]:
        q = pin.neutral(model)
        q[model.idx_qs[model.getJointId("driven")]] = reading
        half = np.triu(pin.crba(model, data, q))
        matrices.append((half + half.T - np.diag(half.diagonal())).tolist())
    answers.append(matrices)
json.dump(answers, sys.stdout)
