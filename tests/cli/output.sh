#!/bin/sh
# Promises of what is written: whole or not at all, wherever it goes.
. "${CROSSHATCH_SOURCE:?}/tests/cli/tap.sh"
program=${CROSSHATCH:?}
sheet=$CROSSHATCH_SOURCE/demo/hill-climb-sound.yaml
"$program" predict "$sheet" >"$scratch/whole" || exit 1

# one_line_of PATTERN: the standard error is one line that says it.
one_line_of() {
    cat "$scratch/err"
    [ "$(wc -l <"$scratch/err")" -eq 1 ] && grep -q -e "$1" "$scratch/err"
}

# Every verb and the help notice a full disk.
a_full_disk_is_noticed() {
    exits 4 "$program" "$@" >/dev/full 2>"$scratch/err" && one_line_of 'standard output: cannot be written: No space left'
}

a_closed_output_is_noticed() {
    exits 4 "$program" predict "$sheet" >&- 2>"$scratch/err" && one_line_of 'standard output: cannot be written'
}

closed_errors_do_not_matter() {
    exits 3 "$program" predict "$scratch/missing" 2>&-
}

a_closed_output_does_not_harm_the_file() {
    rm -rf "$scratch/safe"
    "$program" predict -o "$scratch/safe" "$sheet" >&- 2>&- <&- && cmp "$scratch/safe" "$scratch/whole"
}

a_file_holds_what_the_terminal_would_show() {
    rm -f "$scratch/file"
    "$program" predict -o "$scratch/file" "$sheet" >"$scratch/out" || return 1
    [ ! -s "$scratch/out" ] && cmp "$scratch/file" "$scratch/whole" && "$program" predict --output="$scratch/file" "$sheet" &&
        cmp "$scratch/file" "$scratch/whole"
}

a_new_file_obeys_the_umask_and_an_old_one_keeps_its_mode() {
    rm -f "$scratch/file"
    (umask 027 && "$program" predict -o "$scratch/file" "$sheet") || return 1
    [ "$(stat -c %a "$scratch/file")" = 640 ] || return 1
    chmod 600 "$scratch/file"
    "$program" predict -o "$scratch/file" "$sheet" && [ "$(stat -c %a "$scratch/file")" = 600 ]
}

a_link_stays_a_link() {
    rm -f "$scratch/file" "$scratch/link"
    echo old >"$scratch/file"
    ln -s file "$scratch/link"
    "$program" predict -o "$scratch/link" "$sheet" && [ -L "$scratch/link" ] && cmp "$scratch/file" "$scratch/whole"
}

a_device_is_written_to_not_replaced() {
    exits 4 "$program" predict -o /dev/full "$sheet" 2>"$scratch/err" && one_line_of '/dev/full: cannot be written' && [ -c /dev/full ]
}

# listing FILE: what is in the folder of FILE.
listing() {
    find "$(dirname "$1")" -printf '%p %i %s %m\n' | sort
}

# untouched STATUS FILE ARGUMENT...: fails with this status; the folder of FILE is as it was, and so is FILE.
untouched() {
    wanted_status=$1
    kept_file=$2
    shift 2
    listing "$kept_file" >"$scratch/before"
    exits "$wanted_status" "$@" 2>"$scratch/err" || return 1
    cat "$scratch/err"
    listing "$kept_file" | cmp - "$scratch/before"
}

# The limit on file sizes stands in for a disk that fills up while it is written.
a_disk_that_fills_leaves_the_old_file_and_nothing_else() {
    mkdir -p "$scratch/folder"
    echo old >"$scratch/folder/file"
    # shellcheck disable=SC2016 # expanded by the inner shell
    untouched 4 "$scratch/folder/file" sh -c 'trap "" XFSZ; ulimit -f 0; exec "$0" predict -o "$1" "$2"' \
        "$program" "$scratch/folder/file" "$sheet" && [ "$(cat "$scratch/folder/file")" = old ]
}

bad_input_leaves_the_old_file() {
    mkdir -p "$scratch/folder"
    echo old >"$scratch/folder/file"
    echo 'sheet: 2' >"$scratch/bad.yaml"
    untouched 3 "$scratch/folder/file" "$program" predict -o "$scratch/folder/file" "$scratch/bad.yaml" &&
        [ "$(cat "$scratch/folder/file")" = old ]
}

a_folder_that_takes_no_files_is_a_failure_of_the_machine() {
    exits 4 "$program" predict -o /proc/self/file "$sheet" 2>"$scratch/err" && one_line_of '/proc/self/file: cannot be written'
}

a_missing_folder_is_a_failure_of_the_machine() {
    exits 4 "$program" predict -o "$scratch/no/such/folder" "$sheet" 2>"$scratch/err" && one_line_of 'No such file'
}

a_folder_is_no_file() {
    mkdir -p "$scratch/folder"
    exits 3 "$program" predict -o "$scratch/folder" "$sheet" 2>"$scratch/err" && one_line_of 'is a folder'
}

the_sheet_is_not_overwritten_by_its_answer() {
    cp "$sheet" "$scratch/mine.yaml"
    ln -sf mine.yaml "$scratch/same.yaml"
    exits 2 "$program" predict -o "$scratch/same.yaml" "$scratch/mine.yaml" 2>"$scratch/err" && one_line_of 'the sheet itself' &&
        cmp "$sheet" "$scratch/mine.yaml"
}

# misnamed PATTERN NAME ARGUMENT...: the name's ending is not what would be written; nothing is.
misnamed() {
    said=$1 name=$2
    shift 2
    rm -f "$scratch/$name"
    exits 2 "$program" "$@" -o "$scratch/$name" 2>"$scratch/err" && one_line_of "$said" && [ ! -e "$scratch/$name" ]
}

