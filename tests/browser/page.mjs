// Opens the pages that `unloop report` wrote in a browser and holds them to what a reader needs.
//
//   node page.mjs FOLDER BROWSER
//
// FOLDER holds NAME.html beside NAME.json, the output of `unloop stroke DESIGN --json` at the page's poses (none for a page of
// several designs). Prints one line for each fault; ends with status 1 where there is any. Screenshots and printed pages go
// to FOLDER.
import { readFileSync, readdirSync, existsSync, statSync } from "node:fs";
import { createRequire } from "node:module";
import { join } from "node:path";
import { pathToFileURL } from "node:url";
import { HtmlValidate } from "html-validate";
import { chromium } from "playwright-core";

const [folder, browserPath] = process.argv.slice(2);
const axe = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const names = readdirSync(folder).filter((f) => f.endsWith(".html")).map((f) => f.slice(0, -5)).sort();
const screens = [
  { name: "light", colorScheme: "light", viewport: { width: 1200, height: 900 } },
  { name: "dark", colorScheme: "dark", viewport: { width: 1200, height: 900 } },
  { name: "narrow", colorScheme: "light", viewport: { width: 390, height: 844 } },
];
let faults = 0;
let checks = 0;

function hold(ok, what) {
  checks += 1;
  if (!ok) {
    faults += 1;
    console.log(`FAULT ${what}`);
  }
}

async function opened(browser, name, screen, options = {}) {
  const { colorScheme, viewport } = screen;
  const context = await browser.newContext({ colorScheme, viewport, ...options });
  const page = await context.newPage();
  const url = pathToFileURL(join(folder, `${name}.html`)).href;
  page.on("request", (r) => hold(r.url() === url || r.url().startsWith("data:"), `${name}: asks for ${r.url()}`));
  page.on("console", (m) => hold(false, `${name} ${screen.name}: console: ${m.text()}`));
  page.on("pageerror", (e) => hold(false, `${name} ${screen.name}: ${e.message}`));
  await page.goto(url);
  return { page, context };
}

// Every word of every picture lies inside its picture, and no two words of a chart lie on one another.
function wordsOutOfPlace() {
  const found = [];
  for (const svg of document.querySelectorAll("svg[role=img]")) {
    const { width, height } = svg.viewBox.baseVal;
    const boxes = [...svg.querySelectorAll("text")].map((t) => [t.textContent, t.getBBox()]);
    for (const [text, b] of boxes) {
      const inside = b.x >= -1 && b.y >= -1 && b.x + b.width <= width + 1 && b.y + b.height <= height + 1;
      if (!inside) found.push(`"${text}" leaves its picture "${svg.querySelector("title").textContent}"`);
    }
    if (svg.classList.contains("drawing")) continue;
    boxes.forEach(([text, a], k) => {
      for (const [other, b] of boxes.slice(k + 1)) {
        const x = Math.min(a.x + a.width, b.x + b.width) - Math.max(a.x, b.x);
        const y = Math.min(a.y + a.height, b.y + b.height) - Math.max(a.y, b.y);
        if (x > 1 && y > 3) found.push(`"${text}" lies on "${other}" in "${svg.querySelector("title").textContent}"`);
      }
    });
  }
  return found;
}

