"""Trial files as players' programs write them: separator x encoding x decimal sign x header; carries in metres."""

from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import pytest

from wedgelab.shots import DEFAULT_SWINGS, Bag
from wedgelab.store.columns import plan_columns
from wedgelab.store.csvfile import read_table
from wedgelab.store.exchange import ParsedFile, parse_shots
from wedgelab.units import LengthUnit

AT = datetime(2026, 6, 3, 18, 30, tzinfo=UTC)
YD, FT, MPH = 0.9144, 0.3048, 0.44704  # exact, NIST SP 811


@dataclass(frozen=True)
class Trial:
    """One file: what is in it, and what must come out."""

    text: str
    carries_m: tuple[float, ...]
    encoding: str = "utf-8"
    delimiter: str = ","
    mapping: tuple[tuple[str, str], ...] = ()
    unit: LengthUnit = "yd"
    more: tuple[tuple[str, float], ...] = ()  # other columns of the first row


TRIALS = {
    "plain, unit in brackets": Trial("club,swing,carry (yd)\n54,9:00,68.5\n54,9:00,70\n", (68.5 * YD, 70 * YD)),
    "canonical names": Trial(
        "wedge,swing_deg,carry_m,spin_rpm\n54,90,62.5,8500\n", (62.5,), more=(("spin_rpm", 8500), ("swing_deg", 90))
    ),
    "semicolons and decimal commas": Trial(
        "Club;Swing;Carry [m]\n54;9:00;62,5\n54;9:00;63\n", (62.5, 63), delimiter=";"
    ),
    "commas and quoted decimal commas": Trial('wedge,swing,carry_m\n54,9:00,"62,5"\n54,9:00,"63,0"\n', (62.5, 63)),
    "tabs": Trial("Club\tSwing\tCarry m\n54\t9:00\t62.5\n", (62.5,), delimiter="\t"),
    "bars": Trial("Club|Swing|Carry m\n54|9:00|62.5\n", (62.5,), delimiter="|"),
    "utf-8 with mark": Trial("Carry (m),Club,Swing\n62.5,54°,9:00\n", (62.5,), encoding="utf-8-sig"),
    "utf-16 with mark": Trial("Club;Swing;Carry (m)\n54°;9:00;62,5\n", (62.5,), encoding="utf-16", delimiter=";"),
    "utf-16 little endian, no mark": Trial("Club,Swing,Carry (m)\n54,9:00,62.5\n", (62.5,), encoding="utf-16-le"),
    "utf-16 big endian, no mark": Trial("Club,Swing,Carry (m)\n54,9:00,62.5\n", (62.5,), encoding="utf-16-be"),
    "cp1252 with degree sign": Trial(
        "Club;Swing;Carry (m);Launch angle (°)\n54°;9:00;62,5;28,5\n",
        (62.5,),
        encoding="cp1252",
        delimiter=";",
        more=(("launch_deg", 28.5),),
    ),
    "units row": Trial(
        "Club,Swing,Carry,Ball speed,Spin,Apex\n,,[yd],[mph],[rpm],[ft]\n54,9:00,70,55,8500,60\n",
        (70 * YD,),
        unit="m",
        more=(("ball_speed_mps", 55 * MPH), ("apex_m", 60 * FT)),
    ),
    "units in cells": Trial("Club,Swing,Carry\n54,9:00,70 yd\n54,9:00,65 m\n", (70 * YD, 65.0)),
    "no unit, player of yards": Trial("Club,Swing,Carry\n54,9:00,70\n", (70 * YD,)),
    "no unit, player of metres": Trial("Club,Swing,Carry\n54,9:00,70\n", (70.0,), unit="m"),
    "speeds of a player of metres": Trial(
        "Club,Swing,Carry,Club speed\n54,9:00,70,30\n", (70.0,), unit="m", more=(("club_speed_mps", 30),)
    ),
    "mapped strange headers": Trial(
        "Stock;Bogen;Weite\n54;9:00;68,5\n",
        (68.5 * YD,),
        delimiter=";",
        mapping=(("wedge", "Stock"), ("swing", "Bogen"), ("carry_yd", "Weite")),
    ),
    "mapped, unit in the strange header": Trial(
        "Stock;Bogen;Weite [m]\n54;9:00;68,5\n",
        (68.5,),
        delimiter=";",
        mapping=(("wedge", "Stock"), ("swing", "Bogen"), ("carry", "weite [M]")),
    ),
    "thousands with a comma, decimals with a point": Trial(
        'Club,Swing,Carry (m),Spin\n54,9:00,62.5,"8,500"\n54,9:00,63.5,"9,100"\n',
        (62.5, 63.5),
        more=(("spin_rpm", 8500),),
    ),
    "thousands with a point, decimals with a comma": Trial(
        "Club;Swing;Carry (m);Spin rate rpm\n54;9:00;62,5;8.500\n54;9:00;63;9.100\n",
        (62.5, 63),
        delimiter=";",
        more=(("spin_rpm", 8500),),
    ),
    "thousands with a no-break space": Trial(
        "Club;Swing;Carry (m);Spin\n54;9:00;62,5;8\u00a0500\n", (62.5,), delimiter=";", more=(("spin_rpm", 8500),)
    ),
    "three decimals with a point": Trial("Club,Swing,Carry (m)\n54,9:00,62.512\n54,9:00,63.250\n", (62.512, 63.25)),
    "three decimals with a comma": Trial("Club;Swing;Carry (m)\n54;9:00;62,512\n", (62.512,), delimiter=";"),
    "sides in letters": Trial(
        "Club,Swing,Carry (m),Side\n54,9:00,62,L 3.5\n54,9:00,63,2 R\n", (62, 63), unit="m", more=(("offline_m", -3.5),)
    ),
    "minus sign of typographers": Trial(
        "Club,Swing,Carry (m),Offline (m)\n54,9:00,62,\u22123.5\n", (62,), more=(("offline_m", -3.5),)
    ),
    "carriage returns alone": Trial("Club,Swing,Carry m\r54,9:00,62.5\r54,9:00,63\r", (62.5, 63)),
    "carriage return and line feed": Trial("Club,Swing,Carry m\r\n54,9:00,62.5\r\n", (62.5,)),
    "blank lines and trailing separators": Trial(
        "\nClub,Swing,Carry m,,\n\n54,9:00,62.5,,\n,,,,\n54,9:00,63\n\n", (62.5, 63)
    ),
    "a title above": Trial(
        "Evening, short game\n\nClub;Swing;Carry (m)\n54;9:00;62,5\n54;9:00;63,5\n", (62.5, 63.5), delimiter=";"
    ),
    "a hint line of a spreadsheet": Trial("sep=;\nClub;Swing;Carry (m)\n54;9:00;62,5\n", (62.5,), delimiter=";"),
    "quoted newlines": Trial('Club,Swing,Carry (m),Note\n54,9:00,62.5,"one\ntwo"\n54,9:00,63,x\n', (62.5, 63)),
    "separator inside quotes": Trial('Club,Swing,Carry (m),Note\n54,9:00,62.5,"a, b; c"\n', (62.5,)),
    "underscores and capitals": Trial(
        "CLUB,SWING_LENGTH,CARRY_YD,BALL_SPEED_MPH\n54,9:00,70,55\n", (70 * YD,), more=(("ball_speed_mps", 55 * MPH),)
    ),
    "words run together": Trial(
        "Club,SwingLength,CarryDistance,BallSpeed (km/h),LandingAngle\n54,9:00,70,90,45\n",
        (70 * YD,),
        more=(("ball_speed_mps", 25.0), ("land_deg", 45)),
    ),
    "feet": Trial("Club,Swing,Carry (ft)\n54,9:00,200\n", (200 * FT,)),
    "loft and degrees instead of names": Trial(
        "Loft,Swing angle,Carry (m)\n54.5,90,62.5\n", (62.5,), more=(("loft_deg", 54.5),)
    ),
    "bars and commas in texts": Trial(
        "Club|Swing|Carry, m|Note\n54|9:00|62.5|a, b\n56|9:00|58|c\n", (62.5, 58), delimiter="|"
    ),
}


