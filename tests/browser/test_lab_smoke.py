"""The tools of the browser tests work: a notebook opens, runs, answers, and its faults are seen."""

import pytest


def test_a_slider_answers(open_notebook, make_notebook):
    path = make_notebook(
        "smoke",
        "import ipywidgets as widgets\nslider, readout = widgets.IntSlider(value=4), widgets.Label()",
        "def show(change):\n    readout.value = f'{change.new} hives'\nslider.observe(show, names='value')",
        "widgets.VBox([slider, readout])",
    )
    notebook = open_notebook(path)
    notebook.run_all()
    notebook.locator("[role=slider]").press("ArrowRight")
    notebook.locator(".widget-label >> text=5 hives").wait_for()
    notebook.assert_quiet()


def test_a_failing_cell_is_seen(open_notebook, make_notebook):
    notebook = open_notebook(make_notebook("failing", "1 / 0"))
    with pytest.raises(AssertionError, match="ZeroDivisionError"):
        notebook.run_all()


def test_a_long_notebook_runs_to_its_end(open_notebook, make_notebook):
    notebook = open_notebook(make_notebook("long", *(f"print('line\\n' * 30, {n} * 111)" for n in range(20))))
    notebook.run_all()
    assert "2109" in notebook.show_cell(19).inner_text()
    assert "111" in notebook.show_cell(1).inner_text()


def test_console_errors_and_foreign_requests_are_seen(open_notebook, make_notebook):
    script = "console.error('hum'); fetch('http://127.0.0.2:9/').catch(() => 0)"
    code = f"from IPython.display import Javascript\nJavascript({script!r})"
    notebook = open_notebook(make_notebook("noisy", code))
    notebook.run_all()
    notebook.page.wait_for_timeout(300)
    assert "hum" in notebook.console_errors
    assert notebook.foreign_requests == ["http://127.0.0.2:9/"]
    with pytest.raises(AssertionError):
        notebook.assert_quiet()
