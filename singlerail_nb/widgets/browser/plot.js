// One picture: logarithmic or linear abscissa, curves labelled where they end, masks, markers, a cursor.
// A curve is {id, label, slot, xs, ys, frozen}; a mask {x0, x1, y0, y1, label}; a marker {x, y, label, rising, passes}.

import { linearScale, linearTicks, logScale, logTicks, niceRange } from "./axes.js";
import { freshId, html, setText, svg } from "./dom.js";
import { formatQuantity, speakQuantity, symbolOf } from "./quantities.js";

const MARGIN = { top: 12, right: 14, bottom: 34, left: 60 };
const LABEL_GAP = 15;
const CHARACTER = 6.6;

export class Plot {
  constructor({ title, x, y, height = 240, onCursor = () => {} }) {
    Object.assign(this, { title, x, y, height, onCursor, curves: [], masks: [], markers: [], cursor: null, width: 0 });
    this.hatch = freshId("hatch");
    this.clip = freshId("clip");
    this.paths = new Map();
    this.buildFrame();
    new ResizeObserver(() => this.draw()).observe(this.stage);
    new IntersectionObserver((entries) => entries.some((e) => e.isIntersecting) && this.draw()).observe(this.stage);
  }

  buildFrame() {
    this.readout = html("span", { class: "srn-cursor-text" });
    this.layers = Object.fromEntries(["grid", "masks", "curves", "markers", "labels", "cursor"].map((name) => [name, svg("g", { class: `srn-${name}` })]));
    this.clipRect = svg("rect");
    this.picture = svg("svg", { class: "srn-picture", role: "img", "aria-label": this.title }, this.definitions(), ...Object.values(this.layers));
    for (const name of ["masks", "curves"]) this.layers[name].setAttribute("clip-path", `url(#${this.clip})`);
    this.overlay = html("div", {
      class: "srn-overlay", role: "slider", tabindex: 0, "aria-label": `Cursor, ${this.title}`,
      "aria-valuemin": this.x.min, "aria-valuemax": this.x.max, "aria-valuenow": this.x.min, "aria-valuetext": "off",
      onpointermove: (event) => this.point(event), onpointerleave: () => this.onCursor(null),
      onkeydown: (event) => this.pressed(event), onblur: () => this.onCursor(null),
    });
    this.stage = html("div", { class: "srn-plot-stage", style: `height:${this.height}px` }, this.picture, this.overlay);
    this.element = html("figure", { class: "srn-plot" }, html("figcaption", {}, html("span", {}, this.title), this.readout), this.stage);
  }

  definitions() {
    const line = svg("path", { d: "M0,8L8,0", class: "srn-hatch-line" });
    const pattern = svg("pattern", { id: this.hatch, width: 8, height: 8, patternUnits: "userSpaceOnUse" }, line);
    return svg("defs", {}, pattern, svg("clipPath", { id: this.clip }, this.clipRect));
  }

  update({ curves, masks = [], markers = [], summary = "" }) {
    Object.assign(this, { curves, masks, markers });
    this.summary = summary;
    this.draw();
  }

  draw() {
    const width = this.stage.clientWidth;
    if (width < 40 || !this.curves.length) return;
    const gutter = 10 + CHARACTER * Math.max(...this.curves.map((c) => (c.frozen ? 0 : c.label.length)));
    const box = { left: MARGIN.left, right: width - MARGIN.right - Math.min(gutter, width / 4), top: MARGIN.top, bottom: this.height - MARGIN.bottom };
    const range = this.verticalRange();
    const layout = JSON.stringify([box, range]);
    if (layout !== this.layout) this.drawFrame(box, range, width);
    this.layout = layout;
    this.drawMasks();
    this.drawCurves();
    this.drawMarkers();
    this.drawLabels();
    this.drawCursor();
    this.picture.setAttribute("aria-label", `${this.title}. ${this.summary}`);
  }

