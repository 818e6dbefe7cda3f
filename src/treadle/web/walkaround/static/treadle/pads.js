// The keypads: what the tools show.  A key never says where a limit lies; what it comes to is said after the tap.

import { h, onKey } from "./drawn.js";
import { fraction, plus, show } from "./measure.js";

const eighths = (from, to) => range(from, to).map((n) => text(fraction(n, 8)));
const range = (from, to) => Array.from({ length: to - from + 1 }, (_, n) => from + n);
const text = (value) => show(value, "in");

/** Which pad a field opens with, in the measure chosen. */
export function padFor(kind, measure) {
  const metric = measure === "mm";
  switch (kind) {
    case "applied_stroke":
    case "free_stroke":
    case "scribe_movement":
      return metric ? "stroke-mm" : "stroke-in";
    case "rod_released":
    case "rod_applied":
      return metric ? "typed" : "mark-in";
    case "lining":
      return metric ? "lining-mm" : "lining-in";
    case "drum_diameter":
      return metric ? "typed" : "drum-in";
    case "wear_indicator":
    case "tags":
    case "parking_hold":
      return "words";
    case "condition":
      return "conditions";
    case "air_loss":
    case "build_up":
      return "timed";
    case "low_air_warning":
    case "spring_brake_set":
    case "cut_in":
    case "cut_out":
      return "pressure";
    default:
      return "typed";
  }
}

/** The words a field may take instead of a size. */
export const WORDS = {
  wear_indicator: ["clear", "at_mark", "gone"],
  tags: ["confirmed", "differ"],
  parking_hold: ["held", "moved"],
};

/** Keys of a pad, in rows: {label, value} saves at once, {part} waits for the second tap. */
export function keysOf(pad) {
  switch (pad) {
    case "stroke-in": return [eighths(1, 24).map((one) => ({ label: one, value: `${one} in` }))];
    case "lining-in": return [range(2, 28).map((n) => ({ label: `${n}`, value: `${n}/32 in` }))];
    case "lining-mm": return [range(1, 24).map((n) => ({ label: `${n}`, value: `${n} mm` }))];
    case "stroke-mm": return twoTaps(range(0, 8).map((n) => n * 10), range(0, 9), "mm");
    case "mark-in": return twoTaps(range(0, 11), range(0, 7).map((n) => fraction(n, 8)), "in");
    default: return [];
  }
}

function twoTaps(first, second, unit) {
  const as = (one) => (Array.isArray(one) ? one : fraction(one));
  return [
    first.map((one) => ({ label: show(as(one), unit), part: as(one) })),
    second.map((one) => ({ label: `+${show(as(one), unit)}`, second: as(one), unit })),
  ];
}

/** The finest step of the tool a pad stands for. */
export function stepOf(pad, value) {
  if (pad === "stroke-in" || pad === "mark-in") return value[1] > 8n ? fraction(1, 16) : fraction(1, 8);
  if (pad === "lining-in") return fraction(1, 32);
  if (pad === "lining-mm") return fraction(1, 2);
  if (pad === "drum-in") return fraction(1, 1000);
  return fraction(1);
}

/** What the fine key adds: half of what lies between two keys. */
export function fineOf(pad) {
  return { "stroke-in": { add: fraction(1, 16), label: "1/16", unit: "in" }, "mark-in": { add: fraction(1, 16), label: "1/16", unit: "in" },
    "lining-mm": { add: fraction(1, 2), label: "1/2", unit: "mm" } }[pad] ?? null;
}

/** Draw a block of keys; arrows move the focus within it. */
export function keyBlock(name, keys, { columns = 6, words = false, label }) {
  const block = h("div", { class: words ? "keys keys-words" : `keys keys-of-${columns}`, role: "group", "aria-label": label },
    keys.map((key, n) => h("button", {
      type: "button",
      class: "key",
      "data-focus": `${name}-${n}`,
      "aria-pressed": key.pressed === undefined ? null : String(key.pressed),
      "aria-label": key.says ?? null,
      disabled: key.off ?? null,
      onclick: key.act,
    }, key.shown ?? (words ? key.label : onKey(key.label)))));
  block.addEventListener("keydown", (event) => moveFocus(event, block, words ? keys.length : columns));
  return block;
}

function moveFocus(event, block, columns) {
  const by = { ArrowRight: 1, ArrowLeft: -1, ArrowDown: columns, ArrowUp: -columns }[event.key];
  if (!by) return;
  const keys = [...block.children];
  const to = keys[keys.indexOf(document.activeElement) + by];
  if (!to) return;
  event.preventDefault();
  to.focus();
}

/** Add a fine step to a size, or take it off again where it is there. */
export function withFine(size, fine) {
  const has = size.unit === "in" ? size.value[1] === 16n : size.value[1] === 2n;
  const value = plus(size.value, has ? [-fine.add[0], fine.add[1]] : fine.add);
  return `${size.unit === "in" ? show(value, "in") : show(value, size.unit)} ${size.unit}`;
}

export const PRESSURES = {
  psi: { from: 45, to: 130, step: 5, one: 1 },
  kPa: { from: 300, to: 900, step: 50, one: 10 },
};

/** Keys for a pressure: every fifth mark of the gauge, then one up or down. */
export function pressureKeys(unit) {
  const { from, to, step } = PRESSURES[unit];
  return range(0, (to - from) / step).map((n) => from + n * step);
}
