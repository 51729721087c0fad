"""Tables for people, and their place in DEVELOPERS.md between two marks."""

from __future__ import annotations

import os
import re
import subprocess
from collections.abc import Sequence
from datetime import date
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
NOTES = ROOT / "DEVELOPERS.md"


def table(rows: Sequence[Sequence[str]]) -> list[str]:
    """Rows as lines of a table, the first of them its heading."""
    head, *rest = [f"| {' | '.join(row)} |" for row in rows]
    return [head, "|" + " --- |" * len(rows[0]), *rest]


def write(name: str, lines: Sequence[str]) -> None:
    """Puts lines between the marks of ``name``. Raises ``ValueError`` where DEVELOPERS.md has no such marks."""
    begin, end = f"<!-- {name}: begin -->", f"<!-- {name}: end -->"
    text = NOTES.read_text(encoding="utf-8")
    if begin not in text or end not in text:
        raise ValueError(f"DEVELOPERS.md has no marks for {name}")
    before, rest = text.split(begin)
    _, after = rest.split(end)
    NOTES.write_text(f"{before}{begin}\n" + "\n".join(lines).strip() + f"\n{end}{after}", encoding="utf-8")


def where() -> str:
    """The machine and the day."""
    return f"{os.cpu_count()} cores, {processor()}, {date.today().isoformat()}, commit {commit()}."


def processor() -> str:
    info = Path("/proc/cpuinfo")
    found = re.search(r"model name\s*:\s*(.+)", info.read_text()) if info.exists() else None
    return found[1].strip() if found else "unknown processor"


def commit() -> str:
    """The commit that is measured, with a + where the tree differs from it."""
    name = _git("rev-parse", "--short", "HEAD") or "none"
    return name + ("+" if _git("status", "--porcelain", "--", "domain", "tests/benchmarks") else "")


def _git(*words: str) -> str:
    done = subprocess.run(["git", "-C", str(ROOT), *words], capture_output=True, text=True, check=False)
    return done.stdout.strip()
