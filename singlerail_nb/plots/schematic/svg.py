"""A drawing as SVG text: plain elements, classes, currentColor, nothing loaded from elsewhere."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from html import escape

from .drawing import Drawing
from .sheet import Item, Text
from .symbols import FONT_SIZES, PLUS_SIGN, SYMBOLS

BORDER = 12
"""Empty room around the drawing, in its units."""

STYLE = (
    ".srn-diagram{color:inherit;max-width:100%;height:auto}"
    ".srn-diagram path{fill:none;stroke:currentColor;stroke-width:1.5;stroke-linejoin:round}"
    ".srn-diagram circle{fill:currentColor}"
    ".srn-diagram text{fill:currentColor;stroke:none;"
    f"font:{FONT_SIZES['value']}px system-ui,-apple-system,'Segoe UI','Noto Sans',sans-serif}}"
    f".srn-diagram .s{{font:italic {FONT_SIZES['symbol']}px "
    "'Cambria Math','STIX Two Text',Cambria,Georgia,serif}"
    f".srn-diagram .s tspan{{font-size:{FONT_SIZES['subscript']}px;font-style:normal}}"
    f".srn-diagram .n{{font-size:{FONT_SIZES['node']}px;opacity:.8}}"
)


def write_svg(
    drawing: Drawing, title: str, description: str, values: Mapping[str, str], voltages: Mapping[str, str]
) -> str:
    """Return a drawing as one standalone SVG.

    Parameters
    ----------
    drawing : Drawing
        What to write.
    title, description : str
        What is read out instead of the picture.
    values : mapping of str to str
        Value text of each part, level and the supply that is shown.
    voltages : mapping of str to str
        Text of the resting voltage of each node; empty to write without.
    """
    return "\n".join([*_head(drawing, title, description), *_body(drawing, values, voltages), "</svg>\n"])


def _head(drawing: Drawing, title: str, description: str) -> Iterator[str]:
    box = drawing.extent
    left, top = 10 * box.left - BORDER, 10 * box.top - BORDER
    width, height = 10 * (box.right - box.left) + 2 * BORDER, 10 * (box.bottom - box.top) + 2 * BORDER
    yield (
        '<svg xmlns="http://www.w3.org/2000/svg" class="srn-diagram" role="img" '
        f'width="{width:.0f}" height="{height:.0f}" viewBox="{left:.0f} {top:.0f} {width:.0f} {height:.0f}">'
    )
    yield f"<title>{escape(title)}</title>"
    yield f"<desc>{escape(description)}</desc>"
    yield f"<style>{STYLE}</style>"


def _body(drawing: Drawing, values: Mapping[str, str], voltages: Mapping[str, str]) -> Iterator[str]:
    for node, runs in drawing.wiring.runs.items():
        if runs:
            pieces = "".join(_run(a, b) for a, b in runs)
            yield f'<path data-wire="{escape(node)}" d="{pieces}"/>'
        dots = drawing.wiring.dots[node]
        yield from (f'<circle cx="{10 * x}" cy="{10 * y}" r="3.2"/>' for x, y in dots)
    for item in drawing.items:
        yield _shape(item)
        if item.plus_at is not None:
            x, y = item.plus_at
            yield f'<path data-plus="{escape(item.name)}" d="M{10 * x:g} {10 * y:g}{PLUS_SIGN}"/>'
        for text in item.texts:
            yield _text(text, values, voltages)
    for text in drawing.notes:
        yield _text(text, values, voltages)


def _run(one: tuple[int, int], other: tuple[int, int]) -> str:
    ahead = f"H{10 * other[0]}" if one[1] == other[1] else f"V{10 * other[1]}"
    return f"M{10 * one[0]} {10 * one[1]}{ahead}"


def _shape(item: Item) -> str:
    turn = f" rotate({item.turn})" if item.turn else ""
    return (
        f'<path data-body="{escape(item.name)}" data-shape="{item.shape}" '
        f'transform="translate({10 * item.x} {10 * item.y}){turn}" d="{SYMBOLS[item.shape].path}"/>'
    )


def _text(text: Text, values: Mapping[str, str], voltages: Mapping[str, str]) -> str:
    place = f'x="{10 * text.x:g}" y="{10 * text.y:g}"'
    if text.anchor != "start":
        place += f' text-anchor="{text.anchor}"'
    if text.kind == "value":
        return f'<text {place} data-part="{escape(text.owner)}">{escape(values[text.owner])}</text>'
    if text.kind == "symbol":
        head, _, tail = text.content.partition("_")
        below = f'<tspan dy="3">{escape(tail)}</tspan>' if tail else ""
        return f'<text class="s" {place}>{escape(head)}{below}</text>'
    volts = f" {voltages[text.owner]}" if text.owner in voltages else ""
    return f'<text class="n" {place} data-node="{escape(text.owner)}">{escape(text.content + volts)}</text>'
