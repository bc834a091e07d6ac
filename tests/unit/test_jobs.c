/*
 * Promises of car/jobs*.c: what is read of parts, access steps and jobs, every refusal with its place, the order of opening, and the shopping
 * list. What the files built into the program hold: test_jobs_builtin.c.
 * The small files of tests/data/jobs-bad/ are right; each refusal comes from one change of their text.
 */
#include "crosshatch/jobs.h"

#include "fail_alloc.h"
#include "spoilt.h"

static const char *const names[CH_JOBS_FILES] = {"parts.yaml", "access.yaml", "jobs.yaml"};
static char small[CH_JOBS_FILES][SPOILT_BYTES_MAX];
static char changed[SPOILT_BYTES_MAX];
static ch_knowledge builtin_knowledge;
static ch_knowledge knowledge; /* the same without cures, which the small files do not have */

static int load(void **state)
{
    (void)state;
    for (int i = 0; i < CH_JOBS_FILES; i++) {
        char path[64];
        snprintf(path, sizeof path, "tests/data/jobs-bad/%s", names[i]);
        spoilt_read(path, small[i]);
    }
    if (ch_knowledge_parse(&builtin_knowledge, ch_knowledge_builtin(), NULL) != CH_OK)
        return -1;
    knowledge = builtin_knowledge;
    for (int i = 0; i < CH_CAUSE_COUNT; i++)
        knowledge.causes[i].cure = NULL;
    return 0;
}

static int unload(void **state)
{
    (void)state;
    ch_knowledge_clear(&builtin_knowledge);
    return 0;
}

static void small_texts(ch_knowledge_text texts[CH_JOBS_FILES])
{
    for (int i = 0; i < CH_JOBS_FILES; i++)
        texts[i] = (ch_knowledge_text){names[i], small[i], strlen(small[i])};
}

static void parse(ch_jobs *jobs, const ch_knowledge *with, const ch_knowledge_text *texts)
{
    ch_err err = {0};
    if (ch_jobs_parse(jobs, with, texts, &err) != CH_OK) {
        char line[800];
        ch_err_format(&err, line, sizeof line);
        fail_msg("%s", line);
    }
}

static void parse_small(ch_jobs *jobs)
{
    ch_knowledge_text texts[CH_JOBS_FILES];
    small_texts(texts);
    parse(jobs, &knowledge, texts);
}

static void refuse_texts(ch_status status, const ch_knowledge *with, const ch_knowledge_text *texts, const char *line)
{
    ch_jobs jobs;
    memset(&jobs, 0x5A, sizeof jobs);
    const ch_jobs before = jobs;
    ch_err err = {0};
    const ch_status rc = ch_jobs_parse(&jobs, with, texts, &err);
    char got[800];
    ch_err_format(&err, got, sizeof got);
    assert_string_equal(got, line);
    assert_int_equal(rc, status);
    assert_memory_equal(&jobs, &before, sizeof jobs);
    assert_int_equal(ch_jobs_parse(&jobs, with, texts, NULL), status);
}

/* The small files with one piece of text, which must stand there once, changed. */
static void refuse(ch_jobs_file file, const char *from, const char *to, const char *line)
{
    ch_knowledge_text texts[CH_JOBS_FILES];
    small_texts(texts);
    spoilt_change(small[file], from, to, changed);
    texts[file].text = changed;
    texts[file].length = strlen(changed);
    refuse_texts(CH_E_INPUT, &knowledge, texts, line);
}

static const ch_job *job(const ch_jobs *jobs, const char *id)
{
    const ch_job *found = ch_job_find(jobs, id, strlen(id));
    if (found == NULL)
        fail_msg("no job %s", id);
    return found;
}

static size_t job_place(const ch_jobs *jobs, const char *id)
{
    return (size_t)(job(jobs, id) - jobs->jobs);
}

static const ch_access *access_step(const ch_jobs *jobs, const char *id)
{
    const ch_access *found = ch_access_find(jobs, id, strlen(id));
    if (found == NULL)
        fail_msg("no access step %s", id);
    return found;
}

static void expect_cautions(const ch_places *places, const char *const *ids, size_t n)
{
    assert_int_equal(places->count, n);
    for (size_t i = 0; i < n; i++)
        assert_string_equal(knowledge.cautions[places->at[i]].id, ids[i]);
}

/* ---- what is read ---- */

