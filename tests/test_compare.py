"""Two players beside each other: what is matched, what differs, and how often the verdict is right."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats
from wcwidth import wcswidth

from tests.fakes import TYPICAL_BAG, FakePredictor, as_predictor, fake_carry_m, fake_covariance
from wedgelab.choose import Choice, Limits, choose
from wedgelab.compare import Comparison, Side, chart_doubt, compare_charts, compare_choices, match
from wedgelab.errors import BadRequestError
from wedgelab.model.observations import observations
from wedgelab.model.player import fit_observations
from wedgelab.prediction import Day, ShotKind
from wedgelab.render.compare_text import choices_line, comparison_document, comparison_text
from wedgelab.shots import Bag, Conditions, SwingLength, Wedge
from wedgelab.simulate import InventedPlayer, hit, invent_player, true_medians
from wedgelab.units import LengthUnit
from wedgelab.window import WindowRule

PLAYER = FakePredictor()
SEED = 61803  # written down before the first run


def longer_by(share: float) -> FakePredictor:
    return FakePredictor(carry_m=lambda kind: (1.0 + share) * fake_carry_m(kind), n_shots=20)


def side(name: str, fake: FakePredictor = PLAYER, bag: Bag = TYPICAL_BAG) -> Side:
    return Side(name, as_predictor(fake), bag)


def bag_of(*wedges: tuple[str, float], swings: tuple[tuple[str, float], ...] = (("9:00", 90.0),)) -> Bag:
    return Bag(tuple(Wedge(*wedge) for wedge in wedges), tuple(SwingLength(*swing) for swing in swings))


def paired(comparison: Comparison) -> list[tuple[str, str]]:
    return [(a.label, b.label) for a, b in comparison.wedges]


def test_rows_are_the_wedges_and_columns_the_swings_that_both_have() -> None:
    theirs = bag_of(("50", 50.0), ("60", 60.0), ("64", 64.0), swings=(("9:00", 90.0), ("full", 165.0)))
    comparison = compare_charts(side("Ada"), side("Kim", bag=theirs))
    assert paired(comparison) == [("50", "50"), ("60", "60")]
    assert [a.label for a, _ in comparison.swings] == ["9:00"]
    assert [[shot.first.wedge for shot in row] for row in comparison.rows] == [["50"], ["60"]]
    assert [wedge.label for wedge in comparison.only_first.wedges] == ["55"]
    assert [swing.label for swing in comparison.only_first.swings] == ["7:30", "10:30"]
    assert [wedge.label for wedge in comparison.only_second.wedges] == ["64"]
    assert [swing.label for swing in comparison.only_second.swings] == ["full"]


@pytest.mark.parametrize(
    ("ours", "theirs", "pairs"),
    [
        (("54", 54.0), ("SW", 55.0), [("54", "SW")]),  # a degree of loft is the same club
        (("54", 54.0), ("SW", 55.1), []),
        (("sw", 54.0), ("SW", 57.0), [("sw", "SW")]),  # else the label
    ],
)
def test_wedges_are_the_same_within_a_degree_of_loft_or_by_their_label(
    ours: tuple[str, float], theirs: tuple[str, float], pairs: list[tuple[str, str]]
) -> None:
    comparison = compare_charts(side("Ada", bag=bag_of(ours)), side("Kim", bag=bag_of(theirs)))
    assert paired(comparison) == pairs


def test_the_nearest_lofts_go_together_before_the_labels() -> None:
    ours, theirs = bag_of(("A", 54.0), ("B", 55.0)), bag_of(("B", 54.2), ("C", 55.4))
    assert paired(compare_charts(side("Ada", bag=ours), side("Kim", bag=theirs))) == [("A", "B"), ("B", "C")]


_LOFTS = st.lists(st.integers(88, 120).map(lambda half: half / 2), min_size=0, max_size=5, unique=True)


@given(_LOFTS, _LOFTS)
def test_every_club_is_matched_once_and_the_order_of_the_players_is_no_matter(a: list[float], b: list[float]) -> None:
    ours, theirs = [Wedge(f"{x:g}", x) for x in a], [Wedge(f"{x:g}", x) for x in b]
    pairs = match(ours, theirs, lambda wedge: wedge.loft_deg, 1.0)
    assert len({one.label for one, _ in pairs}) == len({other.label for _, other in pairs}) == len(pairs)
    assert all(abs(one.loft_deg - other.loft_deg) <= 1.0 for one, other in pairs)
    back = match(theirs, ours, lambda wedge: wedge.loft_deg, 1.0)
    assert len(back) == len(pairs)
    # whatever has a partner of exactly its loft gets it
    assert {x for x in a if x in b} <= {one.loft_deg for one, other in pairs if one == other}


def test_a_difference_and_its_standard_error_by_hand() -> None:
    # medians 80 and 76 m with log SDs 0.03 and 0.04: 4 m, sqrt(2.4^2 + 3.04^2) = 3.8732; spin 90 rpm each: 127.28
    one = FakePredictor(carry_m=lambda _: 80.0, covariance=lambda _a, _b: 0.0009, spin_rpm=lambda _: 8200.0)
    other = FakePredictor(carry_m=lambda _: 76.0, covariance=lambda _a, _b: 0.0016, spin_rpm=lambda _: 8000.0)
    bag = bag_of(("54", 54.0))
    comparison = compare_charts(side("Ada", one, bag), side("Kim", other, bag))
    (shot,) = comparison.shots
    assert shot.carry_difference_m == pytest.approx(4.0)
    assert shot.carry_difference_se_m == pytest.approx(3.8732, abs=1e-4)
    assert shot.spin_difference_rpm == pytest.approx(200.0)
    assert shot.spin_difference_se_rpm == pytest.approx(90.0 * math.sqrt(2.0))
    # 80 % of a normal lie within 1.2816 standard errors (scipy.stats.norm): 4 / 3.87 is less, 200 / 127 more
    assert stats.norm.ppf(0.9) == pytest.approx(1.28155, abs=1e-5)
    assert (shot.carry_told_apart, shot.spin_told_apart) == (False, True)
    assert comparison.carry_ratio == pytest.approx(80.0 / 76.0)
    assert comparison.carry_ratio_se == pytest.approx(80.0 / 76.0 * 0.05)  # sqrt(0.03^2 + 0.04^2)
    assert comparison.first_doubt_now == pytest.approx(math.sqrt(math.exp(2 * 0.03**2) - math.exp(0.03**2)))
    assert comparison.second_doubt_now == pytest.approx(math.sqrt(math.exp(2 * 0.04**2) - math.exp(0.04**2)))


def test_the_ratio_of_all_carries_counts_that_cells_are_known_together() -> None:
    comparison = compare_charts(side("Ada", longer_by(0.07)), side("Kim"))
    assert comparison.carry_ratio == pytest.approx(1.07)
    kinds = [ShotKind(c.wedge, c.loft_deg, c.swing_deg) for c in (shot.first for shot in comparison.shots)]
    mean = sum(fake_covariance(a, b) for a in kinds for b in kinds) / len(kinds) ** 2
    assert comparison.carry_ratio_se == pytest.approx(1.07 * math.sqrt(2.0 * mean))


@given(st.floats(-0.4, 0.4))
def test_the_second_against_the_first_is_the_first_against_the_second_with_the_other_sign(share: float) -> None:
    there = compare_charts(side("Ada", longer_by(share)), side("Kim"))
    back = compare_charts(side("Kim"), side("Ada", longer_by(share)))
    for one, other in zip(there.shots, back.shots, strict=True):
        assert one.carry_difference_m == pytest.approx(-(other.carry_difference_m or 0.0))
        assert one.carry_difference_se_m == pytest.approx(other.carry_difference_se_m)
        assert (one.carry_told_apart, one.spin_told_apart) == (other.carry_told_apart, other.spin_told_apart)
    assert there.carry_ratio is not None
    assert back.carry_ratio == pytest.approx(1.0 / there.carry_ratio)


def test_a_ball_that_never_gets_up_to_the_green_has_no_difference() -> None:
    grounded = FakePredictor(carry_m=lambda kind: 0.1 if kind.swing_deg == 45.0 else fake_carry_m(kind))
    comparison = compare_charts(side("Ada", grounded), side("Kim"), day=Day(rise_m=20.0))
    for shot in comparison.shots:
        gone = shot.first.swing_deg == 45.0
        assert (shot.carry_difference_m is None, shot.carry_difference_se_m is None) == (gone, gone)
        assert not (gone and shot.carry_told_apart)
    assert comparison.carry_ratio == pytest.approx(1.0)
    rows = [line.split() for line in comparison_text(comparison, "yd").splitlines()]
    assert sum(row[:2] == ["differs", "-"] for row in rows) == 3  # the carries of the first column, a wedge each


def test_bags_without_a_common_shot_say_what_each_has() -> None:
    comparison = compare_charts(side("Ada", bag=bag_of(("50", 50.0))), side("Kim", bag=bag_of(("58", 58.0))))
    assert (comparison.shots, comparison.carry_ratio, comparison.carry_ratio_told_apart) == ((), None, False)
    text = " ".join(comparison_text(comparison, "yd").split())
    assert "Only in Ada's bag: 50. Only in Kim's bag: 58." in text
    assert "There is no shot that both can play to compare." in text


def test_the_doubt_of_a_chart_is_nothing_without_cells() -> None:
    assert math.isnan(chart_doubt(PLAYER, Bag()))
    assert chart_doubt(PLAYER, TYPICAL_BAG) == pytest.approx(math.sqrt(math.exp(2 * 0.003) - math.exp(0.003)))


# text


LONG = ("Anna-Maria of the upper and of the lower field", "楔" * 30)


@pytest.mark.parametrize("names", [("Ada", "Kim"), LONG])
@pytest.mark.parametrize("unit", ["yd", "m"])
def test_the_text_fits_80_columns_whatever_the_names(names: tuple[str, str], unit: LengthUnit) -> None:
    ours = bag_of(
        (LONG[0][:40], 54.0), ("58", 58.0), swings=tuple((f"swing number {i}", 20.0 * i) for i in range(1, 8))
    )
    text = comparison_text(compare_charts(side(names[0], bag=ours), side(names[1], longer_by(-0.3), ours)), unit)
    assert max(wcswidth(line) for line in text.splitlines()) <= 80


def test_the_text_has_both_carries_and_a_star_where_they_are_told_apart() -> None:
    sure = FakePredictor(covariance=lambda _a, _b: 0.0001)
    surer = FakePredictor(carry_m=lambda kind: 1.1 * fake_carry_m(kind), covariance=lambda _a, _b: 0.0001)
    bag = bag_of(("55", 55.0), swings=(("9:00", 90.0), ("full", 165.0)))
    text = comparison_text(compare_charts(side("Ada", sure, bag), side("Kim", surer, bag)), "m")
    # 100 (1.875 - 0.015 55) sin 45 = 74.2, sin 82.5 = 104.1; a tenth more for Kim; a standard error of 1 %
    rows = [line.split() for line in text.splitlines()]
    assert ["Ada", "74", "±0.7", "~104", "±1.0"] in rows
    assert ["Kim", "82", "±0.8", "~115", "±1.1"] in rows
    assert ["differs", "*-7", "±1.1", "*-10", "±1.5"] in rows
    said = " ".join(text.split())
    assert "Over the 2 shots that both have Ada's carries are 9.1 % shorter than Kim's, ±1.3 (told apart)" in said
    assert "one by one 2 of 2 carries and 0 of 2 spins are told apart" in said


def test_what_was_matched_under_two_names_is_said() -> None:
    ours = bag_of(("54", 54.0), swings=(("full", 165.0),))
    theirs = bag_of(("SW", 54.5), swings=(("full", 150.0),))
    text = " ".join(comparison_text(compare_charts(side("Ada", bag=ours), side("Kim", bag=theirs)), "yd").split())
    assert "Compared as the same, Ada's first: 54 with SW (54.5); full (165 deg) with full (150 deg)." in text


def test_the_air_of_both_is_said() -> None:
    day = Day(Conditions(air_temp_c=4.0), 3.0)
    text = comparison_text(compare_charts(side("Ada"), side("Kim"), day=day), "m")
    assert "both for 4 C, green 3 m above the ball, else standard air" in " ".join(text.split())
    assert '"rise_m": 3.0' in comparison_document(compare_charts(side("Ada"), side("Kim"), day=day), [])


# two choices


def choice_of(fake: FakePredictor, target_m: float = 70.0) -> Choice:
    return choose(as_predictor(fake), TYPICAL_BAG, target_m, window=WindowRule())


def test_the_better_chance_is_named_with_its_shot() -> None:
    steady = FakePredictor(carry_sd_m=lambda kind: 0.03 * fake_carry_m(kind))
    comparison = compare_choices(choice_of(steady), choice_of(PLAYER))
    assert comparison.better == "first"
    assert comparison.first == choice_of(steady).best
    assert compare_choices(choice_of(PLAYER), choice_of(steady)).better == "second"
    said = choices_line(comparison, "Ada", "Kim", "m")
    first, second = (round(100 * o.window_probability) for o in (comparison.first, comparison.second))
    assert f"Ada with {comparison.first.wedge} at {comparison.first.swing} {first} %, Kim with" in said
    assert f"Ada has the better chance, by {round(100 * comparison.chance_difference)} points." in said
    assert first - second == pytest.approx(100 * comparison.chance_difference, abs=1.0)


def test_less_than_five_points_is_not_called_better() -> None:
    comparison = compare_choices(choice_of(PLAYER), choice_of(PLAYER))
    assert (comparison.better, comparison.chance_difference) == ("", 0.0)
    said = choices_line(comparison, "Ada", "Kim", "yd")
    assert "neither chance is clearly the better" in said
    # the fake's doubt, 5.5 % against a spread of 6 %, is most of it
    assert "Few balls tell where Ada's shot carries, which costs part of that chance." in said
    sure = FakePredictor(covariance=lambda _a, _b: 0.0001)
    assert "few balls" not in choices_line(compare_choices(choice_of(sure), choice_of(sure)), "Ada", "Kim", "yd")


def test_with_a_least_spin_it_is_the_chance_of_both() -> None:
    limits = Limits(min_spin_rpm=5000.0)
    steady = FakePredictor(carry_sd_m=lambda kind: 0.03 * fake_carry_m(kind))
    choices = [
        choose(as_predictor(fake), TYPICAL_BAG, 70.0, window=WindowRule(), limits=limits) for fake in (steady, PLAYER)
    ]
    comparison = compare_choices(*choices)
    both = [option.both_probability for option in (comparison.first, comparison.second)]
    assert both[0] is not None
    assert both[1] is not None
    assert comparison.chance_difference == pytest.approx(both[0] - both[1])
    said = choices_line(comparison, "Ada", "Kim", "m")
    assert said.startswith("Inside the window at 70 m and over the spin asked for: Ada with")
    with pytest.raises(BadRequestError, match="ask both for the same"):
        compare_choices(choices[0], choice_of(PLAYER))


def test_chances_for_different_targets_are_not_compared() -> None:
    with pytest.raises(BadRequestError, match="different targets, windows or limits; ask both for the same"):
        compare_choices(choice_of(PLAYER, 70.0), choice_of(PLAYER, 60.0))


# known truth

SWINGS_DEG = (45.0, 90.0, 135.0, 165.0)


def fitted(name: str, player: InventedPlayer, rng: np.random.Generator) -> Side:
    """Return a player with two balls a cell, one on each of two days, and what the model makes of them."""
    day, wedge, swing = np.indices((2, len(player.wedges), len(SWINGS_DEG)))
    form = rng.standard_normal(2)
    balls = hit(player, wedge, np.array(SWINGS_DEG)[swing], rng, session=form[day])
    log = observations(
        carry_m=balls.carry_m,
        spin_rpm=balls.spin_rpm,
        loft_deg=np.array([player.wedges[i].loft_deg for i in wedge.ravel()]),
        swing_deg=np.array(SWINGS_DEG)[swing.ravel()],
        wedge=[player.wedges[i].label for i in wedge.ravel()],
        session=[f"day {i}" for i in day.ravel()],
    )
    swings = tuple(SwingLength(f"{deg:g}deg", deg) for deg in SWINGS_DEG)
    return Side(name, fit_observations(log), Bag(player.wedges, swings))


def test_intervals_hold_the_true_difference_and_equal_players_are_seldom_told_apart() -> None:
    """A larger run (60 pairs, three sizes of log) held 84-86 % of carries, 84-91 % of spins; 9-16 % stars by chance."""
    rng = np.random.default_rng(SEED)
    held: list[bool] = []
    stars: list[bool] = []
    for _ in range(5):
        ada, kim = invent_player(rng), invent_player(rng)
        truth = [true_medians(player, SWINGS_DEG, balls=101)[0] for player in (ada, kim)]
        lofts = [[wedge.loft_deg for wedge in player.wedges] for player in (ada, kim)]
        first = fitted("Ada", ada, rng)
        comparison = compare_charts(first, fitted("Kim", kim, rng))
        for (a, b), row in zip(comparison.wedges, comparison.rows, strict=True):
            i, j = lofts[0].index(a.loft_deg), lofts[1].index(b.loft_deg)
            for k, shot in enumerate(row):
                assert shot.carry_difference_m is not None
                assert shot.carry_difference_se_m is not None
                off = shot.carry_difference_m - float(truth[0][i, k] - truth[1][j, k])
                held.append(abs(off) < 1.28155 * shot.carry_difference_se_m)
        stars += [shot.carry_told_apart for shot in compare_charts(first, fitted("again", ada, rng)).shots]
    assert len(held) >= 20
    assert 0.68 < np.mean(held) < 0.97
    assert 0.0 < np.mean(stars) < 0.25
