"""Work as people name it: a house, a stage or an odd job, and the rooms or areas of it."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from django.utils.translation import gettext

from finishing.models import Area, Company, House, Room
from finishing.queries.houses import houses_for_planning
from finishing.rules.readiness import ODD_JOB
from finishing.rules.vocabulary import Stage
from finishing.services.errors import Fault, InputFaults
from scheduling.services.reported import stage_key_of
from scheduling.services.room_work import RoomStage, read_settings, room_stages
from scheduling.wording import listed, stage_name


@dataclass(frozen=True)
class RoomWork:
    """A stage of a room with all stages of that room in order, or an odd job (both None)."""

    key: str
    name: str
    stage: RoomStage | None = None
    area: Area | None = None
    stages: tuple[RoomStage, ...] = ()

    @property
    def before(self) -> RoomStage | None:
        """Return the stage of the room that comes before this one."""
        if self.stage is None:
            return None
        number = self.stages.index(self.stage)
        return self.stages[number - 1] if number else None


@dataclass(frozen=True)
class WorkName:
    """What somebody calls a piece of work. work: a stage, by code or name, or an odd job's name.

    areas, rooms: names; none of either for all of the house.
    """

    house: str
    work: str
    areas: Sequence[str] = ()
    rooms: Sequence[str] = ()


def find_work(*, company: Company, name: WorkName) -> list[RoomWork]:
    """Return the work that is meant, in order of rooms; raise InputFaults with all that is not
    known of the name."""
    house = houses_for_planning(company).filter(name=name.house).first()
    if house is None:
        known = House.objects.filter(company=company, is_active=True).order_by("name")
        raise InputFaults([_unknown("house", name.house, [row.name for row in known])])
    job = house.odd_jobs.filter(name=name.work).first()
    if job is not None:
        return [RoomWork(f"{job.public_id}:{ODD_JOB}", f"{house}, {job.name}")]
    stage, faults = _stage(name.work), _unknown_places(house, name)
    if stage is None:
        known_work = [*Stage, *(row.name for row in house.odd_jobs.all())]
        faults.append(_unknown("work", name.work, [str(work) for work in known_work]))
    if faults or stage is None:
        raise InputFaults(faults)
    return _in_rooms(company, house, stage, name)


def find_keyed_work(*, house: House, keys: Iterable[str]) -> list[RoomWork]:
    """Return the work of these task keys in a house, in their order, each stage of a room once;
    raise InputFaults with all that are none (any more).

    house: as ``houses_for_planning`` reads it.
    """
    settings = read_settings(house.company)
    known = {f"{job.public_id}:{ODD_JOB}": f"{house}, {job.name}" for job in house.odd_jobs.all()}
    work = {key: RoomWork(key, name) for key, name in known.items()}
    for area in house.areas.all():
        for room in area.rooms.all():
            stages = tuple(room_stages(room, area, settings))
            work |= {row.key: _room_work(house, area, row, stages) for row in stages}
    wanted = list(dict.fromkeys(stage_key_of(key) for key in keys))
    gone = [key for key in wanted if key not in work]
    if gone:
        said = gettext("%(stage)s is no more to do in this room. Ask the office.")
        raise InputFaults(
            Fault("work", said % {"stage": stage_name(key.split(":")[1])}) for key in gone
        )
    return [work[key] for key in wanted]


def _room_work(house: House, area: Area, row: RoomStage, stages: tuple[RoomStage, ...]) -> RoomWork:
    words = listed([house.name, area.name, row.room.name, stage_name(row.stage)])
    return RoomWork(row.key, words, row, area, stages)


def _in_rooms(company: Company, house: House, stage: Stage, name: WorkName) -> list[RoomWork]:
    settings = read_settings(company)
    found, without = [], []
    for area, room in _rooms(house, name):
        stages = tuple(room_stages(room, area, settings))
        mine = next((row for row in stages if row.stage == stage), None)
        if mine is None:
            without.append(room.name)
            continue
        found.append(_room_work(house, area, mine, stages))
    if without and (name.rooms or not found):
        raise InputFaults(
            Fault("work", f"there is no {stage_name(stage)} in {room}") for room in without
        )
    return found


def _rooms(house: House, name: WorkName) -> Iterable[tuple[Area, Room]]:
    for area in house.areas.all():
        if not name.areas or area.name in name.areas:
            for room in area.rooms.all():
                if not name.rooms or room.name in name.rooms:
                    yield area, room


def _unknown_places(house: House, name: WorkName) -> list[Fault]:
    """Return what is wrong with the areas and rooms: unknown, or a room of several areas."""
    areas = [area.name for area in house.areas.all()]
    faults = [_unknown("area", area, areas) for area in name.areas if area not in areas]
    everywhere = [room.name for _, room in _rooms(house, WorkName(house.name, ""))]
    rooms = [room.name for _, room in _rooms(house, name)]
    for room in name.rooms:
        if room not in rooms and not faults:
            faults.append(_unknown("room", room, everywhere))
        elif rooms.count(room) > 1 and not name.areas:
            faults.append(Fault("room", f"{room!r} is in several areas: name the area too"))
    return faults


def _stage(text: str) -> Stage | None:
    wanted = text.strip().lower().replace("-", " ").replace("_", " ")
    for stage in Stage:
        if wanted in (stage.replace("_", " "), stage_name(stage).lower()):
            return stage
    return None


def _unknown(place: str, name: str, known: Sequence[str]) -> Fault:
    return Fault(place, f"no {name!r}; known: {', '.join(dict.fromkeys(known)) or 'none yet'}")
