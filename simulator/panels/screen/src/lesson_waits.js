// A part of a lesson after the first: it waits for the script that came with the first one. Where that one is not on the
// page any more, the kernel is asked for the script.
import { shared } from "./base/shared_script.js";

const NAME = "SHARED_AS";

const PATIENCE = 1500; // ms until the kernel is asked

/** @param {WidgetModel} model */
function ask(model) {
  /** @param {any} message */
  const take = async (message) => {
    if (message.kind !== "script") return;
    model.off("msg:custom", take);
    const style = document.createElement("style");
    style.textContent = message.style;
    document.head.append(style);
    const address = URL.createObjectURL(new Blob([message.script], { type: "text/javascript" }));
    await import(address); // it shares itself
    URL.revokeObjectURL(address);
  };
  model.on("msg:custom", take);
  model.send({ kind: "script" });
}

export default {
  /** @param {{ model: WidgetModel, el: HTMLElement }} place */
  async render(place) {
    const drawn = await shared(NAME, PATIENCE, () => ask(place.model));
    return drawn.render(place);
  },
};
