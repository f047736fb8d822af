// The debrief: marks with their evidence, how the knowledge moved step by step, three curves on one plot, the truth,
// and the one thing to practise.
import { node } from "../base/dom.js";
import { minutesText, shareText, word } from "../base/format.js";
import { drawStillChart, fetchCharts } from "../base/still_chart.js";
import { describeTable, scrollBox } from "../base/table.js";
import { describeNext } from "./header.js";

/**
 * The call is over: its account has the focus, and what draws its curve comes while the marks are worked out.
 * @param {HTMLElement} part
 */
export function debriefBegins(part) {
  fetchCharts();
  /** @type {HTMLElement | null} */ (part.querySelector("h2"))?.focus({ preventScroll: true });
}

/** @param {ExerciseView} view */
export function describeDebrief(view) {
  const { page } = view;
  const debrief = page.debrief;
  if (page.phase !== "debrief") return [];
  if (!debrief || debrief.failed) {
    const shut = page.envelope && !debrief;
    const line = debrief?.failed || (shut ? word(page, "debrief.envelope") : page.run?.ended?.sentence || "");
    return [
      node(
        "header",
        { key: "head", class: "ex-debrief-head" },
        node("h2", { id: view.ids.debrief, tabindex: "-1" }, word(page, "debrief.title")),
      ),
      node(
        "p",
        { key: "line", class: "ex-debrief-line", role: "status" },
        page.debrief_pending ? word(page, "debrief.pending") : line,
      ),
      page.debrief_pending
        ? [
            node("progress", {
              key: "progress",
              max: view.progress?.total ?? null,
              value: view.progress?.done ?? null,
              "aria-label": word(page, "debrief.pending"),
            }),
            debriefButton(view, "stop_debrief", "debrief.stop"),
          ]
        : [
            debrief?.stopped ? debriefButton(view, "make_debrief", "debrief.after_all") : null,
            shut ? debriefButton(view, "envelope", "debrief.envelope_look") : null,
            describeAgain(view),
          ],
    ];
  }
  return [
    node(
      "header",
      { key: "head", class: "ex-debrief-head" },
      node("h2", { id: view.ids.debrief, tabindex: "-1" }, word(page, "debrief.title")),
      debrief.total === null || debrief.total === undefined
        ? null
        : node(
            "p",
            { class: "ex-total" },
            node("b", {}, String(Math.round(debrief.total))),
            " ",
            word(page, "debrief.out_of", { n: debrief.out_of ?? 100 }),
          ),
    ),
    node(
      "div",
      { key: "story", class: "ex-story" },
      debrief.gate ? saying("gate", word(page, "debrief.gate"), debrief.gate) : null,
      debrief.truth ? saying("truth", word(page, "debrief.truth"), debrief.truth) : null,
      debrief.practise ? saying("practise", word(page, "debrief.practise"), debrief.practise) : null,
    ),
    node(
      "div",
      { key: "parts", class: "ex-parts" },
      (debrief.parts || []).map((part) => describePart(view, part)),
    ),
    describeCurves(view, debrief.curves),
    describeWorked(debrief.worked),
    describeSure(debrief.how_sure),
    describeSteps(view, debrief.steps || []),
    describeAgain(view),
    page.yard ? node("p", { key: "next", class: "ex-debrief-next" }, describeNext(view)) : null,
  ];
}

/**
 * Stop working out the marks, or take it up again.
 * @param {ExerciseView} view
 * @param {string} action
 * @param {string} label
 */
function debriefButton(view, action, label) {
  return node(
    "button",
    {
      key: action,
      type: "button",
      class: `ex-secondary ex-again${view.link.busy(action) ? " ex-pending" : ""}`,
      on: { click: () => view.act(action, action, {}) },
    },
    word(view.page, label),
  );
}

/**
 * The same call-out once more, with fresh chance.
 * @param {ExerciseView} view
 */
