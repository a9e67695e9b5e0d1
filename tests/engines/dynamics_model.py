"""The drive as bodies for MuJoCo, written from masses, centres and tensors alone.

Carrier frame: origin B, x from A to B, z the joint axis. At joint angles zero the model stands in the zero pose.
"""

import math

import mujoco
import numpy as np

SPECK = 1e-12  # kg: MuJoCo asks for some mass of every body


def numbers(values):
    return " ".join(repr(float(v)) for v in values)


def inertial(body):
    t = body["tensor"]
    six = [t[0][0], t[1][1], t[2][2], t[0][1], t[0][2], t[1][2]]
    return (
        f'<inertial pos="{numbers(body["centre"])}" mass="{float(body["mass"])!r}" '
        f'fullinertia="{numbers(six)}"/>'
    )


def turn(angle):
    return f'quat="{numbers([math.cos(angle / 2), 0, 0, math.sin(angle / 2)])}"'


def hinge(name, extra=""):
    return f'<joint name="{name}" type="hinge" axis="0 0 1" {extra}/>'


def minus_rotor(carrier, rotor):
    """The carrier without what the rotor's own body brings."""
    j = rotor["inertia"]
    about_z = j if rotor["in_carrier"] else 0.0
    tensor = np.array(carrier["tensor"]) - np.diag([j / 2, j / 2, about_z])
    return dict(carrier, tensor=tensor.tolist())


def rotor_body(case):
    j = case["rotor"]["inertia"]
    return (
        f'<body name="rotor" pos="{numbers([-case["ground"], 0, 0])}">{hinge("rotor")}'
        f'<inertial pos="0 0 0" mass="{SPECK!r}" diaginertia="{numbers([j / 2, j / 2, j])}"/></body>'
    )


def crank_and_rod(case, crank_inertial, crank_extra=""):
    phi, theta = case["zero_crank"], case["zero_coupler"]
    return f"""
    <body name="crank" pos="{numbers([-case["ground"], 0, 0])}" {turn(phi)}>{hinge("crank", crank_extra)}{crank_inertial}
      <body name="coupler" pos="{numbers([case["crank_length"], 0, 0])}" {turn(theta - phi)}>
        {hinge("coupler")}{inertial(case["coupler"])}
        <site name="rod_end" pos="{numbers([case["coupler_length"], 0, 0])}"/>
      </body>
    </body>"""


def crank_alone(case, crank_inertial, extra=""):
    place = f'pos="{numbers([-case["ground"], 0, 0])}" {turn(case["zero_crank"])}'
    return f'<body name="crank" {place}>{hinge("crank", extra)}{crank_inertial}</body>'


def child_body(case, body, extra=""):
    return f"""
    <body name="child" {turn(case["zero_rocker"])}>{hinge("child", extra)}{inertial(body)}
      <site name="rocker_end" pos="{numbers([case["rocker_length"], 0, 0])}"/>
    </body>"""


def model(carrier, inside, mount="<freejoint/>", place="", extra="", option=""):
    return mujoco.MjModel.from_xml_string(
        f"""<mujoco><compiler autolimits="true"/><option gravity="0 0 0" {option}><flag contact="disable"/></option>
        <worldbody><body name="carrier" {place}>{mount}{inertial(carrier)}{inside}</body></worldbody>{extra}</mujoco>"""
    )


def open_chain(case, mount="<freejoint/>", place=""):
    """Every part with a joint of its own, the rotor among them; the loop is not closed."""
    inside = crank_and_rod(case, inertial(case["crank"])) + child_body(case, case["child"]) + rotor_body(case)
    return model(minus_rotor(case["carrier"], case["rotor"]), inside, mount, place)


def direct(case, tree, mount="<freejoint/>", place="", option=""):
    """Carrier, child, armature."""
    inside = child_body(case, tree["child"], f'armature="{tree["armature"]!r}"')
    return model(tree["carrier"], inside, mount, place, option=option)


def dof(m, name):
    return m.jnt_dofadr[mujoco.mj_name2id(m, mujoco.mjtObj.mjOBJ_JOINT, name)]


def address(m, name):
    return m.jnt_qposadr[mujoco.mj_name2id(m, mujoco.mjtObj.mjOBJ_JOINT, name)]


def site(m, name):
    return mujoco.mj_name2id(m, mujoco.mjtObj.mjOBJ_SITE, name)


def mass_matrix(m, d):
    full = np.zeros((m.nv, m.nv))
    mujoco.mj_fullM(m, d, full)
    return full


def site_jacobian(m, d, name):
    jac = np.zeros((3, m.nv))
    mujoco.mj_jacSite(m, d, jac, None, site(m, name))
    return jac


class Loop:
    """The open chain with its loop closed by solving for crank and rod at a joint angle."""

    def __init__(self, case, mount="<freejoint/>", place=""):
        self.case = case
        self.m = open_chain(case, mount, place)
        self.d = mujoco.MjData(self.m)
        self.names = ["crank", "coupler", "child", "rotor"]
        self.dofs = [dof(self.m, n) for n in self.names]
        self.rigid = [k for k in range(self.m.nv) if k not in self.dofs]

    def place(self, names, values):
        for name, value in zip(names, values):
            self.d.qpos[address(self.m, name)] = value
        mujoco.mj_kinematics(self.m, self.d)
        mujoco.mj_comPos(self.m, self.d)

    def gap(self):
        d, m = self.d, self.m
        return d.site_xpos[site(m, "rod_end")] - d.site_xpos[site(m, "rocker_end")]

    def gap_jacobian(self):
        return site_jacobian(self.m, self.d, "rod_end") - site_jacobian(self.m, self.d, "rocker_end")

    def close(self, crank):
        """Newton on coupler and child at a crank turn, from where they stand."""
        start = [self.d.qpos[address(self.m, n)] for n in ["coupler", "child"]]
        self.place(["crank", "rotor"], [crank, self.case["rotor"]["gear_ratio"] * crank])
        x = np.array(start)
        for _ in range(40):
            self.place(["coupler", "child"], x)
            j = self.gap_jacobian()[:, [self.dofs[1], self.dofs[2]]]
            step, *_ = np.linalg.lstsq(j, -self.gap(), rcond=None)
            x = x + step
            if np.abs(step).max() < 1e-15:
                break
        self.place(["coupler", "child"], x)

    def follow(self, crank, step=0.02):
        """Closed at a crank turn, by small steps from where the loop stands."""
        now = self.d.qpos[address(self.m, "crank")]
        for at in np.linspace(now, crank, max(2, int(abs(crank - now) / step) + 2))[1:]:
            self.close(at)

    def rates(self):
        """How far crank, coupler and rotor turn per turn of the child."""
        j = self.gap_jacobian()
        two, *_ = np.linalg.lstsq(j[:, self.dofs[:2]], -j[:, self.dofs[2]], rcond=None)
        return np.array([two[0], two[1], 1.0, self.case["rotor"]["gear_ratio"] * two[0]])

    def projection(self):
        """G: speeds of the open chain from the rigid ones and the joint's."""
        g = np.zeros((self.m.nv, len(self.rigid) + 1))
        for column, row in enumerate(self.rigid):
            g[row, column] = 1.0
        g[self.dofs, -1] = self.rates()
        return g
