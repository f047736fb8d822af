// One script for many parts of a page.
import assert from "node:assert/strict";
import { test } from "node:test";
import { share, shared } from "../src/base/shared_script.js";

const drawn = { render: () => "drawn" };

test("who waits gets the script when it comes, and who comes later at once", async () => {
  const early = shared("one", 5000, () => assert.fail("nobody had to ask"));
  assert.equal(share("one", drawn), drawn);
  assert.equal(await early, drawn);
  assert.equal(await shared("one", 5000, () => assert.fail("nobody had to ask")), drawn);
});

test("where it does not come by itself it is asked for", async () => {
  let asked = 0;
  const late = shared("two", 1, () => {
    asked += 1;
    share("two", drawn);
  });
  assert.equal(await late, drawn);
  assert.equal(asked, 1);
});

test("scripts of other names do not mix", async () => {
  share("three", drawn);
  let asked = 0;
  const other = shared("four", 1, () => {
    asked += 1;
    share("four", { render: () => "other" });
  });
  assert.equal((await other).render({}), "other");
  assert.equal(asked, 1);
});
