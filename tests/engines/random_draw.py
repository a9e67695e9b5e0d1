"""Draws design files at random: reads {"seed": .., "count": ..}, writes a list of {"name", "text", "alone"}.

Figures are those of legs, arms and grippers of 1 to 8 kg; every seventh design or so is of each kind that a robot may
have and a first sketch forgets: mirrored, a negative ratio, a reversing gearbox, pins apart along the axis, two drives on
one link, and so on. Two drives on one link come a second and third time each by itself (`alone`); a single one with a
heavy carrier and child as well (`heavier`), for what its own are too light for.
"""
import cmath
import json
import math
import random
import re
import sys

import numpy as np


class Dice(random.Random):
    def chance(self, share):
        return self.random() < share

    def direction(self):
        v = np.array([self.gauss(0, 1) for _ in range(3)])
        return v / np.linalg.norm(v)

    def rotation(self):
        q, r = np.linalg.qr(np.array([[self.gauss(0, 1) for _ in range(3)] for _ in range(3)]))
        q = q * np.sign(np.diag(r))
        return q * np.linalg.det(q)


def mm(x):
    return f'"{x * 1e3:.7f} mm"'


def deg(x):
    return f'"{math.degrees(x):.7f} deg"'


def numbers(values, form):
    return "[" + ", ".join(form(v) for v in values) + "]"


def plain(x):
    return f"{x:.9f}"


def inertia(x):
    return f'"{x:.7e} kg m2"'


def lengths(dice, kind):
    """Ground, crank and rocker, with the two zero angles: the rod is what is between the pins."""
    g, a = dice.uniform(0.12, 0.35), dice.uniform(0.03, 0.055)
    up = dice.choice([1, -1])
    if kind == "parallelogram":
        phi = up * dice.uniform(1.1, 2.0)
        return g, a, a, phi, phi
    if kind == "general":
        # Ratio near constant where both arms stand square to the rod; a little off that.
        c = a * dice.uniform(0.75, 1.4)
        phi = up * dice.uniform(1.3, 1.8)
        lean = math.asin((c - a) / g)
        return g, a, c, up * (math.pi / 2 + lean) + dice.uniform(-0.15, 0.15), up * (math.pi / 2 + lean) + dice.uniform(-0.15, 0.15)
    if kind == "antiparallelogram":
        phi = up * dice.uniform(1.2, 1.9)
        p = -g + a * cmath.exp(1j * phi)
        # The other meeting of the circles: the image of the parallelogram's Q in the line P-B.
        q = a * cmath.exp(1j * phi)
        q = p / p.conjugate() * q.conjugate()
        return g, a, a, phi, cmath.phase(q)
    c = a * dice.uniform(0.8, 1.3)
    lean = math.asin((a + c) / g)
    return g, a, c, up * (math.pi / 2 - lean) + dice.uniform(-0.1, 0.1), -up * (math.pi / 2 + lean) + dice.uniform(-0.1, 0.1)


def body(dice, mass, centre, size, frame=None, bar=False):
    """[mass.*] with a tensor askew in all axes, or one figure about z."""
    spread = [x * mass * size * size for x in (dice.uniform(0.4, 1.0), dice.uniform(0.4, 1.0))]
    third = dice.uniform(abs(spread[0] - spread[1]) + 0.15 * max(spread), 0.9 * sum(spread))
    turn = dice.rotation()
    t = turn @ np.diag([*spread, third]) @ turn.T
    six = [t[0, 0], t[1, 1], t[2, 2], t[0, 1], t[0, 2], t[1, 2]]
    off = [c + dice.uniform(-0.25, 0.25) * size for c in centre]
    lines = [f'mass = "{mass:.6f} kg"', f"center = {numbers(off, mm)}"]
    lines.append(f"inertia = {inertia(t[2, 2])}" if bar else f"inertia = {numbers(six, inertia)}")
    if frame:
        lines.append(f'frame = "{frame}"')
    return lines


class Place:
    """Where the drawing stands on a link: z, x, B; pins apart along z where asked."""

    def __init__(self, dice, oblique):
        axes = np.eye(3)[dice.sample(range(3), 3)] * dice.choice([1, -1])
        self.z = dice.direction() if oblique else axes[0]
        self.z = np.round(self.z, 9)
        z = self.z / np.linalg.norm(self.z)
        x = dice.direction() if oblique else axes[1]
        self.x = (x - z * (z @ x)) / np.linalg.norm(x - z * (z @ x))
        self.y = np.cross(z, self.x)
        self.unit_z = z
        self.b = np.array([dice.uniform(-0.15, 0.15) for _ in range(3)])

    def at(self, point, height):
        return self.b + point.real * self.x + point.imag * self.y + height * self.unit_z


