"""A crew's pay for a period, as a page, for paper and as a file."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from django.utils.dateparse import parse_date
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from finishing.models import Company, Crew
from finishing.rules.pay import CREW, PayLine
from scheduling.models import ExtraWork
from scheduling.money_wording import amount, plain_amount
from scheduling.services.pay_sheet import PaySheet, Remark, SheetVisit, pay_sheet
from scheduling.wording import day, figure, listed, stage_name

LONGEST = timedelta(days=366)
REMARKS = {
    Remark.SILENT: gettext_lazy("not paid: work that nobody has reported"),
    Remark.NO_END: gettext_lazy("not paid: no finish reported on that day"),
    Remark.NO_WORK: gettext_lazy("not paid: reported finished before set-up was over"),
    Remark.HEADS: gettext_lazy("other people than planned: by the crew's rate"),
    Remark.NO_RATE: gettext_lazy("hours not paid: no rate held on that day"),
    Remark.AREA_UNKNOWN: gettext_lazy("square metres not paid: they are not known"),
}
WITHOUT_VISIT = gettext_lazy("not paid: extra work whose visit is gone; hours are person-hours")


@dataclass(frozen=True)
class ShownVisit:
    day: str
    house: str
    work: str
    hours: str
    lines: Sequence[tuple[str, str, str]]
    total: str
    remarks: Sequence[str]


@dataclass(frozen=True)
class ShownSheet:
    """payees: each with their sum. fault: what is wrong with the period that was asked for."""

    crew: Crew
    first: date
    last: date
    visits: Sequence[ShownVisit]
    payees: Sequence[tuple[str, str]]
    total: str
    fault: str


def asked_period(crew: Crew, query: Mapping[str, str], now: datetime) -> tuple[date, date, str]:
    """Return the days that a query names, or else the week before this one; and what is wrong."""
    today = now.astimezone(ZoneInfo(crew.zone)).date()
    monday = today - timedelta(days=today.weekday() + 7)
    usual = monday, monday + timedelta(days=6)
    if "first" not in query and "last" not in query:
        return *usual, ""
    first, last = _day(query.get("first", "")), _day(query.get("last", ""))
    if first is None or last is None:
        return *usual, _("Choose a first and a last day; this is the week before.")
    if not timedelta() <= last - first <= LONGEST:
        return *usual, _("The last day comes after the first, by a year at most.")
    return first, last, ""


def _day(text: str) -> date | None:
    try:
        found = parse_date(text)
    except ValueError:
        return None
    return found if found and 2000 <= found.year < 2100 else None


def stored_sheet(
    company: Company, crew: Crew, query: Mapping[str, str], now: datetime
) -> tuple[PaySheet, str]:
    """Return the sheet that a query asks for, and what is wrong with the query."""
    first, last, fault = asked_period(crew, query, now)
    return pay_sheet(company=company, crew=crew, first=first, last=last, now=now), fault


def shown_sheet(
    company: Company, crew: Crew, query: Mapping[str, str], now: datetime
) -> ShownSheet:
    """Return the page of the sheet that a query asks for."""
    sheet, fault = stored_sheet(company, crew, query, now)
    return ShownSheet(
        crew,
        sheet.first,
        sheet.last,
        [
            *(_visit(one, company) for one in sheet.visits),
            *(_without_visit(row, crew) for row in sheet.without_visit),
        ],
        [(payee_name(payee), amount(sum_, company)) for payee, sum_ in sheet.by_payee.items()],
        amount(sheet.total, company),
        fault,
    )


def sheet_heading() -> list[str]:
    return [_("Day"), _("House"), _("Work"), _("Who"), _("Quantity"), _("Amount"), _("Remarks")]


def sheet_rows(sheet: PaySheet, company: Company) -> list[list[str | float]]:
    """Return the sheet as a file has it: a row for each payee of a visit, or for none."""
    rows: list[list[str | float]] = []
    for one in sheet.visits:
        of_visit = [one.day.isoformat(), one.reported.visit.house.name, _work(one)]
        remarks = "; ".join(_remarks(one))
        for line in one.lines:
            money = plain_amount(line.amount, company)
            quantity = round(float(line.quantity), 2)
            rows.append([*of_visit, payee_name(line.payee), quantity, money, remarks])
        if not one.lines:
            rows.append([*of_visit, "", "", "", remarks])
    for row in sheet.without_visit:
        day_of = _day_of(row, sheet.crew).isoformat()
        hours = round(row.person_minutes / 60, 2)
        rows.append([day_of, row.house.name, row.what, "", hours, "", str(WITHOUT_VISIT)])
    return rows


def payee_name(payee: str) -> str:
    """Say who is paid: a name, the crew, or one of those whose names nobody knows."""
    if payee == CREW:
        return _("the crew, by m²")
    return _("person %(n)s") % {"n": payee[1:]} if payee.startswith("#") else payee


def _visit(one: SheetVisit, company: Company) -> ShownVisit:
    hours = "" if one.minutes is None else figure(one.minutes / 60)
    return ShownVisit(
        day=day(one.day),
        house=one.reported.visit.house.name,
        work=_work(one),
        hours=hours,
        lines=[_line(line, company) for line in one.lines],
        total=amount(one.total, company),
        remarks=_remarks(one),
    )


def _without_visit(row: ExtraWork, crew: Crew) -> ShownVisit:
    return ShownVisit(
        day=day(_day_of(row, crew)),
        house=row.house.name,
        work=row.what,
        hours=figure(row.person_minutes / 60),
        lines=[],
        total="",
        remarks=[str(WITHOUT_VISIT)],
    )


def _day_of(row: ExtraWork, crew: Crew) -> date:
    return row.at.astimezone(ZoneInfo(crew.zone)).date()


def _line(line: PayLine, company: Company) -> tuple[str, str, str]:
    unit = "m²" if line.payee == CREW else "h"
    quantity = f"{float(line.quantity):.2f} {unit}"
    return payee_name(line.payee), quantity, amount(line.amount, company)


def _work(one: SheetVisit) -> str:
    tasks = one.reported.visit.content["tasks"]
    return listed([task["job"] or stage_name(task["stage"]) for task in tasks])


def _remarks(one: SheetVisit) -> list[str]:
    start = [] if one.start_said or not one.lines else [_("start as published")]
    extra = one.reported.extra_minutes
    noted = [_("%(hours)s h of extra work noted") % {"hours": figure(extra / 60)}] if extra else []
    return [*(str(REMARKS[remark]) for remark in one.remarks), *start, *noted]
