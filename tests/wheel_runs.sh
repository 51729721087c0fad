#!/usr/bin/env bash
# Builds the wheel, installs it into an environment of its own and asks the running app for a page:
# templates, static files and migrations must have travelled with it.
set -euo pipefail
cd "$(dirname "$0")/.."
place=$(mktemp -d)
server=
trap '[ -z "$server" ] || kill "$server" 2>/dev/null || true; rm -rf "$place"' EXIT
python3 -m venv "$place/build"
"$place/build/bin/pip" wheel -q --no-deps -w "$place/dist" .
python3 -m venv "$place/env"
"$place/env/bin/pip" install -q "$place"/dist/castweek-*.whl
cd "$place"
port=$("$place/env/bin/python" -c 'import socket; s = socket.socket(); s.bind(("127.0.0.1", 0)); print(s.getsockname()[1])')
XDG_DATA_HOME="$place/data" "$place/env/bin/castweek" serve --demo --port "$port" >"$place/log" 2>&1 &
server=$!
"$place/env/bin/python" - "$port" <<'PY' || { cat "$place/log"; exit 1; }
import sys, time, urllib.request

address = f"http://127.0.0.1:{sys.argv[1]}"
for attempt in range(120):
    try:
        page = urllib.request.urlopen(f"{address}/jobs", timeout=5).read().decode()
        break
    except OSError:
        time.sleep(0.5)
else:
    sys.exit("the app from the wheel did not answer")
assert "Castweek" in page, page[:500]
sheet = page.split('rel="stylesheet"')[1].split('href="')[1].split('"')[0] if 'rel="stylesheet" href' in page else "/static/castweek.css"
assert urllib.request.urlopen(address + sheet, timeout=5).status == 200
print("the wheel runs: jobs page and stylesheet answered")
PY
