"""Doors and windows as a person writes them: "0.9x2.1; 1.2x1.2@0.9 on 1 lined"."""

import re
from collections.abc import Iterable

from finishing.rules.room_shapes import Opening

_SIZE = r"(\d+(?:[.,]\d+)?)"
_OPENING = re.compile(rf"{_SIZE}\s*x\s*{_SIZE}(?:\s*@\s*{_SIZE})?(?:\s+on\s+([0-3]))?(\s+lined)?")


def read_openings(text: str) -> tuple[Opening, ...]:
    """Read width x height, "@ sill" where it does not reach the floor, "on" a wall, "lined".

    Walls 0 and 2 lie along the room's length, 1 and 3 across; without "on" it is wall 0.
    Metres, with a decimal point. Raise ValueError naming each opening that cannot be read.
    """
    openings: list[Opening] = []
    faults: list[str] = []
    for part in filter(None, (piece.strip() for piece in text.lower().split(";"))):
        match = _OPENING.fullmatch(part)
        if match is None:
            faults.append(part)
            continue
        width, height, sill, wall, lined = match.groups()
        width_m, height_m, sill_m = (
            float(size.replace(",", ".")) for size in (width, height, sill or "0")
        )
        openings.append(Opening(width_m, height_m, sill_m, bool(lined), int(wall or 0)))
    if faults:
        listed = ", ".join(map(repr, faults))
        raise ValueError(f"{listed}: an opening is written as 0.9x2.1 or 1.2x1.2@0.9 lined")
    return tuple(openings)


def opening_text(openings: Iterable[Opening]) -> str:
    """Return openings as a person writes them; read_openings gives the same ones again."""
    return "; ".join(map(_one_text, openings))


def _one_text(opening: Opening) -> str:
    sill = f"@{opening.sill_m:g}" if opening.sill_m else ""
    wall = f" on {opening.wall}" if opening.wall else ""
    lined = " lined" if opening.lined else ""
    return f"{opening.width_m:g}x{opening.height_m:g}{sill}{wall}{lined}"
