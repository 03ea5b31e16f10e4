"""Values that a board can carry."""

import pytest

import singlerail_nb as sr
from singlerail_nb.designing.practical import PRACTICAL, require_practical
from singlerail_nb.errors import RequirementError

PARTS = ("r_top", "r_bottom", "r_bias", "r_in", "r_g", "r_f", "c_in", "c_bias", "c_g", "c_out")


@pytest.mark.parametrize("part", PARTS)
def test_each_part_has_a_way_out_at_both_ends(part):
    unit = "ohm" if part.startswith("r_") else "F"
    low, high = PRACTICAL[unit]
    require_practical(part, low, unit)
    require_practical(part, high, unit)
    remedies = set()
    for value in (low * 0.99, high * 1.01):
        with pytest.raises(RequirementError, match="common practice") as caught:
            require_practical(part, value, unit)
        assert caught.value.quantity == part
        remedies.add(caught.value.remedy)
    assert len(remedies) == 2


def test_every_part_that_a_design_chooses_is_known():
    chosen = set()
    for topology, gain in (("noninverting", 5), ("inverting", -5), ("follower", 1)):
        design = sr.design(sr.Requirements("9 V", gain, "22k", "40 Hz", load="10k"), topology)
        chosen |= {step.part for step in design.steps}
    assert chosen == set(PARTS)


def test_the_range_is_told_in_words():
    with pytest.raises(RequirementError, match=r"c_g: got 2200 µF; allowed: 10 pF to 1000 µF"):
        require_practical("c_g", 2.2e-3, "F")
    with pytest.raises(RequirementError, match=r"r_f: got 22 MΩ; allowed: 100 Ω to 10 MΩ"):
        require_practical("r_f", 22e6, "ohm")
