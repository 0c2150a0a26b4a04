"""Numbers that the environment may set."""

import re
from collections.abc import Mapping
from typing import NamedTuple


class WholeNumber(NamedTuple):
    """What a setting is when nobody sets it, and the least and most that it may be."""

    default: int
    least: int
    most: int


def whole_numbers(
    environment: Mapping[str, str], asked: Mapping[str, WholeNumber]
) -> dict[str, int]:
    """Return the number of each variable asked for, by name; a blank one has its default.

    Raises SystemExit with all faults in one line: whatever reads the settings, a command, a web
    server or a worker, ends with that line, where any other exception would print a traceback.
    """
    found, faults = {}, []
    for name, number in asked.items():
        text = environment.get(name, "").strip()
        value = int(text) if re.fullmatch(r"[0-9]{1,12}", text) else None
        if not text:
            found[name] = number.default
        elif value is not None and number.least <= value <= number.most:
            found[name] = value
        else:
            limits = f"a whole number from {number.least} to {number.most}"
            faults.append(f"{name}: {text[:40]!r} is not {limits}")
    if faults:
        raise SystemExit("; ".join(faults))
    return found
