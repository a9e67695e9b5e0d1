"""Both directions of the exact map in NAME.joints.json of unloop: python3 two_joints.py NAME.joints.json

Needs nothing but Python. `motors` turns readings of pitch and roll into those of both motors, `joints` turns them back. Started
as a program it holds both to every pose in the file and ends with 0 where they agree."""
import json
import math
import sys


def add(a, b): return [x + y for x, y in zip(a, b)]
def less(a, b): return [x - y for x, y in zip(a, b)]
def dot(a, b): return sum(x * y for x, y in zip(a, b))
def times(a, s): return [x * s for x in a]
def cross(a, b): return [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]]


def turned(v, axis, angle):
    along = times(axis, dot(v, axis))
    return add(along, add(times(less(v, along), math.cos(angle)), times(cross(axis, v), math.sin(angle))))


def foot(robot, leg, turns):
    """The rod's pin on the child, and its way per turn of pitch and roll."""
    (o1, a1), (o2, a2) = [(robot["map"][j]["point_m"], robot["map"][j]["axis"]) for j in ("pitch", "roll")]
    rolled = turned(turned(less(leg["foot_m"], o2), a2, turns[1]), a1, turns[0])
    arm = add(turned(less(o2, o1), a1, turns[0]), rolled)
    return add(o1, arm), [cross(a1, arm), cross(turned(a2, a1, turns[0]), rolled)]


def crank(leg, q, side):
    """Where the rod from `q` ends on the crank pin's circle."""
    centre, n = leg["motor"]["point_m"], leg["motor"]["axis"]
    radius = math.dist(leg["pin_m"], centre)
    u = times(less(leg["pin_m"], centre), 1 / radius)
    v, d = cross(n, u), less(q, centre)
    x, y, z = dot(d, u), dot(d, v), dot(d, n)
    k = (x * x + y * y + z * z + radius**2 - leg["rod_m"] ** 2) / (2 * radius)
    s = side * math.sqrt(x * x + y * y - k * k)  # no such root: the rod does not reach
    angle = math.atan2(k * y + s * x, k * x - s * y)
    return angle, add(centre, times(add(times(u, math.cos(angle)), times(v, math.sin(angle))), radius))


def motor(robot, leg, turns):
    """A motor's turn from the zero pose, right-handed about its axis, and its rates by pitch and roll."""
    q, ways = foot(robot, leg, turns)
    if leg["input"] == "linear_actuator":
        travel = lambda to: math.sqrt(math.dist(to, leg["pin_m"]) ** 2 - leg["line_offset_m"] ** 2)
        per = 2 * math.pi / leg["lead_m"]
        w = less(q, leg["pin_m"])
        return per * (travel(q) - travel(leg["foot_m"])), [per * dot(w, way) / travel(q) for way in ways]
    side = min((1, -1), key=lambda s: abs(crank(leg, leg["foot_m"], s)[0]))
    angle, pin = crank(leg, q, side)
    w, way_of_pin = less(q, pin), cross(leg["motor"]["axis"], less(pin, leg["motor"]["point_m"]))
    return angle, [dot(w, way) / dot(w, way_of_pin) for way in ways]


def motors(robot, readings):
    """Readings of both motors, and their rates, a row for each, at readings of pitch and roll."""
    turns = less(readings, robot["joint_reads_rad"])
    told = [motor(robot, leg, turns) for leg in robot["map"]["legs"]]
    signs, zero = robot["motor_signs"], robot["motor_reads_rad"]
    return [z + s * t for z, s, (t, _) in zip(zero, signs, told)], [times(rates, s) for s, (_, rates) in zip(signs, told)]


def joints(robot, readings):
    """Readings of pitch and roll at readings of both motors: Newton's steps from the zero pose."""
    at = list(robot["joint_reads_rad"])
    for _ in range(30):
        reads, [[a, b], [c, d]] = motors(robot, at)
        x, y = less(readings, reads)
        step = times([d * x - b * y, a * y - c * x], 1 / (a * d - b * c))
        at = add(at, step)
        if max(map(abs, step)) < 1e-14:
            break
    return at


def main(path):
    worst = 0.0
    for robot in json.load(open(path, encoding="utf-8")):
        for pose in robot["over_region"]:
            reads, rates = motors(robot, pose["joint_rad"])
            back = joints(robot, pose["motor_rad"])
            pairs = [(reads, pose["motor_rad"]), (back, pose["joint_rad"]), *zip(rates, pose["jacobian"])]
            worst = max([worst, *(abs(a - b) / max(1, abs(b)) for x, y in pairs for a, b in zip(x, y))])
    print(f"largest difference {worst:.1e}")
    return 0 if worst < 1e-9 else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
