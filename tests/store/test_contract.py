"""What any `ShotStore` must do: put a later store through these by adding its factory to STORES.

A factory opens the same log each time it is called, so that every test can close it and look again.
"""

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any, TypeAlias

import pytest

from wedgelab.errors import BadNameError, OutOfRangeError, StoreError, UnknownNameError
from wedgelab.shots import DEFAULT_SWINGS, Conditions, Shot, SwingLength, Wedge
from wedgelab.store.protocol import ShotStore
from wedgelab.store.records import FollowedRow, ImportBatch, ImportRow, PlayerSettings, UndoResult
from wedgelab.store.store import SqliteStore

MakeShot: TypeAlias = Callable[..., Shot]
Opener: TypeAlias = Callable[[], ShotStore]
STORES: dict[str, Callable[[Path, Any], Opener]] = {
    "sqlite": lambda folder, clock: lambda: SqliteStore.open(folder / "contract.db", now=clock),
}
NOON = "2026-06-03T12:00:00+02:00"


@pytest.fixture(params=sorted(STORES))
def reopen(request: pytest.FixtureRequest, tmp_path: Path, clock: Any) -> Opener:
    return STORES[request.param](tmp_path, clock)


def test_it_speaks_the_protocol(reopen: Opener) -> None:
    with reopen() as store:
        assert isinstance(store, ShotStore)
        assert store.players() == []
        assert store.check() == []
        store.close()
        store.close()


class TestPlayers:
    def test_a_new_player_has_the_usual_swings_and_settings(self, reopen: Opener) -> None:
        with reopen() as store:
            assert store.ensure_player(" Ada ") == (PlayerSettings("Ada", created_at=NOON), True)
        with reopen() as store:
            assert store.ensure_player("ADA") == (PlayerSettings("Ada", created_at=NOON), False)
            assert store.bag("ada").swings == DEFAULT_SWINGS
            assert store.bag("ada").wedges == ()
            assert [player.name for player in store.players()] == ["Ada"]

    def test_letters_beyond_a_to_z_are_case_folded_too(self, reopen: Opener) -> None:
        with reopen() as store:
            store.ensure_player("\u00c4gir")
            assert store.ensure_player("\u00e4GIR")[1] is False
            assert store.player("\u00e4gir").name == "\u00c4gir"

    def test_an_unknown_player_is_refused_with_the_nearest(self, reopen: Opener) -> None:
        with reopen() as store:
            store.ensure_player("Ada")
            for ask in (store.player, store.shots, store.bag, store.sessions, store.undo, store.imports, store.drills):
                with pytest.raises(UnknownNameError) as refusal:
                    ask("Adda")
                assert str(refusal.value) == "unknown player 'Adda'; did you mean 'Ada'?"

    def test_settings_change_one_by_one_and_stay(self, reopen: Opener) -> None:
        with reopen() as store:
            store.ensure_player("Ada")
            store.set_player("ada", units="m", air_temp_c=12.0)
        with reopen() as store:
            store.set_player("Ada", window="3yd", range_limit_m=180.0, ball="soft", altitude_m=600.0)
        with reopen() as store:
            conditions = Conditions(air_temp_c=12.0, altitude_m=600.0)
            assert store.player("Ada") == PlayerSettings("Ada", "m", "3yd", 180.0, "soft", NOON, conditions)
            store.set_player("Ada", range_limit_m=None, air_temp_c=None)
        with reopen() as store:
            assert store.player("Ada").range_limit_m is None
            assert store.player("Ada").conditions == Conditions(altitude_m=600.0)

    def test_a_setting_out_of_range_changes_nothing(self, reopen: Opener) -> None:
        with reopen() as store:
            store.ensure_player("Ada")
            with pytest.raises(OutOfRangeError, match=r"^range limit 301\.0 m is outside 0\.5 to 300\.0 m; check"):
                store.set_player("Ada", units="m", range_limit_m=301.0)
            with pytest.raises(BadNameError, match=r"^unit 'ft' cannot be used; use yd or m$"):
                store.set_player("Ada", units="ft")  # type: ignore[arg-type]  # the wrong unit is the point
            assert store.player("Ada") == PlayerSettings("Ada", created_at=NOON)


