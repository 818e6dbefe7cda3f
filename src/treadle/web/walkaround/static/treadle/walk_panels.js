// What stands around the measuring: making safe, setting and holding the pressure, the whole vehicle, finishing.

import { fill, h, icon, mark, reading } from "./drawn.js";
import { keyBlock } from "./pads.js";
import { gauge } from "./walk_pads.js";

// ---- making safe

/** The cautions, each confirmed by a tap; spring brakes only once the wheels are chocked. */
export function drawCautions({ data, state, acts }) {
  const { words } = data;
  return [
    h("p", { class: "lead" }, data.passes[0].does),
    h("ul", { class: "safe" }, ["level", "chocks", "springs", "hands"].map((what) => h("li", {}, h("button", {
      type: "button",
      class: "choice safe-one",
      "data-focus": `safe-${what}`,
      "aria-pressed": String(state.safe.has(what)),
      disabled: what === "springs" && !state.safe.has("chocks"),
      onclick: () => acts.safe(what),
    }, h("span", {}, words[`safe_${what}`], h("small", {}, words[`safe_${what}_why`])))))),
  ];
}

// ---- setting the pressure and holding

/** The circumstances of the readings that follow: each is a tap, none is there by itself. */
export function drawHold(all) {
  const { data, state, acts, here } = all;
  const { words } = data;
  const now = state.circumstances;
  const alone = !data.units.some((one) => one.power);
  const choice = (name, values) => h("fieldset", { class: "choices" }, h("legend", { class: "field-label" }, words[`hold_${name}`]),
    keyBlock(`hold-${name}`, values.map((value) => ({ label: words[`${name}_${value}`], pressed: now[name] === value, act: () => acts.hold({ [name]: value }) })), { words: true, label: words[`hold_${name}`] }));
  return [
    h("h1", { class: "hold-title" }, here.passAt().label),
    h("p", {}, here.passAt().does),
    h("p", { class: "call-small" }, words.hands_clear),
    h("p", { class: "pad-readout" }, now.reservoir ?? `– ${state.pressureUnit}`, h("small", {}, words.hold_reservoir)),
    gauge(all, "reservoir", now.reservoir, (reservoir) => acts.hold({ reservoir })),
    alone && choice("supply", ["own", "shop"]),
    now.supply !== "shop" && choice("engine", ["off", "running"]),
    choice("spring_brakes", ["released", "applied"]),
    h("p", { class: "soft" }, words.hold_note),
  ];
}

// ---- the whole vehicle

/** The vehicle in plan view with every wheel end a target, the passes, and who reads. */
export function drawMap(all) {
  const { data, state, here, acts } = all;
  const { words } = data;
  const locked = !here.isSafe();
  return h("div", { class: "walk-page" },
    h("div", { class: "side-by-side" },
      h("h1", {}, words.whole_vehicle),
      h("button", { type: "button", class: "button", "data-focus": "map", onclick: () => acts.open("map") }, words.close)),
    h("ol", { class: "map-passes" }, data.passes.map((one, n) => passRow(all, one, n, locked))),
    data.units.map((unit) => h("section", { class: `map-unit map-${unit.kind}`, "aria-label": unit.number },
      h("h2", {}, unit.number, h("small", {}, unit.described)),
      h("div", { class: "map-ends" }, unit.ends.map((end) => endButton(all, unit, end, locked))))),
    h("fieldset", { class: "choices" }, h("legend", { class: "field-label" }, words.who_reads),
      keyBlock("reader", data.people.map((one) => ({ label: one.name, pressed: one.id === state.by, act: () => acts.reader(one.id) })), { words: true, label: words.who_reads })),
    h("div", { class: "pad-go" },
      h("a", { class: "button", href: state.layout === "keep" ? data.urls.walk : data.urls.keep, onclick: acts.otherLayout }, state.layout === "keep" ? words.to_walking : words.to_keeping),
      h("button", { type: "button", class: "button button-main", "data-focus": "to-finish", onclick: () => acts.open("finish") }, words.to_finish)));
}

