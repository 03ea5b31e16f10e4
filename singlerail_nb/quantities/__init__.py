"""Quantities: text such as "4k7", "2µ2", "47 kohm" or "-3 dB" to SI numbers, and back.

Reading never guesses: a text without its unit, with a decimal comma or with a value that no part
of this trade has is refused with one `QuantityError` that says what to write instead.
"""

from .fields import read_fields, read_temperature
from .parts import PART_LIMITS, read_part
from .reading import QuantityLike, read_gain, read_quantity
from .writing import write_code, write_quantity

__all__ = [
    "PART_LIMITS",
    "QuantityLike",
    "read_fields",
    "read_gain",
    "read_part",
    "read_quantity",
    "read_temperature",
    "write_code",
    "write_quantity",
]
