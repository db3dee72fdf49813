"""PVGIS and NSRDB files in their documented layouts, real years made typical, and our own CSV.

All numbers are invented; what is expected is reckoned by hand from the lines written here.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterator
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from drybox.errors import InputError
from drybox.inputs.forecast.csv_file import parse_forecast
from drybox.inputs.forecast.json_file import table_of
from drybox.inputs.weather.event_weather import load_weather
from drybox.inputs.years.layouts import file_kind
from drybox.inputs.years.plain_csv import plain_forecast, plain_year
from drybox.inputs.years.typical import TypicalYear, for_date, parse_typical_year

NOON_UTC_S = 1812801600.0  # 2027-06-12 12:00 UTC


class Here:
    latitude_deg, longitude_deg, elevation_m, timezone = 45.0, 8.0, 250.0, "Europe/Rome"


def hours(*years: int) -> Iterator[datetime]:
    for year in years:
        moment = datetime(year, 1, 1)
        while moment.year == year:
            yield moment
            moment += timedelta(hours=1)


def year_of(text: str) -> TypicalYear:
    return parse_typical_year(text, file_kind(text), "year.csv")


def pvgis_tmy_json(offset_key: str = "irradiance time offset") -> str:
    rows = [
        {
            "time(UTC)": f"{2004 + moment.month}{moment:%m%d:%H00}",
            "T2m": 15.5,
            "RH": 60.0,
            "G(h)": 10.0 * moment.hour,
            "Gb(n)": 1.0,
            "Gd(h)": 20.0,
            "IR(h)": 300.0,
            "WS10m": 1.5,
            "WD10m": 90.0,
            "SP": 98000.0,
        }
        for moment in hours(2001)
    ]
    place = {"latitude": 45.0, "longitude": 8.0, "elevation": 250.0, offset_key: 0.1}
    months = [{"month": month, "year": 2004 + month} for month in range(1, 13)]
    return json.dumps(
        {
            "inputs": {"location": place, "meteo_data": {"radiation_db": "invented"}},
            "outputs": {"months_selected": months, "tmy_hourly": rows},
            "meta": {"inputs": {}, "outputs": {}},
        }
    )


@pytest.mark.parametrize("key", ["irradiance time offset", "irradiance_time_offset"])
def test_pvgis_typical_year_in_json(key: str) -> None:
    text = pvgis_tmy_json(key)
    assert file_kind(text) == "pvgis"
    year = year_of(text)
    assert (year.latitude_deg, year.longitude_deg, year.elevation_m) == (45.0, 8.0, 250.0)
    weather = for_date(year, date(2027, 6, 12))
    row = 24 + 12
    assert weather.mid_at[row] == pytest.approx(NOON_UTC_S + 360)
    assert weather.ghi_w_m2[row] == 120.0
    assert weather.air_temp_k[row] == pytest.approx(288.65)


SUN_DEG = {6: 2.0, 12: 30.0}


def hourly_cells(moment: datetime, components: bool) -> dict[str, float]:
    """Sun is 100 W/m² a year above 2010 in odd months, less in even ones."""
    beam = 100.0 * (moment.year - 2010) * (1 if moment.month % 2 else -1) + 400.0
    sun = {"Gb(i)": beam, "Gd(i)": 50.0, "Gr(i)": 0.0} if components else {"G(i)": beam + 50.0}
    return {**sun, "H_sun": SUN_DEG.get(moment.hour, 0.0), "T2m": 10.0, "WS10m": 2.5, "Int": 0.0}


def pvgis_hourly_csv(*years: int, components: bool = True, slope: str = "0 deg. ") -> str:
    head = [
        "Latitude (decimal degrees):\t45.000",
        "Longitude (decimal degrees):\t8.000",
        "Elevation (m):\t250",
        "Radiation database:\tinvented",
        "",
        f"Slope: {slope}",
        "Azimuth: 0 deg. ",
        "",
    ]
    names = list(hourly_cells(datetime(2011, 1, 1), components))
    rows = [
        f"{moment:%Y%m%d:%H}10,"
        + ",".join(str(value) for value in hourly_cells(moment, components).values())
        for moment in hours(*years)
    ]
    return "\n".join([*head, ",".join(["time", *names]), *rows, "", "T2m: air", ""])


def pvgis_hourly_json(*years: int, slope: float = 0) -> str:
    rows = [
        {"time": f"{moment:%Y%m%d:%H}10", **hourly_cells(moment, True)} for moment in hours(*years)
    ]
    return json.dumps(
        {
            "inputs": {
                "location": {"latitude": 45.0, "longitude": 8.0, "elevation": 250.0},
                "mounting_system": {"fixed": {"slope": {"value": slope, "optimal": False}}},
            },
            "outputs": {"hourly": rows},
            "meta": {"inputs": {}, "outputs": {}},
        }
    )


@pytest.mark.parametrize("write", [pvgis_hourly_csv, pvgis_hourly_json])
def test_pvgis_hourly_gives_sun_on_the_level_and_its_beam(write: Any) -> None:
    text = write(2011)
    assert file_kind(text) == "pvgis_hourly"
    year = year_of(text)
    noon, dawn = 12, 6  # of 1 January
    beam = 100.0 + 400.0
    assert year.columns["ghi_w_m2"][noon] == beam + 50.0
    assert year.columns["dhi_w_m2"][noon] == 50.0
    assert year.columns["dni_w_m2"][noon] == pytest.approx(beam / math.sin(math.radians(30)))
    assert year.columns["dni_w_m2"][dawn] == 0.0  # the sun is too low to tell
    assert "humidity_frac" not in year.columns
    weather = for_date(year, date(2027, 6, 12))
    assert weather.mid_at[24 + 12] == NOON_UTC_S + 600
    assert "50 % RH" in weather.assumptions[0]


def test_several_years_become_one_of_the_months_nearest_to_the_mean() -> None:
    year = year_of(pvgis_hourly_csv(2011, 2012, 2013, 2016))
    (note,) = [note for note in year.understood if "nearest to the mean" in note]
    # means of the four: 2013 for 100..600 (mean 300 above 400), and the same below
    assert note.endswith(": " + ", ".join(["2013"] * 12))
    assert year.columns["ghi_w_m2"].size == 8760
    assert year.columns["ghi_w_m2"][12] == 300.0 + 450.0
    july = int(np.flatnonzero((year.month == 6) & (year.day == 2))[12])
    assert year.columns["ghi_w_m2"][july] == 450.0 - 300.0


def test_pvgis_hourly_without_components_has_only_the_global_sun() -> None:
    year = year_of(pvgis_hourly_csv(2011, components=False))
    assert year.columns["ghi_w_m2"][12] == 550.0
    assert "dni_w_m2" not in year.columns


@pytest.mark.parametrize(
    "text", [pvgis_hourly_csv(2011, slope="35 deg. (optimum)"), pvgis_hourly_json(2011, slope=35)]
)
def test_a_tilted_plane_is_refused(text: str) -> None:
    with pytest.raises(InputError, match="tilted plane; ask PVGIS for slope 0"):
        year_of(text)


def nsrdb(
    years: tuple[int, ...] = (2019,), zone: str = "-7", minutes: tuple[int, ...] = (30,)
) -> str:
    head = "Source,Location ID,City,State,Country,Latitude,Longitude,Time Zone,Elevation"
    head += ",Local Time Zone"
    values = f"NSRDB,149190,-,-,-,40.01,-105.26,{zone},1635,{zone}"
    names = (
        "Year,Month,Day,Hour,Minute,GHI,DNI,DHI,Temperature,Wind Speed,Relative Humidity,Pressure"
    )
    rows = [
        f"{moment.year},{moment.month},{moment.day},{moment.hour},{minute},"
        f"{10 * moment.hour + minute},5,7,{moment.month},2.4,41.5,840"
        for moment in hours(*years)
        for minute in minutes
    ]
    return "\n".join([head, values, names, *rows]) + "\n"


def test_nsrdb_hour_is_an_instant_in_its_own_zone() -> None:
    text = nsrdb()
    assert file_kind(text) == "nsrdb"
    year = year_of(text)
    assert (year.latitude_deg, year.elevation_m, year.utc_offset_h) == (40.01, 1635.0, -7.0)
    assert year.name == "NSRDB point 149190"
    weather = for_date(year, date(2027, 6, 12))
    row = int(np.flatnonzero(weather.mid_at == NOON_UTC_S + 7 * 3600 + 1800)[0])
    assert weather.ghi_w_m2[row] == 150.0
    assert weather.air_temp_k[row] == pytest.approx(279.15)
    assert weather.pressure_pa[row] == 84000.0
    assert any("10 m is assumed" in note for note in year.understood)


def test_nsrdb_half_hours_are_averaged_and_half_zones_read() -> None:
    year = year_of(nsrdb(zone="5.5", minutes=(0, 30)))
    assert year.utc_offset_h == 5.5
    assert year.columns["ghi_w_m2"][12] == 135.0
    weather = for_date(year, date(2027, 6, 12))
    row = int(np.flatnonzero(weather.mid_at == NOON_UTC_S - 5.5 * 3600 + 900)[0])
    assert weather.ghi_w_m2[row] == 135.0


def test_nsrdb_leap_year_loses_its_leap_day() -> None:
    assert year_of(nsrdb((2020,))).columns["ghi_w_m2"].size == 8760


@pytest.mark.parametrize(
    ("text", "part"),
    [
        (nsrdb()[:60000].rsplit("\n", 1)[0], "no year has|hours; a typical year has 8760"),
        (nsrdb().replace(",5,7,1,", ",5,warm,1,", 1), "'warm' in column DHI, hour 1"),
        (
            nsrdb()
            .replace("Latitude", "Lat", 1)
            .replace("Lat,Longitude", "Latitude,Longitude", 1)
            .replace("40.01", "140.01"),
            "latitude_deg 140",
        ),
        (pvgis_hourly_csv(2011)[:5000], "cannot be read as|a typical year has 8760"),
        (pvgis_tmy_json()[:100000], "cannot be read as PVGIS typical year"),
        (
            '{"status": 400, "message": "Location over the sea. Please, select another location"}',
            "no heading",
        ),
    ],
)
def test_damaged_years_are_refused_in_one_line(text: str, part: str, tmp_path: Path) -> None:
    (tmp_path / "bad.csv").write_text(text, encoding="utf-8")
    with pytest.raises(InputError, match=part) as caught:
        load_weather({"file": "bad.csv"}, tmp_path, Here(), day_start_at=NOON_UTC_S - 43200)
    assert "\n" not in str(caught.value)
    assert "bad.csv" in str(caught.value)


@pytest.mark.parametrize(
    "text", [pvgis_tmy_json(), nsrdb(minutes=(0, 30)), pvgis_hourly_csv(2011, 2012)]
)
def test_our_plain_year_is_read_back_the_same(text: str) -> None:
    year = year_of(text)
    again = plain_year(year, "an invented source")
    assert file_kind(again) == "plain"
    read = year_of(again)
    for field in ("name", "latitude_deg", "longitude_deg", "elevation_m", "utc_offset_h"):
        assert getattr(read, field) == getattr(year, field)
    assert read.start_shift_s == pytest.approx(year.start_shift_s, abs=0.01)
    assert set(read.columns) == set(year.columns)
    for name, column in year.columns.items():
        np.testing.assert_allclose(read.columns[name], column, rtol=1e-6)
    assert plain_year(read, "an invented source") == again


def test_a_gap_stays_a_gap_in_our_plain_year() -> None:
    year = year_of(nsrdb())
    holed = {
        name: np.where(np.arange(8760) == 12, np.nan, column)
        for name, column in year.columns.items()
    }
    read = year_of(plain_year(TypicalYear(**{**vars(year), "columns": holed})))
    assert np.isnan(read.columns["ghi_w_m2"][12])
    assert "GHI: 1 empty cell left out" in read.doubts


def locationforecast(**change: Any) -> dict[str, Any]:
    details = {
        "air_pressure_at_sea_level": 1016.3,
        "air_temperature": 18.2,
        "cloud_area_fraction": 37.5,
        "relative_humidity": 59.0,
        "wind_from_direction": 210.0,
        "wind_speed": 2.1,
    }
    units = {"air_temperature": "celsius", "cloud_area_fraction": "%", "wind_speed": "m/s"}
    return {
        "type": "Feature",
        "geometry": {"type": "Point", "coordinates": [13.4, 46.95, 1150]},
        "properties": {
            "meta": {"updated_at": "2027-06-11T18:30:00Z", "units": units},
            "timeseries": [
                {
                    "time": f"2027-06-12T{hour:02d}:00:00Z",
                    "data": {"instant": {"details": {**details, **change}}, "next_1_hours": {}},
                }
                for hour in range(24)
            ],
        },
    }


def test_a_point_forecast_in_json_is_a_forecast_with_its_issue(tmp_path: Path) -> None:
    (tmp_path / "f.json").write_text(json.dumps(locationforecast()), encoding="utf-8")
    weather = load_weather(
        {"forecast": "f.json"}, tmp_path, Here(), day_start_at=NOON_UTC_S - 43200
    )
    assert weather.kind == "forecast"
    assert weather.issued_at == datetime.fromisoformat("2027-06-11T18:30:00Z").timestamp()
    assert weather.air_temp_k[3] == pytest.approx(291.35)
    assert weather.cloud_frac[3] == 0.375
    assert weather.wind_10m_m_s[3] == 2.1
    assert weather.pressure_pa is None  # theirs is at sea level
    assert weather.doubts == ()


def test_a_complete_point_forecast_tells_gusts() -> None:
    forecast = json.dumps(locationforecast(wind_speed_of_gust=6.4))
    weather = parse_forecast(table_of(forecast), "UTC", date(2027, 6, 12))
    assert weather.gust_10m_m_s[3] == 6.4


def test_a_missing_detail_is_a_gap_and_a_strange_unit_is_refused() -> None:
    forecast = locationforecast()
    del forecast["properties"]["timeseries"][5]["data"]["instant"]["details"]["wind_speed"]
    forecast["properties"]["timeseries"][6]["data"]["instant"]["details"]["wind_speed"] = None
    weather = parse_forecast(table_of(json.dumps(forecast)), "UTC", date(2027, 6, 12))
    assert np.isnan(weather.wind_10m_m_s[[5, 6]]).all()
    forecast["properties"]["meta"]["units"]["air_temperature"] = "kelvin"
    with pytest.raises(InputError, match="air_temperature in 'kelvin' is not understood"):
        table_of(json.dumps(forecast))


@pytest.mark.parametrize(
    "text",
    [
        json.dumps(locationforecast())[:2000],
        '{"properties": {"timeseries": []}}',
        '{"properties": {"timeseries": [{"time": "noon", "data": {}}]}}',
        '{"properties": {"timeseries": "none"}}',
        json.dumps(locationforecast(air_temperature="warm")),
        "[" * 100_000,
        "null",
    ],
)
def test_a_broken_point_forecast_is_refused_in_one_line(text: str) -> None:
    with pytest.raises(InputError, match="cannot be read as a point forecast") as caught:
        table_of(text, "f.json")
    assert "\n" not in str(caught.value)


def test_our_plain_forecast_is_read_back_the_same() -> None:
    text = "# issued 2027-06-11T20:00Z\ntime,temp_c,wind_kmh,cloud_oktas\n"
    text += "2027-06-12T06:00Z,11.8,7.2,1\n2027-06-12T07:00Z,,3.6,8\n2027-06-12T18:00Z,15,0,0\n"
    weather = parse_forecast(text, "Europe/Rome", None)
    again = plain_forecast(weather, "Europe/Rome", "invented")
    assert again.splitlines()[:4] == [
        "# invented",
        "# issued 2027-06-11T20:00:00Z",
        "time,air_temp_c,humidity_pct,wind_m_s,cloud_pct",
        "2027-06-12T08:00:00+02:00,11.8,50,2,12.5",
    ]
    read = parse_forecast(again, "UTC", None)
    assert read.issued_at == weather.issued_at
    for name in ("start_at", "end_at", "air_temp_k", "wind_10m_m_s", "cloud_frac"):
        np.testing.assert_allclose(getattr(read, name), getattr(weather, name), rtol=1e-6)


def test_intervals_stay_intervals_in_our_plain_forecast() -> None:
    text = "hour ending,ghi w/m2\n2027-06-12T12:00Z,500\n2027-06-12T13:00Z,600\n"
    weather = parse_forecast(text, "UTC", None)
    read = parse_forecast(plain_forecast(weather, "UTC"), "UTC", None)
    assert read.start_at.tolist() == [NOON_UTC_S - 3600, NOON_UTC_S]
    assert read.end_at.tolist() == weather.end_at.tolist()
