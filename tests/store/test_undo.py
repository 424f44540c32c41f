"""Undo against a model of it: a plain list of what was done."""

import tempfile
from pathlib import Path
from typing import Any

import hypothesis.strategies as st
import pytest
from hypothesis import given, settings

from wedgelab.errors import StoreError
from wedgelab.shots import Shot, new_id
from wedgelab.store.records import ImportBatch
from wedgelab.store.store import SqliteStore

ACTIONS = st.lists(
    st.one_of(
        st.just(("log", 1)),
        st.tuples(st.just("import"), st.integers(0, 4)),
        st.tuples(st.just("delete"), st.integers(0, 30)),
        st.just(("undo", 1)),
    ),
    max_size=14,
)


def shot(second: int) -> Shot:
    values: dict[str, Any] = {"wedge": "54", "loft_deg": 54.0, "swing": "9:00", "swing_deg": 90.0, "carry_m": 60.0}
    hit_at = f"2026-06-03T12:00:{second:02d}+02:00"
    return Shot(shot_id=new_id(), player="Ada", session="s", hit_at=hit_at, **values)


@settings(max_examples=40, deadline=None)
@given(ACTIONS)
def test_undo_takes_back_the_latest_action_that_still_shows(actions: list[tuple[str, int]]) -> None:
    done: list[list[str]] = []  # one list of the ids that still show for each action, oldest first
    with tempfile.TemporaryDirectory() as folder, SqliteStore.open(Path(folder) / "log.db") as store:
        store.ensure_player("Ada")
        for number, (action, size) in enumerate(actions):
            showing = [one for ids in done for one in ids]
            if action == "log":
                made = shot(59 - number)  # hit times run backwards: undo goes by the order of logging
                store.add_shot(made)
                done.append([made.shot_id])
            elif action == "import":
                rows = [shot(30) for _ in range(size)]
                batch = ImportBatch(new_id(), "Ada", "a.csv", "00", size)
                store.add_shots(rows, import_batch=batch, row_keys=["k"] * size)
                done.append([row.shot_id for row in rows])
            elif action == "delete" and showing:
                gone = showing[size % len(showing)]
                store.void_shot("Ada", gone)
                done = [[one for one in ids if one != gone] for ids in done]
            elif action == "undo":
                done = _undone(store, [ids for ids in done if ids])
            assert {one.shot_id for one in store.shots("Ada")} == {one for ids in done for one in ids}
        assert store.check() == []


def _undone(store: SqliteStore, done: list[list[str]]) -> list[list[str]]:
    if not done:
        with pytest.raises(StoreError, match="left to undo"):
            store.undo("Ada")
        return []
    assert [one.shot_id for one in store.undo("Ada").shots] == done[-1]
    return done[:-1]