static void goods_are_read_with_their_prices(void **state)
{
    (void)state;
    ch_jobs j;
    parse_small(&j);
    assert_string_equal(j.currency, "EUR");
    assert_int_equal(j.goods_count, 5);
    const ch_goods *kit = ch_goods_find(&j, "kit", 3), *bolts = ch_goods_find(&j, "bolts", 5);
    assert_string_equal(kit->title, "Kit");
    assert_string_equal(kit->source, "prices invented for tests");
    assert_int_equal(kit->kind, CH_GOODS_PART);
    assert_false(kit->shared);
    expect_close(kit->price.least, 100, 0); /* whole numbers are exact */
    expect_close(kit->price.likely, 200, 0);
    expect_close(kit->price.most, 450, 0);
    assert_string_equal(bolts->source, "a source of its own");
    assert_int_equal(bolts->kind, CH_GOODS_FASTENER);
    assert_true(ch_goods_find(&j, "paste", 5)->shared);
    assert_null(ch_goods_find(&j, "past", 4));
    ch_jobs_clear(&j);
    assert_null(j.pieces);
    ch_jobs_clear(&j);
}

static void an_access_step_is_read_in_si(void **state)
{
    (void)state;
    static const char *const cautions[] = {"car_on_jack", "gearbox_drop", "service_manual"};
    ch_jobs j;
    parse_small(&j);
    assert_int_equal(j.access_count, 4);
    const ch_access *box = access_step(&j, "box_out");
    assert_string_equal(box->work.title, "Box out");
    assert_string_equal(box->work.why, "To get in.");
    assert_string_equal(box->work.source, "hours invented for tests");
    assert_true(box->work.drives[CH_DRIVE_REAR] && box->work.drives[CH_DRIVE_FRONT]);
    expect_close(box->work.time.least_s, 3600, 0);
    expect_close(box->work.time.likely_s, 5400, 0);
    expect_close(box->work.time.most_s, 10800, 0);
    expect_close(box->back.likely_s, 7200, 0);
    assert_int_equal(box->work.needs[CH_DRIVE_REAR].count, 2);
    assert_string_equal(j.access[box->work.needs[CH_DRIVE_REAR].at[1]].work.id, "shaft_off");
    assert_string_equal(j.access[box->work.needs[CH_DRIVE_FRONT].at[1]].work.id, "half_shafts");
    assert_int_equal(box->work.goods_count, 1);
    assert_int_equal(box->work.steps_count, 1);
    assert_string_equal(box->work.steps[0].takes_off[0].id, "box");
    assert_string_equal(box->work.steps[0].takes_off[0].text, "box with bolts");
    assert_int_equal(box->back_steps_count, 1);
    assert_string_equal(box->back_steps[0].torques[0].text, "bolts of the box");
    expect_cautions(&box->work.cautions, cautions, 3); /* of opening and closing */
    const ch_access *shaft = access_step(&j, "shaft_off");
    assert_false(shaft->work.drives[CH_DRIVE_FRONT]);
    assert_int_equal(shaft->work.needs[CH_DRIVE_FRONT].count, 0);
    assert_string_equal(shaft->work.source, "a source of its own");
    ch_jobs_clear(&j);
}

static void a_job_is_read_with_all_it_says(void **state)
{
    (void)state;
    static const char *const step[] = {"clutch_dust", "fluid_spill"};
    ch_jobs j;
    parse_small(&j);
    assert_int_equal(j.jobs_count, 3);
    const ch_job *clutch = job(&j, "clutch"), *seal = job(&j, "rear_seal");
    assert_string_equal(clutch->work.source, "more hours invented for tests");
    assert_int_equal(clutch->work.goods_count, 4);
    assert_false(clutch->work.goods[1].maybe);
    expect_close(clutch->work.goods[1].count, 2, 0);
    assert_true(clutch->work.goods[3].maybe);
    assert_string_equal(j.goods[clutch->work.goods[3].goods].id, "bolts");
    assert_int_equal(clutch->tools_count, 2);
    assert_string_equal(clutch->tools[1], "Lock");
    assert_true(ch_job_cures(clutch, "worn"));
    assert_true(ch_job_cures(clutch, "oil_contaminated"));
    assert_false(ch_job_cures(clutch, "glazed"));
    assert_false(ch_job_cures(seal, "oil_contaminated"));
    assert_int_equal(seal->prevents_count, 1);
    assert_string_equal(seal->prevents[0], "oil_contaminated");
    expect_close(clutch->lead_days, 4, 0);
    expect_close(clutch->shop_days, 0, 0);
    expect_close(seal->lead_days, 0, 0);
    expect_close(seal->shop_days, 2.5, 0);
    assert_int_equal(clutch->after.count, 1);
    assert_int_equal(clutch->after.at[0], job_place(&j, "rear_seal"));
    assert_int_equal(seal->requires.at[0], job_place(&j, "clutch"));
    assert_int_equal(job(&j, "look_round")->excludes.at[0], job_place(&j, "clutch"));
    assert_int_equal(clutch->retests_count, 2);
    assert_int_equal(clutch->retests[1].by, CH_RETEST_SLIP_LOG);
    assert_string_equal(clutch->retests[1].text, "No slip.");
    expect_cautions(&clutch->work.steps[1].cautions, step, 2);
    expect_cautions(&clutch->work.cautions, step, 2); /* each once */
    assert_false(seal->work.drives[CH_DRIVE_FRONT]);
    ch_jobs_clear(&j);
}

