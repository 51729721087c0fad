"""The planner on the standard sets, beside a manager's plan by hand, what no plan can beat, and a general library.

    python tests/benchmarks/planner.py [--sets studio,workshop,house1000,house2000] [--seeds 10] [--peers 1]
                                       [--keep FILE] [--write]

Every week is planned in a process of its own, one after another, because the planner itself uses two cores. All
sets with ten seeds take about 45 minutes on two cores, each week its limit (15, 15, 60 and 120 seconds) and some
seconds for what is not counted: building the week and checking every plan that was shown. ``--keep FILE`` adds each
finished week to a file and takes up from there what the same commit has finished already. ``--write`` puts the
summary into DEVELOPERS.md. The tables are printed after what there is, also when the run is broken off.
The general library comes with the extra: pip install -e '.[test,bench]'.
"""

from __future__ import annotations

import argparse
import json
import subprocess
import sys
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from statistics import median
from typing import Any, TypeAlias

sys.path.insert(0, str(Path(__file__).resolve().parent))

import notes
import sets

Row: TypeAlias = dict[str, Any]
PATIENCE = 900
"""Seconds after its limit that a week may take before it is given up."""


def finished(keep: Path | None, commit: str) -> dict[tuple[str, str, int], Row]:
    """What the same commit has finished: by what was run, set and seed."""
    lines = keep.read_text().splitlines() if keep and keep.exists() else []
    rows = [json.loads(line) for line in lines]
    return {(row["what"], row["set"], row["seed"]): row for row in rows if row["commit"] == commit}


def run(what: str, name: str, seed: int) -> Row:
    """One week in a process of its own; a row that says ``failed`` where it does not come back with one."""
    command = [sys.executable, str(Path(__file__).with_name("one_week.py")), what, name, str(seed)]
    try:
        done = subprocess.run(command, capture_output=True, text=True, timeout=sets.SETS[name].seconds + PATIENCE, check=False)
    except subprocess.TimeoutExpired:
        return {"failed": f"no answer {PATIENCE} s after its limit"}
    if done.returncode:
        return {"failed": (done.stderr.strip().splitlines() or ["no word"])[-1]}
    return json.loads(done.stdout.splitlines()[-1])  # type: ignore[no-any-return]


def cases(names: Sequence[str], seeds: int, peers: int) -> Iterator[tuple[str, str, int]]:
    for name in names:
        yield from (("planner", name, seed) for seed in range(seeds))
        if name in ("studio", "workshop"):
            yield from (("peers", name, seed) for seed in range(peers))


def rows_of(todo: Sequence[tuple[str, str, int]], keep: Path | None) -> list[Row]:
    commit = notes.commit()
    known, rows = finished(keep, commit), []
    try:
        for what, name, seed in todo:
            row = known.get((what, name, seed))
            if row is None:
                row = {"what": what, "set": name, "seed": seed, "commit": commit} | run(what, name, seed)
                if keep:
                    with keep.open("a") as file:
                        file.write(json.dumps(row) + "\n")
            rows.append(row)
            print(line(row), flush=True)
    except KeyboardInterrupt:
        print("broken off; the tables are of what is finished")
    return rows


def line(row: Row) -> str:
    head = f"{row['what']} {row['set']}/{row['seed']}"
    if "failed" in row:
        return f"{head:<22} FAILED: {row['failed']}"
    if row["what"] == "peers":
        return "\n".join(f"{head:<22} {peer['name']}: {peer['values']}, {peer['note']}" for peer in row["peers"])
    values = "  ".join(f"{value}/{bound}" for value, bound in zip(row["values"], row["bounds"], strict=True))
    text = f"{head:<22} first {row['first']:.1f} s, all {row['seconds']:.1f} s, {row['memory']:.0f} MiB  {values}"
    text += f"  hand {row['hand']['values']} {row['hand']['seconds']:.1f} s  {row['flasks']} flasks {row['loads']} loads"
    return text + (f"  BROKEN {row['broken']}" if row["broken"] else "")


