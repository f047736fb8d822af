// Every kind of block a lesson may hold, and what draws it.
import { chartBlock, compareBlock } from "./chart.js";
import { classWallBlock } from "./class_wall.js";
import { deskBlock, deskKeysBlock, deskTextBlock, deskUseBlock } from "./desk.js";
import { fieldSheetBlock, printoutBlock, suspectsBlock } from "./field_sheet.js";
import { gaugeBlock, ideasBlock, pictureBlock, tourBlock } from "./figures.js";
import { filesBlock, formBlock } from "./form.js";
import { PLAIN_BLOCKS } from "./plain_blocks.js";
import { plannerBlock } from "./planner.js";
import { replayBlock } from "./replay.js";
import { filtersBlock, rowsBlock } from "./rows.js";
import { TAUGHT_BLOCKS } from "./taught_blocks.js";
import { takeFileBlock, workFileBlock } from "./work_file.js";

/** @type {BlockDrawers} */
export const BLOCK_KINDS = {
  ...PLAIN_BLOCKS,
  ...TAUGHT_BLOCKS,
  carry: workFileBlock,
  chart: chartBlock,
  class_wall: classWallBlock,
  compare: compareBlock,
  desk: deskBlock,
  desk_keys: deskKeysBlock,
  desk_text: deskTextBlock,
  desk_use: deskUseBlock,
  field: fieldSheetBlock,
  files: filesBlock,
  filters: filtersBlock,
  form: formBlock,
  gauge: gaugeBlock,
  ideas: ideasBlock,
  picture: pictureBlock,
  planner: plannerBlock,
  printout: printoutBlock,
  replay: replayBlock,
  rows: rowsBlock,
  suspects: suspectsBlock,
  take_file: takeFileBlock,
  tour: tourBlock,
};
