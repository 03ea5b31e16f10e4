"""Noise as a view: density at the output, and who contributes how much in a band."""

from __future__ import annotations

from typing import Any

from ..analysis.noise import noise
from ..analysis.stage import Stage
from ..circuit.printed_names import symbol_name
from ..quantities import write_quantity
from .answers import axis, curve, row, thinned
from .computed import Choice, Computed, Progress

BANDS = {
    "20 Hz to 20 kHz": (20.0, 20e3),
    "0.1 Hz to 10 Hz": (0.1, 10.0),
    "1 Hz to 100 kHz": (1.0, 100e3),
}
_IDEAL = "The op-amp is ideal and adds no noise: choose one to see its share."
_LEAST_SHARE = 0.005


def noise_view(node: str = "output") -> Computed:
    """Return noise density and shares of the contributors at a node; they follow the sliders.

    Parameters
    ----------
    node : str
        Where the noise is looked at.
    """

    def answer(stage: Stage, _progress: Progress, *, band: str) -> dict[str, Any]:
        return _answer(stage, node, *BANDS[band])

    return Computed(title="Noise", follow=answer, choices=(Choice("band", "Band", tuple(BANDS)),))


def _answer(stage: Stage, node: str, low: float, high: float) -> dict[str, Any]:
    from ..plots.noise import noise_data, noise_text  # a drawing library loads with it: on first use

    found = noise(stage)

    def label(name: str) -> str:
        return symbol_name(name) if name in stage.values else name

    data = noise_data(found, low, high, node)
    places = thinned(len(data.frequency))[::2]
    xs = data.frequency[places]
    drawn = {name: density for name, density in data.largest.items() if density.min() > 0}
    curves = [curve("everything", xs, data.total[places], 0)]
    curves += [
        curve(label(name), xs, density[places], slot) for slot, (name, density) in enumerate(drawn.items(), 1)
    ]
    source = found.rms(low, high, node, referred_by=stage.transfer("signal", node))
    shares = [
        {"label": label(name), "value": 100.0 * share, "text": f"{100.0 * share:.3g} %"}
        for name, share in data.shares.items()
        if share >= _LEAST_SHARE
    ]
    return {
        "plots": [
            {
                "title": f"Noise density at {node}", "height": 300, "curves": curves,
                "x": axis("frequency", "Hz", (xs[0], xs[-1]), scale="log"),
                "y": axis("density", "V/sqrt(Hz)", scale="log", depth=4),
            }
        ],
        "bars": [{"title": "Share of the squared noise in the band", "unit": "%", "rows": shares}],
        "rows": [
            row(f"At {node}, in the band", write_quantity(data.rms, "Vrms", 3)),
            row("The same, referred to the source", write_quantity(source, "Vrms", 3)),
        ],
        "summary": noise_text(data, low, high, node).removeprefix("noise "),
        "remarks": [] if stage.opamp else [_IDEAL],
    }  # fmt: skip
