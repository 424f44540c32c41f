"""Undo against a model of it: what was done, in order, and which balls still show."""

import tempfile
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import hypothesis.strategies as st
import pytest
from hypothesis import given, settings

from wedgelab.errors import StoreError
from wedgelab.shots import Shot, new_id
from wedgelab.store.records import ImportBatch, UndoResult
from wedgelab.store.store import SqliteStore

ACTIONS = st.lists(
    st.one_of(
        st.just(("log", 1)),
        st.tuples(st.just("import"), st.integers(0, 4)),
        st.tuples(st.just("delete"), st.integers(0, 30)),
        st.tuples(st.just("take back"), st.integers(0, 30)),
        st.tuples(st.just("restore"), st.integers(0, 30)),
        st.just(("undo", 1)),
        st.just(("undo", 1)),
    ),
    max_size=16,
)


def shot(second: int, carry_m: float = 60.0) -> Shot:
    values: dict[str, Any] = {"wedge": "54", "loft_deg": 54.0, "swing": "9:00", "swing_deg": 90.0, "carry_m": carry_m}
    hit_at = f"2026-06-03T12:00:{second:02d}+02:00"
    return Shot(shot_id=new_id(), player="Ada", session="s", hit_at=hit_at, **values)


@dataclass
class Done:
    """One action: the balls that it brought, or the one that it deleted; ``is_over`` once it counts no more."""

    kind: str
    balls: list[int]
    is_over: bool = False


@dataclass
class Model:
    """A ball is a number; its id changes when it is restored, its place in ``history`` never does."""

    history: list[Done] = field(default_factory=list)
    ids: dict[int, str] = field(default_factory=dict)
    showing: list[int] = field(default_factory=list)

    def add(self, kind: str, shots: list[Shot]) -> None:
        balls = [len(self.ids) + n for n in range(len(shots))]
        self.ids |= dict(zip(balls, (one.shot_id for one in shots), strict=True))
        self.showing += balls
        self.history.append(Done(kind, balls))

    def restore(self, ball: int, shot_id: str) -> None:
        self.ids[ball] = shot_id
        self.showing.append(ball)
        for done in self.history:
            done.is_over = done.is_over or (done.kind == "delete" and done.balls == [ball])

    def last(self) -> tuple[str, list[int]] | None:
        """Return what an undo has to reverse: walk back from the end to the first action that still counts."""
        for done in reversed(self.history):
            left = [ball for ball in done.balls if ball in self.showing]
            if done.kind == "delete" and not done.is_over:
                return "delete", done.balls
            if done.kind == "import" and left and not done.is_over:
                done.is_over = True
                return "import", left
            if done.kind != "delete" and left:
                return "log", left[-1:]
        return None

    def undo(self, store: SqliteStore) -> bool:
        """Undo in both; tell whether something was left."""
        expected = self.last()
        if expected is None:
            with pytest.raises(StoreError, match="left to undo"):
                store.undo("Ada")
            return False
        kind, balls = expected
        result = store.undo("Ada")
        assert result.restored == (kind == "delete")
        assert (result.import_batch is not None) == (kind == "import")
        if kind == "delete":
            (copy,) = result.shots
            assert copy.shot_id not in self.ids.values()
            assert copy.carry_m == 10.0 + balls[0]
            self.restore(balls[0], copy.shot_id)
        else:
            assert [one.shot_id for one in result.shots] == [self.ids[ball] for ball in balls]
            self.showing = [ball for ball in self.showing if ball not in balls]
        return True


@settings(max_examples=60, deadline=None)
@given(ACTIONS)
def test_undo_reverses_the_latest_action_that_still_counts(actions: list[tuple[str, int]]) -> None:
    model = Model()
    with tempfile.TemporaryDirectory() as folder, SqliteStore.open(Path(folder) / "log.db") as store:
        store._connection.execute("PRAGMA synchronous = OFF")  # no power fails here
        store.ensure_player("Ada")
        for number, action in enumerate(actions):
            # hit times run backwards: undo goes by the order of logging
            _act(model, store, 59 - number, *action)
            assert {one.shot_id for one in store.shots("Ada")} == {model.ids[ball] for ball in model.showing}
        waiting = sum(done.kind == "delete" and not done.is_over for done in model.history)
        steps = len(model.showing) + 2 * waiting
        while model.undo(store):
            steps -= 1
        assert steps >= 0, "each undo takes something back for good, or brings back what a later one takes"
        assert store.shots("Ada") == []
        assert store.check() == []


def _act(model: Model, store: SqliteStore, second: int, action: str, size: int) -> None:
    gone = [ball for ball in model.ids if ball not in model.showing]
    if action == "log":
        made = shot(second, 10.0 + len(model.ids))
        store.add_shot(made)
        model.add("log", [made])
    elif action == "import":
        rows = [shot(30, 10.0 + len(model.ids) + n) for n in range(size)]
        batch = ImportBatch(new_id(), "Ada", "a.csv", "00", size)
        store.add_shots(rows, import_batch=batch, row_keys=["k"] * size)
        model.add("import", rows)
    elif action in {"delete", "take back"} and model.showing:
        ball = model.showing[size % len(model.showing)]
        store.void_shot("Ada", model.ids[ball], reason="deleted" if action == "delete" else "undo")
        model.showing.remove(ball)
        if action == "delete":
            model.history.append(Done("delete", [ball]))
    elif action == "restore" and gone:
        ball = gone[size % len(gone)]
        model.restore(ball, store.restore_shot("Ada", model.ids[ball]).shot_id)
    elif action == "undo":
        model.undo(store)


def test_log_a_log_b_delete_a_then_undo_brings_back_a_and_takes_b_and_then_a(store: SqliteStore) -> None:
    a, b = shot(1), shot(2)
    store.add_shot(a)
    store.add_shot(b)
    store.void_shot("Ada", a.shot_id)
    first = store.undo("Ada")
    assert first == UndoResult((a.replace(shot_id=first.shots[0].shot_id),), restored=True)
    assert store.undo("Ada") == UndoResult((b,))
    assert store.undo("Ada") == UndoResult(first.shots)
    for _ in range(2):
        with pytest.raises(StoreError, match="no shot of 'Ada' is left to undo"):
            store.undo("Ada")
