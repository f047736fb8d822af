// What is done to the rig: faults let in, changed and cleared, the class asked, a demonstration kept or begun anew.
import { node } from "../base/dom.js";
import { fillIn } from "../base/format.js";
import { toggle } from "./tools.js";

/**
 * A figure as it was typed, or NaN.
 * @param {string} typed
 */
const figure = (typed) => (/\d/.test(typed) ? Number(typed.replace(",", ".").replace(/[^\d.eE+-]/g, "")) : Number.NaN);

/**
 * @param {string} key
 * @param {string} title
 * @param {...Children} children
 */
const card = (key, title, ...children) =>
  node(
    "section",
    { key, class: `ex-card bench-${key}`, "aria-label": title },
    node("div", { key: "head", class: "ex-card-head" }, node("h2", {}, title)),
    node("div", { key: "body", class: "ex-card-body bench-body" }, children),
  );

/**
 * @param {string} id
 * @param {string} label
 * @param {string} value
 * @param {Named[]} options
 * @param {(value: string) => void} change
 * @param {string} [first]
 */
const choice = (id, label, value, options, change, first) =>
  node(
    "label",
    { key: id, class: "bench-field" },
    node("span", { key: "label" }, label),
    node(
      "select",
      {
        key: "select",
        id: `bench-${id}`,
        set: { value },
        on: { change: (/** @type {ControlEvent} */ event) => change(event.target.value) },
      },
      first === undefined ? null : node("option", { key: "none", value: "" }, first),
      options.map((option) => node("option", { key: option.id, value: option.id }, option.label)),
    ),
  );

/**
 * @param {string} id
 * @param {string} label
 * @param {string} value
 * @param {(value: string) => void} change
 * @param {{ unit?: string, hint?: string, wide?: boolean }} [more]
 */
const typed = (id, label, value, change, { unit = "", hint = "", wide = false } = {}) =>
  node(
    "label",
    { key: id, class: `bench-field${wide ? " bench-wide" : ""}` },
    node("span", { key: "label" }, unit ? `${label}, ${unit}` : label),
    node("input", {
      key: "input",
      id: `bench-${id}`,
      type: "text",
      maxlength: 60,
      autocomplete: "off",
      spellcheck: "false",
      "aria-describedby": hint ? `bench-${id}-hint` : false,
      set: { value },
      on: { input: (/** @type {ControlEvent} */ event) => change(event.target.value) },
    }),
    hint ? node("small", { key: "hint", id: `bench-${id}-hint`, class: "bench-soft" }, hint) : null,
  );

/**
 * @param {BenchView} view
 * @param {string} key
 * @param {string} label
 * @param {() => void} press
 * @param {{ primary?: boolean, off?: boolean, spoken?: string }} [more]
 */
const button = (view, key, label, press, { primary = false, off = false, spoken = "" } = {}) =>
  node(
    "button",
    {
      key: `b:${key}`,
      type: "button",
      class: `${primary ? "ex-primary" : "ex-secondary"}${view.link.busy(key) ? " ex-pending" : ""}`,
      "aria-disabled": off ? "true" : false,
      "aria-label": spoken || false,
      on: { click: () => !off && press() },
    },
    label,
  );

/**
 * Options under the names of their groups.
 * @param {(Named & { group?: string })[]} options
 */
function grouped(options) {
  const names = [...new Set(options.map((option) => option.group ?? ""))];
  return names.map((name) =>
    node(
      "optgroup",
      { key: `g:${name}`, label: name },
      options
        .filter((option) => (option.group ?? "") === name)
        .map((option) => node("option", { key: option.id, value: option.id }, option.label)),
    ),
  );
}

/**
 * A size as typed, sent or told that it cannot be.
 * @param {BenchView} view
 * @param {BenchSize | null} size
 * @param {string} written
 * @param {(size: number | undefined) => void} send
 */
function withSize(view, size, written, send) {
  const value = size ? figure(written) : undefined;
  if (value !== undefined && !Number.isFinite(value)) {
    view.status = view.word("bad_size", { legal: size?.legal });
    view.redraw();
    return;
  }
  send(value);
}

