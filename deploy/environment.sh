# shellcheck shell=bash
# Shared by the scripts that make a virtual environment from this checkout. Sourced, not run.

# need PROGRAM PACKAGE...: a program from Debian packages; installed when we may, else said in one line.
need() {
    local program=$1
    shift
    command -v "$program" >/dev/null 2>&1 && return 0
    install_packages "$@"
}

# install_packages PACKAGE...: install them as root, otherwise say what to install and stop.
install_packages() {
    if [ "$(id -u)" -ne 0 ]; then
        echo "Please install what is missing first: sudo apt-get install $*" >&2
        exit 1
    fi
    if [ -z "${packages_updated:-}" ]; then
        apt-get update -qq
        packages_updated=yes
    fi
    DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends "$@" >/dev/null
}

# need_python: a Python of a supported version that can make virtual environments.
need_python() {
    need python3 python3 python3-venv
    python3 -c 'import ensurepip, venv' 2>/dev/null || install_packages python3-venv
    python3 -c 'import sys; sys.exit(not (3, 11) <= sys.version_info < (3, 14))' || {
        echo "gylewatch needs Python 3.11, 3.12 or 3.13; here is $(python3 --version)." >&2
        exit 1
    }
}

# make_environment FOLDER EXTRAS: a virtual environment with this checkout installed in it; EXTRAS is
# empty or like [test]. A second call does nothing until what is installed has changed.
make_environment() {
    local folder=$1 extras=$2 mark
    mark=$(cat pyproject.toml constraints.txt hatch_build.py web/package-lock.json service/version.py |
        sha256sum | cut -c1-16)$(python3 --version | tr ' ' '-')$extras
    [ -x "$folder/bin/gylewatch" ] && [ "$(cat "$folder/made-from" 2>/dev/null)" = "$mark" ] && return 0
    echo "Installing into $folder; the first time this takes a few minutes." >&2
    [ -x "$folder/bin/python" ] || python3 -m venv "$folder"
    "$folder/bin/python" -m pip install --quiet --disable-pip-version-check \
        --constraint constraints.txt --editable ".$extras"
    printf '%s' "$mark" >"$folder/made-from"
}
