/*
 * Promises of car/procedure*.c: what is read of the guided procedures, every refusal with its place, and what the procedures
 * built into the program hold.
 * The small files of tests/data/procedures-bad/ are right; each refusal comes from one change of their text.
 */
#include "crosshatch/procedure.h"

#include <stdlib.h>
#include <string.h>

#include "expect.h"
#include "fail_alloc.h"

enum { OPEN, MEASURE, CLOSE, FILES, BYTES_MAX = 16 * 1024 };

static const char *const names[FILES] = {"open.yaml", "measure.yaml", "close.yaml"};
static char small[FILES][BYTES_MAX];
static char changed[BYTES_MAX];
static ch_knowledge knowledge;

static size_t read_file(const char *folder, const char *name, char *text)
{
    char path[4096];
    snprintf(path, sizeof path, "%s/%s/%s", getenv("CROSSHATCH_SOURCE"), folder, name);
    FILE *file = fopen(path, "rb");
    assert_non_null(file);
    const size_t length = fread(text, 1, BYTES_MAX - 1, file);
    fclose(file);
    assert_true(length < BYTES_MAX - 1);
    text[length] = '\0';
    return length;
}

static int load(void **state)
{
    (void)state;
    for (int i = 0; i < FILES; i++)
        read_file("tests/data/procedures-bad", names[i], small[i]);
    return ch_knowledge_parse(&knowledge, ch_knowledge_builtin(), NULL) == CH_OK ? 0 : -1;
}

static int unload(void **state)
{
    (void)state;
    ch_knowledge_clear(&knowledge);
    return 0;
}

static void small_texts(ch_knowledge_text texts[FILES])
{
    for (int i = 0; i < FILES; i++)
        texts[i] = (ch_knowledge_text){names[i], small[i], strlen(small[i])};
}

static void parse(ch_procedures *procedures, const ch_knowledge_text *texts, size_t count)
{
    ch_err err = {0};
    if (ch_procedures_parse(procedures, &knowledge, texts, count, &err) != CH_OK) {
        char line[800];
        ch_err_format(&err, line, sizeof line);
        fail_msg("%s", line);
    }
}

static void parse_small(ch_procedures *procedures)
{
    ch_knowledge_text texts[FILES];
    small_texts(texts);
    parse(procedures, texts, FILES);
}

static void parse_builtin(ch_procedures *procedures)
{
    size_t count = 0;
    const ch_knowledge_text *texts = ch_procedures_builtin(&count);
    parse(procedures, texts, count);
}

/* The texts are refused with this line, and nothing is touched. */
static void refuse_texts(ch_status status, const ch_knowledge_text *texts, size_t count, const char *line)
{
    ch_procedures procedures;
    memset(&procedures, 0x5A, sizeof procedures);
    const ch_procedures before = procedures;
    ch_err err = {0};
    const ch_status rc = ch_procedures_parse(&procedures, &knowledge, texts, count, &err);
    char got[800];
    ch_err_format(&err, got, sizeof got);
    assert_string_equal(got, line);
    assert_int_equal(rc, status);
    assert_memory_equal(&procedures, &before, sizeof procedures);
    assert_int_equal(ch_procedures_parse(&procedures, &knowledge, texts, count, NULL), status);
}

/* The small files with one piece of text, which must stand there once, changed. */
static void refuse(int file, const char *from, const char *to, const char *line)
{
    ch_knowledge_text texts[FILES];
    small_texts(texts);
    const char *at = strstr(small[file], from);
    if (at == NULL || strstr(at + 1, from) != NULL)
        fail_msg("\"%s\" stands not once in %s", from, names[file]);
    snprintf(changed, sizeof changed, "%.*s%s%s", (int)(at - small[file]), small[file], to, at + strlen(from));
    texts[file].text = changed;
    texts[file].length = strlen(changed);
    refuse_texts(CH_E_INPUT, texts, FILES, line);
}

static const ch_procedure *procedure(const ch_procedures *procedures, const char *id)
{
    const ch_procedure *found = ch_procedure_find(procedures, id, strlen(id));
    assert_non_null(found);
    return found;
}

static const ch_procedure_step *step(const ch_procedures *procedures, const char *of, const char *id)
{
    const ch_procedure_step *found = ch_procedure_step_find(procedure(procedures, of), id, strlen(id));
    assert_non_null(found);
    return found;
}

static bool has_caution(const ch_procedure_step *at, const char *id)
{
    for (size_t i = 0; i < at->cautions.count; i++)
        if (strcmp(knowledge.cautions[at->cautions.at[i]].id, id) == 0)
            return true;
    return false;
}

/* ---- what is read ---- */

static void a_procedure_is_read_in_si(void **state)
{
    (void)state;
    ch_procedures p;
    parse_small(&p);
    assert_int_equal(p.count, 3);
    const ch_procedure *open = procedure(&p, "open");
    assert_string_equal(open->title, "Open it");
    assert_string_equal(open->why, "To get in.");
    assert_string_equal(open->source, "judgment of minutes");
    assert_int_equal(open->role, CH_PROCEDURE_OPEN);
    assert_int_equal(open->needs_count, 2);
    assert_string_equal(open->needs[1], "Lamp");
    expect_close(open->setup_s, 720, 0); /* whole numbers of seconds are exact */
    expect_close(open->each_s, 90, 0);
    assert_int_equal(open->after.count, 0);
    assert_int_equal(open->steps_count, 3);
    assert_int_equal(procedure(&p, "measure")->needs_count, 0);
    ch_procedures_clear(&p);
    assert_null(p.pieces);
    ch_procedures_clear(&p);
}

