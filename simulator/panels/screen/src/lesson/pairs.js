// Which blocks of a lesson stand side by side: questions beside what they are about.

export const STANDS_BESIDE = new Set(["chart", "dials", "picture", "replay"]); // what stands beside a question

const ASKS = new Set(["question", "expert"]);

const GOES_ON = new Set(["buttons", "notice"]); // what comes right after an answer

/**
 * For each block the number of the pair it stands in, questions beside what they are about; -1 for all others.
 * @param {BlockHead[]} blocks
 */
export function pairBlocks(blocks) {
  const pairs = blocks.map(() => -1);
  let count = 0;
  for (let i = 0; i < blocks.length; i += 1) {
    let end = i;
    while (end < blocks.length && (ASKS.has(blocks[end].kind) || STANDS_BESIDE.has(blocks[end].kind))) end += 1;
    if (!blocks.slice(i, end).some((block) => ASKS.has(block.kind))) continue;
    while (end < blocks.length && [ASKS, STANDS_BESIDE, GOES_ON].some((kinds) => kinds.has(blocks[end].kind))) end += 1;
    pairs.fill(count, i, end);
    count += 1;
    i = end - 1;
  }
  return pairs;
}
