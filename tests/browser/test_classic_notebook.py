"""The panel in the classic notebook interface: it runs, draws, answers, and the kernel agrees."""

from tests.browser.lab import NotebookPage
from tests.browser.waiting import assert_says

PANEL = """
import singlerail_nb as sr
stage = sr.stage("noninverting", supply=9, r_source="220", c_in="220n", r_bias="47k", r_top="33k",
                 r_bottom="33k", c_bias="10u", r_f="39k", r_g="1k", c_g="4u7", c_out="4u7", r_load="10k")
sr.panel(stage)
"""


def test_the_panel_works_in_the_classic_notebook(context, lab, make_notebook):
    page = NotebookPage.open(context, lab, make_notebook("classic", PANEL), classic=True)
    of_the_page = list(page.console_errors)  # before anything of ours has run
    page.run_all()
    panel = page.page.locator(".srn")
    panel.wait_for()
    assert_says(panel.locator("[data-figure=low_cutoff]"), "39.87 Hz")
    panel.locator("[data-slider=c_in]").press("ArrowLeft")
    panel.locator(".srn-status:text-is('confirmed by Python')").wait_for()
    assert panel.locator("[data-box=c_in]").input_value() == "180 nF"
    assert page.console_errors == of_the_page
    assert page.foreign_requests == []