static void a_mistyped_job_finds_its_neighbour(void **state)
{
    (void)state;
    ch_jobs j;
    parse_small(&j);
    assert_string_equal(ch_job_nearest(&j, "rear_saal", 9), "rear_seal");
    assert_null(ch_job_nearest(&j, "xyz", 3));
    assert_null(ch_job_find(&j, "rear_seal\0", 10));
    ch_jobs_clear(&j);
}

static void every_name_of_an_enum_is_its_own(void **state)
{
    (void)state;
    assert_string_equal(ch_drive_name(CH_DRIVE_REAR), "rear");
    assert_string_equal(ch_drive_name(CH_DRIVE_FRONT), "front");
    assert_null(ch_drive_name(CH_DRIVES));
    assert_string_equal(ch_goods_kind_name(CH_GOODS_CONSUMABLE), "consumable");
    assert_null(ch_goods_kind_name((ch_goods_kind)(CH_GOODS_CONSUMABLE + 1)));
    assert_string_equal(ch_retest_name(CH_RETEST_TORQUE), "torque");
    assert_null(ch_retest_name((ch_retest_by)(CH_RETEST_TORQUE + 1)));
    assert_string_equal(ch_clutch_cause_name(5), "flywheel");
    assert_null(ch_clutch_cause_name(6));
    for (int i = 0; i < CH_JOBS_FILES; i++)
        assert_string_equal(ch_jobs_file_name((ch_jobs_file)i), names[i]);
    assert_null(ch_jobs_file_name(CH_JOBS_FILES));
}

/* ---- the order of opening ---- */

static void expect_opening(const ch_jobs *j, ch_drive drive, const size_t *chosen, size_t n, const char *const *ids,
                           size_t count)
{
    size_t access[CH_ACCESS_MAX], got = 0;
    assert_int_equal(ch_jobs_closure(j, drive, chosen, n, access, &got, NULL), CH_OK);
    assert_int_equal(got, count);
    for (size_t i = 0; i < count; i++)
        assert_string_equal(j->access[access[i]].work.id, ids[i]);
}

static void access_is_opened_after_what_it_needs(void **state)
{
    (void)state;
    static const char *const rear[] = {"stands", "shaft_off", "box_out"};
    static const char *const front[] = {"stands", "half_shafts", "box_out"};
    ch_jobs j;
    parse_small(&j);
    const size_t clutch = job_place(&j, "clutch"), seal = job_place(&j, "rear_seal"),
                 look = job_place(&j, "look_round");
    const size_t all[] = {look, seal, clutch, seal}, back[] = {clutch, seal, look};
    expect_opening(&j, CH_DRIVE_REAR, &clutch, 1, rear, 3);
    expect_opening(&j, CH_DRIVE_FRONT, &clutch, 1, front, 3);
    expect_opening(&j, CH_DRIVE_REAR, all, 4, rear, 3); /* shared access once, whatever the order of the jobs */
    expect_opening(&j, CH_DRIVE_REAR, back, 3, rear, 3);
    expect_opening(&j, CH_DRIVE_REAR, &look, 1, NULL, 0);
    expect_opening(&j, CH_DRIVE_REAR, NULL, 0, NULL, 0);
    ch_jobs_clear(&j);
}

static void a_job_for_the_other_drive_is_refused(void **state)
{
    (void)state;
    ch_jobs j;
    parse_small(&j);
    const size_t seal = job_place(&j, "rear_seal"), beyond = j.jobs_count;
    size_t access[4] = {77, 77, 77, 77}, count = 77;
    ch_err err = {0};
    assert_int_equal(ch_jobs_closure(&j, CH_DRIVE_FRONT, &seal, 1, access, &count, &err), CH_E_INPUT);
    assert_string_equal(err.what, "rear_seal is not for front-wheel drive");
    assert_int_equal(ch_jobs_closure(&j, CH_DRIVE_REAR, &beyond, 1, access, &count, NULL), CH_E_RANGE);
    assert_int_equal(ch_jobs_closure(&j, CH_DRIVES, &seal, 1, access, &count, NULL), CH_E_RANGE);
    assert_int_equal(count, 77);
    assert_int_equal(access[0], 77);
    ch_shopping shopping = {.count = 77};
    assert_int_equal(ch_jobs_shopping(&j, CH_DRIVE_FRONT, &seal, 1, true, &shopping, NULL), CH_E_INPUT);
    assert_int_equal(shopping.count, 77);
    ch_jobs_clear(&j);
}

