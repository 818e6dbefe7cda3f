// The pad under the hand: the keys of the field chosen, conditions, tests with their clock, and what is not seen.

import { fill, h, icon, onKey, reading } from "./drawn.js";
import { readOr } from "./limits.js";
import { minus, show } from "./measure.js";
import { PRESSURES, WORDS, fineOf, keyBlock, keysOf, padFor, pressureKeys, withFine } from "./pads.js";
import { endFacts } from "./readings.js";

/** Draw the pad of the field that is chosen. */
export function drawPad(all) {
  const { data, state, here } = all;
  const stop = here.stopAt();
  const field = here.fieldsAt(stop)[state.field];
  if (state.open === "not-seen") return notSeen(all);
  const disc = Boolean(endFacts(data, stop)?.parts.inner);
  const measure = measureOf(state, field, disc);
  const pad = padFor(field.reads ?? field.kind, measure);
  const given = { ...all, stop, field, pad, measure };
  return [head(given), PADS[state.open === "typed" ? "typed" : pad](given)];
}

const PADS = {
  "stroke-in": keyed,
  "lining-in": keyed,
  "lining-mm": keyed,
  "stroke-mm": twoTaps,
  "mark-in": twoTaps,
  "drum-in": thousandths,
  typed,
  words: wordKeys,
  conditions,
  pressure,
  timed,
};
const SIZED = new Set(["stroke-in", "stroke-mm", "lining-in", "lining-mm", "mark-in", "drum-in", "typed"]);

/** Pads are read in millimetres until somebody says otherwise; the rest in the measure chosen. */
export const measureOf = (state, field, disc) => (field.kind === "lining" && disc ? state.padMeasure : state.measure);

function head({ data, state, acts, here, field, pad, measure }) {
  const { words } = data;
  const metric = measure === "mm";
  const other = metric ? "in" : "mm";
  const strokes = ["applied_stroke", "rod_released", "free_stroke"].includes(field.kind);
  const typing = pad === "typed" || state.open === "typed" || (pad === "drum-in" && !endFacts(data, here.stopAt())?.nominal);
  const unit = typing ? howToWrite(words, field, measure)
    : { "lining-in": words.thirty_seconds, "drum-in": words.thousandths_over }[pad] ?? measure;
  const held = ["applied_stroke"].includes(field.kind);
  const holdPass = data.passes.findIndex((one) => one.name === "hold");
  return h("div", { class: "pad-head" },
    h("span", {}, held
      ? h("button", { type: "button", "data-focus": "hold", onclick: () => acts.go(holdPass, 0) }, here.isHeld() ? `${state.circumstances.reservoir}, ${words.held}` : words.not_held)
      : SIZED.has(pad) ? unit : ""),
    h("span", {},
      SIZED.has(pad) && h("button", { type: "button", "data-focus": "measure", onclick: () => acts.measure(other, field) }, other),
      strokes && h("button", { type: "button", "data-focus": "marks", "aria-pressed": String(state.marks), onclick: acts.marks }, state.marks ? words.one_reading : words.two_marks),
      SIZED.has(pad) && pad !== "typed" && h("button", { type: "button", "data-focus": "typed", "aria-pressed": String(state.open === "typed"), onclick: () => acts.open("typed") }, words.type_it)));
}

const WRITTEN_AS = { lining: "lining", above_fastener: "lining", drum_diameter: "drum", applied_stroke: "stroke", free_stroke: "stroke",
  rod_released: "stroke", rod_applied: "stroke", scribe_movement: "stroke" };

/** How a size is typed, in the measure chosen: the pad's own way of counting does not hold for a typed number. */
const howToWrite = (words, field, measure) => words[`write_${WRITTEN_AS[field.kind] ?? "other"}_${measure}`];

/** A picture of where one is. */
export function drawPhoto({ data, state, acts, here }) {
  const stop = here.stopAt();
  const done = state.photographed === here.keyOf(stop, { kind: "photo" });
  return h("label", { class: "pad-photo" }, icon("camera"), h("span", {}, done ? data.words.photo_kept : data.words.photo),
    h("input", { type: "file", accept: "image/*", capture: "environment", "aria-label": data.words.photo, "data-focus": "photo", onchange: (event) => event.target.files[0] && acts.photo(event.target.files[0]) }));
}

