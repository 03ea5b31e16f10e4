// The frame that every picture shares: title, drawing area of a given height, words for those who cannot see it.
// Reading a width makes the browser lay out the page at once, so it is read only when the browser reports a change.

import { html, svg } from "./dom.js";

const WORDS_MS = 250;
const NARROWEST = 40;

export class Drawing {
  constructor({ title, height }) {
    Object.assign(this, { title, height, width: 0, words: () => "" });
    this.readout = html("span", { class: "srn-cursor-text" });
    this.picture = svg("svg", { class: "srn-picture", role: "img", "aria-label": title });
    this.stage = html("div", { class: "srn-plot-stage", style: `height:${height}px` }, this.picture);
    this.element = html("figure", { class: "srn-plot" }, html("figcaption", {}, html("span", {}, title), this.readout), this.stage);
    new ResizeObserver(([entry]) => this.resized(entry.contentRect.width)).observe(this.stage);
    new IntersectionObserver((entries) => entries.some((e) => e.isIntersecting) && this.draw()).observe(this.stage);
  }

  resized(width) {
    this.width = Math.round(width);
    this.draw();
  }

  // Is there room to draw? A hidden page has none.
  ready() {
    if (this.width < NARROWEST) this.width = this.stage.clientWidth;
    return this.width >= NARROWEST;
  }

  resizeTo(height) {
    if (height === this.height) return;
    this.height = height;
    this.stage.style.height = `${height}px`;
  }

  // The text alternative states the numbers; it follows when the picture has come to rest.
  tell() {
    clearTimeout(this.telling);
    const write = () => this.picture.setAttribute("aria-label", `${this.title}. ${this.words()}`);
    if (this.told) this.telling = setTimeout(write, WORDS_MS);
    else write();
    this.told = true;
  }
}

// Replace the children of a node only where the key differs from the last one.
export function redraw(node, key, children) {
  if (node.srnKey === key) return;
  node.srnKey = key;
  node.replaceChildren(...children());
}
