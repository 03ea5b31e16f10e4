// What the reader has set: part values, undo history and a frozen version to compare with.
// A history entry holds the former values of the parts that one step changed.

const ROUNDING = 1e-12;

export class State {
  constructor(values) {
    this.initial = { ...values };
    this.values = { ...values };
    this.committed = { ...values };
    this.past = [];
    this.future = [];
    this.frozen = null;
    this.another = false; // the frozen version has another circuit, op-amp or rail
  }

  // Change a value while a control moves; commit() makes it one step of the history.
  set(name, value) {
    this.values = { ...this.values, [name]: value };
  }

  commit() {
    const before = differences(this.values, this.committed);
    if (!Object.keys(before).length) return false;
    this.past.push(before);
    this.future = [];
    this.committed = { ...this.values };
    return true;
  }

  undo() {
    this.travel(this.past, this.future);
  }

  redo() {
    this.travel(this.future, this.past);
  }

  travel(from, to) {
    this.commit();
    const entry = from.pop();
    if (!entry) return;
    const target = { ...this.values, ...entry };
    to.push(differences(target, this.values));
    this.values = target;
    this.committed = { ...target };
  }

  reset() {
    this.values = { ...this.initial };
    this.commit();
  }

  freeze() {
    this.commit();
    this.frozen = this.frozen ? null : { ...this.values };
    this.another = false;
  }

  snapshot() {
    const { values, past, future, frozen, another } = this;
    return { values, past, future, frozen, another };
  }

  adopt({ values, past, future, frozen, another = false }) {
    Object.assign(this, { values: { ...values }, committed: { ...values }, past: [...past], future: [...future], frozen, another });
  }
}

// The entries of `other` that differ from `values`.
function differences(values, other) {
  return Object.fromEntries(Object.entries(other).filter(([name, value]) => values[name] !== value));
}

// Does a figure keep its requirement? null where the figure does not exist.
export function keeps({ relation, limit }, value) {
  if (value === null || value === undefined) return null;
  const [low, high] = { "at most": [-Infinity, limit], "at least": [limit, Infinity] }[relation] ?? limit;
  const slack = ROUNDING * Math.max(...[low, high].filter(Number.isFinite).map(Math.abs));
  return value >= low - slack && value <= high + slack;
}
