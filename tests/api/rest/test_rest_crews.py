"""/api/v1/crews/, members, absences, extra hours and loans: who works when."""

from datetime import date
from typing import Any

import pytest

from finishing.models import Change, Crew, CrewMember, DayOff, ExtraHours, Loan, Role, User
from finishing.models.owned import Owned
from finishing.queries.rights import Right
from tests.api.rest.api_clients import pointers, program
from tests.factories import make_company, make_crew

pytestmark = pytest.mark.django_db
CREWS, MEMBERS = "/api/v1/crews/", "/api/v1/members/"
ABSENCES, EXTRA, LOANS = "/api/v1/absences/", "/api/v1/extra-hours/", "/api/v1/loans/"


def window(weekday: str, start: str, end: str) -> dict[str, str]:
    return {"weekday": weekday, "start": start, "end": end}


def make_rows() -> tuple[Crew, CrewMember]:
    crew = make_crew(make_company())
    return crew, crew.members.order_by("pk")[0]


def test_a_crew_is_made_with_its_week_and_changed() -> None:
    company = make_company()
    asker = program(company)
    week = [window("mon", "07:00", "12:00"), window("mon", "12:30", "15:30")]
    body = {"name": "North", "zone": "Europe/Dublin", "language": "es", "hours": week}
    made = asker.post(CREWS, body)
    assert made.status_code == 201, made.json()
    said = made.json()
    assert (said["hours"], said["language"], said["is_active"]) == (week, "es", True)
    assert asker.patch(made["Location"], said, said["etag"]).json() == said
    changed = asker.patch(
        made["Location"], {"hours": [week[0]], "is_active": False}, made["ETag"]
    ).json()
    assert (changed["hours"], changed["is_active"]) == ([week[0]], False)
    stale = asker.patch(made["Location"], {"hours": []}, made["ETag"])
    assert {change["pointer"] for change in stale.json()["changes"]} == {"#/hours", "#/is_active"}
    assert asker.delete(made["Location"], changed["etag"]).status_code == 405


def test_who_changed_what_of_a_crew_is_in_the_companys_history() -> None:
    crew, member = make_rows()
    person = User.objects.create(email="a@example.com", company=crew.company, role=Role.OWNER)
    asker = program(crew.company, person=person)
    asker.patch(f"{CREWS}{crew.public_id}/", {"language": "es", "hours": []}, "*")
    asker.patch(f"{MEMBERS}{member.public_id}/", {"skills": ["sanding"]}, "*")
    body = {"crew": str(crew.public_id), "first_day": "2026-03-02"}
    (made,) = asker.post(ABSENCES, body).json()["results"]
    asker.delete(f"{ABSENCES}{made['id']}/", "*")
    asker.post(EXTRA, {**body, "start": "16:00", "end": "17:00"})
    noted = Change.objects.filter(by=person).values_list("what", "kind")
    assert {*noted} == {
        ("crew", "changed"),
        ("crew_hours", "removed"),
        ("member", "changed"),
        ("day_off", "made"),
        ("day_off", "removed"),
        ("extra", "made"),
    }


def test_all_faults_of_a_crew_are_named_at_once() -> None:
    crew, _ = make_rows()
    wrong = {
        "name": crew.name,
        "zone": "Nowhere",
        "units": "cubits",
        "email": "nobody",
        "hours": [window("mon", "9", "12:00"), window("someday", "07:00", "12:00")],
    }
    answer = program(crew.company).post(CREWS, wrong)
    assert pointers(answer) == [
        "#/email", "#/hours/0/start", "#/hours/1/weekday", "#/name", "#/units", "#/zone",
    ]  # fmt: skip
    overlaps = [window("tue", "07:00", "12:00"), window("tue", "11:00", "10:00")]
    refused = program(crew.company, Right.PLAN, Right.READ).patch(
        f"{CREWS}{crew.public_id}/", {"hours": overlaps}, "*"
    )
    assert set(pointers(refused)) == {"#/hours"}
    assert crew.hours.count() == 5


def test_a_member_comes_learns_and_goes() -> None:
    crew, _ = make_rows()
    asker = program(crew.company)
    body = {"crew": str(crew.public_id), "name": "Ada", "skills": ["sanding", "coating"]}
    made = asker.post(MEMBERS, {**body, "from_day": "2026-03-02"})
    assert made.status_code == 201, made.json()
    assert made.json()["skills"] == ["coating", "sanding"]
    changed = asker.patch(made["Location"], {"to_day": "2026-03-20"}, made["ETag"])
    assert (changed.json()["to_day"], changed.json()["skills"]) == (
        "2026-03-20",
        ["coating", "sanding"],
    )
    again = asker.post(MEMBERS, {**body, "from_day": "2026-03-20", "to_day": "2026-03-01"})
    assert pointers(again) == ["#/to_day"]
    twice = asker.post(MEMBERS, {**body, "skills": ["juggling"], "from_day": "2026-03-20"})
    assert pointers(twice) == ["#/name", "#/skills/0"]
    rows = asker.get(f"{MEMBERS}?crew={crew.public_id}&name=Ada").json()["results"]
    assert [row["id"] for row in rows] == [made.json()["id"]]
    assert asker.delete(made["Location"], changed["ETag"]).status_code == 204
    assert not CrewMember.objects.filter(name="Ada").exists()


