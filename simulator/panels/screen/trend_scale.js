// Axes of the curve: round steps, units, and the drawing of grid and names.

/** A round step that cuts a span into about so many parts. */
function trendStep(span, parts) {
  const raw = span / Math.max(1, parts);
  const power = Math.pow(10, Math.floor(Math.log10(raw)));
  for (const m of [1, 2, 5, 10]) if (m * power >= raw * 0.999) return m * power;
  return 10 * power;
}

/** A round step in seconds: 5, 15, 30, 60 ... as a clock is read. */
function trendTimeStep(span, parts) {
  const raw = span / Math.max(1, parts);
  for (const s of [1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 1200]) if (s >= raw * 0.999) return s;
  return 3600;
}

/** Shown units of the two strips. */
function trendUnits(words, system) {
  const us = system === "us";
  return {
    vacuum: us ? { name: words.unit_inhg, size: PALETTE_UNIT_SIZES.inhg, decimals: 1 } : { name: words.unit_kpa, size: PALETTE_UNIT_SIZES.kpa, decimals: 0 },
    pressure: us ? { name: words.unit_psi, size: PALETTE_UNIT_SIZES.psi, decimals: 0 } : { name: words.unit_bar, size: PALETTE_UNIT_SIZES.bar, decimals: 1 },
  };
}

/** First index whose time is greater than t. */
function trendAfter(times, t) {
  let low = 0;
  let high = times.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (times[middle] <= t) low = middle + 1;
    else high = middle;
  }
  return low;
}

/** Value at a time by straight lines between samples; NaN outside. */
function trendValue(times, values, t) {
  const count = Math.min(times.length, values.length);
  if (!count || t < times[0] - 1e-9 || t > times[count - 1] + 1e-9) return NaN;
  const i = Math.min(count - 1, Math.max(1, trendAfter(times, t)));
  if (count === 1) return values[0];
  const span = times[i] - times[i - 1];
  const u = span > 0 ? paletteClamp((t - times[i - 1]) / span, 0, 1) : 1;
  return values[i - 1] + (values[i] - values[i - 1]) * u;
}

/** Draw a line through samples between two times, at most a few points a pixel. */
function trendPath(context, times, values, from, to, x, y) {
  const end = Math.min(values.length, trendAfter(times, to));
  let i = Math.max(0, trendAfter(times, from) - 1);
  let pixel = -Infinity;
  let low = 0;
  let high = 0;
  let started = false;
  context.beginPath();
  for (; i < end; i += 1) {
    const v = values[i];
    if (!Number.isFinite(v)) {
      started = false;
      continue;
    }
    const px = x(times[i]);
    const py = y(v);
    if (!started) {
      context.moveTo(px, py);
      started = true;
    } else if (px - pixel < 0.6) {
      low = Math.min(low, py);
      high = Math.max(high, py);
      continue;
    } else {
      if (high - low > 1) {
        context.lineTo(pixel, low);
        context.lineTo(pixel, high);
      }
      context.lineTo(px, py);
    }
    pixel = px;
    low = py;
    high = py;
  }
  const tail = trendValue(times, values, to);
  if (started && Number.isFinite(tail)) context.lineTo(x(to), y(tail));
  context.stroke();
}
