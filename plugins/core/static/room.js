// The room is bright or dim: what this device was told last. Without a word the device's own setting counts.
(() => {
  const key = "stillroom-room", root = document.documentElement;
  let told = null;
  try { told = localStorage.getItem(key); } catch { /* a browser that keeps nothing: the switch lasts for the page */ }
  if (told === "dim" || told === "bright") root.dataset.room = told;
  document.addEventListener("DOMContentLoaded", () => {
    const rail = document.querySelector(".rail");
    if (!rail) return;
    const isDim = () => (root.dataset.room || (matchMedia("(prefers-color-scheme: dark)").matches ? "dim" : "bright")) === "dim";
    const button = document.createElement("button");
    button.type = "button";
    button.className = "room";
    const name = () => { button.textContent = isDim() ? "Bright" : "Dim"; button.setAttribute("aria-label", isDim() ? "Bright screen" : "Dim screen"); };
    button.addEventListener("click", () => {
      root.dataset.room = isDim() ? "bright" : "dim";
      try { localStorage.setItem(key, root.dataset.room); } catch { /* see above */ }
      name();
    });
    name();
    rail.append(button);
  });
})();