function describeAgain(view) {
  const { page, link } = view;
  if (!page.again) return null;
  return node(
    "button",
    {
      key: "again",
      type: "button",
      class: `ex-secondary ex-again${link.busy("again") ? " ex-pending" : ""}`,
      on: { click: () => view.act("again", "again", {}) },
    },
    word(page, "debrief.again"),
  );
}

/**
 * @param {string} key
 * @param {string} title
 * @param {any} text
 */
function saying(key, title, text) {
  return node("section", { key, class: `ex-saying ex-saying-${key}` }, node("h3", {}, title), node("p", {}, text));
}

/**
 * What a part that gives nothing takes off.
 * @param {any} page
 * @param {number} points
 */
function takenOff(page, points) {
  return points < 0
    ? word(page, "debrief.taken_off", { points: minutesText(-points) })
    : word(page, "debrief.none_off");
}

/**
 * @param {ExerciseView} view
 * @param {DebriefPart} part
 */
function describePart(view, part) {
  const { page } = view;
  const marked = part.points !== null && part.points !== undefined;
  const share = marked && part.out_of ? Math.max(0, Math.min(1, (part.points ?? 0) / part.out_of)) : 0;
  return node(
    "section",
    { key: part.label, class: "ex-part" },
    node(
      "h3",
      {},
      node("span", {}, part.label),
      node(
        "span",
        { class: "ex-part-points" },
        marked && !part.out_of
          ? takenOff(page, part.points ?? 0)
          : marked
            ? word(page, "debrief.points", { points: minutesText(part.points ?? 0), out_of: minutesText(part.out_of) })
            : word(page, "debrief.not_marked"),
      ),
    ),
    part.out_of
      ? node(
          "span",
          { class: "ex-part-bar", "aria-hidden": "true" },
          node("span", { style: `width:${(100 * share).toFixed(1)}%` }),
        )
      : null,
    node(
      "ul",
      {},
      (part.evidence || []).map((line, index) =>
        node(
          "li",
          { key: index },
          node("span", {}, line),
          marked ? node("span", { class: "ex-part-share" }, signedPoints((part.evidence_points || [])[index])) : null,
        ),
      ),
    ),
  );
}

/**
 * Points that a piece of evidence gave or took, with its sign; nothing where it gave none.
 * @param {any} points
 */
function signedPoints(points) {
  if (!points || Math.abs(points) < 0.05) return "";
  return (points > 0 ? "+" : "−") + Math.abs(points).toFixed(1);
}

/**
 * How somebody worked in this call: told, never marked.
 * @param {Debrief["worked"]} worked
 */
function describeWorked(worked) {
  if (!worked?.said.length) return null;
  return node(
    "section",
    { key: "worked", class: "ex-worked" },
    node("h3", {}, worked.title),
    node("p", { class: "ex-worked-note" }, worked.note),
    node(
      "ul",
      {},
      worked.said.map((/** @type {string} */ sentence, /** @type {number} */ index) =>
        node("li", { key: index }, sentence),
      ),
    ),
  );
}

/**
 * How sure somebody was over the latest calls, how often right; before there are enough, what is missing.
 * @param {Debrief["how_sure"]} sure
 */
function describeSure(sure) {
  if (!sure) return null;
  return node(
    "section",
    { key: "sure", class: "ex-worked" },
    node("h3", {}, sure.title),
    sure.said ? node("p", {}, sure.said) : null,
    sure.columns ? scrollBox("ex-sure-scroll", sure.title, describeTable(sure.columns, sure.rows ?? [])) : null,
  );
}

const STILL = 0.01; // a smaller change of a chance is not drawn

/**
 * @param {ExerciseView} view
 * @param {DebriefStep[]} steps
 */
