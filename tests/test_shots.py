"""The bag and the logged balls: limits, names, look-ups, and records that cannot be changed."""

import dataclasses
import uuid
from typing import Any

import pytest

from wedgelab.errors import BadNameError, BadRequestError, OutOfRangeError, UnknownNameError, UnreadableValueError
from wedgelab.shots import (
    CONDITION_COLUMNS,
    DEFAULT_SWINGS,
    LIES,
    LIMITS,
    SHOT_COLUMNS,
    STRIKES,
    TRAJECTORIES,
    Bag,
    Conditions,
    Shot,
    SwingLength,
    Wedge,
    check_limits,
    check_moment,
    clean_text,
    count_sessions,
    new_id,
)
from wedgelab.units import parse_swing_deg

# every hard limit, written out by hand: column, low, high, a value just under, one just over, and the words in
# which such a value is refused
LIMIT_ROWS = [
    ("loft_deg", 20, 75, 19.9, 75.1, "loft {} deg is outside 20.0 to 75.0 deg"),
    ("bounce_deg", -5, 30, -5.1, 30.1, "bounce {} deg is outside -5.0 to 30.0 deg"),
    ("swing_deg", 5, 210, 4.9, 210.1, "swing {} deg is outside 5.0 to 210.0 deg"),
    ("carry_m", 0.5, 250, 0.4, 250.1, "carry {} m is outside 0.5 to 250.0 m"),
    ("total_m", 0, 300, -0.1, 300.1, "total {} m is outside 0.0 to 300.0 m"),
    ("offline_m", -150, 150, -150.1, 150.1, "offline {} m is outside -150.0 to 150.0 m"),
    ("ball_speed_mps", 1, 80, 0.9, 80.1, "ball speed {} m/s is outside 1.0 to 80.0 m/s"),
    ("club_speed_mps", 1, 70, 0.9, 70.1, "club speed {} m/s is outside 1.0 to 70.0 m/s"),
    ("launch_deg", -10, 80, -10.1, 80.1, "launch {} deg is outside -10.0 to 80.0 deg"),
    ("spin_rpm", 0, 16000, -1, 16001, "spin {} rpm is outside 0 to 16000 rpm"),
    ("land_deg", 0, 90, -0.1, 90.1, "land {} deg is outside 0.0 to 90.0 deg"),
    ("apex_m", 0, 100, -0.1, 100.1, "apex {} m is outside 0.0 to 100.0 m"),
    ("target_m", 0.5, 250, 0.4, 250.1, "target {} m is outside 0.5 to 250.0 m"),
    ("guess_m", 0.5, 250, 0.4, 250.1, "guess {} m is outside 0.5 to 250.0 m"),
    ("window_m", 0.1, 50, 0.0, 50.1, "window {} m is outside 0.1 to 50.0 m"),
    ("advised_swing_deg", 5, 210, 4.9, 210.1, "advised swing {} deg is outside 5.0 to 210.0 deg"),
    ("air_temp_c", -40, 60, -40.1, 60.1, "air temp {} C is outside -40.0 to 60.0 C"),
    ("station_pressure_hpa", 500, 1100, 499.9, 1100.1, "station pressure {} hPa is outside 500.0 to 1100.0 hPa"),
    ("humidity_pct", 0, 100, -1, 101, "humidity {} % is outside 0 to 100 %"),
    ("altitude_m", -450, 5000, -451, 5001, "altitude {} m is outside -450 to 5000 m"),
    ("wind_mps", -30, 30, -30.1, 30.1, "wind {} m/s is outside -30.0 to 30.0 m/s"),
    ("cross_wind_mps", -30, 30, -30.1, 30.1, "cross wind {} m/s is outside -30.0 to 30.0 m/s"),
    ("sea_level_pressure_hpa", 920, 1060, 919.9, 1060.1, "sea level pressure {} hPa is outside 920.0 to 1060.0 hPa"),
    ("head_wind_mps", -30, 30, -30.1, 30.1, "head wind {} m/s is outside -30.0 to 30.0 m/s"),
]

GOOD: dict[str, Any] = {
    "shot_id": "0f3c", "player": "Player One", "session": "2026-06-03", "hit_at": "2026-06-03T18:30:00+02:00",
    "wedge": "54", "loft_deg": 54, "swing": "9:00", "swing_deg": 90, "carry_m": 62.5,
}  # fmt: skip


