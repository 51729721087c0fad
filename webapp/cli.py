"""The command ``castweek``. Exit codes of all commands:

0  it worked: a checked plan was written, or the plan keeps all rules
1  ``check`` only: the plan breaks a rule; each violation is a line of its own
2  the input is wrong: the command line, a file, a field (named by its path)
3  no plan: planning failed, or what it found did not pass the checker; nothing was written

What could not be planned does not make ``plan`` fail: it is part of the answer, and listed.
"""

from __future__ import annotations

import argparse
import json
import logging
import os
import socket
import sys
import threading
import webbrowser
from collections.abc import Callable, Sequence
from dataclasses import replace
from importlib.metadata import version
from pathlib import Path
from typing import Any

from domain.errors import DomainError
from domain.planning.check import Violation, check
from domain.planning.plan import Plan
from domain.planning.problem import Problem
from domain.week.build import problem_of
from webapp import care
from webapp.exchange.documents import PlanDocument, WeekDocument
from webapp.exchange.loading import LARGEST, D, WrongDocument, load_document
from webapp.formats import count
from webapp.log import set_up as set_up_log
from webapp.settings import LOOPBACK, Settings, settings_from

OK, BROKEN_RULE, WRONG_INPUT, NO_PLAN = 0, 1, 2, 3
SHOWN = 50
"""Errors listed before the rest is only counted."""

log = logging.getLogger(__name__)


def main(arguments: Sequence[str] | None = None) -> int:
    """Runs one command and returns its exit code. Without ``arguments``: those of the process."""
    options = _parser().parse_args(arguments)
    if arguments is None:
        _keep_output_clean()
    command: Callable[[argparse.Namespace], int] = options.command
    try:
        return command(options)
    except WrongDocument as error:
        _complain([str(problem) for problem in error.problems])
        return WRONG_INPUT
    except BrokenPipeError:
        # whoever reads has seen enough; nothing may be written at the end either
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return OK
    except KeyboardInterrupt:
        return _fail("stopped")


def _keep_output_clean() -> None:
    """A solver's library greets on the process's standard output when it is first used. It gets
    standard error instead, so that what we print is nothing but the answer."""
    ours = os.dup(1)
    os.dup2(2, 1)
    sys.stdout = os.fdopen(ours, "w", encoding="utf-8")


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="castweek",
        description="Plans and runs the week of a small lost-wax casting studio.",
        epilog=(__doc__ or "").partition(". ")[2],
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    commands = parser.add_subparsers(required=True, metavar="COMMAND")
    _add_serve(commands.add_parser("serve", help="run the app for the shop's browsers"))
    _add_plan(commands.add_parser("plan", help="plan a week from its JSON document"))
    checking = commands.add_parser("check", help="check a plan against all rules")
    checking.add_argument("week", metavar="WEEK.json", help="the week; - reads standard input")
    checking.add_argument("plan", metavar="PLAN.json", help="the plan; - reads standard input")
    checking.set_defaults(command=_check)
    schema = commands.add_parser("schema", help="print the JSON Schema of a document")
    schema.add_argument("document", choices=("week", "plan"))
    schema.set_defaults(command=_schema)
    care.add_commands(commands)
    commands.add_parser("version", help="print the version").set_defaults(command=_version)
    return parser


