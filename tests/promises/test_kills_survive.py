"""What was acknowledged survives a SIGKILL of the process that writes, again and again into the same journal."""

from __future__ import annotations

from pathlib import Path

from fleet.journal.reader import Reader
from tests.journal.test_faults import killed_while_writing
from tests.promises.promise import Promise, Seen, keep

PROMISE = Promise("kills_survive", "acknowledged events survive", "SIGKILL while writing", "kills", (3, 300, 2_000))


def test_no_acknowledged_event_is_lost_when_the_process_is_killed(tmp_path: Path) -> None:
    url = f"sqlite:///{tmp_path / 'journal.sqlite3'}"

    def trial(seed: int) -> Seen:
        acknowledged = killed_while_writing(url, acknowledgements=5 + seed * 7 % 40)
        reader = Reader(url)
        last = reader.last_sequence()
        events = reader.events(since=max(0, last - 900), limit=1_000)
        reader.close()
        assert last >= acknowledged
        assert [entry.sequence for entry in events] == list(range(events[0].sequence, last + 1))
        return {"kills": 1, "acknowledged": 5 + seed * 7 % 40}

    keep(PROMISE, trial)
