"""The pages of a house's lines for its builder: edited, and as they are printed."""

from collections.abc import Sequence
from dataclasses import dataclass
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from api.access import company_view
from api.web.builder_lines_form import BuilderLinesGroup
from api.web.house_edits import house_of, who_edits
from finishing.models import BuilderLine, Company, House
from finishing.queries.rights import Right
from scheduling.money_wording import amount
from scheduling.wording import day


@dataclass(frozen=True)
class PrintedLine:
    day: str
    text: str
    hours: str
    rate: str
    amount: str
    agreed: str


@dataclass(frozen=True)
class PrintedLines:
    """agreed, in_all: sums of the lines' amounts, of those agreed and of all."""

    house: House
    lines: Sequence[PrintedLine]
    agreed: str
    in_all: str


def printed_lines(company: Company, house: House) -> PrintedLines:
    """Return a house's lines for paper, the earliest first."""
    rows = list(BuilderLine.objects.filter(company=company, house=house))
    agreed = sum(row.amount for row in rows if row.agreed_on)
    in_all = sum(row.amount for row in rows)
    lines = [_printed(row, company) for row in rows]
    return PrintedLines(house, lines, amount(agreed, company), amount(in_all, company))


@require_http_methods(["GET", "HEAD", "POST"])
@company_view(needs=Right.PLAN)
def builder_lines(request: HttpRequest, company: Company, public_id: UUID) -> HttpResponse:
    """Show a house's lines for its builder, to be edited; save them."""
    house = house_of(company, public_id)
    group = BuilderLinesGroup(house, request.POST if request.method == "POST" else None)
    if request.method == "POST" and group.kept(who_edits(request), timezone.now()):
        return redirect(reverse("web:builder_lines", args=[public_id]) + "?saved=yes")
    saved = request.GET.get("saved") == "yes" and request.method != "POST"
    context = {"company": company, "house": house, "group": group, "saved": saved}
    status = 200 if request.method != "POST" else 409 if group.stale else 422
    return render(request, "web/builder_lines.html", context, status=status)


@require_safe
@company_view(needs=Right.PLAN)
def builder_sheet(request: HttpRequest, company: Company, public_id: UUID) -> HttpResponse:
    """Show a house's lines for its builder as they are printed."""
    page = printed_lines(company, house_of(company, public_id))
    return render(request, "web/builder_sheet.html", {"company": company, "page": page})


def _printed(row: BuilderLine, company: Company) -> PrintedLine:
    agreed = _("not yet")
    if row.agreed_on:
        agreed = ", ".join(filter(None, [day(row.agreed_on), row.agreed_with]))
    return PrintedLine(
        day=day(row.day),
        text=row.text,
        hours=f"{row.person_minutes // 60}:{row.person_minutes % 60:02}",  # the amount is of these
        rate=amount(row.rate, company),
        amount=amount(row.amount, company),
        agreed=agreed,
    )
