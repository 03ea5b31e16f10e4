"""Schematics drawn from circuits: what is in the picture is what is solved."""

from .for_stage import schematic_svg, schematic_text

__all__ = ["schematic_svg", "schematic_text"]
