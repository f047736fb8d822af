// What a part of a lesson is to the notebook's widgets: one object with `render`.
import { renderLesson } from "./lesson/view.js";

export default { render: renderLesson };