class TestBag:
    def test_a_bent_wedge_replaces_the_old_one_and_the_history_stays(self, reopen: Opener, clock: Any) -> None:
        with reopen() as store:
            store.ensure_player("Ada")
            assert store.add_wedge("Ada", Wedge("54", 54.0, 10.0)) is True
            assert store.add_wedge("Ada", Wedge("54", 54.0, 10.0)) is False
            clock.move(hours=1)
            assert store.add_wedge("Ada", Wedge("54", 53.0, 9.0)) is True
            assert store.add_wedge("Ada", Wedge("Lob", 60.0)) is True
        with reopen() as store:
            assert store.bag("Ada").wedges == (Wedge("54", 53.0, 9.0), Wedge("Lob", 60.0))
            history = [(entry.wedge, entry.added_at, entry.retired_at) for entry in store.wedge_history("Ada")]
            later = "2026-06-03T13:00:00+02:00"
            assert history == [
                (Wedge("54", 54.0, 10.0), NOON, later),
                (Wedge("54", 53.0, 9.0), later, None),
                (Wedge("Lob", 60.0), later, None),
            ]

    def test_a_retired_wedge_leaves_the_bag_and_may_come_back(self, reopen: Opener, make_shot: MakeShot) -> None:
        with reopen() as store:
            store.ensure_player("Ada")
            store.add_wedge("Ada", Wedge("Lob", 60.0))
            store.add_shot(make_shot(wedge="Lob", loft_deg=60.0))
            assert store.retire_wedge("Ada", "lob") == Wedge("Lob", 60.0)
        with reopen() as store:
            assert store.bag("Ada").wedges == ()
            assert [shot.wedge for shot in store.shots("Ada")] == ["Lob"]
            with pytest.raises(UnknownNameError, match=r"^unknown wedge 'lob'; none is known yet$"):
                store.retire_wedge("Ada", "lob")
            assert store.add_wedge("Ada", Wedge("Lob", 60.0)) is True
        with reopen() as store:
            assert store.bag("Ada").wedges == (Wedge("Lob", 60.0),)

    def test_swing_lengths_are_kept_the_same_way(self, reopen: Opener) -> None:
        with reopen() as store:
            store.ensure_player("Ada")
            assert store.add_swing("Ada", SwingLength("9:00", 90.0)) is False
            assert store.retire_swing("Ada", "FULL") == SwingLength("full", 165.0)
            with pytest.raises(UnknownNameError, match=r"^unknown swing 'fall'; known: '8:00', '9:00', '10:00'$"):
                store.retire_swing("Ada", "fall")
            assert store.add_swing("Ada", SwingLength("full", 170.0)) is True
            assert store.add_swing("Ada", SwingLength("Full", 172.0)) is True
        with reopen() as store:
            assert [(s.label, s.swing_deg) for s in store.bag("Ada").swings] == [
                ("8:00", 60.0),
                ("9:00", 90.0),
                ("10:00", 120.0),
                ("Full", 172.0),
            ]
            assert len(store.swing_history("Ada")) == len(DEFAULT_SWINGS) + 2

    def test_bags_of_two_players_are_apart(self, reopen: Opener) -> None:
        with reopen() as store:
            store.ensure_player("Ada")
            store.ensure_player("Bo")
            store.add_wedge("Bo", Wedge("54", 54.0))
            assert store.bag("Ada").wedges == ()


