// Pictures over frequency: network functions sampled in the browser, while the reader drags.

import { html, setText } from "./dom.js";
import { logSpace, sample, sampleSum, select } from "./numerics.js";
import { Plot } from "./plot.js";
import { formatQuantity } from "./quantities.js";

const POINTS = 320;

const ordinates = (curve, quantity, functions, hertz) =>
  curve.terms ? sampleSum(functions, curve.terms, hertz) : sample(select(functions, curve.output), quantity, hertz);

function sampled(plot, functions, hertz, frozen) {
  return plot.curves.map((curve, k) => ({
    id: `${k}${frozen ? "-frozen" : ""}`, label: curve.label, slot: curve.slot ?? k, frozen, xs: hertz,
    ys: ordinates(curve, plot.quantity, functions, hertz),
  }));
}

// Corners of the plane {x: [low, high], y: [low, high]} that the curve must stay out of.
function maskArea(mask, figures) {
  const offset = mask.relative ? figures[mask.relative] : 0;
  const edge = (value, otherwise) => (value === null ? otherwise : value + offset);
  return { label: mask.label, x0: mask.x[0] ?? 1e-12, x1: mask.x[1] ?? 1e12, y0: edge(mask.y[0], -Infinity), y1: edge(mask.y[1], 1e6) };
}

function markerPoint(marker, plot, result) {
  const x = marker.figure ? result.figures[marker.figure] : marker.frequency;
  if (x === null || x === undefined) return null;
  const curve = plot.curves[marker.curve ?? 0];
  const [before, y] = ordinates(curve, plot.quantity, result.functions, [x * 0.98, x]);
  const reading = marker.figure ? formatQuantity(x, "Hz", 3) : `${formatQuantity(x, "Hz", 3)}: ${formatQuantity(y, plot.y.unit, 3)}`;
  const check = marker.figure && result.checks.find((c) => c.figure === marker.figure);
  return { x, y, label: `${marker.label} ${reading}`.trim(), rising: y > before, passes: check ? check.passes : null };
}

// What the ripple of the rail becomes at the node of the last curve, line by line.
function linesTable(view) {
  const plot = view.plots[0];
  const cells = view.lines.map(() => html("td"));
  const head = ["Ripple on the rail", `Arrives as, ${plot.curves[view.lines_curve].label}`].map((text) => html("th", { scope: "col" }, text));
  const rows = view.lines.map(({ frequency, volts }, k) => html("tr", {}, html("th", { scope: "row" }, `${formatQuantity(volts, "Vpp")} at ${formatQuantity(frequency, "Hz")}`), cells[k]));
  const element = html("table", { class: "srn-table" }, html("thead", {}, html("tr", {}, ...head)), html("tbody", {}, ...rows));
  function update({ functions }) {
    view.lines.forEach(({ frequency, volts }, k) => {
      const [decibels] = ordinates(plot.curves[view.lines_curve], plot.quantity, functions, [frequency]);
      setText(cells[k], formatQuantity(volts * 10 ** (decibels / 20), "Vpp"));
    });
  }
  return { element, update };
}

// view: {x: {min, max}, plots, note, lines: [{frequency, volts}] or none}
export function curvesView(view, context) {
  const hertz = logSpace(view.x.min, view.x.max, POINTS);
  const x = { scale: "log", unit: "Hz", label: "frequency", ...view.x };
  const onCursor = (value) => plots.forEach(({ picture }) => picture.setCursor(value));
  const plots = view.plots.map((plot) => ({ plot, picture: new Plot({ title: plot.title, x, y: plot.y, height: plot.height, onCursor }) }));
  const note = view.note ? html("p", { class: "srn-note" }, view.note) : null;
  const table = view.lines?.length ? linesTable(view) : null;
  const element = html("div", { class: "srn-plots" }, ...plots.map(({ picture }) => picture.element), note, table?.element);
  const frozenCurves = new WeakMap(); // a frozen version does not change: sampled once
  function frozen(k, result) {
    if (!frozenCurves.has(result)) {
      const own = result.source.views.find?.(({ id }) => id === view.id) ?? result.source.views[view.id];
      frozenCurves.set(result, view.plots.map((_, i) => (own?.plots[i] ? sampled(own.plots[i], result.functions, hertz, true) : [])));
    }
    return frozenCurves.get(result)[k];
  }
  function update(result) {
    for (const [k, { plot, picture }] of plots.entries()) {
      const before = result.frozen ? frozen(k, result.frozen) : [];
      picture.update({
        curves: [...before, ...sampled(plot, result.functions, hertz, false)], words: () => context.summary(result),
        masks: (plot.masks ?? []).map((mask) => maskArea(mask, result.figures)),
        markers: (plot.markers ?? []).map((marker) => markerPoint(marker, plot, result)).filter(Boolean),
      });
    }
    table?.update(result);
  }
  return { element, update, pictures: () => plots.map(({ picture }) => picture) };
}
