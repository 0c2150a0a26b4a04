from datetime import UTC, date, datetime

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from finishing.models import Area, CoatDone, Company, House, JointLine, Room, Surface
from finishing.queries.houses import houses_for_planning
from finishing.rules.vocabulary import Heating, JointKind
from finishing.services.air import put_air_source
from finishing.services.companies import start_company
from finishing.services.errors import InputFaults
from finishing.services.house_sheet import read_houses
from finishing.services.houses import put_houses
from finishing.services.sheet_lookups import Lookups

pytestmark = pytest.mark.django_db

HEADER = "house,handover,area,room,surface,level"


@pytest.fixture
def company() -> Company:
    return start_company(name="Test Finishing", zone="Europe/Dublin")


def load(company: Company, content: str) -> None:
    lookups = Lookups.of(company)
    houses = read_houses(name="houses.csv", content=content.encode(), lookups=lookups)
    put_houses(company=company, houses=houses)


def refused(company: Company, content: str) -> list[str]:
    with pytest.raises(InputFaults) as caught:
        load(company, content)
    assert not House.objects.exists()
    return [str(fault).removeprefix("houses.csv ") for fault in caught.value.faults]


def one_row(columns: str, cells: str) -> str:
    """A file of one good row, whose last columns are these."""
    return f"{HEADER},{columns}\nMill,2026-03-20,Ground,Hall,walls,4,{cells}\n"


GOOD = """\
house,handover,opens,zone,heated_to_c,access,weight,system,area,floor,room,kind,length_m,width_m,\
height_m,openings,edge,surface,level,tapered_m,internal_m,fasteners,area_m2
Mill,2026-03-20,2026-03-02,Europe/Paris,18,mon-fri 07:00-17:00,3,All-purpose drying,Ground,0,Hall,,\
5,4,2.4,0.9x2.1,,ceiling,5,,,,
,,,,,,,,,,,,,,,,,walls,4,,,,
,,,,,,,,First,1,Stairs,stairwell,,,,,,walls,3,12.5,9.6,80,30
,,,,,,,,,,Store,,,,,,,walls,2,,,,20
"""


def test_a_good_file(company: Company) -> None:
    load(company, GOOD)
    house = House.objects.get()
    assert (house.zone, house.weight, house.handover_on) == ("Europe/Paris", 3, date(2026, 3, 20))
    assert (house.heating, house.setpoint_c) == (Heating.HEATED, 18)
    assert house.system is not None
    assert house.system.name == "All-purpose drying"
    assert [area.name for area in house.areas.all()] == ["Ground", "First"]
    rooms = Room.objects.order_by("area__position", "position")
    assert [room.name for room in rooms] == ["Hall", "Stairs", "Store"]
    assert rooms[1].kind == "stairwell"
    takeoffs = Surface.objects.order_by("id").values_list("takeoff", flat=True)
    assert list(takeoffs) == ["rooms", "rooms", "measured", "rough"]


def test_quantities_of_a_room_worked_by_hand(company: Company) -> None:
    """5 x 4 m under 1.2 x 3 m boards along: 4 rows, so 3 joints of 5 m (rules.takeoff)."""
    load(company, GOOD)
    ceiling = Surface.objects.get(part="ceiling")
    metres = dict(ceiling.joints.values_list("kind", "metres"))
    assert ceiling.area_m2 == 20
    assert metres[JointKind.TAPERED] == 15
    assert metres[JointKind.INTERNAL] == 18
    walls = Surface.objects.get(room__name="Hall", part="walls")
    assert walls.area_m2 == pytest.approx(2 * 9 * 2.4 - 0.9 * 2.1, abs=0.01)


def test_measured_metres_are_taken_as_they_are(company: Company) -> None:
    load(company, GOOD)
    joints = JointLine.objects.filter(surface__room__name="Stairs")
    assert dict(joints.values_list("kind", "metres")) == {"tapered": 12.5, "internal": 9.6}


