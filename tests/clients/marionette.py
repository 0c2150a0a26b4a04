"""The protocol by which Mozilla's programs are driven: JSON with its length in front."""

import json
import socket
import time
from typing import Any

TO_START_S, TO_ANSWER_S = 60, 60


class Marionette:
    """A session with a program that was started with ``--marionette``."""

    def __init__(self, port: int) -> None:
        self.connection = _connected(port)
        self.last_id = 0
        self._receive()  # its greeting
        self.ask("WebDriver:NewSession", {})
        self.ask("Marionette:SetContext", {"value": "chrome"})

    def close(self) -> None:
        self.connection.close()

    def run(self, script: str, *arguments: Any) -> Any:
        """Return what a script of the program's own returns, or resolves to."""
        asked = {"script": script, "args": list(arguments), "newSandbox": True}
        return self.ask("WebDriver:ExecuteScript", asked)["value"]

    def ask(self, command: str, parameters: dict[str, Any]) -> Any:
        self.last_id += 1
        message = json.dumps([0, self.last_id, command, parameters])
        self.connection.sendall(f"{len(message.encode())}:{message}".encode())
        _, answered, error, result = self._receive()
        assert answered == self.last_id
        assert error is None, error
        return result

    def _receive(self) -> Any:
        length = b""
        while not length.endswith(b":"):
            length += self._some(1)
        return json.loads(self._some(int(length[:-1])))

    def _some(self, size: int) -> bytes:
        data = b""
        while len(data) < size:
            part = self.connection.recv(size - len(data))
            assert part, "the program has gone"
            data += part
        return data


def _connected(port: int) -> socket.socket:
    """Return a connection as soon as the program listens."""
    until = time.monotonic() + TO_START_S
    while True:
        try:
            return socket.create_connection(("127.0.0.1", port), timeout=TO_ANSWER_S)
        except ConnectionRefusedError:
            assert time.monotonic() < until, "the program does not listen"
            time.sleep(0.2)
