"""README's whole job, run by bash as it is printed, with a server and a database of its own.

Only the port is another. The files of houses and crews are those that README prints.
"""

import json
import os
import re
import subprocess
import sys
from collections.abc import Iterator, Mapping
from datetime import UTC, datetime, timedelta
from pathlib import Path
from urllib.error import URLError
from urllib.request import urlopen

import icalendar
import pytest

from tests.production.servers import await_that, free_port

ROOT = Path(__file__).resolve().parents[3]
README = (ROOT / "README.md").read_text(encoding="utf-8")
((JOB,),) = (re.findall(r"```sh whole job\n(.*?)```", README, re.DOTALL),)
FILES = dict(re.findall(r"```csv (\S+)\n(.*?)```", README, re.DOTALL))
PRINTED = "127.0.0.1:8000"
pytestmark = pytest.mark.soak  # its run searches as long as a user's, a minute or more
MANAGE = [sys.executable, str(ROOT / "manage.py")]
DAYS_OF_AIR = 10


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder as README asks for it."""
    (tmp_path / "manage.py").symlink_to(ROOT / "manage.py")
    for name in ("crews.csv", "houses.csv"):
        (tmp_path / name).write_text(FILES[name], encoding="utf-8")
    now = datetime.now(UTC).replace(minute=0, second=0, microsecond=0)
    hours = [now - timedelta(hours=hour) for hour in range(24 * DAYS_OF_AIR, 0, -1)]
    lines = [f"{hour:%Y-%m-%dT%H:00Z},16.0,60" for hour in hours]
    heading = FILES["air.csv"].partition("\n")[0]
    (tmp_path / "air.csv").write_text("\n".join([heading, *lines, ""]), encoding="utf-8")
    return tmp_path


@pytest.fixture
def environment(folder: Path) -> Mapping[str, str]:
    port = free_port()
    return {
        **{name: value for name, value in os.environ.items() if "DJANGO" not in name},
        "COATWEAVE_VAR": str(folder / "var"),
        "COATWEAVE_SITE_URL": f"http://127.0.0.1:{port}",
        "UV_PROJECT": str(ROOT),
        "UV_NO_SYNC": "1",
    }


@pytest.fixture
def server(folder: Path, environment: Mapping[str, str]) -> Iterator[str]:
    """The address of a server whose database has one company without anything."""
    made = [*MANAGE, "make_user", "you@example.com", "--zone", "Europe/Dublin", "--country", "IE"]
    subprocess.run(made, env=environment, check=True, capture_output=True)
    address = environment["COATWEAVE_SITE_URL"].removeprefix("http://")
    with (folder / "server.log").open("wb") as log:
        process = subprocess.Popen(
            [*MANAGE, "runserver", address, "--noreload"], env=environment, stdout=log, stderr=log
        )
    try:
        await_that(lambda: answers(address), "the server answers")
        yield address
    finally:
        process.terminate()
        process.wait(30)


def answers(address: str) -> bool:
    try:
        with urlopen(f"http://{address}/sign-in/", timeout=5) as answer:
            return bool(answer.status == 200)
    except URLError:
        return False


def test_the_whole_job_runs_as_it_is_printed(
    folder: Path, environment: Mapping[str, str], server: str
) -> None:
    assert PRINTED in JOB
    script = "set -e -o pipefail\n" + JOB.replace(PRINTED, server)
    done = subprocess.run(
        ["bash", "-c", script],
        cwd=folder,
        env=environment,
        capture_output=True,
        text=True,
        timeout=240,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    tried = json.loads((folder / "houses.json").read_text(encoding="utf-8"))
    assert [thing["name"] for thing in tried["things"]] == ["Larch Row 3", "Mill Cottage"]
    assert tried["stored"] is False
    visits = json.loads((folder / "visits.json").read_text(encoding="utf-8"))["visits"]
    pending = json.loads((folder / "pending.json").read_text(encoding="utf-8"))
    assert visits
    assert pending
    calendar = icalendar.Calendar.from_ical((folder / "mill-cottage.ics").read_bytes())
    assert calendar.walk("VEVENT")
