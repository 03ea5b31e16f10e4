"""The panel in a real JupyterLab: it draws, answers mouse and keyboard, and the kernel agrees."""

import pytest

from singlerail_nb.designing.design_file import load_design
from tests.browser.accessibility import serious_violations
from tests.browser.lab import NotebookPage
from tests.browser.waiting import assert_says

STAGE = """
import singlerail_nb as sr
from singlerail_nb.widgets.figures import Limit
from singlerail_nb.widgets.panel import panel
stage = sr.stage("noninverting", supply=9, r_source="220", c_in="220n", r_bias="47k", r_top="33k",
                 r_bottom="33k", c_bias="10u", r_f="39k", r_g="1k", c_g="4u7", c_out="4u7", r_load="10k")
limits = [Limit("midband_gain", "within", (36.0, 44.0)), Limit("low_cutoff", "at most", 60.0)]
hive = panel(stage, limits=limits, title="Hive contact pickup on 9 V")
"""
CONFIRMED = ".srn-status:text-is('confirmed by Python')"


@pytest.fixture(scope="module")
def notebook(browser, lab):
    """Return one open notebook for all tests of this file."""
    window = browser.new_context(viewport={"width": 1400, "height": 1000}, accept_downloads=True)
    yield NotebookPage.open(window, lab, lab.write_notebook("hive", STAGE, "hive"))
    window.close()


@pytest.fixture
def hive(notebook):
    """Return the notebook with a fresh panel, and hold it to a quiet console."""
    notebook.run_all()
    notebook.locator(".srn").wait_for()
    yield notebook
    notebook.assert_quiet()


def find(hive, selector, **options):
    return hive.locator(".srn").locator(selector, **options)


def error_beside(hive, box):
    return find(hive, f"#{box.get_attribute('aria-describedby')}")


def press(hive, part, *keys):
    """Press keys on a slider and wait until the panel has drawn."""
    for key in keys:
        find(hive, f"[data-slider={part}]").press(key)
    hive.page.evaluate(
        "() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))"
    )


def value_in_kernel(hive, expression):
    """Wait until Python has confirmed, then return a value of the panel as printed text."""
    find(hive, CONFIRMED).wait_for()
    return kernel_says(hive, f"print({expression})")


def readout(notebook, figure):
    return notebook.locator(f"[data-figure={figure}]").inner_text()


def kernel_says(notebook, code):
    """Run one line in the notebook's kernel and return what it prints."""
    return notebook.page.evaluate(
        """async (code) => {
          const kernel = window.jupyterapp.shell.currentWidget.sessionContext.session.kernel;
          const future = kernel.requestExecute({ code, store_history: false });
          let text = "";
          future.onIOPub = ({ header, content }) => {
            if (header.msg_type === "stream") text += content.text;
            if (header.msg_type === "error") text += content.ename + ": " + content.evalue;
          };
          await future.done;
          return text.trim();
        }""",
        code,
    )


def test_keyboard_moves_a_slider_and_python_follows(hive):
    assert readout(hive, "low_cutoff") == "39.87 Hz"
    press(hive, "c_in", "ArrowLeft", "ArrowLeft", "ArrowRight")
    assert find(hive, "[data-slider=c_in]").get_attribute("aria-valuetext") == "180 nano-farad"
    assert value_in_kernel(hive, "hive.stage.values['c_in']") == "1.8e-07"
    shown = kernel_says(hive, "print(f\"{hive.stage_model.figures['low_cutoff']:.4g} Hz\")")
    assert readout(hive, "low_cutoff") == shown
    press(hive, "c_in", "Home")
    assert find(hive, "[data-box=c_in]").input_value() == "2.2 nF"
    assert_says(find(hive, ".srn-card", has_text="Low-end"), "fail")


def test_mouse_drags_a_slider(hive):
    slider = find(hive, "[data-slider=r_g]")
    box = slider.bounding_box()
    middle = box["y"] + box["height"] / 2
    mouse = hive.page.mouse
    mouse.move(box["x"] + box["width"] / 2, middle)
    mouse.down()
    for step in range(20):
        mouse.move(box["x"] + box["width"] * (0.5 + step / 100), middle)
    mouse.up()
    assert float(value_in_kernel(hive, "hive.stage.values['r_g']")) > 2000
    assert value_in_kernel(hive, "len(hive.stage_model.past)") == "1"
    find(hive, "button", has_text="Undo").click()
    assert value_in_kernel(hive, "hive.stage == stage") == "True"
    assert readout(hive, "midband_gain") == "39.81 V/V"


def test_a_typed_quantity_is_read_and_a_wrong_one_explained(hive):
    box = find(hive, "[data-box=r_f]")
    box.fill("47k")
    box.press("Enter")
    assert box.input_value() == "47 kΩ"
    find(hive, "[data-figure=midband_gain]", has_text="47.78 V/V").wait_for()
    box.fill("4,7k")
    box.press("Enter")
    problem = error_beside(hive, box)
    assert_says(problem, "comma")
    assert readout(hive, "midband_gain") == "47.78 V/V"
    box.press("Escape")
    assert box.input_value() == "47 kΩ"


