"""How dense and how viscous the air is."""

from typing import TYPE_CHECKING, Final

import numpy as np

from wedgelab.units import ZERO_CELSIUS_K

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

STANDARD_DENSITY_KG_M3: Final = 1.225
STANDARD_VISCOSITY_M2_S: Final = 1.4607e-5  # kinematic, ISO 2533 at 15 C and 1013.25 hPa

# ISO 2533:1975: what the temperature falls by with height, and the power that this gives the pressure
_LAPSE_K_PER_M: Final = 0.0065
_PRESSURE_POWER: Final = 5.25588

# Picard, Davis, Glaeser, Fujii, Metrologia 45 (2008) 149-155 (CIPM-2007), appendix A.1, carbon dioxide 400 ppm
_SATURATION: Final = (1.2378847e-5, -1.9121316e-2, 33.93711047, -6.3431645e3)
_ENHANCEMENT: Final = (1.00062, 3.14e-8, 5.6e-7)
_COMPRESSIBILITY: Final = (
    1.58123e-6,
    -2.9331e-8,
    1.1043e-10,
    5.707e-6,
    -2.051e-8,
    1.9898e-4,
    -2.376e-6,
    1.83e-11,
    -0.765e-8,
)


def pressure_at_altitude_hpa(altitude_m: "ArrayLike") -> "NDArray[np.float64]":
    """Station pressure of the standard atmosphere.

    Parameters
    ----------
    altitude_m
        geopotential height above sea level [m], any shape, -450 to 11000.

    Returns
    -------
    ndarray
        pressure [hPa], same shape.

    Notes
    -----
    ISO 2533:1975: ``p = 1013.25 (T / 288.15)^5.25588`` with ``T = 288.15 - 0.0065 H``. The day's weather moves the
    true pressure by up to about 3 %.
    """
    temperature_k = 288.15 - _LAPSE_K_PER_M * np.asarray(altitude_m, dtype=np.float64)
    return np.asarray(1013.25 * (temperature_k / 288.15) ** _PRESSURE_POWER)


def station_pressure_hpa(
    sea_level_pressure_hpa: "ArrayLike", altitude_m: "ArrayLike", air_temp_c: "ArrayLike"
) -> "NDArray[np.float64]":
    """Pressure where the shot is hit, from a weather report's pressure that is reduced to sea level.

    Parameters
    ----------
    sea_level_pressure_hpa
        pressure reduced to sea level [hPa], as most weather reports give it, 940 to 1060; all arrays broadcast.
    altitude_m
        height of the place above sea level [m], -450 to 3000.
    air_temp_c
        air temperature at the place itself, not at sea level [degC], -10 to 45.

    Returns
    -------
    ndarray
        station pressure [hPa], broadcast shape; NaN where an input is NaN. Nothing is clipped: outside the ranges the
        same formula goes on.

    Notes
    -----
    Barometric formula for air whose temperature rises by 6.5 K a kilometre from the place down to sea level:
    ``p = p0 (T / (T + 0.0065 H))^5.25588``, T [K] at the place; lapse rate and exponent of ISO 2533:1975, which it
    meets at 1013.25 hPa and ``15 - 0.0065 H`` degC. The column below the place is imagined, and reports differ in how
    they imagine it: 10 K in its mean temperature are 0.4 % at 1000 m, 1.2 % at 3000 m. An airfield's altimeter
    setting is reduced with the standard temperature whatever the day's: give ``15 - 0.0065 H`` for it.
    """
    given = np.asarray(sea_level_pressure_hpa, dtype=np.float64)
    return np.asarray(given * _share_of_sea_level(altitude_m, air_temp_c))


def sea_level_pressure_hpa(
    station_pressure_hpa: "ArrayLike", altitude_m: "ArrayLike", air_temp_c: "ArrayLike"
) -> "NDArray[np.float64]":
    """Pressure reduced to sea level, as a weather report would give it; the inverse of `station_pressure_hpa`.

    Parameters
    ----------
    station_pressure_hpa
        pressure where the shot is hit [hPa], 600 to 1100; all arrays broadcast.
    altitude_m
        height of the place above sea level [m], -450 to 3000.
    air_temp_c
        air temperature at the place itself [degC], -10 to 45.

    Returns
    -------
    ndarray
        pressure reduced to sea level [hPa], broadcast shape; NaN where an input is NaN.

    Notes
    -----
    ``p0 = p ((T + 0.0065 H) / T)^5.25588``: source and limits as in `station_pressure_hpa`.
    """
    given = np.asarray(station_pressure_hpa, dtype=np.float64)
    return np.asarray(given / _share_of_sea_level(altitude_m, air_temp_c))


