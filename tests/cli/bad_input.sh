#!/bin/sh
# Promises about bad input, through the real program: exit status 3, one clear line with the place, nothing written.
. "${CROSSHATCH_SOURCE:?}/tests/cli/tap.sh"
program=${CROSSHATCH:?}
bad=$scratch/bad.yaml
engine='sheet: 1
engine: {cylinders: 4, bore: 80 mm, stroke: 80 mm}'
reading='compression: [{cylinder: 1, reading: 170 psi}]'

# refused PATTERN [FILE]: both verbs refuse the file with one line on the standard error that says PATTERN.
refused() {
    pattern=$1
    file=${2:-$bad}
    for verb in judge predict; do
        rm -f "$scratch/answer"
        exits 3 "$program" $verb -o "$scratch/answer" "$file" >"$scratch/out" 2>"$scratch/err" || { head -c 300 "$scratch/err"; return 1; }
        head -c 600 "$scratch/err"
        [ ! -s "$scratch/out" ] && [ ! -e "$scratch/answer" ] && [ "$(wc -l <"$scratch/err")" -eq 1 ] || return 1
        [ "$(wc -c <"$scratch/err")" -lt 1000 ] && grep -q -e "$pattern" "$scratch/err" || return 1
    done
}

# sheet_refused PATTERN LINE...: a sheet of these lines is refused.
sheet_refused() {
    pattern=$1
    shift
    printf '%s\n' "$@" >"$bad"
    refused "$pattern"
}

an_empty_file() {
    : >"$bad"
    refused 'bad.yaml'
}

a_binary_file() {
    printf '\177ELF\002\001\000\000' >"$bad"
    refused 'bad.yaml'
}

a_hundred_megabytes_of_one_line() {
    head -c 100000000 /dev/zero | tr '\0' x >"$bad"
    refused 'too large: at most'
    huge_status=$?
    rm -f "$bad"
    return $huge_status
}

a_program_that_never_stops_writing() {
    # shellcheck disable=SC2002 # the pipe is the point
    cat /dev/zero 2>/dev/null | exits 3 "$program" predict - 2>"$scratch/err" && grep -q 'standard input: the file is too large' "$scratch/err"
}

deep_nesting() {
    { echo "$engine"; printf 'note: '; head -c 100000 /dev/zero | tr '\0' '['; echo; } >"$bad"
    refused 'bad.yaml'
}

not_utf8() {
    printf 'sheet: 1\ntitle: \377\376\n' >"$bad"
    refused 'bad.yaml:2:'
}

# The parser of sheets has its own unit tests; here a person meets each kind once.
promise an_empty_file an_empty_file
promise a_binary_file a_binary_file
promise a_hundred_megabytes_of_one_line a_hundred_megabytes_of_one_line
promise a_program_that_never_stops_writing a_program_that_never_stops_writing
promise an_unknown_key_gets_the_nearest sheet_refused 'bad.yaml:2:.*bore' 'sheet: 1' 'engine: {cylinders: 4, bote: 80 mm}' "$reading"
promise a_missing_unit sheet_refused 'bad.yaml:3:' "$engine" 'compression: [{cylinder: 1, reading: 170}]'
promise kilometres_that_may_be_thousands sheet_refused 'bad.yaml:3:24: odometer: .*298400 for thousands' "$engine" 'conditions: {odometer: 298.400 km}' "$reading"
promise a_wrong_dimension sheet_refused 'bad.yaml:3:' "$engine" 'compression: [{cylinder: 1, reading: 170 mm}]'
promise a_negative_pressure sheet_refused 'bad.yaml:3:' "$engine" 'compression: [{cylinder: 1, reading: -3 psi}]'
promise no_pressure_at_the_supply sheet_refused 'bad.yaml:3:' "$engine" 'leakdown: [{cylinder: 1, supply: 0 psi, loss: 10 %}]'
promise an_engine_without_cylinders sheet_refused 'bad.yaml:2:' 'sheet: 1' 'engine: {cylinders: 0}' "$reading"
promise thirty_three_cylinders sheet_refused 'bad.yaml:2:.*32' 'sheet: 1' 'engine: {cylinders: 33}' "$reading"
promise a_cylinder_that_is_not_there sheet_refused 'bad.yaml:3:.*5' "$engine" 'compression: [{cylinder: 5, reading: 170 psi}]'
promise not_a_number sheet_refused 'bad.yaml:3:' "$engine" 'compression: [{cylinder: 1, reading: NaN psi}]'
promise beyond_any_number sheet_refused 'bad.yaml:3:' "$engine" 'compression: [{cylinder: 1, reading: 1e308 psi}]'
promise the_same_key_twice sheet_refused 'bad.yaml:3:' 'sheet: 1' 'engine: {cylinders: 4}' 'engine: {cylinders: 6}' "$reading"
promise deep_nesting deep_nesting
promise not_utf8 not_utf8
promise no_reading_at_all sheet_refused 'bad.yaml' "$engine"
promise an_engine_that_cannot_be_built sheet_refused 'bad.yaml: rod length' 'sheet: 1' \
    'engine: {cylinders: 4, bore: 80 mm, stroke: 90 mm, rod_length: 47 mm}' "$reading"
