"""The drawing rules hold for circuits that no registry has: read back, each is its circuit."""

import pytest

from singlerail_nb.plots.schematic.drawing import Wish, draw
from singlerail_nb.plots.schematic.svg import write_svg
from tests.plots.circuits_to_draw import CIRCUITS
from tests.plots.schematic_reader import Reader


def picture_of(circuit):
    values = {part.name: "4.7 kΩ" if part.kind == "resistor" else "220 nF" for part in circuit.parts}
    values |= {"supply": "9 V", **{source.name: "2.5 V" for source in circuit.level_sources}}
    plus = tuple((part.name, n % 2) for n, part in enumerate(circuit.capacitors))
    drawing = draw(circuit, Wish(tuple(values.items()), plus))
    return Reader(write_svg(drawing, circuit.name, circuit.name, values, {}))


@pytest.mark.parametrize("name", CIRCUITS)
def test_picture_is_the_circuit(name):
    circuit = CIRCUITS[name]
    picture = picture_of(circuit)
    drawn = [s.name for s in picture.shapes]
    once = [*circuit.part_names, *(o.name for o in circuit.opamps)]
    assert [name for name in once if drawn.count(name) != 1] == []
    assert picture.nodes(circuit) == []
    assert picture.dot_faults() == []
    assert picture.overlaps() == []
    assert set(picture.marks) == {part.name for part in circuit.capacitors}
