/* Promises of car/reading_table*.c: how a spreadsheet's table is read, what its columns are taken for, and which cell is refused in which words. The program's own way with
 * tables: tests/cli/table.py. */
#include <stdlib.h>
#include <string.h>

#include "crosshatch/reading_table.h"
#include "expect.h"
#include "fail_alloc.h"

static ch_table table;
static ch_table_plan plan;
static ch_table_made made;

static int clear(void **state)
{
    (void)state;
    ch_table_clear(&table);
    ch_table_made_clear(&made);
    return 0;
}

static void read_table(const char *text)
{
    ch_err err = {0};
    clear(NULL);
    if (ch_table_read("t.csv", text, strlen(text), &table, &err) < 0)
        fail_msg("%ld:%ld: %s", err.line, err.column, err.what);
    ch_table_guess(&table, &plan);
}

static ch_status make_sheets(const char *text, ch_err *err)
{
    *err = (ch_err){0};
    clear(NULL);
    ch_status rc = ch_table_read("t.csv", text, strlen(text), &table, err);
    if (rc < 0)
        return rc;
    ch_table_guess(&table, &plan);
    return ch_table_sheets("t.csv", &table, &plan, &made, err);
}

static void take(const char *text)
{
    ch_err err;
    if (make_sheets(text, &err) < 0)
        fail_msg("%ld:%ld: %s: %s", err.line, err.column, err.what, err.right);
}

/* ---- the text ---- */

static void a_table_is_the_same_by_any_line_end_and_delimiter(void **state)
{
    (void)state;
    static const char *const texts[] = {
        "date,cylinder,reading\n2027-01-16,1,170\n",
        "date,cylinder,reading\n2027-01-16,1,170",
        "date,cylinder,reading\r\n2027-01-16,1,170\r\n",
        "date,cylinder,reading\r2027-01-16,1,170\r",
        "date;cylinder;reading\n2027-01-16;1;170\n",
        "date\tcylinder\treading\n2027-01-16\t1\t170\n",
        "sep=;\ndate;cylinder;reading\n2027-01-16;1;170\n",
        "# mine\nSEP=,\r\n\ndate,cylinder,reading\n2027-01-16,1,170\n",
        "sep=\t\rdate\tcylinder\treading\r2027-01-16\t1\t170\r",
        "\xef\xbb\xbf\x64\x61te,cylinder,reading\n2027-01-16,1,170\n", /* \x64\x61 = da, which would go on with the byte before */
        "# from a notebook\n \t\n;,\n  # more\ndate,cylinder,reading\n,,\n\n2027-01-16,1,170\n , ,\n",
        " date , cylinder , \"reading\" \n \"2027-01-16\" , 1 , 170 ,,\n",
        "\"date\",\"cylinder\",\"reading\"\n\"2027-01-16\",\"1\",\"170\"\n"};
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        read_table(texts[i]);
        if (table.columns != 3 || table.rows != 1)
            fail_msg("%s: %zu columns, %zu rows", texts[i], table.columns, table.rows);
        assert_string_equal(table.cell[0].text, "date");
        assert_string_equal(table.cell[2].text, "reading");
        assert_string_equal(table.cell[3].text, ""); /* no row of units */
        assert_string_equal(ch_table_at(&table, 0, 0)->text, "2027-01-16");
        assert_string_equal(ch_table_at(&table, 0, 2)->text, "170");
    }
}

/* Source: RFC 4180, section 2, 5 to 7. */
static void quoted_cells_hold_delimiters_quotes_and_lines(void **state)
{
    (void)state;
    read_table("\"a;b\tc\",\"say \"\"hm\"\"\",d\n\"two\nlines\",\"\",x\n1,2,\"end\n\"\n\"q\" and more,,\n");
    assert_int_equal(table.columns, 3); /* what stands in quotes is no delimiter */
    assert_string_equal(table.cell[0].text, "a;b\tc");
    assert_string_equal(table.cell[1].text, "say \"hm\"");
    assert_string_equal(ch_table_at(&table, 0, 0)->text, "two\nlines");
    assert_string_equal(ch_table_at(&table, 0, 1)->text, "");
    assert_int_equal(ch_table_at(&table, 0, 2)->line, 3); /* the line in the file, not the row */
    assert_int_equal(ch_table_at(&table, 1, 0)->line, 4);
    assert_string_equal(ch_table_at(&table, 1, 2)->text, "end");
    assert_string_equal(ch_table_at(&table, 2, 0)->text, "q and more");
}

