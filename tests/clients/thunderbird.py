"""Thunderbird without its windows, driven from inside."""

import os
import socket
import subprocess
from pathlib import Path

from tests.clients.evolution import shown_event
from tests.clients.marionette import Marionette
from tests.clients.reading import Reading, Served

SCRIPT = (Path(__file__).parent / "thunderbird.js").read_text(encoding="utf-8")
PREFERENCES = """
user_pref("marionette.port", {port});
user_pref("app.update.enabled", false);
user_pref("mail.provider.suppress_dialog_on_startup", true);
user_pref("datareporting.policy.dataSubmissionEnabled", false);
"""


class Thunderbird:
    """A subscription in a profile of its own."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.program: subprocess.Popen[bytes] | None = None
        self.session: Marionette | None = None

    def read(self, served: Served) -> Reading:
        self.session = self.session or self._start()
        events = self.session.run(SCRIPT, served.address)
        return Reading.of(shown_event(**event) for event in events)

    def close(self) -> None:
        if self.session:
            self.session.close()
        if self.program:
            self.program.terminate()
            self.program.wait()

    def _start(self) -> Marionette:
        port = _free_port()
        profile = self.folder / "profile"
        profile.mkdir()
        (profile / "user.js").write_text(PREFERENCES.format(port=port))
        flags = ("--headless", "--marionette", "--remote-allow-system-access", "--no-remote")
        with (self.folder / "thunderbird.log").open("w") as log:
            self.program = subprocess.Popen(
                ["thunderbird", *flags, "--profile", profile],
                stdout=log,
                stderr=log,
                env={**os.environ, "HOME": str(self.folder)},
            )
        return Marionette(port)


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port