/* ---- shopping ---- */

static void expect_line(const ch_jobs *j, const ch_shopping_line *line, const char *id, double count, double maybe,
                        double least, double likely, double most)
{
    assert_string_equal(j->goods[line->goods].id, id);
    expect_close(line->count, count, 0); /* sums of small whole numbers are exact */
    expect_close(line->maybe_count, maybe, 0);
    expect_close(line->sum.least, least, 0);
    expect_close(line->sum.likely, likely, 0);
    expect_close(line->sum.most, most, 0);
}

/* Worked by hand from the small files: box_out and shaft_off, then both jobs. */
static void a_shopping_list_gathers_and_sums(void **state)
{
    (void)state;
    ch_jobs j;
    parse_small(&j);
    const size_t chosen[] = {job_place(&j, "clutch"), job_place(&j, "rear_seal"), job_place(&j, "clutch")};
    ch_shopping s = {0};
    assert_int_equal(ch_jobs_shopping(&j, CH_DRIVE_REAR, chosen, 3, true, &s, NULL), CH_OK);
    assert_int_equal(s.count, 5);
    expect_line(&j, &s.lines[0], "kit", 1, 0, 100, 200, 450);
    expect_line(&j, &s.lines[1], "seal", 1, 0, 4, 8, 16);
    expect_line(&j, &s.lines[2], "bolts", 1, 2, 5, 10, 60);
    expect_line(&j, &s.lines[3], "cleaner", 3, 0, 9, 12, 21);
    expect_line(&j, &s.lines[4], "paste", 2, 0, 4, 10, 18); /* shared: the largest of 1, 2 and 1 */
    expect_close(s.kinds[CH_GOODS_CONSUMABLE].likely, 22, 0);
    expect_close(s.kinds[CH_GOODS_FLUID].most, 0, 0);
    expect_close(s.sum.least, 122, 0);
    expect_close(s.sum.likely, 240, 0);
    expect_close(s.sum.most, 565, 0);
    ch_shopping_clear(&s);
    assert_null(s.lines);
    assert_int_equal(ch_jobs_shopping(&j, CH_DRIVE_REAR, chosen, 1, false, &s, NULL), CH_OK);
    assert_int_equal(s.count, 4);
    expect_line(&j, &s.lines[1], "bolts", 0, 2, 0, 0, 40); /* those of the access are bought */
    ch_shopping_clear(&s);
    ch_shopping_clear(&s);
    assert_int_equal(ch_jobs_shopping(&j, CH_DRIVE_FRONT, NULL, 0, true, &s, NULL), CH_OK);
    assert_int_equal(s.count, 0);
    ch_shopping_clear(&s);
    ch_jobs_clear(&j);
}

static void a_shared_thing_bought_anyway_serves_the_perhaps(void **state)
{
    (void)state;
    ch_knowledge_text texts[CH_JOBS_FILES];
    small_texts(texts);
    static char with_maybe[SPOILT_BYTES_MAX], shared[SPOILT_BYTES_MAX];
    spoilt_change(small[CH_JOBS_JOBS], "maybe: {bolts: 2}", "maybe: {bolts: 2, seal: 1}", with_maybe);
    spoilt_change(small[CH_JOBS_PARTS], "[4, 8, 16]", "[4, 8, 16], shared: true", shared);
    texts[CH_JOBS_PARTS] = (ch_knowledge_text){names[CH_JOBS_PARTS], shared, strlen(shared)};
    texts[CH_JOBS_JOBS] = (ch_knowledge_text){names[CH_JOBS_JOBS], with_maybe, strlen(with_maybe)};
    ch_jobs j;
    parse(&j, &knowledge, texts);
    const size_t both[] = {job_place(&j, "clutch"), job_place(&j, "rear_seal")};
    ch_shopping s = {0};
    assert_int_equal(ch_jobs_shopping(&j, CH_DRIVE_REAR, both, 2, true, &s, NULL), CH_OK);
    expect_line(&j, &s.lines[1], "seal", 1, 0, 4, 8, 16);
    ch_shopping_clear(&s);
    assert_int_equal(ch_jobs_shopping(&j, CH_DRIVE_REAR, both, 1, true, &s, NULL), CH_OK);
    expect_line(&j, &s.lines[1], "seal", 0, 1, 0, 0, 16);
    ch_shopping_clear(&s);
    ch_jobs_clear(&j);
}

/* ---- what is refused ---- */

