"""Fetching, against a service on loopback that speaks the documented formats and every fault.

The live services were never asked: what is shown is that their documented answers are read.
"""

from __future__ import annotations

import json
import threading
import time
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date
from email.utils import formatdate
from pathlib import Path
from typing import Any

import pytest

from drybox.errors import InputError, StoreError
from drybox.inputs.event.place import Obstacle
from drybox.inputs.forecast.csv_file import parse_forecast
from drybox.inputs.forecast.fetch import (
    SOURCES,
    Cache,
    Fetched,
    Locationforecast,
    default_cache,
    fetch_forecast,
)
from drybox.inputs.forecast.web import Manners, check_contact, get
from drybox.inputs.years.fetch import (
    fetch_horizon,
    fetch_typical_year,
    horizon_obstacles,
    obstacle_lines,
)
from tests.inputs.years.test_layouts import locationforecast, pvgis_tmy_json
from tests.loopback import Answer, Service, nobody, serving


@dataclass(frozen=True)
class Here:
    latitude_deg: float = 46.950012345
    longitude_deg: float = 13.4
    elevation_m: float = 1150.4
    timezone: str = "Europe/Vienna"


GOOD = json.dumps(locationforecast())
NEWER = json.dumps(locationforecast(air_temperature=30.0))
CONTACT = "ann@example.org"
NOW_S = 1_812_700_000.0


