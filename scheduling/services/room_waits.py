"""What a stage of a room waits for: set, practice minimum, and the air that carries water off."""

from collections.abc import Iterator
from dataclasses import dataclass, field

from finishing.models import House
from finishing.rules.carried_water import drain_terms
from finishing.rules.vocabulary import Hardening
from scheduling.services.curves import CurveBook
from scheduling.services.house_air import HouseAir
from scheduling.services.laid_coats import coat_amount
from scheduling.services.room_work import RoomStage


@dataclass(frozen=True)
class StageWait:
    """A stage may start when ``curve`` says so, given when ``before`` ended."""

    before: RoomStage
    curve: str
    reason: str


@dataclass
class WaterInRoom:
    """Coats of a room in order, and between which of them everything had to be dry.

    Set is not dry: a setting coat hands its water on to the coats over it.
    """

    house: House
    air: HouseAir
    book: CurveBook
    coats: list[RoomStage] = field(default_factory=list)
    dry_between: list[bool] = field(default_factory=list)

    def add(self, coat: RoomStage, *, after_dry: bool) -> None:
        """Put a coat on. ``after_dry``: whether everything under it had to be dry."""
        if self.coats:
            self.dry_between.append(after_dry)
        self.coats.append(coat)

    def wet_amount(self) -> float:
        """Return the most water there can be under and in the last coat (table's coat is 1)."""
        terms = drain_terms(self._amounts(), self.dry_between)
        return max((amount for _, amount in terms), default=0.0)

    def until_gone(self) -> Iterator[StageWait]:
        """Yield the waits that together last until all water has gone."""
        for number, amount in drain_terms(self._amounts(), self.dry_between):
            coat = self.coats[number]
            yield StageWait(coat, self.book.air(self.house, self.air, amount, coat.key), "air")

    def _amounts(self) -> list[float]:
        """Return the drying each coat needs alone, by what crews have found wet in the house."""
        return [self.air.amount_of(coat.key, coat_amount(coat)) for coat in self.coats]


def waits_before(
    stage: RoomStage, previous: RoomStage | None, water: WaterInRoom
) -> list[StageWait]:
    """Return what ``stage`` waits for, given the stage before it and the water in the room."""
    if previous is None:
        return []
    compound = previous.compound
    if not previous.is_coat or compound is None:
        # Sanding and what comes after it have waited for all water already.
        return [hardening_wait(previous, water)]
    if not stage.is_coat:
        rule = StageWait(previous, water.book.practice(compound.sand_hours, water.house), "rule")
        return [rule, *water.until_gone()]
    if compound.hardening is Hardening.SETS:
        return [hardening_wait(previous, water)]
    rule = StageWait(previous, water.book.practice(compound.practice_hours, water.house), "rule")
    return [rule, *water.until_gone()]


def must_be_dry_before(previous: RoomStage | None) -> bool:
    """Return whether the stage before a coat makes everything under it dry first."""
    if previous is None or not previous.is_coat or previous.compound is None:
        return True
    return previous.compound.hardening is Hardening.DRIES


def hardening_wait(stage: RoomStage, water: WaterInRoom) -> StageWait:
    """Return the wait until what a stage put on is hard, water in it or not.

    A setting compound: the larger of its set time and the practice minimum, and the reason says
    which it was. A drying one: the practice minimum. None: the order of the stages is all.
    """
    compound = stage.compound if stage.hardens else None
    if compound is None:
        return StageWait(stage, water.book.lag(0), "order")
    if compound.hardening is Hardening.DRIES:
        return StageWait(stage, water.book.practice(compound.practice_hours, water.house), "rule")
    governs = "set" if compound.set_hours >= compound.practice_hours else "rule"
    hours = max(compound.set_hours, compound.practice_hours)
    return StageWait(stage, water.book.lag(hours), governs)
