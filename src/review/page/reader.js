// A browser that saves a page saves what its scripts made of it. What it was before them stands in it once more, so that
// a saved page begins as it was made, and calculates the trial that stood in it again.
const asMade = (() => {
  const main = document.querySelector("main"), root = document.documentElement;
  let kept = document.getElementById("kept");
  if (kept) {
    const { html, title, body } = JSON.parse(kept.textContent);
    main.innerHTML = html;
    main.className = "";
    document.title = title;
    document.body.className = body;
    if (location.hash === "" && root.dataset.trial) { try { history.replaceState(null, "", root.dataset.trial); } catch { location.hash = root.dataset.trial; } }
  } else {
    kept = Object.assign(document.createElement("script"), { type: "application/json", id: "kept" });
    kept.textContent = JSON.stringify({ html: main.innerHTML, title: document.title, body: document.body.className }).replace(/</g, "\\u003c");
    document.currentScript.before(kept);
  }
  return (trial) => { root.dataset.trial = trial; };
})();

/** A fragment as a link: {name, id, inputs}, the last two null where it has none. Mail and chat programs write its marks
 *  as codes; where the `=` is kept, so are the codes of its values. */
function linkOf(hash) {
  const plain = (text) => { try { return decodeURIComponent(text); } catch { return text; } };
  let text = hash.slice(1);
  if (!text.includes("?")) text = text.includes("=") ? text.replace(/%3f/i, "?") : plain(text);
  const [head] = text.split("?"), [, name, id] = /^([^@]*)(?:@(.*))?$/s.exec(plain(head));
  return { name, id: id ?? null, inputs: text.includes("?") ? text.slice(head.length + 1) : null };
}

