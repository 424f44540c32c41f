"""Ball limits, and what leaves a lofted face."""

import math

import numpy as np
import pytest

from wedgelab.physics import ball
from wedgelab.physics.impact import friction_needed, strike

# the ball of the computed values in this file
BALL = {"mass_kg": 0.04593, "radius_m": 0.021335}


def test_ball_at_the_limits_of_the_rules() -> None:
    # R&A/USGA Equipment Rules, part 4 (2016 text): at most 1.620 oz avoirdupois = 45.93 g, at least 1.680 in = 42.67 mm
    assert pytest.approx(45.93, abs=0.005) == ball.MASS_KG * 1000
    assert pytest.approx(42.67, abs=0.005) == ball.DIAMETER_M * 1000
    assert pytest.approx(ball.DIAMETER_M) == 2 * ball.RADIUS_M
    # frontal area at r 21.335 mm is 1.42999713e-3 m2, computed; the rule's 21.336 mm is 0.01 % more
    assert pytest.approx(1.42999713e-3, rel=1.5e-4) == ball.AREA_M2


def test_standard_gravity() -> None:
    assert ball.GRAVITY_MPS2 == 9.80665  # exact by convention, NIST SP 811


def test_rolling_release_worked_by_hand() -> None:
    # Penner 2001, Am. J. Phys. 69, 563, rigid sphere on a free head: SL 46 deg, V 25, M 0.30, e 0.75, level blow;
    # computed. The reference does not print the ball's mass: its b_n fits 45.9 g (m/M = 0.153), the other four follow.
    launch = strike(
        25.0, 46.0, friction=0.40, restitution=0.75, head_mass_kg=0.30, mass_kg=0.0459, radius_m=BALL["radius_m"]
    )
    assert not launch.slides
    assert launch.spin_rpm == pytest.approx(5508.6, abs=0.05)
    assert launch.launch_deg == pytest.approx(35.420820, abs=1e-6)
    assert launch.ball_speed_mps == pytest.approx(26.814244, abs=1e-6)
    off_normal = math.radians(46.0 - float(launch.launch_deg))
    assert launch.ball_speed_mps * math.cos(off_normal) == pytest.approx(26.358459, abs=1e-6)
    assert launch.ball_speed_mps * math.sin(off_normal) == pytest.approx(4.922939, abs=1e-6)


@pytest.mark.parametrize("friction", [0.15, 0.30, 0.60])
@pytest.mark.parametrize("spin_loft_deg", [20.0, 46.0, 60.0, 75.0])
def test_the_blow_solves_the_laws_of_momentum(friction: float, spin_loft_deg: float) -> None:
    # textbook mechanics, solved here as linear equations for the velocities along the face normal (n) and the face (t)
    # after the blow: momentum of both bodies along each, I = (2/5) m r2 with the impulse at the ball's surface,
    # restitution along n, and along t either no slip at the contact or an impulse of mu times the normal one
    m, head, e, speed = 0.04593, 0.30, 0.75, 25.0
    vn, vt = speed * math.cos(math.radians(spin_loft_deg)), speed * math.sin(math.radians(spin_loft_deg))
    ball_n, head_n = np.linalg.solve([[m, head], [1.0, -1.0]], [head * vn, e * vn])
    # unknowns: ball along t, head along t, r times omega
    momentum, turning, no_slip = [m, head, 0.0], [1.0, 0.0, -0.4], [1.0, -1.0, 1.0]
    ball_t, _, r_omega = np.linalg.solve([momentum, turning, no_slip], [head * vt, 0.0, 0.0])
    slides = ball_t > friction * ball_n
    if slides:
        ball_t = friction * ball_n
        r_omega = 2.5 * ball_t
    launch = strike(speed, spin_loft_deg, friction=friction, restitution=e, head_mass_kg=head, **BALL)
    assert launch.slides == slides
    assert launch.ball_speed_mps == pytest.approx(math.hypot(ball_n, ball_t), rel=1e-12)
    assert launch.launch_deg == pytest.approx(spin_loft_deg - math.degrees(math.atan2(ball_t, ball_n)), rel=1e-12)
    assert launch.spin_rpm == pytest.approx(r_omega / 0.021335 * 30 / math.pi, rel=1e-12)
    assert head_n < vn