def test_days_off_are_made_by_the_stretch_and_taken_back_by_the_day() -> None:
    crew, member = make_rows()
    asker = program(crew.company)
    body = {"crew": str(crew.public_id), "member": str(member.public_id), "reason": "Course"}
    made = asker.post(ABSENCES, {**body, "first_day": "2026-03-02", "last_day": "2026-03-04"})
    assert made.status_code == 201, made.json()
    rows = made.json()["results"]
    assert [row["day"] for row in rows] == ["2026-03-02", "2026-03-03", "2026-03-04"]
    twice = asker.post(ABSENCES, {**body, "first_day": "2026-03-04", "last_day": "2026-03-05"})
    assert pointers(twice) == ["#/first_day"]
    address = f"{ABSENCES}{rows[1]['id']}/"
    changed = asker.patch(address, {"reason": "Ill"}, rows[1]["etag"])
    assert changed.json()["reason"] == "Ill"
    assert asker.delete(address, rows[1]["etag"]).status_code == 412
    assert asker.delete(address, changed["ETag"]).status_code == 204
    assert [str(day) for day in DayOff.objects.values_list("day", flat=True).order_by("day")] == [
        "2026-03-02",
        "2026-03-04",
    ]
    whole = asker.post(ABSENCES, {"crew": str(crew.public_id), "first_day": "2026-03-02"})
    assert whole.json()["results"][0]["member"] is None
    listed = asker.get(f"{ABSENCES}?member={member.public_id}&day_from=2026-03-03").json()
    assert [row["day"] for row in listed["results"]] == ["2026-03-04"]


def test_extra_hours_of_a_day_do_not_meet_others() -> None:
    crew, _ = make_rows()
    asker = program(crew.company)
    body = {"crew": str(crew.public_id), "first_day": "2026-03-07", "start": "08:00"}
    made = asker.post(EXTRA, {**body, "end": "12:00"}).json()["results"][0]
    late = asker.post(EXTRA, {**body, "start": "13:00", "end": "15:00"}).json()["results"][0]
    assert (made["start"], late["end"]) == ("08:00", "15:00")
    assert pointers(asker.post(EXTRA, {**body, "end": "07:00"})) == ["#/end"]
    assert pointers(asker.post(EXTRA, {**body, "end": "09:00"})) == ["#/first_day"]
    address = f"{EXTRA}{made['id']}/"
    assert pointers(asker.patch(address, {"end": "14:00"}, made["etag"])) == ["#/first_day"]
    assert pointers(asker.patch(address, {"end": "07:30"}, made["etag"])) == ["#/end"]
    longer = asker.patch(address, {"end": "13:00"}, made["etag"])
    assert longer.json()["end"] == "13:00"
    assert ExtraHours.objects.count() == 2


def test_somebody_is_lent_only_while_they_are_here_and_to_another_crew() -> None:
    crew, member = make_rows()
    helped = make_crew(crew.company, "South crew")
    third = make_crew(crew.company, "West crew")
    CrewMember.objects.filter(pk=member.pk).update(to_day=date(2026, 3, 10))
    asker = program(crew.company)
    body = {"member": str(member.public_id), "crew": str(helped.public_id)}
    made = asker.post(LOANS, {**body, "first_day": "2026-03-09", "last_day": "2026-03-10"})
    (first, _) = made.json()["results"]
    assert pointers(asker.post(LOANS, {**body, "first_day": "2026-03-11"})) == ["#/first_day"]
    own = {**body, "crew": str(crew.public_id)}
    assert pointers(asker.post(LOANS, {**own, "first_day": "2026-03-03"})) == ["#/crew"]
    address = f"{LOANS}{first['id']}/"
    assert pointers(asker.patch(address, {"crew": str(crew.public_id)}, "*")) == ["#/crew"]
    changed = asker.patch(address, {"crew": str(third.public_id)}, first["etag"])
    assert changed.json()["crew"] == str(third.public_id)
    assert asker.delete(address, changed["ETag"]).status_code == 204
    assert Loan.objects.count() == 1


@pytest.mark.parametrize(
    ("address", "body", "places", "model"),
    [
        (
            ABSENCES,
            {"crew": "x", "first_day": "2026-3-2", "reason": 3, "day": "2026-03-02"},
            ["#/crew", "#/day", "#/first_day", "#/reason"],
            DayOff,
        ),
        (
            EXTRA,
            {"first_day": None, "end": "24:00"},
            ["#/crew", "#/end", "#/first_day", "#/start"],
            ExtraHours,
        ),
        (
            LOANS,
            {"last_day": "1999-01-01"},
            ["#/crew", "#/first_day", "#/last_day", "#/member"],
            Loan,
        ),
        (LOANS, [], ["#"], Loan),
        (ABSENCES, "null", ["#"], DayOff),
    ],
)
def test_all_faults_of_days_are_named_at_once(
    address: str, body: Any, places: list[str], model: type[Owned]
) -> None:
    crew, _ = make_rows()
    answer = program(crew.company).post(address, body)
    assert answer.status_code == 422
    assert pointers(answer) == places
    assert not model._default_manager.exists()


def test_a_stretch_of_more_than_a_year_is_a_slip_of_a_hand() -> None:
    crew, _ = make_rows()
    body = {"crew": str(crew.public_id), "first_day": "2026-03-02", "last_day": "2027-03-10"}
    assert pointers(program(crew.company).post(ABSENCES, body)) == ["#/last_day"]


def test_a_member_of_another_crew_takes_no_day_off_of_this_one() -> None:
    crew, _ = make_rows()
    other = make_crew(crew.company, "South crew").members.all()[0]
    body = {"crew": str(crew.public_id), "member": str(other.public_id), "first_day": "2026-03-02"}
    assert pointers(program(crew.company).post(ABSENCES, body)) == ["#/member"]
