from datetime import date, time

import holidays
import pytest
from django.core.exceptions import ValidationError

from finishing.models import Company, Crew, CrewHours, CrewMember, DayOff, Holiday
from finishing.rules.vocabulary import Skill
from finishing.services.crew_sheet import read_crews
from finishing.services.crews import put_crew
from finishing.services.errors import InputFaults
from finishing.services.holidays import refresh_holidays
from tests.factories import make_company

pytestmark = pytest.mark.django_db

HEADER = "crew,zone,hours,crew_days_off,member,skills,from,to,days_off"
GOOD = f"""{HEADER}
North,Europe/Paris,mon-thu 07:00-12:00 12:30-15:30; fri 07:00-13:00,2026-12-24,Ann,all,,,
,,,,Ben,"coating, sanding",2026-03-02,2026-06-30,2026-12-27..2026-12-29; 2026-05-04
South,,mon 08:00-12:00,,Cid,odd jobs,,,
"""


@pytest.fixture
def company() -> Company:
    return make_company(country="IE")


def load(company: Company, content: str) -> None:
    for crew in read_crews(name="crews.csv", content=content.encode(), company=company):
        put_crew(company=company, crew=crew)


def refused(company: Company, content: str) -> list[str]:
    with pytest.raises(InputFaults) as caught:
        load(company, content)
    assert not Crew.objects.exists()
    return [str(fault).removeprefix("crews.csv ") for fault in caught.value.faults]


def test_a_good_file(company: Company) -> None:
    load(company, GOOD)
    north, south = Crew.objects.all()
    assert (north.zone, south.zone) == ("Europe/Paris", company.zone)
    assert north.hours.count() == 4 * 2 + 1
    assert south.hours.get().end == time(12)
    ann, ben = north.members.order_by("name")
    assert ann.skills == list(Skill)
    assert ben.skills == [Skill.COATING, Skill.SANDING]
    assert (ben.from_day, ben.to_day) == (date(2026, 3, 2), date(2026, 6, 30))
    assert [off.day for off in ben.days_off.order_by("day")] == [
        date(2026, 5, 4),
        *(date(2026, 12, day) for day in (27, 28, 29)),
    ]
    assert [off.day for off in north.days_off.filter(member=None)] == [date(2026, 12, 24)]


def test_importing_twice_keeps_ids(company: Company) -> None:
    load(company, GOOD)
    models = (Crew, CrewMember, CrewHours, DayOff)
    before = [set(model.objects.values_list("public_id", "version")) for model in models]
    load(company, GOOD)
    assert [set(model.objects.values_list("public_id", "version")) for model in models] == before


def test_members_hours_and_days_that_vanished_are_deleted(company: Company) -> None:
    load(company, GOOD)
    load(company, f"{HEADER}\nNorth,,mon 07:00-12:00,,Ann,all,,,\n")
    north = Crew.objects.get(name="North")
    assert north.members.get().name == "Ann"
    assert north.hours.count() == 1
    assert not north.days_off.exists()
    assert Crew.objects.filter(name="South").exists()


def test_a_file_without_days_off_leaves_those_there_are(company: Company) -> None:
    load(company, GOOD)
    load(company, 'crew,hours,member,skills\nNorth,mon 07:00-12:00,Ben,"coating"\n')
    assert DayOff.objects.filter(member__name="Ben").count() == 4
    assert DayOff.objects.filter(member=None).count() == 1


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ("North,,,,Ann,all,,,", "column hours: crew 'North' has no hours"),
        ("North,,mon 9-17,,Ann,all,,,", "column hours: '9-17' is not a time window"),
        ("North,,mon 08:00-12:00,,,all,,,", "column member: must not be blank"),
        ("North,,mon 08:00-12:00,,Ann,,,,", "column skills: must not be blank"),
        ("North,,mon 08:00-12:00,,Ann,juggling,,,", "column skills: 'juggling' is not one of"),
        ("North,,mon 08:00-12:00,,Ann,all,spring,,", "column from: 'spring' is not a date"),
        ("North,,mon 08:00-12:00,,Ann,all,2026-03-02,2026-03-01,", "column to: 2026-03-01 is be"),
        ("North,,mon 08:00-12:00,,Ann,all,,,xmas", "column days_off: 'xmas': days are written"),
        ("North,,mon 08:00-12:00,2026-01-02..2026-01-01,Ann,all,,,", "column crew_days_off: '2"),
        ("North,Paris,mon 08:00-12:00,,Ann,all,,,", "column zone: 'Paris' is not an IANA time"),
        (",,mon 08:00-12:00,,Ann,all,,,", "column crew: the first row must name its crew"),
    ],
)
def test_a_cell_that_cannot_be(company: Company, row: str, said: str) -> None:
    [fault] = refused(company, f"{HEADER}\n{row}\n")
    assert fault.startswith(f"line 2, {said}")


