// Plotly's own extension for JupyterLab is fetched with the first chart, not with the page: the server has taken it off the
// page's list (simulator/page_extension/charts.py) and says here where it lies.
const MIME = "application/vnd.plotly.v1+json";

/**
 * What the server says of the extension it left out; null where it left none out.
 * @returns {{ name: string, load: string, mimeExtension: string, folder: string } | null}
 */
const leftOut = () => {
  const page = JSON.parse(document.getElementById("jupyter-config-data")?.textContent ?? "{}");
  if (!page.chartsExtension) return null;
  return { ...page.chartsExtension, folder: page.fullLabextensionsUrl };
};

/** @param {string} address */
const script = (address) =>
  new Promise((done, failed) => {
    const element = document.createElement("script");
    element.src = address;
    element.async = true;
    element.addEventListener("load", done);
    element.addEventListener("error", () => failed(new Error(`${address} did not come`)));
    document.head.append(element);
  });

/**
 * The renderer factory of plotly's extension, fetched once.
 * @param {SharedScope} scope
 * @returns {Promise<RendererFactory>}
 */
const fetched = async (scope) => {
  const extension = leftOut();
  if (!extension) throw new Error("the server has left no charts out");
  const { name, load, mimeExtension, folder } = extension;
  await script(`${folder}/${name}/${load}`);
  const container = window._JUPYTERLAB[name];
  await container.init(scope);
  const plugin = (await container.get(mimeExtension))().default;
  return (Array.isArray(plugin) ? plugin[0] : plugin).rendererFactory;
};

/**
 * Serve charts: `window.simulatorCharts.plotly()` gives plotly to the simulator's parts, and plotly figures in other
 * notebooks are still drawn, by the extension itself once it is there.
 * @param {{ scope: SharedScope, rendermime: RenderMime, widgets: LuminoWidgets }} lab
 */
export function serveCharts({ scope, rendermime, widgets }) {
  /** @type {Promise<RendererFactory> | null} */
  let coming = null;
  const factory = () => {
    coming ??= fetched(scope).catch((error) => {
      coming = null; // the next chart tries again
      throw error;
    });
    return coming;
  };
  const plotly = async () => {
    if (window.Plotly) return window.Plotly;
    const renderer = (await factory()).createRenderer({ mimeType: MIME });
    const nothing = { data: { [MIME]: { data: [], layout: {} } }, metadata: {}, trusted: true };
    await renderer.renderModel(nothing); // the library comes with the first figure it draws
    renderer.dispose();
    return window.Plotly;
  };
  window.simulatorCharts = { plotly };
  if (leftOut() === null) {
    window.simulatorCharts.plotly = async () => window.Plotly ?? (await known(rendermime));
    return;
  }
  class Awaited extends widgets.Panel {
    /** @param {object} options */
    constructor(options) {
      super();
      this.options = options;
      /** @type {MimeRenderer | undefined} */
      this.inner = undefined;
    }

    /** @param {MimeModel} model */
    async renderModel(model) {
      this.inner ??= (await factory()).createRenderer(this.options);
      if (!this.inner.parent) this.addWidget(this.inner);
      await this.inner.renderModel(model);
    }
  }
  rendermime.addFactory({ safe: true, mimeTypes: [MIME], createRenderer: (options) => new Awaited(options) }, 0);
}

/**
 * Where plotly's extension came with the page: a figure drawn nowhere brings the library out.
 * @param {RenderMime} rendermime
 */
const known = async (rendermime) => {
  const renderer = rendermime.createRenderer(MIME);
  await renderer.renderModel({ data: { [MIME]: { data: [], layout: {} } }, metadata: {}, trusted: true });
  renderer.dispose();
  return window.Plotly;
};
