// How long one change of an input on a review page takes, beside the same formulas written by hand.
//
//   node tests/bench/what_if.mjs PAGE.html       one line of JSON; the page holds a calculation of safe-stop
//   node tests/bench/what_if.mjs --library       the slowest input of every sheet; STANDSTILL is the binary
//
// A change counts from the event of the field until values, checks, worked steps, pictures and the bar have
// followed; style and layout that the browser then owes are timed apart, painting is not. The other side, in
// the same page and turn by turn, works out safe-stop in plain doubles and sets as many texts, and no more:
// no units, no bounds of rounding, no checks shown, no marks, no pictures. `npm ci` in tests/review first.
import { spawnSync } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { createServer } from "node:http";
import { createRequire } from "node:module";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { safeStop } from "./safe_stop_by_hand.mjs";

const { chromium } = createRequire(new URL("../review/browser.mjs", import.meta.url))("playwright-core");
const CHANGES = Number(process.env.CHANGES || 400);

/** A page that is isolated, for a clock of 5 µs instead of 100 µs. */
async function opened(browser, html) {
  const server = createServer((_, answer) => answer.writeHead(200, {
    "content-type": "text/html; charset=utf-8",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-embedder-policy": "require-corp",
  }).end(html));
  await new Promise((done) => server.listen(0, "127.0.0.1", done));
  const context = await browser.newContext({ viewport: { width: 1100, height: 900 } });
  const page = await context.newPage();
  page.on("pageerror", (error) => { throw error; });
  await page.goto(`http://127.0.0.1:${server.address().port}/`);
  const close = async () => { await context.close(); server.close(); };
  return { page, close };
}

const rested = (page) => page.evaluate(() => new Promise((done) => {
  const look = () => (standstill.rested() ? done() : setTimeout(look, 10));
  look();
}));

/** Times changes of one input, and of the other side if there is one; runs in the page. */
function timed([name, count, by]) {
  const field = document.querySelector(`input[data-name="${name}"]`), was = field.value, from = Number(was) || 1;
  const sorted = (all) => all.sort((a, b) => a - b);
  const change = (k) => {
    const text = String(Number((from * (1 + 0.03 * (((k * 7919) % 100) / 100))).toPrecision(5)));
    field.value = text;
    const start = performance.now();
    field.dispatchEvent(new Event("input"));
    return [performance.now() - start, Number(text)];
  };
  const layout = () => { const start = performance.now(); void document.body.offsetHeight; return performance.now() - start; };

  // how many texts one change sets, seen from outside
  let texts = 0;
  const watch = new MutationObserver(() => {});
  watch.observe(document.querySelector("main"), { characterData: true, childList: true, subtree: true });
  change(1);
  watch.takeRecords();
  change(2);
  texts = watch.takeRecords().filter((one) => one.type === "characterData").length;
  watch.disconnect();

  let hand = null;
  if (by) {
    const formula = window.byHand, q = window.inputsOfHand, nodes = [];
    const box = document.createElement("p");
    for (let k = 0; k < texts; k++) { const span = document.createElement("span"); span.textContent = "0"; box.append(span, " "); nodes.push(span.firstChild); }
    document.body.append(box);
    hand = (value) => {
      const start = performance.now();
      q[name] = value * window.factorOfHand;
      const results = formula(q), values = Object.values(results).slice(0, -1);
      for (let k = 0; k < nodes.length; k++) nodes[k].data = `${Number(values[k % values.length].toPrecision(6))} mm`;
      return performance.now() - start;
    };
  }

  const mine = [], theirs = [], owed = [];
  for (let k = 0; k < count; k++) {
    const [took, value] = change(k);
    mine.push(took);
    owed.push(layout());
    if (hand) { theirs.push(hand(value)); layout(); }
  }
  field.value = was;
  field.dispatchEvent(new Event("input"));
  const told = (all) => ({ median: sorted(all)[all.length >> 1], p95: all[Math.floor(all.length * 0.95)] });
  return { texts, mine: told(mine), theirs: hand && told(theirs), layout: told(owed) };
}

const round = (x) => Number(x.toFixed(3));

