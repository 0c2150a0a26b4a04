"""Evolution's data server without its windows, in a session bus of its own."""

import json
import os
import subprocess
from datetime import date, datetime
from pathlib import Path
from typing import Any

from tests.clients.reading import Reading, Served, Shown

PYTHON = "/usr/bin/python3"
"""Debian's, which has the server's bindings (``python3-gi``, ``gir1.2-ecal-2.0``)."""
READER = Path(__file__).parent / "read_evolution.py"


class Evolution:
    """A subscription with all that the server keeps in a folder of its own."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.server: subprocess.Popen[str] | None = None

    def read(self, served: Served) -> Reading:
        if self.server is None:
            self.server = self._start(served.address)
        assert self.server.stdin
        assert self.server.stdout
        self.server.stdin.write("\n")
        self.server.stdin.flush()
        events = json.loads(self.server.stdout.readline())
        return Reading.of(shown_event(**event) for event in events)

    def close(self) -> None:
        if self.server:
            self.server.communicate()

    def _start(self, address: str) -> "subprocess.Popen[str]":
        home = str(self.folder)
        own: dict[str, Any] = {"HOME": home, "GSETTINGS_BACKEND": "memory"}
        own |= {f"XDG_{kind}_HOME": f"{home}/{kind}" for kind in ("CONFIG", "DATA", "CACHE")}
        with (self.folder / "evolution.log").open("w") as log:
            return subprocess.Popen(
                ["dbus-run-session", "--", PYTHON, READER, address],
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=log,
                text=True,
                env={**os.environ, **own},
            )


def shown_event(uid: str, starts: str, ends: str, title: str, status: str) -> Shown:
    return Shown.of(uid, _moment(starts), _moment(ends), title, status=status)


def _moment(text: str) -> date:
    return datetime.fromisoformat(text) if "T" in text else date.fromisoformat(text)