def _sentence(error: pytest.ExceptionInfo[Exception]) -> str:
    return str(error.value)


# --- limits


def test_the_rows_cover_every_limit() -> None:
    assert [row[0] for row in LIMIT_ROWS] == list(LIMITS)


@pytest.mark.parametrize(("name", "low", "high"), [row[:3] for row in LIMIT_ROWS])
def test_both_ends_of_a_limit_are_allowed(name: str, low: float, high: float) -> None:
    assert (check_limits(name, low), check_limits(name, high)) == (low, high)


@pytest.mark.parametrize(
    ("name", "value", "shown", "words"),
    [
        (name, value, shown, words)
        for name, _, _, under, over, words in LIMIT_ROWS
        for value, shown in (
            (under, str(under)),
            (over, str(over)),
            (float("nan"), "nan"),
            (float("inf"), "inf"),
            (float("-inf"), "-inf"),
        )
    ],
)
def test_outside_a_limit_is_refused(name: str, value: float, shown: str, words: str) -> None:
    with pytest.raises(OutOfRangeError) as caught:
        check_limits(name, value)
    assert _sentence(caught) == f"{words.format(shown)}; check the number and its unit"


@pytest.mark.parametrize(
    ("name", "value", "seen"),
    [
        ("carry_m", 250.04, "carry 250.04 m"),  # never "250.0 m is outside 0.5 to 250.0 m"
        ("carry_m", 0.499, "carry 0.499 m"),
        ("spin_rpm", -0.3, "spin -0.3 rpm"),
        ("humidity_pct", 100.4, "humidity 100.4 %"),
        ("carry_m", 1e30, "carry 1e+30 m"),
        ("carry_m", -1e300, "carry -1e+300 m"),
        ("carry_m", 274.32, "carry 274.3 m"),
    ],
)
def test_the_refused_value_does_not_look_allowed_nor_fill_the_screen(name: str, value: float, seen: str) -> None:
    with pytest.raises(OutOfRangeError) as caught:
        check_limits(name, value)
    assert _sentence(caught).startswith(f"{seen} is outside ")


# --- names


@pytest.mark.parametrize(
    ("text", "cleaned"),
    [
        ("54", "54"),
        ("  Gap wedge ", "Gap wedge"),
        ("Gru\u0308n", "Gr\u00fcn"),
        ("x" * 40, "x" * 40),
        ("\u5de6", "\u5de6"),
    ],
)
def test_name_taken(text: str, cleaned: str) -> None:
    assert clean_text("wedge", text, 40) == cleaned
    assert Wedge(text, 54).label == cleaned
    assert SwingLength(text, 90).label == cleaned


CONTROL = "leave out control and invisible characters"


@pytest.mark.parametrize(
    ("text", "shown", "wanted"),
    [
        ("", "''", "give at least one visible character"),
        ("   ", "'   '", "give at least one visible character"),
        ("x" * 41, f"'{'x' * 41}'", "use at most 40 characters, this has 41"),
        ("5\x1b[2J4", r"'5\x1b[2J4'", CONTROL),
        ("5\n4", r"'5\n4'", CONTROL),
        ("5\x004", r"'5\x004'", CONTROL),
        ("\u202e45", r"'\u202e45'", CONTROL),  # right-to-left override
        ("54\u200f", r"'54\u200f'", CONTROL),  # right-to-left mark
        ("5\u200b4", r"'5\u200b4'", CONTROL),  # zero-width space
        ("\ue000", r"'\ue000'", CONTROL),  # private use
        ("5\u20284", r"'5\u20284'", CONTROL),  # line separator
        ("5\ud8004", r"'5\ud8004'", CONTROL),  # half of a pair
    ],
)
def test_name_refused(text: str, shown: str, wanted: str) -> None:
    with pytest.raises(BadNameError) as caught:
        Wedge(text, 54)
    assert _sentence(caught) == f"wedge {shown} cannot be used; {wanted}"
    with pytest.raises(BadNameError) as caught:
        SwingLength(text, 90)
    assert _sentence(caught) == f"swing {shown} cannot be used; {wanted}"


def test_an_optional_text_may_be_empty() -> None:
    assert clean_text("note", "  ", 1000, required=False) == ""


# --- times and ids


