// What the page's extension uses of JupyterLab, as JupyterLab 4 hands it over, and what it puts on the window itself.
// Only what is used is described: the whole of JupyterLab's own types would be a hundred packages for a few names.

// ---- signals, widgets ------------------------------------------------------------------------------------------------

interface Signal<Sender, Args> {
  connect(call: (sender: Sender, args: Args) => void, self?: object): boolean;
  disconnect(call: (sender: Sender, args: Args) => void, self?: object): boolean;
}
interface LabWidget {
  readonly id: string;
  readonly node: HTMLElement;
  readonly isHidden: boolean;
  readonly isDisposed: boolean;
  readonly parent: LabWidget | null;
  readonly layout: LabLayout | null;
  readonly disposed: Signal<LabWidget, void>;
  hasClass(name: string): boolean;
  addClass(name: string): void;
  toggleClass(name: string, force?: boolean): boolean;
  hide(): void;
  show(): void;
  dispose(): void;
}
interface LabLayout {
  /** A list in the layouts of the lab's frame; in others a generator. */
  readonly widgets?: LabWidget[] | unknown;
}
interface LabShell extends LabWidget {
  readonly mode?: "single-document" | "multiple-document";
  readonly currentWidget: LabWidget | null;
  readonly currentChanged?: Signal<LabShell, unknown>;
}
interface LabApp {
  readonly shell: LabShell;
  readonly restored: Promise<unknown>;
}
interface LabDialog {
  readonly tracker: { forEach(call: (dialog: { reject(): void }) => void): void };
}

// ---- notebooks -------------------------------------------------------------------------------------------------------

interface CellModel {
  readonly type: "code" | "markdown" | "raw";
  getMetadata(key: string): any;
}
/** A notebook file of format 4, as far as it is read. */
interface NotebookContent {
  metadata: Record<string, unknown>;
  cells: {
    cell_type: string;
    source: string | string[];
    metadata: Record<string, unknown>;
    outputs?: object[];
    attachments?: object;
  }[];
}
interface NotebookModel {
  toJSON(): NotebookContent;
  readonly stateChanged: Signal<NotebookModel, unknown>;
  dirty: boolean;
  getMetadata(key: string): any;
}
interface Cell extends LabWidget {
  readonly model: CellModel;
}
interface Notebook extends LabWidget {
  readonly widgets: readonly Cell[];
  activeCellIndex: number;
  mode: "command" | "edit";
}
interface Kernel {
  readonly id: string;
  readonly status: string;
  readonly connectionStatus: string;
}
interface SessionContext {
  readonly session: { readonly kernel: Kernel | null } | null;
  readonly ready: Promise<void>;
  readonly statusChanged: Signal<SessionContext, string>;
  readonly kernelChanged: Signal<SessionContext, { oldValue: Kernel | null; newValue: Kernel | null }>;
  readonly connectionStatusChanged: Signal<SessionContext, string>;
  restartKernel(): Promise<void>;
  changeKernel(wanted: { name: string }): Promise<unknown>;
}
interface NotebookPanel extends LabWidget {
  readonly content: Notebook;
  readonly context: { readonly model: NotebookModel; readonly ready: Promise<void> };
  readonly sessionContext: SessionContext;
}
interface NotebookTracker {
  readonly currentWidget: NotebookPanel | null;
  readonly widgetAdded: Signal<NotebookTracker, NotebookPanel>;
  readonly currentChanged: Signal<NotebookTracker, NotebookPanel | null>;
  forEach(call: (panel: NotebookPanel) => void): void;
}
interface NotebookActions {
  runAll(notebook: Notebook, session: SessionContext): Promise<boolean>;
  readonly executed: Signal<unknown, { notebook: Notebook; cell: Cell }>;
}

// ---- rendering of outputs --------------------------------------------------------------------------------------------

interface MimeModel {
  data: Record<string, unknown>;
  metadata: object;
  trusted: boolean;
}
interface MimeRenderer extends LabWidget {
  renderModel(model: MimeModel): Promise<void>;
}
interface RendererFactory {
  safe: boolean;
  mimeTypes: string[];
  createRenderer(options: object): MimeRenderer;
}
interface RenderMime {
  createRenderer(mimeType: string): MimeRenderer;
  addFactory(factory: RendererFactory, rank?: number): void;
}
/** The module `@lumino/widgets`, as far as it is used. */
interface LuminoWidgets {
  Panel: new () => LabWidget & { addWidget(widget: LabWidget): void };
}

// ---- modules shared on the page --------------------------------------------------------------------------------------

/** What JupyterLab's parts share: module, then version, then how to get it. */
type SharedScope = Record<string, Record<string, { get(): Promise<() => any> }>>;
interface ModuleContainer {
  init(scope: SharedScope): unknown;
  get(module: string): Promise<() => any>;
}
interface Window {
  _JUPYTERLAB: Record<string, ModuleContainer>;
  Plotly?: unknown;
  simulatorCharts: { plotly(): Promise<unknown> };
}

// ---- the page's own --------------------------------------------------------------------------------------------------

/** `manifest.json`, written by manifest.py. */
interface Manifest {
  format: number;
  patience_s: number;
  lessons: { name: string; sha256: string }[];
  words: Record<string, Record<string, string>>;
}
interface PageKit {
  NotebookActions: NotebookActions;
  Dialog: LabDialog;
  words: Record<string, string>;
  /** Show the state of the page that is open on the document's body. */
  refresh(): void;
  /** Seconds after which a missing kernel is worth a sentence. */
  patience: number;
}
/** waiting for a kernel; running; ready; a cell failed; no kernel yet; kernel gone; no connection; not as released. */
type PageState = "waiting" | "running" | "ready" | "failed" | "late" | "dead" | "offline" | "changed";
