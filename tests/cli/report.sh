#!/bin/sh
# Promises of the report: files that other programs open, with everything in them and in order.
. "${CROSSHATCH_SOURCE:?}/tests/cli/tap.sh"
program=${CROSSHATCH:?}
sheet=$CROSSHATCH_SOURCE/demo/hill-climb-burnt-valve.yaml
export SOURCE_DATE_EPOCH=1800000000
for ending in pdf html svg csv; do
    "$program" report "$sheet" -o "$scratch/report.$ending" || exit 1
done

# A sheet that is hard to lay out: many cylinders, a long name that is markup too, nothing else known.
{
    printf 'sheet: 1\ntitle: "A name of more than sixty characters that goes on <script>alert(1)</script> & on"\nengine: {cylinders: 16}\ncompression:\n'
    for cylinder in 1 2 3 4 5 6 7 8 9 10 11 12 13 14 15 16; do
        echo "  - {cylinder: $cylinder, reading: 16$((cylinder % 10)) psi}"
    done
} >"$scratch/sixteen.yaml"

# everything TITLE READING...: a sheet with all kinds of evidence, a cylinder for each reading, read twice.
everything() {
    printf 'sheet: 1\ntitle: "%s"\nengine: {cylinders: %d, bore' "$1" $(($# - 1))
    shift
    cat <<'EOF'
: 84 mm, stroke: 81.8 mm, rod_length: 140 mm, compression_ratio: 10.5, limits: {standard: 185 psi, minimum: 140 psi, spread: 25 psi}}
gauge: {span: 300 psi, accuracy: 2 % of span, resolution: 2 psi, hose_volume: 12 ml}
conditions: {date: 2027-01-16, altitude: 450 m, barometer: 962 hPa, air_temperature: 9 C, engine_temperature: 70 C, throttle: open, cranking_speed: 220 rpm, strokes: 8, odometer: 187200 km, engine_hours: 412 h}
observed: [{what: coolant_loss}, {what: oily_plug, cylinder: 4}, {what: bubbles_in_coolant, found: no}]
EOF
    number=0
    dry='' wet='' leakdown=''
    for reading in "$@"; do
        number=$((number + 1))
        dry="$dry  - {cylinder: $number, reading: $reading psi, first_stroke: $((reading / 2)) psi}
  - {cylinder: $number, reading: $((reading + 2)) psi}
"
        wet="$wet  - {cylinder: $number, reading: $((reading + (reading < 150 ? 28 : 8))) psi, oil: 8 ml}
"
        leakdown="$leakdown  - {cylinder: $number, supply: 100 psi, loss: $((reading < 150 ? 31 : 9)) %, heard: $([ "$reading" -lt 150 ] && echo oil_filler || echo nothing)}
"
    done
    printf 'compression:\n%swet:\n%sleakdown:\n%s' "$dry" "$wet" "$leakdown"
}
everything 'Six of everything' 178 174 176 139 177 172 >"$scratch/six.yaml"

six_cylinders_with_all_kinds_of_evidence_take_two_pages_of_either_paper() {
    for paper in a4 letter; do
        "$program" report "$scratch/six.yaml" --paper $paper -o "$scratch/six.pdf" && pdfinfo "$scratch/six.pdf" | grep -q '^Pages: *2$' || return 1
    done
    pdftotext -layout "$scratch/six.pdf" "$scratch/six.txt" && grep -Eq '^ *4 +2 +140 .* 167 +31 %, oil filler' "$scratch/six.txt" &&
        in_order "$scratch/six.txt" 'Verdict: fault' 'Because' 'What it may be' 'Oil for the wet test: 8 ml.' 'Supply of the leak-down test: 100 psi.' 'What was not checked' WARNING
}

# In letters a little smaller; of more than twelve the table alone tells leak areas and wet readings.
twelve_and_sixteen_cylinders_and_a_name_of_sixty_characters_do_too() {
    name='Hill climb saloon of the second owner, rebuilt twice, in red'
    everything "$name" 178 174 176 139 177 172 175 176 173 174 177 175 178 174 176 177 >"$scratch/most.yaml"
    everything "$name" 178 174 176 139 177 172 175 176 173 174 177 175 >"$scratch/twelve.yaml"
    for paper in a4 letter; do
        for many in most twelve; do
            "$program" report "$scratch/$many.yaml" --paper $paper -o "$scratch/$many.pdf" && pdfinfo "$scratch/$many.pdf" | grep -q '^Pages: *2$' || return 1
        done
    done
    pdftotext -layout "$scratch/most.pdf" "$scratch/most.txt" && grep -Eq '^ *4 +2 +140 .* 167 +31 %, oil filler' "$scratch/most.txt" && pdftotext -layout "$scratch/twelve.pdf" "$scratch/twelve.txt" &&
        in_order "$scratch/twelve.txt" 'Hill climb saloon' 'Verdict: fault' 'Because' 'What it may be' 'What was not checked' WARNING
}

the_pdf_is_whole() {
    qpdf --check "$scratch/report.pdf" && "$program" report "$scratch/sixteen.yaml" --paper letter -o "$scratch/sixteen.pdf" &&
        qpdf --check "$scratch/sixteen.pdf" && pdfinfo "$scratch/sixteen.pdf" | grep -q 'Page size: *612 x 792 pts (letter)' &&
        pdfinfo "$scratch/report.pdf" | grep -q 'Page size: *595.* (A4)'
}

fonts_are_embedded() {
    pdffonts "$scratch/report.pdf" | awk 'NR > 2 && $(NF - 4) != "yes" {exit 1} END {if (NR < 3) exit 1}'
}

# in_order FILE WORDS...: each stands behind the one before it.
in_order() {
    tr -s ' \n' '  ' <"$1" >"$scratch/flat"
    shift
    python3 - "$scratch/flat" "$@" <<'EOF'
import sys
text, at = open(sys.argv[1], encoding="utf-8").read(), 0
for words in sys.argv[2:]:
    found = text.find(words, at)
    if found < 0:
        raise SystemExit(f"missing or out of order: {words}")
    at = found + len(words)
EOF
}

text_can_be_taken_from_the_pdf_in_reading_order() {
    pdftotext "$scratch/report.pdf" "$scratch/report.txt" &&
        in_order "$scratch/report.txt" 'Verdict: fault' 'cylinder 3 is sound with a chance of' 'Cylinder by cylinder, psi' Because \
            'What it may be' 'How it was measured' 'What was not checked' 'What to check next' WARNING
}

the_html_asks_nothing_of_anyone() {
    in_order "$scratch/report.html" '<h1>' 'Verdict: fault' '<svg' 'Cylinder by cylinder, psi' 'What was not checked' || return 1
    ! grep -Eq 'src=|href=|url\(|@import|<script' "$scratch/report.html"
}

markup_in_a_name_stays_text() {
    "$program" report "$scratch/sixteen.yaml" -o "$scratch/sixteen.html" && grep -q '&lt;script&gt;alert(1)' "$scratch/sixteen.html" &&
        ! grep -q '<script' "$scratch/sixteen.html"
}

the_drawing_is_xml_with_a_title_and_a_description() {
    python3 - "$scratch/report.svg" <<'EOF'
import sys, xml.etree.ElementTree as tree
root = tree.parse(sys.argv[1]).getroot()
space = "{http://www.w3.org/2000/svg}"
assert root.tag == space + "svg" and root.find(space + "title").text and "Cylinder 3" in root.find(space + "desc").text
EOF
}

the_table_has_a_row_of_units_and_one_for_each_cylinder() {
    python3 - "$scratch/report.csv" <<'EOF'
import csv, sys
rows = list(csv.reader(open(sys.argv[1], newline="")))
assert len(rows) == 6 and {len(row) for row in rows} == {11}
mean, unit = rows[0].index("mean"), dict(zip(rows[0], rows[1]))["mean"]
assert unit == "psi" and [row[mean] for row in rows[2:]] == ["181.0", "176.0", "131.0", "178.0"]
EOF
}

the_same_sheet_and_day_give_the_same_bytes() {
    for ending in pdf html svg csv; do
        "$program" report "$sheet" -o "$scratch/again.$ending" && cmp "$scratch/report.$ending" "$scratch/again.$ending" || return 1
    done
}

without_a_sheet_it_takes_the_newest_of_the_garage() {
    "$program" import --garage "$scratch/garage.db" "$sheet" && "$program" report --garage "$scratch/garage.db" -o "$scratch/newest.html" &&
        grep -q 'Verdict: fault' "$scratch/newest.html"
}

# refused STATUS PATTERN ARGUMENTS...: one line that says it, and no file.
refused() {
    status=$1 pattern=$2
    shift 2
    rm -f "$scratch/none.pdf"
    exits "$status" "$program" report "$@" 2>"$scratch/err" || return 1
    cat "$scratch/err"
    [ "$(wc -l <"$scratch/err")" -eq 1 ] && grep -q -e "$pattern" "$scratch/err" && [ ! -e "$scratch/none.pdf" ]
}

bad_use_is_refused() {
    refused 2 'ends in .pdf, .html, .svg or .csv' "$sheet" && refused 2 'unknown ending' "$sheet" -o "$scratch/report.doc" &&
        refused 2 'a4 or letter' "$sheet" --paper a5 -o "$scratch/none.pdf" && refused 3 'missing.yaml' "$scratch/missing.yaml" -o "$scratch/none.pdf" &&
        refused 3 'garage' --garage "$scratch/no.db" -o "$scratch/none.pdf"
}

promise the_pdf_is_whole the_pdf_is_whole
promise fonts_are_embedded fonts_are_embedded
promise text_can_be_taken_from_the_pdf_in_reading_order text_can_be_taken_from_the_pdf_in_reading_order
promise the_html_asks_nothing_of_anyone the_html_asks_nothing_of_anyone
promise markup_in_a_name_stays_text markup_in_a_name_stays_text
promise the_drawing_is_xml_with_a_title_and_a_description the_drawing_is_xml_with_a_title_and_a_description
promise the_table_has_a_row_of_units_and_one_for_each_cylinder the_table_has_a_row_of_units_and_one_for_each_cylinder
promise the_same_sheet_and_day_give_the_same_bytes the_same_sheet_and_day_give_the_same_bytes
promise without_a_sheet_it_takes_the_newest_of_the_garage without_a_sheet_it_takes_the_newest_of_the_garage
promise six_cylinders_with_all_kinds_of_evidence_take_two_pages_of_either_paper six_cylinders_with_all_kinds_of_evidence_take_two_pages_of_either_paper
promise twelve_and_sixteen_cylinders_and_a_name_of_sixty_characters_do_too twelve_and_sixteen_cylinders_and_a_name_of_sixty_characters_do_too
promise bad_use_is_refused bad_use_is_refused
kept
