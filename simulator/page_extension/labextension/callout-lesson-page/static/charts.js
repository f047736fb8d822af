// Plotly's own extension for JupyterLab is fetched with the first chart, not with the page: the server has taken it off the
// page's list (simulator/page_extension/charts.py) and says here where it lies.
const MIME = "application/vnd.plotly.v1+json";

/** What the server says of the extension it left out; null where it left none out. */
const leftOut = () => {
  const page = JSON.parse(document.getElementById("jupyter-config-data")?.textContent ?? "{}");
  if (!page.chartsExtension) return null;
  return { ...page.chartsExtension, folder: page.fullLabextensionsUrl };
};

const script = (address) =>
  new Promise((done, failed) => {
    const element = document.createElement("script");
    element.src = address;
    element.async = true;
    element.addEventListener("load", done);
    element.addEventListener("error", () => failed(new Error(`${address} did not come`)));
    document.head.append(element);
  });

/** The renderer factory of plotly's extension, fetched once. */
const fetched = async (scope) => {
  const { name, load, mimeExtension, folder } = leftOut();
  await script(`${folder}/${name}/${load}`);
  const container = window._JUPYTERLAB[name];
  await container.init(scope);
  const extension = (await container.get(mimeExtension))().default;
  return (Array.isArray(extension) ? extension[0] : extension).rendererFactory;
};

/**
 * Serve charts: `window.simulatorCharts.plotly()` gives plotly to the simulator's parts, and plotly figures in other
 * notebooks are still drawn, by the extension itself once it is there.
 */
export function serveCharts({ scope, rendermime, widgets }) {
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
    constructor(options) {
      super();
      this.options = options;
    }

    async renderModel(model) {
      this.inner ??= (await factory()).createRenderer(this.options);
      if (!this.inner.parent) this.addWidget(this.inner);
      await this.inner.renderModel(model);
    }
  }
  rendermime.addFactory({ safe: true, mimeTypes: [MIME], createRenderer: (options) => new Awaited(options) }, 0);
}

/** Where plotly's extension came with the page: a figure drawn nowhere brings the library out. */
const known = async (rendermime) => {
  const renderer = rendermime.createRenderer(MIME);
  await renderer.renderModel({ data: { [MIME]: { data: [], layout: {} } }, metadata: {}, trusted: true });
  renderer.dispose();
  return window.Plotly;
};
