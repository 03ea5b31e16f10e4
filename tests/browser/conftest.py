"""One browser and one JupyterLab for all browser tests; a clean page for each."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from tests.browser.lab import Lab, NotebookPage

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from playwright.sync_api import Browser, BrowserContext

FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage", "--force-device-scale-factor=1"]


@pytest.fixture(scope="session")
def browser(chromium: str) -> Iterator[Browser]:
    """Return a headless Chromium."""
    from playwright.sync_api import sync_playwright

    with sync_playwright() as driver:
        running = driver.chromium.launch(executable_path=chromium, headless=True, args=FLAGS)
        yield running
        running.close()


@pytest.fixture(scope="session")
def lab(chromium: str, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Lab]:  # noqa: ARG001
    """Return a running JupyterLab with copies of the notebooks; not started where no browser is."""
    running = Lab.start(tmp_path_factory.mktemp("lab"))
    yield running
    running.stop()


@pytest.fixture
def context(browser: Browser) -> Iterator[BrowserContext]:
    """Return a window without memory."""
    window = browser.new_context(viewport={"width": 1400, "height": 1000})
    yield window
    window.close()


@pytest.fixture
def open_notebook(context: BrowserContext, lab: Lab) -> Callable[[str], NotebookPage]:
    """Return a function that opens a notebook by its path in the server's folder."""
    return lambda path: NotebookPage.open(context, lab, path)


@pytest.fixture
def make_notebook(lab: Lab) -> Callable[..., str]:
    """Return a function that writes a small notebook: its name, then the code of each cell."""
    return lab.write_notebook
