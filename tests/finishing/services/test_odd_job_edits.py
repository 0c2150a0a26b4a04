"""Editing the odd jobs of a house."""

import pytest

from finishing.models import Change, House, OddJob, User
from finishing.services.errors import InputFaults
from finishing.services.odd_jobs import OddJobLine, edit_odd_jobs
from finishing.services.rows import StaleRowsError
from tests.factories import make_company, make_house
from tests.sites import MONDAY

pytestmark = pytest.mark.django_db


@pytest.fixture
def house() -> House:
    return make_house(make_company())


def edit(house: House, *lines: OddJobLine) -> None:
    office, _ = User.objects.get_or_create(
        email=f"office{house.pk}@example.com", company=house.company
    )
    edit_odd_jobs(house=house, lines=lines, by=office, now=MONDAY)


def test_jobs_are_added_changed_and_removed(house: House) -> None:
    edit(house, OddJobLine("new-1", "Patch by the stairs", 120), OddJobLine("new-2", "Rehang", 30))
    patch, rehang = OddJob.objects.order_by("id")
    edit(
        house,
        OddJobLine("a", patch.name, 150, done=True, public_id=patch.public_id, version=1),
        OddJobLine("b", rehang.name, 30, public_id=rehang.public_id, version=1, remove=True),
    )
    row = OddJob.objects.get()
    assert (row.public_id, row.person_minutes, row.done) == (patch.public_id, 150, True)
    assert [change.kind for change in Change.objects.all()] == [
        "made",
        "made",
        "changed",
        "removed",
    ]


def test_names_that_are_there_twice_and_jobs_without_work_are_faults(house: House) -> None:
    edit(house, OddJobLine("new-1", "Patch", 120))
    lines = [OddJobLine("a", "Patch", 60), OddJobLine("b", "Sweep", 0), OddJobLine("c", "Sweep", 5)]
    with pytest.raises(InputFaults) as caught:
        edit(house, *lines)
    places = [fault.place for fault in caught.value.faults]
    assert places == ["a-name", "b-person_minutes", "c-name"]


def test_a_name_that_is_given_up_at_once_is_free(house: House) -> None:
    edit(house, OddJobLine("new-1", "Patch", 120))
    old = OddJob.objects.get()
    gone = OddJobLine("a", "Patch", 120, public_id=old.public_id, version=1, remove=True)
    edit(house, gone, OddJobLine("new-1", "Patch", 60))
    assert OddJob.objects.get().person_minutes == 60


def test_stale_and_foreign_jobs_are_refused(house: House) -> None:
    other = make_house(make_company("Other Finishing"))
    edit(other, OddJobLine("new-1", "Patch", 120))
    theirs = OddJob.objects.get()
    edit(house, OddJobLine("new-1", "Sweep", 60))
    own = house.odd_jobs.get()
    with pytest.raises(StaleRowsError) as caught:
        edit(
            house,
            OddJobLine("a", "Mine", 5, public_id=theirs.public_id, version=1),
            OddJobLine("b", "Sweep", 90, public_id=own.public_id, version=7),
        )
    assert (caught.value.rows, caught.value.gone) == ((own,), 1)
