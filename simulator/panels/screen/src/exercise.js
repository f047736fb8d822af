// What the exercise screen is to the notebook's widgets: one object with `render`.
import { renderExercise } from "./exercise/view.js";

export default { render: renderExercise };
