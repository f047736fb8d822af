// Turns the simulator's own lessons, and no other notebook, into pages.
import { fingerprint, sources } from "./fingerprint.js";

/** @param {number} ms */
const sleep = (ms) => new Promise((done) => setTimeout(done, ms));
/** The waiting page, which stands there from the first bytes on, has had its time. */
const waited = () => document.getElementById("callout-waiting")?.remove();

class LessonPage {
  /**
   * @param {NotebookPanel} panel
   * @param {string} name
   * @param {PageKit} kit
   */
  constructor(panel, name, kit) {
    this.panel = panel;
    this.name = name;
    this.kit = kit;
    this.sources = sources(panel.context.model.toJSON());
    /** @type {PageState} */
    this.state = "waiting";
    this.round = 0; // grows with every new start: whatever an earlier start still reports is stale
    this.runs = 0;
    this.total = 0; // cells to run, and how many of them have
    this.done = 0;
    /** @type {ReturnType<typeof setTimeout> | undefined} */
    this.looking = undefined;
    this.bar = document.createElement("div");
    this.says = document.createElement("span");
    this.progress = document.createElement("progress");
    this.again = this.button("start_again", () => this.startAgain());
    this.reload = this.button("load_again", () => window.location.reload());
    this.code = this.button("show_code", () => this.showCode(!this.codeShown));
    this.layBar();
    // A part of the lesson has lost its kernel and somebody wants to go on: begin again here, without a reload.
    panel.node.addEventListener("simulator-continue", (event) => {
      event.preventDefault();
      if (!["waiting", "running"].includes(this.state)) this.startAgain();
    });
    panel.addClass("callout-lesson");
    panel.content.widgets.forEach((cell) => {
      const tags = cell.model.getMetadata("tags") || [];
      if (tags.includes("run-all-hint")) cell.addClass("callout-hint");
    });
    panel.sessionContext.statusChanged.connect(this.onStatus, this);
    panel.sessionContext.kernelChanged.connect(this.onKernel, this);
    panel.sessionContext.connectionStatusChanged.connect(this.onConnection, this);
    panel.context.model.stateChanged.connect(this.keepClean, this);
    kit.NotebookActions.executed.connect(this.onCell, this);
    panel.disposed.connect(() => {
      this.round += 1;
      kit.NotebookActions.executed.disconnect(this.onCell, this);
    });
    this.start("getting_ready");
  }

  /**
   * @param {string} key of its word
   * @param {() => void} act
   */
  button(key, act) {
    const node = document.createElement("button");
    node.type = "button";
    node.textContent = this.kit.words[key];
    node.addEventListener("click", act);
    return node;
  }

  layBar() {
    this.bar.className = "callout-bar";
    this.says.setAttribute("role", "status");
    this.progress.setAttribute("aria-hidden", "true");
    this.code.className = "callout-code";
    this.bar.append(this.progress, this.says, this.again, this.reload, this.code);
    // at the end of the page, where it covers nothing; while it has something to say it sticks to the window's foot
    const scroller = this.panel.content.node.querySelector(".jp-WindowedPanel-outer");
    (scroller ?? this.panel.content.node).append(this.bar);
  }

  get codeShown() {
    return this.panel.hasClass("callout-code-shown");
  }

  /** @param {boolean} shown */
  showCode(shown) {
    this.panel.toggleClass("callout-code-shown", shown);
    this.code.textContent = this.kit.words[shown ? "hide_code" : "show_code"];
    this.kit.refresh();
  }

  /**
   * @param {PageState} state
   * @param {string} [sentence]
   */
  tell(state, sentence = "") {
    this.state = state;
    this.says.textContent = sentence;
    this.progress.hidden = !["waiting", "running"].includes(state);
    this.again.hidden = !["late", "dead", "failed"].includes(state);
    this.reload.hidden = !["late", "offline"].includes(state);
    this.panel.node.dataset.lessonState = state;
    this.markEmpty();
    this.kit.refresh();
  }

  // Until the first part of the lesson is there, what is said stands in the middle of the page, not in a corner of nothing.
  markEmpty() {
    const empty = !this.codeShown && !this.panel.node.querySelector(".jp-OutputArea-output > *");
    this.panel.toggleClass("callout-empty", empty);
    clearTimeout(this.looking);
    if (empty && !this.panel.isDisposed) this.looking = setTimeout(() => this.markEmpty(), 100);
  }

  get idle() {
    const kernel = this.panel.sessionContext.session?.kernel;
    return kernel?.status === "idle" && kernel.connectionStatus === "connected";
  }

  /** Until the kernel says how it is, or a while has passed. */
  async statusOrPause() {
    const { statusChanged } = this.panel.sessionContext;
    /** @type {() => void} */
    let told = () => undefined;
    const said = new Promise((done) => {
      told = () => done(undefined);
      statusChanged.connect(told);
    });
    await Promise.race([said, sleep(100)]);
    statusChanged.disconnect(told);
  }