@pytest.mark.parametrize(
    "text", ["2026-06-03T18:30:00+02:00", "2026-06-03T16:30:00Z", "2026-06-03 18:30:00.123456-05:30"]
)
def test_time_taken_as_given(text: str) -> None:
    assert check_moment(text) == text


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("", "''"),
        ("yesterday", "'yesterday'"),
        ("2026-06-03T18:30:00", "'2026-06-03T18:30:00'"),  # no offset
        ("2026-06-31T18:30:00+02:00", "'2026-06-31T18:30:00+02:00'"),  # no such day
        ("2026-06-03\n18:30:00+02:00", r"'2026-06-03\n18:30:00+02:00'"),  # any sign may part date and time
    ],
)
def test_time_refused(text: str, shown: str) -> None:
    with pytest.raises(UnreadableValueError) as caught:
        check_moment(text)
    assert _sentence(caught) == (
        f"time {shown} cannot be read; give ISO 8601 with an offset, such as 2026-06-03T18:30:00+02:00"
    )


def test_ids_are_random_uuids() -> None:
    ids = {new_id() for _ in range(100)}
    assert len(ids) == 100
    assert {uuid.UUID(text).version for text in ids} == {4}


# --- wedges, swings, bag


@pytest.mark.parametrize(
    ("bounce_deg", "sentence"),
    [
        (31.0, "bounce 31.0 deg is outside -5.0 to 30.0 deg; check the number and its unit"),
        (float("nan"), "bounce nan deg is outside -5.0 to 30.0 deg; check the number and its unit"),
    ],
)
def test_bounce_refused(bounce_deg: float, sentence: str) -> None:
    with pytest.raises(OutOfRangeError) as caught:
        Wedge("54", 54, bounce_deg)
    assert _sentence(caught) == sentence


def test_default_swings_are_their_clock_times() -> None:
    clocks = [swing for swing in DEFAULT_SWINGS if ":" in swing.label]
    assert len(clocks) == 3
    assert [parse_swing_deg(swing.label) for swing in clocks] == [swing.swing_deg for swing in clocks]


BAG = Bag(
    (Wedge("Sixty", 60), Wedge("50", 50), Wedge("b", 54), Wedge("a", 54)),
    (SwingLength("full", 165), SwingLength("Half", 90), SwingLength("7:30", 45)),
)


def test_bag_stands_in_loft_and_length_order() -> None:
    assert [wedge.label for wedge in BAG.wedges] == ["50", "a", "b", "Sixty"]
    assert [swing.label for swing in BAG.swings] == ["7:30", "Half", "full"]


@pytest.mark.parametrize("label", ["Sixty", "sixty", " SIXTY "])
def test_wedge_found_whatever_its_case(label: str) -> None:
    assert BAG.find_wedge(label) == Wedge("Sixty", 60)
    assert BAG.wedge(label) == Wedge("Sixty", 60)


@pytest.mark.parametrize(("label", "swing_deg"), [("half", 90), (" FULL", 165), ("7:30", 45)])
def test_swing_found_whatever_its_case(label: str, swing_deg: float) -> None:
    found = BAG.find_swing(label)
    assert found is not None
    assert found.swing_deg == swing_deg


def test_nothing_found_is_none() -> None:
    assert BAG.find_wedge("58") is None
    assert BAG.find_swing("58") is None


@pytest.mark.parametrize(
    ("bag", "label", "sentence"),
    [
        (BAG, "sixti", "unknown wedge 'sixti'; did you mean 'Sixty'? - add it with: wedgelab bag add sixti LOFT"),
        (BAG, "zz", "unknown wedge 'zz'; known: '50', 'a', 'b', 'Sixty' - add it with: wedgelab bag add zz LOFT"),
        (Bag(), "54", "unknown wedge '54'; none is known yet - add it with: wedgelab bag add 54 LOFT"),
        (Bag(), "\x1b[2J",
         r"unknown wedge '\x1b[2J'; none is known yet - add it with: wedgelab bag add LABEL LOFT"),
        (Bag(), "x" * 41, f"unknown wedge '{'x' * 41}'; none is known yet - add it with: wedgelab bag add LABEL LOFT"),
        (Bag(), "a b", "unknown wedge 'a b'; none is known yet - add it with: wedgelab bag add LABEL LOFT"),
    ],
)  # fmt: skip
def test_unknown_wedge_names_the_nearest(bag: Bag, label: str, sentence: str) -> None:
    with pytest.raises(UnknownNameError) as caught:
        bag.wedge(label)
    assert _sentence(caught) == sentence