def test_hours_twice_and_different(company: Company) -> None:
    rows = f"{HEADER}\nNorth,,mon 08:00-12:00,,Ann,all,,,\n,,tue 08:00-12:00,,Ben,all,,,\n"
    assert refused(company, rows) == [
        "line 3, column hours: 'tue 08:00-12:00' here but 'mon 08:00-12:00' on line 2"
    ]


def test_a_member_twice_in_a_crew(company: Company) -> None:
    rows = f"{HEADER}\nNorth,,mon 08:00-12:00,,Ann,all,,,\n,,,,Ann,all,,,\n"
    assert refused(company, rows) == ["line 3, column member: 'Ann' is in crew 'North' twice"]


def test_nobody_is_in_two_crews_on_one_day_but_may_move_over(company: Company) -> None:
    rows = (
        f"{HEADER}\nNorth,,mon 08:00-12:00,,Ann,all,,2026-03-31,\n"
        "South,,mon 08:00-12:00,,Ann,all,2026-03-31,,\n"
    )
    assert refused(company, rows) == [
        "line 3, column member: 'Ann' is in crew 'North' on the same days"
    ]
    load(company, rows.replace("all,2026-03-31,,", "all,2026-04-01,,"))
    assert CrewMember.objects.count() == 2


def test_holidays_become_rows(company: Company) -> None:
    """Ireland's Organisation of Working Time Act 1997, second schedule (from memory)."""
    count = refresh_holidays(company=company, years=(2026, 2027))
    days = set(Holiday.objects.values_list("day", flat=True))
    assert count == len(days) == len(holidays.country_holidays("IE", years=[2026, 2027]))
    assert {date(2026, 3, 17), date(2026, 12, 25), date(2027, 12, 25)} <= days


def test_refreshing_holidays_drops_those_that_are_none(company: Company) -> None:
    refresh_holidays(company=company, years=(2026,))
    kept = set(Holiday.objects.values_list("public_id", flat=True))
    Holiday.objects.create(company=company, day=date(2026, 6, 2), name="Founder's day")
    Holiday.objects.create(company=company, day=date(2028, 6, 2), name="Another year")
    refresh_holidays(company=company, years=(2026,))
    assert set(Holiday.objects.filter(day__year=2026).values_list("public_id", flat=True)) == kept
    assert Holiday.objects.filter(day__year=2028).exists()


def test_without_a_country_or_with_an_unknown_one() -> None:
    assert refresh_holidays(company=make_company("A"), years=(2026,)) == 0
    with pytest.raises(ValidationError, match="no public holidays known for 'QQ'"):
        refresh_holidays(company=make_company("B", country="QQ"), years=(2026,))


def test_a_member_of_a_crew_that_the_file_does_not_name(company: Company) -> None:
    load(company, GOOD)
    renamed = GOOD.replace("South", "South 2")
    with pytest.raises(InputFaults) as caught:
        load(company, renamed)
    assert "'Cid' is in crew 'South', which the file does not name" in str(caught.value)
    Crew.objects.filter(name="South").update(is_active=False)
    load(company, renamed)


@pytest.mark.parametrize("name", ["Bell\x07", "Two\nlines", "Esc\x1b"])
def test_characters_that_cannot_be_seen(company: Company, name: str) -> None:
    content = GOOD.replace("South", f'"{name}"')
    assert any("cannot be seen" in fault for fault in refused(company, content))


def test_addresses_are_read_and_stay_where_a_file_has_no_column(company: Company) -> None:
    load(
        company,
        "crew,hours,crew_email,member,skills,email\n"
        "North,mon 08:00-12:00,north@crews.example,Ann,all,ann@crews.example\n"
        ",,,Ben,all,\n",
    )
    crew = Crew.objects.get()
    assert crew.email == "north@crews.example"
    assert [row.email for row in crew.members.order_by("name")] == ["ann@crews.example", ""]
    load(company, "crew,hours,member,skills\nNorth,mon 08:00-12:00,Ann,all\n")
    crew.refresh_from_db()
    assert (crew.email, crew.members.get().email) == ("north@crews.example", "ann@crews.example")


def test_what_is_no_address_is_refused_in_its_place(company: Company) -> None:
    faults = refused(
        company,
        "crew,hours,crew_email,member,skills,email\n"
        "North,mon 08:00-12:00,north at crews,Ann,all,ann@crews@example\n",
    )
    assert faults == [
        "line 2, column email: 'ann@crews@example' is not an e-mail address",
        "line 2, column crew_email: 'north at crews' is not an e-mail address",
    ]
