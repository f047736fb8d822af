// A call of somebody's on the wall, a window that belongs to no kernel: it gets what the block was given for it, and no more.
import { node, patchChildren } from "../base/dom.js";
import { WallLine } from "../bench/wall_line.js";

const ALIVE = 500; // ms between two words to the wall

class ClassWall {
  /** @param {BlockSection} section */
  constructor(section) {
    this.section = section;
    this.url = "";
    /** @type {Window | null} */
    this.window = null;
    this.blocked = false;
    this.sent = "";
    /** @type {ClassWallBlock | undefined} */
    this.block = undefined;
    /** @type {WallLine | null} */
    this.line = null;
    this.ticking = setInterval(() => this.tell(), ALIVE);
  }

  /** @param {ClassWallBlock} block */
  take(block) {
    if (this.block && this.block.kit.channel !== block.kit.channel) this.close();
    this.block = block;
    this.line ??= new WallLine(
      block.kit,
      () => this.block?.page ?? {},
      (asked) => asked.kind === "hello" && this.hand(),
    );
    const state = `${block.page.run?.id}|${block.samples.count}|${block.shown}|${block.page.units}`;
    if (state !== this.sent) this.hand();
    this.sent = state;
    this.draw();
  }

  /** All that stands on the wall now. */
  hand() {
    const { block, line } = this;
    if (!line || !block) return;
    line.sendPage();
    const bytes = Uint8Array.from(atob(block.rows), (letter) => letter.charCodeAt(0));
    if (block.samples.run !== null) line.sendSamples(block.samples, new Float32Array(bytes.buffer));
    line.last.state = "";
    this.tell();
  }

  tell() {
    const { block, line } = this;
    if (!line || !block) return;
    const clock = { run: block.page.run?.id, time: block.shown, furthest: block.shown, rate: 1, playing: false };
    line.sendClock(/** @type {any} */ (clock), performance.now());
  }

  open() {
    if (!this.block) return;
    const { channel, document } = this.block.kit;
    this.url ||= URL.createObjectURL(new Blob([document], { type: "text/html" }));
    if (this.window && !this.window.closed) this.window.focus();
    else this.window = window.open(this.url, channel, "popup,width=1280,height=720");
    this.blocked = !this.window;
    this.draw();
  }

  draw() {
    if (!this.block) return;
    const { labels } = this.block;
    const said = this.blocked ? labels.blocked : labels.said;
    patchChildren(this.section, [
      node(
        "button",
        { key: "open", type: "button", class: "lesson-secondary", on: { click: () => this.open() } },
        labels.open,
      ),
      node("p", { key: "said" }, said),
    ]);
  }

  close() {
    this.line?.close();
    this.line = null;
  }

  destroy() {
    clearInterval(this.ticking);
    this.close();
    if (this.url) URL.revokeObjectURL(this.url);
  }
}

/**
 * @param {LessonView} view
 * @param {ClassWallBlock} block
 * @param {BlockSection} section
 */
export function classWallBlock(view, block, section) {
  section.lessonLive ??= new ClassWall(section);
  section.lessonLive.take(block);
}