def test_importing_twice_keeps_ids_and_versions(company: Company) -> None:
    load(company, GOOD)
    models = (House, Area, Room, Surface, JointLine)
    before = [set(model.objects.values_list("public_id", "version")) for model in models]
    load(company, GOOD)
    assert [set(model.objects.values_list("public_id", "version")) for model in models] == before


def test_an_edited_file_changes_in_place_and_drops_what_vanished(company: Company) -> None:
    load(company, GOOD)
    hall, store = Room.objects.get(name="Hall"), Room.objects.get(name="Store")
    edited = GOOD.replace("5,4,2.4,", "5,4,2.7,").replace(",Store,,,,,,,walls,2,,,,20", ",,,,,,,")
    load(company, edited.replace("\n,,,,,,,,,,,,,,,,,\n", "\n"))
    kept = Room.objects.get(name="Hall")
    assert (kept.public_id, kept.height_m, kept.version) == (hall.public_id, 2.7, 2)
    assert not Room.objects.filter(public_id=store.public_id).exists()


def test_houses_that_are_not_in_the_file_stay(company: Company) -> None:
    load(company, GOOD)
    load(company, f"{HEADER},area_m2\nOrchard,2026-03-27,Ground,Hall,walls,4,30\n")
    assert set(House.objects.values_list("name", flat=True)) == {"Mill", "Orchard"}


def test_a_part_finished_area_in_the_houses_zone(company: Company) -> None:
    columns = "area_m2,zone,last_stage,last_compound,last_ended,last_by"
    cells = '30,Europe/Paris,tape,"All-purpose, drying",2026-07-01 15:30,North crew'
    load(company, one_row(columns, cells))
    coat = CoatDone.objects.get()
    assert coat.ended_at == datetime(2026, 7, 1, 13, 30, tzinfo=UTC)
    assert coat.compound is not None
    assert (coat.stage, coat.compound.name, coat.done_by) == (
        "tape",
        "All-purpose, drying",
        "North crew",
    )


def test_a_column_of_houses_may_stand_alone_above_its_areas(company: Company) -> None:
    load(company, f"{HEADER},area_m2\nMill,2026-03-20,,,,,\n,,Ground,Hall,walls,4,30\n")
    assert Room.objects.get().area.house.handover_on == date(2026, 3, 20)


# What happens at the clock changes of 2026 in Dublin (tz database): on 29 March 01:00-02:00 is
# jumped over, on 25 October 01:00-02:00 happens twice.
@pytest.mark.parametrize(
    ("ended", "said"),
    [
        ("2026-03-29 01:30", "does not exist in Europe/Dublin"),
        ("2026-10-25 01:30", "happens twice in Europe/Dublin: add the offset"),
        ("yesterday", "is not a time written as 2026-03-02 15:30"),
        ("2026-03-02", "is not a time written as 2026-03-02 15:30"),
        ("", "must not be blank"),
    ],
)
def test_last_ended_that_is_no_instant(company: Company, ended: str, said: str) -> None:
    [fault] = refused(company, one_row("area_m2,last_stage,last_ended", f"30,tape,{ended}"))
    assert fault.startswith("line 2, column last_ended: ")
    assert said in fault


def test_an_offset_tells_the_two_apart(company: Company) -> None:
    load(company, one_row("area_m2,last_stage,last_ended", "30,tape,2026-10-25T01:30+00:00"))
    assert CoatDone.objects.get().ended_at == datetime(2026, 10, 25, 1, 30, tzinfo=UTC)