static void a_second_line_of_units_alone_is_the_row_of_units(void **state)
{
    (void)state;
    read_table("cylinder,reading,loss\n,psi,%\n1,170,8\n");
    assert_int_equal(table.rows, 1);
    assert_ptr_equal(plan.unit[1], ch_unit_find("psi", 3));
    assert_string_equal(plan.unit[2]->name, "%");
    read_table("cylinder,reading,loss\n,kPa,1\n1,1200,0.08\n");
    assert_int_equal(table.rows, 1);
    assert_ptr_equal(plan.unit[2], ch_unit_find("1", 1));
    read_table("cylinder,reading,loss\n1,1,1\n"); /* numbers, though 1 is a unit too */
    assert_int_equal(table.rows, 1);
    read_table("cylinder,reading,loss\n1,psi,x\n");
    assert_int_equal(table.rows, 1);
    assert_string_equal(ch_table_at(&table, 0, 1)->text, "psi");
}

/* ---- what columns are taken for ---- */

static void headers_of_both_languages_are_known(void **state)
{
    (void)state;
    static const struct {
        const char *header;
        int use;
    } known[] = {{"Date", CH_TABLE_DATE},
                 {"Datum", CH_TABLE_DATE},
                 {"Test no.", CH_TABLE_SHEET},
                 {"Name", CH_TABLE_TITLE},
                 {"test-type", CH_TABLE_LIST},
                 {"Zyl.", CH_TABLE_CYLINDER},
                 {"-- compression --", CH_TABLE_READING},
                 {"Druck [bar]", CH_TABLE_READING},
                 {"first puff", CH_TABLE_FIRST_STROKE},
                 {"\xc3\xb6l", CH_TABLE_OIL},
                 {"regulator", CH_TABLE_SUPPLY},
                 {"leak_down", CH_TABLE_LOSS},
                 {"D\xc3\xbcse", CH_TABLE_ORIFICE},
                 {"km-Stand", CH_TABLE_ODOMETER},
                 {"engine hours", CH_TABLE_HOURS},
                 {"As found", CH_TABLE_NOTE},
                 {"cylinder_1", CH_TABLE_CYLINDER_N},
                 {"cyl 12", CH_TABLE_CYLINDER_N + 11},
                 {"zylinder32", CH_TABLE_CYLINDER_N + 31},
                 {"z3", CH_TABLE_CYLINDER_N + 2},
                 {"C4", CH_TABLE_CYLINDER_N + 3},
                 {"no 2", CH_TABLE_CYLINDER_N + 1},
                 {"7", CH_TABLE_CYLINDER_N + 6},
                 {"0", CH_TABLE_UNUSED},
                 {"33", CH_TABLE_UNUSED},
                 {"100", CH_TABLE_UNUSED},
                 {"cyl 1a", CH_TABLE_UNUSED},
                 {"cylindrical", CH_TABLE_UNUSED},
                 {"leakdown %", CH_TABLE_LOSS},
                 {"Leakage%", CH_TABLE_LOSS},
                 {"[psi]", CH_TABLE_UNUSED},
                 {"reading psi", CH_TABLE_READING},
                 {"cyl 1 kPa", CH_TABLE_CYLINDER_N},
                 {"reading km", CH_TABLE_UNUSED},
                 {"reading nothing", CH_TABLE_UNUSED},
                 {"reading 5", CH_TABLE_UNUSED},
                 {"shiny psi", CH_TABLE_UNUSED},
                 {"", CH_TABLE_UNUSED}};
    for (size_t i = 0; i < sizeof known / sizeof known[0]; i++) {
        char text[128];
        snprintf(text, sizeof text, "strange,%s\n1,2\n", known[i].header);
        read_table(text);
        if (plan.use[1] != known[i].use)
            fail_msg("\"%s\" is taken for %d", known[i].header, plan.use[1]);
        assert_int_equal(plan.use[0], CH_TABLE_UNUSED);
    }
    read_table("reading [psi],reading [bar]\n170,12\n"); /* the first of two */
    assert_int_equal(plan.use[0], CH_TABLE_READING);
    assert_int_equal(plan.use[1], CH_TABLE_UNUSED);
    char very_long[300] = "note,";
    memset(very_long + 5, 'a', 200);
    strcpy(very_long + 205, "\n1,2\n");
    read_table(very_long);
    assert_int_equal(plan.use[1], CH_TABLE_UNUSED);
}

static void each_use_has_a_name_by_which_it_is_found(void **state)
{
    (void)state;
    char name[32];
    for (int use = 1; use < CH_TABLE_CYLINDER_N + CH_CYLINDERS_MAX; use++) {
        ch_table_use_name(use, name, sizeof name);
        assert_int_equal(ch_table_use_find(name), use);
    }
    static const char *const none[] = {
        "", "reeding", "cylinder_", "cylinder_0", "cylinder_33", "cylinder_1x", "cylinder_100"};
    for (size_t i = 0; i < sizeof none / sizeof none[0]; i++)
        assert_int_equal(ch_table_use_find(none[i]), -1);
    assert_int_equal(ch_table_use_dimension(CH_TABLE_CYLINDER_N + 5), CH_DIM_PRESSURE);
    assert_int_equal(ch_table_use_dimension(CH_TABLE_NOTE), CH_DIM_COUNT_);
}

/* ---- sheets ---- */

