// Quantities as read off the tool, read and shown as the server does: exact fractions, never a rounded number.
// The table of cases in measure/cases.toml is run against this file too.

export const UNITS = {
  in: { dimension: "length", fractions: true, metric: false, factor: [254n, 10000n] },
  ft: { dimension: "length", metric: false, factor: [3048n, 10000n] },
  mm: { dimension: "length", metric: true, factor: [1n, 1000n] },
  cm: { dimension: "length", metric: true, factor: [1n, 100n] },
  m: { dimension: "length", metric: true, factor: [1n, 1n] },
  mi: { dimension: "length", metric: false, factor: [1609344n, 1000n] },
  km: { dimension: "length", metric: true, factor: [1000n, 1n] },
  psi: { dimension: "pressure", metric: false, factor: [44482216152605n, 6451600000n] },
  kPa: { dimension: "pressure", metric: true, factor: [1000n, 1n] },
  bar: { dimension: "pressure", metric: true, factor: [100000n, 1n] },
  lb: { dimension: "mass", metric: false, factor: [45359237n, 100000000n] },
  kg: { dimension: "mass", metric: true, factor: [1n, 1n] },
  s: { dimension: "time", metric: true, factor: [1n, 1n] },
};

const ALIASES = new Map(Object.entries({
  in: 'in in. inch inches "',
  ft: "ft ft. foot feet",
  mm: "mm millimetre millimetres millimeter millimeters",
  cm: "cm",
  m: "m",
  mi: "mi mi. mile miles",
  km: "km",
  psi: "psi psig",
  kPa: "kpa",
  bar: "bar",
  lb: "lb lb. lbs lbs. pound pounds",
  kg: "kg",
  s: "s sec secs second seconds",
}).flatMap(([name, spellings]) => spellings.split(" ").map((one) => [one, name])));

const VULGAR = {
  "½": "1/2", "⅓": "1/3", "⅔": "2/3", "¼": "1/4", "¾": "3/4", "⅕": "1/5", "⅖": "2/5", "⅗": "3/5", "⅘": "4/5",
  "⅙": "1/6", "⅚": "5/6", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8",
};
const SAME_SIGN = { "⁄": "/", "″": '"', "”": '"', "“": '"', "−": "-", "‑": "-", "\u00a0": " " };
const NUMBER = new RegExp(
  "^(?:(?<whole>\\d{1,9})(?:\\s*-\\s*|\\s+)(?<over>\\d{1,9})\\s*/\\s*(?<under>\\d{1,9})"
  + "|(?<onlyOver>\\d{1,9})\\s*/\\s*(?<onlyUnder>\\d{1,9})"
  + "|(?<decimal>\\d{1,12}(?:[.,]\\d{1,12})?|[.,]\\d{1,12}))\\s*(?<unit>[a-zA-Z°\"'][^/,]*)?$",
);
const DIVISIONS = new Set([2n, 4n, 8n, 16n, 32n, 64n, 128n]);
const FINEST_DIVISION = 64n;

// ---- fractions: [over, under], lowest terms, under above nothing

const divisor = (a, b) => (b === 0n ? (a < 0n ? -a : a) : divisor(b, a % b));

/** Return over/under in lowest terms. */
export function fraction(over, under = 1n) {
  const [a, b] = [BigInt(over), BigInt(under)];
  const common = divisor(a, b) || 1n;
  const sign = b < 0n ? -1n : 1n;
  return [(sign * a) / common, (sign * b) / common];
}
export const plus = ([a, b], [c, d]) => fraction(a * d + c * b, b * d);
export const minus = ([a, b], [c, d]) => fraction(a * d - c * b, b * d);
export const times = ([a, b], [c, d]) => fraction(a * c, b * d);
export const isMore = ([a, b], [c, d]) => a * d > c * b;
const absolute = ([a, b]) => [a < 0n ? -a : a, b];

/** Return a value of one unit in another of the same dimension, exactly. */
export function convert(value, unit, target) {
  if (unit === target) return value;
  const [a, b] = UNITS[target].factor;
  return times(times(value, UNITS[unit].factor), [b, a]);
}

// ---- reading

/** Why a text cannot be read: `why` is the slug of the server's message, `guess` what it may have meant. */
export class Unreadable extends Error {
  constructor(why, guess = null) {
    super(why);
    this.why = why;
    this.guess = guess;
  }
}

/**
 * Read a quantity as typed: "1 3/4 in", "1-3/4\"", "7/32", "5,6 mm", "¼\"", "+.060".
 * `field` is the unit a bare number has; `nominal` what a + is over.  Returns {value, unit, step, shown}.
 */