def _add_serve(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--demo", action="store_true", help="an invented studio in a database of its own, made anew at every start")
    parser.add_argument("--host", help="address to listen on with --lan; all of this machine's unless told otherwise")
    parser.add_argument("--lan", action="store_true", help="let the workshop's network reach it, signed in and encrypted")
    parser.add_argument("--sign-in", action="store_true", help="ask people to sign in on this machine too")
    parser.add_argument("--certificate", metavar="PEM", help="with --lan: your own certificate in place of a self-made one")
    parser.add_argument("--key", metavar="PEM", help="with --lan: the key of your own certificate")
    parser.add_argument("--port", type=_port, help="port to listen on")
    parser.add_argument("--no-browser", action="store_true", help="do not open a browser")
    parser.set_defaults(command=_serve)


def _add_plan(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("week", metavar="WEEK.json", help="the week; - reads standard input")
    parser.add_argument("-o", "--output", metavar="PLAN.json", default="-", help="where to write the plan; - is standard output")
    parser.add_argument("--seconds", type=_seconds, default=20.0, help="how long to look for a better plan (20)")
    parser.add_argument("--seed", type=int, default=0, help="the same seed and --deterministic make the same plan again (0)")
    parser.add_argument("--deterministic", action="store_true", help="count work done for seconds, whatever the clock says")
    parser.add_argument(
        "--anew",
        action="store_true",
        help="move what the week's previous plan holds for a cheaper plan too, not only to be in time",
    )
    parser.set_defaults(command=_plan)


def _seconds(text: str) -> float:
    seconds = float(text)
    if not 0 < seconds <= 86_400:
        raise argparse.ArgumentTypeError("must be more than 0 and at most 86400")
    return seconds


def _port(text: str) -> int:
    port = int(text)
    if not 0 < port < 65_536:
        raise argparse.ArgumentTypeError("must be from 1 to 65535")
    return port


def _plan(options: argparse.Namespace) -> int:
    set_up_log("WARNING")
    problem = _problem(options.week)
    try:
        plan = _solved(problem, options)
    except DomainError as error:
        return _fail(str(error))
    except Exception:
        log.exception("planning failed")
        return _fail("planning met an error that nobody expected; the lines above help whoever looks after it")
    broken = check(problem, plan)
    if broken:
        return _fail("the plan that was found breaks rules", *map(_violation, broken))
    text = PlanDocument.of(plan, problem.clock).model_dump_json(indent=2) + "\n"
    return _write(options.output, text) or _tell(plan)


def _solved(problem: Problem, options: argparse.Namespace) -> Plan:
    # the solvers take half a second to import, which the other commands need not wait for
    from domain.week.answer import plan_week

    return plan_week(problem, seconds=options.seconds, seed=options.seed, deterministic=options.deterministic, anew=options.anew)


def _check(options: argparse.Namespace) -> int:
    if options.week == options.plan == "-":
        raise WrongDocument.single("standard input cannot be both the week and the plan")
    problem = _problem(options.week)
    plan = _load(PlanDocument, options.plan).on_clock(problem.clock)
    broken = check(problem, plan)
    for violation in broken:
        print(_printable(_violation(violation)))
    if not broken:
        out = count(len(plan.left_out), "job")
        print(f"The plan keeps all rules: {_size_of(plan)}, {out} left out or in part.")
    return BROKEN_RULE if broken else OK


def _schema(options: argparse.Namespace) -> int:
    document: type[WeekDocument | PlanDocument] = WeekDocument if options.document == "week" else PlanDocument
    schema = {"$schema": "https://json-schema.org/draft/2020-12/schema", **document.model_json_schema()}
    print(json.dumps(schema, indent=2, ensure_ascii=False), flush=True)
    return OK


def _version(_options: argparse.Namespace) -> int:
    print(f"castweek {version('castweek')}")
    return OK


def _serve(options: argparse.Namespace) -> int:
    import uvicorn

    from webapp.app import create_app
    from webapp.demo import fresh_demo
    from webapp.store.trouble import Unavailable

    host = options.host or ("0.0.0.0" if options.lan else None)
    settings = settings_from(demo=options.demo, host=host, port=options.port, sign_in=options.sign_in or options.lan)
    if problem := _not_for_others(options, settings):
        _complain([problem])
        return WRONG_INPUT
    if settings.demo and options.port is None:
        settings = _demo_beside_others(settings)
    if not _is_free(settings.host, settings.port):
        _complain([f"port {settings.port} is in use, perhaps by Castweek itself; choose another with --port"])
        return WRONG_INPUT
    try:
        if settings.demo:
            fresh_demo(settings)
        app = create_app(settings)
    except Unavailable as error:
        _complain([str(error)])
        return WRONG_INPUT
    if settings.demo:
        print("Demo: an invented studio, made anew for today. What you change is gone at the next start.")
    name = "127.0.0.1" if settings.host in ("0.0.0.0", "::") else settings.host
    address = f"{'https' if options.lan else 'http'}://{name}:{settings.port}/"
    db = app.state.db
    print(f"The data are in {db.address.database if db.is_sqlite else repr(db.address)}")
    encrypted = _certificate(options, settings) if options.lan else {}
    if app.state.first_code:
        print(f"Nobody has an account yet. Make the owner's at {address}sign-in with this code, once: {app.state.first_code}")
    if not settings.asks:
        print("Only this machine can reach it, and nobody is asked for a password. For tablets: --lan")
    print(f"Castweek is at {address} (stop with Ctrl-C)", flush=True)
    if not options.no_browser:
        _open_soon(address)
    uvicorn.run(app, host=settings.host, port=settings.port, log_config=None, timeout_graceful_shutdown=2, **encrypted)
    return OK


def _not_for_others(options: argparse.Namespace, settings: Settings) -> str:
    """Why it may not start like this; empty where it may."""
    if settings.host not in LOOPBACK and not options.lan:
        return f"{settings.host} is reached by other machines: add --lan, which asks for sign-in and encrypts"
    if bool(options.certificate) != bool(options.key) or (options.certificate and not options.lan):
        return "--certificate and --key go together, and with --lan"
    missing = [path for path in (options.certificate, options.key) if path and not Path(path).is_file()]
    return f"{missing[0]}: there is no such file" if missing else ""


def _certificate(options: argparse.Namespace, settings: Settings) -> dict[str, Any]:
    """The server's certificate and key, and what people in the workshop must know about them."""
    from webapp.auth.certificate import fingerprint, made_certificate, own_addresses

    if options.certificate:
        return {"ssl_certfile": options.certificate, "ssl_keyfile": options.key}
    certificate, key = made_certificate(settings.folder)
    print("The connection is encrypted with a certificate that this server made for itself. The first time, each browser")
    print("warns about it: compare its SHA-256 fingerprint with this one, then let the browser trust it:")
    print(f"  {fingerprint(certificate)}")
    for other in own_addresses():
        if other != "127.0.0.1":
            print(f"Tablets reach it at https://{other}:{settings.port}/")
    print("Never open this port to the internet; it is for the workshop's own network.")
    return {"ssl_certfile": str(certificate), "ssl_keyfile": str(key)}


def _demo_beside_others(settings: Settings) -> Settings:
    """The next free port, with a database of its own, so that a running demo keeps its own."""
    ports = range(settings.port, min(settings.port + 20, 65_536))
    port = next((port for port in ports if _is_free(settings.host, port)), settings.port)
    if port == settings.port:
        return settings
    url = settings.database_url.replace("demo.sqlite3", f"demo-{port}.sqlite3")
    return replace(settings, port=port, database_url=url)


def _open_soon(address: str) -> None:
    """When the server has had time to start; nothing waits for it."""
    opener = threading.Timer(1.0, webbrowser.open, [address])
    opener.daemon = True
    opener.start()


def _is_free(host: str, port: int) -> bool:
    """Looked at first, so that a second start does not take the demo away from under the first."""
    with socket.socket(socket.AF_INET6 if ":" in host else socket.AF_INET, socket.SOCK_STREAM) as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((host, port))
        except OSError:
            return False
    return True


def _problem(path: str) -> Problem:
    week = _load(WeekDocument, path)
    try:
        return problem_of(week.to_domain())
    except DomainError as error:
        raise WrongDocument.single(f"{_shown(path)}: {error}") from None


def _load(kind: type[D], path: str) -> D:
    try:
        return load_document(kind, _read(path))
    except WrongDocument as error:
        raise WrongDocument(problem.within(_shown(path)) for problem in error.problems) from None


def _read(path: str) -> bytes:
    """At most one byte more than is allowed, so that a huge file is refused without being read."""
    try:
        if path == "-":
            return sys.stdin.buffer.read(LARGEST + 1)
        with Path(path).open("rb") as file:
            return file.read(LARGEST + 1)
    except OSError as error:
        raise WrongDocument.single(f"cannot be read: {error.strerror}") from None


def _write(path: str, text: str) -> int:
    try:
        if path == "-":
            sys.stdout.write(text)
            sys.stdout.flush()
        else:
            Path(path).write_text(text, encoding="utf-8")
    except OSError as error:
        _complain([f"{path}: cannot be written: {error.strerror}"])
        return WRONG_INPUT
    return OK


def _tell(plan: Plan) -> int:
    _complain([_size_of(plan), *(f"{v.name}: {v.value}" for v in plan.levels)])
    for left in plan.left_out:
        _complain([f"not planned, {left.pieces} of {left.job} (rule {left.rule}): {left.reason.rstrip('.')}. {left.remedy}"])
    return OK


def _size_of(plan: Plan) -> str:
    return f"{count(len(plan.flasks), 'flask')} in {count(len(plan.loads), 'kiln load')}"


def _violation(violation: Violation) -> str:
    return f"rule {violation.rule}: {violation.where}: {violation.message}"


def _shown(path: str) -> str:
    return "standard input" if path == "-" else path


def _fail(*lines: str) -> int:
    _complain(lines)
    return NO_PLAN


def _printable(line: str) -> str:
    """Texts out of a file must not steer the terminal."""
    return "".join(letter if letter.isprintable() else "?" for letter in line)


def _complain(lines: Sequence[str]) -> None:
    for line in lines[:SHOWN]:
        print(_printable(line), file=sys.stderr)
    if len(lines) > SHOWN:
        print(f"… and {len(lines) - SHOWN} more", file=sys.stderr)


if __name__ == "__main__":
    sys.exit(main())
