// Derivation, schematic, text: made in Python, shown here.
// The markup comes from this package's own writers, never from what a reader typed.

import { html, setText } from "./dom.js";
import { formatQuantity } from "./quantities.js";

const REST_MS = 300;
const MARKS_OLD = "The + signs of capacitors were drawn for the values at the time of writing.";

// Where the markup is null, the kernel makes it when the tab is first opened.
export function markupView(view, { link }) {
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
  return { element, update, receive: ({ markup }) => markup === undefined || show(markup) };
}

// The values in the drawing follow every move. The + signs follow from the resting voltages, so from
// the resistors: when these have come to rest at other values, the kernel draws again.
export function schematicView(view, context) {
  const { link, payload } = context;
  const inner = markupView(view, context);
  const note = html("p", { class: "srn-note" });
  const units = Object.fromEntries(payload.parts.map((part) => [part.name, part.unit]));
  const resting = ({ ...values }) => JSON.stringify(payload.parts.filter(({ unit }) => unit === "ohm").map(({ name }) => values[name]));
  let latest = {};
  let drawnFor = null;
  let timer = 0;
  function label() {
    for (const node of inner.element.querySelectorAll("[data-part]")) {
      const name = node.dataset.part;
      if (name in units && name in latest) setText(node, formatQuantity(latest[name], units[name]));
    }
  }
  function followMarks() {
    drawnFor ??= resting(latest);
    clearTimeout(timer);
    const other = resting(latest) !== drawnFor;
    if (!link.alive) setText(note, other ? MARKS_OLD : "");
    else if (other) timer = setTimeout(redrawn, REST_MS);
  }
  function redrawn() {
    drawnFor = resting(latest);
    link.post({ type: "open", view: view.id });
  }
  function update(result) {
    latest = result.values;
    inner.update(result);
    label();
    followMarks();
  }
  function receive(message) {
    inner.receive(message);
    label();
  }
  return { element: html("div", {}, inner.element, note), update, receive };
}
