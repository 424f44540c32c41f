"""Chart and choice on a day, on a player in closed form: what moves, what stays, and a ball that never gets up."""

import dataclasses
import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from tests.fakes import TYPICAL_BAG, FakePredictor, as_predictor, fake_carry_m, fake_carry_sd_m
from wedgelab.chart import AirNote, Today, build_chart, carries_today
from wedgelab.choose import WANTS, Choice, Option, OutOfReachError, Want, choose, swing_for
from wedgelab.errors import EXIT_FAILURE, NothingFitsError
from wedgelab.prediction import NOT_SAID, Day, ShotKind
from wedgelab.shots import Bag, Conditions, SwingLength, Wedge
from wedgelab.units import parse_swing_deg
from wedgelab.window import DEFAULT_WINDOW, WindowRule

PLAYER = as_predictor(FakePredictor())
# the fake's day, by hand: 1 + 0.01 * wind - 0.01 * rise = 0.92 of every carry
DAY = Day(Conditions(wind_mps=-5.0, cross_wind_mps=-2.0), rise_m=3.0)
SHARE = 0.92
HEAD, TAIL = Day(Conditions(wind_mps=-10.0)), Day(Conditions(wind_mps=10.0))
NOWHERE = Today(None, None, None, None, None)


@dataclass(frozen=True)
class Under(FakePredictor):
    """A player whose day leaves some shots below the green, with next to no carry."""

    short: Callable[[ShotKind], bool] = lambda kind: kind.swing_deg < 60.0
    left_m: float = 0.05

    def on(self, day: Day) -> FakePredictor:
        return replace(
            super().on(day), carry_m=lambda kind: self.left_m if self.short(kind) else SHARE * self.carry_m(kind)
        )


# --- the chart


def test_every_cell_tells_the_carry_of_the_day() -> None:
    chart = build_chart(PLAYER, TYPICAL_BAG, day=DAY)
    assert len(chart.cells) == 9
    for cell in chart.cells:
        kind = ShotKind(cell.wedge, cell.loft_deg, cell.swing_deg)
        today = cell.today
        assert today is not None
        assert today.carry_today_m == pytest.approx(SHARE * fake_carry_m(kind), rel=1e-12)
        # 0.003 of the medians, 0.0004 of the correction
        assert today.carry_today_se_m == pytest.approx(SHARE * fake_carry_m(kind) * math.sqrt(0.0034), rel=1e-12)
        # source: scipy.stats.norm, the fake's balls are normal
        ball = stats.norm(SHARE * fake_carry_m(kind), fake_carry_sd_m(kind))
        assert ball.cdf([today.carry_today_p10_m, today.carry_today_p90_m]) == pytest.approx([0.1, 0.9], abs=1e-9)
        assert today.drift_today_m == -2.0


def test_a_day_leaves_everything_else_of_the_chart_as_it_was() -> None:
    plain, chart = build_chart(PLAYER, TYPICAL_BAG), build_chart(PLAYER, TYPICAL_BAG, day=DAY)
    assert tuple(replace(cell, today=None) for cell in chart.cells) == plain.cells
    assert replace(chart, rows=plain.rows, gaps=plain.gaps, day=None) == plain
    for gap, cell, lofted in zip(chart.gaps[0], chart.rows[0], chart.rows[1], strict=True):  # the gaps are the day's
        assert cell.today is not None
        assert gap.gap_m == pytest.approx(cell.played_m - lofted.played_m)
        assert cell.played_m == cell.today.carry_today_m
    assert all(cell.today is None and cell.flight is None for cell in plain.cells)
    assert (plain.reference, plain.day, plain.air_note, plain.green) == (NOT_SAID, None, None, None)


def test_what_the_chart_was_asked_with_stands_in_it() -> None:
    warm, note = Conditions(air_temp_c=20.0), AirNote(7, 2, -1.0, 3.0)
    chart = build_chart(PLAYER, TYPICAL_BAG, reference=warm, day=DAY, air_note=note, green="soft")
    assert (chart.reference, chart.day, chart.air_note, chart.green) == (warm, DAY, note, "soft")