class TestSessions:
    def test_a_session_is_made_found_and_changed(self, reopen: Opener, make_shot: MakeShot) -> None:
        with reopen() as store:
            store.ensure_player("Ada")
            store.create_session("Ada", "morning", ball="soft", conditions=Conditions(wind_mps=-3.0))
            store.add_shots([make_shot(), make_shot()])
            store.undo("Ada")
        with reopen() as store:
            store.update_session("Ada", "morning", air_temp_c=9.5, note="cold")
        with reopen() as store:
            (session,) = store.sessions("Ada")
            assert session == store.session("ada", "morning")
            assert (session.player, session.started_at, session.ball, session.note) == ("Ada", NOON, "soft", "cold")
            assert session.conditions == Conditions(air_temp_c=9.5, wind_mps=-3.0)
            assert session.n_shots == 1

    def test_a_name_used_before_and_an_unknown_one_are_refused(self, reopen: Opener) -> None:
        with reopen() as store:
            store.ensure_player("Ada")
            store.create_session("Ada", "morning")
            with pytest.raises(BadNameError) as refusal:
                store.create_session("ada", "morning")
            assert str(refusal.value) == (
                "session 'morning' cannot be used; it exists already: give a new one another name"
            )
            with pytest.raises(UnknownNameError) as unknown:
                store.update_session("Ada", "mornin", note="x")
            assert str(unknown.value) == "unknown session 'mornin'; did you mean 'morning'?"
            store.ensure_player("Bo")
            assert store.create_session("Bo", "morning").player == "Bo"

    def test_the_current_session_is_the_last_started_of_that_local_day(self, reopen: Opener) -> None:
        with reopen() as store:
            store.ensure_player("Ada")
            # 23:30 in the west is the next day in UTC, and still the 3rd for the player
            store.create_session("Ada", "late", started_at="2026-06-03T23:30:00-05:00")
            store.create_session("Ada", "early", started_at="2026-06-03T09:00:00-05:00")
            store.create_session("Ada", "next", started_at="2026-06-04T00:30:00+09:00")
        with reopen() as store:
            found = store.current_session("Ada", date(2026, 6, 3))
            assert found is not None
            assert found.name == "late"
            following = store.current_session("Ada", date(2026, 6, 4))
            assert following is not None
            assert following.name == "next"
            assert store.current_session("Ada", date(2026, 6, 5)) is None
            assert [session.name for session in store.sessions("Ada")] == ["early", "next", "late"]

    def test_ensuring_fills_in_only_what_nobody_had_said(self, reopen: Opener) -> None:
        with reopen() as store:
            store.ensure_player("Ada")
            first, made = store.ensure_session("Ada", "morning", conditions=Conditions(air_temp_c=9.0))
            assert (made, first.started_at) == (True, NOON)
            said = Conditions(air_temp_c=30.0, wind_mps=2.0)
            again, made = store.ensure_session("Ada", "morning", conditions=said, ball="firm")
            assert (made, again.conditions) == (False, Conditions(air_temp_c=9.0, wind_mps=2.0))
        with reopen() as store:
            assert store.session("Ada", "morning") == again
            assert again.ball == "firm"


class TestShots:
    def test_every_column_comes_back_as_it_went_in(self, reopen: Opener, full_shot: Shot, make_shot: MakeShot) -> None:
        bare, no_advice = make_shot(), make_shot(advice_shown=False)
        with reopen() as store:
            store.add_shots([full_shot, bare, no_advice])
        with reopen() as store:
            found = store.shots("Ada")
        assert found == [full_shot, bare, no_advice]
        assert [shot.advice_shown for shot in found] == [True, None, False]
        assert all(type(a) is type(b) for a, b in zip(_values(found[0]), _values(full_shot), strict=True))
        assert {hash(shot) for shot in found} == {hash(full_shot), hash(bare), hash(no_advice)}

    def test_oldest_first_whatever_the_offset_and_the_order_of_logging(
        self, reopen: Opener, make_shot: MakeShot
    ) -> None:
        late = make_shot(hit_at="2026-06-03T12:00:01+02:00")
        early = make_shot(hit_at="2026-06-03T11:59:59.5+02:00")
        west = make_shot(hit_at="2026-06-03T05:00:00-05:00")  # 12:00:00 at +02:00
        same = make_shot(hit_at="2026-06-03T10:00:00Z")
        with reopen() as store:
            for shot in (late, west, early, same):
                store.add_shot(shot)
        with reopen() as store:
            assert store.shots("Ada") == [early, west, same, late]
            assert store.shots("Ada", last=2) == [same, late]
            assert store.shots("Ada", last=0) == []

    def test_shots_are_found_by_session_and_drill(self, reopen: Opener, make_shot: MakeShot) -> None:
        one, two = make_shot(drill_id="d1"), make_shot(session="evening")
        bos = make_shot(player="Bo")
        with reopen() as store:
            store.add_shots([one, two, bos])
        with reopen() as store:
            assert store.shots("Ada", session="evening") == [two]
            assert store.shots("Ada", drill_id="d1") == [one]
            assert store.shots("Bo") == [bos]
            assert (store.count_shots("Ada"), store.count_shots("Ada", session="morning")) == (2, 1)

    def test_a_missing_session_starts_with_its_first_ball(self, reopen: Opener, make_shot: MakeShot) -> None:
        with reopen() as store:
            store.add_shots([make_shot(), make_shot(player="ADA", hit_at="2026-06-03T11:00:00+02:00")])
            assert [shot.player for shot in store.shots("Ada")] == ["Ada", "Ada"]
            assert store.session("Ada", "morning").started_at == "2026-06-03T11:00:00+02:00"

    @pytest.mark.parametrize("within", [False, True], ids=["stored-before", "twice-in-one-call"])
    def test_an_id_is_never_used_twice(self, reopen: Opener, make_shot: MakeShot, within: bool) -> None:
        shot, other = make_shot(), make_shot()
        with reopen() as store:
            if not within:
                store.add_shot(shot)
            with pytest.raises(StoreError) as refusal:
                store.add_shots([other, shot, shot] if within else [other, shot])
            assert str(refusal.value).endswith(
                f"shot '{shot.shot_id}' is there already, nothing was stored; give every shot an id of its own"
            )
        with reopen() as store:
            assert store.known_shot_ids([shot.shot_id, other.shot_id]) == (set() if within else {shot.shot_id})

    def test_a_deleted_shot_is_hidden_and_its_id_stays_known(self, reopen: Opener, make_shot: MakeShot) -> None:
        shot, other = make_shot(shot_id="aa11-x"), make_shot(shot_id="aa22-y")
        with reopen() as store:
            store.add_shots([shot, other])
            assert store.void_shot("Ada", "aa1") == shot
        with reopen() as store:
            assert store.shots("Ada") == [other]
            assert store.shots("Ada", include_void=True) == [shot, other]
            assert store.known_shot_ids(["aa11-x", "zz"]) == {"aa11-x"}
            assert store.void_shot("Ada", "aa") == other, "of two that fit only one is not deleted"

    def test_what_cannot_be_deleted_is_said(self, reopen: Opener, make_shot: MakeShot) -> None:
        with reopen() as store:
            store.add_shots([make_shot(shot_id=f"ab{n}") for n in range(3)])
            store.add_shot(make_shot(player="Bo", shot_id="cd1"))
            store.void_shot("Ada", "ab0")
            refusals = {
                "ab": "shot 'ab' cannot be used; 2 shots begin with it: give more of the id",
                "ab0": "shot 'ab0' cannot be used; it is deleted already: wedgelab shots list shows the others",
                "cd1": "unknown shot 'cd1'; known: 'ab2', 'ab1'",
                "": "unknown shot ''; known: 'ab2', 'ab1'",
                "%": "unknown shot '%'; known: 'ab2', 'ab1'",
            }
            for wanted, sentence in refusals.items():
                with pytest.raises((BadNameError, UnknownNameError)) as refusal:
                    store.void_shot("Ada", wanted)
                assert str(refusal.value) == sentence
            assert store.count_shots("Ada") == 2


