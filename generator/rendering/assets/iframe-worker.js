/* Search in pages opened from a folder.
 *
 * The theme runs its search in a worker. A browser refuses workers for pages opened as files, so there the worker's
 * script runs in a hidden frame instead, and messages pass as events. On a server this does nothing.
 */
(() => {
  "use strict";

  if (window.location.protocol !== "file:") return;

  class FrameWorker extends EventTarget {
    constructor(address) {
      super();
      const frame = document.createElement("iframe");
      frame.hidden = true;
      frame.title = "Search";
      document.body.append(frame);
      this.inside = frame.contentWindow;
      const send = (name, detail) => {
        const event = new MessageEvent(name, detail);
        this.dispatchEvent(event);
        this[`on${name}`]?.(event);
      };
      this.inside.postMessage = (data) => send("message", { data });
      this.inside.importScripts = (...addresses) =>
        addresses.reduce((before, next) => before.then(() => this.load(next)), Promise.resolve());
      this.ready = this.load(new URL(address, window.location.href)).catch((error) => send("error", { data: error }));
    }

    load(address) {
      return new Promise((resolve, reject) => {
        const page = this.inside.document;
        const script = page.createElement("script");
        script.src = String(address);
        script.onload = () => resolve();
        script.onerror = () => reject(new Error(`${address} could not be loaded`));
        page.body.append(script);
      });
    }

    postMessage(data) {
      this.ready.then(() => this.inside.dispatchEvent(new MessageEvent("message", { data })));
    }

    terminate() {
      this.inside.frameElement?.remove();
    }
  }

  window.Worker = FrameWorker;
})();
