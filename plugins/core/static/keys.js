// Large keys under a PIN's field, for wet hands. Without them the field is filled with the device's own keyboard.
(() => {
  for (const field of document.querySelectorAll("input[data-keys]")) {
    const pad = document.createElement("div");
    pad.className = "keys";
    pad.setAttribute("role", "group");
    pad.setAttribute("aria-label", "Keys for the PIN");
    const key = (word, does) => {
      const button = document.createElement("button");
      button.type = "button";
      button.textContent = word;
      button.addEventListener("click", does);
      pad.append(button);
    };
    const type = digit => () => { if (field.maxLength < 0 || field.value.length < field.maxLength) field.value += digit; };
    for (const digit of "123456789") key(digit, type(digit));
    key("Clear", () => { field.value = ""; });
    key("0", type("0"));
    key("One back", () => { field.value = field.value.slice(0, -1); });
    field.closest("label").after(pad);
    if (field.autofocus && matchMedia("(pointer: coarse)").matches) field.blur();
  }
})();
