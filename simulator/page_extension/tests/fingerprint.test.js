// The fingerprint of a lesson, against the platform's own digest and the list of lessons that Python wrote.
import assert from "node:assert/strict";
import { createHash } from "node:crypto";
import { readdirSync, readFileSync } from "node:fs";
import { test } from "node:test";
import { fingerprint, sha256, sources } from "../labextension/callout-lesson-page/static/fingerprint.js";

const STATIC = new URL("../labextension/callout-lesson-page/static/", import.meta.url);
const LESSONS = new URL("../../../lessons/", import.meta.url);

const lesson = (...sources) => ({
  metadata: { lesson_page: true },
  cells: sources.map((source) => ({ cell_type: "code", source, metadata: {}, outputs: [] })),
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
    assert.equal(fingerprint(JSON.parse(readFileSync(new URL(name, LESSONS), "utf8"))), kept, name);
  }
});

test("one letter, one cell, another kind of cell or other metadata is another lesson", () => {
  const kept = fingerprint(lesson("a = 1\nb = 2", "c"));
  const [kind, told] = [lesson("a = 1\nb = 2", "c"), lesson("a = 1\nb = 2", "c")];
  kind.cells[1].cell_type = "markdown";
  told.cells[1].metadata = { tags: ["hidden"] };
  const others = [lesson("a = 1\nb = 3", "c"), lesson("a = 1\nb = 2"), lesson("a = 1\nb = 2c", ""), kind, told];
  assert.equal(new Set([kept, ...others.map(fingerprint)]).size, others.length + 1);
});

test("ends of lines, a source in pieces, the kernel asked for and the program's own notes change nothing", () => {
  const kept = fingerprint(lesson("a = 1\nb = 2"));
  const same = lesson(["a = 1\r\n", "b = 2"]);
  same.metadata.kernelspec = { name: "python3" };
  same.cells[0] = { ...same.cells[0], metadata: { trusted: true }, execution_count: 3, id: "a" };
  assert.equal(fingerprint(same), kept);
});

test("a notebook that carries what acts or shows without being run is no lesson", () => {
  const outputs = lesson("a");
  outputs.cells[0].outputs = [{ output_type: "stream" }];
  const attached = lesson("a");
  attached.cells[0].attachments = { "a.png": {} };
  const widgets = lesson("a");
  widgets.metadata.widgets = {};
  for (const one of [outputs, attached, widgets]) assert.equal(fingerprint(one), null);
});

test("a notebook that does not ask to be a page has none", () => {
  assert.equal(fingerprint({ metadata: {}, cells: [] }), null);
  assert.equal(fingerprint({ metadata: { lesson_page: "true" }, cells: [] }), null);
});

test("what would be run is the kinds and sources of the cells, whatever was saved beside them", () => {
  const saved = lesson("a");
  saved.cells[0].outputs = [{ output_type: "stream" }];
  assert.equal(sources(saved), sources(lesson("a")));
  assert.notEqual(sources(lesson("b")), sources(lesson("a")));
});
