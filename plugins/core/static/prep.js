// Keeps a list fresh without reloading by hand, and keeps a tick that could not be sent until it can.
(() => {
  const EVERY = 8000, KEY = "stillroom-ticks";
  let mark = null, busy = false;
  const live = () => document.getElementById("live");
  if (!live()) return;
  const lost = text => { const p = document.getElementById("link-lost"); if (p) { p.hidden = !text; p.textContent = text; } };
  const kept = () => { try { return JSON.parse(localStorage.getItem(KEY) || "[]"); } catch { return []; } };
  const keep = list => { try { localStorage.setItem(KEY, JSON.stringify(list)); } catch { /* no room: the page still says so */ } };
  const clock = () => new Date().toTimeString().slice(0, 5);
  const typing = () => live().contains(document.activeElement) && document.activeElement.matches("input, select, textarea") || [...live().querySelectorAll("details[open] input")].some(i => i.value);
  const address = () => location.pathname.replace(/\/(tick|undo)$/, "") + location.search.replace(/([?&])said=[^&]*/, "$1");

  async function swap() {
    const answer = await fetch(address(), { headers: { accept: "text/html" } });
    if (!answer.ok) return;
    const page = new DOMParser().parseFromString(await answer.text(), "text/html"), fresh = page.getElementById("live");
    if (!fresh) return;
    const open = [...live().querySelectorAll("details[open]")].map(d => d.closest("li")?.id);
    live().replaceWith(fresh);
    open.forEach(id => id && document.getElementById(id)?.querySelector("details")?.setAttribute("open", ""));
  }
  async function sendKept() {
    const list = kept();
    while (list.length) {
      const answer = await fetch(list[0].to, { method: "POST", body: new URLSearchParams(list[0].fields), redirect: "manual" });
      if (answer.type !== "opaqueredirect" && answer.status >= 500) return;
      list.shift(); keep(list);
    }
  }
  async function look() {
    if (busy || document.hidden) return;
    busy = true;
    try {
      if (kept().length) { await sendKept(); mark = null; }
      const [path, query] = address().split("?");
      const answer = await fetch(path + ".json" + (query ? "?" + query : ""), { headers: mark ? { "if-none-match": mark } : {}, cache: "no-store" });
      lost("");
      if (answer.status === 200) {
        const fresh = answer.headers.get("etag"), said = await answer.json();
        if (said.version !== live().dataset.version && !typing()) await swap();
        if (said.version === live().dataset.version) mark = fresh;
      }
    } catch {
      const number = kept().length;
      if (document.getElementById("link-lost")?.hidden !== false) lost(`No connection since ${clock()}: the list may be old.` + (number ? ` ${number} tick kept here, sent when it is back.` : ""));
    } finally { busy = false; }
  }
  document.addEventListener("submit", async event => {
    const form = event.target.closest("form[data-tick]");
    if (!form) return;
    event.preventDefault();
    const fields = [...new FormData(form, event.submitter)], button = event.submitter;
    if (button) button.disabled = true;
    try {
      const answer = await fetch(form.action, { method: "POST", body: new URLSearchParams(fields) });
      const page = new DOMParser().parseFromString(await answer.text(), "text/html"), fresh = page.getElementById("live");
      if (fresh) { live().replaceWith(fresh); mark = null; } else location.reload();
    } catch {
      if (fields.some(([name, value]) => name === "pin" && value)) { lost(`No connection since ${clock()}: nothing was written. Sign again when it is back.`); if (button) button.disabled = false; return; }
      keep([...kept(), { to: form.action, fields }]);
      lost(`No connection since ${clock()}: the list may be old. ${kept().length} tick kept here, sent when it is back.`);
      form.closest("li").classList.add("kept");
      if (button) button.textContent = "Kept";
    }
  });
  addEventListener("online", look);
  document.addEventListener("visibilitychange", look);
  setInterval(look, EVERY);
  look();
})();
