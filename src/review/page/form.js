// What a form has that no review has: what is found within its tolerances, its inputs as a file and from one, its tools
// and the head of its pages on paper. `page` is what the page of it lends: its calculations and what they are shown by.
function formOf(page) {
  const { form, data, calcs, F, el, said, inside, reaching, moved, unproved, failsWithin, onExample, read, reads, asStands } = page;
  const { tellChecks, followRelease, tellNow, sayInput, spokenWith, giveCommand, takeAndTell, notice, keepTyped, putBack, changed, button, tools, bar, headOf, onPaper } = page;

  // tolerances of a form: what happens within them is looked for once the reader pauses
  function reachOf(s) {
    const one = s.read && s.read.a ? readTolerance(s.input, s.tolerance, s.read, F, data.spellings) : { w: "" };
    return one.ends && one.ends.some(([low, high]) => !(high - low < 1e200)) ? { w: "it reaches beyond all use" } : one;
  }
  function withinLater(c) {
    clearTimeout(c.seeking);
    const before = c.within;
    c.within = null;
    // what was found within other tolerances is not said of these
    if (before) tellChecks(c);
    const all = reaching(c), box = c.section.querySelector(".tlr"), reaches = all.map((s) => (s.reach = reachOf(s)));
    c.state.filter((s) => !s.tolerance).forEach((s) => { s.reach = null; });
    if (!box) return;
    box.hidden = !all.length || !moved(c);
    if (box.hidden) return;
    const say = (words, ...more) => box.replaceChildren(el("h4", { textContent: "Within the tolerances" }), el("p", { className: "cap", role: "status", textContent: words }), ...more);
    const bad = all.filter((s, k) => !reaches[k].ends);
    if (!c.stands || bad.length) {
      c.within = { w: c.stands ? `that of ${bad.map((s) => s.input.n).join(", ")} is not read` : "these inputs give no result" };
      return say(`No tolerance is tried: ${c.within.w}.`);
    }
    say("Not tried yet.");
    c.seeking = setTimeout(() => {
      const ends = c.state.map((s) => (s.tolerance ? s.reach.ends : null)), found = foundWithin(c.program, data.preferred, c.state.map((s) => said(s).value), ends, (a, k) => write(a, F[k]));
      const go = () => {
        const until = performance.now() + 12;
        for (let next = found.next(); ; next = found.next()) {
          if (next.done) return told(next.value);
          if (performance.now() > until) { say(`${next.value} sets of values were tried …`); c.seeking = setTimeout(go, 0); return; }
        }
      };
      const where = (set) => all.map((s) => `${s.input.n} = ${write(set[c.state.indexOf(s)], F[s.read.k])}`).join(", ");
      const told = ({ tried, outputs, fails, none }) => {
        const now = c.places.checks, failing = [...fails].filter(([k]) => now[k].now.word === "holds");
        const list = failing.map(([k, set]) => ({ w: now[k].check[3], caution: now[k].check[1], where: where(set) }));
        c.within = { tried, fails: list.filter((one) => !one.caution), looks: list.filter((one) => one.caution) };
        if (none) c.within.fails.unshift({ w: `no result: ${none.w}`, where: where(none.values) });
        const rows = c.within.rows = c.program.outputs.map(([name, r, k], n) => [name, r, F[k], outputs[n]]).filter(([, r, f, one]) => one && !f.w && (one.never || one.low.v !== one.high.v));
        const cell = (text) => el("td", { className: "q", textContent: tied(text) });
        const table = el("table", { className: "fig" }, el("thead", {}, el("tr", {}, ...["symbol", "as given", "least found", "most found"].map((text) => el("th", { scope: "col", textContent: text })))),
          el("tbody", {}, ...rows.map(([name, r, f, { low, high, never }]) => el("tr", {}, el("th", { scope: "row", textContent: name }), cell(write(c.R[r], f)), cell(low ? write(low, f) : "–"), cell(never ? write(never, f) : write(high, f))))));
        const lines = el("ul", { className: "chk" }, ...[...c.within.fails, ...c.within.looks].map((one) => el("li", { className: one.caution ? "look" : "bad" }, el("b", { textContent: one.caution ? "look" : "FAILS" }), ` ${one.w}: at ${tied(one.where)}`)));
        say(`${tried} sets of values were tried: what is found here happens, and something beyond it may. The copied command line proves the worst case: run it with --worst.`, el("div", { className: "w" }, table), ...(lines.children.length ? [lines] : []));
        tellChecks(c);
        followRelease(c);
        tellNow();
      };
      go();
    }, 250);
  }

  /** Reads a command line that was copied here or written for `run`: each of its words is an input, or is said. */
  function fromCommand(line) {
    const words = (line.match(/(?:[^\s'"]+|'[^']*'|"[^"]*")+/gu) || []).map((word) => word.replace(/'([^']*)'|"([^"]*)"/g, (_, a, b) => a ?? b));
    const items = [], more = [];
    // what a shell reads, and what asks `run` for more of the same calculation
    const aside = ["$", ">", "\\", "`", "^", "standstill", "standstill.exe", "run", "--example", "--worst", "--steps", "--slopes", "--json"];
    for (const [at, word] of words.entries()) {
      if (word === "--of" || words[at - 1] === "--of") continue;
      const m = /^([\p{L}_][\p{L}\p{N}_]*)=(.*)$/u.exec(word), name = word.replace(/^.*[\\/]/, "").replace(/\.sheet$/, "");
      if (m) items.push({ c: calcs[0], name: m[1], text: m[2], unit: "" });
      else if (!aside.includes(word) && !aside.includes(name) && name !== calcs[0].program.sheet) more.push(`the line says ${word}, and this page is ${calcs[0].program.sheet}`);
    }
    takeAndTell(items, items.length ? more : ["it holds no input written as name=value"], "the command line");
  }
  /** What a form writes beside an input: its words, kind and range. */
  const aboutRow = (c) => ({ n }) => {
    const cell = inside(c, `[data-i="${c.state.findIndex((s) => s.input.n === n)}"]`)[0].cells[2];
    const kinds = [...document.querySelectorAll(".sy tr")].filter((row) => row.cells[0].getAttribute("aria-label") === n).map((row) => row.cells[3]);
    return [cell, ...cell.childNodes, ...kinds].map((one) => one.textContent.trim().replace(/−/g, "-")).concat("a choice");
  };
  function fromTabs(tabs, name) {
    const c = calcs[0], outputs = c.program.outputs.map(([name]) => name), headings = inside(c, ".inp .gr").map((row) => row.textContent);
    const { found, hidden, problems } = inputsOfCells(tabs, form, c.program.inputs, outputs, aboutRow(c), headings);
    // as `fill` says it
    const places = [...new Set(hidden.map(([, where]) => where))];
    const told = places.map((where) => `${hidden.filter((one) => one[1] === where).map(([name]) => name).join(", ")} from ${where}`);
    takeAndTell(found.map((one) => ({ ...one, c })), problems, name, told.length ? ` Caution, nobody sees it: ${told.join("; ")}; show them before the figures are checked.` : "");
  }
  async function fromFile(file) {
    try { fromTabs(await tabsOfFile(file), file.name); } catch (e) { notice(whyUnread(file, e)); }
  }
  /** The inputs as a table that `fill` and `run --from` read, with rows for the results. */
  function inputsAsRows(c) {
    // without its range, whose unit need not be that of the value
    const about = (s) => [...c.section.querySelector(`[data-i="${s.input.r === undefined ? "" : c.state.indexOf(s)}"]`).cells[2].childNodes].filter((it) => it.nodeName !== "SMALL").map((it) => it.textContent).join("").trim();
    const origin = (s) => (s.own ? "own" : s.input.e ? "example" : "default");
    const reach = reaching(c).length > 0;
    const rows = [[`sheet ${c.program.sheet}`], ["name", "value", "unit", "what it is", "from", ...(reach ? ["tolerance"] : [])]];
    for (const s of c.state) {
      // what does not read is one text, which is not read again either
      if (!reads(s)) { const [text, unit, far] = asStands(s); rows.push([s.input.n, text, unit, about(s), origin(s)].concat(reach ? [far] : [])); continue; }
      const [name, text, unit] = sayInput(s);
      (s.input.m ? partsOf(text) : [text]).forEach((one, k) => rows.push((k ? ["", one.trim(), "", `value ${k + 1}`, ""] : [name, one.trim(), unit, about(s), origin(s)]).concat(reach ? [s.tolerance ? toleranceWords(s.tolerance) : ""] : [])));
    }
    rows.push(["results"], ...c.program.outputs.map(([name, , k]) => [name, "", F[k].s || ""]), ["checks"]);
    return rows;
  }
  const inputsAsCsv = (c) => csvOf(inputsAsRows(c)), inputsAsWorkbook = (c) => workbookOf(inputsAsRows(c), form);
  function save(c, name, blob) {
    const a = el("a", { href: URL.createObjectURL(blob), download: name });
    a.click();
    setTimeout(() => URL.revokeObjectURL(a.href), 1000);
    const open = c.state.filter((s) => !reads(s)).map((s) => s.input.n);
    notice(open.length ? `${name} has what stands here, and no value of ${open.join(", ")}: this page reads it again as it is, the program only when each has one.` : "");
  }

  /** A printed form says on every page what came out, of which inputs, and when; on examples nothing is signed. */
  function formOnPaper(c) {
    const left = onExample(c).length, fails = c.places.checks.filter((one) => one.now.word === "FAILS").length;
    const open = !c.stands || left > 0;
    const words = !c.stands ? "NO RESULT" : left ? `NOT YOUR MACHINE: ${left} of ${c.state.length} inputs are examples` : "";
    const failing = fails ? `${fails} ${fails === 1 ? "CHECK FAILS" : "CHECKS FAIL"}` : failsWithin(c).length ? "FAILS within the tolerances" : unproved(c) ? "NOT PROVED within the tolerances" : "";
    const outcome = [words, failing].filter(Boolean).join(", ") || "no check fails";
    const now = new Date().toISOString().replace("T", " ").slice(0, 16);
    onPaper.textContent = headOf(`${document.title} · ${outcome} · calculated ${now} UTC · inputs ${digitsOf(data.id + c.state.map((s) => `${s.input.n}=${spokenWith(s)}`).join("\n"))} · form ${data.id}`, open ? "not to be signed" : "");
    document.body.classList.toggle("unsigned", open);
  }

  /** What can be done with a form. */
  function formTools(c) {
    const file = el("input", { type: "file", accept: ".csv,.xlsx", hidden: true });
    file.onchange = () => { if (file.files[0]) fromFile(file.files[0]); file.value = ""; };
    tools.append(
      button("Read a file", () => file.click()), file,
      button("Read a command line", () => {
        const area = el("textarea", { rows: 3 }), ok = button("Read it", () => { fromCommand(area.value); area.remove(); ok.remove(); });
        area.setAttribute("aria-label", "command line to be read");
        bar.querySelectorAll("textarea").forEach((one) => one.remove());
        bar.append(area, ok);
        area.focus();
      }),
      button("Save inputs", () => save(c, `${form}.csv`, new Blob([inputsAsCsv(c)], { type: "text/csv" }))),
      button("Save as workbook", () => save(c, `${form}.xlsx`, inputsAsWorkbook(c))),
      button("Copy as command line", (e) => giveCommand(c, e.target)),
      button("Empty the examples", () => { onExample(c).filter((s) => !s.input.w).forEach((s) => { s.text = ""; s.own = true; s.show(); }); changed(c); }),
      button("Back to the examples", () => { const any = keepTyped(); c.state.forEach((s) => { s.own = false; }); putBack(c); notice(any ? "All inputs are the sheet's examples again." : ""); tellNow(); }),
      button("Print", () => print()),
    );
  }

  return { withinLater, fromFile, fromTabs, inputsAsCsv, inputsAsWorkbook, formOnPaper, formTools };
}