function passRow({ data, state, here, acts }, one, n, locked) {
  const { done, needed } = one.name === "safe" ? { done: state.safe.size, needed: 4 } : here.progress([one]);
  const isNow = here.passAt() === one;
  const held = one.name === "hold" ? (here.isHeld() ? state.circumstances.reservoir : data.words.not_held) : null;
  const says = held ?? (one.name === "safe" ? fill(data.words.confirmed_of, { done, needed }) : needed ? fill(data.words.needed_done, { done, needed }) : data.words.nothing_needed);
  return h("li", {}, h("button", {
    type: "button",
    class: isNow ? "row is-here" : "row",
    "aria-current": isNow ? "step" : null,
    "data-focus": `pass-${n}`,
    disabled: locked && n > 0,
    onclick: () => acts.go(n, 0),
  }, h("span", { class: "row-main" }, `${n + 1}  ${one.label}`, h("small", {}, says)), needed && done === needed ? icon("done") : ""));
}

/** A wheel end as a target: it leads to its stop in the pass one is in, or the first pass that stops there. */
function endButton({ data, here, acts, readings }, unit, end, locked) {
  const at = (one) => one.stops.findIndex((stop) => stop.unit === unit.number && stop.axle === end.axle && stop.side === end.side);
  const now = data.passes.indexOf(here.passAt());
  const pass = at(here.passAt()) >= 0 ? now : data.passes.findIndex((one) => at(one) >= 0);
  const stop = here.stopAt();
  const isHere = stop.unit === unit.number && stop.axle === end.axle && stop.side === end.side;
  const { outcome, done, needed } = readings.soFarAt(unit.number, end.axle, end.side);
  const place = pass < 0 ? null : data.passes[pass].stops[at(data.passes[pass])];
  const stroke = strokeAt({ data, readings }, unit, end);
  return h("button", {
    type: "button",
    class: `map-end map-${end.side}${isHere ? " is-here" : ""}`,
    "data-focus": `end-${unit.number}-${end.axle}-${end.side}`,
    disabled: locked || !place,
    onclick: () => acts.go(pass, at(data.passes[pass])),
  },
  h("span", {}, end.name, h("small", {}, outcome ? [stroke && [reading(stroke), ", "], done < needed ? fill(data.words.read_of, { done, needed }) : data.outcomes[outcome]] : data.words.nothing_yet)),
  outcome ? mark(outcome, 28, data.outcomes[outcome]) : h("span", { class: "no-mark" }));
}

function strokeAt({ data, readings }, unit, end) {
  for (const one of data.passes) {
    for (const stop of one.stops) {
      if (stop.unit !== unit.number || stop.axle !== end.axle || stop.side !== end.side) continue;
      const field = stop.fields.find((here) => here.kind === "applied_stroke");
      const row = field && readings.current(stop, field);
      if (row && row.kind !== "not_seen") return readings.text(row, stop);
    }
  }
  return "";
}

// ---- going on

/** Whoever kept for a caller on this device is asked how they go on. */
export function drawGoOn({ data, state, acts }) {
  const { words } = data;
  return h("div", { class: "walk-page" },
    h("h1", {}, words.go_on_how),
    h("p", {}, fill(words.kept_for, { name: data.people.find((one) => one.id === state.by)?.name ?? "" })),
    h("a", { class: "button button-main", "data-focus": "go-on-keep", href: `${data.urls.keep}?caller=${state.by}` }, words.to_keeping),
    h("button", { type: "button", class: "button", "data-focus": "go-on-walk", onclick: acts.readMyself }, words.to_walking));
}

// ---- finishing