/** @param {BenchView} view */
function letIn(view) {
  const { page, draft } = view;
  const chosen = page.choices.find((each) => each.id === draft.fault);
  const size = chosen?.size ?? null;
  const choose = (/** @type {string} */ id) => {
    const next = page.choices.find((each) => each.id === id);
    Object.assign(draft, { fault: id, place: next?.places[0]?.id ?? "", size: next?.size?.usual[1] ?? "" });
    view.redraw();
  };
  return card(
    "let-in",
    view.word("let_in"),
    node(
      "label",
      { key: "fault", class: "bench-field bench-wide" },
      node("span", { key: "label" }, view.word("fault")),
      node(
        "select",
        {
          key: "select",
          id: "bench-fault",
          set: { value: draft.fault },
          on: { change: (/** @type {ControlEvent} */ event) => choose(event.target.value) },
        },
        node("option", { key: "none", value: "" }, view.word("choose")),
        grouped(page.choices),
      ),
    ),
    chosen && chosen.places.length > 1
      ? choice("place", view.word("place"), draft.place, chosen.places, (value) => {
          draft.place = value;
        })
      : null,
    size
      ? typed(
          "size",
          size.label,
          draft.size,
          (value) => {
            draft.size = value;
          },
          { unit: size.unit, hint: view.word("usual", { legal: size.legal, usual: size.usual.join(", ") }) },
        )
      : null,
    choice("over", view.word("comes"), draft.over, page.grows, (value) => {
      draft.over = value;
    }),
    button(
      view,
      "let_in",
      view.word("do_let_in"),
      () =>
        withSize(view, size, draft.size, (value) => {
          const { fault, place } = draft;
          view.act("let_in", "let_in", { fault, place, size: value, over_s: Number(draft.over) });
        }),
      { primary: true, off: !chosen },
    ),
  );
}

/**
 * @param {BenchView} view
 * @param {BenchFault} fault
 */
function standingFault(view, fault) {
  const { number, letter, size } = fault;
  const [at, over] = [`size:${number}`, `over:${number}`];
  const change = (/** @type {string} */ key) => (/** @type {string} */ value) => {
    view.typed.set(key, value);
  };
  const target = () => view.typed.get(at) ?? fault.target;
  const press = () =>
    withSize(view, size, target(), (value) => {
      view.typed.delete(at);
      view.act(`grow:${number}`, "grow", { number, size: value, over_s: Number(view.typed.get(over) ?? "0") });
    });
  return node(
    "li",
    { key: number, class: "bench-fault" },
    node(
      "p",
      { key: "name" },
      node("strong", { key: "letter", class: "bench-letter" }, letter),
      ` ${fault.label}`,
      fault.now ? node("span", { key: "now", class: "bench-soft" }, ` ${fault.now}`) : null,
      fault.told ? node("span", { key: "told", class: "bench-soft" }, ` ${view.word("told")}`) : null,
    ),
    node(
      "div",
      { key: "acts", class: "bench-row" },
      size ? typed(`size-${number}`, view.word("change"), target(), change(at), { unit: size.unit }) : null,
      size
        ? choice(`over-${number}`, view.word("comes"), view.typed.get(over) ?? "0", view.page.grows, change(over))
        : null,
      size
        ? button(view, `grow:${number}`, view.word("do_change"), press, {
            spoken: `${view.word("do_change")} ${letter}`,
          })
        : null,
      button(view, `clear:${number}`, view.word("clear"), () => view.act(`clear:${number}`, "clear", { number }), {
        spoken: `${view.word("clear")} ${letter}`,
      }),
      toggle(`tell:${number}`, view.word(fault.told ? "untell" : "tell"), fault.told, () =>
        view.set(`tell:${number}`, "tell", { number, on: !fault.told }),
      ),
    ),
  );
}

/** @param {BenchView} view */
function standing(view) {
  const { faults, past } = view.page;
  return card(
    "standing",
    view.word("standing"),
    faults.length
      ? node(
          "ul",
          { key: "list", class: "bench-list" },
          faults.map((fault) => standingFault(view, fault)),
        )
      : node("p", { key: "none", class: "bench-soft" }, view.word("none")),
    past.length
      ? node(
          "p",
          { key: "past", class: "bench-soft" },
          `${view.word("past")}: ${past.map((each) => each.label).join("; ")}`,
        )
      : null,
  );
}