static void a_step_is_read_with_all_it_says(void **state)
{
    (void)state;
    ch_procedures p;
    parse_small(&p);
    const ch_procedure_step *coils = step(&p, "open", "coils");
    assert_int_equal(coils->kind, CH_STEP_REMOVE);
    assert_int_equal(coils->scope, CH_STEP_EACH_CYLINDER);
    assert_string_equal(coils->text, "Lift coil {cylinder}.");
    assert_string_equal(coils->why, "It hides plug {cylinder}.");
    assert_string_equal(coils->done, "Coil {cylinder} is off.");
    assert_string_equal(coils->applies, "There are coils");
    assert_string_equal(coils->source, "a source of its own");
    assert_int_equal(coils->rows, 0);
    expect_close(coils->crank_most_s, 0, 0);
    assert_false(coils->air);

    const ch_procedure_step *look = step(&p, "open", "look");
    assert_int_equal(look->kind, CH_STEP_CHECK);
    assert_int_equal(look->scope, CH_STEP_ONCE);
    assert_null(look->applies);
    assert_string_equal(look->source, "common practice");
    assert_int_equal(look->takes_off, CH_NO_THING);
    assert_int_equal(look->puts_back, CH_NO_THING);

    const ch_procedure_step *crank = step(&p, "measure", "crank");
    assert_int_equal(crank->kind, CH_STEP_MEASURE);
    assert_int_equal(crank->rows, CH_ROWS_COMPRESSION | CH_ROWS_WET);
    expect_close(crank->crank_least_s, 2.5, 0);
    expect_close(crank->crank_most_s, 6, 0);
    assert_true(step(&p, "measure", "blow")->air);
    assert_int_equal(step(&p, "measure", "ready")->kind, CH_STEP_NOTE);
    ch_procedures_clear(&p);
}

static void cautions_of_a_step_stand_gravest_first(void **state)
{
    (void)state;
    ch_procedures p;
    parse_small(&p);
    const ch_places *cautions = &step(&p, "open", "look")->cautions;
    assert_int_equal(cautions->count, 3);
    assert_string_equal(knowledge.cautions[cautions->at[0]].id, "car_on_jack");
    assert_string_equal(knowledge.cautions[cautions->at[1]].id, "fuel_vapour");
    assert_string_equal(knowledge.cautions[cautions->at[2]].id, "long_cranking");
    ch_procedures_clear(&p);
}

static void what_is_taken_off_knows_where_it_goes_back(void **state)
{
    (void)state;
    ch_procedures p;
    parse_small(&p);
    assert_int_equal(p.things_count, 3);
    const ch_procedure_thing *fuse = &p.things[0], *coil = &p.things[1], *lock = &p.things[2];
    assert_string_equal(fuse->id, "pump_fuse");
    assert_true(fuse->ask_which && fuse->ask_where);
    assert_null(fuse->torque);
    assert_int_equal(fuse->scope, CH_STEP_ONCE);
    assert_string_equal(coil->what, "coil {cylinder}");
    assert_string_equal(coil->from, "cylinder {cylinder}");
    assert_string_equal(coil->torque, "torque of its screws, from the car's own manual");
    assert_int_equal(coil->scope, CH_STEP_EACH_CYLINDER);
    assert_false(coil->ask_which || coil->ask_where);
    assert_true(!lock->ask_which && lock->ask_where);

    assert_string_equal(p.procedures[coil->taken_procedure].steps[coil->taken_step].id, "coils");
    assert_string_equal(p.procedures[coil->back_procedure].steps[coil->back_step].id, "coils_on");
    assert_string_equal(p.procedures[lock->back_procedure].id, "measure");
    assert_string_equal(p.procedures[lock->back_procedure].steps[lock->back_step].id, "unlock");
    assert_int_equal(step(&p, "open", "coils")->takes_off, 1);
    assert_int_equal(step(&p, "close", "coils_on")->puts_back, 1);
    ch_procedures_clear(&p);
}

static void the_order_of_work_does_not_follow_the_order_of_texts(void **state)
{
    (void)state;
    static const int orders[][FILES] = {{0, 1, 2}, {0, 2, 1}, {1, 0, 2}, {1, 2, 0}, {2, 0, 1}, {2, 1, 0}};
    ch_knowledge_text texts[FILES];
    small_texts(texts);
    for (size_t i = 0; i < sizeof orders / sizeof orders[0]; i++) {
        const ch_knowledge_text mixed[] = {texts[orders[i][0]], texts[orders[i][1]], texts[orders[i][2]]};
        ch_procedures p;
        parse(&p, mixed, FILES);
        assert_string_equal(p.procedures[0].id, "open");
        assert_string_equal(p.procedures[1].id, "measure");
        assert_string_equal(p.procedures[2].id, "close");
        assert_int_equal(p.procedures[1].after.count, 1);
        assert_int_equal(p.procedures[1].after.at[0], 0);
        assert_string_equal(p.things[2].id, "lock");
        ch_procedures_clear(&p);
    }
}

/* A procedure that measures nothing, of this id and after these. */
static ch_knowledge_text plain(const char *id, const char *after, char text[512])
{
    snprintf(
        text, 512,
        "{knowledge: procedure, version: 1, id: %s, title: t, role: measure, why: w, after: [%s], needs: [],\n"
        "minutes: {setup: 1, each: 0}, source: s, steps: [{id: a, kind: note, scope: once, text: t, why: w, done: d,"
        " cautions: []}]}",
        id, after);
    return (ch_knowledge_text){id, text, strlen(text)};
}

static void a_procedure_comes_after_those_it_names(void **state)
{
    (void)state;
    char a[512], b[512], c[512], d[512];
    const ch_knowledge_text texts[] = {plain("first", "third, fourth", a), plain("second", "", b),
                                       plain("third", "fourth", c), plain("fourth", "", d)};
    ch_procedures p;
    parse(&p, texts, 4);
    static const char *const order[] = {"second", "fourth", "third", "first"};
    for (size_t i = 0; i < 4; i++)
        assert_string_equal(p.procedures[i].id, order[i]);
    assert_int_equal(p.procedures[3].after.count, 2);
    assert_int_equal(p.procedures[3].after.at[0], 2);
    assert_int_equal(p.procedures[3].after.at[1], 1);
    ch_procedures_clear(&p);
}

