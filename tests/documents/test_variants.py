"""Class sets: feasible, equally hard, different from the neighbours, made again from list and secret."""

import hashlib
import hmac
import re
import stat
from base64 import b32encode
from concurrent.futures import ProcessPoolExecutor, ThreadPoolExecutor
from itertools import combinations

import numpy as np
import pytest

from singlerail_nb.designing.stock import Stock
from singlerail_nb.documents.fitness import SLOWEST_START, difficulty, unfit
from singlerail_nb.documents.goals import GOALS
from singlerail_nb.documents.lab import Lab, declared
from singlerail_nb.documents.seating import answers, apart
from singlerail_nb.documents.task import Task
from singlerail_nb.documents.variants import class_set, handout
from singlerail_nb.errors import QuantityError, RequirementError, UnknownNameError

from .lab_sheets import CLASS, SECRET, VALUES, small_class, task


def stages(found):
    return [sheet.stage for sheet in found.sheets]


def test_the_same_list_and_secret_give_the_same_class():
    again = class_set(CLASS, "whole stage", secret=SECRET)
    assert stages(again) == stages(small_class())
    assert [s.code for s in again.sheets] == [s.code for s in small_class().sheets]


def test_another_secret_gives_other_circuits_and_codes():
    other = class_set(CLASS[:2], "whole stage", secret=SECRET + "!")
    assert all(a != b for a, b in zip(stages(other), stages(small_class()), strict=False))
    assert not {s.code for s in other.sheets} & {s.code for s in small_class().sheets}


def test_the_number_of_workers_changes_nothing():
    with ThreadPoolExecutor(3) as threads:
        assert stages(class_set(CLASS, "whole stage", secret=SECRET, executor=threads)) == stages(
            small_class()
        )
    with ProcessPoolExecutor(2) as processes:
        found = class_set(CLASS, "whole stage", secret=SECRET, executor=processes)
    assert stages(found) == stages(small_class())


def test_how_a_name_is_typed_changes_nothing():
    typed = [name.upper().replace(" ", "  ") for name in CLASS]
    assert stages(class_set(typed, "whole stage", secret=SECRET)) == stages(small_class())


@pytest.mark.parametrize("topology", ["noninverting", "inverting", "follower"])
def test_every_circuit_is_fit_for_the_bench(topology):
    found = class_set(CLASS[:4], "low end", secret=SECRET, topology=topology)
    for sheet in found.sheets:
        lab, stage = sheet.task.lab, sheet.stage
        for part, value in stage.values.items():
            assert value in lab.stock.values(part)
            assert not part.startswith("r_") or 1e3 <= value <= 470e3
        assert stage.supply in lab.supplies
        low_rail = Task(lab, type(stage)(stage.name, stage.supply * lab.sag, stage.values, stage.opamp),
                        sheet.task.amplitude, sheet.task.middle)  # fmt: skip
        assert sheet.task.amplitude * abs(sheet.task.gain()) * 1.2 <= low_rail.swing() * (1 + 1e-6)
        assert sheet.task.whole.low_cutoff() >= 3.0 * lab.floor
        assert sheet.task.ready() <= SLOWEST_START
        run = sheet.task.start
        for name in (part.name for part in stage.circuit.capacitors):
            assert np.min(run.capacitor_voltage(name, run.times)) > -0.1


@pytest.mark.parametrize("goal", GOALS)
def test_everybody_gets_the_same_difficulty(goal):
    found = small_class(goal)
    assert {difficulty(found.goal, sheet.task) for sheet in found.sheets} == {found.difficulty}


@pytest.mark.parametrize("goal", GOALS)
def test_a_copied_answer_shows(goal):
    found = small_class(goal)
    for one, other in combinations(found.sheets, 2):
        pairs = zip(one.predictions, other.predictions, strict=True)
        numbers = [(a.value, b.value) for a, b in pairs if not a.ask.is_formula]
        assert sum(abs(a - b) >= 0.15 * max(abs(a), abs(b)) for a, b in numbers) >= 2


def test_apart_counts_answers_that_differ():
    assert apart((1.0, 2.0, 3.0, 4.0), (1.2, 2.4, 3.0, 4.0))
    assert not apart((1.0, 2.0, 3.0, 4.0), (1.2, 2.0, 3.0, 4.0))
    assert apart((1.0, 2.0, 3.0), (1.2, 2.0, 3.0))
    assert not apart((1.0, 2.0), (1.1, 2.2))


