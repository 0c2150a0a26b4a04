"""The pages on which files are brought in."""

from collections.abc import Sequence
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from api.web.form_group import ShownFault, shown_faults
from api.web.import_form import ImportForm
from finishing.services.errors import Fault
from finishing.services.example_files import columns_of
from finishing.services.file_imports import FileKind, Outcome
from finishing.services.imported_rows import Line
from scheduling.history_wording import change_sentence
from scheduling.import_wording import line_sentence

MOST_SHOWN = 500
"""Faults on one page: whoever has more has one that repeats."""
MOST_DETAILS = 12
"""Edits of one house."""


@dataclass(frozen=True)
class KindWords:
    """A kind of file in words."""

    kind: FileKind
    title: Promise
    about: Promise


KINDS = {
    FileKind.CREWS: KindWords(
        FileKind.CREWS,
        _("Crews"),
        _(
            "A line for each person: the crew, its working hours, what the person can do, days"
            " off. A crew of the same name is brought in line with the file; its people and hours"
            " that the file does not name go."
        ),
    ),
    FileKind.HOUSES: KindWords(
        FileKind.HOUSES,
        _("Houses"),
        _(
            "A line for the ceiling and one for the walls of each room, with its level and its"
            " metres, sizes or area. A house of the same name is brought in line with the file;"
            " its areas and rooms that the file does not name go."
        ),
    ),
    FileKind.AIR: KindWords(
        FileKind.AIR,
        _("Air"),
        _(
            "A line for each hour with its temperature and relative humidity, of a weather"
            " station or of a device in one house. Hours that are there already are replaced, all"
            " others stay. A plan needs at least 24 hours."
        ),
    ),
    FileKind.SITE: KindWords(
        FileKind.SITE,
        _("Site"),
        _(
            "What houses offer, which areas are given to others and odd jobs, a line for each."
            " Lines of a house that the file names and that are not in it go."
        ),
    ),
    FileKind.DRYERS: KindWords(
        FileKind.DRYERS,
        _("Dryers"),
        _(
            "Dehumidifiers and heaters, a line for each kind: how many, what one can do, where"
            " they are kept."
        ),
    ),
    FileKind.PACKS: KindWords(
        FileKind.PACKS,
        _("Packs and prices"),
        _(
            "How compounds, tape, beads and sandpaper are bought, a line for each: sizes of packs,"
            " what each costs in the currency's smallest coin, days from order to delivery. A"
            " compound is named as it is on the page Compounds; what the file does not name stays."
        ),
    ),
}


@dataclass(frozen=True)
class ShownLine:
    """What a file does to one thing; details: each edit, of which ``more`` are not shown."""

    said: str
    details: Sequence[str]
    more: int


@dataclass(frozen=True)
class ImportPage:
    """A kind's page. wrong: faults of the form; faults: those of the file, of which ``more`` are
    not shown. lines: what the file does, where it was tried; has_removed: whether rows go.
    checked: the file and its token as they are sent back, blank where there is nothing to import.
    """

    words: KindWords
    form: ImportForm
    required: Sequence[str]
    optional: Sequence[str]
    wrong: Sequence[ShownFault] = ()
    faults: Sequence[Fault] = ()
    more: int = 0
    file_name: str = ""
    lines: Sequence[ShownLine] = ()
    is_tried: bool = False
    is_stale: bool = False
    has_removed: bool = False
    checked: str = ""
    token: str = ""
    imported: int | None = None


def imports_page() -> list[KindWords]:
    """Return the kinds in the order in which a new company needs them."""
    return [KINDS[kind] for kind in FileKind]


def import_page(
    form: ImportForm,
    *,
    imported: str = "",
    faults: Sequence[Fault] = (),
    outcome: Outcome | None = None,
    is_stale: bool = False,
) -> ImportPage:
    """Return the page with what came of a file, if one was sent."""
    required, optional = columns_of(form.kind)
    lines = outcome.lines if outcome else ()
    offers = outcome is not None and not outcome.changes_nothing
    return ImportPage(
        words=KINDS[form.kind],
        form=form,
        required=required,
        optional=optional,
        wrong=shown_faults([form]),
        faults=faults[:MOST_SHOWN],
        more=max(0, len(faults) - MOST_SHOWN),
        file_name=form.upload().name if faults or outcome else "",
        lines=[_shown(line) for line in lines],
        is_tried=outcome is not None,
        is_stale=is_stale,
        has_removed=any(part.removed for line in lines for part in line.parts.values()),
        checked=form.again() if offers else "",
        token=outcome.token if outcome else "",
        imported=int(imported) if imported.isdecimal() and len(imported) < 7 else None,
    )


def _shown(line: Line) -> ShownLine:
    """Show the edits of a house that was there; a new one is told in one sentence."""
    edits = () if line.is_new else line.changes
    details = [
        change_sentence(edit, ZoneInfo(edit.house.zone))
        for edit in edits[:MOST_DETAILS]
        if edit.house
    ]
    return ShownLine(line_sentence(line), details, max(0, len(edits) - MOST_DETAILS))