# loft of greatest spin at a fixed head speed: tan SL* = mu (1+e)(3.5+m/M)/(1+m/M), e 0.75, M 0.30; computed
SATURATION = [(0.20, 48.0), (0.25, 54.2), (0.30, 59.0), (0.40, 65.7)]


@pytest.mark.parametrize(("friction", "loft_deg"), SATURATION)
def test_loft_of_greatest_spin(friction: float, loft_deg: float) -> None:
    lofts = np.arange(20.0, 80.0, 0.01)
    launch = strike(25.0, lofts, friction=friction, **BALL)
    assert lofts[launch.spin_rpm.argmax()] == pytest.approx(loft_deg, abs=0.06)
    assert friction_needed(loft_deg, mass_kg=0.04593) == pytest.approx(friction, abs=0.001)


@pytest.mark.parametrize(("friction", "loft_deg"), SATURATION)
def test_the_ball_slides_above_that_loft_and_only_there(friction: float, loft_deg: float) -> None:
    assert strike(25.0, [loft_deg - 0.1, loft_deg + 0.1], friction=friction, **BALL).slides.tolist() == [False, True]


def test_a_sliding_ball_leaves_at_the_angle_of_friction_from_the_face_normal() -> None:
    # textbook mechanics: the tangential impulse is mu times the normal one, so tan(angle) = mu
    launch = strike(25.0, 60.0, friction=0.20)
    assert launch.slides
    assert np.tan(np.radians(60.0 - launch.launch_deg)) == pytest.approx(0.20, rel=1e-12)


def test_losing_friction_launches_higher_with_less_spin() -> None:
    dry, wet = strike(25.0, 54.0, friction=0.40), strike(25.0, 54.0, friction=0.10)
    assert wet.launch_deg > dry.launch_deg + 1
    assert wet.spin_rpm < dry.spin_rpm / 2


@pytest.mark.parametrize("attack_deg", [-8.0, -3.0, 2.0])
def test_only_the_angle_between_head_and_face_makes_spin(attack_deg: float) -> None:
    # turning the whole blow turns the launch with it and changes nothing else
    level, tilted = strike(25.0, 46.0), strike(25.0, 46.0 + attack_deg, attack_deg)
    assert tilted.spin_rpm == pytest.approx(level.spin_rpm, rel=1e-12)
    assert tilted.ball_speed_mps == pytest.approx(level.ball_speed_mps, rel=1e-12)
    assert tilted.launch_deg == pytest.approx(level.launch_deg + attack_deg, rel=1e-12)


@pytest.mark.parametrize("loft_deg", [10.0, 30.0, 46.0, 54.0, 70.0])
@pytest.mark.parametrize("friction", [0.1, 0.3, 0.6])
def test_ball_and_head_have_no_more_energy_than_the_head_had(loft_deg: float, friction: float) -> None:
    # momentum gives the head's velocity after the blow; I = (2/5) m r2, the convention of Equipment Rules literature
    m, head, speed, radius = 0.04593, 0.30, 25.0, 0.021335
    launch = strike(speed, loft_deg, friction=friction, head_mass_kg=head, **BALL)
    direction = math.radians(float(launch.launch_deg))
    vx, vy = (float(launch.ball_speed_mps) * part for part in (math.cos(direction), math.sin(direction)))
    omega = float(launch.spin_rpm) * math.pi / 30
    after = 0.5 * m * (vx**2 + vy**2) + 0.2 * m * radius**2 * omega**2
    after += 0.5 * head * ((speed - m / head * vx) ** 2 + (m / head * vy) ** 2)
    assert after < 0.5 * head * speed**2


def test_one_number_an_array_and_nan() -> None:
    launch = strike([20.0, np.nan, 25.0], [[46.0], [np.nan]])
    assert launch.spin_rpm.shape == (2, 3)
    assert np.isfinite(launch.spin_rpm).tolist() == [[True, False, True], [False, False, False]]
    assert launch.spin_rpm[0, 2] == strike(25.0, 46.0).spin_rpm
    assert launch.launch_deg[0, 0] == strike(20.0, 46.0).launch_deg