static void rows_of_one_test_become_one_sheet_in_any_order(void **state)
{
    (void)state;
    take("date,title,cylinder,reading [psi],note\n2027-01-16,a,1,170,\n2027-01-16,b,1,171,\n2027-01-17,a,1,172,\n"
         "2027-01-16,a,2,173,\"one\ttwo\r\nthree\"\n");
    assert_int_equal(made.count, 3);
    assert_int_equal(made.sheet[0].compression_count, 2);
    assert_string_equal(made.sheet[0].compression[1].note, "one two  three"); /* in a sheet a note is one line */
    assert_int_equal(made.readings, 4);
    assert_int_equal(made.line[2], 4);
    take("test,title,cylinder,reading [psi]\n1,first title,1,170\n2,x,1,171\n1,second title,2,172\n");
    assert_int_equal(made.count, 2);
    assert_string_equal(made.sheet[0].title, "first title");
}

static void every_kind_of_test_finds_its_list(void **state)
{
    (void)state;
    take("list,cylinder,reading [psi],first [psi],oil [ml],loss [%],supply [psi],orifice [mm],note,odo [km],hours [h]\n"
         "compression,1,170,90,,,,,,120000,88\ndry,2,171,,5,,,,,,\nwet,1,190,,10,,,,,130000,99\n"
         "leakdown,1,,,,8,100,1,warm,,\nleak-down,2,,,,9,,,,,\n,3,,,,10,,,,,\n,4,172,,,11,,,,,\n");
    assert_int_equal(made.count, 1);
    const ch_sheet *sheet = &made.sheet[0];
    assert_int_equal(sheet->compression_count, 3);
    assert_int_equal(sheet->wet_count, 1);
    assert_int_equal(sheet->leakdown_count, 4);
    assert_int_equal(sheet->engine.cylinders, 4);
    assert_string_equal(sheet->compression[0].first_stroke.number, "90");
    assert_false(ch_quantity_given(&sheet->compression[1].oil)); /* of a dry test none is meant */
    assert_string_equal(sheet->wet[0].oil.number, "10");
    assert_string_equal(sheet->leakdown[0].supply.number, "100");
    assert_string_equal(sheet->leakdown[0].note, "warm");
    assert_string_equal(sheet->conditions.odometer.number, "120000"); /* that of the test's first row */
    assert_string_equal(sheet->conditions.engine_hours.number, "88");
}

/* "cylinder, compression, leakdown" side by side is how one writes it down: both are taken. */
static void without_a_list_the_filled_cells_tell_the_kind(void **state)
{
    (void)state;
    take("date,cylinder,compression psi,leakdown %,supply [psi],oil ml,note\n2026-01-16,1,170,12,100,,hoarse\n"
         "2026-01-16,2,172,55,,0,\n2026-01-16,1,190,,,10,\n2026-01-16,2,,54,,,again\n");
    assert_int_equal(made.count, 1);
    assert_int_equal(made.readings, 6);
    const ch_sheet *sheet = &made.sheet[0];
    assert_int_equal(sheet->compression_count, 2);
    assert_int_equal(sheet->wet_count, 1);
    assert_int_equal(sheet->leakdown_count, 3);
    assert_string_equal(sheet->compression[0].note, "hoarse"); /* once, with the reading */
    assert_null(sheet->leakdown[0].note);
    assert_string_equal(sheet->leakdown[2].note, "again");
    assert_string_equal(sheet->leakdown[0].loss.number, "12");
    assert_string_equal(sheet->leakdown[0].supply.number, "100");
    assert_int_equal(sheet->leakdown[1].cylinder, 2);
    assert_false(ch_quantity_given(&sheet->compression[1].oil)); /* no oil: a dry reading */
    assert_string_equal(sheet->wet[0].oil.number, "10");
    assert_string_equal(ch_text_string(&made.doubts), "");
    take("list,cylinder,reading [psi],loss [%]\nDry,1,170,\nWET,1,190,\nTrocken,2,171,\nna\xc3\x9f,2,191,\nLeak "
         "down,1,,8\nDruckverlust,2,,9\n");
    assert_int_equal(made.sheet[0].compression_count, 2);
    assert_int_equal(made.sheet[0].wet_count, 2);
    assert_int_equal(made.sheet[0].leakdown_count, 2);
}

static void in_columns_for_cylinders_a_wet_row_joins_its_dry_one(void **state)
{
    (void)state;
    take("date,kind,oil [ml],cyl 1 [psi],cyl 2 [psi],note\n2026-01-16,dry,,170,172,cold\n2026-01-16,wet,10,190,,\n"
         "2026-02-01,,,171,173,\n2026-02-01,,5,180,181,loud\n2026-02-01,wet,,182,183,\n");
    assert_int_equal(made.count, 3); /* a second wet row is another test */
    assert_int_equal(made.sheet[0].compression_count, 2);
    assert_int_equal(made.sheet[0].wet_count, 1);
    assert_string_equal(made.sheet[0].wet[0].oil.number, "10");
    assert_int_equal(made.sheet[1].compression_count, 2);
    assert_int_equal(made.sheet[1].wet_count, 2);
    assert_string_equal(made.sheet[1].note, "loud");
    assert_int_equal(made.sheet[2].compression_count, 0);
    assert_int_equal(made.sheet[2].wet_count, 2);
}