/** @param {BenchView} view */
function askClass(view) {
  const { page, draft } = view;
  const { asked: ask } = page;
  const question = draft.question || page.questions[0].id;
  const told = ask ? JSON.stringify(ask.options.map((option) => option.hands)) : "";
  const typing = Boolean(document.activeElement?.closest(".bench-hands"));
  // What is typed stands until it has been heard: an answer to the field before must not wipe out the next.
  if (ask && (draft.handsOf !== ask.id || (draft.handsTold !== told && !typing)))
    Object.assign(draft, { handsOf: ask.id, hands: ask.options.map((option) => String(option.hands)) });
  draft.handsTold = told;
  const hands = () => {
    const counts = /** @type {string[]} */ (draft.hands ?? []).map((value) => Math.floor(figure(value)));
    const legal = counts.every((count) => count >= 0 && count <= 99);
    // a key of its own each time: with one for all, counts typed while the last are on their way would be dropped
    if (legal) view.set(`hands:${counts}`, "hands", { hands: counts });
  };
  return card(
    "ask",
    view.word("ask"),
    choice("question", view.word("question"), question, page.questions, (value) => {
      draft.question = value;
    }),
    button(view, "ask", view.word("do_ask"), () => view.act("ask", "ask", { question })),
    ask
      ? node(
          "fieldset",
          { key: ask.id, class: "bench-hands" },
          node("legend", { key: "legend" }, `${ask.question} ${view.word("hands")}`),
          ask.options.map((option, i) =>
            node(
              "label",
              { key: option.id, class: "bench-field" },
              node("span", { key: "label" }, option.label),
              node("input", {
                key: "input",
                id: `bench-hands-${option.id}`,
                type: "number",
                min: 0,
                max: 99,
                set: { value: draft.hands?.[i] ?? "" },
                on: {
                  input: (/** @type {ControlEvent} */ event) => {
                    if (draft.hands) draft.hands[i] = event.target.value;
                  },
                  change: hands,
                },
              }),
            ),
          ),
          button(view, "go_on", view.word("go_on"), () => view.setHold(false), { primary: true }),
          toggle("ask_shown", view.word(ask.shown ? "untell" : "tell"), ask.shown, () =>
            view.set("ask_shown", "ask_shown", { on: !ask.shown }),
          ),
        )
      : null,
  );
}

/** @param {BenchView} view */
function keeping(view) {
  const { kept } = view.page;
  const { draft } = view;
  // What was kept last is what "Take up again" means first.
  if (draft.nameOf !== kept.name)
    Object.assign(draft, { nameOf: kept.name, name: kept.name, which: kept.name || draft.which });
  const which = () => draft.which || kept.names[0] || "";
  return card(
    "keep",
    view.word("keep"),
    typed("name", view.word("name"), draft.name, (value) => {
      draft.name = value;
    }),
    button(view, "keep", view.word(kept.over ? "keep_over" : "do_keep"), () =>
      view.set("keep", "keep", { name: draft.name }),
    ),
    kept.names.length
      ? [
          choice(
            "kept",
            view.word("kept"),
            which(),
            kept.names.map((/** @type {string} */ id) => ({ id, label: id })),
            (value) => {
              draft.which = value;
            },
          ),
          button(view, "take_up", view.word("take_up"), () => view.set("take_up", "take_up", { name: which() })),
        ]
      : node("p", { key: "nothing", class: "bench-soft" }, view.word("nothing_kept")),
  );
}

/** @param {BenchView} view */
function anew(view) {
  const { fields, rigs, labels } = view.page.new;
  const now = (/** @type {string} */ name) => view.typed.get(`new:${name}`) ?? fields[name];
  const change = (/** @type {string} */ name) => (/** @type {string} */ value) => {
    view.typed.set(`new:${name}`, value);
  };
  return card(
    "new",
    view.word("new"),
    choice("rig", labels.rig, now("rig"), rigs, change("rig")),
    typed("lift", labels.lift_m, now("lift_m"), change("lift_m"), { unit: "m" }),
    typed("hose", labels.hose_length_m, now("hose_length_m"), change("hose_length_m"), {
      unit: "m",
      hint: view.word("own_length"),
    }),
    button(view, "new", view.word("begin"), () =>
      view.set("new", "new", { rig: now("rig"), lift_m: now("lift_m"), hose_length_m: now("hose_length_m") }),
    ),
    node("p", { key: "says", class: "bench-soft" }, fillIn(view.word("begin_says"))),
  );
}

/** @param {BenchView} view */
export function describeCards(view) {
  return [letIn(view), standing(view), askClass(view), keeping(view), anew(view)];
}
