// Entries that wait on this device while the kitchen can't be reached. Each keeps its own number and the moment it was
// made, and they are sent in order when the kitchen answers again. Without this script a form is sent as it is.
(() => {
  const STORE = "entries", AGAIN_MS = 15000, LONGEST_MS = 12000;
  const boxes = [...document.querySelectorAll("[data-waiting]")];
  const form = document.querySelector("form[data-queue]");
  let sending = false;

  const opened = new Promise((resolve, reject) => {
    const ask = indexedDB.open("stillroom", 1);
    ask.onupgradeneeded = () => ask.result.createObjectStore(STORE, { keyPath: "number", autoIncrement: true });
    ask.onsuccess = () => resolve(ask.result);
    ask.onerror = () => reject(ask.error);
  });
  const run = async (mode, work) => {
    const store = (await opened).transaction(STORE, mode).objectStore(STORE);
    return new Promise((resolve, reject) => {
      const ask = work(store);
      ask.onsuccess = () => resolve(ask.result);
      ask.onerror = () => reject(ask.error);
    });
  };
  const all = () => run("readonly", store => store.getAll());
  const number = () => [...crypto.getRandomValues(new Uint8Array(12))].map(n => n.toString(16).padStart(2, "0")).join("");
  const token = async () => {
    const answer = await fetch("/log/token.json", { redirect: "error" });
    return answer.ok ? (await answer.json()).token : null;
  };
  const send = async (address, fields) => {
    const stop = new AbortController(), timer = setTimeout(() => stop.abort(), LONGEST_MS);
    try {
      return await fetch(`${address}.json`, { method: "POST", body: new URLSearchParams(fields), signal: stop.signal, redirect: "error" });
    } finally { clearTimeout(timer); }
  };

  const element = (name, text, made = {}) => Object.assign(document.createElement(name), { textContent: text }, made);
  const clock = at => new Date(at).toTimeString().slice(0, 5);
  const show = async () => {
    const waiting = await all();
    for (const box of boxes) {
      box.replaceChildren();
      if (!waiting.length) continue;
      const words = waiting.length === 1 ? "1 entry waits on this device" : `${waiting.length} entries wait on this device`;
      box.append(element("p", `${words}. Not written down yet: sent when the kitchen answers.`, { className: "banner" }));
      const list = element("ul", "", { className: "ledger" });
      for (const entry of waiting) list.append(line(entry));
      box.append(list);
      box.setAttribute("role", "status");
    }
    document.documentElement.dataset.waiting = String(waiting.length);
  };
  const line = entry => {
    const item = element("li", "");
    item.append(element("span", `${entry.title}, ${clock(entry.madeAt)}`, { className: "name" }));
    if (anothers(entry)) item.append(element("p", `Written by ${entry.by}: it is sent when ${entry.by} is signed in here.`, { className: "path" }));
    if (!entry.why) return item;
    item.append(element("p", entry.why, { className: "bad" }));
    const typed = new URLSearchParams(entry.fields);
    for (const name of ["csrftoken", "pin", "sent-at"]) typed.delete(name);
    typed.set("made-at", new Date(entry.madeAt).toISOString());
    item.append(element("a", "Look at it", { href: `${entry.address}?${typed}`, className: "button quiet" }));
    const away = element("button", "Drop it", { type: "button", className: "quiet" });
    away.addEventListener("click", async () => { await run("readwrite", store => store.delete(entry.number)); await show(); });
    item.append(" ", away);
    return item;
  };

  // An entry is signed by whoever wrote it: it waits until that person is signed in here again.
  const signedIn = () => document.querySelector(".rail .who")?.textContent.trim() || "";
  const anothers = entry => Boolean(entry.by) && entry.by !== signedIn();
  const keep = async (address, title, fields) => {
    const kept = fields.filter(([name]) => name !== "pin" && name !== "csrftoken");
    await run("readwrite", store => store.add({ address, title, fields: kept, madeAt: Date.now(), by: signedIn(), why: "" }));
    await show();
  };
  const why = said => said.problem || Object.values(said.wrong || {})[0] || Object.values(said.ask || {})[0] || "It was not taken. Look at it.";

  // An entry that waited and was looked at is written now: it waits no longer.
  const forget = async fields => {
    const request = new URLSearchParams(fields).get("request");
    for (const entry of await all()) {
      if (new URLSearchParams(entry.fields).get("request") === request) await run("readwrite", store => store.delete(entry.number));
    }
  };

  const flush = async () => {
    if (sending) return;
    sending = true;
    try {
      const waiting = (await all()).filter(entry => !entry.why && !anothers(entry));
      if (!waiting.length) return;
      for (const entry of waiting) {
        const fresh = await token();
        if (fresh === null) return;
        const fields = [...entry.fields, ["csrftoken", fresh], ["made-at", new Date(entry.madeAt).toISOString()], ["sent-at", new Date().toISOString()]];
        const taken = await send(entry.address, fields);
        if (taken.status >= 500) return;
        const said = taken.ok ? await taken.json() : { problem: "You may not write this now. Sign in, and look at it." };
        if (said.written) await run("readwrite", store => store.delete(entry.number));
        else await run("readwrite", store => store.put({ ...entry, why: why(said) }));
        await show();
      }
    } catch { /* no connection: they go on waiting */ } finally { sending = false; }
  };

  if (form) form.addEventListener("submit", async event => {
    event.preventDefault();
    const button = form.querySelector("button.thumb"), fields = [...new FormData(form)];
    if (form.querySelector('input[name="made-at"]')) fields.push(["sent-at", new Date().toISOString()]);
    button.disabled = true;
    const address = new URL(form.action).pathname;
    let answer = null;
    try {
      answer = await send(address, fields);
      if (answer.status === 403) {  // the page is from another sign-in: its token is old, what was typed is not
        const fresh = await token();
        if (fresh !== null) answer = await send(address, fields.map(([name, value]) => [name, name === "csrftoken" ? fresh : value]));
      }
    } catch { answer = null; }
    if (answer && answer.ok) {
      const said = await answer.json().catch(() => ({}));
      if (said.written) { await forget(fields); location.assign(said.entry); return; }
    }
    if (answer && answer.status < 500) { button.disabled = false; form.submit(); return; }
    try { await keep(address, form.dataset.queue, fields); } catch { form.submit(); return; }
    form.reset();
    const request = form.querySelector('input[name="request"]');
    if (request) request.value = number();
    button.disabled = false;
    boxes[0]?.scrollIntoView();
  });

  // A page out of this device's store carries the number of the entry before it: another entry needs its own.
  const request = form && form.querySelector('input[name="request"]');
  if (request && document.querySelector("[data-kept-at]")) request.value = number();
  // Plain http: no worker, and pages that were closed stay closed.
  if ("serviceWorker" in navigator) {
    navigator.serviceWorker.register("/sw.js", { scope: "/" }).catch(() => {});
    const forms = [...document.querySelectorAll("[data-forms] a")].map(link => new URL(link.href).pathname);
    if (forms.length) navigator.serviceWorker.ready.then(worker => worker.active && worker.active.postMessage({ keep: [...new Set(forms), "/log"] }));
  }
  addEventListener("online", flush);
  setInterval(flush, AGAIN_MS);
  show().then(flush).catch(() => { /* a browser that keeps nothing: forms are sent as they are */ });
})();
