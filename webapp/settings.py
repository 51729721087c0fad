"""What the server is told when it starts: from the environment and the command line."""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo, available_timezones

from webapp.steady import utc_now

MAX_BODY_BYTES = 6_000_000
"""Largest request body. A week document with a thousand jobs takes about one megabyte."""


LOOPBACK = frozenset({"127.0.0.1", "::1", "localhost"})


def data_folder(environment: Mapping[str, str] = os.environ) -> Path:
    """Where the shop's data lives: ``$XDG_DATA_HOME/castweek`` or ``~/.local/share/castweek``."""
    base = environment.get("XDG_DATA_HOME", "")
    return (Path(base) if base else Path.home() / ".local" / "share") / "castweek"


@dataclass(frozen=True, slots=True, kw_only=True)
class Settings:
    """``database_url``: a SQLAlchemy address of a SQLite file or a PostgreSQL database. ``allowed_hosts``: names, beside this
    machine's own, under which browsers may reach the server. ``demo``: an invented studio in a
    database of its own, made anew at every start. ``fixed_now``: the shop's local time instead of
    the real one, for tests and rehearsals. ``sign_in``: ask for sign-in on this machine too. ``browser``: the command or
    the file of the browser that makes PDFs, ``none`` for none, empty for the first one found."""

    database_url: str
    host: str = "127.0.0.1"
    port: int = 8765
    demo: bool = False
    log_level: str = "INFO"
    allowed_hosts: frozenset[str] = field(default_factory=frozenset)
    fixed_now: datetime | None = None
    sign_in: bool = False
    browser: str = ""

    @property
    def asks(self) -> bool:
        """Whether people must sign in: always, unless only this machine can reach the server."""
        return self.sign_in or self.host not in LOOPBACK

    @property
    def folder(self) -> Path:
        """Where files are kept beside the database: the folder of a SQLite file, else the user's data folder."""
        kind, _, path = self.database_url.partition(":///")
        return Path(path).parent if kind == "sqlite" else data_folder()

    def now(self, timezone: str) -> datetime:
        """The shop's local time, without a zone, to the minute."""
        return self.moment(timezone).replace(second=0, microsecond=0, tzinfo=None)

    def moment(self, timezone: str) -> datetime:
        """This moment in the shop's zone."""
        if self.fixed_now is not None:
            return self.fixed_now.replace(tzinfo=ZoneInfo(timezone))
        return utc_now().astimezone(ZoneInfo(timezone))


def settings_from(
    environment: Mapping[str, str] = os.environ,
    *,
    demo: bool = False,
    host: str | None = None,
    port: int | None = None,
    sign_in: bool = False,
) -> Settings:
    """Reads CASTWEEK_DATABASE_URL, CASTWEEK_HOST, CASTWEEK_PORT, CASTWEEK_LOG_LEVEL,
    CASTWEEK_ALLOWED_HOSTS (names with commas between) and CASTWEEK_BROWSER; arguments that are given win."""
    file = data_folder(environment) / ("demo.sqlite3" if demo else "castweek.sqlite3")
    default_url = f"sqlite:///{file}"
    names = environment.get("CASTWEEK_ALLOWED_HOSTS", "").split(",")
    return Settings(
        database_url=default_url if demo else environment.get("CASTWEEK_DATABASE_URL", default_url),
        host=host or environment.get("CASTWEEK_HOST", "127.0.0.1"),
        port=port or int(environment.get("CASTWEEK_PORT", "8765")),
        demo=demo,
        sign_in=sign_in,
        log_level=environment.get("CASTWEEK_LOG_LEVEL", "INFO").upper(),
        allowed_hosts=frozenset(name.strip().lower() for name in names if name.strip()),
        browser=environment.get("CASTWEEK_BROWSER", ""),
    )


def local_timezone(link: Path = Path("/etc/localtime")) -> str:
    """The IANA name of this machine's zone where it can be told, else UTC."""
    name = str(link.resolve()).rpartition("zoneinfo/")[2] if link.is_symlink() else ""
    return name if name in available_timezones() else "UTC"
