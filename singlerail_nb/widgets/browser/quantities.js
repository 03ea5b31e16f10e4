// Reading and writing quantities: "4k7", "2µ2", "4.7 uF", "47 kohm", and back to "4.7 kΩ".
// The rules are those of singlerail_nb/quantities; UNIT_TABLE is written from its table of units.
// One table of cases, made by Python, tests both.

const NUMBER = /^([+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+))(?:[eE]([+-]?[0-9]{1,3}))?/;
const CODE = /^([+-]?)([0-9]*)([A-Za-zµ])([0-9]+) ?(Ω|F|)$/;
const LONGEST_TEXT = 64;
const PREFIXES = { "-15": "f", "-12": "p", "-9": "n", "-6": "µ", "-3": "m", 0: "", 3: "k", 6: "M", 9: "G", 12: "T" };
const SPOKEN_PREFIXES = { f: "femto-", p: "pico-", n: "nano-", "µ": "micro-", m: "milli-", "": "", k: "kilo-", M: "mega-", G: "giga-", T: "tera-" };
const SPOKEN_UNITS = { ohm: "ohm", F: "farad", Hz: "hertz", V: "volt", s: "second", A: "ampere", dB: "decibel", deg: "degrees", "V/V": "volts per volt" };

export const symbolOf = (unit) => UNIT_TABLE[unit]?.symbol ?? unit;

function tidy(text) {
  const same = { "\u2212": "-", "\u2126": "Ω", "\u03bc": "µ", "\u00a0": " ", "\u202f": " ", "\u2009": " " };
  return text.replace(/[\u2212\u2126\u03bc\u00a0\u202f\u2009]/g, (sign) => same[sign]).replace(/ohms?/gi, "Ω").replace(/℃/g, "°C").trim();
}

// {value, prefix} of a text in a unit of the table, or null.
function parse(text, unit) {
  const { symbol, suffixes, codes } = UNIT_TABLE[unit];
  const number = NUMBER.exec(text);
  const suffix = number && text.slice(number[0].length).replaceAll(" ", "");
  if (number && Object.hasOwn(suffixes, suffix)) {
    const [prefix, power] = suffixes[suffix];
    return { value: Number(`${number[1]}e${Number(number[2] ?? 0) + power}`), prefix };
  }
  const code = CODE.exec(text);
  if (!code || !codes.includes(code[3]) || (code[5] && code[5] !== symbol)) return null;
  const [prefix, power] = suffixes[code[3]];
  return { value: Number(`${code[1]}${code[2] || "0"}.${code[4]}e${power}`), prefix };
}

// {value} in SI units, or {error} in words. A whole number without unit is read as ohms.
export function parseQuantity(text, unit) {
  const { example, quantity, codes } = UNIT_TABLE[unit];
  const wanted = `Write for example "${example}"`;
  let tidied = tidy(text);
  if (!tidied) return { error: `Empty. ${wanted}` };
  if (tidied.includes(",")) return { error: "A comma may be a decimal or a thousands sign; use a point" };
  if (unit === "ohm" && /^[+-]?[0-9]+$/.test(tidied)) tidied += "Ω";
  const reading = tidied.length > LONGEST_TEXT ? null : parse(tidied, unit);
  if (!reading) return { error: /^[+-]?[0-9.]+$/.test(tidied) ? `The unit is missing. ${wanted}` : `Not ${quantity}. ${wanted}` };
  if (!Number.isFinite(reading.value)) return { error: "Not a finite value" };
  if (codes.length && reading.prefix === "m") return { error: "The small m is milli, which no such part has; M is mega, u is micro" };
  return { value: reading.value };
}

// [number, prefix letter] in engineering form, rounded once.
function engineering(value, unit, digits) {
  const { written } = UNIT_TABLE[unit] ?? { written: [0] };
  const [mantissa, exponent] = value.toExponential(digits - 1).split("e");
  const power = written.filter((step) => step <= Number(exponent)).at(-1) ?? written[0];
  const shift = Number(exponent) - power;
  if (shift < -4 || shift > 5) return [`${Number(mantissa)}e${Number(exponent)}`, ""];
  return [plain(Number(`${mantissa}e${shift}`)), PREFIXES[power]];
}

const plain = (number) => (Math.abs(number) < 1e-6 && number !== 0 ? number.toFixed(20).replace(/0+$/, "") : String(number));

export function formatQuantity(value, unit, digits = 4) {
  if (value === null || value === undefined || Number.isNaN(value)) return "none";
  if (!Number.isFinite(value)) return value > 0 ? "unlimited" : "none";
  const symbol = symbolOf(unit);
  const gap = symbol === "°" ? "" : " ";
  if (value === 0) return `0${gap}${symbol}`.trim();
  const [number, prefix] = engineering(value, unit, digits);
  return `${number}${gap}${prefix}${symbol}`.trim().replace("-", "−");
}

// "36 to 44 V/V": the unit once where both ends have the same prefix.
export function formatRange(low, high, unit) {
  const [from, to] = [low, high].map((value) => formatQuantity(value, unit));
  const [number, ending] = from.split(" ");
  return ending && to.endsWith(` ${ending}`) ? `${number} to ${to}` : `${from} to ${to}`;
}

// The same quantity as a screen reader should say it.
export function speakQuantity(value, unit, digits = 4) {
  if (value === null || value === undefined || !Number.isFinite(value)) return formatQuantity(value, unit);
  const [number, prefix] = value === 0 ? ["0", ""] : engineering(value, unit, digits);
  return `${number} ${SPOKEN_PREFIXES[prefix]}${SPOKEN_UNITS[unit] ?? unit}`.trim();
}

// Text for Python code: "4k7" where it reads back to the same number, else all digits.
export function codeQuantity(value, unit) {
  if (value > 0 && Number.isFinite(value)) {
    const [number, prefix] = engineering(value, unit, 15);
    const letter = prefix || (unit === "ohm" ? "R" : " F");
    const code = number.includes(".") && letter.length === 1 ? number.replace(".", letter) : `${number}${letter}`;
    if (parse(code, unit)?.value === value) return JSON.stringify(code.replace("µ", "u"));
  }
  return String(value);
}

// Ascending preferred values of a series, from its mantissas, within limits (inclusive).
export function preferredValues({ mantissas, min, max }) {
  const values = [];
  for (let decade = Math.floor(Math.log10(min)) - 3; decade <= Math.ceil(Math.log10(max)); decade++) {
    for (const mantissa of mantissas) values.push(Number(`${mantissa}e${decade}`));
  }
  return values.filter((value) => value >= min * (1 - 1e-9) && value <= max * (1 + 1e-9));
}

export function nearestIndex(values, value) {
  let best = 0;
  const distance = (k) => Math.abs(Math.log(values[k] / value));
  for (let k = 1; k < values.length; k++) if (distance(k) < distance(best)) best = k;
  return best;
}