@pytest.mark.parametrize(
    ("label", "meant"), [("49", "gap"), ("56", "55"), ("52", "55"), ("58", "lob"), ("59°", "lob"), ("20", "gap")]
)
def test_a_number_means_the_wedge_of_the_nearest_loft_or_label(label: str, meant: str) -> None:
    bag = Bag((Wedge("gap", 50.0), Wedge("55", 53.0), Wedge("lob", 60.0)))
    with pytest.raises(UnknownNameError) as caught:
        bag.wedge(label, may_be_new=False)
    assert str(caught.value) == f"unknown wedge '{label}'; did you mean '{meant}'?"
    assert caught.value.known == ["gap", "55", "lob"]
    with pytest.raises(UnknownNameError, match=f"did you mean '{meant}'.* - add it with: wedgelab bag add "):
        bag.wedge(label)
    assert bag.wedge(" GAP ") == bag.wedges[0]


@pytest.mark.parametrize(
    ("swing_deg", "label"), [(90.0, "Half"), (90.0000001, "Half"), (91.0, "9:02"), (135.0, "10:30")]
)
def test_swing_named_by_the_bag_or_the_clock(swing_deg: float, label: str) -> None:
    assert BAG.swing_named(swing_deg).label == label


# --- conditions


def test_conditions_know_when_nothing_was_said() -> None:
    assert Conditions().is_empty
    assert [name for name in CONDITION_COLUMNS if Conditions(**{name: LIMITS[name][1]}).is_empty] == []


@pytest.mark.parametrize(
    ("name", "over", "words"), [(r[0], r[4], r[5]) for r in LIMIT_ROWS if r[0] in CONDITION_COLUMNS]
)
def test_conditions_are_checked(name: str, over: float, words: str) -> None:
    with pytest.raises(OutOfRangeError) as caught:
        Conditions(**{name: over})
    assert _sentence(caught) == f"{words.format(over)}; check the number and its unit"


# ISO 2533:1975, table of the standard atmosphere: altitude [m], pressure [hPa]
STANDARD_ATMOSPHERE = [(0, 1013.25), (500, 954.61), (1000, 898.75), (1500, 845.56), (2000, 794.95), (3000, 701.09),
                       (4000, 616.40), (5000, 540.20)]  # fmt: skip


@pytest.mark.parametrize(("altitude_m", "standard_hpa"), STANDARD_ATMOSPHERE)
def test_a_pressure_of_the_place_is_taken_in_any_weather(altitude_m: float, standard_hpa: float) -> None:
    # the weather moves the pressure of a place by up to about 3 % (pressure_at_altitude_hpa)
    for share in (0.97, 1.0, 1.03):
        pressure_hpa = standard_hpa * share
        made = Conditions(station_pressure_hpa=pressure_hpa, altitude_m=altitude_m)
        assert (made.station_pressure_hpa, made.altitude_m) == (pressure_hpa, altitude_m)


@pytest.mark.parametrize("altitude_m", [420, 500, 1000, 1500, 2000, 3000, 4000, 5000])
def test_the_usual_sea_level_pressure_is_refused_higher_up(altitude_m: float) -> None:
    with pytest.raises(BadRequestError, match=r"^station pressure 1013\.3 hPa looks like a sea-level pressure, "):
        Conditions(station_pressure_hpa=1013.25, altitude_m=altitude_m)


LOOKS = (
    "station pressure 1013.0 hPa looks like a sea-level pressure, it cannot be one at 1200 m (799 to 928 hPa); "
    "give it with --sea-level, in a file as sea_level_pressure_hpa, or leave the altitude out"
)
CANNOT = "cannot be one at 0 m (922 to 1059 hPa); check both and their units, or leave one out"


@pytest.mark.parametrize(
    ("pressure_hpa", "altitude_m", "sentence"),
    [
        (1013, 1200, LOOKS),
        (870, 0, f"station pressure 870.0 hPa {CANNOT}"),
        (1080, 0, f"station pressure 1080.0 hPa {CANNOT}"),
        (1060, -449, None),  # the shore of a lake below the sea
    ],
)
def test_the_two_pressures_are_not_mixed_up(pressure_hpa: float, altitude_m: float, sentence: str | None) -> None:
    if sentence is None:
        assert Conditions(station_pressure_hpa=pressure_hpa, altitude_m=altitude_m).altitude_m == altitude_m
        return
    with pytest.raises(BadRequestError) as caught:
        Conditions(station_pressure_hpa=pressure_hpa, altitude_m=altitude_m)
    assert _sentence(caught) == sentence


