"""What a reader may turn: preferred-value sliders and choosers."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from ..analysis.stage import Stage
from ..circuit.elements import Part
from ..circuit.printed_names import symbol_name
from ..designing.preferred_values import preferred, series
from ..errors import QuantityError
from ..quantities import PART_LIMITS, QuantityLike, read_part
from .model import StageModel

_SERIES = {"resistor": "E24", "capacitor": "E12"}
_SPAN = 100.0
_WIDEST = {"resistor": (1.0, 100e6), "capacitor": (10e-12, 10e-3)}


@dataclass(frozen=True)
class Slider:
    """A slider through preferred values, with a box that reads any value.

    Attributes
    ----------
    part : str
        Name of the part.
    series : str or None
        Series of preferred values; by default E24 for resistors, E12 for capacitors.
    low, high : float, str or None
        Ends of the slider; by default two decades around the value at the start.
    """

    part: str
    series: str | None = None
    low: QuantityLike | None = None
    high: QuantityLike | None = None

    def grid(self, part: Part, value: float) -> dict[str, Any]:
        """Return figures of the series and the ends of the slider.

        Parameters
        ----------
        part : Part
            The part of the circuit.
        value : float
            Its value at the start, SI units.

        Raises
        ------
        QuantityError
            If the lower end is not below the upper end.
        UnknownNameError
            If there is no such series.
        """
        name = part_series(self, part)
        lowest, highest = _WIDEST[part.kind]
        low = (
            max(lowest, preferred(value / _SPAN, name))
            if self.low is None
            else read_part(part.name, self.low)
        )
        high = (
            min(highest, preferred(value * _SPAN, name))
            if self.high is None
            else read_part(part.name, self.high)
        )
        if not low < high:
            raise QuantityError(
                f"slider of {part.name}, low",
                low,
                allowed=f"below high ({high:g})",
                remedy="Exchange the ends.",
            )
        return {"mantissas": series(name), "min": low, "max": high}


def part_series(slider: Slider, part: Part) -> str:
    """Return the series of preferred values that a slider steps through.

    Parameters
    ----------
    slider : Slider
        The slider.
    part : Part
        Its part.
    """
    return slider.series or _SERIES[part.kind]


@dataclass(frozen=True)
class Chooser:
    """A choice between ways to change the whole stage: op-amp, bias source, rail, topology.

    Attributes
    ----------
    name, label : str
        Name for code, label for readers.
    options : mapping of str to callable
        What is shown -> a function that takes the present stage and returns the chosen one.
    """

    name: str
    label: str
    options: Mapping[str, Callable[[Stage], Stage]] = field(default_factory=dict)

    def names(self, model: StageModel) -> list[str]:  # noqa: ARG002 -- other choosers look at it
        """Return the options.

        Parameters
        ----------
        model : StageModel
            The model shown.
        """
        return list(self.options)

    def present(self, model: StageModel) -> str | None:  # noqa: ARG002 -- other choosers look at it
        """Return the option that the stage has now; None if only the reader's choice tells.

        Parameters
        ----------
        model : StageModel
            The model shown.
        """
        return None

    def apply(self, model: StageModel, option: str) -> None:
        """Change the model as an option says.

        Parameters
        ----------
        model : StageModel
            The model shown.
        option : str
            One of the options.
        """
        model.replace(self.options[option](model.stage))

    def describe(self, model: StageModel, chosen: str | None) -> dict[str, Any]:
        """Return what the browser shows.

        Parameters
        ----------
        model : StageModel
            The model shown.
        chosen : str or None
            What the reader chose last.
        """
        names = self.names(model)
        now = self.present(model) or chosen or names[0]
        every = names if now in names else [now, *names]
        return {
            "name": self.name, "label": self.label, "value": now,
            "options": [{"value": text, "label": text} for text in every],
        }  # fmt: skip


Control = Slider | Chooser


def sliders(stage: Stage, *names: str) -> list[Control]:
    """Return a slider for each named part, or for every part of the circuit.

    Parameters
    ----------
    stage : Stage
        The stage.
    *names : str
        Part names; all unless given.

    Raises
    ------
    UnknownNameError
        If the circuit has no such part.
    """
    return [Slider(stage.circuit.part(name).name) for name in names or stage.circuit.part_names]


def describe_parts(stage: Stage, start: Mapping[str, float], controls: list[Control]) -> list[dict[str, Any]]:
    """Return every part of the circuit as the browser needs it; those without slider are shown only.

    Parameters
    ----------
    stage : Stage
        The stage.
    start : mapping of str to float
        Values at the start: sliders are centred on them.
    controls : list of Control
        The controls of the panel.

    Sliders of parts that the circuit does not have are left out: a chooser may have taken them away.
    """
    wanted = {control.part: control for control in controls if isinstance(control, Slider)}
    described = []
    for part in stage.circuit.parts:
        grid = wanted.get(part.name, Slider(part.name)).grid(
            part, start.get(part.name, stage.values[part.name])
        )
        described.append({
            "name": part.name, "symbol": symbol_name(part.name), "unit": part.unit, "label": part.label,
            "value": stage.values[part.name], "grid": grid, "adjustable": part.name in wanted,
            "limits": PART_LIMITS[part.name[:2]],
        })  # fmt: skip
    return described


def as_controls(stage: Stage, given: Iterable[Control | str] | Control | str) -> list[Control]:
    """Return the controls that were asked for; a name stands for a slider of that part.

    Parameters
    ----------
    stage : Stage
        Where the parts are.
    given : control, str or iterable of these
        What to turn.

    Raises
    ------
    QuantityError
        If one of them is no control.
    UnknownNameError
        If a name is no part.
    """
    found: list[Control] = []
    for control in [given] if isinstance(given, str | Slider | Chooser) else given:
        if isinstance(control, str):
            found += sliders(stage, control)
        elif isinstance(control, Slider | Chooser):
            found.append(control)
        else:
            raise QuantityError(
                "controls",
                getattr(control, "__name__", str(control)),
                allowed="names of parts, Slider(...), and what the functions of `choosers` return",
                remedy="Call the function: choosers.bias_chooser().",
            )
    return found
