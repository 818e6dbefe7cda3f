// The screen of a walk: where you are, what is asked there, the keys, and what each reading comes to.
// One module for both layouts: "walk" for whoever measures and keys, "keep" for the one who keeps for a caller.

import { fill, show } from "./drawn.js";
import { read } from "./measure.js";
import { Outbox, newId } from "./outbox.js";
import { padFor } from "./pads.js";
import { Readings, endFacts, partName } from "./readings.js";
import { drawWalk } from "./walk_view.js";

const ASK_EVERY = 5000;
const SAFE = ["level", "chocks", "springs", "hands"];

const data = JSON.parse(document.getElementById("walk-data").textContent);
const root = document.getElementById("walk");
const memory = `treadle-walk-${data.id}`;
const remembered = recall(memory);
const habits = recall("treadle-habits");

const readings = new Readings(data);
const state = {
  layout: root.dataset.layout,
  at: remembered.at ?? null,
  field: null,
  measure: habits.measure ?? data.measure,
  padMeasure: habits.padMeasure ?? "mm",
  marks: habits.marks ?? false,
  pressureUnit: habits.pressureUnit ?? "psi",
  by: new URLSearchParams(location.search).get("caller") ?? remembered.by ?? data.me.id,
  last: null,
  again: null,
  open: "",
  more: false,
  typed: "",
  part: null,
  drafts: remembered.drafts ?? {},
  circumstances: { ...data.circumstances },
  safe: new Set(data.made_safe),
  ready: null,
  fault: "",
  guess: "",
  keptFor: false,
};
if (!data.people.some((one) => one.id === state.by)) state.by = data.me.id;
const asked = new URLSearchParams(location.search);
state.keptFor = state.layout === "walk" && remembered.layout === "keep" && !asked.has("mine") && state.by !== data.me.id;
let since = data.until;

const outbox = new Outbox({ walk: data.id, sender: data.me.id, told: heard });

// ---- where one is

const passes = data.passes;
const passAt = () => passes[state.at.pass];
const stopAt = () => passAt().stops[state.at.stop];

/** The fields asked here: the marks on a rod only for whoever measures by two marks. */
function fieldsAt(stop) {
  const fields = stop.fields.filter((field) => field.kind !== "rod_released" || state.marks);
  return fields.map((field) => (field.kind === "applied_stroke" && state.marks ? { ...field, reads: "rod_applied" } : field));
}

function firstOpen() {
  if (!isSafe()) return { pass: 0, stop: 0 };
  for (const [pass, one] of passes.entries()) {
    for (const [stop, place] of one.stops.entries()) {
      if (place.fields.some((field) => field.needed && !readings.isAnswered(place, field))) {
        return one.name === "strokes" && !isHeld() ? { pass: passIndex("hold") ?? pass, stop: 0 } : { pass, stop };
      }
    }
  }
  return { pass: passes.length - 1, stop: passes.at(-1).stops.length - 1 };
}

const passIndex = (name) => {
  const found = passes.findIndex((one) => one.name === name);
  return found < 0 ? null : found;
};
const isSafe = () => SAFE.every((what) => state.safe.has(what));
const isHeld = () => {
  const { reservoir, engine, spring_brakes: springs, supply } = state.circumstances;
  return Boolean(reservoir && springs && (engine || supply === "shop"));
};

function go(pass, stop) {
  state.at = { pass, stop };
  Object.assign(state, { field: null, last: null, again: null, open: "", typed: "", guess: "", part: null, fault: "" });
  state.ready = handsOver() ? false : null;
  state.field = firstField();
  keep();
  draw({ fromTop: true });
}

/** Whether the caller has to get somewhere before the keeper goes on. */
function handsOver() {
  return state.layout === "keep" && stopAt().axle !== null;
}

function firstField() {
  const stop = stopAt();
  const fields = fieldsAt(stop);
  const open = fields.findIndex((field) => field.needed && !readings.isAnswered(stop, field));
  return open < 0 ? 0 : open;
}

/** Where the walk goes next: the next stop, then the next pass; null at the end. */
function nextPlace() {
  const { pass, stop } = state.at;
  if (stop + 1 < passes[pass].stops.length) return { pass, stop: stop + 1 };
  const next = passes.findIndex((one, n) => n > pass && !isPassedBy(one));
  return next < 0 ? null : { pass: next, stop: 0 };
}

