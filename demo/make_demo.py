"""Make the demo's files: an invented player of an invented club, four evenings on the range, one scripted drill.

Run ``python demo/make_demo.py`` from the project's root after a change of `wedgelab.simulate`; the same seed gives the
same files. Nell of the Quillmere Hollow golf club and everything she hits are made up.
"""

import csv
import subprocess
import sys
import tempfile
from dataclasses import replace
from pathlib import Path

import numpy as np

from wedgelab.physics.aero import BEARMAN_HARVEY
from wedgelab.physics.air import moist_air_density_kg_m3
from wedgelab.shots import DEFAULT_SWINGS, Wedge
from wedgelab.simulate import Balls, InventedPlayer, hit, invent_player
from wedgelab.units import MPH_MPS, YARD_M, rounded

HERE = Path(__file__).parent
SEED = 20260512
FULL, LONG, LEVEL, SHORT = (swing.swing_deg for swing in reversed(DEFAULT_SWINGS))
FIRST_TEMP_C, FIRST_WIND_MPS = 8.0, -2.0
LABELS = {swing.swing_deg: swing.label for swing in DEFAULT_SWINGS}


def nell() -> InventedPlayer:
    """Return the demo's player: a good amateur with four wedges."""
    return replace(
        invent_player(np.random.default_rng(SEED), skill=0.6),
        wedges=(Wedge("46", 46.0), Wedge("50", 50.0), Wedge("54", 54.0), Wedge("58", 58.0)),
        full_speed_mps=35.6,
        curve_power=0.60,
        curve_wave=(0.012, 80.0),
        lean_deg=-5.0,
        friction=0.31,
        spin_factor=1.08,
        aero=BEARMAN_HARVEY,
        drag_scale=0.97,
        lift_scale=1.0,
        club_log_speed=(0.012, 0.004, -0.003, -0.012),
        club_loft_deg=(0.2, -0.3, 0.1, 0.2),
        mishit_share=0.05,
    )


def balls_of(
    plan: list[tuple[int, float]],
    session: float,
    rng: np.random.Generator,
    *,
    temp_c: float = 15.0,
    wind_mps: float = 0.0,
) -> Balls:
    """Hit the planned (wedge, swing) pairs on one evening."""
    which, swings = zip(*plan, strict=True)
    density = float(moist_air_density_kg_m3(temp_c, 1013.25))
    return hit(
        nell(), np.array(which), np.array(swings), rng, session=session, density_kg_m3=density, wind_mps=wind_mps
    )


def write(name: str, rows: list[list[object]], delimiter: str = ",") -> None:
    """Write one file."""
    with (HERE / name).open("w", encoding="utf-8", newline="") as stream:
        csv.writer(stream, delimiter=delimiter, lineterminator="\n").writerows(rows)


def yards(length_m: float) -> str:
    """Write metres in yards to one decimal."""
    return str(rounded(length_m / YARD_M, 1))


