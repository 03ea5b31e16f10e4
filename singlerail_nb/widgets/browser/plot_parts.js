// What a plot is drawn from: each function takes the plot and returns nodes or the text of a path.

import { linearTicks, logTicks } from "./axes.js";
import { svg, symbolSpans } from "./dom.js";
import { symbolOf } from "./quantities.js";

export const CHARACTER = 7.1;
const LABEL_GAP = 15;
const FAR = 1e4;

const titled = ({ label, unit }) => (unit && symbolOf(unit) ? `${label} (${symbolOf(unit)})` : label);
const inside = (value, low, high) => Math.min(high, Math.max(low, value));

export function definitions({ hatch, dots, clip }, clipRect) {
  const box = (id, size, ...drawn) => svg("pattern", { id, width: size, height: size, patternUnits: "userSpaceOnUse" }, ...drawn);
  const line = svg("path", { d: "M0,8L8,0", class: "srn-hatch-line" });
  const dot = svg("circle", { cx: 2, cy: 2, r: 1, class: "srn-dot-mark" });
  return svg("defs", {}, box(hatch, 8, line), box(dots, 6, dot), svg("clipPath", { id: clip }, clipRect));
}

export function axisGrid(plot, range) {
  return [...verticalGrid(plot), ...horizontalGrid(plot, range), ...axisTitles(plot)];
}

function verticalGrid({ x: { min, max, unit, scale }, box: { left, right, top, bottom }, px }) {
  const count = inside(Math.floor((right - left) / 80), 2, 8);
  const { major, minor } = scale === "linear" ? { major: linearTicks(min, max, unit, count), minor: [] } : logTicks(min, max, unit);
  const line = (tick, name) => svg("path", { class: name, d: `M${px(tick.value).toFixed(1)},${top}V${bottom}` });
  const text = (tick) => svg("text", { x: px(tick.value), y: bottom + 15, "text-anchor": "middle" }, tick.label);
  return [...minor.map((t) => line(t, "srn-minor")), ...major.map((t) => line(t, "srn-major")), ...major.map(text)];
}

function horizontalGrid({ y: { unit, scale }, box: { left, right }, py }, range) {
  const ticks = scale === "log" ? logTicks(range[0], range[1], unit).major : linearTicks(range[0], range[1], unit, 7);
  return ticks.flatMap((tick) => {
    const y = py(tick.value).toFixed(1);
    return [svg("path", { class: "srn-major", d: `M${left},${y}H${right}` }), svg("text", { x: left - 7, y: Number(y) + 4, "text-anchor": "end" }, tick.label)];
  });
}

function axisTitles({ x, y, box: { left, right, top, bottom } }) {
  const middle = (top + bottom) / 2;
  return [
    svg("text", { class: "srn-axis-title", x: (left + right) / 2, y: bottom + 30, "text-anchor": "middle" }, titled(x)),
    svg("text", { class: "srn-axis-title", "text-anchor": "middle", transform: `translate(13 ${middle}) rotate(-90)` }, titled(y)),
  ];
}

export function spanNodes({ spans, px, ids, box: { left, right, top, bottom } }) {
  return spans.flatMap(({ x0, x1, label }) => {
    const [from, to] = [x0, x1].map((x) => inside(px(x), left, right));
    if (!(to - from >= 1)) return [];
    const area = svg("rect", { class: "srn-span", x: from, y: top, width: to - from, height: bottom - top });
    const dots = svg("rect", { class: "srn-mask", x: from, y: top, width: to - from, height: bottom - top, fill: `url(#${ids.dots})` });
    const room = to - from > CHARACTER * label.length;
    return [area, dots, room ? svg("text", { class: "srn-mask-text", x: from + 6, y: top + 14 }, label) : ""];
  });
}

export function maskNodes({ masks, px, py, ids, box: { left, right, top, bottom } }) {
  return masks.flatMap((mask) => {
    const [x0, x1] = [mask.x0, mask.x1].map((f) => inside(px(f), left, right));
    const [y0, y1] = [mask.y1, mask.y0].map((value) => inside(value === -Infinity ? bottom : py(value), top, bottom));
    if (x1 - x0 < 1 || y1 - y0 < 1) return [];
    const area = svg("rect", { class: "srn-mask", x: x0, y: y0, width: x1 - x0, height: y1 - y0, fill: `url(#${ids.hatch})` });
    const text = svg("text", { class: "srn-mask-text", x: x0 + 7, y: Math.min(y0 + 17, bottom - 6) }, mask.label);
    return [area, text];
  });
}

// Pixels of an ordinate in tenths; what is far outside is kept near, as pictures have limits too.
const tenths = (y) => (y < FAR ? Math.round(10 * Math.max(y, -FAR)) / 10 : FAR);

function points(plot, xs, ys) {
  const { py } = plot;
  const pixels = plot.pixels(xs);
  const texts = new Array(xs.length);
  for (let i = 0; i < xs.length; i++) texts[i] = `${pixels[i]},${tenths(py(ys[i]))}`;
  return texts;
}

export const pathOf = (plot, xs, ys) => `M${points(plot, xs, ys).join("L")}`;

export function bandPath(plot, { xs, low, high }) {
  return `M${points(plot, xs, high).join("L")}L${points(plot, xs, low).reverse().join("L")}Z`;
}

export function markerNodes({ markers, px, py, box: { left, right, top, bottom } }) {
  return markers.flatMap(({ x, y, label, rising, passes }) => {
    const cx = px(x);
    const cy = py(y);
    if (!(cx >= left && cx <= right && cy >= top && cy <= bottom)) return [];
    // The free side is above the curve: to the left where it rises, else to the right.
    const room = label.length * CHARACTER + 12;
    const leftwards = (rising || cx + room > right) && cx - room > left;
    const above = leftwards && !rising ? 22 : 8;
    const text = svg("text", { class: "srn-marker-text", x: cx + (leftwards ? -10 : 10), y: Math.max(cy - above, top + 12), "text-anchor": leftwards ? "end" : "start" }, label);
    return [svg("circle", { class: passes === false ? "srn-marker srn-bad" : "srn-marker", cx, cy, r: 4.5 }), text];
  });
}

// Names at the right end of the curves, pushed apart where they would touch.
export function curveLabels({ curves, py, box: { right, top, bottom } }) {
  const ends = curves.filter((curve) => !curve.frozen && curve.label).map((curve) => {
    const y = Math.round(inside(py(curve.ys[curve.ys.length - 1]), top, bottom));
    return { curve, y, at: y };
  });
  ends.sort((a, b) => a.at - b.at);
  for (let k = 1; k < ends.length; k++) ends[k].at = Math.max(ends[k].at, ends[k - 1].at + LABEL_GAP);
  for (let k = ends.length - 1, limit = bottom; k >= 0; k--, limit -= LABEL_GAP) ends[k].at = Math.min(ends[k].at, limit);
  const nodes = () => ends.flatMap(({ curve, y, at }) => [
    svg("path", { class: `srn-leader srn-slot-${curve.slot}`, d: `M${right + 1},${y}L${right + 9},${at}` }),
    svg("text", { class: `srn-label srn-slot-${curve.slot}`, x: right + 12, y: at + 4 }, ...symbolSpans(curve.label)),
  ]);
  return { key: JSON.stringify([right, ends.map(({ curve, y, at }) => [curve.label, curve.slot, y, at])]), nodes };
}
