/* Stands in for the worker while the handbook is being edited: an earlier worker takes itself and its copies away. */
"use strict";

self.addEventListener("install", () => self.skipWaiting());
self.addEventListener("activate", (event) => {
  const away = async () => {
    const mine = `rungbook ${new URL(self.registration.scope).pathname} `;
    for (const name of await caches.keys()) if (name.startsWith(mine)) await caches.delete(name);
    await self.registration.unregister();
  };
  event.waitUntil(away());
});
