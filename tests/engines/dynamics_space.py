"""Drives of one joint with masses as closed loops on a free carrier in MuJoCo, projected on carrier and joint.

Input: a list of {rod, bodies, rotor, turns}, in the joint frame: the joint axis is z through the origin, all points in metres in
the zero pose. `rod` is

    {kind: crank, point, axis, pin, foot}        crank hinge, rod with a ball at the pin, its other end held at the foot
    {kind: slide, point, direction, pin, foot}   nut on a guide, rod with a ball at the nut
    {kind: actuator, pin, foot}                  housing on a ball at the pin, nut sliding in it towards the foot

`bodies` has carrier and child (z the joint axis, x to the foot), crank, coupler, housing, nut, each {mass, centre, tensor} in the
frame that its part has: crank z the motor axis, x to the pin; all others x along the rod or guide, z as near the joint axis as it can.
`rotor` is {inertia, turns, body}: turns of the rotor per unit of the input's place (rad or m) about crank axis, guide or rod, `body`
its own figures with z that axis, borne by carrier or housing.

Answer for each joint turn: the mass matrix for the origin's speed, the carrier's angular speed and the joint rate, the rod not
spinning about its own line, and the joint's torque of a weight of 1 m/s2 along x, y and z.
"""

import json
import sys

import mujoco
import numpy as np

Z = np.array([0.0, 0.0, 1.0])


def text(values):
    return " ".join(repr(float(x)) for x in np.ravel(values))


def unit(vector):
    return np.array(vector) / np.linalg.norm(vector)


def axes(x, near):
    """Columns x, y, z with z as near to `near` as it can."""
    x = unit(x)
    z = unit(near - x * x.dot(near))
    return np.column_stack([x, np.cross(z, x), z])


def inertial(body, frame, at):
    """The figures of a body whose own frame stands in `frame` at `at`, as a parent with the carrier's axes sees them."""
    if body is None:
        return '<inertial pos="0 0 0" mass="1e-12" diaginertia="1e-14 1e-14 1e-14"/>'
    tensor = frame @ np.array(body["tensor"]) @ frame.T
    six = [tensor[0, 0], tensor[1, 1], tensor[2, 2], tensor[0, 1], tensor[0, 2], tensor[1, 2]]
    centre = np.array(at) + frame @ np.array(body["centre"])
    return f'<inertial pos="{text(centre)}" mass="{body["mass"]!r}" fullinertia="{text(six)}"/>'


def rotor_body(rotor, axis, at):
    if rotor is None:
        return ""
    frame = axes(np.cross(axis, [0.31, 0.7, 0.2]), np.array(axis))
    held = inertial(rotor["body"], frame, [0, 0, 0])
    return f'<body pos="{text(at)}">{held}<joint name="rotor" type="hinge" axis="{text(axis)}"/></body>'


def rod_bodies(rod, bodies, rotor):
    """The bodies of the rod; its far end carries the site `end`, the body whose spin is held is `rod`."""
    pin, foot = np.array(rod["pin"]), np.array(rod["foot"])
    along = unit(foot - pin)
    beside = axes(foot - pin, Z)
    zero = [0, 0, 0]
    if rod["kind"] == "actuator":
        spin = rotor_body(rotor, along, zero)
        return f"""<body name="rod" pos="{text(pin)}">{inertial(bodies.get("housing"), beside, zero)}<joint type="ball"/>{spin}
          <body pos="0 0 0">{inertial(bodies.get("nut"), beside, foot - pin)}<joint name="input" type="slide" axis="{text(along)}"/>
            <site name="end" pos="{text(foot - pin)}"/></body></body>"""
    if rod["kind"] == "slide":
        way = unit(rod["direction"])
        hinge = f'<joint name="input" type="slide" axis="{text(way)}"/>'
        origin, first = pin, inertial(bodies.get("nut"), axes(way, Z), zero)
        spin = rotor_body(rotor, way, rod["point"])
    else:
        origin, way = np.array(rod["point"]), unit(rod["axis"])
        hinge = f'<joint name="input" type="hinge" axis="{text(way)}"/>'
        first = inertial(bodies.get("crank"), axes(pin - origin, way), zero)
        spin = rotor_body(rotor, way, rod["point"])
    return f"""{spin}<body pos="{text(origin)}">{first}{hinge}
      <body name="rod" pos="{text(pin - origin)}">{inertial(bodies.get("coupler"), beside, zero)}<joint type="ball"/>
        <site name="end" pos="{text(foot - pin)}"/></body></body>"""


