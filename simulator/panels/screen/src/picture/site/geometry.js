// Geometry of the site picture: the hose's own profile laid out in metres, then in picture units.
import { clamp } from "../../base/numbers.js";

/**
 * Vertices [s, x, z] in metres from a profile of [s, z]: dx = sqrt(ds^2 - dz^2).
 * @param {HoseProfile} profile
 * @returns {Sample[]}
 */
export function profileVertices(profile) {
  /** @type {Sample[]} */
  const out = [[profile[0][0], 0, profile[0][1]]];
  for (let i = 1; i < profile.length; i += 1) {
    const ds = profile[i][0] - profile[i - 1][0];
    const dz = profile[i][1] - profile[i - 1][1];
    if (ds <= 0) continue;
    const dx = Math.sqrt(Math.max(0, ds * ds - dz * dz));
    out.push([profile[i][0], out[out.length - 1][1] + dx, profile[i][1]]);
  }
  return out;
}

/**
 * Round the corners as a hose does; samples [s, x, z] whose s stays that of the profile.
 * @param {Sample[]} vertices
 * @param {number} reach
 * @returns {Sample[]}
 */
export function roundedCorners(vertices, reach) {
  const out = [vertices[0]];
  for (let i = 1; i < vertices.length - 1; i += 1) {
    const [a, b, c] = [vertices[i - 1], vertices[i], vertices[i + 1]];
    const d = Math.min(reach, 0.45 * (b[0] - a[0]), 0.45 * (c[0] - b[0]));
    const before = d / (b[0] - a[0]);
    const after = d / (c[0] - b[0]);
    const p = [b[1] + (a[1] - b[1]) * before, b[2] + (a[2] - b[2]) * before];
    const q = [b[1] + (c[1] - b[1]) * after, b[2] + (c[2] - b[2]) * after];
    for (let k = 0; k <= 8; k += 1) {
      const u = k / 8;
      const v = 1 - u;
      out.push([
        b[0] - d + 2 * d * u,
        v * v * p[0] + 2 * u * v * b[1] + u * u * q[0],
        v * v * p[1] + 2 * u * v * b[2] + u * u * q[1],
      ]);
    }
  }
  out.push(vertices[vertices.length - 1]);
  return out;
}

/**
 * The line along samples [s, x, y] in picture units: point, direction and drawn length at s.
 * @param {any} samples
 */
export function courseAlong(samples) {
  const lengths = [0];
  for (let i = 1; i < samples.length; i += 1) {
    lengths.push(lengths[i - 1] + Math.hypot(samples[i][1] - samples[i - 1][1], samples[i][2] - samples[i - 1][2]));
  }
  const last = samples.length - 1;
  return {
    total: lengths[last],
    path: `M${samples.map((/** @type {any} */ p) => `${p[1].toFixed(2)},${p[2].toFixed(2)}`).join("L")}`,
    /**
     * A line from one place to another, so far beside the middle of the hose: below it where that is more than 0.
     * @param {number} from
     * @param {number} to
     * @param {number} beside
     */
    between(from, to, beside = 0) {
      const inner = samples.map((/** @type {any} */ p) => p[0]).filter((/** @type {number} */ s) => s > from && s < to);
      const points = [from, ...inner, to].map((s) => {
        const at = this.at(s);
        const a = (at.angle * Math.PI) / 180;
        return `${(at.x - Math.sin(a) * beside).toFixed(2)},${(at.y + Math.cos(a) * beside).toFixed(2)}`;
      });
      return `M${points.join("L")}`;
    },
    /** @param {number} s */
    at(s) {
      let low = 0;
      let high = last;
      while (high - low > 1) {
        const middle = (low + high) >> 1;
        if (samples[middle][0] <= s) low = middle;
        else high = middle;
      }
      const a = samples[low];
      const b = samples[high];
      const u = b[0] > a[0] ? clamp((s - a[0]) / (b[0] - a[0]), 0, 1) : 0;
      return {
        x: a[1] + (b[1] - a[1]) * u,
        y: a[2] + (b[2] - a[2]) * u,
        angle: (Math.atan2(b[2] - a[2], b[1] - a[1]) * 180) / Math.PI,
        length: lengths[low] + (lengths[high] - lengths[low]) * u,
      };
    },
  };
}

/**
 * Crest and following sag [s, s] of the first hump of a hose above the outside water, null without one: as the model has it.
 * @param {HoseProfile} profile
 * @returns {[number, number] | null}
 */
export function highSpot(profile) {
  for (let i = 1; i < profile.length - 1; i += 1) {
    const z = profile[i][1];
    if (!(z > 0 && profile[i + 1][1] < z && z > profile[i - 1][1])) continue;
    let j = i + 1;
    while (j + 1 < profile.length && profile[j + 1][1] <= profile[j][1]) j += 1;
    return [profile[i][0], profile[j][0]];
  }
  return null;
}

/**
 * Air that a high spot holds back, as drawn: from its crest on, as far as the water in the hose goes; null where there is none.
 * @param {[number, number] | null} spot
 * @param {number} trapped [m] of hose that it takes up
 * @param {number} front [m] where the water stands
 * @returns {[number, number] | null}
 */
