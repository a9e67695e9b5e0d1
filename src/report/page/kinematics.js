// A planar four-bar in closed form, for drawn lengths: what unloop check computes, without the proof. Lengths in m, angles in rad,
// turns from the zero pose about the joint axis; a = crank, b = coupler, c = rocker, g = ground, side -1 open, +1 crossed.
"use strict";
const fourBar = (() => {
  const TAU = 2 * Math.PI;
  const remainder = (x) => x - TAU * Math.round(x / TAU);
  const upTo = (x) => { const turn = x - TAU * Math.floor(x / TAU); return turn > 0 ? turn : TAU; };

  // With d the mismatch c u - a e of rocker and crank, M = c (u' x w): rate = dpsi/dphi - 1 = g d_y / M.
  function pose({ g, a, b, c }, phi, side) {
    const [sin2, cos2] = [Math.sin(phi / 2) ** 2, Math.cos(phi / 2) ** 2];
    const [folded, stretched] = [(g + b - a - c) * (g + c - a - b) + 4 * a * g * sin2, (b + c - a - g) * (a + b + c + g) + 4 * a * g * cos2];
    const h2 = (g - a) ** 2 + 4 * a * g * sin2;
    if (!(folded >= 0 && stretched >= 0 && h2 > 0)) return null;
    const m = 0.5 * side * Math.sqrt(folded) * Math.sqrt(stretched);
    const e = [1 - 2 * sin2, 2 * Math.sin(phi / 2) * Math.cos(phi / 2)];
    const h = [a - g - 2 * a * sin2, a * e[1]];
    const excess = (x, y) => (x - y) * (x + y);
    const [opposite, neighbours] = [[excess(c, a), excess(g, b)], [excess(c, b), excess(g, a)]];
    const size = ([x, y]) => Math.abs(x) + Math.abs(y);
    const [x, y] = size(opposite) <= size(neighbours) ? opposite : neighbours;
    const along = 0.5 * (x + y);
    const lever = g * h[1];
    const q = [along ** 2, excess(c, a) * g * h[0], excess(b, g) * a * (g - a - 2 * g * sin2)];
    const cancels = lever * m < 0 && size([q[0], size([q[1], q[2]])]) < Math.abs(lever * (lever - m));
    const across = cancels ? (q[0] + q[1] + q[2]) / (lever - m) : m + lever;
    const d = [(along * h[0] - across * h[1]) / h2, (along * h[1] + across * h[0]) / h2];
    return { bars: { g, a, b, c }, e, d, m, h2, rate: (g * d[1]) / m };
  }

  // d2psi/dphi2.
  function slope({ bars: { g, a }, e, d, m, rate }) {
    const [cu, w, r] = [[a * e[0] + d[0], a * e[1] + d[1]], [g + d[0], d[1]], 1 + rate];
    const turned = [-a * e[1] * rate - d[1] * r, a * e[0] * rate + d[0] * r];
    const rise = cu[0] * turned[1] - cu[1] * turned[0] - r * (cu[0] * w[0] + cu[1] * w[1]);
    return (g * turned[1] - rate * rise) / m;
  }

  const rocker = ({ bars: { a }, e, d }) => Math.atan2(a * e[1] + d[1], a * e[0] + d[0]);
  // Angle of coupler and rocker, folded into 0 to 90 deg.
  function transmission({ bars: { b, c }, h2 }) {
    const [sum, difference] = [(b + c) ** 2 - h2, h2 - (b - c) ** 2].map((x) => Math.max(x, 0));
    return 2 * Math.atan2(Math.sqrt(Math.min(sum, difference)), Math.sqrt(Math.max(sum, difference)));
  }

  function root(f, from, to) {
    let [a, b, fa] = [from, to, f(from)];
    for (let k = 0; k < 200; k += 1) {
      const x = 0.5 * (a + b);
      if (x <= Math.min(a, b) || x >= Math.max(a, b)) break;
      const fx = f(x);
      if (fx === 0) return x;
      if (fx > 0 === fa > 0) [a, fa] = [x, fx]; else b = x;
    }
    return 0.5 * (a + b);
  }

  // Crank angles at which coupler and rocker come in line, and what stands there.
  function barriers({ g, a, b, c }) {
    const [t1, t2, t3] = [g + b - a - c, g + c - a - b, b + c - a - g];
    const small = (t) => Math.abs(t) <= 1e-9 * Math.max(g, a, b, c);
    const half = (share) => Math.atan2(Math.sqrt(Math.min(Math.max(share, 0), 1)), Math.sqrt(1 - Math.min(Math.max(share, 0), 1)));
    const [stretched, folded] = [(-t3 * (a + b + c + g)) / (4 * a * g), (-t1 * t2) / (4 * a * g)];
    const found = [];
    if (small(t3) || stretched > 0) found.push([Math.PI - 2 * half(stretched), small(t3)]);
    if (small(t1) || small(t2) || folded > 0) found.push([2 * half(folded), small(t1) || small(t2)]);
    return found.flatMap(([at, change]) => [at, -at].map((angle) => ({ angle, name: change ? "change point" : "crank limit" })));
  }

  // Crank angles at which crank and coupler come in line on this side: the rocker turns back.
  function deadAngles(bars, side) {
    const { g, a, b, c } = bars;
    const found = [];
    const some = 1e-12 * Math.max(g, a, b, c);
    for (const [reach, back] of [[a + b, 0], [Math.abs(a - b), a > b ? 0 : Math.PI]]) {
      const [s1, s2, s3] = [c + g - reach, reach + c - g, reach + g - c];
      if (Math.min(reach, s1, s2, s3) <= some) continue;
      const half = Math.atan2(Math.sqrt(s1 * s2), Math.sqrt((reach + g + c) * s3));
      for (const sign of [1, -1]) {
        const [at, angle] = [2 * sign * half, 2 * sign * half + back];
        const [p, q] = [[a * Math.cos(angle), a * Math.sin(angle)], [reach * Math.cos(at), reach * Math.sin(at)]];
        const m = (q[0] - g) * (q[1] - p[1]) - q[1] * (q[0] - p[0]);
        if (m * side > 0) found.push(angle);
      }
    }
    return found;
  }

  // The branch through the zero pose, or why there is none.
  function branch(bars, zero) {
    const { g, a, b, c } = bars;
    const [open, crossed] = [-1, 1].map((side) => pose(bars, zero.crank, side));
    if (!open) return { fault: "the loop cannot close in the zero pose: the lengths do not reach each other" };
    const off = [open, crossed].map((at) => Math.abs(remainder(rocker(at) - zero.rocker)));
    if (Math.min(...off) > Math.PI / 18) return { fault: "the rocker angle fits neither assembly of the linkage in the zero pose" };
    const side = off[0] <= off[1] ? -1 : 1;
    const stops = barriers(bars);
    const flat = Math.abs(open.m) <= 1e-9 * b * c || stops.some(({ angle }) => Math.abs(remainder(angle - zero.crank)) <= 1e-14 * Math.max(Math.abs(zero.crank), 1));
    if (flat) return { fault: "the zero pose is flat: coupler and rocker lie in line there" };
    const stop = (way) => stops.map((s) => ({ turn: way * upTo(way * (s.angle - zero.crank)), name: s.name })).sort((x, y) => Math.abs(x.turn) - Math.abs(y.turn))[0];
    const dead = deadAngles(bars, side);
    const lead = (turn) => {
      const phi = zero.crank + turn;
      const at = pose(bars, phi, side);
      if (!at) return NaN;
      const [ex, ey] = at.e;
      const diagonal = a <= g ? Math.PI + Math.atan2(-a * ey, g - a * ex) - phi : Math.atan2(g * ey, a - g * ex);
      const continuous = diagonal + Math.atan2(at.m, 0.5 * (at.h2 + (c - b) * (c + b)));
      const sharp = Math.atan2(ex * at.d[1] - ey * at.d[0], a + ex * at.d[0] + ey * at.d[1]);
      return sharp + TAU * Math.round((continuous - sharp) / TAU);
    };
    const start = lead(0);
    return {
      bars, side, zero, dead, stop,
      pose: (turn) => pose(bars, zero.crank + turn, side),
      less: (turn) => lead(turn) - start,
      joint: (turn) => turn + lead(turn) - start,
    };
  }

  // Where the joint stops going one way, or a whole turn.
  function end(on, way) {
    const barrier = on.stop(way);
    const dead = on.dead.map((angle) => way * upTo(way * (angle - on.zero.crank))).filter((turn) => !barrier || Math.abs(turn) < Math.abs(barrier.turn));
    if (dead.length) return { turn: way * Math.min(...dead.map(Math.abs)), name: "dead point" };
    return barrier ?? { turn: way * TAU };
  }

  // Just before an end rounding may deny the pose.
  function jointAt(on, turn) {
    for (let k = 0; k < 60; k += 1) {
      const joint = on.joint(turn * (1 - 2 ** (k - 52)));
      if (!Number.isNaN(joint)) return joint;
    }
    return 0;
  }

  function motorTurn(on, joint) {
    const rate = 1 + on.pose(0).rate;
    if (Math.abs(rate) < 1e-12) return { fault: "the zero pose is a dead point: crank and coupler are in line" };
    let { turn, name } = end(on, Math.sign(joint) * Math.sign(rate));
    for (; !name && Math.abs(jointAt(on, turn)) < Math.abs(joint); turn += Math.sign(turn) * TAU);
    const reach = jointAt(on, turn);
    if (Math.abs(reach) <= Math.abs(joint)) return { past: name, reach };
    const gap = (t) => { const at = on.joint(t); return (Number.isNaN(at) ? reach : at) - joint; };
    return { turn: joint === 0 ? 0 : root(gap, 0, turn) };
  }

  // Both ends of the stroke, motor rising, or why one cannot be reached.
  function stroke(on, by, range) {
    const ends = [];
    for (const wanted of range) {
      if (by === "joint") {
        const found = motorTurn(on, wanted);
        if (found.fault || found.past) return found;
        ends.push([found.turn, wanted]);
      } else {
        const barrier = wanted === 0 ? null : on.stop(Math.sign(wanted));
        if (barrier && Math.abs(wanted) >= Math.abs(barrier.turn)) return { past: barrier.name, reach: barrier.turn };
        ends.push([wanted, on.joint(wanted)]);
      }
    }
    ends.sort((x, y) => x[0] - y[0]);
    return { motor: ends.map((e) => e[0]), joint: ends.map((e) => e[1]) };
  }

  const extremes = (all) => all.reduce(([low, high], e) => [e.value < low.value ? e : low, e.value > high.value ? e : high], [all[0], all[0]]);

  // Ends of the stroke and the poses at which the rate is stationary: between them it runs one way.
  function nodes(on, [from, to]) {
    const steps = 600 * Math.max(1, Math.ceil((to - from) / TAU));
    const rise = (turn) => slope(on.pose(turn));
    const turns = [from, to];
    for (let k = 0; k < steps; k += 1) {
      const [x, y] = [k, k + 1].map((n) => from + ((to - from) * n) / steps);
      if (rise(x) * rise(y) < 0) turns.push(root(rise, x, y));
    }
    return turns.sort((x, y) => x - y).map((turn) => ({ turn, value: on.pose(turn).rate }));
  }

  // Smallest and largest joint turn less slope * motor turn - offset.
  function angleError(on, all, k, offset) {
    const rate = (turn) => on.pose(turn).rate - (k - 1);
    const turns = all.map((n) => n.turn);
    all.slice(1).forEach((next, n) => {
      const [x, y] = [all[n], next];
      if ((x.value - (k - 1)) * (y.value - (k - 1)) < 0) turns.push(root(rate, x.turn, y.turn));
    });
    return extremes(turns.map((turn) => ({ turn, value: on.less(turn) + (1 - k) * turn - offset })));
  }

  // The slope with the smallest worst error: the lowest point under the straight pieces seen so far is tried next.
  function bestSlope(start, touching) {
    let [best, bestAt, k, stride] = [Infinity, start, start, 0.25 * Math.max(Math.abs(start), 1e-3)];
    const pieces = [];
    const at = (piece, x) => piece.height - piece.run * x;
    for (let round = 0; round < 100; round += 1) {
      const active = touching(k);
      const worst = Math.max(...active.map((p) => at(p, k)));
      if (worst < best) [best, bestAt] = [worst, k];
      pieces.push(...active);
      let next = null;
      for (const falling of pieces.filter((p) => p.run > 0)) {
        for (const rising of pieces.filter((p) => p.run < 0)) {
          const x = (falling.height - rising.height) / (falling.run - rising.run);
          if (!next || at(falling, x) > next.floor) next = { x, floor: at(falling, x) };
        }
      }
      if (next) {
        if (best - next.floor <= 1e-15 * Math.abs(best) || next.x === k) break;
        k = next.x;
      } else {
        k += pieces.some((p) => p.run > 0) ? stride : -stride;
        stride *= 2;
      }
    }
    return bestAt;
  }

  // The direct joint's slope 1/ratio and offset, found where they are not given.
  function direct(on, all, at, { ratio, offset }) {
    const mean = (at.joint[1] - at.joint[0]) / (at.motor[1] - at.motor[0]);
    const touching = (k) => {
      const over = (e) => ({ height: e.value + k * e.turn, run: e.turn });
      const [low, high] = angleError(on, all, k, offset ?? 0).map(over);
      if (offset !== null) return [high, { height: -low.height, run: -low.run }];
      return [{ height: 0.5 * (high.height - low.height), run: 0.5 * (high.run - low.run) }];
    };
    const k = ratio === null ? bestSlope(mean, touching) : 1 / ratio;
    const [low, high] = angleError(on, all, k, 0);
    return { slope: k, offset: offset ?? 0.5 * (low.value + high.value) };
  }

  // The worst figures over the stroke, each with its motor turn, or the fault that keeps the linkage from running over it.
  function figures({ bars, zero, by, range, constants }) {
    const on = branch(bars, zero);
    if (on.fault) return on;
    const at = stroke(on, by, range);
    if (at.fault || at.past) return at;
    const all = nodes(on, at.motor);
    const joint = direct(on, all, at, constants);
    const angles = angleError(on, all, joint.slope, joint.offset).map((e) => ({ turn: e.turn, value: Math.abs(e.value) }));
    const angle = angles[0].value > angles[1].value ? angles[0] : angles[1];
    const [low, high] = extremes(all);
    const relative = (e) => ({ turn: e.turn, value: Math.abs((joint.slope - 1 - e.value) / (1 + e.value)) });
    const stands = low.value <= -1 && high.value >= -1;
    const ratio = stands ? { turn: root((turn) => 1 + on.pose(turn).rate, low.turn, high.turn), value: Infinity } : [low, high].map(relative).sort((x, y) => y.value - x.value)[0];
    const [from, to] = at.motor;
    const crossings = [];
    for (let n = Math.ceil((zero.crank + from) / Math.PI); n * Math.PI - zero.crank < to; n += 1) crossings.push(n * Math.PI - zero.crank);
    const transmissions = [from, to, ...crossings.filter((t) => t > from)].map((turn) => ({ turn, value: transmission(on.pose(turn)) }));
    return { on, stroke: at, direct: joint, angle, ratio, transmission_angle: extremes(transmissions)[0] };
  }

  return { figures, transmission };
})();
