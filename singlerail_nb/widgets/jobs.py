"""Slow work beside the notebook: one thread per job, progress, cancelling."""

from __future__ import annotations

import threading
from collections.abc import Callable, Mapping
from typing import Any

from ..analysis.stage import Stage
from ..errors import SingleRailError

Report = Callable[[dict[str, Any]], None]
Work = Callable[[Stage, Callable[[float, str], None]], Mapping[str, Any]]


class Cancelled(Exception):  # noqa: N818 -- not an error: the reader asked for it
    """Raised inside a computation whose reader has cancelled it."""


class Job:
    """One running computation of a view.

    Parameters
    ----------
    compute : callable
        Takes the stage and a progress function; returns plain data.
    stage : Stage
        What it is computed for.
    report : callable
        Takes messages: progress, result or failed.
    quiet : bool
        Whether progress is not worth a message.
    """

    def __init__(self, compute: Work, stage: Stage, report: Report, *, quiet: bool = False) -> None:
        self._compute, self._stage, self._report, self._quiet = compute, stage, report, quiet
        self._replaced = False
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._run, name="singlerail panel job", daemon=True)

    def start(self) -> None:
        """Begin; returns at once."""
        self._tell_progress(0.0, "started")
        self._thread.start()

    def cancel(self) -> None:
        """Ask the computation to end at its next progress call."""
        self._stop.set()

    def replace(self) -> None:
        """Cancel without a word: another job answers in its place."""
        self._replaced = True
        self._stop.set()

    def wait(self, seconds: float | None = None) -> bool:
        """Wait for the end; return whether it has come.

        Parameters
        ----------
        seconds : float, optional
            How long at most.
        """
        self._thread.join(seconds)
        return not self._thread.is_alive()

    def _progress(self, share: float, text: str = "") -> None:
        if self._stop.is_set():
            raise Cancelled
        self._tell_progress(min(1.0, max(0.0, share)), text)

    def _tell_progress(self, share: float, text: str) -> None:
        if not self._quiet:
            self._report({"type": "progress", "share": share, "text": text})

    def _tell(self, message: dict[str, Any]) -> None:
        if not self._replaced:
            self._report(message)

    def _run(self) -> None:
        try:
            data = dict(self._compute(self._stage, self._progress))
        except Cancelled:
            self._tell({"type": "failed", "text": "Cancelled."})
        except SingleRailError as error:
            self._tell({"type": "failed", "text": str(error)})
        except Exception as error:
            self._tell({"type": "failed", "text": f"{type(error).__name__}: {error}"})
            raise
        else:
            if self._stop.is_set():
                self._tell({"type": "failed", "text": "Cancelled."})
            else:
                self._tell({"type": "result", "data": data | {"values": dict(self._stage.values)}})