static void no_texts_are_no_procedures(void **state)
{
    (void)state;
    ch_procedures p;
    parse(&p, NULL, 0);
    assert_int_equal(p.count, 0);
    assert_int_equal(p.things_count, 0);
    assert_null(ch_procedure_find(&p, "open", 4));
    ch_procedures_clear(&p);
}

static void nothing_is_found_under_part_of_an_id(void **state)
{
    (void)state;
    ch_procedures p;
    parse_small(&p);
    assert_null(ch_procedure_find(&p, "ope", 3));
    assert_null(ch_procedure_find(&p, "opened", 6));
    assert_string_equal(ch_procedure_find(&p, "opened", 4)->id, "open");
    assert_null(ch_procedure_step_find(procedure(&p, "open"), "coil", 4));
    ch_procedures_clear(&p);
}

static void a_text_is_filled_with_the_cylinder(void **state)
{
    (void)state;
    ch_text text;
    ch_text_init(&text, 100);
    ch_procedure_fill("{cylinder}: coil {cylinder}{cylinder}, end", 12, &text);
    assert_string_equal(ch_text_string(&text), "12: coil 1212, end");
    ch_text_clear(&text);
    ch_procedure_fill("no place", 3, &text);
    assert_string_equal(ch_text_string(&text), "no place");
    ch_text_clear(&text);
    ch_text_init(&text, 4);
    ch_procedure_fill("coil {cylinder}", 3, &text);
    assert_int_equal(ch_text_check(&text, NULL), CH_E_LIMIT);
    ch_text_clear(&text);
}

static void kinds_have_the_names_of_the_files(void **state)
{
    (void)state;
    assert_string_equal(ch_step_kind_name(CH_STEP_CHECK), "check");
    assert_string_equal(ch_step_kind_name(CH_STEP_REFIT), "refit");
    assert_string_equal(ch_step_kind_name(CH_STEP_NOTE), "note");
    assert_null(ch_step_kind_name((ch_step_kind)(CH_STEP_NOTE + 1)));
    assert_null(ch_step_kind_name((ch_step_kind)-1));
}

/* ---- refusals ---- */

static void a_file_that_is_not_a_procedure_is_refused(void **state)
{
    (void)state;
    refuse(OPEN, "knowledge: procedure", "knowledge: causes", "open.yaml:2:12: knowledge is \"causes\": procedure");
    refuse(OPEN, "version: 1", "version: 2", "open.yaml:3:10: version is \"2\": 1");
    refuse(OPEN, "why: \"To get in.\"\n", "", "open.yaml:2:1: \"why\" is missing here");
    refuse(OPEN, "title: \"Open it\"", "titel: \"Open it\"", "open.yaml:5:1: unknown key \"titel\": title");
    refuse(OPEN, "role: open", "role: opening", "open.yaml:6:7: role is \"opening\": one of open, measure, close");
    refuse(OPEN, "minutes: {setup: 12, each: 1.5}", "minutes: {setup: 0, each: 0}",
           "open.yaml:9:10: a procedure that takes no time: more than 0 in all");
    refuse(OPEN, "setup: 12", "setup: 12 min", "open.yaml:9:18: setup is \"12 min\", not a plain number: 0 or more");
    refuse(OPEN, "\"Lamp\"", "[\"Lamp\"]", "open.yaml:8:18: this is a list: a text");
    const ch_knowledge_text list = {"list.yaml", "- a\n", 4};
    refuse_texts(CH_E_INPUT, &list, 1,
                 "list.yaml:1:1: not a procedure: keys and values, as docs/procedures.md has them");
    char text[512];
    ch_knowledge_text bare = plain("bare", "", text);
    strcpy(strstr(text, "[{id: a"), "[]}");
    bare.length = strlen(text);
    refuse_texts(CH_E_INPUT, &bare, 1, "bare:2:49: a procedure without steps: at least one");
}

static void a_step_of_the_wrong_form_is_refused(void **state)
{
    (void)state;
    refuse(OPEN, "kind: check", "kind: chek", "open.yaml:13:11: kind is \"chek\": check");
    refuse(OPEN, "id: fuse\n", "id: look\n",
           "open.yaml:19:9: \"look\" stands here again; first on line 12: each name once");
    refuse(OPEN, "why: \"No fuel.\"", "why: \"\"",
           "open.yaml:23:10: why is empty: a text, or leave the key out where it is not needed");
    refuse(OPEN, "done: \"Seen.\"", "done: \"Seen.\\nTwice.\"",
           "open.yaml:17:11: done holds a line end or a control character: one line, or several folded with >-");
    refuse(OPEN, "car_on_jack", "car_on_jacks", "open.yaml:18:31: there is no caution \"car_on_jacks\": car_on_jack");
    refuse(OPEN, "    done: \"Seen.\"\n", "    done: \"Seen.\"\n    rows: [wet]\n",
           "open.yaml:18:11: rows of a step that measures nothing: kind: measure");
    refuse(MEASURE, "rows: [wet,", "rows: [damp,",
           "measure.yaml:23:12: there is no block of a sheet \"damp\": "
           "one of compression, leakdown, wet");
    refuse(MEASURE, "least: 2.5", "least: 6.5", "measure.yaml:24:31: most is less than least: no less than least");
    refuse(MEASURE, "most: 6", "most: 10.5", "measure.yaml:24:31: most is 10.5: more than 0 s and at most 10 s");
    refuse(MEASURE, "least: 2.5", "least: 0", "measure.yaml:24:20: least is 0: more than 0 s and at most 10 s");
    refuse(MEASURE, "air: true", "air: yes", "measure.yaml:40:10: air is \"yes\": one of false, true");
}

