"""What a page says, given the moment that it needs to draw."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from playwright.sync_api import Locator


def assert_says(place: Locator, text: str) -> None:
    """Fail if a place on the page does not contain a text soon.

    Parameters
    ----------
    place : Locator
        Where.
    text : str
        What.
    """
    from playwright.sync_api import expect

    expect(place).to_contain_text(text)
