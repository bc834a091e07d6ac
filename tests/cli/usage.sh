#!/bin/sh
# Promises of the command line itself: help, and what comes of wrong usage (exit status 2, one line that helps).
. "${CROSSHATCH_SOURCE:?}/tests/cli/tap.sh"
program=${CROSSHATCH:?}
sheet=$CROSSHATCH_SOURCE/demo/hill-climb-burnt-valve.yaml

version_stands_on_the_first_line() {
    "$program" --version >"$scratch/out" && head -n 1 "$scratch/out" | grep -qx 'crosshatch [0-9][0-9.]*'
}

help_names_every_verb() {
    "$program" --help >"$scratch/out" || return 1
    for verb in judge predict demo driveline help; do
        grep -q "^  $verb " "$scratch/out" || { echo "no $verb"; return 1; }
    done
    "$program" help | cmp - "$scratch/out" && "$program" -h | cmp - "$scratch/out"
}

# help_of VERB OPTION...: its help names its options, and both ways to ask for it say the same.
help_of() {
    verb=$1
    shift
    "$program" help "$verb" >"$scratch/out" || return 1
    "$program" "$verb" --help | cmp - "$scratch/out" || return 1
    head -n 1 "$scratch/out" | grep -q "^usage: crosshatch $verb " || return 1
    for option; do
        grep -q -e "$option" "$scratch/out" || { echo "no $option"; return 1; }
    done
    [ "$(awk 'length > 100' "$scratch/out" | wc -l)" -eq 0 ]
}

# manual_of VERB: the manual page names every option that the help names.
manual_of() {
    page=$CROSSHATCH_SOURCE/man/crosshatch-$1.1
    "$program" help "$1" | sed -n 's/^  \(-., \)\{0,1\}--\([a-z-]*\).*/\2/p' >"$scratch/options"
    [ -s "$scratch/options" ] || return 1
    while read -r option; do
        grep -q -e "Fl Fl $option" "$page" "$CROSSHATCH_SOURCE/man/crosshatch.1" || { echo "no --$option in the manual"; return 1; }
    done <"$scratch/options"
}

# wrong PATTERN ARGUMENT...: exit status 2, nothing on the standard output, one line on the standard error that says PATTERN.
wrong() {
    pattern=$1
    shift
    exits 2 "$program" "$@" >"$scratch/out" 2>"$scratch/err" || return 1
    cat "$scratch/err"
    [ ! -s "$scratch/out" ] && [ "$(wc -l <"$scratch/err")" -eq 1 ] && grep -q -e "$pattern" "$scratch/err"
}

promise version_stands_on_the_first_line version_stands_on_the_first_line
promise help_names_every_verb help_names_every_verb
promise help_of_judge help_of judge --json --working --units --rule --seed --why --knowledge --output --color --no-color
promise help_of_predict help_of predict --json --working --units --output
promise help_of_demo help_of demo --json --working --write
promise help_of_driveline help_of driveline --car --column --observed --knowledge --json --working --output
for verb in judge predict demo driveline season; do
    promise "manual_of_${verb}_names_its_options" manual_of $verb
done
promise no_verb_is_wrong_usage wrong 'no verb given'
promise an_unknown_verb_gets_the_nearest wrong 'unknown verb "jugde": did you mean judge?' jugde "$sheet"
promise an_unknown_verb_far_from_all_gets_the_help wrong '"xyzzy": crosshatch --help' xyzzy
promise an_unknown_option_gets_the_nearest wrong 'judge: unknown option "--jsn": did you mean --json?' judge --jsn "$sheet"
promise an_unknown_option_in_a_verbs_place wrong 'unknown option "--frob"' --frob
promise an_option_of_another_verb_is_unknown wrong 'unknown option "--seed"' predict --seed 1 "$sheet"
promise a_control_character_is_not_echoed wrong 'unknown verb "a?b"' "$(printf 'a\033b')"
promise a_missing_value_is_named wrong 'no value behind "--seed"' judge "$sheet" --seed
promise an_empty_value_is_none wrong 'no value behind' judge --units= "$sheet"
promise a_flag_takes_no_value wrong 'takes no value' judge --json=yes "$sheet"
promise no_sheet_is_named wrong 'no sheet named' judge --json
promise a_second_sheet_is_too_many wrong 'second file' predict "$sheet" "$sheet"
promise demo_takes_no_file wrong 'takes no file' demo "$sheet"
promise a_seed_is_a_whole_number wrong 'not a seed: "-1"' judge --seed -1 "$sheet"
promise a_seed_fits_64_bits wrong 'not a seed' judge --seed 18446744073709551616 "$sheet"
promise a_unit_of_length_is_no_unit_of_pressure wrong 'not a unit of pressure: "mm": .*psi' judge --units mm "$sheet"
promise an_unknown_rule_lists_the_rules wrong 'no rule "half": 75_percent, .*manual' judge --rule half "$sheet"
promise why_wants_a_cylinder wrong 'not a cylinder: "0"' judge --why 0 "$sheet"
promise why_wants_a_cylinder_of_this_engine wrong 'no cylinder 9 in an engine of 4' judge --why 9 "$sheet"
promise what_follows_two_dashes_is_a_file exits 3 "$program" predict -- --json
kept
