"""The colours of the panel: enough contrast, and curves that stay apart for every eye.

Contrast and relative luminance: Web Content Accessibility Guidelines 2.2, success criteria 1.4.3 and
1.4.11.  Simulation of colour-vision deficiencies: G. M. Machado, M. M. Oliveira, L. A. F. Fernandes,
"A physiologically-based model for simulation of color vision deficiency", IEEE Trans. Visualization
and Computer Graphics 15 (2009), severity 1.0; the matrices are written from memory.  Distances are
those of CIE 1976 L*a*b* under D65.
"""

import re
from itertools import combinations

import numpy as np
import pytest

from singlerail_nb.plots.picture import COLOURS
from singlerail_nb.widgets import bundle

DEFICIENCIES = {
    "none": np.eye(3),
    "protanopia": [
        [0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998],
    ],
    "deuteranopia": [
        [0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881],
    ],
    "tritanopia": [
        [1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602], [0.004733, 0.691367, 0.303900],
    ],
}  # fmt: skip
TO_XYZ = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])
TEXT_CONTRAST, APART = 4.5, 20.0


def colours(theme):
    """Return the variables of a theme: name to linear RGB."""
    light, dark = re.findall(r"\.srn(?:\[data-theme=\"dark\"\])? \{([^}]*--paper[^}]*)\}", bundle.style())
    pairs = re.findall(r"--([\w-]+): #([0-9a-f]{6})", light if theme == "light" else dark)
    return {name: linear(code) for name, code in pairs}


def linear(code):
    values = np.array([int(code[k : k + 2], 16) / 255 for k in (0, 2, 4)])
    return np.where(values <= 0.04045, values / 12.92, ((values + 0.055) / 1.055) ** 2.4)


def contrast(one, other):
    high, low = sorted((TO_XYZ[1] @ one, TO_XYZ[1] @ other), reverse=True)
    return (high + 0.05) / (low + 0.05)


def lab(rgb):
    ratio = TO_XYZ @ np.clip(rgb, 0, 1) / (TO_XYZ @ np.ones(3))
    f = np.where(ratio > (6 / 29) ** 3, np.cbrt(ratio), ratio / (3 * (6 / 29) ** 2) + 4 / 29)
    return np.array([116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2])])


def test_the_instruments_are_right():
    assert contrast(linear("000000"), linear("ffffff")) == pytest.approx(21.0, rel=1e-3)
    assert lab(linear("ffffff")) == pytest.approx([100, 0, 0], abs=0.02)
    for matrix in DEFICIENCIES.values():
        assert np.sum(matrix, axis=1) == pytest.approx([1, 1, 1], abs=1e-5)


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_text_can_be_read(theme):
    palette = colours(theme)
    inks = [name for name in palette if name.startswith("slot")] + ["ink", "soft", "good", "bad", "accent"]
    for ink in inks:
        assert contrast(palette[ink], palette["paper"]) >= TEXT_CONTRAST, ink
    for ink in ("ink", "soft", "good", "bad"):
        assert contrast(palette[ink], palette["panel"]) >= TEXT_CONTRAST, ink


@pytest.mark.parametrize("deficiency", DEFICIENCIES)
@pytest.mark.parametrize("theme", ["light", "dark"])
def test_curves_stay_apart(theme, deficiency):
    palette = colours(theme)
    seen = {
        name: lab(np.array(DEFICIENCIES[deficiency]) @ rgb)
        for name, rgb in palette.items()
        if name.startswith("slot")
    }
    assert len(seen) == 5
    distances = {pair: np.linalg.norm(seen[pair[0]] - seen[pair[1]]) for pair in combinations(seen, 2)}
    assert min(distances.values()) >= APART, min(distances, key=distances.get)


def test_every_slot_has_a_line_style_of_its_own():
    rules = re.findall(
        r"\.srn-slot-(\d) \{ stroke: var\(--slot-\d\);(?: stroke-dasharray: ([\d ]+);)? \}", bundle.style()
    )
    assert len({dashes for _, dashes in rules}) == len(rules) == 5


def test_pictures_have_the_colours_of_the_panel():
    slots = re.findall(r"--slot-\d: (#[0-9a-f]{6})", bundle.style())
    assert list(COLOURS) == slots[:5]
