/* Keeps one whole edition of the handbook on the device, and answers from it with or without a network.
 *
 * An edition is taken whole or not at all: every file is compared with the hash that the edition's list gives for it.
 * Files that did not change are taken over from the edition before. A new edition waits until the reader asks for it,
 * so that no page changes under a lesson. Sheets and tables are kept when they are first opened. Nothing is asked of
 * another origin.
 */
"use strict";

const EDITION = "EDITION-NAME";
const ROOT = new URL("./", self.location);
const MINE = `rungbook ${ROOT.pathname} `;
const PAGES = `${MINE}edition ${EDITION}`;
const OPENED = `${MINE}opened`;
const AT_ONCE = 6;

const hex = (bytes) => [...new Uint8Array(bytes)].map((one) => one.toString(16).padStart(2, "0")).join("");
const addressOf = (path) => new URL(path.split("/").map(encodeURIComponent).join("/"), ROOT).href;
const listAddress = addressOf("edition.json");

let list = null;

/* The list of the edition that is kept here. */
async function kept() {
  if (list) return list;
  const found = await (await caches.open(PAGES)).match(listAddress);
  list = found ? await found.json() : null;
  return list;
}

async function fetched(path, hash) {
  const response = await fetch(addressOf(path), { cache: "no-cache" });
  if (!response.ok) throw new Error(`${path}: ${response.status}`);
  const bytes = await response.arrayBuffer();
  if (hex(await crypto.subtle.digest("SHA-256", bytes)) !== hash) throw new Error(`${path}: not of edition ${EDITION}`);
  const headers = { "Content-Type": response.headers.get("Content-Type") || "application/octet-stream", "X-Hash": hash };
  const policy = response.headers.get("Content-Security-Policy");
  if (policy) headers["Content-Security-Policy"] = policy;
  return new Response(bytes, { headers });
}

/* What earlier editions left here, by path and hash. */
async function unchanged(path, hash) {
  for (const name of await caches.keys()) {
    if (!name.startsWith(`${MINE}edition `) || name === PAGES) continue;
    const found = await (await caches.open(name)).match(addressOf(path));
    if (found && found.headers.get("X-Hash") === hash) return found;
  }
  return null;
}

async function install() {
  const response = await fetch(listAddress, { cache: "no-store" });
  if (!response.ok) throw new Error(`edition.json: ${response.status}`);
  const told = await response.clone().json();
  if (told.edition !== EDITION) throw new Error(`edition.json is of edition ${told.edition}, not ${EDITION}`);
  const cache = await caches.open(PAGES);
  const waiting = Object.entries(told.files);
  const take = async () => {
    for (let next = waiting.pop(); next; next = waiting.pop()) {
      const [path, hash] = next;
      const there = await cache.match(addressOf(path));
      if (there && there.headers.get("X-Hash") === hash) continue;
      await cache.put(addressOf(path), (await unchanged(path, hash)) || (await fetched(path, hash)));
    }
  };
  await Promise.all(Array.from({ length: AT_ONCE }, take));
  await cache.put(listAddress, response);
}

/* Past editions go, and so does every opened sheet that is another one in this edition. */
async function activate() {
  for (const name of await caches.keys()) {
    if (name.startsWith(`${MINE}edition `) && name !== PAGES) await caches.delete(name);
  }
  const told = await kept();
  const opened = await caches.open(OPENED);
  const now = new Map(Object.entries(told ? told.later : {}).map(([path, hash]) => [addressOf(path), hash]));
  for (const request of await opened.keys()) {
    const found = await opened.match(request);
    if (found.headers.get("X-Hash") !== now.get(request.url)) await opened.delete(request);
  }
  await self.clients.claim();
}

function pathOf(address) {
  const url = new URL(address);
  if (url.origin !== ROOT.origin || !url.pathname.startsWith(ROOT.pathname)) return null;
  let path;
  try {
    path = decodeURIComponent(url.pathname.slice(ROOT.pathname.length));
  } catch {
    return null;
  }
  return path === "" || path.endsWith("/") ? `${path}index.html` : path;
}

async function answer(request, path) {
  const told = await kept();
  if (!told) return fetch(request);
  if (Object.hasOwn(told.files, path)) {
    const found = await (await caches.open(PAGES)).match(addressOf(path));
    return found || fetch(request);
  }
  if (Object.hasOwn(told.later, path)) return opened(request, path, told.later[path]);
  try {
    return await fetch(request);
  } catch {
    return said(404, path, "This page is not in the edition that is kept on this device.");
  }
}

async function opened(request, path, hash) {
  const cache = await caches.open(OPENED);
  const found = await cache.match(addressOf(path));
  if (found) return found;
  let made;
  try {
    made = await fetched(path, hash);
  } catch (error) {
    if (!(error instanceof TypeError)) return fetch(request); // the server has another edition by now
    return said(503, path, "It was never opened on this device while there was a network, so it is not kept here.");
  }
  try {
    await cache.put(addressOf(path), made.clone());
  } catch {
    /* The device is full: the file is shown, and not kept. */
  }
  return made;
}

function said(status, path, why) {
  const plain = (text) => text.replace(/[&<>"']/g, (one) => `&#${one.charCodeAt(0)};`);
  const title = plain("Not kept on this device");
  const advice = plain("Connect to the network and open it once; from then on it opens without one.");
  const back = plain("Back to the handbook");
  const page =
    `<!doctype html><html lang="PAGE-LANGUAGE" dir="auto"><head><meta charset="utf-8"><title>${title}</title>` +
    '<meta name="viewport" content="width=device-width,initial-scale=1">' +
    `<link rel="stylesheet" href="${plain(addressOf("assets/rungbook/offline.css"))}"></head>` +
    `<body class="rb-not-kept"><main><h1>${title}</h1>` +
    `<p><strong>${plain(path)}</strong></p><p>${plain(why)}</p>` +
    `<p>${advice}</p>` +
    `<p><a href="${plain(ROOT.href)}index.html">${back}</a></p></main></body></html>`;
  return new Response(page, { status, headers: { "Content-Type": "text/html; charset=utf-8" } });
}

self.addEventListener("install", (event) => event.waitUntil(install()));
self.addEventListener("activate", (event) => event.waitUntil(activate()));
self.addEventListener("message", (event) => {
  if (event.data === "take") self.skipWaiting();
  if (event.data === "which" && event.ports[0]) event.ports[0].postMessage(EDITION);
});
self.addEventListener("fetch", (event) => {
  if (event.request.method !== "GET") return;
  const path = pathOf(event.request.url);
  if (path === null || path === "edition.json" || path === "service-worker.js") return;
  event.respondWith(answer(event.request, path));
});
