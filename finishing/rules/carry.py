"""What a crew opens, what is left of it, and what of that still is good at the next visit.

A crew's van carries what is left of opened packs from visit to visit, whatever the house, as long
as they keep. Packs are bought for a whole house: where a visit needs more than the van holds, the
mix of sizes is chosen for all that the crew still needs of it in that house (packs.py).
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

from finishing.rules.packs import TINY, Packs, best_packs


@dataclass(frozen=True, slots=True)
class Use:
    """So much of a thing is used by a crew on a day. day: counted from any first day.

    key: of the visit. house: where, by any name. amount: kg, metres or pieces, never below 0.
    """

    key: str
    house: str
    day: int
    amount: float


@dataclass(frozen=True, slots=True)
class Drawn:
    """Where the material of a use comes from.

    from_open: what is taken of packs opened before. opened: packs opened now. bought: packs bought
    now for this house, some of them opened later. spoiled: thrown away, opened too long ago.
    left: what the opened packs hold afterwards.
    """

    use: Use
    from_open: float
    opened: Packs
    bought: Packs
    spoiled: float
    left: float


@dataclass(slots=True)
class _Open:
    amount: float
    day: int


@dataclass(slots=True)
class _Van:
    """What a crew carries: opened packs, the oldest first, and full ones."""

    keeps_days: int | None
    opened: list[_Open] = field(default_factory=list)
    full: list[float] = field(default_factory=list)

    def throw_away(self, day: int) -> float:
        if self.keeps_days is None:
            return 0.0
        gone = [pack for pack in self.opened if day - pack.day > self.keeps_days]
        self.opened = [pack for pack in self.opened if pack not in gone]
        return sum(pack.amount for pack in gone)

    def take(self, amount: float) -> float:
        """Return what of the amount the opened packs give."""
        taken = 0.0
        for pack in self.opened:
            part = min(pack.amount, amount - taken)
            pack.amount -= part
            taken += part
        self.opened = [pack for pack in self.opened if pack.amount > TINY]
        return taken

    def open_one(self, day: int) -> float:
        size = self.full.pop(0)
        self.opened.append(_Open(size, day))
        return size


def carry(
    uses: Sequence[Use], sizes: Sequence[float], *, keeps_days: int | None = None
) -> list[Drawn]:
    """Return where the material of each use comes from, in order of day.

    uses: of one crew and one thing, in any order. sizes: of packs (see :func:`best_packs`).
    keeps_days: how many days after its opening a pack is still good, None for any number.
    Bought = used + spoiled + left over: see ``tests/finishing/rules/test_carry.py``.
    """
    ordered = sorted(uses, key=lambda use: use.day)
    van = _Van(keeps_days)
    return [_draw(van, ordered, number, sizes) for number in range(len(ordered))]


def _draw(van: _Van, uses: Sequence[Use], number: int, sizes: Sequence[float]) -> Drawn:
    use = uses[number]
    spoiled = van.throw_away(use.day)
    from_open = van.take(use.amount)
    short = use.amount - from_open
    opened: list[float] = []
    bought: list[float] = []
    while short > TINY:
        if not van.full:
            ahead = sum(other.amount for other in uses[number + 1 :] if other.house == use.house)
            packs = best_packs(short + ahead, sizes)
            van.full.extend(packs)
            bought.extend(packs)
        opened.append(van.open_one(use.day))
        short -= van.take(short)
    left = sum(pack.amount for pack in van.opened)
    return Drawn(use, from_open, tuple(opened), tuple(bought), spoiled, left)