def gap(row: Row) -> float:
    """Flasks and loads above their bound, in percent of it."""
    value, bound = row["values"][2], row["bounds"][2]
    return 100 * (value - bound) / bound if bound else (100.0 if value else 0.0)


def both(rows: Sequence[Row], of: Callable[[Row], float], form: str = "{:.0f}") -> str:
    """Median and most."""
    found = [of(row) for row in rows]
    return f"{form.format(median(found))} ({form.format(max(found))})" if found else "–"


def summary(rows: Sequence[Row]) -> list[str]:
    """Median and, in brackets, the most over the seeds of each set."""
    head = (
        "set",
        "weeks",
        "first plan s",
        "all s",
        "proven on all levels",
        "s until proven",
        "left out, bound",
        "days late by hand",
        "days late",
        "bound",
        "flasks by hand",
        "flasks",
        "flasks + loads by hand",
        "flasks + loads",
        "bound",
        "above it %",
        "MiB",
        "plans checked, broken",
    )
    table = [head, *(_summed(name, mine) for name in sets.SETS if (mine := _planned(rows, name)))]
    return notes.table(table)


def _planned(rows: Sequence[Row], name: str) -> list[Row]:
    return [row for row in rows if row["what"] == "planner" and row["set"] == name and "failed" not in row]


def _summed(name: str, rows: list[Row]) -> tuple[str, ...]:
    proven = [row for row in rows if row["proven"]]
    return (
        name,
        str(len(rows)),
        both(rows, lambda r: r["first"], "{:.1f}"),
        both(rows, lambda r: r["seconds"], "{:.0f}"),
        f"{len(proven)} of {len(rows)}",
        both(proven, lambda r: r["seconds"], "{:.1f}"),
        f"{both(rows, lambda r: r['values'][0])}, {both(rows, lambda r: r['bounds'][0])}",
        both(rows, lambda r: r["hand"]["values"][1]),
        both(rows, lambda r: r["values"][1]),
        both(rows, lambda r: r["bounds"][1]),
        both(rows, lambda r: r["hand"]["flasks"]),
        both(rows, lambda r: r["flasks"]),
        both(rows, lambda r: r["hand"]["values"][2]),
        both(rows, lambda r: r["values"][2]),
        both(rows, lambda r: r["bounds"][2]),
        both(rows, gap, "{:.1f}"),
        both(rows, lambda r: r["memory"]),
        f"{sum(r['checked'] for r in rows)}, {sum(len(r['broken']) for r in rows)}",
    )


def peers(rows: Sequence[Row]) -> list[str]:
    head = ("week", "who", "left out", "days late", "flasks + loads", "overtime", "changes", "idle", "s", "note")
    table = [head]
    for row in rows:
        for peer in row.get("peers", []):
            values = [str(v) for v in peer["values"]] if peer["values"] else ["–"] * 6
            table.append((f"{row['set']}/{row['seed']}", peer["name"], *values, f"{peer['seconds']:.0f}", peer["note"]))
    return notes.table(table) if len(table) > 1 else []


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--sets", default=",".join(sets.SETS))
    parser.add_argument("--seeds", type=int, default=10)
    parser.add_argument("--peers", type=int, default=1, help="weeks of studio and workshop that a general library plans as well")
    parser.add_argument("--keep", type=Path)
    parser.add_argument("--write", action="store_true")
    asked = parser.parse_args()
    names = asked.sets.split(",")
    if unknown := [n for n in names if n not in sets.SETS]:
        parser.error(f"no set {', '.join(unknown)}; there are {', '.join(sets.SETS)}")
    rows = rows_of(list(cases(names, asked.seeds, asked.peers)), asked.keep)
    failed = [line(row) for row in rows if "failed" in row]
    text = [*summary(rows), "", *peers(rows), *failed]
    print("\n".join(["", *text]))
    if asked.write:
        notes.write("planner", ["Median over the seeds and, in brackets, the most. " + notes.where(), "", *text])


if __name__ == "__main__":
    main()
