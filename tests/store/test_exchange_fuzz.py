"""Whatever bytes a file holds: shots, named problems, or one line of ours; never a traceback."""

from datetime import UTC, datetime
from pathlib import Path

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from wedgelab.errors import WedgelabError
from wedgelab.shots import DEFAULT_SWINGS, Bag
from wedgelab.store.columns import plan_columns
from wedgelab.store.csvfile import read_table
from wedgelab.store.exchange import parse_shots

AT = datetime(2026, 6, 3, 18, 30, tzinfo=UTC)
HEADER = "club,loft,swing,swing_deg,carry,spin,side,date,time,hit at,note,call no,altitude,wind (mph),shot_id"
cell = (
    st.text(alphabet="0123456789.,;:-+'\"eE/ LRmyd\u00a0°٣²", max_size=10)
    | st.sampled_from(["54", "9:00", "62.5", "1,234", "2026-06-03", "03/04/2026", "24:00", "=x"])
    | st.sampled_from(["0001-01-01T00:00+14:00", "9999-12-31T23:59-14:00", "1e999", "\u202e54", "2026-06-03T18:30Z"])
    | st.text(max_size=6)
)  # fmt: skip


def attempt(path: Path) -> None:
    """Import a file; only an error with a one-line sentence may come out."""
    try:
        table = read_table(path)
        plan = plan_columns(table, {}, default_unit="yd")
        bag = Bag(swings=DEFAULT_SWINGS)
        parsed = parse_shots(table, plan, player="me", bag=bag, default_unit="yd", imported_at=AT, odd_carries=True)
    except WedgelabError as error:
        assert "\n" not in str(error).replace(str(path), "")  # noqa: PT017 - no error at all is right too
    else:
        at_fault = {problem.line for problem in parsed.problems}
        assert {row.line for row in parsed.rows} | at_fault == {line for line, _ in table.rows}
        assert not at_fault & {row.line for row in parsed.rows}
        assert all(len(str(problem).splitlines()) == 1 for problem in parsed.problems)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None, max_examples=300)
@given(
    rows=st.lists(st.lists(cell, min_size=15, max_size=15), min_size=1, max_size=4), separator=st.sampled_from(",;\t")
)
def test_any_cells(rows: list[list[str]], separator: str, tmp_path: Path) -> None:
    lines = [HEADER.split(","), *rows]
    text = "\n".join(separator.join('"' + one.replace('"', '""') + '"' for one in line) for line in lines)
    path = tmp_path / "fuzz.csv"
    path.write_bytes(text.encode("utf-8", "surrogatepass"))
    attempt(path)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None, max_examples=200)
@given(
    data=st.binary(max_size=60),
    head=st.sampled_from([b"", b"club,swing,carry\n", b"\xff\xfe", b"\xfe\xff", b"sep=;\n"]),
)
def test_any_bytes(data: bytes, head: bytes, tmp_path: Path) -> None:
    path = tmp_path / "fuzz.csv"
    path.write_bytes(head + data)
    attempt(path)
