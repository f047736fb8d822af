// Elements of the page. A keyed patcher: the page is described anew at every change, the document keeps its nodes, its
// focus and its scroll positions. Attributes: `on` (event handlers), `set` (live properties), `key`, the rest as written.
// Text goes in as text nodes and attributes as attributes: nothing that is shown is ever read as markup.
import { SVG_SPACE } from "./svg.js";

/** @typedef {any} Patched A node of the document with what was last made of it. */

const SVG_TAGS = new Set(["svg", "g", "path", "line", "rect", "circle", "text", "polyline", "polygon", "title"]);

/**
 * Describe an element; children may be strings, descriptions, arrays of them, or null / false for nothing.
 * @param {string} tag
 * @param {Attributes | null} attributes
 * @param {...Children} children
 * @returns {Described}
 */
export function node(tag, attributes, ...children) {
  return { tag, attributes: attributes || {}, children: flatChildren(children) };
}

/**
 * @param {Children[]} children
 * @returns {Child[]}
 */
function flatChildren(children) {
  return /** @type {any[]} */ (children).flat(Infinity).filter((c) => c || c === 0);
}

/**
 * @param {Child} wanted
 * @param {number} index
 */
function nodeKey(wanted, index) {
  if (typeof wanted !== "object") return `text:${index}`;
  return `${wanted.tag}:${wanted.attributes.key ?? index}`;
}

/**
 * @param {Child} wanted
 * @returns {Patched}
 */
function createNode(wanted) {
  if (typeof wanted !== "object") return document.createTextNode(String(wanted));
  return SVG_TAGS.has(wanted.tag)
    ? document.createElementNS(SVG_SPACE, wanted.tag)
    : document.createElement(wanted.tag);
}

/**
 * @param {Patched} element
 * @param {Attributes} attributes
 */
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
    element.addEventListener(name, (/** @type {any} */ event) => element.patchedHandlers[name]?.(event));
  }
  for (const [name, value] of Object.entries(attributes.set || {})) {
    if (element[name] !== value) element[name] = value;
  }
  element.patchedAttributes = attributes;
}

/**
 * Make the children of `parent` equal to the description, moving as little as possible.
 * @param {Element} parent
 * @param {...Children} descriptions
 */
export function patchChildren(parent, ...descriptions) {
  const wanted = flatChildren(descriptions);
  const keys = wanted.map(nodeKey);
  /** @type {Map<string, Patched>} */
  const have = new Map();
  const asked = new Set(keys);
  for (const child of /** @type {Patched[]} */ ([...parent.childNodes])) {
    if (child.patchedKey !== undefined && asked.has(child.patchedKey) && !have.has(child.patchedKey)) {
      have.set(child.patchedKey, child);
    } else {
      child.remove();
    }
  }
  /** @type {ChildNode | null} */
  let cursor = parent.firstChild;
  wanted.forEach((item, index) => {
    const element = have.get(keys[index]) || createNode(item);
    element.patchedKey = keys[index];
    if (cursor && element === cursor) cursor = cursor.nextSibling;
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

/**
 * Make an HTML element with a class and text.
 * @template {keyof HTMLElementTagNameMap} T
 * @param {T} tag
 * @param {string} className
 * @param {Element | null} [parent]
 * @param {string} [content]
 * @returns {HTMLElementTagNameMap[T]}
 */
export function htmlElement(tag, className, parent, content) {
  const element = document.createElement(tag);
  if (className) element.className = className;
  if (content !== undefined) element.textContent = content;
  if (parent) parent.appendChild(element);
  return element;
}

/**
 * Call back once a frame at most when the host's width changes; returns a function that stops watching.
 * @param {HTMLElement} host
 * @param {() => void} callback
 */
export function watchWidth(host, callback) {
  let width = host.clientWidth;
  let waiting = 0;
  const observer = new ResizeObserver(() => {
    if (Math.abs(host.clientWidth - width) < 1 || waiting) return;
    waiting = requestAnimationFrame(() => {
      waiting = 0;
      width = host.clientWidth;
      if (width > 0) callback();
    });
  });
  observer.observe(host);
  return () => {
    observer.disconnect();
    if (waiting) cancelAnimationFrame(waiting);
  };
}

/**
 * Spoken names change at most once a second, or a screen reader would never finish; the last one is never lost.
 * `write` puts the name in place. Returns {say(), now(), stop()}; `now` is for what is new and has no name yet.
 * @param {() => void} write
 */
export function createSpeaker(write) {
  let last = -Infinity;
  let timer = 0;
  const speak = () => {
    timer = 0;
    last = performance.now();
    write();
  };
  return {
    say() {
      if (timer) return;
      const wait = 1000 - (performance.now() - last);
      if (wait <= 0) speak();
      else timer = setTimeout(speak, wait);
    },
    now() {
      clearTimeout(timer);
      speak();
    },
    stop() {
      clearTimeout(timer);
      timer = 0;
    },
  };
}