promise a_file_that_is_not_there refused 'missing.yaml: cannot be opened: No such file' "$scratch/missing.yaml"
promise a_folder refused 'is a folder' "$scratch"
if [ "$(id -u)" -eq 0 ]; then
    not_run a_file_that_may_not_be_read 'root may read every file'
else
    echo "$engine" >"$scratch/secret.yaml"
    chmod 0 "$scratch/secret.yaml"
    promise a_file_that_may_not_be_read refused 'secret.yaml: cannot be opened: Permission denied' "$scratch/secret.yaml"
fi

# plan_refused PATTERN LINE...: a winter plan of these lines is refused.
plan_refused() {
    pattern=$1
    shift
    printf '%s\n' "$@" >"$bad"
    rm -f "$scratch/answer.ics"
    exits 3 "$program" winter --today 2027-01-05 -o "$scratch/answer.ics" "$bad" >"$scratch/out" 2>"$scratch/err" || return 1
    head -c 600 "$scratch/err"
    [ ! -s "$scratch/out" ] && [ ! -e "$scratch/answer.ics" ] && [ "$(wc -l <"$scratch/err")" -eq 1 ] && grep -q -e "$pattern" "$scratch/err"
}

promise a_plan_with_an_unknown_name plan_refused 'bad.yaml:3:.*gearbox_out?' 'plan: 1' 'access: {gearbox_out: {hours: 1}}' 'jobs: {a: {needs: [gearbox_uot]}}'
promise a_plan_that_goes_round_in_a_circle plan_refused 'bad.yaml:2:.*a -> b -> a' 'plan: 1' 'access: {a: {needs: b}, b: {needs: a}}' 'jobs: {}'
promise a_plan_with_negative_hours plan_refused 'bad.yaml:2:.*hours is -1' 'plan: 1' 'jobs: {a: {hours: -1}}'
promise a_plan_with_a_day_in_the_past plan_refused 'bad.yaml:2:.*2027-01-04 is in the past' 'plan: 1' 'days: [{date: 2027-01-04, hours: 1}]' 'jobs: {}'
promise a_calendar_of_what_cannot_be_done plan_refused 'cannot be done' 'plan: 1' 'budget: 1' 'jobs: {a: {parts: 2, must: true}}'

an_unknown_observation_gets_the_nearest() {
    printf '%s\n' "$engine" "$reading" 'observed: [{what: popping_exhuast}]' >"$bad"
    exits 3 "$program" judge "$bad" 2>"$scratch/err" || return 1
    cat "$scratch/err"
    grep -q 'bad.yaml:4:.*popping_exhaust' "$scratch/err" && [ "$(wc -l <"$scratch/err")" -eq 1 ]
}

# knowledge_refused PATTERN FILE LINE: knowledge with this line added to one of its files is refused.
knowledge_refused() {
    rm -rf "$scratch/knowledge"
    cp -r "$CROSSHATCH_SOURCE/knowledge" "$scratch/knowledge" && chmod -R u+w "$scratch/knowledge" || return 1
    echo "$3" >>"$scratch/knowledge/$2"
    exits 3 "$program" judge --knowledge "$scratch/knowledge" "$CROSSHATCH_SOURCE/demo/hill-climb-sound.yaml" 2>"$scratch/err" || return 1
    cat "$scratch/err"
    grep -q -e "$1" "$scratch/err" && [ "$(wc -l <"$scratch/err")" -eq 1 ]
}

knowledge_that_is_not_there() {
    exits 3 "$program" judge --knowledge "$scratch" "$CROSSHATCH_SOURCE/demo/hill-climb-sound.yaml" 2>"$scratch/err" || return 1
    grep -q 'causes.yaml: cannot be opened' "$scratch/err"
}

promise an_unknown_observation_gets_the_nearest an_unknown_observation_gets_the_nearest
promise knowledge_with_an_unknown_key knowledge_refused 'checks.yaml:[0-9]*:' checks.yaml 'chekcs: []'
promise knowledge_that_is_not_there knowledge_that_is_not_there
kept