@pytest.mark.parametrize("cross_wind_mps", [None, 0.0])
def test_without_a_cross_wind_nobody_is_told_of_a_drift(cross_wind_mps: float | None) -> None:
    day = Day(Conditions(wind_mps=2.0, cross_wind_mps=cross_wind_mps))
    drifts = {cell.today.drift_today_m for cell in build_chart(PLAYER, TYPICAL_BAG, day=day).cells if cell.today}
    assert drifts == {None}


def test_the_lie_is_that_of_the_day_too() -> None:
    in_rough = FakePredictor(carry_m=lambda kind: fake_carry_m(kind) * (0.9 if kind.lie == "rough" else 1.0))
    usual, rough = (build_chart(in_rough, TYPICAL_BAG, day=DAY, lie=lie) for lie in ("", "rough"))
    for cell, other in zip(usual.cells, rough.cells, strict=True):
        assert cell.today is not None
        assert other.today is not None
        assert (other.today.carry_today_m or 0.0) == pytest.approx(0.9 * (cell.today.carry_today_m or 0.0), rel=1e-12)


def test_a_ball_that_never_gets_up_has_no_number_and_keeps_its_chart() -> None:
    chart = build_chart(Under(), TYPICAL_BAG, day=DAY)
    for cell, plain in zip(chart.cells, build_chart(PLAYER, TYPICAL_BAG).cells, strict=True):
        assert (cell.today == NOWHERE) == (cell.swing == "7:30")
        assert replace(cell, today=None) == plain


@pytest.mark.parametrize(("left_m", "is_told"), [(0.05, False), (0.5, False), (0.51, True)])
def test_less_than_the_least_carry_of_a_log_is_none(left_m: float, is_told: bool) -> None:
    (today,) = carries_today(Under(left_m=left_m), [ShotKind("60", 60.0, 45.0)], DAY)
    assert today.carry_today_m == (left_m if is_told else None)


def test_a_green_adds_the_landing_and_nothing_else() -> None:
    plain, chart = build_chart(PLAYER, TYPICAL_BAG), build_chart(PLAYER, TYPICAL_BAG, green="firm")
    for cell in chart.cells:
        (flight,) = PLAYER.landing([ShotKind(cell.wedge, cell.loft_deg, cell.swing_deg)], "firm")
        assert cell.flight == flight
    assert tuple(replace(cell, flight=None) for cell in chart.cells) == plain.cells
    assert replace(chart, rows=plain.rows, green=None) == plain


def test_on_a_day_the_landing_is_that_of_the_day() -> None:
    for cell in build_chart(PLAYER, TYPICAL_BAG, day=DAY, green="normal").cells:
        assert cell.flight is not None
        assert cell.flight.apex_m == pytest.approx(SHARE * cell.carry_m / 4.0, rel=1e-12)
        assert cell.flight.drift_m == -2.0


# --- the choice


def ask(player: FakePredictor, target_m: float, want: Want = "window", day: Day | None = None) -> Choice:
    return choose(player, TYPICAL_BAG, target_m, window=DEFAULT_WINDOW, want=want, day=day)


@given(target_m=st.floats(37.4, 113.0), want=st.sampled_from(WANTS), day=st.sampled_from([DAY, HEAD, TAIL]))
def test_what_is_chosen_for_a_day_is_what_a_player_of_that_day_would_choose(
    target_m: float, want: Want, day: Day
) -> None:
    # window, swing search, chances, order, rival and reach, all by the day's carry: asked in two ways
    try:
        there: Choice | str = ask(PLAYER.on(day), target_m, want)  # type: ignore[arg-type]  # a fake, by its protocol
    except OutOfReachError as error:
        there = str(error)
    try:
        here: Choice | str = ask(FakePredictor(), target_m, want, day)
    except OutOfReachError as error:
        here = str(error)
    if isinstance(here, str) or isinstance(there, str):
        assert here == there
        return

    def heart(option: Option) -> tuple[object, ...]:
        return option.wedge, option.swing, option.practised, option.window_probability, option.played_m, option.flight

    assert [heart(option) for option in here.options] == [heart(option) for option in there.options]
    assert (here.rival is None) == (there.rival is None)
    assert here.rival is None or there.rival is None or heart(here.rival) == heart(there.rival)
    assert (here.least_probability, here.window_low_m) == (there.least_probability, there.window_low_m)


