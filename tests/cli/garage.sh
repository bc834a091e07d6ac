#!/bin/sh
# Promises of the verbs that move data into the garage file and out of it.
. "${CROSSHATCH_SOURCE:?}/tests/cli/tap.sh"

crosshatch=${CROSSHATCH:?}
cd "$scratch" || exit 1
demo=$CROSSHATCH_SOURCE/demo
HOME=$scratch/home
XDG_DATA_HOME=
export HOME XDG_DATA_HOME

what_is_exported_imports_to_the_same_bytes() {
    "$crosshatch" import --garage a.db "$CROSSHATCH_SOURCE/tests/data/field-cases/sheets" >said &&
        "$crosshatch" export --garage a.db a && "$crosshatch" import --garage b.db a &&
        "$crosshatch" export --garage b.db b && diff -r a b && [ "$(wc -l <said)" -eq "$(find a -name 'sheet-*' | wc -l)" ]
}

a_sheet_is_imported_once() {
    "$crosshatch" import --garage once.db "$demo" && "$crosshatch" import --garage once.db "$demo" >said &&
        grep -c 'was here already as sheet' said | grep -x 2 && "$crosshatch" verify --garage once.db | grep 'of 2 sheets'
}

json_is_imported_as_well() {
    printf '{"sheet": 1, "engine": {"cylinders": 1}, "compression": [{"cylinder": 1, "reading": "12 bar"}]}' >one.json &&
        "$crosshatch" import --garage json.db one.json && "$crosshatch" export --garage json.db json &&
        grep 'reading: 12 bar' json/sheet-0001.yaml
}

nothing_is_imported_unless_all_are_sheets() {
    mkdir -p mixed && cp "$demo"/*.yaml mixed && echo 'sheet: 2' >mixed/zz.yaml &&
        exits 3 "$crosshatch" import --garage mixed.db mixed && [ ! -e mixed.db ]
}

export_writes_over_nothing_and_leaves_nothing_half() {
    mkdir -p full && echo kept >full/readings.csv && "$crosshatch" import --garage full.db "$demo" &&
        exits 3 "$crosshatch" export --garage full.db full && [ "$(ls full)" = readings.csv ] && grep kept full/readings.csv
}

# A line of the folder's name that is a path of its own is nothing that was written.
a_folder_with_a_line_end_in_its_name_harms_no_other() {
    folder=$(printf 'first\nvictim') && mkdir -p "$folder" victim && echo kept >victim/sheet-0001.yaml && echo kept >"$folder/readings.csv" &&
        "$crosshatch" import --garage lines.db "$demo" && exits 3 "$crosshatch" export --garage lines.db "$folder" &&
        grep kept victim/sheet-0001.yaml && [ "$(ls "$folder")" = readings.csv ]
}

# unwritten PATTERN ARGUMENT...: wrong usage, said in a line.
unwritten() {
    pattern=$1
    shift
    exits 2 "$crosshatch" "$@" 2>complaint || return 1
    cat complaint
    [ "$(wc -l <complaint)" -eq 1 ] && grep -q -e "$pattern" complaint
}

no_answer_is_written_over_what_the_verb_makes() {
    "$crosshatch" import --garage made.db "$demo" && ln -s copy link && mkdir -p there &&
        unwritten 'names the file itself' backup --garage made.db copy -o copy && [ ! -e copy ] &&
        unwritten 'names the file itself' backup --garage made.db there/copy -o "$scratch/./there/copy" && [ ! -e there/copy ] &&
        unwritten 'names the file itself' backup --garage made.db copy -o link && "$crosshatch" verify --garage copy &&
        unwritten 'names the garage file itself' import "$demo" --garage fresh -o ./fresh && [ ! -e fresh ] &&
        unwritten 'a part of the garage file' import "$demo" --garage fresh -o fresh-wal && [ ! -e fresh ] &&
        XDG_DATA_HOME=$scratch/none unwritten 'names the garage file itself' import "$demo" -o "$scratch/none/crosshatch/garage.db" || return 1
    echo 'car: 1' >car && unwritten "names the car's file" driveline --car car -o car "$demo/hill-climb-sound.yaml" && grep 'car: 1' car
}

the_garage_lies_where_xdg_says() {
    "$crosshatch" import "$demo" && [ -f home/.local/share/crosshatch/garage.db ] &&
        XDG_DATA_HOME=$scratch/data "$crosshatch" import "$demo" && [ -f data/crosshatch/garage.db ] &&
        (HOME='' && exits 2 "$crosshatch" verify)
}

a_backup_is_a_garage_file() {
    "$crosshatch" import --garage old.db "$demo" && "$crosshatch" backup --garage old.db copy.db &&
        "$crosshatch" verify --garage copy.db && exits 3 "$crosshatch" backup --garage old.db old.db
}

verify_says_what_is_wrong() {
    "$crosshatch" import --garage wrong.db "$demo" && python3 - wrong.db <<'END' || return 1
import sqlite3, sys
db = sqlite3.connect(sys.argv[1])
db.execute("DROP TRIGGER entry_quantity_is_raw")
db.execute("UPDATE entry_quantity SET value = value + 1 WHERE entry_id = 3 AND name = 'reading'")
db.commit()
END
    exits 3 "$crosshatch" verify --garage wrong.db >said 2>complaint
    cat said complaint
    grep -x "a value is not that of its text: row 3 reading" said && grep -q 'wrong with the garage file' complaint || return 1
    exits 3 "$crosshatch" verify --garage wrong.db -o findings >printed 2>again && cmp said findings && cmp complaint again && [ ! -s printed ] &&
        exits 4 "$crosshatch" verify --garage wrong.db -o /dev/full 2>complaint && grep '/dev/full: cannot be written' complaint
}

what_is_no_garage_file_is_not_touched() {
    head -c 3000 "$crosshatch" >other && cp other before && exits 3 "$crosshatch" import --garage other "$demo" && cmp other before &&
        exits 3 "$crosshatch" verify --garage missing.db && [ ! -e missing.db ]
}

no_answer_is_written_over_the_garage() {
    "$crosshatch" import --garage over.db "$demo" && exits 2 "$crosshatch" verify --garage over.db -o over.db &&
        "$crosshatch" verify --garage over.db
}

promise what_is_exported_imports_to_the_same_bytes what_is_exported_imports_to_the_same_bytes
promise a_sheet_is_imported_once a_sheet_is_imported_once
promise json_is_imported_as_well json_is_imported_as_well
promise nothing_is_imported_unless_all_are_sheets nothing_is_imported_unless_all_are_sheets
promise export_writes_over_nothing_and_leaves_nothing_half export_writes_over_nothing_and_leaves_nothing_half
promise a_folder_with_a_line_end_in_its_name_harms_no_other a_folder_with_a_line_end_in_its_name_harms_no_other
promise no_answer_is_written_over_what_the_verb_makes no_answer_is_written_over_what_the_verb_makes
promise the_garage_lies_where_xdg_says the_garage_lies_where_xdg_says
promise a_backup_is_a_garage_file a_backup_is_a_garage_file
promise verify_says_what_is_wrong verify_says_what_is_wrong
promise what_is_no_garage_file_is_not_touched what_is_no_garage_file_is_not_touched
promise no_answer_is_written_over_the_garage no_answer_is_written_over_the_garage
kept