// ---- sizes

function current({ readings, stop, field }) {
  const row = readings.current(stop, field);
  return row && row.kind === (field.reads ?? field.kind) ? row : null;
}

function keyed(given) {
  const { data, acts, field, pad } = given;
  const row = current(given);
  const value = row?.fields.value ?? "";
  const size = readOr(value);
  const fine = fineOf(pad);
  const base = size && fine && isFine(size) ? withFine(size, fine) : size ? `${plain(size, pad)}` : value;
  const blocks = keysOf(pad).map((keys, n) => keyBlock(`key${n}`, keys.map((key) => ({
    ...key,
    shown: pad === "stroke-in" ? onKey(key.label) : key.label,
    says: key.value,
    pressed: key.value === base || key.value === value,
    act: () => acts.key(key),
  })), { label: field.label, columns: pad === "lining-in" ? 7 : 6 }));
  const extra = [];
  if (fine) extra.push({ label: `+ ${fine.label}`, shown: h("span", {}, "+ ", onKey(fine.label)), off: !size, pressed: Boolean(size && isFine(size)), act: () => acts.value(withFine(size, fine)) });
  if (field.kind === "applied_stroke") {
    for (const word of ["no_movement", "bottomed"]) {
      extra.push({ label: data.words[`word_${word}`], pressed: row?.fields.special === word, act: () => acts.special(word) });
    }
  }
  return [blocks, extra.length ? keyBlock("fine", extra, { words: true, label: field.label }) : null];
}

const isFine = (size) => (size.unit === "in" ? size.value[1] === 16n : size.value[1] === 2n);
const plain = (size, pad) => (pad === "stroke-in" ? `${show(size.value, "in")} in` : size.shown);

function twoTaps({ data, state, acts, field, pad }) {
  const [first, second] = keysOf(pad);
  const chosen = state.part;
  const same = (one, other) => one && other && one[0] === other[0] && one[1] === other[1];
  const extra = field.kind === "applied_stroke" && !field.reads
    ? ["no_movement", "bottomed"].map((word) => ({ label: data.words[`word_${word}`], act: () => acts.special(word) })) : [];
  return [
    keyBlock("first", first.map((key) => ({ ...key, shown: key.label, pressed: Boolean(same(chosen, key.part)), act: () => acts.key(key) })), { label: data.words.first_tap, columns: pad === "mark-in" ? 6 : 5 }),
    keyBlock("second", second.map((key) => ({ ...key, shown: pad === "mark-in" ? h("span", {}, "+ ", onKey(key.label.slice(1))) : key.label, off: !chosen, act: () => acts.value(sum(chosen, key)) })), { label: data.words.second_tap, columns: pad === "mark-in" ? 4 : 5 }),
    extra.length ? keyBlock("fine", extra, { words: true, label: field.label }) : null,
  ];
}

function sum(first, key) {
  const value = minus(first, [-key.second[0], key.second[1]]);
  return `${show(value, key.unit)} ${key.unit}`;
}

/** A drum over its nominal size, in thousandths: the digits as the gauge shows them. */
function thousandths(given) {
  const { data, state, acts, stop } = given;
  const nominal = endFacts(data, stop)?.nominal;
  if (!nominal) return typed(given);
  const digits = state.typed.replace(/\D/g, "").slice(-3);
  const value = `+${(Number(digits || 0) / 1000).toFixed(3).replace(/^0/, "")}`;
  const press = (one) => () => acts.digits((digits + one).slice(-3));
  return [
    h("p", { class: "pad-readout" }, `${value} in`, h("small", {}, fill(data.words.over_nominal, { nominal }))),
    keyBlock("digit", [..."1234567890"].map((one) => ({ label: one, shown: one, act: press(one) })), { columns: 5, label: data.words.thousandths_over }),
    keyBlock("digit-go", [
      { label: data.words.erase, act: () => acts.digits(digits.slice(0, -1)) },
      { label: data.words.enter, off: !digits, act: () => acts.value(`${value} in`) },
    ], { words: true, label: data.words.enter }),
  ];
}