def test_one_of_the_two_alone_is_taken() -> None:
    assert Conditions(station_pressure_hpa=1013.25).known() == {"station_pressure_hpa": 1013.25}
    assert Conditions(altitude_m=1200).known() == {"altitude_m": 1200.0}


def test_conditions_of_an_older_log_are_taken_as_they_are_and_change_but_for_the_pair() -> None:
    old = Conditions.as_stored((6.0, 1013.0, None, 1200.0, None, None))
    assert old.known() == {"air_temp_c": 6.0, "station_pressure_hpa": 1013.0, "altitude_m": 1200.0}
    warmer = old.changed({"air_temp_c": 9.0, "wind_mps": -2})
    assert warmer.known() == old.known() | {"air_temp_c": 9.0, "wind_mps": -2.0}
    with pytest.raises(OutOfRangeError, match=r"^air temp 90\.0 C is outside"):
        old.changed({"air_temp_c": 90.0})
    with pytest.raises(BadRequestError, match="looks like a sea-level pressure"):
        old.changed({"altitude_m": 1300.0})
    assert old.changed({"altitude_m": None}) == Conditions(air_temp_c=6.0, station_pressure_hpa=1013.0)
    assert old.changed({"station_pressure_hpa": 877.0}).station_pressure_hpa == 877.0


def test_conditions_as_stored_equal_those_that_were_checked() -> None:
    values = (6.0, 877.0, 80.0, 1200.0, -2.0, 1.5)
    assert Conditions.as_stored(values) == Conditions(*values)
    assert hash(Conditions.as_stored(values)) == hash(Conditions(*values))
    with pytest.raises(ValueError, match="zip"):
        Conditions.as_stored(values[:5])


# --- shots


def test_a_plain_shot() -> None:
    shot = Shot(**GOOD)
    assert (shot.trajectory, shot.lie, shot.strike, shot.spin_rpm) == ("stock", "", "", None)
    assert isinstance(shot.carry_m, float)
    assert isinstance(shot.loft_deg, float)


def test_columns_are_the_names_of_the_contract() -> None:
    # design.md section 2, without the conditions, which belong to a session
    columns = (
        "shot_id player session hit_at wedge loft_deg swing swing_deg trajectory lie carry_m total_m offline_m "
        "ball_speed_mps club_speed_mps launch_deg spin_rpm land_deg apex_m target_m guess_m drill_id call_no window_m "
        "advice_shown advised_wedge advised_swing_deg strike ball note"
    )
    assert set(SHOT_COLUMNS) == set(columns.split())


SHOT_LIMIT_ROWS = [row for row in LIMIT_ROWS if row[0] in SHOT_COLUMNS]


@pytest.mark.parametrize(("name", "low", "high"), [row[:3] for row in SHOT_LIMIT_ROWS])
def test_shot_takes_both_ends(name: str, low: float, high: float) -> None:
    assert getattr(Shot(**GOOD | {name: low}), name) == low
    assert getattr(Shot(**GOOD | {name: high}), name) == high


@pytest.mark.parametrize(
    ("name", "value", "words"),
    [(row[0], value, row[5]) for row in SHOT_LIMIT_ROWS for value in (row[3], row[4], float("nan"), float("inf"))],
)
def test_shot_refuses_a_number_outside(name: str, value: float, words: str) -> None:
    with pytest.raises(OutOfRangeError) as caught:
        Shot(**GOOD | {name: value})
    assert _sentence(caught) == f"{words.format(value)}; check the number and its unit"


@pytest.mark.parametrize(
    ("name", "value", "sentence"),
    [
        ("trajectory", "", "unknown trajectory ''; known: 'low', 'stock', 'high'"),
        ("trajectory", "hgih", "unknown trajectory 'hgih'; did you mean 'high'?"),
        ("lie", "fairwy", "unknown lie 'fairwy'; did you mean 'fairway'?"),
        ("lie", "Mat", "unknown lie 'Mat'; did you mean 'mat'?"),
        ("strike", "zzz", "unknown strike 'zzz'; known: 'solid', 'off'"),
    ],
)
def test_shot_refuses_an_unknown_word(name: str, value: str, sentence: str) -> None:
    with pytest.raises(UnknownNameError) as caught:
        Shot(**GOOD | {name: value})
    assert _sentence(caught) == sentence


