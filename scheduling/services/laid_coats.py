"""Coats that give off water in a house: those done, and those that a plan puts on."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from finishing.models import Area, Room
from finishing.rules.drying import STAGE_THICKNESS_MM, thickness_amount
from finishing.rules.vocabulary import Stage
from finishing.rules.water_load import stage_water_kg
from scheduling.services.done_work import DoneStage
from scheduling.services.reported import stage_key_of
from scheduling.services.room_work import ORDER, RoomStage

TOUCH_UP_MM = STAGE_THICKNESS_MM[Stage.FINISH]
"""Spots of touching up are as thin as a finish coat: an assumption."""


@dataclass(frozen=True)
class LaidCoat:
    """A coat of a room, or a part of it, that gets wet at ``end_tick``.

    key: the task's. part: 0 for what is done, else its number. amount: drying it needs by itself
    (1: the table's coat).
    """

    key: str
    room: Room
    stage: Stage
    part: int
    end_tick: int
    water_kg: float
    amount: float


def coat_amount(coat: RoomStage) -> float:
    """Return the drying a coat needs by itself (the table's coat is 1)."""
    return thickness_amount(STAGE_THICKNESS_MM.get(coat.stage, TOUCH_UP_MM))


def coat_water_kg(coat: RoomStage) -> float:
    """Return the water in a coat of a room, in kg."""
    return sum(
        stage_water_kg(
            part.work, part.quantities, area_m2=part.surface.area_m2, compound=coat.compound
        )
        for part in coat.surfaces
    )


def laid_coats(
    area: Area, stages: Iterable[RoomStage], done: Mapping[str, DoneStage], ends: Mapping[str, int]
) -> Iterator[LaidCoat]:
    """Yield the coats of an area.

    ends: by task key the tick at which a plan has it end. What is not done of a stage is shared
    evenly by the parts that the plan has of it. Of an area entered half-done, only the stage it
    was entered at counts: those before it are taken as ended with it, but have dried for longer.
    """
    parts = _parts(ends)
    for stage in stages:
        water_kg = coat_water_kg(stage) if stage.is_coat and stage.hardens else 0.0
        if not water_kg:
            continue
        key = stage.key
        behind, planned = done.get(key), parts.get(key, {})
        share = _share_done(behind, stage)
        left = (1.0 - share) / max(len(planned), 1)
        there = [] if behind is None or _entered_past(area, stage) else [(0, behind.ended_tick)]
        to_come = planned.items() if left else ()  # a plan may be older than what is done
        for part, end_tick in (*there, *to_come):
            yield LaidCoat(
                key if part < 2 else f"{key}:{part}",
                stage.room,
                stage.stage,
                part,
                end_tick,
                water_kg * (left if part else share),
                coat_amount(stage),
            )


def _parts(ends: Mapping[str, int]) -> dict[str, dict[int, int]]:
    """Return the end of each part by stage key and number."""
    parts: defaultdict[str, dict[int, int]] = defaultdict(dict)
    for key, end in ends.items():
        stage_key = stage_key_of(key)
        number = key.removeprefix(stage_key).removeprefix(":")
        parts[stage_key][int(number) if number else 1] = end
    return parts


def _share_done(done: DoneStage | None, stage: RoomStage) -> float:
    if done is None:
        return 0.0
    return 1.0 if done.whole else min(done.minutes / stage.person_minutes, 1.0)


def _entered_past(area: Area, stage: RoomStage) -> bool:
    entered = getattr(area, "coat_done", None)
    return entered is not None and ORDER.index(stage.stage) < ORDER.index(Stage(entered.stage))
