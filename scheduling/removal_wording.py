"""What goes with rooms that are removed, in words."""

from collections.abc import Iterator, Sequence

from django.utils.translation import gettext, ngettext

from scheduling.queries.removals import Hanging
from scheduling.wording import listed


def surfaces_sentence(names: Sequence[str]) -> str:
    """Say what goes with surfaces."""
    said = ngettext(
        "%(names)s: it goes, with what was taken off of it; what crews reported of the room stays.",
        "%(names)s: they go, with what was taken off of them; what crews reported of the rooms "
        "stays.",
        len(names),
    )
    return said % {"names": listed(list(names))}


def removal_sentences(names: Sequence[str], hanging: Hanging) -> Iterator[str]:
    """Say what would go, what would stay, and what plans would not know."""
    said = ngettext(
        "%(rooms)s goes, with its takeoff.", "%(rooms)s go, with their takeoff.", len(names)
    )
    yield said % {"rooms": listed(list(names))}
    if hanging.tasks:
        words = ngettext(
            "%(n)s piece of work in the plan is there no more once it is planned again.",
            "%(n)s pieces of work in the plan are there no more once it is planned again.",
            hanging.tasks,
        )
        yield words % {"n": hanging.tasks}
    if hanging.pins:
        words = ngettext(
            "%(n)s pin holds nothing any more.", "%(n)s pins hold nothing any more.", hanging.pins
        )
        yield words % {"n": hanging.pins}
    if hanging.reports:
        words = ngettext(
            "%(n)s report of a crew stays on record, but counts for no room.",
            "%(n)s reports of crews stay on record, but count for no room.",
            hanging.reports,
        )
        yield words % {"n": hanging.reports}
    else:
        yield gettext("No crew has reported anything of it.")
