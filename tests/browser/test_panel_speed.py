"""How fast the panel answers in JupyterLab, beside an empty slider in the same run.

Milliseconds are printed; what is held against a limit is a ratio, which a busy machine does not change.
"""

import statistics

import pytest

from tests.browser.lab import NotebookPage
from tests.browser.test_panel import STAGE

EMPTY = """
import ipywidgets as widgets
slider, label = widgets.IntSlider(value=50), widgets.Label("50")
slider.observe(lambda change: setattr(label, "value", str(change.new)), names="value")
widgets.VBox([slider, label])
"""
PRESSES = 40
# From the key press to the first frame after the text has changed, as the page itself sees it.
WATCH = """
([pressed, shown]) => {
  const slider = document.querySelector(pressed);
  window.delays = [];
  slider.addEventListener("keydown", () => (window.start = performance.now()), true);
  new MutationObserver(() => {
    if (window.start === null) return;
    const { start } = window;
    window.start = null;
    const channel = new MessageChannel();
    channel.port1.onmessage = () => window.delays.push(performance.now() - start);
    requestAnimationFrame(() => channel.port2.postMessage(0));
  }).observe(document.querySelector(shown), { characterData: true, childList: true, subtree: true });
}
"""
DRAG = """
async ([part, seconds]) => {
  const slider = document.querySelector(`[data-slider=${part}]`);
  const panel = document.querySelector(".srn").parentElement.srnPanel;
  const curve = document.querySelector(".srn-page:not(.srn-hidden) .srn-curve, .srn-main .srn-curve");
  let drawn = 0, most = 0, last = "";
  window.answers = 0;
  const receive = panel.receive.bind(panel);
  panel.receive = (message) => {
    if (message.type === "result") window.answers += 1;
    receive(message);
  };
  const end = performance.now() + 1000 * seconds;
  const frames = await new Promise((done) => {
    let frames = 0;
    const step = (now) => {
      const path = curve.getAttribute("d");
      if (path !== last) { drawn += 1; last = path; }
      most = Math.max(most, panel.link.inFlight);
      if (now > end) return done(frames);
      frames += 1;
      slider.value = frames % slider.max;
      slider.dispatchEvent(new Event("input", { bubbles: true }));
      requestAnimationFrame(step);
    };
    requestAnimationFrame(step);
  });
  slider.dispatchEvent(new Event("change", { bubbles: true }));
  return { rate: drawn / seconds, display: frames / seconds, most };
}
"""
MANY = """
async (count) => {
  const panel = document.querySelector(".srn").parentElement.srnPanel;
  for (let k = 0; k < count; k++) {
    panel.state.set("c_in", 1e-7 * (1 + (k % 50)));
    panel.refresh();
    if (k % 500 === 0) await new Promise((done) => setTimeout(done));
  }
}
"""


MANY_VIEWS = """
from dataclasses import replace
from singlerail_nb.widgets import views
tops = [views.readouts(), views.response(), views.rail_ripple(), views.startup()]
hive = panel(stage, limits=limits, views=[*(replace(view, place="top") for view in tops),
                                          *[views.blocks()]])
hive
"""
COST = """
async (count) => {
  const panel = document.querySelector(".srn").parentElement.srnPanel;
  const start = performance.now();
  for (let k = 0; k < count; k++) {
    panel.state.set("c_in", 1e-7 * (1 + (k % 50)));
    panel.refresh();
    panel.root.offsetHeight;
  }
  return (performance.now() - start) / count;
}
"""


def told(what, delays, goal="goal <= 25  "):
    median, most = delays
    return f"{median:10.3g}   {goal}   {what}, key press to new pixels, median in ms (95 %: {most:.3g})"


def median_and_95(delays):
    return statistics.median(delays), statistics.quantiles(delays, n=20)[18]


@pytest.fixture(scope="module")
def notebook(browser, lab):
    window = browser.new_context(viewport={"width": 1400, "height": 1000})
    opened = NotebookPage.open(window, lab, lab.write_notebook("speed", EMPTY, STAGE, "hive"))
    opened.run_all()
    opened.locator(".srn").wait_for()
    yield opened
    opened.assert_quiet()
    window.close()


def key_delays(notebook, slider, shown):
    """Return milliseconds from key press to new pixels, for many single presses."""
    page = notebook.page
    page.evaluate(WATCH, [slider, shown])
    for k in range(PRESSES):
        page.locator(slider).press("ArrowRight" if k % 16 < 8 else "ArrowLeft")
        page.wait_for_timeout(60)
    delays = page.evaluate("window.delays")
    assert len(delays) >= PRESSES - 2
    return delays


def test_key_press_to_new_pixels(notebook, ratio, record_property):
    empty_slider = ".widget-slider [role=slider]"
    empty = median_and_95(key_delays(notebook, empty_slider, ".widget-vbox .widget-label:last-child"))
    panel = median_and_95(key_delays(notebook, "[data-slider=c_in]", "[data-figure=low_cutoff]"))
    record_property("ratio", told("panel", panel))
    record_property("ratio", told("empty slider to label, through the kernel", empty, "beside it   "))
    ratio("panel / empty slider to label, key press to new pixels, median", panel[0] / empty[0], at_most=0.6)
    ratio("panel / empty slider to label, key press to new pixels, 95 %", panel[1] / empty[1], at_most=1.0)


def dragged(notebook, ratio, record_property, what):
    drag = notebook.page.evaluate(DRAG, ["c_in", 4])
    line = f"{drag['rate']:10.3g}   goal >= 50     {what}, pictures/s while dragging, an idle machine given"
    record_property("ratio", line)
    assert drag["most"] <= 3
    share = drag["rate"] / drag["display"]
    ratio(f"{what}, pictures while dragging / frames of the display", share, at_least=0.8)
    notebook.locator(".srn-status:text-is('confirmed by Python')").first.wait_for(timeout=5000)


def test_dragging_keeps_up_with_the_display(notebook, ratio, record_property):
    dragged(notebook, ratio, record_property, "panel")


def test_dragging_keeps_up_with_many_views_open(browser, lab, ratio, record_property):
    """Five pictures at once, one of them asked from the kernel."""
    window = browser.new_context(viewport={"width": 1400, "height": 1300})
    opened = NotebookPage.open(window, lab, lab.write_notebook("speed_of_many", STAGE, MANY_VIEWS))
    opened.run_all()
    opened.locator(".srn .srn-curve").first.wait_for(state="attached")
    dragged(opened, ratio, record_property, "panel with five pictures")
    asked = opened.page.evaluate("window.answers")
    ratio("start-ups/s from the kernel while dragging", asked / 4, at_least=5)
    opened.assert_quiet()
    window.close()


def test_the_frame_cost_is_small(notebook, ratio):
    """Milliseconds of script and layout for one update, with the largest view open."""
    cost = notebook.page.evaluate(COST, 300)
    ratio("panel, script and layout of one update / a frame of 1/60 s", cost / (1000 / 60), at_most=0.5)


def test_memory_stays_flat_over_ten_thousand_updates(notebook, ratio):
    page = notebook.page
    session = page.context.new_cdp_session(page)

    def heap():
        for _ in range(3):
            session.send("HeapProfiler.collectGarbage")
        return session.send("Runtime.getHeapUsage")["usedSize"]

    page.evaluate(MANY, 1000)
    before, nodes = heap(), page.evaluate("document.querySelectorAll('*').length")
    page.evaluate(MANY, 10_000)
    growth = (heap() - before) / 1e6
    assert page.evaluate("document.querySelectorAll('*').length") == nodes
    ratio("panel, growth of the script heap over 10,000 updates in MB", growth, at_most=1.0)
