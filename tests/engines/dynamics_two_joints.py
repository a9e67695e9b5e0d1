"""Two rods on a universal joint with masses as closed loops on a free carrier in MuJoCo, projected on carrier and both joints.

Input: a list of {pitch, roll, legs, bodies, poses}; all points in metres in the carrier's frame in the zero pose. `pitch` and
`roll` are {point, axis}; a leg is

    {kind: crank, point, axis, pin, foot, bodies, rotor}    {kind: slide, point, direction, ...}    {kind: actuator, ...}

with the bodies crank, coupler, housing, nut and the rotor as `dynamics_space.py` has them, z as near the pitch axis as it can;
`bodies` has carrier, middle and child in the carrier's frame.

Answer for each pose (pitch, roll): the mass matrix for the speed of the carrier frame's origin, its angular speed and both joint
rates, no rod spinning about its own line, and both joints' torques of a weight of 1 m/s2 along x, y and z.
"""

import json
import sys

import mujoco
import numpy as np

from dynamics_space import axes, close, inertial, residual, rotor_body, text, unit


def leg_bodies(leg, k, beside_axis):
    """The bodies of one leg; its far end carries the site `end_k`, the body whose spin is held is `rod_k`."""
    bodies, pin, foot = leg["bodies"], np.array(leg["pin"]), np.array(leg["foot"])
    along = unit(foot - pin)
    beside = axes(foot - pin, beside_axis)
    zero = [0, 0, 0]

    def rotor(axis, at):
        return rotor_body(leg.get("rotor"), axis, at).replace('"rotor"', f'"rotor_{k}"')

    end = f'<site name="end_{k}" pos="{text(foot - pin)}"/>'
    if leg["kind"] == "actuator":
        return f"""<body name="rod_{k}" pos="{text(pin)}">{inertial(bodies.get("housing"), beside, zero)}<joint name="ball_{k}" type="ball"/>
          {rotor(along, zero)}<body>{inertial(bodies.get("nut"), beside, foot - pin)}
          <joint name="input_{k}" type="slide" axis="{text(along)}"/>{end}</body></body>"""
    fixed = ""
    if leg["kind"] == "slide":
        way = unit(leg["direction"])
        hinge = f'<joint name="input_{k}" type="slide" axis="{text(way)}"/>'
        origin, first = pin, inertial(bodies.get("nut"), axes(way, beside_axis), zero)
        fixed = f'<body>{inertial(bodies.get("housing"), axes(way, beside_axis), leg["point"])}</body>'
    else:
        origin, way = np.array(leg["point"]), unit(leg["axis"])
        hinge = f'<joint name="input_{k}" type="hinge" axis="{text(way)}"/>'
        first = inertial(bodies.get("crank"), axes(pin - origin, way), zero)
    return f"""{fixed}{rotor(way, leg["point"])}<body pos="{text(origin)}">{first}{hinge}
      <body name="rod_{k}" pos="{text(pin - origin)}">{inertial(bodies.get("coupler"), beside, zero)}
      <joint name="ball_{k}" type="ball"/>{end}</body></body>"""


def model(case):
    pitch, roll, bodies = case["pitch"], case["roll"], case["bodies"]
    one, two = np.array(pitch["point"]), np.array(roll["point"])
    still = np.eye(3)
    feet = "".join(
        f'<site name="foot_{k}" pos="{text(np.array(leg["foot"]) - two)}"/>' for k, leg in enumerate(case["legs"])
    )
    legs = "".join(leg_bodies(leg, k, unit(pitch["axis"])) for k, leg in enumerate(case["legs"]))
    return mujoco.MjModel.from_xml_string(
        f"""<mujoco><compiler angle="radian"/><option jacobian="dense"/><worldbody><body name="carrier"><freejoint/>
        {inertial(bodies["carrier"], still, [0, 0, 0])}
        <body pos="{text(one)}">{inertial(bodies["middle"], still, -one)}
          <joint name="pitch" type="hinge" axis="{text(unit(pitch["axis"]))}"/>
          <body pos="{text(two - one)}">{inertial(bodies["child"], still, -two)}
            <joint name="roll" type="hinge" axis="{text(unit(roll["axis"]))}"/>{feet}</body></body>
        {legs}</body></worldbody><equality><connect site1="end_0" site2="foot_0"/><connect site1="end_1" site2="foot_1"/></equality>
        </mujoco>"""
    )