  // Data range in whole steps; it stays while the data still fills most of it.
  verticalRange() {
    if (this.y.range) return this.y.range;
    const { unit } = this.y;
    const depth = this.y.depth ?? Infinity;
    let low = Infinity;
    let high = -Infinity;
    for (const curve of this.curves) {
      for (const value of curve.ys) {
        if (value < low) low = value;
        if (value > high && value < Infinity) high = value;
      }
    }
    low = Math.max(low, high - depth);
    const padding = Math.max((high - low) * 0.04, this.y.least ?? 1e-9);
    const wanted = niceRange(low - padding, high + padding, unit, 6);
    const kept = this.range && this.range[0] <= low && this.range[1] >= high && this.range[1] - this.range[0] < 1.5 * (wanted[1] - wanted[0]);
    if (!kept) this.range = wanted;
    return this.range;
  }

  drawFrame(box, range, width) {
    this.box = box;
    this.px = (this.x.scale === "linear" ? linearScale : logScale)(this.x.min, this.x.max, box.left, box.right);
    this.py = linearScale(range[0], range[1], box.bottom, box.top);
    this.picture.setAttribute("viewBox", `0 0 ${width} ${this.height}`);
    for (const [name, value] of Object.entries({ x: box.left, y: box.top, width: box.right - box.left, height: box.bottom - box.top })) this.clipRect.setAttribute(name, value);
    Object.assign(this.overlay.style, { left: `${box.left}px`, top: `${box.top}px`, width: `${box.right - box.left}px`, height: `${box.bottom - box.top}px` });
    this.layers.grid.replaceChildren(...this.verticalGrid(), ...this.horizontalGrid(range), ...this.axisTitles());
  }

  verticalGrid() {
    const { min, max, unit, scale } = this.x;
    const { major, minor } = scale === "linear" ? { major: linearTicks(min, max, unit, 8), minor: [] } : logTicks(min, max, unit);
    const { top, bottom } = this.box;
    const line = (tick, name) => svg("path", { class: name, d: `M${this.px(tick.value).toFixed(1)},${top}V${bottom}` });
    const text = (tick) => svg("text", { x: this.px(tick.value), y: bottom + 15, "text-anchor": "middle" }, tick.label);
    return [...minor.map((t) => line(t, "srn-minor")), ...major.map((t) => line(t, "srn-major")), ...major.map(text)];
  }

  horizontalGrid(range) {
    const { left, right } = this.box;
    return linearTicks(range[0], range[1], this.y.unit, 7).flatMap((tick) => {
      const y = this.py(tick.value).toFixed(1);
      return [svg("path", { class: "srn-major", d: `M${left},${y}H${right}` }), svg("text", { x: left - 7, y: Number(y) + 4, "text-anchor": "end" }, tick.label)];
    });
  }

  axisTitles() {
    const { left, right, top, bottom } = this.box;
    const middle = (top + bottom) / 2;
    return [
      svg("text", { class: "srn-axis-title", x: (left + right) / 2, y: bottom + 30, "text-anchor": "middle" }, titled(this.x)),
      svg("text", { class: "srn-axis-title", "text-anchor": "middle", transform: `translate(13 ${middle}) rotate(-90)` }, titled(this.y)),
    ];
  }

  drawMasks() {
    const { left, right, top, bottom } = this.box;
    const inside = (value, low, high) => Math.min(high, Math.max(low, value));
    this.layers.masks.replaceChildren(...this.masks.flatMap((mask) => {
      const [x0, x1] = [mask.x0, mask.x1].map((f) => inside(this.px(f), left, right));
      const [y0, y1] = [mask.y1, mask.y0].map((value) => inside(value === -Infinity ? bottom : this.py(value), top, bottom));
      if (x1 - x0 < 1 || y1 - y0 < 1) return [];
      const area = svg("rect", { class: "srn-mask", x: x0, y: y0, width: x1 - x0, height: y1 - y0, fill: `url(#${this.hatch})` });
      const text = svg("text", { class: "srn-mask-text", x: x0 + 7, y: Math.min(y0 + 17, bottom - 6) }, mask.label);
      return [area, text];
    }));
  }

