"""Water leaving a wet surface: mass transfer by analogy with heat, wet surface, drying time."""

from __future__ import annotations

import numpy as np

from drybox.physics.air import (
    air_conductivity_w_m_k,
    latent_heat_j_kg,
    moist_air_density_kg_m3,
    saturation_pressure_pa,
    vapour_density_kg_m3,
    vapour_diffusivity_m2_s,
)
from drybox.physics.constants import GAS_CONSTANT_VAPOUR_J_KG_K, Floats
from drybox.physics.humidity import humidity_ratio, moist_air_specific_heat_j_kg_k


def heat_mass_ratio_j_m3_k(
    volumetric_heat_j_m3_k: Floats,
    thermal_diffusivity_m2_s: Floats,
    diffusivity_m2_s: Floats,
) -> Floats:
    """Return the ratio of the heat to the mass transfer coefficient.

    Parameters
    ----------
    volumetric_heat_j_m3_k : float or array
        Density times specific heat of the air. [J/(m³ K)]
    thermal_diffusivity_m2_s : float or array
        Thermal diffusivity of the air. [m²/s]
    diffusivity_m2_s : float or array
        Diffusivity of the vapour in air. [m²/s]

    Returns
    -------
    float or array
        Ratio ``h / h_m``. [J/(m³ K)]

    Notes
    -----
    ``ρ c_p (α / D)^2/3``, the analogy of Chilton and Colburn; drag by the vapour's own flow is
    in `evaporation_flux_kg_m2_s`.

    References
    ----------
    T. H. Chilton and A. P. Colburn, Ind. Eng. Chem. 26 (1934) 1183.

    Examples
    --------
    Row E1 of ``data/reference/evaporation.csv``:

    >>> round(float(heat_mass_ratio_j_m3_k(1.1614 * 1007.0, 22.5e-6, 26e-6)))
    1062
    """
    lewis_root = np.cbrt(thermal_diffusivity_m2_s / diffusivity_m2_s)
    ratio: Floats = volumetric_heat_j_m3_k * lewis_root * lewis_root
    return ratio


def mass_transfer_coeff_m_s(
    heat_transfer_coeff_w_m2_k: Floats,
    film_temp_k: Floats,
    film_vapour_pressure_pa: Floats,
    pressure_pa: Floats,
) -> Floats:
    """Return the mass transfer coefficient that goes with a convection coefficient.

    Parameters
    ----------
    heat_transfer_coeff_w_m2_k : float or array
        Convection coefficient of the same face. [W/(m² K)]
    film_temp_k : float or array
        Mean temperature of surface and air. [K]
    film_vapour_pressure_pa : float or array
        Mean vapour pressure of surface and air. [Pa]
    pressure_pa : float or array
        Air pressure. [Pa]

    Returns
    -------
    float or array
        Mass transfer coefficient on vapour density. [m/s]

    Notes
    -----
    `heat_mass_ratio_j_m3_k` with moist air at the film; conductivity of dry air.

    References
    ----------
    See `heat_mass_ratio_j_m3_k`.

    Examples
    --------
    >>> round(float(mass_transfer_coeff_m_s(10.0, 300.0, 1500.0, 101325.0)), 5)
    0.00924
    """
    density = moist_air_density_kg_m3(film_temp_k, film_vapour_pressure_pa, pressure_pa)
    ratio = humidity_ratio(film_vapour_pressure_pa, pressure_pa)
    volumetric = density * moist_air_specific_heat_j_kg_k(ratio)
    thermal = air_conductivity_w_m_k(film_temp_k) / volumetric
    diffusivity = vapour_diffusivity_m2_s(film_temp_k, pressure_pa)
    return heat_transfer_coeff_w_m2_k / heat_mass_ratio_j_m3_k(volumetric, thermal, diffusivity)


def evaporation_flux_kg_m2_s(
    transfer_coeff_m_s: Floats,
    surface_vapour_pressure_pa: Floats,
    air_vapour_pressure_pa: Floats,
    film_temp_k: Floats,
    pressure_pa: Floats,
) -> Floats:
    """Return the water leaving a surface, negative for dew, with the drag of its own flow.

    Parameters
    ----------
    transfer_coeff_m_s : float or array
        Coefficient for a small flow, from `mass_transfer_coeff_m_s`. [m/s]
    surface_vapour_pressure_pa : float or array
        At the surface: water activity times saturation, below the air pressure. [Pa]
    air_vapour_pressure_pa : float or array
        Away from the surface. [Pa]
    film_temp_k : float or array
        Mean temperature of surface and air. [K]
    pressure_pa : float or array
        Air pressure. [Pa]

    Returns
    -------
    float or array
        Evaporation. [kg/(m² s)]

    Notes
    -----
    ``h_m p / (R T) ln[(p - e_a) / (p - e_s)]``, Stefan's flow; it tends to
    ``h_m (e_s - e_a) / (R T)`` where both are small beside p, and is 7 % more at 50 °C. The
    matching drop of the heat transfer coefficient (2 %) is left out.

    References
    ----------
    R. B. Bird, W. E. Stewart and E. N. Lightfoot, *Transport Phenomena*, ch. 18 and 22.

    Examples
    --------
    >>> flux = evaporation_flux_kg_m2_s(0.01, 12352.0, 1500.0, 308.15, 101325.0)
    >>> round(float(flux) * 3600, 2)
    2.95
    """
    drive = surface_vapour_pressure_pa - air_vapour_pressure_pa
    stefan = np.log1p(drive / (pressure_pa - surface_vapour_pressure_pa))
    flux: Floats = transfer_coeff_m_s * pressure_pa / GAS_CONSTANT_VAPOUR_J_KG_K / film_temp_k
    return flux * stefan


