// The fingerprint of a lesson, against the platform's own digest and the list of lessons that Python wrote.
import assert from "node:assert/strict";
import { createHash } from "node:crypto";
import { readdirSync, readFileSync } from "node:fs";
import { test } from "node:test";
import { fingerprint, sha256 } from "../labextension/callout-lesson-page/static/fingerprint.js";

const STATIC = new URL("../labextension/callout-lesson-page/static/", import.meta.url);
const LESSONS = new URL("../../../lessons/", import.meta.url);

/** An open notebook, as JupyterLab hands its content over. */
const opened = (notebook) => ({
  getMetadata: (key) => notebook.metadata[key],
  cells: notebook.cells.map((cell) => ({
    type: cell.cell_type,
    sharedModel: { getSource: () => (Array.isArray(cell.source) ? cell.source.join("") : cell.source) },
  })),
});
const lesson = (...sources) => ({
  metadata: { lesson_page: true },
  cells: sources.map((source) => ({ cell_type: "code", source })),
});

test("the digest is SHA-256: the vectors of FIPS 180-4's examples", () => {
  assert.equal(sha256("abc"), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
  assert.equal(sha256(""), "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
});

test("texts of every length round a block's end, and letters of several bytes, as node's own digest has them", () => {
  const texts = Array.from({ length: 140 }, (_, n) => "x".repeat(n)).concat("\u00e9\u2212\u{1f6b0}".repeat(23));
  for (const text of texts) assert.equal(sha256(text), createHash("sha256").update(text).digest("hex"), text);
});

test("every lesson has the fingerprint that the list holds", () => {
  const { lessons } = JSON.parse(readFileSync(new URL("manifest.json", STATIC), "utf8"));
  const names = readdirSync(LESSONS).filter((name) => name.endsWith(".ipynb"));
  assert.deepEqual(lessons.map(({ name }) => name).sort(), names.sort());
  for (const { name, sha256: kept } of lessons) {
    assert.equal(fingerprint(opened(JSON.parse(readFileSync(new URL(name, LESSONS), "utf8")))), kept, name);
  }
});

test("one letter, one cell or another kind of cell is another lesson; the ends of lines are not", () => {
  const kept = fingerprint(opened(lesson("a = 1\nb = 2", "c")));
  assert.equal(fingerprint(opened(lesson("a = 1\r\nb = 2", "c"))), kept);
  const kind = lesson("a = 1\nb = 2", "c");
  kind.cells[1].cell_type = "markdown";
  const others = [lesson("a = 1\nb = 3", "c"), lesson("a = 1\nb = 2"), lesson("a = 1\nb = 2c", ""), kind];
  const found = others.map((other) => fingerprint(opened(other)));
  assert.equal(new Set([kept, ...found]).size, others.length + 1);
});

test("a notebook that does not ask to be a page has none", () => {
  assert.equal(fingerprint(opened({ metadata: {}, cells: [] })), null);
  assert.equal(fingerprint(opened({ metadata: { lesson_page: "true" }, cells: [] })), null);
});
