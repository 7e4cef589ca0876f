// Makes the workbooks of a further writer, SheetJS 0.18.5, and an .ods of LibreOffice 7.4.7: `.xlsb` is
// a kind that none of the other writers here can make. All data are invented.
//
//   npm --prefix tests/workbooks ci
//   node tests/workbooks/make_sheetjs.mjs
import { execFileSync } from "node:child_process";
import { copyFileSync, mkdtempSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";
import xlsx from "xlsx";

const here = dirname(fileURLToPath(import.meta.url));

// the block of make_asked.py, from B2; an .xlsb does not tell whether a cell shows a percentage, so eta is a part of 1
const block = [
  ["sheet brake-resistor"], ["name", "value", "unit"],
  ["J_load", 0.35, "kg·m²"], ["i", 5], ["J_m", 18, "kg·cm²"], ["n_0", 1450, "r/min"], ["t_ramp", 500, "ms"],
  ["t_cycle", 12, "s"], ["U_chop", 780, "V"], ["I_max", 10, "A"], ["R_min", 47, "Ω"], ["eta", 0.95],
  [], ["results"], ["E", null, "kJ"], ["P_peak", null, "kW"], ["P_mean", null, "W"], ["R", null, "Ω"], ["checks"],
];

const asked = xlsx.utils.book_new();
const sheet = xlsx.utils.aoa_to_sheet(block, { origin: "B2" });
// what a fresh copy must carry over: a truth, an error, a text that looks like a formula, a saved result
xlsx.utils.sheet_add_aoa(sheet, [["note", "=1+1"], ["checked", true], ["half", 0.5]], { origin: "F2" });
sheet.G5 = { t: "n", v: 2900, f: "C7*2" };
sheet["!ref"] = "B2:G20";
xlsx.utils.book_append_sheet(asked, sheet, "Inputs");
asked.Workbook = { Names: [{ Name: "speed", Ref: "Inputs!$C$7" }] };
writeFileSync(join(here, "asked/block_sheetjs_0.18.5.xlsb"), xlsx.write(asked, { type: "buffer", bookType: "xlsb" }));

const everyday = xlsx.utils.book_new();
const inputs = xlsx.utils.aoa_to_sheet([
  ["what", "name", "value", "unit"], ["speed of rotation", "n_0", 1450, "r/min"], ["inertia", "J_load", 0.35, "kg m2"],
  ["note", "note", " two  spaces & <tags> µ "], ["checked", "ok", true],
]);
inputs.E2 = { t: "n", v: 2900, f: "C2*2" };
inputs.E3 = { t: "s", v: "0.35 kg", f: 'C3&" kg"' };
inputs["!ref"] = "A1:E12";
inputs["!merges"] = [xlsx.utils.decode_range("A9:D10")];
inputs["!cols"] = [{ wch: 24 }];
inputs["!autofilter"] = { ref: "A1:D5" };
xlsx.utils.book_append_sheet(everyday, inputs, "Inputs");
const other = xlsx.utils.aoa_to_sheet([["four times"]]);
other.B1 = { t: "n", v: 5800, f: "Inputs!E2*2" };
other["!ref"] = "A1:B1";
xlsx.utils.book_append_sheet(everyday, other, "Others");
everyday.Workbook = { Names: [{ Name: "n_0", Ref: "Inputs!$C$2" }], Sheets: [{}, { Hidden: 1 }] };
writeFileSync(join(here, "corpus/everyday_sheetjs_0.18.5.xlsx"),
  xlsx.write(everyday, { type: "buffer", bookType: "xlsx", compression: true }));

// a block whose owner noted at a value, at a unit and at a name what speaks against them, and elsewhere
const noted = xlsx.utils.aoa_to_sheet([
  ["sheet run-down"], ["J", 0.35, "kg·m²"], ["n_0", 1450, "r/min"], ["T_0", 4.2, "N·m"], ["t_stop", null, "s"],
]);
xlsx.utils.sheet_add_aoa(noted, [["hall 3"]], { origin: "F9" });
const texts = { B2: "measured: 0.5 kg·m²", C3: "wrong", A4: "to be confirmed", F9: "wrong" };
for (const [cell, t] of Object.entries(texts)) {
  noted[cell].c = [{ a: "owner", t }];
  noted[cell].c.hidden = true;
}
const notes = xlsx.utils.book_new();
xlsx.utils.book_append_sheet(notes, noted, "Inputs");
for (const kind of ["xlsb", "xlsx"]) {
  writeFileSync(join(here, `asked/noted_sheetjs_0.18.5.${kind}`), xlsx.write(notes, { type: "buffer", bookType: kind }));
}

const folder = mkdtempSync(join(tmpdir(), "ods-"));
execFileSync("soffice", ["--headless", "--convert-to", "ods", "--outdir", folder, join(here, "asked/block.xlsx")]);
copyFileSync(join(folder, "block.ods"), join(here, "asked/block_libreoffice_7.4.7.ods"));
execFileSync("soffice", ["--headless", "--convert-to", "ods", "--outdir", folder, join(here, "asked/noted_sheetjs_0.18.5.xlsx")]);
copyFileSync(join(folder, "noted_sheetjs_0.18.5.ods"), join(here, "asked/noted_libreoffice_7.4.7.ods"));