async function one(browser, html) {
  const { page, close } = await opened(browser, html);
  await rested(page);
  const data = JSON.parse(await page.textContent("#data"));
  const at = data.calculations.findIndex((one) => one.sheet.endsWith("safe-stop"));
  if (at !== 0) throw new Error("the first calculation of the page has to be safe-stop");
  const program = data.calculations[at], format = (k) => data.formats[k];
  const inputs = Object.fromEntries(program.inputs.map((input) =>
    [input.n, input.w ? Number(input.v) : (Number(input.v) + format(input.u).z) * format(input.u).f]));

  // both sides give the same before the clock starts
  const shown = (await page.evaluate(() => standstill.values(0))).outputs, hand = safeStop(inputs);
  for (const [name, , k] of program.outputs) {
    const mine = shown[name], other = hand[name] / format(k).f - format(k).z;
    if (!(Math.abs(mine - other) <= 1e-9 * Math.max(Math.abs(mine), 1e-3))) throw new Error(`${name}: ${mine} in the page, ${other} by hand`);
  }

  // the first change of all, then the input that moves most
  const first = await page.evaluate(() => {
    const field = document.querySelector('input[data-name="n_0"]');
    field.value = String(Number(field.value) + 3);
    const start = performance.now();
    field.dispatchEvent(new Event("input"));
    return performance.now() - start;
  });
  const speed = program.inputs.find((input) => input.n === "n_0");
  await page.evaluate(`window.byHand = ${safeStop}; window.inputsOfHand = ${JSON.stringify(inputs)}; window.factorOfHand = ${format(speed.u).f};`);
  await page.evaluate(timed, ["n_0", 40, true]);
  const got = await page.evaluate(timed, ["n_0", CHANGES, true]);
  await close();
  return {
    bench: "what-if", sheet: "safe-stop", input: "n_0", changes: CHANGES, page_kB: round(html.length / 1000), texts: got.texts,
    first_ms: round(first), median_ms: round(got.mine.median), p95_ms: round(got.mine.p95),
    by_hand_median_ms: round(got.theirs.median), by_hand_p95_ms: round(got.theirs.p95), ratio: round(got.mine.median / got.theirs.median),
    layout_median_ms: round(got.layout.median), layout_p95_ms: round(got.layout.p95), goal_ms: 4,
  };
}

/** The slowest input of each sheet of the library. */
async function library(browser, folder) {
  const binary = process.env.STANDSTILL || "standstill";
  const sheets = JSON.parse(spawnSync(binary, ["list", "--json"], { encoding: "utf8" }).stdout).map((sheet) => sheet.name);
  const all = [];
  for (const sheet of sheets) {
    const document = join(folder, `${sheet}.md`), html = join(folder, `${sheet}.html`);
    writeFileSync(document, `\`\`\`sheet ${sheet} as s\nexamples\nshow results checks settings picture inputs steps\n\`\`\`\n`);
    const made = spawnSync(binary, ["review", document, "-o", html], { encoding: "utf8" });
    if (made.status > 1) throw new Error(made.stderr);
    const { page, close } = await opened(browser, readFileSync(html));
    await rested(page);
    const names = await page.evaluate(() => [...document.querySelectorAll("table.inp input")].filter((field) => !field.value.includes(",")).map((field) => field.dataset.name));
    let worst = { sheet, input: "", median_ms: 0, p95_ms: 0, layout_median_ms: 0 };
    for (const name of names) {
      const got = await page.evaluate(timed, [name, 24, false]);
      if (got.mine.median > worst.median_ms) worst = { sheet, input: name, median_ms: round(got.mine.median), p95_ms: round(got.mine.p95), layout_median_ms: round(got.layout.median) };
    }
    all.push(worst);
    await close();
  }
  all.sort((a, b) => b.median_ms - a.median_ms);
  return { bench: "what-if-library", sheets: all.length, goal_ms: 16, slowest: all.slice(0, 5) };
}

const asked = process.argv[2];
if (!asked) throw new Error("node what_if.mjs PAGE.html, or --library");
const browser = await chromium.launch({
  executablePath: process.env.CHROMIUM || "/usr/bin/chromium",
  args: ["--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync"],
});
const folder = mkdtempSync(join(tmpdir(), "what-if-"));
try {
  console.log(JSON.stringify(asked === "--library" ? await library(browser, folder) : await one(browser, readFileSync(asked, "utf8"))));
} finally {
  await browser.close();
  rmSync(folder, { recursive: true });
}
