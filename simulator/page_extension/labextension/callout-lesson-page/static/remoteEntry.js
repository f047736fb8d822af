// The module container JupyterLab asks for. Written by hand: nothing is bundled, what JupyterLab shares is used as it is.
(() => {
  const name = "callout-lesson-page";
  const folder = new URL(".", /** @type {HTMLScriptElement} */ (document.currentScript).src).href;
  /** @type {SharedScope} */
  let scope;

  /**
   * A module that JupyterLab shares, in whatever version it has.
   * @param {string} module
   */
  const shared = async (module) => {
    const versions = Object.values(scope?.[module] || {});
    if (!versions.length) throw new Error(`JupyterLab does not share ${module}`);
    return (await versions[0].get())();
  };

  const plugin = async () => {
    const [notebook, apputils, rendering, widgets, page, charts] = await Promise.all([
      shared("@jupyterlab/notebook"),
      shared("@jupyterlab/apputils"),
      shared("@jupyterlab/rendermime"),
      shared("@lumino/widgets"),
      import(new URL("lesson_page.js", folder).href),
      import(new URL("charts.js", folder).href),
    ]);
    return {
      id: `${name}:plugin`,
      description: "Opens the simulator's own lessons as pages.",
      autoStart: true,
      requires: [notebook.INotebookTracker, rendering.IRenderMimeRegistry],
      activate: (
        /** @type {LabApp} */ app,
        /** @type {NotebookTracker} */ tracker,
        /** @type {RenderMime} */ rendermime,
      ) => {
        charts.serveCharts({ scope, rendermime, widgets });
        return page.activate({
          app,
          tracker,
          folder,
          NotebookActions: notebook.NotebookActions,
          Dialog: apputils.Dialog,
        });
      },
    };
  };

  window._JUPYTERLAB = window._JUPYTERLAB || {};
  window._JUPYTERLAB[name] = {
    init: (sharedScope) => {
      scope = sharedScope;
    },
    get: async (module) => {
      if (module !== "./extension") throw new Error(`${name} has no module ${module}`);
      const exported = { __esModule: true, default: await plugin() };
      return () => exported;
    },
  };
})();
