// A page of forms: one sheet, or a list of sheets with a search; each is put in place when it is asked for.
const formsData = document.getElementById("forms");
if (formsData) {
  const { forms, search: index, short, ...shared } = JSON.parse(formsData.textContent), main = document.querySelector("main");
  const e = (name, more, ...inside) => { const made = Object.assign(document.createElement(name), more); made.append(...inside); return made; };
  const first = main.cloneNode(true), bar = document.getElementById("bar");
  // what stands on each printed page
  const paper = e("style", { id: "paper" });
  document.head.append(paper);
  let now = null, sought = "";

  // the search of the terminal, by its own index and rules; a "²" is searched as a 2
  const { words, entries, empty, most, least, alike } = index;
  const signs = (text) => [...text].length;
  const pieces = (text) => text.split(/[^\p{Alphabetic}\p{N}_]+/u).filter(Boolean).map((one) => one.toLowerCase().replace(/²/g, "2"));
  /** Letters by which two words differ, a swap of neighbours as one. */
  function slips(one, other) {
    const a = [...one], b = [...other];
    let above = [], row = [...Array(b.length + 1).keys()];
    for (let i = 1; i <= a.length; i++) {
      const next = [i];
      for (let k = 1; k <= b.length; k++) {
        next[k] = Math.min(row[k] + 1, next[k - 1] + 1, row[k - 1] + (a[i - 1] === b[k - 1] ? 0 : 1));
        if (i > 1 && k > 1 && a[i - 1] === b[k - 2] && a[i - 2] === b[k - 1]) next[k] = Math.min(next[k], above[k - 2] + 1);
      }
      above = row; row = next;
    }
    return row[b.length];
  }
  function likeness(asked, found) {
    if (asked === found) return 1;
    const long = Math.max(signs(asked), signs(found)), short = Math.min(signs(asked), signs(found));
    if (short < 4) return asked.replace(/s+$/, "") === found ? 0.9 : 0;
    if (found.startsWith(asked) || (asked.startsWith(found) && long - short <= 4)) return long - short <= 3 ? 0.95 : 0.85;
    if (/[0-9]/.test(asked + found)) return 0;
    const a = [...asked], b = [...found];
    let same = 0;
    while (same < short && a[same] === b[same]) same++;
    if (same >= 4 && long - same <= 3) return 0.8;
    if (short <= 4) return 0;
    const allowed = short <= 7 ? 1 : 2;
    return long - short <= allowed && slips(asked, found) <= allowed ? 0.6 : 0;
  }
  /** Of each sheet: how well a word fits it, with the weights of where it is found, and by likeness alone. */
  function fits(asked) {
    const likes = words.map((word, at) => [at, likeness(asked, word)]).filter(([, like]) => like > 0);
    return entries.map(({ fields }) => {
      let top = 0, all = 0, closest = 0;
      for (const [weight, held] of fields) {
        let best = 0, count = 0;
        for (const [at, like] of likes) if (held[at] !== undefined) { best = Math.max(best, like); count += held[at]; }
        top = Math.max(top, best * weight);
        all += best * weight * (1 + 0.1 * Math.min(count, 5));
        closest = Math.max(closest, best);
      }
      return [top + 0.1 * all, closest];
    });
  }
  /** Words of the longest search phrase that the question holds from end to end. */
  const phrase = (entry, asked) => Math.max(0, ...entry.phrases.filter((held) => asked.some((_, start) => start + Math.max(held.length, 1) <= asked.length
    && held.every((word, k) => likeness(asked[start + k], word) >= alike))).map((held) => held.length));
  function search(question) {
    if (!question.trim()) return forms.map((form, k) => k);
    const asked = pieces(question).filter((word) => !empty.includes(word)), scores = entries.map(() => 0);
    asked.forEach((word, at) => {
      const own = fits(word), joined = [];
      if (at + 1 < asked.length) joined.push(word + asked[at + 1]);
      if (at > 0) joined.push(asked[at - 1] + word);
      for (const both of joined) fits(both).forEach((one, k) => { if (one[1] >= alike) own[k] = [Math.max(own[k][0], one[0]), Math.max(own[k][1], one[1])]; });
      const common = Math.max(1, own.filter(([, like]) => like >= alike).length);
      own.forEach(([fit], k) => { scores[k] += fit * Math.sqrt(entries.length / common); });
    });
    const found = scores.map((score, k) => ({ k, score })).filter((one) => one.score > 0);
    for (const one of found) one.score += 8 * phrase(entries[one.k], asked);
    found.sort((a, b) => b.score - a.score || (forms[a.k].name < forms[b.k].name ? -1 : 1));
    return found.filter((one) => one.score >= found[0].score * least).slice(0, most).map((one) => one.k);
  }

  function list() {
    now = null;
    bar.hidden = true;
    bar.textContent = "";
    paper.textContent = "";
    document.body.classList.remove("unsigned");
    main.className = "";
    main.replaceChildren(...first.cloneNode(true).childNodes);
    document.title = main.querySelector("h1").textContent;
    const field = e("input", { type: "search", id: "search", autocomplete: "off", spellcheck: false }), found = e("div", { className: "found" });
    const count = e("p", { className: "hint", role: "status" });
    field.value = sought;
    const show = () => {
      sought = field.value;
      const all = search(field.value), by = new Map();
      const heading = (k) => (field.value.trim() ? "" : forms[k].group);
      for (const k of all) by.set(heading(k), [...(by.get(heading(k)) || []), k]);
      count.textContent = all.length ? `${all.length} of ${forms.length} sheets` : `No sheet answers "${field.value}".`;
      found.replaceChildren(...[...by].map(([group, all]) => e("section", {}, ...(group ? [e("h2", { textContent: group })] : []), e("ul", {}, ...all.map((k) =>
        e("li", {}, e("a", { href: `#${forms[k].name}`, textContent: forms[k].title }), " ", e("small", { textContent: forms[k].name })))))));
    };
    field.oninput = show;
    field.onkeydown = (event) => { const link = found.querySelector("a"); if (event.key === "Enter" && link) location.hash = link.getAttribute("href"); };
    if (asked()) main.append(e("p", { className: "trust", role: "status", textContent: `Nothing was read from the link: no sheet here is called ${asked()}.` }));
    main.append(e("p", { className: "find" }, e("label", { htmlFor: "search", textContent: "Find a sheet by the words of the trade" }), field), count, found);
    show();
  }

  function show(name) {
    const k = forms.findIndex((form) => form.name.toLowerCase() === name.toLowerCase());
    if (k < 0) return list();
    now = forms[k].name;
    const { html, data } = JSON.parse(document.querySelector(`[data-form="${k}"]`).textContent);
    main.className = "form";
    main.innerHTML = html.replace(/`(.)/gu, (_, letter) => short[letter] ?? letter);
    document.title = forms[k].title;
    if (forms.length > 1) main.prepend(e("p", { className: "up" }, e("a", { href: "#", textContent: "All sheets" })));
    Object.assign(data, shared);
    scrollTo(0, 0);
    review(data, now);
  }
  const asked = () => linkOf(location.hash).name;
  // what was typed into a sheet that was left, by its name: it is there again when the sheet is
  const left = new Map();
  function turn(event) {
    if (event?.oldURL) {
      const { hash } = new URL(event.oldURL), { name, inputs } = linkOf(hash);
      if (inputs) left.set(name, hash); else left.delete(name);
    }
    // a link to a part of the form stays on it
    if (now && document.getElementById(asked())) return;
    const back = left.get(asked());
    if (back && !linkOf(location.hash).inputs) try { history.replaceState(null, "", back); } catch { /* a page without an address keeps none */ }
    if (forms.length === 1) show(forms[0].name); else show(asked());
  }
  /** Reads a file into the form that is open; on the list it opens the one that the file asks for. */
  async function dropped(file) {
    if (now) return standstill.file(file);
    const say = (words) => { main.querySelector(".found").previousSibling.textContent = words; };
    try {
      const names = new Set(startsOf(await tabsOfFile(file)).map((one) => one.name)), [name] = names;
      if (names.size !== 1 || !forms.some((form) => form.name === name)) return say(`Nothing was read from ${file.name}: ${names.size ? `it asks for ${[...names].join(", ")}, and one sheet of this page is read at a time` : "no cell of it says which sheet it is for, as \"sheet safe-stop\" does"}. Open the sheet first, then drop the file there.`);
      left.delete(name);
      addEventListener("hashchange", () => standstill.file(file), { once: true });
      location.hash = name;
    } catch (e) { say(whyUnread(file, e)); }
  }
  addEventListener("hashchange", turn);
  addEventListener("dragover", (event) => event.preventDefault());
  addEventListener("drop", (event) => {
    event.preventDefault();
    const file = event.dataTransfer.files[0];
    if (file) dropped(file);
  });
  turn();
}
