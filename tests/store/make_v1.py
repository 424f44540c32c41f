"""Write ``data/v1.sqlite`` from ``data/v1.json``: run once, at schema version 1, and never again after.

    python tests/store/make_v1.py

The file is committed so that every later version can be shown to read what the first one wrote.
"""

import json
from datetime import datetime
from pathlib import Path

from wedgelab.shots import Conditions, Shot, SwingLength, Wedge
from wedgelab.store.records import ImportBatch
from wedgelab.store.schema import newest_version
from wedgelab.store.store import SqliteStore

DATA = Path(__file__).parent / "data"
MADE_AT = datetime.fromisoformat("2026-06-05T08:00:00+02:00")


def main() -> None:
    if newest_version() != 1:
        raise SystemExit("the first schema is history: only its own program may write it")
    content = json.loads((DATA / "v1.json").read_text(encoding="utf-8"))
    target = DATA / "v1.sqlite"
    target.unlink(missing_ok=True)
    with SqliteStore.open(target, now=lambda: MADE_AT) as store:
        for entry in content["players"]:
            conditions = entry.pop("conditions")
            name = entry.pop("name")
            store.ensure_player(name)
            store.set_player(name, **entry, **conditions)
        for player, label, loft_deg, bounce_deg in content["wedges"]:
            store.add_wedge(player, Wedge(label, loft_deg, bounce_deg))
        store.retire_wedge(*content["retired_wedge"])
        for player, label, swing_deg in content["swings"]:
            store.add_swing(player, SwingLength(label, swing_deg))
        for entry in content["sessions"]:
            store.create_session(
                entry["player"],
                entry["name"],
                started_at=entry["started_at"],
                ball=entry["ball"],
                note=entry["note"],
                conditions=Conditions(**entry["conditions"]),
            )
        imported = content["imported"]
        batch = ImportBatch(
            imported["import_id"], imported["player"], imported["file_name"], imported["content_sha256"], 2
        )
        rows = [Shot(**values) for values in imported["shots"]]
        store.add_shots(rows, import_batch=batch, row_keys=imported["row_keys"])
        drill, shots = content["drill"], [Shot(**values) for values in content["shots"]]
        store.start_drill(drill["player"], drill["drill_id"], drill["settings"])
        store.add_drill_events(drill["drill_id"], drill["events"][:1])
        store.add_drill_events(drill["drill_id"], drill["events"][1:], shot=shots[0])
        store.add_shots(shots[1:])
        for player, shot_id in content["voided"]:
            store.void_shot(player, shot_id)
        store.restore_shot(*content["restored"])
        store.save_mapping(*content["mapping"])


if __name__ == "__main__":
    main()