class TestUndo:
    def test_undo_walks_back_over_shots_imports_and_deletions(self, reopen: Opener, make_shot: MakeShot) -> None:
        first, last, deleted = make_shot(), make_shot(), make_shot()
        rows = [make_shot(hit_at=f"2026-06-03T10:00:0{n}+02:00") for n in range(3)]
        batch = ImportBatch("imp-1", "Ada", "range.csv", "ab" * 32, 3, NOON)
        with reopen() as store:
            store.add_shot(first)
            store.add_shots(rows, import_batch=batch, row_keys=["k1", "k2", "k3"])
            store.void_shot("Ada", rows[1].shot_id)
            store.add_shot(last)
            store.add_shot(deleted)
            store.void_shot("Ada", deleted.shot_id)
        with reopen() as store:
            back = store.undo("Ada")
            assert back == UndoResult((as_copy(deleted, back.shots[0]),), restored=True)
            assert store.shots("Ada", last=1) == [as_copy(deleted, back.shots[0])]
            assert store.undo("Ada") == UndoResult(back.shots)
        with reopen() as store:
            assert store.undo("Ada") == UndoResult((last,))
        with reopen() as store:
            back = store.undo("Ada")
            assert back == UndoResult((as_copy(rows[1], back.shots[0]),), restored=True)
            assert store.imports("Ada") == [batch]
            assert store.undo("Ada") == UndoResult((rows[0], *back.shots, rows[2]), batch)
            assert store.imports("Ada") == []
            assert store.import_rows("Ada") == []
        with reopen() as store:
            assert store.undo("Ada") == UndoResult((first,))
            assert store.shots("Ada") == []
            with pytest.raises(StoreError, match=r": no shot of 'Ada' is left to undo; log or import one first$"):
                store.undo("ada")
            assert len(store.shots("Ada", include_void=True)) == 8, "six balls, two of them copied"

    def test_undo_leaves_other_players_alone(self, reopen: Opener, make_shot: MakeShot) -> None:
        mine, others = make_shot(), make_shot(player="Bo")
        with reopen() as store:
            store.add_shots([mine, others])
            store.void_shot("Bo", others.shot_id)
            assert store.undo("Ada").shots == (mine,)
            assert store.shots("Bo") == []

    def test_a_shot_that_came_back_is_undone_where_it_was_logged(
        self, reopen: Opener, make_shot: MakeShot, clock: Any
    ) -> None:
        first, second = make_shot(), make_shot()
        with reopen() as store:
            store.add_shot(first)
            clock.move(hours=-1)  # a clock may go back; the order of what was done stays
            store.add_shot(second)
            clock.move(hours=-1)
            store.void_shot("Ada", first.shot_id)
        with reopen() as store:
            (copy,) = store.undo("Ada").shots
            assert store.shots("Ada") == [as_copy(first, copy), second], "listed where it was too"
        with reopen() as store:
            assert store.undo("Ada") == UndoResult((second,))
            assert store.undo("Ada") == UndoResult((copy,))
            with pytest.raises(StoreError, match="left to undo"):
                store.undo("Ada")

    @pytest.mark.parametrize("reason", ["undo", "undone", "taken back in the drill"])
    def test_what_took_a_shot_back_otherwise_is_no_action_to_undo(
        self, reopen: Opener, make_shot: MakeShot, reason: str
    ) -> None:
        first, second = make_shot(), make_shot()
        with reopen() as store:
            store.add_shots([first, second])
            store.void_shot("Ada", second.shot_id, reason=reason)
            assert store.undo("Ada") == UndoResult((first,))