  /** @param {string} key of the sentence to show meanwhile */
  async start(key) {
    this.round += 1;
    const round = this.round;
    const { words } = this.kit;
    const late = performance.now() + 1000 * this.kit.patience;
    this.progress.removeAttribute("value");
    this.tell("waiting", words[key]);
    await this.panel.sessionContext.ready.catch(() => undefined);
    await sleep(0); // the widgets that are there already are asked for first
    while (round === this.round && !this.idle) {
      if (performance.now() > late && this.state === "waiting") this.tell("late", words.no_kernel);
      await this.statusOrPause();
    }
    if (round === this.round) await this.run(round);
  }

  /** @param {number} round */
  async run(round) {
    const { words, NotebookActions } = this.kit;
    const { panel } = this;
    if (sources(panel.context.model.toJSON()) !== this.sources) {
      this.showCode(true);
      this.tell("changed", words.changed);
      return;
    }
    this.total = panel.content.widgets.filter((cell) => cell.model.type === "code").length;
    this.done = 0;
    this.tell("running", words.getting_ready);
    const active = panel.content.activeCellIndex;
    const good = await NotebookActions.runAll(panel.content, panel.sessionContext).catch(() => false);
    if (round !== this.round || panel.isDisposed) return;
    panel.content.activeCellIndex = Math.max(active, 0);
    panel.content.mode = "command";
    this.keepClean();
    this.runs += 1;
    this.tell(good ? "ready" : "failed", good ? "" : words.failed);
  }

  /**
   * @param {unknown} _
   * @param {{ notebook: Notebook, cell: Cell }} executed
   */
  onCell(_, { notebook, cell }) {
    if (notebook !== this.panel.content || this.state !== "running" || cell.model.type !== "code") return;
    this.done += 1;
    this.progress.max = this.total;
    this.progress.value = this.done;
    this.says.textContent = this.kit.words.step;
  }

  /**
   * @param {unknown} _
   * @param {string} status
   */
  onStatus(_, status) {
    const { words } = this.kit;
    if (["autorestarting", "restarting"].includes(status)) this.start("starting_again");
    if (status === "dead") {
      this.round += 1;
      this.tell("dead", words.dead);
    }
  }

  /**
   * @param {unknown} _
   * @param {{ oldValue: Kernel | null, newValue: Kernel | null }} change
   */
  onKernel(_, { oldValue, newValue }) {
    if (oldValue && newValue && oldValue.id !== newValue.id) this.start("getting_ready");
  }

  /**
   * @param {unknown} _
   * @param {string} status
   */
  onConnection(_, status) {
    if (status === "disconnected") this.tell("offline", this.kit.words.offline);
    else if (status === "connected" && this.state === "offline") {
      this.tell("ready");
    }
  }

  async startAgain() {
    const { sessionContext } = this.panel;
    this.round += 1;
    this.tell("waiting", this.kit.words.starting_again);
    const kernel = sessionContext.session?.kernel;
    try {
      if (kernel && this.idle) this.start("starting_again");
      else if (kernel) await sessionContext.restartKernel();
      else await sessionContext.changeKernel({ name: "python3" });
    } catch {
      this.tell("dead", this.kit.words.dead);
      return;
    }
    if (this.state === "waiting") this.start("starting_again");
  }

  // JupyterLab reports kernel troubles in dialogs that need a click; the bar says them in the learner's words.
  dismissDialog() {
    if (!["waiting", "late", "dead", "offline"].includes(this.state)) return;
    this.kit.Dialog.tracker.forEach((dialog) => dialog.reject());
    if (this.state === "waiting" && !this.panel.sessionContext.session) this.tell("late", this.kit.words.no_kernel);
  }

  // A page is not a document being edited: leaving it must not ask whether to save.
  keepClean() {
    const { model } = this.panel.context;
    if (model.dirty && !this.codeShown) model.dirty = false;
  }
}

/**
 * Widgets saved in a notebook may bring code of their own, which would run as soon as the notebook is opened, whoever
 * made it and whether or not it is trusted. No notebook gets them back; running its cells makes them anew.
 * @param {NotebookModel} model
 */
function withoutSavedWidgets(model) {
  const { getMetadata } = model;
  model.getMetadata = (key) => (key === "widgets" ? undefined : getMetadata.call(model, key));
}

/**
 * Keys typed into a lesson are the lesson's own: JupyterLab's single-key commands would cut or insert cells.
 * @param {KeyboardEvent} event
 */
