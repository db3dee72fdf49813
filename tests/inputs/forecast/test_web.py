"""Faults of a web service that come in the middle of an answer, or in a sound one."""

from __future__ import annotations

import json
import time
from typing import Any

import pytest

from drybox.errors import StoreError
from drybox.inputs.forecast.web import Manners, get
from drybox.inputs.years.fetch import fetch_horizon
from tests.inputs.years.test_layouts import Here
from tests.loopback import Answer, serving

WAITED: list[float] = []
HASTY = Manners("tests@example.org", timeout_s=0.3, tries=2, sleep=WAITED.append)


@pytest.fixture(autouse=True)
def _no_proxy(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("NO_PROXY", "127.0.0.1")


def test_a_service_that_falls_silent_within_its_answer_is_left_in_time() -> None:
    with (
        serving(Answer("ab", drip_s=0.5)) as service,
        pytest.raises(StoreError, match=r"did not answer within 0\.3 s"),
    ):
        get(service.url, {}, HASTY)
    assert len(service.asked) == 2


@pytest.mark.parametrize(
    "answer", ["<html></html>", "{}", json.dumps({"outputs": {"horizon_profile": []}})]
)
def test_a_horizon_that_is_none_is_of_no_use(answer: str) -> None:
    with serving(Answer(answer)) as service, pytest.raises(StoreError, match="of no use"):
        fetch_horizon(Here(), HASTY, service.url)


def test_headers_that_drip_are_left_in_time() -> None:
    begun = time.monotonic()
    with (
        serving(Answer("{}", heads_s=0.2)) as service,
        pytest.raises(StoreError, match=r"did not answer within 0\.3 s"),
    ):
        get(service.url, {}, HASTY)
    assert time.monotonic() - begun < 5.0


@pytest.mark.parametrize("ask", [get, fetch_horizon], ids=["ours", "pvlib's"])
def test_a_service_that_sends_on_to_another_host_is_not_followed(ask: Any) -> None:
    with serving(Answer("", 302, {"Location": "http://localhost:9/there"})) as service:
        args = (service.url, {}, HASTY) if ask is get else (Here(), HASTY, service.url)
        with pytest.raises(StoreError, match=r"127\.0\.0\.1 sends on to localhost"):
            ask(*args)


def test_a_service_may_send_on_within_itself() -> None:
    with serving(Answer("", 302, {"Location": "/there"}), Answer("sound")) as service:
        assert get(service.url, {}, HASTY).text == "sound"


def test_a_part_of_an_answer_is_none() -> None:
    with (
        serving(Answer("half", 206)) as service,
        pytest.raises(StoreError, match="was cut short"),
    ):
        get(service.url, {}, HASTY)
