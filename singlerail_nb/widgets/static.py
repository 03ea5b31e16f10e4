"""The still picture of a panel: what a notebook shows where no script runs."""

from __future__ import annotations

import base64

from .model import StageModel


def still_picture(model: StageModel) -> str:
    """Return gain and phase of the present stage as base64 text of a PNG file.

    Parameters
    ----------
    model : StageModel
        The model shown.
    """
    from ..plots.response import response_picture

    return base64.b64encode(response_picture(model.stage).png()).decode("ascii")
