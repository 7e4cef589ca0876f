// Makes examples/pictures/review.png: parts of the example's review, as the page shows them.
//
//   npm --prefix tests/review ci && node tests/review/picture.mjs
//
// STANDSTILL and CHROMIUM as in browser.mjs.
import { execFileSync } from "node:child_process";
import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";
import { chromium } from "playwright-core";

const here = dirname(fileURLToPath(import.meta.url)), root = join(here, "../..");
const work = mkdtempSync(join(tmpdir(), "picture-"));
const file = join(work, "review.html");
execFileSync(process.env.STANDSTILL || join(root, "target/debug/standstill"), ["review", join(root, "examples/carton-wrapper-review.md"), "-o", file]);
const browser = await chromium.launch({ executablePath: process.env.CHROMIUM || "/usr/bin/chromium", args: ["--no-sandbox", "--disable-gpu"] });
const page = await browser.newPage({ viewport: { width: 1320, height: 1000 }, deviceScaleFactor: 0.85 });
await page.goto(`file://${file}`);
// two columns: the answer, and what happens in a stop; nothing is changed but the place of whole parts
await page.evaluate(() => {
  const main = document.querySelector("main"), stop = document.querySelector("[data-calc]");
  const left = document.createElement("div"), right = document.createElement("div");
  const title = main.querySelector("h1"), answer = [...main.querySelectorAll("h2")].find((h) => h.textContent === "The answer");
  const figures = [...stop.querySelectorAll("figure")].map((figure) => { figure.querySelector("figcaption")?.remove(); return figure; });
  const slopes = stop.querySelector("[data-sl]").parentElement, list = stop.querySelector(".chk");
  const among = (words, all) => [...all].filter((e) => words.some((one) => e.textContent.includes(one)));
  list.replaceChildren(...among(["the ramp ends before", "torque suffices", "value fits the window", "far enough away", "duty is intermittent"], list.children));
  const lines = among(["shortest delay that lets", "time from removal to n_end", "distance to be kept"], stop.querySelectorAll(".w")).filter((w, k, all) => all.findIndex((o) => o.textContent === w.textContent) === k);
  left.append(title, answer, answer.nextElementSibling, heading("Checks"), list, heading("Worked steps"), ...lines.slice(0, 3));
  right.append(figures[0], figures[2], slopes);
  main.replaceChildren(left, right);
  main.style.cssText = "max-width:none;display:grid;grid-template-columns:1fr 1fr;gap:2.5rem;padding:1.2rem 1.6rem .6rem";
  function heading(words) { const h = document.createElement("h4"); h.textContent = words; return h; }
});
const picture = join(root, "examples/pictures/review");
await page.locator("main").screenshot({ path: `${picture}.png` });
// what can be read of the answer, held against the review of today by tests/readme.rs
writeFileSync(`${picture}.txt`, await page.evaluate(() => [...document.querySelectorAll("main > div:first-child :is(td, dd, .chk li)")].map((e) => `${e.textContent.trim().replace(/\s+/g, " ")}\n`).join("")));
await browser.close();
rmSync(work, { recursive: true });