@pytest.mark.parametrize(
    ("columns", "cells", "said"),
    [
        ("tapered_m", "-3", "column tapered_m: -3 must not be below 0"),
        ("tapered_m", "many", "column tapered_m: 'many' is not a number"),
        ("area_m2,zone", "30,Dublin", "column zone: 'Dublin' is not an IANA time zone"),
        ("area_m2,system", "30,Magic", "column system: no 'Magic'; known: 'All-purpose drying'"),
        ("area_m2,air", "30,Roof", "column air: no 'Roof'; known: none yet, import its air"),
        ("area_m2,opens", "30,2026-03-21", "is before the house opens on 2026-03-21"),
        ("area_m2,area_handover,opens", "30,2026-03-01,2026-03-02", "column area_handover: "),
        ("area_m2,access", "30,weekdays", "column access: 'weekdays' has no times"),
        ("area_m2,latitude", "30,53.3", "column longitude: latitude and longitude go together"),
        ("area_m2,weight", "30,0", "column weight: 0 must not be below 1"),
        ("area_m2,heated_to_c", "30,66", "column heated_to_c: 66 must not be above 40"),
        ("area_m2,last_stage", "30,varnish", "column last_stage: 'varnish' is not one of"),
        ("area_m2,last_by", "30,Ann", "column last_by: only where last_stage"),
        ("area_m2,family", "30,DIN", "column family: 'DIN' is not one of"),
        ("area_m2,boards", "30,up", "column boards: 'up' is neither along nor across"),
        ("area_m2,openings", "30,door", "column openings: 'door': an opening is written as"),
        ("area_m2", "", "column area_m2: nothing to take off"),
        ("area_m2", "0", "column area_m2: 0 must be more than 0"),
        ("tapered_m", "100000", "column tapered_m: 100000 must not be above 10000"),
        ("area_m2,opens", "30,9999-12-31", "column opens: 9999-12-31 is not in the years 2000"),
        ("takeoff,area_m2", "guess,30", "column takeoff: 'guess' is not one of"),
        ("takeoff", "rooms", "but length_m and width_m and height_m is not given"),
        ("takeoff,tapered_m,area_m2", "rough,5,30", "is measured, but takeoff says rough"),
        ("tapered_m,cornice_m", "5,12", "column cornice_m: belongs on the row of the ceiling"),
        ("length_m,width_m,height_m,openings", "4,3,2.4,5x2", "is more than its wall"),
        ("length_m,width_m,height_m", "4,0,2.4", "column width_m: 0 must be more than 0"),
    ],
)
def test_a_cell_that_cannot_be(company: Company, columns: str, cells: str, said: str) -> None:
    assert any(
        said in fault and fault.startswith("line 2, column ")
        for fault in refused(company, one_row(columns, cells))
    )


def test_unknown_finish_level(company: Company) -> None:
    rows = f"{HEADER},area_m2,family\nMill,2026-03-20,Ground,Hall,walls,2,30,AS/NZS 2589\n"
    assert refused(company, rows) == [
        "line 2, column level: level '2' is not one of AS/NZS 2589: 3, 4, 5"
    ]


def test_a_house_without_areas(company: Company) -> None:
    rows = f"{HEADER},area_m2\nMill,2026-03-20,,,,,\nOrchard,2026-03-27,Ground,Hall,walls,4,30\n"
    assert refused(company, rows) == ["line 2, column area: house 'Mill' has no areas"]


def test_cornice_and_corner_are_never_both_counted(company: Company) -> None:
    rows = (
        f"{HEADER},edge,tapered_m,internal_m,cornice_m\n"
        "Mill,2026-03-20,Ground,Hall,ceiling,4,cornice,10,14,14\n"
    )
    assert refused(company, rows) == [
        "line 2, column internal_m: the edge has a cornice: its corner would be counted twice"
    ]


def test_a_skim_needs_the_area(company: Company) -> None:
    rows = f"{HEADER},tapered_m\nMill,2026-03-20,Ground,Hall,walls,5,10\n"
    assert "column area_m2: the whole surface is coated" in refused(company, rows)[0]


def test_a_compound_for_another_stage(company: Company) -> None:
    columns = "area_m2,last_stage,last_compound,last_ended"
    rows = one_row(columns, '30,tape,"Topping, drying",2026-03-02 15:00')
    assert refused(company, rows) == [
        "line 2, column last_compound: 'Topping, drying' is not for the stage tape"
    ]