static void a_placeholder_stands_only_where_it_can_be_filled(void **state)
{
    (void)state;
    refuse(OPEN, "\"Pull the fuse.\"", "\"Pull fuse {cylinder}.\"",
           "open.yaml:22:11: \"{cylinder}.\" in text: no { or } in a step that is done once");
    refuse(OPEN, "Lift coil {cylinder}.", "Lift coil {cyl}.", "open.yaml:31:11: \"{cyl}.\" in text: {cylinder}");
    refuse(OPEN, "what: \"coil {cylinder}\"", "what: \"coil\"",
           "open.yaml:38:13: what does not tell one cylinder's from the next: {cylinder} in it");
    refuse(OPEN, "what: \"fuse\"", "what: \"fuse }\"",
           "open.yaml:26:38: \"}\" in what: no { or } in a step that is done once");
}

static void ledger_keys_stand_only_where_they_belong(void **state)
{
    (void)state;
    refuse(OPEN, "kind: disable", "kind: check",
           "open.yaml:26:16: takes_off in a step of another kind: kind: remove or disable");
    refuse(OPEN, "kind: check", "kind: remove", "open.yaml:12:5: \"takes_off\" is missing here");
    refuse(CLOSE, "    puts_back: pump_fuse\n", "", "close.yaml:20:5: \"puts_back\" is missing here");
    refuse(OPEN, "ask: [which, where]", "ask: [who]",
           "open.yaml:26:70: there is no question \"who\": one of where, which");
    refuse(OPEN, "torque of its screws", "25 N m",
           "open.yaml:40:15: torque holds a figure: what to look up in the car's own manual");
    refuse(OPEN, "    cautions: [ignition_voltage]\n",
           "    cautions: [ignition_voltage]\n    before_cranking: [hydraulic_lock]\n",
           "open.yaml:35:22: before_cranking in a step of each cylinder: scope: once");
    refuse(OPEN, "ask: [which, where]", "before_cranking: [hydraulic_look]",
           "open.yaml:26:82: there is no caution \"hydraulic_look\": hydraulic_lock");
    refuse(OPEN, "from: \"fuse box\", ", "", "open.yaml:26:16: \"from\" is missing here");
}

static void a_thing_that_nothing_puts_back_is_refused(void **state)
{
    (void)state;
    refuse(CLOSE,
           "kind: refit\n    scope: once\n    text: \"Fuse in.\"\n    why: \"Fuel.\"\n    done: \"In.\"\n"
           "    cautions: []\n    puts_back: pump_fuse\n",
           "kind: check\n    scope: once\n    text: \"Fuse in.\"\n    why: \"Fuel.\"\n    done: \"In.\"\n    cautions: "
           "[]\n",
           "open.yaml:26:16: nothing puts \"pump_fuse\" back: "
           "a later step, here or in a procedure that closes up, with puts_back");
}

static void a_thing_is_put_back_once_later_and_for_the_same_scope(void **state)
{
    (void)state;
    refuse(CLOSE, "puts_back: pump_fuse", "puts_back: pump_fuze",
           "close.yaml:27:16: nothing called \"pump_fuze\" is taken off: pump_fuse");
    refuse(
        CLOSE, "puts_back: pump_fuse", "puts_back: ignition_coil",
        "close.yaml:27:16: \"ignition_coil\" is taken off at each cylinder: the scope of the step that takes it off");
    refuse(CLOSE, "puts_back: ignition_coil", "puts_back: lock",
           "close.yaml:19:16: \"lock\" is taken off once: the scope of the step that takes it off");
    refuse(CLOSE, "puts_back: pump_fuse", "puts_back: lock",
           "close.yaml:27:16: \"lock\" is put back already, in step unlock: once");
    refuse(MEASURE, "puts_back: lock", "puts_back: pump_fuse",
           "measure.yaml:52:16: \"pump_fuse\" cannot be put back here: "
           "later in the same procedure, or in one that closes up");
    refuse(MEASURE, "{id: lock, what", "{id: ignition_coil, what",
           "measure.yaml:36:21: \"ignition_coil\" is taken off in open, step coils already: each thing once");
}

static void a_check_stands_ahead_of_what_a_later_step_puts_back(void **state)
{
    (void)state;
    ch_procedures p;
    parse_builtin(&p);
    static const char *const ahead[] = {"lock_check", "blow_out", "holes_empty"};
    for (size_t i = 0; i < sizeof ahead / sizeof ahead[0]; i++) {
        const long at = step(&p, "close_up", ahead[i])->ahead_of;
        assert_int_not_equal(at, CH_NO_THING);
        assert_string_equal(p.things[at].id, "plug");
    }
    assert_int_equal(step(&p, "close_up", "count")->ahead_of, CH_NO_THING);
    assert_true(has_caution(step(&p, "close_up", "lock_check"), "hydraulic_lock"));
    ch_procedures_clear(&p);
    refuse(CLOSE, "    puts_back: pump_fuse\n", "    puts_back: pump_fuse\n    ahead_of: pump_fuse\n",
           "close.yaml:28:15: ahead_of in a step of another kind: kind: check and scope: once");
    static const char look[] =
        "steps:\n  - {id: look, kind: check, scope: once, text: t, why: w, done: d, cautions: [], "
        "ahead_of: pump_fuze}\n";
    refuse(
        CLOSE, "steps:\n", look,
        "close.yaml:12:92: \"pump_fuze\" is not put back after this step: a thing that a later step of this procedure "
        "puts back");
    refuse(
        OPEN, "kind: check\n", "kind: check\n    ahead_of: pump_fuse\n",
        "open.yaml:14:15: \"pump_fuse\" is not put back after this step: a thing that a later step of this procedure "
        "puts back");
}

/* A procedure of these steps, in flow style, one a line from line 3 on. */
static ch_knowledge_text of_steps(const char *id, const char *role, const char *steps, char text[1024])
{
    snprintf(text, 1024,
             "{knowledge: procedure, version: 1, id: %s, title: t, role: %s, why: w, needs: [],\n"
             "minutes: {setup: 1, each: 0}, source: s, steps: [\n%s]}",
             id, role, steps);
    return (ch_knowledge_text){id, text, strlen(text)};
}

