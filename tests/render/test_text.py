"""What the player reads: every number of the data, at most 80 columns, true sentences."""

import dataclasses
import json
import math
import re

import pytest
from wcwidth import wcswidth

from tests.fakes import TYPICAL_BAG, FakePredictor
from wedgelab.chart import build_chart
from wedgelab.render.json import chart_document
from wedgelab.render.layout import table
from wedgelab.render.text import chart_text, learnt_line, listing, next_line
from wedgelab.shots import Bag, SwingLength, Wedge
from wedgelab.units import LengthUnit

YARD_M = 0.9144  # NIST SP 811, appendix B.8: exact
PLAYER = FakePredictor()
CHART = build_chart(PLAYER, TYPICAL_BAG, player="Ada")
LONG = "my old wedge, bent to 54 and ground twic"
ONE_WORD = "n" * 40
WIDE = "楔" * 40


def half_up(x: float) -> str:
    return str(math.floor(x + 0.5))


def rows_of(text: str, label: str) -> list[list[str]]:
    """Cells of the rows whose second column is that label."""
    pattern = re.compile(rf"^(?:.*\S)? +{re.escape(label)}  +(.*)$")
    return [match[1].split() for line in text.splitlines() if (match := pattern.match(line))]


def widest(text: str) -> int:
    return max(wcswidth(line) for line in text.splitlines())


@pytest.mark.parametrize("unit", ["yd", "m"])
def test_every_number_of_the_chart_stands_in_its_row_and_column(unit: LengthUnit) -> None:
    text, size = chart_text(CHART, unit), YARD_M if unit == "yd" else 1.0
    carries, ranges = rows_of(text, f"carry {unit}"), rows_of(text, "8 in 10")
    spins, balls = rows_of(text, "spin rpm"), rows_of(text, "balls")
    for i, row in enumerate(CHART.rows):
        sign = ["~", "", "~"]  # the fake player has hit balls at 9:00 only
        assert carries[i] == [sign[j] + half_up(cell.carry_m / size) for j, cell in enumerate(row)]
        assert ranges[i] == [f"{half_up(c.carry_p10_m / size)}-{half_up(c.carry_p90_m / size)}" for c in row]
        assert spins[i] == [f"({50 * math.floor(cell.spin_rpm / 50 + 0.5)})" for cell in row]
        assert balls[i] == [str(cell.n_shots) for cell in row]
    assert text.splitlines()[0].startswith(f"Ada: carry in {unit}, the range of 8 solid balls in 10")
    assert "Learnt from 63 shots in 4 sessions." in text


def test_text_and_json_say_the_same_number() -> None:
    cells = json.loads(chart_document(CHART))["cells"]
    shown = [number.lstrip("~?") for row in rows_of(chart_text(CHART, "yd"), "carry yd") for number in row]
    assert shown == [half_up(cell["carry_m"] / YARD_M) for cell in cells]


def test_gaps_with_their_doubt() -> None:
    text = chart_text(CHART, "m")
    for row in CHART.gaps:
        (line,) = [x for x in text.splitlines() if x.startswith(f"{row[0].wedge} over {row[0].next_wedge}")]
        assert re.findall(r"(-?\d+) ±([\d.]+)", line) == [(half_up(g.gap_m), f"{g.gap_se_m:.1f}") for g in row]


@pytest.mark.parametrize("swings", range(1, 7))
@pytest.mark.parametrize("label", ["54", LONG, ONE_WORD, WIDE])
def test_a_chart_fits_80_columns_and_leaves_no_letter_out(swings: int, label: str) -> None:
    lengths = tuple(SwingLength(label[: 39 - len(str(i))] + str(i), 30.0 + 20.0 * i) for i in range(swings))
    wedges = (Wedge(label, 54.0), Wedge(f"b{label}"[:40], 58.0))
    chart = build_chart(PLAYER, Bag(wedges, lengths), player=label)
    text = chart_text(chart, "yd")
    assert widest(text) <= 80
    assert len([number for row in rows_of(text, "carry yd") for number in row]) == 2 * swings
    for char in set(label) - {" "}:
        assert text.count(char) >= label.count(char)