def main() -> None:
    """Write the four files, then the answers of the drill."""
    rng = np.random.default_rng(SEED)
    wedges = nell().wedges
    # the first evening builds the chart: three balls a cell, everything measured, on a cold day with some head wind
    plan = [(w, s) for w in range(4) for s in (SHORT, LEVEL, LONG, FULL) for _ in range(3)]
    b = balls_of(plan, 0.4, rng, temp_c=FIRST_TEMP_C, wind_mps=FIRST_WIND_MPS)
    head: list[object] = ["time", "wedge", "loft (deg)", "swing", "carry (yd)", "offline (yd)", "ball speed (mph)"]
    rows: list[list[object]] = [[*head, "launch (deg)", "spin (rpm)", "temp (C)", "wind (m/s)"]]
    for i, (w, s) in enumerate(plan):
        rows.append(
            [
                f"2026-05-12T18:{i * 55 // 60:02d}:{i * 55 % 60:02d}+02:00",
                wedges[w].label,
                f"{wedges[w].loft_deg:g}",
                LABELS[s],
                yards(b.carry_m[i]),
                yards(b.offline_m[i]),
                rounded(b.ball_speed_mps[i] / MPH_MPS, 1),
                rounded(b.launch_deg[i], 1),
                rounded(b.spin_rpm[i], 0),
                f"{FIRST_TEMP_C:g}",
                f"{FIRST_WIND_MPS:g}",
            ]
        )
    write("2026-05-12-chart.csv", rows)
    # the second on a paced-off range: metres with a decimal comma, no device, Nell's own word for the strike
    plan = [(w, s) for s in (LEVEL, LONG) for w in (3, 2, 1, 0) for _ in range(4)]
    b = balls_of(plan, -0.9, rng)
    rows = [["Date", "Club", "Swing", "Carry (m)", "Strike"]]
    for i, (w, s) in enumerate(plan):
        carry = f"{rounded(2 * b.carry_m[i], 0) / 2:.1f}".replace(".", ",")
        rows.append(["26.05.2026", wedges[w].label, LABELS[s], carry, "off" if b.mishit[i] else ""])
    write("2026-05-26-paced.csv", rows, delimiter=";")
    # the third with a device whose columns have names of their own: needs --map
    plan = [(w, s) for w in (2, 3, 0, 1) for s in (SHORT, FULL, LEVEL) for _ in range(3)]
    b = balls_of(plan, 0.2, rng)
    rows = [["Day", "Which", "Arm", "Flew", "Turns"]]
    for i, (w, s) in enumerate(plan):
        rows.append(["2026-06-09", wedges[w].label, LABELS[s], yards(b.carry_m[i]), rounded(b.spin_rpm[i], 0)])
    write("2026-06-09-evening.csv", rows)
    # the fourth calls targets and asks for a guess first
    plan = [(int(rng.integers(0, 4)), float(rng.choice([SHORT, LEVEL, LONG, FULL]))) for _ in range(34)]
    b = balls_of(plan, -0.1, rng)
    rows = [["time", "wedge", "swing", "target (yd)", "guess (yd)", "carry (yd)", "offline (yd)", "spin (rpm)"]]
    for i, (w, s) in enumerate(plan):
        middle = hit(nell(), w, s, rng, mishits=False, noise=0.0).carry_m[0] / YARD_M
        target = rounded(middle + rng.normal(0.0, 1.5), 0)
        guess = rounded(b.carry_m[i] / YARD_M * (1.0 + rng.normal(0.0, 0.03)), 0)
        when = f"2026-06-20T10:{i * 70 // 60:02d}:{i * 70 % 60:02d}+02:00"
        flew = [yards(b.carry_m[i]), yards(b.offline_m[i]), rounded(b.spin_rpm[i], 0)]
        rows.append([when, wedges[w].label, LABELS[s], target, guess, *flew])
    write("2026-06-20-targets.csv", rows)
    write_drill(rng)


def write_drill(rng: np.random.Generator) -> None:
    """Play the drill once to learn the calls and the advice, and write what Nell would answer."""
    from wedgelab.cli.demo import DRILL, IMPORTS

    with tempfile.TemporaryDirectory() as folder:
        base = [sys.executable, "-m", "wedgelab", "--db", f"{folder}/demo.db", "--player", "Nell"]
        for step in IMPORTS:
            subprocess.run([*base, "import", str(HERE / step[0]), *step[1:]], check=True, capture_output=True)
        asked = subprocess.run([*base, *DRILL], input="skip\n" * 12, text=True, check=True, capture_output=True).stdout
    lines = []
    for i, line in enumerate(line for line in asked.splitlines() if line.startswith("Call ")):
        label, swing = line[line.index("(") + 1 : line.index(")")].split()
        wedge = next(w for w, club in enumerate(nell().wedges) if club.label == label)
        degrees = next((s for s, name in LABELS.items() if name == swing), None)
        if degrees is None:
            hours, minutes = swing.split(":")
            degrees = (int(hours) + int(minutes) / 60 - 6) * 30
        carry = hit(nell(), wedge, degrees, rng, session=0.3).carry_m[0] / YARD_M
        if i % 3 == 0:
            lines.append(f"guess {rounded(carry * (1.0 + rng.normal(0.0, 0.03)), 0)}")
        lines.append(str(rounded(carry, 1)))
    (HERE / "drill-answers.txt").write_text("\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
