// Two pictures that are no curves: bars (shares, sensitivities) and columns on a volts axis.

import { linearScale, linearTicks } from "./axes.js";
import { Drawing, redraw } from "./drawing.js";
import { freshId, svg, symbolSpans } from "./dom.js";
import { formatQuantity } from "./quantities.js";

const ROW = 26;
const LETTER = 6.8;

// {title, unit, rows: [{label, value, text}]}: bars from zero, to the left where negative.
export class Bars extends Drawing {
  constructor({ title }) {
    super({ title, height: ROW });
    this.rows = svg("g");
    this.picture.append(this.rows);
  }

  update({ unit, rows, words }) {
    Object.assign(this, { unit, data: rows, words });
    this.resizeTo(ROW * Math.max(1, rows.length) + 8);
    this.draw();
  }

  draw() {
    if (!this.data?.length || !this.ready()) return;
    const texts = this.data.map(({ value, text }) => text ?? formatQuantity(value, this.unit, 3));
    const names = LETTER * Math.max(...this.data.map(({ label }) => label.length)) + 10;
    const room = LETTER * Math.max(...texts.map((text) => text.length)) + 12;
    const values = this.data.map(({ value }) => value);
    const [low, high] = [Math.min(0, ...values), Math.max(0, ...values)];
    const scale = linearScale(low, high > low ? high : 1, names + (low < 0 ? room : 0), this.width - room);
    this.picture.setAttribute("viewBox", `0 0 ${this.width} ${this.height}`);
    redraw(this.rows, JSON.stringify([this.width, this.data, texts]), () => this.data.flatMap((row, k) => this.row(row, texts[k], k, scale, names)));
    this.tell();
  }

  row({ label, value }, text, k, scale, names) {
    const y = ROW * k + 4;
    const [zero, end] = [scale(0), scale(value)];
    const leftwards = value < 0;
    return [
      svg("text", { x: names - 8, y: y + 15, "text-anchor": "end", class: "srn-bar-name" }, ...symbolSpans(label)),
      svg("rect", { class: leftwards ? "srn-bar-mark srn-negative" : "srn-bar-mark", x: Math.min(zero, end), y: y + 3, width: Math.max(1.5, Math.abs(end - zero)), height: ROW - 12 }),
      svg("path", { class: "srn-zero", d: `M${zero},${y - 4}v${ROW}` }),
      svg("text", { x: end + (leftwards ? -6 : 6), y: y + 15, "text-anchor": leftwards ? "end" : "start", class: "srn-bar-value" }, text),
    ];
  }
}

const FRAME = { top: 34, bottom: 40, left: 52, right: 12 };
const COLUMNS = { range: 0.62, swing: 0.34, rest: 0.74 };

// {title, unit, groups: [{label, top, note, columns: [{label, bars: [{low, high, kind}]}]}]}:
// kind "range" is what is possible, "swing" what the signal takes, "rest" where it stands.
export class Columns extends Drawing {
  constructor({ title, height = 360 }) {
    super({ title, height });
    this.hatch = freshId("hatch");
    const line = svg("path", { d: "M0,7L7,0", class: "srn-swing-line" });
    this.body = svg("g");
    this.picture.append(svg("defs", {}, svg("pattern", { id: this.hatch, width: 7, height: 7, patternUnits: "userSpaceOnUse" }, line)), this.body);
  }

  update({ unit, groups, words }) {
    Object.assign(this, { unit, groups, words });
    this.draw();
  }

  draw() {
    if (!this.groups?.length || !this.ready()) return;
    const highest = Math.max(...this.groups.map(({ top }) => top));
    const y = linearScale(0, highest, this.height - FRAME.bottom, FRAME.top);
    this.picture.setAttribute("viewBox", `0 0 ${this.width} ${this.height}`);
    redraw(this.body, JSON.stringify([this.width, this.groups]), () => [...this.axis(y, highest), ...this.groups.flatMap((group, k) => this.group(group, k, y))]);
    this.tell();
  }

  axis(y, highest) {
    const right = this.width - FRAME.right;
    const lines = linearTicks(0, highest, this.unit, 8).flatMap(({ value, label }) => [
      svg("path", { class: "srn-major", d: `M${FRAME.left},${y(value)}H${right}` }),
      svg("text", { x: FRAME.left - 7, y: y(value) + 4, "text-anchor": "end" }, label),
    ]);
    const middle = (y(0) + y(highest)) / 2;
    return [...lines, svg("text", { class: "srn-axis-title", "text-anchor": "middle", transform: `translate(13 ${middle}) rotate(-90)` }, "volts to ground (V)")];
  }

  group({ label, top, note, columns }, k, y) {
    const wide = (this.width - FRAME.left - FRAME.right) / this.groups.length;
    const left = FRAME.left + k * wide + 0.05 * wide;
    const each = (0.9 * wide) / columns.length;
    const line = (volts, name) => svg("path", { class: name, d: `M${left},${y(volts)}h${0.9 * wide}` });
    const centre = left + 0.45 * wide;
    const drawn = columns.flatMap((column, i) => this.column(column, left + (i + 0.5) * each, Math.min(each, 90), y));
    return [
      ...drawn, line(top, "srn-rail"), line(0, "srn-rail"),
      svg("text", { class: "srn-bar-value", x: centre, y: y(top) - 8, "text-anchor": "middle" }, note),
      svg("text", { x: centre, y: this.height - 6, "text-anchor": "middle", class: "srn-bar-name" }, label),
    ];
  }

  column({ label, bars }, centre, each, y) {
    const rects = bars.map(({ low, high, kind }) => {
      const width = COLUMNS[kind] * each;
      const [top, bottom] = [y(Math.max(low, high)), y(low)];
      const fill = kind === "swing" ? `url(#${this.hatch})` : null;
      return svg("rect", { class: `srn-volts-${kind}`, x: centre - width / 2, y: kind === "rest" ? Math.min(top, (top + bottom) / 2 - 1.5) : top, width, height: Math.max(bottom - top, kind === "rest" ? 3 : 0), fill });
    });
    return [...rects, svg("text", { x: centre, y: this.height - FRAME.bottom + 16, "text-anchor": "middle" }, label)];
  }
}
