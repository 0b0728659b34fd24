// Pages for when the kitchen can't be reached: the logbook's forms, the style, and the last allergen answers with their age.
// Always the kitchen's own answer first. An allergen answer older than four hours is not shown.
const KEPT = "stillroom-1", OLDEST_MS = 4 * 60 * 60 * 1000, PATIENCE_MS = 8000;
const FORMS = /^\/log(\/[a-z]+)?$/, ALLERGENS = /^\/guest$/, STATIC = /^\/-\/static-plugins\/stillroom\//;
const STAMP = "x-stillroom-kept";

self.addEventListener("install", event => event.waitUntil(self.skipWaiting()));
self.addEventListener("activate", event => event.waitUntil(self.clients.claim()));

const kept = path => FORMS.test(path) || ALLERGENS.test(path) || STATIC.test(path) || path === "/";
const inTime = request => {
  const stop = new AbortController(), timer = setTimeout(() => stop.abort(), PATIENCE_MS);
  return fetch(request, { signal: stop.signal }).finally(() => clearTimeout(timer));
};
const put = async (request, answer) => {
  const headers = new Headers(answer.headers);
  headers.set(STAMP, String(Date.now()));
  const body = await answer.clone().blob();
  await (await caches.open(KEPT)).put(request, new Response(body, { status: answer.status, headers }));
};
const forget = () => caches.delete(KEPT);

const page = (title, words, status) => new Response(
  `<!doctype html><html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1"><title>${title}</title>`
  + `<link rel="stylesheet" href="/-/static-plugins/stillroom/stillroom.css"></head><body><main><h1>${title}</h1><p>${words}</p>`
  + `<p><a class="button" href="/log">The logbook</a></p></main></body></html>`,
  { status, headers: { "content-type": "text/html; charset=utf-8" } });
const said = ms => { const minutes = Math.floor(ms / 60000); return minutes < 60 ? `${minutes} min` : `${Math.floor(minutes / 60)} h ${minutes % 60} min`; };

const fromStore = async request => {
  const path = new URL(request.url).pathname;
  const found = await caches.match(request, { cacheName: KEPT, ignoreSearch: FORMS.test(path), ignoreVary: true });
  if (!found) return page("No connection", "The kitchen can't be reached and this page was not kept here. Ask in person.", 503);
  const type = found.headers.get("content-type") || "";
  if (!type.includes("text/html")) return found;
  const at = Number(found.headers.get(STAMP)), age = Date.now() - at;
  if (ALLERGENS.test(path) && !(age >= 0 && age <= OLDEST_MS)) {
    return page("No allergen answer", "The kitchen can't be reached, and the answer kept here is more than 4 hours old. Do not answer a guest from it: ask the chef.", 503);
  }
  const words = ALLERGENS.test(path)
    ? `No connection. This answer is ${said(age)} old, from ${new Date(at).toTimeString().slice(0, 5)}. Something may have changed: confirm with the chef. It is not shown once it is 4 hours old.`
    : `No connection. This page is from ${new Date(at).toTimeString().slice(0, 5)}. What you write waits on this device.`;
  const text = (await found.text()).replace("<main>", `<aside class="banner kept" role="status" data-kept-at="${at}">${words}</aside><main>`);
  return new Response(text, { headers: { "content-type": "text/html; charset=utf-8", "content-security-policy": found.headers.get("content-security-policy") || "default-src 'self'" } });
};

// The first page and the logbook name the forms that should open without a connection.
self.addEventListener("message", event => {
  const paths = (event.data && event.data.keep || []).filter(path => typeof path === "string" && kept(path));
  event.waitUntil(Promise.all(paths.map(async path => {
    try {
      const answer = await inTime(path);
      if (answer.ok && !answer.redirected) await put(path, answer);
    } catch { /* next time */ }
  })));
});

self.addEventListener("fetch", event => {
  const { request } = event, url = new URL(request.url);
  if (url.origin !== self.location.origin) return;
  if (request.method !== "GET") {
    if (/sign|account/.test(url.pathname)) event.waitUntil(forget());  // another person may use this device next
    return;
  }
  if (!kept(url.pathname)) return;
  event.respondWith((async () => {
    let answer;
    try { answer = await inTime(request); } catch { return fromStore(request); }
    if (answer.ok && !answer.redirected) event.waitUntil(put(request, answer.clone()));
    return answer;
  })());
});