def _share_of_sea_level(altitude_m: "ArrayLike", air_temp_c: "ArrayLike") -> "NDArray[np.float64]":
    """Station pressure as a share of the pressure reduced to sea level."""
    temperature_k = np.asarray(air_temp_c, dtype=np.float64) + ZERO_CELSIUS_K
    below_k = temperature_k + _LAPSE_K_PER_M * np.asarray(altitude_m, dtype=np.float64)
    return np.asarray((temperature_k / below_k) ** _PRESSURE_POWER)


def moist_air_density_kg_m3(
    air_temp_c: "ArrayLike", station_pressure_hpa: "ArrayLike", humidity_pct: "ArrayLike" = 0.0
) -> "NDArray[np.float64]":
    """Density of moist air.

    Parameters
    ----------
    air_temp_c
        air temperature [degC]; the formula was made for 15 to 27 and stays within 0.1 % from -10 to 45.
    station_pressure_hpa
        pressure where the shot is hit [hPa], not reduced to sea level; made for 600 to 1100.
    humidity_pct
        relative humidity [%], 0 to 100.

    Returns
    -------
    ndarray
        density [kg/m3], broadcast shape.

    Notes
    -----
    CIPM-2007, Picard et al., Metrologia 45 (2008) 149-155, equation 1 with 400 ppm carbon dioxide. Humid air is
    lighter than dry air.
    """
    t = np.asarray(air_temp_c, dtype=np.float64)
    temperature_k = t + ZERO_CELSIUS_K
    p = np.asarray(station_pressure_hpa, dtype=np.float64) * 100.0
    a, b, c, d = _SATURATION
    saturation_pa = np.exp(a * temperature_k**2 + b * temperature_k + c + d / temperature_k)
    alpha, beta, gamma = _ENHANCEMENT
    x_v = np.asarray(humidity_pct, dtype=np.float64) / 100.0 * (alpha + beta * p + gamma * t**2) * saturation_pa / p
    a0, a1, a2, b0, b1, c0, c1, d, e = _COMPRESSIBILITY
    z = (
        1.0
        - p / temperature_k * (a0 + a1 * t + a2 * t**2 + (b0 + b1 * t) * x_v + (c0 + c1 * t) * x_v**2)
        + (p / temperature_k) ** 2 * (d + e * x_v**2)
    )
    return np.asarray(3.483740e-3 * p / (z * temperature_k) * (1.0 - 0.3780 * x_v))


def dynamic_viscosity_pa_s(air_temp_c: "ArrayLike") -> "NDArray[np.float64]":
    """Dynamic viscosity of air [Pa s] at a temperature [degC], -50 to 60: Sutherland's law as in ISO 2533:1975."""
    temperature_k = np.asarray(air_temp_c, dtype=np.float64) + ZERO_CELSIUS_K
    return np.asarray(1.458e-6 * temperature_k**1.5 / (temperature_k + 110.4))


def kinematic_viscosity_m2_s(air_temp_c: "ArrayLike", density_kg_m3: "ArrayLike") -> "NDArray[np.float64]":
    """Kinematic viscosity of air, which the Reynolds number of a flight needs.

    Parameters
    ----------
    air_temp_c
        air temperature [degC], -50 to 60; both arrays broadcast.
    density_kg_m3
        density [kg/m3] above 0, as from `moist_air_density_kg_m3`.

    Returns
    -------
    ndarray
        kinematic viscosity [m2/s], broadcast shape; NaN where an input is NaN.

    Notes
    -----
    Sutherland's dynamic viscosity of dry air (`dynamic_viscosity_pa_s`, ISO 2533:1975) divided by the density. Vapour
    makes air a little less viscous than that: by 1.2 % at 45 degC and 50 % humidity.
    """
    return np.asarray(dynamic_viscosity_pa_s(air_temp_c) / np.asarray(density_kg_m3, dtype=np.float64))