def test_a_class_whose_goal_asks_few_numbers_gets_its_circuits():
    found = class_set(CLASS, "headroom", secret=SECRET, topology="inverting", supplies=(9.0, 12.0))
    gains = [round(sheet.stage.transfer("signal", "output").midband_gain(), 3) for sheet in found.sheets]
    assert len(set(gains)) == len(CLASS)


def test_no_secret_and_no_key_is_in_what_students_get(tmp_path):
    top = small_class().write(tmp_path)
    for sheet, path in zip(small_class().sheets, sorted((top / "students").iterdir()), strict=True):
        text = path.read_text(encoding="utf-8")
        assert SECRET not in text
        assert SECRET.encode().hex() not in text
        assert sheet.student in text
        assert sheet.code in text
        body = text[text.index("Pre-lab") : text.index("Fault finding")]
        for question in sheet.questions:
            if not question.ask.is_formula:
                assert question.written(question.value) not in body
        for other in small_class().sheets:
            assert other is sheet or other.code not in text
    assert SECRET not in repr(small_class())


def test_a_code_is_a_keyed_hash_of_the_name_with_a_stretched_secret():
    key = hashlib.pbkdf2_hmac("sha256", SECRET.encode(), b"whole stage|noninverting", 200_000)
    digest = hmac.new(key, b"whole stage|noninverting\x1fsheet\x1fada anther", hashlib.sha256).digest()
    assert small_class().sheets[0].code == b32encode(digest[:5]).decode()


def test_files_of_a_class(tmp_path):
    top = small_class().write(tmp_path / "lab", form=".ipynb")
    assert [p.name for p in sorted(top.iterdir())] == ["handouts.html", "instructor", "students"]
    assert len(list((top / "students").glob("*.ipynb"))) == len(CLASS)
    printed = (top / "handouts.html").read_text(encoding="utf-8")
    assert printed.count("<h1>") == len(CLASS)
    keys = (top / "instructor" / "keys.html").read_text(encoding="utf-8")
    assert all(sheet.code in keys for sheet in small_class().sheets)
    assert keys.count("<h1>") == len(CLASS) + 1
    overview = keys[keys.index("<h1>All answers") : keys.index("<h1>Key")]
    for sheet in small_class().sheets:
        assert all(
            q.written(q.value) in unspaced(overview) for q in sheet.predictions if not q.ask.is_formula
        )
        assert all(q.written(q.band[1]) in unspaced(overview) for q in sheet.measurements)
    table = (top / "instructor" / "answers.csv").read_text(encoding="utf-8-sig").splitlines()
    assert table[0].startswith("student,code,P1,")
    assert len(table) == len(CLASS) + 1


def unspaced(text):
    return text.replace("\N{NO-BREAK SPACE}", " ")


def test_printed_pages_carry_the_name_and_count_per_student(tmp_path):
    printed = (small_class().write(tmp_path / "lab") / "handouts.html").read_text(encoding="utf-8")
    for number, sheet in enumerate(small_class().sheets, 1):
        assert f'<section class="part{number} page-break">' in printed
        rule = printed[printed.index(f"@page part{number} ") :].split("\n")[0]
        assert sheet.code in rule
        assert f"counter(part{number})" in rule
    ids = re.findall(r'\sid="([^"]+)"', printed)
    assert len(ids) == len(set(ids))


def test_files_are_readable_as_the_system_wants_it(tmp_path):
    (tmp_path / "plain.txt").write_text("x")
    path = small_class().sheets[0].write(tmp_path / "sheet.html")
    assert stat.S_IMODE(path.stat().st_mode) == stat.S_IMODE((tmp_path / "plain.txt").stat().st_mode)
    assert [p.name for p in path.parent.iterdir() if p.name.startswith(".")] == []


def test_files_do_not_depend_on_the_workers(tmp_path):
    one = small_class("bias").write(tmp_path / "one")
    with ProcessPoolExecutor(2) as processes:
        two = small_class("bias").write(tmp_path / "two", executor=processes)
    for path in (p for p in one.rglob("*") if p.is_file()):
        assert path.read_bytes() == (two / path.relative_to(one)).read_bytes()


