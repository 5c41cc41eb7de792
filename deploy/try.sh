#!/usr/bin/env bash
# Tries gylewatch out: makes a virtual environment, installs, and starts the demonstration.
set -euo pipefail
cd "$(dirname "$0")/.."
. deploy/environment.sh

need_python
make_environment .venv-try ''
exec .venv-try/bin/gylewatch demo