static void a_unit_that_only_some_cells_name_holds_for_their_column(void **state)
{
    (void)state;
    take("date,cylinder,reading\n2026-11-20,1,162 psi\n2026-11-20,2,158\n2026-11-20,3,160\n");
    assert_int_equal(made.sheet[0].compression_count, 3);
    for (size_t i = 0; i < 3; i++)
        assert_string_equal(made.sheet[0].compression[i].reading.unit->name, "psi");
    assert_string_equal(ch_text_string(&made.doubts),
                        "line 3: reading without a unit is taken in psi, as other cells of the column are\n");
    ch_err err; /* two units: the bare one may be either */
    assert_int_equal(
        make_sheets("date,cylinder,reading\n2026-11-20,1,162 psi\n2026-11-20,2,11 bar\n2026-11-20,3,160\n", &err),
        CH_E_INPUT);
    assert_int_equal(err.line, 4);
}

static void rounds_of_one_test_are_its_repeats_and_told(void **state)
{
    (void)state;
    take("date,km,cyl 1 [psi],cyl 2 [psi],list,note\n2026-11-20,,118,64,,\n2026-11-20,1 "
         "km,117,66,,\n2026-11-20,,109,70,wet,\n"
         "2026-11-20,,110,,wet,\n2026-11-21,1 km,101,102,,\n2026-11-21,2 km,103,104,,\n2026-11-22,,90,91,,cold\n"
         "2026-11-22,,92,93,,warm\n,,80,81,,\n,,82,83,,\n");
    /* one of two dry rounds and two wet ones; two that the odometer tells apart; two by their notes; two without a day */
    assert_int_equal(made.count, 7);
    assert_int_equal(made.sheet[0].compression_count, 4);
    assert_int_equal(made.sheet[0].wet_count, 3);
    assert_string_equal(made.sheet[0].compression[2].reading.number, "117");
    assert_true(made.sheet[0].conditions.odometer.si == 1000.0);
    for (int i = 1; i < 7; i++)
        assert_int_equal(made.sheet[i].compression_count, 2);
    const char *told = strstr(ch_text_string(&made.doubts), "line 3: taken as another round of the test of line 2");
    assert_non_null(told);
    assert_null(strstr(told + strlen("line 3: taken as another round"), "another round"));
    /* one day is one day, however it is written; the hour does not make it another */
    take("date,cyl 1 [psi],cyl 2 [psi]\n12.03.2024,118,117\n2024-03-12,116,115\n12.03.24,114,113\n2024-03-12 "
         "10:30,112,111\n2024-03-13,110,109\n");
    assert_int_equal(made.count, 2);
    assert_int_equal(made.sheet[0].compression_count, 8);
    assert_non_null(strstr(ch_text_string(&made.doubts), "line 4: taken as another round of the test of line 2"));
    /* a column of sheets tells two tests of one day apart, or keeps rounds of one together, and needs no telling */
    take("sheet,date,cyl 1 [psi]\n1,2026-11-20,118\n2,2026-11-20,117\n2,2026-11-20,116\n");
    assert_int_equal(made.count, 2);
    assert_int_equal(made.sheet[1].compression_count, 2);
    assert_string_equal(ch_text_string(&made.doubts), "");
}

static void a_filled_cell_that_has_no_place_is_told(void **state)
{
    (void)state;
    take("list,cylinder,reading [psi],first [psi],oil [ml],loss [%],supply [psi],orifice [mm]\n"
         "dry,1,170,,5,8,,\nleakdown,2,171,90,5,8,100,1\n,3,172,,,,100,1\nwet,4,173,,,,,\n");
    assert_string_equal(ch_text_string(&made.doubts),
                        "line 2: oil \"5\" is not taken: the row is no wet reading\n"
                        "line 2: loss \"8\" is not taken: the row is no leak-down test\n"
                        "line 3: reading \"171\" is not taken: the row is a leak-down test\n"
                        "line 3: first_stroke \"90\" is not taken: the row is no reading of one cylinder\n"
                        "line 3: oil \"5\" is not taken: the row is no wet reading\n"
                        "line 4: supply \"100\" is not taken: the row is no leak-down test\n"
                        "line 4: orifice \"1\" is not taken: the row is no leak-down test\n"
                        "line 2: this test has no date\n"
                        "line 2: this test has no reading of some cylinder\n");
    take("cylinder,first [psi],cyl 1 [psi],cyl 2 [psi]\n2,90,170,171\n");
    assert_non_null(
        strstr(ch_text_string(&made.doubts), "line 2: cylinder \"2\" is not taken: the row has a column for each"));
    assert_non_null(strstr(ch_text_string(&made.doubts), "line 2: first_stroke \"90\" is not taken"));
}

