"""Class sets grow linearly, and two worker processes share the work."""

import time
from concurrent.futures import ProcessPoolExecutor

import pytest

from singlerail_nb.documents.variants import class_set

CLASS_SECRET = "honey in the seventh frame"  # noqa: S105 -- of no class
MANY, QUARTER, ROUNDS = 200, 50, 2


def seconds(number, folder, executor):
    """Draw a class and write its handouts and keys; return how long that took."""
    names = [f"Student {i:03}" for i in range(number)]
    start = time.perf_counter()
    found = class_set(names, "low end", secret=CLASS_SECRET, executor=executor)
    found.write(folder, executor=executor)
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
    return {way: min(times) for way, times in found.items()}


def test_200_handouts_with_keys_are_linear_in_their_number(measured, ratio):
    grown = measured[1, MANY] / (MANY / QUARTER * measured[1, QUARTER])
    ratio("200 handouts with keys / four times 50 of them", grown, at_most=1.25)


def test_two_workers_share_the_work(measured, ratio):
    ratio(
        "200 handouts with keys, one worker / two workers",
        measured[1, MANY] / measured[2, MANY],
        at_least=1.7,
    )
