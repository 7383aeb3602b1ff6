/* Tells which edition of the handbook is shown, keeps it on the device, and offers a newer one when there is one. */
(() => {
  "use strict";

  const ROOT = new URL("./", document.currentScript.src);
  const WORDS = {
    edition: "Edition",
    keeping: "It is being kept on this device, for use without a network …",
    kept: "It is kept on this device and opens without a network.",
    alone: "No network: this is the edition kept on this device. A newer one cannot be looked for.",
    lost: "It could not be kept on this device, so it needs a network.",
    newer: "A newer edition of this handbook is ready:",
    take: "Show it",
  };
  const HOUR = 3_600_000;

  const line = document.createElement("p");
  line.className = "rb-edition";
  line.setAttribute("role", "status");

  function tell(edition, state) {
    if (!edition) return;
    line.dataset.edition = edition;
    line.textContent = [`${WORDS.edition} ${edition}.`, state].filter(Boolean).join(" ");
    const place = document.querySelector(".md-copyright") || document.querySelector("footer") || document.body;
    if (!line.isConnected) place.append(line);
  }

  /* The edition that a page opened from a folder belongs to: a script, for a folder cannot be asked for anything else. */
  function fromFolder() {
    const script = document.createElement("script");
    script.src = new URL("edition.js", ROOT);
    script.addEventListener("load", () => tell(window.rungbookEdition, ""));
    document.head.append(script);
  }

  function which(worker) {
    return new Promise((resolve) => {
      const { port1, port2 } = new MessageChannel();
      port1.onmessage = (event) => resolve(event.data);
      worker.postMessage("which", [port2]);
    });
  }

  async function offer(worker) {
    const edition = await which(worker);
    document.querySelector(".rb-newer")?.remove();
    const bar = document.createElement("div");
    bar.className = "rb-newer";
    bar.setAttribute("role", "status");
    const text = document.createElement("span");
    text.textContent = `${WORDS.newer} ${edition}.`;
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = WORDS.take;
    button.addEventListener("click", () => {
      navigator.serviceWorker.addEventListener("controllerchange", () => window.location.reload(), { once: true });
      worker.postMessage("take");
    });
    bar.append(text, button);
    document.body.append(bar);
  }

  async function show(registration) {
    const active = registration.active;
    if (!active) return;
    tell(await which(active), navigator.onLine ? WORDS.kept : WORDS.alone);
  }

  function follow(registration) {
    const watch = (worker) => {
      worker?.addEventListener("statechange", () => {
        if (worker.state === "installed" && registration.active) offer(worker);
        if (worker.state === "activated") show(registration);
        if (worker.state === "redundant" && !registration.active) told(WORDS.lost);
      });
    };
    registration.addEventListener("updatefound", () => watch(registration.installing));
    watch(registration.installing);
    if (registration.waiting && registration.active) offer(registration.waiting);
    show(registration);
    const look = () => registration.update().then(() => show(registration), () => show(registration));
    look();
    setInterval(look, HOUR);
    window.addEventListener("online", look);
    window.addEventListener("offline", () => show(registration));
  }

  /* Before a worker holds an edition, the server tells which one it has. */
  async function told(state) {
    try {
      const list = await (await fetch(new URL("edition.json", ROOT), { cache: "no-cache" })).json();
      tell(list.edition, state);
    } catch {
      /* No network and nothing kept: this page is all there is. */
    }
  }

  async function start() {
    if (window.location.protocol === "file:") return fromFolder();
    if (!("serviceWorker" in navigator)) return told("");
    try {
      const registration = await navigator.serviceWorker.register(new URL("service-worker.js", ROOT));
      if (!registration.active) await told(WORDS.keeping);
      follow(registration);
    } catch {
      await told(WORDS.lost);
    }
  }

  if (document.readyState === "complete") start();
  else window.addEventListener("load", start);
})();
