// Take your work with you: the file is fetched from the kernel, or handed to it, in pieces. Nothing leaves the machine.
import { htmlElement, node, patchChildren } from "../base/dom.js";
import { freshId } from "../base/ids.js";
import { prose } from "./prose.js";

const PIECE_BYTES = 192 * 1024; // bytes of a message to the kernel

const ANSWER_PATIENCE = 120000; // ms for one answer: a busy machine answers late

/**
 * Ask the kernel about a work file; its answer, or an error with a sentence.
 * @param {LessonView} view
 * @param {any} message
 * @param {string} silent
 */
function askAboutFile(view, message, silent) {
  const id = freshId();
  return new Promise((resolve, reject) => {
    const end = () => {
      clearTimeout(late);
      view.model.off("msg:custom", take);
    };
    /** @param {any} answer */
    const take = (answer) => {
      if (answer.kind !== "carried" || answer.id !== id) return;
      end();
      if (answer.accepted) resolve(answer);
      else reject(new Error(answer.sentence || silent));
    };
    const late = setTimeout(() => {
      end();
      reject(new Error(silent));
    }, ANSWER_PATIENCE);
    view.model.on("msg:custom", take);
    view.model.send({ kind: "carry", id, ...message });
  });
}

/** @param {string} data */
function bytesOf(data) {
  return Uint8Array.from(atob(data), (sign) => sign.charCodeAt(0));
}

/** @param {Uint8Array} bytes */
function base64Of(bytes) {
  let out = "";
  for (let at = 0; at < bytes.length; at += 8192) out += String.fromCharCode(...bytes.subarray(at, at + 8192));
  return btoa(out);
}

/**
 * The file as the browser keeps it: unpacked where the browser can, else as it came.
 * @param {BlobPart[]} pieces
 * @param {string} name
 * @returns {Promise<[Blob, string]>}
 */
async function unpackedFile(pieces, name) {
  const packed = new Blob(pieces, { type: "application/gzip" });
  if (typeof DecompressionStream === "undefined") return [packed, `${name}.gz`];
  const whole = await new Response(packed.stream().pipeThrough(new DecompressionStream("gzip"))).arrayBuffer();
  return [new Blob([whole], { type: "application/json" }), name];
}

/**
 * @param {LessonView} view
 * @param {Words} labels
 */
async function saveWork(view, labels) {
  const pieces = [];
  let name = "";
  for (let n = 0, of = 1; n < of; n += 1) {
    const answer = await askAboutFile(view, { what: "save", n }, labels.no_answer);
    of = answer.of;
    name = answer.name;
    pieces.push(bytesOf(answer.data));
  }
  const [blob, called] = await unpackedFile(pieces, name);
  const address = URL.createObjectURL(blob);
  const link = htmlElement("a", "lesson-hidden", view.root);
  link.href = address;
  link.download = called;
  link.click();
  link.remove();
  setTimeout(() => URL.revokeObjectURL(address), 60000);
  return askAboutFile(view, { what: "saved" }, labels.no_answer);
}

/**
 * @param {LessonView} view
 * @param {Blob} file
 * @param {Words} labels
 */
async function loadWork(view, file, labels) {
  const bytes = new Uint8Array(await file.arrayBuffer());
  const of = Math.max(1, Math.ceil(bytes.length / PIECE_BYTES));
  /** @type {any} */
  let answer = {};
  for (let n = 0; n < of; n += 1) {
    const data = base64Of(bytes.subarray(n * PIECE_BYTES, (n + 1) * PIECE_BYTES));
    answer = await askAboutFile(view, { what: "load", n, of, data }, labels.no_answer);
  }
  return answer;
}

/**
 * @param {LessonView} view
 * @param {WorkFileBlock} block
 * @param {BlockSection} section
 */
export function workFileBlock(view, block, section) {
  const { labels } = block;
  const busy = section.carryBusy || "";
  const draw = () => workFileBlock(view, section.carryBlock, section);
  /**
   * @param {string} which
   * @param {() => Promise<Answer>} job
   */
  const work = async (which, job) => {
    if (section.carryBusy) return;
    section.carryBusy = which;
    section.carrySaid = { sentence: labels[which === "save" ? "saving" : "loading"], tone: "said" };
    draw();
    try {
      section.carrySaid = { sentence: (await job()).sentence ?? "", tone: "said" };
    } catch (error) {
      section.carrySaid = { sentence: /** @type {Error} */ (error).message, tone: "wait" };
    }
    section.carryBusy = "";
    draw();
  };
  section.carryBlock = block;
  const said = section.carrySaid;
  const save = node(
    "button",
    {
      key: "save",
      type: "button",
      class: (block.urgent ? "lesson-primary" : "lesson-secondary") + (busy === "save" ? " lesson-pending" : ""),
      "aria-disabled": block.can_save ? false : "true",
      on: {
        click: () => {
          if (block.can_save) return work("save", () => saveWork(view, labels));
          section.carrySaid = { sentence: labels.nothing, tone: "wait" };
          return draw();
        },
      },
    },
    labels.save,
  );
  const load = node(
    "label",
    { key: "load", class: `lesson-secondary lesson-carry-load${busy === "load" ? " lesson-pending" : ""}` },
    node("span", { key: "label" }, labels.load),
    node("input", {
      key: "file",
      type: "file",
      class: "lesson-carry-file",
      accept: ".json,.gz,application/json",
      on: {
        change: (event) => {
          const [file] = event.target.files;
          if (file) work("load", () => loadWork(view, file, labels)).then(() => (event.target.value = ""));
        },
      },
    }),
  );
  patchChildren(
    section,
    node(
      "div",
      { class: block.urgent ? "lesson-notice lesson-notice-wait" : "lesson-carry" },
      prose(block.says),
      node("div", { key: "row", class: "lesson-row" }, block.offer_save ? save : null, block.can_load ? load : null),
      node(
        "p",
        { key: "said", class: "lesson-carry-said", role: "status", "data-tone": said?.tone || "" },
        said ? said.sentence : "",
      ),
    ),
  );
}

const MOST_BYTES = 192 * 1024; // of a file that goes over in one message

/**
 * A small file of text, taken whole.
 * @param {LessonView} view
 * @param {TakeFileBlock} block
 * @param {BlockSection} section
 */
export function takeFileBlock(view, block, section) {
  /** @param {HTMLInputElement} input */
  const take = async (input) => {
    const [file] = input.files ?? [];
    section.takeFileSaid = file && file.size > MOST_BYTES ? block.too_large : "";
    if (file && !section.takeFileSaid) view.act(block.action, { text: await file.text() }, block.action);
    input.value = "";
    takeFileBlock(view, block, section);
  };
  patchChildren(
    section,
    node(
      "div",
      { key: "row", class: "lesson-row" },
      node(
        "label",
        { key: "load", class: "lesson-secondary lesson-carry-load" },
        node("span", { key: "label" }, block.label),
        node("input", {
          key: "file",
          type: "file",
          class: "lesson-carry-file",
          accept: block.accept,
          on: { change: (event) => take(event.target) },
        }),
      ),
    ),
    node("p", { key: "hint", class: "lesson-soft", role: "status" }, section.takeFileSaid || block.hint),
  );
}