function describeSteps(view, steps) {
  const { page } = view;
  if (!steps.length) return null;
  const truths = page.debrief?.truth_names || [];
  return node(
    "section",
    { key: "steps", class: "ex-steps" },
    node("h3", {}, word(page, "debrief.steps_title")),
    node("p", { class: "ex-steps-intro" }, word(page, "debrief.steps_intro")),
    node(
      "ol",
      {},
      steps.map((step, index) =>
        node(
          "li",
          { key: index, class: `ex-stepline${step.lost_minutes > 0 ? " ex-stepline-lost" : ""}` },
          node("span", { class: "ex-note-clock" }, step.clock),
          node(
            "div",
            { class: "ex-stepline-did" },
            node("b", {}, step.act || step.did),
            step.act && step.reading && step.reading !== step.act ? node("p", {}, step.reading) : null,
          ),
          node(
            "div",
            { class: "ex-stepline-told" },
            step.changed ? node("p", {}, step.changed) : null,
            describeBelief(view, step, truths),
          ),
          node(
            "div",
            { class: "ex-stepline-expert" },
            node("b", {}, step.expert_line || word(page, "debrief.expert", { act: step.expert })),
            step.why ? node("p", {}, step.why) : null,
          ),
        ),
      ),
    ),
  );
}

/**
 * How a step moved what could be known: a bar to where each suspect stands now, a mark where it stood before.
 * @param {ExerciseView} view
 * @param {DebriefStep} step
 * @param {string[]} truths
 */
function describeBelief(view, step, truths) {
  const { page } = view;
  const before = new Map(step.before || []);
  const after = new Map(step.after || []);
  const labels = [...new Set([...after.keys(), ...before.keys()])];
  const moved = labels.filter((label) => Math.abs((after.get(label) || 0) - (before.get(label) || 0)) >= STILL);
  // Where nothing moved, the chief suspect alone says how it stands.
  const listed = moved.length ? labels : labels.slice(0, 1);
  if (!listed.length) return null;
  return node(
    "table",
    { class: "ex-belief" },
    node(
      "thead",
      { class: "ex-hidden" },
      node(
        "tr",
        {},
        node("th", { scope: "col" }, word(page, "debrief.suspect")),
        node("th", { scope: "col" }, word(page, "debrief.before")),
        node("th", { scope: "col" }, word(page, "debrief.after")),
      ),
    ),
    node(
      "tbody",
      {},
      listed.map((label) => {
        const was = before.get(label) || 0;
        const now = after.get(label) || 0;
        const still = Math.abs(now - was) < STILL;
        return node(
          "tr",
          { key: label, class: truths.includes(label) ? "ex-belief-truth" : "" },
          node("th", { scope: "row" }, label),
          node(
            "td",
            { key: "was", class: "ex-belief-was" },
            still ? null : node("span", { class: "ex-belief-share" }, shareText(was)),
            still ? null : node("span", { class: "ex-belief-arrow", "aria-hidden": "true" }, now > was ? "▲" : "▼"),
          ),
          node(
            "td",
            { key: "now" },
            node(
              "span",
              { class: "ex-belief-bar", "aria-hidden": "true" },
              node("span", { class: "ex-belief-now", style: `width:${(100 * now).toFixed(0)}%` }),
              still ? null : node("span", { class: "ex-belief-mark", style: `left:${(100 * was).toFixed(0)}%` }),
            ),
            node("span", { class: "ex-belief-share" }, shareText(now)),
          ),
        );
      }),
    ),
  );
}

/**
 * This rig, the suspect and a sound rig in one figure.
 * @param {ExerciseView} view
 * @param {DebriefCurves | undefined} curves
 */
function describeCurves(view, curves) {
  const figure = curves?.figures?.[view.units];
  if (!figure) return null;
  return node(
    "figure",
    { key: "curves", class: "ex-curves" },
    node("figcaption", { key: "title" }, figure.table.title),
    node("div", {
      key: "plot",
      own: true,
      draw: (/** @type {HTMLElement} */ place) => drawStillChart(place, figure),
    }),
  );
}
