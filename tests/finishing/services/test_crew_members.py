"""Who is in a crew, from when to when."""

from datetime import date
from typing import Any

import pytest

from finishing.models import Crew
from finishing.rules.vocabulary import Skill
from finishing.services.crew_members import MemberLine, edit_members
from finishing.services.errors import InputFaults
from finishing.services.rows import StaleRowsError
from tests.factories import make_company, make_crew

pytestmark = pytest.mark.django_db

COATS = frozenset({Skill.SANDING, Skill.COATING})


@pytest.fixture
def crew() -> Crew:
    return make_crew(make_company(), heads=1)


def line(name: str, place: str = "new", **more: Any) -> MemberLine:
    return MemberLine(place, name, COATS, **more)


def test_somebody_may_come_back_but_not_be_there_twice(crew: Crew) -> None:
    first = line("Ana", to_day=date(2026, 3, 6))
    edit_members(crew=crew, lines=[first, line("Ana", from_day=date(2026, 3, 16))])
    assert crew.members.filter(name="Ana", skills=["coating", "sanding"]).count() == 2
    wrong = [
        line("Ana", "a", from_day=date(2026, 3, 2)),
        line("Ben", "b", from_day=date(2026, 3, 9), to_day=date(2026, 3, 6)),
    ]
    with pytest.raises(InputFaults) as refused:
        edit_members(crew=crew, lines=wrong)
    assert {fault.place for fault in refused.value.faults} == {"a-name", "b-to_day"}
    assert not crew.members.filter(name="Ben").exists()


def test_a_member_seen_in_another_version_is_refused_with_how_it_stands(crew: Crew) -> None:
    row = crew.members.get()
    seen: dict[str, Any] = {"public_id": row.public_id, "version": 1}
    edit_members(crew=crew, lines=[line("Ana", **seen)])
    with pytest.raises(StaleRowsError) as refused:
        edit_members(crew=crew, lines=[line("Ben", **seen), line("Cal")])
    assert [str(one) for one in refused.value.rows] == ["Ana"]
    assert [member.name for member in crew.members.all()] == ["Ana"]


def test_a_member_of_another_crew_is_not_reached(crew: Crew) -> None:
    stranger = make_crew(make_company("Other"), "Strange crew", heads=1).members.get()
    theirs = line("Mine", public_id=stranger.public_id, version=1)
    with pytest.raises(StaleRowsError):
        edit_members(crew=crew, lines=[theirs])
    stranger.refresh_from_db()
    assert stranger.name == "Strange crew 1"
