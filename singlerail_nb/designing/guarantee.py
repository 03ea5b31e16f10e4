"""A design that holds at the tolerance extremes, and what that costs against the nominal one.

The requirements are tightened by what the tolerances take, the stage is designed for the tightened
ones, and its extremes are evaluated on the whole network; that is repeated until every requirement
holds for every board within tolerance.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from os import PathLike

from ..analysis.stage import Stage
from ..analysis.tolerance import Tolerances
from ..errors import RequirementError
from ..quantities import QuantityLike, read_quantity, write_quantity
from .extreme_checks import extreme_checks, spread_ratio
from .given import require_requirements
from .guarantee_result import GuaranteedDesign
from .requirements import Droop, Requirements
from .selection import select
from .selection_result import Weights
from .stock import Stock
from .synthesis import Design, design
from .verification import Check, verify

_ROUNDS = 8
_NEARLY = 1.0 - 1e-6


def guarantee(
    requirements: Requirements,
    topology: str = "noninverting",
    tolerance: Tolerances = 0.05,
    *,
    swing: QuantityLike | None = None,
    stock: Stock | str | PathLike[str] | None = None,
    within: Mapping[str, tuple[QuantityLike, QuantityLike]] | None = None,
    weights: Weights | None = None,
) -> GuaranteedDesign:
    """Return a design that meets the requirements with every board within tolerance.

    Parameters
    ----------
    requirements : Requirements
        What every board must do.
    topology : str
        ``"noninverting"``, ``"inverting"`` or ``"follower"``.
    tolerance : float, str, pair or mapping
        As in `analysis.tolerance.worst_case`.
    swing : float or str, optional
        Least symmetric output swing of every board at the lowest rail, Vpp; needs an op-amp record.
        That of the demands unless given.
    stock : Stock or path, optional
        Choose the parts by `select` from this stock; the series of the requirements unless given.
    within, weights
        As in `select`; with a stock only.

    Returns
    -------
    GuaranteedDesign
        A `Design` whose extremes pass, with the nominal design and the cost beside it.

    Raises
    ------
    RequirementError
        If these are no requirements, tolerances alone take more than one leaves, or no parts meet
        the tightened ones: names the requirement, and by how much.
    UnknownNameError
        If a name does not exist.
    QuantityError
        If a tolerance or the stock cannot be used.
    """
    require_requirements(requirements)
    shelf = None if stock is None else Stock.read(stock)

    def made(needed: Requirements) -> Design:
        if shelf is None:
            return design(needed, topology)
        return select(needed, topology, shelf, within=within, weights=weights, keep=1).design

    asked = requirements.demands.output_swing if swing is None and requirements.opamp is not None else swing
    least = None if asked is None else read_quantity(asked, "Vpp", name="swing", low=0.0)
    if least is not None and requirements.opamp is None:
        raise RequirementError(
            "swing", f"{least:g} Vpp", allowed="with an op-amp record", remedy="An ideal op-amp never clips."
        )
    return _tightened(requirements, topology, tolerance, least, made)


def _tightened(
    needed: Requirements,
    topology: str,
    tolerance: Tolerances,
    swing: float | None,
    made: Callable[[Requirements], Design],
) -> GuaranteedDesign:
    nominal = made(needed)
    before = extreme_checks(nominal.stage, needed, tolerance, swing)
    aimed, found, extremes = needed, nominal, before
    for _ in range(_ROUNDS):
        missed = [check for check in extremes if check.status == "fail"]
        if not missed:
            return GuaranteedDesign(
                needed,
                topology,
                found.stage,
                found.steps,
                tolerance,
                extremes,
                aimed,
                nominal,
                before,
            )
        _require_room(missed, needed, found, extremes)
        aimed = _tighter(needed, aimed, found, extremes)
        found = made(aimed)
        extremes = extreme_checks(found.stage, needed, tolerance, swing)
    worst = min(extremes, key=lambda check: check.margin)
    raise RequirementError(
        worst.requirement,
        f"{write_quantity(worst.value, worst.unit)} at the tolerance extremes",
        allowed=worst.limit_text,
        remedy="Choose parts with closer tolerances, or relax this requirement.",
    )


def _require_room(
    missed: list[Check], needed: Requirements, found: Design, extremes: tuple[Check, ...]
) -> None:
    """Refuse what no choice of values can mend: swing, and spreads wider than a band."""
    by_name = {check.requirement: check for check in extremes}
    if any(check.requirement == "output swing" for check in missed):
        check = by_name["output swing"]
        raise RequirementError(
            "swing",
            check.limit_text,
            allowed=f"{write_quantity(check.value, 'Vpp')} at the extremes, "
            f"{abs(check.margin):.1%} too little",
            remedy="Take an op-amp that comes closer to the rails, closer resistors, or a higher rail.",
        )
    gain = by_name["mid-band gain"]
    room = needed.gain_tolerance - _gain_spread(gain, found.stage)
    if room <= 1e-4:
        raise RequirementError(
            "gain_tolerance",
            f"{needed.gain_tolerance:.2%}",
            allowed=f"more than {needed.gain_tolerance - room:.2%}, which the tolerances alone take",
            remedy="Choose closer resistors, or allow a larger gain tolerance.",
        )
    if needed.rumble_floor is not None:
        _require_window(needed, found, by_name)


def _require_window(needed: Requirements, found: Design, extremes: Mapping[str, Check]) -> None:
    floor = needed.rumble_floor or 0.0
    cutoff = found.stage.transfer("signal", "output").low_cutoff()
    lowest = extremes["rumble floor"].value
    highest = extremes["low-end cut-off"].value if "low-end cut-off" in extremes else cutoff
    spread, window = highest / lowest, needed.target_cutoff / floor
    if spread >= window:
        raise RequirementError(
            "rumble_floor",
            f"{floor:g} Hz below a cut-off of {needed.target_cutoff:g} Hz: a ratio of {window:.3g}",
            allowed=f"a ratio above {spread:.3g}, which the tolerances alone take",
            remedy="Choose closer parts for what sets the cut-off, or move floor and cut-off apart.",
        )


def _gain_spread(gain: Check, stage: Stage) -> float:
    """Return how far the gain moves at the extremes, relative to the wanted gain."""
    nominal = stage.transfer("signal", "output").midband_gain()
    return abs(gain.value - nominal) / gain.limit


def _tighter(
    needed: Requirements, aimed: Requirements, found: Design, extremes: tuple[Check, ...]
) -> Requirements:
    """Return requirements for nominal parts that leave room for what the tolerances took."""
    now = {check.requirement.split(" at ")[0]: check for check in verify(found.stage, needed)}
    worse = {c.requirement: spread_ratio(c, now[c.requirement]) for c in extremes if c.requirement in now}

    def less(value: float, name: str) -> float:
        return value / worse.get(name, 1.0) * _NEARLY

    def more(value: float, name: str) -> float:
        return value * worse.get(name, 1.0) / _NEARLY

    gain = next(check for check in extremes if check.requirement == "mid-band gain")
    droop = needed.droop and Droop(less(needed.droop.db, "droop"), needed.droop.frequency)
    cutoff, floor, top = needed.low_cutoff, needed.rumble_floor, needed.high_cutoff
    tight = replace(
        needed,
        gain_tolerance=(needed.gain_tolerance - _gain_spread(gain, found.stage)) * _NEARLY,
        input_impedance=more(needed.input_impedance, "input impedance"),
        low_cutoff=cutoff and less(cutoff, "low-end cut-off"),
        droop=droop,
        rumble_floor=floor and more(floor, "rumble floor"),
        high_cutoff=top and more(top, "top-end cut-off"),
        divider_current=less(needed.divider_current, "divider current"),
    )
    corner = needed.bias_filter_ratio * needed.target_cutoff / worse.get("bias-filter corner", 1.0)
    ratio = min(1.0, corner / tight.target_cutoff * _NEARLY)
    return _never_looser(replace(tight, bias_filter_ratio=ratio), aimed)


def _never_looser(tight: Requirements, aimed: Requirements) -> Requirements:
    """Keep what earlier rounds asked for, so that the rounds cannot swing to and fro."""
    if aimed.low_cutoff is not None and tight.low_cutoff is not None:
        tight = replace(tight, low_cutoff=min(tight.low_cutoff, aimed.low_cutoff))
    return replace(
        tight,
        gain_tolerance=min(tight.gain_tolerance, aimed.gain_tolerance),
        input_impedance=max(tight.input_impedance, aimed.input_impedance),
        divider_current=min(tight.divider_current, aimed.divider_current),
    )
