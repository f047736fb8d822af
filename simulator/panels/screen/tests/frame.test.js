// What pictures read from a frame, and what the exercise screen makes of a sample.
import assert from "node:assert/strict";
import { test } from "node:test";
import { pictureFrame } from "../src/exercise/frame.js";
import { pairBlocks } from "../src/lesson/pairs.js";
import { airShade } from "../src/picture/air.js";
import {
  exhaustLevel,
  exhaustUnseen,
  exhaustWet,
  exhaustWord,
  fillLevel,
  jointAirReader,
  outsidePressure,
} from "../src/picture/frame.js";

test("thin air has few dots and a strong tint, pressed air another tint", () => {
  assert.deepEqual(airShade(1), { thin: 0, pressed: 0, dots: 4, next: 0 });
  const half = airShade(0.6);
  assert.equal(half.dots, 2);
  assert.ok(half.thin > 0 && Math.abs(half.next - 0.4) < 1e-9);
  assert.ok(airShade(6).pressed === 1);
});

test("from outside only what somebody saw of the exhaust is drawn", () => {
  const rig = { bore_m: 0.15, exhaust_rated_kg_s: 0.02 };
  assert.equal(exhaustLevel({ t: 0, see_through: true, exhaust_air: 0.01 }, rig), 0.5);
  assert.equal(exhaustLevel({ t: 0, see_through: false, exhaust_air: 0.01 }, rig), 0);
  assert.equal(exhaustUnseen({ t: 0, see_through: false }), true);
  assert.equal(exhaustUnseen({ t: 0, see_through: false, exhaust_level: 0 }), false);
  assert.equal(exhaustWet({ t: 0, exhaust_kind: "spray" }), true);
  assert.equal(exhaustWet({ t: 0, see_through: true, exhaust_water: 1e-6 }), false);
});

test("outside pressure: the frame's, else the site's, else the standard one (ISO 2533)", () => {
  assert.equal(outsidePressure({ t: 0, atmosphere: 9e4 }, { atmosphere_pa: 8e4 }), 9e4);
  assert.equal(outsidePressure({ t: 0 }, { atmosphere_pa: 8e4 }), 8e4);
  assert.equal(outsidePressure({ t: 0 }, {}), 101325);
});

test("air of all joints is shared out by the area of their holes", () => {
  const read = jointAirReader({ joints: [1, 2], joint_holes_m: [0.001, 0.002] });
  assert.ok(Math.abs(read({ t: 0, joint_air: 5 }, 0) - 1) < 1e-12);
  assert.ok(Math.abs(read({ t: 0, joint_air: 5 }, 1) - 4) < 1e-12);
  assert.equal(read({ t: 0, joint_air: [0.1, 0.2] }, 1), 0.2);
  assert.equal(read({ t: 0, joint_air_0: 0.3 }, 0), 0.3);
});

test("bottom, inlet lip and crown are fixed points of the water level", () => {
  assert.equal(fillLevel(0, 0.3, 400, 300, 200), 400);
  assert.equal(fillLevel(0.3, 0.3, 400, 300, 200), 300);
  assert.equal(fillLevel(1, 0.3, 400, 300, 200), 200);
});

test("a sample leaves out what nobody looked at", () => {
  const page = {
    see_through: false,
    codes: { exhaust_kind: ["none", "water_spray"], relief_sound: ["even", "pops_often"] },
  };
  const seen = pictureFrame({ t: 1, exhaust_kind: 1, exhaust_level: -1, relief_sound: 1 }, page);
  assert.equal(seen.exhaust_kind, "spray");
  assert.equal("exhaust_level" in seen, false);
  assert.equal(seen.relief_sound, true);
  assert.equal(pictureFrame({ t: 1, exhaust_kind: -1 }, page).exhaust_unseen, true);
});

test("questions stand beside what they are about, and what comes right after stays with them", () => {
  const blocks = ["prose", "chart", "question", "buttons", "prose", "picture", "heading"].map((kind) => ({
    id: kind,
    kind,
  }));
  assert.deepEqual(pairBlocks(blocks), [-1, 0, 0, 0, -1, -1, -1]);
});

test("an exhaust that was felt in this run is not called unchecked", () => {
  const words = { exhaust_unseen: "not checked", exhaust_felt: "in your notes", part_exhaust: "exhaust" };
  const name = (/** @type {any} */ frame) => exhaustWord({ speed: 1, exhaust_unseen: true, ...frame }, words);
  assert.deepEqual(
    [name({}), name({ exhaust_felt: true }), name({ speed: 0 })],
    ["not checked", "in your notes", "exhaust"],
  );
});
