// What one can do, grouped by place, with its minutes; an act not yet safe stays in sight and says what it waits for.
// It can be pressed all the same: the yard would let you try, and so does this page, once.
import { node } from "../base/dom.js";
import { capitalised, minutesText, word } from "../base/format.js";
import { actIcon, PLACE_ICONS } from "./icons.js";

/** @param {Pick<ActItem, "id">} item */
export function actKey(item) {
  return `act:${item.id}`;
}

/**
 * What was pressed, by the key of its act; "" where that is no act of the list and not the engine.
 * @param {ExercisePage} page
 * @param {string} key
 */
export function pressedName(page, key) {
  if (key.startsWith("engine:")) return word(page, key === "engine:stop" ? "bar.stop" : "bar.start");
  return (page.places || []).flatMap((place) => place.items).find((item) => actKey(item) === key)?.label ?? "";
}

/**
 * Which place's acts stand in the list; "quick" and "now" go across all places.
 * @param {ExerciseView} view
 */
function chosenWhere(view) {
  const places = placesToGo(view);
  return places.some((place) => place.id === view.where) ? view.where : "quick";
}

/**
 * The places one can go to. On the page making safe always stands beside the list; in the whole window it is the first.
 * @param {ExerciseView} view
 */
function placesToGo({ page, whole }) {
  const before = whole.open ? (page.places || []).filter((place) => place.id === "before") : [];
  const places = (page.places || []).filter((place) => place.id !== "before");
  const quick = { id: "quick", label: word(page, "acts.quick") };
  return [...before, quick, ...places, { id: "now", label: word(page, "acts.now") }];
}

/**
 * Can it be done now? What is made safe already has been done; an act that was just refused stays to be read.
 * @param {ExerciseView} view
 * @param {ActItem} item
 */
function canBeDoneNow(view, item) {
  const key = actKey(item);
  if (view.link.busy(key) || view.warned === key || view.link.reply?.key === key) return true;
  return !item.waits?.length && !(item.done && item.kind === "precaution");
}

/**
 * The place on the list where the acts of a part of the rig stand.
 * @param {ExercisePage} page
 * @param {string[]} parts
 */
export function placeOfParts(page, parts) {
  const wanted = new Set(parts);
  return (page.places || []).find(
    (place) => place.id !== "before" && place.items.some((item) => wanted.has(item.part ?? "")),
  )?.id;
}

/** @param {ExerciseView} view */
export function describeActs(view) {
  const { page } = view;
  const before = (page.places || []).find((place) => place.id === "before");
  const safe = before && (!view.whole.open || chosenWhere(view) === "before") ? describeBefore(view, before) : null;
  const go = node("div", { key: "go", class: "ex-go" }, describeWhere(view), describeList(view));
  return [
    node(
      "header",
      { key: "head", class: "ex-card-head" },
      node("h2", { id: view.ids.acts }, word(page, "acts.title")),
      node("p", {}, word(page, "acts.subtitle")),
    ),
    node("div", { key: "body", class: "ex-acts" }, view.whole.open ? [go, safe] : [safe, go]),
  ];
}

/**
 * What makes it safe: always in sight, and what the last refused act lacks stands out.
 * @param {ExerciseView} view
 * @param {Place} place
 */
function describeBefore(view, place) {
  const wanted = new Set(view.lacking?.first || []);
  const first = place.items.find((item) => wanted.has(item.id) && !item.done);
  return node(
    "section",
    { key: "before", class: "ex-place ex-before", "aria-label": place.label },
    node("h3", {}, actIcon("before"), place.label),
    node(
      "ul",
      { class: "ex-list" },
      place.items.map((item) =>
        describeAct(view, item, wanted.has(item.id) && !item.done && (item === first ? "do_first" : "do_then")),
      ),
    ),
  );
}

