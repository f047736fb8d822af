// A table whose rows can be acted on, and dragged into order: calls of a sheet, what is handed out, people. And choices.
import { node, patchChildren } from "../base/dom.js";
import { scrollBox } from "../base/table.js";
import { PageAddress } from "./page_address.js";
import { lessonAddress } from "./prose.js";

/** @type {Record<string, string>} */
const TONE_SIGNS = { bad: "! ", wait: "… ", good: "✓ " };

const MANY = 5; // columns of a table whose rows stand as blocks where the page is narrow

const LOOK_EVERY = 100; // ms between two looks whether what was pressed has come

const NEAR_EDGE = 40; // px from the edge of the window where dragging scrolls the page

/**
 * Which place a pointer stands at: before the first row whose middle is below it.
 * @param {Element[]} rows
 * @param {number} y
 */
function placeAt(rows, y) {
  const below = rows.findIndex((row) => {
    const box = row.getBoundingClientRect();
    return y < box.top + box.height / 2;
  });
  return below < 0 ? rows.length : below;
}

/**
 * Drag a row by its handle; by keys the buttons of the row do the same.
 * @param {LessonView} view
 * @param {string} action
 * @param {PointerEvent} down
 */
function drag(view, action, down) {
  const handle = /** @type {HTMLElement} */ (down.currentTarget ?? down.target);
  const row = handle.closest("tr");
  const body = row?.parentElement;
  if (!row || !body || down.button) return;
  down.preventDefault();
  const rows = [...body.children];
  const from = rows.indexOf(row);
  let to = from;
  handle.setPointerCapture(down.pointerId);
  row.classList.add("lesson-row-dragged");
  const mark = () => {
    rows.forEach((each, i) => {
      each.classList.toggle("lesson-row-before", i === to && to !== from && to !== from + 1);
      each.classList.toggle("lesson-row-after", i === rows.length - 1 && to === rows.length && from !== i);
    });
  };
  /** @param {PointerEvent} event */
  const move = (event) => {
    to = placeAt(rows, event.clientY);
    if (event.clientY < NEAR_EDGE) scrollBy(0, -NEAR_EDGE / 4);
    else if (event.clientY > innerHeight - NEAR_EDGE) scrollBy(0, NEAR_EDGE / 4);
    mark();
  };
  /** @param {PointerEvent} event */
  const end = (event) => {
    for (const name of ["pointermove", "pointerup", "pointercancel"])
      handle.removeEventListener(name, name === "pointermove" ? /** @type {any} */ (move) : /** @type {any} */ (end));
    const place = to > from ? to - 1 : to;
    row.classList.remove("lesson-row-dragged");
    to = from;
    mark();
    if (event.type === "pointerup" && place !== from) view.act(action, { number: from, to: place }, action);
  };
  handle.addEventListener("pointermove", move);
  handle.addEventListener("pointerup", end);
  handle.addEventListener("pointercancel", end);
}

/**
 * What a cell says, with a sign before it where its tone matters.
 * @param {RowsBlock["rows"][number]["cells"][number]} cell
 */
function said(cell) {
  if (typeof cell === "string") return cell;
  return [node("span", { key: "sign", "aria-hidden": "true" }, TONE_SIGNS[cell.tone] ?? ""), cell.text];
}

/**
 * A way to another page, where the same is pressed at once.
 * @param {RowButton & { file: string }} one
 */
function wayThere(one) {
  const href = `${lessonAddress(one.file)}${one.hash ? `#${one.hash}` : ""}`;
  return node(
    "a",
    { key: `${one.action}:${one.label}`, class: "lesson-secondary", "aria-label": one.says, href },
    one.label,
  );
}

let arrivedFor = ""; // what was pressed at arrival: the workbench keeps the end of the address

/** Whether the page was loaded again or come back to: what was read stays read. */
const cameBack = () =>
  performance.getEntriesByType("navigation").some((entry) => /** @type {any} */ (entry).type !== "navigate");

/**
 * Press what somebody came here for, by the end of the address, once.
 * @param {LessonView} view
 * @param {RowsBlock} block
 */
function pressAtArrival(view, block) {
  const wanted = location.hash.slice(1);
  if (!wanted || wanted === arrivedFor || cameBack()) return;
  const one = block.rows.flatMap((row) => row.buttons).find((button) => button.hash === wanted && !button.file);
  if (!one) return;
  arrivedFor = wanted;
  press(view, one);
}

/**
 * Press a button of a row; what somebody could come here for stands on the screen below, which is brought into view.
 * @param {LessonView} view
 * @param {RowButton} one
 */
function press(view, one) {
  view.act(one.action, one.args, `${one.action}:${JSON.stringify(one.args)}`);
  if (!one.hash) return;
  const look = () => {
    if (view.pending) setTimeout(look, LOOK_EVERY);
    else document.querySelector(".ex-root")?.scrollIntoView({ block: "start" });
  };
  setTimeout(look, LOOK_EVERY);
}

/**
 * The pages of a row that can be printed.
 * @param {RowsBlock["rows"][number]} row
 * @param {BlockSection} section
 */
