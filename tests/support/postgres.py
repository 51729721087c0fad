"""A PostgreSQL server of one's own for as long as a command runs:

python tests/support/postgres.py .venv/bin/python -m pytest tests/webapp

It needs PostgreSQL's programs on the machine (Debian's package is ``postgresql``), no running server. The
server lives in a folder of its own, listens on this machine alone on a free port, and does not wait for the
disk. It sorts text by language where it can, as servers usually do and SQLite does not.
"""

from __future__ import annotations

import os
import re
import shutil
import socket
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

SETTINGS = {
    "listen_addresses": "127.0.0.1",
    "fsync": "off",
    "synchronous_commit": "off",
    "full_page_writes": "off",
    "max_connections": "200",
}


def programs() -> Path | None:
    """The folder of PostgreSQL's programs, none where it is not installed."""
    found = shutil.which("initdb")
    if found:
        return Path(found).resolve().parent
    versions = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"), key=lambda path: int(path.parts[-3]))
    return versions[-1].parent if versions else None


@contextmanager
def own_server() -> Iterator[str]:
    """The address of a new server, which is gone afterwards. Raises ``FileNotFoundError`` without PostgreSQL."""
    folder = programs()
    if folder is None:
        raise FileNotFoundError("no PostgreSQL on this machine: install the system's postgresql package")
    place = Path(tempfile.mkdtemp(prefix="castweek-postgres-"))
    place.chmod(0o755)
    data = place / "data"
    data.mkdir()
    if os.geteuid() == 0:  # the server refuses to be root
        shutil.chown(data, "postgres")
    try:
        _run([folder / "initdb", "-D", data, "-A", "trust", "-U", "postgres", "-E", "UTF8", "--no-sync", *_locale(folder)])
        port = _free_port()
        options = {**SETTINGS, "port": str(port), "unix_socket_directories": str(data)}
        said = " ".join(f"-c {name}={value}" for name, value in options.items())
        _run([folder / "pg_ctl", "-D", data, "-w", "-l", data / "log", "-o", said, "start"])
        try:
            yield f"postgresql+psycopg://postgres@127.0.0.1:{port}/postgres"
        finally:
            _run([folder / "pg_ctl", "-D", data, "-m", "immediate", "stop"])
    finally:
        shutil.rmtree(place, ignore_errors=True)


def _locale(folder: Path) -> list[str]:
    version = re.search(r"\d+", subprocess.run([folder / "postgres", "-V"], check=True, capture_output=True, text=True).stdout)
    by_language = version is not None and int(version[0]) >= 15
    return ["--locale=C.UTF-8", *(["--locale-provider=icu", "--icu-locale=en-US"] if by_language else [])]


def _run(command: list[str | Path]) -> None:
    other_user = ["runuser", "-u", "postgres", "--"] if os.geteuid() == 0 else []
    # the server keeps what it is given for its output open, so it gets a file and not a pipe
    with tempfile.TemporaryFile("w+") as said:
        done = subprocess.run([*other_user, *command], stdout=said, stderr=said, stdin=subprocess.DEVNULL, cwd="/", check=False)
        if done.returncode != 0:
            said.seek(0)
            raise RuntimeError(f"{Path(command[0]).name} failed:\n{said.read()}")


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


if __name__ == "__main__":
    with own_server() as url:
        environment = {**os.environ, "CASTWEEK_TEST_DATABASE_URL": url}
        code = subprocess.run(sys.argv[1:], env=environment, check=False).returncode
    sys.exit(code)
