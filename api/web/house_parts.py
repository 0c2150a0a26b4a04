"""Pages of a house made of parts that are saved one at a time: shown, saved, refused."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any
from uuid import UUID

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone

from api.web.form_group import HouseGroup
from api.web.house_edits import house_of, who_edits
from finishing.models import Company, House
from scheduling.queries.edits import is_edited_since_planned


def _nothing_more(house: House) -> dict[str, Any]:  # noqa: ARG001
    return {}


@dataclass(frozen=True)
class PageOfParts:
    """A kind of page. address: the name of its address; groups: its parts by name, whose ids in
    the template they are; more: what else the template shows of a house."""

    address: str
    template: str
    groups: Mapping[str, type[HouseGroup]]
    more: Callable[[House], dict[str, Any]] = field(default=_nothing_more)


@dataclass(frozen=True)
class HousePart:
    """A page of a house as it is shown. wrong: the part that could not be kept, if any; saved:
    the name of the one that has just been."""

    house: House
    parts: Mapping[str, HouseGroup]
    wrong: HouseGroup | None
    saved: str
    is_edited_since: bool
    more: Mapping[str, Any]


def show_page(
    request: HttpRequest, company: Company, public_id: UUID, kind: PageOfParts
) -> HttpResponse:
    """Show a page with all parts as they are stored."""
    return _page(request, company, house_of(company, public_id), kind)


def save_part(
    request: HttpRequest, company: Company, public_id: UUID, part: str, kind: PageOfParts
) -> HttpResponse:
    """Save a part of a page and lead back to it, or show the page with what was typed."""
    house = house_of(company, public_id)
    if part not in kind.groups:
        raise Http404("There is no such section.")
    group = kind.groups[part](house, request.POST)
    if group.kept(who_edits(request), timezone.now()):
        return redirect(f"{reverse(f'web:{kind.address}', args=[public_id])}?saved={part}#{part}")
    return _page(request, company, house, kind, wrong=group)


def _page(
    request: HttpRequest,
    company: Company,
    house: House,
    kind: PageOfParts,
    wrong: HouseGroup | None = None,
) -> HttpResponse:
    saved = request.GET.get("saved", "")
    page = HousePart(
        house=house,
        parts={
            name: wrong if isinstance(wrong, group) else group(house)
            for name, group in kind.groups.items()
        },
        wrong=wrong,
        saved=saved if saved in kind.groups else "",
        is_edited_since=is_edited_since_planned(house),
        more=kind.more(house),
    )
    status = 200 if wrong is None else 409 if wrong.stale else 422
    return render(request, kind.template, {"company": company, "page": page}, status=status)
