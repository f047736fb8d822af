// The curve: suction vacuum, and under it the motive pressure, against seconds since the start.

/**
 * Make the curve in a host element.
 * options: {units: "metric"|"us", span_s, height, motive: bool, vacuum_high_pa, pressure_high_pa, onCursor(reading|null)}
 * Series are SI: vacuum in Pa below, motive pressure in Pa above the outside pressure.
 * Returns {setData, push, setShown, setBand, setStaticLift, setEarlier, setUnits, setSpan, setCursor, onCursor, resize, destroy}.
 */
function trendCreate(host, words, options) {
  const settings = { units: "metric", span_s: 60, motive: true, vacuum_high_pa: 8e4, pressure_high_pa: 10e5, ...(options || {}) };
  host.classList.add("palette", "trend");
  const root = paletteElement("div", "trend-root", host);
  const head = paletteElement("div", "trend-head", root);
  const title = paletteElement("strong", "trend-title", head);
  const buttons = paletteElement("div", "trend-buttons", head);
  const stage = paletteElement("div", "trend-stage", root);
  const canvas = paletteElement("canvas", "trend-canvas", stage);
  const readout = paletteElement("div", "trend-readout", root);
  readout.setAttribute("aria-live", "polite");
  canvas.tabIndex = 0;
  canvas.setAttribute("role", "application");
  canvas.setAttribute("aria-roledescription", words.trend_role);
  const button = (label, spokenName, act) => {
    const node = paletteElement("button", "trend-button", buttons, label);
    node.type = "button";
    node.setAttribute("aria-label", spokenName);
    node.title = spokenName;
    node.addEventListener("click", act);
    return node;
  };
  button("+", words.zoom_in, () => zoom(0.5));
  button("\u2212", words.zoom_out, () => zoom(2));
  button(words.zoom_all, words.zoom_all_spoken, () => {
    view = null;
    ask();
  });

  let times = [];
  let vacuum = [];
  let motive = [];
  let shown = Infinity;
  let band = null;
  let lift = NaN;
  let earlier = [];
  let span = settings.span_s;
  let view = null; // zoomed window [from, to], null: from the start to the span
  let cursor = null;
  let drag = null;
  let waiting = 0;
  let colours = null;
  let units = trendUnits(words, settings.units);
  let plot = null;
  let cursorCallbacks = settings.onCursor ? [settings.onCursor] : [];
  let spokenAt = 0;

  function present() {
    return times.length ? Math.min(shown, times[times.length - 1]) : NaN;
  }

  function window_() {
    if (view) return view;
    const t = present();
    let to = span;
    if (Number.isFinite(t)) while (to < t - 1e-6) to *= 2;
    return [0, to];
  }

  function ask() {
    if (!waiting) {
      waiting = requestAnimationFrame(() => {
        waiting = 0;
        paint();
      });
    }
  }

  function readColours() {
    colours = {};
    for (const name of ["ink", "soft", "line", "water", "band", "lift", "air", "paper", "act"]) colours[name] = paletteColour(host, `--pal-${name}`);
    colours.family = getComputedStyle(host).fontFamily || "sans-serif";
  }

  function measure() {
    const width = Math.max(240, stage.clientWidth || 400);
    const height = settings.height || Math.round(paletteClamp(width * 0.56, 210, 380));
    const ratio = window.devicePixelRatio || 1;
    canvas.style.height = `${height}px`;
    canvas.width = Math.round(width * ratio);
    canvas.height = Math.round(height * ratio);
    const left = 44;
    const right = width - 12;
    const strip = settings.motive ? Math.round(paletteClamp(height * 0.22, 48, 80)) : 0;
    const bottom = height - 38;
    const mainBottom = settings.motive ? bottom - strip - 26 : bottom;
    plot = { width, height, ratio, left, right, top: 12, bottom: mainBottom, low: { top: bottom - strip, bottom }, foot: height };
  }

  function highVacuum() {
    const size = units.vacuum.size;
    let most = Math.max(settings.vacuum_high_pa, Number.isFinite(lift) ? lift * 1.15 : 0);
    const step = trendStep(most / size, 4);
    return { top: Math.ceil(most / size / step - 1e-9) * step * size, step };
  }

  function paint() {
    if (!plot) measure();
    if (!colours) readColours();
    const c = canvas.getContext("2d");
    const p = plot;
    c.setTransform(p.ratio, 0, 0, p.ratio, 0, 0);
    c.clearRect(0, 0, p.width, p.height);
    const font = (size, weight) => `${weight || ""} ${size}px ${colours.family}`;
    const [from, to] = window_();
    const x = (t) => p.left + ((t - from) / (to - from)) * (p.right - p.left);
    const high = highVacuum();
    const y = (v) => p.bottom - (v / high.top) * (p.bottom - p.top);
    const yLow = (v) => p.low.bottom - (v / settings.pressure_high_pa) * (p.low.bottom - p.low.top);
    p.x = x;
    p.from = from;
    p.to = to;
    c.lineWidth = 1;
    c.font = font(12.5);
    c.textBaseline = "middle";
    // grid and names
    const grid = (value, py, name) => {
      c.strokeStyle = colours.line;
      c.beginPath();
      c.moveTo(p.left, Math.round(py) + 0.5);
      c.lineTo(p.right, Math.round(py) + 0.5);
      c.stroke();
      c.fillStyle = colours.soft;
      c.textAlign = "right";
      c.fillText(name, p.left - 7, py);
    };
    for (const mark of dialMarks(0, high.top / units.vacuum.size, high.step)) grid(mark, y(mark * units.vacuum.size), paletteNumber(mark, high.step < 1 ? 1 : 0));
    if (settings.motive) {
      const most = settings.pressure_high_pa / units.pressure.size;
      const step = trendStep(most, 2);
      for (const mark of dialMarks(0, most, step)) grid(mark, yLow(mark * units.pressure.size), paletteNumber(mark, step < 1 ? 1 : 0));
    }
    const step = trendTimeStep(to - from, (p.right - p.left) / 72);
    const floor = settings.motive ? p.low.bottom : p.bottom;
    c.textAlign = "center";
    for (const mark of dialMarks(from, to, step)) {
      const px = Math.round(x(mark)) + 0.5;
      c.strokeStyle = colours.soft;
      c.beginPath();
      c.moveTo(px, floor);
      c.lineTo(px, floor + 5);
      c.stroke();
      c.fillStyle = colours.soft;
      c.fillText(paletteNumber(mark, 0), paletteClamp(px, p.left, p.right - 8), floor + 14);
    }
    c.textAlign = "right";
    c.fillText(band ? words.axis_time_band : words.axis_time, p.right, floor + 30);
    // curves
    c.save();
    c.beginPath();
    c.rect(p.left, p.top - 8, p.right - p.left, floor - p.top + 9);
    c.clip();
    if (band && band.length > 1) {
      c.fillStyle = colours.band;
      c.beginPath();
      band.forEach((b, i) => (i ? c.lineTo(x(b[0]), y(b[1])) : c.moveTo(x(b[0]), y(b[1]))));
      for (let i = band.length - 1; i >= 0; i -= 1) c.lineTo(x(band[i][0]), y(band[i][2]));
      c.closePath();
      c.fill();
    }
    if (Number.isFinite(lift) && lift > 0) {
      c.strokeStyle = colours.lift;
      c.lineWidth = 1.6;
      c.setLineDash([7, 5]);
      c.beginPath();
      c.moveTo(p.left, y(lift));
      c.lineTo(p.right, y(lift));
      c.stroke();
      c.setLineDash([]);
    }
    c.lineJoin = "round";
    c.lineWidth = 1.2;
    c.strokeStyle = colours.soft;
    for (const run of earlier) {
      trendPath(c, run.times, run.values, from, to, x, y);
    }
    const now = present();
    if (Number.isFinite(now)) {
      c.strokeStyle = colours.ink;
      c.lineWidth = 2.4;
      trendPath(c, times, vacuum, from, Math.min(now, to), x, y);
      if (settings.motive && motive.length) {
        c.lineWidth = 1.8;
        trendPath(c, times, motive, from, Math.min(now, to), x, yLow);
      }
    }
    c.restore();
    const texts = [];
    const write = (text, px, py, align, colour, weight) => {
      c.font = font(12.5, weight);
      const wide = c.measureText(text).width;
      let left = align === "right" ? px - wide : align === "center" ? px - wide / 2 : px;
      left = paletteClamp(left, p.left + 2, p.right - wide);
      c.textAlign = "left";
      c.lineJoin = "round";
      c.strokeStyle = colours.paper;
      c.lineWidth = 4;
      c.strokeText(text, left, py);
      c.fillStyle = colour;
      c.fillText(text, left, py);
      texts.push([left, py - 8, left + wide, py + 8]);
    };
    const free = (left, top, right, bottom) => !texts.some((t) => left < t[2] && right > t[0] && top < t[3] && bottom > t[1]);
    if (Number.isFinite(lift) && lift > 0) {
      const above = y(lift) - 10 > p.top - 4;
      write(words.static_lift, p.right, above ? y(lift) - 10 : y(lift) + 11, "right", colours.lift);
    }
    if (settings.motive) write(paletteFill(words.motive_axis, { unit: units.pressure.name }), p.left + 2, p.low.top - 11, "left", colours.soft);
    for (const run of earlier) {
      if (!run.label || !run.times.length) continue;
      const t = Math.min(to, run.times[run.times.length - 1]);
      const v = trendValue(run.times, run.values, t);
      if (!Number.isFinite(v)) continue;
      c.font = font(12.5);
      const wide = c.measureText(run.label).width;
      const right = paletteClamp(x(t), p.left + wide + 2, p.right);
      for (const dy of [-11, 12, -26, 27]) {
        const py = paletteClamp(y(v) + dy, p.top, p.bottom - 8);
        if (free(right - wide, py - 8, right, py + 8)) {
          write(run.label, right, py, "right", colours.soft);
          break;
        }
      }
    }
    if (Number.isFinite(now) && now >= from && now <= to) {
      const v = trendValue(times, vacuum, now);
      if (Number.isFinite(v)) {
        const px = x(now);
        const py = y(v);
        dot(c, px, py, 5, colours.ink);
        const text = label(v, now);
        c.font = font(13, 600);
        const wide = c.measureText(text).width;
        const places = [
          [px + 10, py + 15], [px + 10, py - 15], [px - 10 - wide, py - 15], [px - 10 - wide, py + 15], [px - wide, py - 32], [px - wide, py + 34],
        ];
        const fits = places.find(([a, b]) => a >= p.left + 2 && a + wide <= p.right && b > p.top - 6 && b < p.bottom - 4 && free(a, b - 8, a + wide, b + 8));
        const place = fits || places[2];
        write(text, place[0], paletteClamp(place[1], p.top, p.bottom - 9), "left", colours.ink, 600);
      }
      if (settings.motive && motive.length) {
        const m = trendValue(times, motive, now);
        if (Number.isFinite(m)) dot(c, x(now), yLow(m), 3.5, colours.ink);
      }
    }
    if (cursor !== null && cursor >= from && cursor <= to) {
      c.strokeStyle = colours.act;
      c.lineWidth = 1.5;
      c.beginPath();
      c.moveTo(x(cursor), p.top - 6);
      c.lineTo(x(cursor), floor);
      c.stroke();
      const v = trendValue(times, vacuum, cursor);
      if (cursor <= now && Number.isFinite(v)) ring(c, x(cursor), y(v));
    }
    if (drag && drag.zooming) {
      c.fillStyle = colours.act;
      c.globalAlpha = 0.16;
      c.fillRect(Math.min(drag.x, drag.to), p.top - 6, Math.abs(drag.to - drag.x), floor - p.top + 6);
      c.globalAlpha = 1;
    }
    if (performance.now() - spokenAt > 1000) speak();
  }

  function dot(c, px, py, r, colour) {
    c.fillStyle = colour;
    c.beginPath();
    c.arc(px, py, r, 0, 7);
    c.fill();
  }

  function ring(c, px, py) {
    c.fillStyle = colours.paper;
    c.strokeStyle = colours.act;
    c.lineWidth = 2;
    c.beginPath();
    c.arc(px, py, 4.5, 0, 7);
    c.fill();
    c.stroke();
  }

  function label(v, t) {
    return paletteFill(words.reading_at, { value: paletteNumber(v / units.vacuum.size, units.vacuum.decimals), unit: units.vacuum.name, t: paletteNumber(t, 0) });
  }

  function speak() {
    spokenAt = performance.now();
    const now = present();
    const v = trendValue(times, vacuum, now);
    const text = Number.isFinite(v) ? `${title.textContent}. ${label(v, now)}. ${words.trend_help}` : `${title.textContent}. ${words.trend_help}`;
    if (canvas.getAttribute("aria-label") !== text) canvas.setAttribute("aria-label", text);
  }

  function name() {
    title.textContent = paletteFill(words.vacuum_axis, { unit: units.vacuum.name });
  }

  function moveCursor(t) {
    if (t === null) {
      cursor = null;
      readout.textContent = "";
      cursorCallbacks.forEach((call) => call(null));
      ask();
      return;
    }
    const now = present();
    const limit = Number.isFinite(now) ? now : window_()[1];
    cursor = paletteClamp(t, Math.max(0, window_()[0]), Math.min(limit, window_()[1]));
    const v = trendValue(times, vacuum, cursor);
    const m = motive.length ? trendValue(times, motive, cursor) : NaN;
    const parts = [];
    if (Number.isFinite(v)) parts.push(label(v, cursor));
    if (Number.isFinite(m)) parts.push(paletteFill(words.motive_reading, { value: paletteNumber(m / units.pressure.size, units.pressure.decimals), unit: units.pressure.name }));
    for (const run of earlier) {
      const e = trendValue(run.times, run.values, cursor);
      if (run.label && Number.isFinite(e)) parts.push(paletteFill(words.earlier_reading, { label: run.label, value: paletteNumber(e / units.vacuum.size, units.vacuum.decimals), unit: units.vacuum.name }));
    }
    readout.textContent = parts.join(" · ");
    cursorCallbacks.forEach((call) => call({ t: cursor, vacuum: v, motive: m }));
    ask();
  }

  function zoom(factor) {
    const [from, to] = window_();
    const now = present();
    const centre = cursor !== null ? cursor : Number.isFinite(now) ? paletteClamp(now, from, to) : (from + to) / 2;
    const wide = Math.max(4, (to - from) * factor);
    const whole = (view = null) || window_()[1];
    if (wide >= whole) view = null;
    else {
      const start = paletteClamp(centre - wide / 2, 0, whole - wide);
      view = [start, start + wide];
    }
    ask();
  }

  function timeAt(event) {
    const box = canvas.getBoundingClientRect();
    const px = event.clientX - box.left;
    return { px, t: plot.from + ((px - plot.left) / (plot.right - plot.left)) * (plot.to - plot.from) };
  }

  canvas.addEventListener("pointerdown", (event) => {
    if (!plot || event.button > 0) return;
    const { px, t } = timeAt(event);
    drag = { x: px, to: px, t, zooming: false };
    if (canvas.setPointerCapture) canvas.setPointerCapture(event.pointerId);
    moveCursor(t);
  });
  canvas.addEventListener("pointermove", (event) => {
    if (!plot) return;
    const { px, t } = timeAt(event);
    if (drag && event.pointerType === "mouse") {
      drag.to = paletteClamp(px, plot.left, plot.right);
      drag.zooming = Math.abs(drag.to - drag.x) > 8;
      if (drag.zooming) {
        ask();
        return;
      }
    }
    if (drag || event.pointerType === "mouse") moveCursor(t);
  });
  const release = (event) => {
    if (drag && drag.zooming) {
      const a = timeAt(event).t;
      const from = Math.max(0, Math.min(a, drag.t, plot.to));
      const to = Math.min(plot.to, Math.max(a, drag.t));
      if (to - from >= 2) view = [from, to];
    }
    drag = null;
    ask();
  };
  canvas.addEventListener("pointerup", release);
  canvas.addEventListener("pointercancel", () => {
    drag = null;
    ask();
  });
  canvas.addEventListener("pointerleave", () => {
    if (!drag && document.activeElement !== canvas) moveCursor(null);
  });
  canvas.addEventListener("keydown", (event) => {
    const [from, to] = window_();
    const small = Math.max(0.1, Math.round((to - from) / 60));
    const steps = { ArrowLeft: -small, ArrowRight: small, PageUp: -10 * small, PageDown: 10 * small };
    const now = present();
    if (event.key in steps) moveCursor((cursor === null ? (Number.isFinite(now) ? now : from) : cursor) + steps[event.key]);
    else if (event.key === "Home") moveCursor(from);
    else if (event.key === "End") moveCursor(Number.isFinite(now) ? now : to);
    else if (event.key === "+" || event.key === "=") zoom(0.5);
    else if (event.key === "-") zoom(2);
    else if (event.key === "Escape") moveCursor(null);
    else return;
    event.preventDefault();
    event.stopPropagation();
  });
  canvas.addEventListener("blur", () => moveCursor(null));

  function pairs(points) {
    return { times: points.map((q) => q[0]), values: points.map((q) => q[1]) };
  }

  function resize() {
    measure();
    colours = null;
    paint();
  }

  name();
  resize();
  const unwatchWidth = paletteWatchWidth(stage, resize);
  const unwatchTheme = paletteWatchTheme(() => {
    colours = null;
    ask();
  });

  return {
    /** Replace the run: {time: [...], vacuum: [...], motive: [...]} (arrays or typed arrays; not copied). */
    setData(series) {
      times = (series && series.time) || [];
      vacuum = (series && series.vacuum) || [];
      motive = (series && series.motive) || [];
      ask();
    },
    /** Add samples [{t, vacuum, motive}] at the end. */
    push(samples) {
      if (!Array.isArray(times)) [times, vacuum, motive] = [Array.from(times), Array.from(vacuum), Array.from(motive)];
      for (const sample of samples) {
        times.push(sample.t);
        vacuum.push(sample.vacuum);
        motive.push(paletteFinite(sample.motive, NaN));
      }
      ask();
    },
    /** Draw the run only up to this second. */
    setShown(t) {
      if (t === shown) return;
      shown = t;
      ask();
    },
    /** Expected band of a sound rig: [[t, low_pa, high_pa], ...] or null. */
    setBand(points) {
      band = points;
      ask();
    },
    setStaticLift(pa) {
      lift = pa === null || pa === undefined ? NaN : pa;
      ask();
    },
    /** Earlier runs: [{label, points: [[t, pa], ...]}]. */
    setEarlier(list) {
      earlier = (list || []).map((run) => ({ label: run.label, ...pairs(run.points) }));
      ask();
    },
    setUnits(system) {
      units = trendUnits(words, system);
      name();
      ask();
    },
    setSpan(seconds) {
      span = seconds;
      view = null;
      ask();
    },
    setCursor: moveCursor,
    onCursor(callback) {
      cursorCallbacks.push(callback);
    },
    resize,
    destroy() {
      unwatchWidth();
      unwatchTheme();
      if (waiting) cancelAnimationFrame(waiting);
      cursorCallbacks = [];
      root.remove();
    },
  };
}