def draw(dice, k):
    kind = ["parallelogram", "general", "parallelogram", "antiparallelogram", "general", "parallelogram", "crossed"][k % 7]
    pins = ["linkage", "spatial", "linkage", "flat", "spatial"][k % 5]
    robots = ["one", "mirror", "both", "sides", "one", "mirror"][k % 6]
    away = pins != "spatial" and dice.chance(0.3)
    oblique = dice.chance(0.6)
    motor_in_place = pins != "spatial" or dice.chance(0.5)
    reads = dice.chance(0.6)
    g, a, c, phi, psi = lengths(dice, kind)
    rod = abs(c * cmath.exp(1j * psi) + g - a * cmath.exp(1j * phi))
    # As drawn: against the axis where that points away.
    seen = -1.0 if away else 1.0
    motor_reads, joint_reads = (dice.uniform(-0.6, 0.6) if reads else 0.0 for _ in range(2))
    text = ['axis_points = "away"'] if away else []
    place = Place(dice, oblique)
    heights = [0.0, 0.0, 0.0]
    if dice.chance(0.6):
        heights[0] = dice.uniform(-0.05, 0.05)
        heights[1:] = [heights[0]] * 2
        if pins == "spatial":
            heights[1:] = [heights[0] + dice.uniform(-0.03, 0.03)] * 2
            heights[2] += dice.uniform(-0.01, 0.01) if dice.chance(0.4) else 0.0
    p, q = -g + a * cmath.exp(1j * phi), c * cmath.exp(1j * psi)
    if pins == "linkage":
        rod_text = mm(g) if kind in ("parallelogram", "antiparallelogram") else mm(rod)
        text += ["[linkage]", f"ground = {mm(g)}", f"crank = {mm(a)}", f"coupler = {rod_text}", f"rocker = {mm(c)}"]
        text += ["[zero]", f"crank = {deg(seen * phi)}", f"rocker = {deg(seen * psi + 0.02)}"]
    elif pins == "flat":
        turn, shift = cmath.exp(1j * dice.uniform(-3, 3)), complex(dice.uniform(-1, 1), dice.uniform(-1, 1))
        flat = [turn * v + shift for v in (-g, 0, p, q)]
        text.append("[pivots]")
        names = ["motor", "joint", "crank", "rocker"]
        text += [f"{n} = {numbers([v.real, seen * v.imag], mm)}" for n, v in zip(names, flat)]
        text.append("[zero]")
    else:
        points = [place.at(-g + 0j, heights[0]), place.b, place.at(p, heights[1]), place.at(q, heights[2])]
        text += ["[pivots]", f"axis = {numbers(place.z, plain)}"]
        text += [f"{n} = {numbers(v, mm)}" for n, v in zip(["motor", "joint", "crank", "rocker"], points)]
        text.append("[zero]")
    text += [f"motor_reads = {deg(motor_reads)}", f"joint_reads = {deg(joint_reads)}"]
    small = 0.25 if kind == "crossed" else 0.5
    low, high = -dice.uniform(0.1, small), dice.uniform(0.1, small)
    if dice.chance(0.15):
        low = dice.uniform(0.02, 0.08)
    by = "motor" if dice.chance(0.3) else "joint"
    base = motor_reads if by == "motor" else joint_reads
    text += ["[stroke]", f"{by} = {numbers([base + low, base + high], deg)}"]
    if dice.chance(0.4):
        wish = {"parallelogram": "1.0"}.get(kind, '"best"')
        offset = '"best"' if dice.chance(0.5) else '"0.3 deg"' if kind == "general" else '"0 deg"'
        text += ["[direct_joint]", f"ratio = {wish}", f"offset = {offset}"]
    text += actuator(dice, motor_reads, low, high, heavy=k % 10 == 8)
    if dice.chance(0.4):
        text += ["[motion]", 'joint_speed = "6 rad/s"', 'joint_acceleration = "80 rad/s2"', 'carrier_speed = "4 rad/s"']
        text += ['carrier_acceleration = "50 rad/s2"', 'base_acceleration = "15 m/s2"']
    if dice.chance(0.4):
        text += ["[pins]", f"friction = {dice.uniform(0.02, 0.2):.4f}"]
        for name in ("motor", "crank", "rocker", "joint"):
            text.append(f'{name} = {{ fit = "{dice.choice([4, 5, 6, 8, 10])} mm H7/g6", width = "8 mm" }}')
    text += masses(dice, a, rod, bar=robots != "both" and dice.chance(0.15))
    blocks = joints(dice, place, robots, pins, motor_in_place, g, heights[0])
    return text, blocks