static void wrong_headings_are_refused(void **state)
{
    (void)state;
    refuse(CH_JOBS_PARTS, "knowledge: parts", "knowledge: part", "parts.yaml:2:12: knowledge is \"part\": parts");
    refuse(CH_JOBS_ACCESS, "version: 1", "version: 2", "access.yaml:3:10: version is \"2\": 1");
    refuse(CH_JOBS_JOBS, "source: \"more hours invented for tests\"", "sources: x",
           "jobs.yaml:4:1: unknown key \"sources\": source");
    refuse(CH_JOBS_PARTS, "currency: EUR\n", "", "parts.yaml:2:1: \"currency\" is missing here");
    ch_knowledge_text texts[CH_JOBS_FILES];
    small_texts(texts);
    texts[CH_JOBS_ACCESS] = (ch_knowledge_text){"access.yaml", "- a", 3};
    refuse_texts(CH_E_INPUT, &knowledge, texts,
                 "access.yaml:1:1: not a knowledge file: keys and values, as docs/knowledge.md has them");
    texts[CH_JOBS_ACCESS] = (ch_knowledge_text){"access.yaml", "", 0};
    ch_jobs jobs;
    ch_err err = {0};
    assert_int_equal(ch_jobs_parse(&jobs, &knowledge, texts, &err), CH_E_INPUT);
}

static void wrong_numbers_are_refused(void **state)
{
    (void)state;
    refuse(CH_JOBS_PARTS, "[100, 200, 450]", "[100, 200]", "parts.yaml:7:42: a list of 2: [least, likely, most]");
    refuse(CH_JOBS_PARTS, "[100, 200, 450]", "[100, 90, 450]",
           "parts.yaml:7:48: 90 after 100: least, likely, most, none below the one before");
    refuse(CH_JOBS_PARTS, "[100, 200, 450]", "[-1, 90, 450]", "parts.yaml:7:43: this is -1: 0 or more");
    refuse(CH_JOBS_ACCESS, "hours: [1, 1.5, 3]", "hours: [1, 1.5, 3 h]",
           "access.yaml:13:21: this is \"3 h\", not a plain number: 0 or more");
    refuse(CH_JOBS_ACCESS, "hours: [1, 1.5, 3]", "hours: [1, nan, 3]",
           "access.yaml:13:16: this is \"nan\", not a plain number: 0 or more");
    refuse(CH_JOBS_JOBS, "hours: [0, 0.5, 1]", "hours: [0, 0, 0]",
           "jobs.yaml:36:12: work that takes no time: more than 0 at most");
    refuse(CH_JOBS_JOBS, "lead_days: 4", "lead_days: -4", "jobs.yaml:16:16: lead_days is -4: 0 or more");
    refuse(CH_JOBS_JOBS, "cleaner: 2", "cleaner: 0", "jobs.yaml:12:28: cleaner is 0: a number above 0");
    refuse(CH_JOBS_JOBS, "hours: [0.5, 1, 1.5]", "hours: 1",
           "jobs.yaml:11:12: hours is a text: a list; [] where there is nothing");
}

static void unknown_names_are_refused_with_the_nearest(void **state)
{
    (void)state;
    refuse(CH_JOBS_JOBS, "{seal: 1,", "{seel: 1,", "jobs.yaml:37:11: there is no part \"seel\": seal");
    refuse(CH_JOBS_PARTS, "kind: fastener", "kind: fastner", "parts.yaml:8:33: kind is \"fastner\": fastener");
    refuse(CH_JOBS_ACCESS, "needs_rear: [shaft_off]", "needs_rear: [shaft_of]",
           "access.yaml:11:18: there is no access step \"shaft_of\": shaft_off");
    refuse(CH_JOBS_ACCESS, "[service_manual, gearbox_drop]", "[service_manual, gearbox_dropp]",
           "access.yaml:19:36: there is no caution \"gearbox_dropp\": gearbox_drop");
    refuse(CH_JOBS_JOBS, "[worn, oil_contaminated]", "[wornn, oil_contaminated]",
           "jobs.yaml:15:13: unknown cause \"wornn\": worn");
    refuse(CH_JOBS_JOBS, "[worn, oil_contaminated]", "[sound]", "jobs.yaml:15:13: unknown cause \"sound\"");
    refuse(CH_JOBS_JOBS, "[worn, oil_contaminated]", "[worn, worn]",
           "jobs.yaml:15:19: cause \"worn\" stands here again: each once");
    refuse(CH_JOBS_JOBS, "prevents: [oil_contaminated]", "prevents: [oil]",
           "jobs.yaml:39:16: unknown cause \"oil\": oil_contaminated");
    refuse(CH_JOBS_JOBS, "after: [rear_seal]", "after: [rear_sail]",
           "jobs.yaml:17:13: there is no job \"rear_sail\": rear_seal");
    refuse(CH_JOBS_JOBS, "by: leak_check", "by: leak", "jobs.yaml:45:14: by is \"leak\": leak_down");
    refuse(CH_JOBS_JOBS, "    drive: rear\n", "    drive: all\n",
           "jobs.yaml:34:12: drive is \"all\": one of rear, front, both");
    refuse(CH_JOBS_JOBS, "tools: [\"Aligner\"", "tool: [\"Aligner\"", "jobs.yaml:14:5: unknown key \"tool\": tools");
    refuse(CH_JOBS_JOBS, "why: \"It is new.\"", "because: \"It is new.\"",
           "jobs.yaml:24:9: unknown key \"because\": one of do, was, why, cautions, takes_off, torques");
}

