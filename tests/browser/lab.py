"""A real JupyterLab on this machine, and an open notebook in it, seen through a browser."""

from __future__ import annotations

import json
import os
import secrets
import shutil
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

import nbformat

from tests.notebook_tools import files

if TYPE_CHECKING:
    from playwright.sync_api import BrowserContext, ConsoleMessage, Locator, Page, Request

# No window that asks for news or updates: both would call another host.
SETTINGS = {
    "@jupyterlab/apputils-extension:notification": {"fetchNews": "false", "checkForUpdates": False},
    "@jupyterlab/docmanager-extension:plugin": {"autosave": False},
}
START_SECONDS = 60
RUN_SECONDS = 300

# The page says that the kernel is idle before the session is wired, and a run asked for too early is
# lost without a word.  So: wait for the kernel's own answer, run, and look at what each cell says.
RUN_ALL = """
async (limit) => {
  const late = new Promise((_, fail) => setTimeout(() => fail(new Error("the run took too long")), limit));
  const run = async () => {
    const panel = window.jupyterapp.shell.currentWidget;
    await panel.context.ready;
    await panel.sessionContext.ready;
    await panel.sessionContext.session.kernel.info;
    await window.jupyterapp.commands.execute("notebook:run-all-cells");
    return panel.content.widgets.filter((cell) => cell.model.type === "code").map((cell) => {
      const outputs = cell.model.outputs.toJSON();
      const error = outputs.find((output) => output.output_type === "error");
      return { count: cell.model.executionCount, error: error ? `${error.ename}: ${error.evalue}` : null };
    });
  };
  return Promise.race([run(), late]);
}
"""
READY = """
(name) => {
  const panel = window.jupyterapp?.shell.currentWidget;
  const kernel = panel?.sessionContext?.session?.kernel;
  return panel?.context?.path === name && kernel?.connectionStatus === "connected";
}
"""
SHOW_CELL = """
async (index) => {
  const notebook = window.jupyterapp.shell.currentWidget.content;
  notebook.activeCellIndex = index;
  await notebook.scrollToItem(index, "start");
}
"""


@dataclass
class Lab:
    """A running server.

    Attributes
    ----------
    root : Path
        Folder with copies of the committed notebooks; tests may write there.
    url, token : str
        Where it answers, on the loopback interface only.
    process : Popen
        The server.
    """

    root: Path
    url: str
    token: str
    process: subprocess.Popen[bytes]

    @classmethod
    def start(cls, place: Path) -> Lab:
        """Start a server that knows nothing of this machine's settings, and wait until it answers."""
        root = place / "notebooks"
        shutil.copytree(files.NOTEBOOKS, root, ignore=shutil.ignore_patterns(".ipynb_checkpoints"))
        config = place / "config"
        (config / "labconfig").mkdir(parents=True)
        (config / "labconfig" / "default_setting_overrides.json").write_text(json.dumps(SETTINGS))
        port, token = _free_port(), secrets.token_hex(16)
        options = {
            "ServerApp.ip": "127.0.0.1",
            "ServerApp.port": port,
            "ServerApp.port_retries": 0,
            "ServerApp.open_browser": False,
            "ServerApp.allow_root": True,
            "ServerApp.root_dir": root,
            "IdentityProvider.token": token,
            "LabApp.expose_app_in_browser": True,
            "JupyterNotebookApp.expose_app_in_browser": True,
        }
        folders = {
            "JUPYTER_CONFIG_DIR": config,
            "JUPYTER_DATA_DIR": place / "data",
            "JUPYTER_RUNTIME_DIR": place / "runtime",
            "JUPYTERLAB_SETTINGS_DIR": place / "settings",
            "JUPYTERLAB_WORKSPACES_DIR": place / "workspaces",
            "IPYTHONDIR": place / "ipython",
        }
        with (place / "server.log").open("wb") as log:
            process = subprocess.Popen(
                [sys.executable, "-m", "jupyterlab", *(f"--{name}={options[name]}" for name in options)],
                env=os.environ | {name: str(value) for name, value in folders.items()},
                stdout=log,
                stderr=log,
            )
        lab = cls(root, f"http://127.0.0.1:{port}", token, process)
        lab._wait(place / "server.log")
        return lab

    def _wait(self, log: Path) -> None:
        end = time.monotonic() + START_SECONDS
        while time.monotonic() < end and self.process.poll() is None:
            try:
                self.get("/api/status")
            except (urllib.error.URLError, OSError):
                time.sleep(0.1)
            else:
                return
        self.stop()
        raise RuntimeError(f"JupyterLab did not start:\n{log.read_text(encoding='utf-8')[-3000:]}")

    def get(self, path: str) -> Any:
        """Return the server's answer to a question of its interface."""
        headers = {"Authorization": f"token {self.token}"}
        request = urllib.request.Request(self.url + path, headers=headers)  # noqa: S310 -- loopback
        with urllib.request.urlopen(request, timeout=10) as answer:  # noqa: S310 -- loopback
            return json.load(answer)

    def write_notebook(self, name: str, *cells: str) -> str:
        """Write a small notebook into the server's folder and return its path there."""
        notebook = nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell(cell) for cell in cells])
        files.write(files.tidy(notebook), self.root / f"{name}.ipynb")
        return f"{name}.ipynb"

    def stop(self) -> None:
        """Stop the server and with it its kernels."""
        self.process.terminate()
        try:
            self.process.wait(20)
        except subprocess.TimeoutExpired:
            self.process.kill()
            self.process.wait()


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


