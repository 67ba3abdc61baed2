// The page for shooting opens on this device where the server is out of reach, even from a closed tab.
//
// - of pages only the one for shooting that was seen last is kept, with its static files and the picture on it, and the
//   guide, which has nothing of the records in it
// - the server is asked first; what is kept stands in for it where it does not answer, and says that it does
// - where the server says that there is no such page, or none for this reader, what was kept of it is forgotten
//
// VERSION, the version of all static files, stands before this as it is served: with them comes another worker, which
// forgets what the one before kept. Browsers run a worker on https and on this machine alone; elsewhere there is none.

const CACHE = `stopledger ${VERSION}`;
const GUIDE = "/guide";
const PAGE = /^\/shots\/[^/]+$/;
// A network that neither carries nor refuses would leave the screen empty for minutes.
const PATIENCE_MS = 4000;

const pathOf = (request) => new URL(request.url).pathname;
const kept = async () => {
  const cache = await caches.open(CACHE);
  const page = (await cache.keys()).find((each) => PAGE.test(pathOf(each)));
  return { cache, page };
};

// The copy says of itself when it was seen, so that nobody takes it for the page as it is now.
const keep = async (address, answer) => {
  const { cache, page } = await kept();
  const headers = new Headers(answer.headers);
  headers.delete("Content-Encoding");
  const text = (await answer.text()).replace("<html", `<html data-seen="${new Date().toISOString()}"`);
  if (page && page.url !== address) await cache.delete(page);
  await cache.put(address, new Response(text, { headers }));
};

// A sign-in that answers in the place of the page, and a page that is gone, are no reasons to show it still.
const isRefused = (answer) => answer.type === "opaqueredirect" || answer.redirected || (answer.status >= 400 && answer.status < 500);
const isAway = (answer) => [502, 503, 504].includes(answer.status);

const asked = async (request) => {
  const answer = await fetch(request);
  if (isAway(answer)) throw new TypeError("not in reach");
  return answer;
};

const shotPage = async (event) => {
  const copy = await (await kept()).cache.match(event.request.url);
  const late = new Promise((_, fail) => { if (copy) setTimeout(fail, PATIENCE_MS); });
  try {
    const answer = await Promise.race([asked(event.request), late]);
    if (isRefused(answer)) await caches.delete(CACHE);
    else if (answer.ok) event.waitUntil(keep(event.request.url, answer.clone()));
    return answer;
  } catch {
    return copy ?? Response.error();
  }
};

const keepGuide = async (cache, answer) => {
  const headers = new Headers(answer.headers);
  headers.delete("Content-Encoding");
  const text = await answer.text();
  for (const [address] of text.matchAll(/\/static\/[^"]+/g)) {
    if (!(await cache.match(address))) await cache.add(address);
  }
  await cache.put(GUIDE, new Response(text, { headers }));
};

// Without the server there is no search in it, and all of it is shown.
const guidePage = async (event) => {
  try {
    const answer = await asked(event.request);
    if (answer.ok && !new URL(event.request.url).search) {
      const copy = answer.clone();
      event.waitUntil(caches.open(CACHE).then((cache) => keepGuide(cache, copy)));
    }
    return answer;
  } catch {
    return (await caches.match(GUIDE)) ?? Response.error();
  }
};

// The home screen opens the front page: without the server, the page for shooting.
const frontPage = async (request) => {
  try {
    return await asked(request);
  } catch {
    const { page } = await kept();
    return page ? Response.redirect(page.url) : Response.error();
  }
};

const picture = async (request) => {
  try {
    return await fetch(request);
  } catch {
    return (await caches.match(request)) ?? Response.error();
  }
};

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const { origin, pathname } = new URL(request.url);
  // Whoever signs out leaves nothing behind; the taps that wait are the page's, and stay.
  if (pathname === "/sign-out") event.waitUntil(caches.delete(CACHE));
  if (request.method !== "GET" || origin !== self.location.origin) return;
  if (request.mode === "navigate") {
    if (PAGE.test(pathname)) event.respondWith(shotPage(event));
    else if (pathname === GUIDE) event.respondWith(guidePage(event));
    else if (pathname === "/") event.respondWith(frontPage(request));
  } else if (pathname.startsWith("/static/")) {
    // What stands under the address of a version never changes.
    event.respondWith(caches.match(request).then((file) => file ?? fetch(request)));
  } else if (request.destination === "image") event.respondWith(picture(request));
});

// The page that is open says, when something on it has changed, that it is to be kept, and what it is made with.
const keepOpenPage = async ({ page, files }) => {
  const answer = await asked(page);
  if (isRefused(answer)) {
    await caches.delete(CACHE);
    return;
  }
  const { cache } = await kept();
  for (const file of files) {
    if (!(await cache.match(file))) await cache.add(file);
  }
  for (const each of await cache.keys()) {
    if (each.url !== page && !files.includes(each.url) && !pathOf(each).includes(GUIDE)) await cache.delete(each);
  }
  await keep(page, answer);
  if (!(await cache.match(GUIDE))) await keepGuide(cache, await asked(GUIDE));
};
self.addEventListener("message", (event) => {
  // What cannot be fetched now is kept when the page changes next.
  if (PAGE.test(new URL(event.data.page).pathname)) event.waitUntil(keepOpenPage(event.data).catch(() => {}));
});

self.addEventListener("install", () => self.skipWaiting());
self.addEventListener("activate", (event) => {
  const forgetOthers = async () => {
    for (const name of await caches.keys()) if (name !== CACHE) await caches.delete(name);
    await self.clients.claim();
  };
  event.waitUntil(forgetOthers());
});
