"""What has happened in a house, in words: edits, publications, reports."""

from collections.abc import Callable, Mapping, Sequence
from typing import Any
from zoneinfo import ZoneInfo

from django.utils.translation import gettext, ngettext
from django.utils.translation import gettext_lazy as _

from finishing.models import Change
from scheduling.field_wording import field_name
from scheduling.models import HouseRevision, Report, Visit
from scheduling.queries.reports import Said
from scheduling.value_wording import value_text
from scheduling.visit_wording import visit_title
from scheduling.wording import listed, moment, readiness_name, stage_name

WHAT = {
    "house": _("The house"),
    "area": _("Area %(place)s"),
    "room": _("Room %(place)s"),
    "surface": _("Surface %(place)s"),
    "readiness": _("Before work can start: %(place)s"),
    "closure": _("Closure of %(place)s"),
    "coat_done": _("Done before in %(place)s"),
    "odd_job": _("Odd job %(place)s"),
    "note": _("Note"),
}
_SHOWN_VISITS = 5


def change_sentence(change: Change, zone: ZoneInfo) -> str:
    """Say what somebody edited, and each field from what to what; zone: the house's."""
    place = readiness_name(change.place) if change.what == "readiness" else change.place
    what = str(WHAT.get(change.what, change.what)) % {"place": place}
    return edit_sentence(change, what, field_name, lambda code, one: value_text(code, one, zone))


def edit_sentence(
    change: Change, what: str, name_of: Callable[[str], str], said_of: Callable[[str, Any], str]
) -> str:
    """Say each field from what to what; what: what was edited, in words.

    name_of: what a field is called; said_of: what a value of a field is called.
    """
    if change.kind == Change.Kind.CHANGED:
        fields = [_field(name, pair, name_of, said_of) for name, pair in change.fields.items()]
        return f"{what}: {'; '.join(fields)}"
    made = change.kind == Change.Kind.MADE
    named = [
        f"{name_of(name)}: {said_of(name, pair[1] if made else pair[0])}"
        for name, pair in change.fields.items()
        if name not in {"name", "area"}
    ]
    said = gettext("%(what)s, new") if made else gettext("%(what)s, removed")
    return said % {"what": what} + (f" ({'; '.join(named)})" if named else "")


def _field(
    name: str,
    pair: Sequence[Any],
    name_of: Callable[[str], str],
    said_of: Callable[[str, Any], str],
) -> str:
    before, after = pair
    if name == "done":
        return gettext("done") if after else gettext("open again")
    said = gettext("%(field)s %(after)s instead of %(before)s")
    return said % {
        "field": name_of(name),
        "before": said_of(name, before),
        "after": said_of(name, after),
    }


def revision_sentence(row: HouseRevision, zone: ZoneInfo) -> str:
    """Say what a publication did to the visits of a house."""
    revision = {"revision": row.publication.revision}
    if row.publication.takes_back_id:
        said = gettext("Revision %(revision)s took the one before it back") % revision
    else:
        said = gettext("Revision %(revision)s was published") % revision
    visits = [_visit(visit, zone) for visit in row.visits[:_SHOWN_VISITS]]
    more = len(row.visits) - _SHOWN_VISITS
    if more > 0:
        visits.append(ngettext("%(n)s visit more", "%(n)s visits more", more) % {"n": more})
    return f"{said}: {'; '.join(visits)}"


def _visit(visit: dict[str, str], zone: ZoneInfo) -> str:
    values = {"crew": visit["crew"], "start": moment(visit["starts_at"], zone)}
    if visit["was"]:
        was = moment(visit["was"], zone)
        return gettext("%(crew)s %(start)s instead of %(was)s") % {**values, "was": was}
    words = {
        "new": gettext("%(crew)s comes %(start)s"),
        "moved": gettext("%(crew)s %(start)s with other work"),
        "cancelled": gettext("%(crew)s does not come %(start)s"),
    }
    return words[visit["kind"]] % values


def report_sentence(report: Report, work: Mapping[str, str]) -> str:
    """Say what a crew reported of one task or coat; work: names by id, see ``queries/history``."""
    place, stage = [*report.key.split(":"), ""][:2]
    what = listed([stage_name(stage), work.get(place, "")])
    words = {
        "not_dry": gettext("Not dry yet: %(what)s"),
        "not_done": gettext("Not done: %(what)s"),
        "left": gettext("Goes on longer: %(what)s"),
    }
    return words.get(report.kind, report.kind) % {"what": what}


def visit_sentence(visit: Visit, said: Mapping[str, Said], zone: ZoneInfo) -> str:
    """Say what a visit that is over was for, and what its crew reported of it."""
    _house, _colon, work = visit_title(visit.content).partition(": ")
    values = {
        "crew": visit.crew.name,
        "start": moment(visit.starts_at, zone),
        "end": f"{visit.ends_at.astimezone(zone):%H:%M}",
        "work": work,
        "state": _reported(visit, said),
    }
    return gettext("%(crew)s, %(start)s to %(end)s: %(work)s. %(state)s") % values


def _reported(visit: Visit, said: Mapping[str, Said]) -> str:
    tasks = [said.get(task["key"], {}) for task in visit.content["tasks"]]
    done = sum(_is_done(task) for task in tasks)
    if done == len(tasks):
        return gettext("Reported done.")
    if done:
        counts = {"done": done, "all": len(tasks)}
        return gettext("%(done)s of %(all)s tasks reported done.") % counts
    if any(tasks):
        return gettext("Reported, and not done.")
    return gettext("No report: counts as done as planned.")


def _is_done(said: Said) -> bool:
    done, not_done = said.get(Report.Kind.DONE), said.get(Report.Kind.NOT_DONE)
    return done is not None and (not_done is None or not_done.pk < done.pk)
