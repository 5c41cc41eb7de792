# The steps of install.sh, which sets the variables they read. Sourced, not run.
# shellcheck shell=bash disable=SC2154

ready_within_s=${READY_WITHIN_S:-90}

# stop_with CODE SENTENCE
stop_with() {
    echo "gylewatch: $2" >&2
    exit "$1"
}

# on_exit: leaves nothing half done, whatever ended the script.
on_exit() {
    local code=$?
    trap - EXIT
    [ -z "${scratch:-}" ] || rm -rf "$scratch"
    [ -z "${armed:-}" ] || [ ! -e "$mark" ] || go_back
    exit $code
}

version_here() { basename "$(readlink "$opt/current")"; }

check_machine() {
    [ -n "$root" ] || [ -e /etc/debian_version ] ||
        stop_with 1 "This script knows Debian and Raspberry Pi OS only; elsewhere install the wheel by hand."
    [ "$(getconf LONG_BIT)" = 64 ] ||
        echo "Note: this is a 32-bit system. It may work, but only 64-bit systems are tested." >&2
    local folder free_mb
    folder=$opt
    while [ ! -d "$folder" ]; do folder=$(dirname "$folder"); done
    free_mb=$(df --output=avail -m "$folder" | tail -n 1)
    [ "$free_mb" -ge 600 ] || stop_with 1 "Only $free_mb MB are free in $folder; 600 MB are needed."
}

# get_wheel: sets wheel, and wanted, the name of its version. A wheel's name and content make it.
get_wheel() {
    need_python
    if [ -z "$wheel" ]; then
        echo "Building gylewatch; this takes a minute or two."
        scratch=$(mktemp -d)
        python3 -m venv "$scratch/venv"
        "$scratch/venv/bin/python" -m pip wheel --quiet --disable-pip-version-check --no-deps \
            --wheel-dir "$scratch/wheel" . || stop_with 1 "The wheel could not be built: see above."
        wheel=$(echo "$scratch"/wheel/gylewatch-*.whl)
    fi
    [ -f "$wheel" ] || stop_with 1 "There is no wheel $wheel."
    local version
    version=$(basename "$wheel" | cut -d- -f2)
    wanted=$version-$(sha256sum "$wheel" | cut -c1-8)
}

# make_version NAME: a virtual environment of its own for the wheel. One that was cut off is made anew.
make_version() {
    local folder=$opt/versions/$1
    [ ! -e "$folder/complete" ] || return 0
    echo "Installing gylewatch $1 into $folder."
    rm -rf "$folder"
    mkdir -p "$opt/versions"
    python3 -m venv "$folder"
    "$folder/bin/python" -m pip install --quiet --disable-pip-version-check \
        --constraint constraints.txt "$wheel" || stop_with 1 "The packages could not be installed: see above."
    "$folder/bin/gylewatch" --version >/dev/null || stop_with 1 "The installed program does not start: see above."
    mkdir -p "$folder/share/gylewatch"
    cp deploy/gylewatch.service deploy/99-gylewatch-w1.rules "$folder/share/gylewatch/"
    touch "$folder/complete"
}

# lay_files: user, folders, settings, unit, rules. What a person changed in the settings stays.
lay_files() {
    if [ -z "$root" ] && ! id gylewatch >/dev/null 2>&1; then
        useradd --system --user-group --home-dir "$data" --no-create-home --shell /usr/sbin/nologin gylewatch
    fi
    mkdir -p "$(dirname "$settings")" "$(dirname "$unit")" "$(dirname "$rules")" "$(dirname "$command_link")"
    [ -d "$data" ] || install -d -m 0700 "$data"
    if [ ! -e "$settings" ]; then
        {
            echo "# Settings of gylewatch: names as in docs/settings.md, in small letters."
            echo "# After a change: sudo systemctl restart gylewatch"
            echo 'data_dir = "/var/lib/gylewatch"'
        } >"$settings"
        chmod 0640 "$settings"
    fi
    lay_unit
    ln -sfn ../../../opt/gylewatch/current/bin/gylewatch "$command_link"
    if [ -z "$root" ]; then
        chown -R gylewatch:gylewatch "$data"
        chgrp gylewatch "$settings"
        if command -v udevadm >/dev/null 2>&1 && [ -S /run/udev/control ]; then
            udevadm control --reload
            udevadm trigger --action=add --subsystem-match=w1
        fi
    fi
}

