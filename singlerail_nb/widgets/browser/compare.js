// Frozen version A beside the present version B: parts, figures and verdicts that changed.

import { html, symbolNode, verdictWord, VERDICTS } from "./dom.js";
import { formatQuantity } from "./quantities.js";

function change(before, after, unit) {
  if (before === null || after === null || before === undefined || after === undefined) return "";
  const sign = after < before ? "−" : "+";
  if (unit === "dB" || unit === "deg" || before === 0) return `${sign}${formatQuantity(Math.abs(after - before), unit, 3)}`;
  const percent = (100 * Math.abs(after - before)) / Math.abs(before);
  return percent > 999 ? `× ${(after / before).toPrecision(3)}` : `${sign}${Number(percent.toPrecision(3))} %`;
}

const differ = (a, b) => (Number.isFinite(a) && Number.isFinite(b) ? Math.abs(a - b) > 1e-9 * Math.abs(a) : a !== b);

function quantityRows(list, before, after) {
  return list.filter(({ key }) => differ(before[key], after[key])).map(({ key, label, unit, isSymbol }) => [
    isSymbol ? symbolNode(label) : label, formatQuantity(before[key], unit), formatQuantity(after[key], unit), change(before[key], after[key], unit),
  ]);
}

function verdictRows(before, after) {
  const word = ({ passes }) => `${VERDICTS[verdictWord(passes)]} ${verdictWord(passes)}`;
  return after.filter((check, k) => before[k] && check.passes !== before[k].passes)
    .map((check) => [`Verdict: ${check.text}`, word(before.find((c) => c.id === check.id)), word(check), "changed"]);
}

// What the versions are, where that differs: kind of stage, bias source, op-amp, rail.
function identityRows(before, after) {
  return Object.keys(after).filter((name) => before[name] !== after[name]).map((name) => [name, before[name], after[name], "changed"]);
}

const unique = (list) => [...new Map(list.map((item) => [item.key, item])).values()];

export function comparison(payload) {
  const body = html("tbody");
  const head = ["Quantity", "A, frozen", "B, now", "Change"].map((text) => html("th", { scope: "col" }, text));
  const table = html("table", { class: "srn-table" }, html("thead", {}, html("tr", {}, ...head)), body);
  const element = html("section", { class: "srn-comparison", "aria-label": "Comparison of A and B" }, html("h3", {}, "A (frozen, thin dashed) against B (now)"), table);
  const listed = (source) => ({
    parts: source.parts.map(({ name, symbol, unit }) => ({ key: name, label: symbol, isSymbol: true, unit })),
    figures: source.figures.filter(({ hidden }) => !hidden).map(({ id, label, unit }) => ({ key: id, label, unit })),
  });
  let shown = "";

  function update(result) {
    element.hidden = !result.frozen;
    if (!result.frozen) return;
    const { source } = result.frozen;
    const [one, other] = [listed(payload), listed(source)];
    const [parts, figures] = [unique([...one.parts, ...other.parts]), unique([...one.figures, ...other.figures])];
    const rows = [
      ...identityRows(source.identity, payload.identity),
      ...quantityRows(parts, result.frozen.values, result.values),
      ...quantityRows(figures, result.frozen.figures, result.figures),
      ...verdictRows(result.frozen.checks, result.checks),
    ];
    const key = JSON.stringify([result.frozen.values, result.values, rows.length]);
    if (key === shown) return;
    shown = key;
    const line = ([label, ...cells]) => html("tr", {}, html("th", { scope: "row" }, label), ...cells.map((text) => html("td", {}, text)));
    body.replaceChildren(...(rows.length ? rows : [["Nothing differs yet: move a slider.", "", "", ""]]).map(line));
  }
  return { element, update };
}
