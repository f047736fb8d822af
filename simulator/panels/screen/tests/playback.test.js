// The clock of the run against samples as they come: no document, no kernel.
import assert from "node:assert/strict";
import { test } from "node:test";
import { EngineRoomLink } from "../src/exercise/link.js";
import { RunPlayer } from "../src/exercise/playback.js";

/** Values every 0.1 s from one second to another. @param {number} from @param {number} to */
const ramp = (from, to) => Array.from({ length: Math.round((to - from) / 0.1) + 1 }, (_, k) => from + 0.1 * k);

/** A player of run 1, and a way to give it samples of a straight line and of a code. */
function fresh() {
  const player = new RunPlayer();
  player.follow({ id: 1, shown: 0, duration: 300 });
  /** @param {number} start @param {number[]} values @param {object} [more] */
  const give = (start, values, more) =>
    player.accept(
      {
        run: 1,
        start,
        step: 0.1,
        channels: ["a", "code"],
        stepped: ["code"],
        count: values.length,
        final: false,
        ...more,
      },
      Float32Array.from(values.flatMap((value) => [value, Math.floor(value)])),
    );
  return { player, give };
}

/** @param {number} found @param {number} wanted @param {number} [within] */
const near = (found, wanted, within = 1e-5) =>
  assert.ok(Math.abs(found - wanted) <= within, `${found} is not ${wanted}`);

test("the clock runs at its rate and waits at the end of the samples", () => {
  const { player, give } = fresh();
  give(0, ramp(0, 10));
  player.rate = 5;
  player.advance(1000);
  player.advance(900); // a first frame may lie before now
  assert.equal(player.time, 0);
  player.advance(1000);
  player.advance(1100);
  near(player.time, 0.5); // 0.1 s at five times
  near(player.value("a"), 0.5);
  assert.equal(player.value("code", 3.97), 3); // a code is never between two codes
  player.advance(61100);
  near(player.time, 0.5 + 5 * 0.25); // a page asleep does not leap ahead
  for (let k = 0; k < 400; k += 1) player.advance(61100 + 16 * k);
  near(player.time, 10);
  assert.equal(player.starved, true);
  give(10.1, ramp(10.1, 20));
  player.advance(67600);
  assert.ok(player.time > 10);
  assert.equal(player.starved, false);
});

test("new samples replace what follows, and a gap is not taken", () => {
  const { player, give } = fresh();
  give(0, ramp(0, 10));
  assert.equal(give(11, ramp(11, 12)), false);
  give(
    4,
    ramp(4, 6).map(() => 99),
    { replace_from: 4 },
  );
  const strange = { run: 2, start: 0, step: 0.1, channels: ["a"], count: 1 };
  assert.equal(player.accept(strange, Float32Array.from([5])), false);
  near(player.end, 6);
  near(player.value("a", 3.9), 3.9);
  near(player.value("a", 4.5), 99);
  assert.equal(player.series("a").length, 61);
});

test("the clock runs on over an act and looks back only at what was seen", () => {
  const { player, give } = fresh();
  give(0, ramp(0, 60));
  player.rate = 1;
  player.advance(0);
  player.advance(200);
  player.reach(30);
  let frames = 0;
  for (let now = 200; player.time < 30 && frames < 500; now += 16, frames += 1) player.advance(now);
  assert.ok(frames < 120);
  near(player.time, 30);
  player.seek(99);
  near(player.time, 30);
  player.seek(12);
  assert.equal(player.lookingBack, true);
  player.follow({ id: 1, shown: 30 }, true); // the call-out is over
  for (let now = 9000; now < 60000; now += 100) player.advance(now);
  near(player.time, 30);
  assert.equal(player.playing, false);
  const still = new RunPlayer();
  still.follow({ id: 1, shown: 0 });
  still.reach(30, true);
  assert.equal(still.time, 30); // no motion where none is wanted
});

for (const delay of [20, 300]) {
  for (const rate of [1, 5, 20]) {
    test(`frames of 1/60 s at ${rate} times on a line of ${delay} ms: smooth, and no more than ten seconds ahead`, () => {
      const { player, give } = fresh();
      let now = 0;
      /** @type {[number, Record<string, any>][]} */
      const post = [];
      let known = 0;
      let most = 0;
      const link = new EngineRoomLink(
        { send: (/** @type {any} */ m) => post.push([now + delay, structuredClone(m)]) },
        () => {},
      );
      player.rate = rate;
      let [stood, frames, before] = [0, 0, 0];
      for (; now < 12000; now += 1000 / 60) {
        while (post.length && post[0][0] <= now) {
          const [[, message]] = post.splice(0, 1);
          if (message.kind === "need" || message.kind === "shown") known = Math.max(known, message.shown ?? message.t);
          if (message.kind !== "need") continue;
          const from = Math.round(message.from * 10) / 10;
          give(from, ramp(from, known + 10));
        }
        most = Math.max(most, player.end - player.furthest);
        player.advance(now);
        link.need(player, now);
        link.shown(player, now, false);
        if (now > 2000) {
          frames += 1;
          if (player.time === before) stood += 1;
        }
        before = player.time;
      }
      assert.ok(stood <= 0.01 * frames, `${stood} of ${frames} frames stood`);
      assert.ok(most <= 10.2, `${most} s ahead`);
      assert.ok(player.time > 0.9 * rate * 11);
    });
  }
}

test("a hold stops the clock until the last one goes; what is over plays only what was seen", () => {
  const { player, give } = fresh();
  give(0, ramp(0, 10));
  player.advance(0);
  player.hold("learner", true);
  player.hold("hidden", true);
  player.advance(200);
  assert.deepEqual([player.time, player.playing], [0, false]);
  player.hold("learner", false);
  assert.equal(player.playing, false);
  player.hold("hidden", false);
  player.advance(400);
  near(player.time, 1);
  player.follow({ id: 1, duration: 300 }, true);
  assert.equal(player.playing, false); // nothing is left to be seen again
  player.seek(0.5);
  for (let k = 0; k < 20; k += 1) player.advance(600 + 100 * k);
  near(player.time, 1);
  assert.equal(player.starved, false);
});

test("without motion the clock stands at once where an act ends; another run starts afresh", () => {
  const { player, give } = fresh();
  give(0, ramp(0, 100));
  player.reach(60, true);
  assert.deepEqual([player.time, player.furthest, player.skipTo], [60, 60, null]);
  player.reach(60.5); // under a second is no leap
  assert.equal(player.skipTo, null);
  player.follow({ id: 2, shown: 7 });
  assert.deepEqual([player.time, player.count, player.series("a").length], [7, 0, 0]);
});

test("a stop is seen though the clock was held, and the clock is slow once the job is proven", () => {
  const playback = new RunPlayer();
  playback.hold("learner", true);
  playback.rate = 20;
  const page = (/** @type {any} */ more) =>
    /** @type {any} */ ({ engine: { running: true }, finish: { open: false }, ...more });
  playback.heed(page({}), page({}));
  assert.equal(playback.holds.size, 1);
  playback.heed(page({}), page({ engine: { running: false } }));
  assert.equal(playback.holds.size, 0);
  assert.equal(playback.rate, 20);
  playback.heed(page({}), page({ finish: { open: true } }));
  assert.deepEqual([playback.rate, playback.slowed], [1, true]);
  playback.goAt(1);
  playback.heed(page({}), page({ finish: { open: true } })); // slow already: nothing to be told
  assert.equal(playback.slowed, false);
});
