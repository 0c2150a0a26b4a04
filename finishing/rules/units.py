"""Units at the edges: everything inside is SI, with temperature in degrees Celsius.

Conversions are exact by definition (international foot and pound of 1959, Fahrenheit scale).
"""

import numpy as np
from numpy.typing import NDArray

type FloatArray = NDArray[np.float64]
type Numbers = FloatArray | float
"""An array of any shape, or a single number."""

METRES_PER_FOOT = 0.3048
MM_PER_INCH = 25.4
KG_PER_POUND = 0.45359237
LITRES_PER_GALLON = 231 * (MM_PER_INCH / 100) ** 3
"""The gallon of the United States: 231 cubic inches."""


def celsius_from_fahrenheit[Number: (float, FloatArray)](temperature_f: Number) -> Number:
    """Return degrees Celsius of a temperature (a number or an array) in degrees Fahrenheit."""
    return (temperature_f - 32.0) / 1.8


def fahrenheit_from_celsius[Number: (float, FloatArray)](temperature_c: Number) -> Number:
    """Return degrees Fahrenheit of a temperature (a number or an array) in degrees Celsius."""
    return temperature_c * 1.8 + 32.0


def metres_from_feet(length_ft: float) -> float:
    """Return metres of a length in feet."""
    return length_ft * METRES_PER_FOOT


def square_metres_from_square_feet(area_ft2: float) -> float:
    """Return square metres of an area in square feet."""
    return area_ft2 * METRES_PER_FOOT**2


def millimetres_from_inches(length_in: float) -> float:
    """Return millimetres of a length in inches."""
    return length_in * MM_PER_INCH
