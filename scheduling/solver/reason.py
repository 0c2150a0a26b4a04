"""What a reason is: why a task is not earlier, as a code with values."""

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Reason:
    """A rule that holds a task back. ``tick``: from when it lets go; with all other tasks where
    they are, the task could not start one tick before it.

    ``other`` is the task behind it, ``thing`` the equipment. Codes: a wait's own reason
    (``order``, ``set``, ``rule``, ``air``, ``dryer``), ``lag`` (it must end near the start of
    ``other``),
    ``run`` (the task before it in its run), ``equipment`` (all of it in use, by ``other`` last),
    ``dust`` (``other`` is dusty, or wet in the same air), ``room`` (``other`` is in the room),
    ``alone`` (it or ``other`` has the house to itself), ``full`` (as many crews as may be are in
    the house), ``travel`` (wash-up, way and set-up after ``other``), ``crew`` (its crew is at
    ``other``), ``base`` (the way from its crew's base), ``window`` (the crew is not at work
    before), ``access`` (the house opens then), ``area`` (others have the area until then),
    ``starts`` (it may begin from then), ``release``, ``now``, ``fixed`` (it was put there),
    ``together`` (no rule holds it, but earlier it would cost idle time or a visit), ``free``
    (nothing holds it there: it could be earlier at no cost).
    """

    code: str
    tick: int
    other: str = ""
    thing: str = ""


PLAINEST_LAST = (
    "now",
    "release",
    "starts",
    "area",
    "access",
    "window",
    "base",
    "crew",
    "travel",
    "full",
    "alone",
    "room",
    "dust",
    "equipment",
    "run",
    "lag",
)
"""Codes in rising order of how much they tell, for rules that let go at the same tick; the
waits come after all of these."""


def latest_reason(found: Iterable[Reason], tick: int) -> Reason:
    """Return the rule that lets go last, but not after a tick; the most telling of several."""
    return max((r for r in found if r.tick <= tick), key=lambda r: (r.tick, _weight(r)))


def _weight(reason: Reason) -> int:
    if reason.code in PLAINEST_LAST:
        return PLAINEST_LAST.index(reason.code)
    return len(PLAINEST_LAST)