function previousPlace() {
  const { pass, stop } = state.at;
  if (stop > 0) return { pass, stop: stop - 1 };
  const before = passes.findLastIndex((one, n) => n < pass && !isPassedBy(one));
  return before < 0 ? null : { pass: before, stop: passes[before].stops.length - 1 };
}

/** A round of the wheel ends that nobody needs is not walked by itself; it stays in the list of passes. */
function isPassedBy(one) {
  const isBare = (stop) => stop.axle !== null && stop.fields.every((field) => !field.needed && !readings.of(stop, field).length);
  return !state.marks && one.stops.every(isBare);
}

/** How many of the readings needed are there: of one pass, or of all. */
function progress(of = passes) {
  let done = 0;
  let needed = 0;
  for (const one of of) {
    for (const stop of one.stops) {
      for (const field of stop.fields.filter((here) => here.needed)) {
        needed += 1;
        if (readings.isAnswered(stop, field)) done += 1;
      }
    }
  }
  return { done, needed };
}

// ---- what is entered

const stamp = () => ({ id: newId(), walk_around: data.id, at: new Date().toISOString(), zone: data.zone, by: state.by });
const nameOf = (id) => data.people.find((one) => one.id === id)?.name ?? data.me.name;
const keyOf = (stop, field) => [stop.unit, stop.axle, stop.side, field.kind, field.part, field.place, field.state].join("|");

async function send(body) {
  const entry = { id: body.id, url: data.urls.readings, body, state: "waiting" };
  readings.show(entry, nameOf(body.by));
  try {
    await outbox.put(entry);
  } catch {
    readings.forget(body.id);
    state.fault = data.words.not_kept;
  }
  draw();
}

/** Enter a reading of the field chosen; a tap over one that stands corrects it, a second measurement stands beside it. */
async function enter(fields, { kind, stop = stopAt(), field = fieldsAt(stop)[state.field], advance = true } = {}) {
  const read = kind ?? field.reads ?? field.kind;
  const before = readings.current(stop, field);
  const body = {
    ...stamp(),
    unit: stop.unit,
    ...(stop.axle === null ? {} : { axle: stop.axle, side: stop.side }),
    kind: read,
    ...(field.part ? { [partName(field.part)]: field.part } : {}),
    ...(field.place ? { place: field.place } : {}),
    ...(field.state ? { state: field.state } : {}),
    ...circumstancesFor(read),
    ...fields,
  };
  const measuredAgain = state.again === keyOf(stop, field);
  const beside = measuredAgain || ["condition", "drum_diameter", "rotor_thickness"].includes(read);
  if (before && !beside && before.kind === read && before.by === state.by) body.corrects = before.id;
  Object.assign(state, { last: body.id, again: null, open: "", typed: "", guess: "", part: null, fault: "" });
  await send(body);
  const row = readings.rows.get(body.id);
  if (!row) return;
  const pad = padFor(read, readings.size(row, stop)?.unit ?? state.measure);
  if (!measuredAgain && row && readings.onceMore(row, stop, pad)) state.again = keyOf(stop, field);
  else if (advance) forward(stop, field, row);
  draw();
}

/** Go on to what is asked next at this stop, where nothing is wrong. */
function forward(stop, field, row) {
  if (state.layout === "keep") return;
  const outcome = readings.verdict(row, stop, field)?.outcome;
  if (outcome === "fix" || outcome === "hold" || field.kind === "condition") return;
  const fields = fieldsAt(stop);
  const open = fields.findIndex((one, n) => n > state.field && one.needed && !readings.isAnswered(stop, one));
  if (open >= 0) state.field = open;
}

/** What a bare whole number for a lining may mean: on the keys it is thirty-seconds, typed it would be inches. */
function guessOf(text, unit, field) {
  const isBare = unit === "in" && ["lining", "above_fastener"].includes(field.kind) && /^\s*\d{1,2}\s*$/.test(text);
  const number = Number(text);
  return isBare && number > 0 && number < 32 ? `${number}/32 in` : "";
}

function circumstancesFor(kind) {
  const { reservoir, engine, spring_brakes, supply } = state.circumstances;
  const given = { applied_stroke: { reservoir, engine, spring_brakes, supply }, rod_applied: { reservoir, engine, spring_brakes, supply },
    rod_released: { reservoir, engine, spring_brakes, supply }, air_loss: { engine, supply }, scribe_movement: { reservoir, engine, spring_brakes, supply } }[kind] ?? {};
  return Object.fromEntries(Object.entries(given).filter(([, value]) => value));
}

