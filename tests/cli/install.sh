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
kept
