"""Commands that look after the installation: ``backup``, ``restore``, ``doctor`` and ``service``."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import Any

from domain.errors import DomainError
from webapp.formats import count
from webapp.settings import settings_from

OK, SOMETHING_WRONG, WRONG_INPUT = 0, 1, 2

UNIT = """\
# Castweek as a service. Save as ~/.config/systemd/user/castweek.service, then:
#   systemctl --user enable --now castweek    starts it now and at each sign-in
#   loginctl enable-linger                    lets it start with the machine
#   journalctl --user -u castweek             shows its log
[Unit]
Description=Castweek, the casting studio's week
After=network-online.target

[Service]
{address}ExecStart={program} serve --no-browser{options}
Restart=on-failure
RestartSec=5
UMask=0077
NoNewPrivileges=true

[Install]
WantedBy=default.target
"""


def add_commands(commands: Any) -> None:
    backup = commands.add_parser("backup", help="write the complete shop to one archive, also while the app runs")
    backup.add_argument("file", metavar="FILE", nargs="?", help="a new file; without it: a dated one in the folder of copies")
    backup.set_defaults(command=_told(_backup))
    restore = commands.add_parser("restore", help="make a database of an archive, where there is none yet")
    restore.add_argument("file", metavar="FILE", help="an archive written by backup or by the app")
    restore.set_defaults(command=_told(_restore))
    doctor = commands.add_parser("doctor", help="say what is wrong here and what to do; exit code 1 where something is")
    doctor.add_argument("--json", action="store_true", help="as JSON")
    doctor.add_argument("--port", type=int, help="the port that Castweek runs on, where it is not the usual one")
    doctor.add_argument("--certificate", metavar="PEM", help="your own certificate, as for serve")
    doctor.set_defaults(command=_doctor)
    service = commands.add_parser("service", help="print a systemd unit that starts Castweek quietly with the machine")
    service.add_argument("--lan", action="store_true", help="let the workshop's network reach it")
    service.set_defaults(command=_service)


Command = Callable[[argparse.Namespace], int]


def _told(command: Command) -> Command:
    """Says in a line what is wrong."""
    from webapp.store.trouble import Unavailable

    def run(options: argparse.Namespace) -> int:
        try:
            return command(options)
        except (DomainError, Unavailable) as error:
            print(f"castweek: {error}", file=sys.stderr)
            return WRONG_INPUT

    return run


def _backup(options: argparse.Namespace) -> int:
    from webapp.store.archive import write_archive
    from webapp.store.copies import FOLDER, Kind, name_for
    from webapp.store.engine import Database

    settings = settings_from()
    db = Database(settings.database_url)
    if db.is_sqlite and not Path(db.address.database or "").is_file():
        raise DomainError(f"There is no shop at {db.address.database} to make a copy of.")
    target = Path(options.file) if options.file else name_for(db, settings.folder / FOLDER, Kind.HAND, datetime.now())
    try:
        manifest = write_archive(db, target)
    finally:
        db.close()
    print(f"{target}: {count(manifest.rows, 'row')} in {count(len(manifest.tables), 'table')}, read back and found whole.")
    print("It holds everything, also digests of passwords: keep it where only the owner reads it, and not on this machine alone.")
    return OK


def _restore(options: argparse.Namespace) -> int:
    from webapp.store.restoring import restore_archive

    manifest = restore_archive(Path(options.file), settings_from().database_url)
    rows, tables = count(manifest.rows, "row"), count(len(manifest.tables), "table")
    print(f"Restored {rows} in {tables}, as of {manifest.made_at:%Y-%m-%d %H:%M} UTC.")
    print("Every table was compared with the archive. Start Castweek with: castweek serve")
    return OK


def _doctor(options: argparse.Namespace) -> int:
    from webapp.doctor import Verdict, as_json, as_text, examine

    own = Path(options.certificate) if options.certificate else None
    findings = examine(settings_from(port=options.port), own)
    print(as_json(findings) if options.json else as_text(findings))
    return SOMETHING_WRONG if any(found.verdict is Verdict.WRONG for found in findings) else OK


def _service(options: argparse.Namespace) -> int:
    url = os.environ.get("CASTWEEK_DATABASE_URL", "")
    address = f'Environment="CASTWEEK_DATABASE_URL={url.replace("%", "%%")}"\n' if url else ""
    program = Path(sys.executable).with_name("castweek")
    print(UNIT.format(address=address, program=program, options=" --lan" if options.lan else ""), end="")
    return OK
