from datetime import date

import pytest

from finishing.models import Closure, Company, House, OddJob, ReadinessLine
from finishing.services.errors import InputFaults
from finishing.services.site import put_sites
from finishing.services.site_sheet import read_sites
from tests.factories import make_company, make_house

pytestmark = pytest.mark.django_db

HEADER = "house,what,area,item,done,on,from,to,owed_by,minutes,skill,note"
GOOD = f"""{HEADER}
Mill Cottage,ready,,heat,no,2026-03-05,,,Builder,,,
,ready,,clear floors,yes,,,,,,,
,closed,Ground floor,,,,2026-03-09,2026-03-11,,,,screed
,odd_job,,Patch the porch,,,,,,120,,
"""


@pytest.fixture
def house() -> House:
    return make_house(make_company())


def load(company: Company, content: str) -> None:
    sites = read_sites(name="site.csv", content=content.encode(), company=company)
    put_sites(company=company, sites=sites)


def refused(house: House, content: str) -> list[str]:
    with pytest.raises(InputFaults) as caught:
        load(house.company, content)
    assert not ReadinessLine.objects.exists()
    return [str(fault).removeprefix("site.csv ") for fault in caught.value.faults]


def test_a_good_file(house: House) -> None:
    load(house.company, GOOD)
    heat = ReadinessLine.objects.get(item="heat")
    assert (heat.done, heat.expected_on, heat.owed_by) == (False, date(2026, 3, 5), "Builder")
    assert ReadinessLine.objects.get(item="clear_floors").done
    closure = Closure.objects.get()
    assert (closure.first_day, closure.last_day) == (date(2026, 3, 9), date(2026, 3, 11))
    assert (closure.reason, closure.area.name) == ("screed", "Ground floor")
    job = OddJob.objects.get()
    assert (job.name, job.person_minutes, job.skill) == ("Patch the porch", 120, "odd_jobs")


def test_importing_twice_keeps_ids_and_what_has_been_done_since(house: House) -> None:
    load(house.company, GOOD)
    OddJob.objects.update(done=True)
    models = (ReadinessLine, Closure, OddJob)
    before = [set(model.objects.values_list("public_id", "version")) for model in models]
    load(house.company, GOOD)
    assert [set(model.objects.values_list("public_id", "version")) for model in models] == before
    assert OddJob.objects.get().done


def test_lines_that_vanished_are_deleted_but_other_houses_stay(house: House) -> None:
    other = make_house(house.company, "Orchard")
    ReadinessLine.objects.create(company=house.company, house=other, item="power")
    load(house.company, GOOD)
    load(house.company, f"{HEADER}\nMill Cottage,ready,,heat,yes,,,,,,,\n")
    assert house.readiness.get().done
    assert not Closure.objects.exists()
    assert not OddJob.objects.exists()
    assert other.readiness.exists()


@pytest.mark.parametrize(
    ("row", "said"),
    [
        (",ready,,heat,,,,,,,,", "column house: the first row must name its house"),
        ("Nowhere,ready,,heat,,,,,,,,", "column house: no 'Nowhere'; known: 'Mill Cottage'"),
        ("Mill Cottage,waiting,,heat,,,,,,,,", "column what: 'waiting' is not one of ready"),
        ("Mill Cottage,,,heat,,,,,,,,", "column what: must not be blank"),
        ("Mill Cottage,ready,,sunshine,,,,,,,,", "column item: 'sunshine' is not one of"),
        ("Mill Cottage,ready,,,,,,,,,,", "column item: must not be blank"),
        ("Mill Cottage,ready,,heat,,,,,,30,,", "column minutes: does not belong to a row that s"),
        ("Mill Cottage,ready,,heat,soon,,,,,,,", "column done: 'soon' is neither yes nor no"),
        ("Mill Cottage,closed,Attic,,,,2026-03-09,2026-03-10,,,,", "column area: no 'Attic'; kn"),
        ("Mill Cottage,closed,,,,,2026-03-09,2026-03-10,,,,", "column area: must not be blank"),
        ("Mill Cottage,closed,Ground floor,,,,2026-03-09,,,,,", "column to: must not be blank"),
        (
            "Mill Cottage,closed,Ground floor,,,,2026-03-09,2026-03-08,,,,",
            "column to: 2026-03-08 is before from",
        ),
        ("Mill Cottage,odd_job,,Patch,,,,,,,,", "column minutes: must not be blank"),
        ("Mill Cottage,odd_job,,Patch,,,,,,-5,,", "column minutes: -5 must not be below 1"),
    ],
)
def test_a_cell_that_cannot_be(house: House, row: str, said: str) -> None:
    [fault] = refused(house, f"{HEADER}\n{row}\n")
    assert fault.startswith(f"line 2, {said}")


def test_twice_the_same(house: House) -> None:
    rows = (
        f"{HEADER}\nMill Cottage,ready,,heat,,,,,,,,\n,ready,,heat,,,,,,,,\n"
        ",odd_job,,Patch,,,,,,5,,\n,odd_job,,Patch,,,,,,5,,\n"
        ",closed,Ground floor,,,,2026-03-09,2026-03-11,,,,\n"
        ",closed,Ground floor,,,,2026-03-11,2026-03-12,,,,\n"
    )
    assert refused(house, rows) == [
        "line 3, column item: heat is there twice for this house",
        "line 5, column item: 'Patch' is there twice for this house",
        "line 7, column from: 'Ground floor' is closed on some of these days already",
    ]
