// SVG elements: making them, and setting their attributes only on a change.

export const SVG_SPACE = "http://www.w3.org/2000/svg";

/**
 * Make an SVG element with attributes, appended to a parent where one is given.
 * @template {keyof SVGElementTagNameMap} T
 * @param {T} tag
 * @param {Record<string, any> | null} [attributes]
 * @param {Element | null} [parent]
 * @returns {SVGElementTagNameMap[T]}
 */
export function svgNode(tag, attributes, parent) {
  const node = document.createElementNS(SVG_SPACE, tag);
  for (const [name, value] of Object.entries(attributes || {})) node.setAttribute(name, value);
  if (parent) parent.appendChild(node);
  return node;
}

/**
 * An SVG text node; a halo in the paper colour keeps it legible over lines.
 * @param {Element} parent
 * @param {number} x
 * @param {number} y
 * @param {string} content
 * @param {Record<string, any>} [attributes]
 */
export function svgText(parent, x, y, content, attributes) {
  const node = svgNode("text", { x, y, class: "pic-label", ...attributes }, parent);
  node.textContent = content;
  return node;
}

/**
 * Set an attribute only when it changes: keeps a frame free of needless style work.
 * @param {Element} node
 * @param {string} name
 */
export function attributeSetter(node, name) {
  /** @type {string | null} */
  let last = null;
  return (/** @type {string | number} */ value) => {
    const text = typeof value === "number" ? String(Math.round(value * 100) / 100) : String(value);
    if (text !== last) {
      node.setAttribute(name, text);
      last = text;
    }
  };
}

/**
 * Show or hide a node, touching it only on a change.
 * @param {Element} node
 */
export function displayToggle(node) {
  /** @type {boolean | null} */
  let last = null;
  return (/** @type {unknown} */ shown) => {
    const on = Boolean(shown);
    if (on !== last) {
      if (on) node.removeAttribute("display");
      else node.setAttribute("display", "none");
      last = on;
    }
  };
}

let idsGiven = 0;

/**
 * A fresh id, so that two pictures on one page do not share patterns or clips.
 * @param {string} stem
 */
export function svgId(stem) {
  idsGiven += 1;
  return `palette-${stem}-${idsGiven}`;
}
