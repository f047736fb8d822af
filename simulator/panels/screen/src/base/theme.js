// The colours of the theme, and when they change.

/**
 * The present value of a theme colour, for drawing on a canvas.
 * @param {Element} node
 * @param {string} name
 */
export function themeColour(node, name) {
  return getComputedStyle(node).getPropertyValue(name).trim();
}

/**
 * Call back when the theme may have changed; returns a function that stops watching. While JupyterLab changes it, nothing
 * on the page has a size: so it is called with the next frame, when all stands again.
 * @param {() => void} callback
 */
export function watchTheme(callback) {
  const query = typeof matchMedia === "function" ? matchMedia("(prefers-color-scheme: dark)") : null;
  let waiting = 0;
  const changed = () => {
    waiting ||= requestAnimationFrame(() => {
      waiting = 0;
      callback();
    });
  };
  const observer = new MutationObserver(changed);
  observer.observe(document.documentElement, { attributes: true, attributeFilter: ["class", "data-jp-theme-light"] });
  if (document.body) {
    observer.observe(document.body, {
      attributes: true,
      attributeFilter: ["class", "data-jp-theme-light", "data-jp-theme-name"],
    });
  }
  if (query?.addEventListener) query.addEventListener("change", changed);
  return () => {
    observer.disconnect();
    if (waiting) cancelAnimationFrame(waiting);
    if (query?.removeEventListener) query.removeEventListener("change", changed);
  };
}