def actuator(dice, reads, low, high, heavy):
    """A heavy rotor that turns against the crank may ask more of the links than they have."""
    gear = dice.uniform(3.0, 9.5) * (-1 if heavy or dice.chance(0.25) else 1)
    rotor = dice.uniform(5e-4, 4e-3) if heavy else dice.uniform(1e-5, 1e-4)
    held = "true" if dice.chance(0.5) else "false"
    lines = ["[actuator]", f"gear_ratio = {gear:.6f}", f"rotor_inertia = {inertia(rotor)}"]
    lines += [f"rotor_in_carrier = {held}", f'peak_torque = "{dice.uniform(10, 80):.4f} N m"']
    lines += [f'max_speed = "{dice.uniform(5, 30):.4f} rad/s"', f'damping = "{dice.uniform(0.005, 0.05):.5f} N m s/rad"']
    lines += [f'friction = "{dice.uniform(0.05, 0.5):.5f} N m"', f'position_gain = "{dice.uniform(20, 120):.3f} N m/rad"']
    lines += [f'velocity_gain = "{dice.uniform(0.5, 3):.4f} N m s/rad"']
    if dice.chance(0.4):
        # Motor angles; with a ratio near 1 the upper one often is the tighter.
        lines.append(f"stops = {numbers([reads + low - 0.2, reads + 0.8 * high], deg)}")
    return lines


def masses(dice, a, rod, bar):
    text = ["[mass.crank]", *body(dice, dice.uniform(0.04, 0.12), [0.3 * a, 0, 0], 0.03, bar=bar)]
    text += ["[mass.coupler]", *body(dice, dice.uniform(0.04, 0.14), [dice.uniform(0.35, 0.65) * rod, 0, 0], 0.25 * rod, bar=bar)]
    frame = "robot" if dice.chance(0.4) else None
    text += ["[mass.child]", *body(dice, dice.uniform(0.6, 1.8), [0.02, -0.03, 0], 0.09, frame=frame)]
    text += ["[mass.carrier]", *body(dice, dice.uniform(2.0, 5.0), [0.02, 0.0, -0.03], 0.14, frame="robot")]
    if dice.chance(0.15):
        text += ["[mass.carried]", *body(dice, dice.uniform(2.0, 9.0), [0.0, 0.0, 0.2], 0.2, frame="robot")]
    return text


def joint(dice, name, parent, place, g, lines):
    head = ["[[robot]]", f'joint = "{name}"', f'parent = "{parent}"', f'child = "{name}_child"']
    return [*head, *lines, f"motor_sign = {dice.choice([1, -1])}"]


def joints(dice, place, robots, pins, motor_in_place, g, height):
    """The [[robot]] blocks; the second is the mirror image, or the same drawing elsewhere."""
    mirror = dice.direction()
    mirror -= place.unit_z * (place.unit_z @ mirror)
    mirror /= np.linalg.norm(mirror)
    flip = np.eye(3) - 2 * np.outer(mirror, mirror)
    shift = np.array([dice.uniform(-0.1, 0.1) for _ in range(3)])
    motor = place.at(-g + 0j, height)

    def block(name, parent, b, a, mirrored):
        lines = [f"axis = {numbers(place.z, plain)}"]
        if pins != "spatial" or mirrored or name != "first":
            lines.append(f"origin = {numbers(b, mm)}")
        if motor_in_place:
            lines.append(f"motor_at = {numbers(a, mm)}")
        if mirrored:
            lines.append("mirrored = true")
        return joint(dice, name, parent, place, g, lines)

    first = block("first", "link", place.b, motor, False)
    image = (flip @ place.b, flip @ motor, True)
    beside = (place.b + shift, motor + shift, False)
    if robots == "one":
        return [first]
    if robots == "mirror":
        return [block("image", "link", *image)]
    if robots == "sides":
        return [first, block("image", "other_link", *image)]
    return [first, block("second", "link", *(image if dice.chance(0.5) else beside))]


def heavier(text):
    """Carrier and child with twenty times their mass and inertia, all else alike."""
    scaled, own = [], False
    for line in text:
        own = line in ("[mass.child]", "[mass.carrier]") or (own and not line.startswith("["))
        if own and line.startswith(("mass", "inertia")):
            line = re.sub(r"[-+.0-9e]+(?= kg)", lambda x: f"{20 * float(x[0]):.9e}", line)
        scaled.append(line)
    return scaled


def whole(name, text, blocks):
    lines = [f'name = "{name}"', *text, *(line for block in blocks for line in block)]
    return {"name": name, "text": "\n".join(lines) + "\n"}


def main():
    given = json.load(sys.stdin)
    dice, found = Dice(given["seed"]), []
    for k in range(given["count"]):
        text, blocks = draw(dice, k)
        alone = [whole(f"drawn_{k}_{n}", text, [block]) for n, block in enumerate(blocks)]
        on_one_link = len({block[2] for block in blocks}) < len(blocks)
        one = {**whole(f"drawn_{k}", text, blocks), "alone": alone if on_one_link else []}
        if len(blocks) == 1:
            one["heavier"] = whole(f"drawn_{k}_heavier", heavier(text), blocks)
        found.append(one)
    json.dump(found, sys.stdout)


if __name__ == "__main__":
    main()