#define SAYS "scope: once, text: t, why: w, done: d"
#define EACH                                                                                                           \
    "scope: each_cylinder, text: t, why: w, done: d, cautions: [cranking_spray, ignition_voltage, air_turns_crank]"

static void a_thing_is_not_put_back_before_it_is_taken_off(void **state)
{
    (void)state;
    static const char on[] = "{id: on, kind: refit, " SAYS ", cautions: [], puts_back: cap},\n";
    static const char off[] =
        "{id: off, kind: remove, " SAYS ", cautions: [], takes_off: {id: cap, what: cap, from: f}},\n";
    char a[1024], b[1024], both[512];
    snprintf(both, sizeof both, "%s%s", on, off);
    const ch_knowledge_text same = of_steps("same", "measure", both, a);
    refuse_texts(CH_E_INPUT, &same, 1,
                 "same:3:87: \"cap\" cannot be put back here: later in the same procedure, or in one that closes up");
    const ch_knowledge_text closing[] = {of_steps("first", "close", on, a), of_steps("second", "close", off, b)};
    refuse_texts(CH_E_INPUT, closing, 2,
                 "first:3:87: \"cap\" cannot be put back here: later in the same procedure, or in one that closes up");
}

static void a_caution_that_comes_after_the_crank_does_not_count(void **state)
{
    (void)state;
    char text[1024];
    const ch_knowledge_text late =
        of_steps("late", "measure",
                 "{id: turn, kind: check, " SAYS ", cautions: [ignition_voltage], crank: {least: 1, most: 2}},\n"
                 "{id: warn, kind: note, " SAYS ", cautions: [cranking_spray]}",
                 text);
    refuse_texts(CH_E_INPUT, &late, 1,
                 "late:3:1: step \"turn\" cranks without the caution cranking_spray: "
                 "that caution on this step or on one before it");
}

static void a_step_that_can_hurt_without_its_caution_is_refused(void **state)
{
    (void)state;
    refuse(MEASURE, "[cranking_spray, ignition_voltage]", "[ignition_voltage]",
           "measure.yaml:20:5: step \"crank\" cranks without the caution cranking_spray: "
           "that caution on this step or on one before it");
    refuse(MEASURE, "[cranking_spray, ignition_voltage]", "[cranking_spray]",
           "measure.yaml:20:5: step \"crank\" cranks without the caution ignition_voltage: "
           "that caution on this step or on one before it");
    refuse(MEASURE, "[air_turns_crank]", "[]",
           "measure.yaml:37:5: step \"blow\" lets air into a cylinder without the caution air_turns_crank: "
           "that caution on this step or on one before it");
}

/* A chain at one cylinder (dead centre, hold, air in, air out) is broken by doing one of its links at all of them. */
static void a_part_of_the_work_at_one_cylinder_is_not_done_at_all_at_once(void **state)
{
    (void)state;
    static const char *const chains[][2] = {
        {"{id: read, kind: measure, " EACH "}", "read"},
        {"{id: blow, kind: check, " EACH ", air: true}", "blow"},
        {"{id: turn, kind: check, " EACH ", crank: {least: 1, most: 2}}", "turn"},
    };
    static const char link[] = "{id: link, kind: check, " EACH ", all_at_once: true}";
    static const char between[] = "{id: other, kind: check, " EACH "}";
    static const char parts[] = "{id: parts, kind: note, " SAYS ", cautions: []}";
    char text[1024], steps[800], line[256];
    for (size_t i = 0; i < sizeof chains / sizeof chains[0]; i++) {
        for (int after = 0; after <= 1; after++) {
            snprintf(steps, sizeof steps, "%s,\n%s,\n%s", after ? link : chains[i][0], between,
                     after ? chains[i][0] : link);
            const ch_knowledge_text chain = of_steps("chain", "measure", steps, text);
            snprintf(line, sizeof line,
                     "chain:%d:149: step \"link\" is in one round with \"%s\", which measures, cranks or lets air in: "
                     "one cylinder after the other",
                     after ? 3 : 5, chains[i][1]);
            refuse_texts(CH_E_INPUT, &chain, 1, line);
        }
        snprintf(steps, sizeof steps, "%s,\n%s,\n%s", chains[i][0], parts, link);
        const ch_knowledge_text parted = of_steps("parted", "measure", steps, text);
        ch_procedures p;
        parse(&p, &parted, 1);
        assert_true(step(&p, "parted", "link")->all_at_once);
        ch_procedures_clear(&p);
    }
    refuse(OPEN, "    kind: disable\n    scope: once\n", "    kind: disable\n    scope: once\n    all_at_once: true\n",
           "open.yaml:22:18: all_at_once in a step that is done once: scope: each_cylinder");
    refuse(CLOSE, "scope: each_cylinder\n", "scope: each_cylinder\n    all_at_once: true\n",
           "close.yaml:15:18: all_at_once in a step of kind refit: each thing seen to be back, one by one");
    refuse(OPEN, "scope: each_cylinder\n", "scope: each_cylinder\n    all_at_once: yes\n",
           "open.yaml:30:18: all_at_once is \"yes\": one of false, true");
}

static void an_order_that_cannot_be_followed_is_refused(void **state)
{
    (void)state;
    refuse(MEASURE, "after: [open]", "after: [close]",
           "measure.yaml:8:9: \"close\" comes later by its role: one that opens up, or one of the same role");
    refuse(MEASURE, "after: [open]", "after: [opens]", "measure.yaml:8:9: there is no procedure \"opens\": open");
    refuse(MEASURE, "after: [open]", "after: [measure]",
           "measure.yaml:8:8: this waits, through others, for itself: an order that can be followed");
    refuse(CLOSE, "id: close\n", "id: open\n", "close.yaml:4:5: \"open\" stands in open.yaml too: each id once");
    char a[512], b[512];
    const ch_knowledge_text ring[] = {plain("first", "second", a), plain("second", "first", b)};
    refuse_texts(CH_E_INPUT, ring, 2,
                 "first:1:87: this waits, through others, for itself: an order that can be followed");
}

