// Fields for the drawn sizes of a planar four-bar: verdict, criteria and curves follow what is typed, computed and not proved, and
// the design can be saved with the changed numbers. Everything else on the page stays as drawn.
"use strict";
const drawnSizes = (() => {
  const DEG = Math.PI / 180;
  const UNITS = { mm: 1e-3, deg: DEG };
  const set = (text) => text.replace(/^-/, "−").replace(/ (?=deg|mm|%)/, "\u00a0");
  const fixed = (value, decimals) => (Number.isFinite(value) ? value.toFixed(decimals).replace(/^-(?=[0.]*$)/, "") : "unbounded");
  const degrees = (rad) => {
    const size = Math.abs(rad / DEG);
    return set(`${fixed(rad / DEG, size >= 5e-5 && size < 0.1 ? 4 : 2)} deg`);
  };
  const percent = (share) => {
    const [value, size] = [100 * share, Math.abs(100 * share)];
    if (!Number.isFinite(value)) return "unbounded";
    return set(`${size >= 1e-9 && size < 5e-3 ? value.toExponential(1) : fixed(value, 2)} %`);
  };
  const CRITERIA = {
    angle: { title: "angle error", most: true, figure: degrees },
    ratio: { title: "ratio error", most: true, figure: percent },
    inertia: { title: "inertia error", most: true, figure: (share) => (Number.isFinite(share) ? percent(share) : "–") },
    transmission_angle: { title: "transmission angle", most: false, figure: degrees },
  };

  // Lengths and zero pose of what is typed: four lengths and two angles, or the four pins.
  function linkage({ pins, sense }, values) {
    if (!pins) {
      const [g, a, b, c, crank, rocker] = values;
      return { bars: { g, a, b, c }, zero: { crank: sense * crank, rocker: sense * rocker } };
    }
    const per = values.length / 4;
    const [motor, joint, crank, lever] = [0, 1, 2, 3].map((k) => [values[per * k], pins.flip * values[per * k + 1], per === 3 ? values[per * k + 2] : 0]);
    const n = pins.axis;
    const dot = (u, v) => u[0] * v[0] + u[1] * v[1] + u[2] * v[2];
    const cross = (u, v) => [u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]];
    const across = (from, to) => {
      const apart = to.map((x, k) => x - from[k]);
      return apart.map((x, k) => x - n[k] * dot(apart, n));
    };
    const [ground, arm, rod, rocker] = [across(motor, joint), across(motor, crank), across(crank, lever), across(joint, lever)];
    const [g, a, b, c] = [ground, arm, rod, rocker].map((v) => Math.hypot(...v));
    const angle = (v) => Math.atan2(dot(n, cross(ground, v)), dot(ground, v));
    return { bars: { g, a, b, c }, zero: { crank: angle(arm), rocker: angle(rocker) } };
  }

  // What came out for these sizes, or in words why they make no linkage that runs over the stroke.
  function judged(data, values) {
    if (values.some((value) => !Number.isFinite(value))) return { fault: "a size is not a number" };
    const { bars, zero } = linkage(data, values);
    if (Object.values(bars).some((length) => !(length >= 1e-10))) return { fault: "a length must be more than nothing" };
    const found = fourBar.figures({ bars, zero, by: data.by, range: data.range, constants: data.constants });
    if (found.fault) return found;
    const reading = (which, turn) => data.reads[which === "motor" ? 0 : 1] + data.sense * turn;
    if (found.past) {
      const at = fixed(reading(data.by, found.reach) / DEG, 2);
      return { fault: set(`the stroke runs past a ${found.past}: the linkage stops at ${data.by} angle ${at} deg`) };
    }
    if (data.drives) found.inertia = Number.isFinite(found.ratio.value) ? inertiaError(found, data.drives) : { ...found.ratio };
    const criteria = Object.entries(CRITERIA).filter(([name]) => found[name]).map(([name, { title, most, figure }]) => {
      const { value, turn } = found[name];
      const limit = data.limits[name];
      const margin = most ? limit - value : value - limit;
      return { name, title, value, margin, limit, figure, at: reading("joint", found.on.joint(turn)), holds: margin >= -1e-9, load: most ? value / limit : limit / value };
    });
    return { criteria, found };
  }

  // Where a figure of what was found lies over the stroke: joint reading (deg) and figure.
  function curve(data, { on, stroke, direct }, figure) {
    const [from, to] = stroke.motor;
    return Array.from({ length: 121 }, (_, k) => {
      const turn = k === 120 ? to : from + ((to - from) * k) / 120;
      const pose = on.pose(turn);
      return [(data.reads[1] + data.sense * on.joint(turn)) / DEG, figure(pose, turn, direct, on)];
    });
  }

  const CURVES = {
    ratio: (pose) => 1 / (1 + pose.rate),
    angle: (pose, turn, direct, on) => (on.less(turn) + (1 - direct.slope) * turn - direct.offset) / DEG,
    transmission_angle: (pose) => fourBar.transmission(pose) / DEG,
  };
  const LIMITS = {
    ratio: (limit, { slope }) => [(1 - limit) / slope, (1 + limit) / slope],
    angle: (limit) => [-limit / DEG, limit / DEG],
    transmission_angle: (limit) => [limit / DEG],
  };

  const svg = (name, attributes, words) => {
    const made = document.createElementNS(document.querySelector("svg").namespaceURI, name);
    for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
    if (words) made.textContent = words;
    return made;
  };

  function ticks(low, high, wanted) {
    const rough = (high - low) / wanted;
    const power = 10 ** Math.floor(Math.log10(rough));
    const step = [1, 2, 5, 10].find((s) => s * power >= 0.9 * rough) * power;
    const decimals = Math.max(0, Math.ceil(-Math.log10(step) - 1e-9));
    const found = [];
    for (let k = Math.ceil(low / step - 1e-9); k * step <= high + 1e-9 * step; k += 1) found.push([k * step, fixed(k * step, decimals)]);
    return found;
  }

  // Both curves with their limits; every line is named at its right end.
  function chart(title, lines) {
    const [W, H, L, R, T, B] = [440, 240, 60, 340, 10, 200];
    const points = lines.flatMap((line) => line.points).filter(([, y]) => Number.isFinite(y));
    const [xs, ys] = [points.map((p) => p[0]), lines.filter((line) => line.frames).flatMap((line) => line.points.map((p) => p[1])).filter(Number.isFinite)];
    const [x0, x1] = [Math.min(...xs), Math.max(...xs)];
    const room = 0.06 * (Math.max(...ys) - Math.min(...ys)) || 1;
    const [y0, y1] = [Math.min(...ys) - room, Math.max(...ys) + room];
    const [along, up] = [(x) => L + ((x - x0) / (x1 - x0)) * (R - L), (y) => B - ((y - y0) / (y1 - y0)) * (B - T)];
    const picture = svg("svg", { class: "chart", viewBox: `0 0 ${W} ${H}`, role: "img", "aria-label": `${title}: as drawn and with the sizes above` });
    const draw = (look, at) => picture.append(svg("polyline", { class: look, points: at.map((p) => p.map((x) => x.toFixed(1)).join(",")).join(" ") }));
    const write = (x, y, anchor, words, look = "i-quiet") => picture.append(svg("text", { class: look, x, y, "text-anchor": anchor, "font-size": 13 }, words));
    for (const [y, words] of ticks(y0, y1, 4)) {
      draw("i-grid", [[L, up(y)], [R, up(y)]]);
      write(L - 7, up(y) + 4.5, "end", set(words));
    }
    for (const [x, words] of ticks(x0, x1, 6)) {
      draw("i-axis", [[along(x), B], [along(x), B + 4]]);
      write(along(x), B + 18, "middle", set(words));
    }
    draw("i-axis", [[L, T], [L, B], [R, B]]);
    write((L + R) / 2, H - 6, "middle", "joint angle, deg", "i-text");
    const names = [];
    for (const { look, name, points: all } of lines) {
      let piece = [];
      const cut = () => { if (piece.length > 1) draw(look, piece); piece = []; };
      for (const [x, y] of all) if (y >= y0 && y <= y1) piece.push([along(x), up(y)]); else cut();
      const last = piece.at(-1);
      cut();
      if (name && last) names.push([last[1], name]);
    }
    names.sort((one, other) => one[0] - other[0]);
    let free = T;
    for (const [y, name] of names) {
      free = Math.max(y + 4.5, free + 14);
      write(R + 6, free, "start", name);
    }
    return picture;
  }

  function charts(data, drawn, now) {
    const titles = { ratio: "Transmission ratio i = dφ/dψ", angle: "Angle error, deg", transmission_angle: "Transmission angle, deg" };
    return Object.keys(titles).map((name) => {
      const level = (y) => { const x = curve(data, now.found, () => 0).map((p) => p[0]); return [[Math.min(...x), y], [Math.max(...x), y]]; };
      const limits = LIMITS[name](data.limits[name], now.found.direct).map((y, k) => ({ look: "i-limit", frames: true, name: k ? "" : name === "transmission_angle" ? "floor" : "limits", points: level(y) }));
      const rising = (points) => (points[0][0] > points.at(-1)[0] ? points.reverse() : points);
      const lines = [
        ...limits,
        ...(drawn.found ? [{ look: "i-ghost", frames: true, name: "as drawn", points: rising(curve(data, drawn.found, CURVES[name])) }] : []),
        { look: "i-curve", frames: now.found.ratio.value < 10, name: "these sizes", points: rising(curve(data, now.found, CURVES[name])) },
      ];
      const figure = document.createElement("figure");
      const caption = document.createElement("figcaption");
      caption.textContent = titles[name];
      figure.append(caption, chart(titles[name], lines));
      return figure;
    });
  }

  // The user's text with the changed numbers alone; values as shown.
  function saved(data, shown) {
    const edits = data.fields.map((field, k) => ({ ...field, by: shown[k] - field.value, now: shown[k] })).filter((edit) => edit.by !== 0).sort((x, y) => y.place[0] - x.place[0]);
    return edits.reduce((text, { place: [from, to], literal, per, unit, by, now }) => {
      const short = (x) => String(Number(x.toPrecision(12)));
      const number = per ? short(literal + (by * UNITS[unit]) / per) : `"${short(now)} ${unit}"`;
      return text.slice(0, from) + number + text.slice(to);
    }, data.text);
  }

  // The verdict's box and the rows of the criteria, as drawn and as computed.
  function board(article, data, robotIsOff) {
    const box = article.querySelector(".verdict");
    const rows = [...article.querySelectorAll(".board tbody tr")];
    const before = { look: box.className, box: [...box.childNodes], rows: rows.map((row) => [...row.cells].map((cell) => [...cell.childNodes])) };
    const paragraph = (look, ...parts) => { const p = document.createElement("p"); p.className = look; p.append(...parts); return p; };
    const sign = (mark) => { const s = document.createElement("span"); s.className = "sign"; s.setAttribute("aria-hidden", "true"); s.textContent = mark; return s; };
    const say = (look, mark, word, means, reason) => {
      const thin = document.createElement("span");
      thin.className = "means";
      thin.textContent = means;
      box.className = `verdict ${look}`;
      const robot = robotIsOff() ? " [[robot]] still stands for the drawn motor and joint: move it too in the file." : "";
      box.replaceChildren(paragraph("word", sign(mark), word, thin), paragraph("", reason), paragraph("rests", `For the sizes typed below, drawn lengths only: computed in this page, not proved.${robot}`));
    };
    const outcome = (look, mark, words) => { const s = document.createElement("span"); s.className = look; s.append(sign(mark), words); return s; };
    const row = (cells, texts) => texts.forEach((text, k) => cells[k + 2]?.replaceChildren(text));
    const capital = (words) => words[0].toUpperCase() + words.slice(1);
    return {
      asDrawn() {
        box.className = before.look;
        box.replaceChildren(...before.box);
        rows.forEach((r, k) => [...r.cells].forEach((cell, n) => cell.replaceChildren(...before.rows[k][n])));
      },
      fault(words) {
        say("no", "✕", "No linkage with these sizes", "", `${capital(words)}.`);
        rows.forEach((r) => row(r.cells, ["–", "–", "–", "–", "–"]));
      },
      found(criteria) {
        const failing = criteria.filter((c) => !c.holds).sort((x, y) => y.load - x.load);
        const tight = failing[0] ?? [...criteria].sort((x, y) => y.load - x.load)[0];
        const place = Number.isFinite(tight.at) ? ` at joint ${set(`${fixed(tight.at / DEG, 1)} deg`)}` : "";
        const reason = `${capital(tight.title)} ${tight.figure(tight.value)}${place} (${tight.name === "transmission_angle" ? "floor" : "limit"} ${tight.figure(tight.limit)})`;
        const too = failing.slice(1).map((c) => c.title).join(" and ");
        const weighs = data.weighs && !data.drives;
        const open = weighs ? " The inertia error is not computed here: save the file and run unloop check on it." : "";
        if (failing.length) say("no", "✕", "Not equivalent: ", "a direct joint must not stand in for the linkage", `${reason}${too ? `; the ${too} fails too` : ""}.`);
        else say(weighs ? "open" : "yes", weighs ? "?" : "✓", weighs ? "Undecided: " : "Equivalent: ", weighs ? "the motion holds, the inertia is open" : "a direct joint may stand in for the linkage", `Nearest to its limit: ${reason[0].toLowerCase()}${reason.slice(1)}.${open}`);
        data.criteria.forEach((name, k) => {
          const c = criteria.find((one) => one.name === name);
          if (c) row(rows[k].cells, [c.figure(c.value), c.figure(c.margin), Number.isFinite(c.at) ? set(`${fixed(c.at / DEG, 2)} deg`) : "–", outcome(c.holds ? "yes" : "no", c.holds ? "✓" : "✕", c.holds ? " holds" : " fails"), "computed, not proved"]);
          else if (data.weighs) row(rows[k].cells, ["–", "–", "–", outcome("none", "–", " not computed here"), "–"]);
        });
      },
    };
  }

  for (const form of document.querySelectorAll("form.sizes")) {
    const data = JSON.parse(form.querySelector('script[type="application/json"]').textContent);
    const article = form.closest("article");
    const inputs = [...form.querySelectorAll("input")];
    const [reset, save, changed] = [".reset", ".save", ".changed"].map((name) => form.querySelector(name));
    const robotIsOff = () => data.robot.some((k) => inputs[k].value !== String(data.fields[k].value));
    const show = board(article, data, robotIsOff);
    const shown = () => inputs.map((input, k) => (input.value === String(data.fields[k].value) ? data.fields[k].value : input.valueAsNumber));
    const si = (values) => values.map((value, k) => value * UNITS[data.fields[k].unit]);
    const drawn = judged(data, si(data.fields.map((field) => field.value)));
    const update = () => {
      const values = shown();
      const same = values.every((value, k) => value === data.fields[k].value);
      const now = judged(data, si(values));
      article.toggleAttribute("data-changed", !same);
      reset.disabled = same;
      save.disabled = same || values.some((value) => !Number.isFinite(value)) || data.fields.some((field, k) => !field.place && values[k] !== field.value);
      if (same) show.asDrawn();
      else if (now.fault) show.fault(now.fault);
      else show.found(now.criteria);
      changed.replaceChildren(...(same || now.fault ? [] : charts(data, drawn, now)));
    };
    form.addEventListener("input", update);
    form.addEventListener("submit", (event) => event.preventDefault());
    reset.addEventListener("click", () => {
      inputs.forEach((input, k) => { input.value = data.fields[k].value; });
      update();
      inputs[0].focus();
    });
    save.addEventListener("click", () => {
      const link = document.createElement("a");
      link.href = URL.createObjectURL(new Blob([saved(data, shown())], { type: "application/toml" }));
      link.download = data.file;
      link.click();
      setTimeout(() => URL.revokeObjectURL(link.href), 1000);
    });
  }
  return { judged, saved };
})();
