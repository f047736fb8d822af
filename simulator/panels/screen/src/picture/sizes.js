// What both pictures can be told beside what a frame shows: another height, another width, to go.
import { watchWidth } from "../base/dom.js";

/**
 * Draw a picture now and whenever its place gets another width, and what its owner may ask of it.
 * @param {HTMLElement} host
 * @param {HTMLElement} root that holds the drawing and its words
 * @param {HTMLElement} stage that holds the drawing alone
 * @param {{ height: number }} settings
 * @param {() => void} build draws it anew
 * @param {() => void} end what else is to be done when it goes
 */
export function drawnToSize(host, root, stage, settings, build, end) {
  build();
  const unwatch = watchWidth(host, build);
  return {
    resize: build,
    /** @param {number} height of the drawing itself [px] */
    setHeight(height) {
      if (height === settings.height) return;
      settings.height = height;
      build();
    },
    sizes: () => ({ cell: host.clientHeight, words: root.offsetHeight - stage.offsetHeight }),
    destroy() {
      unwatch();
      end();
      root.remove();
    },
  };
}
