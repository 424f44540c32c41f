"""A pressure reduced to sea level -> the station's, for whatever is written into the log."""

from typing import Final

from wedgelab.shots import check_limits

_STANDARD_TEMP_C: Final = 15.0  # ISO 2533: at sea level, and what it falls by with height
_LAPSE_C_PER_M: Final = 0.0065
_DECIMALS: Final = 2  # a barometer tells no more, and an export stays readable


def to_station_pressure_hpa(sea_level_pressure_hpa: float, altitude_m: float, air_temp_c: float | None) -> float:
    """Return the pressure [hPa] at the altitude; without a temperature the standard atmosphere's counts there.

    Raises
    ------
    OutOfRangeError
        for a pressure that no weather makes at sea level.
    """
    from wedgelab.physics.air import station_pressure_hpa  # numpy, which the everyday commands do without

    reduced = check_limits("sea_level_pressure_hpa", sea_level_pressure_hpa)
    temp_c = _STANDARD_TEMP_C - _LAPSE_C_PER_M * altitude_m if air_temp_c is None else air_temp_c
    return round(float(station_pressure_hpa(reduced, altitude_m, temp_c)), _DECIMALS)
