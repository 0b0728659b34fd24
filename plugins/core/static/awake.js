// Keeps the screen awake while a recipe is read, where the browser can: it lets go when the page is left, and takes hold
// again when it is back in front.
(() => {
  const said = document.querySelector("[data-awake]");
  if (!said) return;
  const tell = text => { said.textContent = text; };
  if (!navigator.wakeLock) { tell("This browser lets the screen sleep: set the tablet's own time to sleep."); return; }
  const hold = async () => {
    if (document.visibilityState !== "visible") return;
    try {
      const lock = await navigator.wakeLock.request("screen");
      tell("The screen stays awake while this page is open.");
      lock.addEventListener("release", () => tell("The screen may sleep."));
    } catch { tell("This device lets the screen sleep just now (battery saver?)."); }
  };
  document.addEventListener("visibilitychange", hold);
  hold();
})();
