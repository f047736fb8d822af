// A small keyed patcher: the page is described anew at every change, the document keeps its nodes, its focus
// and its scroll positions. Attributes: `on` (event handlers), `set` (live properties), `key`, the rest as written.

const SVG_SPACE = "http://www.w3.org/2000/svg";
const SVG_TAGS = new Set(["svg", "g", "path", "line", "rect", "circle", "text", "polyline", "polygon", "title"]);

/** Describe an element; children may be strings, descriptions, arrays of them, or null / false for nothing. */
function node(tag, attributes, ...children) {
  return { tag, attributes: attributes || {}, children: children.flat(Infinity).filter((c) => c || c === 0) };
}

function nodeKey(wanted, index) {
  if (typeof wanted !== "object") return "text:" + index;
  return wanted.tag + ":" + (wanted.attributes.key ?? index);
}

function createNode(wanted) {
  if (typeof wanted !== "object") return document.createTextNode(String(wanted));
  return SVG_TAGS.has(wanted.tag)
    ? document.createElementNS(SVG_SPACE, wanted.tag)
    : document.createElement(wanted.tag);
}

function patchAttributes(element, attributes) {
  const before = element.patchedAttributes || {};
  for (const name of Object.keys(before)) {
    if (!(name in attributes) && name !== "on" && name !== "set" && name !== "key") element.removeAttribute(name);
  }
  for (const [name, value] of Object.entries(attributes)) {
    if (name === "on" || name === "key" || name === "set" || before[name] === value) continue;
    if (value === null || value === undefined || value === false) element.removeAttribute(name);
    else element.setAttribute(name, value === true ? "" : String(value));
  }
  // One listener an event and element, looked up at the time of the event: handlers may change with every page.
  element.patchedHandlers = attributes.on || {};
  element.patchedEvents ||= new Set();
  for (const name of Object.keys(element.patchedHandlers)) {
    if (element.patchedEvents.has(name)) continue;
    element.patchedEvents.add(name);
    element.addEventListener(name, (event) => element.patchedHandlers[name]?.(event));
  }
  for (const [name, value] of Object.entries(attributes.set || {})) {
    if (element[name] !== value) element[name] = value;
  }
  element.patchedAttributes = attributes;
}

/** Make the children of `parent` equal to the description, moving as little as possible. */
function patchChildren(parent, ...descriptions) {
  const wanted = descriptions.flat(Infinity).filter((c) => c || c === 0);
  const keys = wanted.map(nodeKey);
  const have = new Map();
  const asked = new Set(keys);
  for (const child of [...parent.childNodes]) {
    if (child.patchedKey !== undefined && asked.has(child.patchedKey) && !have.has(child.patchedKey)) {
      have.set(child.patchedKey, child);
    } else {
      child.remove();
    }
  }
  let cursor = parent.firstChild;
  wanted.forEach((item, index) => {
    const element = have.get(keys[index]) || createNode(item);
    element.patchedKey = keys[index];
    if (element === cursor) cursor = cursor.nextSibling;
    else parent.insertBefore(element, cursor);
    if (typeof item !== "object") {
      if (element.data !== String(item)) element.data = String(item);
    } else {
      // Options must stand before a select takes its value.
      patchChildren(element, item.children);
      patchAttributes(element, item.attributes);
    }
  });
}
