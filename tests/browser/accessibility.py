"""What the axe rules for accessible pages say about a part of a page."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tests.conftest import missing

if TYPE_CHECKING:
    from playwright.sync_api import Page

SERIOUS = {"serious", "critical"}


def serious_violations(page: Page, selector: str) -> list[str]:
    """Return a sentence for each serious or critical violation inside the selected part."""
    try:
        from axe_playwright_python.sync_playwright import Axe
    except ImportError:
        missing("axe-playwright-python (accessibility rules)")
    found = Axe().run(page, context=selector).response["violations"]
    return [
        f"{rule['id']}: {node['html'][:160]}: {node['failureSummary']}"
        for rule in found
        if rule["impact"] in SERIOUS
        for node in rule["nodes"]
    ]
