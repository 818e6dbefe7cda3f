// How a walk looks: the bar, where you are, what is asked, what it came to, and the keys.  It decides nothing.

import { fill, h, icon, mark, reading } from "./drawn.js";
import { drawCautions, drawFinish, drawGoOn, drawHold, drawMap, drawWaiting } from "./walk_panels.js";
import { drawPad, drawPhoto } from "./walk_pads.js";
import { endFacts } from "./readings.js";

/** Draw the whole screen. */
export function drawWalk(all) {
  const { state, here } = all;
  const keeps = state.layout === "keep" && state.ready !== false && here.passAt().name !== "safe";
  if (state.keptFor) return [bar(all), drawGoOn(all)];
  const alone = ["map", "finish", "waiting"].includes(state.open) || here.passAt().name === "hold" || keeps;
  return [bar(all), alone ? null : where(all), screenOf(all)];
}

function screenOf(all) {
  const { state, here } = all;
  if (state.open === "map") return drawMap(all);
  if (state.open === "finish") return drawFinish(all);
  if (state.open === "waiting") return drawWaiting(all);
  const { name } = here.passAt();
  if (name === "safe") return [page(all, drawCautions(all)), foot(all)];
  if (name === "hold") return [page(all, drawHold(all)), foot(all)];
  if (state.ready === false) return handOver(all);
  return state.layout === "keep" ? keeping(all) : measuring(all);
}

const page = (all, ...inside) => h("div", { class: "walk-page", "data-scroll": "page" }, notices(all), inside);

// ---- the bar

function bar({ data, state, outbox, here }) {
  const number = data.passes.indexOf(here.passAt()) + 1;
  return h("header", { class: "bar bar-work" },
    h("a", { class: "bar-back", href: data.urls.list, "aria-label": data.words.leave }, icon("back")),
    h("strong", { class: "bar-unit" }, here.stopAt().unit),
    h("span", { class: "bar-facts" }, fill(data.words.pass_of, { number, passes: data.passes.length }), h("br"), here.passAt().label),
    h("span", { class: "bar-state", role: "status" }, h("span", {}, savedText(data, outbox)), h("br"), [progressText(data, here), state.by === data.me.id ? "" : nameOf(data, state.by)].filter(Boolean).join(" · ")));
}

/** How far the pass is: what is needed and there. */
function progressText({ words }, here) {
  const { done, needed } = here.progress([here.passAt()]);
  return needed ? fill(words.of, { done, needed }) : "";
}

function savedText({ words }, outbox) {
  const count = outbox.entries.length;
  if (!count) return words.all_saved;
  if (outbox.entries.some((one) => one.state === "writing")) return words.saving;
  return fill(count === 1 ? words.one_waiting : words.waiting, { count });
}

export const nameOf = (data, id) => data.people.find((one) => one.id === id)?.name ?? data.me.name;

// ---- what has to be said before anything else

function notices({ data, state, outbox, acts }) {
  const { words } = data;
  const found = [];
  if (state.fault) found.push(h("p", { class: "walk-fault", role: "alert" }, icon("caution"), h("span", {}, state.fault)));
  if (state.ended) found.push(h("p", { class: "walk-fault", role: "alert" }, icon("caution"), h("span", {}, words.ended, " ", h("a", { href: data.urls.result }, words.to_result))));
  if (outbox.state === "sign-in" && outbox.waiting.length) {
    const url = `${data.urls.sign_in}?next=${encodeURIComponent(location.pathname)}`;
    found.push(h("p", { class: "walk-fault", role: "alert" }, icon("caution"), h("span", {}, words.sign_in_again, " ", h("a", { href: url }, words.sign_in))));
  } else if (outbox.waiting.length && ["no-network", "no-server"].includes(outbox.state)) {
    found.push(h("p", { class: "strip", role: "status" }, icon("offline"), h("span", {}, fill(words.kept_here, { count: outbox.waiting.length }))));
  }
  const asides = outbox.entries.filter((one) => one.state === "person");
  if (asides.length) {
    found.push(h("button", { type: "button", class: "button", "data-focus": "waiting", onclick: () => acts.open("waiting") }, fill(words.not_taken, { count: asides.length })));
  }
  return found;
}

// ---- where one is