class TestRestore:
    def test_the_copy_has_every_column_and_an_id_of_its_own(
        self, reopen: Opener, full_shot: Shot, make_shot: MakeShot
    ) -> None:
        shot, other = full_shot.replace(shot_id="aa11-x", drill_id="d1"), make_shot(shot_id="aa22-y")
        with reopen() as store:
            store.add_shots([shot, other])
            store.void_shot("Ada", shot.shot_id)
            copy = store.restore_shot("ada", "aa1")
            assert copy == as_copy(shot, copy)
        with reopen() as store:
            assert store.shots("Ada") == [copy, other], "of balls hit at one time it is the first again"
            assert store.shots("Ada", last=1) == [other]
            assert store.shots("Ada", drill_id="d1") == [copy]
            assert store.shots("Ada", include_void=True) == [shot, copy, other], "the old row stays, deleted"
            assert store.count_shots("Ada") == store.session("Ada", "morning").n_shots == 2
            assert store.known_shot_ids([shot.shot_id, copy.shot_id]) == {shot.shot_id, copy.shot_id}

    def test_an_undone_shot_comes_back_too_and_can_be_undone_again(self, reopen: Opener, make_shot: MakeShot) -> None:
        shot, later = make_shot(), make_shot()
        with reopen() as store:
            store.add_shot(shot)
            store.undo("Ada")
            store.add_shot(later)
            copy = store.restore_shot("Ada", shot.shot_id)
            assert store.shots("Ada") == [copy, later]
            assert store.undo("Ada") == UndoResult((later,))
            assert store.undo("Ada") == UndoResult((copy,))

    def test_what_cannot_be_restored_is_said(self, reopen: Opener, make_shot: MakeShot) -> None:
        with reopen() as store:
            store.add_shots([make_shot(shot_id=f"ab{n}") for n in range(4)])
            store.add_shot(make_shot(player="Bo", shot_id="cd1"))
            for shot_id in ("ab0", "ab1", "ab2"):
                store.void_shot("Ada", shot_id)
            back = store.restore_shot("Ada", "ab0").shot_id
            refusals = {
                "ab": "shot 'ab' cannot be used; 2 deleted shots begin with it: give more of the id",
                "ab0": f"shot 'ab0' cannot be used; it is restored already as '{back}'",
                "ab3": "shot 'ab3' cannot be used; it is not deleted, so there is nothing to restore",
                "ab9": "unknown deleted shot 'ab9'; did you mean 'ab2'?",
                "cd1": "unknown deleted shot 'cd1'; known: 'ab2', 'ab1'",
                "": "unknown deleted shot ''; known: 'ab2', 'ab1'",
            }
            for wanted, sentence in refusals.items():
                with pytest.raises((BadNameError, UnknownNameError)) as refusal:
                    store.restore_shot("Ada", wanted)
                assert str(refusal.value) == sentence
            with pytest.raises(BadNameError) as refused:
                store.void_shot("Ada", "ab0")
            assert (
                str(refused.value)
                == f"shot 'ab0' cannot be used; it was deleted and restored as '{back}': give that id"
            )
            assert store.count_shots("Ada") == 2

    def test_a_shot_can_be_deleted_and_restored_again_and_again(self, reopen: Opener, make_shot: MakeShot) -> None:
        shot, later = make_shot(), make_shot()
        with reopen() as store:
            store.add_shots([shot, later])
            old = shot.shot_id
            for _ in range(3):
                store.void_shot("Ada", old)
                new = store.restore_shot("Ada", old).shot_id
                with pytest.raises(BadNameError, match=rf"; it is restored already as '{new}'$"):
                    store.restore_shot("Ada", shot.shot_id)
                old = new
            assert [one.shot_id for one in store.shots("Ada")] == [new, later.shot_id]
            store.void_shot("Ada", new)
            with pytest.raises(BadNameError, match=rf"restored already as '{new}', which was deleted again: give that"):
                store.restore_shot("Ada", shot.shot_id)

    def test_a_restored_row_of_a_file_is_not_imported_again(self, reopen: Opener, make_shot: MakeShot) -> None:
        rows = [make_shot() for _ in range(3)]
        batch = ImportBatch("imp-1", "Ada", "a.csv", "ab" * 32, 3, NOON)
        with reopen() as store:
            store.add_shots(rows, import_batch=batch, row_keys=["k", "l", "m"])
            store.void_shot("Ada", rows[1].shot_id)
            copy = store.restore_shot("Ada", rows[1].shot_id)
        with reopen() as store:
            expected = [ImportRow("imp-1", number, key) for number, key in enumerate("klm", start=1)]
            assert store.import_rows("Ada") == expected, "each row once: neither lost nor counted again"
            assert store.undo("Ada") == UndoResult((rows[0], copy, rows[2]), batch), "it goes with its file"
            assert store.import_rows("Ada") == []
            assert store.undone_import_shot_ids("Ada") == {row.shot_id for row in rows}

    def test_rows_restored_from_an_undone_file_stand_singly(self, reopen: Opener, make_shot: MakeShot) -> None:
        rows = [make_shot() for _ in range(3)]
        batch = ImportBatch("imp-1", "Ada", "a.csv", "ab" * 32, 3, NOON)
        with reopen() as store:
            store.add_shots(rows, import_batch=batch, row_keys=["k", "l", "m"])
            store.undo("Ada")
            third, first = (store.restore_shot("Ada", rows[place].shot_id) for place in (2, 0))
        with reopen() as store:
            assert store.shots("Ada") == [first, third]
            assert store.imports("Ada") == []
            assert store.undo("Ada") == UndoResult((third,))
            assert store.undo("Ada") == UndoResult((first,))