function quietKeys(event) {
  const { target } = event;
  if (!(target instanceof Element)) return;
  const panel = target.closest(".callout-lesson");
  if (!panel) return;
  const bare = !event.ctrlKey && !event.metaKey && !event.altKey;
  const page = !panel.classList.contains("callout-code-shown");
  // a lesson saved with its outputs would be none any more: its work is kept in the records, not in the file
  const save = page && (event.ctrlKey || event.metaKey) && event.key.toLowerCase() === "s";
  if (save) event.preventDefault();
  if (save || target.closest(".jp-OutputArea, .callout-bar") || (page && bare)) {
    target.setAttribute("data-lm-suppress-shortcuts", "true");
  }
}

/**
 * A double click would open a sentence of the lesson for editing.
 * @param {MouseEvent} event
 */
function quietDoubleClick(event) {
  const { target } = event;
  if (target instanceof Element && target.closest(".callout-lesson:not(.callout-code-shown) .jp-MarkdownCell")) {
    event.stopPropagation();
  }
}

/** In single-document mode the page stands alone: menus, side bars and status bar make room. */
class Chrome {
  /** @param {LabShell} shell */
  constructor(shell) {
    this.shell = shell;
    /** @type {Set<LabWidget>} */
    this.hidden = new Set();
  }

  /**
   * @param {LabLayout | null} [layout]
   * @returns {Generator<LabWidget>}
   */
  *parts(layout = this.shell.layout, depth = 0) {
    const widgets = layout?.widgets;
    if (!Array.isArray(widgets) || depth > 3) return;
    for (const part of widgets) {
      const edge = ["jp-top-panel", "jp-menu-panel", "jp-bottom-panel"].includes(part.id);
      if (edge || part.hasClass("jp-SideBar")) yield part;
      else yield* this.parts(part.layout, depth + 1);
    }
  }

  /** @param {boolean} away */
  set(away) {
    if (away) {
      for (const part of this.parts()) {
        if (part.isHidden) continue;
        part.hide();
        this.hidden.add(part);
      }
    } else {
      this.hidden.forEach((part) => part.show());
      this.hidden.clear();
    }
  }
}

/**
 * Called by JupyterLab when it starts.
 * @param {{ app: LabApp, tracker: NotebookTracker, folder: string, NotebookActions: NotebookActions, Dialog: LabDialog }} lab
 */
export async function activate({ app, tracker, folder, NotebookActions, Dialog }) {
  const style = document.createElement("link");
  style.rel = "stylesheet";
  style.href = new URL("lesson_page.css", folder).href;
  document.head.append(style);

  /** @type {Promise<Manifest>} */
  const loading = fetch(new URL("manifest.json", folder), { cache: "no-cache" }).then((answer) => answer.json());
  /** @type {WeakMap<LabWidget, LessonPage>} */
  const pages = new WeakMap();
  const chrome = new Chrome(app.shell);
  const openPage = () => {
    const open = app.shell.currentWidget ?? tracker.currentWidget;
    return open ? pages.get(open) : undefined;
  };

  const refresh = () => {
    const page = openPage();
    const body = document.body.dataset;
    const marks = page
      ? {
          lessonPage: page.name,
          lessonState: page.state,
          lessonReady: String(page.state === "ready"),
          lessonRuns: String(page.runs),
        }
      : { lessonPage: undefined, lessonState: undefined, lessonReady: undefined, lessonRuns: undefined };
    for (const [key, value] of Object.entries(marks)) {
      if (value === undefined) delete body[key];
      else body[key] = value;
    }
    chrome.set(page !== undefined && !page.codeShown && app.shell.mode === "single-document");
  };

  /** @param {NotebookPanel} panel */
  const look = async (panel) => {
    withoutSavedWidgets(panel.context.model);
    const [known] = await Promise.all([loading, panel.context.ready]);
    if (panel.isDisposed) return;
    const manifest = new Map(known.lessons.map((lesson) => [lesson.sha256, lesson.name]));
    const name = manifest.get(fingerprint(panel.context.model.toJSON()) ?? "");
    waited();
    if (name === undefined) return;
    const words = known.words[document.documentElement.lang] ?? known.words.en;
    const kit = { NotebookActions, Dialog, words, refresh, patience: known.patience_s };
    pages.set(panel, new LessonPage(panel, name, kit));
    refresh();
  };

  new MutationObserver((changes) => {
    const opened = changes.some((change) =>
      [...change.addedNodes].some((node) => node instanceof Element && node.matches(".jp-Dialog")),
    );
    const page = openPage();
    if (opened && page) page.dismissDialog();
  }).observe(document.body, { childList: true });
  window.addEventListener("keydown", quietKeys, true);
  window.addEventListener("dblclick", quietDoubleClick, true);
  tracker.widgetAdded.connect((_, panel) => look(panel));
  tracker.currentChanged.connect(refresh);
  app.shell.currentChanged?.connect(refresh);
  app.restored.then(refresh); // restoring the layout shows parts again
  tracker.forEach(look);
}
