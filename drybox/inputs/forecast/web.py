"""Ask a web service politely: say who asks, wait no longer than told, try again, and give up."""

from __future__ import annotations

import contextlib
import threading
import time
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import TypeVar
from urllib.parse import urljoin, urlsplit

import requests
import urllib3

from drybox import __version__
from drybox.errors import InputError, StoreError

LARGEST_BYTES = 20_000_000
LONGEST_RETRY_S = 30.0
FIRST_WAIT_S = 1.0
"""Before the second try; twice as long before each further one. [s]"""

GRACE_S = 0.5
"""Longer than the limit of the library itself, whose words are better. [s]"""

PARTIAL = 206
BUSY = (429, 500, 502, 503, 504)
OFFLINE = "check the connection, or use a file that was saved before"
T = TypeVar("T")


@dataclass(frozen=True)
class Reply:
    """What a service answered: status, headers with small letters, and text."""

    status: int
    headers: Mapping[str, str]
    text: str


@dataclass(frozen=True)
class Manners:
    """How a service is asked.

    ``contact`` is the address or site of whoever asks, which free services want to know;
    ``timeout_s`` the longest wait for one answer, all of it. It is asked ``tries`` times at most.
    """

    contact: str
    timeout_s: float = 10.0
    tries: int = 3
    sleep: Callable[[float], None] = field(default_factory=lambda: time.sleep, compare=False)

    @property
    def user_agent(self) -> str:
        """What the service is told of who asks."""
        return f"drybox/{__version__} {self.contact}".strip()


class _PassingError(Exception):
    """A fault that may pass: what to say if it does not, and how long to wait."""

    def __init__(self, what: str, wait_s: float | None = None) -> None:
        super().__init__(what)
        self.wait_s = wait_s


def check_contact(contact: str | None) -> str:
    """Return who asks, or say that the service wants to know.

    >>> check_contact("ann@example.org")
    'ann@example.org'
    """
    text = (contact or "").strip()
    if not text or not text.isascii() or not text.isprintable() or " " in text or "." not in text:
        raise InputError(
            "the weather service asks who fetches",
            "option --contact",
            "give a mail address or a site, such as --contact me@example.org",
        )
    return text


def get(
    url: str,
    params: Mapping[str, str],
    manners: Manners,
    *,
    headers: Mapping[str, str] | None = None,
) -> Reply:
    """Return a service's answer.

    Its status is 200, 203 or 304; a StoreError says in plain words why there is no such answer in
    time.
    """
    host = urlsplit(url).hostname or url
    told = {"User-Agent": manners.user_agent, "Accept": "application/json", **(headers or {})}
    return retried(lambda: _once(url, params, told, timeout_s=manners.timeout_s), host, manners)


def retried(ask: Callable[[], T], host: str, manners: Manners) -> T:
    """Return what a call that goes over the network gives, tried again where that may help."""
    wait_s, left = FIRST_WAIT_S, manners.tries
    while True:
        left -= 1
        try:
            return _said_plainly(ask, host, manners.timeout_s)
        except _PassingError as fault:
            asked_s = fault.wait_s or 0.0
            if left <= 0 or asked_s > LONGEST_RETRY_S:
                later = f"; it asks to wait {asked_s:.0f} s" if asked_s else ""
                raise StoreError(f"{fault}{later}", mend=OFFLINE) from None
            manners.sleep(max(wait_s, asked_s))
            wait_s *= 2


def _said_plainly(ask: Callable[[], T], host: str, timeout_s: float) -> T:
    """Return what a call gives, its faults sorted into those that may pass and those that stay."""
    try:
        with _staying_at(host):
            return _in_time(ask, timeout_s)
    except requests.Timeout:
        raise _PassingError(f"{host} did not answer within {timeout_s:g} s") from None
    except requests.HTTPError as error:
        response = error.response
        if response is None:  # pvlib hands on the service's own words
            why = " ".join(str(error).split())[:150]
            raise StoreError(f"{host} refuses: {why}") from None
        if response.status_code in BUSY:
            after = response.headers.get("Retry-After", "").strip()
            wait_s = float(after) if after.isdigit() else None
            raise _PassingError(f"{host} is busy (status {response.status_code})", wait_s) from None
        raise StoreError(_refusal(host, response.status_code)) from None
    except requests.exceptions.ChunkedEncodingError:
        raise _PassingError(f"the answer of {host} was cut short") from None
    except requests.ConnectionError:
        raise _PassingError(f"{host} cannot be reached") from None
    except requests.RequestException as error:
        raise StoreError(f"{host} cannot be asked: {type(error).__name__}") from None


def _in_time(ask: Callable[[], T], timeout_s: float) -> T:
    """Return what a call gives within one limit over all of it: address, heads and answer.

    The limits of the library are for the next byte only, and a server may drip for ever.
    """
    found: list[T] = []
    faults: list[BaseException] = []

    def run() -> None:
        try:
            found.append(ask())
        except BaseException as fault:  # handed on below
            faults.append(fault)

    worker = threading.Thread(target=run, daemon=True)
    worker.start()
    worker.join(timeout_s + GRACE_S)
    if faults:
        raise faults[0]
    if not found:
        raise requests.Timeout
    return found[0]


@contextlib.contextmanager
def _staying_at(host: str) -> Iterator[None]:
    """Refuse a service that sends on to another host, for all that asks through `requests`."""
    usual = requests.Session.get_redirect_target

    def target(self: requests.Session, response: requests.Response) -> str | None:
        found: str | None = usual(self, response)
        other = urlsplit(urljoin(response.url, found)).hostname if found else host
        if other != host:
            response.close()
            mend = "if that is its new address, name it with --url"
            raise StoreError(f"{host} sends on to {other}, which was not asked for", mend=mend)
        return found

    requests.Session.get_redirect_target = target
    try:
        yield
    finally:
        requests.Session.get_redirect_target = usual


def _refusal(host: str, status: int) -> str:
    reasons = {
        400: "the question is not understood",
        403: "it wants to know who asks, or has blocked it",
        404: "there is nothing at that address",
        422: "there is no forecast for that place",
    }
    return f"{host} refuses with status {status}: {reasons.get(status, 'no reason is known')}"


def _once(
    url: str, params: Mapping[str, str], headers: Mapping[str, str], *, timeout_s: float
) -> Reply:
    """Ask once; the whole answer must come in time, not only its next byte."""
    ends = time.monotonic() + timeout_s
    with requests.get(
        url, params=dict(params), headers=dict(headers), timeout=timeout_s, stream=True
    ) as response:
        response.raise_for_status()
        if response.status_code == PARTIAL:
            raise requests.exceptions.ChunkedEncodingError
        content = bytearray()
        while piece := _next_piece(response):
            content += piece
            if time.monotonic() > ends:
                raise requests.Timeout
            if len(content) > LARGEST_BYTES:
                raise StoreError(f"the answer of {urlsplit(url).hostname} is too large")
        text = content.decode("utf-8", "replace")
        lower = {name.lower(): value for name, value in response.headers.items()}
        return Reply(response.status_code, lower, text)


def _next_piece(response: requests.Response) -> bytes:
    """Return what has come in by now; `iter_content` would wait until its piece is full."""
    try:
        piece: bytes = response.raw.read1(65536, decode_content=True)
    except urllib3.exceptions.ReadTimeoutError:
        raise requests.Timeout from None
    except urllib3.exceptions.DecodeError:
        raise requests.exceptions.ContentDecodingError from None
    except urllib3.exceptions.HTTPError:
        raise requests.exceptions.ChunkedEncodingError from None
    return piece