class TestImports:
    def test_rows_are_remembered_in_file_order_deleted_ones_too(self, reopen: Opener, make_shot: MakeShot) -> None:
        shots = [make_shot(hit_at=f"2026-06-03T10:00:0{9 - n}+02:00") for n in range(3)]
        with reopen() as store:
            batch = ImportBatch("imp-1", "ada", "a.csv", "ab" * 32, 5)
            store.add_shots(shots, import_batch=batch, row_keys=["k", "l", "m"], row_nos=[2, 3, 5])
            store.add_shots([], import_batch=ImportBatch("imp-2", "Ada", "b.csv", "cd" * 32, 0))
            store.add_shot(make_shot())
            store.void_shot("Ada", shots[1].shot_id)
        with reopen() as store:
            expected = [ImportRow("imp-1", 2, "k"), ImportRow("imp-1", 3, "l"), ImportRow("imp-1", 5, "m")]
            assert store.import_rows("Ada") == expected
            assert store.imports("Ada") == [
                ImportBatch("imp-1", "Ada", "a.csv", "ab" * 32, 5, NOON),
                ImportBatch("imp-2", "Ada", "b.csv", "cd" * 32, 0, NOON),
            ]

    def test_a_batch_is_one_players_and_stored_whole_or_not(self, reopen: Opener, make_shot: MakeShot) -> None:
        with reopen() as store:
            batch = ImportBatch("imp-1", "Ada", "a.csv", "ab" * 32, 2)
            with pytest.raises(ValueError, match="belongs to one player"):
                store.add_shots([make_shot(), make_shot(player="Bo")], import_batch=batch)
            with pytest.raises(ValueError, match="zip"):
                store.add_shots([make_shot(), make_shot()], import_batch=batch, row_keys=["only one"])
            with pytest.raises(ValueError, match="come with their import batch"):
                store.add_shots([make_shot()], row_keys=["k"])
        with reopen() as store:
            assert store.players() == []

    def test_mappings_are_saved_and_replaced(self, reopen: Opener) -> None:
        with reopen() as store:
            assert store.mappings() == {}
            store.save_mapping("unit b", {"Carry (m)": "carry_m"})
            store.save_mapping("unit a", {"Weite": "carry_m"})
            store.save_mapping("unit b", {"Carry": "carry_m", "Drall": "spin_rpm"})
        with reopen() as store:
            assert list(store.mappings()) == ["unit a", "unit b"]
            assert store.mapping("unit b") == {"Carry": "carry_m", "Drall": "spin_rpm"}
            with pytest.raises(UnknownNameError, match=r"^unknown mapping 'unit c'; did you mean 'unit [ab]'\?$"):
                store.mapping("unit c")


