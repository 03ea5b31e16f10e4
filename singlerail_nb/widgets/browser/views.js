// The views of a panel. A view factory takes (view, context) and returns {element, update(result)}.
// result: {values, functions, figures, checks, kernel, frozen} where frozen is a result too, or null.

import { html, setText } from "./dom.js";
import { logSpace, sample, select } from "./numerics.js";
import { Plot } from "./plot.js";
import { formatQuantity } from "./quantities.js";

const POINTS = 320;

export const VERDICTS = { true: ["✓", "pass"], false: ["✗", "fail"], null: ["–", "not known"] };

export function verdictNode(passes) {
  const [symbol, word] = VERDICTS[String(passes)];
  return html("span", { class: `srn-verdict srn-${word.replace(" ", "-")}` }, html("span", { "aria-hidden": "true" }, `${symbol} `), word);
}

// ---- readouts: one card per figure ------------------------------------------------------
function readoutsView(view, { payload }) {
  const cards = new Map();
  const element = html("div", { class: "srn-readouts", role: "list", "aria-label": "Figures" });
  for (const figure of payload.figures.filter(({ hidden }) => !hidden)) {
    const value = html("div", { class: "srn-value", "data-figure": figure.id });
    const note = html("div", { class: "srn-note" });
    element.append(html("div", { class: "srn-card", role: "listitem" }, html("div", { class: "srn-card-name" }, figure.label), value, note));
    cards.set(figure.id, { figure, value, note, shown: null });
  }
  function update({ figures, checks }) {
    for (const [id, card] of cards) {
      setText(card.value, formatQuantity(figures[id], card.figure.unit));
      const check = checks.find((c) => c.figure === id);
      const state = check ? `${check.passes} ${check.limitText}` : "";
      if (state === card.shown) continue;
      card.shown = state;
      card.note.replaceChildren(...(check ? [verdictNode(check.passes), html("span", {}, ` ${check.limitText}`)] : []));
    }
  }
  return { element, update };
}

// ---- checks: every requirement with its margin ------------------------------------------
function checksView() {
  const body = html("tbody");
  const head = ["Requirement", "Limit", "Now", "Verdict"].map((text) => html("th", { scope: "col" }, text));
  const element = html("table", { class: "srn-table" }, html("thead", {}, html("tr", {}, ...head)), body);
  let shown = "";
  function update({ checks }) {
    const rows = checks.map((c) => [c.text, c.limitText, c.valueText, c.passes]);
    const key = JSON.stringify(rows);
    if (key === shown) return;
    shown = key;
    body.replaceChildren(...rows.map(([text, limit, value, passes]) => html("tr", {},
      html("th", { scope: "row" }, text), html("td", {}, limit), html("td", {}, value), html("td", {}, verdictNode(passes)))));
  }
  return { element, update };
}