function typed({ data, acts, state, stop, field, measure: unit }) {
  const end = endFacts(data, stop);
  const nominal = field.kind === "drum_diameter" ? readOr(end?.nominal) : null;
  const send = () => state.typed.trim() && acts.enterTyped(unit, nominal, field);
  const line = h("div", { class: "field-line" },
    h("input", {
      class: "input",
      "data-focus": "typed-value",
      inputmode: "text",
      autocomplete: "off",
      "aria-label": `${field.label}, ${howToWrite(data.words, field, unit)}`,
      value: state.typed,
      oninput: (event) => acts.type(event.target.value),
      onkeydown: (event) => event.key === "Enter" && send(),
    }),
    h("span", { class: "field-unit" }, unit),
    h("button", { type: "button", class: "button button-main", "data-focus": "typed-enter", onclick: send }, data.words.enter));
  return [line, state.guess && h("div", { class: "doubt", role: "alert" },
    h("p", {}, reading(fill(data.words.whole_inches, { text: state.typed.trim(), guess: state.guess }))),
    h("button", { type: "button", class: "button button-main", "data-focus": "typed-guess", onclick: () => acts.value(state.guess) }, reading(state.guess)))];
}

// ---- words

function wordKeys(given) {
  const { data, acts, field } = given;
  const row = current(given);
  const keys = WORDS[field.kind].map((word) => ({ label: data.words[`word_${word}`], pressed: row?.fields.value === word, act: () => acts.word(word) }));
  return keyBlock("word", keys, { words: true, label: field.label });
}

/** What may be seen, each a toggle; "none seen" is a tap of its own and never there by itself. */
function conditions({ data, readings, acts, stop, field }) {
  const seen = new Set(readings.conditions(stop).map((row) => row.fields.value));
  const wanted = stop.axle === null ? ["air"] : ["brake", "wheel"];
  const here = endFacts(data, stop)?.conditions;
  const list = data.conditions.filter((one) => seen.has(one.name) || (wanted.includes(one.part) && (!here || here.includes(one.name))));
  return h("div", { class: "conditions" },
    h("button", { type: "button", class: "key none-seen", "data-focus": "none-seen", "aria-pressed": String(seen.has("none_seen")), onclick: () => acts.condition("none_seen", field) }, data.words.none_seen),
    h("div", { class: "condition-list", "data-scroll": "conditions", tabindex: "0", role: "group", "aria-label": data.words.seen_here },
      list.map((one) => h("button", { type: "button", class: "key condition", "data-focus": `seen-${one.name}`, "aria-pressed": String(seen.has(one.name)), onclick: () => acts.condition(one.name, field) }, one.label))));
}

function notSeen({ data, state, acts }) {
  const { words } = data;
  const typedReason = () => state.typed.trim() && acts.notSeen(state.typed.trim());
  return [
    h("p", {}, words.why_not_seen),
    keyBlock("reason", data.reasons.map((reason) => ({ label: reason, act: () => acts.notSeen(reason) })), { words: true, label: words.why_not_seen }),
    h("div", { class: "field-line" },
      h("input", { class: "input", "data-focus": "reason-typed", maxlength: "200", "aria-label": words.own_reason, placeholder: words.own_reason, value: state.typed, oninput: (event) => acts.type(event.target.value), onkeydown: (event) => event.key === "Enter" && typedReason() }),
      h("button", { type: "button", class: "button button-main", "data-focus": "reason-enter", onclick: typedReason }, words.enter)),
  ];
}

// ---- pressures and tests

