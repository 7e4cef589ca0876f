// Inputs as a table of cells: written as a .csv or a workbook that `fill` and `run --from` read, and read from a .csv or
// from an .xlsx that was saved by an office program. Whatever is not understood is a problem, never passed over.

/** Text in one cell of a .csv (RFC 4180). */
const csvCell = (text) => (/[",\n\r;]/.test(text) ? `"${text.replace(/"/g, '""')}"` : text);
const csvOf = (rows) => rows.map((row) => row.map(csvCell).join(",")).join("\r\n") + "\r\n";

/** The letters of a column that is counted from 0. */
const lettersOf = (n) => (n < 26 ? "" : lettersOf(Math.floor(n / 26) - 1)) + String.fromCharCode(65 + (n % 26));

/** The cells of a .csv; the sign between them is what the first line that names the columns uses. */
function cellsOfCsv(text) {
  const head = /^\s*"?name"?([,;\t])/m.exec(text), by = head ? head[1] : ",", first = text.split(/\r?\n/).find((line) => /[,;\t]/.test(line)) || "";
  const other = !head && [[";", ";"], ["\t", "tabs"]].find(([sign]) => first.split(sign).length > first.split(",").length);
  if (other) throw new Error(`its cells are separated by ${other[1]}, and no row of headings begins with "name": separate them by ",", with a point in decimals, or use "standstill run --from"`);
  const rows = [[]];
  let cell = "", quoted = false, k = text.charCodeAt(0) === 0xfeff ? 1 : 0;
  const end = () => {
    const row = rows[rows.length - 1];
    row.push({ text: cell.trim(), at: `${lettersOf(row.length)}${rows.length}` });
    cell = "";
  };
  for (; k < text.length; k++) {
    const sign = text[k];
    if (quoted) {
      if (sign !== '"') cell += sign; else if (text[k + 1] === '"') { cell += '"'; k++; } else quoted = false;
    } else if (sign === '"' && cell.trim() === "") { quoted = true; cell = ""; }
    else if (sign === by) end();
    else if (sign === "\n") { end(); rows.push([]); }
    else if (sign !== "\r") cell += sign;
  }
  end();
  return rows;
}

/** A part of a zip file as text; none where it is not there. */
async function unzipped(bytes, wanted) {
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength), found = {};
  let end = bytes.length - 22;
  while (end >= 0 && view.getUint32(end, true) !== 0x06054b50) end--;
  if (end < 0) throw new Error("it is not a workbook: save it as .xlsx or .csv");
  const count = view.getUint16(end + 10, true);
  for (let k = 0, at = view.getUint32(end + 16, true); k < count; k++) {
    if (view.getUint32(at, true) !== 0x02014b50) throw new Error("its list of parts is damaged");
    const how = view.getUint16(at + 10, true), packed = view.getUint32(at + 20, true), size = view.getUint32(at + 24, true);
    const length = view.getUint16(at + 28, true), next = at + 46 + length + view.getUint16(at + 30, true) + view.getUint16(at + 32, true);
    const name = new TextDecoder().decode(bytes.subarray(at + 46, at + 46 + length)), start = view.getUint32(at + 42, true);
    at = next;
    if (!wanted(name)) continue;
    if (size > 2e7) throw new Error(`its part ${name} is too large`);
    const from = start + 30 + view.getUint16(start + 26, true) + view.getUint16(start + 28, true), part = bytes.subarray(from, from + packed);
    if (how !== 0 && how !== 8) throw new Error("it is packed in a way that is not read here");
    const plain = how === 0 ? part : new Uint8Array(await new Response(new Blob([part]).stream().pipeThrough(new DecompressionStream("deflate-raw"))).arrayBuffer());
    found[name] = new TextDecoder().decode(plain);
  }
  return found;
}

const OTHER = "it is a workbook of another kind: save it as .xlsx";
const partOf = (files, name) => new DOMParser().parseFromString(files[name] || "<none/>", "application/xml");
const all = (root, name) => [...root.getElementsByTagNameNS("*", name)];

/** Why a number format shows a number as another one; none for digits alone. */
function formatShows(id, code) {
  if (["0", "1", "2", "3", "4", "11", "48", "49"].includes(id)) return "";
  if (code === undefined) return "a number format of its own";
  // colours and places show nothing; the text of a currency is shown
  const bare = code.replace(/\[(?!\$[^\]-])[^\]]*\]/g, "");
  return /^General$/i.test(bare) || bare === "@" || (/^[0#?.,]*(?:E[+-]0+)?$/.test(bare) && /0|#|\?/.test(bare) && !/,(?![0#?])/.test(bare)) ? "" : `the number format ${code}`;
}

/** Why nobody sees what stands in a cell of that style, or takes it for valid; ISO/IEC 29500-1, 18.8 (from memory). */
function looksOf(styles) {
  const children = (name) => all(styles, name).flatMap((list) => [...list.children]), sets = (e) => e && !/^(0|false)$/.test(e.getAttribute("val") || "");
  const themes = ["FFFFFF", "000000"], known = { 0: "000000", 1: "FFFFFF", 8: "000000", 9: "FFFFFF" };
  const colour = (e, none) => {
    if (!e || e.getAttribute("tint") || e.getAttribute("auto")) return none;
    const of = (name, list) => (e.hasAttribute(name) ? list[e.getAttribute(name)] || "another" : "");
    return (e.getAttribute("rgb") || "").slice(-6).toUpperCase() || of("theme", themes) || of("indexed", known) || none;
  };
  const fonts = children("fonts").map((font) => ({ struck: sets(all(font, "strike")[0]), small: all(font, "sz")[0]?.getAttribute("val") < 4, ink: colour(all(font, "color")[0], "000000") }));
  const fills = children("fills").map((fill) => (all(fill, "patternFill")[0]?.getAttribute("patternType") === "solid" ? colour(all(fill, "fgColor")[0], "another") : "FFFFFF"));
  return children("cellXfs").map((xf) => {
    const font = fonts[xf.getAttribute("fontId")] || {}, ground = fills[xf.getAttribute("fillId") || 0] || "FFFFFF";
    return font.struck ? "struck through" : font.ink === ground && ground !== "another" ? "of the colour of its ground" : font.small ? "too small to be read" : "";
  });
}

/** The tabs of an .xlsx, each as rows of cells {text, type, shows}: what its cell is, and what its format adds. */
async function tabsOfXlsx(bytes) {
  const files = await unzipped(bytes, (name) => /^xl\/((workbook|sharedStrings|styles|worksheets\/[^/]+|_rels\/workbook)\.xml(\.rels)?|worksheets\/_rels\/.+|(threadedComments\/|comments\/?)[^/]*\.xml)$/i.test(name));
  if (!files["xl/workbook.xml"]) throw new Error(OTHER);
  const words = (e) => all(e, "t").filter((t) => t.parentNode.localName !== "rPh").map((t) => t.textContent).join("");
  const shared = all(partOf(files, "xl/sharedStrings.xml"), "si").map(words), styles = partOf(files, "xl/styles.xml");
  const own = new Map(all(styles, "numFmts").flatMap((list) => all(list, "numFmt")).map((f) => [f.getAttribute("numFmtId"), f.getAttribute("formatCode")]));
  const formats = all(styles, "cellXfs").flatMap((list) => all(list, "xf")).map((xf) => xf.getAttribute("numFmtId"));
  const tabs = Object.keys(files).filter((name) => /worksheets\/[^/]+\.xml$/.test(name)), looks = looksOf(styles);
  // remarks on cells stand in parts of their own, that their tab names
  const remarks = (name) => new Map(all(partOf(files, name.replace(/([^/]+)$/, "_rels/$1.rels")), "Relationship").filter((one) => /comments?$/i.test(one.getAttribute("Type")))
    .flatMap((one) => all(partOf(files, `xl/${one.getAttribute("Target").replace(/^(\/?xl\/|\.\.\/)/, "")}`), "*").filter((it) => /^(comment|threadedComment)$/.test(it.localName)))
    .map((it) => [it.getAttribute("ref"), it.localName === "comment" ? words(it).trim() : it.textContent.trim()]));
  // what the owner of the workbook does not show
  const parts = new Map(all(partOf(files, "xl/_rels/workbook.xml.rels"), "Relationship").map((one) => [one.getAttribute("Id"), one.getAttribute("Target").replace(/^(\/?xl)?\//, "")]));
  const unseen = new Map(all(partOf(files, "xl/workbook.xml"), "sheet").filter((one) => /hidden/i.test(one.getAttribute("state") || ""))
    .map((one) => [`xl/${parts.get([...one.attributes].find((it) => it.localName === "id").value)}`, `the hidden tab ${one.getAttribute("name")}`]));
  const is = (e) => /^(1|true)$/.test(e.getAttribute("hidden") || "");
  return tabs.map((name) => ({ name, tab: partOf(files, name), said: remarks(name) })).map(({ name, tab, said }) => all(tab, "row").map((row) => {
    const cells = [], columns = all(tab, "col").filter(is).map((col) => [col.getAttribute("min") - 1, col.getAttribute("max") - 1]);
    for (const c of all(row, "c")) {
      const letters = (c.getAttribute("r") || "").replace(/\d/g, ""), kind = c.getAttribute("t");
      const at = letters ? [...letters].reduce((n, sign) => n * 26 + sign.charCodeAt(0) - 64, 0) - 1 : cells.length;
      const v = all(c, "v")[0], raw = kind === "inlineStr" ? words(c) : v ? v.textContent : "", format = formats[Number(c.getAttribute("s") || 0)] || "0";
      const number = (kind === null || kind === "n") && raw !== "" && Number.isFinite(Number(raw));
      cells[at] = {
        // a number as it is, however its digits were saved
        text: kind === "s" ? (shared[Number(raw)] || "").trim() : number ? String(Number(raw)) : raw.trim(), at: c.getAttribute("r"),
        type: { e: "an error value", b: "a truth value", d: "a date" }[kind] || (number ? "number" : raw !== "" ? "text" : all(c, "f").length ? "a formula whose result was never saved" : ""),
        shows: number ? formatShows(format, own.get(format)) : "", look: raw === "" ? "" : looks[Number(c.getAttribute("s") || 0)] || "", said: said.get(c.getAttribute("r")) || "",
        hidden: unseen.get(name) || (is(row) ? "hidden rows" : columns.some(([low, high]) => low <= at && at <= high) ? "hidden columns" : ""),
      };
    }
    return Array.from(cells, (one) => one || { text: "" });
  }));
}

/** Check of a part of a zip file: CRC-32 (polynomial 0xedb88320; APPNOTE of the ZIP file format, 4.4.7). */
function crc32(bytes) {
  let sum = -1;
  for (const byte of bytes) {
    sum ^= byte;
    for (let k = 0; k < 8; k++) sum = (sum >>> 1) ^ (sum & 1 ? 0xedb88320 : 0);
  }
  return (sum ^ -1) >>> 0;
}

/** Named texts as a zip file, stored as they are. */
function zipped(parts) {
  const out = [], list = [], coder = new TextEncoder();
  let at = 0;
  const put = (to, sizes, values, ...tails) => {
    const view = new DataView(new ArrayBuffer(sizes.reduce((n, size) => n + size, 0)));
    let k = 0;
    sizes.forEach((size, n) => { view[`setUint${8 * size}`](k, values[n], true); k += size; });
    to.push(new Uint8Array(view.buffer), ...tails);
    return k + tails.reduce((n, tail) => n + tail.length, 0);
  };
  for (const [path, text] of parts) {
    const name = coder.encode(path), bytes = coder.encode(text);
    // version 2.0, names in UTF-8, stored, 1980-01-01
    const about = [20, 0x800, 0, 0, 33, crc32(bytes), bytes.length, bytes.length, name.length, 0], sizes = [2, 2, 2, 2, 2, 4, 4, 4, 2, 2];
    put(list, [4, 2, ...sizes, 2, 2, 2, 4, 4], [0x02014b50, 20, ...about, 0, 0, 0, 0, at], name);
    at += put(out, [4, ...sizes], [0x04034b50, ...about], name, bytes);
  }
  const size = list.reduce((n, one) => n + one.length, 0);
  put(list, [4, 2, 2, 2, 2, 4, 4, 2], [0x06054b50, 0, 0, parts.length, parts.length, size, at, 0]);
  return new Blob([...out, ...list]);
}

/** Rows of texts as a workbook of one tab; a second cell that is a number is one (ECMA-376, part 1). */
function workbookOf(rows, tab) {
  const clean = (text) => text.replace(/[&<>"]/g, (sign) => `&#${sign.charCodeAt(0)};`), main = "http://schemas.openxmlformats.org/spreadsheetml/2006/main", related = "http://schemas.openxmlformats.org/officeDocument/2006/relationships";
  const cell = (text, r, c) => {
    const at = `r="${String.fromCharCode(65 + c)}${r + 1}"`;
    if (text === "") return "";
    const number = text.replace(new RegExp(`^[${DASH}]`), "-");
    return c === 1 && /^-?\d{1,15}(\.\d{1,12})?(e[+-]?\d+)?$/i.test(number) && text.replace(/e.*|\D/gi, "").length <= 15 ? `<c ${at}><v>${number}</v></c>` : `<c ${at} t="inlineStr"><is><t xml:space="preserve">${clean(text)}</t></is></c>`;
  };
  const part = (name, type) => `<Override PartName="/xl/${name}.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.${type}+xml"/>`, xml = (text) => `<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n${text}`;
  const link = (type, target) => xml(`<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="rId1" Type="${related}/${type}" Target="${target}"/></Relationships>`);
  return zipped([
    ["[Content_Types].xml", xml(`<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"><Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>${part("workbook", "sheet.main")}${part("worksheets/sheet1", "worksheet")}</Types>`)],
    ["_rels/.rels", link("officeDocument", "xl/workbook.xml")],
    ["xl/workbook.xml", xml(`<workbook xmlns="${main}" xmlns:r="${related}"><sheets><sheet name="${clean(tab.slice(0, 31))}" sheetId="1" r:id="rId1"/></sheets></workbook>`)],
    ["xl/_rels/workbook.xml.rels", link("worksheet", "worksheets/sheet1.xml")],
    ["xl/worksheets/sheet1.xml", xml(`<worksheet xmlns="${main}"><cols>${[22, 14, 14, 60, 10, 18].map((width, k) => `<col min="${k + 1}" max="${k + 1}" width="${width}" customWidth="1"/>`).join("")}</cols><sheetData>${rows.map((row, r) => `<row r="${r + 1}">${row.map((text, c) => cell(text, r, c)).join("")}</row>`).join("")}</sheetData></worksheet>`)],
  ]);
}

/** The tabs of a file that was dropped or chosen. */
async function tabsOfFile(file) {
  if (file.size > 2e7) throw new Error("it is too large");
  const bytes = new Uint8Array(await file.arrayBuffer());
  if (bytes[0] === 0x50 && bytes[1] === 0x4b) return tabsOfXlsx(bytes);
  // the older kind of workbook
  if (bytes[0] === 0xd0 && bytes[1] === 0xcf) throw new Error(OTHER);
  try { return [cellsOfCsv(new TextDecoder("utf-8", { fatal: true }).decode(bytes))]; } catch (e) { throw e instanceof TypeError ? new Error("it is not text in UTF-8: save it as .xlsx, or as .csv in UTF-8") : e; }
}
/** Why a file is not read, in words. */
const whyUnread = (file, e) => `Nothing was read from ${file.name}: ${e instanceof TypeError ? "it is damaged: save it again as .xlsx, or as .csv in UTF-8" : e.message}.`;

/** Every cell that names a sheet: {rows, r, c, name}. */
const startsOf = (tabs) => tabs.flatMap((rows) => rows.flatMap((row, r) => row.flatMap((cell, c) => {
  const m = /^sheet\s+(?:(?:own|library)\s+)?(\S+)$/.exec(cell.text);
  return m ? [{ rows, r, c, name: m[1].replace(/^.*[/\\]/, "").replace(/\.sheet$/, "") }] : [];
})));

const HEADS = ["name", "value", "unit", "what it is", "kind", "allowed", "from", "where it comes from", "tolerance", ""];

/** What is wrong with the cells of an input's row of a workbook: what the page cannot look at as the terminal does. */
function rowTroubles(input, name, cells, words) {
  const [own, value, unit, ...rest] = cells, found = [], say = (cell, what) => found.push(`${cell.at || name} holds ${what}`);
  const number = /^[^\d+−-]*([+−-]?\d+(?:[.,]\d+)?)/.exec(value.text), written = number ? number[1].replace(",", ".").replace("−", "-") : "the number";
  if (value.type && value.type !== "number" && value.type !== "text") say(value, `${value.type}: write the ${input.w ? "word" : "number"} there, or type it into the field here`);
  else if (value.type === "text" && !input.w) say(value, `the text ${value.text}, and ${name} needs a number: write ${written} into ${value.at || "the cell"} as a number, and its unit beside it`);
  else if (value.shows) say(value, `a value in ${value.shows}: give it a number format of digits alone, and make sure that ${value.text} ${unit.text} is meant`);
  if (unit.text !== "" && unit.type === "number") say(unit, `the number ${unit.text}, where the unit stands: write the unit there`);
  for (const cell of [own, value, unit]) {
    if (cell.look) say(cell, `what is ${cell.look}: show it as valid, or write the value that is`);
    if (cell.said) say(cell, `the remark "${cell.said.replace(/\s+/g, " ")}": take it out if ${value.text} ${unit.text} is right, else write the value that is`);
  }
  for (const cell of rest) {
    const text = cell.text.replace(/^whole number(?:, |$)/, "").replace(/(?:^|, )\d+ values? or more$/, "").replace(/−/g, "-");
    if (text !== "" && !words.includes(text) && !/^value \d+$/.test(text)) say(cell, `"${cell.text}", which the form did not write: take it out if it says nothing else of the value, else write the value that is right`);
  }
  return found;
}

/** The rows of inputs for a sheet: {found: [{name, text, unit, from}], hidden: [[name, where]], problems}; `known` says of each input what a
 * form writes beside it, `headings` what stands above its rows. */
function inputsOfCells(tabs, sheet, inputs, outputs, about, headings) {
  const problems = [], found = [], hidden = [], known = new Map(inputs.map((input) => [input.n, input]));
  const starts = startsOf(tabs), fitting = starts.filter((start) => start.name === sheet);
  if (fitting.length !== 1) {
    const others = [...new Set(starts.map((start) => start.name))].join(", ");
    problems.push(fitting.length ? `the file asks for ${sheet} ${fitting.length} times: leave one of them`
      : others ? `the file asks for ${others}, not for ${sheet}` : `no cell of the file says "sheet ${sheet}": write it above the table`);
    return { found, hidden, problems };
  }
  const { rows, r, c } = fitting[0], passed = new Set([...outputs, "name", "status"]);
  let last = null, empty = 0, heads = [], k = r + 1;
  for (; k < rows.length && empty < 2; k++) {
    const row = rows[k], at = (place) => row[c + place] || { text: "" }, name = at(0).text, value = at(1);
    empty = row.some((cell) => cell.text !== "") ? 0 : empty + 1;
    if (name === "results" || /^sheet\s/.test(name)) break;
    const input = known.get(name), where = value.at ? ` (${value.at})` : "", from = heads.indexOf("from"), tolerances = heads.indexOf("tolerance");
    if (name === "name") {
      // behind the headings, in hidden columns, a form keeps what its boxes held when it was calculated
      const kept = row.findIndex((cell, place) => place > c && row[place - 1].text === "allowed" && (cell.text === "" || cell.hidden || /^(true|false|wahr|falsch)$/i.test(cell.text)));
      const hidden = kept > 0 && row[kept].hidden;
      if (kept > 0 && row[kept].text + (row[kept].type || "") !== "") for (const own of rows.slice(r))
        if (!hidden || own.slice(kept).every((cell) => !cell || cell.hidden || (cell.text || "") + (cell.type || "") === "")) own.length = Math.min(own.length, kept);
      heads = row.slice(c).map((cell) => cell.text);
      for (const cell of row.slice(c)) if (!HEADS.includes(cell.text)) problems.push(`${cell.at || "the head of the table"} says "${cell.text}", which the form did not write: take it out`);
      continue;
    }
    const reach = tolerances >= 0 ? at(tolerances).text : "";
    if (reach !== "" && !input && (name !== "" || last === null || !last.many || reach !== last.tolerance)) { problems.push(`${at(tolerances).at || "a row"} has the tolerance ${reach}: one stands in the row of an input, and is that of each value of a series`); continue; }
    // a series goes on in the rows below its first value
    if (name === "" && value.text !== "" && (last === null || !last.many)) { problems.push(`${value.text}${where} belongs to no input`); continue; }
    if (name !== "") last = null;
    if (name !== "" && !input) {
      const beside = row.slice(c + 1).find((cell) => cell.text !== "");
      if (passed.has(name)) continue;
      if (value.text !== "") problems.push(`${name}${at(0).at ? ` (${at(0).at})` : ""} is not an input of ${sheet}`);
      else if (!headings.includes(name) || beside) problems.push(`${at(0).at || "a row"} says "${name}", which the form did not write: take it out`);
      continue;
    }
    if (name !== "" && found.some((one) => one.name === name)) { problems.push(`${name}${at(0).at ? ` (${at(0).at})` : ""} is given twice: leave one of its rows`); continue; }
    const one = input || (last && known.get(last.name)), skipped = [from, tolerances, tolerances < 0 ? -1 : tolerances + 1];
    const own = row.slice(c).map((cell, place) => (skipped.includes(place) ? { text: "" } : cell));
    const unshown = own.slice(0, 3).map((cell) => cell && cell.hidden).find(Boolean);
    if (one && unshown && !hidden.some(([name]) => name === one.n)) hidden.push([one.n, unshown]);
    const cells = [0, 1, 2].map((place) => own[place] || { text: "" }).concat(own.slice(3).map((cell) => cell || { text: "" }));
    const wrong = one ? rowTroubles(one, one.n, cells, about(one)) : row.slice(c).filter((cell) => cell.text !== "" && !/^value \d+$/.test(cell.text)).map((cell) => `${cell.at || "a row without a name"} says "${cell.text}", which the form did not write: take it out`);
    problems.push(...wrong);
    if (wrong.length || (name === "" && value.text === "")) { if (input) last = { name, text: "", many: false }; continue; }
    // as `fill` has it: one unit for the whole series, in its first row
    if (name === "" && at(2).text !== "" && at(2).text !== last.unit) problems.push(`the series ${last.name} is in ${last.unit || "no unit"}, and beside ${value.text}${where} stands ${at(2).text}: leave the unit of the first row alone, and write all values in it`);
    if (name === "") last.text += `, ${value.text}`;
    else {
      last = { name, at: value.at || at(2).at || at(0).at, text: value.text, unit: at(2).text, from: from >= 0 ? at(from).text : heads.includes("allowed") ? "form" : "", many: input.m, tolerance: reach };
      found.push(last);
    }
  }
  // the terminal reads, or speaks of, what stands behind the table as well; a result may bear the name of an input
  for (; k < rows.length; k++) {
    const { text, at } = rows[k][c] || { text: "" }, behind = known.has(text) && !outputs.includes(text) && rows[k].slice(c + 1, c + 3).some((cell) => cell.text !== "");
    if (/^sheet\s/.test(text)) break;
    if (behind) problems.push(`${text} stands ${at ? `in ${at} ` : ""}behind the end of the table: ${found.some((one) => one.name === text) ? "leave one of its rows" : "move its row up to the other inputs"}`);
  }
  if (!found.length && !problems.length) problems.push("the file gives no input a value");
  return { found, hidden, problems };
}