@pytest.fixture(autouse=True)
def no_proxy(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    monkeypatch.setenv("NO_PROXY", "127.0.0.1")
    yield
    assert threading.active_count() < 20


@pytest.fixture
def cache(tmp_path: Path) -> Cache:
    return Cache(tmp_path / "kept", lambda: NOW_S)


WAITED: list[float] = []
MANNERS = Manners(CONTACT, timeout_s=5.0, sleep=WAITED.append)


def later(cache: Cache, hours: float) -> Cache:
    return Cache(cache.folder, lambda: NOW_S + hours * 3600)


def fetch(service: Service | str, cache: Cache, **more: Any) -> Fetched:
    WAITED.clear()
    url = service if isinstance(service, str) else service.url
    manners = more.pop("manners", MANNERS)
    return fetch_forecast(Locationforecast(url), Here(), manners, cache=cache, **more)


def air_c(fetched: Fetched) -> float:
    weather = parse_forecast(fetched.table, "UTC", date(2027, 6, 12))
    return float(weather.air_temp_k[0]) - 273.15


def test_a_forecast_is_asked_for_as_the_service_wants_it(cache: Cache) -> None:
    with serving(Answer(GOOD)) as service:
        found = fetch(service, cache)
    assert air_c(found) == pytest.approx(18.2)
    assert (found.age_s, found.notes) == (0.0, ())
    (asked,) = service.asked
    assert asked.params == {"lat": "46.9500", "lon": "13.4000", "altitude": "1150"}
    assert asked.headers["user-agent"].startswith("drybox/")
    assert asked.headers["user-agent"].endswith(CONTACT)
    assert "if-modified-since" not in asked.headers
    assert WAITED == []


def test_nothing_is_asked_before_the_copy_expires(cache: Cache) -> None:
    expires = {"Expires": formatdate(NOW_S + 1800, usegmt=True)}
    with serving(Answer(GOOD, headers=expires), Answer(NEWER)) as service:
        fetch(service, cache)
        again = fetch(service, later(cache, 0.25))
        assert len(service.asked) == 1
        assert air_c(again) == pytest.approx(18.2)
        assert again.age_s == 900.0
        assert again.notes == ("the service has nothing newer for another 15 min",)
        renewed = fetch(service, later(cache, 0.6))
    assert len(service.asked) == 2
    assert air_c(renewed) == pytest.approx(30.0)


def test_a_copy_past_its_time_is_renewed_only_if_it_changed(cache: Cache) -> None:
    when = formatdate(NOW_S - 600, usegmt=True)
    first = Answer(GOOD, headers={"Last-Modified": when})
    same = Answer("", 304, {"Expires": formatdate(NOW_S + 7200, usegmt=True)})
    with serving(first, same) as service:
        fetch(service, cache)
        again = fetch(service, later(cache, 1))
        assert service.asked[1].headers["if-modified-since"] == when
        assert again.notes == ("the service has nothing newer",)
        assert air_c(again) == pytest.approx(18.2)
        fetch(service, later(cache, 1.5))
        assert len(service.asked) == 2  # the 304 gave a new time


@pytest.mark.parametrize("status", [429, 500, 503])
def test_a_busy_service_is_asked_again_after_longer_and_longer(cache: Cache, status: int) -> None:
    with serving(Answer("", status), Answer("", status), Answer(GOOD)) as service:
        found = fetch(service, cache)
    assert air_c(found) == pytest.approx(18.2)
    assert WAITED == [1.0, 2.0]


def test_a_busy_service_is_given_the_time_it_asks_for(cache: Cache) -> None:
    with serving(Answer("", 429, {"Retry-After": "7"}), Answer(GOOD)) as service:
        fetch(service, cache)
    assert WAITED == [7.0]
    long = Answer("", 429, {"Retry-After": "3600"})
    with serving(long) as service, pytest.raises(StoreError) as caught:
        fetch(service, later(cache, 99))
    assert "busy (status 429); it asks to wait 3600 s" in str(caught.value)
    assert len(service.asked) == 1
    assert WAITED == []


def faults() -> dict[str, tuple[list[Answer], str, int]]:
    return {
        "busy": ([Answer("", 429)], "is busy (status 429)", 3),
        "broken": ([Answer("", 500)], "is busy (status 500)", 3),
        "blocked": ([Answer("", 403)], "status 403: it wants to know who asks", 1),
        "sea of nowhere": ([Answer("", 422)], "status 422: there is no forecast", 1),
        "strange status": ([Answer("", 418)], "status 418: no reason is known", 1),
        "cut short": ([Answer(GOOD, cut=500)], "was cut short", 3),
        "cut at a brace": ([Answer(GOOD[:-700])], "of no use: this cannot be read", 1),
        "web page": ([Answer("<html>sign in to the network</html>")], "of no use", 1),
        "another thing": ([Answer('{"properties": {}}')], "of no use", 1),
        "hung up": ([Answer(hang_up=True)], "cannot be reached", 3),
        "not gzip": ([Answer("plain", headers={"Content-Encoding": "gzip"})], "cannot be asked", 1),
        "endless turns": ([Answer("", 302, {"Location": "/again"})], "cannot be asked", 31),
    }


@pytest.mark.parametrize("fault", faults())
def test_each_fault_is_one_plain_line(cache: Cache, fault: str) -> None:
    answers, part, tries = faults()[fault]
    with serving(*answers) as service, pytest.raises(StoreError) as caught:
        fetch(service, cache)
    assert part in str(caught.value)
    assert "\n" not in str(caught.value)
    assert len(service.asked) == tries
    assert not list(cache.folder.glob("*"))


@pytest.mark.parametrize("answer", [Answer(GOOD, slow_s=3.0), Answer(GOOD, drip_s=0.02)])
def test_a_slow_service_is_left_in_time(cache: Cache, answer: Answer) -> None:
    began = time.monotonic()
    hasty = Manners(CONTACT, timeout_s=0.3, tries=2, sleep=WAITED.append)
    with serving(answer) as service, pytest.raises(StoreError, match=r"within 0\.3 s"):
        fetch(service, cache, manners=hasty)
    assert len(service.asked) == 2
    assert time.monotonic() - began < 5.0


def test_offline_is_said_plainly_and_a_copy_offered_with_its_age(cache: Cache) -> None:
    with serving(Answer(GOOD)) as service:
        fetch(service, cache)
    away = later(cache, 3)
    with pytest.raises(StoreError) as caught:
        fetch(service.url, away)
    assert str(caught.value) == (
        "127.0.0.1 cannot be reached; a copy 3 h old is kept: add --cached to use it"
    )
    assert WAITED == [1.0, 2.0]
    found = fetch(service.url, away, use_kept=True)
    assert found.age_s == 3 * 3600
    assert found.notes == ("127.0.0.1 cannot be reached; this is the copy of 3 h ago",)
    with pytest.raises(StoreError, match="check the connection, or use a file"):
        fetch(nobody(), away)


def test_a_bad_answer_never_displaces_a_good_copy(cache: Cache) -> None:
    with serving(Answer(GOOD), Answer("{}"), Answer(NEWER, cut=10)) as service:
        fetch(service, cache)
        for _ in range(2):
            found = fetch(service, later(cache, 1), use_kept=True)
            assert air_c(found) == pytest.approx(18.2)


@pytest.mark.parametrize(
    "spoilt", ["", "{}", '{"url": 1}', "[]", "\x00", '{"url":"x","body":"{}","fetched_s":"a"}']
)
def test_a_spoilt_copy_is_as_none(cache: Cache, spoilt: str) -> None:
    expires = {"Expires": formatdate(NOW_S + 1800, usegmt=True)}
    with serving(Answer(GOOD, headers=expires)) as service:
        path = cache.path(Locationforecast(service.url), Here())
        path.parent.mkdir()
        path.write_text(spoilt, encoding="utf-8")
        fetch(service, cache)
        assert len(service.asked) == 1
        fetch(service, cache)
        assert len(service.asked) == 1
    assert [file.suffix for file in cache.folder.iterdir()] == [".json"]


def test_a_copy_is_only_for_its_own_place_and_service(cache: Cache) -> None:
    expires = {"Expires": formatdate(NOW_S + 1800, usegmt=True)}
    with serving(Answer(GOOD, headers=expires)) as service:
        fetch(service, cache)
        other = replace(Here(), latitude_deg=10.0)
        fetch_forecast(Locationforecast(service.url), other, MANNERS, cache=cache)
        fetch_forecast(Locationforecast(service.url + "x"), Here(), MANNERS, cache=cache)
    assert len(service.asked) == 3


def test_a_disk_that_takes_no_copy_is_no_fault(tmp_path: Path) -> None:
    (tmp_path / "kept").write_text("in the way", encoding="utf-8")
    with serving(Answer(GOOD)) as service:
        found = fetch(service, Cache(tmp_path / "kept", lambda: NOW_S))
    assert air_c(found) == pytest.approx(18.2)


def test_a_form_that_will_end_is_said(cache: Cache) -> None:
    with serving(Answer(GOOD, 203)) as service:
        assert "will end this form" in fetch(service, cache).notes[0]


def test_sources_and_cache_have_their_defaults() -> None:
    source = SOURCES["locationforecast"](None)
    url, _ = source.question(Here())
    assert url == "https://api.met.no/weatherapi/locationforecast/2.0/complete"
    assert "CC BY 4.0" in source.credit
    assert default_cache().folder.parts[-2:] == ("drybox", "forecasts")


@pytest.mark.parametrize(
    "text", [None, "", "  ", "ann", "ann example.org", "añn@example.org", "a.b\n"]
)
def test_who_asks_must_be_said(text: str | None) -> None:
    if text == "a.b\n":
        assert check_contact(text) == "a.b"
        return
    with pytest.raises(InputError, match="asks who fetches"):
        check_contact(text)


def test_an_answer_without_end_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("drybox.inputs.forecast.web.LARGEST_BYTES", 5000)
    with serving(Answer("x" * 20000)) as service, pytest.raises(StoreError, match="too large"):
        get(service.url, {}, MANNERS)


def test_a_typical_year_comes_through_pvlib() -> None:
    with serving(Answer(pvgis_tmy_json())) as service:
        year = fetch_typical_year(Here(), MANNERS, url=service.url)
        bare = fetch_typical_year(Here(), MANNERS, with_horizon=False, url=service.url)
    assert year.columns["ghi_w_m2"][:3].tolist() == [0.0, 10.0, 20.0]
    assert (year.latitude_deg, year.kind) == (45.0, "pvgis")
    assert bare.columns.keys() == year.columns.keys()
    assert service.asked[0].path == "/tmy"
    assert service.asked[0].params["lat"] == str(Here.latitude_deg)
    assert "usehorizon" not in service.asked[0].params
    assert service.asked[1].params["usehorizon"] == "0"


@pytest.mark.parametrize(
    ("answers", "part", "tries"),
    [
        (
            [Answer('{"message": "Location over the sea."}', 400)],
            "refuses: Location over the sea.",
            1,
        ),
        ([Answer("", 404)], "status 404", 1),
        ([Answer("", 500)], "is busy (status 500)", 3),
        ([Answer("", 429)], "is busy (status 429)", 3),
        ([Answer("{}")], "of no use", 1),
        ([Answer("<html></html>")], "of no use", 1),
        ([Answer(pvgis_tmy_json(), cut=900)], "was cut short", 3),
        ([Answer(pvgis_tmy_json(), slow_s=2.0)], "did not answer within 0.3 s", 3),
    ],
)
def test_faults_of_the_typical_year_are_plain(answers: list[Answer], part: str, tries: int) -> None:
    manners = Manners(CONTACT, timeout_s=0.3 if answers[0].slow_s else 5.0, sleep=WAITED.append)
    with serving(*answers) as service, pytest.raises(StoreError) as caught:
        fetch_typical_year(Here(), manners, url=service.url)
    assert part in str(caught.value)
    assert len(service.asked) == tries


def test_a_year_offline_is_plain() -> None:
    with pytest.raises(StoreError, match="cannot be reached"):
        fetch_typical_year(Here(), MANNERS, url=nobody())
    with pytest.raises(StoreError, match="cannot be reached"):
        fetch_horizon(Here(), MANNERS, nobody())


def profile(heights: list[float]) -> str:
    """PVGIS gives 48 heights and the first again, from south = 0, north = -180."""
    rows = [
        {"A": -180 + 7.5 * number, "H_hor": height}
        for number, height in enumerate([*heights, heights[0]])
    ]
    return json.dumps({"inputs": {}, "meta": {}, "outputs": {"horizon_profile": rows}})


def test_the_horizon_becomes_obstacles_from_true_north() -> None:
    heights = [0.0] * 48
    heights[24] = 8.4  # due south
    heights[25] = 7.6
    heights[0] = 3.0  # due north
    with serving(Answer(profile(heights))) as service:
        south, north = fetch_horizon(Here(), MANNERS, service.url)
    assert service.asked[0].path == "/printhorizon"
    assert south == Obstacle("horizon", 176.25, 191.25, 8.0)
    assert north == Obstacle("horizon", 356.25, 3.75, 3.0)


def test_horizons_of_one_height_all_round() -> None:
    azimuths = [7.5 * number for number in range(48)]
    assert horizon_obstacles(azimuths, [0.4] * 48) == ()
    assert horizon_obstacles(azimuths, [5.0] * 48) == (Obstacle("horizon", 0.0, 360.0, 5.0),)
    with pytest.raises(InputError, match="impossible heights"):
        horizon_obstacles(azimuths, [95.0] * 48)


def test_obstacle_lines_are_read_by_an_event(tmp_path: Path) -> None:
    from drybox.inputs.event.event import load_event

    hills = horizon_obstacles([7.5 * n for n in range(48)], [float(n % 9) for n in range(48)])
    event = '[event]\ndate = "2027-06-12"\n[place]\ncoordinates = "46.95, 13.4"\n'
    (tmp_path / "fair.toml").write_text(event + obstacle_lines(hills, "PVGIS"), encoding="utf-8")
    read = load_event(tmp_path / "fair.toml").place.obstacles
    assert len(read) == len(hills)
    for one, other in zip(read, hills, strict=True):
        assert vars(one) == pytest.approx(vars(other))
