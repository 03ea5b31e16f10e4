// The panel: controls on the left, readouts and views on the right, one state behind them.
// mount(element, payload, channel): channel is the kernel's end of the wire, or null in a handout.

import { comparison } from "./compare.js";
import { button, chooserControl, partControl, tabbed } from "./controls.js";
import { currentTheme, followTheme, html, setText, verdictWord } from "./dom.js";
import { Link } from "./link.js";
import { measureAll, networkFunctions } from "./numerics.js";
import { formatQuantity, formatRange, speakQuantity } from "./quantities.js";
import { keeps, State } from "./state.js";
import { takeAway } from "./take_away.js";
import { VIEWS } from "./views.js";

const QUIET_MS = 700;
const STATUS = { waiting: "asking Python …", confirmed: "confirmed by Python", silent: "Python does not answer; values shown are the browser's own" };
const KERNEL_AGREEMENT = 1e-6;

class Panel {
  constructor(element, payload, channel, open = "") {
    Object.assign(this, { payload, kernel: { figures: {}, checks: payload.told }, frame: 0, again: false });
    // The programs are JavaScript that this package wrote from the circuit, not text of a reader.
    const compiled = (description) => ({ ...description, programs: description.programs.map((text) => new Function(`return ${text}`)()) });
    this.present = compiled(payload);
    this.other = payload.frozen ? compiled(payload.frozen) : null;
    this.state = new State(Object.fromEntries(payload.parts.map((part) => [part.name, part.value])));
    this.status = html("span", { class: "srn-status", role: "status" });
    this.link = new Link(channel, { onMessage: (message) => this.receive(message), onStatus: (word) => setText(this.status, STATUS[word]) });
    this.root = html("div", { class: "srn", role: "region", "aria-label": payload.title });
    this.stopTheme = followTheme(this.root);
    this.build();
    element.replaceChildren(this.root);
    this.tabs.choose(Math.max(0, this.tabs.pages.findIndex(({ title }) => title === open)));
    this.refresh();
  }

  build() {
    const context = { payload: this.payload, link: this.link, summary: (result) => this.summary(result, formatQuantity) };
    this.views = this.payload.views.map((view) => ({ ...view, ...makeView(view, context) }));
    this.errors = html("div", { class: "srn-errors", role: "alert" });
    this.live = html("div", { class: "srn-live", "aria-live": "polite" });
    this.comparison = comparison(this.payload);
    this.tabs = tabbed(this.views.filter((view) => view.place !== "top"), () => this.refresh());
    const top = this.views.filter((view) => view.place === "top").map((view) => view.element);
    const main = html("div", { class: "srn-main" }, ...top, this.errors, this.tabs.element, this.comparison.element);
    this.root.append(this.buildHead(), html("div", { class: "srn-body" }, this.buildControls(), main), this.live);
  }

  buildHead() {
    const act = (name) => () => {
      this.state[name]();
      this.changed();
    };
    this.buttons = {
      undo: button("Undo", "Take back the last step", act("undo")),
      redo: button("Redo", "Repeat the step taken back", act("redo")),
      reset: button("Reset", "Return to the values at the start", act("reset")),
      freeze: button("Freeze as A", "Keep the present version to compare with", act("freeze")),
    };
    const tools = html("div", { class: "srn-tools", role: "toolbar", "aria-label": "History and export" }, ...Object.values(this.buttons), takeAway(this));
    return html("header", { class: "srn-head" }, html("h2", {}, this.payload.title), this.status, tools);
  }

  buildControls() {
    const moves = { onMove: (name, value) => this.move(name, value), onSettle: () => this.settle() };
    const wanted = this.payload.parts.filter((part) => part.adjustable !== false);
    this.controls = new Map(wanted.map((part) => [part.name, partControl(part, moves)]));
    this.choosers = (this.payload.choosers ?? []).map((chooser) => chooserControl(chooser, (name, option) => this.choose(name, option)));
    return html("form", { class: "srn-controls", "aria-label": "Part values", onsubmit: (event) => event.preventDefault() }, ...[...this.choosers, ...this.controls.values()].map((c) => c.element));
  }

  choose(name, option) {
    setText(this.status, STATUS.waiting);
    this.link.post({ type: "choose", name, option });
  }

  move(name, value) {
    this.state.set(name, value);
    this.schedule();
  }

  settle() {
    if (this.state.commit()) this.schedule();
  }

  // At once, but at most one evaluation and one message per animation frame.
  schedule() {
    if (this.frame) {
      this.again = true;
      return;
    }
    this.frame = requestAnimationFrame(() => {
      this.frame = 0;
      if (!this.again) return;
      this.again = false;
      this.schedule();
    });
    this.changed();
  }

  changed() {
    this.refresh();
    this.link.sendState(this.state.snapshot());
    this.announce();
  }

  result(values, { programs, constants, figures: measured } = this.present) {
    const functions = networkFunctions(programs, { ...constants, ...values });
    const figures = { ...(this.present.figures === measured ? this.kernel.figures : {}), ...measureAll(functions, measured) };
    return { values, functions, figures, checks: this.payload.requirements.map((r) => this.check(r, figures)) };
  }

  check(requirement, figures) {
    const told = this.kernel.checks[requirement.id];
    if (!requirement.figure) return { ...requirement, limitText: requirement.limitText ?? "", valueText: told?.valueText ?? "not known", passes: told?.passes ?? null };
    const value = figures[requirement.figure] ?? null;
    const unit = this.payload.figures.find((figure) => figure.id === requirement.figure).unit;
    return { ...requirement, value, valueText: formatQuantity(value, unit), limitText: limitText(requirement, unit), passes: keeps(requirement, value) };
  }