/** A gauge in keys: every fifth mark, then one up or down; `slot` is what of the draft it sets. */
export function gauge({ data, state, acts }, name, value, set, from = value) {
  const unit = state.pressureUnit;
  const now = readOr(value, { dimension: "pressure" });
  const number = now?.unit === unit ? Number(now.value[0]) / Number(now.value[1]) : null;
  const near = readOr(from, { dimension: "pressure" });
  const start = near?.unit === unit ? Number(near.value[0]) / Number(near.value[1]) : null;
  const { one } = PRESSURES[unit];
  const put = (to) => set(`${to} ${unit}`);
  return h("div", { class: "gauge" },
    keyBlock(`${name}-gauge`, pressureKeys(unit).map((mark) => ({ label: `${mark}`, shown: `${mark}`, pressed: number !== null && mark === number - (number % PRESSURES[unit].step), act: () => put(mark) })), { label: `${name}` }),
    keyBlock(`${name}-fine`, [
      { label: `− ${one}`, off: start === null, act: () => put(start - one) },
      { label: `+ ${one}`, off: start === null, act: () => put(start + one) },
      { label: unit === "psi" ? "kPa" : "psi", act: () => acts.pressureUnit(unit === "psi" ? "kPa" : "psi") },
    ], { words: true, label: data.words.finer }));
}

function pressure(given) {
  const { data, state, acts, here, stop, field } = given;
  const key = here.keyOf(stop, field);
  const draft = state.drafts[key] ?? {};
  return [
    h("p", { class: "pad-readout" }, draft.value ?? `– ${state.pressureUnit}`),
    gauge(given, "acts", draft.value, (value) => acts.draft(key, { value })),
    keyBlock("acts-go", [
      { label: data.words.word_did_not_act, act: () => acts.test({ special: "did_not_act" }, field) },
      { label: data.words.enter, off: !draft.value, act: () => acts.test({ value: draft.value }, field) },
    ], { words: true, label: field.label }),
  ];
}

/** A test over a time: the gauge before, the clock, the gauge after.  What lies between is on the record, not worked out here. */
function timed(given) {
  const { data, state, acts, here, stop, field } = given;
  const { words } = data;
  const key = here.keyOf(stop, field);
  const draft = state.drafts[key] ?? {};
  const { seconds } = draft;
  const step = !draft.start ? "start" : !seconds || draft.running ? "clock" : "end";
  const ready = draft.start && draft.end && seconds && !draft.running;
  return h("div", { class: "timed" },
    h("p", { class: "pad-readout" }, `${draft.start ?? `– ${state.pressureUnit}`} → ${draft.end ?? "–"}`, h("span", { class: "clock" }, clock(draft, field, words))),
    step === "start" && [h("p", {}, words.gauge_before), gauge(given, "start", draft.start, (start) => acts.draft(key, { start, running: null, seconds: null, end: null }))],
    step === "clock" && [
      h("p", {}, words[`clock_${field.kind}`]),
      keyBlock("clock", [
        draft.running
          ? { label: words.stop_clock, act: () => acts.draft(key, { running: null, seconds: Math.max(1, Math.floor((Date.now() - draft.running) / 1000)) }) }
          : { label: words.start_clock, act: () => acts.draft(key, { running: Date.now(), seconds: null }) },
        { label: words.gauge_again, act: () => acts.draft(key, { start: null, running: null, seconds: null, end: null }) },
      ], { words: true, label: words.clock }),
    ],
    step === "end" && [
      h("p", {}, words.gauge_after),
      gauge(given, "end", draft.end, (end) => acts.draft(key, { end }), draft.end ?? draft.start),
      field.kind === "build_up" && h("div", { class: "field-line" }, h("input", { class: "input", "data-focus": "rpm", inputmode: "numeric", maxlength: "5", "aria-label": words.rpm, placeholder: words.rpm, value: draft.rpm ?? "", onchange: (event) => acts.draft(key, { rpm: event.target.value.replace(/\D/g, "") }) })),
      keyBlock("timed-go", [
        { label: words.clock_again, act: () => acts.draft(key, { running: null, seconds: null, end: null }) },
        { label: words.same_as_before, act: () => acts.draft(key, { end: draft.start }) },
        { label: words.enter, off: !ready, act: () => acts.test({ start: draft.start, end: draft.end, seconds, ...(draft.rpm ? { rpm: Number(draft.rpm) } : {}) }, field) },
      ], { words: true, label: words.enter }),
    ]);
}

function clock(draft, field, words) {
  if (draft.seconds) return fill(words.seconds, { seconds: draft.seconds });
  if (!draft.running) return "";
  return h("span", { "data-clock": draft.running, "data-stops": field.stops_at ?? "" }, fill(words.seconds, { seconds: Math.floor((Date.now() - draft.running) / 1000) }));
}

