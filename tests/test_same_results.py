"""The same inputs give the same text, digit by digit, whatever the order of Python's sets."""

import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]


def results(seed):
    """Return {kind of result: text} of a process of its own."""
    command = [sys.executable, str(ROOT / "tests" / "same_results.py")]
    environment = {**os.environ, "PYTHONHASHSEED": str(seed), "PYTHONPATH": str(ROOT)}
    text = subprocess.check_output(command, text=True, encoding="utf-8", env=environment, cwd=ROOT)
    sections = text.split("== ")[1:]
    return dict(section.split("\n", 1) for section in sections)


def test_two_runs_give_the_same_text():
    one, other = results(1), results(2)
    assert list(one) == list(other)
    assert {"derivation", "design", "selection", "handout 1", "Monte Carlo", "rationale"} <= set(one)
    assert all(len(text) > 20 for text in one.values())
    assert [kind for kind in one if one[kind] != other[kind]] == []


def test_the_order_of_sets_differs_between_the_two():
    def order(seed):
        program = "print(*{'c_in', 'c_out', 'r_f', 'r_g', 'bias', 'plus', 'minus'})"
        environment = {**os.environ, "PYTHONHASHSEED": str(seed)}
        return subprocess.check_output([sys.executable, "-c", program], text=True, env=environment)

    assert order(1) != order(2)
