"""How fast and how exact the flights are, beside scipy's solve_ivp over the same flights in the same run. Not a test.

Run ``python tests/bench/flight.py`` on an idle machine: one core, seeded launches of 10-45 m/s, 20-45 deg and
2000-11,000 rpm in still air. The loop calls the same coefficient functions, once a stage and ball: a quarter of its
time, and 60 % with the hexagonal ball. Its time is that of its fastest quarter, as `fly` is timed by its best run.
"""

import math
import os
import statistics
import time

for _threads in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[_threads] = "1"  # one core; read when numpy is loaded

import numpy as np  # noqa: E402  # the number of threads must be set before
from numpy.typing import NDArray  # noqa: E402  # as above
from scipy.integrate import solve_ivp  # noqa: E402  # as above

from wedgelab.physics.aero import AERO_SETS, MIDDLE, AeroSet  # noqa: E402  # as above
from wedgelab.physics.air import STANDARD_DENSITY_KG_M3, STANDARD_VISCOSITY_M2_S  # noqa: E402  # as above
from wedgelab.physics.ball import AREA_M2, GRAVITY_MPS2, MASS_KG, RADIUS_M  # noqa: E402  # as above
from wedgelab.physics.flight import SPIN_DECAY, fly  # noqa: E402  # as above
from wedgelab.units import RPM_RADPS  # noqa: E402  # as above

Array = NDArray[np.float64]
SEED = 90
FLIGHTS, LOOPED, RUNS = 100_000, 200, 5
FIELDS = ("carry_m", "apex_m", "time_s", "land_deg", "land_spin_rpm")


def launches(n: int) -> Array:
    """Return ball speed [m/s], launch [deg] and spin [rpm], shape (3, n)."""
    rng = np.random.default_rng(SEED)
    return np.stack([rng.uniform(10, 45, n), rng.uniform(20, 45, n), rng.uniform(2000, 11_000, n)])


def solved(aero: AeroSet, ball: Array, method: str, rtol: float, atol: float) -> tuple[float, ...]:
    """Fly one ball with solve_ivp and its events; return what FIELDS names."""

    def slope(_: float, at: Array) -> tuple[float, ...]:
        _, _, ux, uy, omega = at
        v = math.hypot(ux, uy)
        drag, lift = aero.coefficients(
            np.array(omega * RADIUS_M / v), np.array(2.0 * RADIUS_M * v / STANDARD_VISCOSITY_M2_S)
        )
        k = STANDARD_DENSITY_KG_M3 * AREA_M2 / (2.0 * MASS_KG) * v
        cd, cl = float(drag), float(lift)
        return (
            ux, uy, -k * (cd * ux + cl * uy), k * (cl * ux - cd * uy) - GRAVITY_MPS2, -SPIN_DECAY * v * omega / RADIUS_M
        )  # fmt: skip

    def ground(_: float, at: Array) -> float:
        return float(at[1])

    def top(_: float, at: Array) -> float:
        return float(at[3])

    ground.terminal = True  # type: ignore[attr-defined]  # scipy reads these attributes of the function
    ground.direction = -1.0  # type: ignore[attr-defined]  # as above
    speed, launch, spin = (float(part) for part in ball)
    up = math.radians(launch)
    start = (0.0, 0.0, speed * math.cos(up), speed * math.sin(up), spin * RPM_RADPS)
    done = solve_ivp(slope, (0.0, 30.0), start, method, events=(ground, top), rtol=rtol, atol=atol)
    landed = done.y_events[0][-1]
    return (
        float(landed[0]), float(done.y_events[1][0][1]), float(done.t_events[0][-1]),
        math.degrees(math.atan2(-landed[3], landed[2])), float(landed[4]) / RPM_RADPS,
    )  # fmt: skip


def looped(aero: AeroSet, balls: Array, method: str, rtol: float, atol: float) -> tuple[float, Array]:
    """Fly balls one after the other; return seconds a flight, and the results, shape (n, fields)."""
    results, seconds = [], []
    for part in np.split(balls, 4, axis=1):
        begin = time.perf_counter()
        results += [solved(aero, ball, method, rtol, atol) for ball in part.T]
        seconds.append((time.perf_counter() - begin) / part.shape[1])
    return min(seconds), np.array(results)


def main() -> None:
    """Print the table."""
    balls = launches(FLIGHTS)
    few = balls[:, :LOOPED]
    print(
        f"{FLIGHTS} flights, one core, best and median of {RUNS}; solve_ivp over {LOOPED} of them, with landing event"
    )
    print("seconds for all; microseconds a flight: fly, RK45 as it comes, DOP853 rtol 1e-6; how many times as fast")
    worst = []
    for aero in (*AERO_SETS, MIDDLE):
        fly(*few, aero=aero)
        seconds = []
        for _ in range(RUNS):
            begin = time.perf_counter()
            fly(*balls, aero=aero)
            seconds.append(time.perf_counter() - begin)
        best, each = min(seconds), min(seconds) / FLIGHTS
        rk45, _ = looped(aero, few, "RK45", 1e-3, 1e-6)
        dop853, _ = looped(aero, few, "DOP853", 1e-6, 1e-6)
        print(
            f"{aero.name:48s} best {best:.3f} s, median {statistics.median(seconds):.3f} s;"
            f" {1e6 * each:5.2f} {1e6 * rk45:7.0f} {1e6 * dop853:7.0f} us; x {rk45 / each:6.0f} x {dop853 / each:6.0f}"
        )
        _, exact = looped(aero, few, "DOP853", 1e-10, 1e-10)
        flight = fly(*few, aero=aero)
        off = [np.abs(getattr(flight, name) - exact[:, i]).max() for i, name in enumerate(FIELDS)]
        worst.append(f"{aero.name:48s} " + " ".join(f"{value:13.6f}" for value in off))
    print(f"worst of {LOOPED} against DOP853 rtol 1e-10")
    print(f"{'':48s} " + " ".join(f"{name:>13s}" for name in FIELDS))
    print("\n".join(worst))


if __name__ == "__main__":
    main()