static void too_many_are_refused(void **state)
{
    (void)state;
    static ch_knowledge_text texts[CH_PROCEDURES_MAX + 1];
    refuse_texts(CH_E_LIMIT, texts, CH_PROCEDURES_MAX + 1, "65 procedures: at most 64");
}

static void too_many_things_are_refused(void **state)
{
    (void)state;
    ch_text text;
    ch_text_init(&text, 100000);
    ch_text_append_string(&text, "knowledge: procedure\nversion: 1\nid: x\ntitle: t\nrole: open\nwhy: w\nneeds: []\n"
                                 "minutes: {setup: 1, each: 0}\nsource: s\nsteps:\n");
    for (int i = 0; i <= CH_PROCEDURE_THINGS_MAX; i++)
        ch_text_appendf(&text,
                        "- {id: s%d, kind: remove, scope: once, text: t, why: w, done: d, cautions: [], "
                        "takes_off: {id: t%d, what: w, from: f}}\n",
                        i, i);
    assert_int_equal(ch_text_check(&text, NULL), CH_OK);
    const ch_knowledge_text one = {"many.yaml", ch_text_string(&text), text.length};
    refuse_texts(CH_E_LIMIT, &one, 1, "many.yaml:267:92: too many things taken off: at most 256");
    ch_text_clear(&text);
}

static void any_failed_allocation_is_reported_and_leaves_nothing(void **state)
{
    (void)state;
    ch_knowledge_text texts[FILES];
    small_texts(texts);
    long n = 1;
    for (;; n++) {
        ch_procedures procedures;
        memset(&procedures, 0x5A, sizeof procedures);
        const ch_procedures before = procedures;
        ch_err err = {0};
        fail_alloc_at(n);
        const ch_status rc = ch_procedures_parse(&procedures, &knowledge, texts, FILES, &err);
        if (!fail_alloc_stop()) {
            assert_int_equal(rc, CH_OK);
            ch_procedures_clear(&procedures);
            break;
        }
        assert_int_equal(rc, CH_E_MEMORY);
        assert_int_equal(err.status, CH_E_MEMORY);
        assert_memory_equal(&procedures, &before, sizeof procedures);
    }
    assert_true(n > 20); /* the sweep has met the allocations that are there */
}

/* ---- the built-in procedures ---- */

static void the_built_in_procedures_load_in_the_order_of_work(void **state)
{
    (void)state;
    static const char *const order[] = {"open_up", "compression_dry", "leak_down", "compression_wet", "close_up"};
    ch_procedures p;
    parse_builtin(&p);
    assert_int_equal(p.count, 5);
    for (size_t i = 0; i < 5; i++)
        assert_string_equal(p.procedures[i].id, order[i]);
    ch_procedures_clear(&p);
}

static void the_built_in_procedures_are_those_of_the_source(void **state)
{
    (void)state;
    size_t count = 0;
    const ch_knowledge_text *builtin = ch_procedures_builtin(&count);
    static const char behind[] = " (built in)";
    assert_int_equal(count, 5);
    for (size_t i = 0; i < count; i++) {
        char name[64];
        assert_string_equal(builtin[i].name + strlen(builtin[i].name) - strlen(behind), behind);
        snprintf(name, sizeof name, "%.*s", (int)(strlen(builtin[i].name) - strlen(behind)), builtin[i].name);
        const size_t length = read_file("knowledge/procedures", name, changed);
        assert_int_equal(length, builtin[i].length);
        assert_memory_equal(changed, builtin[i].text, length);
    }
}

/* Each of these, left off or in the wrong hole, is what the trade warns of: common practice. */
static void the_built_in_ledger_has_all_that_is_forgotten(void **state)
{
    (void)state;
    static const struct {
        const char *thing, *back;
        bool each, torque;
    } expected[] = {
        {"plug", "plugs_in", true, true},
        {"coil", "coils_on", true, true},
        {"plug_lead", "leads_on", true, false},
        {"injector_plug", "injectors_in", true, false},
        {"fuel_pump_fuse", "pump_fuse_in", false, false},
        {"charger", "charger_off", false, false},
        {"throttle_prop", "throttle_free", false, false},
        {"crank_holder", "holder_off", false, false},
        {"coolant_cap", "coolant_cap_on", false, false},
    };
    ch_procedures p;
    parse_builtin(&p);
    for (size_t i = 0; i < sizeof expected / sizeof expected[0]; i++) {
        size_t k = 0;
        while (k < p.things_count && strcmp(p.things[k].id, expected[i].thing) != 0)
            k++;
        if (k == p.things_count)
            fail_msg("no %s", expected[i].thing);
        const ch_procedure_thing *thing = &p.things[k];
        assert_string_equal(p.procedures[thing->back_procedure].steps[thing->back_step].id, expected[i].back);
        assert_int_equal(thing->scope == CH_STEP_EACH_CYLINDER, expected[i].each);
        assert_int_equal(thing->torque != NULL, expected[i].torque);
    }
    ch_procedures_clear(&p);
}

/* Where nothing is done but by hand at a part that stays as it is left: all coils, all plugs. */
static void the_built_in_steps_done_at_all_cylinders_at_once_are_these(void **state)
{
    (void)state;
    static const char *const expected[] = {"crack_plugs", "injectors", "leads", "coils", "plugs", "look_at_plugs"};
    ch_procedures p;
    parse_builtin(&p);
    size_t n = 0;
    for (size_t i = 0; i < p.count; i++)
        for (size_t k = 0; k < p.procedures[i].steps_count; k++)
            if (p.procedures[i].steps[k].all_at_once) {
                assert_true(n < sizeof expected / sizeof expected[0]);
                assert_string_equal(p.procedures[i].id, "open_up");
                assert_string_equal(p.procedures[i].steps[k].id, expected[n++]);
            }
    assert_int_equal(n, sizeof expected / sizeof expected[0]);
    ch_procedures_clear(&p);
}

