// The views of a panel. A view factory takes (view, context) and returns {element, update(result)}.
// result: {values, functions, figures, checks, frozen} where frozen is a result too, or null.
// A view with pictures returns {pictures} as well: they are measured again before printing.

import { computedView } from "./computed_view.js";
import { curvesView } from "./curves_view.js";
import { html, setText, verdictNode, verdictWord } from "./dom.js";
import { markupView, schematicView } from "./markup_views.js";
import { formatQuantity } from "./quantities.js";

// ---- readouts: one card per figure ------------------------------------------------------
function readoutsView(view, { payload }) {
  const cards = new Map();
  const shown = payload.figures.filter(({ hidden }) => !hidden);
  // Two even rows instead of a long one and a lonely card.
  const perRow = shown.length > 4 ? Math.ceil(shown.length / 2) : shown.length;
  const element = html("div", { class: "srn-readouts", role: "list", "aria-label": "Figures", style: `--per-row:${perRow}` });
  for (const figure of shown) {
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
      card.note.replaceChildren(...(check ? [verdictNode(verdictWord(check.passes)), html("span", {}, ` ${check.limitText}`)] : []));
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
      html("th", { scope: "row" }, text), html("td", {}, limit), html("td", {}, value), html("td", {}, verdictNode(verdictWord(passes))))));
  }
  return { element, update };
}

// New kinds of view are entered here: {kind: (view, context) => ({element, update, receive?})}.
export const VIEWS = {
  readouts: readoutsView,
  checks: checksView,
  curves: curvesView,
  schematic: schematicView,
  derivation: markupView,
  text: markupView,
  kernel: computedView,
};
