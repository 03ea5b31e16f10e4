// Scales and ticks. A scale maps a value to pixels; a tick is {value, label}.

import { formatQuantity, symbolOf } from "./quantities.js";

export function linearScale(low, high, from, to) {
  const slope = (to - from) / (high - low);
  const scale = (value) => from + (value - low) * slope;
  scale.invert = (pixel) => low + (pixel - from) / slope;
  return scale;
}

export function logScale(low, high, from, to) {
  const start = Math.log(low);
  const slope = (to - from) / (Math.log(high) - start);
  const scale = (value) => from + (Math.log(value) - start) * slope;
  scale.invert = (pixel) => Math.exp(start + (pixel - from) / slope);
  return scale;
}

// Decades labelled ("100", "1 k"), their 2..9 multiples unlabelled.
export function logTicks(low, high, unit) {
  const major = [];
  const minor = [];
  for (let decade = Math.floor(Math.log10(low)); decade <= Math.ceil(Math.log10(high)); decade++) {
    for (let digit = 1; digit < 10; digit++) {
      const value = Number(`${digit}e${decade}`);
      if (value < low * (1 - 1e-9) || value > high * (1 + 1e-9)) continue;
      if (digit === 1) major.push({ value, label: tickLabel(value, unit) });
      else minor.push({ value, label: "" });
    }
  }
  return { major, minor };
}

// "1 k" on a frequency axis titled Hz; plain numbers on axes that take no prefix.
function tickLabel(value, unit) {
  const [number, rest = ""] = formatQuantity(value, unit).split(" ");
  const prefix = rest.slice(0, rest.length - symbolOf(unit).length);
  return (prefix ? `${number} ${prefix}` : number.replace("°", ""));
}

const NICE = [1, 2, 2.5, 5, 10];
const FRIENDLY = { dB: [1, 2, 3, 5, 10, 20, 40], deg: [15, 30, 45, 90, 180] };

// Step between ticks: friendly to the unit, giving at most `count` steps.
export function tickStep(span, unit, count) {
  const friendly = (FRIENDLY[unit] ?? []).find((step) => span / step <= count);
  if (friendly) return friendly;
  const decade = 10 ** Math.floor(Math.log10(span / count));
  return decade * NICE.find((digit) => span / (digit * decade) <= count + 1e-9);
}

export function linearTicks(low, high, unit, count) {
  const step = tickStep(high - low, unit, count);
  const ticks = [];
  for (let k = Math.ceil(low / step - 1e-9); k * step <= high + step * 1e-9; k++) {
    const value = Number((k * step).toPrecision(12));
    ticks.push({ value, label: tickLabel(value, unit) });
  }
  return ticks;
}

// Round a data range outwards to whole steps, so that an axis moves only in steps.
export function niceRange(low, high, unit, count) {
  if (!(high > low)) return [low - 1, low + 1];
  const step = tickStep(high - low, unit, count);
  return [step * Math.floor(low / step + 1e-9), step * Math.ceil(high / step - 1e-9)];
}
