// Keeps a list fresh without reloading by hand, and keeps a tick that could not be sent until it can. A tick is signed by
// whoever tapped it: it waits until that person is signed in here again. What became of it is told.
(() => {
  const EVERY = 8000, KEY = "stillroom-ticks";
  let mark = null, busy = false, told = "";
  const live = () => document.getElementById("live");
  if (!live()) return;
  const lost = text => { const p = document.getElementById("link-lost"); if (p) { p.hidden = !text; p.textContent = text; } };
  const kept = () => { try { return JSON.parse(localStorage.getItem(KEY) || "[]"); } catch { return []; } };
  const keep = list => { try { localStorage.setItem(KEY, JSON.stringify(list)); } catch { /* no room: the page still says so */ } };
  const clock = () => new Date().toTimeString().slice(0, 5);
  const signedIn = () => document.querySelector(".rail .who")?.textContent.trim() || "";
  const mine = one => one.by === undefined || one.by === signedIn();
  const others = () => [...new Set(kept().filter(one => !mine(one)).map(one => one.by))];
  const waits = () => others().length ? `A tick kept here is sent when ${others().join(" and ")} is signed in here again.` : "";
  const outside = answer => [401, 403].includes(answer.status) || new URL(answer.url).pathname === "/sign-in";  // signed out meanwhile
  const typing = () => live().contains(document.activeElement) && document.activeElement.matches("input, select, textarea") || [...live().querySelectorAll("form details[open] input")].some(i => i.value);
  const unfolded = () => [...live().querySelectorAll(".fold")].map(d => [d.id, d.open]);
  const unfold = folds => folds.forEach(([id, open]) => { const fold = document.getElementById(id); if (fold) fold.open = open; });
  const address = () => location.pathname.replace(/\/(tick|undo)$/, "") + location.search.replace(/([?&])said=[^&]*/, "$1");

  async function swap() {
    const answer = await fetch(address(), { headers: { accept: "text/html" } });
    if (!answer.ok) return;
    const page = new DOMParser().parseFromString(await answer.text(), "text/html"), fresh = page.getElementById("live");
    if (!fresh) return;
    const open = [...live().querySelectorAll("li details[open]")].map(d => d.closest("li").id), folds = unfolded();
    live().replaceWith(fresh);
    unfold(folds);
    open.forEach(id => id && document.getElementById(id)?.querySelector("details")?.setAttribute("open", ""));
  }
  async function sendKept() {
    const told = [], token = live().querySelector("[name=csrftoken]")?.value || "";
    for (const one of kept().filter(mine)) {
      const fields = one.fields.map(([name, value]) => [name, name === "csrftoken" && token ? token : value]);
      const answer = await fetch(one.to, { method: "POST", body: new URLSearchParams(fields) });
      if (answer.status >= 500 || outside(answer)) break;
      told.push(answer.ok ? new URL(answer.url).searchParams.get("said") || "" : `A tick kept here at ${one.at || "an earlier time"} was not taken: look at the list, and tap again.`);
      keep(kept().filter(left => JSON.stringify(left) !== JSON.stringify(one)));
    }
    return told.join(" ");
  }
  async function look() {
    if (busy || document.hidden) return;
    busy = true;
    try {
      if (kept().some(mine)) { told = await sendKept(); mark = null; }
      const [path, query] = address().split("?");
      const answer = await fetch(path + ".json" + (query ? "?" + query : ""), { headers: mark ? { "if-none-match": mark } : {}, cache: "no-store" });
      lost([told, waits()].filter(Boolean).join(" "));
      if (answer.status === 200) {
        const fresh = answer.headers.get("etag"), said = await answer.json();
        if (said.version !== live().dataset.version && !typing()) { await swap(); lost([told, waits()].filter(Boolean).join(" ")); }
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
    told = "";
    if (button) button.disabled = true;
    const signed = fields.some(([name, value]) => name === "pin" && value), one = { to: form.action, fields, by: signedIn(), at: clock() };
    try {
      const answer = await fetch(form.action, { method: "POST", body: new URLSearchParams(fields) });
      if (outside(answer) && !signed) { keep([...kept(), one]); location.reload(); return; }
      const page = new DOMParser().parseFromString(await answer.text(), "text/html"), fresh = page.getElementById("live");
      if (fresh) { const folds = unfolded(); live().replaceWith(fresh); unfold(folds); mark = null; } else location.reload();
    } catch {
      if (signed) { lost(`No connection since ${clock()}: nothing was written. Sign again when it is back.`); if (button) button.disabled = false; return; }
      keep([...kept(), one]);
      lost(`No connection since ${clock()}: the list may be old. ${kept().length} tick kept here, sent when it is back.`);
      form.closest("li").classList.add("kept");
      if (button) button.textContent = "Kept";
    }
  });
  addEventListener("beforeprint", () => document.querySelectorAll(".fold").forEach(fold => { fold.open = true; }));  // an older browser prints what is folded as a line
  addEventListener("online", look);
  document.addEventListener("visibilitychange", look);
  setInterval(look, EVERY);
  look();
})();
