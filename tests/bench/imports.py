"""Files of houses, crews, sites and air brought in: ``uv run python -m tests.bench.imports``.

Invented files: eight crews, 40 houses of ten rooms with measured walls and ceilings, their sites,
three months of hourly air. Prints for each how long the trial, the import, the same file again and
a file in which every row is another take, in seconds of the processor.
"""

import os
import tempfile
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from time import process_time
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from finishing.models import Company
    from finishing.services.file_imports import FileKind, Outcome

NOW = datetime(2026, 3, 2, 9, tzinfo=UTC)
HOUSES, ROOMS, CREWS, AIR_HOURS = 40, 10, 8, 24 * 90


def main() -> None:
    with tempfile.TemporaryDirectory() as var:
        os.environ["COATWEAVE_VAR"] = var
        os.environ["DJANGO_SETTINGS_MODULE"] = "finishing.config.settings"
        import django

        django.setup()
        from django.core.management import call_command

        call_command("migrate", verbosity=0)
        measure()


def measure() -> None:
    """Print what each file costs, in the order in which a new company brings them in."""
    from finishing.services.companies import start_company
    from finishing.services.file_imports import FileKind

    company = start_company(name="My company", zone="Europe/Dublin", country="IE")
    files = {
        FileKind.CREWS: crews,
        FileKind.HOUSES: houses,
        FileKind.SITE: sites,
        FileKind.AIR: air,
    }
    for kind, lines in files.items():
        first, other = ("\n".join(lines(turn)).encode() for turn in (0, 1))
        tried, trial_s = timed(company, kind, first)
        _, import_s = timed(company, kind, first, tried.token)
        again, again_s = timed(company, kind, first)
        changed, change_s = timed(company, kind, other)
        assert again.changes_nothing
        assert not changed.changes_nothing
        print(  # noqa: T201 - a bench prints
            f"{kind}, {len(first) / 1000:.0f} kB: trial {trial_s:.2f} s, import {import_s:.2f} s, "
            f"the same again {again_s:.2f} s, every row changed {change_s:.2f} s"
        )


def timed(
    company: "Company", kind: "FileKind", content: bytes, token: str = ""
) -> tuple["Outcome", float]:
    """Return what a file does, and the seconds that this takes."""
    from finishing.services.file_imports import Upload, import_file

    start = process_time()
    upload = Upload(kind, f"{kind}.csv", content)
    outcome = import_file(company=company, upload=upload, by=None, now=NOW, token=token)
    return outcome, process_time() - start


def houses(turn: int) -> Iterator[str]:
    """Yield houses whose every room and surface is another in another turn."""
    yield "house,handover,area,room,surface,level,length_m,tapered_m,butt_m,internal_m,area_m2"
    for house in range(HOUSES):
        handover = date(2026, 4, 1 + turn)
        for room in range(ROOMS):
            floor = "Ground floor" if room < ROOMS // 2 else "First floor"
            for surface in ("walls", "ceiling"):
                yield (
                    f"Alder Row {house},{handover},{floor},Room {room},{surface},4,"
                    f"{4 + turn},{12.5 + turn},{3.6 + turn},{9 + turn},{22 + turn}"
                )


def sites(turn: int) -> Iterator[str]:
    """Yield what each house's site still needs."""
    yield "house,what,item,done,area,from,to"
    for house in range(HOUSES):
        for item in ("power", "water", "heat"):
            yield f"Alder Row {house},ready,{item},{'yes' if turn else 'no'},,,"
        yield f"Alder Row {house},closed,,,Ground floor,2026-03-1{turn},2026-03-12"


def crews(turn: int) -> Iterator[str]:
    """Yield crews of four."""
    yield "crew,member,skills,hours"
    for crew in range(CREWS):
        for member in range(4):
            skills = "sanding" if turn else "coating"
            yield f"Crew {crew},Member {crew}.{member},{skills},mon-fri 07:00-15:30"


def air(turn: int) -> Iterator[str]:
    """Yield hourly air outdoors."""
    yield "time,temperature_c,humidity"
    for hour in range(AIR_HOURS):
        at = NOW - timedelta(hours=AIR_HOURS - hour)
        yield f"{at:%Y-%m-%dT%H:%MZ},{8 + turn + hour % 7},{70 + hour % 20}"


if __name__ == "__main__":
    main()