  // A frozen version is evaluated once: it changes only with Python's verdicts.
  frozenResult({ frozen, another }) {
    if (!frozen || (another && !this.other)) return null;
    const source = another ? this.other : this.present;
    if (this.frozenOf !== frozen || this.frozenBy !== this.kernel) this.frozenKept = { ...this.result(frozen, source), source };
    Object.assign(this, { frozenOf: frozen, frozenBy: this.kernel });
    return this.frozenKept;
  }

  // Draw what is visible: controls, the views at the top, the page of the chosen tab.
  refresh() {
    try {
      const { state } = this;
      const result = this.result(state.values);
      result.frozen = this.frozenResult(state);
      for (const [name, control] of this.controls) control.update(state.values[name]);
      for (const view of this.views) if (view.place === "top" || view === this.tabs.current() || this.printing) view.update(result);
      this.comparison.update(result);
      this.buttons.undo.disabled = !state.past.length;
      this.buttons.redo.disabled = !state.future.length;
      setText(this.buttons.freeze, state.frozen ? "Release A" : "Freeze as A");
      this.latest = result;
    } catch (error) {
      this.showErrors([{ text: `The panel could not be drawn: ${error.message}` }]);
      throw error;
    }
  }

  summary({ figures, checks }, write) {
    const readings = this.payload.figures.filter(({ hidden }) => !hidden).map(({ id, label, unit }) => {
      const check = checks.find((c) => c.figure === id);
      return `${label} ${write(figures[id], unit)}${check ? `, ${verdictWord(check.passes)}` : ""}`;
    });
    return readings.join("; ");
  }

  announce() {
    clearTimeout(this.quiet);
    this.quiet = setTimeout(() => setText(this.live, this.summary(this.latest, speakQuantity)), QUIET_MS);
  }

  receive(message) {
    const handlers = {
      confirmed: () => this.confirmed(message),
      payload: () => this.replace(message.payload),
      markup: () => this.forView(message),
      progress: () => this.forView(message),
      result: () => this.forView(message),
      failed: () => this.forView(message),
      handout: () => this.onHandout?.(message),
    };
    handlers[message.type]?.();
  }

  confirmed(message) {
    if (!this.link.isNewest(message)) return;
    this.kernel = { figures: message.figures, checks: message.checks };
    const own = message.origin === this.link.origin && message.seq > 0;
    if (!own || message.errors.length) this.state.adopt(message.state);
    this.refresh();
    for (const chooser of this.choosers) chooser.update(message.chosen?.[chooser.name]);
    const errors = [...message.errors, ...this.disagreements(message.figures)];
    const greeting = message.seq === 0 && message.origin !== "kernel"; // it takes no error off the page
    if (errors.length || !greeting) this.showErrors(errors);
  }

  // Python is the reference: a figure of the browser that differs is reported, never hidden.
  disagreements(figures) {
    const differs = (a, b) => (Number.isFinite(a) ? b === null || Math.abs(a - b) > KERNEL_AGREEMENT * Math.max(Math.abs(b), 1e-12) : b !== null);
    return this.payload.figures.filter(({ id, measure }) => measure && id in figures && differs(this.latest.figures[id], figures[id]))
      .map(({ id, label, unit }) => ({ text: `${label}: browser ${formatQuantity(this.latest.figures[id], unit, 9)}, Python ${formatQuantity(figures[id], unit, 9)}` }));
  }

  showErrors(errors) {
    const general = errors.filter(({ part }) => !this.controls.has(part));
    for (const { part, text } of errors) this.controls.get(part)?.showError(text);
    this.errors.replaceChildren(...general.map(({ text }) => html("p", {}, `✗ ${text}`)));
  }

  forView(message) {
    this.views.find((view) => view.id === message.view)?.receive?.(message);
  }

  replace(payload) {
    const { channel } = this.link;
    const parent = this.root.parentElement;
    const open = this.tabs.current()?.title;
    this.destroy();
    parent.srnPanel = new Panel(parent, payload, channel, open);
  }

  print(starting) {
    this.printing = starting;
    this.root.classList.toggle("srn-printing", starting);
    this.root.dataset.theme = starting ? "light" : currentTheme();
    this.refresh();
    for (const picture of this.views.flatMap((view) => view.pictures?.() ?? [])) picture.resized(picture.stage.clientWidth);
  }

  destroy() {
    this.link.close();
    this.stopTheme();
    clearTimeout(this.quiet);
    cancelAnimationFrame(this.frame);
  }
}

function makeView(view, context) {
  const factory = VIEWS[view.kind];
  if (factory) return factory(view, context);
  return { element: html("p", { class: "srn-error" }, `This panel has no view of kind "${view.kind}".`), update: () => {} };
}

function limitText({ relation, limit }, unit) {
  return relation === "within" ? formatRange(...limit, unit) : `${relation} ${formatQuantity(limit, unit)}`;
}

export function mount(element, payload, channel = null) {
  element.srnPanel = new Panel(element, payload, channel);
  const starting = () => element.srnPanel.print(true);
  const done = () => element.srnPanel.print(false);
  addEventListener("beforeprint", starting);
  addEventListener("afterprint", done);
  return () => {
    removeEventListener("beforeprint", starting);
    removeEventListener("afterprint", done);
    element.srnPanel.destroy();
  };
}

function render({ model, el }) {
  return mount(el, model.get("payload"), model);
}

export default { render };