class TestDrills:
    def test_a_drill_is_read_back_event_by_event(self, reopen: Opener, make_shot: MakeShot) -> None:
        shot, second = make_shot(drill_id="d1"), make_shot(drill_id="d1")
        events: list[dict[str, Any]] = [
            {"event": "guess", "guess_m": 60.0},
            {"event": "ball"},
            {"event": "ball", "note": "\u00e4"},
            {"event": "undo"},
            {"event": "skip"},
        ]
        with reopen() as store:
            store.ensure_player("Ada")
            assert store.latest_drill("Ada") is None
            store.start_drill("Ada", "d1", {"calls": 10, "low_m": 40.5})
            store.start_drill("ada", "d2", {})
            assert store.add_drill_events("d1", events[:1]) == 1
            assert store.add_drill_events("d1", events[1:2], shot=shot) == 2
            assert store.add_drill_events("d1", events[2:3], shot=second) == 3
            assert store.add_drill_events("d1", events[3:], void_shot_id=shot.shot_id) == 5
        with reopen() as store:
            assert [drill.drill_id for drill in store.drills("Ada")] == ["d1", "d2"]
            assert store.drill("d1").settings == {"calls": 10, "low_m": 40.5}
            assert (store.drill("d1").player, store.drill("d1").started_at) == ("Ada", NOON)
            assert store.latest_drill("Ada") == store.drill("d2")
            assert store.drill_events("d1") == events
            assert store.drill_events("d2") == []
            assert store.shots("Ada") == [second]

    def test_a_correction_is_stored_as_a_whole(self, reopen: Opener, make_shot: MakeShot) -> None:
        old, new = make_shot(drill_id="d1"), make_shot(drill_id="d1", carry_m=64.0)
        events = [{"event": "undo"}, {"event": "undo"}, {"event": "ball"}, {"event": "guess"}]
        with reopen() as store:
            store.ensure_player("Ada")
            store.start_drill("Ada", "d1", {})
            store.add_drill_events("d1", [{"event": "ball"}], shot=old)
            assert store.add_drill_events("d1", events, shot=new, void_shot_id=old.shot_id) == 5
        with reopen() as store:
            assert store.drill_events("d1") == [{"event": "ball"}, *events]
            assert store.shots("Ada") == [new]
            assert store.live_drill_shots("Ada", "d1") == {new.shot_id: new.shot_id}

    def test_all_is_stored_together_or_nothing(self, reopen: Opener, make_shot: MakeShot) -> None:
        shot, old = make_shot(), make_shot(drill_id="d1")
        row, ball = FollowedRow("d1", "range.csv", 4, "t1"), {"event": "ball"}
        with reopen() as store:
            store.ensure_player("Ada")
            store.start_drill("Ada", "d1", {})
            store.add_drill_events("d1", [ball], shot=old)
            refusals: list[tuple[str, list[dict[str, Any]], dict[str, Any], type[Exception], str]] = [
                ("d9", [ball], {"shot": shot}, UnknownNameError, r"^unknown drill 'd9'"),
                (
                    "d1",
                    [{}, ball],
                    {"shot": shot, "void_shot_id": "nobody"},
                    UnknownNameError,
                    r"^unknown shot 'nobody'",
                ),
                ("d1", [ball, {"x": float("nan")}], {"shot": shot}, ValueError, "JSON compliant"),
                ("d1", [ball], {"shot": shot, "void_shot_id": old.shot_id}, ValueError, "event of its own"),
                ("d1", [], {"shot": shot}, ValueError, "at least one event"),
                ("d1", [ball], {"row": row}, ValueError, "comes with its ball"),
                ("d1", [ball], {"shot": old, "row": row}, StoreError, "is there already, nothing was stored"),
            ]
            for drill_id, events, more, kind, sentence in refusals:
                with pytest.raises(kind, match=sentence):
                    store.add_drill_events(drill_id, events, **more)
        with reopen() as store:
            assert store.shots("Ada", include_void=True) == store.shots("Ada") == [old]
            assert store.drill_events("d1") == [ball]
            assert store.followed_rows("Ada") == []

    def test_a_ball_undone_elsewhere_does_not_stop_the_drill(self, reopen: Opener, make_shot: MakeShot) -> None:
        shot = make_shot(drill_id="d1")
        with reopen() as store:
            store.ensure_player("Ada")
            store.start_drill("Ada", "d1", {})
            store.add_drill_events("d1", [{"event": "ball"}], shot=shot)
            store.undo("Ada")
            assert store.add_drill_events("d1", [{"event": "undo"}], void_shot_id=shot.shot_id) == 2

    def test_the_drill_knows_its_balls_by_the_ids_that_they_have_now(self, reopen: Opener, make_shot: MakeShot) -> None:
        stays, goes, back, taken = (make_shot(drill_id="d1") for _ in range(4))
        with reopen() as store:
            store.ensure_player("Ada")
            store.ensure_player("Bo")
            store.start_drill("Ada", "d1", {})
            store.start_drill("Ada", "d2", {})
            assert store.live_drill_shots("Ada", "d1") == {}
            for shot in (stays, goes, back, taken):
                store.add_drill_events("d1", [{"event": "ball"}], shot=shot)
            for shot in (goes, back, taken):
                store.void_shot("Ada", shot.shot_id)
            once = store.restore_shot("Ada", back.shot_id).shot_id
            store.void_shot("Ada", once)
            twice = store.restore_shot("Ada", once).shot_id
            copy = store.restore_shot("Ada", taken.shot_id).shot_id
        with reopen() as store:
            live = {stays.shot_id: stays.shot_id, back.shot_id: twice}
            assert store.live_drill_shots("ada", "d1") == live | {taken.shot_id: copy}
            assert store.live_drill_shots("Ada", "d2") == store.live_drill_shots("Bo", "d1") == {}
            # an undo by the name that the event gave takes back the copy
            store.add_drill_events("d1", [{"event": "undo"}], void_shot_id=taken.shot_id)
            assert store.live_drill_shots("Ada", "d1") == live
            # and one by the name that it has now
            store.add_drill_events("d1", [{"event": "undo"}], void_shot_id=twice)
            assert store.live_drill_shots("Ada", "d1") == {stays.shot_id: stays.shot_id}
            for unknown in (("Cy", "d1"), ("Ada", "d9")):
                with pytest.raises(UnknownNameError):
                    store.live_drill_shots(*unknown)

    def test_rows_of_a_watched_file_stay_known_and_are_undone_singly(self, reopen: Opener, make_shot: MakeShot) -> None:
        first, second, bos = (make_shot(drill_id="d1") for _ in range(3))
        bos = bos.replace(player="Bo", drill_id="d2")
        rows = [FollowedRow("d1", "range.csv", 4, "t1"), FollowedRow("d1", "range.csv", -2, "u1")]
        with reopen() as store:
            for player, drill in (("Ada", "d1"), ("Bo", "d2")):
                store.ensure_player(player)
                store.start_drill(player, drill, {})
            for shot, row in ((first, rows[0]), (second, replace(rows[1], file_name="/some/where/range.csv"))):
                store.add_drill_events("d1", [{"event": "ball"}], shot=shot, row=row)
            store.add_drill_events("d2", [{"event": "ball"}], shot=bos, row=FollowedRow("d2", "b.csv", 2, "t1"))
        with reopen() as store:
            assert store.followed_rows("ada") == rows
            assert store.imports("Ada") == []
            assert store.import_rows("Ada") == []
            assert store.undo("Ada") == UndoResult((second,))
            store.add_drill_events("d1", [{"event": "undo"}], void_shot_id=first.shot_id)
            assert store.shots("Ada") == []
            assert store.followed_rows("Ada") == rows, "taken back, and still not to be imported"

    def test_unknown_and_repeated_drills_are_refused(self, reopen: Opener) -> None:
        with reopen() as store:
            store.ensure_player("Ada")
            store.start_drill("Ada", "d1", {})
            with pytest.raises(BadNameError) as refusal:
                store.start_drill("Ada", "d1", {})
            assert str(refusal.value) == "drill 'd1' cannot be used; it exists already: a new drill has a new id"
            for ask in (store.drill, store.drill_events):
                with pytest.raises(UnknownNameError, match=r"^unknown drill 'd2'; did you mean 'd1'\?$"):
                    ask("d2")


def as_copy(shot: Shot, copy: Shot) -> Shot:
    """Return what a copy has to equal: all of the shot but its id, which must be a new one."""
    assert copy.shot_id != shot.shot_id
    return shot.replace(shot_id=copy.shot_id)


def _values(shot: Shot) -> list[object]:
    return [getattr(shot, name) for name in Shot.__slots__]
