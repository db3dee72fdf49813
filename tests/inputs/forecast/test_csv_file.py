"""Forecast tables: forgiving about form, strict about meaning, and everything mended is counted."""

from __future__ import annotations

from contextlib import suppress
from datetime import date, datetime
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from drybox.errors import DryboxError, InputError
from drybox.inputs.forecast.columns import read_heading
from drybox.inputs.forecast.csv_file import parse_forecast
from drybox.inputs.weather.weather import Weather

DAY = date(2027, 6, 12)
ZONE = "Europe/Vienna"


def table(heading: str, *rows: str, day: str = "2027-06-12") -> str:
    """Return a table with a morning and an evening row around the given ones."""
    return "\n".join([heading, *(row.replace("@", f"{day}T") for row in rows)]) + "\n"


def read(text: str, zone: str = ZONE, day: date = DAY) -> Weather:
    return parse_forecast(text, zone, day, said={}, name="fair.csv")


def refusal(text: str, zone: str = ZONE, day: date = DAY) -> str:
    with pytest.raises(InputError) as caught:
        read(text, zone, day)
    assert "\n" not in str(caught.value)
    assert "fair.csv" in str(caught.value)
    return str(caught.value)


@pytest.mark.parametrize(
    ("heading", "quantity", "unit"),
    [
        ("air_temp_c", "air_temp_k", "°C"),
        ("Temp (°F)", "air_temp_k", "°F"),
        ("temperature_2m (°C)", "air_temp_k", "°C"),
        ("Temperature [K]", "air_temp_k", "K"),
        ("airTemperature", "air_temp_k", ""),
        ("RH %", "humidity_frac", "%"),
        ("relative_humidity_2m (%)", "humidity_frac", "%"),
        ("humidity_frac", "humidity_frac", "fraction"),
        ("wind km/h", "wind_10m_m_s", "km/h"),
        ("Wind Speed 10 m (m/s)", "wind_10m_m_s", "m/s"),
        ("wind_m_s", "wind_10m_m_s", "m/s"),
        ("wind_kn", "wind_10m_m_s", "kn"),
        ("windspeed_mph", "wind_10m_m_s", "mph"),
        ("cloud_oktas", "cloud_frac", "oktas"),
        ("oktas", "cloud_frac", "oktas"),
        ("cloud %", "cloud_frac", "%"),
        ("Cloud cover (tenths)", "cloud_frac", "tenths"),
        ("ghi", "ghi_w_m2", ""),
        ("shortwave_radiation (W/m²)", "ghi_w_m2", "W/m2"),
        ("dni_w_m2", "dni_w_m2", "W/m2"),
        ("direct_normal_irradiance (W/m²)", "dni_w_m2", "W/m2"),
        ("diffuse_radiation", "dhi_w_m2", ""),
        ("surface_pressure (hPa)", "pressure_pa", "hPa"),
        ("wind_gusts_10m (km/h)", "gust_10m_m_s", "km/h"),
        ("windGust (km/h)", "gust_10m_m_s", "km/h"),
        ("wind direction (°)", "", ""),
        ("wind_speed_80m (m/s)", "", ""),
        ("rain probability %", "rain_frac", "%"),
        ("precipitation (mm)", "rain_kg_m2_s", "mm"),
        ("pressure_msl (hPa)", "", ""),
        ("dew_point (°C)", "", ""),
        ("apparent_temperature (°C)", "", ""),
        ("cloud_cover_high (%)", "", ""),
        ("direct_radiation (W/m²)", "", ""),
        ("time", "time", ""),
        ("Date/Time (UTC)", "time", "UTC"),
        ("datetime", "time", ""),
        ("valid_time", "time", ""),
        ("period_end", "end", ""),
        ("date", "date", ""),
    ],
)
def test_headings(heading: str, quantity: str, unit: str) -> None:
    column = read_heading(0, heading)
    assert (column.quantity, column.unit) == (quantity, unit)


def test_units_become_si() -> None:
    heading = "time,temp_f,RH %,wind mph,cloud tenths,pressure_kpa,ghi"
    weather = read(table(heading, "@06:00,50,80,10,2,95.5,100", "@20:00,68,40,0,10,95.5,50"))
    assert weather.air_temp_k.tolist() == pytest.approx([283.15, 293.15])
    assert weather.humidity_frac.tolist() == pytest.approx([0.8, 0.4])
    assert weather.wind_10m_m_s.tolist() == pytest.approx([4.4704, 0.0])
    assert weather.cloud_frac.tolist() == pytest.approx([0.2, 1.0])
    assert weather.pressure_pa.tolist() == pytest.approx([95500.0, 95500.0])


