// What a part of a lesson is to the notebook's widgets: one object with `render`, which the other parts share.
import { share } from "./base/shared_script.js";
import { renderLesson } from "./lesson/view.js";

export default share("SHARED_AS", { render: renderLesson });
