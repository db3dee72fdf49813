"""Years with a row, a column or a month that cannot be used are refused in one line."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from drybox.errors import InputError
from drybox.inputs.years.formats import read_rows
from tests.inputs.years.test_layouts import nsrdb, pvgis_hourly_csv, year_of
from tests.running import pvlib_data


def without_columns(text: str, *names: str) -> str:
    """Take columns out of an NSRDB text."""
    head, rows = text.split("\n", 2)[:2], text.split("\n")[2:]
    labels = rows[0].split(",")
    keep = [k for k, label in enumerate(labels) if label not in names]
    cut = [",".join(row.split(",")[k] for k in keep) if row else "" for row in rows]
    return "\n".join([*head, *cut])


OTHERS = ("GHI", "DNI", "DHI", "Temperature", "Wind Speed", "Relative Humidity")
NO_PRESSURE = without_columns(nsrdb(), *OTHERS).replace(",840\n", ",-999\n")
TWO_YEARS = nsrdb((2018, 2019))


def without_a_day_of_may(text: str) -> str:
    return "\n".join(row for row in text.split("\n") if not re.match(r"\d{4},5,9,", row))


@pytest.mark.parametrize(
    ("text", "why"),
    [
        (nsrdb().replace("2019,3,1,0,", "2019,13,1,0,", 1), "no possible month, day or hour"),
        (nsrdb().replace("2019,3,1,0,", "2019,3,1,25,", 1), "no possible month, day or hour"),
        (NO_PRESSURE, "no weather column in it"),
        (without_columns(TWO_YEARS, "GHI"), "several years without global sunlight"),
        (without_a_day_of_may(nsrdb((2017, 2018, 2019))), "no year has the whole of month 5"),
        (
            pvgis_hourly_csv(2011, components=False).replace("G(i)", "Gx(i)"),
            "no sunlight on a plane",
        ),
    ],
)
def test_what_no_year_can_be_made_of_is_refused(text: str, why: str) -> None:
    with pytest.raises(InputError, match=why) as caught:
        year_of(text)
    assert "\n" not in str(caught.value)


def test_a_column_of_missing_codes_is_left_out_and_said() -> None:
    year = year_of(nsrdb().replace(",840\n", ",-999\n"))
    assert "pressure_pa" not in year.columns
    assert any("pressure: no usable value" in doubt for doubt in year.doubts)


def test_a_time_of_another_form_in_a_station_year_is_refused() -> None:
    text = Path(pvlib_data("703165TY.csv")).read_text("utf-8", "replace")
    bad = text.replace(",13:00,", ",13:00:00,", 1)
    assert bad != text
    with pytest.raises(InputError, match="no date like 12/31/2001"):
        read_rows(bad, "tmy3", "station.csv")
