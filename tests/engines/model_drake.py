"""Drake's mimic joints: how far the follower is off the line after a tenth of a second from given poses."""

import json
import sys

from pydrake.multibody.parsing import Parser
from pydrake.multibody.plant import DiscreteContactApproximation, MultibodyPlant
from pydrake.systems.analysis import Simulator


def off(request, pose):
    plant = MultibodyPlant(time_step=1e-3)
    plant.set_discrete_contact_approximation(DiscreteContactApproximation.kSap)
    Parser(plant).AddModels(request["file"])
    plant.Finalize()
    assert plant.num_constraints() == 1, plant.num_constraints()
    leader, follower = [plant.GetJointByName(request[k]) for k in ("leader", "follower")]
    simulator = Simulator(plant)
    context = simulator.get_mutable_context()
    leader.set_angle(context, pose[request["leader"]])
    follower.set_angle(context, pose[request["follower"]])
    simulator.AdvanceTo(0.1)
    (first, last) = (request["poses"][0], request["poses"][-1])
    run = lambda key: last[request[key]] - first[request[key]]
    slope = run("follower") / run("leader")
    moved = leader.get_angle(context) - pose[request["leader"]]
    assert abs(moved) > 1e-3, "it does not move"
    return abs(follower.get_angle(context) - pose[request["follower"]] - slope * moved)


json.dump([[off(r, r["poses"][1]), off(r, r["poses"][2])] for r in [q for q in json.load(sys.stdin)]], sys.stdout)
