"""What a company that has published nothing yet does first, a step after another."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from django.urls import reverse
from django.utils.functional import Promise
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from api.web.standing import Standing
from finishing.models import Company, Crew, House
from finishing.queries.companies import begun_of
from finishing.services.file_imports import FileKind


@dataclass(frozen=True)
class Link:
    address: str
    said: str | Promise


@dataclass(frozen=True)
class Step:
    """A step. code: names it; is_done: None where nobody can tell; is_next: the first not done."""

    code: str
    title: Promise
    about: Promise
    links: list[Link]
    is_done: bool | None
    is_next: bool = False


def first_steps(company: Company, standing: Standing, houses: Sequence[House]) -> list[Step]:
    """Return the steps, in at most two queries; none once something is published.

    houses: all of the company's.
    """
    if standing.revision is not None:
        return []
    planned, begun = standing.plan is not None, begun_of(company)
    about = _("Works out who does what when. Crews hear nothing of it.")
    steps = [
        _crew_step(company, is_done=begun.crews),
        _house_step(houses, is_done=begun.surfaces),
        _air_step(is_done=begun.air),
        Step("plan", _("Plan"), about, [], planned),
        _week_step(is_planned=planned),
        _publish_step(is_planned=planned),
    ]
    first = next((step.code for step in steps if step.is_done is False), "")
    return [replace(step, is_next=step.code == first) for step in steps]


def _crew_step(company: Company, *, is_done: bool) -> Step:
    """A crew can be planned with once it has people and hours."""
    rows = Crew.objects.filter(company=company, is_active=True)
    begun = None if is_done else rows.order_by("pk").first()
    links = [Link(reverse("web:crews"), _("Add a crew")), _import(FileKind.CREWS)]
    if begun is not None:
        said = gettext("Go on with the people and hours of %(crew)s") % {"crew": begun.name}
        links.insert(0, Link(reverse("web:crew", args=[begun.public_id]), said))
    about = _("Who works when, and what each can do.")
    return Step("crew", _("Add a crew"), about, links, is_done)


def _house_step(houses: Sequence[House], *, is_done: bool) -> Step:
    """A house is there to be planned once there is something in it to finish."""
    return Step(
        "house",
        _("Add a house"),
        _("Its handover, its rooms, how well each is to be finished, and its heating."),
        [*_begun(houses, is_done=is_done), *_house_links()],
        is_done,
    )


def _house_links() -> list[Link]:
    return [Link(reverse("web:new_house"), _("Add a house")), _import(FileKind.HOUSES)]


def _begun(houses: Sequence[House], *, is_done: bool) -> list[Link]:
    """Return where to go on with the first house."""
    house = min(houses, key=lambda row: row.pk, default=None)
    if house is None:
        return []
    address, said = (
        ("web:site", gettext("Days, hours and heating of %(house)s"))
        if is_done
        else ("web:house_areas", gettext("Go on with the rooms of %(house)s"))
    )
    return [Link(reverse(address, args=[house.public_id]), said % {"house": house.name})]


def _air_step(*, is_done: bool) -> Step:
    return Step(
        "air",
        _("Give it air"),
        _("Hours of temperature and humidity of a station near by: at least 24 of them."),
        [_import(FileKind.AIR), Link(reverse("web:company_air"), _("Where air comes from"))],
        is_done,
    )


def _week_step(*, is_planned: bool) -> Step:
    return Step(
        "week",
        _("See the week"),
        _("Each crew's days, and when what it leaves is dry."),
        [Link(reverse("web:week"), _("See the week"))] if is_planned else [],
        None,
    )


def _publish_step(*, is_planned: bool) -> Step:
    return Step(
        "publish",
        _("Publish"),
        _("Then crews see it, in their calendars and on their phones."),
        [Link(reverse("web:publishing"), _("See what crews would be told"))] if is_planned else [],
        is_done=False,
    )


def _import(kind: FileKind) -> Link:
    return Link(reverse("web:import_kind", args=[kind]), _("Import a file"))
