// The inertia error of the direct joint's tree against a planar four-bar with its masses, for any motion of the carrier: what
// unloop check computes, without the proof. Bodies are { m, c, I } about their own centre (I a 3 x 3 tensor, or I_zz alone with the
// rest zero where only that is known); moments { m, h, I } are about the frame's origin, B for the carrier frame with x along A to B.
"use strict";
const inertiaError = (() => {
  const IDENTITY = [[1, 0, 0], [0, 1, 0], [0, 0, 1]];
  const dot = (u, v) => u.reduce((sum, x, k) => sum + x * v[k], 0);
  const cross = ([a, b, c], [x, y, z]) => [b * z - c * y, c * x - a * z, a * y - b * x];
  const map = (m, f) => m.map((row, i) => row.map((x, j) => f(x, i, j)));
  const times = (p, q) => p.map((row) => q[0].map((_, j) => row.reduce((sum, x, k) => sum + x * q[k][j], 0)));
  const transposed = (m) => m[0].map((_, j) => m.map((row) => row[j]));
  const mul = ([a, b], [c, d]) => [a * c - b * d, a * d + b * c];
  const conj = ([a, b]) => [a, -b];

  const plus = (p, q, k = 1) => ({ m: p.m + k * q.m, h: p.h.map((x, i) => x + k * q.h[i]), I: map(p.I, (x, i, j) => x + k * q.I[i][j]) });
  const point = (m, r) => ({ m, h: r.map((x) => m * x), I: map(IDENTITY, (x, i, j) => m * (x * dot(r, r) - r[i] * r[j])) });
  const moments = ({ m, c, I }) => plus(point(m, c), { m: 0, h: [0, 0, 0], I });
  const none = () => point(0, [0, 0, 0]);
  const about = (x) => ({ ...none(), I: [[0, 0, 0], [0, 0, 0], [0, 0, x]] });
  const inPlane = (mean, [re, im]) => ({ ...none(), I: [[mean + re, im, 0], [im, mean - re, 0], [0, 0, 0]] });
  const twist = ({ I }) => [0.5 * (I[0][0] - I[1][1]), I[0][1]];
  const rotation = ([c, s]) => [[c, -s, 0], [s, c, 0], [0, 0, 1]];
  const turn = (I, r) => times(times(r, I), transposed(r));
  const turned = (p, direction) => {
    const r = rotation(direction);
    return { m: p.m, h: r.map((row) => dot(row, p.h)), I: turn(p.I, r) };
  };

  // Eigenvalues of a symmetric matrix, by Jacobi's rotations.
  function eigenvalues(matrix) {
    const a = matrix.map((row) => [...row]);
    for (let sweep = 0; sweep < 60; sweep += 1) {
      let off = 0;
      for (let p = 0; p < a.length; p += 1) for (let q = p + 1; q < a.length; q += 1) {
        off = Math.max(off, Math.abs(a[p][q]));
        if (a[p][q] === 0) continue;
        const theta = (a[q][q] - a[p][p]) / (2 * a[p][q]);
        const t = (theta < 0 ? -1 : 1) / (Math.abs(theta) + Math.hypot(theta, 1));
        const [c, s] = [1 / Math.hypot(t, 1), t / Math.hypot(t, 1)];
        for (const row of a) [row[p], row[q]] = [c * row[p] - s * row[q], s * row[p] + c * row[q]];
        [a[p], a[q]] = [a[p].map((x, k) => c * x - s * a[q][k]), a[p].map((x, k) => s * x + c * a[q][k])];
      }
      if (off < 1e-17 * Math.max(...a.map((row, k) => Math.abs(row[k])))) break;
    }
    return a.map((row, k) => row[k]);
  }

  // Lower factor of a positive definite matrix, or null.
  function factor(matrix) {
    const l = matrix.map((row) => row.map(() => 0));
    for (let i = 0; i < l.length; i += 1) for (let j = 0; j <= i; j += 1) {
      const rest = matrix[i][j] - l[i].slice(0, j).reduce((sum, x, k) => sum + x * l[j][k], 0);
      if (i === j && !(rest > 0)) return null;
      l[i][j] = i === j ? Math.sqrt(rest) : rest / l[j][j];
    }
    return l;
  }
  const solved = (l, m) => m.reduce((rows, row, i) => [...rows, row.map((x, j) => (x - l[i].slice(0, i).reduce((sum, y, k) => sum + y * rows[k][j], 0)) / l[i][i])], []);

  // The largest eigenvalue, in size, of whole^-1 error.
  function share(error, whole) {
    const l = factor(whole);
    return l ? Math.max(...eigenvalues(solved(l, transposed(solved(l, error)))).map(Math.abs)) : NaN;
  }

  // 7 x 7: speed of B, turning speed of the carrier, joint rate.
  const still = () => Array.from({ length: 7 }, () => Array(7).fill(0));
  function addRigid(matrix, { m, h: [x, y, z], I }) {
    const [across, own] = [[[0, -z, y], [z, 0, -x], [-y, x, 0]], IDENTITY];
    for (let i = 0; i < 3; i += 1) for (let j = 0; j < 3; j += 1) {
      matrix[i][j] += m * own[i][j];
      matrix[i][j + 3] -= across[i][j];
      matrix[i + 3][j] += across[i][j];
      matrix[i + 3][j + 3] += I[i][j];
    }
  }
  function addJoint(matrix, linear, angular, joint) {
    [...linear, ...angular].forEach((x, k) => { matrix[k][6] += x; matrix[6][k] += x; });
    matrix[6][6] += joint;
  }

  const rocker = ({ bars: { a, c }, e, d }) => [(a * e[0] + d[0]) / c, (a * e[1] + d[1]) / c];

  function massMatrix(pose, masses) {
    const { bars: { g, a }, e, d, m, rate } = pose;
    const matrix = still();
    const i = 1 / (1 + rate);
    const s = ((a * (e[0] * d[1] - e[1] * d[0])) / m) * i;
    const rod = [g + d[0], d[1]];
    const place = (body, direction, by, origin, speed) => {
      if (!body) return;
      const r = rotation(direction);
      const arm = r.map((row) => dot(row, body.c));
      const centre = [origin[0] + arm[0], origin[1] + arm[1], arm[2]];
      const tensor = turn(body.I, r);
      const velocity = [speed[0] - by * arm[1], speed[1] + by * arm[0], 0];
      const linear = velocity.map((x) => body.m * x);
      const angular = cross(centre, linear).map((x, k) => x + by * tensor[k][2]);
      addRigid(matrix, plus(point(body.m, centre), { m: 0, h: [0, 0, 0], I: tensor }));
      addJoint(matrix, linear, angular, dot(linear, velocity) + by * by * tensor[2][2]);
    };
    place(masses.crank, e, i, [-g, 0], [0, 0]);
    place(masses.coupler, rod.map((x) => x / Math.hypot(...rod)), s, [a * e[0] - g, a * e[1]], [-e[1] * a * i, e[0] * a * i]);
    place(masses.child, rocker(pose), 1, [0, 0], [0, 0]);
    if (masses.carrier) addRigid(matrix, moments(masses.carrier));
    const { inertia, gear, beside } = masses.rotor;
    addRigid(matrix, about(beside ? inertia : 0));
    addJoint(matrix, [0, 0, 0], [0, 0, inertia * gear * i], inertia * (gear * i) ** 2);
    return matrix;
  }

  function treeMatrix(tree, pose) {
    const child = turned(tree.child, rocker(pose));
    const matrix = still();
    addRigid(matrix, plus(tree.carrier, child));
    addJoint(matrix, [-child.h[1], child.h[0], 0], child.I.map((row) => row[2]), child.I[2][2] + tree.armature);
    return matrix;
  }

  const FIVE = [[-0.906179845938664, 0.2369268850561891], [-0.5384693101056831, 0.4786286704993665], [0, 0.5688888888888889], [0.5384693101056831, 0.4786286704993665], [0.906179845938664, 0.2369268850561891]];

  // Poses of the stroke with weights for means over the joint angle.
  function weighted(on, [from, to]) {
    const pieces = Math.max(1, Math.ceil((to - from) / 0.25));
    const half = (0.5 * (to - from)) / pieces;
    const all = [...Array(pieces).keys()].flatMap((k) => FIVE.map(([node, weight]) => {
      const pose = on.pose(from + half * (2 * k + 1) + half * node);
      return { pose, weight: weight * Math.abs(1 + pose.rate) };
    }));
    const total = all.reduce((sum, one) => sum + one.weight, 0);
    return all.map(({ pose, weight }) => ({ pose, weight: weight / total }));
  }

  // The tree from means over the joint angle.
  function averaged(on, ends, masses) {
    const samples = weighted(on, ends).map(({ pose, weight }) => ({ pose, weight, u: rocker(pose), M: massMatrix(pose, masses) }));
    const mean = (f) => samples.reduce((sum, s) => f(s).map((x, k) => (sum[k] ?? 0) + s.weight * x), [0, 0]);
    const entry = (i, j) => mean(({ M }) => [M[i][j], 0])[0];
    const { g, a, b, c } = on.bars;
    const middle = on.pose(0.5 * (ends[0] + ends[1]));
    const [rod, u] = [masses.coupler, rocker(middle)];
    const part = rod.c[0] / b;
    const crankSide = plus(masses.crank ? moments(masses.crank) : none(), point(rod.m * (1 - part), [a, 0, rod.c[2]]));
    const ahead = mul(middle.e, conj(u));
    const lag = mul(mul(twist(crankSide), ahead), ahead).map((x) => x / (1 + middle.rate));
    let child = plus(moments(masses.child), point(rod.m * part, [c, 0, rod.c[2]]));
    child = plus(child, inPlane(0.5 * (crankSide.I[0][0] + crankSide.I[1][1]), lag));
    const h = mean(({ M, u }) => mul(mul([M[0][6], M[1][6]], conj(u)), [0, -1]));
    const lift = mean(({ M, u }) => mul([M[3][6], M[4][6]], conj(u)));
    const [coupling, joint] = [entry(5, 6), entry(6, 6)];
    child.h = [h[0], h[1], child.h[2]];
    const I = map(child.I, (x) => x);
    I[2][2] = Math.min(coupling, joint);
    [I[0][2], I[2][0], I[1][2], I[2][1]] = [lift[0], lift[0], lift[1], lift[1]];
    child.I = I;
    const at = mean(({ M, u }) => { const moved = mul(h, u); return [M[1][5] - moved[0], -M[0][5] - moved[1]]; });
    const bent = mean(({ M, u }) => { const own = mul(mul(twist(child), u), u); return [0.5 * (M[3][3] - M[4][4]) - own[0], M[3][4] - own[1]]; });
    const raised = mean(({ M, u }) => { const own = mul(lift, u); return [M[3][5] - own[0], M[4][5] - own[1]]; });
    const carrier = inPlane(0.5 * (entry(3, 3) + entry(4, 4) - I[0][0] - I[1][1]), bent);
    carrier.m = entry(0, 0) - child.m;
    carrier.h = [at[0], at[1], entry(0, 4) - child.h[2]];
    carrier.I[2][2] = entry(5, 5) - I[2][2];
    [carrier.I[0][2], carrier.I[2][0], carrier.I[1][2], carrier.I[2][1]] = [raised[0], raised[0], raised[1], raised[1]];
    const turns = ({ pose }) => masses.rotor.gear / (1 + pose.rate);
    const rotor = mean((s) => [masses.rotor.inertia * (turns(s) ** 2 - turns(s)), 0])[0];
    return { tree: { carrier, child, armature: Math.max(joint - coupling, 0) }, unbounded: joint - coupling, rotor };
  }

  // The exact tree of a parallelogram, which lacks one term alone.
  function parallel(on, ends, masses) {
    const { g, a } = on.bars;
    const { crank, coupler: rod, rotor: { inertia, gear, beside } } = masses;
    let carrier = plus(masses.carrier ? moments(masses.carrier) : none(), about((beside ? inertia : 0) - inertia * gear));
    let child = plus(moments(masses.child), about(inertia * gear));
    let [joint, bend] = [[0, 0], [0, 0]];
    const shift = (m, foot, h) => {
      child = plus(child, point(m, [0, 0, foot[2]]), -1);
      joint = mul(conj(foot), h).map((x, k) => x + joint[k]);
      bend = mul(foot, h).map((x, k) => x + bend[k]);
    };
    if (crank) {
      carrier = plus(carrier, point(crank.m, [-g, 0, crank.c[2]]));
      child = plus(child, moments(crank));
      shift(crank.m, [-g, 0, crank.c[2]], [crank.m * crank.c[0], crank.m * crank.c[1]]);
    }
    const foot = [rod.c[0] - g, rod.c[1], rod.c[2]];
    carrier = plus(carrier, moments({ ...rod, c: foot }));
    child = plus(child, point(rod.m, [a, 0, foot[2]]));
    shift(rod.m, foot, [rod.m * a, 0]);
    const middle = (rest) => {
      const lead = Math.atan2(rest[1], rest[0]);
      const [from, to] = ends.map((t) => on.zero.crank + t + lead);
      const at = (angle) => Math.hypot(...rest) * Math.cos(angle);
      const turns = [0, 1, 2].map((k) => Math.ceil(from / Math.PI) + k).filter((n) => n * Math.PI <= to).map((n) => (n % 2 ? -1 : 1) * Math.hypot(...rest));
      const all = [...turns, at(from), at(to)];
      return 0.5 * (Math.min(...all) + Math.max(...all));
    };
    const [x, y] = [middle(joint.map((v, k) => v - bend[k])), middle(joint.map((v, k) => v + bend[k]))];
    const rest = middle(joint);
    const rotor = inertia * (gear * gear - gear);
    const moved = Math.min(rest, Math.max(rotor, 0));
    const flat = inPlane(0.5 * (x + y), [0.5 * (x - y), middle(mul(bend, [0, 1]))]);
    const tree = { carrier: plus(plus(carrier, about(2 * rest - moved)), flat), child: plus(child, about(moved)), armature: Math.max(rotor - moved, 0) };
    return { tree, unbounded: rotor - moved, rotor };
  }

  // Both bodies real, by masses on the joint axis that belong to either; null where no such move does it.
  const entries = (p) => { const half = 0.5 * (p.I[0][0] + p.I[1][1] + p.I[2][2]); return map(p.I, (x, i, j) => (i === j ? half : 0) - x); };
  const inverse = ([[a, b], [c, d]]) => { const det = a * d - b * c; return [[d / det, -b / det], [-c / det, a / det]]; };
  const definite = ([[a, b], [, d]]) => a > 0 && a * d - b * b > 0;

  // Z - S of the pseudo-inertia [X, Y; Y', Z]: what is left along the axis once X is made; null where X is not positive.
  function beyond(p) {
    const second = entries(p);
    const x = [[second[0][0], second[0][1]], [second[1][0], second[1][1]]];
    if (!definite(x)) return null;
    const y = [[second[0][2], p.h[0]], [second[1][2], p.h[1]]];
    const needs = times(times(transposed(y), inverse(x)), y);
    return map([[second[2][2], p.h[2]], [p.h[2], p.m]], (v, i, j) => v - needs[i][j]);
  }

  function isReal(p, spatial) {
    if (!(p.m > 0)) return false;
    if (!spatial) return p.I[2][2] - (p.h[0] ** 2 + p.h[1] ** 2) / p.m >= 0;
    const own = plus(p, point(p.m, p.h.map((x) => x / p.m)), -1).I;
    const [a, b, c] = eigenvalues(own).sort((x, y) => x - y);
    return a >= -1e-6 * Math.abs(c) && c - (a + b) <= 1e-6 * c;
  }

  const moved = ({ carrier, child, armature }, by, k) => ({ carrier: plus(carrier, by, -k), child: plus(child, by, k), armature });

  function balanced(tree, masses) {
    const { spatial } = masses;
    const real = (t) => isReal(t.child, spatial) && isReal(t.carrier, spatial);
    if (!masses.carrier) return isReal(tree.child, spatial) ? tree : null;
    if (real(tree)) return tree;
    let whole = null;
    if (spatial) {
      const [child, carrier] = [beyond(tree.child), beyond(tree.carrier)];
      const slack = child && carrier && map(child, (x, i, j) => x + carrier[i][j]);
      if (slack && definite(slack)) {
        const z = map(slack, (x, i, j) => 0.5 * x - child[i][j]);
        whole = { m: z[1][1], h: [0, 0, z[0][1]], I: [[z[0][0], 0, 0], [0, z[0][0], 0], [0, 0, 0]] };
      }
    } else {
      const needs = (p) => (p.h[0] ** 2 + p.h[1] ** 2) / p.I[2][2];
      const slack = tree.child.m + tree.carrier.m - needs(tree.child) - needs(tree.carrier);
      if (slack > 0) whole = { ...none(), m: needs(tree.child) - tree.child.m + 0.5 * slack };
    }
    if (!whole || !real(moved(tree, whole, 1))) return null;
    let [fails, does] = [0, 1];
    for (let k = 0; k < 30; k += 1) {
      const middle = 0.5 * (fails + does);
      if (real(moved(tree, whole, middle))) does = middle;
      else fails = middle;
    }
    return moved(tree, whole, does + 0.1 * (1 - does));
  }

  // Which body no move along the axis can help, and what it lacks about the axis; null where none is hopeless.
  function lacking(tree, { spatial }) {
    for (const name of ["child", "carrier"]) {
      const p = tree[name];
      if (isReal(p, spatial)) continue;
      const second = entries(p);
      const lack = 2 * (Math.hypot(0.5 * (second[0][0] - second[1][1]), second[0][1]) - 0.5 * (second[0][0] + second[1][1]));
      if (!spatial) return { name, lack: Math.max(-p.I[2][2], 0) };
      if (!beyond(p)) return { name, lack };
    }
    const name = isReal(tree.child, spatial) ? "carrier" : "child";
    return { name, lack: 0 };
  }

  // The direct joint's bodies, or null where there are none that are real.
  function replacement(on, ends, masses) {
    const { g, a, b, c } = on.bars;
    const same = (x, y) => Math.abs(x - y) <= 1e-9 * Math.max(g, a, b, c);
    const isParallel = same(g, b) && same(a, c) && Math.abs(on.pose(ends[0]).rate) < 1e-6;
    const { tree, unbounded, rotor } = (isParallel ? parallel : averaged)(on, ends, masses);
    if (unbounded < 0 && rotor < 0) return null;
    const found = balanced(tree, masses);
    if (found || !masses.carrier) return found;
    const { name, lack } = lacking(tree, masses);
    const [sign, giver] = name === "child" ? [1, tree.carrier.I[2][2]] : [-1, tree.child.I[2][2]];
    for (const part of [0.001, 0.003, 0.01, 0.03, 0.06, 0.1, 0.2, 0.4]) {
      const by = sign * (lack + part * Math.max(giver, 0));
      const eased = tree.armature - by >= 0 && balanced({ ...moved(tree, about(by), 1), armature: tree.armature - by }, masses);
      if (eased) return eased;
    }
    return null;
  }

  function golden(f, low, high) {
    const part = 0.5 * (Math.sqrt(5) - 1);
    let [x, y] = [high - part * (high - low), low + part * (high - low)];
    let [fx, fy] = [f(x), f(y)];
    for (let k = 0; k < 20; k += 1) {
      if (fx >= fy) {
        [high, y, fy, x] = [y, x, fx, y - part * (y - low)];
        fx = f(x);
      } else {
        [low, x, fx, y] = [x, y, fy, x + part * (high - x)];
        fy = f(y);
      }
    }
    return fy > fx ? { turn: y, value: fy } : { turn: x, value: fx };
  }

  // The largest of a figure over the stroke: even poses, then narrowed about the highest.
  function worst([from, to], figure) {
    const at = (turn) => ({ turn, value: figure(turn) });
    const step = (to - from) / 60;
    const all = [...Array(61).keys()].map((k) => at(k === 60 ? to : from + step * k));
    const larger = (x, y) => (y.value > x.value || (Number.isNaN(x.value) && !Number.isNaN(y.value)) ? y : x);
    const best = all.reduce(larger);
    const peaks = all.filter(({ value }, k) => {
      const [left, right] = [all[k - 1] ?? all[k], all[k + 1] ?? all[k]].map((one) => one.value);
      return best.value > 1e-12 && value >= 0.98 * best.value && value >= Math.max(left, right) && value - Math.min(left, right) > 1e-9 * best.value;
    });
    const ends = peaks.slice(0, 4).map(({ turn }) => golden(figure, Math.max(turn - step, from), Math.min(turn + step, to)));
    return ends.reduce(larger, best);
  }

  const pick = (matrix, rows) => rows.map((i) => rows.map((j) => matrix[i][j]));

  // The worst error of one drive, as a share of the kinetic energy, and its motor turn; null where no real bodies stand in.
  function alone(on, stroke, masses) {
    const ends = [stroke[0], Math.min(stroke[1], stroke[0] + 2 * Math.PI)];
    const tree = replacement(on, ends, masses.asBars);
    if (!tree) return null;
    const rows = masses.spatial ? [0, 1, 2, 3, 4, 5, 6] : masses.carrier ? [0, 1, 5, 6] : [6];
    return worst(ends, (turn) => {
      const pose = on.pose(turn);
      const whole = massMatrix(pose, masses);
      const error = map(treeMatrix(tree, pose), (x, i, j) => x - whole[i][j]);
      return share(pick(error, rows), pick(whole, rows));
    });
  }

  // A body as the script is given it, with what of it is known.
  function body(given, angle) {
    if (!given) return null;
    const [xx, yy, zz, xy, xz, yz] = given.I;
    const r = rotation([Math.cos(angle), Math.sin(angle)]);
    return { m: given.m, c: r.map((row) => dot(row, given.c)), I: turn([[xx, xy, xz], [xy, yy, yz], [xz, yz, zz]], r), known: given.known };
  }

  // The worst of all drives, { value, turn }: endless where one has no real bodies that could be written.
  return function inertiaError({ on, stroke: { motor } }, drives) {
    const [x, y] = rocker(on.pose(0));
    const found = drives.map((drive) => {
      const [crank, coupler, carrier] = [drive.crank, drive.coupler, drive.carrier].map((one) => body(one, 0));
      const child = body(drive.child, drive.turns ? -Math.atan2(y, x) : 0);
      const masses = { crank, coupler, child, carrier, rotor: drive.rotor, spatial: drive.spatial };
      const bar = (one) => (one.known ? one : { ...one, I: [[0.02 * one.I[2][2], 0, 0], [0, one.I[2][2], 0], [0, 0, one.I[2][2]]] });
      masses.asBars = { ...masses, crank: bar(crank), coupler: bar(coupler), spatial: drive.spatial_as_bars };
      return alone(on, motor, masses);
    });
    if (found.some((one) => one === null)) return { value: Infinity, turn: NaN };
    return found.reduce((one, next) => (next.value >= one.value ? next : one));
  };
})();
