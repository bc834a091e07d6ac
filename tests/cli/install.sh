#!/bin/sh
# Promises of an installed tree: the program runs from where it was put, and another program can use the library.
. "${CROSSHATCH_SOURCE:?}/tests/cli/tap.sh"

DESTDIR=$scratch/root meson install -C "${CROSSHATCH_BUILD:?}" --no-rebuild --quiet >"$scratch/install.log" 2>&1 ||
    sed 's/^/# /' "$scratch/install.log"
prefix=$scratch/root/usr/local
pc=$(find "$scratch/root" -name crosshatch.pc)

program_runs_where_it_was_installed() {
    "$prefix/bin/crosshatch" --version
}

library_can_be_used_through_pkg_config() {
    cat >"$scratch/user.c" <<'END'
#include <crosshatch/status.h>
#include <string.h>
int main(void) { return strcmp(ch_status_text(CH_OK), "unknown status") == 0; }
END
    PKG_CONFIG_PATH=$(dirname "$pc") PKG_CONFIG_SYSROOT_DIR=$scratch/root
    export PKG_CONFIG_PATH PKG_CONFIG_SYSROOT_DIR
    # The library's own dependencies lie outside the sysroot, so the linker is given them by name.
    # shellcheck disable=SC2046 # flags are separate words
    "${CC:-cc}" $sanitize "$scratch/user.c" $(pkg-config --cflags crosshatch) -o "$scratch/user" \
        -L"$(dirname "$(dirname "$pc")")" -lcrosshatch -lgsl -lgslcblas -lfyaml -ljansson -lm && "$scratch/user"
}

# built EXAMPLE: compile one of examples/ as its own first lines say, against what was installed.
built() {
    PKG_CONFIG_PATH=$(dirname "$pc")
    export PKG_CONFIG_PATH
    # shellcheck disable=SC2046,SC2086 # flags are separate words; none or one of the sanitizer's
    "${CC:-cc}" -std=c17 -Wall -Wextra -Werror $sanitize -I"$prefix/include" "$CROSSHATCH_SOURCE/examples/$1.c" -o "$scratch/$1" \
        -L"$(dirname "$(dirname "$pc")")" $(pkg-config --libs crosshatch) $(pkg-config --libs gsl libfyaml jansson pangocairo librsvg-2.0) -lm
}

the_example_judges_a_sheet() {
    built judge_sheet && "$scratch/judge_sheet" "$CROSSHATCH_SOURCE/demo/hill-climb-burnt-valve.yaml" >"$scratch/said" &&
        head -n 1 "$scratch/said" | grep -qx fault && grep -q '^cylinder 3: 903 kPa' "$scratch/said"
}

the_example_predicts_a_leak() {
    built predict_stroke && "$scratch/predict_stroke" >"$scratch/said" && [ "$(wc -l <"$scratch/said")" -eq 2 ] &&
        awk '{ last[NR] = $NF } END { exit !(last[1] > 1.2 * last[2] && last[2] > 300) }' "$scratch/said"
}

# The orifice lets through what the leak does at half the supply, in gauge pressures: about 50 % where both areas are equal.
the_example_makes_a_table_of_losses() {
    built leak_to_loss && "$scratch/leak_to_loss" | awk 'NR > 1 && $2 <= before { exit 1 } NR > 1 { before = $2 } END { exit NR < 6 }'
}

the_desktop_entry_is_valid() {
    desktop-file-validate "$prefix/share/applications/crosshatch.desktop" && [ -f "$prefix/share/icons/hicolor/scalable/apps/crosshatch.svg" ]
}

# completed WORDS...: what the shell offers for the last of them.
completed() {
    PATH=$prefix/bin:$PATH bash -c '. "$0"; COMP_WORDS=(crosshatch "$@"); COMP_CWORD=$#; _crosshatch; printf "%s\n" "${COMPREPLY[@]}"' \
        "$prefix/share/bash-completion/completions/crosshatch" "$@"
}

the_shell_completes_verbs_and_options() {
    completed ju | grep -qx judge && completed judge --wo | grep -qx -e --working && completed help exp | grep -qx export &&
        completed report --paper le | grep -qx letter && ! completed judge --wo | grep -qx -e --port
}

the_version_names_what_it_was_built_with() {
    "$prefix/bin/crosshatch" --version >"$scratch/version" && head -n 1 "$scratch/version" | grep -Eqx 'crosshatch [0-9]+\.[0-9]+\.[0-9]+' &&
        grep -q 'built with .*SQLite [0-9]' "$scratch/version"
}

# The library is the computing: what stores and serves is the program's own, and its headers stay in the tree.
every_header_of_the_library_is_installed() {
    for header in "$CROSSHATCH_SOURCE"/include/crosshatch/*.h; do
        name=$(basename "$header")
        if [ -f "$CROSSHATCH_SOURCE/src/store/${name%.h}.c" ] || [ -f "$CROSSHATCH_SOURCE/src/web/${name%.h}.c" ]; then
            [ ! -f "$prefix/include/crosshatch/$name" ] || { echo "installed, but not in the library: $name"; return 1; }
        else
            [ -f "$prefix/include/crosshatch/$name" ] || { echo "not installed: $name"; return 1; }
        fi
    done
}

# A library built under sanitizers needs a program built so.
sanitize=
if nm "$CROSSHATCH_BUILD/libcrosshatch.a" 2>/dev/null | grep -q __asan_init; then
    sanitize=-fsanitize=address,undefined
fi

promise program_runs_where_it_was_installed program_runs_where_it_was_installed
promise library_can_be_used_through_pkg_config library_can_be_used_through_pkg_config
promise every_header_of_the_library_is_installed every_header_of_the_library_is_installed
promise the_example_judges_a_sheet the_example_judges_a_sheet
promise the_example_predicts_a_leak the_example_predicts_a_leak
promise the_example_makes_a_table_of_losses the_example_makes_a_table_of_losses
if command -v desktop-file-validate >/dev/null 2>&1; then
    promise the_desktop_entry_is_valid the_desktop_entry_is_valid
else
    not_run the_desktop_entry_is_valid 'desktop-file-utils is not installed'
fi
promise the_shell_completes_verbs_and_options the_shell_completes_verbs_and_options
promise the_version_names_what_it_was_built_with the_version_names_what_it_was_built_with
kept