def test_understood_names_column_unit_zone_and_what_is_not_used() -> None:
    text = table("time,Temp (°F),dir,pop", "@06:00,50,9,20", "@20:00,60,9,20")
    understood = read(text).understood
    assert understood[0] == "time: 'time', instants, no offset, so taken in Europe/Vienna"
    assert "air temperature: column 'Temp (°F)' in °F" in understood
    assert "chance of rain: column 'pop' in %" in understood
    assert "not used: dir" in understood


@pytest.mark.parametrize(
    "times",
    [
        ("2027-06-12T06:00", "2027-06-12T20:00"),
        ("2027-06-12 06:00", "2027-06-12 20:00:00"),
        ("2027-06-12T06:00+02:00", "2027-06-12T20:00+0200"),
        ("2027-06-12T04:00Z", "2027-06-12T18:00:00Z"),
        ("2027-06-12 04:00 UTC", "2027-06-12 18:00 UTC"),
        ("1812772800", "1812823200"),
    ],
)
def test_times_in_every_form_are_the_same_moment(times: tuple[str, str]) -> None:
    weather = read(table("time,temp_c", *(f"{time},12" for time in times)))
    assert weather.start_at.tolist() == [1812772800.0, 1812823200.0]
    assert weather.end_at.tolist() == weather.start_at.tolist()


def test_a_heading_in_utc_is_taken_in_utc() -> None:
    assert read("time (UTC),temp_c\n2027-06-12T04:00,12\n").start_at.tolist() == [1812772800.0]


def test_date_and_time_columns_and_hour_24() -> None:
    text = "date,time,temp_c\n2027-06-12,6:00,12\n2027-06-12,24:00,13\n"
    assert read(text).start_at.tolist() == [1812772800.0, 1812772800.0 + 18 * 3600]


def test_interval_headings_keep_the_interval() -> None:
    rows = ("@06:00,12", "@07:00,13", "@08:00,14")
    ends = read(table("period_end,temp_c", *rows))
    assert (ends.end_at - ends.start_at).tolist() == [3600.0] * 3
    assert ends.end_at[0] == 1812772800.0
    starts = read(table("period_start,temp_c", *rows))
    assert starts.start_at[0] == 1812772800.0
    assert (starts.mid_at - starts.start_at).tolist() == [1800.0] * 3


def test_autumn_hour_run_twice_is_told_apart_by_order() -> None:
    hours = ("00:00", "01:00", "02:00", "02:00", "03:00", "20:00")
    text = table("time,temp_c", *(f"@{hour},9" for hour in hours), day="2027-10-31")
    steps = np.diff(read(text, day=date(2027, 10, 31)).start_at)
    assert steps.tolist() == [3600.0] * 4 + [17 * 3600.0]


def test_spring_hour_that_does_not_exist_is_refused() -> None:
    text = table("time,temp_c", "@01:00,9", "@02:30,9", day="2027-03-28")
    message = refusal(text, day=date(2027, 3, 28))
    assert "2027-03-28 02:30 does not exist in Europe/Vienna" in message
    assert "line 3" in message


@pytest.mark.parametrize(
    "text",
    [
        "time;temp_c;wind km/h\n2027-06-12 06:00;14,5;7,2\n2027-06-12 20:00;18;3,6\n",
        "time\ttemp_c\twind km/h\n2027-06-12 06:00\t14.5\t7.2\n2027-06-12 20:00\t18\t3.6\n",
        'time,temp_c,wind km/h\n2027-06-12 06:00,"14,5","7,2"\n2027-06-12 20:00,18,"3,6"\n',
        "time,temp_c,wind km/h,,\n2027-06-12 06:00,14.5,7.2,,\n2027-06-12 20:00,18,3.6,,\n",
        "temp_c,time,wind km/h\n\n14.5,2027-06-12 06:00,7.2\n\n18,2027-06-12 20:00,3.6\n",
        "Our town\nsome,words,here\n\ntime,temp_c,wind km/h\n"
        "2027-06-12 06:00,14.5,7.2\n2027-06-12 20:00,18,3.6\n",
    ],
)
def test_delimiters_decimal_commas_and_lines_before_the_heading(text: str) -> None:
    weather = read(text)
    assert weather.air_temp_k.tolist() == pytest.approx([287.65, 291.15])
    assert weather.wind_10m_m_s.tolist() == pytest.approx([2.0, 1.0])


def test_rows_out_of_order_are_sorted_and_counted() -> None:
    weather = read(table("time,temp_c", "@20:00,20", "@06:00,10", "@13:00,15"))
    assert weather.air_temp_k.tolist() == pytest.approx([283.15, 288.15, 293.15])
    assert weather.doubts == ("The rows were not in time order (1 step back); sorted.",)


