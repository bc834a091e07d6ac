#!/bin/sh
# Promises of the Debian package: it installs, runs, and goes without leaving anything.
. "${CROSSHATCH_SOURCE:?}/tests/cli/tap.sh"
if ! command -v dpkg-deb >/dev/null 2>&1 || ! command -v dpkg-query >/dev/null 2>&1; then
    not_run the_package_is_made 'no Debian here'
    kept
    exit
fi
cd "$CROSSHATCH_SOURCE" || exit 1

the_package_is_made() {
    tools/deb.sh "${CROSSHATCH_BUILD:?}" "$scratch/crosshatch.deb"
}

it_says_what_it_needs_and_every_such_package_is_known() {
    dpkg-deb --field "$scratch/crosshatch.deb" Depends | tr ',' '\n' | tr -d ' ' >"$scratch/needs"
    grep -qx libc6 "$scratch/needs" && grep -q sqlite "$scratch/needs" && xargs dpkg-query -W <"$scratch/needs" >/dev/null
}

# In a root of its own: this machine stays as it is. What it needs is installed here, not there.
system="dpkg --root=$scratch/root --force-not-root --force-depends --force-bad-path --log=/dev/null"

it_installs_and_runs() {
    mkdir -p "$scratch/root/var/lib/dpkg/info" "$scratch/root/var/lib/dpkg/updates" && : >"$scratch/root/var/lib/dpkg/status" &&
        : >"$scratch/root/var/lib/dpkg/available"
    $system --install "$scratch/crosshatch.deb" >"$scratch/said" 2>&1 || {
        cat "$scratch/said"
        return 1
    }
    "$scratch/root/usr/bin/crosshatch" demo >"$scratch/demo" && grep -q '^Verdict' "$scratch/demo" &&
        [ -f "$scratch/root/usr/share/man/man1/crosshatch-judge.1.gz" ] && (cd "$scratch/root" && md5sum --quiet -c var/lib/dpkg/info/crosshatch.md5sums)
}

it_goes_without_leaving_anything() {
    $system --purge crosshatch >"$scratch/said" 2>&1 || {
        cat "$scratch/said"
        return 1
    }
    left=$(find "$scratch/root" -mindepth 1 -not -path '*/var*' | sort)
    [ -z "$left" ] || {
        echo "$left"
        return 1
    }
}

promise the_package_is_made the_package_is_made
promise it_says_what_it_needs_and_every_such_package_is_known it_says_what_it_needs_and_every_such_package_is_known
promise it_installs_and_runs it_installs_and_runs
promise it_goes_without_leaving_anything it_goes_without_leaving_anything
kept