async function withdraw(row) {
  const { id, unit, axle, side, kind } = row;
  if (row.refused) {
    await outbox.drop(id);
    readings.forget(id);
    draw();
    return;
  }
  const place = axle === null ? {} : { axle, side };
  await send({ ...stamp(), unit, ...place, kind, corrects: id, withdraws: true });
}

/** Note what is made safe or what pressure is held; it is the walk's own, so the same note twice does no harm. */
async function note(about, what) {
  const body = { at: new Date().toISOString(), by: state.by, ...about };
  try {
    await outbox.put({ id: `${data.id} ${what}`, repeats: data.id, url: data.urls.note, body, state: "waiting" });
  } catch {
    state.fault = data.words.not_kept;
  }
  draw();
}

// ---- what is heard

/** The outbox changed, or the server answered an entry. */
function heard(entry, answer) {
  if (entry && answer) {
    const row = readings.rows.get(entry.id);
    if (row) row.pending = false;
    if (answer.found) readings.found.set(entry.id, answer.found);
  }
  for (const one of outbox.entries) {
    const row = readings.rows.get(one.id);
    if (row) row.refused = ["doubtful", "person"].includes(one.state);
  }
  draw();
}

async function ask() {
  if (document.hidden) return;
  let news;
  try {
    const answer = await fetch(`${data.urls.since}?since=${encodeURIComponent(since)}`, { headers: { Accept: "application/json" } });
    if (!answer.ok) return;
    news = await answer.json();
  } catch {
    return;
  }
  since = news.until;
  if (news.finished || news.abandoned) state.ended = true;
  const safer = news.made_safe.filter((what) => !state.safe.has(what));
  safer.forEach((what) => state.safe.add(what));
  const held = JSON.stringify(news.circumstances) !== JSON.stringify(data.circumstances);
  if (held && !outbox.waiting.some((one) => one.repeats)) Object.assign(state.circumstances, news.circumstances);
  data.circumstances = news.circumstances;
  if (readings.take(news.readings) || safer.length || held || state.ended) draw();
}

// ---- keeping one's place

function recall(name) {
  try {
    return JSON.parse(localStorage.getItem(name)) ?? {};
  } catch {
    return {};
  }
}

function keep() {
  try {
    localStorage.setItem(memory, JSON.stringify({ at: state.at, drafts: state.drafts, by: state.by, layout: state.keptFor ? "keep" : state.layout }));
    localStorage.setItem("treadle-habits", JSON.stringify({ measure: state.measure, padMeasure: state.padMeasure, marks: state.marks, pressureUnit: state.pressureUnit }));
  } catch {
    // A full or forbidden store costs only the place: readings are kept elsewhere.
  }
}

// ---- what may be done, for the view

