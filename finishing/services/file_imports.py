"""Files that somebody brings in: read and written as the commands do, or only tried.

A file is always put into the rows, whole; what is only to be tried is taken back. So what the
trial says is what the import does, and there is no second reading of any sheet.
"""

import hashlib
import json
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum

from django.core.exceptions import ValidationError
from django.db import transaction

from finishing.models import Change, Company, House, User
from finishing.services.air_files import import_air
from finishing.services.air_sheet import AirFormat
from finishing.services.company_log import OF_CREWS, logged
from finishing.services.crew_sheet import read_crews
from finishing.services.crews import put_crew
from finishing.services.dryer_sheet import read_dryers
from finishing.services.dryers import put_dryer
from finishing.services.errors import Fault, InputFaults
from finishing.services.holidays import refresh_holidays
from finishing.services.house_differences import house_parts, log_houses
from finishing.services.house_sheet import read_houses
from finishing.services.houses import put_houses
from finishing.services.imported_rows import Line, Versions, line_of, versions_of
from finishing.services.pack_sheet import put_packs, read_packs
from finishing.services.sheet_lookups import Lookups
from finishing.services.sheets import Content
from finishing.services.site import put_sites
from finishing.services.site_sheet import read_sites

ABOUT_HOUSES = frozenset({"houses", "site"})
"""Kinds of files that change houses, which have a history."""
MOST_BYTES = 1_500_000
"""Of one file: some six years of one station's hours."""


class FileKind(StrEnum):
    """What a file is about, in the order in which a new company needs it."""

    CREWS = "crews"
    HOUSES = "houses"
    AIR = "air"
    SITE = "site"
    DRYERS = "dryers"
    PACKS = "packs"


_LOGGED = {
    FileKind.CREWS: (*OF_CREWS, Change.What.HOLIDAY),
    FileKind.DRYERS: (Change.What.DRYER,),
    FileKind.PACKS: (Change.What.COMPOUND, Change.What.SUPPLY),
}
"""By kind of file what else of its rows is logged."""


@dataclass(frozen=True, slots=True)
class Upload:
    """A file that somebody sent, or its rows. air, house: what an air file itself does not say,
    and the house whose air it is."""

    kind: FileKind
    name: str
    content: Content
    air: AirFormat = field(default_factory=lambda: AirFormat(source="air"))
    house: House | None = None
    most_bytes: int = MOST_BYTES

    def as_bytes(self) -> bytes:
        """Return what stands for its content."""
        if isinstance(self.content, bytes):
            return self.content
        return json.dumps(self.content, sort_keys=True).encode()


@dataclass(frozen=True, slots=True)
class Outcome:
    """What a file does: a line for each thing that it names.

    token: stands for this file and for the rows as they were before. kept: whether it was
    imported, or only tried.
    """

    lines: tuple[Line, ...]
    token: str
    kept: bool

    @property
    def changes_nothing(self) -> bool:
        return all(line.is_as_before for line in self.lines)


@transaction.atomic
def import_file(
    *,
    company: Company,
    upload: Upload,
    by: User | None,
    now: datetime,
    token: str = "",
    at_once: bool = False,
) -> Outcome:
    """Import a file that was tried before, or only try it; what it does to houses is logged.

    token: the trial's. It is kept where the same file meets the same rows as then, otherwise
    nothing is, and the outcome says what it would do by now. at_once: it is kept without a trial.
    Raises InputFaults with all that is
    wrong with the file.
    """
    if isinstance(upload.content, bytes) and len(upload.content) > upload.most_bytes:
        raise InputFaults([Fault(upload.name, f"is larger than {upload.most_bytes:,} bytes")])
    before = versions_of(company, upload.kind)
    try:
        with logged_import(company, upload.kind, by=by, now=now) as imported:
            names = imported.names = _put(company, upload, now)
    except ValidationError as error:
        raise InputFaults(Fault(upload.name, text) for text in error.messages) from None
    after = versions_of(company, upload.kind)
    lines = tuple(
        line_of(name, before.get(name, {}), after.get(name, {}), imported.changes.get(name, ()))
        for name in names
    )
    tried = _token(company, upload, before, names)
    kept = at_once or token == tried
    if not kept:
        transaction.set_rollback(True)
    return Outcome(lines, tried, kept)


@dataclass(slots=True)
class Imported:
    """What a file is about, by name, for who reads it to say; and what is logged of these, where
    they are houses. Of others nothing is: somebody else may edit them meanwhile."""

    names: Sequence[str] = ()
    changes: Mapping[str, list[Change]] = field(default_factory=dict)


@contextmanager
def logged_import(
    company: Company, kind: FileKind, *, by: User | None, now: datetime
) -> Iterator[Imported]:
    """Log what the block does with a file of a kind; by: None where a command does it."""
    houses = house_parts(company) if kind in ABOUT_HOUSES else None
    imported = Imported()
    with logged(company, _LOGGED.get(kind, ()), by=by, now=now):
        yield imported
        if houses is not None:
            imported.changes = log_houses(company, imported.names, houses, by=by, now=now)


def _token(
    company: Company, upload: Upload, before: Mapping[str, Versions], names: list[str]
) -> str:
    rows = [(name, sorted(before.get(name, {}).items())) for name in names]
    said = repr((company.pk, upload.kind, upload.air, upload.house and upload.house.pk, rows))
    return hashlib.sha256(upload.as_bytes() + said.encode()).hexdigest()


def _put(company: Company, upload: Upload, now: datetime) -> list[str]:
    """Write what the file says; return the names of what it is about, in its order."""
    name, content = upload.name, upload.content
    match upload.kind:
        case FileKind.HOUSES:
            houses = read_houses(name=name, content=content, lookups=Lookups.of(company))
            return [row.name for row in put_houses(company=company, houses=houses)]
        case FileKind.CREWS:
            crews = read_crews(name=name, content=content, company=company)
            refresh_holidays(company=company, years=(now.year, now.year + 1))
            return [put_crew(company=company, crew=crew).name for crew in crews]
        case FileKind.DRYERS:
            dryers = read_dryers(name=name, content=content, company=company)
            return [put_dryer(company=company, dryer=dryer).name for dryer in dryers]
        case FileKind.PACKS:
            entries = read_packs(name=name, content=content, company=company)
            for entry in entries:
                put_packs(company=company, entry=entry)
            return [entry.thing for entry in entries]
        case FileKind.SITE:
            sites = read_sites(name=name, content=content, company=company)
            put_sites(company=company, sites=sites)
            return [site.house.name for site in sites]
        case FileKind.AIR:
            found = import_air(
                company=company,
                name=name,
                content=content,
                file_format=upload.air,
                house=upload.house,
            )
            return list(found)
