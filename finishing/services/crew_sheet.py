"""crews.csv: a row per member of a crew.

A blank crew cell means the crew of the row above. Zone, hours, crew_days_off and crew_email belong
to the crew and are written once, on any of its rows; skills, from, to, days_off and email belong to
the member. Where the file has no column for days off or addresses, those that there are stay.
"""

from datetime import date

from django.core.exceptions import ValidationError
from django.core.validators import validate_email

from finishing.models import Company, CrewMember
from finishing.rules.hours import HoursError, WeeklyWindow, parse_hours
from finishing.rules.vocabulary import Skill
from finishing.services.cells import Cells, cells_of_row, gathered
from finishing.services.crews import CrewEntry, MemberEntry
from finishing.services.csv_files import Sheet
from finishing.services.day_list import read_days
from finishing.services.sheet_lookups import zone_in
from finishing.services.sheets import Content, read_sheet

CREW_COLUMNS = ("zone", "hours", "crew_days_off", "crew_email")
REQUIRED = ("crew", "member", "skills", "hours")
OPTIONAL = ("zone", "from", "to", "days_off", "crew_days_off", "email", "crew_email")
ALL_SKILLS = "all"


def read_crews(*, name: str, content: Content, company: Company) -> tuple[CrewEntry, ...]:
    """Read the crews of a file; raise InputFaults with all that is wrong in it."""
    sheet = read_sheet(name=name, content=content, required=REQUIRED, optional=OPTIONAL)
    rows_by_crew = _rows_by_crew(sheet)
    crews = tuple(_crew(crew, rows, company) for crew, rows in rows_by_crew.items())
    _check_two_crews(rows_by_crew, crews)
    _check_other_crews(rows_by_crew, crews, company)
    sheet.raise_faults()
    return crews


def _rows_by_crew(sheet: Sheet) -> dict[str, list[Cells]]:
    crews: dict[str, list[Cells]] = {}
    above = ""
    for line, row in sheet.rows:
        cells = cells_of_row(sheet, line, row)
        above = cells.text("crew") or above
        if not above:
            cells.fault("crew", "the first row must name its crew")
        crews.setdefault(above, []).append(cells)  # without a name too, for their other faults
    return crews


def _crew(name: str, rows: list[Cells], company: Company) -> CrewEntry:
    cells = gathered(rows, CREW_COLUMNS)
    members: dict[str, MemberEntry] = {}
    for row in rows:
        member = _member(row)
        if member.name in members:
            row.fault("member", f"{member.name!r} is in crew {name!r} twice")
        members[member.name] = member
    return CrewEntry(
        name=name,
        zone=zone_in(cells, default=company.zone),
        hours=_hours(cells, name),
        members=tuple(members.values()),
        days_off=_days(cells, "crew_days_off"),
        email=_email(cells, "crew_email"),
    )


def _hours(cells: Cells, crew: str) -> tuple[WeeklyWindow, ...]:
    text = cells.text("hours", longest=500)
    if not text:
        cells.fault("hours", f"crew {crew!r} has no hours")
    try:
        return parse_hours(text)
    except HoursError as error:
        for fault in error.faults:
            cells.fault("hours", fault)
        return ()


def _member(cells: Cells) -> MemberEntry:
    from_day, to_day = cells.day("from"), cells.day("to")
    if from_day and to_day and to_day < from_day:
        cells.fault("to", f"{to_day} is before from, {from_day}")
    return MemberEntry(
        name=cells.required("member"),
        skills=_skills(cells),
        from_day=from_day,
        to_day=to_day,
        days_off=_days(cells, "days_off"),
        email=_email(cells, "email"),
    )


def _skills(cells: Cells) -> frozenset[Skill]:
    text = cells.required("skills")
    if text.lower() == ALL_SKILLS:
        return frozenset(Skill)
    names = [name for name in text.replace(";", ",").split(",") if name.strip()]
    skills = [cells.one_of("skills", name, Skill) for name in names]
    return frozenset(skill for skill in skills if skill is not None)


def _days(cells: Cells, column: str) -> tuple[date, ...] | None:
    if column not in cells.sheet.columns:
        return None
    try:
        return read_days(cells.text(column, longest=2000))
    except ValueError as error:
        cells.fault(column, str(error))
        return None


def _email(cells: Cells, column: str) -> str | None:
    if column not in cells.sheet.columns:
        return None
    text = cells.text(column, longest=254)
    try:
        if text:
            validate_email(text)
    except ValidationError:
        cells.fault(column, f"{text!r} is not an e-mail address")
    return text


def _check_two_crews(rows_by_crew: dict[str, list[Cells]], crews: tuple[CrewEntry, ...]) -> None:
    """Nobody works in two crews on one day: moving over needs a last and a first day."""
    earlier: list[tuple[str, MemberEntry]] = []
    for crew in crews:
        rows = {row.text("member"): row for row in rows_by_crew[crew.name]}
        for member in crew.members:
            for other_crew, other in earlier:
                if other.name == member.name and _overlap(other, member):
                    text = f"{member.name!r} is in crew {other_crew!r} on the same days"
                    rows[member.name].fault("member", text)
        earlier += [(crew.name, member) for member in crew.members if member.name]


def _check_other_crews(
    rows_by_crew: dict[str, list[Cells]], crews: tuple[CrewEntry, ...], company: Company
) -> None:
    """Nobody is in a crew of the file and, on the same days, in one that it does not name."""
    others = CrewMember.objects.filter(company=company, crew__is_active=True)
    others = others.exclude(crew__name__in=rows_by_crew).select_related("crew")
    known = [
        (row.crew.name, MemberEntry(row.name, frozenset(), row.from_day, row.to_day))
        for row in others
    ]
    for crew in crews:
        rows = {row.text("member"): row for row in rows_by_crew[crew.name]}
        for member in crew.members:
            for other_crew, other in known:
                if other.name == member.name and _overlap(other, member):
                    text = (
                        f"{member.name!r} is in crew {other_crew!r}, which the file does not name"
                    )
                    rows[member.name].fault("member", text)


def _overlap(one: MemberEntry, other: MemberEntry) -> bool:
    return (one.from_day or date.min) <= (other.to_day or date.max) and (
        other.from_day or date.min
    ) <= (one.to_day or date.max)