const acts = {
  go,
  next: () => {
    const open = openField();
    if (open) {
      acts.choose(fieldsAt(stopAt()).findIndex((field) => keyOf(stopAt(), field) === keyOf(stopAt(), open)));
      return;
    }
    const place = nextPlace();
    if (place) go(place.pass, place.stop);
    else acts.open("finish");
  },
  back: () => {
    const place = previousPlace();
    if (place) go(place.pass, place.stop);
  },
  choose: (field) => {
    Object.assign(state, { field, last: null, open: "", typed: "", guess: "", part: null });
    draw();
  },
  key: (key) => {
    if (key.part) {
      state.part = key.part;
      draw();
    } else {
      enter({ value: key.value });
    }
  },
  value: (value) => enter({ value }),
  word: (value) => enter({ value }),
  special: (special) => enter({ special }),
  test: (fields, field) => enter(fields, { field, advance: false }).then(() => {
    delete state.drafts[keyOf(stopAt(), field)];
    keep();
    draw();
  }),
  condition: (name, field) => {
    const standing = readings.conditions(stopAt()).filter((row) => row.fields.value === name);
    if (standing.length) return withdraw(standing.at(-1));
    return enter({ value: name }, { field, advance: name === "none_seen" });
  },
  notSeen: async (reason) => {
    const stop = stopAt();
    const field = fieldsAt(stop)[state.field];
    for (const row of readings.of(stop, field)) await withdraw(row);
    const part = field.part ? { [partName(field.part)]: field.part } : {};
    const place = stop.axle === null ? {} : { axle: stop.axle, side: stop.side };
    const body = { ...stamp(), unit: stop.unit, ...place, ...part, kind: "not_seen", what: field.kind, reason };
    Object.assign(state, { last: body.id, again: null, open: "", typed: "" });
    await send(body);
    forward(stop, field, readings.rows.get(body.id));
    draw();
  },
  undo: () => {
    const row = lastHere();
    Object.assign(state, { last: null, again: null });
    if (row) withdraw(row);
  },
  keepWithReason: async (entry, reason) => {
    const body = { ...entry.body, stated_reason: reason };
    await outbox.put({ ...entry, body, state: "waiting", problems: [] });
    const row = readings.rows.get(entry.id);
    Object.assign(row, { stated_reason: reason, refused: false, kept: true });
    Object.assign(state, { open: "", typed: "" });
    draw();
  },
  measureAgain: async (entry) => {
    await outbox.drop(entry.id);
    readings.forget(entry.id);
    Object.assign(state, { last: null, open: "", typed: "" });
    draw();
  },
  photo: async (file) => {
    const stop = stopAt();
    const place = stop.axle === null ? {} : { axle: stop.axle, side: stop.side };
    const body = { ...stamp(), unit: stop.unit, ...place };
    try {
      await outbox.put({ id: body.id, url: data.urls.photos, body, file, state: "waiting" });
      state.photographed = keyOf(stop, { kind: "photo" });
    } catch {
      state.fault = data.words.not_kept;
    }
    draw();
  },
  safe: (what) => {
    state.safe.add(what);
    note({ made_safe: [what] }, `safe ${what}`);
  },
  hold: (about) => {
    Object.assign(state.circumstances, about);
    for (const name of Object.keys(about)) if (!about[name]) delete state.circumstances[name];
    note({ ...state.circumstances }, "hold");
  },
  draft: (key, about) => {
    state.drafts[key] = { ...state.drafts[key], ...about };
    keep();
    draw();
  },
  open: (what) => {
    Object.assign(state, { open: state.open === what ? "" : what, typed: "", guess: "" });
    draw();
  },
  more: () => {
    state.more = !state.more;
    draw();
  },
  type: (text) => {
    state.typed = text;
    if (!state.guess) return;
    state.guess = "";
    draw();
  },
  digits: (text) => {
    state.typed = text;
    draw();
  },
  enterTyped: (unit, nominal, field) => {
    state.guess = guessOf(state.typed, unit, field);
    if (state.guess) {
      state.fault = "";
      draw();
      return;
    }
    try {
      const size = read(state.typed, { field: unit, nominal });
      state.fault = "";
      enter({ value: state.typed.trim().startsWith("+") ? `${state.typed.trim()}${/[a-z"″”]/i.test(state.typed) ? "" : ` ${unit}`}` : size.shown });
    } catch (fault) {
      state.fault = fault.guess ? fill(data.words.unclear_guess, { text: state.typed, guess: fault.guess }) : fill(data.words.unclear, { text: state.typed });
      draw();
    }
  },
  measure: (unit, field) => {
    const disc = Boolean(endFacts(data, stopAt())?.parts.inner);
    Object.assign(state, { [field.kind === "lining" && disc ? "padMeasure" : "measure"]: unit, part: null, typed: "" });
    keep();
    draw();
  },
  marks: () => {
    Object.assign(state, { marks: !state.marks, part: null, field: 0 });
    state.field = firstField();
    keep();
    draw();
  },
  pressureUnit: (unit) => {
    state.pressureUnit = unit;
    keep();
    draw();
  },
  reader: (id) => {
    state.by = id;
    keep();
    draw();
  },
  otherLayout: () => {
    if (state.layout === "keep") state.by = data.me.id;
    state.layout = state.layout === "keep" ? "walk" : "keep";
    keep();
  },
  readMyself: () => {
    Object.assign(state, { keptFor: false, by: data.me.id });
    keep();
    draw();
  },
  ready: () => {
    state.ready = true;
    draw();
  },
  finish: async () => {
    state.finishing = true;
    draw();
    try {
      const answer = await fetch(data.urls.finish, {
        method: "POST",
        headers: { "Content-Type": "application/json", Accept: "application/json", "X-CSRFToken": document.cookie.match(/csrftoken=([^;]*)/)?.[1] ?? "" },
        body: JSON.stringify({ by: state.by }),
      });
      const body = await answer.json();
      if (answer.ok) {
        localStorage.removeItem(memory);
        location.assign(data.urls.result);
        return;
      }
      state.fault = body.problems.map((one) => one.says).join(" ");
    } catch {
      state.fault = data.words.no_answer;
    }
    state.finishing = false;
    draw();
  },
  sendNow: () => outbox.soon(),
  drop: (entry) => outbox.drop(entry.id).then(() => {
    readings.forget(entry.id);
    draw();
  }),
};

