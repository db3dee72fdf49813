"""Typical-year files: the right hour on the right date, codes as gaps, faults in one line.

The expected numbers come from the files' own lines, cut by hand in the tests.
"""

from __future__ import annotations

import csv
import gzip
import os
import socket
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from drybox.errors import DryboxError, InputError, StoreError
from drybox.inputs.text import file_text
from drybox.inputs.text.file_text import read_file_text
from drybox.inputs.weather.event_weather import load_weather, weather_site
from drybox.inputs.years.layouts import file_kind
from drybox.inputs.years.typical import (
    TypicalYear,
    for_date,
    parse_typical_year,
    site_doubts,
)
from tests.weather_years import read_typical_year


@dataclass(frozen=True)
class Site:
    latitude_deg: float = 36.1
    longitude_deg: float = -79.95
    elevation_m: float = 273.0
    timezone: str = "America/New_York"


def shipped(name: str) -> Path:
    import pvlib

    return Path(pvlib.__file__).parent / "data" / name


GREENSBORO, SAND_POINT, MIAMI = "723170TYA.CSV", "703165TY.csv", "12839.tm2"


@pytest.fixture(scope="module")
def greensboro() -> TypicalYear:
    return read_typical_year(shipped(GREENSBORO))


@pytest.fixture(scope="module")
def miami() -> TypicalYear:
    return read_typical_year(shipped(MIAMI))


def epw(change: Callable[[int, list[str]], list[str] | None] = lambda row, cells: cells) -> str:
    """Return an invented EPW whose GHI is 10 x hour of day, with `change` made to each row."""
    head = [
        "LOCATION,Nowhere Hill,-,XXX,invented,000000,10.5,20.25,5.5,300",
        *("DESIGN CONDITIONS,0", "TYPICAL/EXTREME PERIODS,0", "GROUND TEMPERATURES,0"),
        *("HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0", "COMMENTS 1,invented", "COMMENTS 2,invented"),
        "DATA PERIODS,1,1,Data,Sunday,1/1,12/31",
    ]
    rows: list[str] = []
    for of_year in range(365):
        day = date(2001, 1, 1) + timedelta(days=of_year)
        for hour in range(1, 25):
            ghi = str(10 * (hour - 1))
            cells = [f"{1990 + day.month}", f"{day.month}", f"{day.day}", f"{hour}", "60", "?9"]
            cells += [
                f"{day.month}.5",
                "5.0",
                "40",
                "97000",
                "0",
                "0",
                "300",
                ghi,
                "100",
                "50",
                "0",
                "0",
                "0",
                "0",
            ]
            cells += ["180", "2.5", "3", "3", "20", "7777", "9", "999999999", "0", "0.1", "0"]
            cells += ["88", "0.2", "0", "1"]
            changed = change(len(rows), cells)
            if changed is not None:
                rows.append(",".join(changed))
    return "\n".join([*head, *rows]) + "\n"


def test_station_of_each_shipped_file(greensboro: TypicalYear, miami: TypicalYear) -> None:
    sand_point = read_typical_year(shipped(SAND_POINT))
    found = [
        (year.kind, year.latitude_deg, year.longitude_deg, year.elevation_m, year.utc_offset_h)
        for year in (greensboro, sand_point, miami)
    ]
    assert found[0] == ("tmy3", 36.1, -79.95, 273.0, -5.0)
    assert found[1] == ("tmy3", 55.317, -160.517, 7.0, -9.0)
    assert found[2] == ("tmy2", 25.8, -(80 + 16 / 60), 2.0, -5.0)
    assert miami.name == "MIAMI, FL"


def test_tmy3_hour_is_its_end(greensboro: TypicalYear) -> None:
    with shipped(GREENSBORO).open(encoding="ascii", newline="") as stream:
        next(stream)
        lines = list(csv.DictReader(stream))
    line = next(
        line
        for line in lines
        if line["Date (MM/DD/YYYY)"].startswith("06/12") and line["Time (HH:MM)"] == "13:00"
    )
    weather = for_date(greensboro, date(2027, 6, 12))
    noon_s = datetime.fromisoformat("2027-06-12T12:00-05:00").timestamp()
    (row,) = np.flatnonzero(weather.start_at == noon_s)
    assert weather.end_at[row] == noon_s + 3600
    assert weather.ghi_w_m2[row] == float(line["GHI (W/m^2)"]) > 0
    assert weather.dni_w_m2[row] == float(line["DNI (W/m^2)"])
    assert weather.air_temp_k[row] == pytest.approx(float(line["Dry-bulb (C)"]) + 273.15)
    assert weather.humidity_frac[row] == pytest.approx(float(line["RHum (%)"]) / 100)
    assert weather.wind_10m_m_s[row] == float(line["Wspd (m/s)"])
    assert weather.pressure_pa[row] == float(line["Pressure (mbar)"]) * 100
    assert weather.cloud_frac[row] == pytest.approx(float(line["TotCld (tenths)"]) / 10)
    assert sum(float(line["GHI (W/m^2)"]) for line in lines) == greensboro.columns["ghi_w_m2"].sum()