// A reader changes an input, the page follows. Nothing is touched before the first change. What stands on the
// page is looked up once, in idle time, and remembers what it was made from; it is touched only where that moved.
function review(data, form) {
  const F = data.formats;
  const read = (input, text, unit) => readInput(input, text, unit, F, data.spellings);
  const SIGNS = { "<=": "≤", ">=": "≥", "<>": "≠" };
  const el = (name, more, ...inside) => { const e = Object.assign(document.createElement(name), more); e.append(...inside); return e; };

  const calcs = data.calculations.map((program, at) => {
    const links = new Map(data.links[at].map(([input, from, words]) => [input, { from, words }]));
    return {
      program, at,
      section: document.querySelector(`[data-calc="${at}"]`),
      state: program.inputs.map((input, k) => ({ input, text: input.v, unit: input.u, link: links.get(k) })),
      engine: null, R: null, places: null, stands: true, troubles: [], trial: false,
    };
  });

  // what takes inputs from a calculation follows it, the nearest first
  const sources = (c) => c.state.filter((s) => s.link).flatMap((s) => s.link.from.map(([, at]) => calcs[at]));
  const depth = (c) => (c.depth === undefined ? (c.depth = 1 + Math.max(0, ...sources(c).map(depth))) : c.depth);
  const rests = (d, c) => sources(d).some((one) => one === c || rests(one, c));
  const linked = data.links.some((all) => all.length);
  for (const c of calcs) c.followers = linked ? calcs.filter((d) => rests(d, c)).sort((a, b) => depth(a) - depth(b)) : [];

  /** An input that holds other calculations' values: {a} a value, or {w} why it is none. */
  function taken({ input, link }) {
    const all = input.m && link.from[0][0] !== null ? read(input, input.v, input.u).a.m : null;
    let a;
    for (const [element, at, r] of link.from) {
      const from = calcs[at];
      a = from.R[r];
      if (from.troubles.length || a.x !== undefined) return { w: `${from.program.a} gives no result` };
      if (all) all[element] = a;
    }
    if (all) return { a: { m: all } };
    if (!link.words) return { a: input.m && a.m === undefined ? { m: [a] } : a };
    const word = link.words[a.v];
    return word === null ? { w: `it does not know the word of ${calcs[link.from[0][1]].program.a}` } : { a: whole(word) };
  }

  // what a field says, read again only where it has changed
  function said(s) {
    if (s.link) {
      s.read = taken(s);
      s.problem = s.read.w || "";
      s.value = s.read.a || fault("missing-input", 0, s.problem);
    } else if (s.read === undefined || s.readText !== s.text || s.readUnit !== s.unit) {
      s.read = read(s.input, s.text, s.unit);
      s.readText = s.text; s.readUnit = s.unit;
      s.problem = s.read.w || "";
      s.value = s.read.a || fault("missing-input", 0, s.problem);
    }
    return s;
  }
  const run = (c) => c.engine.follow(c.state.map((s) => said(s).value));

  /** Looks up what follows a calculation; calculates how its first values read here. */
  function prepare(c) {
    if (c.engine) return;
    sources(c).forEach(prepare);
    c.engine = ready(c.program, data.preferred);
    const now = c.state.map((s) => [s.text, s.unit]);
    c.state.forEach((s) => { s.text = s.input.v; s.unit = s.input.u; s.first = said(s).read.a; });
    c.R = run(c);
    c.places = { texts: texts(c), checks: checksOf(c), told: toldOf(c), cases: casesOf(c), tables: tablesOf(c), pictures: picturesOf(c) };
    c.state.forEach((s, k) => { [s.text, s.unit] = now[k]; });
  }

  // what stays as long as the page is looked for once
  const lasting = new Map();
  const standing = (what) => { if (!lasting.has(what)) lasting.set(what, [...document.querySelectorAll(what)]); return lasting.get(what); };
  const letters = (e, text) => { if (e.textContent !== text) e.textContent = text; };
  const inside = (c, what) => (c.section ? [...c.section.querySelectorAll(what)] : []);

  function setText(place, text) {
    if (text === place.now) return;
    // the sole text of an element is put in place; a first one is made
    const node = place.e.firstChild;
    if (node && node === place.e.lastChild && node.nodeType === 3) node.data = text; else place.e.textContent = text;
    place.now = text;
  }
  function mark(place, is) {
    if (form) return;
    if (is !== place.marked) place.e.classList.toggle("ch", is);
    place.marked = is;
  }
  // a page that a browser saves keeps what stands in its fields
  const standIn = (e, text) => { if (e.tagName === "SELECT") for (const one of e.options) one.toggleAttribute("selected", one.value === text); else e.setAttribute("value", text); e.value = text; };
  const place = (e) => ({ e, was: e.textContent, now: e.textContent, marked: false });

  // values: those of one register written in one way are calculated together
  function texts(c) {
    const groups = new Map();
    for (const e of [...inside(c, "[data-r]"), ...document.querySelectorAll(`[data-c="${c.at}"][data-r]`)]) {
      const key = `${e.dataset.r} ${e.dataset.q || ""}`;
      if (!groups.has(key)) {
        const [r, f] = e.dataset.r.split(" ").map(Number), q = e.dataset.q ? e.dataset.q.split(" ") : null;
        groups.set(key, { r, f: F[f], set: c.program.outputs.some((one) => one[1] === r && one[3]), given: c.state.some((s) => s.input.r === r), handed: c.state.some((s) => s.link && s.input.r === r), q: q && { way: q[0], step: rounded(Number(q[1])) }, places: [] });
      }
      groups.get(key).places.push(Object.assign(place(e), { tied: e.tagName === "SPAN" }));
    }
    const all = [...groups.values()];
    // what is not calculated here, a root, was made with the page: it stands until an input moves, and is no text of ours
    for (const group of all) { group.seen = c.R[group.r]; group.fresh = group.text = isFault(group.seen) ? "" : wordsOf(group, group.seen); }
    return all;
  }
  function wordsOf(group, a) {
    return write(group.q && a.v !== undefined ? onScale(a, group) : a, group.f);
  }
  // a temperature is rounded from the zero of its scale
  function onScale(a, { q, f }) {
    if (!f.z) return roundTo(a, q.step, q.way, 0);
    const zero = rounded(f.z * f.f), above = roundTo(BINARY["-"](a, zero, 0), q.step, q.way, 0);
    return isFault(above) ? above : BINARY["+"](above, zero, 0);
  }
  function followTexts(c) {
    for (const group of c.places.texts) {
      const a = c.R[group.r];
      // no figure stands where there is no result
      if (!c.stands) {
        if (group.text !== NOT) for (const one of group.places) { setText(one, one.tied ? NOT : "?"); mark(one, true); }
        group.text = NOT;
        continue;
      }
      if (a === group.seen && group.text !== NOT) continue;
      group.seen = a;
      const text = wordsOf(group, a);
      if (text === group.text) continue;
      group.text = text;
      // a value that is as it was is written as it was, to the letter
      const back = text === group.fresh;
      for (const one of group.places) {
        setText(one, back ? one.was : one.tied ? tied(text) : text.replace(/ /g, "\u00a0"));
        mark(one, one.now !== one.was);
      }
    }
  }

  // whether there are results at all
  function followTroubles(c) {
    const stands = c.troubles.length === 0;
    if (c.section) {
      const words = stands ? "" : "These inputs give no result: " + c.troubles.map((t) => t.w).join("; ") + ". Pictures are those of the inputs before.";
      const status = c.section.querySelector(".tr");
      if (status && status.textContent !== words) status.textContent = words;
      if (status && status.hidden !== stands) status.hidden = stands;
    }
    if (stands === c.stands) return;
    c.stands = stands;
    if (!c.section) return;
    c.section.classList.toggle("stale", !stands);
    // said at each picture too, which may be looked at, or printed, without what stands above it
    for (const old of c.section.querySelectorAll("figure > .nr")) old.remove();
    if (!stands) for (const figure of c.section.querySelectorAll("figure")) figure.prepend(el("p", { className: "nr", textContent: "Not of these inputs, which give no result: this is the picture of those before." }));
  }

  function follow(c) {
    c.R = run(c);
    const bad = c.state.map((s, input) => ({ input, w: `${s.input.n}: ${s.problem}`, is: s.problem })).filter((one) => one.is);
    c.troubles = bad.length ? bad : troubles(c.program, c.R, (a, k) => write(a, F[k]), data.remedies);
    c.state.forEach((s, k) => {
      s.changed = !s.link && (!s.read.a || !alike(s.read.a, s.first));
      s.idle = false;
      // what leaves an input out is not known where there is no result: then it is as it was
      s.spared = s.input.e === 3 && !s.changed && s.needed !== true;
      s.share = (form ? s.own : s.changed) && !s.link && s.read.a && !s.input.w ? shareOf(s.input, s.text, s.read.a, s.read.k, F, c.program.guards.find((it) => it[5] === k)) : "";
      s.wrong = s.problem || c.troubles.filter((t) => t.input === k).map((t) => t.w).join("; ");
    });
    // what was given another value than the sheet shows should change something; an example that nobody gave need not, nor
    // what has no default and is left out by numbers: it must be given
    const given = c.state.filter((s) => {
      if (s.link || !(form ? s.own : s.changed || (s.input.e !== true && s.input.e !== 3)) || !s.read.a) return false;
      const { d, du, x, xu } = s.input;
      if (s.plain === undefined) s.plain = ((d ?? x) !== null && read(s.input, d ?? x, d === null ? xu : du).a) || null;
      return !s.plain || !alike(s.read.a, s.plain);
    });
    const spared = c.state.filter((s) => s.input.e === 3 && !s.changed);
    if ((given.length || spared.length) && !c.troubles.length) {
      const used = demanded(c.program, c.R, rootsOf(c.program));
      for (const s of given.filter((it) => !used.has(it.input.r))) {
        const { chosen, by } = leftOut(c.program, c.R, s.input.r);
        s.idle = (s.input.d !== null || chosen) && !by.some((other) => other.te);
      }
      for (const s of spared) { s.needed = used.has(s.input.r); s.spared = !s.needed; }
    }
    c.trial = !form && (c.state.some((s) => s.changed) || sources(c).some((one) => one.trial));
    followTroubles(c);
    followTexts(c);
    followChecks(c);
    followCases(c);
    followTables(c);
    followRelease(c);
    pictures(c);
    slopesLater(c);
    if (form) own.withinLater(c);
  }

  // a worst case is that of the inputs as they were made: within the tolerances a trial proves nothing
  const moved = (c) => c.trial || (form && c.state.some((s) => s.changed || s.tolerance !== s.made));
  // of a form: what has a tolerance, which page nor tries prove; that of a series of examples is in no field
  const reaching = (c) => (form ? c.state.filter((s) => s.tolerance) : []);
  const reaches = (c) => (form ? reaching(c).length > 0 || c.state.some((s) => !s.made && (s.input.te || []).some(([low, high]) => low < high)) : c.program.w > 0);
  const unproved = (c) => (c.program.w === 3 && !(form && moved(c))) || (reaches(c) && moved(c));
  const failsWithin = (c) => (c.within && c.within.fails) || [], looksWithin = (c) => (c.within && c.within.looks) || [];
  // a caution within the tolerances is one, and withholds nothing
  const wary = (c) => c.program.w === 2 && !moved(c);
  // of a calculation that was not followed yet the checks are those of its inputs as they are
  const failsNow = (c) => { prepare(c); return c.places.checks.some((one) => (one.now || verdict(c.R, one.check)).word === "FAILS"); };
  // why its settings must not be set and its other figures are none to go by; as `Release` has it
  function ownWhy(c) {
    const [fails, open, example] = data.why;
    if (!c.stands) return "these inputs give no result";
    const tried = form ? (failsWithin(c).length ? "fails within the tolerances" : "not proved within the tolerances") : "tolerances not calculated for this trial";
    return failsNow(c) ? fails : unproved(c) ? (moved(c) ? tried : open) : onExample(c).length ? example : "";
  }
  /** The calculations whose values it takes, at once or by way of others, that are none to go by, in words. */
  function standsOn(c) {
    if (!c.stands) return [];
    const all = sources(c).flatMap((one) => { const why = one.stands && ownWhy(one); return [...(why ? [`stands on ${one.program.a}, where ${why}`] : []), ...standsOn(one)]; });
    return [...new Set(all)];
  }
  const joined = (...all) => all.flat().filter(Boolean).join("; ");
  const whyNow = (c) => joined(ownWhy(c), standsOn(c));
  /** Words in which a calculation on which something stands is a link to it. */
  const withLinks = (words) => words.split(/(?<=stands on )([^,()]+?)(?=, where |, stands on |\)$)/).map((part, k) => {
    const on = k % 2 && calcs.find((one) => one.program.a === part && one.section);
    return on ? el("a", { href: `#calc${on.at}`, textContent: part }) : part;
  });
  const tellLinked = (e, words) => { if (e.textContent !== words) e.replaceChildren(...(e.parentElement && e.parentElement.closest("a") ? [words] : withLinks(words))); };
  /** What stands behind a figure in words: why it is not one to go by. */
  const figureOf = (e) => e.closest(".cf") || e;
  const whyBehind = (e) => { const next = figureOf(e).nextElementSibling; return next && next.classList.contains("why") ? next : null; };
  function tellWhy(e, words) {
    let there = whyBehind(e);
    if (!words) { if (there) there.remove(); return; }
    if (!there) figureOf(e).after(there = el("span", { className: "why" }));
    tellLinked(there, ` (${words})`);
  }
  function followRelease(c) {
    const why = whyNow(c), open = unproved(c), tried = reaches(c) && moved(c);
    for (const e of standing(`[data-calc="${c.at}"] .ns`)) e.hidden = !why;
    const rests = joined(standsOn(c));
    for (const e of standing(`[data-rs="${c.at}"]`)) {
      tellLinked(e, rests && `It ${rests}: the figures here are none to go by.`);
      e.hidden = !rests;
      if (e.parentElement.classList.contains("gate")) e.parentElement.hidden = !rests;
    }
    for (const e of standing(`[data-calc="${c.at}"] [data-xg]`)) { letters(e, `${examplesOf(c)}.`); e.parentElement.hidden = !onExample(c).length; }
    for (const e of standing(`[data-wg="${c.at}"]`)) {
      if (e.made === undefined) e.made = e.textContent;
      letters(e, tried ? (form ? withinWords(c).trim() : "The tolerances are not calculated for this trial.") : e.made);
      e.parentElement.classList.toggle("bad", open);
    }
    for (const group of c.places.texts) for (const { e } of group.places) if (e.classList.contains("v")) {
      // an input does not fail, what is calculated with it does
      const words = group.set && why ? `NOT to be set: ${why}` : group.handed ? rests : group.given ? (onExample(c).length ? data.why[2] : "") : why;
      tellWhy(e, words);
    }
    // what fails says so itself
    for (const { e } of c.places.told) if (e.classList.contains("v")) tellWhy(e, c.stands && !failsNow(c) ? joined(open && ownWhy(c), rests) : "");
    for (const li of standing(`[data-vd="${c.at}"]`)) li.classList.toggle("np", unproved(c) || rests !== "");
  }

  // of what gives no result no check is looked at: neither holding nor failing is said
  const checked = (c, check) => (c.stands ? verdict(c.R, check) : { word: NOT, words: "", text: check[3], otherwise: "" });
  function verdict(R, [r, caution, sides, text, otherwise]) {
    const word = R[r].t === true ? "holds" : caution ? "look" : "FAILS";
    let words = "";
    if (sides) {
      const [relation, x, y, k, gap] = sides, a = R[x], b = R[y];
      if (a.v !== undefined && b.v !== undefined) {
        const left = relation[0] === "<" && relation !== "<>" ? BINARY["-"](b, a, 0) : BINARY["-"](a, b, 0);
        const [one, other, rest] = compared([a, b, likeZero(left) ? whole(0) : left], [F[k], F[k], F[gap]]);
        words = `${one} ${SIGNS[relation] || relation} ${other}`;
        if (relation !== "=" && relation !== "<>") words += `, margin ${rest}`;
      }
    }
    const why = R[r].x === "never" ? R[r].w : "";
    return { word, words, text, otherwise: why || otherwise, never: Boolean(why) };
  }

  function checksOf(c) {
    const shown = new Map(inside(c, "[data-k]").map((li) => [Number(li.dataset.k), li]));
    return c.program.checks.map((check, k) => {
      const li = shown.get(k), [r, , sides] = check, of = sides ? [r, sides[1], sides[2]] : [r];
      return {
        check, of, seen: of.map((one) => c.R[one]), now: checked(c, check), stood: c.stands,
        li, word: li && place(li.querySelector("b")), sides: li && place(li.querySelector(".sd")),
      };
    });
  }
  const NOT = "not calculated", CLASS = { holds: "ok", FAILS: "bad", look: "look", [NOT]: "nc" };
  function followChecks(c) {
    let moved = false;
    for (const one of c.places.checks) {
      if (one.stood === c.stands && one.of.every((r, k) => c.R[r] === one.seen[k])) continue;
      one.stood = c.stands;
      one.seen = one.of.map((r) => c.R[r]);
      one.now = checked(c, one.check);
      moved = true;
      if (!one.li) continue;
      setText(one.word, one.now.word);
      setText(one.sides, tied(one.now.words));
      const words = `${CLASS[one.now.word]}${one.word.now === one.word.was ? "" : " ch"}`;
      if (one.li.className !== words) one.li.className = words;
      mark(one.sides, one.sides.now !== one.sides.was);
    }
    // what is said of inputs without effect, and what was asked about one that has another value now
    const said = c.troubles.map((one) => one.w).concat(c.state.filter((s) => s.idle || s.changed || s.own).map((s) => `${s.input.n} = ${s.text} ${s.unit}`), standsOn(c)).join();
    if (moved || said !== c.said) tellChecks(c);
    c.said = said;
  }
  /** Of what leaves an input out, the numbers, and the choices of which another word alone brings it in; all where it takes more. */
  function bringsIn(c, r) {
    const all = leftOut(c.program, c.R, r).by, given = c.state.map((s) => said(s).value);
    const found = all.filter((other) => !other.w || other.w.some((_, word) => {
      const R = ready(c.program, data.preferred).follow(c.program.inputs.map((input, k) => (input === other ? whole(word) : given[k])));
      return demanded(c.program, R, rootsOf(c.program)).has(r);
    }));
    return found.length ? found : all;
  }

  /** What a run says of an input without effect, in its words. */
  function saidOf(c, s) {
    const { n } = s.input, others = bringsIn(c, s.input.r).map((input) => input.n), value = s.input.m ? "" : ` = ${inWords(s).replace(/(\.\d*?)0+(?!\d)/, "$1").replace(/\.(?!\d)/, "")}`;
    const out = `take ${n} out`, remedy = others.length ? `${out}, or change ${others.length === 1 ? `${others[0]}, which leaves it out` : `what leaves it out: ${others.join(", ")}`}` : out;
    return `${n}${value} is given, and nothing that is calculated here depends on it; ${remedy}`;
  }

  /** What is asked of a value that somebody gave here, as a run says it in one line. */
  function askedOf(s) {
    const found = !s.link && (form ? s.own : s.changed) && s.read && s.read.a && questionOf(s.input, s.read, data.asks, F, data.spellings);
    return found ? `${found.w}; ${found.remedy}` : s.share || "";
  }

  // all checks in one sentence
  const toldOf = (c) => [...document.querySelectorAll(`[data-c="${c.at}"][data-ck]`)].map(place);
  function tellChecks(c) {
    const all = c.places.checks.map((one) => one.now);
    const of = (word) => all.filter((one) => one.word === word);
    const told = (one) => (one.otherwise ? `${one.text}: ${one.otherwise}` : one.text);
    const fails = of("FAILS"), look = of("look");
    // what never exists fails every check that speaks of it
    const cause = (found) => (found.every((one) => one.never && one.word === "FAILS" && one.otherwise === found[0].otherwise) ? " of the same cause" : "");
    const first = (found) => told(found[0]) + (found.length > 1 ? ` (and ${found.length - 1} more${cause(found)})` : "");
    const reach = c.stands ? failsWithin(c) : [];
    const words = !c.stands ? `${NOT}: ${c.troubles[0].w}` : fails.length ? `FAILS: ${first(fails)}`
      : reach.length ? `FAILS within the tolerances: ${reach[0].w}${reach.length > 1 ? ` (and ${reach.length - 1} more)` : ""}`
      : look.length ? `holds, with a caution: ${first(look)}`
      : c.stands && looksWithin(c).length ? `holds, with a caution within the tolerances: ${looksWithin(c)[0].w}`
        : ["no checks", "the check holds", "both checks hold"][all.length] || `all ${all.length} checks hold`;
    for (const one of c.places.told) {
      setText(one, signed(words));
      mark(one, one.now !== one.was);
      (one.e.closest(".gate") || one.e).classList.toggle("bad", fails.length + reach.length > 0);
    }
    tellVerdict(c, !c.stands ? "nc" : fails.length + reach.length ? "bad" : look.length ? "look" : "ok", all.filter((one) => fails.includes(one) || look.includes(one)));
  }

  // the verdict at the head, above the signatures and in the bar follows a trial
  // a figure in a heading stands in the contents, in the tab and on every printed page too
  const headings = [...document.querySelectorAll(".toc a[href]")].map((e) => ({ e, of: document.getElementById(e.getAttribute("href").slice(1)) }))
    .filter(({ of }) => of && of.querySelector(":scope .v"));
  const title = document.querySelector("h1:has(.v)");
  function followHeadings() {
    for (const { e, of } of headings) letters(e, of.textContent);
    if (title && document.title !== title.textContent) document.title = title.textContent;
  }
  const parts = [...document.querySelectorAll(".verdict .vdl > li")], alls = [...document.querySelectorAll("[data-vall]")];
  const made = alls.length ? alls[0].textContent : "";
  const verdictNow = () => {
    // product lines keep the inputs of their files: what fails there still does
    const live = parts, n = live.length;
    const of = (kind) => live.filter((li) => li.classList.contains(kind));
    const texts = (kind) => live.flatMap((li) => {
      const found = [...li.querySelectorAll(`.fl > .${kind}`)].map((one) => `${li.dataset.alias}: ${one.lastElementChild.textContent}`);
      return found.length || !li.classList.contains(kind) ? found : [li.dataset.alias];
    });
    const first = (all) => all[0] + (all.length > 1 ? ` (and ${all.length - 1} more)` : "");
    const bad = of("bad").length, asked = texts("asked");
    // what is asked of a value that was given here comes before what the sheet says of every machine
    const look = [...asked, ...texts("look").filter((text) => !asked.includes(text))];
    const some = of("nc").length ? "Only the other checks hold" : "Every check holds";
    const every = parts.length && parts.every((li) => li.dataset.bare !== undefined) ? "Nothing is checked." : `${some}${calcs.some((c) => c.stands && unproved(c)) ? " for the nominal values" : ""}.`;
    // of one alone its checks are counted
    const checks = n === 1 && calcs[live[0].dataset.vd] ? live[0].querySelectorAll(".fl > .bad").length : 0;
    const [fails, among] = checks ? [checks, `${calcs[live[0].dataset.vd].program.checks.length} checks`] : [bad, n];
    return bad ? `${among === "1 checks" ? "The check FAILS" : `${fails} of ${among} FAIL${fails === 1 ? "S" : ""}`}: ${first(texts("bad"))}.`
      : look.length ? `No check fails; ${look.length === 1 ? "a caution was" : `${look.length} cautions were`} found: ${first(look)}.` : every;
  };
  const stays = new Map();
  function tellVerdict(c, kind, found) {
    for (const li of standing(`[data-vd="${c.at}"]`)) {
      // what the inputs' protocol asks to look at stays; what a run says of an input, as long as it has its value
      if (!stays.has(li)) stays.set(li, [...li.querySelectorAll(".fl > [data-stays]")]);
      const idle = c.stands ? c.state.filter((s) => s.idle) : [], of = ({ dataset }) => c.state.find((s) => s.input.n === dataset.stays);
      const kept = stays.get(li).filter((it) => { const s = of(it); return !s || !(s.changed || (it.dataset.idle !== undefined && !s.idle)); });
      const caution = (text, more = "") => el("li", { className: `look${more}` }, el("b", { textContent: "caution" }), " ", el(c.section ? "a" : "span", c.section ? { href: `#calc${c.at}`, textContent: signed(text) } : { textContent: signed(text) }));
      const asked = (c.stands ? c.state.map(askedOf).filter(Boolean) : []).map((text) => caution(text, " asked"));
      const stay = [...kept, ...idle.filter((s) => !kept.some((it) => it.dataset.idle !== undefined && of(it) === s)).map((s) => caution(saidOf(c, s)))];
      const whole = (asked.length || stay.length || wary(c) || looksWithin(c).length) && kind === "ok" ? "look" : kind;
      const rests = joined(standsOn(c));
      li.className = unproved(c) || rests ? `${whole} np` : whole;
      const line = (one) => {
        const text = signed(one.otherwise ? `${one.text}: ${one.otherwise}` : one.text), k = c.places.checks.findIndex((check) => check.now === one);
        const word = el("b", { textContent: one.word === "FAILS" ? "FAILS" : "caution" });
        return el("li", { className: CLASS[one.word] }, word, " ", el(c.section ? "a" : "span", c.section ? { href: `#calc${c.at}k${k}`, textContent: text } : { textContent: text }));
      };
      const fails = found.filter((one) => one.word === "FAILS"), rest = found.filter((one) => one.word !== "FAILS");
      li.querySelector(".fl").replaceChildren(...(rests ? [el("li", { className: "rs" }, el("b", { textContent: "caution" }), " ", ...withLinks(rests))] : []), ...fails.map(line), ...withinLines(c, failsWithin(c)), ...rest.map(line), ...withinLines(c, looksWithin(c)), ...asked, ...stay);
    }
  }
  function tellAll() {
    const tried = calcs.some((c) => c.trial), none = calcs.filter((c) => !c.stands).map((c) => c.program.a);
    // within the tolerances: what was found to fail, and what is not calculated for these inputs
    const among = (which) => calcs.filter((c) => c.stands && which(c)).map((c) => c.program.a).join(", ");
    const failing = among((c) => c.program.w === 3 && !moved(c)), stale = among((c) => reaches(c) && moved(c));
    const open = (failing && ` NOT PROVED within the tolerances: ${failing}.`)
      + (stale && (form ? withinWords(calcs[0]) : ` NOT PROVED within the tolerances, which are not calculated for this trial: ${stale}.`));
    const upheld = calcs.filter((c) => standsOn(c).length).map((c) => c.program.a);
    const upon = upheld.length ? ` ${upheld.join(", ")} ${upheld.length === 1 ? "stands" : "stand"} on what is none to go by.` : "";
    const kept = open + upon + (!form && standing(".wo,.orig").length ? " What was calculated for tolerances is struck out; product lines keep the inputs of their files." : "");
    const verdict = none.length === (parts.length || calcs.length) ? "" : verdictNow();
    const why = form && none.length ? calcs[0].troubles : [], others = why.length > 1 ? ` (and ${why.length - 1} more)` : "";
    const start = none.length ? (form ? `These inputs give no result: ${why[0].w}${others}. ` : `No result for ${none.join(", ")}. `) : "";
    const examples = examplesLeft();
    const words = form ? `${examples} ${start}${verdict}${open}`.trim() : !tried ? made : `${start}${verdict && `With the inputs of this trial: ${verdict}`}${kept}${examples}`;
    for (const e of alls) if (e.textContent !== words) e.replaceChildren(el("b", { textContent: words }));
    followHeadings();
    // the bar has room for the verdict alone
    return form || !tried ? words : `${start}${verdict}${open}${upon}${examples}`;
  }
  // given as examples, or left standing as such in the file that they come from
  const onExample = (c) => c.state.filter((s) => s.input.e && !s.spared && !(form ? s.own : s.changed));
  function examplesOf(c) {
    const count = onExample(c).length, { left } = c.program;
    return count ? data.examples[left ? 2 : count === 1 ? 0 : 1].replace("{count}", count).replace("{of}", left || c.state.length) : "";
  }
  function examplesLeft() {
    let all = "";
    for (const c of calcs) {
      const words = examplesOf(c);
      if (words) all += ` ${form ? "" : `${c.program.a}: `}${words}.`;
      for (const e of standing(`[data-xm="${c.at}"]`)) { letters(e, words && `${words}.`); e.hidden = form || !words; }
    }
    // what a product line says of its variants stays
    if (!form) for (const one of standing(".verdict [data-xl]")) all += ` ${one.closest("[data-alias]").dataset.alias}: ${one.textContent}`;
    return all;
  }

  function casesOf(c) {
    return inside(c, "[data-w]").map((p) => Object.assign(place(p), {
      of: p.dataset.w.split(" ").map(Number), taken: -1,
      rows: [...p.parentElement.querySelectorAll("math")].map((math) => [...math.querySelectorAll("mtr.tk,mtr.nt")]),
    }));
  }
  function followCases(c) {
    for (const one of c.places.cases) {
      let taken = one.of.findIndex((r) => c.R[r].t === true);
      if (taken < 0) taken = one.of.length;
      if (taken === one.taken) continue;
      one.taken = taken;
      setText(one, `case ${taken + 1} applies`);
      mark(one, one.now !== one.was);
      for (const rows of one.rows) rows.forEach((row, k) => row.setAttribute("class", k === taken ? "tk" : "nt"));
    }
  }

  function tablesOf(c) {
    return inside(c, "[data-t]").map((t) => ({
      table: c.program.tables[t.dataset.t], of: t.dataset.x.split(" ").filter(Boolean).map(Number), seen: [],
      rows: [...t.tBodies[0].rows].map((row) => ({ row, used: null, mark: place(row.cells[2]) })),
    }));
  }
  function followTables(c) {
    for (const one of c.places.tables) {
      if (one.of.every((r, k) => c.R[r] === one.seen[k])) continue;
      one.seen = one.of.map((r) => c.R[r]);
      const used = new Set();
      for (const x of one.seen) {
        const k = x.v === undefined ? -1 : rowOf(one.table, x);
        if (k < 0) continue;
        used.add(k);
        if (one.table[0] === "straight") used.add(Math.max(k - 1, 0));
      }
      one.rows.forEach((row, k) => {
        const is = used.has(k);
        if (is === row.used) return;
        row.used = is;
        row.row.classList.toggle("us", is);
        setText(row.mark, is ? "◂ used" : "");
      });
    }
  }

  function draw(c, R, k) {
    const [kind, roles, bands, device] = data.pictures[c.at][k];
    const values = {};
    for (const name in roles) {
      const a = R[roles[name]];
      if (!a || (a.m ? a.m.some(isFault) : a.v === undefined)) {
        if (kind === "course") continue;
        return null;
      }
      values[name] = a.m ? a.m.map((one) => one.v) : a.v;
    }
    return drawn(kind, values, bands, c.trial, device);
  }
  const picturesOf = (c) => inside(c, "[data-p]").map((box) => {
    const k = Number(box.dataset.p), of = Object.values(data.pictures[c.at][k][1]);
    return { box, k, of, seen: of.map((r) => c.R[r]), trial: false };
  });
  function pictures(c) {
    for (const one of c.places.pictures) {
      if (!c.stands || (one.trial === c.trial && one.of.every((r, k) => c.R[r] === one.seen[k]))) continue;
      one.seen = one.of.map((r) => c.R[r]);
      one.trial = c.trial;
      const picture = draw(c, c.R, one.k);
      if (picture) paint(one.box, picture);
      else { one.box.replaceChildren("There is nothing to draw: a value does not exist."); one.box.marks = null; }
    }
  }

  // sensitivities take some runs for each input: calculated when the reader pauses, faint until then
  function slopeSteps(c) {
    const { o, p } = data.slopes[c.at], outputs = o.map(([, , k]) => ({ unit: F[k].s, factor: F[k].f }));
    const inputs = c.state.map((s, k) => {
      const { value } = said(s), one = { name: s.input.n, given: value };
      if (s.input.w) return one;
      if (p.includes(k)) return { ...one, move: (v, part) => v + part };
      if ((value.m || [value]).some((a) => a.v !== 0)) return { ...one, move: (v, part) => v * (1 + 0.01 * part) };
      // one of its unit, or the tenth of it that its range allows
      const f = F[s.read.k === undefined ? s.input.us[0] : s.read.k], [unit, size] = f.s || s.input.whole ? [f.s, f.f] : ["%", 0.01];
      const guard = c.program.guards.find((it) => it[5] === k && it[2]), fits = (v) => !guard || v < c.R[guard[2][0]].v || (guard[2][1] && v === c.R[guard[2][0]].v);
      const tenth = s.input.whole ? 0 : Math.max(0, [...Array(13).keys()].findIndex((n) => fits(size / 10 ** n)));
      return { ...one, step: `${plain(1 / 10 ** tenth)} ${unit}`.trimEnd(), move: (v, part) => v + (part * size) / 10 ** tenth };
    });
    const runner = (engine, whole) => (all) => {
      const R = engine.follow(all.map((one) => one.given));
      return whole && troubles(c.program, R, () => "").length ? null : o.map(([, r]) => R[r]);
    };
    return influencesOf(inputs, outputs, runner(ready(c.program, data.preferred), true), runner(ready(c.program, data.preferred, true), false));
  }
  function slopesLater(c) {
    if (!data.slopes[c.at]) return;
    clearTimeout(c.pause);
    if (!c.slopes) c.slopes = inside(c, "[data-sl]").map((box) => ({ box, made: box.firstElementChild.cloneNode(true), was: false }));
    for (const one of c.slopes) {
      if (!c.trial && one.was) { one.box.replaceChildren(one.made.cloneNode(true)); one.box.marks = null; }
      one.was = c.trial;
      one.box.classList.toggle("old", c.trial);
    }
    if (!c.trial || !c.stands) return;
    c.pause = setTimeout(() => {
      const steps = slopeSteps(c);
      const go = () => {
        const until = performance.now() + 6;
        for (let next = steps.next(); !next.done; next = steps.next()) {
          if (next.value) {
            c.slopes.forEach(({ box }) => {
              const [name] = data.slopes[c.at].o[box.dataset.sl];
              paint(box, slopeBars(name, next.value[box.dataset.sl]));
              box.classList.remove("old");
            });
            return;
          }
          if (performance.now() > until) { c.pause = setTimeout(go, 0); return; }
        }
      };
      go();
    }, 250);
  }

  const withinLines = (c, all) => (c.stands ? all : []).map((one) => el("li", { className: one.caution ? "look" : "bad" }, el("b", { textContent: one.caution ? "caution" : "FAILS" }), " ", el("span", { textContent: `within the tolerances: ${signed(one.w)}, at ${tied(one.where)}` })));
  function withinWords(c) {
    const { within } = c, open = " NOT PROVED within the tolerances";
    return !within ? `${open}, which are being tried.` : within.w ? `${open}: ${within.w}.` : within.fails.length ? " FAILS within the tolerances."
      : failsNow(c) ? `${open}.` : within.looks.length ? `${open}: to look at there: ${within.looks[0].w}${within.looks.length > 1 ? ` (and ${within.looks.length - 1} more)` : ""}.` : `${open}: no check failed in ${within.tried} tries.`;
  }

  // the words of a command for a shell; Windows takes " in both of its shells
  const quoted = (t) => (!/[^A-Za-z0-9_.\/-]/.test(t) ? t : windows ? `"${t}"` : `'${t.replace(/'/g, "'\\''")}'`);
  let windows = /Windows/.test(navigator.userAgent);
  /** Of each input that is not its default: name, value and unit as written. */
  const sayInput = (s) => {
    if (s.link) return [s.input.n, takenText(s), ""];
    const unit = s.unit === null || s.unit === undefined ? "" : F[s.unit].s, own = !s.input.w && !s.input.m && splitQuantity(s.text);
    if (own && !isBare(s.text) && s.read && s.read.a) return [s.input.n, s.text.trim().slice(0, endOfNumber(s.text.trim())), F[s.read.k].s];
    return [s.input.n, s.input.w ? s.input.w[s.text] : s.text.trim(), s.input.w ? "" : unit];
  };
  function inWords(s) {
    const [, text, unit] = sayInput(s);
    return s.link ? text : typedWords(s.input, text, unit);
  }
  /** An input of a form with the tolerance that stands beside it, each value of a series with it. */
  const spokenWith = (s) => (s.input.m ? partsOf(inWords(s)) : [inWords(s)]).map((part) => (s.tolerance ? `${part.trim()} ${toleranceWords(s.tolerance)}` : part.trim())).join(", ");
  /** An input with its tolerance, as `run` reads it; that of another value goes with it, the wider of the same
   *  distance and the same share. */
  function withTolerance(s) {
    if (s.tolerance) return spokenWith(s);
    const words = inWords(s), ends = s.input.te, now = said(s).value, parts = s.input.m ? partsOf(words) : [words];
    const [values, before] = [now, s.first].map((a) => (a && a.m) || [a || {}]);
    if (!ends || s.input.w || [values, before, parts].some((all) => all.length !== ends.length) || values.some((x) => x.v === undefined)) return words;
    const f = F[s.input.us[0]], text = (v) => `${neverThousands(String(Number((v / f.f - f.z).toPrecision(15))))} ${f.s}`.trim();
    return parts.map((part, k) => {
      const [low, high] = ends[k], x = values[k].v, was = before[k].v;
      if (low === high) return part.trim();
      const near = Math.abs(x - was) <= 1e-12 * Math.abs(was), share = was && !f.z ? [low * x / was, high * x / was] : [];
      const all = near ? [low, high] : [x + low - was, x + high - was, ...share];
      return `${part.trim()} from ${text(Math.min(...all))} to ${text(Math.max(...all))}`;
    }).join(", ");
  }
  /** The tolerance of an example alone, as `run --example` takes it; none for a series, whose values have each its own. */
  function exampleTolerance(s) {
    const ends = s.input.te, f = F[s.input.us[0]];
    if (form && s.made !== undefined) return s.input.m ? "" : toleranceWords(s.tolerance);
    if (!ends || s.input.m || s.input.w || f.z || ends[0][0] === ends[0][1] || s.first.v === undefined) return "";
    const [below, above] = [s.first.v - ends[0][0], ends[0][1] - s.first.v].map((v) => `${neverThousands(String(Number((v / f.f).toPrecision(12))))} ${f.s}`.trim());
    return below === above ? `± ${above}` : `+${above} -${below}`;
  }
  function command(c) {
    const examples = onExample(c).filter((s) => s.input.e === true || s.input.e === 3);
    const words = c.state.filter((s) => {
      if (s.link) return true;
      // an example stays one: the line asks for it as such, with its tolerance
      if (examples.includes(s)) return !s.idle && (s.tolerance || exampleTolerance(s));
      // what nothing depends on says nothing
      if (s.idle || s.spared) return false;
      const d = s.input.d;
      return s.input.te || s.tolerance || d === null || d !== s.text || (s.input.du !== s.unit && !s.input.w);
    }).map((s) => `${s.input.n}=${quoted((examples.includes(s) && exampleTolerance(s)) || withTolerance(s))}`);
    const own = Object.entries(c.program.written), run = (sheet) => ["standstill run", sheet, ...words, ...(examples.length ? ["--example"] : [])].join(" ");
    if (!own.length) return run(quoted(c.program.sheet));
    // sheets that stand in the document go along, into a folder of their own
    return windows
      ? ["$d = New-Item -ItemType Directory (Join-Path $env:TEMP (New-Guid))", ...own.map(([name, text]) => `@'\n${text}\n'@ | Set-Content -Encoding utf8 "$d\\${name}.sheet"`), run(`"$d\\${c.program.sheet}"`)].join("\n")
      : ["d=$(mktemp -d)", ...own.map(([name, text]) => `cat > "$d/${name}.sheet" <<'END_OF_SHEET'\n${text}\nEND_OF_SHEET`), run(`"$d/${c.program.sheet}"`)].join("\n");
  }
  /** What a calculation stands on, itself, and what stands on it: it holds where all of them do. */
  const together = (c) => calcs.filter((d) => d === c || rests(d, c) || rests(c, d)).sort((a, b) => depth(a) - depth(b));
  /** Commands as one: what fails ends it, with its exit code. */
  function commandsOf(all) {
    const [first, ...rest] = all.map(command);
    if (!rest.length) return first;
    if (windows) return [first, ...rest].join("\nif ($?) {\n") + "\n" + "}".repeat(rest.length);
    return [first, ...rest].some((one) => one.includes("\n")) ? `{\n${[first, ...rest].join("\n} && {\n")}\n}` : [first, ...rest].join(" &&\n");
  }
  // the bounds of what another calculation hands on are those of the review as made: of a trial no page knows them
  const handedOn = (c) => c.state.filter((s) => s.link && (s.input.te || []).some(([low, high]) => low !== high)).map((s) => [s.input.n, s.link.from.map(([, at]) => calcs[at]).filter((one) => one.trial)]).filter(([, all]) => all.length);
  /** Copies the command of a calculation and of what stands together with it, and says what does not go along. */
  function giveCommand(c, button) {
    const handed = handedOn(c);
    if (handed.length) {
      const tried = handed.map(([name, all]) => `${name} from ${[...new Set(all.map((one) => one.program.a))].join(", ")}`).join("; ");
      notice(`No command of ${c.program.a} was copied: within which tolerance it takes ${tried} is known for the review as made alone, and another value was tried there. Write what was tried into the document and make the review again.`);
      return;
    }
    const group = form ? [c] : together(c).filter((one) => !handedOn(one).length), covered = group.map((one) => one.program.a);
    group.forEach(prepare);
    const others = form ? [] : [...parts].map((li) => li.dataset.alias).filter((alias) => !covered.includes(alias));
    const cover = others.length ? `The ${covered.length > 1 ? "lines cover" : "line covers"} ${covered.join(", ")} alone, not ${others.join(", ")}: their verdicts are on this page. ` : "";
    const wide = c.state.filter((s) => s.input.te), names = (all) => all.map((s) => s.input.n).join(", ");
    const kept = names(wide.filter((s) => s.input.e === true && onExample(c).includes(s) && !exampleTolerance(s))), gone = names(wide.filter((s) => s.changed));
    give(() => commandsOf(group), button);
    const idle = c.state.filter((s) => s.idle).map((s) => s.input.n);
    const left = idle.length ? `Not in the line, since nothing depends on it: ${idle.join(", ")}. ` : "";
    const whole = kept && `Examples are asked for without the tolerances of this page: ${kept}. `;
    notice(cover + left + whole + (gone && `With another value goes its tolerance, the wider of the same distance and the same share: ${gone}.`));
  }
  function takenText(s) {
    const f = F[s.input.us[0]], a = said(s).read.a, one = (x) => `${neverThousands(String(Number((x.v / f.f - f.z).toPrecision(15))))} ${f.s}`.trim();
    if (!a) return "…";
    return s.input.w ? s.input.w[a.v] : a.m ? a.m.map(one).join(", ") : one(a);
  }

  /** What of a calculation is not as the page was made, or as the example has it. */
  const owned = (c) => c.state.filter((s) => !s.link && (form ? s.own || s.tolerance : s.changed));
  /** Whether what is typed has a unit of its own. */
  const bears = (s) => !s.input.w && Boolean(said(s).read.a) && (s.input.m ? partsOf(s.text) : [s.text]).some((part) => !isBare(part));
  /** Whether what stands in the fields of an input reads, its tolerance too. */
  const reads = (s) => Boolean(said(s).read.a) && !(s.reach && !s.reach.ends);
  /** What stands in them: text, unit beside it, tolerance. */
  const asStands = (s) => [s.text.trim(), F[s.unit].s, s.tolerance || ""];
  // a trial as the fragment of a link: #name@hash?input=value&…&count, so that one that was cut is seen to be; what does not
  // read, or is asked about for the unit beside it, goes as it stands: input=text=unit=tolerance
  function fragment() {
    const words = calcs.flatMap((c) => owned(c).map((s) => [form ? s.input.n : `${c.program.a}.${s.input.n}`, ...(reads(s) && !s.share ? [spokenWith(s)] : asStands(s))].map(encodeURIComponent).join("=")));
    return `#${form || "try"}${words.length || form ? `@${data.id}` : ""}${words.length ? `?${words.join("&")}&${words.length}` : ""}`;
  }
  // browsers take few new addresses a second: it follows once the typing pauses, unless it has led elsewhere by then
  let address = 0, addressed = null;
  const addressNow = () => (calcs.some((c) => owned(c).length) || form ? fragment() : "");
  function keepFragment() {
    const from = location.hash;
    clearTimeout(address);
    address = setTimeout(() => {
      const now = addressNow();
      if (location.hash !== from || now === addressed) return;
      addressed = now;
      asMade(now);
      try { history.replaceState(null, "", now || location.pathname + location.search); } catch { /* a page without an address keeps none */ }
    }, 150);
  }

  /** A value and its tolerance, which may stand behind it or in a cell of its own; one for all values of a series. What does
   *  not read without it is not cut. */
  function tolerated(text, beside, reads) {
    const cut = partsOf(text).map(cutTolerance), all = [...new Set(cut.map(([, own]) => own))];
    const value = cut.map(([value]) => value.trim()).join(", ");
    return beside || all.length > 1 || !all[0] || (value && !reads(value)) ? [text, beside || ""] : [value, all[0]];
  }
  /** Takes inputs from outside, all or none: [{c, name, text, unit}]; returns the problems. A text that is no value stands
   *  in its field as it would if it were typed there, and is told: then nothing is calculated, and nothing is lost. */
  function take(items, more = []) {
    const problems = [...more], put = [], unread = [], empty = [];
    // a link is read before anything is typed: what an input was made with is looked up first
    for (const { c } of items) if (c) prepare(c);
    for (const [at, { c, name, at: cell, text: typed, unit, from, tolerance: beside }] of items.entries()) {
      const told = cell ? `${name} (${cell})` : name, s = c && c.state.find((one) => one.input.n === name), k = unit && s ? unitTyped(s.input, unit, F, data.spellings) : null;
      const [text, tolerance] = form && s ? tolerated(typed, beside, (value) => s.input.w || read(s.input, value, k).a) : [typed, ""];
      // a copied line says the tolerance of an example, which is that of the page, or one that was given to it here
      if (s && !form && text !== "" && text === exampleTolerance(s)) continue;
      if (items.findIndex((one) => one.c === c && one.name === name) < at) { problems.push(`${told} is given twice: leave one of them out`); continue; }
      if (!s || s.link) { problems.push(`${told} is not an input that can be given here`); continue; }
      if (tolerance && text === "" && !beside && !s.input.w) {
        const { w } = readTolerance(s.input, tolerance, read(s.input, s.input.v, s.input.u), F, data.spellings);
        if (w) problems.push(`${told}: the tolerance ${tolerance}: ${w}`); else put.push({ s, tolerance, text: s.input.v, unit: s.input.u, from: "example" });
      } else if (s.input.w) {
        const word = s.input.w.indexOf(text);
        if (tolerance) problems.push(`${told}: a word has no tolerance`);
        else if (word < 0 || unit) problems.push(`${told}${text === "" ? " is empty: write one of" : `: ${text} is not one of`} ${s.input.w.join(", ")}`); else put.push({ s, text: String(word), unit: s.unit, from });
      } else if (k === undefined) problems.push(`${told}: the unit ${unit} is not offered here: ${s.input.us.map((one) => F[one].s || "none").join(", ")}`);
      else {
        const one = read(s.input, text, k), near = k ?? s.input.us.find((it) => F[it].s === "") ?? s.input.u;
        const reach = one.a && tolerance ? readTolerance(s.input, tolerance, one, F, data.spellings).w : "", w = one.w || (reach && `the tolerance ${tolerance}: ${reach}`);
        // a number without a unit is not given the nearest one
        if (one.w && read(s.input, text, near).a) problems.push(`${told}: ${one.w}`);
        else if (one.a && k !== null && one.k !== k) problems.push(`${told}: ${text} has a unit of its own, and ${unit} stands beside it: leave one of them`);
        else {
          if (one.w && text === "") empty.push(name); else if (w) unread.push(`${told}: ${w}`);
          // a small percentage keeps its sign, which says that it is none of a share
          const cut = one.a && k === null && (s.input.m ? one.ks.every((it) => it === one.k) : !(F[one.k].s === "%" && one.a.v <= 0.01));
          const numbers = cut && (s.input.m ? partsOf(text) : [text]).map((part) => part.trim().slice(0, endOfNumber(part.trim())));
          put.push({ s, tolerance, text: cut ? numbers.join(", ") : text, unit: one.w ? near : k === null && s.input.m && !cut ? s.unit : one.k, from: w ? "own" : from });
        }
      }
    }
    if (problems.length) return { problems: [...problems, ...unread] };
    if (form) {
      // most boxes of a form hold the example: nobody has looked at them, as the terminal counts it
      const asked = calcs[0].state.filter((s) => s.input.e && s.input.d === null), first = ({ input }) => read(input, input.v, input.u).a;
      const left = put.filter(({ s, text, unit, from }) => from === "form" && asked.includes(s) && !s.input.w && !s.input.m && alike(read(s.input, text, unit).a || {}, first(s)));
      if (left.length > 2 && 2 * left.length > asked.length) for (const one of left) one.from = "example";
      // what was typed before belongs to another machine
      keepTyped();
      calcs[0].state.forEach((s) => { if (!s.link) [s.text, s.unit, s.own, s.tolerance] = [s.input.v, s.input.u, false, s.made]; s.show(); });
    }
    for (const { s, text, unit, from, tolerance } of put) { s.text = text; s.unit = unit; s.own = from !== "example" && from !== "default"; s.tolerance = tolerance || ""; s.show(); }
    if (form) showTolerances();
    new Set(items.map(({ c }) => c)).forEach((c) => changed(c));
    return { unread, empty };
  }
  // what was typed, until the next time that all of it is put away
  let typed = null;
  const keepTyped = () => { const c = calcs[0], any = c.state.some((s) => s.own || s.tolerance !== s.made); typed = any ? c.state.map((s) => [s.text, s.unit, s.own, s.tolerance]) : null; return any; };
  function typedBack() {
    calcs[0].state.forEach((s, k) => { [s.text, s.unit, s.own, s.tolerance] = typed[k]; s.show(); });
    typed = null;
    notice("");
    changed(calcs[0]);
  }
  const notice = (text) => { note.textContent = text; note.hidden = text === ""; if (text && typed) note.append(" ", button("Put back what was typed before", typedBack)); ofLink = false; if (!form && !document.body.classList.contains("tried")) { bar.hidden = text === ""; bar.append(note); } };
  function takeAndTell(items, more, what, caution = "") {
    const { problems, unread, empty } = take(items, more), count = problems ? 0 : items.length - unread.length - empty.length;
    if (problems) {
      // the link stays in the address until something is typed
      addressed = addressNow();
      return notice(`Nothing was read from ${what}: ${problems.join("; ")}.`);
    }
    const open = (empty.length ? ` Empty, and empty is not zero: ${empty.join(", ")}.` : "") + (unread.length ? ` As it was typed, and not read: ${unread.join("; ")}.` : "");
    const left = form ? onExample(calcs[0]).map((s) => s.input.n) : [];
    notice(`${count} ${count === 1 ? "input was" : "inputs were"} read from ${what}.${open}${left.length ? ` Still the example: ${left.join(", ")}.` : ""}${caution}`);
  }
  /** Whether a fragment is a link of inputs, or begins like one: no place of the page, and more than the name of a form. */
  const linkName = (form || "try").toLowerCase();
  function isLink(hash) {
    const { name, id, inputs } = linkOf(hash);
    if (inputs !== null) return true;
    return form ? name.toLowerCase() === linkName && id !== null && id !== data.id : /^try(?![\p{L}\p{N}_-])/iu.test(name) && !document.getElementById(name);
  }
  // whether what is told is about the link
  let ofLink = false;
  /** Reads a fragment, of this page or of a link. */
  function fromFragment(hash) {
    const { name, id, inputs } = linkOf(hash), items = [], more = [];
    if (!isLink(hash)) return;
    const nothing = (why) => { notice(`Nothing was read from the link: ${why}.`); ofLink = true; addressed = addressNow(); };
    if (!inputs) return nothing("it is cut off or was changed on its way, and holds no input; copy it again from the page where it was made");
    if (name.toLowerCase() !== linkName) return nothing(`it is for ${name || "no page"}, and this page takes links that begin with #${linkName}`);
    const pairs = inputs.split("&"), count = pairs.pop();
    if (count !== String(pairs.length)) return nothing("its end is missing or was changed on its way, and with it perhaps an input; copy it again from the page where it was made");
    for (const pair of pairs) {
      let key, text, unit, tolerance, all;
      try { all = [key, text, unit = "", tolerance] = pair.split("=").map(decodeURIComponent); } catch { more.push(`${pair} cannot be read`); continue; }
      if (all.length !== 2 && all.length !== 4) { more.push(`${key} has ${text === undefined ? "no value" : "more than one value"}`); continue; }
      const dot = key.indexOf("."), c = form ? calcs[0] : calcs.find((one) => one.program.a === key.slice(0, Math.max(dot, 0)));
      items.push({ c, name: form ? key : key.slice(dot + 1), text, unit, tolerance });
    }
    takeAndTell(items, more, "the link");
    if (id && id !== data.id) notice(`${note.textContent} The link was made on another edition of this page (${id}, here ${data.id}): its figures may differ.`);
    ofLink = true;
  }
  const bar = document.getElementById("bar");
  bar.textContent = "";
  const verdictInBar = el("p", { className: "vb" }), keys = el("p", { className: "keys" }), tools = el("div", { className: "tools" });
  const more = el("details", { className: "more", open: innerWidth > 640 }, el("summary", { textContent: form ? "file, command line, link" : "command line, link" }), tools);
  const spoken = el("p", { className: "sr", role: "status" }), note = el("p", { className: "note", role: "status", hidden: true });
  const button = (text, onclick) => el("button", { type: "button", textContent: text, onclick });
  // the results that the text speaks of; of a form those that decide
  const spokenOf = (() => {
    const seen = new Set(), found = [];
    const add = (c, output) => { const key = `${c.at} ${output[1]}`; if (!seen.has(key)) { seen.add(key); found.push({ c, name: output[0], r: output[1], f: F[output[2]], set: output[3] }); } };
    for (const e of document.querySelectorAll(".v[data-c][data-r]")) {
      const c = calcs[e.dataset.c], r = Number(e.dataset.r.split(" ")[0]), output = c.program.outputs.find((one) => one[1] === r);
      if (output) add(c, output);
    }
    // what decides is said by the program, as in its reports
    if (form) calcs.forEach((c) => c.program.decisive.forEach((k) => add(c, c.program.outputs[k])));
    return form ? found : found.slice(0, 8);
  })();
  /** What a result was found to be within the tolerances: the nominal value alone is none to go by. */
  function foundOf(c, r, f) {
    const { low, high, never } = ((c.within && c.within.rows) || []).find((row) => row[1] === r)?.[3] || {};
    return low ? ` (${tied(write(low, f))} to ${tied(write(never || high, f))} found within the tolerances)` : "";
  }
  let pause = 0;
  function tellNow() {
    const words = tellAll();
    if (verdictInBar.textContent !== words) verdictInBar.textContent = words;
    keys.replaceChildren(...spokenOf.flatMap(({ c, name, r, f, set }) => {
      prepare(c);
      const label = calcs.length > 1 ? `${c.program.a}.${name}` : name, why = standsOn(c).map((one) => one.split(", where ")[0]).join(", ");
      return [el("span", {}, ...withLinks(!c.stands ? `${label}: ${NOT}` : set && whyNow(c) ? `${label}: NOT to be set (${tied(write(c.R[r], f))})` : `${label} = ${tied(write(c.R[r], f))}${foundOf(c, r, f)}${why && ` (${why})`}`)), " "];
    }));
    keys.hidden = !spokenOf.length;
    if (form) own.formOnPaper(calcs[0]); else trialOnPaper();
    // a screen reader hears it once the typing pauses
    clearTimeout(pause);
    const speech = spokenOf.length ? `${words} ${keys.textContent}` : words;
    pause = setTimeout(() => { if (spoken.textContent !== speech) spoken.textContent = speech; }, 700);
    keepFragment();
  }
  let told = "";
  const onPaper = document.getElementById("paper") || el("style", { id: "paper" });
  onPaper.textContent = "";
  if (!onPaper.isConnected) document.head.append(onPaper);
  const headOf = (head, foot) => {
    const words = (text) => text.replace(/["\\<\n]/g, (sign) => `\\${sign.charCodeAt(0).toString(16)} `);
    return `@page { @top-left { content: "${words(head)}"; font: bold 7.5pt sans-serif; }${foot ? ` @bottom-left { content: "${words(foot)}"; font: 7.5pt sans-serif; }` : ""} }`;
  };
  /** A printed trial says on every page that it is one, and what came out. */
  function onEveryPage(text) {
    if (onPaper.textContent !== text) onPaper.textContent = text;
  }
  function trialOnPaper() {
    const count = calcs.flatMap((c) => c.state).filter((s) => s.changed).length, none = calcs.filter((c) => !c.stands).map((c) => c.program.a);
    const examples = examplesLeft() ? "NOT YOUR MACHINE: examples are left" : "", open = calcs.some((c) => c.stands && unproved(c)) ? "NOT PROVED within the tolerances" : "";
    const outcome = [examples, none.length ? `NO RESULT for ${none.join(", ")}` : "", open, none.length === (parts.length || calcs.length) ? "" : verdictNow().split(/[:.]/)[0]].filter(Boolean).join(", ");
    // two trials are told apart: by the first of what was changed, and by digits of all of it
    const all = calcs.flatMap((c) => c.state.filter((s) => s.changed).map((s) => `${c.program.a}.${s.input.n} = ${signed(inWords(s))}`));
    const first = all.join(", ").length <= 60 ? all.join(", ") : `${all[0].slice(0, 50)}${all.length > 1 ? `, and ${all.length - 1} more` : ""}`, known = digitsOf(data.id + all.join("\n"));
    for (const e of standing(".tryd")) {
      if (e.made === undefined) e.made = e.textContent;
      letters(e, count ? `${e.made} Inputs ${known}: ${all.join("; ")}.` : e.made);
    }
    onEveryPage(count ? headOf(`TRIAL of ${data.id}: ${outcome}; ${count} ${count === 1 ? "input" : "inputs"} changed, not the review as it was made · ${first} · inputs ${known} · ${document.title}`, "a trial, not to be signed") : "");
  }
  /** The pictures that are seen have numbers in their order: a trial may show more of them. */
  function numberFigures() {
    let number = 0;
    for (const e of document.querySelectorAll(".fn")) {
      const seen = form || document.body.classList.contains("tried") || !e.closest(".idle");
      e.textContent = seen ? `Figure ${++number}. ` : "";
    }
  }
  function tellBar() {
    const changed = calcs.map((c) => ({ c, n: c.state.filter((s) => s.changed).length })).filter((one) => one.n);
    const count = changed.reduce((n, one) => n + one.n, 0), key = changed.map(({ c, n }) => `${c.at} ${n}`).join();
    // a command line that was copied is not that of the next change
    if (form ? told === "form" : key === told && !bar.querySelector("textarea")) return;
    told = form ? "form" : key;
    document.body.classList.toggle("tried", !form && count > 0);
    numberFigures();
    // what a trial does not reach says so
    for (const e of document.querySelectorAll(".v.wo")) {
      if (e.why === undefined) e.why = whyBehind(e) ? whyBehind(e).textContent.slice(2, -1) : "";
      tellWhy(e, !form && count > 0 ? "for the inputs as they were made" : e.why);
    }
    bar.hidden = !form && count === 0;
    bar.textContent = "";
    if (bar.hidden) return;
    note.hidden = note.textContent === "";
    bar.append(verdictInBar, keys, note, spoken);
    tools.textContent = "";
    if (form) own.formTools(calcs[0]);
    else {
      bar.append(el("p", { textContent: `${count} ${count === 1 ? "input" : "inputs"} changed: a trial, not the review as it was made.` }), button("Put all back", () => {
        const first = changed[0].c;
        changed.forEach(({ c }) => putBack(c));
        notice("");
        tellBar();
        const field = first.section.querySelector("input,select");
        if (field) field.focus();
      }));
      for (const { c } of changed) tools.append(button(changed.length > 1 ? `Copy command of ${c.program.a}` : "Copy as command line", (e) => giveCommand(c, e.target)));
    }
    tools.append(button("Copy as link", (e) => give(() => location.href.split("#")[0] + fragment(), e.target)));
    const shell = el("select", {}, el("option", { value: "", textContent: "for Linux, macOS" }), el("option", { value: "1", textContent: "for Windows" }));
    shell.setAttribute("aria-label", "shell of the command line");
    shell.value = windows ? "1" : "";
    shell.onchange = () => { windows = shell.value === "1"; const area = bar.querySelector("textarea"); if (area && area.again) area.value = area.again(); };
    tools.append(shell);
    bar.append(more);
  }
  function give(write, button) {
    let area = bar.querySelector("textarea[readonly]");
    if (area) area.relabel();
    const text = write(), label = button.textContent;
    if (!area) { area = el("textarea", { readOnly: true, rows: 3 }); area.setAttribute("aria-label", "to be copied"); bar.append(area); }
    area.again = write;
    area.relabel = () => { button.textContent = label; };
    area.value = text;
    area.focus();
    area.select();
    let done = false;
    try { done = document.execCommand("copy"); } catch { done = false; }
    button.textContent = done ? "Copied" : "Select and copy the line";
  }

  const own = form && formOf({ form, data, calcs, F, el, said, inside, reaching, moved, unproved, failsWithin, onExample, read, reads, asStands, tellChecks, followRelease, tellNow, sayInput, spokenWith, giveCommand, takeAndTell, notice, keepTyped, putBack, changed, button, tools, bar, headOf, onPaper });

  function putBack(c) {
    c.state.forEach((s) => { s.text = s.input.v; s.unit = s.input.u; s.tolerance = s.made; s.show(); });
    changed(c, false);
    if (form) showTolerances();
  }

  let due = 0;
  function changed(c, withBar = true) {
    // a line that was copied is not that of these inputs
    bar.querySelectorAll("textarea[readonly]").forEach((area) => { area.relabel(); area.remove(); });
    const all = [c, ...c.followers];
    all.forEach(prepare);
    for (const one of all) {
      follow(one);
      one.state.forEach((s) => s.mark());
    }
    if (withBar) tellBar();
    tellNow();
    if (!due) due = requestAnimationFrame(() => { due = 0; reach(); });
  }

  /** The fields of tolerances of a form are there when they are asked for, or hold one. */
  function showTolerances(asked = reaching(calcs[0]).length > 0) {
    const { section } = calcs[0];
    section.querySelector(".tls input").checked = asked;
    section.classList.toggle("tol", asked);
  }
  for (const c of calcs) {
    c.state.forEach((s) => { s.show = () => {}; s.mark = () => {}; });
    if (form) {
      prepare(c);
      // the tolerances that the sheet's examples have
      c.state.forEach((s) => { s.made = s.tolerance = exampleTolerance(s); });
      const box = el("input", { type: "checkbox" });
      box.onchange = () => {
        const gone = reaching(c).map((s) => `${s.input.n} ${toleranceWords(s.tolerance)}`);
        if (!box.checked && gone.length) { c.state.forEach((s) => { s.tolerance = ""; s.show(); }); changed(c); notice(`Taken out: ${gone.join(", ")}.`); }
        showTolerances(box.checked);
      };
      c.section.querySelector(".hint").after(el("p", { className: "tls" }, el("label", {}, box, " with tolerances")));
      const under = c.section.querySelector(".outs > .chk") || c.section.querySelector(".outs > table");
      if (under) under.after(el("div", { className: "tlr", hidden: true }));
    }
    const list = c.section && c.section.querySelector("table.inp");
    if (!list) continue;
    c.section.querySelector(".hint").hidden = false;
    c.state.forEach((s, k) => {
      if (s.link) return;
      const row = list.querySelector(`[data-i="${k}"]`), cell = row.cells[1], original = cell.textContent, name = s.input.n;
      const label = `${name}: ${row.cells[2].textContent}`;
      const note = el("small", { className: "was" });
      note.id = `was-${c.at}-${k}`;
      // a series is longer than its field: paper shows it whole
      const whole = s.input.m ? el("span", { className: "pv" }) : null;
      let field, unit = null;
      if (s.input.w) {
        field = el("select", {}, ...s.input.w.map((word, n) => el("option", { value: String(n), textContent: word })));
        field.onchange = () => { s.text = field.value; s.own = true; standIn(field, s.text); changed(c); };
      } else {
        field = el("input", { type: "text", autocomplete: "off", spellcheck: false });
        if (!s.input.m) field.inputMode = "decimal";
        if (whole) field.className = "many";
        field.oninput = () => { s.text = field.value; s.own = true; s.typed = s.unit; s.other = null; field.setAttribute("value", s.text); if (whole) whole.textContent = s.text; changed(c); };
        field.onkeydown = (e) => {
          if (e.key === "Escape") { s.text = s.input.v; s.unit = s.input.u; s.own = false; s.tolerance = s.made; s.show(); changed(c); }
          // an example that is right for this machine as well
          if (e.key === "Enter" && form && s.input.e) { s.own = true; changed(c); }
        };
        if (s.input.us.length > 1) {
          unit = el("select", {}, ...s.input.us.map((n) => el("option", { value: String(n), textContent: F[n].s || "–" })));
          unit.setAttribute("aria-label", `unit of ${name}`);
          // a number that was typed stands, and is in the unit that is chosen behind it; any other stays the quantity that
          // it is. Which of both was done is said, with the way to the other
          unit.onchange = () => {
            const k = Number(unit.value), from = s.typed ?? s.unit, { a, k: own } = s.typed === undefined ? said(s).read : read(s.input, s.text, from);
            const text = (one) => neverThousands(String(Number((one.v / F[k].f - F[k].z).toPrecision(15)))), typed = s.text;
            const same = !a ? typed : k === s.input.u && alike(a, read(s.input, s.input.v, s.input.u).a) ? s.input.v : a.m ? a.m.map(text).join(", ") : text(a);
            const put = (text, typed, other) => { s.text = text; s.unit = k; s.show(); s.typed = typed; s.other = other; changed(c); };
            const words = (text, k) => tied(signed(`${text} ${F[k] ? F[k].s : ""}`.trim()));
            const stand = () => put(typed, from, same === typed ? null : { w: `${words(typed, k)}, as typed; not the same as ${words(typed, from)}. `, b: `Make it ${words(same, k)}`, go: turn });
            const turn = () => put(same, undefined, { w: `${words(typed, from)} is ${words(same, k)}. `, b: `Make it ${words(typed, k)}`, go: stand });
            // what bears a unit of its own is in that
            if (s.typed === undefined || !a) put(s.typed === undefined ? same : typed, s.typed, null);
            else if (partsOf(typed).every((part) => isBare(part)) && own !== undefined) stand();
            else put(same, undefined, null);
          };
        }
      }
      let reach = null;
      if (form && !s.input.w) {
        reach = el("input", { type: "text", className: "tol", autocomplete: "off", spellcheck: false, placeholder: "±" });
        reach.setAttribute("aria-label", `tolerance of ${name}`);
        reach.setAttribute("aria-describedby", note.id);
        reach.oninput = () => { s.tolerance = reach.value.trim(); reach.setAttribute("value", s.tolerance); changed(c); };
      }
      if (!s.input.w) field.onchange = () => {
        // a tolerance goes into its own field; alone it is that of the example, as at the terminal
        const [text, far] = form ? tolerated(s.text, "", (value) => read(s.input, value, s.unit).a) : [];
        if (far) { [s.text, s.unit, s.own, s.tolerance] = text ? [text, s.unit, s.own, far] : [s.input.v, s.input.u, false, far]; s.show(); showTolerances(); changed(c); }
        // the unit that was typed is that of the next number too
        if (bears(s)) s.unit = s.read.k;
      };
      field.setAttribute("aria-label", label);
      field.setAttribute("aria-describedby", note.id);
      field.dataset.name = name;
      s.show = () => { s.typed = undefined; s.other = null; standIn(field, s.text); if (reach) standIn(reach, s.tolerance || ""); if (whole) whole.textContent = s.text; menu(s.unit); };
      const menu = (k) => {
        if (!unit || k === null) return;
        // a unit that was read from a file or typed, and is not among those that are offered
        if (![...unit.options].some((one) => one.value === String(k))) unit.append(el("option", { value: String(k), textContent: F[k].s }));
        standIn(unit, String(k));
      };
      s.mark = () => {
        // beside a unit of its own no other one stands, and on paper none
        const shown = bears(s) ? s.read.k : s.unit;
        if (unit && unit.value !== String(shown)) menu(shown);
        cell.classList.toggle("ow", bears(s));
        const plate = s.read && s.read.plate ? `${s.read.plate} is read as ${F[s.read.k].s}. ` : "";
        const asked = askedOf(s);
        const reached = s.reach && s.reach.w ? `the tolerance ${s.tolerance}: ${s.reach.w}. ` : "";
        const words = (s.wrong ? s.wrong + ". " : "") + reached + (asked && `${asked}. `) + plate + (s.idle ? "It is given, and nothing that is calculated here depends on it. " : "") + (s.changed ? `${form ? (s.input.e ? "example" : "default") : "was"} ${original}` : "");
        if (form) {
          const from = s.own ? (s.text.trim() === "" ? "empty" : "yours") : s.input.e ? "example" : "default";
          if (row.cells[3].textContent !== from) row.cells[3].textContent = from;
          row.classList.toggle("ex", from === "example");
        }
        if (words === s.words && s.other === s.told) return;
        s.words = words; s.told = s.other;
        row.classList.toggle("changed", Boolean(s.changed) && !form);
        row.classList.toggle("wrong", Boolean(s.wrong || reached));
        field.setAttribute("aria-invalid", String(Boolean(s.wrong)));
        note.textContent = words;
        if (s.other) note.append(el("span", { className: "oth" }, ` ${s.other.w}`, button(s.other.b, () => { s.other.go(); field.focus(); })));
      };
      row.cells[0].append(el("span", { className: "dot", textContent: " ●" }));
      cell.textContent = "";
      cell.append(field);
      if (whole) cell.append(whole);
      if (unit) cell.append(unit);
      else if (!s.input.w && s.input.us.length && F[s.input.us[0]].s) cell.append("\u00a0" + F[s.input.us[0]].s);
      if (reach) cell.append(reach);
      cell.append(note);
      s.show();
    });
  }

  // in idle time all is looked up, and calculated with inputs a little off for practice: the browser then has
  // its quick code ready when the first change comes (common practice, no source)
  function rehearse(c, round) {
    const engine = ready(c.program, data.preferred);
    const off = (a) => (a.v === undefined || Number.isInteger(a.v) ? a : num(a.v * (1 + round * 1e-4), a.e));
    for (let k = 0; k < 2; k++) engine.follow(c.state.map((s) => (k ? off(s.first) : s.first)));
    troubles(c.program, engine.R, (a, f) => write(a, F[f]));
    c.places.texts.forEach((group) => tied(wordsOf(group, engine.R[group.r])));
    c.places.checks.forEach((one) => verdict(engine.R, one.check));
    c.places.pictures.forEach((one) => { if (round === 1) known(one.box); draw(c, engine.R, one.k); });
  }
  const ROUNDS = Math.max(3, Math.ceil(12 / calcs.length));
  let next = 0;
  function idle(left) {
    while (next < calcs.length * ROUNDS && left.timeRemaining() > 2) {
      const c = calcs[Math.floor(next / ROUNDS)], round = next % ROUNDS;
      if (round === 0) prepare(c); else rehearse(c, round);
      next++;
    }
    if (next < calcs.length * ROUNDS) requestIdleCallback(idle);
  }
  if (window.requestIdleCallback) requestIdleCallback(idle);

  // for checks from outside: sets inputs, returns results in the unit of each, checks and troubles
  window.standstill = {
    // whether the first change will be as quick as the next
    rested: () => next === calcs.length * ROUNDS,
    fresh: () => calcs.filter((c) => c.engine).flatMap((c) => c.places.texts.flatMap((group) =>
      group.places.map((one) => [one.was, one.tied ? tied(group.fresh) : group.fresh.replace(/ /g, "\u00a0"), group.r]))),
    redraw: (at, k) => {
      const c = calcs[at], box = el("div");
      prepare(c);
      paint(box, draw(c, run(c), k));
      return box.innerHTML;
    },
    values: (at) => {
      const c = calcs[at];
      prepare(c);
      const R = run(c);
      return {
        outputs: Object.fromEntries(c.program.outputs.map(([name, r, k]) => {
          const a = R[r], f = F[k];
          return [name, a.m ? a.m.map((one) => one.v / f.f - f.z) : a.v === undefined ? null : f.w ? f.w[a.v] : a.v / f.f - f.z];
        })),
        checks: c.program.checks.map((check) => verdict(R, check).word),
        troubles: troubles(c.program, R, (a, k) => write(a, F[k]), data.remedies),
        command: command(c),
        idle: c.state.filter((s) => s.idle).map((s) => s.input.n), within: c.within && {
          ...c.within,
          ends: Object.fromEntries((c.within.rows || []).map(([name, , f, { low, high }]) => [name, low && [low, high].map((a) => a.v / f.f - f.z)])),
        },
      };
    },
    set: (at, values) => {
      const c = calcs[at];
      for (const name in values) {
        const s = c.state.find((one) => one.input.n === name);
        s.text = s.input.w ? String(s.input.w.indexOf(values[name])) : values[name];
        s.own = true;
        s.show();
      }
      changed(c);
    },
    back: (at) => { putBack(calcs[at]); tellBar(); },
  };

  const asked = location.hash;
  if (form) {
    window.standstill.file = own.fromFile;
    window.standstill.tabs = own.fromTabs;
    window.standstill.csv = () => own.inputsAsCsv(calcs[0]);
    window.standstill.workbook = () => own.inputsAsWorkbook(calcs[0]);
    showTolerances();
    calcs.forEach((c) => { follow(c); c.state.forEach((s) => s.mark()); });
    tellBar();
    const hint = document.querySelector(".hint");
    if (hint) hint.textContent = `The fields begin with the sheet's example; write your own values. Enter keeps an example as your own, Escape puts it back. A filled form (.xlsx) can be dropped on the page, or a .csv that says sheet ${form} above its rows.`;
    tellNow();
  }
  fromFragment(asked);
  // the link of another trial, opened where the review is open already; what was told of one goes with it
  if (!form) addEventListener("hashchange", () => { if (isLink(location.hash)) location.reload(); else if (ofLink) notice(""); });

  // what has to be scrolled can be reached by key; another value may be wider in a box that stays as it is
  const scrollers = [...document.querySelectorAll(".w,.wide,.outs")];
  function reach() {
    const more = scrollers.map((e) => e.scrollWidth > e.clientWidth + 1 || (e.className === "outs" && e.scrollHeight > e.clientHeight + 1));
    scrollers.forEach((e, k) => { if (!more[k]) e.removeAttribute("tabindex"); else if (e.tabIndex !== 0) e.tabIndex = 0; });
  }
  const sizes = new ResizeObserver(reach);
  scrollers.forEach((e) => sizes.observe(e));

  // folded parts are open on paper
  let folded = [];
  addEventListener("beforeprint", () => { folded = [...document.querySelectorAll("details:not([open])")]; folded.forEach((d) => { d.open = true; }); });
  addEventListener("afterprint", () => folded.forEach((d) => { d.open = false; }));
  // a browser that knows no boxes in the margins, as Firefox, prints the title of the page there: it says the same
  let titled = null;
  const sheet = new CSSStyleSheet();
  sheet.replaceSync("@page { @top-left { content: '' } }");
  if (!sheet.cssRules[0].cssText.includes("top-left")) {
    addEventListener("beforeprint", () => {
      const heads = [...document.querySelectorAll("style")].flatMap((e) => [...e.textContent.matchAll(/@top-left \{ \w+: "([^"]*)"/g)]);
      titled = document.title;
      if (!heads.length) return;
      // the browser cuts a long title: what fails, and what the pages are known by, stand first
      const head = heads.at(-1)[1].replace(/\\([0-9a-f]+) /g, (_, code) => String.fromCodePoint(parseInt(code, 16)));
      const known = /^TRIAL/.test(head) ? [] : [/(?:sha256|inputs) ([0-9a-f]{12})/.exec(head), /revision ([^ ·]+)/.exec(head)];
      const fails = /^TRIAL/.test(head) ? null : /\b(?:FAILS?|MAY FAIL|NOT PROVED|NOT YOUR MACHINE)\b/.exec(head.split(" · ")[0]);
      document.title = [fails && fails[0], known[0] && known[0][1], known[1] && `rev ${known[1][1]}`, head].filter(Boolean).join(" · ");
    });
    addEventListener("afterprint", () => { document.title = titled; });
  }
}

// a figure that is copied alone is a number in a workbook too
addEventListener("copy", (event) => {
  const text = String(getSelection()).trim();
  if (!/^−\d[^\n−]*$/.test(text)) return;
  event.clipboardData.setData("text/plain", text.replace("−", "-"));
  event.preventDefault();
});

const ownData = document.getElementById("data");
if (ownData) review(JSON.parse(ownData.textContent), null);