def test_a_value_that_no_part_has_is_refused_at_once(hive):
    box = find(hive, "[data-box=r_g]")
    box.fill("20G")
    box.press("Enter")
    assert_says(error_beside(hive, box), "0.1 Ω to 1 GΩ")
    assert kernel_says(hive, "print(hive.stage.values['r_g'])") == "1000.0"
    box.press("Escape")
    assert box.input_value() == "1 kΩ"


def test_what_python_refuses_is_told_and_taken_back(hive):
    box = find(hive, "[data-box=r_g]")
    hive.page.evaluate("document.querySelector('.srn').parentElement.srnPanel.move('r_g', 2e10)")
    error_beside(hive, box).filter(has_text="r_g").wait_for()
    assert box.input_value() == "1 kΩ"
    assert kernel_says(hive, "print(hive.stage.values['r_g'])") == "1000.0"


def test_code_moves_the_panel(hive):
    assert kernel_says(hive, "hive.set('c_in', '1u')") == ""
    hive.page.wait_for_function("document.querySelector('[data-box=c_in]').value === '1 µF'")
    kernel_says(hive, "hive.undo()")
    hive.page.wait_for_function("document.querySelector('[data-box=c_in]').value === '220 nF'")
    assert kernel_says(hive, "hive.set('c_f', '100p')") == ""
    find(hive, "[data-slider=c_f]").wait_for()


def test_freeze_and_compare(hive):
    find(hive, "button", has_text="Freeze as A").click()
    press(hive, "c_in", *["ArrowLeft"] * 8)
    table = find(hive, ".srn-comparison")
    assert_says(table, "47 nF")
    assert_says(table, "✗ fail")
    assert find(hive, ".srn-frozen").count() == 2
    assert value_in_kernel(hive, "hive.stage_model.frozen.values['c_in']") == "2.2e-07"
    find(hive, "button", has_text="Release A").click()
    table.wait_for(state="hidden")


def test_the_cursor_works_by_keyboard(hive):
    cursor = find(hive, ".srn-page:not(.srn-hidden) .srn-overlay").first
    cursor.press("ArrowRight")
    spoken = cursor.get_attribute("aria-valuetext")
    assert "hertz" in spoken
    assert "whole stage" in spoken
    assert find(hive, ".srn-page:not(.srn-hidden) .srn-cursor-line").count() == 2
    cursor.press("Escape")
    assert cursor.get_attribute("aria-valuetext") == "off"


def test_take_away_gives_code_that_builds_the_same_stage(hive):
    press(hive, "c_in", "ArrowLeft")
    find(hive, "summary", has_text="Take away").click()
    find(hive, "button", has_text="Python code").click()
    code = find(hive, ".srn-code").input_value()
    find(hive, "dialog button", has_text="Close").click()
    find(hive, CONFIRMED).wait_for()
    kernel_says(hive, code.replace("sr.panel(stage)", "rebuilt = stage"))
    assert value_in_kernel(hive, "rebuilt == hive.stage") == "True"


def saved(hive, item):
    find(hive, "summary", has_text="Take away").click()
    with hive.page.expect_download() as waiting:
        find(hive, ".srn-menu-items button", has_text=item).click()
    return waiting.value


@pytest.mark.parametrize(("item", "ending"), [("SVG", ".svg"), ("PNG", ".png"), ("Live handout", ".html")])
def test_take_away_saves_files(hive, item, ending):
    file = saved(hive, item)
    assert file.suggested_filename.endswith(ending)
    assert file.path().stat().st_size > 3000


def test_take_away_gives_a_design_file_with_the_present_values(hive):
    press(hive, "c_in", "ArrowLeft")
    file = saved(hive, "Design file")
    assert file.suggested_filename == "hive-contact-pickup-on-9-v.json"
    stage = load_design(file.path())
    assert stage.values["c_in"] == 180e-9
    assert value_in_kernel(hive, "hive.stage.values['c_in']") == "1.8e-07"


@pytest.mark.parametrize("tab", ["Start-up", "Volts axis", "Noise", "Spread"])
def test_every_picture_can_be_taken_away(hive, tab):
    find(hive, "[role=tab]", has_text=tab).click()
    find(hive, ".srn-page:not(.srn-hidden) .srn-picture *").first.wait_for(state="attached")
    assert saved(hive, "SVG").path().stat().st_size > 2000


def test_no_serious_accessibility_violation(hive):
    for tab in range(find(hive, "[role=tab].srn-tab").count()):
        find(hive, "[role=tab].srn-tab").nth(tab).click()
        hive.page.wait_for_timeout(300)
        assert serious_violations(hive.page, ".srn") == []
