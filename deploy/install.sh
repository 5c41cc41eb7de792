#!/usr/bin/env bash
# Installs gylewatch as a service on 64-bit Raspberry Pi OS or Debian (12 or 13); see usage below.
set -euo pipefail
cd "$(dirname "$0")/.."
. deploy/environment.sh
. deploy/steps.sh

usage() {
    cat <<'TEXT'
sudo bash deploy/install.sh [options]

  (no option)      install, or lay the files again where this version is installed already
  --upgrade        change to this version: back up, bring the record up to date, start, check that it is
                   ready; when it is not, go back to the version and the data there were before
  --uninstall      take the program away; data and settings stay
  --with-data      with --uninstall: take data, settings and copies away too
  --enable-1wire   switch the 1-wire interface on (adds dtoverlay=w1-gpio to config.txt)
  --no-start       do not start the service
  --wheel FILE     install this ready-made wheel instead of building one here
  --root FOLDER    lay everything below FOLDER and change nothing else on this machine: no user, no service

Exit codes: 0 done, 1 it did not work (the last line says why), 2 the words of the call are off,
3 the upgrade failed and the former version is back.
TEXT
}

task=install with_data='' enable_1wire='' no_start='' wheel='' root=''
while [ $# -gt 0 ]; do
    case $1 in
    --upgrade) task=upgrade ;;
    --uninstall) task=uninstall ;;
    --with-data) with_data=yes ;;
    --enable-1wire) enable_1wire=yes ;;
    --no-start) no_start=yes ;;
    --wheel | --root)
        [ $# -ge 2 ] || { usage >&2; exit 2; }
        [ "$1" = --wheel ] && wheel=$2 || root=${2%/}
        shift
        ;;
    --help | -h) usage; exit 0 ;;
    *) echo "There is no option $1." >&2; usage >&2; exit 2 ;;
    esac
    shift
done
[ -z "$with_data" ] || [ "$task" = uninstall ] || stop_with 2 "--with-data goes with --uninstall only."
[ -n "$root" ] || [ "$(id -u)" -eq 0 ] || stop_with 1 "This needs root: call it with sudo."

# The system's own Python: one from somebody's home could not be read by the service's user.
[ -n "$root" ] || export PATH=/usr/sbin:/usr/bin:/sbin:/bin
umask 022
opt=$root/opt/gylewatch
data=$root/var/lib/gylewatch
settings=$root/etc/gylewatch/gylewatch.toml
unit=$root/etc/systemd/system/gylewatch.service
rules=$root/etc/udev/rules.d/99-gylewatch-w1.rules
command_link=$root/usr/local/bin/gylewatch
before=$data.before-upgrade
failed=$data.failed-upgrade-$(date -u +%Y%m%dT%H%M%SZ)
mark=$opt/upgrade-under-way
with_systemd='' scratch='' armed=''
[ -n "$root" ] || [ ! -d /run/systemd/system ] || with_systemd=yes

trap on_exit EXIT
trap 'exit 1' INT TERM HUP
finish_what_was_cut_off
case $task in
install)
    get_wheel
    if [ -L "$opt/current" ] && [ "$(version_here)" != "$wanted" ]; then
        stop_with 1 "gylewatch $(version_here) is installed. To change to $wanted, call this with --upgrade."
    fi
    check_machine
    make_version "$wanted"
    ln -sfn "versions/$wanted" "$opt/current"
    lay_files
    explain_1wire
    [ -n "$no_start" ] || start_and_check || stop_with 1 "gylewatch is installed but not ready: see above."
    first_steps
    ;;
upgrade)
    [ -L "$opt/current" ] || stop_with 1 "Nothing is installed here yet: call this without --upgrade."
    get_wheel
    if [ "$(version_here)" = "$wanted" ]; then
        echo "gylewatch $wanted is installed already."
        exit 0
    fi
    check_machine
    upgrade
    explain_1wire
    first_steps
    ;;
uninstall) uninstall ;;
esac