static void what_is_missing_or_twice_is_refused(void **state)
{
    (void)state;
    refuse(CH_JOBS_JOBS, "      - {by: leak_check, text: \"Dry.\"}\n", "      []\n",
           "jobs.yaml:45:7: a job that nothing closes: at least one");
    refuse(CH_JOBS_JOBS, "      - {do: \"Swap it.\", why: \"It leaks.\"}\n", "      []\n",
           "jobs.yaml:43:7: steps is empty: at least one step");
    refuse(CH_JOBS_JOBS, "    cures: [exhaust_valve]\n", "", "jobs.yaml:31:5: \"cures\" is missing here");
    refuse(CH_JOBS_JOBS, "id: rear_seal", "id: clutch",
           "jobs.yaml:31:9: \"clutch\" stands here again; first on line 6: each name once");
    refuse(CH_JOBS_JOBS, "maybe: {bolts: 2}", "maybe: {kit: 2}",
           "jobs.yaml:13:18: \"kit\" stands in buy already: each once, in buy or in maybe");
    refuse(CH_JOBS_JOBS, "takes_off: {cover:", "takes_off: {box:",
           "jobs.yaml:26:26: \"box\" of takes_off stands on line 20 of access.yaml too: an id of its own");
    refuse(CH_JOBS_JOBS, "torques: {cover_torque:", "torques: {box_torque:",
           "jobs.yaml:27:31: \"box_torque\" of torques stands on line 25 of access.yaml too: an id of its own");
    refuse(CH_JOBS_ACCESS, "needs_front: [half_shafts]", "needs_front: [half_shafts, stands]",
           "access.yaml:12:32: \"stands\" stands in needs already: each once");
    refuse(CH_JOBS_JOBS, "requires: [clutch]", "requires: [rear_seal]",
           "jobs.yaml:41:16: requires names the job itself: another job");
}

static void corrected_words_keep_the_first_ones_and_no_two_begin_alike(void **state)
{
    (void)state;
    ch_jobs jobs;
    parse_small(&jobs);
    const ch_job *clutch = job(&jobs, "clutch");
    assert_string_equal(clutch->work.steps[0].text, "Look.");
    assert_string_equal(clutch->work.steps[0].first_text, "Look at it.");
    assert_string_equal(clutch->work.steps[1].first_text, "Fit it.");
    assert_string_equal(clutch->retests[0].first_text, "Firm.");
    assert_string_equal(clutch->retests[1].first_text, "It does not slip.");
    ch_jobs_clear(&jobs);
    refuse(CH_JOBS_JOBS, "was: \"Look at it.\"", "was: \"Look.\"",
           "jobs.yaml:20:14: was says what stands here now: nothing here: the words are the first ones");
    refuse(CH_JOBS_JOBS, "do: \"Fit it.\"", "do: \"Look at it.\"",
           "jobs.yaml:23:9: it begins as entry 1 of this list did: their ticks would be one: words of its own");
    refuse(CH_JOBS_JOBS, "text: \"Firm.\"", "text: \"It does not slip.\"",
           "jobs.yaml:30:9: it begins as entry 1 of this list did: their ticks would be one: words of its own");
}

static void a_torque_with_a_figure_is_refused(void **state)
{
    (void)state;
    refuse(CH_JOBS_JOBS, "cover_torque: \"cover bolts\"", "cover_torque: \"cover bolts, 25 N m\"",
           "jobs.yaml:27:33: a torque holds a figure: what to look up in the car's own manual");
}

/* Nothing of a step or a torque may be cut off where it is printed. */
static void a_text_too_long_to_be_printed_is_refused(void **state)
{
    (void)state;
    char text[512];
    snprintf(text, sizeof text, "do: \"%0401d\"", 1);
    refuse(CH_JOBS_JOBS, "do: \"Look.\"", text, "jobs.yaml:19:13: 401 bytes, more than 400: shorter, or two steps");
    snprintf(text, sizeof text, "cover_torque: \"%0*d\"", 161, 0);
    for (char *c = strchr(text, '0'); *c == '0'; c++)
        *c = 'x';
    refuse(CH_JOBS_JOBS, "cover_torque: \"cover bolts\"", text,
           "jobs.yaml:27:33: 161 bytes, more than 160: shorter, or two steps");
    snprintf(text, sizeof text, "text: \"%0401d\"", 1);
    refuse(CH_JOBS_JOBS, "text: \"Firm.\"", text, "jobs.yaml:29:27: 401 bytes, more than 400: shorter, or two steps");
}

