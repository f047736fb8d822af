// Sounds made in the browser from the run itself: engine hum, exhaust hiss, relief valve pops. Off until asked for, and
// whatever sounds also stands as a line of words.

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
    const hiss = context.createBufferSource();
    hiss.buffer = noise;
    hiss.loop = true;
    const band = context.createBiquadFilter();
    band.type = "bandpass";
    band.frequency.value = 2400;
    band.Q.value = 0.5;
    this.hissGain = this.quiet(context);
    hiss.connect(band).connect(this.hissGain).connect(this.master);
    hiss.start();
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
    this.hissGain.gain.setTargetAtTime(playing ? 0.22 * heard.exhaust : 0, now, 0.08);
    if (playing && this.pops !== null && heard.pops > this.pops) this.pop();
    this.pops = heard.pops;
  }

  close() {
    this.context?.close();
    this.context = null;
  }
}
