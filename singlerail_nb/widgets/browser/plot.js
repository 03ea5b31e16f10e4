// One picture: logarithmic or linear axes, curves labelled where they end, bands, masks, spans, markers, a cursor.
// A curve is {id, label, slot, xs, ys, frozen}; a band {label, slot, xs, low, high}; a mask {x0, x1, y0, y1, label};
// a span {x0, x1, label}; a marker {x, y, label, rising, passes}.

import { linearScale, logScale, niceRange } from "./axes.js";
import { Drawing, redraw } from "./drawing.js";
import { freshId, html, setText, svg } from "./dom.js";
import { axisGrid, bandPath, CHARACTER, curveLabels, definitions, markerNodes, maskNodes, pathOf, spanNodes } from "./plot_parts.js";
import { formatQuantity, speakQuantity } from "./quantities.js";

const MARGIN = { top: 12, right: 14, bottom: 34, left: 60 };
const LAYERS = ["grid", "spans", "bands", "masks", "curves", "markers", "labels", "cursor"];
const CLIPPED = ["spans", "bands", "masks", "curves"];

export class Plot extends Drawing {
  constructor({ title, x, y, height = 240, onCursor = () => {} }) {
    super({ title, height });
    Object.assign(this, { x, y, onCursor, curves: [], bands: [], masks: [], spans: [], markers: [], cursor: null });
    this.ids = { hatch: freshId("hatch"), dots: freshId("dots"), clip: freshId("clip") };
    this.paths = new Map();
    this.layers = Object.fromEntries(LAYERS.map((name) => [name, svg("g", { class: `srn-${name}` })]));
    this.clipRect = svg("rect");
    this.picture.append(definitions(this.ids, this.clipRect), ...Object.values(this.layers));
    for (const name of CLIPPED) this.layers[name].setAttribute("clip-path", `url(#${this.ids.clip})`);
    this.overlay = html("div", {
      class: "srn-overlay", role: "slider", tabindex: 0, "aria-label": `Cursor, ${this.title}`,
      "aria-valuemin": x.min, "aria-valuemax": x.max, "aria-valuenow": x.min, "aria-valuetext": "off",
      onpointermove: (event) => this.point(event), onpointerleave: () => this.onCursor(null),
      onkeydown: (event) => this.pressed(event), onblur: () => this.onCursor(null),
    });
    this.stage.append(this.overlay);
  }

  update({ x = this.x, curves, bands = [], masks = [], spans = [], markers = [], words = () => "" }) {
    Object.assign(this, { x, curves, bands, masks, spans, markers, words });
    this.draw();
  }

  draw() {
    if (!this.curves.length || !this.ready()) return;
    const gutter = 10 + CHARACTER * Math.max(...this.curves.map((c) => (c.frozen ? 0 : c.label.length)));
    const box = { left: MARGIN.left, right: this.width - MARGIN.right - Math.min(gutter, this.width / 4), top: MARGIN.top, bottom: this.height - MARGIN.bottom };
    const range = this.verticalRange();
    const layout = [box.left, box.right, box.bottom, this.x.min, this.x.max, ...range].join();
    if (layout !== this.layout) this.drawFrame(box, range);
    this.layout = layout;
    redraw(this.layers.spans, JSON.stringify([layout, this.spans]), () => spanNodes(this));
    redraw(this.layers.masks, JSON.stringify([layout, this.masks]), () => maskNodes(this));
    this.drawPaths();
    redraw(this.layers.markers, JSON.stringify([layout, this.markers]), () => markerNodes(this));
    const labels = curveLabels(this);
    redraw(this.layers.labels, labels.key, labels.nodes);
    this.drawCursor();
    this.tell();
  }

  // Data range in whole steps; it stays while the data still fills most of it.
  verticalRange() {
    if (this.y.range) return this.y.range;
    const { low, high } = this.extent();
    if (this.y.scale === "log") return this.decades(low, high);
    const padding = Math.max((high - low) * 0.04, this.y.least ?? 1e-9);
    const wanted = niceRange(low - padding, high + padding, this.y.unit, 6);
    const kept = this.range && this.range[0] <= low && this.range[1] >= high && this.range[1] - this.range[0] < 1.5 * (wanted[1] - wanted[0]);
    if (!kept) this.range = wanted;
    return this.range;
  }

  extent() {
    let low = Infinity;
    let high = -Infinity;
    const positive = this.y.scale === "log";
    for (const ys of [...this.curves.map((c) => c.ys), ...this.bands.flatMap((band) => [band.low, band.high])]) {
      for (const value of ys) {
        if (value < low && (value > 0 || !positive)) low = value;
        if (value > high && value < Infinity) high = value;
      }
    }
    return { low: Math.max(low, positive ? high / 10 ** (this.y.depth ?? 6) : high - (this.y.depth ?? Infinity)), high };
  }

  decades(low, high) {
    const whole = (value, round) => 10 ** round(Math.log10(value));
    return [whole(low * 1.001, Math.floor), whole(high * 0.999, Math.ceil)];
  }