static void access_for_the_other_drive_is_refused(void **state)
{
    (void)state;
    refuse(CH_JOBS_ACCESS, "needs_rear: [shaft_off]", "needs_rear: [half_shafts]",
           "access.yaml:11:18: \"half_shafts\" is not for rear-wheel drive: an access step for this drive");
    refuse(CH_JOBS_ACCESS, "    drive: rear\n    needs: [stands]",
           "    drive: rear\n    needs_front: [stands]\n    needs: []",
           "access.yaml:30:18: needs_front of what is not for it: only for a drive that this holds for");
}

static void access_that_needs_itself_is_refused(void **state)
{
    (void)state;
    refuse(CH_JOBS_ACCESS, "    why: \"To get under it.\"\n    drive: both\n    needs: []",
           "    why: \"To get under it.\"\n    drive: both\n    needs: [box_out]",
           "access.yaml:6:5: \"box_out\" needs itself, by way of \"stands\": access that ends somewhere");
    refuse(CH_JOBS_ACCESS, "needs_front: [half_shafts]", "needs_front: [box_out]",
           "access.yaml:6:5: \"box_out\" needs itself: access that ends somewhere");
    refuse(CH_JOBS_ACCESS, "    why: \"To get under it.\"\n    drive: both\n    needs: []",
           "    why: \"To get under it.\"\n    drive: both\n    needs: []\n    within: [box_out]",
           "access.yaml:6:5: \"box_out\" needs itself, by way of \"stands\": access that ends somewhere");
}

static void what_lies_within_a_step_does_not_ask_for_it(void **state)
{
    (void)state;
    ch_jobs j;
    ch_knowledge_text texts[CH_JOBS_FILES];
    small_texts(texts);
    spoilt_change(small[CH_JOBS_JOBS], "needs: []\n", "needs: []\n    within: [shaft_off, box_out]\n", changed);
    texts[CH_JOBS_JOBS].text = changed;
    texts[CH_JOBS_JOBS].length = strlen(changed);
    parse(&j, &knowledge, texts);
    const ch_jobs_work *look = &job(&j, "look_round")->work;
    const size_t place = job_place(&j, "look_round");
    assert_int_equal(look->within[CH_DRIVE_REAR].count, 2);
    assert_string_equal(j.access[look->within[CH_DRIVE_REAR].at[0]].work.id, "shaft_off");
    assert_int_equal(look->within[CH_DRIVE_FRONT].count, 1); /* the shaft is no step of that drive */
    assert_string_equal(j.access[look->within[CH_DRIVE_FRONT].at[0]].work.id, "box_out");
    assert_int_equal(look->needs[CH_DRIVE_REAR].count, 0);
    expect_opening(&j, CH_DRIVE_REAR, &place, 1, NULL, 0);
    ch_jobs_clear(&j);
    refuse(CH_JOBS_JOBS, "needs: []\n", "needs: []\n    within: [box_out]\n    once_closed: [box_out]\n",
           "jobs.yaml:47:5: \"look_round\" waits until a step is closed that it needs itself, or a job that comes "
           "after it: an order that begins somewhere");
    refuse(CH_JOBS_ACCESS, "needs_rear: [shaft_off]\n", "needs_rear: [shaft_off]\n    within: [stands]\n",
           "access.yaml:12:14: \"stands\" stands in needs already: in one of them");
}

static void jobs_that_wait_for_each_other_are_refused(void **state)
{
    (void)state;
    refuse(CH_JOBS_JOBS, "requires: [clutch]", "after: [clutch]",
           "jobs.yaml:6:5: \"clutch\" comes after itself, by way of \"rear_seal\": an order that begins somewhere");
}

static void first_steps_and_closed_steps_have_an_order(void **state)
{
    (void)state;
    refuse(CH_JOBS_ACCESS, "refit_hours: [1.5, 2, 4]", "refit_hours: [1.5, 2, 4]\n    first: true",
           "access.yaml:6:5: \"box_out\" is first and needs \"stands\": needs that are first too");
    refuse(CH_JOBS_JOBS, "requires: [clutch]", "once_closed: [box_out]",
           "jobs.yaml:31:5: \"rear_seal\" waits until a step is closed that it needs itself, or a job that comes after "
           "it: an order that begins somewhere");
}

