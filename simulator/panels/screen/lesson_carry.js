// Take your work with you: the file is fetched from the kernel, or handed to it, in pieces. Nothing leaves the machine.

const CARRY_PIECE = 192 * 1024; // bytes of a message to the kernel
const CARRY_PATIENCE = 30000; // ms for one answer

/** Ask the kernel about a work file; its answer, or an error with a sentence. */
function carryAsk(view, message, silent) {
  const id = lessonFreshId();
  return new Promise((resolve, reject) => {
    const end = () => {
      clearTimeout(late);
      view.model.off("msg:custom", take);
    };
    const take = (answer) => {
      if (answer.kind !== "carried" || answer.id !== id) return;
      end();
      if (answer.accepted) resolve(answer);
      else reject(new Error(answer.sentence || silent));
    };
    const late = setTimeout(() => {
      end();
      reject(new Error(silent));
    }, CARRY_PATIENCE);
    view.model.on("msg:custom", take);
    view.model.send({ kind: "carry", id, ...message });
  });
}

function carryBytes(data) {
  return Uint8Array.from(atob(data), (sign) => sign.charCodeAt(0));
}

function carryText(bytes) {
  let out = "";
  for (let at = 0; at < bytes.length; at += 8192) out += String.fromCharCode(...bytes.subarray(at, at + 8192));
  return btoa(out);
}

/** The file as the browser keeps it: unpacked where the browser can, else as it came. */
async function carryFile(pieces, name) {
  const packed = new Blob(pieces, { type: "application/gzip" });
  if (typeof DecompressionStream === "undefined") return [packed, `${name}.gz`];
  const whole = await new Response(packed.stream().pipeThrough(new DecompressionStream("gzip"))).arrayBuffer();
  return [new Blob([whole], { type: "application/json" }), name];
}

async function carrySave(view, labels) {
  const pieces = [];
  let name = "";
  for (let n = 0, of = 1; n < of; n += 1) {
    const answer = await carryAsk(view, { what: "save", n }, labels.no_answer);
    of = answer.of;
    name = answer.name;
    pieces.push(carryBytes(answer.data));
  }
  const [blob, called] = await carryFile(pieces, name);
  const address = URL.createObjectURL(blob);
  const link = paletteElement("a", "lesson-hidden", view.root);
  link.href = address;
  link.download = called;
  link.click();
  link.remove();
  setTimeout(() => URL.revokeObjectURL(address), 60000);
  return carryAsk(view, { what: "saved" }, labels.no_answer);
}

async function carryLoad(view, file, labels) {
  const bytes = new Uint8Array(await file.arrayBuffer());
  const of = Math.max(1, Math.ceil(bytes.length / CARRY_PIECE));
  let answer = {};
  for (let n = 0; n < of; n += 1) {
    const data = carryText(bytes.subarray(n * CARRY_PIECE, (n + 1) * CARRY_PIECE));
    answer = await carryAsk(view, { what: "load", n, of, data }, labels.no_answer);
  }
  return answer;
}

LESSON_BLOCKS.carry = (view, block, section) => {
  const { labels } = block;
  const busy = section.carryBusy || "";
  const draw = () => LESSON_BLOCKS.carry(view, section.carryBlock, section);
  const work = async (which, job) => {
    if (section.carryBusy) return;
    section.carryBusy = which;
    section.carrySaid = { sentence: labels[which === "save" ? "saving" : "loading"], tone: "said" };
    draw();
    try {
      section.carrySaid = { sentence: (await job()).sentence, tone: "said" };
    } catch (error) {
      section.carrySaid = { sentence: error.message, tone: "wait" };
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
          if (block.can_save) return work("save", () => carrySave(view, labels));
          section.carrySaid = { sentence: labels.nothing, tone: "wait" };
          return draw();
        },
      },
    },
    labels.save
  );
  const load = node(
    "label",
    { key: "load", class: "lesson-secondary lesson-carry-load" + (busy === "load" ? " lesson-pending" : "") },
    node("span", { key: "label" }, labels.load),
    node("input", {
      key: "file",
      type: "file",
      class: "lesson-carry-file",
      accept: ".json,.gz,application/json",
      on: {
        change: (event) => {
          const [file] = event.target.files;
          if (file) work("load", () => carryLoad(view, file, labels)).then(() => (event.target.value = ""));
        },
      },
    })
  );
  patchChildren(
    section,
    node(
      "div",
      { class: block.urgent ? "lesson-notice lesson-notice-wait" : "lesson-carry" },
      lessonParagraphs(block.says),
      node("div", { key: "row", class: "lesson-row" }, block.offer_save ? save : null, block.can_load ? load : null),
      node("p", { key: "said", class: "lesson-carry-said", role: "status", "data-tone": said?.tone || "" }, said ? said.sentence : "")
    )
  );
};
