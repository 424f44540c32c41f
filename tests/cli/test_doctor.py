"""What ``doctor`` says of measured flights: the player's own ball, and the rows that no flight explains."""

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from tests.cli.harness import Cli, process
from wedgelab.physics.aero import MIDDLE
from wedgelab.physics.flight import fly

HEADER = "wedge,loft_deg,swing,carry_m,ball_speed_mps,launch_deg,spin_rpm,hit_at"


def measured_csv(
    path: Path, n: int, *, drag: float = 0.92, lift: float = 1.05, slips: dict[int, float] | None = None
) -> None:
    """Write n balls that fly by the mean of the published sets with these scales; ``slips`` multiplies carries."""
    rng = np.random.default_rng([20261125, 9])
    speed, launch = rng.uniform(16.0, 34.0, n), rng.uniform(24.0, 36.0, n)
    spin = speed * rng.uniform(170.0, 240.0, n)
    carry = fly(speed, launch, spin, aero=MIDDLE, drag_scale=drag, lift_scale=lift).carry_m
    rows = [
        f"54,54,9:00,{carry[i] * (slips or {}).get(i, 1.0):.3f},{speed[i]:.3f},{launch[i]:.3f},{spin[i]:.1f},"
        f"2026-06-03T12:{i // 60:02d}:{i % 60:02d}+02:00"
        for i in range(n)
    ]
    path.write_text("\n".join([HEADER, *rows]) + "\n", encoding="utf-8")


def imported(cli: Cli, path: Path, player: str, n: int) -> Cli:
    measured_csv(path, n)
    cli.ok("--player", player, "import", str(path))
    return cli


@pytest.fixture
def two(cli: Cli, tmp_path: Path) -> Cli:
    """A log of two players: forty measured balls with two slips, and three measured balls."""
    measured_csv(tmp_path / "a.csv", 40, slips={7: 0.1, 20: 1 / 0.9144})
    cli.ok("--player", "Ada", "import", str(tmp_path / "a.csv"))
    return imported(cli, tmp_path / "b.csv", "Bo", 3)


def test_the_ball_and_the_rows_that_no_flight_explains_are_told(two: Cli) -> None:
    shown = two.ok("--units", "m", "doctor").out
    text = " ".join(shown.split())
    assert "Ada: the ball flies with 0.9" in text
    assert "of the published drag and 1.0" in text
    assert "(39 balls with speed, launch and spin)" in text  # the tenfold slip tells nothing of the ball
    assert "more carry than with the mean of the published figures" in text
    assert "2 rows have carries that their own speed, launch and spin do not explain; nothing was dropped" in text
    ada = next(player for player in shown.split("\n\n") if player.startswith("Ada:"))
    rows = [line.split() for line in ada.splitlines() if line.startswith("2026-")]
    shots = two.ok("--player", "Ada", "shots", "list", "--all", "--json").document["shots"]
    assert len(shots) == 40
    for row, number, beyond in zip(rows, (7, 20), ("any", "own"), strict=True):
        slip = next(shot for shot in shots if shot["hit_at"] == f"2026-06-03T12:00:{number:02d}+02:00")
        assert row[:3] == ["2026-06-03", "54", "9:00"]
        assert float(row[3]) == pytest.approx(slip["carry_m"], abs=0.051)
        low, high = (float(end) for end in row[4].split("-"))
        assert not low <= slip["carry_m"] <= high
        assert low <= slip["carry_m"] * {7: 10.0, 20: 0.9144}[number] <= high
        assert row[5] == beyond
        assert row[-1] == slip["shot_id"][:8]
    assert "Bo: how the ball flies is told from 5 balls on (3 balls with speed, launch and spin)" in text
    assert all(len(line) <= 80 for line in shown.splitlines() if not line.startswith("log: "))


def test_carries_are_shown_in_each_players_own_unit(two: Cli) -> None:
    assert "carry yd  possible yd" in two.ok("doctor").out
    two.ok("--player", "Ada", "players", "set", "--units", "m")
    assert "carry m  possible m" in two.ok("doctor").out


