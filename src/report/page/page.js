// Moves each linkage of the page over its stroke, and copies the joint. Without it all is there but the motion.
"use strict";
(() => {
  document.documentElement.classList.add("live");
  const movers = new Map();

  // The same places as in the drawing that came with the page.
  const beyond = (axis, pin) => {
    const [dx, dy] = [pin[0] - axis[0], pin[1] - axis[1]];
    const reach = 19 / Math.max(Math.hypot(dx, dy), 1e-9);
    return [pin[0] + reach * dx, pin[1] + reach * dy + 4.5];
  };
  const beside = (from, to, toward, half) => {
    const [dx, dy] = [to[0] - from[0], to[1] - from[1]];
    const length = Math.max(Math.hypot(dx, dy), 1e-9);
    const [nx, ny] = [-dy / length, dx / length];
    const away = (nx * toward[0] + ny * toward[1] < 0 ? -1 : 1) * (11 + half * Math.abs(nx));
    return [(from[0] + to[0]) / 2 + away * nx, (from[1] + to[1]) / 2 + away * ny + 4.5];
  };
  const first = (line) => line.getAttribute("points").split(" ")[0].split(",").map(Number);
  const line = (element, ...points) => element.setAttribute("points", points.map((p) => p.join(",")).join(" "));
  const circle = (element, [x, y]) => {
    element.setAttribute("cx", x);
    element.setAttribute("cy", y);
  };
  const words = (element, [x, y]) => {
    element.setAttribute("x", x);
    element.setAttribute("y", y);
  };

  // The pad and the other finger, which is the mirror image where there is one.
  function gripper(part, { faces, mirror }, a, b) {
    const mirrored = ([x, y]) => {
      const [[atX, atY], [nx, ny]] = mirror;
      const twice = 2 * ((x - atX) * nx + (y - atY) * ny);
      return [x - twice * nx, y - twice * ny];
    };
    return (row, p, q) => {
      const [tip, from, to] = faces[row];
      const lines = { finger: [p, tip, q], pad: [from, to], coupler: [p, q], crank: [a, p], rocker: [b, q] };
      for (const name of ["finger", "pad"]) line(part(name), ...lines[name]);
      if (!mirror) return;
      for (const [name, points] of Object.entries(lines)) line(part(name + "-2"), ...points.map(mirrored));
      circle(part("pin-p-2"), mirrored(p));
      circle(part("pin-q-2"), mirrored(q));
    };
  }

  function drawing(svg, jaw) {
    const part = (name) => svg.querySelector(`[data-part="${name}"]`);
    const parts = {};
    for (const name of ["crank", "coupler", "rocker", "pin-p", "pin-q"]) parts[name] = part(name);
    for (const name of ["crank", "coupler", "rocker", "p", "q"]) parts["name-" + name] = part("name-" + name);
    const [a, b] = [first(parts.crank), first(parts.rocker)];
    const pads = jaw && gripper(part, jaw, a, b);
    return (row, p, q) => {
      if (pads) pads(row, p, q);
      line(parts.crank, a, p);
      line(parts.coupler, p, q);
      line(parts.rocker, b, q);
      circle(parts["pin-p"], p);
      circle(parts["pin-q"], q);
      words(parts["name-crank"], beside(a, p, [-1, -0.01], 18));
      words(parts["name-coupler"], beside(p, q, [0, -1], 24));
      words(parts["name-rocker"], beside(b, q, [1, -0.01], 20));
      words(parts["name-p"], beyond(a, p));
      words(parts["name-q"], beyond(b, q));
    };
  }

  // Every part of a picture by its name: its coordinates one after another, in every pose.
  function picture({ id, parts }) {
    const svg = document.getElementById(id).querySelector("svg");
    const moved = Object.entries(parts).map(([name, rows]) => [svg.querySelector(`[data-part="${name}"]`), rows]);
    const put = { polyline: (e, [x, y, u, v]) => line(e, [x, y], [u, v]), circle, text: words };
    return (row) => moved.forEach(([element, rows]) => put[element.tagName](element, rows[row]));
  }

  function chart(id, places) {
    const svg = document.getElementById(id).querySelector("svg");
    const [upright, dot] = ["cursor", "dot"].map((name) => svg.querySelector(`[data-part="${name}"]`));
    const ends = upright.getAttribute("points").split(" ").map((p) => p.split(",")[1]);
    return (row) => {
      const [x, y] = places[row];
      line(upright, [x, ends[0]], [x, ends[1]]);
      circle(dot, [x, y]);
    };
  }

  for (const box of document.querySelectorAll("[data-motion]")) {
    const data = JSON.parse(box.querySelector('script[type="application/json"]').textContent);
    const slider = box.querySelector('input[type="range"]');
    const views = data.views?.map(picture);
    const move = views ? (row) => views.forEach((view) => view(row)) : drawing(box.querySelector("svg.drawing"), data.jaw);
    const charts = Object.entries(data.dots).map(([id, places]) => chart(id, places));
    const reads = box.querySelectorAll("[data-read]");
    const show = () => {
      const row = Number(slider.value);
      move(row, data.p?.[row], data.q?.[row]);
      for (const put of charts) put(row);
      for (const read of reads) read.textContent = data.read[row][Number(read.dataset.read)];
      const [motor, second] = data.read[row];
      const [name, unit] = data.second;
      slider.setAttribute("aria-valuetext", `${name} ${second} ${unit}, motor ${motor} deg`);
    };
    slider.addEventListener("input", show);
    box.querySelector(".slider").hidden = false;
    movers.set(box.dataset.motion, { box, slider, show });
    show();
  }

  for (const button of document.querySelectorAll("button.go")) {
    const { box, slider, show } = movers.get(button.dataset.go);
    button.hidden = false;
    button.addEventListener("click", () => {
      slider.value = button.dataset.row;
      show();
      box.scrollIntoView({ block: "start" });
      slider.focus({ preventScroll: true });
    });
  }

  for (const button of document.querySelectorAll("button.copy")) {
    const text = document.getElementById(button.dataset.copy);
    const name = button.textContent;
    button.hidden = false;
    button.addEventListener("click", async () => {
      getSelection().selectAllChildren(text);
      const copied = await navigator.clipboard?.writeText(text.textContent).then(() => true, () => false);
      button.textContent = copied ? "Copied" : "Selected: press Ctrl+C";
      setTimeout(() => { button.textContent = name; }, 2000);
    });
  }

  // A link to a snippet opens it; on paper all snippets are open.
  const open = () => {
    const target = location.hash && document.getElementById(decodeURIComponent(location.hash.slice(1)));
    if (target instanceof HTMLDetailsElement) target.open = true;
  };
  addEventListener("hashchange", open);
  open();
  addEventListener("beforeprint", () => {
    for (const snippet of document.querySelectorAll("details.snippet")) snippet.open = true;
  });
})();