/** @param {ExerciseView} view */
function describeWhere(view) {
  const { page } = view;
  const chosen = chosenWhere(view);
  return node(
    "div",
    { key: "where", class: "ex-where", role: "group", "aria-label": word(page, "acts.where") },
    placesToGo(view).map((place) =>
      node(
        "button",
        {
          key: place.id,
          type: "button",
          class: `ex-choice ex-where-${place.id}`,
          "data-where": place.id,
          "aria-pressed": place.id === chosen ? "true" : "false",
          on: { click: () => view.goTo(place.id) },
        },
        actIcon(PLACE_ICONS[place.id] || place.id),
        node("span", {}, place.label),
      ),
    ),
    node("p", { key: "how", class: "ex-where-how" }, word(page, "acts.press_part")),
    view.whole.open
      ? node(
          "select",
          {
            key: "pick",
            class: "ex-where-pick",
            "aria-label": word(page, "acts.where"),
            set: { value: chosen },
            on: { change: (event) => view.goTo(event.target.value) },
          },
          placesToGo(view).map((place) => node("option", { key: place.id, value: place.id }, place.label)),
        )
      : null,
  );
}

/**
 * The list of the chosen place; a part that was pressed in a picture comes first.
 * @param {ExerciseView} view
 */
function describeList(view) {
  const { page } = view;
  const chosen = chosenWhere(view);
  const places = (page.places || []).filter((place) => place.id !== "before");
  const everything = places.flatMap((place) => place.items);
  if (chosen === "now") {
    const some = places
      .map((place) => ({ ...place, items: place.items.filter((item) => canBeDoneNow(view, item)) }))
      .filter((place) => place.items.length);
    const before = (page.places || []).find((place) => place.id === "before");
    const safe = before?.items.some((item) => canBeDoneNow(view, item));
    const waiting = everything.some((item) => item.kind === "check" && !item.done && item.waits?.length);
    return node(
      "div",
      { key: "list:now", class: "ex-lists" },
      some.length && waiting ? node("p", { key: "more", class: "ex-none" }, word(page, "acts.more_wait")) : null,
      some.length
        ? some.map((place) => describeItems(view, place.id, place.label, place.items))
        : node("p", { key: "none", class: "ex-none" }, word(page, safe ? "acts.safe_now" : "acts.none_now")),
    );
  }
  if (chosen === "quick") {
    return node(
      "div",
      { key: "list:quick", class: "ex-lists" },
      describeItems(
        view,
        "quick",
        word(page, "acts.quick"),
        everything.filter((item) => item.quick),
      ),
    );
  }
  const place = places.find((one) => one.id === chosen);
  if (!place) return null;
  const parts = new Set(view.partsPressed || []);
  const here = place.items.filter((item) => parts.has(item.part ?? ""));
  const rest = place.items.filter((item) => !parts.has(item.part ?? ""));
  if (!here.length || !rest.length) {
    return node(
      "div",
      { key: `list:${chosen}`, class: "ex-lists" },
      describeItems(view, place.id, place.label, place.items),
    );
  }
  return node(
    "div",
    { key: `list:${chosen}`, class: "ex-lists" },
    describeItems(view, `${place.id}-part`, `${place.label}: ${view.partName}`, here, true),
    describeItems(view, place.id, word(page, "acts.also_here"), rest),
  );
}

/**
 * @param {ExerciseView} view
 * @param {string} id
 * @param {string} label
 * @param {ActItem[]} items
 * @param {boolean} [pressed]
 */
function describeItems(view, id, label, items, pressed) {
  const kinds = ["check", "engine", "remedy"]
    .map((kind) => ({ kind, some: items.filter((item) => item.kind === kind) }))
    .filter(({ some }) => some.length);
  return node(
    "section",
    { key: id, class: `ex-place${pressed ? " ex-pressed" : ""}`, "aria-label": label, "data-place": id },
    node("h3", {}, label),
    kinds.map(({ kind, some }) => [
      kinds.length > 1 || kind === "remedy"
        ? node(
            "p",
            { key: `${kind}-label`, class: `ex-kind ex-kind-${kind}` },
            word(view.page, `acts.kind_${kind === "engine" ? "check" : kind}`),
          )
        : null,
      node(
        "ul",
        { key: kind, class: "ex-list" },
        inSeries(some).map((one) => (one.series ? describeSeries(view, one) : describeAct(view, one.items[0]))),
      ),
    ]),
  );
}

/**
 * The same act at one joint or length after another stands as one line with a button for each.
 * @param {ActItem[]} items
 */
function inSeries(items) {
  /** @type {{ series?: string, items: ActItem[] }[]} */
  const out = [];
  for (const item of items) {
    const last = out[out.length - 1];
    if (item.series && last?.series === item.series) last.items.push(item);
    else out.push({ series: item.series, items: [item] });
  }
  return out;
}

