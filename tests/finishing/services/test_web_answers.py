"""Servers that answer in ways that would hold up whoever asks."""

import socketserver
from threading import Thread

import httpx
import pytest

from finishing.services.web_answers import Asker, NoAnswer, careful_client


@pytest.mark.parametrize("sent", [b"HTTP/1.1 200 OK\r\nX: ", b"HTTP/1.1 200 OK\r\n\r\n{"])
def test_a_server_that_never_comes_to_an_end_is_hung_up_on(sent: bytes) -> None:
    """It says a part of its headers or of its answer, and then nothing for as long as the line
    stands; nobody but the one who asked can end that."""
    hung_up = []

    class Slow(socketserver.BaseRequestHandler):
        def handle(self) -> None:
            self.request.recv(100_000)
            self.request.sendall(sent)
            hung_up.append(self.request.recv(1))

    with socketserver.TCPServer(("127.0.0.1", 0), Slow) as server, careful_client() as client:
        serving = Thread(target=server.handle_request)
        serving.start()
        asker = Asker(client, whole_seconds=0.2)
        with pytest.raises(NoAnswer, match=r"not whole after 0\.2 seconds"):
            asker.get(httpx.URL(f"http://127.0.0.1:{server.server_address[1]}/"), attempts=1)
        serving.join()
    assert hung_up == [b""]


def test_an_answer_packed_twice_is_not_unpacked() -> None:
    packed = {"content-encoding": "gzip, gzip"}
    transport = httpx.MockTransport(
        lambda _: httpx.Response(200, stream=httpx.ByteStream(b"?"), headers=packed)
    )
    with careful_client(transport) as client, pytest.raises(NoAnswer, match="more than once"):
        Asker(client).get(httpx.URL("https://forecast.example/"))