# lay_unit: the unit and the rules that belong to the version in use.
lay_unit() {
    install -m 0644 "$opt/current/share/gylewatch/gylewatch.service" "$unit"
    install -m 0644 "$opt/current/share/gylewatch/99-gylewatch-w1.rules" "$rules"
    [ -z "$with_systemd" ] || systemctl daemon-reload
}

# asked EXPRESSION: what the installed program's own reading of the settings says; a wrong setting stops here.
asked() {
    GYLEWATCH_SETTINGS=$settings "$opt/current/bin/python" -c "
import sys
from service.errors import GylewatchError
from service.settings import load_settings
try:
    settings = load_settings()
except GylewatchError as refusal:
    sys.exit(f'gylewatch: {refusal}')
print($1)"
}

# answers PORT: whether /readyz says 200 there.
answers() {
    "$opt/current/bin/python" -c "
import sys, urllib.request
try:
    urllib.request.urlopen('http://127.0.0.1:$1/readyz', timeout=5)
except OSError:
    sys.exit(1)"
}

# start_and_check: starts what is current, and whether it became ready. Without systemd it is a trial: it is
# started as the service would be, and stopped again.
start_and_check() {
    local port until=$((SECONDS + ready_within_s)) trial=''
    port=$(asked settings.port) || return 1
    stop_service
    if answers "$port"; then
        echo "Another gylewatch answers on port $port already: stop that one first." >&2
        return 1
    fi
    if [ -n "$with_systemd" ] && [ -z "$no_start" ]; then
        systemctl enable --quiet gylewatch
        systemctl start --no-block gylewatch
    else
        echo "systemd is not used here: gylewatch is started for a trial only."
        as_the_user "$opt/current/bin/gylewatch" watch >"$opt/trial.log" 2>&1 &
        trial=$!
    fi
    while ! answers "$port"; do
        if [ $SECONDS -ge $until ] || { [ -n "$trial" ] && ! kill -0 "$trial" 2>/dev/null; }; then
            tell_failure "$trial"
            return 1
        fi
        sleep 0.5
    done
    # whoever answers must be the one that was started
    if [ -n "$trial" ] && ! kill -0 "$trial" 2>/dev/null; then
        tell_failure "$trial"
        return 1
    fi
    [ -z "$trial" ] || end_trial "$trial"
}

as_the_user() {
    if [ -n "$root" ]; then
        GYLEWATCH_SETTINGS=$settings GYLEWATCH_DATA_DIR=$data exec "$@"
    else
        GYLEWATCH_SETTINGS=$settings exec setpriv --reuid=gylewatch --regid=gylewatch --init-groups -- "$@"
    fi
}

end_trial() {
    kill "$1" 2>/dev/null || true
    wait "$1" 2>/dev/null || true
}

tell_failure() {
    echo "gylewatch did not become ready. It said:" >&2
    if [ -n "$1" ]; then
        end_trial "$1"
        tail -n 15 "$opt/trial.log" >&2
    else
        journalctl --unit gylewatch --lines 15 --no-pager --output cat >&2 || true
    fi
}

stop_service() { [ -z "$with_systemd" ] || systemctl stop gylewatch 2>/dev/null || true; }

