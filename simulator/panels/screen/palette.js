// Small helpers shared by the drawings: SVG nodes, text templates, unit sizes, reading theme colours, motion preference.

const PALETTE_SVG = "http://www.w3.org/2000/svg";

/** Sizes of the shown units in Pa; their names stand in the catalogue. 1 inHg: conventional mercury, 3386.389 Pa. */
const PALETTE_UNIT_SIZES = { kpa: 1e3, bar: 1e5, inhg: 3386.389, psi: 6894.757 };

/** Make an SVG element with attributes, appended to a parent where one is given. */
function paletteNode(tag, attributes, parent) {
  const node = document.createElementNS(PALETTE_SVG, tag);
  for (const name in attributes || {}) node.setAttribute(name, attributes[name]);
  if (parent) parent.appendChild(node);
  return node;
}

/** Make an HTML element with a class and text. */
function paletteElement(tag, className, parent, content) {
  const node = document.createElement(tag);
  if (className) node.className = className;
  if (content !== undefined) node.textContent = content;
  if (parent) parent.appendChild(node);
  return node;
}

/** An SVG text node; a halo in the paper colour keeps it legible over lines. */
function paletteLabel(parent, x, y, content, attributes) {
  const node = paletteNode("text", { x, y, class: "pic-label", ...attributes }, parent);
  node.textContent = content;
  return node;
}

/** Fill "{name}" places of a sentence. */
function paletteFill(sentence, fields) {
  return String(sentence === undefined ? "" : sentence).replace(/\{(\w+)\}/g, (whole, key) =>
    fields && fields[key] !== undefined ? String(fields[key]) : whole
  );
}

/** A number for the eye: fixed decimals, true minus sign, no "-0". */
function paletteNumber(value, decimals) {
  if (!Number.isFinite(value)) return "–";
  let text = value.toFixed(decimals);
  if (Number(text) === 0) text = (0).toFixed(decimals);
  return text.replace("-", "\u2212");
}

function paletteClamp(value, low, high) {
  return value < low ? low : value > high ? high : value;
}

/** A finite number, else the fallback. */
function paletteFinite(value, fallback) {
  return typeof value === "number" && Number.isFinite(value) ? value : fallback;
}

/** Set an attribute only when it changes: keeps a frame free of needless style work. */
function paletteSetter(node, name) {
  let last = null;
  return (value) => {
    const text = typeof value === "number" ? String(Math.round(value * 100) / 100) : String(value);
    if (text !== last) {
      node.setAttribute(name, text);
      last = text;
    }
  };
}

/** Show or hide a node, touching it only on a change. */
function paletteToggle(node) {
  let last = null;
  return (shown) => {
    const on = Boolean(shown);
    if (on !== last) {
      if (on) node.removeAttribute("display");
      else node.setAttribute("display", "none");
      last = on;
    }
  };
}

/** Does the reader ask for still pictures? */
function paletteStill() {
  return typeof matchMedia === "function" && matchMedia("(prefers-reduced-motion: reduce)").matches;
}

/** The present value of a theme colour, for drawing on a canvas. */
function paletteColour(node, name) {
  return getComputedStyle(node).getPropertyValue(name).trim();
}

/** Call back when the theme may have changed; returns a function that stops watching. */
function paletteWatchTheme(callback) {
  const query = typeof matchMedia === "function" ? matchMedia("(prefers-color-scheme: dark)") : null;
  const observer = new MutationObserver(callback);
  observer.observe(document.documentElement, { attributes: true, attributeFilter: ["class", "data-jp-theme-light"] });
  if (document.body) {
    observer.observe(document.body, { attributes: true, attributeFilter: ["class", "data-jp-theme-light", "data-jp-theme-name"] });
  }
  if (query && query.addEventListener) query.addEventListener("change", callback);
  return () => {
    observer.disconnect();
    if (query && query.removeEventListener) query.removeEventListener("change", callback);
  };
}

