// What the demonstration bench is to the notebook's widgets: one object with `render`.
import { renderBench } from "./bench/view.js";

export default { render: renderBench };
