"""Fuzz one parser: python -m tests.fuzzing formula --runs 2000 --seed 1.

The fuzzer is guided by what parts of the package an input reaches.  A finding ends the run with its traceback
and the input; enter the input in `FOUND` of tests/fuzzing/test_fuzzing.py, then mend the parser.
"""

from __future__ import annotations

import argparse
import contextlib
import os
import resource
import sys
import tempfile
from pathlib import Path

import atheris

with atheris.instrument_imports(include=["singlerail_nb", "tomllib"], enable_loader_override=False):
    from tests.fuzzing.targets import TARGETS, watched

SECONDS_PER_INPUT = 60
"""An input that takes longer hangs; the slowest known take a few seconds on a loaded machine."""

MOST_MEMORY = 4 * 2**30
"""Bytes.  The fuzzer's own limit counts what the process was that started it, so it is off."""


def main() -> None:
    """Run the fuzzer; it ends the process itself."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("target", choices=TARGETS)
    parser.add_argument("--runs", type=int, help="how many inputs to try")
    parser.add_argument("--seconds", type=int, default=0, help="end after so many seconds; 0 is never")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--corpus", type=Path, help="keep what was learnt in this folder")
    given = parser.parse_args()
    target = TARGETS[given.target]
    for raw in target.seeds:  # also loads what loads on first use, before anything is watched
        target.read(raw)
    place = Path(tempfile.mkdtemp(prefix="fuzzing"))
    os.chdir(place)  # where the fuzzer leaves the input of a finding
    resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY, MOST_MEMORY))
    corpus = given.corpus or place / "corpus"
    corpus.mkdir(exist_ok=True, parents=True)
    for number, raw in enumerate(target.seeds):
        (corpus / f"seed{number}").write_bytes(raw)
    words = place / "words"
    words.write_text("\n".join(map(quoted, target.words)) + "\n", encoding="ascii")
    options = {
        "runs": given.runs or target.runs, "max_total_time": given.seconds, "seed": given.seed,
        "max_len": target.longest, "dict": words, "timeout": SECONDS_PER_INPUT, "rss_limit_mb": 0,
        "len_control": 0, "print_final_stats": 1, "verbosity": 0,
    }  # fmt: skip
    atheris.Setup([sys.argv[0], *(f"-{k}={v}" for k, v in options.items()), str(corpus)], target.read)
    with contextlib.ExitStack() as stack:
        stack.enter_context(watched())
        atheris.Fuzz()


def quoted(word: str) -> str:
    """Write a word in the form of the fuzzer's word list."""
    return '"' + "".join(f"\\x{byte:02x}" for byte in word.encode()) + '"'


if __name__ == "__main__":
    main()