def model(case):
    rod, bodies = case["rod"], case["bodies"]
    foot = np.array(rod["foot"])
    fixed = ""
    if rod["kind"] == "slide" and bodies.get("housing"):
        held = inertial(bodies["housing"], axes(rod["direction"], Z), rod["point"])
        fixed = f'<body name="guide">{held}</body>'
    child = inertial(bodies["child"], axes(foot - Z * foot.dot(Z), Z), [0, 0, 0])
    return mujoco.MjModel.from_xml_string(
        f"""<mujoco><compiler angle="radian"/><option jacobian="dense"/><worldbody><body name="carrier"><freejoint/>
        {inertial(bodies["carrier"], np.eye(3), [0, 0, 0])}{fixed}
        <body>{child}<joint name="joint" type="hinge" axis="0 0 1"/><site name="foot" pos="{text(foot)}"/></body>
        {rod_bodies(rod, bodies, case.get("rotor"))}</body></worldbody>
        <equality><connect site1="end" site2="foot"/></equality></mujoco>"""
    )


def residual(built, data):
    mujoco.mj_kinematics(built, data)
    mujoco.mj_comPos(built, data)
    mujoco.mj_makeConstraint(built, data)
    return np.array(data.efc_pos), np.array(data.efc_J).reshape(-1, built.nv)


def close(built, data, free):
    for _ in range(100):
        error, jacobian = residual(built, data)
        step = np.zeros(built.nv)
        step[free] = -np.linalg.lstsq(jacobian[:, free], error, rcond=1e-10)[0]
        mujoco.mj_integratePos(built, data.qpos, step, 1.0)
        if np.abs(step).max() < 1e-15:
            break
    return residual(built, data)


def line(data):
    """The rod's line, seen by the carrier that stands still."""
    return unit(data.site("foot").xpos - data.body("rod").xpos)


def upright(built, data, zero_axes):
    """Turns the rod about its own line until its z lies as near the joint axis as it can."""
    along = line(data)
    wanted = axes(along, Z)
    now = data.body("rod").xmat.reshape(3, 3) @ zero_axes
    angle = np.arctan2(np.dot(along, np.cross(now[:, 2], wanted[:, 2])), now[:, 2].dot(wanted[:, 2]))
    ball = next(j for j in range(built.njnt) if built.jnt_type[j] == mujoco.mjtJoint.mjJNT_BALL)
    dof = built.jnt_dofadr[ball]
    step = np.zeros(built.nv)
    step[dof : dof + 3] = data.body("rod").xmat.reshape(3, 3).T @ along * angle
    mujoco.mj_integratePos(built, data.qpos, step, 1.0)


def answer(case):
    built = model(case)
    data = mujoco.MjData(built)
    joint, source = built.joint("joint"), built.joint("input")
    rotor = int(built.joint("rotor").dofadr[0]) if case.get("rotor") else None
    held = int(joint.dofadr[0])
    free = [dof for dof in range(6, built.nv) if dof not in (held, rotor)]
    rod = case["rod"]
    zero_axes = axes(np.array(rod["foot"]) - rod["pin"], Z)
    found = []
    for turn in case["turns"]:
        mujoco.mj_resetData(built, data)
        # in small steps from the drawn pose, so that the assembly stays
        for share in np.linspace(0.0, 1.0, 41):
            data.qpos[joint.qposadr[0]] = share * turn
            close(built, data, free)
        upright(built, data, zero_axes)
        error, jacobian = residual(built, data)
        along = line(data)
        turning = np.zeros((3, built.nv))
        mujoco.mj_jacBody(built, data, None, turning, built.body("rod").id)
        rows = np.vstack([jacobian, along @ turning])
        speed = np.zeros(built.nv)
        speed[held] = 1.0
        speed[free] = np.linalg.lstsq(rows[:, free], -rows[:, held], rcond=1e-12)[0]
        if rotor is not None:
            speed[rotor] = case["rotor"]["turns"] * speed[int(source.dofadr[0])]
        to_speeds = np.zeros((built.nv, 7))
        to_speeds[:6, :6] = np.eye(6)
        to_speeds[:, 6] = speed
        mujoco.mj_forward(built, data)
        whole = np.zeros((built.nv, built.nv))
        mujoco.mj_fullM(built, data, whole)
        weights = []
        for axis in np.eye(3):
            built.opt.gravity[:] = axis
            data.qvel[:] = 0.0
            mujoco.mj_forward(built, data)
            weights.append(float(-speed @ data.qfrc_bias))
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