def upright(built, data, k, zero_axes, beside_axis):
    """Turns a rod about its own line until its z lies as near the pitch axis as it can."""
    rod = data.body(f"rod_{k}")
    along = unit(data.site(f"foot_{k}").xpos - rod.xpos)
    wanted = axes(along, beside_axis)
    now = rod.xmat.reshape(3, 3) @ zero_axes
    angle = np.arctan2(np.dot(along, np.cross(now[:, 2], wanted[:, 2])), now[:, 2].dot(wanted[:, 2]))
    dof = int(built.joint(f"ball_{k}").dofadr[0])
    step = np.zeros(built.nv)
    step[dof : dof + 3] = rod.xmat.reshape(3, 3).T @ along * angle
    mujoco.mj_integratePos(built, data.qpos, step, 1.0)


def answer(case):
    built = model(case)
    data = mujoco.MjData(built)
    held = [int(built.joint(name).dofadr[0]) for name in ("pitch", "roll")]
    addresses = [int(built.joint(name).qposadr[0]) for name in ("pitch", "roll")]
    rotors = [int(built.joint(f"rotor_{k}").dofadr[0]) for k in (0, 1)]
    inputs = [int(built.joint(f"input_{k}").dofadr[0]) for k in (0, 1)]
    free = [dof for dof in range(6, built.nv) if dof not in held + rotors]
    beside_axis = unit(case["pitch"]["axis"])
    found = []
    for pose in case["poses"]:
        mujoco.mj_resetData(built, data)
        # in small steps from the drawn pose, so that the assembly stays
        for share in np.linspace(0.0, 1.0, 41):
            for address, turn in zip(addresses, pose):
                data.qpos[address] = share * turn
            close(built, data, free)
        for k, leg in enumerate(case["legs"]):
            upright(built, data, k, axes(np.array(leg["foot"]) - leg["pin"], beside_axis), beside_axis)
        error, jacobian = residual(built, data)
        rows = [jacobian]
        for k in (0, 1):
            turning = np.zeros((3, built.nv))
            mujoco.mj_jacBody(built, data, None, turning, built.body(f"rod_{k}").id)
            rows.append(unit(data.site(f"foot_{k}").xpos - data.body(f"rod_{k}").xpos) @ turning)
        rows = np.vstack(rows)
        to_speeds = np.zeros((built.nv, 8))
        to_speeds[:6, :6] = np.eye(6)
        for column, dof in enumerate(held):
            speed = np.zeros(built.nv)
            speed[dof] = 1.0
            speed[free] = np.linalg.lstsq(rows[:, free], -rows[:, dof], rcond=1e-12)[0]
            for k, leg in enumerate(case["legs"]):
                speed[rotors[k]] = leg["rotor"]["turns"] * speed[inputs[k]]
            to_speeds[:, 6 + column] = speed
        mujoco.mj_forward(built, data)
        whole = np.zeros((built.nv, built.nv))
        mujoco.mj_fullM(built, data, whole)
        weights = []
        for axis in np.eye(3):
            built.opt.gravity[:] = axis
            data.qvel[:] = 0.0
            mujoco.mj_forward(built, data)
            weights.append((-to_speeds[:, 6:].T @ data.qfrc_bias).tolist())
        found.append(
            {
                "matrix": (to_speeds.T @ whole @ to_speeds).ravel().tolist(),
                "weights": weights,
                "left": float(np.abs(error).max()),
            }
        )
    return found


if __name__ == "__main__":
    json.dump([answer(case) for case in json.load(sys.stdin)], sys.stdout)
