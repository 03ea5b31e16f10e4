"""Views that come from the kernel, choosers and questions, in a real JupyterLab, light and dark."""

import pytest

from tests.browser.accessibility import serious_violations
from tests.browser.lab import NotebookPage
from tests.browser.test_panel import STAGE
from tests.browser.waiting import assert_says

BOARDS = """
import time
from singlerail_nb.widgets.computed import Computed
from singlerail_nb.widgets.views import readouts, schematic, derivation
from singlerail_nb.widgets.controls import Chooser

def boards(stage, progress):
    gains = []
    for k in range(40):
        progress(k / 40, f"board {k}")
        gains.append(stage.with_parts(c_in=(1 + 0.01 * k) * 220e-9).transfer("signal", "output").low_cutoff())
        time.sleep(0.02)
    axes = {"x": {"scale": "linear", "min": 0, "max": 39, "unit": "", "label": "board"},
            "y": {"unit": "Hz", "label": "cut-off"}}
    curve = {"label": "cut-off", "xs": list(range(40)), "ys": gains}
    return {"plots": [{"title": "Cut-off by board", **axes, "curves": [curve]}], "summary": "40 boards",
            "rows": [{"label": "lowest", "value": min(gains), "unit": "Hz"}]}

options = {"ideal": lambda s: sr.stage(s.name, supply=s.supply, **s.values),
           "invented, 1 MHz": lambda s: sr.stage(s.name, supply=s.supply, **s.values,
                                                 opamp=sr.OpAmp("invented", 1e6, 1e5, source="invented"))}
bench = panel(stage, controls=["c_in", "r_g", Chooser("opamp", "Op-amp", options)],
              views=[readouts(), schematic(), derivation(), Computed(title="Boards", compute=boards)])
bench
"""
QUESTION = """
from singlerail_nb.widgets.questions import ask_figure
question = ask_figure(stage, "low_cutoff")
question
"""


@pytest.fixture(scope="module", params=["light", "dark"])
def notebook(request, browser, lab):
    window = browser.new_context(viewport={"width": 1400, "height": 1000}, color_scheme=request.param)
    name = lab.write_notebook(f"views_{request.param}", STAGE, BOARDS, QUESTION)
    opened = NotebookPage.open(window, lab, name)
    theme = f"JupyterLab {request.param.capitalize()}"
    opened.page.evaluate("(theme) => jupyterapp.commands.execute('apputils:change-theme', { theme })", theme)
    yield opened
    opened.assert_quiet()
    window.close()


@pytest.fixture
def bench(notebook):
    notebook.run_all()
    cell = notebook.show_cell(1)
    cell.locator(".srn").wait_for()
    return cell


def tab(bench, name):
    bench.locator("[role=tab]", has_text=name).click()


def test_the_schematic_follows_the_sliders(bench):
    tab(bench, "Schematic")
    value = bench.locator("svg [data-part=c_in]")
    value.wait_for()
    bench.locator("[data-slider=c_in]").press("ArrowLeft")
    bench.locator("svg [data-part=c_in]", has_text="180 nF").wait_for()


def test_the_derivation_is_typeset_when_opened(bench):
    tab(bench, "Derivation")
    bench.locator("math").first.wait_for()
    assert_says(bench, "The input coupling")


def test_slow_work_shows_its_result(bench):
    tab(bench, "Boards")
    bench.locator("button", has_text="Compute").click()
    bench.locator("progress").wait_for()
    bench.locator("td", has_text="Hz").wait_for()
    assert bench.locator(".srn-page:not(.srn-hidden) .srn-curve").count() == 1
    bench.locator("[data-slider=c_in]").press("ArrowLeft")
    bench.locator("[role=status]", has_text="earlier values").wait_for()


def test_slow_work_can_be_cancelled(bench):
    tab(bench, "Boards")
    bench.locator("button", has_text="Compute").click()
    bench.locator("button", has_text="Cancel").click()
    bench.locator("[role=status]", has_text="Cancelled.").wait_for()


def test_a_chooser_changes_the_stage(bench):
    bench.locator("[data-chooser=opamp]").select_option("invented, 1 MHz")
    bench.locator("[data-chooser=opamp] option:checked", has_text="invented").wait_for(state="attached")
    assert bench.locator(".srn-error:visible").count() == 0


@pytest.mark.usefixtures("bench")
def test_a_question_by_keyboard(notebook):
    cell = notebook.show_cell(2)
    box = cell.locator(".srn-answer")
    box.wait_for()
    assert cell.locator("button", has_text="Reveal").is_disabled()
    box.fill("250 Hz")
    box.press("Enter")
    cell.locator("[role=status]", has_text="2π").wait_for()
    assert "39.87" not in cell.inner_text()
    cell.locator("button", has_text="Reveal").press("Enter")
    cell.locator("[role=status]", has_text="39.87 Hz").wait_for()
    assert serious_violations(notebook.page, ".srn-question") == []


def test_no_serious_accessibility_violation(notebook, bench):
    for name in ("Schematic", "Derivation", "Boards"):
        tab(bench, name)
        if name == "Boards":
            bench.locator("button", has_text="Compute").click()
            bench.locator("td", has_text="Hz").wait_for()
        assert serious_violations(notebook.page, ".srn") == []


def test_the_theme_is_that_of_the_notebook(request, bench):
    assert bench.locator(".srn").get_attribute("data-theme") == request.node.callspec.params["notebook"]
