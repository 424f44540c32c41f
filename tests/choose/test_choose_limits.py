"""Limits on spin, apex and landing angle, and the chances that go with a limit on spin, on a player in closed form."""

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from tests.fakes import FAKE_SPIN_SD_RPM, FAKE_SPREAD, TYPICAL_BAG, FakePredictor, as_predictor
from wedgelab.choose import NEAR_BEST, Choice, Limits, Option, Want, choose
from wedgelab.choose.limits import LimitsFailError
from wedgelab.errors import EXIT_FAILURE, NothingFitsError
from wedgelab.units import YARD_M, LengthUnit
from wedgelab.window import DEFAULT_WINDOW

PLAYER = as_predictor(FakePredictor())
SPINS = st.floats(3000.0, 9000.0)


def pick(target_m: float = 65.0, *, unit: LengthUnit = "yd", want: Want = "window", **limits: Any) -> Choice:
    return choose(PLAYER, TYPICAL_BAG, target_m, limits=Limits(**limits), window=DEFAULT_WINDOW, want=want, unit=unit)


def failure(target_m: float = 65.0, **limits: Any) -> LimitsFailError:
    with pytest.raises(LimitsFailError) as caught:
        pick(target_m, **limits)
    assert isinstance(caught.value, NothingFitsError)
    assert caught.value.exit_code == EXIT_FAILURE
    return caught.value


@settings(max_examples=50, deadline=None, derandomize=True)
@given(
    target_m=st.floats(40.0, 100.0), min_spin_rpm=st.none() | SPINS, max_apex_m=st.none() | st.floats(8.0, 30.0),
    min_land_deg=st.none() | st.floats(40.0, 53.0),
)  # fmt: skip
def test_every_option_keeps_the_limits_and_no_other_was_dropped(
    target_m: float, min_spin_rpm: float | None, max_apex_m: float | None, min_land_deg: float | None
) -> None:
    limits = Limits(min_spin_rpm, max_apex_m, min_land_deg)

    def keeps(option: Option) -> bool:
        return (
            option.spin_rpm >= (min_spin_rpm or 0.0)
            and option.flight.apex_m <= (max_apex_m or 1e9)
            and option.flight.land_deg >= (min_land_deg or 0.0)
        )

    free = pick(target_m)
    wanted = {(o.wedge, o.swing) for o in free.options if keeps(o)}
    try:
        found = choose(PLAYER, TYPICAL_BAG, target_m, window=DEFAULT_WINDOW, limits=limits)
    except LimitsFailError:
        assert not wanted
        return
    assert {(o.wedge, o.swing) for o in found.options} == wanted
    assert found.limits == limits


def test_without_a_limit_nothing_is_drawn_and_no_chance_of_spin_is_said() -> None:
    choice = pick()
    assert (choice.n_draws, choice.draw_se) == (0, None)
    assert {(o.spin_probability, o.both_probability) for o in choice.options} == {(None, None)}
    assert all(o.chance == o.window_probability for o in choice.options)
    assert pick(max_apex_m=30.0).n_draws == 0


def test_the_chances_are_those_of_the_joint_law() -> None:
    choice = pick(min_spin_rpm=5000.0)
    assert choice.draw_se == pytest.approx(0.5 / choice.n_draws**0.5)
    assert choice.draw_se is not None
    assert choice.draw_se < 0.004
    low, high = choice.window_low_m, choice.window_high_m
    for option in choice.options:
        # scipy's normals: the fake's carry and spin are independent
        ball, spin = stats.norm(option.carry_m, FAKE_SPREAD * option.carry_m), stats.norm(option.spin_rpm, 400.0)
        over = float(spin.sf(5000.0))
        assert FAKE_SPIN_SD_RPM == 400.0
        assert option.spin_probability == pytest.approx(over, abs=4.0 * choice.draw_se)
        both = over * float(ball.cdf(high) - ball.cdf(low))
        assert option.both_probability == pytest.approx(both, abs=4.0 * choice.draw_se)
        assert option.chance == option.both_probability


class Tied(FakePredictor):
    """A ball that flies farther spins more: every chance of both is worked out by hand from one normal number."""

    def sample(self, kinds: Any, n: int, rng: Any) -> Any:
        z = rng.standard_normal((len(kinds), n))
        carry = [
            [self.carry_m(kind) * (1.0 + FAKE_SPREAD * x) for x in row] for kind, row in zip(kinds, z, strict=True)
        ]
        spin = [[self.spin_rpm(kind) + 400.0 * x for x in row] for kind, row in zip(kinds, z, strict=True)]
        import numpy as np

        return np.array(carry), np.array(spin)


def test_carry_and_spin_that_go_together_are_not_taken_for_independent() -> None:
    choice = choose(Tied(), TYPICAL_BAG, 65.0, window=DEFAULT_WINDOW, limits=Limits(min_spin_rpm=5500.0))
    assert choice.draw_se is not None
    for option in choice.options:
        edges = [(edge / option.carry_m - 1.0) / FAKE_SPREAD for edge in (choice.window_low_m, choice.window_high_m)]
        least = (5500.0 - option.spin_rpm) / 400.0
        both = max(0.0, float(stats.norm.cdf(edges[1]) - stats.norm.cdf(max(edges[0], least))))
        assert option.both_probability == pytest.approx(both, abs=4.0 * choice.draw_se)


