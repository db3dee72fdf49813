"""How a processing bath wears: area, level, dilution, silver, the clock and temperature."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Number = float | Floats

_ROUNDING = 1e-9  # keeps 32 sheets from becoming 31 by the last bit of a float


def _whole(sheets: Number) -> Number:
    whole: Floats = np.floor(np.asarray(sheets) * (1 + _ROUNDING))
    return whole


def level_m3(volume_m3: Number, sheets: Number, carry_over_m3: Number) -> Number:
    """Return the liquid left in a tank that sheets enter dry and leave wet.

    Parameters
    ----------
    volume_m3 : float or array
        Liquid at the start. [m³]
    sheets : float or array
        Sheets passed. [1]
    carry_over_m3 : float or array
        Liquid that one sheet takes along. [m³]

    Returns
    -------
    float or array
        Liquid left; an empty tank stays empty. [m³]

    Notes
    -----
    ``V - N v``. Evaporation and spilling are left out.

    Examples
    --------
    400 mL, and 3 mL a sheet (reference row BV1):

    >>> level_m3(400e-6, np.array([0, 10, 200]), 3e-6).round(6).tolist()
    [0.0004, 0.00037, 0.0]
    """
    level: Floats = np.maximum(volume_m3 - np.asarray(sheets) * carry_over_m3, 0.0)
    return level


def strength_frac(sheets: Number, carry_over_m3: Number, volume_m3: Number) -> Number:
    """Return what carry-over from the bath before leaves of a later bath's strength.

    Parameters
    ----------
    sheets : float or array
        Sheets passed. [1]
    carry_over_m3 : float or array
        Liquid that one sheet brings in, and takes out again. [m³]
    volume_m3 : float or array
        Liquid in the bath. [m³]

    Returns
    -------
    float or array
        Strength as a share of fresh, 0 to 1. [frac]

    Notes
    -----
    ``exp(-N v / V)``: the level stays, the bath is well mixed. What the chemistry itself uses
    up is judged by area, not here.

    References
    ----------
    Dilution of a stirred tank, by mass balance.

    Examples
    --------
    40 sheets that carry 3.5 mL through 400 mL (reference row BD1):

    >>> round(float(strength_frac(40, 3.5e-6, 400e-6)), 2)
    0.7
    """
    strength: Floats = np.exp(-np.asarray(sheets) * carry_over_m3 / volume_m3)
    return strength


def sheets_to_level(volume_m3: Number, carry_over_m3: Number, loss_frac: Number) -> Number:
    """Return the whole sheets after which a share of the level is gone.

    Parameters
    ----------
    volume_m3 : float or array
        Liquid at the start. [m³]
    carry_over_m3 : float or array
        Liquid that one sheet takes along. [m³]
    loss_frac : float or array
        Share of the level that may go, 0 to 1. [frac]

    Returns
    -------
    float or array
        Sheets. [1]

    Examples
    --------
    A tenth of 400 mL at 3, 4 and 4.5 mL a sheet (reference row BL1):

    >>> sheets_to_level(400e-6, np.array([3e-6, 4e-6, 4.5e-6]), 0.1).tolist()
    [13.0, 10.0, 8.0]
    """
    return _whole(loss_frac * np.asarray(volume_m3) / carry_over_m3)


def sheets_to_strength(volume_m3: Number, carry_over_m3: Number, least_frac: Number) -> Number:
    """Return the whole sheets until carry-over has thinned a bath to ``least_frac``.

    Parameters
    ----------
    volume_m3 : float or array
        Liquid in the bath. [m³]
    carry_over_m3 : float or array
        Liquid that one sheet brings in, and takes out again. [m³]
    least_frac : float or array
        Least strength, above 0 and below 1. [frac]

    Returns
    -------
    float or array
        Sheets. [1]

    Notes
    -----
    The inverse of `strength_frac`.
    """
    return _whole(-np.log(least_frac) * np.asarray(volume_m3) / carry_over_m3)


def sheets_by_area(volume_m3: Number, capacity_m2_m3: Number, sheet_area_m2: Number) -> Number:
    """Return the whole sheets that a bath takes before it is spent.

    Parameters
    ----------
    volume_m3 : float or array
        Liquid in the bath. [m³]
    capacity_m2_m3 : float or array
        Area that a volume takes. [m²/m³, a thousand times m²/L]
    sheet_area_m2 : float or array
        Area of one face of a sheet. [m²]

    Returns
    -------
    float or array
        Sheets. [1]

    Examples
    --------
    Acid fixer, 20 sheets 8x10 in per litre: 4x5 in sheets in 400 mL (reference row BC3):

    >>> float(sheets_by_area(400e-6, 1032.256, 0.1016 * 0.127))
    32.0
    """
    return _whole(np.asarray(volume_m3) * capacity_m2_m3 / sheet_area_m2)


def time_at_temperature_s(
    time_s: Number, temp_k: Number, reference_temp_k: Number, rate_per_k: Number
) -> Number:
    """Return a stage's time at another temperature.

    Parameters
    ----------
    time_s : float or array
        Time at the reference temperature. [s]
    temp_k, reference_temp_k : float or array
        Bath temperature, and that of the given time. [K]
    rate_per_k : float or array
        Share by which one kelvin speeds the stage, such as 0.07. [1/K]

    Returns
    -------
    float or array
        Time. [s]

    Notes
    -----
    ``t (1 + k)^(T_ref - T)``: 7 % a kelvin about halves the time in 10 K. Good for 13-27 °C;
    hydroquinone nearly stops at about 13 °C.

    Examples
    --------
    Row BT1 of ``data/reference/washing.csv`` (60 within 2 %):

    >>> round(float(time_at_temperature_s(120.0, 303.15, 293.15, 0.07)))
    61
    """
    factor: Floats = (1.0 + np.asarray(rate_per_k)) ** (np.asarray(reference_temp_k) - temp_k)
    return time_s * factor


def silver_kg_m3(
    sheets: Number, sheet_area_m2: Number, silver_kg_m2: Number, volume_m3: Number
) -> Number:
    """Return the silver dissolved in a fixer.

    Parameters
    ----------
    sheets : float or array
        Sheets passed. [1]
    sheet_area_m2 : float or array
        Area of one. [m²]
    silver_kg_m2 : float or array
        Undeveloped silver that a sheet gives off. [kg/m²]
    volume_m3 : float or array
        Liquid in the bath. [m³]

    Returns
    -------
    float or array
        Silver. [kg/m³, the same number in g/L]

    Notes
    -----
    What sheets carry off again is left out, so this is the upper bound.

    Examples
    --------
    Row BS1 of ``data/reference/washing.csv``, 12 sheets 8x10 in through a litre:

    >>> round(float(silver_kg_m3(12, 0.0516128, 0.0008, 0.001)), 1)
    0.5
    """
    return np.asarray(sheets) * sheet_area_m2 * silver_kg_m2 / volume_m3


def sheets_by_life(life_s: Number, sheets_per_s: Number) -> Number:
    """Return the whole sheets that pass while a poured bath still keeps.

    Parameters
    ----------
    life_s : float or array
        How long the bath keeps once poured. [s]
    sheets_per_s : float or array
        Pace, above 0. [1/s]

    Returns
    -------
    float or array
        Sheets. [1]

    Examples
    --------
    A developer that keeps 6 h, at 4 and at 3.96 sheets an hour (reference row BF1):

    >>> sheets_by_life(6 * 3600.0, [4 / 3600.0, 3.96 / 3600.0]).tolist()
    [24.0, 23.0]
    """
    return _whole(np.asarray(life_s) * np.asarray(sheets_per_s))
