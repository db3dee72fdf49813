"""Which kinds of weather file there are, how each is known, and which column is what.

Hours are told by the start of their interval in the file's own fixed offset from UTC: EPW
prints hour 1 for 00:00 to 01:00, TMY2 and TMY3 print the hour's end, PVGIS and NSRDB print
instants, of which each is taken for the middle of its interval.
"""

from __future__ import annotations

import re

from drybox.units import KELVIN_AT_0_C

KIND_NAMES = {
    "epw": "EPW",
    "tmy3": "TMY3",
    "tmy2": "TMY2",
    "pvgis": "PVGIS typical year",
    "pvgis_hourly": "PVGIS hourly",
    "nsrdb": "NSRDB",
    "plain": "drybox typical year",
}
MARKS = {
    "epw": "the hour marks its start",
    "tmy3": "the hour marks its end",
    "tmy2": "the hour marks its end",
    "plain": "the hour marks its start",
}
FORECASTS = ("forecast", "locationforecast")
REAL_YEARS = ("pvgis_hourly", "nsrdb")
PLAIN_MARK = "# drybox typical year"
_TMY2_HEAD = re.compile(r"^ ?\d{5} .{2,40}[NS] +\d+ +\d+ +[EW] +\d+ +\d+ +-?\d+ *$")
_CELSIUS = (1.0, KELVIN_AT_0_C)
_PERCENT = (0.01, 0.0)
_TENTHS = (0.1, 0.0)
_AS_IS = (1.0, 0.0)
_HPA = (100.0, 0.0)

Layout = dict[str, tuple[str, tuple[float, float]]]
# our name: (the reader's column, (factor, offset) to SI)
_SUN: Layout = {
    "ghi_w_m2": ("ghi", _AS_IS),
    "dni_w_m2": ("dni", _AS_IS),
    "dhi_w_m2": ("dhi", _AS_IS),
}
_AIR: Layout = {
    "air_temp_k": ("temp_air", _CELSIUS),
    "humidity_frac": ("relative_humidity", _PERCENT),
    "wind_10m_m_s": ("wind_speed", _AS_IS),
}
LAYOUTS: dict[str, Layout] = {
    "epw": {
        **_AIR,
        "pressure_pa": ("atmospheric_pressure", _AS_IS),
        "cloud_frac": ("total_sky_cover", _TENTHS),
        **_SUN,
    },
    "tmy3": {
        **_AIR,
        "pressure_pa": ("pressure", _HPA),
        "cloud_frac": ("TotCld (tenths)", _TENTHS),
        **_SUN,
    },
    "tmy2": {
        "air_temp_k": ("DryBulb", (0.1, KELVIN_AT_0_C)),
        "humidity_frac": ("RHum", _PERCENT),
        "wind_10m_m_s": ("Wspd", _TENTHS),
        "pressure_pa": ("Pressure", _HPA),
        "cloud_frac": ("TotCld", _TENTHS),
        **{name: (label.upper(), as_is) for name, (label, as_is) in _SUN.items()},
    },
    "pvgis": {**_AIR, "pressure_pa": ("pressure", _AS_IS), **_SUN},
    "pvgis_hourly": {**_AIR, **_SUN},
    "nsrdb": {
        "air_temp_k": ("Temperature", _CELSIUS),
        "humidity_frac": ("Relative Humidity", _PERCENT),
        "wind_10m_m_s": ("Wind Speed", _AS_IS),
        "pressure_pa": ("Pressure", _HPA),
        **{name: (label.upper(), as_is) for name, (label, as_is) in _SUN.items()},
    },
    "plain": {
        "air_temp_k": ("air_temp_c", _CELSIUS),
        "humidity_frac": ("humidity_pct", _PERCENT),
        "wind_10m_m_s": ("wind_m_s", _AS_IS),
        "pressure_pa": ("pressure_hpa", _HPA),
        "cloud_frac": ("cloud_pct", _PERCENT),
        **{name: (name, as_is) for name, (_, as_is) in _SUN.items()},
        "rain_kg_m2_s": ("rain_mm_h", (1.0 / 3600.0, 0.0)),
        "rain_frac": ("rain_chance_pct", _PERCENT),
        "gust_10m_m_s": ("gust_m_s", _AS_IS),
    },
}


def file_kind(text: str) -> str:
    """Return what kind of weather a text holds, known by its first lines.

    It is a key of `LAYOUTS`, ``locationforecast`` for the Norwegian forecast's JSON, or else
    ``forecast``.

    >>> file_kind("LOCATION,Nowhere,-,XXX"), file_kind("time,air_temp_c")
    ('epw', 'forecast')
    """
    first, _, rest = text.partition("\n")
    second, _, rest = rest.partition("\n")
    third = rest.partition("\n")[0]
    if text.lstrip()[:1] in ("{", "["):
        return _json_kind(text)
    if first.upper().startswith("LOCATION,"):
        return "epw"
    if "Date (MM/DD/YYYY)" in second:
        return "tmy3"
    if _TMY2_HEAD.match(first) and len(second) > 120:
        return "tmy2"
    if first.startswith("Latitude (decimal degrees)"):
        return "pvgis" if "time(UTC)" in text[:2000] else "pvgis_hourly"
    if "Latitude,Longitude" in first and third.startswith("Year,Month,Day,Hour"):
        return "nsrdb"
    return "plain" if first.startswith(PLAIN_MARK) else "forecast"


def _json_kind(text: str) -> str:
    marks = {"tmy_hourly": "pvgis", "timeseries": "locationforecast", "hourly": "pvgis_hourly"}
    return next((kind for mark, kind in marks.items() if f'"{mark}"' in text), "forecast")
