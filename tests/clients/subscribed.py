"""vdirsyncer, which fetches a calendar and keeps one file per event, and khal, which shows them.

They keep what they have fetched before, as a subscriber does: what was dropped, moved or renamed
since has to be told by what the address answers now. vdirsyncer trusts no UID of an address, and
knows an event by all that it says.
"""

import json
import os
import subprocess
import sys
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

from tests.clients.reading import Reading, Served, Shown

SYNC_CONFIG = """
[general]
status_path = "{folder}/status/"
[pair feed]
a = "here"
b = "there"
collections = null
[storage here]
type = "filesystem"
path = "{folder}/events/"
fileext = ".ics"
[storage there]
type = "http"
url = "{address}"
"""
SHOW_CONFIG = """
[calendars]
[[feed]]
path = {folder}/events/
[locale]
local_timezone = UTC
default_timezone = UTC
timeformat = %H:%M:%S
dateformat = %Y-%m-%d
longdateformat = %Y-%m-%d
datetimeformat = %Y-%m-%dT%H:%M:%S
longdatetimeformat = %Y-%m-%dT%H:%M:%S
[sqlite]
path = {folder}/khal.db
[default]
show_all_days = False
"""
FIELDS = ("start-long", "end-long", "title", "status")
FIRST_DAY, DAYS = "2025-12-01", "800d"
"""What days khal is asked for: those of the scenario, with room around them."""


@dataclass(frozen=True)
class Subscribed:
    """A subscription with all that it keeps in a folder of its own."""

    folder: Path

    def read(self, served: Served) -> Reading:
        sync = self._written("vdirsyncer.config", SYNC_CONFIG, served.address)
        show = self._written("khal.config", SHOW_CONFIG, served.address)
        (self.folder / "events").mkdir(exist_ok=True)
        self._run("vdirsyncer", "--config", sync, "discover", said="y\n")
        self._run("vdirsyncer", "--config", sync, "sync")
        wanted = [part for field in FIELDS for part in ("--json", field)]
        lines = self._run("khal", "--config", show, "list", "--once", *wanted, FIRST_DAY, DAYS)
        days = [json.loads(line) for line in lines.splitlines() if line.startswith("[")]
        return Reading.of(_shown(event) for day in days for event in day)

    def _written(self, name: str, text: str, address: str) -> str:
        file = self.folder / name
        file.write_text(text.format(folder=self.folder, address=address))
        return str(file)

    def _run(self, program: str, *arguments: str, said: str = "") -> str:
        done = subprocess.run(
            [Path(sys.executable).parent / program, *arguments],
            input=said,
            capture_output=True,
            text=True,
            env={**os.environ, "HOME": str(self.folder), "LC_ALL": "C.UTF-8"},
            check=False,
        )
        assert done.returncode == 0, f"{program}: {done.stderr}"
        return done.stdout


def _shown(event: dict[str, Any]) -> Shown:
    starts, ends = _moment(event["start-long"]), _moment(event["end-long"])
    if not isinstance(ends, datetime):
        ends += timedelta(days=1)  # khal names the last day, not the one after
    status = event["status"].strip()
    return Shown.of("", starts, ends, event["title"], status=status)


def _moment(text: str) -> date:
    if "T" not in text:
        return date.fromisoformat(text)
    return datetime.fromisoformat(text).replace(tzinfo=UTC)