/* The starter must not turn against what holds the crank; all else that is off may stay off while it cranks. */
static void only_what_holds_the_crank_must_be_back_before_cranking(void **state)
{
    (void)state;
    ch_procedures p;
    parse_builtin(&p);
    size_t held = 0;
    for (size_t i = 0; i < p.things_count; i++)
        if (p.things[i].before_cranking.count > 0) {
            assert_string_equal(p.things[i].id, "crank_holder");
            assert_int_equal(p.things[i].before_cranking.count, 1);
            assert_string_equal(knowledge.cautions[p.things[i].before_cranking.at[0]].id, "crank_held");
            held++;
        }
    assert_int_equal(held, 1);
    const ch_places *proof = &step(&p, "open_up", "prove_off")->before_cranking; /* of fuel and spark off */
    assert_int_equal(proof->count, 1);
    assert_string_equal(knowledge.cautions[proof->at[0]].id, "not_proved_off");
    ch_procedures_clear(&p);
}

static void every_torque_refers_to_the_cars_own_manual(void **state)
{
    (void)state;
    ch_procedures p;
    parse_builtin(&p);
    size_t with_torque = 0;
    for (size_t i = 0; i < p.things_count; i++)
        if (p.things[i].torque != NULL) {
            assert_non_null(strstr(p.things[i].torque, "from the car's own manual"));
            with_torque++;
        }
    assert_true(with_torque >= 2);
    ch_procedures_clear(&p);
}

/* Source: makers' compression tests and FAA AC 43.13-1B, paragraph 8-14, for 20 psi before full pressure; the rest is common practice. */
static void the_built_in_steps_stand_in_the_order_of_the_trade(void **state)
{
    (void)state;
    static const char *const pairs[][3] = {
        {"open_up", "crack_plugs", "warm_up"},
        {"open_up", "pump_fuse", "run_dry"},
        {"open_up", "pump_fuse", "plugs"},
        {"open_up", "injectors", "plugs"},
        {"open_up", "wells", "plugs"},
        {"open_up", "throttle", "prove_off"},
        {"open_up", "plugs", "prove_off"},
        {"compression_dry", "clear", "spin"},
        {"compression_dry", "spin", "crank"},
        {"compression_dry", "bleed", "crank"},
        {"compression_dry", "bleed_again", "crank_again"},
        {"compression_dry", "crank_again", "bookend"},
        {"leak_down", "top_dead_centre", "hold_crank"},
        {"leak_down", "hold_crank", "low_pressure"},
        {"leak_down", "spanners_off", "low_pressure"},
        {"leak_down", "low_pressure", "full_pressure"},
        {"leak_down", "listen", "let_out"},
        {"leak_down", "let_out", "holder_off"},
        {"compression_wet", "dry_done", "dose"},
        {"compression_wet", "dose", "by_hand"},
        {"compression_wet", "by_hand", "spread"},
        {"compression_wet", "spread", "crank"},
        {"close_up", "lock_check", "blow_out"},
        {"close_up", "blow_out", "plugs_in"},
        {"close_up", "holes_empty", "plugs_in"},
        {"close_up", "plugs_in", "coils_on"},
        {"close_up", "throttle_free", "pump_fuse_in"},
        {"close_up", "pump_fuse_in", "count"},
        {"close_up", "count", "first_start"},
        {"close_up", "first_start", "fault_codes"},
    };
    ch_procedures p;
    parse_builtin(&p);
    for (size_t i = 0; i < sizeof pairs / sizeof pairs[0]; i++)
        if (!(step(&p, pairs[i][0], pairs[i][1]) < step(&p, pairs[i][0], pairs[i][2])))
            fail_msg("%s: %s must come before %s", pairs[i][0], pairs[i][1], pairs[i][2]);
    ch_procedures_clear(&p);
}

static void every_built_in_crank_with_open_holes_warns_on_the_step_itself(void **state)
{
    (void)state;
    ch_procedures p;
    parse_builtin(&p);
    size_t cranks = 0, airs = 0;
    for (size_t i = 0; i < p.count; i++)
        for (size_t k = 0; k < p.procedures[i].steps_count; k++) {
            const ch_procedure_step *at = &p.procedures[i].steps[k];
            if (at->crank_most_s > 0) {
                assert_true(has_caution(at, "cranking_spray") && has_caution(at, "ignition_voltage"));
                assert_true(has_caution(at, "long_cranking") && has_caution(at, "moving_fan"));
                cranks++;
            }
            if (at->air) {
                assert_true(has_caution(at, "air_turns_crank"));
                airs++;
            }
        }
    assert_true(cranks >= 6 && airs >= 3);
    ch_procedures_clear(&p);
}

static bool check_warns(const ch_knowledge_check *check, size_t caution)
{
    for (size_t i = 0; i < check->cautions.count; i++)
        if (check->cautions.at[i] == caution)
            return true;
    return false;
}

static void expect_warned(const ch_knowledge_check *check, const ch_procedure_step *step)
{
    for (size_t i = 0; i < step->cautions.count; i++)
        if (!check_warns(check, step->cautions.at[i]))
            fail_msg("check %s does not say %s, which step %s does", check->id,
                     knowledge.cautions[step->cautions.at[i]].id, step->id);
}

