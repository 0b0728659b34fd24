// A page left open at the table learns within seconds that something is out: it asks, and loads itself anew when so.
(() => {
  const here = document.getElementById("out-now");
  if (!here) return;
  const EVERY = 6000;
  const typing = () => document.activeElement && document.activeElement.matches("input[type=text], input[type=search], textarea") && document.activeElement.value;
  async function look() {
    if (document.hidden) return;
    try {
      const answer = await fetch("/out.json", { cache: "no-store" });
      if (answer.ok && String((await answer.json()).version) !== here.dataset.version && !typing()) location.reload();
    } catch { /* no connection: the page's own date says how old it is */ }
  }
  addEventListener("online", look);
  document.addEventListener("visibilitychange", look);
  setInterval(look, EVERY);
})();