export function pocketBetween(spot, trapped, front) {
  if (!spot || !(trapped > 0.02) || front <= spot[0]) return null;
  return [spot[0], Math.min(spot[0] + trapped, front)];
}

const WATER_WEIGHT = 9810; // N/m3: shades of air are no finer

/**
 * Pressure of standing water at a place of the hose over that outside: what air held there is at, as the model has it.
 * @param {Rig} rig
 * @param {number} s
 */
export function standingRatio(rig, s) {
  const vertex = rig.profile.find((p) => p[0] === s);
  const outside = rig.atmosphere_pa || 101325;
  return clamp(1 - (WATER_WEIGHT * (vertex ? vertex[1] : 0)) / outside, 0, 1);
}

/**
 * A line beside the vertices, on their lower right side, at a distance that may change along the way.
 * @param {Sample[]} vertices
 * @param {any} distance
 */
export function lineBeside(vertices, distance) {
  const count = vertices.length;
  /** @param {number} i */
  const normal = (i) => {
    const [, x0, z0] = vertices[i];
    const [, x1, z1] = vertices[i + 1];
    const size = Math.hypot(x1 - x0, z1 - z0) || 1;
    return [(z1 - z0) / size, -(x1 - x0) / size];
  };
  const out = [];
  for (let i = 0; i < count; i += 1) {
    const a = normal(Math.max(0, i - 1));
    const b = normal(Math.min(count - 2, i));
    const dot = a[0] * b[0] + a[1] * b[1];
    const grow = 1 / Math.max(0.35, 1 + dot);
    const d = distance(vertices[i][0]);
    out.push([vertices[i][1] + (a[0] + b[0]) * grow * d, vertices[i][2] + (a[1] + b[1]) * grow * d]);
  }
  return out;
}

/**
 * Where the water stands in the hose at rest: the first place at the outside level.
 * @param {HoseProfile} profile
 */
export function restingFront(profile) {
  for (let i = 1; i < profile.length; i += 1) {
    const [a, b] = [profile[i - 1], profile[i]];
    if (a[1] > 0) return a[0];
    if (b[1] > 0) return a[0] + ((b[0] - a[0]) * (0 - a[1])) / (b[1] - a[1]);
  }
  return profile[profile.length - 1][0];
}

/**
 * The smallest honest widening that makes a bore of so many units readable.
 * @param {number} bore
 * @param {number} wanted
 */
export function boreWidening(bore, wanted) {
  const steps = [1, 1.5, 2, 3, 4, 5, 6, 8];
  return steps.find((n) => bore * n >= wanted) || 8;
}

/**
 * Scale, margins and size of the site picture for a width and a greatest height, all from the rig's own data.
 * @param {Rig} rig
 * @param {number} width
 * @param {any} options
 */
export function siteLayout(rig, width, options) {
  const vertices = profileVertices(rig.profile);
  const end = vertices[vertices.length - 1];
  const heights = vertices.map((v) => v[2]);
  // the casing is drawn 0.72 m high at size 1: as high as this rig's own, walls and all
  const tall = rig.casing?.height_m ? (1.1 * rig.casing.height_m) / 0.72 : Math.sqrt(rig.bore_m / 0.15);
  const rigSize = clamp(tall, 0.65, 1.5);
  const stand = 0.55 * rigSize;
  const extent = {
    left: -Math.max(0.9, 0.1 * end[1]),
    right: end[1] + 2.75 * rigSize,
    bottom: Math.min(...heights, 0) - 0.75,
    top: Math.max(...heights, end[2] + 1.2 * rigSize, 0.6) + 0.45,
  };
  if (end[2] < 0) extent.bottom = Math.min(extent.bottom, end[2] - stand - 0.5);
  const pad = { left: 8, right: 8, top: 26, bottom: 26 };
  const roomRight = 104; // for the name of the lift beside its staff
  let scale = (width - pad.left - pad.right) / (extent.right - extent.left);
  /** @param {number} k */
  const needed = (k) => Math.max(0, roomRight - 2.3 * rigSize * k);
  scale = (width - pad.left - pad.right - needed(scale)) / (extent.right - extent.left);
  const high = extent.top - extent.bottom;
  const least = Math.max(200, 0.4 * width);
  const most = options.height || Math.max(320, Math.min(520, 0.95 * width));
  let height = options.height || clamp(high * scale + pad.top + pad.bottom, least, most);
  scale = Math.min(scale, (height - pad.top - pad.bottom) / high);
  height = Math.round(height);
  const used = (extent.right - extent.left) * scale + needed(scale);
  const spareX = Math.max(0, width - pad.left - pad.right - used);
  const spareY = Math.max(0, height - pad.top - pad.bottom - high * scale);
  const x0 = pad.left + Math.min(spareX, Math.max(spareX * 0.4, 100)) - extent.left * scale;
  const y0 = pad.top + spareY * 0.55 + extent.top * scale;
  return {
    width,
    height,
    scale,
    vertices,
    end,
    rigSize,
    stand,
    extent,
    x: (/** @type {number} */ m) => x0 + m * scale,
    y: (/** @type {number} */ m) => y0 - m * scale,
  };
}
