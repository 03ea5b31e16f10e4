"""History, limits and the wire of the view script."""

from tests.widgets.view_script import run

START = {"r_f": 39e3, "c_in": 220e-9}


def test_history(node, tmp_path):
    body = """
      const state = new view.State(data);
      state.set("r_f", 1); state.set("r_f", 2); state.commit();
      state.set("c_in", 3); state.commit();
      state.undo(); const once = { ...state.values };
      state.undo(); state.undo(); const twice = { ...state.values };
      state.redo(); const again = { ...state.values };
      state.set("c_in", 9); state.commit();
      const futures = state.future.length;
      state.reset(); const reset = { ...state.values };
      state.undo();
      return { once, twice, again, futures, reset, back: state.values };
    """
    told = run(node, tmp_path, body, START)
    assert told["once"] == {"r_f": 2, "c_in": 220e-9}
    assert told["twice"] == START == told["reset"]
    assert told["again"] == {"r_f": 2, "c_in": 220e-9}
    assert told["futures"] == 0
    assert told["back"] == {"r_f": 2, "c_in": 9}


def test_limits(node, tmp_path):
    body = "return data.map(([relation, limit, value]) => view.keeps({ relation, limit }, value));"
    cases = [
        ("at most", 5, 5 * (1 + 1e-15)), ("at most", 5, 5.001), ("at least", 5, 5), ("at least", 5, 4.9),
        ("within", [1, 2], 1.5), ("within", [1, 2], 2.1), ("at most", 5, None),
    ]  # fmt: skip
    assert run(node, tmp_path, body, cases) == [True, False, True, False, True, False, None]


def test_newest_state_wins_and_at_most_three_are_under_way(node, tmp_path):
    body = """
      const sent = [], words = [];
      let hear;
      const channel = { send: (m) => sent.push(m), on: (_, f) => (hear = f), off: () => {} };
      const link = new view.Link(channel, { onMessage: () => {}, onStatus: (w) => words.push(w) });
      for (let k = 1; k <= 10; k++) link.sendState(k);
      const before = sent.filter((m) => m.type === "state").map((m) => m.state);
      const confirm = (seq) => hear({ type: "confirmed", origin: link.origin, seq });
      confirm(1);
      const after = sent.filter((m) => m.type === "state").map((m) => m.state);
      [2, 3, 10].forEach(confirm);
      const states = sent.filter((m) => m.type === "state").length;
      link.close();
      return { before, after, states, inFlight: link.inFlight, last: words.at(-1) };
    """
    told = run(node, tmp_path, body, 0)
    assert told == {
        "before": [1, 2, 3],
        "after": [1, 2, 3, 10],
        "states": 4,
        "inFlight": 0,
        "last": "confirmed",
    }


def test_a_handout_has_no_wire_and_sends_nothing(node, tmp_path):
    body = """
      const link = new view.Link(null, { onMessage: () => {}, onStatus: () => {} });
      link.sendState(1); link.close();
      return [link.alive, link.inFlight];
    """
    assert run(node, tmp_path, body, 0) == [False, 0]
