// Looking up what a reading comes to.  Every number and sentence is the server's (limits/1); this file compares whole
// numbers with it and knows no law.

import { convert, isMore, minus, plus, read, showExcess, steps } from "./measure.js";

const RANK = { hold: 0, fix: 1, unseen: 2, watch: 3, good: 4 };
const BREACH = new Set(["hold", "fix"]);

/** Return the limits of one kind of wheel end. */
export function endOf(limits, axle, side) {
  const place = limits.wheel_ends.find((one) => one.axle === axle && one.side === side);
  return place ? limits.ends[place.end] : null;
}

/** Return the table a reading is held against: of its kind, unit, place on the lining and reservoir pressure. */
export function tableFor(end, { kind, unit, place = null, reservoir = null }) {
  return end.measures.find((table) => {
    if (table.kind !== kind || table.unit !== unit) return false;
    if (table.place && table.place !== place) return false;
    if (!table.reservoir) return true;
    return reservoir !== null && isInside(table.reservoir, reservoir);
  }) ?? null;
}

/** A pressure between two whole numbers belongs to neither range of whole numbers; it is left to the server. */
function isInside(range, pressure) {
  if (range.unit !== pressure.unit) return false;
  const from = [BigInt(range.from), 1n];
  return !isMore(from, pressure.value) && (range.to === null || !isMore(pressure.value, [BigInt(range.to), 1n]));
}

/** Return the band a whole number of steps lies in. */
export function bandAt(table, size) {
  return table.bands.find((band) => band.from <= size && (band.to === null || size <= band.to)) ?? null;
}

/**
 * Return what a size comes to at an end: {outcome, says, does, ...}; null where the server has to say.
 * `size` is {value, unit, shown}; `about` holds kind, place, part (its term) and reservoir.
 */
export function verdictOn(limits, end, size, about) {
  const table = tableFor(end, { ...about, unit: size.unit });
  const whole = table ? steps(size.value, size.unit, limits.steps) : null;
  const band = whole === null ? null : bandAt(table, whole);
  return band && band.outcome ? { ...band, ...filled(band, size, about) } : null;
}

/** Return what a word comes to: a condition, a wear indicator, a rod that did not move; null where the server has to say. */
export function verdictOnWord(end, word, about) {
  const words = about.kind === "applied_stroke"
    ? tableFor(end, { ...about, unit: "in" })?.words
    : end.words[about.kind];
  const band = words?.[word];
  return band && band.outcome ? { ...band, ...filled(band, null, about) } : null;
}

/** Fill the sentences of a band with what only the reading gives: its size, how far past, the shoe. */
function filled(band, size, about) {
  const given = { measured: size?.shown ?? "", excess: size && band.figure ? excessOf(band.figure, size) : "", part: about.part ?? "" };
  const fill = (text) => text.replace(/\{(measured|excess|part)\}/g, (_, name) => given[name]).replace(/, :/g, ":");
  return { says: fill(band.says), does: fill(band.does) };
}

function excessOf(figure, size) {
  const limit = [BigInt(figure.over), BigInt(figure.under)];
  const past = minus(convert(size.value, size.unit, figure.unit), limit);
  const asDecimal = size.shown.includes(".") || size.unit !== "in";
  return showExcess(past, figure.unit, asDecimal);
}

/** Whether one step of the tool more or less would change a pass into a breach, or back: then it is measured once more. */
export function askOnceMore(limits, end, size, about, step) {
  const table = tableFor(end, { ...about, unit: size.unit });
  if (!table) return false;
  const kinds = [minus(size.value, step), size.value, plus(size.value, step)]
    .map((value) => (value[0] < 0n ? null : steps(value, size.unit, limits.steps)))
    .filter((whole) => whole !== null)
    .map((whole) => BREACH.has(bandAt(table, whole)?.outcome));
  return kinds.includes(true) && kinds.includes(false);
}

/** Return the worst of some outcomes; null where there is none. */
export function worst(outcomes) {
  const judged = outcomes.filter((one) => one in RANK);
  return judged.length ? judged.reduce((one, other) => (RANK[one] <= RANK[other] ? one : other)) : null;
}

/** Return a quantity read from a text the server sent, or null. */
export function readOr(text, options) {
  try {
    return text ? read(text, options) : null;
  } catch {
    return null;
  }
}
