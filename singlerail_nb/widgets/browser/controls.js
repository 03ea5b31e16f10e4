// Labelled controls: preferred-value slider with quantity box, chooser, button.
// Keys stay inside the controls (stopPropagation): a notebook page would take the arrows away.

import { freshId, html, setText, symbolNode } from "./dom.js";
import { formatQuantity, nearestIndex, parseQuantity, preferredValues, speakQuantity } from "./quantities.js";

const keepKeys = (event) => event.stopPropagation();

export const button = (label, title, onclick) => html("button", { type: "button", class: "srn-button", title, onclick, onkeydown: keepKeys }, label);

// Text that refuses a value no such part has, or "". The limits are Python's own.
function implausible(value, { limits: [low, high, mayBeZero], unit }) {
  if ((value >= low && value <= high) || (value === 0 && mayBeZero)) return "";
  return `Must be ${mayBeZero ? "0 or " : ""}${formatQuantity(low, unit)} to ${formatQuantity(high, unit)}; check the prefix`;
}

// part: {name, symbol, unit, label, value, grid, limits: [low, high, may be zero]}; calls onMove while moving, onSettle at the end of a step.
export function partControl(part, { onMove, onSettle }) {
  const grid = preferredValues(part.grid);
  const ids = { box: freshId("box"), error: freshId("error") };
  const slider = html("input", {
    type: "range", class: "srn-slider", min: 0, max: grid.length - 1, step: 1, "data-slider": part.name,
    "aria-label": `${part.label} in ${speakQuantity(1, part.unit).slice(2)}`,
    oninput: () => onMove(part.name, grid[slider.valueAsNumber]), onchange: onSettle, onkeydown: keepKeys,
  });
  const box = html("input", {
    type: "text", class: "srn-box", id: ids.box, "data-box": part.name, spellcheck: "false", autocomplete: "off", "aria-describedby": ids.error,
    onchange: () => readBox(), onkeydown: (event) => boxKey(event),
  });
  const error = html("p", { class: "srn-error", id: ids.error, role: "alert" });
  let shown = null;

  function showError(text) {
    setText(error, text);
    box.setAttribute("aria-invalid", String(text !== ""));
  }
  function readBox() {
    const { value, error: problem } = parseQuantity(box.value, part.unit);
    const outside = problem ?? implausible(value, part);
    showError(outside && `${outside}. Kept ${formatQuantity(shown, part.unit)}.`);
    if (outside) return;
    box.value = formatQuantity(value, part.unit, 6);
    onMove(part.name, value);
    onSettle();
  }
  function boxKey(event) {
    event.stopPropagation();
    if (event.key === "Enter") readBox();
    if (event.key !== "Escape") return;
    showError("");
    box.value = formatQuantity(shown, part.unit);
  }
  // Text under the reader's hands stays until the value itself changes.
  function update(value) {
    if (value === shown) return;
    shown = value;
    const index = nearestIndex(grid, value);
    if (slider.valueAsNumber !== index) slider.value = index;
    slider.style.setProperty("--filled", `${(100 * index) / (grid.length - 1)}%`);
    slider.setAttribute("aria-valuetext", speakQuantity(value, part.unit));
    box.value = formatQuantity(value, part.unit, 6);
    if (box.getAttribute("aria-invalid") === "true") showError("");
  }

  const name = html("label", { for: ids.box, class: "srn-name" }, symbolNode(part.symbol), html("span", { class: "srn-role" }, part.label));
  const element = html("div", { class: "srn-control", role: "group", "aria-label": part.label }, name, box, slider, error);
  update(part.value);
  return { element, update, showError };
}

// chooser: {name, label, options: [{value, label}], value}
export function chooserControl(chooser, onChoose) {
  const id = freshId("choose");
  const options = chooser.options.map(({ value, label }) => html("option", { value, selected: value === chooser.value }, label));
  const select = html("select", { id, class: "srn-select", "data-chooser": chooser.name, onchange: () => onChoose(chooser.name, select.value), onkeydown: keepKeys }, ...options);
  const update = (option) => option !== undefined && (select.value = option);
  return { name: chooser.name, element: html("div", { class: "srn-control srn-chooser" }, html("label", { for: id, class: "srn-name" }, chooser.label), select), update };
}

// A row of tabs with their pages; arrows move between tabs. Printed pages all show.
export function tabbed(pages, onShow) {
  const tabs = pages.map((page, k) => html("button", {
    type: "button", role: "tab", class: "srn-tab", id: freshId("tab"), onclick: () => choose(k), onkeydown: (event) => moved(event, k),
  }, page.title));
  const bodies = pages.map((page, k) => html("section", { role: "tabpanel", class: "srn-page", "aria-labelledby": tabs[k].id }, html("h3", { class: "srn-print-only" }, page.title), page.element));
  bodies.forEach((body, k) => tabs[k].setAttribute("aria-controls", (body.id = freshId("page"))));
  let current = 0;

  function choose(k) {
    current = k;
    tabs.forEach((tab, i) => {
      tab.setAttribute("aria-selected", String(i === k));
      tab.tabIndex = i === k ? 0 : -1;
      bodies[i].classList.toggle("srn-hidden", i !== k);
    });
    onShow(pages[k]);
  }
  function moved(event, k) {
    event.stopPropagation();
    const target = { ArrowRight: k + 1, ArrowLeft: k - 1, Home: 0, End: pages.length - 1 }[event.key];
    if (target === undefined) return;
    event.preventDefault();
    const next = (target + pages.length) % pages.length;
    tabs[next].focus();
    choose(next);
  }
  const list = html("div", { role: "tablist", class: "srn-tabs", "aria-label": "Views" }, ...tabs);
  return { element: html("div", { class: "srn-tabbed" }, pages.length > 1 ? list : null, ...bodies), choose, pages, current: () => pages[current] };
}
