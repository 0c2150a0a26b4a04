"""Calendar libraries of npm, each behind a few lines of JavaScript that write JSON."""

import json
import os
import subprocess
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path

from tests.clients.reading import Reading, Served, Shown

MODULES = "COATWEAVE_NODE_CLIENTS"
"""The environment's name for a folder in which npm has installed both; see ``.ci/run``."""


@dataclass(frozen=True)
class NodeClient:
    """Reads by a script of this folder."""

    script: str

    def read(self, served: Served) -> Reading:
        done = subprocess.run(
            ["node", Path(__file__).parent / self.script, os.environ[MODULES]],
            input=served.body,
            capture_output=True,
            env={**os.environ, "TZ": "UTC"},
            check=False,
        )
        assert done.returncode == 0, done.stderr.decode()
        answer = json.loads(done.stdout)
        return Reading.of((_shown(**event) for event in answer["events"]), answer.get("name"))


def _shown(uid: str, starts: str, ends: str, title: str, status: str) -> Shown:
    return Shown.of(uid, _moment(starts), _moment(ends), title, status=status)


def _moment(text: str) -> date:
    return datetime.fromisoformat(text) if "T" in text else date.fromisoformat(text)