def evaporative_cooling_k(
    latent_j_kg: Floats, vapour_density_difference_kg_m3: Floats, ratio_j_m3_k: Floats
) -> Floats:
    """Return how far a wet surface that only the air heats is colder than the air.

    Parameters
    ----------
    latent_j_kg : float or array
        Heat of evaporation. [J/kg]
    vapour_density_difference_kg_m3 : float or array
        Vapour density at the surface less that of the air. [kg/m³]
    ratio_j_m3_k : float or array
        From `heat_mass_ratio_j_m3_k`. [J/(m³ K)]

    Returns
    -------
    float or array
        Air less surface temperature. [K]

    Notes
    -----
    ``T_a - T_s = λ (ρ_s - ρ_a) / (h / h_m)``; radiation and conduction are left out.

    References
    ----------
    F. P. Incropera and D. P. DeWitt, *Fundamentals of Heat and Mass Transfer*, ch. 6.

    Examples
    --------
    >>> round(float(evaporative_cooling_k(2.45e6, 0.005, 1062.0)), 1)
    11.5
    """
    return latent_j_kg * vapour_density_difference_kg_m3 / ratio_j_m3_k


def wet_surface_temp_k(
    air_temp_k: Floats, air_vapour_pressure_pa: Floats, pressure_pa: Floats
) -> Floats:
    """Return the temperature a wet surface settles at in air alone, by mass transfer.

    Parameters
    ----------
    air_temp_k : float or array
        Air temperature, with the surface above freezing: 275 to 360. [K]
    air_vapour_pressure_pa : float or array
        Vapour pressure of the air, at most saturation. [Pa]
    pressure_pa : float or array
        Air pressure. [Pa]

    Returns
    -------
    float or array
        Surface temperature. [K]

    Notes
    -----
    Solves `evaporative_cooling_k` by Newton steps. Some 0.5 K below the thermodynamic wet bulb in
    dry air, because vapour diffuses a little faster than heat. Radiation, which warms a real
    wet sheet in still air, and the vapour's own flow are left out.

    References
    ----------
    See `evaporative_cooling_k`.

    Examples
    --------
    >>> round(float(wet_surface_temp_k(303.15, 1698.8, 101325.0)) - 273.15, 1)
    19.5
    """
    air_density = vapour_density_kg_m3(air_vapour_pressure_pa, air_temp_k)

    def too_warm_k(surface_k: Floats) -> Floats:
        saturated = saturation_pressure_pa(surface_k)
        film_k = 0.5 * (surface_k + air_temp_k)
        film_pressure = 0.5 * (saturated + air_vapour_pressure_pa)
        ratio = 1.0 / mass_transfer_coeff_m_s(1.0, film_k, film_pressure, pressure_pa)
        difference = vapour_density_kg_m3(saturated, surface_k) - air_density
        cooling = evaporative_cooling_k(latent_heat_j_kg(surface_k), difference, ratio)
        return surface_k + cooling - air_temp_k

    # Both cooling and saturation grow faster than linearly, so Newton from the warm side is safe.
    surface = air_temp_k + 0.0 * air_vapour_pressure_pa
    for _ in range(30):
        excess = too_warm_k(surface)
        slope = (excess - too_warm_k(surface - 1e-3)) / 1e-3
        change = excess / slope
        surface = surface - change
        if np.all(np.abs(change) < 1e-7):
            break
    return surface


def constant_plus_falling_rate_time_s(
    dry_mass_kg_m2: Floats,
    constant_rate_kg_m2_s: Floats,
    initial_ratio: Floats,
    critical_ratio: Floats,
    equilibrium_ratio: Floats,
    final_ratio: Floats,
) -> Floats:
    """Return the drying time with a constant rate, then one falling in proportion.

    Parameters
    ----------
    dry_mass_kg_m2 : float or array
        Dry solid per drying area. [kg/m²]
    constant_rate_kg_m2_s : float or array
        Evaporation while the surface is wet. [kg/(m² s)]
    initial_ratio, critical_ratio, equilibrium_ratio, final_ratio : float or array
        Water per dry solid at the start, where the rate begins to fall, in balance with the
        air, and at the end; final above equilibrium. [kg/kg]

    Returns
    -------
    float or array
        Time; infinite if the final ratio is the equilibrium one. [s]

    Notes
    -----
    ``(m/R) {(X1 - Xc) + (Xc - Xe) ln[(Xc - Xe) / (X2 - Xe)]}``, each part only as far as the
    drying passes through it. A changing temperature of the solid is left out.

    References
    ----------
    C. J. Geankoplis, *Transport Processes and Unit Operations*, ch. 9.6 and 9.7.

    Examples
    --------
    Row M15-b of ``data/reference/drying_curves.csv``, in ks:

    >>> time = constant_plus_falling_rate_time_s(1.0, 0.1129 * 0.1, 0.3, 0.15, 0.05, 0.08)
    >>> round(float(time), 1)
    24.0
    """
    constant = np.maximum(initial_ratio - np.maximum(final_ratio, critical_ratio), 0.0)
    begin = np.minimum(initial_ratio, critical_ratio) - equilibrium_ratio
    end = np.minimum(final_ratio, critical_ratio) - equilibrium_ratio
    falling = (critical_ratio - equilibrium_ratio) * np.log(np.maximum(begin / end, 1.0))
    time: Floats = dry_mass_kg_m2 / constant_rate_kg_m2_s * (constant + falling)
    return time
