"""What there is to do in an area, stage by stage, and what of it is done."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from finishing.models import Area, House, Room
from finishing.queries.air_sources import HouseSources
from finishing.rules.vocabulary import Stage
from scheduling.services.done_work import DoneStage, DoneWork
from scheduling.services.house_climates import WantedAir
from scheduling.services.room_work import ORDER, RoomStage, Settings, room_stages
from scheduling.services.timeline import TICKS_PER_HOUR


@dataclass(frozen=True)
class AreaSurvey:
    """An area with the stages of its rooms in order of doing; ``done``: by stage key, what is done
    of them, held against all the work there is in each."""

    area: Area
    rooms: tuple[tuple[Room, tuple[RoomStage, ...]], ...]
    done: Mapping[str, DoneStage]

    @property
    def left(self) -> list[Stage]:
        """The stages that at least one room still has before it, in order of doing."""
        left = {
            stage.stage
            for _, stages in self.rooms
            for stage in stages
            if not ((over := self.done.get(stage.key)) and over.whole)
        }
        return [stage for stage in ORDER if stage in left]


@dataclass(frozen=True)
class HouseSurvey:
    """A house with its areas as they stand, and what its air depends on."""

    house: House
    sources: HouseSources
    areas: Sequence[AreaSurvey]
    wanted: WantedAir

    def visited_hours(self, ends: Mapping[str, int]) -> frozenset[int]:
        """Return the hours before which somebody has been there: when what is done ended, and when
        tasks (keys) are to end."""
        rooms = {str(room.public_id) for found in self.areas for room, _ in found.rooms}
        there = [end for key, end in ends.items() if key.split(":")[0] in rooms]
        there += [over.ended_tick for found in self.areas for over in found.done.values()]
        return frozenset(-(-end // TICKS_PER_HOUR) for end in there)


def survey(area: Area, settings: Settings, work: DoneWork) -> AreaSurvey:
    """Return an area as it stands; stages done are with the compound that was used, where that is
    on record, rather than the system's."""
    rooms = [(room, room_stages(room, area, settings)) for room in area.rooms.all()]
    minutes = {stage.key: stage.person_minutes for _, stages in rooms for stage in stages}
    known = work.stages_of(area, [room for room, _ in rooms])
    done = {key: over.against(minutes.get(key, 0)) for key, over in known.items()}
    return AreaSurvey(
        area,
        tuple((room, tuple(_as_done(stage, done) for stage in stages)) for room, stages in rooms),
        done,
    )


def _as_done(stage: RoomStage, done: Mapping[str, DoneStage]) -> RoomStage:
    over = done.get(stage.key)
    return replace(stage, compound=over.compound) if over and over.compound else stage