export function read(text, { dimension = "length", field = null, nominal = null } = {}) {
  let plain = [...text].map((sign) => SAME_SIGN[sign] ?? (VULGAR[sign] ? ` ${VULGAR[sign]}` : sign)).join("").trim();
  const over = plain.startsWith("+");
  if (over) plain = plain.slice(1).trim();
  const found = NUMBER.exec(plain)?.groups;
  if (!found || (over && !nominal)) throw new Unreadable("unreadable_quantity");
  let unit = unitOf(found.unit, dimension, field);
  let { value, step, number } = found.decimal === undefined ? mixed(found, unit) : decimal(found.decimal, unit);
  if (over) {
    const total = unit === nominal.unit || UNITS[unit].metric ? unit : nominal.unit;
    value = plus(convert(nominal.value, nominal.unit, total), convert(value, unit, total));
    unit = total;
    number = show(value, unit, true);
  }
  return { value, unit, step, shown: `${number} ${unit}` };
}

function unitOf(written, dimension, field) {
  if (written === undefined) {
    if (!field) throw new Unreadable("no_unit");
    return field;
  }
  const unit = ALIASES.get(written.trim().toLowerCase());
  if (!unit || UNITS[unit].dimension !== dimension) throw new Unreadable("wrong_unit");
  return unit;
}

function mixed(found, unit) {
  const over = BigInt(found.over ?? found.onlyOver);
  const under = BigInt(found.under ?? found.onlyUnder);
  const whole = BigInt(found.whole ?? 0);
  if (!DIVISIONS.has(under)) throw new Unreadable("odd_division");
  const value = plus([whole, 1n], fraction(over, under));
  if (over >= under) throw new Unreadable("ambiguous_quantity", `${show(value, "in")} ${unit}`);
  const number = found.whole === undefined ? `${over}/${under}` : `${whole} ${over}/${under}`;
  return { value, step: [1n, under], number };
}

function decimal(digits, unit) {
  const [whole, after = ""] = digits.split(/[.,]/);
  if (digits.includes(",") && after.length > 2) {
    throw new Unreadable("ambiguous_quantity", `${whole === "" || whole === "0" ? `0.${after}` : whole + after} ${unit}`);
  }
  const scale = 10n ** BigInt(after.length);
  const number = `${whole || "0"}${after ? `.${after}` : ""}`;
  return { value: fraction(BigInt(whole + after || "0"), scale), step: [1n, scale], number };
}

// ---- showing

/** Write an exact number as a tool in that unit shows it: inches on a division as a mixed fraction, else a decimal. */
export function show(value, unit, asDecimal = false) {
  const sign = value[0] < 0n ? "-" : "";
  const [over, under] = absolute(value);
  const onDivision = under <= FINEST_DIVISION && (under & (under - 1n)) === 0n;
  if (UNITS[unit].fractions && onDivision && !asDecimal) {
    const whole = over / under;
    const rest = over % under;
    return sign + [whole || !rest ? `${whole}` : "", rest ? `${rest}/${under}` : ""].filter(Boolean).join(" ");
  }
  return sign + (exactDecimal(over, under) ?? `${over}/${under}`);
}

function exactDecimal(over, under) {
  let rest = under;
  let digits = 0;
  while (rest % 2n === 0n || rest % 5n === 0n) {
    rest /= rest % 10n === 0n ? 10n : rest % 2n === 0n ? 2n : 5n;
    digits += 1;
  }
  if (rest !== 1n) return null;
  const scaled = `${(over * 10n ** BigInt(digits)) / under}`.padStart(digits + 1, "0");
  return digits === 0 ? scaled : `${scaled.slice(0, -digits)}.${scaled.slice(-digits)}`;
}

/** Write how far past or within a limit, never finer than a tool could show. */
export function showExcess(value, unit, asDecimal) {
  const size = absolute(value);
  const number = show(size, unit, asDecimal);
  const under = number.includes("/") ? BigInt(number.split("/")[1]) : 1n;
  if (under <= FINEST_DIVISION) return `${number} ${unit}`;
  return `${(Number(size[0]) / Number(size[1])).toFixed(3)} ${unit}`;
}

/** Return a value as whole steps of the limits file; null where it lies between two. */
export function steps(value, unit, table) {
  const [over, under] = times(value, [BigInt(table[unit]), 1n]);
  return under === 1n ? Number(over) : null;
}

/** Return a text split at its fractions of an inch: {text} or {whole, over, under, unit}. */
export function runs(text) {
  const found = [];
  let done = 0;
  for (const match of text.matchAll(/(?<![\w/.,-])(-?)(?:(\d+) )?(\d+)\/(\d+) in\b/g)) {
    if (match.index > done) found.push({ text: text.slice(done, match.index) });
    found.push({ whole: match[1] + (match[2] ?? ""), over: match[3], under: match[4], unit: "in" });
    done = match.index + match[0].length;
  }
  if (done < text.length) found.push({ text: text.slice(done) });
  return found;
}