def test_tmy2_hour_is_its_end_and_tenths_are_undone(miami: TypicalYear) -> None:
    text = shipped(MIAMI).read_text(encoding="ascii").splitlines()
    line = next(line for line in text[1:] if line[3:9] == "061216")
    weather = for_date(miami, date(2027, 6, 12))
    three_s = datetime.fromisoformat("2027-06-12T15:00-05:00").timestamp()
    (row,) = np.flatnonzero(weather.start_at == three_s)
    assert weather.ghi_w_m2[row] == float(line[17:21]) > 0
    assert weather.air_temp_k[row] == pytest.approx(float(line[67:71]) / 10 + 273.15)
    assert weather.wind_10m_m_s[row] == pytest.approx(float(line[95:98]) / 10)


def test_epw_hour_one_starts_at_midnight() -> None:
    year = parse_typical_year(epw(), "epw", "x.epw")
    assert (year.latitude_deg, year.longitude_deg) == (10.5, 20.25)
    assert (year.elevation_m, year.utc_offset_h) == (300.0, 5.5)
    assert year.columns["ghi_w_m2"][:24].tolist() == [10.0 * hour for hour in range(24)]
    weather = for_date(year, date(2027, 6, 12))
    noon_s = datetime.fromisoformat("2027-06-12T12:00+05:30").timestamp()
    (row,) = np.flatnonzero(weather.start_at == noon_s)
    assert weather.ghi_w_m2[row] == 120.0
    assert weather.mid_at[row] == noon_s + 1800
    assert weather.cloud_frac[row] == pytest.approx(0.3)
    assert weather.air_temp_k[row] == pytest.approx(279.65)
    assert "not a forecast" in weather.source


def test_year_end_wraps_and_leap_day_takes_the_day_before(greensboro: TypicalYear) -> None:
    hours = np.arange(8760.0)
    year = TypicalYear(
        **{**vars(greensboro), "columns": {"air_temp_k": hours, "humidity_frac": hours / 8760}}
    )
    weather = for_date(year, date(2027, 12, 31), days=1)
    assert weather.air_temp_k.tolist() == [*range(8712, 8760), *range(24)]
    assert np.all(np.diff(weather.start_at) == 3600)
    leap = for_date(year, date(2028, 2, 29), days=1).air_temp_k
    assert leap.tolist() == [*range(1392, 1416), *range(1392, 1416), *range(1416, 1440)]


def test_a_whole_year_of_weather_starts_with_the_day_before(greensboro: TypicalYear) -> None:
    weather = for_date(greensboro, date(2027, 1, 2), days=363)
    assert weather.start_at.size == 8760
    assert weather.air_temp_k == pytest.approx(greensboro.columns["air_temp_k"])
    first = datetime.fromtimestamp(weather.start_at[0], ZoneInfo("Etc/GMT+5"))
    assert first.isoformat() == "2027-01-01T00:00:00-05:00"


def test_month_day_and_hour_count_through_a_common_year(greensboro: TypicalYear) -> None:
    start = np.datetime64("2001-01-01T00") + np.arange(8760).astype("timedelta64[h]")
    years, months = start.astype("datetime64[Y]"), start.astype("datetime64[M]")
    days = start.astype("datetime64[D]")
    assert np.array_equal(greensboro.month, (months - years).astype(int) + 1)
    assert np.array_equal(greensboro.day, (days - months.astype("datetime64[D]")).astype(int) + 1)
    assert np.array_equal(greensboro.hour, np.arange(8760) % 24)


def test_missing_codes_of_epw_are_gaps_and_counted() -> None:
    def spoil(row: int, cells: list[str]) -> list[str]:
        if row in (12, 13):
            cells[6], cells[8], cells[9] = "99.9", "999", "999999"
            cells[13:16] = ["9999"] * 3
            cells[21], cells[22] = "999", "99"
        return cells

    year = parse_typical_year(epw(spoil), "epw", "x.epw")
    assert len(year.columns) == 8
    for name, column in year.columns.items():
        assert np.isnan(column[[12, 13]]).all(), name
        assert np.isfinite(np.delete(column, [12, 13])).all(), name
    assert "GHI: 2 missing-value codes left out" in year.doubts
    assert len(year.doubts) == 8


def test_epw_of_a_leap_year_loses_29_february() -> None:
    text = epw()
    rows = [line for line in text.split("\n") if line.split(",")[1:3] == ["2", "28"]]
    extra = [row.replace(",2,28,", ",2,29,", 1) for row in rows]
    year = parse_typical_year(text.replace(rows[-1], "\n".join([rows[-1], *extra])), "epw", "x")
    assert year.columns["ghi_w_m2"].size == 8760


