// Moves each drive of the page over its stroke, and copies the joint. Without it all is there but the motion.
"use strict";
(() => {
  document.documentElement.classList.add("live");
  const movers = new Map();

  const line = (element, ...points) => element.setAttribute("points", points.map((p) => p.join(",")).join(" "));
  const circle = (element, [x, y]) => {
    element.setAttribute("cx", x);
    element.setAttribute("cy", y);
  };
  const words = (element, [x, y]) => {
    element.setAttribute("x", x);
    element.setAttribute("y", y);
  };

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

  // To one end, to the other and back to where it rests, until it is stopped.
  function player(button, slider, rest, show) {
    const last = Number(slider.max);
    const way = [...Array(2 * last).keys()].map((k) => { const at = (rest + k) % (2 * last); return at > last ? 2 * last - at : at; });
    let started = null;
    const stop = () => {
      if (started === null) return;
      started = null;
      button.textContent = "Play";
    };
    const step = (now) => {
      if (started === null) return;
      const at = Math.floor((now - started) / 25);
      slider.value = at < way.length ? way[at] : rest;
      show();
      if (at < way.length) requestAnimationFrame(step);
      else stop();
    };
    button.addEventListener("click", () => {
      if (started !== null) return stop();
      button.textContent = "Stop";
      requestAnimationFrame((now) => { started = now; step(now); });
    });
    for (const event of ["pointerdown", "keydown"]) slider.addEventListener(event, stop);
    addEventListener("beforeprint", () => { stop(); slider.value = rest; show(); });
    return stop;
  }

  for (const box of document.querySelectorAll("[data-motion]")) {
    const data = JSON.parse(box.querySelector('script[type="application/json"]').textContent);
    const sliders = [...box.querySelectorAll('input[type="range"]')];
    const [slider] = sliders;
    const views = data.views.map(picture);
    const charts = Object.entries(data.dots).map(([id, places]) => chart(id, places));
    const reads = box.querySelectorAll("[data-read]");
    const show = () => {
      const row = sliders.reduce((at, one) => at * (Number(one.max) + 1) + Number(one.value), 0);
      for (const move of views) move(row);
      for (const put of charts) put(row);
      for (const read of reads) read.textContent = data.read[row][Number(read.dataset.read)];
      sliders.forEach((one, k) => data.joints && one.setAttribute("aria-valuetext", `${data.joints[k]} ${data.read[row][k]} deg`));
      if (data.joints) return;
      const [motor, second] = data.read[row];
      const [name, unit] = data.second;
      slider.setAttribute("aria-valuetext", `${name} ${second} ${unit}, motor ${motor} deg`);
    };
    const play = box.querySelector("button.play");
    const stop = play ? player(play, slider, Number(slider.value), show) : () => {};
    for (const one of sliders) one.addEventListener("input", show);
    movers.set(box.dataset.motion, { box, slider, show, stop });
    show();
  }

  for (const button of document.querySelectorAll("button.go")) {
    const { box, slider, show, stop } = movers.get(button.dataset.go);
    button.addEventListener("click", () => {
      stop();
      slider.value = button.dataset.row;
      show();
      box.scrollIntoView({ block: "start" });
      slider.focus({ preventScroll: true });
    });
  }

  for (const button of document.querySelectorAll("button.copy")) {
    const text = document.getElementById(button.dataset.copy);
    const name = button.textContent;
    button.addEventListener("click", async () => {
      getSelection().selectAllChildren(text);
      const copied = await navigator.clipboard?.writeText(text.textContent).then(() => true, () => false);
      button.textContent = copied ? "Copied" : "Selected: press Ctrl+C";
      setTimeout(() => { button.textContent = name; }, 2000);
    });
  }

  // A link to a snippet opens it.
  const open = () => {
    const target = location.hash && document.getElementById(decodeURIComponent(location.hash.slice(1)));
    if (target instanceof HTMLDetailsElement) target.open = true;
  };
  addEventListener("hashchange", open);
  open();
})();
