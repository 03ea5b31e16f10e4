"""Where everything stands: lines from left to right, what hangs on them, feedback around op-amps.

The rules, for any circuit: the signal path runs left to right; parts to ground hang down, parts to
the supply go up; the input that the signal reaches is the upper one; feedback to it runs above the
op-amp, feedback to the other input below, with the gain leg under it; what makes the bias stands at
the lower left.  Groups are moved until they stand free, so nothing overlaps.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import partial

from ...circuit.circuit import Circuit
from ...circuit.elements import OpAmpPart
from .chains import RAILS, SUPPLY, Chain
from .items import LENGTH, Captions, Pen
from .reading import Line, Reading
from .sheet import Sheet
from .symbols import Box

PITCH, COLUMN = 8, 9
"""Grid steps from part to part in a row, and from column to column of hanging parts."""
PIN_COLUMN, OUT_COLUMN = -7, 7
"""Columns left and right of an op-amp, from its centre, in which its feedback turns."""


def place(circuit: Circuit, captions: Captions, spread: int = 0) -> Sheet:
    """Return a sheet with every part, op-amp, source and rail symbol of a circuit, not yet wired.

    Parameters
    ----------
    circuit : Circuit
        What to draw.
    captions : Captions
        What to write.
    spread : int
        Extra grid steps between things, for circuits that need more room for wires.
    """
    return _Placing(circuit, captions, spread).sheet


class _Placing:
    """One run of the rules over one circuit."""

    def __init__(self, circuit: Circuit, captions: Captions, spread: int) -> None:
        self.end, self.spread = circuit.path[-1], spread
        self.pen = Pen(captions)
        self.reading = Reading(circuit)
        self.done: set[str] = set()
        self.sheet = Sheet()
        self._place()

    # ---- the whole ---------------------------------------------------------------------------
    def _place(self) -> None:
        main, *others = self.reading.lines
        for line in self.reading.lines:
            self._mark(*line.chains)
        self._mark_loops()
        channels = [line for line in others if line.nodes[0] in self.reading.inputs and line.opamps]
        tucked = [line for line in others if line not in channels]
        self._rank_nodes([main, *tucked, *channels])
        x = self._head(self.sheet, main, 0)
        for line in tucked:
            self._tuck(line, 3, x)
        self._rest(self.sheet, main, x)
        for line in channels:
            self._tuck(line, int(self.sheet.extent.bottom), x)
        self._between_rails()

    def _mark(self, *chains: Chain) -> None:
        self.done.update(part.name for chain in chains for part in chain.parts)

    def _waiting(self, chains: Iterable[Chain]) -> list[Chain]:
        return [chain for chain in chains if chain.parts[0].name not in self.done]

    def _mark_loops(self) -> None:
        """Decide which chains run around which op-amp, before anything hangs on a node."""
        self.loops: dict[str, list[Chain]] = {}
        for line in self.reading.lines:
            for opamp in line.opamps:
                self.loops[opamp.name] = self._waiting(self.reading.loops(line, opamp))
                self._mark(*self.loops[opamp.name])

    def _rank_nodes(self, lines: list[Line]) -> None:
        """Give nodes the number of their line: what joins two lines hangs on the one drawn first."""
        self.rank: dict[str, int] = {}
        for n, line in enumerate(lines):
            pins = [pin for pin, owner in self.reading.attached.items() if owner in line.opamps]
            self.rank |= dict.fromkeys([*line.nodes, *pins], n)

    def _tuck(self, line: Line, lowest: int, column: int) -> None:
        """Draw a line by itself, align it with a column if that is near, move it down until it is free."""
        own = Sheet()
        x = self._head(own, line, 0 if line.nodes[0] in self.reading.inputs else 7)
        x, y = self._rest(own, line, x)
        if line.tail:
            node = line.tail.other(line.nodes[-1])
            columns = [px for name, (px, _) in self.sheet.guides if name == node]
            own.guides.append((node, (max([x, *columns]), y)))
        tops = {item.terminals[0][0] for item in own.items if item.turn and item.y == LENGTH // 2}
        right = next((step for step in range(4) if column - step in tops), 0)
        down = lowest
        while not self.sheet.has_room(own, 1.2 + self.spread, right, down):
            down += 1
        self.sheet.add(own.moved(right, down))

    def _between_rails(self) -> None:
        for chain in self._waiting(self.reading.chains):
            extent = self.sheet.extent
            self.sheet.put(*self.pen.hanging(chain, int(extent.right) + 4, int(extent.bottom) - LENGTH))
            self._mark(chain)

    # ---- a line ------------------------------------------------------------------------------
    def _head(self, sheet: Sheet, line: Line, x: int) -> int:
        """Draw a line on row 0 up to its first op-amp; return the column it has come to."""
        if line.nodes[0] in self.reading.inputs:
            sheet.put(*self.pen.input(line.nodes[0], x, 0))
            x += 3
        elif line.nodes[0] in self.reading.references:
            sheet.put(*self.pen.reference(line.nodes[0], x + 2, 0))
            x += 9
        for node, link in zip(line.nodes, (*line.links, None), strict=True):
            if not isinstance(link, Chain):
                return self._hang_on(sheet, node, x, 0, rails_only=True)
            x = self._hang_on(sheet, node, x, 0)
            x = self._along(sheet, link.seen_from(node), x, 0)
        return x

    def _rest(self, sheet: Sheet, line: Line, x: int) -> tuple[int, int]:
        """Draw a line from its first op-amp on, each op-amp two rows lower; return where it has come to."""
        first = line.links.index(line.opamps[0]) if line.opamps else len(line.links)
        x, y = self._hang_on(sheet, line.nodes[first], x, 0), 0
        for n in range(first, len(line.links)):
            link = line.links[n]
            if isinstance(link, OpAmpPart):
                x, y = self._amplifier(sheet, line, link, line.nodes[n], x, y), y + 2
            else:
                x = self._along(sheet, link.seen_from(line.nodes[n]), x, y)
            x = self._hang_on(sheet, line.nodes[n + 1], x, y)
        last = line.nodes[-1]
        if last == self.end or (line.nodes[0] in self.reading.inputs and line.opamps):
            name = self._terminal_name(last)
            sheet.put_free(lambda at: [self.pen.output(last, name, at, y)], x + 4)
        if line.tail:
            x = self._along(sheet, line.tail.seen_from(last), x, y)
        return x, y

    def _terminal_name(self, node: str) -> str:
        """Return what to write at an output: both names where the op-amp's output is the output."""
        also = [name for name, kept in self.reading.circuit.aliases if kept == node and "output" in name]
        if node == self.end and "output" not in node:
            also = also or ["output"]
        return " = ".join([node, *also])

    def _along(self, sheet: Sheet, chain: Chain, x: int, y: int) -> int:
        """Put the parts of a chain in a row; return the column of the node behind them."""
        for part, node in zip(chain.parts, chain.nodes, strict=False):
            single = Chain((part,), (node, ""))
            x = PITCH + sheet.put_free(partial(self.pen.row, single, y=y, pitch=0), x + self.spread)
        return x

    def _hang_on(self, sheet: Sheet, node: str, x: int, y: int, *, rails_only: bool = False) -> int:
        """Draw what goes up and down from a node of a line; return the column where the line goes on."""
        columns: list[int] = []
        for up in (True, False):
            column = x
            for chain in self._waiting(self.reading.at(node)):
                other = chain.other(node)
                elsewhere = other not in RAILS and (rails_only or self.rank[other] < self.rank[node])
                if (other == SUPPLY) == up and not elsewhere:
                    start = max(column, *(px for name, (px, _) in sheet.guides if name == other), column)
                    at = sheet.put_free(partial(self.pen.hanging, chain, y=y), start)
                    column = at + COLUMN
                    columns.append(at)
                    self._mark(chain)
        if all(name != node or row != y for name, (_, row) in sheet.guides):
            sheet.guides.append((node, (min(columns, default=x), y)))
        return max(columns, default=x - 2) + 2

    # ---- an op-amp ---------------------------------------------------------------------------
    def _amplifier(self, sheet: Sheet, line: Line, opamp: OpAmpPart, lead: str, x: int, y: int) -> int:
        """Draw an op-amp with its feedback and what hangs on its other input; return its output column."""
        own = Sheet(self.pen.amplifier(opamp, minus_up=lead == opamp.minus))
        right = self._feedback(own, line, opamp)
        for pin, owner in self.reading.attached.items():
            if owner == opamp:
                self._hang_below(own, pin)
        others = [px for name, (px, _) in sheet.guides if name in (opamp.plus, opamp.minus)]
        shift = max([x, *others]) - PIN_COLUMN + self.spread
        if not any(chain.ends[0] == lead for chain in self.loops[opamp.name]):
            start = next(px for name, (px, _) in sheet.guides if name == lead)
            shift = max(shift, start + 6 + self.pen.name_room(lead))
        while not sheet.has_room(own, 1.0 + self.spread, shift, y + 2):
            shift += 1
        sheet.add(own.moved(shift, y + 2))
        return shift + right

    def _feedback(self, own: Sheet, line: Line, opamp: OpAmpPart) -> int:
        """Stack feedback above and below an op-amp about the origin; return the column behind it."""
        right = OUT_COLUMN - 1
        if line.around(opamp)[1] & {opamp.plus, opamp.minus}:
            right = OUT_COLUMN
            back = opamp.minus if opamp.minus in line.around(opamp)[1] else opamp.plus
            self._turn(own, back, PIN_COLUMN, 2, 8)
            self._turn(own, back, OUT_COLUMN, 8, 0 if back == opamp.output else 8)
            own.lanes.append(Box(PIN_COLUMN, 7.6, OUT_COLUMN, 8.4))
        for chain in self.loops[opamp.name]:
            below = chain.ends[0] in self.reading.attached
            half = (PITCH * (len(chain.parts) - 1) + LENGTH) // 2
            start, step = (9, 1) if below else (-10, -1)
            row = own.put_free(partial(self.pen.row, chain, -half, pitch=PITCH), start, step, 0.2)
            right = max(right, OUT_COLUMN + self.spread, half + 1)
            if chain.ends[0] in (opamp.plus, opamp.minus):
                self._turn(own, chain.ends[0], PIN_COLUMN, 2 if below else -2, row)
            self._turn(own, chain.ends[1], right, 0, row)
        return right

    def _turn(self, own: Sheet, node: str, column: int, start: int, end: int) -> None:
        """Lead the wire of a node along a column, and keep room for it."""
        own.guides += [(node, (column, start)), (node, (column, end))]
        own.lanes.append(Box(column - 0.4, min(start, end), column + 0.4, max(start, end)))

    def _hang_below(self, own: Sheet, pin: str) -> None:
        """Draw what remains on the lower input: to ground under the feedback, to other nodes at the left."""
        own.guides.append((pin, (PIN_COLUMN, 2)))
        rows = [item.y for item in own.items if pin in item.nodes and item.y > LENGTH]
        column = PIN_COLUMN
        for chain in self._waiting(self.reading.at(pin)):
            if chain.ends[1] not in RAILS:
                self._lay_left(own, chain)
                continue
            start = max(rows) + 1 if rows else 3
            own.put_free(partial(self.pen.hanging, chain, column), start)
            self._mark(chain)
            column -= COLUMN

    def _lay_left(self, own: Sheet, chain: Chain) -> None:
        """Lay a chain from the lower input to a node elsewhere at the left of the op-amp."""
        width = PITCH * len(chain.parts)
        back = chain.seen_from(chain.ends[1])
        row = own.put_free(partial(self.pen.row, back, PIN_COLUMN - width, pitch=PITCH), 5)
        self._turn(own, chain.ends[0], PIN_COLUMN, 2, row)
        self._mark(chain)
