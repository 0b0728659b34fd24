// Timers of the page beside the fire. They are kept on this device as the moment they began, so a reload, a locked
// screen or another page changes nothing. Without them the page is a table of clock times.
(() => {
  const place = document.querySelector("[data-timer]");
  const key = id => `stillroom-timer-${id}`;
  const read = id => { try { return Number(localStorage.getItem(key(id))) || 0; } catch { return 0; } };
  const keep = (id, at) => { try { if (at) localStorage.setItem(key(id), String(at)); else localStorage.removeItem(key(id)); } catch { /* kept for this page only */ } };
  const two = n => String(n).padStart(2, "0");
  const said = s => { const h = Math.floor(s / 3600), m = Math.floor(s % 3600 / 60); return h ? `${h}:${two(m)}:${two(s % 60)}` : `${m}:${two(s % 60)}`; };
  for (const line of document.querySelectorAll("[data-running]")) {
    const at = read(line.dataset.running);
    if (at) line.prepend(Object.assign(document.createElement("b"), { textContent: `Running since ${new Date(at).toTimeString().slice(0, 5)}. ` }));
  }
  if (!place) return;
  const id = place.dataset.timer, box = document.querySelector("[data-left]");
  const steps = place.dataset.steps.split("|").map(text => { const cut = text.lastIndexOf(":"); return { word: text.slice(0, cut), s: Number(text.slice(cut + 1)) }; });
  const cells = [...document.querySelectorAll(".clock tbody tr td:nth-child(2)")];
  const planned = cells.map(cell => cell.textContent);
  let began = read(id);
  const start = document.createElement("button"), stop = document.createElement("button"), done = document.createElement("p");
  for (const button of [start, stop]) { button.type = "button"; button.className = "thumb"; place.append(button); }
  stop.className = "thumb quiet"; stop.textContent = "Stop the timer"; start.textContent = `In the ${steps[0].word} now: start`;
  done.setAttribute("aria-live", "polite"); place.append(done);
  const show = () => {
    start.hidden = Boolean(began); stop.hidden = box.hidden = !began;
    let end = 0;
    cells.forEach((cell, n) => { end += steps[n].s; cell.textContent = began ? new Date(began + end * 1000).toTimeString().slice(0, 5) : planned[n]; });
    if (!began) { done.textContent = ""; return; }
    const gone = (Date.now() - began) / 1000;
    let from = 0, now = steps.find(step => { from += step.s; return gone < from; });
    const words = now ? `Left in the ${now.word}` : "All steps have run";
    const name = box.querySelector("[data-left-name]");
    if (name.textContent !== words) { done.textContent = now ? `Now: ${now.word}` : "The last step is over. Probe it."; name.textContent = words; }
    box.querySelector("[data-left-time]").textContent = now ? said(Math.max(0, Math.ceil(from - gone))) : "0:00";
  };
  start.addEventListener("click", () => { began = Date.now(); keep(id, began); show(); });
  stop.addEventListener("click", () => { began = 0; keep(id, 0); show(); });
  document.addEventListener("visibilitychange", show);
  setInterval(show, 500);
  show();
})();
