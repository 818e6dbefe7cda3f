"""Quantities as read off the tool: parse, keep as read, compare exactly, show; nothing else converts."""

from treadle.measure.parse import read_distance, read_quantity, units_of
from treadle.measure.quantity import Quantity, show_number
from treadle.measure.units import ALIASES, UNITS, Unit, convert

__all__ = [
    "ALIASES",
    "UNITS",
    "Quantity",
    "Unit",
    "convert",
    "read_distance",
    "read_quantity",
    "show_number",
    "units_of",
]
