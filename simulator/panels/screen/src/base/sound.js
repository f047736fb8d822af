// Sounds made in the browser from the run itself: engine hum, exhaust, relief valve pops, a squealing belt, the hiss of a
// leak, water that churns, pulses or sprays. Off until asked for, and whatever sounds also stands as a line of words.

/** @typedef {ReturnType<typeof buildGraph>} Graph */

/** A gain that lets nothing through yet. @param {AudioContext} context */
function quietGain(context) {
  const gain = context.createGain();
  gain.gain.value = 0;
  return gain;
}

/** Two seconds of noise. @param {AudioContext} context */
function noiseOf(context) {
  const noise = context.createBuffer(1, context.sampleRate * 2, context.sampleRate);
  const data = noise.getChannelData(0);
  let seed = 20250;
  for (let k = 0; k < data.length; k += 1) {
    seed = (seed * 1664525 + 1013904223) >>> 0; // linear congruence (Numerical Recipes): the same hiss every time
    data[k] = seed / 2147483648 - 1;
  }
  return noise;
}

/** All sources, each behind a gain that is shut. @param {AudioContext} context */
function buildGraph(context) {
  const noise = noiseOf(context);
  const master = context.createGain();
  master.gain.value = 0.5;
  master.connect(context.destination);
  /** @param {number} frequency */
  const tone = (frequency) => {
    const source = context.createOscillator();
    source.type = "sawtooth";
    source.frequency.value = frequency;
    source.start();
    return source;
  };
  /**
   * An endless stream of noise through a filter; gives the gain that opens it.
   * @param {BiquadFilterType} type
   * @param {number} frequency
   * @param {number} quality
   */
  const stream = (type, frequency, quality) => {
    const source = context.createBufferSource();
    source.buffer = noise;
    source.loop = true;
    const filter = context.createBiquadFilter();
    filter.type = type;
    filter.frequency.value = frequency;
    filter.Q.value = quality;
    const gain = quietGain(context);
    source.connect(filter).connect(gain).connect(master);
    source.start();
    return gain;
  };
  const engine = tone(20);
  const engineGain = quietGain(context);
  const low = context.createBiquadFilter();
  low.type = "lowpass";
  low.frequency.value = 180;
  engine.connect(low).connect(engineGain).connect(master);
  const squealGain = quietGain(context);
  tone(1700).connect(squealGain).connect(master);
  return {
    context,
    noise,
    master,
    engine,
    engineGain,
    squealGain,
    hiss: stream("bandpass", 2400, 0.5),
    leak: stream("bandpass", 6200, 3),
    spray: stream("highpass", 3600, 0.7),
    water: stream("lowpass", 420, 0.7),
    gravel: stream("bandpass", 900, 6),
  };
}

export class YardSound {
  constructor() {
    this.on = false;
    /** @type {Graph | null} */
    this.graph = null;
    /** @type {number | null} */
    this.pops = null;
  }

  /**
   * Switch on or off; the first switch-on is a click, as browsers demand.
   * @param {boolean} on
   */
  async set(on) {
    this.on = on;
    if (on && !this.graph && globalThis.AudioContext) this.graph = buildGraph(new AudioContext());
    if (this.graph) await (on ? this.graph.context.resume() : this.graph.context.suspend());
  }

  /** @param {Graph} graph */
  pop({ context, noise, master }) {
    const burst = context.createBufferSource();
    burst.buffer = noise;
    const gain = context.createGain();
    gain.gain.setValueAtTime(0.9, context.currentTime);
    gain.gain.exponentialRampToValueAtTime(0.001, context.currentTime + 0.14);
    burst.connect(gain).connect(master);
    burst.start(0, Math.random(), 0.16);
  }

  /**
   * Follow what is heard at the shown moment.
   * @param {Heard} heard
   * @param {boolean} playing
   */
  follow(heard, playing) {
    const { graph } = this;
    if (!this.on || !graph || graph.context.state !== "running") {
      this.pops = heard.pops;
      return;
    }
    const now = graph.context.currentTime;
    const speed = playing ? heard.speed : 0;
    graph.engine.frequency.setTargetAtTime(20 + 40 * speed, now, 0.1);
    graph.engineGain.gain.setTargetAtTime(speed > 0.05 ? 0.14 : 0, now, 0.1);
    /**
     * @param {GainNode} gain
     * @param {number} level
     * @param {number} [quick]
     */
    const open = (gain, level, quick = 0.08) => gain.gain.setTargetAtTime(playing ? level : 0, now, quick);
    open(graph.hiss, 0.22 * heard.exhaust);
    open(graph.leak, heard.hiss && heard.hiss !== "quiet" ? 0.12 : 0);
    open(graph.spray, heard.spray || heard.wet ? 0.1 : 0);
    const beat = 0.5 + 0.5 * Math.sin(2 * Math.PI * 1.4 * now);
    const levels = /** @type {Record<string, number>} */ ({ churns: 0.5, pulses: 0.6 * beat, smooth: 0.12 });
    open(graph.water, levels[heard.pump ?? ""] || 0);
    open(graph.gravel, heard.pump === "rattles" ? 0.5 * Math.max(0, Math.sin(2 * Math.PI * 9 * now)) : 0, 0.01);
    open(graph.squealGain, heard.sound === "belt_squeal" ? 0.05 + 0.02 * beat : 0);
    if (playing && this.pops !== null && heard.pops > this.pops) this.pop(graph);
    this.pops = heard.pops;
  }

  close() {
    this.graph?.context.close();
    this.graph = null;
  }
}