def test_json_holds_the_scales_and_the_rows_under_names_with_units(two: Cli) -> None:
    said = two.ok("doctor", "--json").document
    assert said["problems"] == []
    (scale,) = said["ball_scales"]
    assert (scale["player"], scale["ball"], scale["n_balls"], scale["n_measured"]) == ("Ada", "", 39, 40)
    # the truth is the one that the file was made with; one standard error, because the readings are exact
    assert scale["drag_scale"] == pytest.approx(0.92, abs=scale["drag_scale_sd"])
    assert scale["lift_scale"] == pytest.approx(1.05, abs=scale["lift_scale_sd"])
    assert 0.0 < scale["carry_ratio_sd"] < 0.02 < scale["drag_scale_sd"] < 0.1
    assert -1.0 < scale["correlation"] < 1.0
    assert scale["residual_share"] < 0.01
    first, second = said["inconsistent"]
    assert (first["beyond"], second["beyond"]) == ("any ball", "own ball")
    assert first["carry_m"] < first["carry_low_m"] < first["carry_high_m"]
    assert second["carry_low_m"] < second["carry_high_m"] < second["carry_m"]
    assert {"player", "session", "hit_at", "shot_id", "ball", "wedge", "swing", "swing_deg"} <= set(first)


def test_a_chosen_player_is_told_of_alone_and_an_unknown_one_is_refused(two: Cli) -> None:
    assert two.ok("--player", "bo", "doctor", "--json").document["inconsistent"] == []
    assert "Ada: the ball" not in two.ok("--player", "Bo", "doctor").out
    assert two.fails(1, "--player", "Adda", "doctor") == "unknown player 'Adda'; did you mean 'Ada'?"


def test_more_than_ten_rows_are_cut_short_and_counted(cli: Cli, tmp_path: Path) -> None:
    measured_csv(tmp_path / "a.csv", 30, slips=dict.fromkeys(range(12), 0.2))
    cli.ok("--player", "Ada", "import", str(tmp_path / "a.csv"))
    shown = cli.ok("doctor").out
    assert len([line for line in shown.splitlines() if line.startswith("2026-")]) == 10
    assert "the 10 furthest off of 12; all of them: wedgelab doctor --json" in shown
    assert len(cli.ok("doctor", "--json").document["inconsistent"]) == 12


def test_the_noted_air_of_a_session_is_taken_into_account(cli: Cli, tmp_path: Path) -> None:
    imported(cli, tmp_path / "a.csv", "Ada", 40)
    (before,) = cli.ok("doctor", "--json").document["ball_scales"]
    (session,) = cli.ok("session", "list", "--json").document["sessions"]
    cli.ok("session", "set", session["name"], "--temp", "0C", "--altitude", "2200m")
    (after,) = cli.ok("doctor", "--json").document["ball_scales"]
    # thinner air: the same carries mean more drag, by about the share that the density is less
    assert after["drag_scale"] > 1.08 * before["drag_scale"]


def test_a_log_without_measured_flights_says_nothing_of_them_and_needs_no_numpy(log: Cli) -> None:
    said = log.ok("doctor", "--json").document
    assert (said["ball_scales"], said["inconsistent"]) == ([], [])
    assert log.ok("doctor").out.splitlines()[-1] == "no problem found"
    code = (
        "import sys; from wedgelab.cli.main import run; run(['doctor']); print('numpy' in sys.modules, file=sys.stderr)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stderr.splitlines() == ["False"]


def test_with_measured_flights_numpy_is_enough(two: Cli) -> None:
    code = (
        "import sys; from wedgelab.cli.main import run; run(['doctor']); "
        "print(' '.join({m.split('.')[0] for m in sys.modules}), file=sys.stderr)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    loaded = set(done.stderr.split())
    assert "numpy" in loaded
    assert not loaded & {"pandas", "sklearn", "scipy", "matplotlib", "prompt_toolkit"}


def test_a_missing_and_an_empty_log_are_no_failure(cli: Cli, tmp_path: Path) -> None:
    missing = process("--db", str(tmp_path / "none.db"), "doctor")
    assert (missing.code, missing.err) == (0, "")
    assert missing.out.splitlines()[-1] == "no problem found"
    (tmp_path / "empty.db").touch()
    assert cli.ok("--db", str(tmp_path / "empty.db"), "doctor", "--json").document["ball_scales"] == []
    assert not (tmp_path / "none.db").exists()


def test_a_named_golf_ball_is_named_in_the_line(cli: Cli, tmp_path: Path) -> None:
    path = tmp_path / "a.csv"
    measured_csv(path, 12)
    head, *rows = path.read_text("utf-8").splitlines()
    path.write_text("\n".join([f"{head},ball", *(f"{row},range" for row in rows)]) + "\n", encoding="utf-8")
    cli.ok("--player", "Ada", "import", str(path))
    assert "Ada: the ball 'range' flies with" in cli.ok("doctor").out
