#!/bin/sh
# Resolves pyproject.toml (with its dev group) to requirements.lock: hashes for every platform, no address.
set -eu
cd "$(dirname "$0")/.."
tools=build/lock-tools
"${PYTHON:-python3}" -m venv "$tools"
"$tools/bin/python" -m pip --disable-pip-version-check install -q 'uv>=0.5'
# One version of each package for all Pythons from 3.11 on, so that everybody tests the same code.
"$tools/bin/uv" pip compile pyproject.toml --quiet --group dev --upgrade \
    --universal --fork-strategy fewest --python-version 3.11 \
    --generate-hashes --no-annotate --no-header --no-emit-index-url --output-file "$tools/requirements.txt"
{
    echo "# Made by 'make lock' from pyproject.toml. Hashes only: packages come from wherever pip is set up to look."
    cat "$tools/requirements.txt"
} >requirements.lock
