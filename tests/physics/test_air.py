"""The density and viscosity of air against the standard atmosphere and the metrologists' formula."""

import numpy as np
import pytest

from wedgelab.physics.air import (
    STANDARD_DENSITY_KG_M3,
    STANDARD_VISCOSITY_M2_S,
    dynamic_viscosity_pa_s,
    moist_air_density_kg_m3,
    pressure_at_altitude_hpa,
)

# ISO 2533:1975, geopotential height [m], temperature [K], pressure [Pa], density [kg/m3]
STANDARD_ATMOSPHERE = [
    (0, 288.15, 101325.00, 1.225000),
    (500, 284.90, 95460.84, 1.167269),
    (1000, 281.65, 89874.56, 1.111643),
    (1500, 278.40, 84555.99, 1.058067),
    (2000, 275.15, 79495.20, 1.006490),
    (3000, 268.65, 70108.53, 0.909122),
]

# CIPM-2007 (Picard et al., Metrologia 45 (2008) 149-155), 400 ppm carbon dioxide, computed: [Pa], [degC], [%], [kg/m3]
CIPM_2007 = [
    (101325, 20, 50, 1.199314),
    (101325, 20, 0, 1.204557),
    (101325, 15, 0, 1.225521),
    (75000, 20, 50, 0.886277),
]
# the same to five decimals, and the density of the independent library CoolProp (1/HAPropsSI("Vha", ...)), computed
CIPM_AND_COOLPROP = [
    (101325, 5, 50, 1.26766, 1.26771),
    (101325, 15, 50, 1.22163, 1.22168),
    (101325, 35, 50, 1.13377, 1.13382),
    (101325, 35, 100, 1.12184, 1.12189),
    (89875, 15, 50, 1.08309, 1.08313),
    (89875, 35, 50, 1.00427, 1.00431),
    (79495, 5, 50, 0.99399, 0.99403),
    (79495, 25, 50, 0.92210, 0.92213),
]


@pytest.mark.parametrize(("height_m", "pressure_pa"), [(row[0], row[2]) for row in STANDARD_ATMOSPHERE])
def test_station_pressure_of_the_standard_atmosphere(height_m: float, pressure_pa: float) -> None:
    assert pressure_at_altitude_hpa(height_m) * 100 == pytest.approx(pressure_pa, abs=0.006)


@pytest.mark.parametrize(("kelvin", "pressure_pa", "density"), [row[1:] for row in STANDARD_ATMOSPHERE])
def test_dry_density_of_the_standard_atmosphere(kelvin: float, pressure_pa: float, density: float) -> None:
    # ISO 2533 takes an ideal gas without compressibility: CIPM-2007 lies 0.05 % above it
    assert moist_air_density_kg_m3(kelvin - 273.15, pressure_pa / 100) == pytest.approx(density, rel=8e-4)


@pytest.mark.parametrize(("pressure_pa", "celsius", "humidity_pct", "density"), CIPM_2007)
def test_density_of_cipm_2007(pressure_pa: float, celsius: float, humidity_pct: float, density: float) -> None:
    assert moist_air_density_kg_m3(celsius, pressure_pa / 100, humidity_pct) == pytest.approx(density, abs=1e-6)


@pytest.mark.parametrize(("pressure_pa", "celsius", "humidity_pct", "cipm", "coolprop"), CIPM_AND_COOLPROP)
def test_density_agrees_with_an_independent_library(
    pressure_pa: float, celsius: float, humidity_pct: float, cipm: float, coolprop: float
) -> None:
    density = moist_air_density_kg_m3(celsius, pressure_pa / 100, humidity_pct)
    assert density == pytest.approx(cipm, abs=6e-6)
    assert density == pytest.approx(coolprop, rel=8e-4)  # the libraries agree to 0.08 %


@pytest.mark.parametrize("celsius", [-10, 5, 20, 35, 45])
def test_humid_air_is_lighter_than_dry(celsius: float) -> None:
    density = moist_air_density_kg_m3(celsius, 1013.25, [0, 25, 50, 75, 100])
    assert (np.diff(density) < 0).all()


def test_viscosity_of_the_standard_atmosphere_at_sea_level() -> None:
    # 1.7894e-5 Pa s at 15 degC: US Standard Atmosphere 1976, value from memory, hence the wide band
    assert dynamic_viscosity_pa_s(15.0) == pytest.approx(1.7894e-5, rel=0.005)
    assert dynamic_viscosity_pa_s(15.0) / STANDARD_DENSITY_KG_M3 == pytest.approx(STANDARD_VISCOSITY_M2_S, rel=1e-4)


def test_one_number_an_array_and_a_grid_give_the_same() -> None:
    celsius, pressure_hpa, humidity = np.array([5.0, 15.0, 35.0]), np.array([[1013.25], [800.0]]), 50.0
    grid = moist_air_density_kg_m3(celsius, pressure_hpa, humidity)
    assert grid.shape == (2, 3)
    ones = [[float(moist_air_density_kg_m3(t, p, humidity)) for t in celsius] for p in pressure_hpa[:, 0]]
    assert np.array_equal(grid, ones)


def test_nan_stays_where_it_is() -> None:
    density = moist_air_density_kg_m3([20.0, np.nan, 20.0], [1013.25, 1013.25, np.nan], [50.0, 50.0, 50.0])
    assert np.isnan(density).tolist() == [False, True, True]
    assert density[0] == moist_air_density_kg_m3(20.0, 1013.25, 50.0)
    assert np.isnan(pressure_at_altitude_hpa([0.0, np.nan])).tolist() == [False, True]
    assert np.isnan(dynamic_viscosity_pa_s([15.0, np.nan])).tolist() == [False, True]
