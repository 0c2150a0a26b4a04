"""What a file does to the things that it names, in words."""

from collections.abc import Callable, Mapping

from django.utils.translation import gettext, ngettext

from finishing.services.imported_rows import THINGS, Line

_PARTS: Mapping[str, Callable[[int], str]] = {
    "Area": lambda n: ngettext("%(n)s area", "%(n)s areas", n),
    "Room": lambda n: ngettext("%(n)s room", "%(n)s rooms", n),
    "Surface": lambda n: ngettext("%(n)s surface", "%(n)s surfaces", n),
    "JointLine": lambda n: ngettext("%(n)s line of joints", "%(n)s lines of joints", n),
    "CoatDone": lambda n: ngettext("%(n)s coat done", "%(n)s coats done", n),
    "CrewMember": lambda n: ngettext("%(n)s person", "%(n)s people", n),
    "CrewHours": lambda n: ngettext("%(n)s working window", "%(n)s working windows", n),
    "DayOff": lambda n: ngettext("%(n)s day off", "%(n)s days off", n),
    "AirDay": lambda n: ngettext("%(n)s day of air", "%(n)s days of air", n),
    "ReadinessLine": lambda n: ngettext("%(n)s readiness line", "%(n)s readiness lines", n),
    "Closure": lambda n: ngettext("%(n)s closure", "%(n)s closures", n),
    "OddJob": lambda n: ngettext("%(n)s odd job", "%(n)s odd jobs", n),
}
"""By model what its rows are called; the row of the thing itself has no words here."""


def line_sentence(line: Line) -> str:
    """Say what comes, changes and goes."""
    own = [line.parts[model] for model in THINGS if model in line.parts]
    new, changed, gone = (_worded(line, what) for what in ("new", "changed", "removed"))
    said = [
        gettext("new") if line.is_new else "",
        gettext("its own figures change") if any(counts.changed for counts in own) else "",
        gettext("adds %(parts)s") % {"parts": new} if new else "",
        gettext("changes %(parts)s") % {"parts": changed} if changed else "",
        gettext("takes away %(parts)s") % {"parts": gone} if gone else "",
    ]
    changes = "; ".join(filter(None, said)) or gettext("is there already, nothing changes")
    return gettext("%(name)s: %(changes)s") % {"name": line.name, "changes": changes}


def _worded(line: Line, what: str) -> str:
    counts = {model: getattr(line.parts[model], what) for model in line.parts if model in _PARTS}
    return ", ".join(_PARTS[model](n) % {"n": n} for model, n in counts.items() if n)