/** Call back once a frame at most when the host's width changes; returns a function that stops watching. */
function paletteWatchWidth(host, callback) {
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

let paletteCount = 0;

/** A fresh id, so that two pictures on one page do not share patterns or clips. */
function paletteId(stem) {
  paletteCount += 1;
  return `palette-${stem}-${paletteCount}`;
}

/**
 * Dot patterns on a lattice of four places. Air is drawn with as many dots as its pressure has quarters of the outside
 * pressure, so thin air is literally thinner. Returns paint references: `whole[n]` has the first n dots (none for 0),
 * `next[n]` the one that comes after them.
 */
function paletteAirDots(defs, size) {
  const places = [
    [0.25, 0.25],
    [0.75, 0.75],
    [0.75, 0.25],
    [0.25, 0.75],
  ];
  const pattern = (dots) => {
    const id = paletteId("dots");
    const holder = paletteNode("pattern", { id, width: size, height: size, patternUnits: "userSpaceOnUse" }, defs);
    for (const [u, v] of dots) paletteNode("circle", { cx: u * size, cy: v * size, r: size * 0.085, class: "pic-dot" }, holder);
    return `url(#${id})`;
  };
  return { whole: ["none", ...places.map((unused, i) => pattern(places.slice(0, i + 1)))], next: places.map((place) => pattern([place])) };
}

/**
 * Shade of air by its pressure over the outside pressure: how much of the "thin" tint, of the "pressed" tint, how many
 * dots of four, and how strong the next one is.
 */
function paletteAirShade(ratio) {
  const r = paletteFinite(ratio, 1);
  const thin = paletteClamp((1 - r) / 0.85, 0, 1);
  return {
    thin: Math.pow(thin, 0.8),
    pressed: paletteClamp((r - 1) / 5, 0, 1),
    dots: paletteClamp(Math.floor(r * 4), 0, 4),
    next: r < 1 ? paletteClamp(r * 4 - Math.floor(r * 4), 0, 1) : 0,
  };
}

const PALETTE_SHADES = 64; // steps of pressure over the outside pressure: finer is not seen, and costs a picture each frame

/**
 * A body of air made of stacked layers over one shape; `make(className)` draws the shape once, `how` names what it is
 * painted by: "fill" or "stroke". A layer that is not seen is not drawn.
 */
function paletteAirBody(make, dots, how = "fill") {
  make("pic-air-full");
  const layer = (className) => {
    const node = make(className);
    return { paint: paletteSetter(node, how), strength: paletteSetter(node, `${how}-opacity`), show: paletteToggle(node) };
  };
  const [thin, pressed, whole, next] = ["pic-air-thin", "pic-air-pressed", "pic-air-dots", "pic-air-dots"].map(layer);
  let last = null;
  return (ratio) => {
    const step = Math.round(paletteFinite(ratio, 1) * PALETTE_SHADES);
    if (step === last) return;
    last = step;
    const shade = paletteAirShade(step / PALETTE_SHADES);
    whole.paint(dots.whole[shade.dots]);
    whole.show(shade.dots > 0);
    if (shade.next > 0) next.paint(dots.next[shade.dots]);
    for (const [one, strength] of [[thin, shade.thin], [pressed, shade.pressed], [next, shade.next]]) {
      one.show(strength > 0.004);
      one.strength(strength);
    }
  };
}

/**
 * A clock for moving parts. It advances with wall time, and only while the played time moves, so a held run stands
 * still and a run played at twenty times does not turn into flicker.
 */
function paletteMotion() {
  const still = paletteStill();
  let wall = null;
  let shown = null;
  return (t) => {
    const now = performance.now() / 1000;
    const step = wall === null || t === shown || still ? 0 : Math.min(0.1, Math.max(0, now - wall));
    wall = now;
    shown = t;
    return step;
  };
}

/**
 * Spoken names change at most once a second, or a screen reader would never finish; the last one is never lost.
 * `write` puts the name in place. Returns {say(), now(), stop()}; `now` is for what is new and has no name yet.
 */
function paletteSpeaker(write) {
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
