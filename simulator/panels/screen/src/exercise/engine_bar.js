// The engine bar: start and stop, speed, the clock, and a slider over what has been seen.
import { node } from "../base/dom.js";
import { clockText, wholeSeconds, word } from "../base/format.js";
import { lapseText, pressedName } from "./acts.js";
import { FASTEST } from "./next_step.js";

const CLOCK_RATES = [1, 5, FASTEST];

/** @param {EngineBarHost} view */
export function describeEngineBar(view) {
  const { page, player } = view;
  const rates = CLOCK_RATES.map((rate) =>
    node(
      "button",
      {
        key: `rate${rate}`,
        type: "button",
        class: "ex-choice",
        "data-next": rate === FASTEST && view.step?.point === "faster" ? "yes" : null,
        "aria-pressed": player.rate === rate ? "true" : "false",
        "aria-label": word(page, "bar.rate_spoken", { n: rate }),
        on: { click: () => view.setRate(rate) },
      },
      `×${rate}`,
    ),
  );
  const held = player.holds.has("learner");
  return [
    page.phase === "debrief" ? null : describeEngine(view),
    node(
      "div",
      { key: "clock", class: "ex-choices", role: "group", "aria-label": word(page, "bar.clock_spoken") },
      node("span", { class: "ex-choices-label", "aria-hidden": "true" }, word(page, "bar.clock")),
      rates,
      node(
        "button",
        {
          key: "hold",
          type: "button",
          class: `ex-choice ex-hold${held ? " ex-held" : ""}`,
          "data-next": view.step?.point === "go_on" ? "yes" : null,
          on: { click: () => view.setHold(!held) },
        },
        word(page, held ? "bar.go_on" : "bar.hold"),
      ),
    ),
    node(
      "div",
      { key: "time", class: "ex-time" },
      node("input", {
        key: "slider",
        type: "range",
        class: "ex-slider",
        min: "0",
        step: "0.1",
        "aria-label": word(page, "bar.slider"),
        disabled: player.run === null,
        on: { input: (event) => view.seek(Number(event.target.value)) },
      }),
      node("output", { key: "now", class: "ex-now", "aria-hidden": "true" }),
    ),
  ];
}

/** @param {EngineBarHost} view */
function describeEngine(view) {
  const { page, link } = view;
  const engine = page.engine || {};
  const startKey = engine.running ? "engine:stop" : "engine:start";
  const pending = link.busy(startKey);
  return [
    node(
      "button",
      {
        key: "engine",
        type: "button",
        class:
          (view.whole ? "ex-secondary ex-engine" : "ex-primary ex-engine") +
          (!engine.running && engine.waits?.length ? " ex-engine-waits" : "") +
          (pending ? " ex-pending" : "") +
          (view.warned === startKey ? " ex-warned" : ""),
        "aria-busy": pending ? "true" : null,
        "data-next": view.step?.point === (engine.running ? "stop" : "start") ? "yes" : null,
        on: { click: () => view.pressEngine() },
      },
      node("span", { class: "ex-engine-lamp", "data-running": engine.running ? "yes" : "no", "aria-hidden": "true" }),
      node("span", {}, word(page, engine.running ? "bar.stop" : "bar.start")),
    ),
    node(
      "div",
      { key: "speed", class: "ex-choices", role: "group", "aria-label": word(page, "bar.speed_spoken") },
      node("span", { class: "ex-choices-label", "aria-hidden": "true" }, word(page, "bar.speed")),
      (engine.speeds || []).map(({ id: speed, label }) =>
        node(
          "button",
          {
            key: speed,
            type: "button",
            class: "ex-choice",
            "data-next": speed === "rated" && view.step?.point === "rated" ? "yes" : null,
            "aria-pressed": engine.speed === speed ? "true" : "false",
            on: { click: () => view.act(`speed:${speed}`, "set_speed", { speed }) },
          },
          label,
        ),
      ),
      node("output", { key: "tachometer", class: "ex-tachometer", "aria-label": word(page, "bar.tachometer") }),
    ),
  ];
}

/**
 * The last figure of the tachometer in what was shown of this run; the clock may have run on over it in one leap.
 * @param {EngineBarHost} view
 */
function lastMeasured(view) {
  const { player } = view;
  const series = player.series("tachometer_shown");
  const end = Math.min(series.length, Math.floor(player.furthest / player.step + 1e-6) + 1);
  let found = view.measured;
  if (!found || found.run !== player.run || found.version !== player.version) {
    found = view.measured = { run: player.run, version: player.version, upto: 0, rpm: NaN };
  }
  for (; found.upto < end; found.upto += 1) if (Number.isFinite(series[found.upto])) found.rpm = series[found.upto];
  return found.rpm;
}

/**
 * The tachometer: what it showed when somebody last held it to the shaft; all the time where one may look inside.
 * @param {EngineBarHost} view
 */
