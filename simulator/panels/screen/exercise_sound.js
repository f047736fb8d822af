// Sounds made in the browser from the run itself: engine hum, exhaust, relief valve pops, a squealing belt, the hiss of a
// leak, water that churns, pulses or sprays. Off until asked for, and whatever sounds also stands as a line of words.

class YardSound {
  constructor() {
    this.on = false;
    this.context = null;
    this.pops = null;
  }

  /** Switch on or off; the first switch-on is a click, as browsers demand. */
  async set(on) {
    this.on = on;
    if (on && !this.context) this.build();
    if (this.context) await (on ? this.context.resume() : this.context.suspend());
  }

  build() {
    const Context = globalThis.AudioContext || globalThis.webkitAudioContext;
    if (!Context) return;
    const context = (this.context = new Context());
    const noise = context.createBuffer(1, context.sampleRate * 2, context.sampleRate);
    const data = noise.getChannelData(0);
    let seed = 20250;
    for (let k = 0; k < data.length; k += 1) {
      seed = (seed * 1664525 + 1013904223) >>> 0; // linear congruence (Numerical Recipes): the same hiss every time
      data[k] = seed / 2147483648 - 1;
    }
    this.noise = noise;
    this.master = context.createGain();
    this.master.gain.value = 0.5;
    this.master.connect(context.destination);
    this.engine = context.createOscillator();
    this.engine.type = "sawtooth";
    this.engineGain = this.quiet(context);
    const low = context.createBiquadFilter();
    low.type = "lowpass";
    low.frequency.value = 180;
    this.engine.connect(low).connect(this.engineGain).connect(this.master);
    this.engine.start();
    this.hissGain = this.stream("bandpass", 2400, 0.5);
    this.leakGain = this.stream("bandpass", 6200, 3);
    this.sprayGain = this.stream("highpass", 3600, 0.7);
    this.waterGain = this.stream("lowpass", 420, 0.7);
    this.gravelGain = this.stream("bandpass", 900, 6);
    this.squeal = context.createOscillator();
    this.squeal.type = "sawtooth";
    this.squeal.frequency.value = 1700;
    this.squealGain = this.quiet(context);
    this.squeal.connect(this.squealGain).connect(this.master);
    this.squeal.start();
  }

  /** An endless stream of noise through a filter; gives the gain that opens it. */
  stream(type, frequency, quality) {
    const { context } = this;
    const source = context.createBufferSource();
    source.buffer = this.noise;
    source.loop = true;
    const filter = context.createBiquadFilter();
    filter.type = type;
    filter.frequency.value = frequency;
    filter.Q.value = quality;
    const gain = this.quiet(context);
    source.connect(filter).connect(gain).connect(this.master);
    source.start();
    return gain;
  }

  quiet(context) {
    const gain = context.createGain();
    gain.gain.value = 0;
    return gain;
  }

  pop() {
    const { context } = this;
    const burst = context.createBufferSource();
    burst.buffer = this.noise;
    const gain = context.createGain();
    gain.gain.setValueAtTime(0.9, context.currentTime);
    gain.gain.exponentialRampToValueAtTime(0.001, context.currentTime + 0.14);
    burst.connect(gain).connect(this.master);
    burst.start(0, Math.random(), 0.16);
  }

  /** Follow what is heard at the shown moment. */
  follow(heard, playing) {
    if (!this.on || !this.context || this.context.state !== "running") {
      this.pops = heard.pops;
      return;
    }
    const now = this.context.currentTime;
    const speed = playing ? heard.speed : 0;
    this.engine.frequency.setTargetAtTime(20 + 40 * speed, now, 0.1);
    this.engineGain.gain.setTargetAtTime(speed > 0.05 ? 0.14 : 0, now, 0.1);
    const open = (gain, level, quick = 0.08) => gain.gain.setTargetAtTime(playing ? level : 0, now, quick);
    open(this.hissGain, 0.22 * heard.exhaust);
    open(this.leakGain, heard.hiss && heard.hiss !== "quiet" ? 0.12 : 0);
    open(this.sprayGain, heard.spray || heard.wet ? 0.1 : 0);
    const beat = 0.5 + 0.5 * Math.sin(2 * Math.PI * 1.4 * now);
    open(this.waterGain, { churns: 0.5, pulses: 0.6 * beat, smooth: 0.12 }[heard.pump] || 0);
    open(this.gravelGain, heard.pump === "rattles" ? 0.5 * Math.max(0, Math.sin(2 * Math.PI * 9 * now)) : 0, 0.01);
    open(this.squealGain, heard.sound === "belt_squeal" ? 0.05 + 0.02 * beat : 0);
    if (playing && this.pops !== null && heard.pops > this.pops) this.pop();
    this.pops = heard.pops;
  }

  close() {
    this.context?.close();
    this.context = null;
  }
}