function where(all) {
  const { data, here, acts } = all;
  const stop = here.stopAt();
  const end = endFacts(data, stop);
  const unit = data.units.find((one) => one.number === stop.unit);
  return h("div", { class: "where" },
    h("button", { type: "button", class: "where-plan", "data-focus": "map", "aria-label": data.words.open_map, onclick: () => acts.open("map") }, smallPlan(unit, stop)),
    h("div", {},
      h("h1", {}, end?.name ?? unit.number),
      h("p", {}, end?.fitted ?? unit.described)),
    here.passAt().name === "safe" ? null : drawPhoto(all));
}

/** The small plan of the unit, with the wheel end one is at marked; it was drawn by the server. */
function smallPlan(unit, stop) {
  const svg = new DOMParser().parseFromString(unit.plan, "image/svg+xml").documentElement;
  for (const end of svg.querySelectorAll(".end")) {
    const isHere = Number(end.dataset.axle) === stop.axle && end.dataset.side === stop.side;
    end.setAttribute("class", isHere ? "end is-here" : "end");
  }
  return document.importNode(svg, true);
}

// ---- measuring

function measuring(all) {
  return [
    page(all, rowsOf(all)),
    h("div", { class: "dock" }, says(all), h("div", { class: "pad" }, doubtAt(all) ?? drawPad(all), go(all))),
  ];
}

function foot(all) {
  return h("div", { class: "dock" }, h("div", { class: "pad" }, go(all)));
}

/** What is asked here, each with what it came to; the one the keys write to is marked. */
function rowsOf(all) {
  const { state, here, readings, acts } = all;
  const stop = here.stopAt();
  const fields = here.fieldsAt(stop);
  const more = fields.filter((field, n) => isSpare(all, field, n));
  const rows = fields.map((field, n) => {
    if (!state.more && more.includes(field)) return null;
    const row = field.kind === "condition" ? null : readings.current(stop, field);
    const seen = field.kind === "condition" ? readings.conditions(stop) : [];
    const outcome = row ? readings.verdict(row, stop, field)?.outcome : worstSeen(all, seen, stop, field);
    return h("li", {}, h("button", {
      type: "button",
      class: n === state.field ? "row is-here" : "row",
      "aria-current": n === state.field ? "true" : null,
      "data-focus": `row-${n}`,
      onclick: () => acts.choose(n),
    },
    h("span", { class: "row-main" }, field.short, h("small", {}, [field.rest, aside(all, field, row, seen)].filter(Boolean).join(", "))),
    h("span", { class: isTest(field) ? "row-value row-value-long" : "row-value" }, row && row.kind !== "not_seen" ? reading(readings.text(row, stop)) : ""),
    outcome ? mark(outcome, 30, all.data.outcomes[outcome]) : h("span", { class: "no-mark" })));
  });
  return [
    h("ul", { class: "rows" }, rows),
    more.length > 0 && h("button", { type: "button", class: "button button-plain more", "data-focus": "more", "aria-expanded": String(Boolean(state.more)), onclick: acts.more },
      state.more ? all.data.words.fewer : fill(all.data.words.more, { what: [...new Set(more.map((field) => field.place ? field.rest : field.label))].join("; ") })),
  ];
}

const isTest = (field) => ["air_loss", "build_up"].includes(field.kind);

/** What nobody asks for and nobody has read: it waits behind one button, unless everything here is such. */
function isSpare({ state, here, readings }, field, n) {
  const stop = here.stopAt();
  if (field.needed || n === state.field || readings.of(stop, field).length) return false;
  return here.fieldsAt(stop).some((one) => one.needed);
}

function worstSeen({ readings }, seen, stop, field) {
  const order = ["hold", "fix", "unseen", "watch", "good"];
  const outcomes = seen.map((row) => readings.verdict(row, stop, field)?.outcome).filter(Boolean);
  return order.find((outcome) => outcomes.includes(outcome)) ?? null;
}

/** The small line under what is asked: needed or not, the circumstances, who read it, how often. */
function aside({ data, here, readings, outbox }, field, row, seen) {
  const { words } = data;
  const stop = here.stopAt();
  if (seen.length) return seen.map((one) => labelOf(data, one.fields.value)).join(", ");
  if (!row) return field.needed ? words.needed : words.optional;
  const said = [];
  if (row.kind === "not_seen") said.push(fill(words.not_seen_because, { what: "", reason: row.fields.reason }).replace(/^: /, ""));
  if (row.kind === "rod_applied") said.push(fill(words.mark_at, { value: row.fields.value }));
  if (row.fields.reservoir) said.push(row.fields.reservoir);
  if (row.doubt || row.kept) said.push(words.unseen_kept);
  const others = readings.of(stop, field).length;
  const odds = readings.atOdds(stop, field);
  if (odds.length) return oddsText(data, readings, odds, stop);
  if (others > 1) said.push(fill(words.read_times, { count: others }));
  if (row.by !== data.me.id) said.push(row.by_name);
  if (row.pending && outbox.state !== "idle") said.push(words.here_only);
  return said.join(", ");
}