@pytest.mark.parametrize("day", [DAY, HEAD, TAIL])
def test_an_option_has_the_carry_of_the_chart_and_that_of_the_day(day: Day) -> None:
    share = {DAY: 0.92, HEAD: 0.9, TAIL: 1.1}[day]
    for option in ask(FakePredictor(), 75.0, day=day).options:
        kind = ShotKind(option.wedge, option.loft_deg, option.swing_deg)
        (prediction,) = PLAYER.predict([kind])
        assert option.carry_m == prediction.carry_m
        assert (option.carry_sd_m, option.carry_se_m) == (prediction.carry_sd_m, prediction.carry_se_m)
        chart = stats.norm(option.carry_m, fake_carry_sd_m(kind))  # scipy's, here and below
        assert chart.cdf([option.carry_p10_m, option.carry_p90_m]) == pytest.approx([0.1, 0.9], abs=1e-9)
        assert option.today is not None
        assert option.played_m == option.today.carry_today_m == pytest.approx(share * option.carry_m, rel=1e-12)
        ball = stats.norm(option.played_m, fake_carry_sd_m(kind))
        assert option.window_probability == pytest.approx(ball.cdf(78.75) - ball.cdf(71.25), abs=1e-9)


def test_the_swing_is_worked_out_for_the_carry_of_the_day() -> None:
    wedge = TYPICAL_BAG.wedges[0]
    swing = swing_for(PLAYER.on(DAY), wedge, 70.0, TYPICAL_BAG.swings)
    # source: the fake's own inverse
    assert swing == pytest.approx(2 * math.degrees(math.asin(70.0 / (SHARE * 112.5))), abs=0.2)
    (option,) = [o for o in ask(FakePredictor(), 70.0, day=DAY).options if o.wedge == "50" and not o.practised]
    assert parse_swing_deg(option.swing) == pytest.approx(swing, abs=1.26)
    assert option.played_m == pytest.approx(70.0, abs=1.0)


def test_a_head_wind_takes_a_stronger_wedge_and_a_tail_wind_a_weaker_one() -> None:
    # at 9:00 the 50, 55 and 60 carry 79.5, 74.2 and 68.9 m; a tenth less and a tenth more by hand: 71.6 and 75.8 m
    bag = Bag(TYPICAL_BAG.wedges, (SwingLength("9:00", 90.0),))
    best = [choose(PLAYER, bag, 74.0, window=DEFAULT_WINDOW, day=day).best for day in (HEAD, None, TAIL)]
    assert [option.wedge for option in best] == ["50", "55", "60"]
    assert [option.played_m for option in best] == pytest.approx([71.595, 74.246, 75.837], abs=1e-3)


def test_what_is_in_reach_is_told_by_the_carry_of_the_day() -> None:
    # the longest carries 103.9 m on the chart, 93.5 m against the wind and 114.3 m with it
    known = FakePredictor(covariance=lambda *_: 0.0)  # a ball's spread is then its own: 6.2 m, and 118.8 m are near
    assert ask(known, 125.0, day=TAIL).best.carry_m == pytest.approx(103.936, abs=1e-3)
    with pytest.raises(OutOfReachError):
        ask(known, 125.0)
    assert ask(FakePredictor(), 100.0).best.wedge == "50"
    with pytest.raises(OutOfReachError) as caught:
        choose(PLAYER, TYPICAL_BAG, 110.0, window=DEFAULT_WINDOW, unit="m", day=HEAD)
    assert str(caught.value) == "110 m is out of reach; the nearest is 94 m: 50 10:30"
    assert caught.value.nearest_m == pytest.approx(93.542, abs=1e-3)