an_ending_that_the_answer_is_not_is_refused() {
    plan=$CROSSHATCH_SOURCE/demo/winter/hill-climb.yaml
    for name in x.pdf x.HTM x.svg x.csv x.ics x.yaml x.zip; do
        misnamed 'a name that ends in .txt$' "$name" judge "$sheet" || return 1
    done
    misnamed '"[^"]*x.json": .*: --json beside it$' x.json predict "$sheet" && misnamed 'ends in .json$' x.pdf predict --json "$sheet" &&
        misnamed 'ends in .pdf, .html or .txt$' x.ics ready && misnamed 'ends in .pdf, .html, .svg or .csv$' x.txt report "$sheet" &&
        misnamed 'ends in .pdf, .html, .svg or .csv$' x report "$sheet" && misnamed 'ends in .csv$' x.ics winter --csv "$plan" &&
        misnamed 'ends in .ics$' x.csv winter --ics "$plan" && misnamed 'ends in .pdf, .html, .svg, .csv, .ics or .txt$' x.zip winter "$plan"
}

# begins NAME BYTES ARGUMENT...: what is written under this name begins so.
begins() {
    name=$1 bytes=$2
    shift 2
    rm -f "$scratch/$name"
    "$program" "$@" -o "$scratch/$name" && [ "$(head -c ${#bytes} "$scratch/$name")" = "$bytes" ]
}

an_ending_says_what_is_written() {
    plan=$CROSSHATCH_SOURCE/demo/winter/hill-climb.yaml
    mkdir -p "$scratch/x.pdf"
    begins w.htm '<!doctype html>' winter "$plan" && begins w.PDF '%PDF-' winter "$plan" && begins r.htm '<!doctype html>' report "$sheet" &&
        begins p.json '{' predict --json "$sheet" && begins p.notes '{' predict --json "$sheet" && begins p.txt INVENTED predict "$sheet" &&
        begins x.pdf/plain INVENTED predict "$sheet"
}

a_dash_is_the_standard_output() {
    (cd "$scratch" && "$program" predict -o - "$sheet" >out && cmp out whole && [ ! -e - ]) &&
        exits 2 "$program" report -o - "$sheet" 2>"$scratch/err" && one_line_of 'report: no file to write to'
}

demo_writes_its_sheets() {
    mkdir -p "$scratch/sheets"
    rm -f "$scratch/sheets"/*
    "$program" demo --write "$scratch/sheets" >"$scratch/out" || return 1
    for name in hill-climb-sound.yaml hill-climb-burnt-valve.yaml; do
        grep -qx "$scratch/sheets/$name" "$scratch/out" && cmp "$scratch/sheets/$name" "$CROSSHATCH_SOURCE/demo/$name" || return 1
    done
}

demo_overwrites_nothing_and_leaves_nothing() {
    mkdir -p "$scratch/sheets"
    rm -f "$scratch/sheets"/*
    echo mine >"$scratch/sheets/hill-climb-burnt-valve.yaml"
    untouched 3 "$scratch/sheets/hill-climb-burnt-valve.yaml" "$program" demo --write "$scratch/sheets" || return 1
    one_line_of 'hill-climb-burnt-valve.yaml: is there already' && [ "$(cat "$scratch/sheets/hill-climb-burnt-valve.yaml")" = mine ]
}

demo_into_a_missing_folder_fails() {
    exits 4 "$program" demo --write "$scratch/no/such" 2>"$scratch/err" && one_line_of 'cannot be written'
}

promise a_full_disk_is_noticed_by_predict a_full_disk_is_noticed predict "$sheet"
promise a_full_disk_is_noticed_by_judge a_full_disk_is_noticed judge "$sheet"
promise a_full_disk_is_noticed_by_demo a_full_disk_is_noticed demo --json
promise a_full_disk_is_noticed_by_help a_full_disk_is_noticed help
promise a_closed_output_is_noticed a_closed_output_is_noticed
promise closed_errors_do_not_matter closed_errors_do_not_matter
promise a_closed_output_does_not_harm_the_file a_closed_output_does_not_harm_the_file
promise a_file_holds_what_the_terminal_would_show a_file_holds_what_the_terminal_would_show
promise a_new_file_obeys_the_umask_and_an_old_one_keeps_its_mode a_new_file_obeys_the_umask_and_an_old_one_keeps_its_mode
promise a_link_stays_a_link a_link_stays_a_link
promise a_device_is_written_to_not_replaced a_device_is_written_to_not_replaced
promise a_disk_that_fills_leaves_the_old_file_and_nothing_else a_disk_that_fills_leaves_the_old_file_and_nothing_else
promise bad_input_leaves_the_old_file bad_input_leaves_the_old_file
promise a_folder_that_takes_no_files_is_a_failure_of_the_machine a_folder_that_takes_no_files_is_a_failure_of_the_machine
promise a_missing_folder_is_a_failure_of_the_machine a_missing_folder_is_a_failure_of_the_machine
promise a_folder_is_no_file a_folder_is_no_file
promise the_sheet_is_not_overwritten_by_its_answer the_sheet_is_not_overwritten_by_its_answer
promise an_ending_that_the_answer_is_not_is_refused an_ending_that_the_answer_is_not_is_refused
promise an_ending_says_what_is_written an_ending_says_what_is_written
promise a_dash_is_the_standard_output a_dash_is_the_standard_output
promise demo_writes_its_sheets demo_writes_its_sheets
promise demo_overwrites_nothing_and_leaves_nothing demo_overwrites_nothing_and_leaves_nothing
promise demo_into_a_missing_folder_fails demo_into_a_missing_folder_fails
kept