PVGIS_DAY_S = 1812758400.0  # 2027-06-12 00:00 UTC


def test_pvgis_prints_instants_in_utc() -> None:
    head = "Latitude (decimal degrees): 45.0\nLongitude (decimal degrees): 8.0\n"
    head += "Elevation (m): 250.0\nIrradiance Time Offset (h): 0.1\nmonth,year\n"
    head += "".join(f"{month},{2004 + month}\n" for month in range(1, 13))
    head += "time(UTC),T2m,RH,G(h),Gb(n),Gd(h),IR(h),WS10m,WD10m,SP\n"
    start = np.datetime64("2001-01-01T00") + np.arange(8760).astype("timedelta64[h]")
    rows = []
    for moment in start.astype(object):
        stamp = f"{2004 + moment.month}{moment:%m%d:%H00}"
        rows.append(f"{stamp},15.0,60.0,{10.0 * moment.hour},0.0,20.0,300.0,1.5,90.0,98000.0")
    text = head + "\n".join(rows) + "\n\nT2m: 2-m air temperature (degree Celsius)\n"
    assert file_kind(text) == "pvgis"
    year = parse_typical_year(text, "pvgis", "tmy.csv")
    weather = for_date(year, date(2027, 6, 12))
    assert weather.mid_at[24] == pytest.approx(PVGIS_DAY_S + 360)
    assert weather.ghi_w_m2[24:48].tolist() == [10.0 * hour for hour in range(24)]
    assert (year.latitude_deg, year.elevation_m, year.utc_offset_h) == (45.0, 250.0, 0.0)


@pytest.mark.parametrize("name", [GREENSBORO, SAND_POINT, MIAMI])
def test_an_event_takes_any_shipped_file(name: str) -> None:
    site = Site()
    day_s = datetime(2027, 6, 12, tzinfo=ZoneInfo(site.timezone)).timestamp()
    weather = load_weather({"file": name}, shipped(name).parent, site, day_start_at=day_s)
    assert weather.kind == "typical_year"
    assert weather.start_at[0] <= day_s
    assert weather.end_at[-1] >= day_s + 86400
    far = any("km from the place" in doubt for doubt in weather.doubts)
    assert far == (name != GREENSBORO)


def test_a_place_without_coordinates_can_take_the_files() -> None:
    site = weather_site({"file": GREENSBORO}, shipped(GREENSBORO).parent)
    assert site is not None
    assert (site.latitude_deg, site.longitude_deg, site.elevation_m) == (36.1, -79.95, 273.0)


def test_a_far_or_high_station_is_doubted(greensboro: TypicalYear) -> None:
    assert site_doubts(greensboro, Site()) == ()
    (far,) = site_doubts(greensboro, Site(latitude_deg=37.1))
    assert far == "the weather station GREENSBORO PIEDMONT TRIAD INT, NC is 111 km from the place"
    (high,) = site_doubts(greensboro, Site(elevation_m=900.0))
    assert high.endswith("is 627 m below the place")


def test_a_station_name_with_a_comma_or_spaces_is_read() -> None:
    text = shipped(GREENSBORO).read_text(encoding="ascii")
    text = text.replace('"GREENSBORO PIEDMONT TRIAD INT"', '"GREENSBORO, OLD FIELD"', 1)
    assert parse_typical_year(text, "tmy3", "x.csv").name == "GREENSBORO OLD FIELD, NC"
    text = shipped(MIAMI).read_text(encoding="ascii")
    text = text.replace("MIAMI      ", "EAST MIAMI ", 1)
    assert parse_typical_year(text, "tmy2", "x.tm2").name == "EAST MIAMI, FL"


def _refusal(text: str, kind: str | None = None) -> str:
    with pytest.raises(InputError) as caught:
        parse_typical_year(text, kind or file_kind(text), "bad.epw")
    assert "\n" not in str(caught.value)
    assert "bad.epw" in str(caught.value)
    return str(caught.value)


