// Numbers of a network function H(s) = num(s) / den(s).
// Frequencies are in Hz at every exported function.

import { derivative, divide, polynomialAt, roots, squareAt, trimmed, withSlopes } from "./polynomials.js";

const TWO_PI = 2 * Math.PI;
const STEPS_PER_DECADE = 16;
const SLOWEST_HZ = 1e-7;
const FASTEST_HZ = 1e12;
const REASONABLY_FLAT = 0.3;

export function valueAt(H, hertz) {
  const w = TWO_PI * hertz;
  return divide(polynomialAt(H.num, w), polynomialAt(H.den, w));
}

// Squared magnitude; sampled for every point of every curve, so without a complex number between.
function powerAt(H, hertz) {
  const w = TWO_PI * hertz;
  return squareAt(H.num, w) / squareAt(H.den, w);
}

export const magnitudeAt = (H, hertz) => Math.sqrt(powerAt(H, hertz));

export const decibels = (ratio) => 20 * Math.log10(ratio);

// N'/N - D'/D at s = j w: its parts are the slope of the gain and the group delay.
function logDerivative(H, hertz) {
  const w = TWO_PI * hertz;
  const part = (c) => divide(polynomialAt(derivative(c), w), polynomialAt(c, w));
  const top = part(H.num);
  const bottom = part(H.den);
  return { re: top.re - bottom.re, im: top.im - bottom.im };
}

// Seconds by which a narrow band around the frequency is delayed.
export function groupDelayAt(H, hertz) {
  return -logDerivative(H, hertz).re;
}

// Phase in degrees along ascending frequencies, without jumps; within -180..180 where the gain is highest.
export function phaseAlong(H, hertz) {
  const degrees = new Float64Array(hertz.length);
  let turns = 0;
  let highest = { size: -1, at: 0 };
  for (let i = 0; i < hertz.length; i++) {
    const value = valueAt(H, hertz[i]);
    const size = Math.hypot(value.re, value.im);
    if (size > highest.size * (1 + 1e-9)) highest = { size, at: i };
    const raw = (Math.atan2(value.im, value.re) * 180) / Math.PI;
    if (i > 0) turns -= Math.round((raw + turns * 360 - degrees[i - 1]) / 360);
    degrees[i] = raw + turns * 360;
  }
  const shift = 360 * Math.round(degrees[highest.at] / 360);
  return degrees.map((value) => value - shift);
}

// Halve a bracket of log-frequency until neighbouring doubles remain.
function bisect(f, low, high) {
  const rising = f(low) < 0;
  for (let i = 0; i < 200; i++) {
    const middle = Math.sqrt(low * high);
    if (middle <= low || middle >= high) break;
    if (f(middle) < 0 === rising) low = middle;
    else high = middle;
  }
  return Math.sqrt(low * high);
}

// Walk from a frequency in one direction until the sign of f changes; null if it never does.
// Between its turning points f is monotone, so a stop at each of them leaves no crossing out.
function crossing(f, start, direction, turns) {
  const factor = 10 ** (direction / STEPS_PER_DECADE);
  const sign = f(start) < 0;
  const ahead = turns.filter((turn) => (turn - start) * direction > 0).sort((a, b) => (a - b) * direction);
  for (let x = start; x > SLOWEST_HZ && x < FASTEST_HZ; ) {
    const step = x * factor;
    const next = ahead.length && (step - ahead[0]) * direction >= 0 ? ahead.shift() : step;
    if (f(next) < 0 !== sign) return bisect(f, Math.min(x, next), Math.max(x, next));
    x = next;
  }
  return null;
}

// First and second derivative of ln|H| with respect to ln(frequency): the hot loop of every update,
// so it works on one kept array of numbers.
const scratch = new Float64Array(6);

function addSlopes(coefficients, w, sign, into) {
  withSlopes(coefficients, w, scratch);
  const [re, im, re1, im1, re2, im2] = scratch;
  const size = re * re + im * im;
  const slope = (re1 * re + im1 * im) / size;
  const turn = (im1 * re - re1 * im) / size;
  into.first += sign * slope;
  into.second += sign * (slope + (re2 * re + im2 * im) / size - (slope * slope - turn * turn));
}

function logSlopes(H, hertz) {
  const found = { first: 0, second: 0 };
  addSlopes(H.num, TWO_PI * hertz, 1, found);
  addSlopes(H.den, TWO_PI * hertz, -1, found);
  return found;
}

// Frequencies in Hz at which |H| is stationary, found between the outermost corners.
function stationary(H, corners) {
  const slope = (f) => logSlopes(H, f).first;
  const found = [];
  const factor = 10 ** (1 / STEPS_PER_DECADE);
  const last = corners.at(-1) * 1e3;
  let before = slope(corners[0] / 1e3);
  for (let f = corners[0] / 1e3; f < last; f *= factor) {
    const after = slope(f * factor);
    if (after < 0 !== before < 0 && Math.abs(after) + Math.abs(before) > 1e-9) found.push(bisect(slope, f, f * factor));
    before = after;
  }
  return found;
}

function flatEnds(H) {
  const [num, den] = [trimmed(H.num), trimmed(H.den)];
  const ends = [];
  if (num[0] && den[0]) ends.push({ bend: 0, frequency: 0, gain: Math.abs(num[0] / den[0]) });
  if (num.length === den.length) ends.push({ bend: 0, frequency: Infinity, gain: Math.abs(num.at(-1) / den.at(-1)) });
  return ends;
}