def test_the_same_surface_twice(company: Company) -> None:
    rows = one_row("area_m2", "30") + ",,,,walls,4,30\n"
    assert refused(company, rows) == [
        "line 3, column surface: walls of 'Hall' is already on line 2"
    ]


def test_blank_cells_with_nothing_above(company: Company) -> None:
    rows = (
        f"{HEADER},area_m2\n"
        ",2026-03-20,Ground,Hall,walls,4,30\n"
        "Mill,2026-03-20,,Hall,walls,4,30\n"
        ",,Ground,,walls,4,30\n"
        ",,,Hall,,,30\n"
    )
    assert refused(company, rows) == [
        "line 2, column house: the first row must name its house",
        "line 3, column area: the first row of a house must name its area",
        "line 4, column room: the first row of an area must name its room",
        "line 5, column surface: must not be blank",
    ]


def test_all_faults_of_all_houses_in_order_of_line(company: Company) -> None:
    rows = (
        f"{HEADER},tapered_m\n"
        "Mill,2026-03-20,Ground,Hall,walls,9,-1\n"
        "Orchard,soon,Ground,Hall,roof,4,1\n"
        f"{'x' * 121},2026-03-20,Ground,Hall,walls,4,1\n"
    )
    assert refused(company, rows) == [
        "line 2, column level: level '9' is not one of GA-214: 0, 1, 2, 3, 4, 5",
        "line 2, column tapered_m: -1 must not be below 0",
        "line 3, column handover: 'soon' is not a date written as YYYY-MM-DD",
        "line 3, column surface: 'roof' is not one of ceiling, walls",
        "line 4, column house: longer than 120 characters",
    ]


def test_a_house_names_its_air(company: Company) -> None:
    put_air_source(company=company, name="Roof")
    load(company, one_row("area_m2,air", "30,Roof"))
    assert House.objects.get().air_source is not None


def _queries_of_planning(company: Company) -> int:
    with CaptureQueriesContext(connection) as captured:
        for house in houses_for_planning(company):
            for area in house.areas.all():
                getattr(area, "coat_done", None)
                list(area.closures.all())
                for room in area.rooms.all():
                    assert [list(surface.joints.all()) for surface in room.surfaces.all()]
    return len(captured)


def test_planning_reads_any_number_of_houses_in_as_many_queries(company: Company) -> None:
    load(company, GOOD)
    one_house = _queries_of_planning(company)
    load(company, GOOD.replace("Mill", "Orchard"))
    assert _queries_of_planning(company) == one_house


def test_what_the_air_of_a_house_depends_on(company: Company) -> None:
    columns = "area_m2,shell,closed_from,heated_to_c,heated_from,heater_kw,volume_m3,air_changes"
    load(company, one_row(columns, "20,Open,2026-03-04,18,2026-03-09,6,450,0.5"))
    house = House.objects.get()
    assert (house.is_open, house.closed_from) == (True, date(2026, 3, 4))
    assert (house.setpoint_c, house.heated_from, house.heat_kw) == (18, date(2026, 3, 9), 6)
    assert (house.volume_m3, house.air_changes_per_h) == (450, 0.5)
    assert House().air_changes_per_h == 1.0


def test_columns_of_the_air_that_do_not_go_together(company: Company) -> None:
    columns = "area_m2,shell,closed_from,heated_from,heater_kw,volume_m3,air_changes"
    faults = refused(company, one_row(columns, "20,ajar,2026-03-04,2026-03-09,6,0,-1"))
    assert [fault.split(":")[0] for fault in faults] == [
        "line 2, column shell",
        "line 2, column closed_from",
        "line 2, column heated_from",
        "line 2, column heater_kw",
        "line 2, column air_changes",
        "line 2, column volume_m3",
    ]
