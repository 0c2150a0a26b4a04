"""Numbers as people write them."""

import math
import re

_NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)")


def number_of(text: str) -> float:
    """Return a decimal number; ValueError for anything else that Python would take for one, as
    "1_0" (which it reads as ten), "1e3" or "inf", and for one past all bounds."""
    number = float(text) if _NUMBER.fullmatch(text) else math.inf
    if not math.isfinite(number):
        raise ValueError(f"{text!r} is not a number such as 12.5")
    return number
