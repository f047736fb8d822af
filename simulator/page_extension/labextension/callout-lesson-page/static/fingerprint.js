// The fingerprint of a lesson: SHA-256 over all of a notebook that can act or be seen.
// Written out here because the browser's own digest is missing on a class server without https.

/** @type {number[]} */
const ROOTS = [];
/** @type {number[]} */
const START = [];
for (let n = 2; ROOTS.length < 64; n += 1) {
  let prime = true;
  for (let d = 2; d * d <= n; d += 1) if (n % d === 0) prime = false;
  if (!prime) continue;
  if (START.length < 8) START.push((Math.sqrt(n) * 2 ** 32) | 0);
  ROOTS.push((Math.cbrt(n) * 2 ** 32) | 0);
}

/**
 * @param {number} x
 * @param {number} n
 */
const turn = (x, n) => (x >>> n) | (x << (32 - n));

/**
 * SHA-256 (FIPS 180-4) of a string's UTF-8 bytes, as 64 hexadecimal digits.
 * @param {string} string
 */
export function sha256(string) {
  const text = new TextEncoder().encode(string);
  const bytes = new Uint8Array(((text.length + 8) >> 6) * 64 + 64);
  bytes.set(text);
  bytes[text.length] = 0x80;
  const view = new DataView(bytes.buffer);
  view.setUint32(bytes.length - 8, Math.floor(text.length / 2 ** 29));
  view.setUint32(bytes.length - 4, text.length << 3);
  const hash = START.slice();
  const w = new Int32Array(64);
  for (let block = 0; block < bytes.length; block += 64) {
    for (let i = 0; i < 16; i += 1) w[i] = view.getInt32(block + 4 * i);
    for (let i = 16; i < 64; i += 1) {
      const s0 = turn(w[i - 15], 7) ^ turn(w[i - 15], 18) ^ (w[i - 15] >>> 3);
      const s1 = turn(w[i - 2], 17) ^ turn(w[i - 2], 19) ^ (w[i - 2] >>> 10);
      w[i] = (w[i - 16] + s0 + w[i - 7] + s1) | 0;
    }
    let [a, b, c, d, e, f, g, h] = hash;
    for (let i = 0; i < 64; i += 1) {
      const t1 = (h + (turn(e, 6) ^ turn(e, 11) ^ turn(e, 25)) + ((e & f) ^ (~e & g)) + ROOTS[i] + w[i]) | 0;
      const t2 = ((turn(a, 2) ^ turn(a, 13) ^ turn(a, 22)) + ((a & b) ^ (a & c) ^ (b & c))) | 0;
      [h, g, f, e, d, c, b, a] = [g, f, e, (d + t1) | 0, c, b, a, (t1 + t2) | 0];
    }
    [a, b, c, d, e, f, g, h].forEach((x, i) => {
      hash[i] = (hash[i] + x) | 0;
    });
  }
  return hash.map((x) => (x >>> 0).toString(16).padStart(8, "0")).join("");
}

/**
 * JSON with its keys in order, as Python's json.dumps(sort_keys=True, separators=(",", ":")) writes it.
 * @param {any} value what JSON may hold
 * @returns {string}
 */
function canonical(value) {
  if (Array.isArray(value)) return `[${value.map(canonical).join(",")}]`;
  if (value === null || typeof value !== "object") return JSON.stringify(value);
  const keys = Object.keys(value).sort();
  return `{${keys.map((key) => `${JSON.stringify(key)}:${canonical(value[key])}`).join(",")}}`;
}

/** @param {string | string[]} source */
const text = (source) => (Array.isArray(source) ? source.join("") : source).replaceAll("\r\n", "\n");
/** @param {object | undefined} things */
const filled = (things) => things !== undefined && things !== null && Object.keys(things).length > 0;
/**
 * @param {string} type of a cell
 * @param {string} content
 */
const sized = (type, content) => `${type}:${new TextEncoder().encode(content).length}\n${content}\n`;

/**
 * SHA-256 over the kinds and sources of a notebook's cells: what would be run.
 * @param {Pick<NotebookContent, "cells">} notebook
 */
export const sources = (notebook) =>
  sha256(notebook.cells.map((cell) => sized(cell.cell_type, text(cell.source))).join(""));

/**
 * The fingerprint of a notebook's content, or null when it is no lesson; see `fingerprint` in manifest.py.
 * @param {NotebookContent} notebook
 */
export function fingerprint({ metadata, cells }) {
  const own = ["lesson_page", "kernelspec", "language_info"];
  if (metadata.lesson_page !== true || Object.keys(metadata).some((key) => !own.includes(key))) return null;
  let all = "lesson_page:true\n";
  for (const cell of cells) {
    if (filled(cell.outputs) || filled(cell.attachments)) return null;
    const ofCell = { ...cell.metadata };
    if (cell.cell_type === "code") delete ofCell.trusted;
    all += sized(cell.cell_type, canonical(ofCell)) + sized(cell.cell_type, text(cell.source));
  }
  return sha256(all);
}
