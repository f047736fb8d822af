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
 * Call back when the theme may have changed; returns a function that stops watching.
 * @param {() => void} callback
 */
export function watchTheme(callback) {
  const query = typeof matchMedia === "function" ? matchMedia("(prefers-color-scheme: dark)") : null;
  const observer = new MutationObserver(callback);
  observer.observe(document.documentElement, { attributes: true, attributeFilter: ["class", "data-jp-theme-light"] });
  if (document.body) {
    observer.observe(document.body, {
      attributes: true,
      attributeFilter: ["class", "data-jp-theme-light", "data-jp-theme-name"],
    });
  }
  if (query?.addEventListener) query.addEventListener("change", callback);
  return () => {
    observer.disconnect();
    if (query?.removeEventListener) query.removeEventListener("change", callback);
  };
}