/** What is still missing, and the end of the walk. */
export function drawFinish(all) {
  const { data, state, outbox, acts, here } = all;
  const { words } = data;
  const missing = missingOf(all);
  const waits = outbox.entries.length;
  const { done, needed } = here.progress();
  return h("div", { class: "walk-page" },
    h("div", { class: "side-by-side" },
      h("h1", {}, words.finish_title),
      h("button", { type: "button", class: "button", "data-focus": "close-finish", onclick: () => acts.open("finish") }, words.close)),
    state.fault && h("p", { class: "walk-fault", role: "alert" }, icon("caution"), h("span", {}, state.fault)),
    h("p", {}, fill(words.needed_done, { done, needed })),
    missing.length
      ? [h("p", {}, words.missing_is_unseen), h("ul", { class: "rows" }, missing.map(({ pass, stop, fields, name }, n) => h("li", {}, h("button", { type: "button", class: "row", "data-focus": `missing-${n}`, onclick: () => acts.go(pass, stop) }, h("span", { class: "row-main" }, name, h("small", {}, fields.map((field) => field.label).join("; "))), mark("unseen", 30, data.outcomes.unseen)))))]
      : h("p", {}, words.all_there),
    waits > 0 && h("p", { class: "strip", role: "status" }, icon("offline"), h("span", {}, fill(words.send_first, { count: waits }))),
    waits > 0 && h("button", { type: "button", class: "button", "data-focus": "waiting", onclick: () => acts.open("waiting") }, words.show_waiting),
    h("div", { class: "pad-go" }, h("button", { type: "button", class: "button button-main", "data-focus": "finish", disabled: waits > 0 || state.finishing, onclick: acts.finish }, state.finishing ? words.judging : words.finish)));
}

function missingOf({ data, readings }) {
  const found = [];
  for (const [pass, one] of data.passes.entries()) {
    for (const [stop, place] of one.stops.entries()) {
      const fields = place.fields.filter((field) => field.needed && !readings.isAnswered(place, field));
      if (!fields.length) continue;
      const end = data.units.find((unit) => unit.number === place.unit)?.ends.find((here) => here.axle === place.axle && here.side === place.side);
      found.push({ pass, stop, fields, name: end ? `${place.unit}, ${end.name}` : place.unit });
    }
  }
  return found;
}

// ---- what waits

/** Every entry that is not yet safe on the server, and why. */
export function drawWaiting({ data, outbox, acts }) {
  const { words } = data;
  return h("div", { class: "walk-page" },
    h("div", { class: "side-by-side" },
      h("h1", {}, words.waiting_title),
      h("button", { type: "button", class: "button", "data-focus": "close-waiting", onclick: () => acts.open("waiting") }, words.close)),
    outbox.entries.length === 0 && h("p", {}, words.all_saved),
    h("ul", { class: "rows" }, outbox.entries.map((entry) => h("li", { class: "row waiting-row" },
      h("span", { class: "row-main" }, titleOf(data, entry),
        entry.problems.map((one) => h("small", {}, one.says)),
        h("small", {}, entry.setAside ? words.set_aside : entry.state === "waiting" ? words.here_only : words.for_a_person)),
      h("span", { class: "row-value" }, entry.body.value ? reading(entry.body.value) : ""),
      entry.state !== "waiting" && h("button", { type: "button", class: "button", "data-focus": `drop-${entry.id}`, onclick: () => acts.drop(entry) }, words.let_go)))),
    h("div", { class: "pad-go" }, h("button", { type: "button", class: "button button-main", "data-focus": "send-now", onclick: acts.sendNow }, words.send_now)));
}

function titleOf(data, { body, url }) {
  if (url === data.urls.note) return data.words.a_note;
  const unit = data.units.find((one) => one.number === body.unit);
  const end = unit?.ends.find((one) => one.axle === body.axle && one.side === body.side);
  const place = [body.unit, end?.name].filter(Boolean).join(", ");
  if (url === data.urls.photos) return `${data.words.photo}: ${place}`;
  const field = data.passes.flatMap((one) => one.stops).flatMap((stop) => stop.fields).find((one) => one.kind === (body.what ?? body.kind));
  return `${place}: ${field?.label ?? data.words[`kind_${body.kind}`] ?? body.kind}`;
}
