// The wall: a page of its own that begins as soon as it is opened.
import { openWall } from "./wall/view.js";

const host = document.getElementById("wall");
if (host) openWall(host);
