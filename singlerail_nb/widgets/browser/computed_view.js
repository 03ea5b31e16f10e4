// What only Python can compute. A view that follows asks for the newest values whenever the last answer is
// in: one question on its way, the newest wins. A view with a button shows progress and can be cancelled.

import { Bars, Columns } from "./charts.js";
import { freshId, html, setText, verdictNode, VERDICTS } from "./dom.js";
import { Plot } from "./plot.js";
import { formatQuantity } from "./quantities.js";

const DIM_AFTER_MS = 350;
const ANSWER_MS = 15000;
const WRITTEN = "Computed by Python for the values at the time of writing; it does not follow the sliders here.";
const EARLIER = "Computed for earlier values.";
const SILENT = "Python does not answer.";

const same = (some, values) => Object.keys(values).every((name) => !(name in some) || some[name] === values[name]);

// ---- the answer: plots, columns, bars, rows; pictures are kept and redrawn ----------------
function answerBody() {
  const element = html("div", { class: "srn-plots srn-answer-body" });
  const known = new Map();
  const makers = {
    plots: (data) => {
      const picture = new Plot({ ...data, onCursor: (value) => picture.setCursor(value) });
      return picture;
    },
    columns: (data) => new Columns(data),
    bars: (data) => new Bars(data),
  };
  const complete = (data, words) => ({
    ...data, words: () => words,
    ...(data.curves ? { curves: data.curves.map((curve, k) => ({ id: String(k), slot: k, ...curve })) } : {}),
  });
  function show(answer) {
    const shown = Object.keys(makers).flatMap((kind) => (answer[kind] ?? []).map((data) => {
      const key = `${kind} ${data.title} ${data.y?.scale ?? ""}`;
      if (!known.has(key)) known.set(key, makers[kind](data));
      const picture = known.get(key);
      picture.update(complete(data, answer.summary ?? ""));
      return picture.element;
    }));
    const tables = (answer.tables ?? []).map(wholeTable);
    const rows = answer.rows?.length ? [rowsTable(answer.rows)] : [];
    const remarks = (answer.remarks ?? []).map((text) => html("p", { class: "srn-note" }, text));
    const kept = [...element.children].slice(0, shown.length);
    if (kept.length === shown.length && kept.every((node, k) => node === shown[k])) [...element.children].slice(shown.length).forEach((node) => node.remove());
    else element.replaceChildren(...shown);
    element.append(...tables, ...rows, ...remarks);
  }
  return { element, show, pictures: () => [...known.values()] };
}

function rowsTable(rows) {
  const cells = ({ label, value, unit, text }) => html("tr", {}, html("th", { scope: "row" }, label), html("td", {}, text ?? formatQuantity(value, unit)));
  return html("table", { class: "srn-table" }, html("tbody", {}, ...rows.map(cells)));
}

// {head, rows}: texts; the last column of a table of checks is a verdict.
function wholeTable({ head, rows }) {
  const column = (text) => html("th", { scope: "col" }, text);
  const cell = (text) => (text in VERDICTS ? html("td", {}, verdictNode(text)) : html("td", {}, text));
  const body = rows.map(([first, ...others]) => html("tr", {}, html("th", { scope: "row" }, first), ...others.map(cell)));
  return html("table", { class: "srn-table" }, html("thead", {}, html("tr", {}, ...head.map(column))), html("tbody", {}, ...body));
}

// ---- what the reader may choose inside the view ------------------------------------------
function choiceControls(choices, onChange) {
  const chosen = Object.fromEntries(choices.map(({ name, options }) => [name, options[0]]));
  const nodes = choices.map(({ name, label, options }) => {
    const id = freshId("choice");
    const select = html("select", {
      id, class: "srn-select", "data-choice": name, onkeydown: (event) => event.stopPropagation(),
      onchange: () => {
        chosen[name] = select.value;
        onChange();
      },
    }, ...options.map((option) => html("option", { value: option }, option)));
    return html("span", { class: "srn-choice" }, html("label", { for: id }, label), select);
  });
  return { chosen, nodes };
}

// view: {id, title, follows, action, choices, data}
export function computedView(view, { link }) {
  const body = answerBody();
  const progress = html("progress", { class: "srn-progress", max: 1, value: 0, "aria-label": `${view.title}: progress` });
  const status = html("span", { class: "srn-note", role: "status" });
  const start = html("button", { type: "button", class: "srn-button", onclick: () => ask(true) }, view.action ?? "");
  const stop = html("button", { type: "button", class: "srn-button", onclick: () => link.post({ type: "cancel", view: view.id }) }, "Cancel");
  const { chosen, nodes } = choiceControls(view.choices ?? [], () => {
    answered = null;
    follow();
  });
  const tools = link.alive ? [...nodes, ...(view.action ? [start, stop, progress] : [])] : [];
  const element = html("div", {}, html("div", { class: "srn-bar" }, ...tools, status), body.element);
  let latest = null; // values on the sliders
  let answered = null; // values that the shown answer is for
  let asked = null; // values on their way, or null
  let running = false; // the reader's own, slow question
  let dimming = 0;
  let patience = 0;

  function ask(wanted) {
    asked = latest;
    running = wanted;
    link.post({ type: "compute", view: view.id, values: latest, choices: { ...chosen }, full: wanted });
    clearTimeout(patience);
    if (!wanted) patience = setTimeout(() => ended(SILENT), ANSWER_MS);
  }
  function follow() {
    const due = latest && !(answered && same(answered, latest));
    if (view.follows && link.alive && asked === null && due) ask(false);
    if (due) dimming ||= setTimeout(dim, DIM_AFTER_MS);
    else undim();
  }
  function dim() {
    element.classList.add("srn-dim");
    if (!(view.follows && link.alive) && answered) setText(status, link.alive ? EARLIER : WRITTEN);
  }
  function undim() {
    clearTimeout(dimming);
    dimming = 0;
    element.classList.remove("srn-dim");
  }
  function showRunning(share, text) {
    start.disabled = share !== null;
    stop.disabled = share === null;
    progress.hidden = share === null;
    if (share !== null) progress.value = share;
    setText(status, text);
  }
  function ended(text) {
    clearTimeout(patience);
    answered = asked ?? answered;
    asked = null;
    running = false;
    showRunning(null, text);
  }
  function receive(message) {
    if (message.type === "progress") return showRunning(message.share, message.text);
    if (message.type === "result") body.show(message.data);
    if (message.type === "result") asked = { ...message.data.values };
    ended(message.type === "failed" ? message.text : "");
    undim();
    if (message.type === "failed") element.classList.add("srn-dim");
    follow();
  }
  function update({ values }) {
    latest = values;
    if (!running) follow();
  }
  showRunning(null, link.alive ? "" : WRITTEN);
  if (view.data) {
    body.show(view.data);
    answered = view.data.values ?? null;
  }
  return { element, update, receive, pictures: body.pictures };
}