def test_a_wide_chart_repeats_the_wedges_in_every_block() -> None:
    swings = tuple(SwingLength(f"s{i}", 30.0 + 20.0 * i) for i in range(6))
    text = chart_text(build_chart(PLAYER, Bag(TYPICAL_BAG.wedges, swings)), "yd")
    assert [len(row) for row in rows_of(text, "carry yd")] == [5, 5, 5, 1, 1, 1]


def test_a_chart_of_one_cell_has_no_gaps() -> None:
    text = chart_text(build_chart(PLAYER, Bag((Wedge("54", 54.0),), (SwingLength("9:00", 90.0),))), "m")
    assert "Gaps" not in text
    assert rows_of(text, "carry m") == [[half_up(100.0 * (1.2 - 0.015 * 9.0) * math.sin(math.pi / 4))]]


def test_the_legend_stands_only_where_a_mark_needs_it() -> None:
    cells = [dataclasses.replace(c, support="measured", spin_support="measured") for c in CHART.cells]
    rows = tuple(tuple(cells[i : i + 3]) for i in (0, 3, 6))
    plain = chart_text(dataclasses.replace(CHART, rows=rows), "yd")
    assert not set("~?()") & set(plain)
    assert "~ between the logged shots" in chart_text(CHART, "yd")


def test_lines_about_what_it_rests_on() -> None:
    one = dataclasses.replace(CHART, n_shots=1, n_sessions=1, next=None)
    assert (learnt_line(one), next_line(one)) == ("Learnt from 1 shot in 1 session.", "")
    assert CHART.next is not None
    expected = f"log 3 balls with {CHART.next.wedge} {CHART.next.swing} in another session: a carry is known to about "
    assert expected in next_line(CHART)
    sure = dataclasses.replace(CHART.next, doubt_now=0.0135, doubt_after=0.0133)
    assert next_line(dataclasses.replace(CHART, next=sure)) == (
        f"A carry is known to about 1.4 % on average. A few more balls change that little now; if any, with "
        f"{sure.wedge} {sure.swing} on another day."
    )


@pytest.mark.parametrize("label", ["<script>x</script>", '=cmd|"/c"!A1', "coach's", "1e5", "0054", "|---|", "*", "nan"])
def test_a_label_is_shown_as_it_is_and_never_taken_for_a_number(label: str) -> None:
    line = table([[label, "7"]], ["wedge", "balls"]).splitlines()[-1]
    assert (line[: len(label)], line.split()[-1]) == (label, "7")


def test_an_empty_list_says_so() -> None:
    assert listing(["a"], [], "no shots") == "no shots"
    assert listing(["a", "b"], [["1", ""]], "no shots") == "a  b\n-  -\n1"


def test_a_list_wider_than_a_terminal_loses_empty_columns_then_folds() -> None:
    def widest(*rows: list[str]) -> tuple[list[str], int]:
        lines = listing(["id", "hit at", "note"], list(rows), "").splitlines()
        return lines, max(map(len, lines))

    lines, width = widest(["1", "2", ""])
    assert (lines[0].split(), width) == (["id", "hit", "at", "note"], 16)  # room enough: nothing is left out
    lines, width = widest(["1" * 70, "2" * 8, ""])
    assert lines[0].split() == ["id", "hit", "at"]
    assert width == 80
    lines, width = widest(["1" * 60, "2" * 60, "a word or two"])
    assert width <= 80
    assert "".join(lines).count("1") == 60  # folded, not cut


def test_numbers_stand_right_under_their_headers() -> None:
    lines = chart_text(CHART, "yd").splitlines()
    header = next(line for line in lines if line.startswith("wedge"))
    assert header.split() == ["wedge", "7:30", "9:00", "10:30"]
    ends = [match.end() for match in re.finditer(r"\S+", header)][1:]
    carries = [line for line in lines if "carry yd" in line]
    assert len(carries) == 3
    for line in carries:
        assert [match.end() for match in re.finditer(r"\S+", line)][3:] == ends
