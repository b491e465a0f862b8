// A copy of one walk as a package that `outpace book import` reads.
import { downloadZip } from "../vendor/client-zip.js";
import { tablesOf } from "./rows.js";

function cell(value) {
  if (value === null || value === undefined) return "";
  let text = String(value);
  // A cell that a spreadsheet would run as a formula begins with an apostrophe; the book takes it off again.
  if (/^'*[=+\-@\t\r＝＋－＠]/.test(text)) text = `'${text}`;
  return /[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
}

export function csvOf(rows) {
  const columns = [...new Set(rows.flatMap((row) => Object.keys(row)))];
  return [columns, ...rows.map((row) => columns.map((name) => row[name]))]
    .map((cells) => `${cells.map(cell).join(",")}\r\n`)
    .join("");
}

export async function saveCopy(walk, photos) {
  const files = Object.entries(tablesOf(walk)).map(([name, rows]) => ({ name: `${name}.csv`, input: csvOf(rows) }));
  const pictures = photos.map((photo) => ({ name: `photos/${photo.id}.${photo.ending}`, input: photo.content }));
  const blob = await downloadZip([...files, ...pictures]).blob();
  const link = document.createElement("a");
  link.href = URL.createObjectURL(blob);
  link.download = `walk-${walk.id}.zip`;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
}
