"""What "not dry yet" says of a coat and, said of several coats, of all coats in a house.

A look cannot tell by how much a coat is slower, only that it is: the least extra drying that fits
is taken. Everything is worked out from the list of reports alone, so leaving one out undoes it.
Amounts of drying are those of :mod:`drying`, with the table's coat as 1.

Assumptions: a coat found not dry has at least a fifth of its drying to go, since one with less
looks and feels dry over most of its face; coats in a house are laid on by the same hands, so what
two of them have both needed more of, all will; a factor above 1.5 is not thickness any more.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from math import isfinite, isnan
from types import MappingProxyType

STILL_WET_SHARE = 0.2
LEAST_FACTOR, MOST_FACTOR = 1.0, 1.5
COATS_FOR_FACTOR = 2
"""The factor is what so many coats have needed at least: one slow coat is no habit."""
_ROUNDING = 1e-6


@dataclass(frozen=True, slots=True)
class FoundWet:
    """A crew looked at a coat and found it not dry.

    coat: its key. amount: drying it needs, above 0. looked_at_hour and dry_at_hour (when it was
    predicted to be dry, infinite if never) count from one origin. left: drying predicted to be left
    at the look; below 0 by what the air has done since dry_at_hour. All of it predicted as if
    nobody had reported anything, or undoing one report would not undo its mark on the next.
    """

    coat: str
    amount: float
    looked_at_hour: float
    dry_at_hour: float
    left: float


class ReportError(ValueError):
    """Reports that cannot be; ``faults`` names each with its place in the list and its coat."""

    def __init__(self, faults: list[str]) -> None:
        self.faults = faults
        super().__init__("; ".join(faults))


class CoatCode(StrEnum):
    """Why a coat gets extra drying, or none."""

    AS_PREDICTED = "as_predicted"
    """It was to be that wet still."""
    SLOWER = "slower"


class HouseCode(StrEnum):
    """Why a house has its factor."""

    TOO_FEW_COATS = "too_few_coats"
    THICKER = "thicker"
    THICKER_AT_BOUND = "thicker_at_bound"
    """The coats say more than the bound allows: something else may be wrong there."""


@dataclass(frozen=True, slots=True)
class CoatThickness:
    """extra: drying that a coat of ``amount`` needs besides. hours_past: how long after it was
    predicted dry (before, if negative) the look was that says so; looks: how many there were."""

    code: CoatCode
    amount: float
    extra: float
    hours_past: float
    looks: int


@dataclass(frozen=True, slots=True)
class HouseThickness:
    """factor: on every coat's amount, from 1 to 1.5. coats_say: the same without bounds.
    slower: keys of the coats that got extra drying, sorted."""

    code: HouseCode
    factor: float
    coats_say: float
    slower: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Thickness:
    """What a house's reports come to; coats that nobody reported on are not in ``coats``."""

    coats: Mapping[str, CoatThickness]
    house: HouseThickness

    def amount_of(self, coat: str, amount: float) -> float:
        """Return the drying that a coat of ``amount`` needs in all.

        The larger of what its own looks and the house's factor say, not both: it is one water.
        """
        own = self.coats.get(coat)
        return max(amount * self.house.factor, amount + (own.extra if own else 0.0))


def thickness(reports: Iterable[FoundWet]) -> Thickness:
    """Return what reports of one house, in any order, come to.

    A further report never lowers a coat's extra drying or the factor. Raises
    :class:`ReportError` with every fault.
    """
    listed = list(reports)
    if faults := [*_faults(listed), *_uneven(listed)]:
        raise ReportError(faults)
    looks = defaultdict(list)
    for report in listed:
        looks[report.coat].append(report)
    coats = {coat: _coat(looks[coat]) for coat in sorted(looks)}
    return Thickness(MappingProxyType(coats), _house(coats))


def _coat(looks: list[FoundWet]) -> CoatThickness:
    tells_most = min(looks, key=lambda look: (look.left, look.looked_at_hour))
    extra = max(STILL_WET_SHARE * tells_most.amount - tells_most.left, 0.0)
    return CoatThickness(
        CoatCode.SLOWER if extra else CoatCode.AS_PREDICTED,
        tells_most.amount,
        extra,
        tells_most.looked_at_hour - tells_most.dry_at_hour,
        len(looks),
    )


def _house(coats: Mapping[str, CoatThickness]) -> HouseThickness:
    slower = tuple(key for key, coat in coats.items() if coat.extra)
    if len(slower) < COATS_FOR_FACTOR:
        return HouseThickness(HouseCode.TOO_FEW_COATS, LEAST_FACTOR, LEAST_FACTOR, slower)
    needed = sorted((1.0 + coats[key].extra / coats[key].amount for key in slower), reverse=True)
    say = needed[COATS_FOR_FACTOR - 1]
    code = HouseCode.THICKER_AT_BOUND if say > MOST_FACTOR else HouseCode.THICKER
    return HouseThickness(code, min(say, MOST_FACTOR), say, slower)


def _faults(reports: list[FoundWet]) -> Iterator[str]:
    for number, report in enumerate(reports):
        place = f"report {number}, coat {report.coat}"
        if not (isfinite(report.amount) and report.amount > 0.0):
            yield f"{place}: amount {report.amount:g} is not above 0"
        elif not report.left <= report.amount:
            yield f"{place}: {report.left:g} left of {report.amount:g} cannot be"
        if not (isfinite(report.looked_at_hour) and isfinite(report.left)):
            yield f"{place}: looked_at_hour and left must be numbers"
        elif isnan(report.dry_at_hour):
            yield f"{place}: dry_at_hour must be a number"
        elif _contradicts(report):
            yield f"{place}: {report.left:g} left does not go with when it was predicted dry"


def _contradicts(report: FoundWet) -> bool:
    is_past = report.looked_at_hour >= report.dry_at_hour
    return report.left > _ROUNDING if is_past else report.left < -_ROUNDING


def _uneven(reports: list[FoundWet]) -> Iterator[str]:
    amounts = defaultdict(set)
    for report in reports:
        amounts[report.coat].add(report.amount)
    for coat, said in amounts.items():
        if len(said) > 1:
            yield f"coat {coat}: reports give it {len(said)} different amounts"