static void what_rows_of_one_test_say_differently_is_told(void **state)
{
    (void)state;
    take("sheet,date,title,cylinder,reading [psi],odo [km],hours "
         "[h]\n1,,\"a\nb\",1,170,,88\n1,2026-01-16,\"a\nb\",2,171,1000,88\n"
         "1,16.1.2026,c,3,172,1e6 m,\n1,,,4,173,1001,89\n");
    assert_int_equal(made.count, 1);
    assert_memory_equal(&made.sheet[0].conditions.date, (&(ch_date){2026, 1, 16}), sizeof(ch_date));
    assert_string_equal(ch_text_string(&made.doubts),
                        "line 6: title \"c\" is not taken: a row above of the same test says something else\n"
                        "line 7: odometer \"1001\" is not taken: a row above of the same test says something else\n"
                        "line 7: engine_hours \"89\" is not taken: a row above of the same test says something else\n");
}

static void dates_are_read_as_people_write_them(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        ch_table_days days;
        ch_date date;
    } dates[] = {{"2027-04-03", CH_TABLE_DAYS_SEEN, {2027, 4, 3}},
                 {"2027/4/3 12:00", CH_TABLE_DAYS_SEEN, {2027, 4, 3}},
                 {"2027-04-03T12:00", CH_TABLE_DAYS_SEEN, {2027, 4, 3}},
                 {"3.4.2027", CH_TABLE_DAYS_SEEN, {2027, 4, 3}},
                 {"3.4.2027", CH_TABLE_MONTH_FIRST, {2027, 4, 3}}, /* with points the day always comes first */
                 {"3/4/2027", CH_TABLE_DAY_FIRST, {2027, 4, 3}},
                 {"3/4/2027", CH_TABLE_MONTH_FIRST, {2027, 3, 4}},
                 {"4-4-2027", CH_TABLE_DAYS_SEEN, {2027, 4, 4}},
                 {"16/1/2027", CH_TABLE_DAYS_SEEN, {2027, 1, 16}},
                 {"1/16/2027", CH_TABLE_DAYS_SEEN, {2027, 1, 16}},
                 {"3.4.69", CH_TABLE_DAYS_SEEN, {2069, 4, 3}},
                 {"3.4.70", CH_TABLE_DAYS_SEEN, {1970, 4, 3}}};
    for (size_t i = 0; i < sizeof dates / sizeof dates[0]; i++) {
        char text[128];
        ch_err err = {0};
        snprintf(text, sizeof text, "date,cylinder,reading [psi]\n%s,1,170\n", dates[i].text);
        read_table(text);
        plan.days = dates[i].days;
        if (ch_table_sheets("t.csv", &table, &plan, &made, &err) < 0)
            fail_msg("%s: %s", dates[i].text, err.what);
        assert_memory_equal(&made.sheet[0].conditions.date, &dates[i].date, sizeof dates[i].date);
    }
}

static void what_is_doubtful_is_told_with_its_line(void **state)
{
    (void)state;
    take("date,cylinder,reading [bar],note\n,1,2.9,\n,2,25.1,\n,4,12,\n,,,a remark\n");
    const char *doubts = ch_text_string(&made.doubts);
    assert_non_null(strstr(doubts, "line 2: a reading that is unusual"));
    assert_non_null(strstr(doubts, "line 3: a reading that is unusual"));
    assert_null(strstr(doubts, "line 4: a reading"));
    assert_non_null(strstr(doubts, "line 5: no reading in this row: it is passed over"));
    assert_non_null(strstr(doubts, "line 2: this test has no date"));
    assert_non_null(strstr(doubts, "line 2: this test has no reading of some cylinder"));
    assert_int_equal(made.passed, 1);
    take("date,cylinder,loss [%]\n2027-01-16,2,8\n"); /* a leak-down alone lacks no compression reading */
    assert_string_equal(ch_text_string(&made.doubts), "");
    char *many = malloc(40000);
    assert_non_null(many);
    size_t used = (size_t)sprintf(many, "date,cylinder,reading [bar]\n");
    for (int i = 0; i < 400; i++)
        used += (size_t)sprintf(many + used, "2027-01-16,1,1.%d\n", i);
    take(many);
    free(many);
    assert_int_equal(made.readings, 400);
    assert_true(made.doubts.length > CH_TABLE_DOUBTS_MAX - 200 && made.doubts.length < CH_TABLE_DOUBTS_MAX);
    size_t lines = 0;
    for (const char *c = ch_text_string(&made.doubts); *c != '\0'; c++)
        lines += *c == '\n';
    char rest[32]; /* all told: 400 readings beside the usual, the last line aside */
    snprintf(rest, sizeof rest, "\nand %zu more\n", 400 - (lines - 1));
    assert_non_null(strstr(ch_text_string(&made.doubts), rest));
}

