"""What the drill's screen shows, at many sizes: it fits, the call can be read back, and nothing is told too early."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.terminal.test_glyphs import decoded
from wedgelab.drill.calls import ORDERS
from wedgelab.drill.machine import FEEDBACKS, Ball, DrillPlan, DrillState, Event, Guess, Skip, Undo, step
from wedgelab.errors import BadRequestError
from wedgelab.render.layout import display_width
from wedgelab.terminal.drill_view import Picture, picture
from wedgelab.terminal.drill_words import DrillView
from wedgelab.terminal.glyphs import BLOCK, PLAIN_DOT, ROWS, Line
from wedgelab.units import YARD_M, format_length
from wedgelab.window import WindowRule

CALLS_YD = (62.0, 45.0, 80.0, 55.0, 70.0)
SIZES = [(80, 24), (60, 16), (60, 24), (100, 30), (160, 50), (40, 10), (20, 4), (100, 18)]
HOSTILE = [
    "w" * 200,
    "漢" * 100,
    "up\x1b[2J\x1b[31mdown",
    "line\nbreak\r\t\x07",
    "e\u0301" * 50,
    "\u202eright",
    "[bold]{x}%s",
]


def a_plan(calls: int = 20, **changes: Any) -> DrillPlan:
    calls_m = tuple(YARD_M * CALLS_YD[i % len(CALLS_YD)] for i in range(calls))
    values: dict[str, Any] = {"window": WindowRule(fixed_m=3.0 * YARD_M)}
    return DrillPlan(calls_m, 40.0, 80.0, 1, **values | changes)


def played(plan: DrillPlan, misses_yd: Sequence[float | None], guess_yd: float | None = None) -> DrillState:
    """Play a ball with each miss, a skip for None; a guess is off the call by so many yards."""
    state = DrillState.start(plan)
    for miss in misses_yd:
        if miss is None:
            state = step(state, Skip())
            continue
        if guess_yd is not None:
            state = step(state, Guess(state.call_m + guess_yd * YARD_M))
        carry_m = state.call_m + miss * YARD_M
        state = step(state, Ball(f"s{len(state.answers)}", "54", 54.0, 90.0, carry_m, "9:00"))
    return state


USUAL = played(a_plan(), [4.2, -1.5, 12.6, None, 0.0, -8.8, 2.0, 3.0, -4.0, 5.5, -4.2], guess_yd=1.0)
VIEW = DrillView(USUAL, advice="58 10:30", bare="54 9:00", following="watching range.csv")


def text_of(line: Line) -> str:
    return "".join(text for _, text in line)


def texts(drawn: Picture) -> list[str]:
    return [text_of(line) for line in (*drawn.above, *drawn.below)]


def everything(drawn: Picture) -> str:
    return "\n".join(texts(drawn))


def big_numbers(drawn: Picture, style: str, dot: str = BLOCK) -> list[str]:
    """Read the big digits of a style back from the picture."""
    rows = [
        text for line in drawn.above for name, text in line if name == style and not set(text) - {dot, " "} and text
    ]
    if not rows:
        return []
    scale = len(rows) // ROWS
    assert len(rows) == scale * ROWS
    return [decoded(rows, scale, dot)]


def call_words(drawn: Picture) -> list[str]:
    return [text for line in drawn.above for style, text in line if style == "class:call"]


def scale_of(drawn: Picture, style: str) -> int:
    rows = [text for line in drawn.above for name, text in line if name.startswith(style) and BLOCK in text]
    return -(-len(rows) // ROWS)


def assert_fits(drawn: Picture, columns: int, rows: int) -> None:
    assert len(drawn.above) + 1 + len(drawn.below) <= rows
    for line in (*drawn.above, *drawn.below):
        assert display_width(text_of(line)) <= columns, text_of(line)
        for _, text in line:
            assert text.isprintable(), text


@pytest.mark.parametrize(("columns", "rows"), SIZES)
def test_it_fits_and_the_call_can_be_read(columns: int, rows: int) -> None:
    drawn = picture(VIEW, columns, rows)
    assert_fits(drawn, columns, rows)
    assert big_numbers(drawn, "class:call") == ([] if rows < 10 else ["45"])
    assert ("call 45 yd" in texts(drawn)) == (rows < 10)
    assert "4.2 yd short" in everything(drawn)
    assert "58 10:30" in everything(drawn)


@pytest.mark.parametrize(
    ("columns", "rows", "call", "miss"),
    [(80, 24, 1, 1), (60, 16, 1, 0), (60, 24, 1, 1), (100, 30, 2, 1), (160, 50, 4, 2), (100, 18, 1, 1), (40, 10, 1, 0)],
)
def test_digits_grow_with_the_window(columns: int, rows: int, call: int, miss: int) -> None:
    drawn = picture(VIEW, columns, rows)
    assert (scale_of(drawn, "class:call"), scale_of(drawn, "class:miss")) == (call, miss)


def test_forty_rows_double_both() -> None:
    drawn = picture(VIEW, 120, 40)
    assert (scale_of(drawn, "class:call"), scale_of(drawn, "class:miss")) == (2, 2)
    assert big_numbers(drawn, "class:miss.out") == ["-4.2"]


@pytest.mark.parametrize("call_yd", [8.0, 62.5, 100.5, 199.5, 273.0])
def test_any_call_is_big_from_sixty_columns_and_sixteen_rows(call_yd: float) -> None:
    state = DrillState.start(DrillPlan((call_yd * YARD_M,), 5.0, 250.0, 1))
    for columns, rows in ((60, 16), (61, 40), (80, 24), (200, 60)):
        assert big_numbers(picture(DrillView(state), columns, rows), "class:call") == [f"{call_yd:g}"]


@pytest.mark.parametrize(("columns", "is_big"), [(54, False), (55, True)])
def test_the_call_is_big_only_together_with_its_unit(columns: int, is_big: bool) -> None:
    drawn = picture(DrillView(DrillState.start(DrillPlan((100.5 * YARD_M,), 5.0, 250.0, 1))), columns, 16)
    assert big_numbers(drawn, "class:call") == (["100.5"] if is_big else [])
    assert ("class:unit" in {style for line in drawn.above for style, _ in line}) == is_big
    assert ("call 100.5 yd" in texts(drawn)) != is_big


def test_the_screen_of_eighty_columns_has_every_part() -> None:
    drawn = picture(VIEW, 80, 24)
    shown = everything(drawn)
    for part in (
        "drill: call 12 of 20  window ± 3.0 yd  random",
        "4.2 yd short",
        "outside the window",
        "54 9:00",
        "carry 57.8 yd",
        "guess 5.2 yd over",
        "misses  -1.5o +12.6x   skip   0.0o  -8.8x  +2.0o  +3.0o  -4.0x  +5.5x  -4.2x",
        "E 5.8 yd  inside 4 of 10",
        "a number alone: the carry with 54 9:00",
        "watching range.csv",
        "F2 advice  F3 undo  F4 correct  F5 skip  F6 pause  F10 quit  ? help",
    ):
        assert part in shown, part
    assert big_numbers(drawn, "class:miss.out") == ["-4.2"]
    below = [text_of(line) for line in drawn.below]
    assert [line.split()[0] for line in below] == ["a", "watching", "F2"]


def test_in_sixty_columns_the_call_is_big_and_the_miss_is_words() -> None:
    drawn = picture(VIEW, 60, 16)
    assert big_numbers(drawn, "class:call") == ["45"]
    assert "4.2 yd short  outside the window  54 9:00  carry 57.8 yd" in texts(drawn)
    assert "   -2o  +13x  skip    0o   -9x   +2o   +3o   -4x   +6x   -4x" in texts(drawn)


def test_call_and_miss_stand_side_by_side_in_a_wide_low_window() -> None:
    drawn = picture(VIEW, 100, 18)
    both = [line for line in drawn.above if {"class:call", "class:miss.out"} <= {style for style, _ in line}]
    assert len(both) == ROWS
    assert big_numbers(drawn, "class:call") == ["45"]
    assert big_numbers(drawn, "class:miss.out") == ["-4.2"]
    assert scale_of(picture(VIEW, 99, 18), "class:miss") == 0


@pytest.mark.parametrize(
    ("miss_yd", "big", "words", "style"),
    [
        (2.04, "+2.0", "2.0 yd long", "class:miss.in"),
        (-12.6, "-12.6", "12.6 yd short", "class:miss.out"),
        (0.04, "0.0", "on the number", "class:miss.in"),
        (-0.04, "0.0", "on the number", "class:miss.in"),
        (120.2, "+120.2", "120.2 yd long", "class:miss.out"),
    ],
)
def test_the_miss_has_a_sign_and_a_word(miss_yd: float, big: str, words: str, style: str) -> None:
    drawn = picture(replace(VIEW, state=played(a_plan(), [miss_yd])), 80, 24)
    assert big_numbers(drawn, style) == [big]
    assert words in everything(drawn)
    assert ("inside the window" in everything(drawn)) == style.endswith("in")


def test_a_narrow_window_rounds_the_big_miss_and_keeps_the_words() -> None:
    drawn = picture(replace(VIEW, state=played(a_plan(), [12.6])), 60, 24)
    assert big_numbers(drawn, "class:miss.out") == ["+13"]
    assert "12.6 yd long" in everything(drawn)


def test_the_window_is_told_without_colour_and_its_edge_is_inside() -> None:
    shown = everything(picture(replace(VIEW, state=played(a_plan(), [3.0, 3.1, -3.0, -3.1])), 80, 24))
    assert "misses  +3.0o  +3.1x  -3.0o  -3.1x" in shown
    assert "inside 2 of 4" in shown


def test_only_the_last_ten_misses_are_in_the_strip() -> None:
    shown = texts(picture(replace(VIEW, state=played(a_plan(), [float(i) for i in range(12)])), 80, 24))
    strip = next(line for line in shown if line.startswith("misses"))
    assert strip.split()[1:] == [f"+{i}.0{'o' if i <= 3 else 'x'}" for i in range(2, 12)]
    narrow = next(line for line in texts(picture(replace(VIEW, state=USUAL), 40, 16)) if line.endswith("-4x"))
    assert narrow.split() == ["-9x", "+2o", "+3o", "-4x", "+6x", "-4x"]


def test_misses_of_a_hundred_keep_their_column() -> None:
    shown = texts(picture(replace(VIEW, state=played(a_plan(), [150.0, -1.0, 2.0])), 80, 24))
    assert "misses  +150x  -1.0o  +2.0o" in shown


@pytest.mark.parametrize(
    ("guess_yd", "words"), [(1.0, "guess 3.2 yd under"), (9.2, "guess 5.0 yd over"), (4.2, "guess right")]
)
def test_a_guess_is_over_or_under_the_carry(guess_yd: float, words: str) -> None:
    view = replace(VIEW, state=played(a_plan(), [4.2], guess_yd=guess_yd))
    assert words in everything(picture(view, 80, 24))


def test_a_ball_without_a_label_of_its_swing_shows_the_clock() -> None:
    state = DrillState.start(a_plan())
    state = step(state, Ball("s", "54", 54.0, 135.0, state.call_m))
    assert "54 10:30" in everything(picture(replace(VIEW, state=state), 80, 24))


def test_feedback_outside_tells_a_ball_inside_by_a_word_only() -> None:
    view = replace(VIEW, state=played(a_plan(feedback="outside"), [1.1, 7.7, 2.2], guess_yd=0.5))
    drawn = picture(view, 80, 24)
    shown = everything(drawn)
    assert "misses    in   +7.7x    in " in shown
    assert next(text for line in drawn.above for style, text in line if style == "class:miss.in") == "inside"
    assert "inside 2 of 3" in shown
    for hidden in ("1.1", "2.2", "guess", "E ", "carry 82.2"):
        assert hidden not in shown, hidden
    outside = replace(view, state=played(a_plan(feedback="outside"), [1.1, 7.7]))
    assert big_numbers(picture(outside, 80, 24), "class:miss.out") == ["+7.7"]
    over = everything(picture(replace(view, state=played(a_plan(2, feedback="outside"), [1.1, 2.2])), 80, 24))
    assert "misses  +1.1o  +2.2o" in over
    assert "E 1.7 yd" in over


def test_feedback_by_block_tells_nothing_of_the_present_block() -> None:
    plan = a_plan(9, feedback="block", block=4)
    first = everything(picture(replace(VIEW, state=played(plan, [1.1, -7.7, None])), 80, 24))
    assert "results after call 4" in first
    assert "misses     ?      ?    skip" in first
    assert "block 1 of 3" in first
    for hidden in ("1.1", "7.7", "inside", "E ", "carry 6"):
        assert hidden not in first, hidden
    done = picture(replace(VIEW, state=played(plan, [1.1, -7.7, None, 5.5])), 80, 24)
    assert big_numbers(done, "class:miss.out") == ["+5.5"]
    assert "misses  +1.1o  -7.7x   skip  +5.5x" in everything(done)
    assert "E 5.5 yd  inside 1 of 3" in everything(done)
    second = everything(picture(replace(VIEW, state=played(plan, [1.1, -7.7, None, 5.5, 2.2])), 80, 24))
    assert "results after call 8" in second
    assert "misses  +1.1o  -7.7x   skip  +5.5x     ?" in second
    assert "E 5.5 yd  inside 1 of 3" in second
    last = everything(picture(replace(VIEW, state=played(plan, [1.0] * 8)), 80, 24))
    assert "+1.0o" in last
    assert "results after call 9" not in last


def test_a_window_that_moves_does_not_tell_of_hidden_balls() -> None:
    plan = a_plan(feedback="block", block=4, hold=0.5)
    assert "window ±" in everything(picture(DrillView(DrillState.start(plan)), 80, 24))
    assert "window ±" not in everything(picture(DrillView(played(plan, [1.0])), 80, 24))
    assert "window ±" in everything(picture(DrillView(played(plan, [1.0] * 4)), 80, 24))


def test_a_skip_is_said() -> None:
    assert "skipped" in everything(picture(replace(VIEW, state=played(a_plan(), [1.0, None])), 80, 24))


@pytest.mark.parametrize(("columns", "rows"), SIZES)
def test_the_advice_is_there_or_hidden_or_there_is_none(columns: int, rows: int) -> None:
    assert "58 10:30" in everything(picture(VIEW, columns, rows))
    hidden = everything(picture(replace(VIEW, advice_shown=False), columns, rows))
    assert "58 10:30" not in hidden
    assert "advice hidden (F2)" in hidden
    without = everything(picture(replace(VIEW, advice=None), columns, rows))
    assert "advice" not in without
    assert "F2" not in without


def test_the_advice_stands_beside_the_call_where_it_has_no_line() -> None:
    drawn = picture(replace(VIEW, message="ball taken back"), 40, 10)
    assert_fits(drawn, 40, 10)
    assert any({"class:call", "class:advice"} <= {style for style, _ in line} for line in drawn.above)
    assert "ball taken back" in everything(drawn)


@pytest.mark.parametrize(("columns", "rows"), SIZES)
def test_a_ball_that_was_not_taken_and_the_reason_are_never_left_out(columns: int, rows: int) -> None:
    view = replace(VIEW, held="54 9:00 62.5", message="the log is locked; try again", message_kind="error")
    drawn = picture(view, columns, rows)
    assert_fits(drawn, columns, rows)
    errors = [text for line in drawn.below for style, text in line if style == "class:error"]
    assert errors[0].startswith("not in the log yet:"[: columns - 1])
    assert errors[1].startswith("the log is locked"[: columns - 1])
    assert ("54 9:00 62.5" in errors[0]) == (columns > 20)


def test_a_message_stands_where_the_hint_was() -> None:
    usual, told = picture(VIEW, 80, 24), picture(replace(VIEW, message="saved"), 80, 24)
    assert len(usual.below) == len(told.below) == 3
    assert told.below[0] == [("class:message", "saved")]
    assert usual.below[0][0][0] == "class:hint"
    assert usual.above == told.above


def test_a_long_error_takes_a_second_row_so_that_what_to_do_can_be_read() -> None:
    message = "database log.db: it is locked by another program just now; wait for a moment and press Enter"
    drawn = picture(replace(VIEW, message=message, message_kind="error"), 60, 16)
    assert_fits(drawn, 60, 16)
    assert " ".join(text_of(line) for line in drawn.below[:2]) == message
    small = picture(replace(VIEW, message=message), 60, 8)
    assert_fits(small, 60, 8)
    assert message.startswith(text_of(small.below[0]))


def test_neither_a_pause_nor_a_guess_moves_the_rest() -> None:
    for columns, rows in ((80, 24), (60, 16), (100, 34), (160, 50)):
        heights = {
            len(picture(view, columns, rows).above)
            for view in (
                VIEW,
                replace(VIEW, paused=True),
                replace(VIEW, asks="guess"),
                replace(VIEW, advice_shown=False),
            )
        }
        assert len(heights) == 1


def test_the_first_ball_moves_nothing() -> None:
    for columns, rows in ((80, 24), (60, 16), (100, 34), (160, 50), (120, 26)):
        before = picture(replace(VIEW, state=DrillState.start(a_plan())), columns, rows)
        after = picture(replace(VIEW, state=played(a_plan(), [4.2])), columns, rows)
        places = [
            [i for i, line in enumerate(drawn.above) if any(style == "class:call" for style, _ in line)]
            for drawn in (before, after)
        ]
        assert places[0] == places[1]
        assert len(before.above) == len(after.above)


def test_what_is_asked_for_is_said() -> None:
    assert "first your guess: how far did it carry?" in everything(picture(replace(VIEW, asks="guess"), 80, 24))
    assert "type WEDGE SWING CARRY" in everything(picture(replace(VIEW, bare=""), 80, 24))
    guessed = replace(VIEW, state=step(USUAL, Guess(50.0 * YARD_M)))
    assert "guess 50.0 yd  a number alone" in everything(picture(guessed, 80, 24))


def test_a_pause_takes_the_call_away_and_says_how_to_go_on() -> None:
    for columns, rows in SIZES:
        drawn = picture(replace(VIEW, paused=True), columns, rows)
        assert_fits(drawn, columns, rows)
        assert not big_numbers(drawn, "class:call")
        assert call_words(drawn) == ["paused - F6 goes on"]
        assert "58 10:30" not in everything(drawn)
    assert "F6 go on" in everything(picture(replace(VIEW, paused=True), 60, 16))


def test_a_pause_leaves_the_miss_beside_a_short_call_whole() -> None:
    state = DrillState.start(DrillPlan((8.0 * YARD_M,) * 3, 5.0, 9.0, 1))
    state = step(state, Ball("s", "60", 60.0, 60.0, 12.0 * YARD_M))
    drawn = picture(DrillView(state, paused=True), 100, 14)
    assert call_words(drawn) == ["paused - F6 goes on"]
    assert big_numbers(drawn, "class:miss.out") == ["+4.0"]


def test_a_drill_that_is_over_says_done() -> None:
    over = replace(VIEW, state=played(a_plan(3), [1.0, 2.0, -3.5]))
    for columns, rows in SIZES:
        drawn = picture(over, columns, rows)
        assert_fits(drawn, columns, rows)
        assert call_words(drawn) == ["done"]
        assert not big_numbers(drawn, "class:call")
    shown = everything(picture(over, 80, 24))
    assert "drill of 3 calls" in shown
    assert "F5" not in shown


def test_the_help_names_every_key_twin_and_word_and_keeps_the_call() -> None:
    for columns, rows in ((80, 24), (60, 16), (60, 24), (100, 30)):
        drawn = picture(replace(VIEW, helping=True), columns, rows)
        assert_fits(drawn, columns, rows)
        shown = everything(drawn)
        assert "call 45 yd" in texts(drawn)
        for row in ("F2  ^T", "F3  ^B  undo", "F4  ^F  fix 64", "F5  ^N  skip", "F6  ^P  pause", "F10 ^Q  quit"):
            assert row in shown, row
        assert "guess 62" in shown
        assert "62          the carry in yd, hit with 54 9:00" in shown
    for columns, rows in ((40, 10), (20, 4)):
        small = picture(replace(VIEW, helping=True), columns, rows)
        assert_fits(small, columns, rows)
        assert "call 45 yd" in texts(small)
    assert "a taller window shows more" in texts(picture(replace(VIEW, helping=True), 40, 10))


def test_the_head_names_blocks_order_focus_and_a_test() -> None:
    plan = a_plan(20, order="rising", focus="weak", feedback="block", block=5, test_of="d1")
    head = texts(picture(DrillView(played(plan, [1.0] * 6), unit="yd"), 80, 24))[0]
    assert head == "test: call 7 of 20  window ± 3.0 yd  block 2 of 4  rising  focus weak"
    metres = texts(picture(DrillView(DrillState.start(a_plan()), unit="m"), 80, 24))
    assert "window ± 2.7 m" in metres[0]
    assert any(line.endswith(" m") for line in metres[1:10])


def test_a_plain_terminal_gets_plain_signs() -> None:
    view = replace(VIEW, message="x" * 200)
    drawn = picture(view, 60, 24, dot=PLAIN_DOT)
    assert everything(drawn).isascii()
    assert big_numbers(drawn, "class:call", PLAIN_DOT) == ["45"]
    assert "window +- 3.0 yd" in everything(drawn)
    assert_fits(drawn, 60, 24)


@pytest.mark.parametrize("label", HOSTILE)
@pytest.mark.parametrize(("columns", "rows"), SIZES)
def test_hostile_labels_are_cut_and_disturb_nothing(label: str, columns: int, rows: int) -> None:
    state = DrillState.start(a_plan(focus=label))
    state = step(state, Ball("s", label, 54.0, 90.0, state.call_m, label))
    view = DrillView(state, advice=label, bare=label, message=label, following=label, held=label)
    for each in (view, replace(view, helping=True), replace(view, paused=True), replace(view, message="")):
        drawn = picture(each, columns, rows)
        assert_fits(drawn, columns, rows)
        shown = everything(drawn)
        assert "\x1b" not in shown
        assert each.helping or each.paused or rows < 10 or big_numbers(drawn, "class:call") == ["45"]


LABELS = st.one_of(st.text(max_size=30), st.sampled_from(["", "54", "9:00", *HOSTILE]))
EVENTS = st.one_of(
    st.builds(Guess, st.floats(0.5, 250.0)),
    st.builds(
        Ball, st.uuids().map(str), LABELS, st.floats(20.0, 75.0), st.floats(5.0, 210.0), st.floats(0.5, 250.0), LABELS
    ),
    st.just(Skip()),
    st.just(Undo()),
)
PLANS = st.builds(
    DrillPlan,
    st.lists(st.floats(0.5, 250.0), min_size=1, max_size=25).map(tuple),
    st.just(0.5),
    st.just(250.0),
    st.just(1),
    order=st.sampled_from(ORDERS),
    focus=st.sampled_from(["", "weak"]),
    hold=st.sampled_from([None, 0.5]),
    feedback=st.sampled_from(FEEDBACKS),
    block=st.integers(1, 12),
    test_of=st.sampled_from(["", "d1"]),
)


def stepped(plan: DrillPlan, events: Sequence[Event]) -> DrillState:
    state = DrillState.start(plan)
    for event in events:
        try:
            state = step(state, event)
        except BadRequestError:
            continue
    return state


VIEWS = st.builds(
    DrillView,
    st.builds(stepped, PLANS, st.lists(EVENTS, max_size=30)),
    unit=st.sampled_from(["yd", "m"]),
    advice=st.one_of(st.none(), LABELS),
    advice_shown=st.booleans(),
    bare=LABELS,
    asks=st.sampled_from(["carry", "guess"]),
    message=LABELS,
    message_kind=st.sampled_from(["info", "error"]),
    paused=st.booleans(),
    following=LABELS,
    helping=st.booleans(),
    held=LABELS,
)


@settings(max_examples=150, deadline=None)
@given(VIEWS, st.integers(20, 220), st.integers(4, 70), st.sampled_from([BLOCK, PLAIN_DOT]))
def test_any_state_fits_any_size_and_the_call_never_goes(view: DrillView, columns: int, rows: int, dot: str) -> None:
    drawn = picture(view, columns, rows, dot=dot)
    assert_fits(drawn, columns, rows)
    if view.state.is_over:
        assert call_words(drawn) == ["done"]
    elif view.paused:
        assert call_words(drawn) == ["paused - F6 goes on"]
    else:
        call = format_length(view.state.call_m, view.unit, 1).removesuffix(".0")
        said = f"call {call} {view.unit}" in texts(drawn)
        assert said or big_numbers(drawn, "class:call", dot) == [call]
        assert said or not view.helping
        units = [text for line in drawn.above for style, text in line if style == "class:unit"]
        assert units == ([] if said else [view.unit])
        assert rows < 16 or columns < 60 or not said or view.helping


@settings(max_examples=50, deadline=None)
@given(VIEWS, st.integers(20, 220), st.integers(5, 70))
def test_a_taller_window_never_shows_smaller_digits(view: DrillView, columns: int, rows: int) -> None:
    lower, higher = (picture(view, columns, height) for height in (rows, rows + 1))
    assert scale_of(lower, "class:call") <= scale_of(higher, "class:call")