@dataclass
class NotebookPage:
    """A notebook open in the browser.

    Attributes
    ----------
    page : Page
        The browser's page, for everything that is not here.
    lab : Lab
        The server.
    path : str
        The notebook, in the server's folder.
    console_errors, foreign_requests : list of str
        What a user would have to worry about: errors in the console, calls to other hosts.
    """

    page: Page
    lab: Lab
    path: str
    console_errors: list[str] = field(default_factory=list)
    foreign_requests: list[str] = field(default_factory=list)

    @classmethod
    def open(cls, context: BrowserContext, lab: Lab, path: str, *, classic: bool = False) -> NotebookPage:
        """Open a notebook in a workspace of its own, or in the classic notebook, and wait for its kernel."""
        opened = cls(context.new_page(), lab, path)
        opened.page.on("console", opened._hear)
        opened.page.on("pageerror", lambda error: opened.console_errors.append(str(error)))
        opened.page.on("request", opened._watch)
        place = "notebooks" if classic else f"lab/workspaces/{secrets.token_hex(4)}/tree"
        opened.page.goto(f"{lab.url}/{place}/{path}?token={lab.token}")
        opened.page.wait_for_function(READY, arg=path, timeout=START_SECONDS * 1000)
        return opened

    def _hear(self, message: ConsoleMessage) -> None:
        if message.type == "error":
            self.console_errors.append(message.text)

    def _watch(self, request: Request) -> None:
        if not request.url.startswith((self.lab.url, "data:", "blob:")):
            self.foreign_requests.append(request.url)

    def run_all(self) -> None:
        """Run every cell and wait; ask again if the page lost the request, fail if a cell raised."""
        for _ in range(5):
            cells = self.page.evaluate(RUN_ALL, RUN_SECONDS * 1000)
            if all(cell["count"] for cell in cells):
                break
            self.page.wait_for_timeout(500)
        errors = [cell["error"] for cell in cells if cell["error"]]
        assert not errors, f"{self.path}: {errors}"
        assert all(cell["count"] for cell in cells), f"{self.path}: cells did not run: {cells}"

    def show_cell(self, index: int) -> Locator:
        """Scroll to a cell (the page only draws what is near the window) and return it."""
        self.page.evaluate(SHOW_CELL, index)
        cell = self.page.locator(f'.jp-Cell[data-windowed-list-index="{index}"]')
        cell.wait_for()
        return cell

    def locator(self, selector: str) -> Locator:
        """Find parts of the notebook, not of the page around it."""
        return self.page.locator(".jp-NotebookPanel:not(.lm-mod-hidden)").locator(selector)

    def assert_quiet(self) -> None:
        """Fail if the console had an error or the page asked another host for something."""
        assert self.console_errors == []
        assert self.foreign_requests == []