static void an_engine_may_have_more_cylinders_than_the_table(void **state)
{
    (void)state;
    ch_err err = {0};
    read_table("cylinder,reading [psi]\n1,170\n2,171\n");
    plan.cylinders = 6;
    assert_int_equal(ch_table_sheets("t.csv", &table, &plan, &made, &err), CH_OK);
    assert_int_equal(made.sheet[0].engine.cylinders, 6);
    ch_table_made_clear(&made);
    plan.cylinders = 1; /* the table knows better */
    assert_int_equal(ch_table_sheets("t.csv", &table, &plan, &made, &err), CH_OK);
    assert_int_equal(made.sheet[0].engine.cylinders, 2);
}

/* ---- refusals ---- */

/* 298.400 km beside 11,2 bar are 298400; beside 11.2 bar nobody knows. */
static void a_distance_in_groups_of_three_digits_is_no_decimal_where_decimals_have_commas(void **state)
{
    (void)state;
    take("Datum;Km;Stunden [h];Zyl 1 [bar];Zyl 2 [bar]\n14.11.2023;298.400;1.210;11,2;11.401\n"
         "02.12.2024;1.304.950 km;12,5;11,0;11,3\n");
    assert_int_equal(made.count, 2);
    expect_relative(made.sheet[0].conditions.odometer.si, 298400e3, 1e-12);
    expect_relative(made.sheet[0].conditions.engine_hours.si, 1210 * 3600.0, 1e-12);
    expect_relative(made.sheet[0].compression[1].reading.si, 11.401e5, 1e-12); /* a reading has no thousands */
    expect_relative(made.sheet[1].conditions.odometer.si, 1304950e3, 1e-12);
    expect_relative(made.sheet[1].conditions.engine_hours.si, 12.5 * 3600.0, 1e-12);
    take("date,km,cyl 1 [bar],cyl 2 [bar]\n2023-11-14,98.4,11.2,11.4\n2024-12-02,1304.950,11.0,11.3\n");
    expect_relative(made.sheet[0].conditions.odometer.si, 98.4e3, 1e-12);
    expect_relative(made.sheet[1].conditions.odometer.si, 1304.95e3,
                    1e-12); /* more than three digits ahead: no group */
    ch_err err;
    assert_int_equal(make_sheets("date,km,cyl 1 [bar],cyl 2 [bar]\n2023-11-14,298.400,11.2,11.4\n", &err), CH_E_INPUT);
    assert_string_equal(err.what, "odometer: \"298.400\" is ambiguous: a point and three digits may mean thousands");
    assert_string_equal(err.right, "298.4000 for a decimal point, 298400 for thousands");
    assert_true(err.line == 2 && err.column == 12);
}

#define HEAD "date,cylinder,reading [psi]\n"
#define LEAKS "cylinder,list,loss [%],supply [psi],orifice [mm]\n"

