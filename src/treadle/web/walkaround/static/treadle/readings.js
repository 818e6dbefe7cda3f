// The readings of a walk as the screen holds them: those on record, those that wait, what stands, and what each comes to.

import { fill } from "./drawn.js";
import { askOnceMore, endOf, readOr, verdictOn, verdictOnWord, worst } from "./limits.js";
import { UNITS, convert, isMore, minus, show } from "./measure.js";
import { stepOf } from "./pads.js";

const PADS = new Set(["inner", "outer"]);
const BESIDE_EACH_OTHER = new Set(["condition", "drum_diameter", "rotor_thickness"]);
const AT_LARGEST = new Set(["drum_diameter"]);
const STROKE_KINDS = new Set(["applied_stroke", "rod_applied"]);

export class Readings {
  constructor(data) {
    this.data = data;
    this.rows = new Map();
    this.found = new Map();
    this.take(data.readings);
  }

  /** Take rows that came from the server; what is on record wins over what was shown while it waited. */
  take(rows) {
    let news = false;
    for (const row of rows) {
      const known = this.rows.get(row.id);
      news ||= !known || known.pending;
      this.rows.set(row.id, row);
      if (row.found?.length) this.found.set(row.id, row.found);
    }
    return news;
  }

  /** Show an entry that waits as the reading it will be. */
  show(entry, byName) {
    const { id, unit, axle = null, side = "", kind, at, by, corrects = null, withdraws = false, stated_reason = "", ...rest } = entry.body;
    const fields = Object.fromEntries(Object.entries(rest).filter(([name]) => !["walk_around", "zone", "why_corrected"].includes(name)));
    const refused = entry.state !== "waiting";
    this.rows.set(id, { id, unit, axle, side, kind, at, by, by_name: byName, corrects, withdraws, stated_reason, doubt: "", fields, pending: true, refused });
  }

  forget(id) {
    this.rows.delete(id);
  }

  /** Those that stand: neither corrected nor taken back, oldest first. */
  standing() {
    const rows = [...this.rows.values()].filter((row) => !row.refused);
    const replaced = new Set(rows.map((row) => row.corrects).filter(Boolean));
    return rows.filter((row) => !replaced.has(row.id) && !row.withdraws)
      .sort((one, other) => Date.parse(one.at) - Date.parse(other.at));
  }

  /** The readings of one field at a stop that stand, oldest first. */
  of(stop, field) {
    return this.standing().filter((row) => isAt(row, stop) && isOf(row, field));
  }

  /** The reading of a field that counts: the last, of a drum the largest; null where there is none. */
  current(stop, field) {
    const rows = this.of(stop, field);
    const sizes = AT_LARGEST.has(field.kind) ? rows.filter((row) => row.kind === field.kind) : [];
    if (!sizes.length) return rows.at(-1) ?? null;
    return sizes.reduce((one, other) => {
      const [here, there] = [this.size(one, stop), this.size(other, stop)];
      return here && there && isMore(here.value, there.value) ? one : other;
    });
  }

  isAnswered(stop, field) {
    if (field.kind === "applied_stroke") return this.of(stop, field).some((row) => row.kind !== "rod_applied" || this.between(row, stop));
    return this.of(stop, field).length > 0;
  }

  conditions(stop) {
    return this.standing().filter((row) => isAt(row, stop) && row.kind === "condition");
  }

  /** A quantity as it was read, of a rod's two marks the stroke between them; null where it is none. */
  size(row, stop) {
    if (row.kind === "rod_applied") return this.between(row, stop);
    const end = this.#end(stop);
    const nominal = readOr(end?.nominal);
    return readOr(row.fields.value, { nominal });
  }

  /** The stroke between the two marks on a rod. */
  between(applied, stop) {
    const released = this.standing().filter((row) => isAt(row, stop) && row.kind === "rod_released").at(-1);
    const [from, to] = [readOr(released?.fields.value), readOr(applied.fields.value)];
    if (!from || !to || from.unit !== to.unit || isMore(from.value, to.value)) return null;
    const value = minus(to.value, from.value);
    return { value, unit: to.unit, shown: `${show(value, to.unit, to.shown.includes("."))} ${to.unit}` };
  }

  /** What a reading comes to: {outcome, says, does}; null while only the server can say. */
  verdict(row, stop, field) {
    const words = this.data.words;
    if (row.kind === "not_seen") {
      return { outcome: "unseen", says: fill(words.not_seen_because, { what: field.label, reason: row.fields.reason }), does: "" };
    }
    if (row.doubt || row.kept) {
      return { outcome: "unseen", says: fill(words.kept_unseen, { what: field.label, value: this.text(row, stop), reason: row.stated_reason }), does: "" };
    }
    const judged = this.found.get(row.id);
    if (judged?.length) return { ...judged[0], also: judged.slice(1) };
    return this.#lookUp(row, stop, field);
  }

