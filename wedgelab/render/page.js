"use strict";
(() => {
  const finder = document.getElementById("finder");
  if (finder === null) return;
  const rows = new Map(JSON.parse(document.getElementById("answers").textContent).map((row) => [row.target, row]));
  const target = document.getElementById("target");
  const slide = document.getElementById("slide");
  const found = document.getElementById("found");

  const part = (tag, name, text) => {
    const element = document.createElement(tag);
    element.className = name;
    element.textContent = text;
    return element;
  };

  const show = (wanted) => {
    const row = rows.get(String(wanted));
    if (row === undefined || row.wedge === "") {
      found.replaceChildren(part("b", "shot", `${wanted}: ${finder.dataset.none}`));
      return;
    }
    found.replaceChildren(
      part("b", "shot", `${row.wedge} ${row.swing}`),
      part("span", "share", `${row.chance} inside ${row.window}`),
      part("span", "small", `carry ${row.carry}, spin ${row.spin}, ${row.balls}`),
    );
    if (row.other !== "") found.append(part("span", "small", `or ${row.other}`));
  };

  slide.addEventListener("input", () => {
    target.value = slide.value;
    show(slide.value);
  });
  target.addEventListener("input", () => {
    const wanted = Math.round(Number(target.value));
    if (target.value === "" || !Number.isFinite(wanted)) return;
    slide.value = String(wanted);
    show(wanted);
  });
  finder.addEventListener("submit", (event) => event.preventDefault());
  finder.hidden = false;
  show(slide.value);
})();