static void what_no_sheet_could_hold_is_refused_at_its_cell(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        long line, column;
        const char *what;
    } wrong[] = {
        {"", 1, 1, "the first line is no header"},
        {"# nothing\n", 2, 1, "the first line is no header"},
        {"one\n1\n", 1, 1, "the first line is no header"},
        {HEAD, 2, 1, "the table has no rows"},
        {HEAD ",psi,\n", 3, 1, "the table has no rows"},
        {HEAD "2027-01-16,1,170,x\n", 2, 18, "more cells than the header"},
        {HEAD "\"2027-01-16,1,170\n", 2, 1, "a quote that does not end"},
        {HEAD "\"2027-01-16\n\n", 2, 1, "a quote that does not end"},
        {"date,\"cyl\n", 1, 6, "a quote that does not end"},
        {HEAD "2027-01-16,1,17\x01\n", 2, 16, "a byte that is no text"},
        {HEAD "2027-01-16,1,17\x7f\n", 2, 16, "a byte that is no text"},
        {HEAD "2027-01-16,1,17\xc3\n", 2, 16, "a byte that is no text"},
        {HEAD "2027-01-16,,170\n", 2, 12, "cylinder: \"\" is no cylinder"},
        {HEAD "2027-01-16,0,170\n", 2, 12, "cylinder: \"0\" is no cylinder"},
        {HEAD "2027-01-16,33,170\n", 2, 12, "cylinder: \"33\" is no cylinder"},
        {HEAD "2027-01-16,1x,170\n", 2, 12, "cylinder: \"1x\" is no cylinder"},
        {HEAD "someday,1,170\n", 2, 1, "date: \"someday\" is no date"},
        {HEAD "2027-01,1,170\n", 2, 1, "is no date"},
        {HEAD "2027-x-1,1,170\n", 2, 1, "is no date"},
        {HEAD "2027 01 16,1,170\n", 2, 1, "is no date"},
        {HEAD "10000-1-1,1,170\n", 2, 1, "is no date"},
        {HEAD "2027-01-16x,1,170\n", 2, 1, "is no date"},
        {HEAD "32.1.2027,1,170\n", 2, 1, "is no date"},
        {HEAD "31.2.2027,1,170\n", 2, 1, "is no date"},
        {HEAD "3/4/2027,1,170\n", 2, 1, "may be two days"},
        {HEAD "2027-01-16,1,17o\n", 2, 14, "reading: "},
        {HEAD "2027-01-16,1,-170\n", 2, 1, ""},
        {"cylinder,reading\n1,170\n", 2, 3, "reading: "},
        {"cylinder,reading [psi],first [psi]\n1,170,x\n", 2, 7, "first_stroke: "},
        {"list,cylinder,reading [psi],oil [ml]\nwet,1,170,x\n", 2, 11, "oil: "},
        {"list,cylinder,reading [psi]\nmoist,1,170\n", 2, 1, "list: \"moist\" is no kind of test"},
        {"list,cylinder,reading [psi],oil [ml]\ndry,1,170,x\n", 2, 11, "oil: "},
        {"list,cyl 1 [psi],cyl 2 [psi]\nleakdown,8,9\n", 2, 1, "list: \"leakdown\" has no place in columns"},
        {"cylinder,reading [psi],loss [%]\n1,170,-\n", 2, 7, "loss: "},
        {"sheet," HEAD "1,2026-01-16,1,170\n1,2026-09-30,2,172\n", 3, 3, "date: \"2026-09-30\" is another day"},
        {"sheet," HEAD "1,2026-01-16,1,170\n1,not a date,2,172\n", 3, 3, "date: \"not a date\" is no date"},
        {"cylinder,reading [psi],odometer [km]\n1,170,10\n2,170,x\n", 3, 7, "odometer: "},
        {LEAKS "1,leakdown,x,100,1\n", 2, 12, "loss: "},
        {LEAKS "1,leakdown,8,x,1\n", 2, 14, "supply: "},
        {LEAKS "1,leakdown,8,100,x\n", 2, 18, "orifice: "},
        {"cylinder,reading [psi],odometer [km]\n1,170,x\n", 2, 7, "odometer: "},
        {"cylinder,reading [psi],hours [h]\n1,170,x\n", 2, 7, "engine_hours: "},
        {"cyl 1 [bar],cyl 2 [bar]\n12,x\n", 2, 4, "cylinder_2: "},
        {"cylinder,reading [psi],cyl 1 [psi]\n1,170,171\n", 1, 1, "begins a header with both"},
        {"cylinder,loss [%],cyl 1 [psi]\n1,17,171\n", 1, 1, "begins a header with both"},
        {"date,reading [psi]\n2027-01-16,170\n", 1, 1, "no readings were found"},
        {"date,cylinder\n2027-01-16,1\n", 1, 1, "no readings were found"},
        {HEAD "2027-01-16,1,\n", 1, 1, "a table without any reading"},
    };
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        ch_err err;
        const ch_status rc = make_sheets(wrong[i].text, &err);
        if (rc != CH_E_INPUT || err.status != rc || err.line != wrong[i].line || err.column != wrong[i].column ||
            strcmp(err.file, "t.csv") != 0 || strstr(err.what, wrong[i].what) == NULL)
            fail_msg("%s gives %d, %ld:%ld: %s", wrong[i].text, (int)rc, err.line, err.column, err.what);
        assert_null(made.sheet);
    }
}

static void a_plan_that_does_not_fit_the_table_is_refused(void **state)
{
    (void)state;
    ch_err err = {0};
    read_table("cylinder,reading,more\n1,170,171\n");
    plan.unit[1] = ch_unit_find("mm", 2);
    assert_int_equal(ch_table_sheets("t.csv", &table, &plan, &made, &err), CH_E_INPUT);
    assert_non_null(strstr(err.what, "reading: \"170\" stands in a column with a unit of something else"));
    assert_int_equal(err.column, 3);
    err = (ch_err){0};
    plan.unit[1] = plan.unit[2] = ch_unit_find("psi", 3);
    plan.use[2] = CH_TABLE_READING;
    assert_int_equal(ch_table_sheets("t.csv", &table, &plan, &made, &err), CH_E_INPUT);
    assert_non_null(strstr(err.what, "reading: \"more\" is a second column for it"));
    assert_int_equal(err.line, 1);
    assert_int_equal(err.column, 18);
    assert_null(made.sheet);
}

