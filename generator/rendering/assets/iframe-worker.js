/* Search that works in pages opened from a folder, and that forgives one slip of the fingers.
 *
 * The theme runs its search in a worker. A browser refuses workers for pages opened as files, so there the worker's
 * script runs in a hidden frame instead, and messages pass as events.
 *
 * Everywhere, a word that nothing in the handbook begins with is looked for once more with one letter wrong, missing,
 * added or swapped with its neighbor. A word that is found as it was typed is never loosened.
 *
 * English words that the index leaves out (lunr's own list of stop words) are left out of the question too. The theme
 * looks for each word as a beginning, so "the" would find "their" and "thenar".
 */
(() => {
  "use strict";

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

  /* Kinds of message between the theme and its worker. */
  const QUERY = 2;
  const RESULT = 3;
  /* Below four letters one edit makes nearly any word of nearly any other. */
  const SHORTEST = 4;
  /* Whoever types an operator says exactly what is wanted. */
  const OPERATORS = /[~^*+:"]/;

  const STOP_WORDS = new Set(
    (
      "a able about across after all almost also am among an and any are as at be because been but by can cannot could " +
      "dear did do does either else ever every for from get got had has have he her hers him his how however i if in " +
      "into is it its just least let like likely may me might most must my neither no nor not of off often on only or " +
      "other our own rather said say says she should since so some than that the their them then there these they this " +
      "tis to too twas us wants was we were what when where which while who whom why will with would yet you your"
    ).split(" "),
  );

  /* Without stop words, but for the last word: it may be the beginning of another. */
  const shortened = (query) => {
    if (OPERATORS.test(query) || !document.documentElement.lang.startsWith("en")) return query;
    const words = query.split(/\s+/).filter(Boolean);
    const kept = words.filter((word, place) => place === words.length - 1 || !STOP_WORDS.has(word.toLowerCase()));
    return kept.join(" ");
  };

  /* The query with one edit allowed in each word that found nothing, or null when every word found something. */
  const loosened = (query, items) => {
    if (OPERATORS.test(query)) return null;
    const found = new Set();
    for (const item of items.flat()) {
      for (const [term, is] of Object.entries(item.terms)) if (is) found.add(term);
    }
    const looked = items.length ? new Set(items.flat().flatMap((item) => Object.keys(item.terms))) : null;
    let changed = false;
    const words = query.toLowerCase().split(/[\s-]+/).filter(Boolean).map((word) => {
      const lost = !found.has(word) && (!looked || looked.has(word));
      if (!lost || word.length < SHORTEST || /\d/.test(word)) return word;
      changed = true;
      return `${word}~1`;
    });
    return changed ? words.join(" ") : null;
  };

  const Plain = window.location.protocol === "file:" ? FrameWorker : window.Worker;

  class ForgivingWorker extends EventTarget {
    constructor(address) {
      super();
      this.waiting = [];
      this.inside = new Plain(address);
      this.inside.addEventListener("message", (event) => this.receive(event.data));
      this.inside.addEventListener("error", (event) => this.send("error", { data: event.data ?? event.message }));
    }

    send(name, detail) {
      const event = new MessageEvent(name, detail);
      this.dispatchEvent(event);
      this[`on${name}`]?.(event);
    }

    postMessage(message) {
      if (message.type !== QUERY) return this.inside.postMessage(message);
      const query = shortened(message.data);
      this.waiting.push({ query });
      return this.inside.postMessage({ ...message, data: query });
    }

    /* Answers come in the order of the questions, so the first that waits is the one that is answered. */
    receive(message) {
      if (message.type !== RESULT) return this.send("message", { data: message });
      const { query, plain } = this.waiting.shift() ?? {};
      const again = plain || query === undefined ? null : loosened(query, message.data.items);
      if (again) {
        this.waiting.push({ query, plain: message });
        return this.inside.postMessage({ type: QUERY, data: again });
      }
      return this.send("message", { data: plain && !message.data.items.length ? plain : message });
    }

    terminate() {
      this.inside.terminate();
    }
  }

  window.Worker = ForgivingWorker;
})();
