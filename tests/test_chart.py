"""The chart's rows, columns, gaps and what to log next, on a player in closed form."""

import math

import pytest
from scipy import stats

from tests.fakes import FAKE_SPREAD, TYPICAL_BAG, FakePredictor, as_predictor, fake_carry_m
from wedgelab.chart import BALLS_TO_LOG_NEXT, LogNext, WedgeGap, build_chart, carry_curves
from wedgelab.errors import EXIT_USAGE, BadRequestError
from wedgelab.prediction import ShotKind
from wedgelab.shots import Bag, SwingLength, Wedge

PLAYER = as_predictor(FakePredictor())


def lognormal(variance: float) -> float:
    """Standard deviation over median of a lognormal, by scipy."""
    return float(stats.lognorm(math.sqrt(variance)).std())


def kind_of(wedge: Wedge, swing_deg: float) -> ShotKind:
    return ShotKind(wedge.label, wedge.loft_deg, swing_deg)


def test_rows_are_wedges_least_loft_first_and_columns_swings_shortest_first() -> None:
    chart = build_chart(PLAYER, TYPICAL_BAG, player="P1")
    assert [[(cell.wedge, cell.swing) for cell in row] for row in chart.rows] == [
        [(wedge, swing) for swing in ("7:30", "9:00", "10:30")] for wedge in ("50", "55", "60")
    ]
    assert [wedge.label for wedge in chart.wedges] == ["50", "55", "60"]
    assert [swing.label for swing in chart.swings] == ["7:30", "9:00", "10:30"]
    assert chart.cells == chart.rows[0] + chart.rows[1] + chart.rows[2]
    assert (chart.player, chart.n_shots, chart.n_sessions) == ("P1", 63, 4)


def test_a_cell_holds_the_prediction_of_its_own_shot() -> None:
    chart = build_chart(PLAYER, TYPICAL_BAG)
    for cell in chart.cells:
        # closed form of the fake, written out again: 100 (1.2 - 0.015 (loft - 45)) sin(swing / 2)
        carry = 100.0 * (1.875 - 0.015 * cell.loft_deg) * math.sin(math.radians(cell.swing_deg / 2))
        assert cell.carry_m == pytest.approx(carry, rel=1e-12)
        assert cell.carry_sd_m == pytest.approx(0.06 * carry, rel=1e-12)
        assert cell.carry_se_m == pytest.approx(carry * math.sqrt(0.003), rel=1e-12)
        assert cell.spin_rpm == pytest.approx(60 * cell.loft_deg + 25 * cell.swing_deg, rel=1e-12)
        assert (cell.spin_sd_rpm, cell.spin_se_rpm, cell.n_shots, cell.n_spin) == (400.0, 90.0, 7, 2)
        assert cell.support == ("measured" if cell.swing == "9:00" else "between")
        assert cell.spin_support == "between"


def test_the_likely_range_holds_eight_balls_of_ten() -> None:
    for cell in build_chart(PLAYER, TYPICAL_BAG).cells:
        # source: scipy.stats.norm, the fake's balls are normal
        ball = stats.norm(cell.carry_m, cell.carry_sd_m)
        assert ball.cdf([cell.carry_p10_m, cell.carry_p90_m]) == pytest.approx([0.1, 0.9], abs=1e-9)


def test_the_lie_is_passed_on() -> None:
    shorter = FakePredictor(carry_m=lambda kind: fake_carry_m(kind) * (0.9 if kind.lie == "rough" else 1.0))
    usual, rough = build_chart(shorter, TYPICAL_BAG), build_chart(shorter, TYPICAL_BAG, lie="rough")
    for cell, other in zip(usual.cells, rough.cells, strict=True):
        assert other.carry_m == pytest.approx(0.9 * cell.carry_m, rel=1e-12)


def test_gaps_stand_between_neighbouring_wedges_at_the_same_swing() -> None:
    chart = build_chart(PLAYER, TYPICAL_BAG)
    assert [[(gap.wedge, gap.next_wedge, gap.swing) for gap in row] for row in chart.gaps] == [
        [("50", "55", "7:30"), ("50", "55", "9:00"), ("50", "55", "10:30")],
        [("55", "60", "7:30"), ("55", "60", "9:00"), ("55", "60", "10:30")],
    ]
    for i, row in enumerate(chart.gaps):
        for j, gap in enumerate(row):
            # 5 deg of loft are 7.5 m at a full half circle of the arm, in the fake
            swing = chart.swings[j].swing_deg
            assert gap.gap_m == pytest.approx(7.5 * math.sin(math.radians(swing / 2)), rel=1e-12)
            assert gap.gap_m == chart.rows[i][j].carry_m - chart.rows[i + 1][j].carry_m


TWO = Bag((Wedge("A", 50.0), Wedge("B", 55.0)), (SwingLength("9:00", 90.0),))


def test_a_gaps_standard_error_by_hand() -> None:
    # medians 80 and 60 m; log SDs 0.03 and 0.04, correlation 0.5:
    # (80 * 0.03)^2 + (60 * 0.04)^2 - 2 * 80 * 60 * 0.5 * 0.03 * 0.04 = 5.76 + 5.76 - 5.76 = 5.76, root 2.4
    player = FakePredictor(
        carry_m=lambda kind: 80.0 if kind.wedge == "A" else 60.0,
        covariance=lambda a, b: {"AA": 0.0009, "BB": 0.0016}.get(a.wedge + b.wedge, 0.0006),
    )
    (gap,) = build_chart(player, TWO).gaps[0]
    assert (gap.wedge, gap.next_wedge, gap.swing) == ("A", "B", "9:00")
    assert gap.gap_m == 20.0
    assert gap.gap_se_m == pytest.approx(2.4, rel=1e-12)


