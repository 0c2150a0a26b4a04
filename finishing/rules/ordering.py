"""What has to be bought, by when, and which needs are there too late.

Needs are met in order of day: from full packs that are there or on their way, the earliest first,
else from an order made today. A pack of another size does as well as far as it goes. Days are
counted from any first day.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from finishing.rules.packs import TINY, Packs, best_packs


@dataclass(frozen=True, slots=True)
class Needed:
    """Packs that a visit (key) opens on a day."""

    key: str
    day: int
    packs: Packs


@dataclass(frozen=True, slots=True)
class Arrival:
    """So much in full packs, there from a day on."""

    day: int
    amount: float


@dataclass(frozen=True, slots=True)
class Covered:
    """How a need is met. to_buy: packs to order. there_on: the day on which all of it is there."""

    need: Needed
    to_buy: Packs
    there_on: int

    @property
    def late(self) -> bool:
        """Whether it is not all there on its day."""
        return self.there_on > self.need.day


def cover(
    needs: Iterable[Needed],
    arrivals: Iterable[Arrival],
    sizes: Sequence[float],
    *,
    today: int,
    lead_days: int,
) -> list[Covered]:
    """Return how each need is met, in order of day.

    sizes: of packs that can be bought. What is on its way is waited for rather than bought twice,
    unless an order would be there before it.
    """
    waiting = [[arrival.day, arrival.amount] for arrival in sorted(arrivals, key=lambda a: a.day)]
    ordered_by = today + lead_days
    found = []
    for need in sorted(needs, key=lambda need: need.day):
        there_on, short = today, sum(need.packs)
        for one in waiting:
            in_time = one[0] <= max(need.day, ordered_by)
            if short <= TINY or not in_time:
                break
            taken = min(one[1], short)
            if taken > TINY:
                there_on = max(there_on, int(one[0]))
            one[1] -= taken
            short -= taken
        to_buy = need.packs if short >= sum(need.packs) - TINY else best_packs(short, sizes)
        found.append(Covered(need, to_buy, max(there_on, ordered_by) if to_buy else there_on))
    return found


def first_day_there(
    amounts: Sequence[float], arrivals: Sequence[Arrival], *, today: int, lead_days: int
) -> list[int]:
    """Return for each amount, met one after another, the day from which all of it is there.

    For work without a day yet: whoever comes first is served first, of what is there, then of what
    is on its way, and the rest ``lead_days`` from today.
    """
    ordered_by = today + lead_days
    days, wanted = [], 0.0
    for amount in amounts:
        wanted += amount
        held, day = 0.0, today
        for arrival in sorted(arrivals, key=lambda arrival: arrival.day):
            if held >= wanted - TINY:
                break
            held, day = held + arrival.amount, max(day, arrival.day)
        covered = held >= wanted - TINY
        days.append(today if amount <= TINY else min(day, ordered_by) if covered else ordered_by)
    return days
