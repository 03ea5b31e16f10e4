"""Class sets grow linearly, and two worker processes share the work."""

import time
from concurrent.futures import ProcessPoolExecutor

import pytest

from singlerail_nb.documents.variants import class_set

CLASS_SECRET = "honey in the seventh frame"  # noqa: S105 -- of no class
MANY, QUARTER, ROUNDS = 200, 50, 3
COUNTING, JOBS = 10_000_000, 8
"""Work that shares nothing: what two workers gain on it is all that the machine has to give at the time."""


def seconds(number, folder, executor):
    """Draw a class and write its handouts and keys; return how long that took."""
    names = [f"Student {i:03}" for i in range(number)]
    start = time.perf_counter()
    found = class_set(names, "low end", secret=CLASS_SECRET, executor=executor)
    found.write(folder, executor=executor)
    return time.perf_counter() - start


def counting(executor):
    """Return how long plain counting takes."""
    start = time.perf_counter()
    list(executor.map(sum, [range(COUNTING)] * JOBS))
    return time.perf_counter() - start


@pytest.fixture(scope="module")
def measured(tmp_path_factory):
    """Return the least seconds by (workers, students); ways take turns: a busy moment hits all."""
    folder = tmp_path_factory.mktemp("classes")
    found = {}
    with ProcessPoolExecutor(1) as one, ProcessPoolExecutor(2) as two:
        for pool in (one, two):
            seconds(16, folder, pool)
        for _ in range(ROUNDS):
            for ways in ((1, QUARTER, one), (1, MANY, one), (2, MANY, two)):
                found.setdefault(ways[:2], []).append(seconds(ways[1], folder, ways[2]))
            for workers, pool in ((1, one), (2, two)):
                found.setdefault((workers, "counting"), []).append(counting(pool))
    return {way: min(times) for way, times in found.items()}


def test_200_handouts_with_keys_are_linear_in_their_number(measured, ratio):
    grown = measured[1, MANY] / (MANY / QUARTER * measured[1, QUARTER])
    ratio("200 handouts with keys / four times 50 of them", grown, at_most=1.25)


def test_two_workers_share_the_work(measured, ratio):
    given = measured[1, "counting"] / measured[2, "counting"]
    ratio("plain counting, one worker / two workers: what the machine gives", given)
    gained = measured[1, MANY] / measured[2, MANY]
    ratio("200 handouts with keys, one worker / two workers", gained, at_least=1.7)
