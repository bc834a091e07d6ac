#!/bin/sh
# Promises of tests/lint/layering.py: in a small tree of its own it finds each kind of breach, and nothing in a clean one.
. "${CROSSHATCH_SOURCE:?}/tests/cli/tap.sh"

# plant FLOOR FILE: a source file of that floor from standard input, compiled and listed.
plant() {
    mkdir -p "$tree/src/$1" "$tree/build/src/$1"
    cat >"$tree/src/$1/$2.c"
    echo "files('$2.c')" >>"$tree/src/$1/meson.build"
    cc -fPIC -I "$tree/include" -c "$tree/src/$1/$2.c" -o "$tree/build/$2.o" && ar rc "$tree/build/src/$1/lib$1.a" "$tree/build/$2.o"
}

# clean_tree: every floor with one file that breaks nothing; made once, and copied from then on.
clean_tree() {
    tree=$scratch/tree
    rm -rf "$tree"
    if [ -d "$scratch/clean" ]; then
        cp -R "$scratch/clean" "$tree"
        return
    fi
    mkdir -p "$tree/tests/lint" "$tree/include/crosshatch"
    cp "$CROSSHATCH_SOURCE/tests/lint/layering.py" "$tree/tests/lint/"
    quiet=$(sed -n 's/^QUIET = \[\(.*\)\]$/\1/p' "$tree/tests/lint/layering.py" | tr -d '",')
    for floor in ${quiet:?}; do
        echo 'const char *'"${floor}_word(int i);
static const char *const words[] = {\"TO-DO list\", \"b_psi\"};
const char *${floor}_word(int i) { return words[i]; }" | plant "$floor" "${floor}_word" || return 1
    done
    for header in base car judge; do
        echo "const char *${header}_word(int i);" >"$tree/include/crosshatch/${header}_word.h"
    done
    cp -R "$tree" "$scratch/clean"
}

check() {
    python3 "$tree/tests/lint/layering.py" "$tree/build"
}

a_clean_tree_is_clean() {
    clean_tree && check
}

# finds WHAT FLOOR CODE: the code, planted on that floor, is reported with these words.
finds() {
    clean_tree && printf '%b\n' "$3" | plant "$2" planted || return 1
    exits 1 check >"$scratch/said" || return 1
    cat "$scratch/said"
    grep -q "$1" "$scratch/said" && [ "$(wc -l <"$scratch/said")" -eq 1 ]
}

an_unlisted_file_is_found() {
    clean_tree
    echo 'int f(void);' >"$tree/src/car/lost.c"
    exits 1 check | grep 'src/car/lost.c is not in src/car/meson.build'
}

promise a_clean_tree_is_clean a_clean_tree_is_clean
promise an_include_of_a_higher_floor_is_found finds 'car includes crosshatch/judge_word.h of judge' car '#include "crosshatch/judge_word.h"'
promise an_include_of_a_lower_floor_is_fine exits 1 finds . judge '#include "crosshatch/car_word.h"'
promise printing_is_found finds 'physics: planted.o asks for puts' physics '#include <stdio.h>\nint f(void);\nint f(void) { return puts("x"); }'
promise the_clock_is_found finds 'numbers: planted.o asks for time' numbers '#include <time.h>\nlong f(void);\nlong f(void) { return time(0); }'
promise a_writable_variable_is_found finds 'judge: planted.o holds the writable variable count' judge 'int f(void);\nstatic int count;\nint f(void) { return ++count; }'
promise a_writable_table_is_found finds 'trace: planted.o holds the writable variable table' trace 'int table[] = {1, 2};'
promise a_name_outside_si_is_found finds 'oil_psi is not in SI' car 'double f(double x);\ndouble f(double x) { const double oil_psi = x; return 2; }'
promise a_note_to_self_is_found finds 'a note to self' base "/* TO""DO: later */"
promise an_unlisted_file_is_found an_unlisted_file_is_found
kept
