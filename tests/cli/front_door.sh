#!/bin/sh
# Promises of ./run that need no build: its help, its refusals, and how it comes by packages. Package managers are stood
# in for by scripts that write down what they were asked.
. "${CROSSHATCH_SOURCE:?}/tests/cli/tap.sh"
run=$CROSSHATCH_SOURCE/run

help_names_every_verb() {
    "$run" >"$scratch/help" || return 1
    for verb in demo test build install bench study coverage mutants fuzz packages; do
        grep -q "^  $verb " "$scratch/help" || { echo "no $verb"; return 1; }
    done
}

an_unknown_verb_is_wrong_usage() {
    exits 2 "$run" polish 2>"$scratch/err" && grep -q 'unknown verb "polish"' "$scratch/err"
}

fuzz_takes_whole_seconds() {
    exits 2 "$run" fuzz 1.5
}

# machine NAME MANAGER...: a folder of commands in which only these package managers exist.
machine() {
    bin=$scratch/$1
    asked=$scratch/$1.asked
    shift
    rm -rf "$bin"
    mkdir "$bin"
    : >"$asked"
    for tool in sh awk tr dirname getconf cat mktemp env tail rm grep; do
        ln -sf "$(command -v "$tool")" "$bin/$tool"
    done
    # shellcheck disable=SC2016 # the text is a script
    command_of id 'echo "${FAKE_UID:-0}"'
    for manager; do
        command_of "$manager" 'exit 1'
    done
}

# command_of NAME BODY: a command of the machine that writes its arguments down and then does BODY.
command_of() {
    printf '#!%s\necho "%s $*" >>"%s"\n%s\n' "$(command -v sh)" "$1" "$asked" "$2" >"$bin/$1"
    chmod +x "$bin/$1"
}

# A Debian on which everything but the named packages is installed.
debian_without() {
    machine debian apt-get
    # shellcheck disable=SC2016 # the text is a script
    command_of dpkg-query '
shift 3
for name; do
    case " '"$*"' " in
    *" $name "*) ;;
    *) echo "$name installed" ;;
    esac
done'
    command_of apt-get 'exit 0'
}

nothing_is_asked_of_apt_when_all_is_there() {
    debian_without
    PATH=$bin "$run" packages build || return 1
    ! grep apt-get "$asked"
}

only_what_is_missing_is_installed() {
    debian_without meson libgsl-dev
    PATH=$bin "$run" packages build || return 1
    grep -x 'apt-get -q update' "$asked" &&
        grep -x 'apt-get -q -y --no-install-recommends install meson libgsl-dev' "$asked"
}

a_person_who_is_not_root_goes_through_sudo() {
    debian_without meson
    # shellcheck disable=SC2016 # the text is a script
    command_of sudo 'exec "$@"'
    FAKE_UID=1000 PATH=$bin "$run" packages build || return 1
    grep '^sudo env DEBIAN_FRONTEND=noninteractive apt-get .*install meson$' "$asked"
}

without_sudo_the_command_is_named() {
    debian_without meson
    FAKE_UID=1000 PATH=$bin exits 1 "$run" packages build >"$scratch/said" 2>&1 || return 1
    cat "$scratch/said"
    grep '(as root) apt-get install meson$' "$scratch/said" && ! grep '^apt-get' "$asked"
}

a_failing_install_fails_and_shows_why() {
    debian_without meson
    command_of apt-get 'echo "no route to host"; exit 100'
    PATH=$bin exits 1 "$run" packages build >"$scratch/said" 2>&1 || return 1
    grep 'no route to host' "$scratch/said" && grep 'could not install: meson' "$scratch/said"
}

test_closes_with_a_count_even_without_packages() {
    debian_without meson
    command_of apt-get 'exit 100'
    PATH=$bin exits 1 "$run" test >"$scratch/said" 2>&1 || return 1
    [ "$(tail -n 1 "$scratch/said")" = '0 passed, 1 failed' ]
}

# The machine lacks all else that a test needs, so the checks fail; what was asked of apt is what counts. In a tree of its own: this one's test run may be going on.
what_only_tests_need_comes_after_what_their_build_needs() {
    debian_without meson libcmocka-dev qpdf
    mkdir -p "$scratch/tree"
    cp "$run" "$CROSSHATCH_SOURCE/packages.list" "$scratch/tree" || return 1
    ! PATH=$bin "$scratch/tree/run" test >"$scratch/said" 2>&1 || return 1
    cat "$asked"
    [ "$(grep -c '^apt-get -q update' "$asked")" = 1 ] &&
        [ "$(grep '^apt-get .*install' "$asked" | sed 's/.* install //' | tr '\n' ';')" = 'meson libcmocka-dev;qpdf;' ]
}

# others_are_told MANAGER QUERY COMMAND PACKAGE: another system's person is told what to type, and nothing is installed.
others_are_told() {
    machine "$1" "$1" "$2"
    PATH=$bin exits 1 "$run" packages build >"$scratch/said" 2>&1 || return 1
    cat "$scratch/said" "$asked"
    grep "please install them with: $3 .*$4" "$scratch/said" && ! grep -w install "$asked"
}

promise help_names_every_verb help_names_every_verb
promise an_unknown_verb_is_wrong_usage an_unknown_verb_is_wrong_usage
promise fuzz_takes_whole_seconds fuzz_takes_whole_seconds
promise nothing_is_asked_of_apt_when_all_is_there nothing_is_asked_of_apt_when_all_is_there
promise only_what_is_missing_is_installed only_what_is_missing_is_installed
promise a_person_who_is_not_root_goes_through_sudo a_person_who_is_not_root_goes_through_sudo
promise without_sudo_the_command_is_named without_sudo_the_command_is_named
promise a_failing_install_fails_and_shows_why a_failing_install_fails_and_shows_why
promise test_closes_with_a_count_even_without_packages test_closes_with_a_count_even_without_packages
promise what_only_tests_need_comes_after_what_their_build_needs what_only_tests_need_comes_after_what_their_build_needs
promise fedora_is_told_what_to_install others_are_told dnf rpm '(as root) dnf install' gsl-devel
promise arch_is_told_what_to_install others_are_told pacman pacman '(as root) pacman -S' jansson
promise homebrew_is_told_what_to_install others_are_told brew brew 'brew install' pkgconf
kept