/**
 * @param {ExerciseView} view
 * @param {ActItem} item
 * @param {string[]} more
 */
function actClasses(view, item, more) {
  const key = actKey(item);
  const { link } = view;
  const classes = ["ex-act", `ex-act-${item.kind}`];
  if (item.waits?.length) classes.push("ex-waiting");
  if (item.done) classes.push("ex-done");
  if (link.busy(key)) classes.push("ex-pending");
  if ((link.reply && !link.reply.accepted && link.reply.key === key) || view.warned === key) classes.push("ex-refused");
  return [...classes, ...more].join(" ");
}

/**
 * @param {ExerciseView} view
 * @param {ActItem} item
 */
function pressAct(view, item) {
  view.lacking = item.waits?.length ? item : null;
  const { call } = view.page;
  // Work on the rig makes the first call the second one too: said at the first press, done at the second.
  if (item.kind === "remedy" && call?.open && call.locked?.length === 1 && !item.waits?.length) {
    if (view.warned !== actKey(item)) return view.warn(actKey(item), "acts.second_call");
  }
  view.act(actKey(item), item.action, item.args, item.risk);
}

/**
 * What a press costs while it still waits for what makes it safe, said before it counts; "" where nothing, or nobody helps.
 * @param {ExercisePage} page
 * @param {{ risk?: string, again?: boolean }} act
 */
export function lapseText(page, { risk, again }) {
  const points = risk ? page.lapse?.[risk] : 0;
  const grave = risk === "grave" ? "_grave" : "";
  return points ? word(page, `acts.lapse${again ? "_again" : ""}${grave}`, { n: points }) : "";
}

/**
 * What an act waits for, and what a press before that costs.
 * @param {ExercisePage} page
 * @param {ActItem} item
 */
function waitsText(page, item) {
  const said = [word(page, "acts.waits", { what: (item.waits || []).join(", ") }), lapseText(page, item)];
  return said.filter(Boolean).join(". ");
}

/**
 * What the places of one row wait for: one line for all of them, or one for each that differ, with their names.
 * @param {ExercisePage} page
 * @param {ActItem[]} items
 */
export function seriesWaits(page, items) {
  /** @type {Map<string, string[]>} */
  const lines = new Map();
  for (const item of items) {
    const said = item.waits?.length ? waitsText(page, item) : "";
    lines.set(said, [...(lines.get(said) ?? []), item.short]);
  }
  if (lines.size === 1) return [...lines.keys()].filter(Boolean);
  return [...lines].filter(([said]) => said).map(([said, names]) => `${capitalised(names.join(", "))}: ${said}`);
}

/**
 * Minutes of a place of one row, as they are where no part is open yet; what an open one saves is said at its name.
 * @param {Pick<ActItem, "minutes">[]} items
 */
export const seriesMinutes = (items) => Math.max(...items.map(({ minutes }) => minutes));

/**
 * Under an act: what it told, what it waits for, how to stay whole, what an open part saves.
 * @param {ExerciseView} view
 * @param {ActItem} item
 * @param {string} [label]
 */
function actLines(view, item, label) {
  const { page } = view;
  const key = actKey(item);
  const waits = item.waits || [];
  const told = view.told.get(key);
  const over = item.done && item.kind === "precaution";
  return [
    told && item.kind !== "precaution"
      ? node("span", { key: `said${key}`, class: "ex-act-said" }, label ? `${label}: ` : null, told)
      : null,
    view.warned === key ? node("span", { key: `grave${key}`, class: "ex-act-grave" }, word(page, view.warnedOf)) : null,
    waits.length && !over ? node("span", { key: "waits", class: "ex-act-waits" }, waitsText(page, item)) : null,
    item.choose ? node("span", { key: "choose", class: "ex-act-choose" }, item.choose) : null,
    item.care && !over ? node("span", { key: "care", class: "ex-act-care" }, item.care) : null,
    item.saved > 0
      ? node("span", { key: "saved", class: "ex-act-saved" }, word(page, "acts.saved", { n: minutesText(item.saved) }))
      : null,
  ];
}

/**
 * What a screen reader calls an act: its name, its minutes, whether it is done; the rest follows as its description.
 * @param {ExerciseView} view
 * @param {ActItem} item
 */