static void tables_have_a_largest_size(void **state)
{
    (void)state;
    ch_err err = {0};
    assert_int_equal(ch_table_read("t.csv", "", CH_TABLE_BYTES_MAX + 1, &table, &err), CH_E_LIMIT);
    assert_string_equal(err.what, "the table is too large");
    char header[400] = "a";
    for (int i = 0; i < CH_TABLE_COLUMNS_MAX; i++)
        strcat(header, ",b");
    assert_int_equal(make_sheets(header, &err), CH_E_LIMIT);
    assert_string_equal(err.what, "the table has too many columns");
    char *rows = malloc(8 * (CH_TABLE_ROWS_MAX + 8));
    assert_non_null(rows);
    size_t used = (size_t)sprintf(rows, "cylinder,reading [psi]\n");
    for (int i = 0; i <= CH_TABLE_ROWS_MAX; i++)
        used += (size_t)sprintf(rows + used, "1,170\n");
    assert_int_equal(make_sheets(rows, &err), CH_E_LIMIT);
    assert_string_equal(err.what, "the table has too many rows");
    free(rows);
}

/* ---- memory ---- */

static void without_memory_a_table_is_refused_and_holds_nothing(void **state)
{
    (void)state;
    static const char wide[] = "date;cyl 1 [bar];cyl 2 [bar];note\n16.1.2027;12;12,1;cold\n17.1.2027;12;;\n";
    static const char deep[] = "test,title,list,cylinder,reading [psi],loss "
                               "[%],note\na,one,dry,1,170,,loud\na,,wet,1,190,,w\na,one,,1,,8,l\nb,two,dry,1,17,,\n";
    static char padded[2000] =
        "cylinder,reading [psi],note\n"; /* rows that are filled up, beyond the cells that there is room for at first */
    for (int i = 0; i < 100; i++)
        strcat(padded, i < 99 ? ",,x\n1\n" : "1,170,\n");
    const char *const texts[] = {wide, deep, padded};
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        long n = 1;
        for (;; n++) {
            ch_err err = {0};
            fail_alloc_at(n);
            const ch_status rc = make_sheets(texts[i], &err);
            if (!fail_alloc_stop()) {
                if (rc < 0)
                    fail_msg("%ld:%ld: %s", err.line, err.column, err.what);
                break;
            }
            if (rc != CH_E_MEMORY || err.status != rc || err.what[0] == '\0' || made.sheet != NULL)
                fail_msg("table %zu, allocation %ld: %d %s", i, n, (int)rc, err.what);
        }
        assert_true(n > 10);
    }
}

static void a_sheets_id_is_that_of_its_content(void **state)
{
    (void)state;
    char first[CH_TABLE_ID_SIZE] = "", second[CH_TABLE_ID_SIZE] = "", again[CH_TABLE_ID_SIZE] = "untouched";
    ch_err err = {0};
    take("test,cylinder,reading [psi]\na,1,170\nb,1,171\n");
    assert_int_equal(ch_table_sheet_id(&made.sheet[0], first, &err), CH_OK);
    assert_int_equal(ch_table_sheet_id(&made.sheet[1], second, &err), CH_OK);
    assert_int_equal(strlen(first), 5 + 32);
    assert_string_not_equal(first, second);
    fail_alloc_at(1);
    assert_int_equal(ch_table_sheet_id(&made.sheet[0], again, &err), CH_E_MEMORY);
    assert_true(fail_alloc_stop());
    assert_string_equal(again, "untouched");
    assert_int_equal(ch_table_sheet_id(&made.sheet[0], again, NULL), CH_OK);
    assert_string_equal(first, again);
}

#define PROMISE(f) cmocka_unit_test_teardown(f, clear)

int main(void)
{
    const struct CMUnitTest tests[] = {
        PROMISE(a_table_is_the_same_by_any_line_end_and_delimiter),
        PROMISE(quoted_cells_hold_delimiters_quotes_and_lines),
        PROMISE(a_second_line_of_units_alone_is_the_row_of_units),
        PROMISE(headers_of_both_languages_are_known),
        PROMISE(each_use_has_a_name_by_which_it_is_found),
        PROMISE(rows_of_one_test_become_one_sheet_in_any_order),
        PROMISE(every_kind_of_test_finds_its_list),
        PROMISE(without_a_list_the_filled_cells_tell_the_kind),
        PROMISE(in_columns_for_cylinders_a_wet_row_joins_its_dry_one),
        PROMISE(a_unit_that_only_some_cells_name_holds_for_their_column),
        PROMISE(rounds_of_one_test_are_its_repeats_and_told),
        PROMISE(a_filled_cell_that_has_no_place_is_told),
        PROMISE(what_rows_of_one_test_say_differently_is_told),
        PROMISE(dates_are_read_as_people_write_them),
        PROMISE(what_is_doubtful_is_told_with_its_line),
        PROMISE(an_engine_may_have_more_cylinders_than_the_table),
        PROMISE(a_distance_in_groups_of_three_digits_is_no_decimal_where_decimals_have_commas),
        PROMISE(what_no_sheet_could_hold_is_refused_at_its_cell),
        PROMISE(a_plan_that_does_not_fit_the_table_is_refused),
        PROMISE(tables_have_a_largest_size),
        PROMISE(without_memory_a_table_is_refused_and_holds_nothing),
        PROMISE(a_sheets_id_is_that_of_its_content),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
