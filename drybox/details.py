"""What commands show beside an answer: time series, the sheet's day, a fit's curves."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from drybox.inputs.event.event import Event
    from drybox.inputs.event.place import Place
    from drybox.inputs.notes.fits import KeptFit
    from drybox.inputs.weather.look import WeatherFile
    from drybox.inputs.weather.weather import Weather
    from drybox.planning.aim.event_aim import EventAim
    from drybox.planning.calibration.calibration import Calibration
    from drybox.planning.calibration.curves import DayCurves, PromiseShown
    from drybox.planning.day.plan import DayPlan
    from drybox.planning.one_print.set_out import SetOutResult
    from drybox.planning.one_print.sheet_day import SheetDay
    from drybox.planning.one_print.ways import DryResult


def engine() -> str:
    """Return which step serves here: "compiled" or "numpy"."""
    from drybox.physics.c_library import engine as found

    return found()


def season_weather(event: Event) -> Weather:
    """Return the year's weather that `season` takes for an event: typical, else a clear sky."""
    from drybox.planning.season.weather import year_weather

    return year_weather(event)


def promise_shown(
    event: Event, fit: KeptFit, *, members: int = 200, seed: int = 1
) -> PromiseShown | None:
    """Return one print's drying time without and with a fit."""
    from drybox.planning.calibration.curves import promise_shown as shown

    return shown(event, fit, members=members, seed=seed)


def plate_curves(found: Calibration) -> list[DayCurves]:
    """Return each day's plate as modelled before and after a fit, and as read."""
    from drybox.planning.calibration.curves import plate_curves as curves

    return curves(found)


def sheet_day(
    event: Event,
    at: float,
    *,
    hold_k: float | None = None,
    seed: int = 1,
    tick: Callable[[], None] = lambda: None,
) -> SheetDay:
    """Return setting out, aims and lookups of a day under one aim, for its sheet."""
    from drybox.planning.one_print.sheet_day import plan_sheet_day

    return plan_sheet_day(event, at, hold_k=hold_k, seed=seed, tick=tick)


SHEET_STEPS = 4
"""Calls of ``tick`` in `sheet_day`."""


def weather_hours(found: WeatherFile, place: Place) -> list[Mapping[str, float]]:
    """Return the day of a weather file hour by hour, with the sun that reaches the ground."""
    from drybox.planning.scenario.weather_day import day_hours

    return list(day_hours(found.weather, place, found.day))


def time_series(result: DryResult | EventAim | SetOutResult | DayPlan) -> tuple[Any, Any]:
    """Return the time series behind a result.

    Parameters
    ----------
    result : DryResult, EventAim, SetOutResult or DayPlan
        From a call of `drybox.api`.

    Returns
    -------
    time_at, columns : array, dict of str to array
        Unix times [s], and columns named with their unit.
    """
    kind = type(result).__name__
    found: Any = result
    if kind == "DryResult":
        from drybox.planning.one_print.series import told_series

        return told_series(found._asked.event, found)
    if kind == "DayPlan":
        from drybox.planning.whole_day.series import day_series

        return day_series(found)
    if kind == "EventAim":
        return found.day.time_at, {
            "sun_elevation_deg": found.day.sun.elevation_deg,
            "sun_azimuth_deg": found.day.sun.azimuth_deg,
            "plate_irradiance_turned_w_m2": found.turned_w_m2,
            "plate_irradiance_single_w_m2": found.single_w_m2,
            "plate_irradiance_tracked_w_m2": found.tracked_w_m2,
        }
    if kind == "SetOutResult":
        return found.time_at, {
            "sun_elevation_deg": found.sun_elevation_deg,
            "sun_azimuth_deg": found.sun_azimuth_deg,
            "plate_irradiance_w_m2": found.plate_irradiance_w_m2,
            "plate_temp_c": found.plate_temp_k - 273.15,
            "air_temp_c": found.air_temp_k - 273.15,
        }
    raise TypeError(f"no time series is known for {kind}")
