"""The coats whose water counts in a house: those done, those planned, parts of them."""

import pytest

from finishing.models import Area, CoatDone
from finishing.queries.volumes import LEAST_ROOM_M3, M3_PER_M2_BOARD, volume_m3
from finishing.rules.vocabulary import Stage
from scheduling.services.done_work import DoneStage
from scheduling.services.laid_coats import LaidCoat, coat_water_kg, laid_coats
from scheduling.services.room_work import RoomStage, read_settings, room_stages
from tests.sites import make_site, utc

pytestmark = pytest.mark.django_db

DRYING = "All-purpose drying"


@pytest.fixture
def stages() -> list[RoomStage]:
    company, house = make_site(system=DRYING)
    area = house.areas.get()
    (room,) = area.rooms.all()
    return room_stages(room, area, read_settings(company))


def coats(
    stages: list[RoomStage], done: dict[str, DoneStage], ends: dict[str, int]
) -> list[LaidCoat]:
    return list(laid_coats(Area.objects.get(), stages, done, ends))


def tape(stages: list[RoomStage]) -> RoomStage:
    return next(stage for stage in stages if stage.stage == Stage.TAPE)


def test_a_coat_is_what_it_takes_of_compound_by_its_water(stages: list[RoomStage]) -> None:
    """20 m tapered, 4 m butt, 12 m internal (tests/sites.py), by rules/materials.py per metre:
    114 x 1.4 mm x 2/3 = 0.1064 l, 30 % of 2/3 x 600 x 2 mm = 0.24 l, 100 x 1 mm = 0.1 l."""
    stage = tape(stages)
    assert stage.compound is not None
    litres = sum(
        part.quantities.get(kind, 0.0) * share * per_m
        for part in stage.surfaces
        for kind, share in part.work.kinds.items()
        for name, per_m in (
            ("tapered", 0.1064),
            ("butt", 0.24),
            ("internal", 0.1),
            ("fasteners", 0.001),
        )
        if kind == name
    )
    water = litres * stage.compound.density_kg_per_l * stage.compound.water_fraction
    assert coat_water_kg(stage) == pytest.approx(water)


def test_what_is_not_done_is_shared_by_the_parts_planned(stages: list[RoomStage]) -> None:
    stage = tape(stages)
    done = {stage.key: DoneStage(100, whole=False, minutes=round(stage.person_minutes * 0.25))}
    found = coats(stages, done, {f"{stage.key}:2": 500, f"{stage.key}:3": 700})
    assert [(coat.part, coat.end_tick) for coat in found] == [(0, 100), (2, 500), (3, 700)]
    assert sum(coat.water_kg for coat in found) == pytest.approx(coat_water_kg(stage))
    assert found[0].water_kg == pytest.approx(coat_water_kg(stage) * 0.25, rel=0.02)
    assert found[1].water_kg == found[2].water_kg


def test_a_done_coat_that_an_older_plan_still_has_to_come_is_there_once(
    stages: list[RoomStage],
) -> None:
    """A second one would need drying without having any water."""
    stage = tape(stages)
    found = coats(stages, {stage.key: DoneStage(100)}, {stage.key: 900, f"{stage.key}:2": 950})
    assert [(coat.part, coat.end_tick) for coat in found] == [(0, 100)]


def test_a_done_coat_counts_once_and_stages_without_water_do_not(stages: list[RoomStage]) -> None:
    stage = tape(stages)
    sanding = next(row for row in stages if row.stage == Stage.SAND)
    found = coats(stages, {stage.key: DoneStage(100)}, {sanding.key: 900})
    assert [(coat.key, coat.water_kg) for coat in found] == [(stage.key, coat_water_kg(stage))]


def test_of_an_area_entered_half_done_only_the_stage_it_was_at_counts(
    stages: list[RoomStage],
) -> None:
    area = Area.objects.get()
    CoatDone.objects.create(
        company=area.company, area=area, stage=Stage.SECOND, ended_at=utc("2026-03-01 12:00")
    )
    done = {row.key: DoneStage(50) for row in stages if row.stage in (Stage.TAPE, Stage.SECOND)}
    assert [coat.stage for coat in coats(stages, done, {})] == [Stage.SECOND]


def test_volume_is_the_houses_own_or_that_of_its_rooms_or_of_their_board() -> None:
    _, house = make_site(rooms=("Hall", "Kitchen", "Store"))
    hall, _, store = house.areas.get().rooms.order_by("position")
    hall.length_m, hall.width_m, hall.height_m = 5.0, 4.0, 2.5
    hall.save()
    store.surfaces.update(area_m2=0.0)
    assert volume_m3(house) == pytest.approx(50 + 40 * M3_PER_M2_BOARD + LEAST_ROOM_M3)
    house.volume_m3 = 321.0
    assert volume_m3(house) == 321.0