def test_a_name_cannot_choose_its_file(tmp_path):
    found = class_set(["../../etc/hive", "-> ü", "日本"], "headroom", secret=SECRET)
    top = found.write(tmp_path / "lab")
    assert [p.name for p in sorted((top / "students").iterdir())] == ["1_etc_hive.html", "2_u.html", "3.html"]
    assert {p.name for p in tmp_path.iterdir()} == {"lab"}


@pytest.mark.parametrize(
    ("students", "secret", "message"),
    [
        ([], SECRET, "empty"),
        (["Ada", " ada "], SECRET, "ada"),
        (["Ada", ""], SECRET, "empty"),
        (["Ada"], "short", "8"),
    ],
)
def test_wrong_class_lists_and_secrets_are_refused(students, secret, message):
    with pytest.raises(QuantityError, match=message):
        class_set(students, "bias", secret=secret)


def test_a_stock_that_is_too_small_is_refused_with_the_reason():
    with pytest.raises(RequirementError, match="most had a resistor that loads too much"):
        class_set(["Ada"], "low end", secret=SECRET, stock=Stock((2e6,), (1e-6,)))
    with pytest.raises(RequirementError, match="different neighbours"):
        class_set(CLASS, "low end", secret=SECRET, stock=Stock((1e3, 10e3), (1e-6,)), supplies=(9.0,))


@pytest.mark.parametrize("name", ["o\u2019dowd,ada", "O'DOWD,  Ada", "O`Dowd, Ada"])
def test_a_name_is_found_however_its_apostrophe_was_typed(name):
    found = class_set(["O'Dowd, Ada"], "headroom", secret=SECRET)
    assert found.sheet(name).student == "O'Dowd, Ada"


def test_conditions_may_be_declared_with_units_and_names():
    found = declared(supplies="9 V", opamp="GPB", tolerance={"resistors": 0.01})
    assert (found.supplies, found.opamp.name) == ((9.0,), "GPB")
    assert found.tolerance == {"resistors": 0.01, "capacitors": 0.2}
    assert declared(supplies=(5, "12 V")).supplies == (5.0, 12.0)


@pytest.mark.parametrize(
    ("given", "message"),
    [
        ({"supplies": ()}, "one rail or more"),
        ({"supplies": "9"}, "unit is missing"),
        ({"supplies": (90.0,)}, "60 V"),
        ({"stock": "E12"}, "Stock.of"),
        ({"tolerance": 0.05}, "resistors"),
        ({"supply_kind": "car"}, "battery, usb, vehicle"),
    ],
)
def test_conditions_of_another_kind_are_refused_at_once(given, message):
    with pytest.raises((QuantityError, UnknownNameError), match=message):
        declared(**given)


def test_a_rail_that_the_opamp_does_not_take_is_refused():
    with pytest.raises(RequirementError, match="a rail outside the range of the op-amp GPB"):
        class_set(["Ada"], "bias", secret=SECRET, supplies="48 V")


def test_a_name_is_no_class_list():
    with pytest.raises(QuantityError, match="a list of names"):
        class_set("Ada", "bias", secret=SECRET)


def test_what_makes_a_circuit_unfit_is_said():
    goal = GOALS["bias"]
    assert unfit(goal, task()) == ""
    assert "reversed" not in unfit(goal, task())
    slow = Task.of(Lab(), type(task().stage)("noninverting", 9.0, VALUES | {"c_bias": 220e-6}, Lab().opamp))
    assert "ripple" in unfit(goal, slow)
    assert "start-up" in unfit(GOALS["low end"], slow)
    deep = Task.of(
        Lab(), type(task().stage)("noninverting", 9.0, VALUES | {"c_in": 22e-6, "c_g": 220e-6}, Lab().opamp)
    )
    assert "corner" in unfit(goal, deep)


def test_a_student_who_is_not_in_the_class():
    assert small_class().sheet("  bo   BROOD ").student == "Bo Brood"
    with pytest.raises(UnknownNameError, match="class list"):
        small_class().sheet("Zoe Zander")


def test_answers_are_the_predicted_numbers():
    found = handout("low end", seed=4)
    assert answers(found.goal, found.task) == tuple(
        q.value for q in found.predictions if not q.ask.is_formula
    )
