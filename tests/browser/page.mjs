// Opens the pages that `unloop report` wrote in a browser and holds them to what a reader needs.
//
//   node page.mjs FOLDER BROWSER UNLOOP
//
// FOLDER holds NAME.html beside NAME.json, the output of `unloop stroke DESIGN --json` at the page's poses (none for a page of
// several designs). Prints one line for each fault; ends with status 1 where there is any. Screenshots and printed pages go
// to FOLDER.
import { execFile } from "node:child_process";
import { readFileSync, readdirSync, existsSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { join } from "node:path";
import { pathToFileURL } from "node:url";
import { HtmlValidate } from "html-validate";
import { chromium } from "playwright-core";

const [folder, browserPath, program] = process.argv.slice(2);
const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const names = readdirSync(folder).filter((f) => f.endsWith(".html")).map((f) => f.slice(0, -5)).sort();
const widths = [1400, 768, 390];
const themes = ["light", "dark"];
let faults = 0;
let checks = 0;

function hold(ok, what) {
  checks += 1;
  if (!ok) {
    faults += 1;
    console.log(`FAULT ${what}`);
  }
}

async function opened(browser, name, colorScheme, options = {}) {
  const context = await browser.newContext({ colorScheme, viewport: { width: widths[0], height: 900 }, ...options });
  const page = await context.newPage();
  const url = pathToFileURL(join(folder, `${name}.html`)).href;
  page.on("request", (r) => hold(r.url() === url || r.url().startsWith("data:"), `${name}: asks for ${r.url()}`));
  page.on("console", (m) => hold(false, `${name} ${colorScheme}: console: ${m.text()}`));
  page.on("pageerror", (e) => hold(false, `${name} ${colorScheme}: ${e.message}`));
  if (options.javaScriptEnabled !== false) await page.clock.install();
  await page.goto(url);
  return { page, context };
}

// Every word of every picture lies inside its picture, on no other word and on no line but those of the grid.
function wordsOutOfPlace() {
  const found = [];
  for (const svg of document.querySelectorAll("svg[role=img]")) {
    const { width, height } = svg.viewBox.baseVal;
    const boxes = [...svg.querySelectorAll("text")].map((t) => [t.textContent, t.getBBox()]);
    for (const [text, b] of boxes) {
      const inside = b.x >= -1 && b.y >= -1 && b.x + b.width <= width + 1 && b.y + b.height <= height + 1;
      if (!inside) found.push(`"${text}" leaves its picture "${svg.querySelector("title").textContent}"`);
    }
    const title = svg.querySelector("title").textContent;
    const lines = [...svg.querySelectorAll("polyline")].filter((l) => !/i-(grid|axis|cursor)/.test(l.getAttribute("class")));
    for (const line of lines) {
      const length = line.getTotalLength();
      const points = Array.from({ length: Math.ceil(length / 2) + 1 }, (_, k) => line.getPointAtLength(Math.min(2 * k, length)));
      for (const [text, b] of boxes) {
        const on = points.some(({ x, y }) => x > b.x + 1 && x < b.x + b.width - 1 && y > b.y + 3 && y < b.y + b.height - 3);
        if (on) found.push(`"${text}" lies on a line (${line.getAttribute("class")}) in "${title}"`);
      }
    }
    boxes.forEach(([text, a], k) => {
      for (const [other, b] of boxes.slice(k + 1)) {
        const x = Math.min(a.x + a.width, b.x + b.width) - Math.max(a.x, b.x);
        const y = Math.min(a.y + a.height, b.y + b.height) - Math.max(a.y, b.y);
        if (x > 1 && y > 3) found.push(`"${text}" lies on "${other}" in "${title}"`);
      }
    });
  }
  return found;
}

async function fit(page, label) {
  const [wide, room, inside] = await page.evaluate(() => [
    document.documentElement.scrollWidth,
    innerWidth,
    [...document.querySelectorAll(".scroll")].filter((e) => e.offsetParent && e.scrollWidth > e.clientWidth + 1).map((e) => e.getAttribute("aria-label")),
  ]);
  hold(wide <= room, `${label}: ${wide} px wide on a screen of ${room} px`);
  for (const table of inside) hold(false, `${label}: the table "${table}" has to be scrolled sideways`);
}

// Accessibility by axe-core's rules; serious and critical findings are faults.
async function accessible(page, label) {
  await page.evaluate(() => document.querySelectorAll("details").forEach((d) => { d.open = true; }));
  await page.evaluate(axe);
  const { violations, passes } = await page.evaluate(() => window.axe.run(document, { resultTypes: ["violations"] }));
  hold(passes.length > 20, `${label}: axe looked at next to nothing`);
  for (const v of violations.filter((v) => ["serious", "critical"].includes(v.impact))) {
    hold(false, `${label}: ${v.id}: ${v.help}: ${v.nodes[0].html.slice(0, 200)}`);
  }
}

const degrees = (rad) => (rad * 180) / Math.PI;
const shown = (text) => Number(text.replace("−", "-"));

// To the last printed digit, half a unit of it either way and a hair for the tie.
function agrees(text, value, label) {
  const decimals = (text.split(".")[1] ?? "").length;
  hold(Math.abs(shown(text) - value) <= 0.5001 * 10 ** -decimals, `${label}: shows ${text}, stroke has ${value}`);
}

// The figures read out, the ends of every part of the first drawing, and what the slider says, all at once.
const pictured = () => {
  const svg = document.querySelector("svg.drawing");
  const parts = [...svg.querySelectorAll("polyline[data-part]")].map((e) => [e.dataset.part, e.getAttribute("points").split(" ").map((p) => p.split(",").map(Number))]);
  const dots = [...document.querySelectorAll('.plot svg [data-part="dot"]')].map((e) => [e.closest(".plot").id.replace(/^d1-/, ""), Number(e.getAttribute("cx"))]);
  const slider = document.querySelector("input[type=range]");
  return {
    read: [...document.querySelectorAll("[data-read]")].map((e) => e.textContent),
    parts: Object.fromEntries(parts),
    dots: Object.fromEntries(dots),
    row: Number(slider.value),
    spoken: slider.getAttribute("aria-valuetext"),
  };
};

// A pad on the coupler has no joint that its linkage would be held against.
const isOfPad = (row) => row.angle_error_rad === null && row.opening_m !== null;

// A drive that is no planar four-bar: only such a one tells the margin at its input end, be it null.
const isDrive = (row) => "crank_side_rad" in row;

// Every figure that the drive has, in the page's order; the lever of the first view turns as the joint does.
function driveIs({ read, parts }, row, start, label) {
  const tilts = (row.ball_tilt_rad ?? []).filter((tilt) => tilt !== null);
  const angles = [row.motor_reading_rad, row.joint_reading_rad, null, row.transmission_angle_rad, row.crank_side_rad, tilts.length ? Math.max(...tilts) : null];
  const figures = angles.map((a) => (a === null ? null : degrees(a)));
  figures[2] = row.transmission_ratio;
  figures.push(row.travel_m === null ? null : 1e3 * row.travel_m);
  const known = figures.filter((figure) => figure !== null);
  hold(read.length === known.length, `${label}: ${read.length} figures, stroke has ${known.length}`);
  read.forEach((text, k) => agrees(text, known[k], `${label} figure ${k}`));
  const [[x0, y0], [x1, y1]] = parts.rocker;
  const turned = Math.atan2(y0 - y1, x1 - x0) - start - row.joint_rad;
  hold(Math.abs(Math.sin(turned)) < 0.3 / Math.hypot(x1 - x0, y1 - y0), `${label}: lever drawn ${degrees(turned)} deg off`);
}

function poseIs(seen, row, start, scale, label) {
  if (isDrive(row)) return driveIs(seen, row, start, label);
  const { read, parts } = seen;
  agrees(read[0], degrees(row.motor_reading_rad), `${label} motor`);
  if (isOfPad(row)) padIs(parts, row, read, scale, label);
  else jointIs(row, read, label);
  // The drawing itself: bars at the angles of the pose from A to B (y down), within what a tenth of a pixel is worth.
  const [[ax, ay], [bx, by]] = [parts.crank[0], parts.rocker[0]];
  const ground = Math.atan2(ay - by, bx - ax);
  for (const [part, angle] of [["crank", row.crank_rad], ["coupler", row.coupler_rad], ["rocker", row.rocker_rad]]) {
    const [[x0, y0], [x1, y1]] = parts[part];
    const off = Math.atan2(y0 - y1, x1 - x0) - ground - angle;
    const length = Math.hypot(x1 - x0, y1 - y0);
    hold(Math.abs(Math.atan2(Math.sin(off), Math.cos(off))) < 0.4 / length, `${label}: ${part} drawn ${degrees(off)} deg off`);
  }
}

function jointIs(row, [, joint, ratio, transmission, force], label) {
  agrees(joint, degrees(row.joint_reading_rad), `${label} joint`);
  agrees(ratio, row.transmission_ratio, `${label} ratio`);
  agrees(transmission, degrees(row.transmission_angle_rad), `${label} transmission angle`);
  if (row.rod_force_n === null) hold(force === "–", `${label} force shows ${force}`);
  else agrees(force, row.rod_force_n, `${label} force`);
}

// Both fingers: the pads stand as far apart as the opening says, level but for the tilt, each linkage the other's mirror image.
function padIs(parts, row, [, opening, tilt, transmission, grip], [scale, unit], label) {
  agrees(opening, 1e3 * row.opening_m, `${label} opening`);
  agrees(tilt, degrees(row.tilt_rad), `${label} tilt`);
  agrees(transmission, degrees(row.transmission_angle_rad), `${label} transmission angle`);
  hold(shown(grip) / row.grip_n_per_n_m > 0, `${label}: grip shows ${grip}`);
  const [tip, other] = [parts.finger[1], parts["finger-2"][1]];
  const apart = [other[0] - tip[0], other[1] - tip[1]];
  const gap = Math.hypot(...apart) / scale * unit;
  hold(Math.abs(gap - Math.abs(1e3 * row.opening_m)) < 0.3 / scale * unit, `${label}: pads drawn ${gap} mm apart, opening ${1e3 * row.opening_m}`);
  const [[x0, y0], [x1, y1]] = parts.pad;
  const [[u0, v0], [u1, v1]] = parts["pad-2"];
  const lean = Math.atan2(y0 - y1, x1 - x0);
  hold(Math.abs(Math.sin(lean - Math.PI / 2 - row.tilt_rad)) < 0.3 / Math.hypot(x1 - x0, y1 - y0), `${label}: pad drawn at ${degrees(lean)} deg`);
  const mirrored = Math.atan2(v0 - v1, u1 - u0);
  hold(Math.abs(Math.sin(lean + mirrored)) < 0.01, `${label}: the other pad leans by ${degrees(mirrored)} deg`);
  // What a length of one finger is, it is of the other.
  for (const part of ["crank", "coupler", "rocker"]) {
    const [one, two] = [parts[part], parts[`${part}-2`]];
    const length = ([[a, b], [c, d]]) => Math.hypot(c - a, d - b);
    hold(Math.abs(length(one) - length(two)) < 0.3, `${label}: the other ${part} is drawn ${length(two)} px long`);
    hold(Math.abs(one[1][1] - two[1][1]) < 0.3, `${label}: the other ${part} does not follow`);
  }
}

// Length of the scale bar, px, and what it is worth, mm.
function scaleBar(svg) {
  const words = [...svg.querySelectorAll("text")].find((t) => /^[\d.]+\smm$/.test(t.textContent));
  const bar = words.previousElementSibling ?? words.nextElementSibling;
  const x = bar.getAttribute("points").split(" ").map((p) => Number(p.split(",")[0]));
  return [Math.max(...x) - Math.min(...x), parseFloat(words.textContent)];
}

async function moves(page, name, rows) {
  const slider = page.locator("input[type=range]");
  const rest = await page.evaluate(pictured);
  // Where the lever stands at no turn of the joint, as drawn in the pose that the page opens with.
  const [[x0, y0], [x1, y1]] = rest.parts.rocker;
  const start = Math.atan2(y0 - y1, x1 - x0) - rows[rest.row].joint_rad;
  const scale = isOfPad(rows[0]) ? await page.locator("svg.drawing").evaluate(scaleBar) : null;
  hold(await slider.isVisible(), `${name}: no slider`);
  hold((await slider.getAttribute("max")) === String(rows.length - 1), `${name}: slider and rows differ`);
  const within = rows[0].joint_rad * rows.at(-1).joint_rad < 0;
  hold(!within || Math.abs(rows[rest.row].motor_rad) < 1e-9, `${name}: rests at motor ${degrees(rows[rest.row].motor_rad)} deg, not in the zero pose`);
  await slider.focus();
  const keys = [["Home", 1, 0], ["ArrowRight", 3, 3], ["ArrowLeft", 1, 2], ["End", 1, rows.length - 1]];
  for (const [key, times, row] of keys) {
    for (let k = 0; k < times; k += 1) await page.keyboard.press(key);
    const seen = await page.evaluate(pictured);
    hold(seen.row === row, `${name}: ${key} leads to ${seen.row}, not ${row}`);
    poseIs(seen, rows[row], start, scale, `${name} row ${row}`);
    hold(seen.spoken.includes(seen.read[1]), `${name}: the slider says "${seen.spoken}"`);
  }
  for (const row of [13, 30, 77, 101]) {
    await slider.evaluate((s, v) => { s.value = v; s.dispatchEvent(new Event("input", { bubbles: true })); }, row);
    const seen = await page.evaluate(pictured);
    poseIs(seen, rows[row], start, scale, `${name} row ${row}`);
    await follows(page, name, rows[row], seen);
  }
  await plays(page, name, slider, rest.row);
}

// Play goes to the ends of the stroke and comes to rest where it began.
async function plays(page, name, slider, rest) {
  const play = page.locator("button.play");
  await play.click();
  hold((await play.textContent()) === "Stop", `${name}: nothing to stop`);
  await page.clock.runFor(500);
  hold(Number(await slider.inputValue()) !== rest, `${name}: Play moves nothing`);
  await page.clock.runFor(10_000);
  const [words, at] = [await play.textContent(), Number(await slider.inputValue())];
  hold(words === "Play" && at === rest, `${name}: comes to rest in row ${at}, not ${rest}`);
}

// The dot of a chart over the stroke stands at the pose: read off against two round figures of the axis.
async function follows(page, name, row, { dots }) {
  const chart = ["ratio", "opening", "transmission"].find((chart) => chart in dots);
  if (!chart) return;
  const at = degrees(isOfPad(row) ? row.motor_reading_rad : row.joint_reading_rad);
  const [[u, x], [v, y]] = await page.locator(`.plot[id$="-${chart}"] svg`).evaluate((svg) => {
    const words = [...svg.querySelectorAll("text[text-anchor=middle]")].filter((t) => /^−?[\d.]+$/.test(t.textContent));
    const ticks = words.map((t) => [Number(t.textContent.replace("−", "-")), Number(t.getAttribute("x"))]);
    return [ticks[0], ticks.at(-1)];
  });
  const off = dots[chart] - (x + ((at - u) / (v - u)) * (y - x));
  hold(Math.abs(off) < 0.3, `${name}: the dot stands ${off} px off`);
}

async function buttons(page, name) {
  const go = page.locator("button.go").first();
  await go.click();
  hold((await page.locator("input[type=range]").inputValue()) === (await go.getAttribute("data-row")), `${name}: the worst pose is not shown`);
  const copy = page.locator("button.copy").first();
  if (await copy.count()) {
    await copy.click();
    const [selected, text] = await copy.evaluate((b) => [String(getSelection()), document.getElementById(b.dataset.copy).textContent]);
    hold(selected.trim() === text.trim(), `${name}: the joint is not selected whole`);
    await page.evaluate(() => { location.hash = "d1-mjcf"; });
    await page.waitForFunction(() => document.getElementById("d1-mjcf").open);
  }
}

async function withoutScript(browser, name) {
  const { page, context } = await opened(browser, name, "light", { javaScriptEnabled: false });
  hold(!(await page.locator(".slider").first().isVisible()), `${name}: a slider that nothing moves`);
  hold((await page.locator("button:visible").count()) === 0, `${name}: a button that does nothing`);
  hold((await page.locator("form:visible").count()) === 0, `${name}: a field that nothing reads`);
  // Every figure of a belt is the same in every pose: it has words and no charts.
  const charts = name === "belt" ? [] : [".plot svg"];
  for (const what of [".verdict", "svg.drawing", ...charts, ".readout", ".board", "pre.file"]) {
    hold(await page.locator(what).first().isVisible(), `${name}: no ${what} without script`);
  }
  await context.close();
}

// Sheets of A4 that one design may take.
const SHEETS = 5;

async function printed(page, name) {
  const file = join(folder, `${name}.pdf`);
  await page.pdf({ path: file, preferCSSPageSize: true });
  const sheets = readFileSync(file, "latin1").match(/\/Type\s*\/Page\b/g)?.length ?? 0;
  const designs = await page.locator("article").count();
  hold(sheets > 0 && sheets <= SHEETS * designs + (designs > 1 ? 1 : 0), `${name}: printed on ${sheets} sheets`);
  // On A4 less its margins, 184 mm.
  await page.emulateMedia({ media: "print" });
  await page.setViewportSize({ width: 695, height: 1000 });
  await fit(page, `${name} printed`);
  await page.emulateMedia({ media: "screen" });
}

// Sizes that are typed: the same figures and verdict as the program's for the file that the page saves.
const CASES = 40;
const outcomes = { holds: 0, fails: 0, none: 0 };
const randomly = (seed) => () => { seed = (seed * 48_271) % 2_147_483_647; return seed / 2_147_483_647; };

const typed = (values) => {
  const inputs = [...document.querySelectorAll("form.sizes input")];
  inputs.forEach((input, k) => { input.value = values[k]; });
  inputs[0].dispatchEvent(new Event("input", { bubbles: true }));
  const rows = [...document.querySelectorAll(".board tbody tr")].map((row) => [...row.cells].map((cell) => cell.innerText.trim()));
  const data = JSON.parse(document.querySelector("form.sizes script").textContent);
  return { word: document.querySelector(".verdict").innerText, rows, text: drawnSizes.saved(data, values), curves: document.querySelectorAll(".changed svg").length };
};

const printedAs = (value, unit) => (unit === "rad" ? degrees(value) : 100 * value);

async function sized(page, name) {
  const drawn = await page.locator("form.sizes input").evaluateAll((inputs) => inputs.map((input) => Number(input.value)));
  const before = await page.locator("article").innerHTML();
  // Where [[robot]] places motor and joint the file is refused with others.
  const fixed = await page.evaluate(() => JSON.parse(document.querySelector("form.sizes script").textContent).robot);
  const [cases, random] = [[], randomly(20_011)];
  for (let k = 0; k < CASES; k += 1) {
    const far = [0.0005, 0.005, 0.05, 0.4][k % 4];
    const values = drawn.map((value, n) => fixed.includes(n) ? value : Number((value === 0 ? 20 * far * (random() - 0.5) : value * (1 + far * (2 * random() - 1))).toFixed(4)));
    cases.push({ ...(await page.evaluate(typed, values)), values });
  }
  const files = cases.map(({ text }, k) => {
    const file = join(folder, `${name}-${k}.toml`);
    writeFileSync(file, text.replace(/^name *=.*$/m, `name = "case ${k}"`).replace(/^over *=.*$/m, 'over = "nominal"'));
    return file;
  });
  const stdout = await new Promise((done) => {
    execFile(program, ["check", "--json-list", ...files], { encoding: "utf8", maxBuffer: 1 << 28 }, (_, text) => done(text));
  });
  const found = new Map(JSON.parse(stdout).map((check) => [check.design, check]));
  cases.forEach(({ word, rows, curves, values }, k) => {
    const [check, label] = [found.get(`case ${k}`), `${name} with ${values}`];
    const none = word.startsWith("✕") && word.includes("No linkage");
    hold(none === !check, `${label}: page says "${word.split("\n")[0]}", the program ${check ? check.verdict : "finds no linkage"}`);
    hold((curves === 3) === !none, `${label}: ${curves} curves`);
    if (!check || none) {
      outcomes.none += 1;
      return;
    }
    const fails = check.criteria.some((c) => c.outcome === "fails");
    hold(word.includes("Not equivalent") === fails, `${label}: page says "${word.split("\n")[0]}", the program ${check.verdict}`);
    outcomes[fails ? "fails" : "holds"] += 1;
    check.criteria.forEach((c, n) => {
      if (c.nominal === null) return;
      const text = rows[n][2].match(/^−?[\d.]+(e-?\d+)?/)?.[0] ?? "";
      if (text.includes("e")) hold(Math.abs(Number(text.replace("−", "-")) / printedAs(c.nominal, c.unit) - 1) < 0.06, `${label}: ${c.name} ${rows[n][2]}`);
      else agrees(text, printedAs(c.nominal, c.unit), `${label}: ${c.name}`);
    });
  });
  await page.locator("button.reset").click();
  const after = await page.locator("article").innerHTML();
  const differs = [...after].findIndex((c, k) => c !== before[k]);
  hold(after === before, `${name}: not as drawn again: ${after.slice(differs - 80, differs + 80)}`);
  await faultIsTold(page, name);
}

// A size that is none, and the file that is saved.
async function faultIsTold(page, name) {
  const first = page.locator("form.sizes input").first();
  const value = await first.inputValue();
  await first.fill("");
  hold((await page.locator(".verdict").innerText()).includes("not a number"), `${name}: an empty field is not told`);
  hold(await page.locator("button.save").isDisabled(), `${name}: a file without a size can be saved`);
  await first.fill(String(1.001 * Number(value) + 0.001));
  const [download] = await Promise.all([page.waitForEvent("download"), page.locator("button.save").click()]);
  const [text, drawn] = [readFileSync(await download.path(), "utf8"), await page.locator("pre.file").textContent()];
  const changed = text.split("\n").filter((line, k) => line !== drawn.split("\n")[k]);
  hold(changed.length === 1, `${name}: ${changed.length} lines of the saved file changed`);
  await page.locator("button.reset").click();
}

const validator = new HtmlValidate({ extends: ["html-validate:standard"], rules: { "no-inline-style": "error" } });
for (const name of names) {
  const report = await validator.validateFile(join(folder, `${name}.html`));
  for (const message of report.results.flatMap((r) => r.messages)) {
    hold(false, `${name}:${message.line}: ${message.ruleId}: ${message.message}`);
  }
  hold(report.valid, `${name}: not valid HTML`);
}

const browser = await chromium.launch({
  executablePath: browserPath,
  args: ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync"],
});
async function looked(name) {
  const began = Date.now();
  const table = join(folder, `${name}.json`);
  for (const theme of themes) {
    const { page, context } = await opened(browser, name, theme);
    for (const width of widths) {
      await page.setViewportSize({ width, height: 900 });
      await fit(page, `${name} ${theme} ${width}`);
      if (width !== 768) await page.screenshot({ path: join(folder, `${name}-${theme}-${width}.png`) });
    }
    if (theme === "light") {
      await page.setViewportSize({ width: widths[0], height: 900 });
      for (const word of await page.evaluate(wordsOutOfPlace)) hold(false, `${name}: ${word}`);
      if (existsSync(table)) {
        await moves(page, name, JSON.parse(readFileSync(table, "utf8")).rows);
        if (await page.locator("form.sizes").count()) await sized(page, name);
        await buttons(page, name);
      }
      await printed(page, name);
    }
    if (existsSync(table)) await accessible(page, `${name} ${theme}`);
    await context.close();
  }
  await withoutScript(browser, name);
  console.log(`${name}: ${Date.now() - began} ms`);
}

// Two at a time: one waits while the other works.
const waiting = [...names];
await Promise.all([1, 2].map(async () => {
  while (waiting.length) await looked(waiting.shift());
}));
await browser.close();
console.log(`other sizes: ${JSON.stringify(outcomes)}`);
for (const [outcome, count] of Object.entries(outcomes)) hold(count > 4, `other sizes: only ${count} with "${outcome}"`);
console.log(`${checks} checks, ${faults} faults`);
process.exit(faults ? 1 : 0);
