"""The linter and the type checker agree with every line; their settings are in pyproject.toml."""

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
CHECKS = {
    "ruff": ["ruff", "check", "--no-cache", "--quiet", "--output-format=concise"],
    "mypy": ["mypy", "--no-error-summary"],
}


@pytest.mark.parametrize("name", CHECKS)
def test_no_complaint(name):
    command = [sys.executable, "-m", *CHECKS[name]]
    result = subprocess.run(command, capture_output=True, text=True, cwd=ROOT, check=False)
    assert result.returncode == 0, result.stdout + result.stderr