// Reference gain, the frequency where it is read (the flattest high part, or the peak), and where |H| turns.
// The same rule as Rational.midband in Python.
export function midband(H) {
  if (H.num.every((c) => c === 0)) return { gain: 0, frequency: 0, turns: [] };
  const sizes = [...roots(H.num), ...roots(H.den)].map(({ re, im }) => Math.hypot(re, im) / TWO_PI);
  const corners = sizes.filter((f) => f > 0).sort((a, b) => a - b);
  const gaps = corners.slice(1).flatMap((f, k) => (f > 10 * corners[k] ? [Math.sqrt(f * corners[k])] : []));
  const turns = corners.length ? stationary(H, corners) : [];
  const places = corners.length ? [...turns, ...gaps] : [];
  const candidates = [...places.map((f) => candidate(H, f)), ...flatEnds(H)];
  const flat = candidates.filter(({ bend }) => bend < REASONABLY_FLAT);
  if (!flat.length) return { ...candidates.reduce((a, b) => (b.gain > a.gain ? b : a)), turns };
  const enough = 0.5 * Math.max(...flat.map(({ gain }) => gain));
  const rounded = (bend) => Math.round(bend * 1e12);
  const better = (a, b) => rounded(a.bend) - rounded(b.bend) || b.frequency - a.frequency;
  return { ...flat.filter(({ gain }) => gain >= enough).sort(better)[0], turns };
}

function candidate(H, frequency) {
  const { first, second } = logSlopes(H, frequency);
  return { bend: first ** 2 + second ** 2, frequency, gain: magnitudeAt(H, frequency) };
}

// Frequency nearest the mid-band where |H| is the mid-band gain / sqrt 2.
function cutoff(H, reference, direction, otherwise) {
  const start = Math.min(FASTEST_HZ / 2, Math.max(SLOWEST_HZ * 2, reference.frequency));
  const excess = (f) => magnitudeAt(H, f) / reference.gain - Math.SQRT1_2;
  return crossing(excess, start, direction, reference.turns) ?? otherwise;
}

// 0 where the response reaches down to DC, Infinity where nothing ends it.
export const lowCutoff = (H, reference = midband(H)) => (reference.frequency === 0 ? 0 : cutoff(H, reference, -1, 0));
export const highCutoff = (H, reference = midband(H)) => (reference.frequency === Infinity ? Infinity : cutoff(H, reference, 1, Infinity));

// Network functions of some programs for the given part values: {name: {num, den}}.
export function networkFunctions(programs, values) {
  return Object.fromEntries(programs.flatMap((program) => {
    const rows = program.coefficients(values);
    return program.outputs.map((name, k) => [name, { num: rows[k][0], den: rows[k][1] }]);
  }));
}

// The network function of one output.
export function select(functions, output) {
  if (!functions[output]) throw new Error(`the program has no output "${output}"`);
  return functions[output];
}

// What a figure can measure; `reference` gives the mid-band of an output, found once per update.
const MEASURES = {
  midband_gain: (H, figure, reference) => reference().gain,
  midband_gain_db: (H, figure, reference) => decibels(reference().gain),
  low_cutoff: (H, figure, reference) => lowCutoff(H, reference()),
  high_cutoff: (H, figure, reference) => highCutoff(H, reference()),
  dc_gain: (H) => Math.abs(H.num[0] / H.den[0]),
  gain: (H, figure) => magnitudeAt(H, figure.frequency),
  gain_db: (H, figure) => decibels(magnitudeAt(H, figure.frequency)),
  droop_db: (H, figure, reference) => decibels(reference().gain / magnitudeAt(H, figure.frequency)),
};

// Measures that add up over the sources of the stage: terms are [network function, volts].
const SUMS = {
  rest_voltage: (H, volts) => volts * (H.num[0] / H.den[0]),
  supply_current: (H, volts) => volts * (H.den[0] / H.num[0]),
};

function measured(functions, figure, reference) {
  const sum = SUMS[figure.measure];
  if (!sum) return MEASURES[figure.measure](select(functions, figure.output), figure, reference);
  const total = figure.terms.reduce((before, [name, volts]) => before + sum(select(functions, name), volts), 0);
  return figure.terms.length && Number.isFinite(total) ? total : null;
}

// {figure id: number} of all figures.
export function measureAll(functions, figures) {
  const known = {};
  return Object.fromEntries(figures.map((figure) => {
    const reference = () => (known[figure.output] ??= midband(functions[figure.output]));
    return [figure.id, measured(functions, figure, reference)];
  }));
}

// Ordinates of a curve over ascending frequencies.
export function sample(H, quantity, hertz) {
  if (quantity === "phase") return phaseAlong(H, hertz);
  if (quantity === "group_delay") return hertz.map((f) => groupDelayAt(H, f));
  if (quantity === "gain") return hertz.map((f) => magnitudeAt(H, f));
  return hertz.map((f) => 10 * Math.log10(powerAt(H, f)));
}

// Several ways to one node, added as phasors; a way may begin with a finite rejection
// {decibels, corner in Hz}: flat, then falling by 20 dB per decade. Decibels over ascending frequencies.
export function sampleSum(functions, terms, hertz) {
  const ways = terms.map(({ output, rejection }) => ({ H: select(functions, output), size: rejection ? 10 ** (-rejection.decibels / 20) : 1, corner: rejection?.corner ?? Infinity }));
  return hertz.map((f) => {
    let [re, im] = [0, 0];
    for (const { H, size, corner } of ways) {
      const value = valueAt(H, f);
      const slope = f / corner;
      re += size * (value.re - slope * value.im);
      im += size * (value.im + slope * value.re);
    }
    return 10 * Math.log10(re * re + im * im);
  });
}

export function logSpace(low, high, count) {
  const step = Math.log(high / low) / (count - 1);
  return Float64Array.from({ length: count }, (_, k) => low * Math.exp(k * step));
}
