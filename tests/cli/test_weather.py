from __future__ import annotations

import gzip
import json
import os
import stat
import time
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest

from drybox.cli import main
from drybox.tables import shipped_dir
from tests.inputs.forecast.test_fetch import profile
from tests.inputs.years.test_layouts import locationforecast, nsrdb, pvgis_tmy_json
from tests.inputs.years.test_typical import epw
from tests.loopback import Answer, nobody, serving
from tests.running import plain, pvlib_data, record, refused
from tests.weather_years import read_typical_year

GREENSBORO = pvlib_data("723170TYA.CSV")
Captured = pytest.CaptureFixture[str]
HEAD = "time,temp_c,humidity_pct,wind_m_s,cloud_oktas\n"
PLACE = ("--latitude", "46.95, 13.4", "--elevation", "1150 m")


def demo(name: str = "forecast.csv") -> str:
    return str(shipped_dir("demo") / name)


@pytest.fixture(autouse=True)
def _own_cache(monkeypatch: pytest.MonkeyPatch, tmp_path_factory: pytest.TempPathFactory) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path_factory.mktemp("cache")))
    monkeypatch.setenv("NO_PROXY", "127.0.0.1")
    monkeypatch.delenv("DRYBOX_CONTACT", raising=False)


@pytest.mark.parametrize("name", ["723170TYA.CSV", "703165TY.csv", "12839.tm2"])
def test_a_typical_year_is_shown_with_a_day_drawn(capsys: Captured, name: str) -> None:
    assert main(["weather", "show", pvlib_data(name), "--date", "2027-06-12"]) == 0
    text = capsys.readouterr().out
    assert "what is usual, not a forecast" in text
    assert "Understood: TMY" in text
    assert "#####" in text
    assert max(map(len, text.splitlines())) <= 80


def test_the_drawn_day_is_the_files_own_sun() -> None:
    found = record("weather", "show", GREENSBORO, "--date", "2027-06-12")
    year = read_typical_year(GREENSBORO)
    hours = (year.month == 6) & (year.day == 12)
    whole = sum(row["ghi_w_m2"] for row in found["result"]["rows"])
    assert whole == pytest.approx(float(year.columns["ghi_w_m2"][hours].sum()), rel=0.03)
    temps = [row["air_temp_c"] for row in found["result"]["rows"]]
    assert max(temps) == pytest.approx(
        float(year.columns["air_temp_k"][hours].max()) - 273.15, abs=1
    )
    assert found["place"]["latitude_deg"] == 36.1


def test_a_forecast_is_shown_at_a_place_and_without_one(capsys: Captured) -> None:
    here = record("weather", "show", demo(), *PLACE)
    assert here["result"]["issued_at"] == "2027-06-11T20:00:00+02:00"
    assert here["result"]["rows"][7]["ghi_w_m2"] > 700
    assert here["warnings"] == []
    bare = record("weather", "show", demo())
    assert "ghi_w_m2" not in bare["result"]["rows"][0]
    assert "no offset from UTC" in bare["warnings"][0]
    assert bare["result"]["rows"][0]["cloud_frac"] == 0.125
    assert main(["weather", "show", demo(), "--timezone", "Europe/Vienna"]) == 0
    assert "Warning" not in capsys.readouterr().out


def test_what_is_doubtful_is_said_with_counts(tmp_path: Path) -> None:
    rows = ["2027-06-12T07:00Z,14,70,1,8", "2027-06-12T06:00Z,13,71,999,9999"]
    rows += ["2027-06-12T06:00Z,13,71,999,9999", "2027-06-12T12:00Z,20,104,2,2"]
    (tmp_path / "f.csv").write_text(HEAD + "\n".join(rows) + "\n", encoding="utf-8")
    found = " ".join(record("weather", "show", str(tmp_path / "f.csv"), *PLACE)["warnings"])
    for part in (
        "not in time order",
        "came twice",
        "missing-value code",
        "just outside",
        "longest gap is 5 h",
    ):
        assert part in found