@settings(max_examples=30, deadline=None, derandomize=True)
@given(target_m=st.floats(40.0, 100.0), min_spin_rpm=SPINS)
def test_both_is_never_more_than_either_nor_less_than_they_must_share(target_m: float, min_spin_rpm: float) -> None:
    try:
        choice = pick(target_m, min_spin_rpm=min_spin_rpm)
    except LimitsFailError:
        return
    for o in choice.options:
        assert o.spin_probability is not None
        assert o.both_probability is not None
        assert o.both_probability <= min(o.window_probability, o.spin_probability)
        assert o.both_probability >= max(0.0, o.window_probability + o.spin_probability - 1.0) - 1e-12
    chances = [o.chance for o in choice.options]
    assert chances == sorted(chances, reverse=True)
    assert pick(target_m, min_spin_rpm=min_spin_rpm) == choice  # the same question, the same draws


def test_a_wish_looks_only_at_three_quarters_of_the_best_chance_of_both() -> None:
    choice = pick(min_spin_rpm=5000.0, want="soft")
    assert choice.least_probability == pytest.approx(NEAR_BEST * max(o.chance for o in choice.options), abs=0.01)
    near = [o for o in choice.options if o.chance >= choice.least_probability and not choice.outside_m(o)]
    assert len(near) > 1
    assert list(choice.options[: len(near)]) == list(choice.wished) == near
    assert [o.flight.land_deg for o in near] == sorted((o.flight.land_deg for o in near), reverse=True)


MOST = max(pick().options, key=lambda o: o.spin_rpm)
LOWEST = min(pick().options, key=lambda o: o.flight.apex_m)
STEEPEST = max(pick().options, key=lambda o: (o.flight.land_deg, o.chance))


def test_the_limit_that_fails_is_named_with_the_nearest_that_passes() -> None:
    error = failure(min_spin_rpm=12000.0, min_land_deg=30.0)
    assert error.failed == ("min_spin_rpm",)
    most, passing = round(MOST.spin_rpm), 50 * int(MOST.spin_rpm // 50)
    assert str(error) == (
        f"no shot for 71.1 yd spins 12000 rpm or more; the most spin is {most} rpm ({MOST.name}), "
        f"--min-spin {passing} has an answer"
    )
    error = failure(max_apex_m=3 * YARD_M, unit="yd")
    assert error.failed == ("max_apex_m",)
    assert str(error).startswith("no shot for 71.1 yd stays under 3 yd; the lowest apex is ")
    assert f"({LOWEST.name}), --max-apex " in str(error)
    error = failure(min_land_deg=60.0, unit="m")
    assert str(error) == (
        f"no shot for 65 m lands at 60 deg or more; the steepest landing is 52.0 deg ({STEEPEST.name}), "
        "--min-land 52 has an answer"
    )


@settings(max_examples=50, deadline=None, derandomize=True)
@given(
    target_m=st.floats(40.0, 100.0), min_spin_rpm=st.none() | SPINS, max_apex_m=st.none() | st.floats(3.0, 30.0),
    min_land_deg=st.none() | st.floats(35.0, 60.0), unit=st.sampled_from(["yd", "m"]),
)  # fmt: skip
def test_what_is_offered_instead_has_an_answer(
    target_m: float,
    min_spin_rpm: float | None,
    max_apex_m: float | None,
    min_land_deg: float | None,
    unit: LengthUnit,
) -> None:
    limits = Limits(min_spin_rpm, max_apex_m, min_land_deg)
    error = refused(target_m, limits, unit)
    if error is None:
        return
    assert set(error.nearest) == set(error.failed) <= set(limits.given)
    each = len(error.failed) > 1 and refused(target_m, alone(limits, error.failed[0]), unit) is not None
    for name, value in error.nearest.items():
        # the other limits may stay, as long as they have an answer among themselves
        eased = replace(Limits(), **{name: value}) if each else replace(limits, **{name: value})
        others = [other for other in limits.given if other != name]
        if each or refused(target_m, alone(limits, *others), unit) is None:
            assert refused(target_m, eased, unit) is None
    # and to the letter: all that was asked, but for what the sentence leaves out. It once left out without a word
    for said, (name, value) in zip(str(error).split("; ")[1:], error.nearest.items(), strict=True):
        left_out = {other: None for other, flag in FLAGS.items() if flag in said.partition(" without ")[2]}
        assert name not in left_out
        assert refused(target_m, replace(limits, **left_out | {name: value}), unit) is None


FLAGS = {"min_spin_rpm": "--min-spin", "max_apex_m": "--max-apex", "min_land_deg": "--min-land"}


def refused(target_m: float, limits: Limits, unit: LengthUnit) -> LimitsFailError | None:
    try:
        choose(PLAYER, TYPICAL_BAG, target_m, window=DEFAULT_WINDOW, limits=limits, unit=unit)
    except LimitsFailError as error:
        return error
    return None


def alone(limits: Limits, *names: str) -> Limits:
    return Limits(**{name: getattr(limits, name) for name in names})


def test_two_limits_that_fail_each_are_both_named() -> None:
    error = failure(min_spin_rpm=12000.0, min_land_deg=70.0)
    assert error.failed == ("min_spin_rpm", "min_land_deg")
    assert "spins 12000 rpm or more, and none lands at 70 deg or more; " in str(error)


def test_limits_that_contradict_each_other_are_named_together() -> None:
    # the apex of the fake is a quarter of the carry, its spin grows with it: low and spinning do not go together
    most, lowest = MOST.spin_rpm - 1.0, LOWEST.flight.apex_m + 0.01
    assert pick(min_spin_rpm=most).options
    assert pick(max_apex_m=lowest).options
    error = failure(min_spin_rpm=most, max_apex_m=lowest, min_land_deg=30.0)
    assert error.failed == ("min_spin_rpm", "max_apex_m")
    said = str(error)
    assert f"spins {round(most)} rpm or more and stays under " in said
    assert f"with --min-spin {round(most)} the lowest apex is " in said
    assert "the most spin is " in said
    assert "land" not in said
