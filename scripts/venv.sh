#!/bin/sh
# Brings .venv to exactly what requirements.lock says. Quick when it already is; repairs it when it is not.
set -eu
cd "$(dirname "$0")/.."
python=${PYTHON:-python3}
stamp=.venv/.ok

say() { echo "backprobe: $*" >&2; }

lock_stamp() { echo "lock $(cksum <requirements.lock) at $(pwd)"; }
project_stamp() { echo "project $(cksum <pyproject.toml)"; }

# The stamp alone would not notice a moved interpreter or a package that was taken out by hand.
complete() {
    .venv/bin/python - <<'PY' 2>/dev/null
import importlib.metadata as metadata
import pathlib
import sys

for line in pathlib.Path("requirements.lock").read_text().splitlines():
    if "==" in line and ";" not in line:
        name, _, version = line.rstrip("\\ ").partition("==")
        if metadata.version(name) != version:
            sys.exit(1)
PY
}

check_python() {
    if ! command -v "$python" >/dev/null 2>&1; then
        say "'$python' is not installed. Install Python 3.11 or newer, or run: make PYTHON=/path/to/python3"
        exit 1
    fi
    if ! "$python" -c 'import sys; sys.exit(sys.version_info < (3, 11))'; then
        say "'$python' is $("$python" --version). Python 3.11 or newer is needed: make PYTHON=/path/to/python3"
        exit 1
    fi
    if "$python" -c 'import ensurepip, venv' 2>/dev/null; then
        return
    fi
    if [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null 2>&1; then
        say "installing python3-venv, which '$python' needs to make .venv"
        export DEBIAN_FRONTEND=noninteractive
        apt-get install -qq -y python3-venv >/dev/null 2>&1 ||
            { apt-get update -qq && apt-get install -qq -y python3-venv >/dev/null; } || true
    fi
    if ! "$python" -c 'import ensurepip, venv' 2>/dev/null; then
        say "'$python' cannot make a virtual environment. On Debian: sudo apt install python3-venv"
        exit 1
    fi
}

pip() { .venv/bin/python -m pip --disable-pip-version-check --no-input "$@"; }

if ! { [ -f "$stamp" ] && [ "$(sed -n 1p "$stamp")" = "$(lock_stamp)" ] && complete; }; then
    check_python
    say "making .venv from requirements.lock (once, about 200 MB)"
    "$python" -m venv --clear .venv
    pip install -qq --only-binary :all: --require-hashes -r requirements.lock
fi
if ! { [ -f "$stamp" ] && [ "$(sed -n 2p "$stamp")" = "$(project_stamp)" ] &&
    [ -x .venv/bin/backprobe ]; }; then
    pip install -qq --no-deps --no-build-isolation -e .
    { lock_stamp && project_stamp; } >"$stamp"
fi