async function fit(page, label) {
  const [wide, room] = await page.evaluate(() => [document.documentElement.scrollWidth, innerWidth]);
  hold(wide <= room, `${label}: ${wide} px wide on a screen of ${room} px`);
  for (const word of await page.evaluate(wordsOutOfPlace)) hold(false, `${label}: ${word}`);
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

async function readOut(page) {
  return page.locator("[data-read]").allTextContents();
}

const attributes = (page, part, ...wanted) =>
  page.locator(`svg.drawing [data-part="${part}"]`).first().evaluate((e, names) => names.map((n) => e.getAttribute(n)), wanted);
const ends = async (page, part) => (await attributes(page, part, "points"))[0].split(" ").map((p) => p.split(",").map(Number));

// A pad on the coupler has no joint that its linkage would be held against.
const isOfPad = (row) => row.angle_error_rad === null && row.opening_m !== null;

// A drive that is no planar four-bar: only such a one tells the margin at its input end, be it null.
const isDrive = (row) => "crank_side_rad" in row;

// Every figure that the drive has, in the page's order; the lever of the first view turns as the joint does.
async function driveIs(page, row, start, label) {
  const tilts = (row.ball_tilt_rad ?? []).filter((tilt) => tilt !== null);
  const angles = [row.motor_reading_rad, row.joint_reading_rad, null, row.transmission_angle_rad, row.crank_side_rad, tilts.length ? Math.max(...tilts) : null];
  const figures = angles.map((a) => (a === null ? null : degrees(a)));
  figures[2] = row.transmission_ratio;
  figures.push(row.travel_m === null ? null : 1e3 * row.travel_m);
  const known = figures.filter((figure) => figure !== null);
  const shownRow = await readOut(page);
  hold(shownRow.length === known.length, `${label}: ${shownRow.length} figures, stroke has ${known.length}`);
  shownRow.forEach((text, k) => agrees(text, known[k], `${label} figure ${k}`));
  const [[x0, y0], [x1, y1]] = await ends(page, "rocker");
  const turned = Math.atan2(y0 - y1, x1 - x0) - start - row.joint_rad;
  hold(Math.abs(Math.sin(turned)) < 0.3 / Math.hypot(x1 - x0, y1 - y0), `${label}: lever drawn ${degrees(turned)} deg off`);
}

async function poseIs(page, row, start, label) {
  if (isDrive(row)) return driveIs(page, row, start, label);
  const shownRow = await readOut(page);
  agrees(shownRow[0], degrees(row.motor_rad), `${label} motor`);
  if (isOfPad(row)) await padIs(page, row, shownRow, label);
  else jointIs(row, shownRow, label);
  // The drawing itself: bars at the angles of the pose (y down), within what a tenth of a pixel is worth.
  for (const [part, angle] of [["crank", row.crank_rad], ["coupler", row.coupler_rad], ["rocker", row.rocker_rad]]) {
    const [[x0, y0], [x1, y1]] = await ends(page, part);
    const off = Math.atan2(y0 - y1, x1 - x0) - angle;
    const length = Math.hypot(x1 - x0, y1 - y0);
    hold(Math.abs(Math.atan2(Math.sin(off), Math.cos(off))) < 0.3 / length, `${label}: ${part} drawn ${degrees(off)} deg off`);
  }
}

function jointIs(row, [, joint, ratio, transmission, force], label) {
  agrees(joint, degrees(row.joint_rad), `${label} joint`);
  agrees(ratio, row.transmission_ratio, `${label} ratio`);
  agrees(transmission, degrees(row.transmission_angle_rad), `${label} transmission angle`);
  if (row.rod_force_n === null) hold(force === "–", `${label} force shows ${force}`);
  else agrees(force, row.rod_force_n, `${label} force`);
}

// Both fingers: the pads stand as far apart as the opening says, level but for the tilt, each linkage the other's mirror image.
async function padIs(page, row, [, opening, tilt, transmission, grip], label) {
  agrees(opening, 1e3 * row.opening_m, `${label} opening`);
  agrees(tilt, degrees(row.tilt_rad), `${label} tilt`);
  agrees(transmission, degrees(row.transmission_angle_rad), `${label} transmission angle`);
  hold(shown(grip) / row.grip_n_per_n_m > 0, `${label}: grip shows ${grip}`);
  const [tip, other] = [(await ends(page, "finger"))[1], (await ends(page, "finger-2"))[1]];
  const apart = [other[0] - tip[0], other[1] - tip[1]];
  const [scale, unit] = (await page.locator("svg.drawing").evaluate(scaleBar));
  const gap = Math.hypot(...apart) / scale * unit;
  hold(Math.abs(gap - Math.abs(1e3 * row.opening_m)) < 0.3 / scale * unit, `${label}: pads drawn ${gap} mm apart, opening ${1e3 * row.opening_m}`);
  const [[x0, y0], [x1, y1]] = await ends(page, "pad");
  const [[u0, v0], [u1, v1]] = await ends(page, "pad-2");
  const lean = Math.atan2(y0 - y1, x1 - x0);
  hold(Math.abs(Math.sin(lean - Math.PI / 2 - row.tilt_rad)) < 0.3 / Math.hypot(x1 - x0, y1 - y0), `${label}: pad drawn at ${degrees(lean)} deg`);
  const mirrored = Math.atan2(v0 - v1, u1 - u0);
  hold(Math.abs(Math.sin(lean + mirrored)) < 0.01, `${label}: the other pad leans by ${degrees(mirrored)} deg`);
  // What a length of one finger is, it is of the other.
  for (const part of ["crank", "coupler", "rocker"]) {
    const [one, two] = [await ends(page, part), await ends(page, `${part}-2`)];
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
  // Where the lever stands at no turn of the joint, as drawn in the pose that the page opens with.
  const [[x0, y0], [x1, y1]] = await ends(page, "rocker");
  const start = Math.atan2(y0 - y1, x1 - x0) - rows[Number(await slider.inputValue())].joint_rad;
  hold(await slider.isVisible(), `${name}: no slider`);
  hold((await slider.getAttribute("max")) === String(rows.length - 1), `${name}: slider and rows differ`);
  await slider.focus();
  const keys = [["Home", 1, 0], ["ArrowRight", 1, 1], ["ArrowRight", 36, 37], ["ArrowLeft", 7, 30], ["End", 1, rows.length - 1]];
  for (const [key, times, row] of keys) {
    for (let k = 0; k < times; k += 1) await page.keyboard.press(key);
    hold((await slider.inputValue()) === String(row), `${name}: ${key} leads to ${await slider.inputValue()}, not ${row}`);
    await poseIs(page, rows[row], start, `${name} row ${row}`);
    const spoken = await slider.getAttribute("aria-valuetext");
    hold(spoken.includes((await readOut(page))[1]), `${name}: the slider says "${spoken}"`);
  }
  for (const row of [13, 77, 101]) {
    await slider.evaluate((s, v) => { s.value = v; s.dispatchEvent(new Event("input", { bubbles: true })); }, row);
    await poseIs(page, rows[row], start, `${name} row ${row}`);
    await follows(page, name, rows[row]);
  }
}

// The dot of the ratio's chart (of a gripper the opening's) stands at the pose: read off against two round figures of the axis.
async function follows(page, name, row) {
  const [chart, at] = isOfPad(row) ? ["opening", row.motor_rad] : ["ratio", row.joint_rad];
  const off = await page.locator(`.plot[id$="-${chart}"] svg`).evaluate((svg, joint) => {
    const words = [...svg.querySelectorAll("text[text-anchor=middle]")].filter((t) => /^−?[\d.]+$/.test(t.textContent));
    const ticks = words.map((t) => [Number(t.textContent.replace("−", "-")), Number(t.getAttribute("x"))]);
    const [[u, x], [v, y]] = [ticks[0], ticks.at(-1)];
    const dot = Number(svg.querySelector('[data-part="dot"]').getAttribute("cx"));
    return dot - (x + ((joint - u) / (v - u)) * (y - x));
  }, degrees(at));
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
  const { page, context } = await opened(browser, name, screens[0], { javaScriptEnabled: false });
  hold(!(await page.locator(".slider").first().isVisible()), `${name}: a slider that nothing moves`);
  hold((await page.locator("button:visible").count()) === 0, `${name}: a button that does nothing`);
  for (const what of [".verdict", "svg.drawing", ".plot svg", ".readout", ".board", "pre.file"]) {
    hold(await page.locator(what).first().isVisible(), `${name}: no ${what} without script`);
  }
  await context.close();
}

async function printed(browser, name) {
  const { page, context } = await opened(browser, name, screens[0]);
  const file = join(folder, `${name}.pdf`);
  await page.pdf({ path: file, preferCSSPageSize: true });
  hold(statSync(file).size > 20_000, `${name}: nothing printed`);
  // On A4 less its margins, 182 mm.
  await page.emulateMedia({ media: "print" });
  await page.setViewportSize({ width: 688, height: 1000 });
  await fit(page, `${name} printed`);
  await context.close();
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
for (const name of names) {
  const table = join(folder, `${name}.json`);
  for (const screen of screens) {
    const { page, context } = await opened(browser, name, screen);
    await fit(page, `${name} ${screen.name}`);
    await page.screenshot({ path: join(folder, `${name}-${screen.name}.png`) });
    if (existsSync(table) && screen.name !== "dark") {
      await moves(page, `${name} ${screen.name}`, JSON.parse(readFileSync(table, "utf8")).rows);
      await buttons(page, `${name} ${screen.name}`);
    }
    if (existsSync(table)) await accessible(page, `${name} ${screen.name}`);
    await context.close();
  }
  await withoutScript(browser, name);
  await printed(browser, name);
}
await browser.close();
console.log(`${checks} checks, ${faults} faults`);
process.exit(faults ? 1 : 0);