def test_the_firmness_of_the_green_changes_the_run_out_alone() -> None:
    soft, firm = (
        choose(PLAYER, TYPICAL_BAG, 75.0, window=DEFAULT_WINDOW, day=DAY, green=green) for green in ("soft", "firm")
    )
    ran = [
        {(o.flight.run_out_low_m, o.flight.run_out_m, o.flight.run_out_high_m) for o in choice.options}
        for choice in (soft, firm)
    ]
    assert ran == [{(-0.5, 1.0, 2.0)}, {(2.5, 4.0, 8.0)}]

    def at_rest(option: Option) -> Option:
        return replace(option, flight=replace(option.flight, run_out_low_m=0.0, run_out_m=0.0, run_out_high_m=0.0))

    assert [at_rest(option) for option in soft.options] == [at_rest(option) for option in firm.options]
    assert (soft.green, firm.green, ask(FakePredictor(), 75.0).green) == ("soft", "firm", "normal")


def test_the_choice_says_for_which_day_it_is() -> None:
    warm = Conditions(air_temp_c=20.0)
    choice = choose(PLAYER, TYPICAL_BAG, 75.0, window=DEFAULT_WINDOW, reference=warm, day=DAY)
    assert (choice.reference, choice.day) == (warm, DAY)
    plain = ask(FakePredictor(), 75.0)
    assert (plain.reference, plain.day) == (NOT_SAID, None)
    assert {option.today for option in plain.options} == {None}


# --- a green so high that some shots never get up to it


def test_a_shot_that_never_gets_up_is_no_option() -> None:
    options = ask(Under(), 60.0, day=DAY).options
    assert options
    assert all(option.swing_deg >= 60.0 and option.today != NOWHERE for option in options)
    assert dataclasses.replace(options[0], today=NOWHERE).played_m == 0.0


def test_the_nearest_shot_is_one_that_gets_up() -> None:
    # 7:30 stays below; the shortest of the others is the 60 at 9:00 with 0.92 * 68.9 = 63.4 m. It once said 0 m
    player = Under(short=lambda kind: kind.swing_deg < 89.0)
    for target_m in (5.0, 30.0, 55.0):
        with pytest.raises(OutOfReachError) as caught:
            choose(player, TYPICAL_BAG, target_m, window=DEFAULT_WINDOW, unit="m", day=DAY)
        assert str(caught.value) == f"{target_m:.0f} m is out of reach; the nearest is 63 m: 60 9:00"
        assert caught.value.nearest_m == pytest.approx(SHARE * 97.5 * math.sin(math.pi / 4), rel=1e-12)


def test_where_nothing_gets_up_no_shot_is_the_nearest() -> None:
    player = Under(short=lambda _: True)
    with pytest.raises(NothingFitsError) as caught:
        choose(player, TYPICAL_BAG, 60.0, window=WindowRule(fixed_m=2.0), day=DAY)
    assert caught.value.exit_code == EXIT_FAILURE
    assert "nearest" not in str(caught.value)  # it once said that the nearest is 0 yd
    assert "gets up" in str(caught.value)


def test_a_single_wedge_that_gets_up_only_when_swung_long_is_worked_out_where_it_does() -> None:
    bag = Bag((Wedge("54", 54.0),), TYPICAL_BAG.swings)
    player = Under(short=lambda kind: kind.swing_deg < 100.0)
    choice = choose(player, bag, 85.0, window=DEFAULT_WINDOW, day=DAY)
    # 0.92 * 106.5 = 97.98 m for the full half circle: 85 m is 2 asin(85 / 97.98) = 120.3 deg
    assert choice.best.swing_deg == pytest.approx(120.3, abs=1.3)