export const labelOf = (data, name) => (name === "none_seen" ? data.words.none_seen : data.conditions.find((one) => one.name === name)?.label ?? name);

/** What each of them read, as one after the other: "14/32 in by one, 9/32 in by the other". */
const oddsText = ({ words }, readings, rows, stop) => rows.map((row) => fill(words.read_by, { value: readings.text(row, stop), name: row.by_name })).join(", ");

/** The reading just entered while it counts, else the one that does: another may have read since. */
function shownHere({ state, here, readings }) {
  const stop = here.stopAt();
  const last = state.last ? readings.rows.get(state.last) : null;
  if (!last || last.withdraws || last.refused) return null;
  const field = here.fieldsAt(stop).find((one) => readings.of(stop, one).includes(last));
  return field && readings.atOdds(stop, field).length ? readings.current(stop, field) : last;
}

/** What the last reading came to, by which rule, and what to do. */
export function says(all) {
  const { data, state, here, readings } = all;
  const stop = here.stopAt();
  const fields = here.fieldsAt(stop);
  const shown = shownHere(all) ?? readings.current(stop, fields[state.field]);
  if (!shown) return h("div", { class: "say-place", role: "status" });
  const field = fields.find((one) => readings.of(stop, one).includes(shown)) ?? fields[state.field];
  const verdict = readings.verdict(shown, stop, field);
  const odds = readings.atOdds(stop, field);
  const again = !odds.length && state.again === here.keyOf(stop, field);
  if (!verdict) {
    return h("div", { class: "say-place", role: "status" }, h("p", { class: "say" }, shown.pending ? data.words.judged_there : data.words.no_say));
  }
  return h("div", { class: "say-place", role: "status" },
    h("div", { class: `say say-${verdict.outcome}`, tabindex: "0", role: "group", "aria-label": data.words.comes_to },
      h("div", { class: "say-text" },
        h("strong", { class: "outcome" }, mark(verdict.outcome, 24), " ", data.outcomes[verdict.outcome]),
        odds.length > 0 && h("p", { class: "say-again" }, reading(fill(data.words.two_readings, { readings: oddsText(data, readings, odds, stop) }))),
        again && h("p", { class: "say-again" }, data.words.once_more),
        h("p", {}, reading(verdict.says)),
        verdict.outcome === "good" ? null : h("p", { class: "say-rule" }, reading(verdict.does), verdict.unconfirmed ? [" ", h("span", { class: "tag" }, data.words.unconfirmed)] : null),
      )));
}

// ---- a reading that cannot be so

function doubtAt(all) {
  const { outbox, here, readings } = all;
  const stop = here.stopAt();
  const entry = outbox.entries.find((one) => ["doubtful", "person"].includes(one.state) && !one.setAside && one.body.kind
    && one.body.unit === stop.unit && (one.body.axle ?? null) === stop.axle && (one.body.side ?? "") === (stop.side ?? ""));
  if (!entry || !readings.rows.has(entry.id)) return null;
  return drawDoubt(all, entry);
}

function drawDoubt({ data, state, acts, readings }, entry) {
  const { words } = data;
  const mayKeep = entry.state === "doubtful";
  const value = entry.body.value ?? "";
  return h("div", { class: "doubt", role: "alert" },
    h("p", { class: "cautions-title" }, icon("caution"), mayKeep ? words.cannot_be : words.not_readable),
    value && h("p", { class: "row-value" }, reading(value)),
    entry.problems.map((one) => h("p", {}, reading(one.says))),
    h("div", { class: "pad-go" }, h("button", { type: "button", class: "button button-main", "data-focus": "again", onclick: () => acts.measureAgain(entry) }, words.measure_again)),
    mayKeep && [
      h("p", {}, words.or_keep),
      h("div", { class: "keys keys-words" }, data.kept_because.map((reason, n) => h("button", { type: "button", class: "key", "data-focus": `reason-${n}`, onclick: () => acts.keepWithReason(entry, reason) }, reason))),
      h("div", { class: "field-line" },
        h("input", { class: "input", "data-focus": "reason", maxlength: "200", "aria-label": words.own_reason, placeholder: words.own_reason, value: state.typed, oninput: (event) => acts.type(event.target.value) }),
        h("button", { type: "button", class: "button", "data-focus": "reason-keep", onclick: () => state.typed.trim() && acts.keepWithReason(entry, state.typed.trim()) }, words.keep)),
    ]);
}

