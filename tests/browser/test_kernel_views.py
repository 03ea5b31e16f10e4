"""Views that follow the sliders through the kernel, and choosers, in a real JupyterLab."""

import pytest

from tests.browser.accessibility import serious_violations
from tests.browser.lab import NotebookPage
from tests.browser.test_panel import STAGE, kernel_says
from tests.browser.waiting import assert_says

BENCH = """
from singlerail_nb.widgets import choosers, views
real = sr.stage(stage.name, supply=9, opamp=sr.opamp("GPB"), **stage.values)
turned = [choosers.topology_chooser(), choosers.bias_chooser(), choosers.opamp_chooser(),
          choosers.rail_chooser()]
bench = panel(real, controls=[*turned, "c_in", "r_top", "c_bias"],
              views=[views.readouts(), views.startup(), views.volts_axis(), views.noise(), views.spread(),
                     views.schematic()])
bench
"""
SETTLED = "print(singlerail.write_quantity(sr.startup(bench.stage).settling_time('bias', volts=.09), 's', 3))"


@pytest.fixture(scope="module")
def notebook(browser, lab):
    window = browser.new_context(viewport={"width": 1400, "height": 1300})
    opened = NotebookPage.open(window, lab, lab.write_notebook("kernel_views", STAGE, BENCH))
    opened.run_all()
    yield opened
    opened.assert_quiet()
    window.close()


@pytest.fixture
def bench(notebook):
    notebook.run_all()
    cell = notebook.show_cell(1)
    cell.locator(".srn").wait_for()
    kernel_says(notebook, "import singlerail_nb.quantities as singlerail")
    return cell


def tab(bench, name):
    bench.locator("[role=tab]", has_text=name).click()
    return bench.locator(".srn-page:not(.srn-hidden)")


def test_start_up_follows_a_slider_without_being_asked(notebook, bench):
    page = tab(bench, "Start-up")
    page.locator("tr", has_text=kernel_says(notebook, SETTLED)).first.wait_for()
    assert page.locator(".srn-curve").count() == 5
    assert page.locator(".srn-span").count() == 1
    slider = bench.locator("[data-slider=c_bias]")
    for _ in range(6):
        slider.press("ArrowRight")
    bench.locator(".srn-status:text-is('confirmed by Python')").wait_for()
    page.locator("tr", has_text=kernel_says(notebook, SETTLED)).first.wait_for()
    page.locator(".srn-dim").wait_for(state="detached")


def test_a_choice_inside_a_view(bench):
    page = tab(bench, "Start-up")
    page.locator("[data-choice=event]").select_option("switch off")
    page.locator("figcaption", has_text="switch off").wait_for()
    assert_says(page.locator("tr", has_text="bias").first, "rests at 0 V")


def test_at_most_one_question_is_on_its_way_while_dragging(notebook, bench):
    tab(bench, "Noise").locator(".srn-curve").first.wait_for(state="attached")
    asked = notebook.page.evaluate(
        """async () => {
          const panel = [...document.querySelectorAll(".srn")].at(-1).parentElement.srnPanel;
          const post = panel.link.post.bind(panel.link), view = panel.tabs.current(), receive = view.receive;
          let open = 0, most = 0, answers = 0;
          panel.link.post = (message) => {
            if (message.type === "compute") most = Math.max(most, ++open);
            post(message);
          };
          view.receive = (message) => {
            if (message.type === "result") { open--; answers++; }
            receive(message);
          };
          for (let k = 0; k < 120; k++) {
            panel.move("c_in", 1e-7 * (1 + k / 100));
            await new Promise(requestAnimationFrame);
          }
          await new Promise((done) => setTimeout(done, 1500));
          return { most, answers, open };
        }"""
    )
    assert asked["most"] == 1
    assert asked["answers"] > 5
    assert asked["open"] == 0
    bench.locator(".srn-dim").wait_for(state="detached")


def test_the_volts_axis_follows_the_rail(bench):
    page = tab(bench, "Volts axis")
    page.locator("tr", has_text="Swing on 9 V").wait_for()
    bench.locator("[data-chooser=rail]").select_option("12 V: 12 V of the farm vehicle")
    page = tab(bench, "Volts axis")
    page.locator("tr", has_text="Swing on 16 V").wait_for()
    assert page.locator(".srn-volts-range").count() == 6
    assert "Vpp" in page.locator("svg").get_attribute("aria-label")


def test_many_boards_by_the_button(bench):
    page = tab(bench, "Spread")
    page.locator("tr", has_text="98 % of 400 boards").first.wait_for()
    page.locator("button", has_text="boards").click()
    page.locator("tr", has_text="Worst case, low-end cut-off").wait_for()
    assert page.locator(".srn-band").count() == 1
    page.locator("[data-choice=capacitors]").select_option("20 %")
    page.locator("tr", has_text="Worst case").first.wait_for(state="detached")


def test_a_bias_source_can_be_chosen_and_a_refusal_returns_the_chooser(bench):
    bench.locator("[data-chooser=bias]").select_option("Zener")
    bench.locator("[data-slider=r_top]").wait_for(state="detached")
    bench.locator("[data-chooser=opamp]").select_option("PRC, invented")
    bench.locator("[data-figure=high_cutoff]").wait_for()
    bench.locator("[data-chooser=topology]").select_option("Inverting stage")
    bench.locator(".srn-errors", has_text="PRC").wait_for()
    assert bench.locator("[data-chooser=topology]").input_value() == "Non-inverting stage"


def test_bias_sources_are_compared(bench):
    page = tab(bench, "Start-up")
    bench.locator("button", has_text="Freeze as A").click()
    bench.locator("[data-chooser=bias]").select_option("Zener")
    table = bench.locator(".srn-comparison")
    table.locator("tr", has_text="Bias source").wait_for()
    assert_says(table, "Filtered divider")
    assert "kΩ\tnone" in table.locator("tr", has_text="RA").inner_text()
    bench.locator("[data-slider=c_in]").press("ArrowLeft")
    table.locator("tr", has_text="180 nF").wait_for()
    bench.locator("button", has_text="Release A").click()
    table.wait_for(state="hidden")
    assert page.count() == 1


def test_the_signs_of_the_schematic_follow_the_resting_voltages(bench):
    page = tab(bench, "Schematic")
    page.locator("svg [data-part=c_in]").wait_for()
    signs = page.locator("svg [data-plus]")
    assert signs.count() == 4
    box = bench.locator("[data-box=r_top]")
    box.fill("1G")
    box.press("Enter")
    signs.first.wait_for(state="detached")
    assert signs.count() == 0


@pytest.mark.parametrize("name", ["Start-up", "Volts axis", "Noise", "Spread"])
def test_no_serious_accessibility_violation(notebook, bench, name):
    tab(bench, name).locator(".srn-picture *").first.wait_for(state="attached")
    assert serious_violations(notebook.page, ".srn") == []
