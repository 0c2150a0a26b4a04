"""Word of changed visits, for an e-mail: what is new, moved or called off, on the crew's clock."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from zoneinfo import ZoneInfo

from django.utils.formats import date_format
from django.utils.functional import Promise
from django.utils.translation import gettext, ngettext
from django.utils.translation import gettext_lazy as _

from finishing.models import Crew
from scheduling.measures import Measures
from scheduling.models import Visit
from scheduling.visit_wording import visit_description, visit_title
from scheduling.wording import listed, moment

_KINDS: dict[str, Promise] = {
    "new": _("New visit"),
    "moved": _("Visit moved"),
    "changed": _("Other work"),
    "reworded": _("Same visit, other details"),
    "cancelled": _("Visit called off"),
}


@dataclass(frozen=True)
class ToldVisit:
    """A visit and what happened to it: a kind of ``_KINDS``. was: its start and end before, where
    it moved."""

    visit: Visit
    kind: str
    was: tuple[datetime, datetime] | None = None


def mail_subject(crew: Crew, told: Sequence[ToldVisit]) -> str:
    """Return a subject of one line, whatever lines the names in it have."""
    if len(told) > 1:
        said = ngettext(
            "%(crew)s: %(n)s visit has changed", "%(crew)s: %(n)s visits have changed", len(told)
        )
        return _one_line(said % {"crew": crew.name, "n": len(told)})
    one = told[0]
    house = one.visit.content["house"]["name"]
    at = moment(one.visit.starts_at, ZoneInfo(crew.zone))
    return _one_line(f"{crew.name}: {_KINDS[one.kind]}: {house}, {at}")


def mail_text(crew: Crew, told: Sequence[ToldVisit]) -> str:
    """Return the whole text. No secret address is in it: mail is passed on, and the crew's page
    takes what whoever opens it writes."""
    zone = ZoneInfo(crew.zone)
    values = {"crew": _one_line(crew.name), "company": _one_line(crew.company.name)}
    parts = [
        gettext("Changes within two days for %(crew)s, %(company)s.") % values,
        *(_visit_text(one, crew, zone) for one in told),
        gettext("All times are those of %(zone)s.") % {"zone": crew.zone},
        gettext(
            "The attached file puts a visit into a calendar. A calendar that follows the crew's"
            " address brings it by itself: leave the file alone there."
        ),
    ]
    return "\n\n".join(parts) + "\n"


def _visit_text(one: ToldVisit, crew: Crew, zone: ZoneInfo) -> str:
    house = one.visit.content["house"]
    lines = [f"{_KINDS[one.kind]}: {visit_title(one.visit.content)}"]
    if one.was:
        lines.append(gettext("before: %(span)s") % {"span": _span(*one.was, zone)})
    span = _span(one.visit.starts_at, one.visit.ends_at, zone)
    lines.append(gettext("now: %(span)s") % {"span": span} if one.was else span)
    if one.kind != "cancelled":
        lines.append(listed([house["address"] or house["name"]]))
        measures = Measures(crew.reads_imperial)
        lines += ["", visit_description(one.visit.content, zone, measures)]
    return "\n".join(lines)


def _span(starts_at: datetime, ends_at: datetime, zone: ZoneInfo) -> str:
    end = date_format(ends_at.astimezone(zone), "H:i")
    return f"{moment(starts_at, zone)}\N{EN DASH}{end}"


def _one_line(text: str) -> str:
    """Return a text without what ends a line or steers a terminal: a header is one line."""
    return " ".join("".join(c if c.isprintable() else " " for c in text).split())