def bad_files() -> dict[str, tuple[bytes, str]]:
    good = HEAD + "".join(f"2027-06-12T{hour:02d}:00Z,15,60,2,3\n" for hour in range(5, 21))
    return {
        "27 empty": (b"", "is empty"),
        "27 header only": (HEAD.encode(), "no row under it"),
        "28 web page": (b"<!DOCTYPE html><html></html>", "is a web page"),
        "28 binary": (bytes(range(256)), "is not a text file"),
        "28 zip": (b"PK\x03\x04" + bytes(30), "is an archive"),
        "28 gzip": (gzip.compress(good.encode()), "is an archive"),
        "28 prose": (b"It will be sunny on Saturday.\n", "no heading with a time"),
        "29 UTF-16": (good.encode("utf-16"), "UTF-16"),
        "30 cut mid-row": (good.encode()[:-8], "line 17"),
        "30 EPW cut": (epw().encode()[:400_000], "8760|cannot be read as EPW|is not a number"),
        "30 NSRDB cut": (nsrdb().encode()[:200_000], "whole of month|8760"),
        "30 JSON cut": (json.dumps(locationforecast()).encode()[:3000], "cannot be read"),
        "30 PVGIS cut": (pvgis_tmy_json().encode()[:300_000], "cannot be read as PVGIS"),
        "30 no time column": (b"temp_c,cloud_pct\n15,20\n", "no heading with a time"),
        "32 sun of 5000": (
            b"time,ghi_w_m2\n2027-06-12T11:00Z,5000\n2027-06-12T12:00Z,5100\n",
            "outside 0 to 1500",
        ),
        "32 air of 80": (good.replace(",15,", ",80,").encode(), "outside -60 to 60"),
        "32 RH of 150": (good.replace(",60,", ",150,").encode(), "outside 0 to 105"),
        "33 contradiction": (
            (good + "2027-06-12T06:00Z,25,60,2,3\n").encode(),
            "different weather",
        ),
        "33 some zones": (good.replace("T06:00Z", "T06:00").encode(), "have an offset"),
        "34 comma table with decimal commas": (
            b"time,temp_c,cloud_oktas\n2027-06-12T06:00,14,5,3\n",
            "decimal commas need",
        ),
        "34 thousands": (b'time,temp_c\n2027-06-12T06:00,"1,500"\n', "is not a number"),
    }


@pytest.mark.parametrize("name", bad_files())
def test_every_bad_file_is_one_line_that_says_what_and_where(tmp_path: Path, name: str) -> None:
    content, part = bad_files()[name]
    (tmp_path / "bad.csv").write_bytes(content)
    error = refused("weather", "show", str(tmp_path / "bad.csv"))
    assert "bad.csv" in error
    assert any(each in error for each in part.split("|"))


@pytest.mark.parametrize(
    ("content", "part"),
    [
        (HEAD.encode("utf-8-sig") + b"2027-06-12T06:00Z,14,60,2,3\r\n", "14 "),
        ("Zeit;x\ntime;Temp (°C)\n2027-06-12 06:00Z;14,5\n".encode("latin-1"), "columns split by"),
        (b"time;temp_c;cloud_oktas\n2027-06-12T06:00Z;14,5;3\n", "columns split by ';'"),
    ],
)
def test_marks_encodings_and_decimal_commas_are_read(
    capsys: Captured, tmp_path: Path, content: bytes, part: str
) -> None:
    (tmp_path / "f.csv").write_bytes(content)
    assert main(["weather", "show", str(tmp_path / "f.csv")]) == 0
    assert part in capsys.readouterr().out


