"""Makes the day's copy while the app runs."""

from __future__ import annotations

import threading
import time
from datetime import datetime

from webapp.log import log
from webapp.settings import Settings
from webapp.store.archive import write_archive
from webapp.store.copies import FOLDER, Kind, copies_in, drop_old, drop_unfinished, name_for, rule
from webapp.store.engine import Database
from webapp.store.week import load_rules

FIRST_LOOK, EVERY, AFTER_FAILURE = 10, 60, 900
"""seconds"""


class Keeper:
    """``failed``: when the last copy could not be made and why, empty where it could. The demo gets no copies."""

    def __init__(self, db: Database, settings: Settings) -> None:
        self.db, self.settings = db, settings
        self.folder = settings.folder / FOLDER
        self.failed = ""
        self._stopping = threading.Event()
        self._thread = threading.Thread(target=self._run, name="copies", daemon=True)

    def start(self) -> None:
        if not self.settings.demo:
            self._thread.start()

    def stop(self) -> None:
        """Does not wait for a copy that is being made: it has no name yet, and nobody takes it for whole."""
        self._stopping.set()

    def look(self) -> bool:
        """Makes the copy of today unless it is there or none is wanted. Whether all is well; what is not is logged."""
        try:
            self._make_if_due()
        except Exception as error:
            log.exception("the daily copy could not be made", extra={"facts": {"folder": str(self.folder)}})
            self.failed = str(error)
            return False
        self.failed = ""
        return True

    def _make_if_due(self) -> None:
        with self.db.read() as session:
            wanted, timezone = rule(session), load_rules(session).timezone
        now = self.settings.now(timezone)
        if not wanted.daily or self._has_one_of(now):
            return
        started, target = time.monotonic(), name_for(self.db, self.folder, Kind.DAILY, now)
        manifest = write_archive(self.db, target)
        drop_old(self.db, self.folder, wanted.keep)
        drop_unfinished(self.db, self.folder, time.time())
        facts = {"file": str(target), "rows": manifest.rows, "seconds": round(time.monotonic() - started, 1)}
        log.info("the daily copy was made", extra={"facts": facts})

    def _has_one_of(self, now: datetime) -> bool:
        copies = copies_in(self.db, self.folder)
        return any(copy.kind is Kind.DAILY and copy.made_at.date() == now.date() for copy in copies)

    def _run(self) -> None:
        pause = FIRST_LOOK
        while not self._stopping.wait(pause):
            pause = EVERY if self.look() else AFTER_FAILURE
