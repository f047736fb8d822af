// What one can do, grouped by place, with its minutes; an act not yet safe stays in sight and says what it waits for.
// It can be pressed all the same: the yard would let you try, and so does this page, once.

const KIND_ORDER = ["precaution", "check", "remedy"];

function actKey(item) {
  return "act:" + item.id;
}

const ONLY_NOW = "callout-only-what-can-be-done-now";

/** Whether the list is cut down to what can be done now; kept in this browser where it keeps anything. */
function onlyNow(view) {
  if (view.onlyNow === undefined) {
    try {
      view.onlyNow = localStorage.getItem(ONLY_NOW) === "yes";
    } catch {
      view.onlyNow = false;
    }
  }
  return view.onlyNow;
}

function setOnlyNow(view, on) {
  view.onlyNow = on;
  try {
    localStorage.setItem(ONLY_NOW, on ? "yes" : "no");
  } catch {
    // the choice holds for this page then
  }
  view.redraw();
}

/** Can it be done now? What is made safe already has been done; an act that was just refused stays to be read. */
function canBeDoneNow(view, item) {
  const key = actKey(item);
  if (view.link.busy(key) || view.warned === key || view.link.reply?.key === key) return true;
  return !item.waits?.length && !(item.done && item.kind === "precaution");
}

function describeActs(view) {
  const { page } = view;
  const only = onlyNow(view);
  const all = page.places || [];
  const places = only
    ? all
        .map((place) => ({ ...place, items: (place.items || []).filter((item) => canBeDoneNow(view, item)) }))
        .filter((place) => place.items.length)
    : all;
  return [
    node(
      "header",
      { key: "head", class: "ex-card-head" },
      node("h2", { id: view.ids.acts }, word(page, "acts.title")),
      node("p", {}, word(page, "acts.subtitle")),
      node(
        "label",
        { class: "ex-only-now" },
        node("input", {
          type: "checkbox",
          set: { checked: only },
          on: { change: (event) => setOnlyNow(view, event.target.checked) },
        }),
        word(page, "acts.only_now")
      )
    ),
    node(
      "div",
      { key: "body", class: "ex-acts" + (only ? " ex-acts-few" : "") },
      places.length ? places.map((place) => describePlace(view, place)) : node("p", { key: "none" }, word(page, "acts.none_now"))
    ),
  ];
}

function describePlace(view, place) {
  const items = place.items || [];
  const kinds = KIND_ORDER.map((kind) => [kind, items.filter((item) => item.kind === kind)]).filter(([, some]) => some.length);
  return node(
    "section",
    { key: place.id, class: "ex-place", "aria-label": place.label },
    node("h3", {}, place.label),
    kinds.map(([kind, some]) => [
      kinds.length > 1 || kind === "remedy"
        ? node("p", { key: kind + "-label", class: "ex-kind ex-kind-" + kind }, word(view.page, "acts.kind_" + kind))
        : null,
      node(
        "ul",
        { key: kind, class: "ex-list" },
        some.map((item) => describeAct(view, item))
      ),
    ])
  );
}

function describeAct(view, item) {
  const { page, link } = view;
  const key = actKey(item);
  const pending = link.busy(key);
  const refused = (link.reply && !link.reply.accepted && link.reply.key === key) || view.warned === key;
  const waits = item.waits || [];
  const classes = ["ex-act", "ex-act-" + item.kind];
  if (waits.length) classes.push("ex-waiting");
  if (item.done) classes.push("ex-done");
  if (pending) classes.push("ex-pending");
  if (refused) classes.push("ex-refused");
  return node(
    "li",
    { key },
    node(
      "button",
      {
        type: "button",
        class: classes.join(" "),
        "data-act": item.id,
        "aria-busy": pending ? "true" : null,
        on: { click: () => view.act(key, item.action, item.args, item.risk) },
      },
      node("span", { class: "ex-act-mark", "aria-hidden": "true" }, item.done ? "✓" : ""),
      node("span", { class: "ex-act-label" }, item.label),
      item.done ? node("span", { class: "ex-hidden" }, word(page, "acts.done")) : null,
      node("span", { class: "ex-act-minutes" }, item.minutes > 0 ? word(page, "acts.minutes", { n: minutesText(item.minutes) }) : ""),
      // what it told, where the finger is: the notes may be out of sight
      link.reply?.accepted && link.reply.key === key && link.reply.sentence && item.kind !== "precaution"
        ? node("span", { key: "said", class: "ex-act-said" }, link.reply.sentence)
        : null,
      view.warned === key ? node("span", { class: "ex-act-grave" }, word(page, "acts.grave")) : null,
      waits.length && !(item.done && item.kind === "precaution")
        ? node("span", { class: "ex-act-waits" }, word(page, "acts.waits", { what: waits.join(", ") }))
        : null
    )
  );
}

// Your notes: the log of what was seen, newest at the end and in sight.

const NOTE_MARKS = new Set(["warning", "refused", "hint"]);

function describeNotes(view) {
  const { page } = view;
  const notes = page.notes || [];
  return [
    node(
      "header",
      { key: "head", class: "ex-card-head" },
      node("h2", { id: view.ids.notes }, word(page, "notes.title")),
      node("p", {}, word(page, "notes.subtitle"))
    ),
    node(
      "ol",
      { key: "list", class: "ex-notes", tabindex: "0", "aria-labelledby": view.ids.notes },
      notes.length
        ? notes.map((note, index) =>
            node(
              "li",
              { key: index, class: "ex-note ex-note-" + (note.kind || "seen") },
              node("span", { class: "ex-note-clock" }, note.clock),
              node(
                "span",
                { class: "ex-note-text" },
                NOTE_MARKS.has(note.kind) ? node("b", {}, word(page, "notes.mark_" + note.kind)) : null,
                NOTE_MARKS.has(note.kind) ? " " : null,
                note.text
              )
            )
          )
        : node("li", { key: "none", class: "ex-note ex-note-none" }, word(page, "notes.none"))
    ),
  ];
}

/** Keep the newest note in sight, unless the learner has scrolled up to read. */
function settleNotes(view) {
  const list = view.parts.notes.querySelector(".ex-notes");
  const count = view.page.notes?.length || 0;
  if (!list || count === view.notesShown) return;
  const newest = view.page.notes[count - 1];
  if (view.notesShown !== null && newest) view.announce(newest.text);
  view.notesShown = count;
  list.scrollTop = list.scrollHeight;
}
