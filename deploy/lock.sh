#!/usr/bin/env bash
# Writes deploy/locked.txt (to run) and deploy/locked-test.txt (to test) anew, for every system, with hashes.
# Run it after a change of the dependencies in pyproject.toml. Needs uv: pip install uv
set -eu
cd "$(dirname "$0")/.."
lock() {
  echo "setuptools>=77" | uv pip compile --quiet --universal --python-version 3.11 --generate-hashes \
    --custom-compile-command "bash deploy/lock.sh" pyproject.toml - "$@"
}
lock -o deploy/locked.txt
lock --extra test -c deploy/locked.txt -o deploy/locked-test.txt