def test_rows_that_come_twice_are_dropped_when_alike_and_refused_when_not() -> None:
    weather = read(table("time,temp_c", "@06:00,10", "@06:00,10", "@20:00,20"))
    assert weather.start_at.size == 2
    assert weather.doubts == ("1 row came twice and was dropped.",)
    message = refusal(table("time,temp_c", "@06:00,10", "@06:00,11", "@20:00,20"))
    assert "lines 2 and 3 give different weather for the same time" in message


def test_gaps_are_counted() -> None:
    hours = (6, 7, 8, 9, 13, 14, 20)
    doubts = read(table("time,temp_c", *(f"@{hour:02d}:00,12" for hour in hours))).doubts
    assert doubts == ("8 rows missing between others; the longest gap is 6 h.",)


def test_codes_and_impossible_values_become_gaps_and_are_counted() -> None:
    rows = (
        "@06:00,99.9,999,-99,-3,9999",
        "@08:00,14,103,2,812,700",
        "@10:00,16,70,2,1800,750",
        "@12:00,,60,2,900,800",
        "@14:00,NaN,50,2,900,800",
        "@20:00,19,120,2,9999,800",
    )
    weather = read(table("time,temp_c,humidity_pct,wind_m_s,ghi,dni", *rows))
    assert np.isnan(weather.air_temp_k).tolist() == [True, False, False, True, True, False]
    assert weather.humidity_frac[1] == 1.0
    assert np.isnan(weather.humidity_frac).tolist() == [True] + [False] * 4 + [True]
    assert weather.ghi_w_m2[0] == 0.0
    assert np.isnan(weather.ghi_w_m2).tolist() == [False, False, True, False, False, True]
    assert weather.doubts == (
        "Air temperature: 2 empty cells left out.",
        "Air temperature: 1 missing-value code left out.",
        "Humidity: 1 missing-value code left out.",
        "Humidity: 1 value outside 0 to 105 % left out.",
        "Humidity: 1 value just outside 0 to 105 % set to the limit.",
        "Wind: 1 missing-value code left out.",
        "GHI: 1 missing-value code left out.",
        "GHI: 1 value outside 0 to 1500 W/m2 left out.",
        "GHI: 1 value just outside 0 to 1500 W/m2 set to the limit.",
        "DNI: 1 missing-value code left out.",
        "2 rows missing between others; the longest gap is 6 h.",
    )


def test_a_column_of_codes_is_as_if_not_there() -> None:
    weather = read(table("time,temp_c,ghi", "@06:00,10,9999", "@20:00,20,-9999"))
    assert weather.ghi_w_m2 is None
    assert "GHI: no usable value, so the column is not used." in weather.doubts
    assert not weather.cloud_told


def test_humidity_of_99_9_percent_is_no_missing_code() -> None:
    weather = read(table("time,RH %", "@06:00,99.9", "@20:00,99"))
    assert weather.humidity_frac.tolist() == pytest.approx([0.999, 0.99])


def test_units_left_out_are_guessed_only_where_the_numbers_allow_one() -> None:
    weather = read(table("time,temp,rh,wind,cloud", "@06:00,12,80,3,100", "@20:00,20,40,2,60"))
    assert weather.cloud_frac.tolist() == [1.0, 0.6]
    assert "Column 'temp' names no unit; °C is assumed." in weather.doubts
    assert "Column 'wind' names no unit; m/s is assumed." in weather.doubts
    assert "'temp' names no unit, and 68 could" in refusal(table("time,temp", "@06:00,68"))
    assert "'wind' names no unit, and 30 could" in refusal(table("time,wind", "@06:00,30"))
    message = refusal(table("time,cloud", "@06:00,6", "@20:00,3"))
    assert message == (
        "column 'cloud' names no unit, and 6 could be several; name it, such as cloud_oktas "
        "(fair.csv)"
    )


