"""Checks what `unloop check DESIGN --proof FILE.json` writes, without unloop: python3 check_proof.py FILE.json

Needs mpmath. Every claim is bounded anew by the textbook's circles in intervals of 120 bits: a tree may only halve boxes,
and each of its leaves must hold by the bound made here. Ends with 0 where all that is claimed is shown, else with 1."""
import json
import sys

from mpmath import iv

iv.prec = 120
NAMES = ["crank", "coupler", "rocker", "ground", "crank_error", "motor_turn"]

class Dual:
    """A value over a box with its slope in each of the six variables."""
    def __init__(self, value, slopes=None): self.v, self.d = value, slopes or [iv.mpf(0)] * 6
    def with_slopes(self, o, value, f): return Dual(value, [f(x, y) for x, y in zip(self.d, o.d)])
    def __add__(self, o): return self.with_slopes(o, self.v + o.v, lambda x, y: x + y)
    def __sub__(self, o): return self.with_slopes(o, self.v - o.v, lambda x, y: x - y)
    def __mul__(self, o): return self.with_slopes(o, self.v * o.v, lambda x, y: x * o.v + self.v * y)
    def __truediv__(self, o): return self.with_slopes(o, self.v / o.v, lambda x, y: (x - self.v / o.v * y) / o.v)
    def __neg__(self): return Dual(-self.v, [-x for x in self.d])
    def square(self): return Dual(self.v**2, [2 * self.v * x for x in self.d])
    def cosine(self): return Dual(iv.cos(self.v), [-iv.sin(self.v) * x for x in self.d])
    def sine(self): return Dual(iv.sin(self.v), [iv.cos(self.v) * x for x in self.d])
    def root(self):
        if not self.v.a > 0: raise ValueError("the loop may not close")
        return Dual(iv.sqrt(self.v), [x / (2 * iv.sqrt(self.v)) for x in self.d])

def number(text): return Dual(iv.mpf(text))

def meeting(claim, x, angle):
    """Crank direction, diagonal from B to P, rocker direction, height of Q over the diagonal."""
    (a, b, c, g), e = x[:4], [angle.cosine(), angle.sine()]
    h = [a * e[0] - g, a * e[1]]
    h2 = h[0].square() + h[1].square()
    k = (c.square() + h2 - b.square()) / (number(2) * c)
    s = (h2 - k.square()).root() * number(claim["closure"])
    return e, h, [(k * h[0] - s * h[1]) / h2, (k * h[1] + s * h[0]) / h2], s

def figures(claim, x):
    """The figure; of an angle the sine of its error, and minus its cosine."""
    (a, b, c, g, error, turn), zero = x, number(claim["zero_crank"]) + x[4]
    if claim["claim"] in ("transmission_angle", "assembly"):
        h2 = a.square() + g.square() - number(2) * a * g * (zero + turn).cosine()
        return [(b.square() + c.square() - h2) / (number(2) * b * c)]
    e, h, u, s = meeting(claim, x, zero + turn)
    if claim["claim"] == "ratio":
        w = [c * u[0] - h[0], c * u[1] - h[1]]
        return [number(claim["slope"]) / (a * (w[1] * e[0] - w[0] * e[1]) / (c * s)) - number(1)]
    drawn, ahead = number(claim["zero_rocker"]), number(claim["slope"]) * turn + number(claim["offset"])
    z = meeting(claim, x, zero)[2] if claim["set_by"] == "jig" else [drawn.cosine(), drawn.sine()]
    t = [z[0] * ahead.cosine() - z[1] * ahead.sine(), z[0] * ahead.sine() + z[1] * ahead.cosine()]
    return [t[0] * u[1] - t[1] * u[0], -(t[0] * u[0] + t[1] * u[1])]

def limit(claim):
    most, slack = iv.mpf(claim["limit"]), iv.mpf(claim["met_within"])
    return {"angle": iv.sin(most + slack), "ratio": most + slack, "transmission_angle": iv.cos(most - slack),
            "assembly": iv.mpf(1) - iv.mpf(2)**-60}[claim["claim"]]

def holds(f, box, most):
    """By f over the box, or with variables of certain slope at their end and the rest by value at the middle + slope."""
    over = f([Dual(x, [iv.mpf(int(k == j)) for j in range(6)]) for k, x in enumerate(box)])
    box = [iv.mpf(x.b) if s.a >= 0 else iv.mpf(x.a) if s.b <= 0 else x for x, s in zip(box, over.d)]
    mean = lambda: f([Dual(iv.mpf(x.mid)) for x in box]).v + sum(s * (x - x.mid) for x, s in zip(box, over.d))
    return over.v.b <= most.a or mean().b <= most.a

def check_tree(f, most, tree, box):
    todo, left = [box], 1
    for step in tree: left += (-1 if step == "." else 1) if left > 0 else -len(tree)
    if left != 0: raise ValueError("the tree does not cover the whole box once")
    for place, step in enumerate(tree):
        here = todo.pop()
        if step == "." and not holds(f, here, most): raise ValueError(f"the box at character {place} does not hold")
        k, x = (0, None) if step == "." else (int(step), here[int(step)])
        todo += [here[:k] + [half] + here[k + 1:] for half in (iv.mpf([x.mid, x.b]), iv.mpf([x.a, x.mid]))] if x else []

def check_witness(claim, witness, box):
    x, t = [iv.mpf(witness[name]) for name in NAMES], iv.mpf(witness["half_tangent"])
    half, told = (iv.mpf(claim["zero_crank"]) + x[4] + x[5]) / 2, iv.mpf(witness["figure"])
    if not abs(iv.sin(half) - t * iv.cos(half)) < 1e-12 * (1 + abs(t)): raise ValueError("half_tangent is not the pose's")
    if not all(b.a - 1e-9 <= v.a and v.b <= b.b + 1e-9 for v, b in zip(x, box)): raise ValueError("not in the domain")
    if not figures(claim, [Dual(v) for v in x])[0].v in told: raise ValueError("the figure is another one")
    if not abs(told).a > limit(claim).b: raise ValueError("the figure does not break the limit")

def check(claim):
    box = [iv.mpf([iv.mpf(low).a, iv.mpf(high).b]) for low, high in (claim["domain"][name] for name in NAMES)]
    if claim["outcome"] != "holds": return check_witness(claim, claim["witness"], box)
    starts = claim["set_by"] == "jig" and 0 in box[5] and abs(iv.mpf(claim["offset"])).b <= iv.mpf(claim["limit"]).a
    sides = [(lambda x: figures(claim, x)[0], limit(claim)), (lambda x: -figures(claim, x)[0], limit(claim))]
    if claim["claim"] == "angle" and not starts: sides.append((lambda x: figures(claim, x)[1], -iv.mpf(2)**-200))
    if len(claim["trees"]) != len(sides): raise ValueError(f"{len(sides)} trees are needed")
    for (f, most), tree in zip(sides, claim["trees"]): check_tree(f, most, tree, box)

refused = []
for claim in json.load(open(sys.argv[1])):
    try: answer = f"not in this file: {claim['left_out']}" if "left_out" in claim else check(claim) or "shown"
    except Exception as fault: refused.append(answer := f"REFUSED: {fault or type(fault).__name__}")
    print(f"{claim.get('claim')} {claim.get('outcome')}, limit {claim.get('limit')}: {answer}")
sys.exit(bool(refused))
