"""A web service on this machine that answers as told, fault by fault; no other is ever asked."""

from __future__ import annotations

import contextlib
import threading
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any
from urllib.parse import parse_qs, urlsplit


@dataclass
class Answer:
    """One answer: ``cut`` ends it before its stated length, ``slow_s`` comes before it,
    ``drip_s`` after each byte, ``heads_s`` after each of many headers; with ``hang_up`` the line
    is dropped.
    """

    body: str = ""
    status: int = 200
    headers: dict[str, str] = field(default_factory=dict)
    cut: int = 0
    slow_s: float = 0.0
    drip_s: float = 0.0
    heads_s: float = 0.0
    hang_up: bool = False


@dataclass
class Question:
    """What was asked."""

    path: str
    params: dict[str, str]
    headers: dict[str, str]


@dataclass
class Service:
    """The service: its address, its answers in turn (the last for good), and what it was asked."""

    url: str
    answers: list[Answer]
    asked: list[Question] = field(default_factory=list)


@contextlib.contextmanager
def serving(*answers: Answer) -> Iterator[Service]:
    """Give a service on loopback for as long as it is needed."""
    service = Service("", list(answers))

    class Handler(BaseHTTPRequestHandler):
        protocol_version = "HTTP/1.0"

        def do_GET(self) -> None:
            parts = urlsplit(self.path)
            params = {name: values[0] for name, values in parse_qs(parts.query).items()}
            headers = {name.lower(): value for name, value in self.headers.items()}
            service.asked.append(Question(parts.path, params, headers))
            answer = service.answers[min(len(service.asked), len(service.answers)) - 1]
            with contextlib.suppress(OSError):
                self.reply(answer)

        def reply(self, answer: Answer) -> None:
            time.sleep(answer.slow_s)
            if answer.hang_up:
                self.connection.close()
                return
            body = answer.body.encode()
            self.send_response(answer.status)
            for name, value in {"Content-Length": str(len(body)), **answer.headers}.items():
                self.send_header(name, value)
            for number in range(90 if answer.heads_s else 0):
                self.send_header(f"X-{number}", "drip")
                self.flush_headers()
                time.sleep(answer.heads_s)
            self.end_headers()
            body = body[: len(body) - answer.cut]
            if not answer.drip_s:
                self.wfile.write(body)
                return
            for number in range(len(body)):
                self.wfile.write(body[number : number + 1])
                self.wfile.flush()
                time.sleep(answer.drip_s)

        def log_message(self, *args: Any) -> None:
            """Say nothing."""

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    service.url = f"http://127.0.0.1:{server.server_port}/"
    thread = threading.Thread(target=server.serve_forever, args=(0.02,), daemon=True)
    thread.start()
    try:
        yield service
    finally:
        server.shutdown()
        server.server_close()
        thread.join()


def nobody() -> str:
    """Return an address at which nobody listens."""
    with serving() as service:
        return service.url