  pathOf(curve) {
    const { px, py } = this;
    const low = this.box.bottom + 1e4;
    let d = "";
    for (let i = 0; i < curve.xs.length; i++) {
      const y = py(curve.ys[i]);
      d += `${i ? "L" : "M"}${px(curve.xs[i]).toFixed(1)},${(y < low ? Math.max(y, -1e4) : low).toFixed(1)}`;
    }
    return d;
  }

  drawCurves() {
    const seen = new Set();
    for (const curve of this.curves) {
      seen.add(curve.id);
      let path = this.paths.get(curve.id);
      if (!path) {
        path = svg("path", { class: `srn-curve srn-slot-${curve.slot}${curve.frozen ? " srn-frozen" : ""}` });
        this.paths.set(curve.id, path);
        this.layers.curves.append(path);
      }
      path.setAttribute("d", this.pathOf(curve));
    }
    for (const [id, path] of this.paths) {
      if (seen.has(id)) continue;
      path.remove();
      this.paths.delete(id);
    }
  }

  drawMarkers() {
    const { left, right, top, bottom } = this.box;
    this.layers.markers.replaceChildren(...this.markers.flatMap(({ x, y, label, rising, passes }) => {
      const cx = this.px(x);
      const cy = this.py(y);
      if (!(cx >= left && cx <= right && cy >= top && cy <= bottom)) return [];
      // The free side is above the curve: to the left where it rises, else to the right.
      const room = label.length * CHARACTER + 12;
      const leftwards = (rising || cx + room > right) && cx - room > left;
      const text = svg("text", { class: "srn-marker-text", x: cx + (leftwards ? -10 : 10), y: Math.max(cy - 8, top + 12), "text-anchor": leftwards ? "end" : "start" }, label);
      return [svg("circle", { class: passes === false ? "srn-marker srn-bad" : "srn-marker", cx, cy, r: 4.5 }), text];
    }));
  }

  // Names at the right end of the curves, pushed apart where they would touch.
  drawLabels() {
    const { right, top, bottom } = this.box;
    const ends = this.curves.filter((curve) => !curve.frozen).map((curve) => {
      const y = Math.min(bottom, Math.max(top, this.py(curve.ys[curve.ys.length - 1])));
      return { curve, y, at: y };
    });
    ends.sort((a, b) => a.at - b.at);
    for (let k = 1; k < ends.length; k++) ends[k].at = Math.max(ends[k].at, ends[k - 1].at + LABEL_GAP);
    for (let k = ends.length - 1, limit = bottom; k >= 0; k--, limit -= LABEL_GAP) ends[k].at = Math.min(ends[k].at, limit);
    this.layers.labels.replaceChildren(...ends.flatMap(({ curve, y, at }) => [
      svg("path", { class: `srn-leader srn-slot-${curve.slot}`, d: `M${right + 1},${y.toFixed(1)}L${right + 9},${at.toFixed(1)}` }),
      svg("text", { class: `srn-label srn-slot-${curve.slot}`, x: right + 12, y: at + 4 }, curve.label),
    ]));
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

  setCursor(hertz) {
    this.cursor = hertz;
    if (this.layout) this.drawCursor();
  }

  drawCursor() {
    if (this.cursor === null) {
      this.layers.cursor.replaceChildren();
      setText(this.readout, "");
      this.overlay.setAttribute("aria-valuetext", "off");
      return;
    }
    const x = this.px(this.cursor).toFixed(1);
    const points = this.curves.map((curve) => ({ curve, value: interpolate(curve, this.cursor, this.x.scale) }));
    const inside = ({ value }) => this.py(value) >= this.box.top && this.py(value) <= this.box.bottom;
    const dots = points.filter(inside).map(({ curve, value }) => svg("circle", { class: `srn-dot srn-slot-${curve.slot}`, cx: x, cy: this.py(value), r: 3.5 }));
    this.layers.cursor.replaceChildren(svg("path", { class: "srn-cursor-line", d: `M${x},${this.box.top}V${this.box.bottom}` }), ...dots);
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

const titled = ({ label, unit }) => (unit ? `${label} (${symbolOf(unit)})` : label);

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
