"""What a crew has said of a visit, in a line each."""

from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _

from api.web.moments import hour_text
from scheduling.crew_word_wording import reason_text
from scheduling.models import SentReport, Visit
from scheduling.visit_wording import room_name
from scheduling.wording import Codes, day, figure, listed, stage_name

Action = SentReport.Action


def said_line(report: SentReport, visit: Visit, zone: ZoneInfo) -> str:
    """Return one thing said, with its hour, and its day where that is not the visit's."""
    at = report.at.astimezone(zone)
    when = hour_text(at)
    if at.date() != visit.starts_at.astimezone(zone).date():
        when = f"{day(at.date())} {when}"
    return f"{when} {_what(report, visit)}"


def task_name(task: Codes) -> str:
    """Return a task of a visit as a crew tells it from the others: stage and room, or its job."""
    return task["job"] or listed([stage_name(task["stage"]), task["area"], room_name(task)])


def _what(report: SentReport, visit: Visit) -> str:
    said = report.said
    match report.action:
        case Action.STARTED:
            return _("started")
        case Action.FINISHED if said["left"]:
            return _("finished, but for: %(rooms)s") % {"rooms": _rooms(said["left"], visit)}
        case Action.FINISHED:
            return _("finished")
        case Action.NOT_DRY:
            return _("not dry yet: %(rooms)s") % {"rooms": _rooms(said["under"], visit)}
        case Action.CANNOT_WORK:
            return _("cannot work: %(why)s") % {"why": reason_text(said)}
    hours = figure(said["person_minutes"] / 60)
    return _("extra work: %(what)s, %(hours)s hours") % {"what": said["what"], "hours": hours}


def _rooms(keys: object, visit: Visit) -> str:
    assert isinstance(keys, list | dict)
    names = {task["key"]: task_name(task) for task in visit.content["tasks"]}
    return "; ".join(names.get(key, _("work that is planned elsewhere")) for key in keys)
