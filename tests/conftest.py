"""What all tests share: one thread each, the quiet tests last and alone, the ratios at the end.

Two workers run the tests side by side.  Tests that measure (tests/benchmarks) or drive a browser
(tests/browser) would disturb each other, so the workers leave them out, and the process that
controls the workers runs them when the workers are done.  All of it is one pytest run with one summary.
"""

from __future__ import annotations

import os
import shutil
import sys
from itertools import zip_longest
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from hypothesis import settings

if TYPE_CHECKING:
    from collections.abc import Iterator

# Two workers with two threads each would fight for two cores, and the ratios would measure the fight.
for _variable in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(_variable, "1")

# No test is timed: a loaded machine is no bug.  The rest stays, so a build machine repeats its examples.
settings.register_profile("untimed", parent=settings(), deadline=None)
settings.load_profile("untimed")

TESTS = Path(__file__).parent
CACHES = {
    "singlerail_nb.circuit.nodal_analysis": ("nodal_system",),
    "singlerail_nb.circuit.network_functions": ("transfer_function", "node_ratio", "source_impedance_seen"),
    "singlerail_nb.circuit.factors": ("_number_and_factors",),
    "singlerail_nb.analysis.evaluation": ("compiled", "compiled_factors"),
}
QUIET_FOLDERS = {TESTS / "benchmarks": "benchmark", TESTS / "browser": "browser"}


def _controls_workers(config: pytest.Config) -> bool:
    return config.pluginmanager.hasplugin("dsession")


def _is_worker(config: pytest.Config) -> bool:
    return hasattr(config, "workerinput")


def _mark_by_folder(item: pytest.Item) -> bool:
    """Give a quiet test the marker of its folder; return whether it is one."""
    for folder, marker in QUIET_FOLDERS.items():
        if folder in item.path.parents:
            item.add_marker(marker)
            return True
    return False


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Split the tests: side by side in the workers, alone in the controller, alone last without workers."""
    quiet = [item for item in items if _mark_by_folder(item)]
    others = [item for item in items if item not in set(quiet)]
    if _is_worker(config):
        items[:] = others
    elif _controls_workers(config):
        items[:] = quiet
    else:
        items[:] = others + quiet


@pytest.hookimpl(wrapper=True)
def pytest_runtestloop(session: pytest.Session) -> Iterator[None]:
    """Run the quiet tests in this process once the workers are done."""
    finished = yield
    if _controls_workers(session.config):
        in_workers = session.testscollected
        items = list(session.perform_collect())
        session.testscollected += in_workers
        for item, following in zip_longest(items, items[1:]):
            session.config.hook.pytest_runtest_protocol(item=item, nextitem=following)
            if session.shouldfail or session.shouldstop:
                raise session.Interrupted(session.shouldfail or session.shouldstop)
    return finished


@pytest.fixture(scope="module", autouse=True)
def _forget_large_circuits() -> Iterator[None]:
    """Give back the memory of circuits that a module has derived: a registry of them fills gigabytes."""
    yield
    loaded = sys.modules
    for module, names in CACHES.items():
        for name in names if module in loaded else ():
            getattr(loaded[module], name).cache_clear()


@pytest.fixture
def ratio(record_property):
    """Print a measured ratio in the summary, then hold it against its limit.

    ratio("response, 3 x 600 points / hand-written numpy", 0.71, at_most=1.0)
    """

    def measured(
        what: str, value: float, *, at_least: float | None = None, at_most: float | None = None
    ) -> None:
        goals = [f">= {at_least:.3g}"] if at_least is not None else []
        goals += [f"<= {at_most:.3g}"] if at_most is not None else []
        goal = goals[0] if goals else "none"
        record_property("ratio", f"{value:10.3g}   goal {goal:<8}   {what}")
        assert at_least is None or value >= at_least, f"{what}: {value:.3g}, goal {goal}"
        assert at_most is None or value <= at_most, f"{what}: {value:.3g}, goal {goal}"

    return measured


def pytest_terminal_summary(terminalreporter) -> None:
    """Print every ratio that the benchmarks measured."""
    reports = terminalreporter.getreports("passed") + terminalreporter.getreports("failed")
    lines = [
        text
        for report in reports
        if report.when == "call"
        for name, text in report.user_properties
        if name == "ratio"
    ]
    if lines:
        terminalreporter.section("measured ratios")
        for line in lines:
            terminalreporter.write_line(line)


def missing(tool: str) -> None:
    """Skip for want of a program; fail where SINGLERAIL_REQUIRE_BROWSER promises that it is there."""
    if os.environ.get("SINGLERAIL_REQUIRE_BROWSER"):
        pytest.fail(f"{tool} is not installed, and SINGLERAIL_REQUIRE_BROWSER is set")
    pytest.skip(f"{tool} is not installed")


@pytest.fixture(scope="session")
def node() -> str:
    """Return the path of the JavaScript runtime that checks the emitted scripts."""
    return shutil.which("node") or missing("node (JavaScript runtime)")


@pytest.fixture(scope="session")
def chromium() -> str:
    """Return the path of a Chromium browser."""
    names = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable")
    found = next((path for path in map(shutil.which, names) if path), None)
    return found or missing("Chromium")