def test_a_gap_that_is_fully_shared_has_no_doubt() -> None:
    player = FakePredictor(carry_m=lambda _: 80.0, covariance=lambda *_: 0.0009)
    assert build_chart(player, TWO).gaps == ((WedgeGap("A", "B", "9:00", 0.0, 0.0),),)


ONE_WEDGE = Bag(
    (Wedge("54", 54.0),), (SwingLength("lone", 45.0), SwingLength("left", 90.0), SwingLength("right", 100.0))
)


def test_the_cell_to_log_next_is_the_one_with_most_effect_on_the_whole_chart_not_the_least_known_one() -> None:
    # in log carry; what is said are standard deviations over the median of a lognormal, a little more.
    # "lone" (variance 0.05) tells nothing of the others; "left" and "right" (0.04 each, covariance 0.036) tell of each
    # other. Three balls at noise 0.01 act as one reading of noise 0.01 / 3:
    #   at lone : 0.05 -> 0.05 / 16 = 0.003125;              doubt (0.0559017 + 0.2 + 0.2) / 3       = 0.1519672
    #   at left : 0.04 -> 0.04 / 13 = 0.0030769, and right   0.04 - 0.036^2 / (0.04 + 0.01 / 3) = 0.0100923;
    #             doubt (0.2236068 + 0.0554700 + 0.1004605) / 3 = 0.1265124
    def covariance(a: ShotKind, b: ShotKind) -> float:
        if a.swing_deg == b.swing_deg:
            return 0.05 if a.swing_deg == 45.0 else 0.04
        return 0.0 if 45.0 in {a.swing_deg, b.swing_deg} else 0.036

    chart = build_chart(FakePredictor(covariance=covariance), ONE_WEDGE)
    assert chart.next is not None
    assert (chart.next.wedge, chart.next.swing, chart.next.balls) == ("54", "left", BALLS_TO_LOG_NEXT)
    assert chart.next.doubt_now == pytest.approx((lognormal(0.05) + 2.0 * lognormal(0.04)) / 3, rel=1e-12)
    left = lognormal(0.04 / 13), lognormal(0.04 - 0.036**2 / (0.04 + 0.01 / 3))
    assert chart.next.doubt_after == pytest.approx((lognormal(0.05) + sum(left)) / 3, rel=1e-12)


def test_equally_good_cells_are_told_apart_by_their_place_in_the_chart() -> None:
    same = FakePredictor(covariance=lambda a, b: 0.04 if a == b else 0.0)
    # each cell alone: variance 0.04 -> 0.04 / 13, a third of it counts
    found = build_chart(same, ONE_WEDGE).next
    assert found is not None
    assert (found.doubt_now, found.doubt_after) == pytest.approx(
        (lognormal(0.04), (2.0 * lognormal(0.04) + lognormal(0.04 / 13)) / 3), rel=1e-12
    )
    assert found == LogNext("54", "lone", 3, found.doubt_now, found.doubt_after)


@pytest.mark.parametrize(
    ("bag", "sentence"),
    [
        (Bag(), "the bag has no wedge; add one with: wedgelab bag add LABEL LOFT"),
        (Bag(swings=TWO.swings), "the bag has no wedge; add one with: wedgelab bag add LABEL LOFT"),
        (
            Bag(wedges=TWO.wedges),
            "the bag has no swing length; add one with: wedgelab bag swing LABEL DEGREES",
        ),
    ],
)
def test_a_bag_that_lacks_something_is_refused_by_chart_and_curves(bag: Bag, sentence: str) -> None:
    for ask in (build_chart, carry_curves):
        with pytest.raises(BadRequestError) as caught:
            ask(PLAYER, bag)
        assert str(caught.value) == sentence
        assert caught.value.exit_code == EXIT_USAGE


def test_one_wedge_with_one_swing_is_a_chart_without_gaps() -> None:
    chart = build_chart(PLAYER, Bag((Wedge("54", 54.0),), (SwingLength("9:00", 90.0),)))
    assert len(chart.cells) == 1
    assert chart.gaps == ()
    assert chart.next is not None
    assert chart.next.doubt_after < chart.next.doubt_now


def test_the_same_question_gets_the_same_chart() -> None:
    assert build_chart(PLAYER, TYPICAL_BAG) == build_chart(PLAYER, TYPICAL_BAG)


def test_curves_run_from_the_shortest_to_the_longest_swing() -> None:
    curves = carry_curves(PLAYER, TYPICAL_BAG, steps=10)
    assert [curve.wedge for curve in curves] == list(TYPICAL_BAG.wedges)
    for curve in curves:
        assert curve.swing_deg == pytest.approx([45.0 + 10.0 * i for i in range(10)], rel=1e-12)
        medians = [fake_carry_m(kind_of(curve.wedge, swing)) for swing in curve.swing_deg]
        assert curve.carry_m == pytest.approx(medians, rel=1e-12)
        for ask, got in ((0.1, curve.carry_p10_m), (0.9, curve.carry_p90_m)):
            # scipy's normal distribution is the source
            wanted = [stats.norm.ppf(ask, m, FAKE_SPREAD * m) for m in medians]
            assert got == pytest.approx(wanted, rel=1e-9)


def test_curves_of_a_single_swing_length_stay_on_it() -> None:
    (curve,) = carry_curves(PLAYER, Bag((Wedge("54", 54.0),), (SwingLength("9:00", 90.0),)), steps=3)
    assert curve.swing_deg == (90.0, 90.0, 90.0)
    assert len(set(curve.carry_m)) == 1