def parse(path: Path, trial: Trial) -> ParsedFile:
    table = read_table(path)
    plan = plan_columns(table, dict(trial.mapping), default_unit=trial.unit)
    bag = Bag(swings=DEFAULT_SWINGS)
    return parse_shots(table, plan, player="me", bag=bag, default_unit=trial.unit, imported_at=AT)


@pytest.mark.parametrize("name", TRIALS)
def test_trial_file(name: str, tmp_path: Path) -> None:
    trial, path = TRIALS[name], tmp_path / "trial.csv"
    path.write_bytes(trial.text.encode(trial.encoding))
    parsed = parse(path, trial)
    assert [str(problem) for problem in parsed.problems] == []
    assert [row.shot.carry_m for row in parsed.rows] == pytest.approx(trial.carries_m, rel=1e-12)
    assert parsed.table.delimiter == trial.delimiter
    first = parsed.rows[0].shot
    assert (first.wedge, first.swing, first.swing_deg) == ("54.5" if "54.5" in trial.text else "54", "9:00", 90.0)
    assert {name: getattr(first, name) for name, _ in trial.more} == pytest.approx(dict(trial.more), rel=1e-12)


@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
@pytest.mark.parametrize("decimal", [".", ","])
def test_every_combination_reads_the_same(delimiter: str, encoding: str, decimal: str, tmp_path: Path) -> None:
    numbers = [(62.5, -3.5, 28.25), (70.0, 2.0, 30.5), (55.25, 0.0, 31.0)]
    cells = [[str(number).replace(".", decimal) for number in row] for row in numbers]
    lines = [["wedge", "swing", "carry_m", "offline_m", "Launch angle (°)"]]
    lines += [["54", "9:00", *row] for row in cells]
    quote = '"' if decimal == delimiter else ""
    text = "\n".join(delimiter.join(f"{quote}{cell}{quote}" for cell in line) for line in lines)
    path = tmp_path / "all.csv"
    path.write_bytes(text.encode(encoding))
    parsed = parse(path, Trial(text, ()))
    assert parsed.problems == ()
    got = [(row.shot.carry_m, row.shot.offline_m, row.shot.launch_deg) for row in parsed.rows]
    assert got == numbers


def test_line_numbers_are_those_of_the_file(tmp_path: Path) -> None:
    path = tmp_path / "lines.csv"
    path.write_text(
        'Club,Swing,Carry (m),Note\n\n54,9:00,62,"one\ntwo"\n54,9:00,much,\n54,9:00,63,\n', encoding="utf-8"
    )
    parsed = parse(path, Trial("", ()))
    assert [row.line for row in parsed.rows] == [3, 6]
    assert [str(problem) for problem in parsed.problems] == [
        "line 5, column 'Carry (m)': 'much' cannot be used; wanted: a number such as 62.5"
    ]
    assert parsed.rows[0].shot.note == "one two"
