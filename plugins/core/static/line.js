// Timers of the page beside the fire, several at once. Each is kept on this device as the moment it began with its own
// steps, so a reload, a locked screen or another page changes nothing. Without them the page is a table of clock times.
(() => {
  const KEY = "stillroom-timers", place = document.querySelector("[data-timer]");
  let memory = [], gone = null, said = "", awake = null;
  const read = () => { try { memory = JSON.parse(localStorage.getItem(KEY)) || []; } catch { /* this page only */ } return memory; };
  const keep = list => { memory = list; try { localStorage.setItem(KEY, JSON.stringify(list)); } catch { /* this page only */ } };
  const two = n => String(n).padStart(2, "0");
  const long = s => { const h = Math.floor(s / 3600), m = Math.floor(s % 3600 / 60); return h ? `${h}:${two(m)}:${two(s % 60)}` : `${m}:${two(s % 60)}`; };
  const clock = at => new Date(at).toTimeString().slice(0, 5);
  const make = (tag, text, as) => Object.assign(document.createElement(tag), { textContent: text, className: as || "" });
  const tap = (text, as, act) => { const b = make("button", text, as); b.type = "button"; b.addEventListener("click", act); return b; };
  const steps = place ? place.dataset.steps.split("|").map(text => { const cut = text.lastIndexOf(":"); return { word: text.slice(0, cut), s: Number(text.slice(cut + 1)) }; }) : [];
  const state = timer => {
    let from = 0;
    const passed = (Date.now() - timer.began) / 1000, now = timer.steps.find(step => { from += step.s; return passed < from; });
    return { now, left: now ? Math.max(0, Math.ceil(from - passed)) : 0, until: timer.began + from * 1000 };
  };
  const called = (timer, all) => all.filter(one => one.piece === timer.piece).length > 1 ? `${timer.name}, no. ${timer.no}` : timer.name;
  const box = document.querySelector("[data-left]"), list = document.querySelector("[data-running-list]");
  const cells = [...document.querySelectorAll(".clock tbody tr td:nth-child(2)")], planned = cells.map(cell => cell.textContent);
  const live = make("p", "", "unseen");
  live.setAttribute("aria-live", "polite");

  const start = () => {
    const all = read(), nos = all.filter(one => one.piece === place.dataset.timer).map(one => one.no);
    keep([...all, { key: `${Date.now()}-${all.length}`, piece: place.dataset.timer, name: place.dataset.name, no: Math.max(0, ...nos) + 1, began: Date.now(), steps }]);
    gone = null; draw();
  };
  const stop = key => { const all = read(); gone = all.find(one => one.key === key) || null; keep(all.filter(one => one.key !== key)); draw(); };
  const back = () => { if (gone) keep([...read(), gone]); gone = null; draw(); };

  const starter = place && tap("", "thumb", start), ender = place && tap("Stop the timer", "thumb quiet", () => { const one = mine(); if (one) stop(one.key); });
  if (place) place.append(starter, ender);
  (place || list.parentNode).append(live);
  const mine = () => place && read().filter(one => one.piece === place.dataset.timer).sort((a, b) => state(a).until - state(b).until)[0];

  const line = (timer, all) => {
    const item = make("li", ""), head = make("div", "", "head"), name = make("a", called(timer, all), "name"), left = make("b", "", "qty");
    name.href = `/doneness/line?piece=${encodeURIComponent(timer.piece)}`;
    left.dataset.leftOf = timer.key;
    head.append(name, left);
    const path = make("p", "", "path");
    path.dataset.wordsOf = timer.key;
    item.append(head, path, tap(`Stop ${called(timer, all)}`, "quiet", () => stop(timer.key)));
    return item;
  };
  const draw = () => {
    const all = read().sort((a, b) => state(a).until - state(b).until), one = mine();
    list.replaceChildren(...all.map(timer => line(timer, all)));
    if (gone) { const item = make("li", ""); item.append(make("span", `${gone.name} stopped. `), tap("Bring it back", "quiet", back)); list.prepend(item); }
    list.parentNode.hidden = !all.length && !gone;
    if (place) {
      starter.textContent = one ? "Another one in now: start" : `In the ${steps[0].word} now: start`;
      starter.className = one ? "thumb quiet" : "thumb";
      ender.hidden = box.hidden = !one;
    }
    hold(all.length > 0);
    show();
  };
  const show = () => {
    const all = memory, one = mine();
    let words = "";
    for (const timer of all) {
      const at = state(timer), left = list.querySelector(`[data-left-of="${timer.key}"]`), path = list.querySelector(`[data-words-of="${timer.key}"]`);
      if (!left) { draw(); return; }
      left.textContent = at.now ? long(at.left) : "over";
      path.textContent = `${at.now ? `Left in the ${at.now.word}, until ${clock(at.until)}. ` : "All steps have run. Probe it. "}Running since ${clock(timer.began)}.`;
      words += `${called(timer, all)}: ${at.now ? `now ${at.now.word}` : "the last step is over. Probe it"}. `;
    }
    if (words !== said) { if (said && all.length && navigator.vibrate) navigator.vibrate([300, 100, 300]); said = live.textContent = words; }
    if (!place) return;
    let end = 0;
    cells.forEach((cell, n) => { end += steps[n].s; cell.textContent = one ? clock(one.began + end * 1000) : planned[n]; });
    if (!one) return;
    const at = state(one);
    box.querySelector("[data-left-name]").textContent = at.now ? `Left in the ${at.now.word}` : "All steps have run";
    box.querySelector("[data-left-time]").textContent = long(at.left);
  };
  const hold = async wanted => { // the screen stays on while something runs, where the browser can
    try {
      if (wanted && !awake && document.visibilityState === "visible") { awake = await navigator.wakeLock.request("screen"); awake.addEventListener("release", () => { awake = null; }); }
      if (!wanted && awake) { await awake.release(); awake = null; }
    } catch { awake = null; }
  };
  document.addEventListener("visibilitychange", draw);
  window.addEventListener("storage", draw);
  setInterval(show, 500);
  draw();
})();
