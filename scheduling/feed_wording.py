"""What calendars say of themselves, to builders, of drying coats and of handovers."""

from collections.abc import Mapping
from datetime import date, datetime
from zoneinfo import ZoneInfo

from django.utils.functional import Promise
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from scheduling.keep_off_wording import keep_off_lines
from scheduling.visit_wording import room_name, visit_title
from scheduling.wording import Codes, day, handover_sentence, listed, stage_name

_ABOUT: Mapping[str, Promise] = {
    "crew": _("Planned work of %(subject)s, %(company)s"),
    "house": _("Finishing work at %(subject)s, %(company)s"),
    "person": _("Planned work of %(subject)s, %(company)s"),
    "company": _("Planned work of all crews of %(company)s"),
}


def about_feed(kind: str, subject: str, company: str) -> str:
    """Return what a calendar says that it is."""
    return str(_ABOUT[kind]) % {"subject": subject, "company": company}


def cancelled_title(title: str) -> str:
    return gettext("CANCELLED: %(title)s") % {"title": title}


def crew_visit_title(content: Codes, crew: str) -> str:
    """Return a visit's title with its crew in front."""
    return f"{crew}: {visit_title(content)}"


def builder_description(content: Codes, ends_at: datetime, zone: ZoneInfo, crew: str) -> str:
    """Return what a builder has to know of a visit: which coat in which rooms, and what must not
    be touched afterwards; crew: "" where its name is not told."""
    lines = [*([gettext("Crew: %(crew)s") % {"crew": crew}] if crew else []), *_coats(content)]
    return "\n\n".join(
        part for part in ("\n".join(lines), drying_description(content, ends_at, zone)) if part
    )


def drying_title(content: Codes) -> str:
    """Return what must be left alone, and where."""
    areas = listed([task["area"] for task in content["tasks"] if task["ready_at"]])
    said = gettext("%(house)s: coats drying, do not touch") % {"house": content["house"]["name"]}
    return f"{said} · {areas}" if areas else said


def drying_description(content: Codes, ends_at: datetime, zone: ZoneInfo) -> str:
    """Say which rooms must be left alone until when; "" where nothing is wet."""
    lines = keep_off_lines(content["tasks"], ends_at, zone)
    if not lines:
        return ""
    head = gettext("Do not touch the coats, and keep heat and air as they are:")
    return "\n".join([head, *(f"- {line}" for line in lines)])


def handover_title(content: Codes) -> str:
    areas = listed(list(content["areas"] or []))
    said = gettext("%(house)s: handover") % {"house": content["house"]}
    return f"{said} · {areas}" if areas else said


def handover_description(content: Codes, holds_on: date | None, zone: ZoneInfo) -> str:
    """Say when a handover is due and met as planned, and which day holds in 8 of 10."""
    lines = [handover_sentence(content, zone)]
    if holds_on and content["state"] != "done":
        said = gettext("Given what the air may do, %(day)s holds in 8 of 10.")
        lines.append(said % {"day": day(holds_on)})
    return "\n".join(lines)


def _coats(content: Codes) -> list[str]:
    """Say of each stage or job in an area in which rooms it is."""
    rooms: dict[tuple[str, str], list[str]] = {}
    for task in content["tasks"]:
        name = task["job"] or stage_name(task["stage"])
        rooms.setdefault((name, task["area"]), []).append(room_name(task))
    return [
        ": ".join(part for part in (f"{name} · {area}" if area else name, listed(named)) if part)
        for (name, area), named in rooms.items()
    ]