// ---- curves: network functions sampled in the browser -----------------------------------
function sampled(plot, functions, hertz, frozen) {
  return plot.curves.map((curve, k) => ({
    id: `${k}${frozen ? "-frozen" : ""}`, label: curve.label, slot: curve.slot ?? k, frozen, xs: hertz,
    ys: sample(select(functions, curve.output), plot.quantity, hertz),
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
  const [before, y] = sample(select(result.functions, curve.output), plot.quantity, [x * 0.98, x]);
  const reading = marker.figure ? formatQuantity(x, "Hz", 3) : `${formatQuantity(x, "Hz", 3)}: ${formatQuantity(y, plot.y.unit, 3)}`;
  const check = marker.figure && result.checks.find((c) => c.figure === marker.figure);
  return { x, y, label: `${marker.label} ${reading}`.trim(), rising: y > before, passes: check ? check.passes : null };
}

function curvesView(view, context) {
  const hertz = logSpace(view.x.min, view.x.max, POINTS);
  const x = { scale: "log", unit: "Hz", label: "frequency", ...view.x };
  const onCursor = (value) => plots.forEach(({ picture }) => picture.setCursor(value));
  const plots = view.plots.map((plot) => ({ plot, picture: new Plot({ title: plot.title, x, y: plot.y, height: plot.height, onCursor }) }));
  const note = view.note ? html("p", { class: "srn-note" }, view.note) : null;
  const element = html("div", { class: "srn-plots" }, ...plots.map(({ picture }) => picture.element), note);
  function update(result) {
    for (const { plot, picture } of plots) {
      const curves = sampled(plot, result.functions, hertz, false);
      if (result.frozen) curves.unshift(...sampled(plot, result.frozen.functions, hertz, true));
      picture.update({
        curves, summary: context.summary(result),
        masks: (plot.masks ?? []).map((mask) => maskArea(mask, result.figures)),
        markers: (plot.markers ?? []).map((marker) => markerPoint(marker, plot, result)).filter(Boolean),
      });
    }
  }
  return { element, update };
}

// ---- derivation, schematic, text: made in Python, shown here ----------------------------
// The markup comes from this package's own writers, never from what a reader typed.
// Where it is null, the kernel makes it when the tab is first opened.
function markupView(view, { link }) {
  const element = html("div", { class: `srn-markup srn-view-${view.kind}`, tabindex: 0, role: "region", "aria-label": view.title });
  let asked = view.markup !== null;
  const show = (markup) => (element.innerHTML = markup);
  function update() {
    if (asked) return;
    asked = true;
    setText(element, "working …");
    link.post({ type: "open", view: view.id });
  }
  if (asked) show(view.markup);
  return { element, update, receive: ({ markup }) => show(markup) };
}

function schematicView(view, context) {
  const inner = markupView(view, context);
  const units = Object.fromEntries(context.payload.parts.map((part) => [part.name, part.unit]));
  let latest = {};
  function label() {
    for (const node of inner.element.querySelectorAll("[data-part]")) {
      const name = node.dataset.part;
      if (name in units && name in latest) setText(node, formatQuantity(latest[name], units[name]));
    }
  }
  function update(result) {
    latest = result.values;
    inner.update(result);
    label();
  }
  function receive(message) {
    inner.receive(message);
    label();
  }
  return { element: inner.element, update, receive };
}

// ---- kernel: curves, rows and text that only Python can compute --------------------------
function kernelView(view, { link }) {
  const progress = html("progress", { class: "srn-progress", max: 1, value: 0, "aria-label": `${view.title}: progress` });
  const start = html("button", { type: "button", class: "srn-button", onclick: () => link.post({ type: "compute", view: view.id }) }, view.action ?? "Compute");
  const stop = html("button", { type: "button", class: "srn-button", onclick: () => link.post({ type: "cancel", view: view.id }) }, "Cancel");
  const status = html("span", { class: "srn-note", role: "status" });
  const body = html("div", { class: "srn-plots" });
  const bar = html("div", { class: "srn-bar" }, ...(link.alive ? [start, stop, progress] : []), status);
  let stale = "";

  function running(share, text) {
    start.disabled = share !== null;
    stop.disabled = share === null;
    progress.hidden = share === null;
    if (share !== null) progress.value = share;
    setText(status, text);
  }
  function show(data) {
    stale = JSON.stringify(data.values ?? null);
    const plots = (data.plots ?? []).map((plot) => {
      const picture = new Plot({ ...plot, onCursor: (value) => picture.setCursor(value) });
      const curves = plot.curves.map((curve, k) => ({ id: String(k), slot: k, ...curve }));
      picture.update({ curves, masks: plot.masks, markers: plot.markers, summary: data.summary });
      return picture.element;
    });
    body.replaceChildren(...plots, ...(data.rows ? [rowsTable(data.rows)] : []));
  }
  function receive(message) {
    if (message.type === "progress") running(message.share, message.text);
    if (message.type === "failed") running(null, message.text);
    if (message.type === "result") {
      running(null, "");
      show(message.data);
    }
  }
  function update({ values }) {
    if (stale && stale !== "null" && stale !== JSON.stringify(values)) setText(status, "Computed for earlier values.");
  }
  running(null, link.alive ? "" : "Needs Python; shown as computed when this page was written.");
  if (view.data) show(view.data);
  return { element: html("div", {}, bar, body), update, receive };
}

function rowsTable(rows) {
  const cells = ({ label, value, unit, text }) => html("tr", {}, html("th", { scope: "row" }, label), html("td", {}, text ?? formatQuantity(value, unit)));
  return html("table", { class: "srn-table" }, html("tbody", {}, ...rows.map(cells)));
}

// New kinds of view are entered here: {kind: (view, context) => ({element, update, receive?})}.
export const VIEWS = {
  readouts: readoutsView,
  checks: checksView,
  curves: curvesView,
  schematic: schematicView,
  derivation: markupView,
  text: markupView,
  kernel: kernelView,
};