def test_what_is_no_file_is_refused(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    for name, status in (
        (str(tmp_path), 2),
        (str(tmp_path / "none.csv"), 4),
        ("https://example.org/x.epw", 2),
        ("file:///etc/hosts", 2),
        ("/dev/zero", 2),
        (str(tmp_path / "pipe"), 2),
    ):
        assert refused("weather", "show", name, status=status)


def test_missing_codes_never_become_sun(tmp_path: Path) -> None:
    def spoil(row: int, cells: list[str]) -> list[str]:
        return [*cells[:13], "9999", *cells[14:]] if row % 24 == 12 else cells

    (tmp_path / "x.epw").write_text(epw(spoil), encoding="utf-8")
    found = record("weather", "show", str(tmp_path / "x.epw"))
    assert max(row["ghi_w_m2"] for row in found["result"]["rows"]) < 1000
    assert any("365 missing-value codes" in text for text in found["warnings"])


def test_a_day_out_of_reach_is_refused() -> None:
    error = refused("weather", "show", demo(), "--date", "2027-07-12")
    assert "does not reach 2027-07-12" in error


def test_a_day_without_temperatures_says_none(tmp_path: Path) -> None:
    rows = [f"2027-06-{day}T{hour:02d}:00Z,{20 if day == 12 else ''},{hour % 8}"
            for day in (12, 13) for hour in range(24)]  # fmt: skip
    path = tmp_path / "forecast.csv"
    path.write_text("\n".join(["time,air_temp_c,cloud_oktas", *rows]) + "\n", encoding="utf-8")
    look = ("weather", "show", str(path), "--timezone", "UTC", "--date")
    assert "2027-06-12: air 20 °C" in plain(*look, "2027-06-12")
    assert "air 20 °C" not in plain(*look, "2027-06-13")


def test_an_old_forecast_is_doubted(tmp_path: Path) -> None:
    text = Path(demo()).read_text(encoding="utf-8").replace("2027-06-11T20:00", "2027-06-02T20:00")
    (tmp_path / "old.csv").write_text(text, encoding="utf-8")
    found = record("weather", "show", str(tmp_path / "old.csv"), *PLACE)
    assert any("was issued 10 days before the day" in text for text in found["warnings"])


def test_convert_makes_a_plain_file_that_reads_the_same(capsys: Captured, tmp_path: Path) -> None:
    out = tmp_path / "year.csv"
    assert main(["weather", "convert", GREENSBORO, str(out)]) == 0
    assert "Wrote 8760 hours of a typical year" in capsys.readouterr().out
    before, after = read_typical_year(GREENSBORO), read_typical_year(out)
    assert after.name == before.name
    for name, column in before.columns.items():
        assert after.columns[name] == pytest.approx(column, rel=1e-6, nan_ok=True)
    assert main(["weather", "convert", str(out), str(tmp_path / "again.csv")]) == 0
    lines = [file.read_text(encoding="utf-8").splitlines() for file in tmp_path.glob("*.csv")]
    assert [line for line in lines[0] if "from" not in line] == [
        line for line in lines[1] if "from" not in line
    ]


def test_convert_asks_for_a_zone_and_keeps_the_issue(capsys: Captured, tmp_path: Path) -> None:
    out = tmp_path / "f.csv"
    assert main(["weather", "convert", demo(), str(out)]) == 2
    assert "--timezone Europe/Vienna" in capsys.readouterr().err
    assert not out.exists()
    assert main(["weather", "convert", demo(), str(out), "--timezone", "Europe/Vienna"]) == 0
    text = out.read_text(encoding="utf-8")
    assert "# issued 2027-06-11T18:00:00Z" in text
    assert "2027-06-12T06:00:00+02:00,11.8,82,0.8,12.5" in text
    assert "Wrote 31 rows" in capsys.readouterr().out


def test_convert_never_replaces_unasked(capsys: Captured, tmp_path: Path) -> None:
    out = tmp_path / "f.csv"
    out.write_text("mine", encoding="utf-8")
    args = ["weather", "convert", demo(), str(out), "--timezone", "Europe/Vienna"]
    assert main(args) == 4
    assert out.read_text(encoding="utf-8") == "mine"
    assert main([*args, "--force"]) == 0
    assert main(["weather", "convert", str(out), str(out), "--force"]) == 4
    assert main(["weather", "convert", demo(), str(tmp_path / "x.txt")]) == 2
    capsys.readouterr()
    assert stat.S_ISREG(out.stat().st_mode)
    assert [file.name for file in tmp_path.iterdir()] == ["f.csv"]


def fetch(*args: str) -> int:
    return main(["weather", "fetch", *args])


CONTACT = ("--contact", "ann@example.org")


def test_fetch_forecast_writes_a_file_that_an_event_takes(capsys: Captured, tmp_path: Path) -> None:
    out = str(tmp_path / "f.csv")
    with serving(Answer(json.dumps(locationforecast()))) as service:
        args = (out, "--forecast", "--event", demo("fair.toml"), *CONTACT, "--url", service.url)
        assert fetch(*args) == 0
    text = capsys.readouterr().out
    assert text.startswith("Forecast of 24 instants (MET Norway, CC BY 4.0).")
    (asked,) = service.asked
    assert asked.params == {"lat": "46.9500", "lon": "13.4000", "altitude": "1150"}
    first = Path(out).read_text(encoding="utf-8").splitlines()
    assert first[0] == "# Forecast, MET Norway, CC BY 4.0"
    assert first[1] == "# issued 2027-06-11T18:30:00Z"
    assert main(["check", demo("fair.toml"), "--weather", out]) == 0
    assert "forecast f.csv, 24 rows" in " ".join(capsys.readouterr().out.split())


def test_a_forecast_that_does_not_say_its_age_is_as_old_as_its_fetching(tmp_path: Path) -> None:
    out, told = str(tmp_path / "f.csv"), locationforecast()
    del told["properties"]["meta"]["updated_at"]
    with serving(Answer(json.dumps(told))) as service:
        assert fetch(out, "--forecast", *PLACE, *CONTACT, "--url", service.url) == 0
    (line,) = [line for line in Path(out).read_text("utf-8").splitlines() if "issued" in line]
    made = datetime.fromisoformat(line.removeprefix("# issued "))
    assert abs(made.timestamp() - time.time()) < 600


def test_fetch_offline_offers_the_copy_with_its_age(capsys: Captured, tmp_path: Path) -> None:
    out = str(tmp_path / "f.csv")
    with serving(Answer(json.dumps(locationforecast())), Answer("", 403)) as service:
        args = (out, "--forecast", *PLACE, *CONTACT, "--url", service.url, "--force")
        assert fetch(*args) == 0
        kept = Path(out).read_bytes()
        capsys.readouterr()
        assert fetch(*args) == 4
        error = capsys.readouterr().err
        assert "status 403" in error
        assert "add --cached to use it" in error
        assert len(error.splitlines()) == 1
        assert Path(out).read_bytes() == kept
        assert fetch(*args, "--cached") == 0
        assert "this is the copy of 0 min ago" in capsys.readouterr().err


def test_fetch_typical_with_its_hills(capsys: Captured, tmp_path: Path) -> None:
    year, hills = tmp_path / "year.csv", tmp_path / "hills.toml"
    heights = [0.0] * 24 + [9.0] * 4 + [0.0] * 20
    with serving(Answer(pvgis_tmy_json()), Answer(profile(heights))) as service:
        args = (str(year), "--typical", *PLACE, "--horizon", str(hills), "--url", service.url)
        assert fetch(*args) == 0
    assert "PVGIS" in capsys.readouterr().out
    assert service.asked[0].params["usehorizon"] == "0"
    assert read_typical_year(year).columns["ghi_w_m2"][12] == 120.0
    text = hills.read_text(encoding="utf-8")
    assert 'from = "176.25 deg"' in text
    assert 'elevation_angle = "9 deg"' in text


@pytest.mark.parametrize(
    ("args", "part", "status"),
    [
        (("f.csv", *PLACE), "add --forecast or --typical", 2),
        (("f.csv", "--forecast", *PLACE), "asks who fetches", 2),
        (("f.csv", "--forecast", *CONTACT), "latitude is missing", 2),
        (("f.csv", "--forecast", *PLACE, *CONTACT, "--horizon", "h.toml"), "no horizon", 2),
        (("f.csv", "--forecast", *PLACE, *CONTACT, "--url", "ftp://x"), "no web address", 2),
        (("f.txt", "--forecast", *PLACE, *CONTACT), "does not end in .csv", 2),
        (("f.csv", "--forecast", *PLACE, *CONTACT, "--timeout", "0"), "outside", 2),
        (("f.csv", "--typical", "--latitude", "95, 13"), "outside -90 to 90", 2),
    ],
)
def test_fetch_asks_for_what_it_needs_before_any_question(
    capsys: Captured,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    args: tuple[str, ...],
    part: str,
    status: int,
) -> None:
    monkeypatch.chdir(tmp_path)
    assert fetch(*args) == status
    assert part in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


def test_fetch_without_a_network_ends_with_4(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("drybox.inputs.forecast.web.time.sleep", lambda wait_s: None)
    out = str(tmp_path / "f.csv")
    for what in ("--forecast", "--typical"):
        asked = ("weather", "fetch", out, what, *PLACE, *CONTACT, "--url", nobody())
        assert refused(*asked, status=4).startswith("drybox: 127.0.0.1 cannot be reached")
    assert list(tmp_path.iterdir()) == []


def test_a_file_in_the_way_is_seen_before_the_network_is_asked(
    capsys: Captured, tmp_path: Path
) -> None:
    out = tmp_path / "f.csv"
    out.write_text("mine", encoding="utf-8")
    with serving(Answer(json.dumps(locationforecast()))) as service:
        assert fetch(str(out), "--forecast", *PLACE, *CONTACT, "--url", service.url) == 4
    assert service.asked == []
    assert "add --force" in capsys.readouterr().err


def test_show_and_convert_ask_nobody(
    capsys: Captured, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import socket

    def forbidden(*args: Any, **kwargs: Any) -> None:
        raise AssertionError("no command but fetch may use the network")

    monkeypatch.setattr(socket, "create_connection", forbidden)
    monkeypatch.setattr(socket.socket, "connect", forbidden)
    assert main(["weather", "show", GREENSBORO]) == 0
    assert main(["weather", "convert", GREENSBORO, str(tmp_path / "y.csv")]) == 0
    capsys.readouterr()
