"""Write what is generated in the docs: the command reference, the output of every example, tables and pictures.

Run ``python docs/build.py`` from the project's root after a change of a command or of the model. The tests run the same
functions and compare.
"""

import os
import re
import shutil
import stat
import subprocess
import sys
import tempfile
from datetime import UTC, datetime
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
PAGES = ("README.md", "docs/players.md", "docs/coaches.md", "docs/desk.md")
REFERENCE = "docs/reference.md"
PICTURE = "docs/chart.png"
DRILL_PICTURE = "docs/drill.png"
SHOWN_DAY = "2026-06-03"
SHOWN_ID = "[5a18b0c4]"

_BLOCK = re.compile(r"^```console\n(.*?)^```$", re.MULTILINE | re.DOTALL)
_SCREEN = re.compile(r"^```screen (\d+)x(\d+)\n.*?^```$", re.MULTILINE | re.DOTALL)


def settled(text: str, today: str) -> str:
    """Replace what differs from run to run: the day and the ids."""
    text = re.sub(r"\[[0-9a-f]{8}\]", SHOWN_ID, text.replace(today, SHOWN_DAY))
    return re.sub(rf"({SHOWN_DAY}[ T])\d\d:\d\d", r"\g<1>18:30", text)


def refreshed(page: str) -> str:
    """Return a page with every example run again, in order, in a throw-away folder."""
    text = (ROOT / page).read_text("utf-8")
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        shutil.copytree(ROOT / "demo", folder / "demo")
        (folder / "docs").mkdir()
        shutil.copy(ROOT / "docs/drill-answers.txt", folder / "docs")
        command = folder / "bin" / "wedgelab"
        command.parent.mkdir()
        command.write_text(f'#!/bin/sh\nexec "{sys.executable}" -m wedgelab "$@"\n', encoding="utf-8")
        command.chmod(command.stat().st_mode | stat.S_IXUSR)
        environ = {
            **os.environ,
            "PATH": f"{command.parent}{os.pathsep}{os.environ['PATH']}",
            "PYTHONPATH": str(ROOT),
            "WEDGELAB_DB": str(folder / "log.db"),
            "TZ": "UTC",
            "TERM": "xterm",  # with this and the encoding it is the same signs everywhere
            "PYTHONIOENCODING": "utf-8",
        }
        today = datetime.now(UTC).date().isoformat()  # as the commands see it

        def run_block(match: re.Match[str]) -> str:
            shown = []
            for line in match[1].splitlines():
                if not line.startswith("$ "):
                    continue
                done = subprocess.run(
                    ["bash", "-c", line[2:]], cwd=folder, env=environ, text=True, check=False,
                    stdout=subprocess.PIPE, stderr=subprocess.STDOUT,
                )  # fmt: skip
                if "Traceback" in done.stdout:
                    raise RuntimeError(f"{page}: {line}\n{done.stdout}")
                shown.append(f"{line}\n{settled(done.stdout, today)}")
            lines = "".join(shown).splitlines()
            return "```console\n" + "\n".join(line.rstrip() for line in lines) + "\n```"

        return _SCREEN.sub(lambda match: screen(int(match[1]), int(match[2])), _BLOCK.sub(run_block, text))


def screen(columns: int, rows: int) -> str:
    """Return the drill's screen at a size as a block of text, drawn by the program from a few balls."""
    from wedgelab.drill.machine import Ball, DrillPlan, DrillState, Guess, step
    from wedgelab.terminal.drill_view import picture
    from wedgelab.terminal.drill_words import DrillView
    from wedgelab.units import YARD_M

    calls = tuple(YARD_M * call for call in (48, 71, 55, 83, 62, 44, 77))
    state = DrillState.start(DrillPlan(calls, calls[0], calls[-1], 1))
    balls = [
        ("58", "8:50", 49.5, None),
        ("54", "10:00", 66.0, 69.0),
        ("58", "9:20", 56.0, None),
        ("50", "10:00", 87.2, 84),
    ]
    for number, (wedge, swing, carry, guess) in enumerate(balls):
        if guess is not None:
            state = step(state, Guess(YARD_M * guess))
        state = step(state, Ball(f"s{number}", wedge, float(wedge), 90.0, YARD_M * carry, swing))
    view = DrillView(state=state, unit="yd", advice="54 9:10", bare="54 9:10")
    drawn = picture(view, columns, rows)
    lines = ["".join(text for _, text in line).rstrip() for line in drawn.above]
    lines += ["54 9:10  carry (yd)> 6", *("".join(text for _, text in line).rstrip() for line in drawn.below)]
    return f"```screen {columns}x{rows}\n" + "\n".join(lines) + "\n```"


def reference() -> str:
    """Return the page of all commands, made from their help texts."""
    import click

    from wedgelab.cli.main import COMMANDS, cli

    lines = [
        "# Commands",
        "",
        "Made from the help texts by `python docs/build.py`. Exit codes: 0 done, 1 expected failure, 2 usage, 3 too",
        "few shots to answer, 70 a fault of wedgelab, 130 interrupted. Data goes to stdout, all else to stderr.",
        "",
    ]

    def add(command: click.Command, path: str, parent: click.Context | None, depth: int) -> None:
        settings = {k: v for k, v in command.context_settings.items() if k == "help_option_names"}
        ctx = click.Context(
            command,
            info_name=path.rsplit(" ", 1)[-1],
            parent=parent,
            max_content_width=80,
            terminal_width=80,
            **settings,
        )
        lines.extend([f"{'#' * depth} {path}", "", "```text", command.get_help(ctx), "```", ""])
        if isinstance(command, click.Group):
            for name in command.list_commands(ctx):
                sub = command.get_command(ctx, name)
                if sub is not None:
                    add(sub, f"{path} {name}", ctx, depth + 1)

    assert COMMANDS
    add(cli, "wedgelab", None, 2)
    return "\n".join(lines)


def draw() -> None:
    """Draw the chart and the drill of the demo's player."""
    from wedgelab.cli.demo import ANSWERS, DRILL, IMPORTS, PLAYER

    with tempfile.TemporaryDirectory() as folder:
        base = [sys.executable, "-m", "wedgelab", "--db", f"{folder}/demo.db", "--player", PLAYER]
        for step in IMPORTS:
            subprocess.run([*base, "import", str(ROOT / "demo" / step[0]), *step[1:]], check=True, capture_output=True)
        subprocess.run([*base, "chart", "--png", str(ROOT / PICTURE)], check=True, capture_output=True)
        answers = (ROOT / "demo" / ANSWERS).read_text("utf-8")
        words = [*base, *DRILL, "--png", str(ROOT / DRILL_PICTURE)]
        subprocess.run(words, input=answers, text=True, check=True, capture_output=True)


def main() -> None:
    """Write everything."""
    (ROOT / REFERENCE).write_text(reference(), encoding="utf-8")
    for page in PAGES:
        fresh = refreshed(page)
        (ROOT / page).write_text(fresh, encoding="utf-8")
    draw()
    for maker in ("flight_figures.py", "learning_page.py"):
        subprocess.run([sys.executable, str(ROOT / "docs" / maker)], check=True, capture_output=True)


if __name__ == "__main__":
    main()