function spokenAct(view, item) {
  const { page } = view;
  const parts = [item.label];
  if (item.minutes > 0) parts.push(word(page, "acts.minutes", { n: minutesText(item.minutes) }));
  if (item.done) parts.push(word(page, "acts.done"));
  return parts.join(", ");
}

/**
 * @param {ExerciseView} view
 * @param {ActItem} item
 * @param {string | false} [wanted] the words under acts that say when it is its turn, where what was refused waits for it
 */
function describeAct(view, item, wanted) {
  const { page, link } = view;
  const key = actKey(item);
  return node(
    "li",
    { key },
    node(
      "button",
      {
        type: "button",
        class: actClasses(view, item, wanted ? ["ex-wanted"] : []),
        "data-act": item.id,
        "aria-label": spokenAct(view, item),
        "aria-describedby": `${view.ids.acts}-${item.id}`,
        "aria-busy": link.busy(key) ? "true" : null,
        on: { click: () => pressAct(view, item) },
      },
      node("span", { key: "mark", class: "ex-act-mark", "aria-hidden": "true" }, item.done ? "✓" : actIcon(item.icon)),
      node("span", { key: "label", class: "ex-act-label" }, item.label),
      node(
        "span",
        { key: "minutes", class: "ex-act-minutes" },
        word(page, "acts.minutes", { n: minutesText(item.minutes) }),
      ),
      node(
        "span",
        { key: "lines", class: "ex-act-lines", id: `${view.ids.acts}-${item.id}` },
        wanted ? node("span", { key: "wanted", class: "ex-act-waits" }, word(page, `acts.${wanted}`)) : null,
        actLines(view, item),
      ),
    ),
  );
}

/**
 * @param {ExerciseView} view
 * @param {any} one
 */
function describeSeries(view, one) {
  const { page, link } = view;
  const [first] = one.items;
  return node(
    "li",
    { key: `series:${one.series}`, class: "ex-series" },
    node(
      "div",
      {
        key: "words",
        class: `ex-act ex-series-words${one.items.every((/** @type {ActItem} */ item) => item.waits?.length) ? " ex-waiting" : ""}`,
      },
      node("span", { key: "mark", class: "ex-act-mark", "aria-hidden": "true" }, actIcon(first.icon)),
      node("span", { key: "label", class: "ex-act-label" }, first.series_label),
      node(
        "span",
        { key: "minutes", class: "ex-act-minutes" },
        word(page, "acts.minutes", { n: minutesText(seriesMinutes(one.items)) }),
      ),
      actLines(view, { ...first, id: "series", waits: [], saved: 0 }),
      seriesWaits(page, one.items).map((said) => node("span", { key: `waits${said}`, class: "ex-act-waits" }, said)),
    ),
    node(
      "div",
      { key: "buttons", class: "ex-series-buttons" },
      one.items.map((/** @type {ActItem} */ item) =>
        node(
          "button",
          {
            key: item.id,
            type: "button",
            class: `ex-series-one ${actClasses(view, item, []).replace("ex-act ", "")}`,
            "data-act": item.id,
            "aria-label": spokenAct(view, item),
            "aria-busy": link.busy(actKey(item)) ? "true" : null,
            on: { click: () => pressAct(view, item) },
          },
          item.done ? "✓ " : null,
          item.short,
          item.seen ? node("small", { class: "ex-series-seen" }, word(page, `acts.seen_${item.seen}`)) : null,
        ),
      ),
    ),
    node(
      "div",
      { key: "told", class: "ex-series-told" },
      one.items.map((/** @type {ActItem} */ item) => {
        const key = actKey(item);
        return [
          view.told.has(key) ? node("span", { key: `said${key}`, class: "ex-act-said" }, view.told.get(key)) : null,
          view.warned === key
            ? node("span", { key: `grave${key}`, class: "ex-act-grave" }, word(page, view.warnedOf))
            : null,
          item.saved > 0
            ? node(
                "span",
                { key: `saved${key}`, class: item.seen === "good" ? "ex-act-known" : "ex-act-saved" },
                `${capitalised(item.short)}: ${word(page, item.seen === "good" ? "acts.saved_good" : "acts.saved", { n: minutesText(item.saved) })}`,
              )
            : null,
        ];
      }),
    ),
  );
}
