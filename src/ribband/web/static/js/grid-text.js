// Blocks of cells as text: what a spreadsheet puts on the clipboard, and headings found in it.

/** Bring a heading to the spelling of the forms. @param {string} text */
export function plainName(text) {
  return text.trim().toLowerCase().replace(/[\s_-]+/g, "_");
}

/** Read a block: tabs between cells, quotes round cells that hold tabs or ends of lines.
 * @param {string} text @returns {string[][]} */
export function readBlock(text) {
  const rows = [[""]];
  const source = text.replace(/\r\n?/g, "\n");
  let quoted = false;
  for (let at = 0; at < source.length; at++) {
    const row = rows[rows.length - 1];
    const sign = source[at];
    if (quoted) {
      if (sign === '"' && source[at + 1] === '"') { row[row.length - 1] += '"'; at++; }
      else if (sign === '"') quoted = false;
      else row[row.length - 1] += sign;
    } else if (sign === '"' && row[row.length - 1] === "" && closes(source, at)) quoted = true;
    else if (sign === "\t") row.push("");
    else if (sign === "\n") rows.push([""]);
    else row[row.length - 1] += sign;
  }
  while (rows.length > 1 && rows[rows.length - 1].every((cell) => !cell)) rows.pop();
  return rows.map((row) => row.map((cell) => cell.replace(/\s*\n\s*/g, " ").trim()));
}

/** Tell whether the quote at `at` is closed before a tab or the end of a line: 6" is no quote. */
function closes(source, at) {
  return /^"(?:[^"]|"")*"(?=\t|\n|$)/.test(source.slice(at, at + 4000));
}

/** Write a block for a spreadsheet. @param {string[][]} rows */
export function writeBlock(rows) {
  return rows.map((row) => row.map((cell) => (/[\t\n]|^"/.test(cell) ? `"${cell.replace(/"/g, '""')}"` : cell)).join("\t")).join("\n");
}

/** Say which column each cell of a pasted heading is; null where the row is no heading.
 * -1 is a column the form has not. @param {string[]} cells @param {string[]} header */
export function headingOf(cells, header) {
  if (cells.length < 2) return null;
  const names = header.map(plainName);
  const at = cells.map((cell) => (cell ? names.indexOf(plainName(cell)) : -1));
  const found = at.filter((n) => n >= 0);
  const first = names.indexOf(plainName(cells[0])) >= 0;
  return first && found.length >= 2 && new Set(found).size === found.length ? at : null;
}

/** Read a block as a table of old widths, strakes down and frames across; null where its heading is none.
 * @param {string[][]} block @param {string[]} frames the names there are
 * @returns {{side: string, strake: string, frame: string, width: string}[]|null} */
export function oldTable(block, frames) {
  const names = block[0].map((cell) => frameName(cell));
  const known = new Set([...frames.map(plainName), "stem", "stern"]);
  const own = names.map(plainName);
  const strake = own.findIndex((name) => name === "strake" || name === "");
  const across = own.map((name, n) => (known.has(name) && n !== strake ? n : -1)).filter((n) => n >= 0);
  const strange = own.some((name, n) => n !== strake && !across.includes(n) && !["side", "notes", ""].includes(name));
  if (strake < 0 || across.length < 2 || strange || own.includes("frame") || block.length < 2) return null;
  const side = own.indexOf("side");
  return across.flatMap((n) => block.slice(1).filter((row) => row[strake] && row[n] && !/^[-–—]$/.test(row[n])).map((row) => ({ side: side < 0 ? "" : row[side] || "", strake: row[strake], frame: names[n], width: row[n] })));
}

/** A frame's name as a heading says it: "frame 8" is 8, and 8.0 is 8. */
function frameName(text) {
  return text.trim().replace(/^(?:frames?|fr\.?)[\s_]+(?=\S)/i, "").replace(/^(\d+)\.0+$/, "$1");
}