@pytest.mark.parametrize(
    ("name", "value"),
    [*(("trajectory", word) for word in TRAJECTORIES), *(("lie", word) for word in (*LIES, "")),
     *(("strike", word) for word in (*STRIKES, "")), ("advice_shown", True), ("advice_shown", False), ("call_no", 3)],
)  # fmt: skip
def test_shot_takes_every_known_word(name: str, value: object) -> None:
    assert getattr(Shot(**GOOD | {name: value}), name) == value


# column, what the refusal calls it, longest, required
TEXT_ROWS = [
    ("shot_id", "shot", 200, True),
    ("player", "player", 200, True),
    ("session", "session", 200, True),
    ("wedge", "wedge", 40, True),
    ("swing", "swing", 40, True),
    ("drill_id", "drill", 200, False),
    ("advised_wedge", "advised wedge", 40, False),
    ("ball", "ball", 200, False),
    ("note", "note", 1000, False),
]


@pytest.mark.parametrize(("name", "what", "longest", "required"), TEXT_ROWS)
def test_shot_cleans_its_texts(name: str, what: str, longest: int, required: bool) -> None:
    assert getattr(Shot(**GOOD | {name: "  ok "}), name) == "ok"
    assert getattr(Shot(**GOOD | {name: "x" * longest}), name) == "x" * longest
    with pytest.raises(BadNameError) as caught:
        Shot(**GOOD | {name: "x" * (longest + 1)})
    assert _sentence(caught).endswith(f"; use at most {longest} characters, this has {longest + 1}")
    with pytest.raises(BadNameError) as caught:
        Shot(**GOOD | {name: "a\x1b[31mb"})
    assert _sentence(caught) == rf"{what} 'a\x1b[31mb' cannot be used; {CONTROL}"
    if required:
        with pytest.raises(BadNameError) as caught:
            Shot(**GOOD | {name: " "})
        assert _sentence(caught) == f"{what} ' ' cannot be used; give at least one visible character"
    else:
        assert getattr(Shot(**GOOD | {name: " "}), name) == ""


def test_shot_refuses_a_time_without_offset() -> None:
    with pytest.raises(UnreadableValueError) as caught:
        Shot(**GOOD | {"hit_at": "2026-06-03T18:30:00"})
    assert _sentence(caught) == (
        "time '2026-06-03T18:30:00' cannot be read; give ISO 8601 with an offset, such as 2026-06-03T18:30:00+02:00"
    )


@pytest.mark.parametrize(
    ("record", "field"),
    [
        (Shot(**GOOD), "carry_m"),
        (Wedge("54", 54), "loft_deg"),
        (SwingLength("9:00", 90), "label"),
        (BAG, "wedges"),
        (Conditions(), "wind_mps"),
    ],
)
def test_records_are_frozen(record: object, field: str) -> None:
    with pytest.raises(dataclasses.FrozenInstanceError):
        setattr(record, field, 1.0)


def test_replace_gives_a_copy() -> None:
    shot = Shot(**GOOD)
    changed = shot.replace(carry_m=70, strike="off")
    assert (changed.carry_m, changed.strike, changed.shot_id) == (70.0, "off", shot.shot_id)
    assert (shot.carry_m, shot.strike) == (62.5, "")


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"carry_m": 251}, "carry 251.0 m is outside 0.5 to 250.0 m; check the number and its unit"),
        ({"spin_rpm": float("nan")}, "spin nan rpm is outside 0 to 16000 rpm; check the number and its unit"),
        ({"wedge": ""}, "wedge '' cannot be used; give at least one visible character"),
    ],
)
def test_replace_validates(changes: dict[str, Any], sentence: str) -> None:
    shot = Shot(**GOOD)
    with pytest.raises((OutOfRangeError, BadNameError)) as caught:
        shot.replace(**changes)
    assert _sentence(caught) == sentence


def test_sessions_are_counted_by_player() -> None:
    rows = [("A", "s1"), ("A", "s1"), ("A", "s2"), ("B", "s1")]
    assert count_sessions(Shot(**GOOD | {"player": player, "session": session}) for player, session in rows) == 3
    assert count_sessions([]) == 0