/* What is to be checked next is the work of a procedure: it warns of what that step warns of. */
static void a_check_warns_of_what_its_procedure_does(void **state)
{
    (void)state;
    ch_procedures p;
    parse_builtin(&p);
    const ch_procedure *open = ch_procedure_find(&p, "open_up", 7);
    const ch_procedure_step *coils = ch_procedure_step_find(open, "coils", 5),
                            *plugs = ch_procedure_step_find(open, "plugs", 5);
    const ch_knowledge_caution *fan = ch_knowledge_caution_find(&knowledge, "moving_fan", 10);
    size_t read = 0, opened = 0, running = 0;
    for (size_t c = 0; c < knowledge.checks_count; c++) {
        const ch_knowledge_check *check = &knowledge.checks[c];
        for (size_t i = 0; i < p.count; i++)
            for (size_t k = 0; k < p.procedures[i].steps_count; k++) {
                const ch_procedure_step *at = &p.procedures[i].steps[k];
                if ((at->rows & check->rows) == 0 || !(at->crank_most_s > 0 || at->air))
                    continue;
                expect_warned(check, at);
                read++;
            }
        for (size_t k = 0; k < check->prepares.count; k++) {
            if (strcmp(knowledge.preparations[check->prepares.at[k]].id, "plugs_out") != 0)
                continue;
            expect_warned(check, coils);
            expect_warned(check, plugs);
            opened++;
        }
        if (!check->runs)
            continue;
        assert_true(check_warns(check, (size_t)(fan - knowledge.cautions)));
        running++;
    }
    assert_true(read >= 6 && opened >= 7 && running >= 6);
    ch_procedures_clear(&p);
}

static void every_built_in_reading_is_cranked_five_to_six_seconds(void **state)
{
    (void)state;
    ch_procedures p;
    parse_builtin(&p);
    unsigned rows = 0;
    for (size_t i = 0; i < p.count; i++)
        for (size_t k = 0; k < p.procedures[i].steps_count; k++) {
            const ch_procedure_step *at = &p.procedures[i].steps[k];
            rows |= at->rows;
            if ((at->rows & (CH_ROWS_COMPRESSION | CH_ROWS_WET)) == 0)
                continue;
            expect_close(at->crank_least_s, 5, 0);
            expect_close(at->crank_most_s, 6, 0);
        }
    assert_int_equal(rows, CH_ROWS_COMPRESSION | CH_ROWS_WET | CH_ROWS_LEAKDOWN);
    ch_procedures_clear(&p);
}

static void the_wet_test_comes_after_every_other_measurement(void **state)
{
    (void)state;
    ch_procedures p;
    parse_builtin(&p);
    size_t measuring = 0;
    for (size_t i = 0; i < p.count; i++)
        measuring += p.procedures[i].role == CH_PROCEDURE_MEASURE;
    assert_int_equal(procedure(&p, "compression_wet")->after.count, measuring - 1);
    assert_true(has_caution(step(&p, "compression_wet", "dry_done"), "oil_spoils_readings"));
    assert_true(has_caution(step(&p, "compression_wet", "dose"), "hydraulic_lock"));
    assert_true(has_caution(step(&p, "close_up", "lock_check"), "hydraulic_lock"));
    assert_true(has_caution(step(&p, "close_up", "first_start"), "first_start"));
    ch_procedures_clear(&p);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_procedure_is_read_in_si),
        cmocka_unit_test(a_step_is_read_with_all_it_says),
        cmocka_unit_test(cautions_of_a_step_stand_gravest_first),
        cmocka_unit_test(what_is_taken_off_knows_where_it_goes_back),
        cmocka_unit_test(the_order_of_work_does_not_follow_the_order_of_texts),
        cmocka_unit_test(a_procedure_comes_after_those_it_names),
        cmocka_unit_test(no_texts_are_no_procedures),
        cmocka_unit_test(nothing_is_found_under_part_of_an_id),
        cmocka_unit_test(a_text_is_filled_with_the_cylinder),
        cmocka_unit_test(kinds_have_the_names_of_the_files),
        cmocka_unit_test(a_file_that_is_not_a_procedure_is_refused),
        cmocka_unit_test(a_step_of_the_wrong_form_is_refused),
        cmocka_unit_test(a_placeholder_stands_only_where_it_can_be_filled),
        cmocka_unit_test(ledger_keys_stand_only_where_they_belong),
        cmocka_unit_test(a_thing_that_nothing_puts_back_is_refused),
        cmocka_unit_test(a_thing_is_put_back_once_later_and_for_the_same_scope),
        cmocka_unit_test(a_thing_is_not_put_back_before_it_is_taken_off),
        cmocka_unit_test(a_check_stands_ahead_of_what_a_later_step_puts_back),
        cmocka_unit_test(a_caution_that_comes_after_the_crank_does_not_count),
        cmocka_unit_test(a_step_that_can_hurt_without_its_caution_is_refused),
        cmocka_unit_test(a_part_of_the_work_at_one_cylinder_is_not_done_at_all_at_once),
        cmocka_unit_test(an_order_that_cannot_be_followed_is_refused),
        cmocka_unit_test(too_many_are_refused),
        cmocka_unit_test(too_many_things_are_refused),
        cmocka_unit_test(any_failed_allocation_is_reported_and_leaves_nothing),
        cmocka_unit_test(the_built_in_procedures_load_in_the_order_of_work),
        cmocka_unit_test(the_built_in_procedures_are_those_of_the_source),
        cmocka_unit_test(the_built_in_ledger_has_all_that_is_forgotten),
        cmocka_unit_test(the_built_in_steps_done_at_all_cylinders_at_once_are_these),
        cmocka_unit_test(only_what_holds_the_crank_must_be_back_before_cranking),
        cmocka_unit_test(every_torque_refers_to_the_cars_own_manual),
        cmocka_unit_test(the_built_in_steps_stand_in_the_order_of_the_trade),
        cmocka_unit_test(every_built_in_crank_with_open_holes_warns_on_the_step_itself),
        cmocka_unit_test(a_check_warns_of_what_its_procedure_does),
        cmocka_unit_test(every_built_in_reading_is_cranked_five_to_six_seconds),
        cmocka_unit_test(the_wet_test_comes_after_every_other_measurement),
    };
    return cmocka_run_group_tests(tests, load, unload);
}