def test_damaged_files_are_refused_in_one_line() -> None:
    whole = epw()
    cut = whole[: len(whole) // 2]
    assert "hours; a typical year has 8760" in _refusal(cut[: cut.rindex("\n")])
    assert "0 rows hold 0 different hours" in _refusal(whole.split("\n")[0])
    assert "EPW" in _refusal("LOCATION,short,header\n")
    assert "0 rows hold" in _refusal("\n".join(whole.split("\n")[:8]))
    assert "latitude_deg 95 is impossible" in _refusal(whole.replace(",10.5,", ",95,", 1))
    twice = epw(lambda row, cells: [*cells[:3], "1", *cells[4:]] if row == 1 else cells)
    assert "8760 rows hold 8759 different hours" in _refusal(twice)
    worded = epw(lambda row, cells: [*cells[:6], "warm", *cells[7:]] if row == 30 else cells)
    assert "'warm' in column temp_air, hour 31, is not a number" in _refusal(worded)
    hot = epw(lambda row, cells: [*cells[:6], "80", *cells[7:]])
    assert "air temperature 80 and most others are outside -60 to 60 °C" in _refusal(hot)
    lines = shipped(GREENSBORO).read_text(encoding="ascii").split("\n")
    assert "253 rows hold" in _refusal("\n".join(lines[:255]))
    lines = shipped(MIAMI).read_text(encoding="ascii").split("\n")
    assert "2 rows hold" in _refusal("\n".join(lines[:3]))
    assert "TMY2" in _refusal("\n".join([*lines[:5], "rubbish"]))
    assert "no EPW, TMY3, TMY2, PVGIS or NSRDB" in _refusal("time,temp_c\n")


@pytest.mark.parametrize(
    ("content", "part"),
    [
        (b"", "is empty"),
        (b" \r\n\r\n", "is empty"),
        (b"\xef\xbb\xbf", "is empty"),
        (b"<!DOCTYPE html><html><body>404</body></html>", "is a web page, not data"),
        (b"\n <HTML><p>no</p>", "is a web page"),
        (b"PK\x03\x04rest", "is an archive; unpack it first"),
        (gzip.compress(b"time,temp_c", mtime=0), "is an archive"),
        ("time,temp_c\n".encode("utf-16"), "is UTF-16 text; save it as UTF-8"),
        ("time,temp_c\n".encode("utf-16-le"), "is not a text file"),
        (b"%PDF-1.7\n\x00\x01", "is not a text file"),
    ],
)
def test_what_is_no_plain_text_is_refused(tmp_path: Path, content: bytes, part: str) -> None:
    (tmp_path / "w.csv").write_bytes(content)
    with pytest.raises(InputError) as caught:
        read_file_text("w.csv", tmp_path, "weather.file in fair.toml")
    assert part in str(caught.value)
    assert "weather.file in fair.toml" in str(caught.value)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "latin-1"])
@pytest.mark.parametrize("ending", ["\n", "\r\n", "\r"])
def test_marks_endings_and_latin_1_are_read(tmp_path: Path, encoding: str, ending: str) -> None:
    text = "time,Temp (°C)\n2027-06-12T06:00,12\n"
    (tmp_path / "w.csv").write_bytes(text.replace("\n", ending).encode(encoding))
    assert read_file_text("w.csv", tmp_path) == text


def test_an_epw_in_latin_1_with_windows_line_ends_is_read(tmp_path: Path) -> None:
    text = epw().replace("Nowhere Hill", "Nirgendshöhe").replace("\n", "\r\n")
    (tmp_path / "w.epw").write_bytes(text.encode("latin-1"))
    assert read_typical_year(tmp_path / "w.epw").name.startswith("Nirgendshöhe")


def test_a_missing_or_locked_file_is_a_file_that_failed(tmp_path: Path) -> None:
    with pytest.raises(StoreError, match="cannot be opened: no such file"):
        read_file_text("none.epw", tmp_path)
    with pytest.raises(StoreError, match="cannot be opened"):
        read_file_text("x" * 400, tmp_path)
    with pytest.raises(InputError, match="is not a file name"):
        read_file_text("a\0b", tmp_path)


@pytest.mark.parametrize("name", ["https://example.org/x.epw", "file:///x.epw", "ftp://x/y"])
def test_an_address_is_refused_before_anything_is_opened(name: str, tmp_path: Path) -> None:
    with pytest.raises(InputError, match="is an address, not a file; fetch it first"):
        load_weather({"file": name}, tmp_path, Site(), day_start_at=0.0)


def test_folders_devices_pipes_and_sockets_are_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="is a folder"):
        read_file_text(".", tmp_path)
    os.mkfifo(tmp_path / "pipe")
    with pytest.raises(InputError, match="is a device or a pipe"):
        read_file_text("pipe", tmp_path)
    with pytest.raises(InputError, match="is a device or a pipe"):
        read_file_text("/dev/zero")
    with socket.socket(socket.AF_UNIX) as door:
        door.bind(str(tmp_path / "door"))
        with pytest.raises(DryboxError, match="door"):
            read_file_text("door", tmp_path)


def test_a_file_over_the_limit_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert file_text.SIZE_LIMIT_BYTES == 50_000_000
    with (tmp_path / "big.csv").open("wb") as stream:
        stream.truncate(50_000_001)
    with pytest.raises(InputError, match=r"'big\.csv' is larger than 50 MB"):
        read_file_text("big.csv", tmp_path)