// ---- going on

function go(all) {
  const { data, state, here, acts } = all;
  const { words } = data;
  const measuring_ = !["safe", "hold"].includes(here.passAt().name);
  const safe = here.passAt().name !== "safe" || here.isSafe();
  return h("div", { class: "pad-go" },
    h("button", { type: "button", class: "button", "data-focus": "back", disabled: !here.previousPlace(), onclick: acts.back }, words.back),
    measuring_ && h("button", { type: "button", class: "button", "data-focus": "not-seen", "aria-expanded": String(state.open === "not-seen"), onclick: () => acts.open("not-seen") }, words.not_seen),
    measuring_ && h("button", { type: "button", class: "button", "data-focus": "undo", disabled: !here.lastHere(), onclick: acts.undo }, words.undo),
    h("button", { type: "button", class: "button button-main", "data-focus": "next", disabled: !safe, onclick: acts.next }, nextText(all)));
}

export function nextText({ data, here }) {
  const open = here.openField();
  if (open) return open.short;
  const place = here.nextPlace();
  if (!place) return data.words.to_finish;
  const [now, then] = [here.passAt(), data.passes[place.pass]];
  if (now !== then) return then.label;
  const stop = then.stops[place.stop];
  const name = endFacts(data, stop)?.name;
  return stop.unit === here.stopAt().unit || !name ? name ?? stop.unit : `${stop.unit}, ${name}`;
}

// ---- keeping for a caller

function handOver(all) {
  const { data, state, here, acts } = all;
  const stop = here.stopAt();
  const name = endFacts(data, stop)?.name ?? stop.unit;
  return [
    page(all, h("h2", { class: "call" }, goesTo(fill(data.words.goes_to, { name: nameOf(data, state.by) }), [stop.unit, name])), h("p", { class: "call-small" }, data.words.hands_clear)),
    h("div", { class: "dock" }, h("div", { class: "pad" }, h("div", { class: "pad-go" },
      h("button", { type: "button", class: "button", "data-focus": "back", disabled: !here.previousPlace(), onclick: acts.back }, data.words.back),
      h("button", { type: "button", class: "button button-main", "data-focus": "ready", onclick: acts.ready }, data.words.there)))),
  ];
}

/** Set a place into a sentence so that a unit's number is not torn apart at its hyphen. */
function goesTo(sentence, places) {
  const [before, after] = sentence.split("{place}");
  return [before, places.map((one, n) => [n ? ", " : "", h("span", { class: "whole" }, one)]), after];
}

function keeping(all) {
  const { data, state, here, readings } = all;
  const stop = here.stopAt();
  const fields = here.fieldsAt(stop);
  const field = fields[state.field];
  const shown = shownHere(all);
  const label = field.kind === "applied_stroke" && state.marks ? data.words.rod_applied : field.label;
  return [
    page(all,
      h("button", { type: "button", class: "button keep-place", "data-focus": "map", onclick: () => all.acts.open("map") }, [stop.unit, endFacts(data, stop)?.name].filter(Boolean).join(", ")),
      h("h1", { class: "call" }, label),
      h("p", { class: "readout", role: "status" }, shown ? reading(said(all, shown, stop)) : ""),
      shown && h("p", { class: "call-small" }, data.words.read_back),
      fields.length > 1 && h("div", { class: "keep-fields" }, rowsOf(all))),
    h("div", { class: "dock" }, shown ? says(all) : null, h("div", { class: "pad" }, doubtAt(all) ?? drawPad(all), go(all))),
  ];
}

function said({ data, readings }, row, stop) {
  if (row.kind === "not_seen") return data.words.not_seen_short;
  if (row.kind === "condition") return labelOf(data, row.fields.value);
  return readings.text(row, stop);
}