function drawTachometer(view) {
  const out = view.parts.bar.querySelector(".ex-tachometer");
  if (!out) return;
  const { player, page } = view;
  const inside =
    page.see_through && player.run !== null
      ? 10 * Math.round((player.value("speed") * (page.rig?.rated_rpm || 0)) / 10)
      : NaN;
  const rpm = Number.isFinite(inside) ? inside : lastMeasured(view);
  const words = Number.isFinite(rpm) ? word(page, "bar.rpm", { n: rpm.toLocaleString("en-GB") }) : "";
  if (out.textContent !== words) out.textContent = words;
}

/**
 * The parts of the bar that move with every frame.
 * @param {EngineBarHost} view
 */
export function drawEngineBar(view) {
  const { player, page } = view;
  /** @type {HTMLInputElement | null} */
  const slider = view.parts.bar.querySelector(".ex-slider");
  const now = view.parts.bar.querySelector(".ex-now");
  if (!slider || !now) return;
  drawTachometer(view);
  const span = view.span();
  const seconds = word(page, "bar.seconds", { n: wholeSeconds(player.time) });
  if (slider.max !== String(span)) slider.max = String(span);
  if (Math.abs(Number(slider.value) - player.time) > Math.max(0.04, span / 1000)) slider.value = String(player.time);
  if (now.textContent !== seconds) {
    now.textContent = seconds;
    slider.setAttribute("aria-valuetext", seconds);
  }
  const seen = (100 * player.furthest) / span;
  const shown = (100 * player.time) / span;
  for (const [name, share] of /** @type {[string, number][]} */ ([
    ["--ex-seen", seen],
    ["--ex-shown", shown],
  ])) {
    const value = `${Math.min(100, share).toFixed(1)}%`;
    if (slider.style.getPropertyValue(name) !== value) slider.style.setProperty(name, value);
  }
}

/**
 * One line under the bar: what the clock is doing, or the answer to the last act, with a way out where one is needed.
 * @param {ExerciseView} view
 */
export function describeStatus(view) {
  const { page, player, link } = view;
  /**
   * @param {string} key
   * @param {string} label
   * @param {any} click
   */
  const button = (key, label, click) =>
    node("button", { key, type: "button", class: "ex-small", on: { click } }, word(page, label));
  if (link.lost) {
    return status("stop", "lost", [word(page, "link.lost"), button("go", "link.lost_go", () => view.recover())]);
  }
  if (link.pending?.silent) {
    return status("stop", "silent", [
      word(page, "link.silent"),
      button("again", "link.again", () => link.again()),
      button("go", "link.lost_go", () => view.recover()),
    ]);
  }
  if (link.behind) return status("stop", "behind", [word(page, "link.behind")]);
  if (link.pending?.slow) return status("quiet", "slow", [word(page, "link.slow")]);
  if (link.pending?.late) return status("quiet", "late", [word(page, "link.late")]);
  if (view.warned?.startsWith("engine:")) {
    const why = link.reply?.key === view.warned ? ` ${link.reply.sentence}` : "";
    return status("stop", "warned", [word(page, "acts.grave") + why]);
  }
  if (link.reply && !link.reply.accepted) {
    const name = pressedName(page, link.reply.key);
    const pressed = name ? `${word(page, "bar.pressed", { name })} ` : "";
    return status("stop", "refused", [pressed + link.reply.sentence]);
  }
  if (player.lookingBack && view.back) {
    return status("back", "back", [
      word(page, "bar.looking_back", { shown: clockText(player.time), now: clockText(player.furthest) }),
      button("now", "bar.back_to_now", () => view.backToNow()),
    ]);
  }
  if (page.run?.wait && page.phase !== "debrief" && player.holds.has("learner")) {
    const tone = page.run.wait.good ? "ended" : "stop";
    return status(tone, "wait", [page.run.wait.sentence, button("go", "bar.go_on", () => view.setHold(false))]);
  }
  if (page.notice && page.phase === "predict")
    // In the window the call is taken: where the page's words stand is what is left to say.
    return status("back", "notice", [
      view.whole.open && page.yard?.waits ? word(page, "yard.first_call") : page.notice,
    ]);
  if (view.starved) return status("quiet", "starved", [word(page, "link.waiting")]);
  if (page.phase === "debrief") return status("quiet", "over", [word(page, "bar.over")]);
  const said = link.reply?.sentence ? status("quiet", "reply", [link.reply.sentence]) : null;
  if (said) return said; // newer than the prime or the end of a run: those took the place of an older answer
  if (page.run?.ended) return status("ended", "ended", [page.run.ended.sentence]);
  const cost = !page.engine?.running && page.engine?.risk ? lapseText(page, page.engine) : "";
  const start = cost ? word(page, "bar.start_lapse", { cost }) : null;
  if (page.phase === "predict") return status("quiet", "predict", [word(page, "bar.idle_predict"), start]);
  return status("quiet", "idle", [word(page, page.engine?.running ? "bar.idle_running" : "bar.idle_stopped"), start]);
}

/**
 * @param {string} tone
 * @param {string} key
 * @param {(Described | string | null)[]} parts
 */
function status(tone, key, parts) {
  return {
    tone,
    key,
    children: parts.filter(Boolean).map((part) => (typeof part === "string" ? node("span", {}, part) : part)),
  };
}