  #lookUp(row, stop, field) {
    const end = this.limits(stop);
    if (!end) return null;
    const about = this.#about(row, stop);
    const word = row.fields.special ?? (["condition", "wear_indicator"].includes(row.kind) ? row.fields.value : null);
    if (word) return verdictOnWord(end, word, about);
    const size = this.size(row, stop);
    return size && field ? verdictOn(this.data.limits[stop.unit], end, size, about) : null;
  }

  #about(row, stop) {
    const kind = STROKE_KINDS.has(row.kind) ? "applied_stroke" : row.kind;
    const part = row.fields.shoe ?? row.fields.pad ?? "";
    const stated = row.fields.reservoir;
    return {
      kind,
      place: row.fields.place ?? null,
      part: this.#end(stop)?.parts[part] ?? part,
      reservoir: readOr(stated, { dimension: "pressure" }),
    };
  }

  /** Whether a reading lies within one step of its tool of where pass becomes breach. */
  onceMore(row, stop, pad) {
    const end = this.limits(stop);
    const size = this.size(row, stop);
    if (!end || !size || row.fields.special) return false;
    return askOnceMore(this.data.limits[stop.unit], end, size, this.#about(row, stop), stepOf(pad, size.value));
  }

  /** What was read, as it is shown. */
  text(row, stop) {
    const { fields } = row;
    const words = this.data.words;
    if (row.kind === "rod_applied") return this.between(row, stop)?.shown ?? fields.value;
    if (row.kind === "air_loss" || row.kind === "build_up") {
      return fill(words.from_to_in, { from: fields.start, to: fields.end, seconds: fields.seconds });
    }
    if (fields.special) return words[`word_${fields.special}`];
    return words[`word_${fields.value}`] ?? fields.value ?? "";
  }

  /**
   * What a wheel end comes to so far: {outcome, done, needed}; null as outcome where nothing was read.
   * What is needed and not there is unseen: part of it being good does not make the end good.
   */
  soFarAt(unit, axle, side) {
    const outcomes = [];
    let [done, needed] = [0, 0];
    for (const one of this.data.passes) {
      for (const stop of one.stops) {
        if (stop.unit !== unit || stop.axle !== axle || stop.side !== side) continue;
        for (const field of stop.fields) {
          needed += field.needed ? 1 : 0;
          done += field.needed && this.isAnswered(stop, field) ? 1 : 0;
          const rows = field.kind === "condition" ? this.conditions(stop) : [this.current(stop, field)];
          for (const row of rows) if (row) outcomes.push(this.verdict(row, stop, field)?.outcome);
        }
      }
    }
    const outcome = worst(outcomes);
    return { outcome: outcome && done < needed ? worst([outcome, "unseen"]) : outcome, done, needed };
  }

  /** Where people read different values of one thing: the last of each, oldest first; else nothing. */
  atOdds(stop, field) {
    if (BESIDE_EACH_OTHER.has(field.kind)) return [];
    const last = new Map();
    for (const row of this.of(stop, field).filter((one) => one.kind !== "not_seen")) {
      last.delete(row.by);
      last.set(row.by, row);
    }
    const rows = [...last.values()];
    return new Set(rows.map((row) => this.#same(row, stop))).size > 1 ? rows : [];
  }

  /** Equal for two readings that say the same, in whatever unit. */
  #same(row, stop) {
    const size = row.fields.special ? null : this.size(row, stop);
    return size && UNITS[size.unit].dimension === "length" ? String(convert(size.value, size.unit, "mm")) : this.text(row, stop);
  }

  limits(stop) {
    return stop.axle === null ? null : endOf(this.data.limits[stop.unit], stop.axle, stop.side);
  }

  #end(stop) {
    return endFacts(this.data, stop);
  }
}

/** What is on file of the wheel end of a stop; null for a whole unit. */
export function endFacts(data, stop) {
  const unit = data.units.find((one) => one.number === stop.unit);
  return unit?.ends.find((one) => one.axle === stop.axle && one.side === stop.side) ?? null;
}

export const partName = (part) => (PADS.has(part) ? "pad" : "shoe");

const isAt = (row, stop) => row.unit === stop.unit && row.axle === stop.axle && row.side === (stop.side ?? "");

function isOf(row, field) {
  const kind = row.kind === "not_seen" ? row.fields.what : row.kind;
  const same = kind === field.kind || (field.kind === "applied_stroke" && kind === "rod_applied");
  const part = row.fields.shoe ?? row.fields.pad ?? "";
  if (!same || (field.part && part !== field.part)) return false;
  if (row.kind === "not_seen") return !field.place || !row.fields.place || row.fields.place === field.place;
  return (row.fields.place ?? "") === field.place && (row.fields.state ?? "") === field.state;
}
