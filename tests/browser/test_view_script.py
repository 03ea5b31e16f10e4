"""The view script opened from disk: the live handout without kernel or network."""

import pytest

import singlerail_nb as sr
from singlerail_nb.designing.design_file import load_design
from singlerail_nb.quantities import write_quantity
from singlerail_nb.widgets.handout import write_live_handout
from tests.browser.accessibility import serious_violations
from tests.browser.waiting import assert_says

STAGE = sr.stage(
    "noninverting", supply=9, r_source="220", c_in="220n", r_bias="47k", r_top="33k", r_bottom="33k",
    c_bias="10u", r_f="39k", r_g="1k", c_g="4u7", c_out="4u7", r_load="10k",
)  # fmt: skip


@pytest.fixture
def handout(context, tmp_path):
    """Return a page with a live handout opened from disk, and what went wrong on it."""
    path = write_live_handout(STAGE, tmp_path / "handout.html")
    page = context.new_page()
    page.faults = []
    page.on("console", lambda message: page.faults.append(message.text))
    page.on("pageerror", lambda error: page.faults.append(str(error)))
    page.on(
        "request", lambda request: page.faults.append(request.url) if request.url != path.as_uri() else None
    )
    page.goto(path.as_uri())
    page.locator(".srn").wait_for()
    return page


def test_the_handout_answers_without_a_kernel(handout):
    slider = handout.locator("[data-slider=c_in]")
    slider.press("ArrowLeft")
    expected = STAGE.with_parts(c_in="180n").transfer("signal", "output").low_cutoff()
    assert_says(handout.locator("[data-figure=low_cutoff]"), f"{expected:.4g} Hz")
    assert handout.faults == []


def test_the_handout_is_small(tmp_path):
    path = write_live_handout(STAGE, tmp_path / "handout.html")
    assert path.stat().st_size <= 60_000


def test_a_handout_refuses_what_no_part_has(handout):
    box = handout.locator("[data-box=c_in]")
    box.fill("220 F")
    box.press("Enter")
    assert_says(handout.locator(f"#{box.get_attribute('aria-describedby')}"), "1 pF to 10000 µF")
    assert_says(handout.locator("[data-figure=low_cutoff]"), "39.87 Hz")


def test_what_needs_python_is_shown_as_written_and_says_so(handout):
    handout.locator("[role=tab]", has_text="Start-up").click()
    page = handout.locator(".srn-page:not(.srn-hidden)")
    assert_says(page.locator("[role=status]"), "at the time of writing")
    settled = write_quantity(sr.startup(STAGE).settling_time("bias", volts=0.09), "s", 3)
    assert_says(page.locator("tr", has_text="bias"), settled)
    assert settled in page.locator("svg").get_attribute("aria-label")
    handout.locator("[data-slider=c_bias]").press("ArrowLeft")
    page.locator(".srn-dim").wait_for()
    handout.locator("[data-slider=c_bias]").press("ArrowRight")
    page.locator(".srn-dim").wait_for(state="detached")
    assert handout.faults == []


def test_the_schematic_says_for_which_values_its_signs_hold(handout):
    handout.locator("[role=tab]", has_text="Schematic").click()
    note = handout.locator(".srn-page:not(.srn-hidden) .srn-note")
    assert note.inner_text() == ""
    handout.locator("[data-slider=c_in]").press("ArrowLeft")
    assert note.inner_text() == ""
    handout.locator("[data-slider=r_top]").press("ArrowLeft")
    assert_says(note, "time of writing")


def test_a_design_file_needs_no_kernel(handout):
    handout.locator("[data-slider=c_in]").press("ArrowLeft")
    handout.locator("summary", has_text="Take away").click()
    with handout.expect_download() as waiting:
        handout.locator("button", has_text="Design file").click()
    assert load_design(waiting.value.path()) == STAGE.with_parts(c_in="180n")


def test_numbers_in_the_browser_are_those_of_python(handout):
    shown = handout.evaluate("document.getElementById('panel').srnPanel.latest.figures")
    h = STAGE.transfer("signal", "output")
    assert shown["low_cutoff"] == pytest.approx(h.low_cutoff(), rel=1e-9)
    assert shown["midband_gain"] == pytest.approx(h.midband_gain(), rel=1e-9)
    assert shown["rest"] == pytest.approx(4.5, rel=1e-9)


def test_every_page_prints_and_the_tools_do_not(handout):
    handout.evaluate("dispatchEvent(new Event('beforeprint'))")
    handout.emulate_media(media="print")
    pages = handout.locator(".srn-page")
    assert pages.count() == 10
    assert all(pages.nth(k).is_visible() for k in range(10))
    assert handout.locator("math").count() > 10
    assert not handout.locator(".srn-tools").is_visible()
    curves = [pages.nth(k).locator(".srn-curve").count() for k in range(7)]
    assert curves == [2, 4, 3, 5, 0, 5, 2]
    assert pages.nth(4).locator(".srn-volts-range").count() == 2


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [1280, 700])
def test_no_serious_accessibility_violation(handout, scheme, width):
    handout.emulate_media(color_scheme=scheme)
    handout.set_viewport_size({"width": width, "height": 900})
    for tab in range(handout.locator("[role=tab]").count()):
        handout.locator("[role=tab]").nth(tab).click()
        assert serious_violations(handout, "main") == []


def test_nothing_is_wider_than_a_narrow_window(handout):
    handout.set_viewport_size({"width": 420, "height": 900})
    handout.wait_for_timeout(100)
    assert handout.evaluate("document.documentElement.scrollWidth") <= 420