  drawFrame(box, range) {
    this.box = box;
    this.px = (this.x.scale === "linear" ? linearScale : logScale)(this.x.min, this.x.max, box.left, box.right);
    this.py = (this.y.scale === "log" ? logScale : linearScale)(range[0], range[1], box.bottom, box.top);
    this.known = new WeakMap();
    const size = { width: box.right - box.left, height: box.bottom - box.top };
    this.picture.setAttribute("viewBox", `0 0 ${this.width} ${this.height}`);
    for (const [name, value] of Object.entries({ x: box.left, y: box.top, ...size })) this.clipRect.setAttribute(name, value);
    Object.assign(this.overlay.style, { left: `${box.left}px`, top: `${box.top}px`, width: `${size.width}px`, height: `${size.height}px` });
    this.overlay.setAttribute("aria-valuemin", this.x.min);
    this.overlay.setAttribute("aria-valuemax", this.x.max);
    this.layers.grid.replaceChildren(...axisGrid(this, range));
  }

  // Abscissas of curves hardly ever change: their pixels are kept.
  pixels(xs) {
    let found = this.known.get(xs);
    if (!found) this.known.set(xs, (found = Float64Array.from(xs, (x) => Math.round(10 * this.px(x)) / 10)));
    return found;
  }

  drawPaths() {
    const wanted = [
      ...this.bands.map((band, k) => ["bands", `band ${k}`, `srn-band srn-fill-${band.slot}`, bandPath(this, band)]),
      ...this.curves.map((curve) => ["curves", curve.id, `srn-curve srn-slot-${curve.slot}${curve.frozen ? " srn-frozen" : ""}`, pathOf(this, curve.xs, curve.ys)]),
    ];
    const seen = new Set();
    for (const [layer, id, name, d] of wanted) {
      seen.add(id);
      let path = this.paths.get(id);
      if (!path) {
        path = svg("path", {});
        this.paths.set(id, path);
        this.layers[layer].append(path);
      }
      if (path.srnName !== name) path.setAttribute("class", (path.srnName = name));
      path.setAttribute("d", d);
    }
    for (const [id, path] of this.paths) {
      if (seen.has(id)) continue;
      path.remove();
      this.paths.delete(id);
    }
  }

  point(event) {
    const bounds = this.overlay.getBoundingClientRect();
    this.onCursor(this.px.invert(this.box.left + (event.clientX - bounds.left)));
  }

  pressed(event) {
    event.stopPropagation();
    const { left, right } = this.box;
    const steps = { ArrowRight: 0.01, ArrowLeft: -0.01, ArrowUp: 0.01, ArrowDown: -0.01, PageUp: 0.1, PageDown: -0.1 }[event.key];
    const start = this.cursor === null ? (left + right) / 2 : this.px(this.cursor);
    let target = steps ? start + steps * (right - left) : { Home: left, End: right }[event.key];
    if (event.key === "Escape") target = null;
    if (target === undefined) return;
    event.preventDefault();
    this.onCursor(target === null ? null : this.px.invert(Math.min(right, Math.max(left, target))));
  }

  setCursor(x) {
    this.cursor = x;
    if (this.layout) this.drawCursor();
  }

  drawCursor() {
    if (this.cursor === null) {
      redraw(this.layers.cursor, "off", () => []);
      setText(this.readout, "");
      if (this.overlay.getAttribute("aria-valuetext") !== "off") this.overlay.setAttribute("aria-valuetext", "off");
      return;
    }
    const x = this.px(this.cursor).toFixed(1);
    const points = this.curves.map((curve) => ({ curve, value: interpolate(curve, this.cursor, this.x.scale) }));
    const inside = ({ value }) => this.py(value) >= this.box.top && this.py(value) <= this.box.bottom;
    const dots = points.filter(inside).map(({ curve, value }) => svg("circle", { class: `srn-dot srn-slot-${curve.slot}`, cx: x, cy: this.py(value), r: 3.5 }));
    const line = svg("path", { class: "srn-cursor-line", d: `M${x},${this.box.top}V${this.box.bottom}` });
    redraw(this.layers.cursor, {}, () => [line, ...dots]);
    this.tellCursor(points.filter(({ curve }) => !curve.frozen));
  }

  tellCursor(points) {
    const { unit } = this.y;
    setText(this.readout, [formatQuantity(this.cursor, this.x.unit, 3), ...points.map(({ curve, value }) => `${curve.label} ${formatQuantity(value, unit, 3)}`)].join("   "));
    const spoken = points.map(({ curve, value }) => `${curve.label} ${speakQuantity(value, unit, 3)}`);
    this.overlay.setAttribute("aria-valuenow", this.cursor);
    this.overlay.setAttribute("aria-valuetext", [speakQuantity(this.cursor, this.x.unit, 3), ...spoken].join(", "));
  }
}

// Value of a sampled curve between its points, linear in x or in its logarithm.
export function interpolate({ xs, ys }, x, scale = "log") {
  let low = 0;
  let high = xs.length - 1;
  if (x <= xs[low]) return ys[low];
  if (x >= xs[high]) return ys[high];
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (xs[middle] <= x) low = middle;
    else high = middle;
  }
  const part = scale === "linear" ? (a) => a - xs[low] : (a) => Math.log(a / xs[low]);
  const share = part(x) / part(xs[high]);
  return ys[low] + share * (ys[high] - ys[low]);
}