@pytest.mark.parametrize(
    ("text", "part"),
    [
        ("time,temp_c\n", "there is a heading but no row under it"),
        ("hello\nworld\n", "there is no heading with a time and a weather column"),
        ("time,dir\n2027-06-12T06:00,3\n", "there is no heading"),
        ("time,temp_c,rh %\n2027-06-12T06:00,12,50\n2027-06-12T07:0", "1 cell under 3 headings"),
        ("time,temp_c\n2027-06-12T06:00,12,5\n", "decimal commas need ';'"),
        ("time,temp_c\n2027-06-12T06:00,warm\n", "'warm' in column 'temp_c' is not a number"),
        ("time,temp_c\n2027-06-12T06:00,1_0\n", "'1_0' in column"),
        ("time,temp_c\n2027-06-12T06:00,inf\n", "'inf' in column"),
        ('time,pressure_pa\n2027-06-12T06:00,"101,325"\n', "'101,325' in column"),
        ("time,temp_c\n06/07/2026 06:00,12\n", "time '06/07/2026 06:00' is not understood"),
        ("time,temp_c\n2027-06-12 6:00 AM,12\n", "is not understood; write it like 2027-06-12T06"),
        ("time,temp_c\n2027-06-31T06:00,12\n", "time '2027-06-31T06:00' is not on any calendar"),
        ("time,temp_c\n9999-12-31T24:00,12\n", "is not on any calendar"),
        ("time,temp_c\n0001-01-01T00:00,12\n", "is not on any calendar"),
        ("time,temp_c\n2027-06-12T25:00,12\n", "is not on any calendar"),
        ("time,temp_c\n2027-06-12T06:00Z,12\n2027-06-12T07:00,12\n", "1 of 2 times have an off"),
        ("time,temp (%)\n2027-06-12T06:00,12\n", "unit that does not fit; use °C, °F, K"),
        ("time,wind (ft/s)\n2027-06-12T06:00,12\n", "unit that does not fit; use m/s, km/h"),
        ("time,temp_c\n2027-06-12T06:00,80\n", "air temperature 80 and most others are outside"),
        ("time,ghi\n2027-06-12T06:00,5000\n2027-06-12T07:00,5000\n", "GHI 5000 and most others"),
        (
            "time,temp_c\n2027-06-10T06:00,12\n2027-06-11T06:00,12\n",
            "the forecast runs from 2027-06-10 06:00 to 2027-06-11 06:00 and does not reach "
            "2027-06-12",
        ),
    ],
)
def test_what_cannot_be_used_is_refused_in_one_line(text: str, part: str) -> None:
    assert part in refusal(text)


def test_an_old_forecast_is_doubted_with_its_age() -> None:
    late = table("time,temp_c", "@06:00,12", "@20:00,20")
    assert read("# issued 2027-06-11T18:00\n" + late).doubts == ()
    old = read("# Issued: 2027-06-07T12:00+02:00\n" + late).doubts
    assert old == (
        "The forecast was issued 5 days before the day: its cloud is hardly more than usual.",
    )
    assert "is not understood" in read("# issued 2027-06-99\n" + late).doubts[0]
    days = "".join(f"2027-06-{day:02d}T12:00,15\n" for day in range(6, 14))
    assert "starts 6 days before the day" in read("time,temp_c\n" + days).doubts[0]


@given(
    rows=st.lists(
        st.tuples(st.integers(-40, 50), st.integers(0, 100), st.integers(0, 8)),
        min_size=2,
        max_size=30,
    ),
    delimiter=st.sampled_from([";", "\t", ","]),
    fahrenheit=st.booleans(),
    offset=st.booleans(),
)
@settings(max_examples=60, deadline=None)
def test_a_table_written_in_any_form_reads_back_the_same(
    rows: list[tuple[int, int, int]], delimiter: str, fahrenheit: bool, offset: bool
) -> None:
    first = int(datetime(2027, 6, 12, 6, tzinfo=ZoneInfo(ZONE)).timestamp())
    lines = [delimiter.join(["time", "temp_f" if fahrenheit else "temp_c", "RH %", "cloud_oktas"])]
    for index, (temp_c, humidity, oktas) in enumerate(rows):
        moment = datetime.fromtimestamp(first + 1800 * index, ZoneInfo(ZONE))
        time = moment.isoformat() if offset else moment.replace(tzinfo=None).isoformat()
        temp = f"{temp_c * 1.8 + 32:.1f}" if fahrenheit else f"{temp_c:.1f}"
        if delimiter == ";":
            temp = temp.replace(".", ",")
        lines.append(delimiter.join([time, temp, str(humidity), str(oktas)]))
    weather = read("\n".join(lines))
    assert weather.start_at.tolist() == [first + 1800 * index for index in range(len(rows))]
    assert weather.air_temp_k == pytest.approx([row[0] + 273.15 for row in rows])
    assert weather.humidity_frac == pytest.approx([row[1] / 100 for row in rows])
    assert weather.cloud_frac == pytest.approx([row[2] / 8 for row in rows])


@given(text=st.text(max_size=300))
@settings(max_examples=150, deadline=None)
def test_any_text_gives_weather_or_a_refusal(text: str) -> None:
    for content in (text, "time,temp_c\n" + text, "time;temp_c\n2027-06-12T06:00;" + text):
        with suppress(DryboxError):
            read(content)
