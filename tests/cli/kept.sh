#!/bin/sh
# Promises of the answers that are kept between runs: the same bytes with them and without, and never believed blindly.
. "${CROSSHATCH_SOURCE:?}/tests/cli/tap.sh"
program=${CROSSHATCH:?}
sheet=$CROSSHATCH_SOURCE/demo/hill-climb-burnt-valve.yaml
XDG_CACHE_HOME=$scratch/cache
export XDG_CACHE_HOME
kept=$XDG_CACHE_HOME/crosshatch

answer() {
    "$program" judge --json "$@" "$sheet" >"$scratch/answer"
}

files() {
    find "$kept" -name 'trace-*' 2>/dev/null | wc -l
}

answer && cp "$scratch/answer" "$scratch/first" || exit 1
one=$(find "$kept" -name 'trace-*')

an_answer_is_kept_and_gives_the_same_bytes() {
    [ "$(files)" -eq 1 ] && [ "$(stat -c %a "$kept")" = 700 ] && answer && cmp "$scratch/answer" "$scratch/first" && [ "$(files)" -eq 1 ]
}

# What was planted must show in the answer, or it was not read: the sum is right, one chance is another one.
the_kept_answer_is_what_is_shown() {
    cp "$one" "$scratch/good" && python3 - "$one" <<'EOF' || return 1
import struct, sys
data = bytearray(open(sys.argv[1], "rb").read())
# mark, cylinders, then cylinder 1: its number and its first chance
data[24:32] = struct.pack("<d", 0.125)
total = 0xcbf29ce484222325
for byte in data[:-8]:
    total = (total ^ byte) * 0x100000001b3 % 2**64
data[-8:] = struct.pack("<Q", total)
open(sys.argv[1], "wb").write(data)
EOF
    answer
    cp "$scratch/good" "$one"
    python3 - "$scratch/answer" <<'EOF'
import json, sys
causes = json.load(open(sys.argv[1]))["causes"]
assert [c["probability"] for c in causes if c["cylinder"] == 1 and c["cause"] == "sound"] == [0.125]
EOF
}

# spoilt COMMAND...: the kept answer after that is worked out anew, to the same bytes.
spoilt() {
    cp "$scratch/good" "$one"
    "$@" 2>/dev/null
    answer && cmp "$scratch/answer" "$scratch/first" && cmp "$one" "$scratch/good"
}

change_a_byte() {
    printf x | dd of="$one" bs=1 seek=40 conv=notrunc
}

a_spoilt_or_cut_answer_is_worked_out_anew() {
    spoilt change_a_byte && spoilt truncate -s 100 "$one" && spoilt truncate -s 0 "$one"
}

another_seed_is_another_answer() {
    answer --seed 2 && [ "$(files)" -eq 2 ]
}

where_nothing_can_be_kept_the_answer_is_the_same() {
    : >"$scratch/no-folder"
    XDG_CACHE_HOME=$scratch/no-folder answer && cmp "$scratch/answer" "$scratch/first" &&
        env -u HOME -u XDG_CACHE_HOME "$program" judge --json "$sheet" | cmp - "$scratch/first"
}

knowledge_from_a_folder_is_not_kept() {
    before=$(files)
    answer --knowledge "$CROSSHATCH_SOURCE/knowledge" && [ "$(files)" -eq "$before" ]
}

the_oldest_goes_first() {
    for i in $(seq 300); do
        : >"$kept/trace-$i"
        touch -d "@$((1500000000 + i))" "$kept/trace-$i"
    done
    before=$(files)
    answer --seed 3 && [ "$(files)" -eq "$before" ] && [ ! -e "$kept/trace-1" ]
}

promise an_answer_is_kept_and_gives_the_same_bytes an_answer_is_kept_and_gives_the_same_bytes
promise the_kept_answer_is_what_is_shown the_kept_answer_is_what_is_shown
promise a_spoilt_or_cut_answer_is_worked_out_anew a_spoilt_or_cut_answer_is_worked_out_anew
promise another_seed_is_another_answer another_seed_is_another_answer
promise where_nothing_can_be_kept_the_answer_is_the_same where_nothing_can_be_kept_the_answer_is_the_same
promise knowledge_from_a_folder_is_not_kept knowledge_from_a_folder_is_not_kept
promise the_oldest_goes_first the_oldest_goes_first
kept
