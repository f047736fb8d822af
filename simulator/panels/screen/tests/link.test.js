// The line to the engine room: ids, turns, silence, what is asked for and how often.
import assert from "node:assert/strict";
import { test } from "node:test";
import { EngineRoomLink } from "../src/exercise/link.js";
import { RunPlayer } from "../src/exercise/playback.js";

function fresh() {
  /** @type {Record<string, any>[]} */
  const sent = [];
  let changes = 0;
  const link = new EngineRoomLink(
    { send: (/** @type {any} */ m) => sent.push(structuredClone(m)) },
    () => (changes += 1),
  );
  const player = new RunPlayer();
  player.follow({ id: 1, shown: 4 });
  return { sent, link, player, changes: () => changes };
}

test("clicks carry an id, wait their turn and are not doubled", () => {
  const { sent, link, player } = fresh();
  link.act("one", "put_on_ppe", {}, player);
  link.act("one", "put_on_ppe", {}, player);
  link.act("two", "stop_engine", {}, player);
  link.act("two", "stop_engine", {}, player);
  assert.equal(sent.length, 1);
  link.again();
  assert.equal(sent[1].id, sent[0].id);
  assert.equal(link.answered({ id: "somebody else", accepted: true }, player), false);
  link.answered({ id: sent[0].id, accepted: true, sentence: "Done." }, player);
  link.answered({ id: sent[0].id, accepted: true, sentence: "Done." }, player);
  link.answered({ id: sent[2].id, accepted: true, sentence: "" }, player);
  assert.deepEqual(
    sent.map((m) => m.action),
    ["put_on_ppe", "put_on_ppe", "stop_engine"],
  );
  assert.equal(new Set(sent.map((m) => m.id)).size, 2);
  assert.equal(sent[0].shown, 4);
  assert.equal(link.pending, null);
});

test("every act that is pressed while one is under way waits its turn, and all are sent in their order", () => {
  const { sent, link, player } = fresh();
  for (let k = 0; k < 9; k += 1) assert.equal(link.act(`act ${k}`, "look", { k }, player), true);
  assert.equal(link.queue.length, 8);
  assert.equal(link.busy("act 8"), true);
  assert.equal(sent.length, 1);
  for (let k = 0; k < 9; k += 1) link.answered({ id: sent[k].id, accepted: true, sentence: "" }, player);
  assert.deepEqual(
    sent.map((m) => m.args.k),
    [0, 1, 2, 3, 4, 5, 6, 7, 8],
  );
  assert.equal(link.pending, null);
});

test("lateness and silence are noticed once each", () => {
  const { link, player, changes } = fresh();
  link.act("one", "look", {}, player);
  const since = link.pending?.since ?? 0;
  const before = changes();
  link.watch(since + 399);
  assert.equal(changes(), before);
  link.watch(since + 401);
  link.watch(since + 402);
  assert.equal(link.pending?.late, true);
  assert.equal(changes(), before + 1);
  link.watch(since + 8001);
  assert.equal(link.pending?.slow, true);
  assert.equal(link.pending?.silent, false);
  link.watch(since + 60001);
  assert.equal(link.pending?.silent, true);
});

test("the shown moment is told at most every 250 ms, at once where it is urgent, and not twice alike", () => {
  const { sent, link, player } = fresh();
  link.shown(player, 1000, false);
  link.shown(player, 1900, false);
  assert.equal(sent.length, 1);
  player.rate = 20;
  link.shown(player, 1200, false);
  assert.equal(sent.length, 1);
  link.shown(player, 1200, true);
  assert.equal(sent.length, 2);
  assert.deepEqual([sent[1].kind, sent[1].t, sent[1].rate, sent[1].held], ["shown", 4, 20, false]);
});

test("a moment that stands is told again a few times, later and later, and then no more", () => {
  const { sent, link, player } = fresh();
  for (let now = 1000; now < 200000; now += 50) link.shown(player, now, false);
  assert.equal(sent.length, 6);
  player.follow({ id: 2, shown: 0 });
  link.shown(player, 200000, false);
  link.shown(player, 201000, false);
  assert.equal(sent.length, 8);
});

test("a page that got lost on its way is asked for again, and it is said", () => {
  const { sent, link } = fresh();
  link.newest = 5;
  link.keepUp(4, 1000);
  link.keepUp(4, 2900);
  assert.deepEqual([link.behind, sent.length], [false, 0]);
  link.keepUp(4, 3100);
  link.keepUp(4, 3200);
  assert.deepEqual([link.behind, sent], [true, [{ kind: "page" }]]);
  link.keepUp(4, 5200);
  assert.equal(sent.length, 2);
  link.keepUp(5, 5300);
  assert.equal(link.behind, false);
});

test("a line that throws is lost once, and nothing more is sent", () => {
  let tries = 0;
  const link = new EngineRoomLink(
    {
      send() {
        tries += 1;
        throw new Error("closed");
      },
    },
    () => {},
  );
  const player = new RunPlayer();
  player.follow({ id: 1, shown: 0 });
  link.act("one", "look", {}, player);
  link.act("two", "look", {}, player);
  link.need(player, 1e6);
  assert.equal(link.lost, true);
  assert.equal(tries, 1);
});

test("samples are asked for from where they end: not while enough lie ahead, and again where none come", () => {
  const { sent, link, player } = fresh();
  const asked = () => sent.filter((m) => m.kind === "need");
  link.need(player, 1000);
  assert.deepEqual(asked(), [{ kind: "need", run: 1, from: 0, shown: 4 }]);
  link.need(player, 1050); // the clock stands: no second question yet
  link.need(player, 1699);
  assert.equal(asked().length, 1);
  link.need(player, 1700);
  assert.equal(asked().length, 2);
  const rows = 101; // to 10 s: six ahead of the clock at four
  player.accept({ run: 1, start: 0, step: 0.1, channels: ["a"], count: rows }, new Float32Array(rows));
  player.rate = 1;
  link.need(player, 3000); // 4.5 s are enough at once
  assert.equal(asked().length, 2);
  player.rate = 20;
  link.need(player, 3100); // at twenty times they are not
  assert.equal(asked()[2].from.toFixed(1), "10.1");
  player.final = true;
  link.need(player, 9000);
  assert.equal(asked().length, 3);
});
