// What a view of an exercise listens for: the kernel's traits and messages, keys and clicks on its parts.

/**
 * Begin to listen; returns a function that ends it.
 * @param {ExerciseView} view
 */
export function listen(view) {
  const { model, root } = view;
  const onPage = () => view.takePage(view.worded(model.get("page")));
  const onUnits = () => {
    view.units = model.get("units") || "metric";
    view.stage.setUnits(view.units);
    view.redraw();
  };
  /**
   * @param {any} message
   * @param {DataView[]} buffers
   */
  const onCustom = (message, buffers) => view.takeMessage(message, buffers);
  const onComm = () => {
    // The widget layer marks the view once its line to the kernel is dead.
    setTimeout(() => root.closest(".jupyter-widgets-disconnected") && view.link.lose(), 0);
  };
  /** @param {any} event */
  const onKey = (event) => {
    // The notebook's one-letter commands must not act on a cell while someone types or steps through this page.
    if (event.target instanceof Element && root.contains(event.target)) {
      event.target.setAttribute("data-lm-suppress-shortcuts", "true");
      // A key held down presses a button once.
      if (event.repeat && ["Enter", " "].includes(event.key) && event.target.matches("button:not(.ex-step)")) {
        event.preventDefault();
      }
    }
  };
  /** @param {any} event */
  const onClick = (event) => {
    // The second click of a double click would meet the button that has taken the first one's place.
    if (event.detail > 1 && event.target instanceof Element && event.target.closest("button:not(.ex-step)"))
      event.stopPropagation();
  };
  model.on("change:page", onPage);
  model.on("change:units", onUnits);
  model.on("msg:custom", onCustom);
  model.on("comm_live_update", onComm);
  window.addEventListener("keydown", onKey, true);
  root.addEventListener("click", onClick, true);
  return () => {
    model.off("change:page", onPage);
    model.off("change:units", onUnits);
    model.off("msg:custom", onCustom);
    model.off("comm_live_update", onComm);
    window.removeEventListener("keydown", onKey, true);
    root.removeEventListener("click", onClick, true);
  };
}