/** The reading that an undo takes back: the last of this stop that this person entered. */
function lastHere() {
  const stop = stopAt();
  const rows = readings.standing().filter((row) => row.unit === stop.unit && row.axle === stop.axle && row.side === (stop.side ?? "") && row.by === state.by);
  const named = state.last && readings.rows.get(state.last);
  if (named && !named.withdraws) return named;
  const fields = fieldsAt(stop);
  return rows.filter((row) => fields.some((field) => [field.kind, field.reads].includes(row.kind) || (row.kind === "not_seen" && row.fields.what === field.kind))).at(-1) ?? null;
}

/** What the keeper is asked next at this stop, once what stands there was read back; for whoever walks, nothing. */
function openField() {
  if (state.layout !== "keep" || state.ready === false || !state.last) return null;
  const stop = stopAt();
  return fieldsAt(stop).find((field) => field.needed && !readings.isAnswered(stop, field)) ?? null;
}

const here = { openField, passAt, stopAt, fieldsAt, nextPlace, previousPlace, progress, isSafe, isHeld, keyOf, lastHere };

let drawing = false;
let toTop = false;
let rowSeen = "";
let pressing = false;
let waits = false;
// A key drawn anew under the finger would lose its tap: what came in meanwhile is drawn once the finger is off.
addEventListener("pointerdown", () => {
  pressing = true;
});
for (const end of ["pointerup", "pointercancel"]) {
  addEventListener(end, () => {
    pressing = false;
    setTimeout(() => waits && draw());
  });
}
function draw({ fromTop = false } = {}) {
  toTop ||= fromTop;
  waits = pressing;
  if (drawing || waits) return;
  drawing = true;
  queueMicrotask(() => {
    drawing = false;
    show(root, drawWalk({ data, state, readings, outbox, acts, here }));
    bringIntoView();
  });
}

/** Begin a new place at its top; and bring the row the keys write to into view, where the rows scroll by themselves. */
function bringIntoView() {
  const page = root.querySelector(".walk-page");
  if (toTop) {
    scrollTo(0, 0);
    page.scrollTop = 0;
  }
  const row = page.querySelector(".row.is-here");
  if (row && page.scrollHeight > page.clientHeight && (toTop || row.dataset.focus !== rowSeen)) row.scrollIntoView({ block: "nearest" });
  rowSeen = row?.dataset.focus ?? "";
  toTop = false;
}

const inRange = (at) => at && passes[at.pass]?.stops[at.stop];
if (!inRange(state.at) || (!isSafe() && state.at.pass > 0)) state.at = null;
state.at ??= firstOpen();
state.field = firstField();
if (handsOver()) state.ready = false;
outbox.start().then((kept) => {
  for (const entry of kept) {
    if (entry.url === data.urls.readings) readings.show(entry, nameOf(entry.body.by));
    for (const what of entry.body.made_safe ?? []) state.safe.add(what);
  }
  draw();
}, () => {
  state.fault = data.words.not_kept;
  draw();
});
draw();
/** Let a running clock go on, and stop one whose time is full. */
function tick() {
  const shown = root.querySelector("[data-clock]");
  if (!shown) return;
  const seconds = Math.floor((Date.now() - Number(shown.dataset.clock)) / 1000);
  const full = Number(shown.dataset.stops);
  shown.textContent = fill(data.words.seconds, { seconds: full ? Math.min(seconds, full) : seconds });
  if (!full || seconds < full) return;
  for (const field of fieldsAt(stopAt())) {
    if (state.drafts[keyOf(stopAt(), field)]?.running) acts.draft(keyOf(stopAt(), field), { running: null, seconds: full });
  }
}

setInterval(tick, 250);
setInterval(ask, ASK_EVERY);
addEventListener("focus", ask);
document.addEventListener("visibilitychange", ask);
