// The line to the wall, a window that belongs to no kernel. What goes over it was made for the wall by the kernel and is
// handed on as it is; the clock is added here.

const CLOCK_EVERY = 100; // ms between two words of a clock that runs as it should
const ALIVE_EVERY = 500; // ms between two of one that stands

export class WallLine {
  /**
   * @param {{ channel: string, words: object }} kit
   * @param {() => object} page what stands on the wall now
   * @param {(message: any) => void} hear what the wall asks for
   */
  constructor(kit, page, hear) {
    this.kit = kit;
    this.page = page;
    this.channel = new BroadcastChannel(kit.channel);
    this.last = { at: -Infinity, state: "", jump: "" };
    this.heardAt = -Infinity;
    this.channel.onmessage = ({ data }) => {
      if (data?.to !== "bench") return;
      this.heardAt = performance.now();
      if (data.kind === "hello") this.greet();
      hear(data);
    };
  }

  /** Whether a wall was heard a moment ago. */
  get open() {
    return performance.now() - this.heardAt < 2000;
  }

  /** All that a wall begins with. */
  greet() {
    this.last.state = "";
    this.post({
      kind: "begin",
      words: this.kit.words,
      theme: document.body.dataset.jpThemeLight ?? "",
      page: this.page(),
    });
  }

  sendPage() {
    this.post({ kind: "page", theme: document.body.dataset.jpThemeLight ?? "", page: this.page() });
  }

  /**
   * Samples for the wall, as the kernel made them.
   * @param {SamplesMessage} message
   * @param {Float32Array} floats
   */
  sendSamples(message, floats) {
    this.post({ kind: "samples", message, floats });
  }

  /**
   * Say the clock: at once where it leaps, is held or runs on, else now and then.
   * @param {RunPlayer} player
   * @param {number} now [ms]
   */
  sendClock(player, now) {
    const held = !player.playing;
    const state = [player.run, player.rate, held, held && player.time.toFixed(2)].join("|");
    const pause = held ? ALIVE_EVERY : CLOCK_EVERY;
    if (state === this.last.state && now - this.last.at < pause) return;
    this.last = { ...this.last, at: now, state };
    const { run, time, furthest, rate } = player;
    this.post({ kind: "clock", run, time, furthest, rate, held });
  }

  /** @param {object} message */
  post(message) {
    this.channel.postMessage({ to: "wall", ...message });
  }

  close() {
    this.post({ kind: "gone" });
    this.channel.close();
  }
}