function papersOf(row, section) {
  section.printAddresses ??= new Map();
  return (row.papers ?? []).map((paper) => {
    const key = `${row.key}:${paper.label}`;
    const address = section.printAddresses.get(key) ?? new PageAddress();
    section.printAddresses.set(key, address);
    const href = address.of(paper.html);
    return node(
      "a",
      { key, class: "lesson-secondary", "aria-label": paper.says, href, target: "_blank", rel: "noopener" },
      paper.label,
    );
  });
}

/**
 * @param {LessonView} view
 * @param {RowsBlock} block
 * @param {BlockSection} section
 * @param {RowsBlock["rows"][number]} row
 * @param {boolean} bare no row can be acted on
 * @param {Record<string, string | boolean>} roles what the parts of the table are, where they no longer look so
 */
function describeRow(view, block, section, row, bare, roles) {
  const { moves } = block;
  const handle = moves
    ? node(
        "span",
        {
          key: "handle",
          class: "lesson-row-handle",
          "aria-hidden": "true",
          on: { pointerdown: (event) => drag(view, moves, event) },
        },
        "⠿",
      )
    : null;
  return node(
    "tr",
    { key: row.key, "data-row": row.key, role: roles.row, class: row.now ? "lesson-row-now" : false },
    row.cells.map((cell, i) =>
      node(
        i ? "td" : "th",
        {
          key: i,
          scope: i ? false : "row",
          role: i ? roles.cell : roles.rowheader,
          "data-head": i && roles.row ? block.columns[i] : false,
          "data-none": roles.row && cell === "" ? "yes" : false,
          class: typeof cell === "string" ? false : `lesson-cell lesson-cell-${cell.tone}`,
        },
        i ? null : handle,
        node("span", { key: "t" }, said(cell)),
        !i && row.under ? node("span", { key: "u", class: "lesson-row-under" }, row.under) : null,
      ),
    ),
    bare
      ? null
      : node(
          "td",
          { key: "acts", role: roles.cell, "data-none": row.buttons.length ? false : "yes" },
          node(
            "div",
            { class: "lesson-row lesson-row-acts" },
            row.buttons.map((one) => {
              if (one.file) return wayThere(/** @type {RowButton & { file: string }} */ (one));
              const key = `${one.action}:${JSON.stringify(one.args)}`;
              return node(
                "button",
                {
                  key: `${one.action}:${one.label}`, // the same when its row has moved
                  type: "button",
                  "data-act": one.action,
                  class: `lesson-secondary${view.turns.busy(key) ? " lesson-pending" : ""}`,
                  "aria-label": one.says,
                  "aria-disabled": one.off ? "true" : false,
                  on: { click: () => !one.off && press(view, one) },
                },
                one.label,
              );
            }),
            papersOf(row, section),
          ),
        ),
  );
}

/**
 * @param {LessonView} view
 * @param {RowsBlock} block
 * @param {BlockSection} section
 */
export function rowsBlock(view, block, section) {
  if (!block.rows.length) {
    patchChildren(section, node("h3", { key: "title" }, block.title), node("p", { key: "none" }, block.none));
    return;
  }
  // A row that moves takes the focus with it: moving an element in the document lets go of it.
  const held = section.contains(document.activeElement) ? document.activeElement : null;
  const bare = block.rows.every((row) => !row.buttons.length);
  /** @param {string} name */
  const role = (name) => (block.columns.length >= MANY ? name : false);
  const roles = { row: role("row"), cell: role("cell"), rowheader: role("rowheader") };
  const heads = [
    ...block.columns.map((head, i) => node("th", { key: i, scope: "col", role: role("columnheader") }, head)),
    bare ? null : node("td", { key: "acts", role: roles.cell }),
  ];
  const table = node(
    "table",
    { class: `lesson-table${roles.row ? " lesson-stack" : ""}`, role: role("table") },
    node("thead", { key: "head", role: role("rowgroup") }, node("tr", { role: roles.row }, heads)),
    node(
      "tbody",
      { key: "body", role: role("rowgroup") },
      block.rows.map((row) => describeRow(view, block, section, row, bare, roles)),
    ),
  );
  patchChildren(
    section,
    node("h3", { key: "title" }, block.title),
    scrollBox("lesson-scroll", block.title, table),
    block.more ? view.button(block.more.label, block.more.action, block.more.args) : null,
    block.foot ? node("p", { key: "foot", class: "lesson-soft" }, block.foot) : null,
  );
  if (held?.isConnected && document.activeElement !== held) /** @type {HTMLElement} */ (held).focus();
  section.lessonLive = { destroy: () => section.printAddresses?.forEach((address) => address.end()) };
  pressAtArrival(view, block);
}

/**
 * @param {LessonView} view
 * @param {FiltersBlock} block
 * @param {BlockSection} section
 */
export function filtersBlock(view, block, section) {
  patchChildren(
    section,
    node(
      "div",
      { key: "row", class: "lesson-filters" },
      block.items.map((item) =>
        node(
          "label",
          { key: item.id, class: "lesson-filter" },
          node("span", { key: "label", class: "lesson-field-label" }, item.label),
          node(
            "select",
            {
              key: "select",
              class: "lesson-input",
              "data-filter": item.id,
              set: { value: item.value },
              on: {
                change: (event) =>
                  view.act(block.action, { id: item.id, value: event.target.value }, `${block.action}:${item.id}`),
              },
            },
            item.options.map((option) => node("option", { key: option.id, value: option.id }, option.label)),
          ),
        ),
      ),
    ),
  );
}