static void a_cure_that_is_no_job_is_refused(void **state)
{
    (void)state;
    ch_knowledge_text texts[CH_JOBS_FILES];
    small_texts(texts);
    ch_knowledge with = knowledge;
    with.causes[CH_CAUSE_INTAKE_VALVE].cure = "repeat_reading"; /* a check */
    with.causes[CH_CAUSE_EXHAUST_VALVE].cure = "rear_seal";     /* a job */
    ch_jobs j;
    parse(&j, &with, texts);
    ch_jobs_clear(&j);
    with.causes[CH_CAUSE_CRACKED_HEAD].cure = "weld_it";
    refuse_texts(CH_E_INPUT, &with, texts,
                 "jobs.yaml:6:3: there is no \"weld_it\", which causes.yaml names as the cure of cracked_head: "
                 "a job or a check of that id");
}

static void too_many_entries_are_refused(void **state)
{
    (void)state;
    ch_knowledge_text texts[CH_JOBS_FILES];
    small_texts(texts);
    const char head[] = "knowledge: access\nversion: 1\nsource: x\naccess:\n";
    strcpy(changed, head);
    for (int i = 0; i <= CH_ACCESS_MAX; i++)
        strcat(changed, "  - {}\n");
    texts[CH_JOBS_ACCESS] = (ch_knowledge_text){"access.yaml", changed, strlen(changed)};
    refuse_texts(CH_E_LIMIT, &knowledge, texts, "access.yaml:5:3: 257 entries, more than 256");
}

static void no_memory_is_reported_and_touches_nothing(void **state)
{
    (void)state;
    ch_knowledge_text texts[CH_JOBS_FILES];
    small_texts(texts);
    long n = 1;
    for (;; n++) {
        ch_jobs jobs;
        memset(&jobs, 0x5A, sizeof jobs);
        const ch_jobs before = jobs;
        ch_err err = {0};
        fail_alloc_at(n);
        const ch_status rc = ch_jobs_parse(&jobs, &knowledge, texts, &err);
        if (!fail_alloc_stop()) {
            assert_int_equal(rc, CH_OK);
            ch_jobs_clear(&jobs);
            break;
        }
        assert_int_equal(rc, CH_E_MEMORY);
        assert_int_equal(err.status, CH_E_MEMORY);
        assert_memory_equal(&jobs, &before, sizeof jobs);
    }
    assert_true(n > 50); /* the sweep has met the allocations that are there */
    ch_jobs j;
    parse_small(&j);
    const size_t clutch = job_place(&j, "clutch");
    for (n = 1;; n++) {
        ch_shopping s = {.count = 77};
        ch_err err = {0};
        fail_alloc_at(n);
        const ch_status rc = ch_jobs_shopping(&j, CH_DRIVE_REAR, &clutch, 1, true, &s, &err);
        if (!fail_alloc_stop()) {
            assert_int_equal(rc, CH_OK);
            ch_shopping_clear(&s);
            break;
        }
        assert_int_equal(rc, CH_E_MEMORY);
        assert_int_equal(s.count, 77);
    }
    assert_int_equal(n, 4);
    ch_jobs_clear(&j);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(goods_are_read_with_their_prices),
        cmocka_unit_test(an_access_step_is_read_in_si),
        cmocka_unit_test(a_job_is_read_with_all_it_says),
        cmocka_unit_test(a_mistyped_job_finds_its_neighbour),
        cmocka_unit_test(every_name_of_an_enum_is_its_own),
        cmocka_unit_test(access_is_opened_after_what_it_needs),
        cmocka_unit_test(a_job_for_the_other_drive_is_refused),
        cmocka_unit_test(a_shopping_list_gathers_and_sums),
        cmocka_unit_test(a_shared_thing_bought_anyway_serves_the_perhaps),
        cmocka_unit_test(wrong_headings_are_refused),
        cmocka_unit_test(wrong_numbers_are_refused),
        cmocka_unit_test(unknown_names_are_refused_with_the_nearest),
        cmocka_unit_test(what_is_missing_or_twice_is_refused),
        cmocka_unit_test(corrected_words_keep_the_first_ones_and_no_two_begin_alike),
        cmocka_unit_test(a_torque_with_a_figure_is_refused),
        cmocka_unit_test(a_text_too_long_to_be_printed_is_refused),
        cmocka_unit_test(access_for_the_other_drive_is_refused),
        cmocka_unit_test(access_that_needs_itself_is_refused),
        cmocka_unit_test(what_lies_within_a_step_does_not_ask_for_it),
        cmocka_unit_test(jobs_that_wait_for_each_other_are_refused),
        cmocka_unit_test(first_steps_and_closed_steps_have_an_order),
        cmocka_unit_test(a_cure_that_is_no_job_is_refused),
        cmocka_unit_test(too_many_entries_are_refused),
        cmocka_unit_test(no_memory_is_reported_and_touches_nothing),
    };
    return cmocka_run_group_tests(tests, load, unload);
}
