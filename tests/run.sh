#!/usr/bin/env bash
# Makes what the tests need and runs lint, types, layers and tests. Prints the time of each part.
# With CI set nothing is skipped: a missing component fails.
set -euo pipefail
cd "$(dirname "$0")/.."
. deploy/environment.sh

began=$SECONDS
times=()
part() {
    local name=$1 from=$SECONDS status=0
    shift
    echo "== $name"
    "$@" || status=$?
    times+=("$(printf '%-22s %4d s' "$name" $((SECONDS - from)))")
    [ "$status" -eq 0 ] || { echo "== $name failed" >&2; report; exit "$status"; }
}
report() {
    echo "== times"
    printf '%s\n' "${times[@]}" "$(printf '%-22s %4d s' all $((SECONDS - began)))"
}

install_all() {
    need_python
    need fusermount3 fuse3 libfuse2
    need mosquitto mosquitto
    need chromium chromium fonts-dejavu-core
    need openssl openssl ca-certificates
    need shellcheck shellcheck
    need gcc gcc libc6-dev
    need systemd-analyze systemd
    need mkfs.ext4 e2fsprogs
    need setpriv util-linux
    need sqlite3 sqlite3
    # Debian keeps initdb out of PATH
    compgen -G '/usr/lib/postgresql/*/bin/initdb' >/dev/null || need initdb postgresql
    make_environment .venv-test '[test]'
}
bin=.venv-test/bin
tests() {
    local marks=$1
    shift
    "$bin/python" -m pytest -q --cov --cov-append --cov-report= -m "$marks" "$@"
}
statics() {
    "$bin/ruff" check . && "$bin/ruff" format --check . && "$bin/mypy" && "$bin/lint-imports"
}
units() { tests 'not component and not browser and not fault' -n 2; }
covered() { "$bin/coverage" combine --quiet --append 2>/dev/null || true; "$bin/coverage" report | tail -n 3; }

part install install_all
rm -f .coverage .coverage.*
part 'lint, types, layers' statics
part unit units
part components tests component
part browser tests browser
part faults tests fault
part coverage covered
report
