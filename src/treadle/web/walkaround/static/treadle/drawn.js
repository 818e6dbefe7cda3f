// Small pieces every view of the walk is made of: elements, marks, true fractions.

import { runs } from "./measure.js";

const SVG = "http://www.w3.org/2000/svg";

/** Make an element: `h("button", {class: "key", onclick: act}, "1/8")`; nothing is ever set as markup. */
export function h(name, about = {}, ...inside) {
  const made = document.createElement(name);
  for (const [key, value] of Object.entries(about)) {
    if (value === null || value === undefined || value === false) continue;
    if (key.startsWith("on")) made.addEventListener(key.slice(2), value);
    else if (key === "value") made.value = value;
    else made.setAttribute(key, value === true ? "" : value);
  }
  made.append(...inside.flat(Infinity).filter((one) => one !== null && one !== undefined && one !== false));
  return made;
}

function drawn(id, kind, size, label) {
  const svg = document.createElementNS(SVG, "svg");
  const use = document.createElementNS(SVG, "use");
  use.setAttribute("href", `#${id}`);
  svg.setAttribute("class", kind);
  svg.setAttribute("width", size);
  svg.setAttribute("height", size);
  svg.setAttribute("focusable", "false");
  if (label) {
    svg.setAttribute("role", "img");
    svg.setAttribute("aria-label", label);
  } else {
    svg.setAttribute("aria-hidden", "true");
  }
  svg.append(use);
  return svg;
}

/** Draw an outcome's mark; with a label it speaks for itself, without one a word stands beside it. */
export const mark = (outcome, size = 24, label = "") => drawn(`mark-${outcome}`, `mark mark-${outcome}`, size, label);
export const icon = (name) => drawn(`icon-${name}`, "icon", 24, "");

/** Write a text with each fraction of an inch set as a true one. */
export function reading(text) {
  return runs(text).map((run) => (run.under ? quantity(run, `\u00a0${run.unit}`) : run.text));
}

/** Write a number of inches as on a key, without its unit. */
export function onKey(number) {
  const [run] = runs(`${number} in`);
  return run.under ? quantity(run, "") : number;
}

function quantity(run, unit) {
  return h("span", { class: "quantity" },
    run.whole && [run.whole, h("span", { class: "gap" }, " ")],
    h("span", { class: "over" }, run.over), "\u2044", h("span", { class: "under" }, run.under), unit);
}

/** Put what is given into a place, and give the focus and the scrolling back, found by `data-focus` and `data-scroll`. */
export function show(place, ...inside) {
  const held = document.activeElement?.closest?.("[data-focus]")?.dataset.focus;
  const typed = document.activeElement?.matches?.("input[data-focus]") ? document.activeElement : null;
  const caret = typed ? [typed.selectionStart, typed.selectionEnd] : null;
  const rolled = new Map([...place.querySelectorAll("[data-scroll]")].map((one) => [one.dataset.scroll, one.scrollTop]));
  place.replaceChildren(...inside.flat(Infinity).filter(Boolean));
  for (const one of place.querySelectorAll("[data-scroll]")) one.scrollTop = rolled.get(one.dataset.scroll) ?? 0;
  if (!held) return;
  const again = place.querySelector(`[data-focus="${CSS.escape(held)}"]`);
  again?.focus({ preventScroll: true });
  if (caret && again?.setSelectionRange) again.setSelectionRange(...caret);
}

/** Fill a sentence: `fill("{count} waiting", {count: 3})`. */
export const fill = (text, given) => text.replace(/\{(\w+)\}/g, (whole, name) => (name in given ? String(given[name]) : whole));