# upgrade: nothing is changed before the copy of the data is complete; what fails afterwards is taken back.
upgrade() {
    local old
    old=$(version_here)
    make_version "$wanted"
    stop_service
    rm -rf "$before.new"
    if ! cp -a --reflink=auto "$data" "$before.new"; then
        rm -rf "$before.new"
        start_again
        stop_with 1 "The data could not be copied to $before: nothing was changed, $old goes on."
    fi
    sync
    rm -rf "$before"
    mv "$before.new" "$before"
    printf '%s\n' "$old" >"$mark.new"
    mv "$mark.new" "$mark"
    armed=yes
    sync
    ln -sfn "versions/$wanted" "$opt/current"
    lay_files
    if ! start_and_check; then
        go_back
        stop_with 3 "The upgrade to $wanted failed; $old is back with its data. The failed ones are in $failed."
    fi
    rm -f "$mark"
    for folder in "$opt"/versions/*; do
        case $(basename "$folder") in "$old" | "$wanted") ;; *) rm -rf "$folder" ;; esac
    done
    echo "Upgraded from $old to $wanted. The data as they were before are kept in $before."
}

# go_back: the version in the mark, with the copy of its data. What is there is set aside, never deleted, and
# the data come first: cut off anywhere, it can be done again.
go_back() {
    local old
    old=$(cat "$mark")
    echo "Going back to gylewatch $old." >&2
    stop_service
    rm -rf "$data.back"
    cp -a --reflink=auto "$before" "$data.back"
    sync
    [ ! -e "$data" ] || mv "$data" "$failed"
    mv "$data.back" "$data"
    ln -sfn "versions/$old" "$opt/current"
    lay_unit
    rm -f "$mark"
    sync
    start_again
}

start_again() { [ -z "$with_systemd" ] || [ -n "$no_start" ] || systemctl start --no-block gylewatch; }

# finish_what_was_cut_off: an upgrade that a power cut ended is kept if its version runs, else taken back.
finish_what_was_cut_off() {
    [ -e "$mark" ] || return 0
    [ "$task" != uninstall ] || return 0
    echo "An upgrade from $(cat "$mark") was cut off." >&2
    if [ "$(version_here)" = "$(cat "$mark")" ]; then
        rm -f "$mark"
        echo "Nothing had been changed yet." >&2
    elif start_and_check; then
        rm -f "$mark"
        echo "gylewatch $(version_here) is ready; the upgrade is complete." >&2
    else
        go_back
    fi
}

config_file() {
    local file
    for file in "$root/boot/firmware/config.txt" "$root/boot/config.txt"; do
        [ ! -f "$file" ] || { echo "$file"; return 0; }
    done
}

# explain_1wire: whether the interface is on; switches it on when asked.
explain_1wire() {
    local file
    file=$(config_file)
    if [ -z "$file" ]; then
        echo "1-wire: there is no config.txt of a Raspberry Pi here, so the interface was left as it is."
    elif grep -Eq '^[[:space:]]*dtoverlay=w1-gpio' "$file"; then
        echo "1-wire: switched on in $file."
    elif [ -n "$enable_1wire" ]; then
        cp -a "$file" "$file.before-gylewatch"
        # [all]: the last lines of the file may be for one model only
        printf '\n[all]\n# 1-wire thermometers on GPIO 4\ndtoverlay=w1-gpio\n' >>"$file"
        echo "1-wire: switched on in $file (before: $file.before-gylewatch). Restart the machine: sudo reboot"
    else
        echo "1-wire: switched off. Probes need it: call this again with --enable-1wire, or add the line"
        echo "  dtoverlay=w1-gpio"
        echo "to $file yourself; then restart the machine. The data wire goes to GPIO 4."
    fi
}

first_steps() {
    local port
    port=$(asked settings.port)
    cat <<TEXT

gylewatch $(version_here) is installed. Its page: http://127.0.0.1:$port
It listens on this machine only. To look in from another computer, open a tunnel there:
  ssh -L $port:127.0.0.1:$port $(logname 2>/dev/null || echo pi)@$(uname -n)
and open http://127.0.0.1:$port on that computer.

First steps:
  1. gylewatch probes            what is on the 1-wire bus
  2. sudo gylewatch doctor       what is wrong here, and how to mend it
  3. on the page: give each probe a vessel and a role, start a batch, add a channel and test it
Settings: $settings    Data: $data    Log: journalctl -u gylewatch
TEXT
    [ -n "$with_systemd" ] ||
        cat <<'TEXT'
The service is not running: systemd is not used here. By hand, as root:
  setpriv --reuid=gylewatch --regid=gylewatch --init-groups gylewatch watch
TEXT
}

uninstall() {
    if [ -n "$with_systemd" ]; then
        systemctl disable --now --quiet gylewatch 2>/dev/null || true
    fi
    rm -f "$unit" "$rules" "$command_link"
    rm -rf "$opt"
    [ -z "$with_systemd" ] || systemctl daemon-reload
    if [ -z "$with_data" ]; then
        echo "gylewatch is gone. Kept: $data, $settings. With --with-data they go too."
        return 0
    fi
    rm -rf "$data" "$before" "$before.new" "$data".failed-upgrade-* "$data.back" "$(dirname "$settings")"
    if [ -z "$root" ] && id gylewatch >/dev/null 2>&1; then
        userdel gylewatch
    fi
    echo "gylewatch is gone, with its data and settings."
}
