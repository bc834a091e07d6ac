/* Promises of base/units.c, base/unit_table.c and base/decimal.c. */
#include <float.h>
#include <locale.h>
#include <string.h>

#include "../../src/base/decimal.h"
#include "../../src/base/unit_table.h"
#include "crosshatch/units.h"
#include "expect.h"

static const ch_unit *unit(const char *name)
{
    const ch_unit *found = ch_unit_find(name, strlen(name));
    if (found == NULL)
        print_error("no unit \"%s\"\n", name);
    assert_non_null(found);
    return found;
}

static ch_status parse(const char *text, ch_dimension dimension, ch_quantity *quantity, ch_err *err)
{
    return ch_quantity_parse(text, strlen(text), dimension, NULL, quantity, err);
}

/* A fixed sequence (splitmix64; Steele, Lea and Flood, OOPSLA 2014), so that a failure can be repeated. */
static uint64_t next_random(uint64_t *state)
{
    uint64_t z = (*state += 0x9e3779b97f4a7c15U);
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9U;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebU;
    return z ^ (z >> 31);
}

static double uniform(uint64_t *state)
{
    return (double)(next_random(state) >> 11) * 0x1p-53;
}

static void factors_agree_with_nist_sp_811(void **state)
{
    (void)state;
    /*
     * NIST Special Publication 811 (2008), Appendix B.8, factors for units listed alphabetically, as printed there: to seven
     * digits, or exact (bold). The rows marked * are from memory.
     */
    static const struct {
        const char *unit, *row;
        double printed;
    } rows[] = {
        {"atm", "atmosphere, standard", 1.01325e5},
        {"at", "atmosphere, technical", 9.80665e4},
        {"Torr", "torr", 1.333224e2},
        {"bar", "bar", 1.0e5},
        {"ft", "foot", 3.048e-1},
        {"hp", "horsepower (550 ft lbf/s)", 7.456999e2},
        {"PS", "horsepower (metric)", 7.354988e2},
        {"h", "hour", 3.6e3},
        {"in", "inch", 2.54e-2},
        {"inHg", "inch of mercury, conventional", 3.386389e3},
        {"kgf", "kilogram-force", 9.80665},
        {"kgf m", "kilogram-force meter *", 9.80665},
        {"kgf/cm2", "kilogram-force per square centimeter *", 9.80665e4},
        {"km/h", "kilometer per hour", 2.777778e-1},
        {"l", "liter", 1.0e-3},
        {"mi", "mile", 1.609344e3},
        {"mph", "mile per hour", 4.4704e-1},
        {"mbar", "millibar *", 1.0e2},
        {"mmHg", "millimeter of mercury, conventional", 1.333224e2},
        {"min", "minute", 6.0e1},
        {"lb", "pound (avoirdupois)", 4.535924e-1},
        {"lbf", "pound-force", 4.448222},
        {"lbf ft", "pound-force foot *", 1.355818},
        {"lbf in", "pound-force inch *", 1.129848e-1},
        {"psi", "psi (pound-force per square inch)", 6.894757e3},
        {"rpm", "revolution per minute *", 1.047198e-1},
        {"cu in", "cubic inch", 1.638706e-5},
        {"in2", "square inch", 6.4516e-4},
        {"deg", "degree (angle)", 1.745329e-2},
        {"t", "ton, metric", 1.0e3},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++)
        /* Half a unit of the seventh digit is at most 5e-7 of the value. */
        expect_relative(unit(rows[i].unit)->factor, rows[i].printed, 5e-7);
}

static void factors_hang_together(void **state)
{
    (void)state;
    /* Products and quotients of a handful of defined values; each operation rounds once, 4 of them stay within 5e-16. */
    const double inch_m = 0.0254, pound_kg = 0.45359237, gravity_m_s2 = 9.80665, pi = acos(-1);
    const double pound_force_n = pound_kg * gravity_m_s2;
    expect_relative(unit("in")->factor, inch_m, 0);
    expect_relative(unit("lb")->factor, pound_kg, 0);
    expect_relative(unit("lbf")->factor, pound_force_n, 5e-16);
    expect_relative(unit("psi")->factor, pound_force_n / (inch_m * inch_m), 5e-16);
    expect_relative(unit("lbf in")->factor, pound_force_n * inch_m, 5e-16);
    expect_relative(unit("lbf ft")->factor, pound_force_n * inch_m * 12, 5e-16);
    expect_relative(unit("lb ft")->factor, unit("lbf ft")->factor, 0);
    expect_relative(unit("ft lb")->factor, unit("lbf ft")->factor, 0);
    expect_relative(unit("hp")->factor, unit("lbf ft")->factor * 550, 5e-16);
    expect_relative(unit("kgf")->factor, gravity_m_s2, 0);
    expect_relative(unit("PS")->factor, gravity_m_s2 * 75, 5e-16);
    expect_relative(unit("kgf/cm2")->factor, gravity_m_s2 * 1e4, 5e-16);
    expect_relative(unit("at")->factor, unit("kgf/cm2")->factor, 0);
    expect_relative(unit("Torr")->factor * 760, unit("atm")->factor, 5e-16);
    expect_relative(unit("kg/cm2")->factor, unit("kgf/cm2")->factor, 0);
    expect_relative(unit("cu in")->factor, inch_m * inch_m * inch_m, 5e-16);
    expect_relative(unit("in3")->factor, unit("cu in")->factor, 0);
    /* a gallon of the USA is 231 cubic inches, 128 fluid ounces, 256 tablespoons, 768 teaspoons (SP 811, B.8) */
    expect_relative(128 * unit("fl oz")->factor, 231 * unit("in3")->factor, 1e-12);
    expect_relative(256 * unit("tbsp")->factor, 231 * unit("in3")->factor, 1e-12);
    expect_relative(768 * unit("tsp")->factor, 231 * unit("in3")->factor, 1e-12);
    expect_relative(unit("in2")->factor, inch_m * inch_m, 5e-16);
    expect_relative(unit("ft")->factor, inch_m * 12, 5e-16);
    expect_relative(unit("mi")->factor, inch_m * 12 * 5280, 5e-16);
    expect_relative(unit("mph")->factor, unit("mi")->factor / 3600, 5e-16);
    expect_relative(unit("km/h")->factor, 1000.0 / 3600, 5e-16);
    /* Conventional mercury: 13595.1 kg/m3 (US Standard Atmosphere 1976, page 4) under standard gravity. */
    expect_relative(unit("mmHg")->factor, 13595.1 * gravity_m_s2 / 1000, 5e-16);
    expect_relative(unit("inHg")->factor, unit("mmHg")->factor * 25.4, 5e-16);
    expect_relative(unit("rpm")->factor, pi / 30, 5e-16);
    expect_relative(unit("deg")->factor, pi / 180, 5e-16);
    expect_relative(unit("mbar")->factor, unit("hPa")->factor, 0);
    expect_relative(unit("cc")->factor, unit("ml")->factor, 0);
    expect_relative(unit("cm3")->factor, unit("ml")->factor, 0);
}

static void fixed_points_of_the_temperature_scales_agree(void **state)
{
    (void)state;
    /* NIST SP 811 (2008), B.8: T/K = t/C + 273.15, T/K = (t/F + 459.67)/1.8. One rounding at 300 K to 400 K is 5.7e-14 K. */
    expect_close(ch_unit_to_si(0, unit("C")), 273.15, 0);
    expect_close(ch_unit_to_si(32, unit("F")), 273.15, 6e-14);
    expect_close(ch_unit_to_si(212, unit("F")), 373.15, 6e-14);
    expect_close(ch_unit_to_si(-40, unit("F")), ch_unit_to_si(-40, unit("C")), 6e-14);
    expect_close(ch_unit_from_si(373.15, unit("F")), 212, 2e-13);
    ch_quantity quantity = ch_quantity_none();
    assert_int_equal(parse("-459.67 F", CH_DIM_TEMPERATURE, &quantity, NULL), CH_OK);
    expect_close(quantity.si, 0, 0);
}

static void every_unit_survives_the_way_to_si_and_back(void **state)
{
    (void)state;
    size_t n = 0;
    const ch_unit *const table = unit_table(&n);
    uint64_t seed = 20270116;
    for (size_t i = 0; i < n; i++) {
        for (int trial = 0; trial < 2000; trial++) {
            const double value =
                (uniform(&seed) < 0.5 ? -1 : 1) * pow(10, 16 * uniform(&seed) - 8) * (1 + uniform(&seed));
            const double back = ch_unit_from_si(ch_unit_to_si(value, &table[i]), &table[i]);
            if (table[i].offset == 0)
                expect_relative(back, value, 4e-16); /* two roundings of 1.1e-16, and the factor's own */
            else /* the sum rounds to a step of the value in kelvin; so does its factor times offset */
                expect_close(back, value, 4 * DBL_EPSILON * (fabs(value) + table[i].offset / table[i].factor));
        }
    }
}

static void every_unit_is_found_by_its_name_in_any_case(void **state)
{
    (void)state;
    size_t n = 0;
    const ch_unit *const table = unit_table(&n);
    for (size_t i = 0; i < n; i++) {
        char upper[32], lower[32];
        const size_t length = strlen(table[i].name);
        for (size_t c = 0; c <= length; c++) {
            const char letter = table[i].name[c];
            upper[c] = (char)(letter >= 'a' && letter <= 'z' ? letter - 'a' + 'A' : letter);
            lower[c] = (char)(letter >= 'A' && letter <= 'Z' ? letter - 'A' + 'a' : letter);
        }
        assert_ptr_equal(unit(table[i].name), &table[i]); /* also: no two names are equal but for case */
        assert_ptr_equal(unit(upper), &table[i]);
        assert_ptr_equal(unit(lower), &table[i]);
        assert_true(table[i].factor > 0 && isfinite(table[i].factor) && isfinite(table[i].offset));
        assert_true(strlen(table[i].source) > 0);
        assert_true(length <= UNIT_SPELLING_MAXIMUM);
    }
}

static void units_named_in_messages_are_units_of_that_dimension(void **state)
{
    (void)state;
    for (int dimension = 0; dimension < CH_DIM_COUNT_; dimension++) {
        const char *list = ch_dimension_units((ch_dimension)dimension);
        assert_true(strlen(ch_dimension_name((ch_dimension)dimension)) > 0);
        int units = 0;
        bool si = false;
        while (*list != '\0') {
            const size_t length = strcspn(list, ",");
            const ch_unit *const found = ch_unit_find(list, length);
            assert_non_null(found);
            assert_int_equal(found->dimension, dimension);
            assert_int_equal(strlen(found->name), length);
            si = si || (found->factor == 1 && found->offset == 0);
            units++;
            list += length + (list[length] == ',' ? 2 : 0);
        }
        assert_true(units >= 2);
        assert_true(si); /* the unit that the library computes in can be typed */
    }
    assert_string_equal(ch_dimension_name(CH_DIM_COUNT_), "unknown dimension");
    assert_string_equal(ch_dimension_units(CH_DIM_COUNT_), "");
}

static void people_s_spellings_are_found(void **state)
{
    (void)state;
    static const struct {
        const char *spelling, *name;
    } spellings[] = {
        {"PSI", "psi"},
        {"lbf/in^2", "psi"},
        {"kpa", "kPa"},
        {"MPA", "MPa"},
        {"mb", NULL},
        {"in Hg", "inHg"},
        {"inhg", "inHg"},
        {"kgf/cm^2", "kgf/cm2"},
        {"kgf/cm\xc2\xb2", "kgf/cm2"},
        {"kg/cm^2", "kg/cm2"},
        {"kg/cm\xc2\xb2", "kg/cm2"},
        {"\"", "in"},
        {"inch", "in"},
        {"Inches", "in"},
        {"in.", "in"},
        {"\xe2\x80\xb3", "in"},
        {"ft.", "ft"},
        {"L", "l"},
        {"mL", "ml"},
        {"CC", "cc"},
        {"cm\xc2\xb3", "cm3"},
        {"cm^3", "cm3"},
        {"cu. in", "cu in"},
        {"cu.in.", "cu in"},
        {"cu  in", "cu in"},
        {"in\xc2\xb3", "in3"},
        {"mm^2", "mm2"},
        {"mm\xc2\xb2", "mm2"},
        {"sq in", "in2"},
        {"deg C", "C"},
        {"\xc2\xb0"
         "C",
         "C"},
        {"\xc2\xb0 c", "C"},
        {"degF", "F"},
        {"\xc2\xba"
         "F",
         "F"},
        {"\xe2\x84\x83", "C"},
        {"\xe2\x84\x89", "F"},
        {"k", "K"},
        {"RPM", "rpm"},
        {"r/min", "r/min"},
        {"1/min", "1/min"},
        {"rev/min", "r/min"},
        {"min-1", "1/min"},
        {"rad/s", "rad/s"},
        {"hrs", "h"},
        {"hours", "h"},
        {"mins", "min"},
        {"sec", "s"},
        {"Nm", "N m"},
        {"N.m", "N m"},
        {"N\xc2\xb7m", "N m"},
        {"N\xe2\x8b\x85m", "N m"},
        {"N*m", "N m"},
        {"N-m", "N m"},
        {"N\xc2\xa0m", "N m"},
        {"lbf-ft", "lbf ft"},
        {"lb-ft", "lb ft"},
        {"ft-lb", "ft lb"},
        {"ft lbf", "lbf ft"},
        {"ft-lbs", "ft lb"},
        {"in-lb", "lbf in"},
        {"kgf\xc2\xb7m", "kgf m"},
        {"kg-m", "kgf m"},
        {"m-kgf", "kgf m"},
        {"KW", "kW"},
        {"ps", "PS"},
        {"\xc2\xb0", "deg"},
        {"degrees", "deg"},
        {"percent", "%"},
        {":1", "1"},
        {"lbs", "lb"},
        {"kph", "km/h"},
        {"km/hr", "km/h"},
        {"MPH", "mph"},

        {"", NULL},
        {" ", NULL},
        {"psig", "psi"},
        {"PSI(g)", "psi"},
        {"bar g", "bar"},
        {"kPa gauge", "kPa"},
        {"at", "at"},
        {"At\xc3\xbc", "at"},
        {"kp/cm\xc2\xb2", "kgf/cm2"},
        {"ksc", "kg/cm2"},
        {"torr", "Torr"},
        {"U/min", "r/min"},
        {"pounds", "lb"},
        {"Kilometres", "km"},
        {"foot-pounds", "ft lb"},
        {"mkp", "kgf m"},
        {"bhp", "hp"},
        {"cu.in", "cu in"},
        {"mmg", NULL},
        {"psia", NULL},
        {"bara", NULL},
        {"m m", NULL},
        {"m in", NULL},
        {"-C", NULL},
        {"mm-", NULL},
        {".mm", NULL},
        {"mm2x", NULL},
        {"mm^", NULL},
        {"cm^4", NULL},
        {"ps i", NULL},
        {"psi\x01", NULL},
        {"\xff", NULL},
        {"a unit with a very long name", NULL},
    };
    for (size_t i = 0; i < sizeof spellings / sizeof spellings[0]; i++) {
        const ch_unit *const found = ch_unit_find(spellings[i].spelling, strlen(spellings[i].spelling));
        if ((found == NULL) != (spellings[i].name == NULL))
            print_error("spelling \"%s\"\n", spellings[i].spelling);
        if (spellings[i].name == NULL) {
            assert_null(found);
        } else {
            assert_non_null(found);
            assert_string_equal(found->name, spellings[i].name);
        }
    }
    assert_null(ch_unit_find("psi\0", 4));
    assert_ptr_equal(ch_unit_find("psix", 3), unit("psi"));
}

static void what_people_type_is_read(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        ch_dimension dimension;
        double si;
        const char *number, *written;
    } accepted[] = {
        {"178psi", CH_DIM_PRESSURE, 178 * 6894.757293168361, "178", "178 psi"},
        {"12,3 bar", CH_DIM_PRESSURE, 1.23e6, "12,3", "12,3 bar"},
        {"0.040 in", CH_DIM_LENGTH, 1.016e-3, "0.040", "0.040 in"},
        {"-5 C", CH_DIM_TEMPERATURE, 268.15, "-5", "-5 C"},
        {"+3 C", CH_DIM_TEMPERATURE, 276.15, "+3", "+3 C"},
        {"\xe2\x88\x92"
         "5 \xc2\xb0"
         "C",
         CH_DIM_TEMPERATURE, 268.15,
         "\xe2\x88\x92"
         "5",
         "\xe2\x88\x92"
         "5 C"},
        {".5 mm", CH_DIM_LENGTH, 5e-4, ".5", ".5 mm"},
        {",5 mm", CH_DIM_LENGTH, 5e-4, ",5", ",5 mm"},
        {"1e-3 m", CH_DIM_LENGTH, 1e-3, "1e-3", "1e-3 m"},
        {"1E+3 m", CH_DIM_LENGTH, 1e3, "1E+3", "1E+3 m"},
        {"1e\xe2\x88\x92"
         "3 m",
         CH_DIM_LENGTH, 1e-3,
         "1e\xe2\x88\x92"
         "3",
         "1e\xe2\x88\x92"
         "3 m"},
        {"1,5e2 mm", CH_DIM_LENGTH, 0.15, "1,5e2", "1,5e2 mm"},
        {"  84.0\t mm  ", CH_DIM_LENGTH, 0.084, "84.0", "84.0 mm"},
        {"\xc2\xa0"
         "84\xe2\x80\xaf"
         "mm\xc2\xa0",
         CH_DIM_LENGTH, 0.084, "84", "84 mm"},
        {"0,250 in", CH_DIM_LENGTH, 6.35e-3, "0,250", "0,250 in"},           /* no group of thousands begins with 0 */
        {"1234,567 mm", CH_DIM_LENGTH, 1.234567, "1234,567", "1234,567 mm"}, /* nor has one four digits */
        {"1.016 mm", CH_DIM_LENGTH, 1.016e-3, "1.016", "1.016 mm"},
        {"007 psi", CH_DIM_PRESSURE, 7 * 6894.757293168361, "007", "007 psi"},
        {"0 psi", CH_DIM_PRESSURE, 0, "0", "0 psi"},
        {"-0 psi", CH_DIM_PRESSURE, 0, "-0", "-0 psi"},
        {"0e999 psi", CH_DIM_PRESSURE, 0, "0e999", "0e999 psi"},
        {"25 N\xc2\xb7m", CH_DIM_TORQUE, 25, "25", "25 N m"},
        {"30 ft-lb", CH_DIM_TORQUE, 30 * 1.3558179483314004, "30", "30 ft lb"},
        {"0.04\"", CH_DIM_LENGTH, 1.016e-3, "0.04", "0.04 in"},
        {"12 cc", CH_DIM_VOLUME, 12e-6, "12", "12 cc"},
        {"18%", CH_DIM_RATIO, 0.18, "18", "18 %"},
        {"9.6:1", CH_DIM_RATIO, 9.6, "9.6", "9.6:1"},
        {"0.75 1", CH_DIM_RATIO, 0.75, "0.75", "0.75:1"},
        {"300 1/min", CH_DIM_SPIN, 31.41592653589793, "300", "300 1/min"},
        {"412 h", CH_DIM_TIME, 1483200, "412", "412 h"},
        {"1200 lbf", CH_DIM_FORCE, 1200 * 4.4482216152605, "1200", "1200 lbf"},
        {"160 HP", CH_DIM_POWER, 119311.97945316324, "160", "160 hp"},
        {"10 DEG", CH_DIM_ANGLE, 0.17453292519943295, "10", "10 deg"},
        {"980 kg", CH_DIM_MASS, 980, "980", "980 kg"},
        {"60 mph", CH_DIM_SPEED, 26.8224, "60", "60 mph"},
        {"0.6 mm\xc2\xb2", CH_DIM_AREA, 6e-7, "0.6", "0.6 mm2"},
        {"1234567890123456789012345678.12 Pa", CH_DIM_PRESSURE, 1.2345678901234568e27,
         "1234567890123456789012345678.12",
         "1234567890123456789012345678.12 Pa"}, /* 31 characters, the most that are kept */
    };
    for (size_t i = 0; i < sizeof accepted / sizeof accepted[0]; i++) {
        ch_quantity quantity = ch_quantity_none();
        ch_err err = {0};
        char text[64];
        if (parse(accepted[i].text, accepted[i].dimension, &quantity, &err) != CH_OK)
            print_error("\"%s\": %s: %s\n", accepted[i].text, err.what, err.right);
        assert_int_equal(err.status, CH_OK);
        assert_true(ch_quantity_given(&quantity));
        expect_relative(quantity.si, accepted[i].si, 3e-16); /* number, factor and product each rounded once */
        assert_false(signbit(quantity.si) != 0 && quantity.si == 0);
        assert_false(quantity.bare);
        assert_string_equal(quantity.number, accepted[i].number);
        ch_quantity_text(&quantity, text, sizeof text);
        assert_string_equal(text, accepted[i].written);

        ch_quantity again = ch_quantity_none();
        assert_int_equal(parse(text, accepted[i].dimension, &again, NULL), CH_OK);
        assert_memory_equal(&again.si, &quantity.si, sizeof again.si);
        assert_ptr_equal(again.unit, quantity.unit);
        assert_string_equal(again.number, quantity.number);
    }
}

#define PLAIN(unit)                                                                                                    \
    "digits with at most one decimal point or comma, no thousands separators, then the unit, as in 12.5 " unit
#define PRESSURES "psi, kPa, Pa, MPa, hPa, mbar, bar, kgf/cm2, at, inHg, mmHg, Torr, atm"
#define LENGTHS "mm, cm, in, m, ft, km, mi"

static void what_is_no_quantity_is_refused_with_a_reason(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        ch_dimension dimension;
        const char *what, *right;
    } refused[] = {
        {"", CH_DIM_PRESSURE, "nothing where a pressure is wanted", PRESSURES},
        {" \xc2\xa0\t", CH_DIM_AREA, "nothing where an area is wanted", "mm2, cm2, m2, in2"},
        {"psi", CH_DIM_PRESSURE, "the unit \"psi\" without a number", "a number ahead of the unit"},
        {"high", CH_DIM_PRESSURE, "\"high\" is not one plain number with a unit", PLAIN("psi")},
        {"nan psi", CH_DIM_PRESSURE, "\"nan psi\" is not one plain number with a unit", PLAIN("psi")},
        {"inf psi", CH_DIM_PRESSURE, "\"inf psi\" is not one plain number with a unit", PLAIN("psi")},
        {"-inf", CH_DIM_PRESSURE, "\"-inf\" is not one plain number with a unit", PLAIN("psi")},
        {"- 5 C", CH_DIM_TEMPERATURE, "\"- 5 C\" is not one plain number with a unit", PLAIN("C")},
        {"--5 C", CH_DIM_TEMPERATURE, "\"--5 C\" is not one plain number with a unit", PLAIN("C")},
        {". mm", CH_DIM_LENGTH, "\". mm\" is not one plain number with a unit", PLAIN("mm")},
        {"5. mm", CH_DIM_LENGTH, "\"5. mm\" is not one plain number with a unit", PLAIN("mm")},
        {"5, mm", CH_DIM_LENGTH, "\"5, mm\" is not one plain number with a unit", PLAIN("mm")},
        {"5 -C", CH_DIM_TEMPERATURE, "\"5 -C\" is not one plain number with a unit", PLAIN("C")},
        {"1 016 mm", CH_DIM_LENGTH, "\"1 016 mm\" is not one plain number with a unit", PLAIN("mm")},
        {"1\xc2\xa0"
         "016 mm",
         CH_DIM_LENGTH,
         "\"1\xc2\xa0"
         "016 mm\" is not one plain number with a unit",
         PLAIN("mm")},
        {"1'016 mm", CH_DIM_LENGTH, "\"1'016 mm\" is not one plain number with a unit", PLAIN("mm")},
        {"1,016.5 mm", CH_DIM_LENGTH, "\"1,016.5 mm\" is ambiguous: a comma and three digits may mean thousands",
         "1.016 for a decimal comma, 1016 for thousands"},
        {"1.016,5 mm", CH_DIM_LENGTH, "\"1.016,5 mm\" is not one plain number with a unit", PLAIN("mm")},
        {"1.2.3 mm", CH_DIM_LENGTH, "\"1.2.3 mm\" is not one plain number with a unit", PLAIN("mm")},
        {"1,234 psi", CH_DIM_PRESSURE, "\"1,234 psi\" is ambiguous: a comma and three digits may mean thousands",
         "1.234 for a decimal comma, 1234 for thousands"},
        {"-12,500 mm", CH_DIM_LENGTH, "\"-12,500 mm\" is ambiguous: a comma and three digits may mean thousands",
         "-12.500 for a decimal comma, -12500 for thousands"},
        {"2 1/2 in", CH_DIM_LENGTH, "\"2 1/2 in\" is not one plain number with a unit", PLAIN("mm")},
        {"1/2 in", CH_DIM_LENGTH, "\"1/2 in\" is not one plain number with a unit", PLAIN("mm")},
        {"170-175 psi", CH_DIM_PRESSURE, "\"170-175 psi\" is not one plain number with a unit", PLAIN("psi")},
        {"2 1", CH_DIM_PRESSURE, "\"2 1\" is not one plain number with a unit", PLAIN("psi")},
        {"0x10 psi", CH_DIM_PRESSURE, "unknown unit \"x10 psi\" where a pressure is wanted", PRESSURES},
        {"178", CH_DIM_PRESSURE, "\"178\" has no unit", PRESSURES},
        {"12 bar", CH_DIM_LENGTH, "pressure given where a length is wanted", LENGTHS},
        {"12 mm", CH_DIM_ANGLE, "length given where an angle is wanted", "deg, rad"},
        {"12 kg", CH_DIM_FORCE, "mass given where a force is wanted", "N, kN, lbf, kgf"},
        {"9.6:1", CH_DIM_LENGTH, "ratio given where a length is wanted", LENGTHS},
        {"12 pis", CH_DIM_PRESSURE, "unknown unit \"pis\" where a pressure is wanted",
         "psi is the nearest of " PRESSURES},
        {"178 psia", CH_DIM_PRESSURE, "\"178 psia\" is an absolute pressure",
         "what a gauge shows, the absolute pressure less the air's, in psi; of the air itself psi alone"},
        {"13 bar (abs)", CH_DIM_PRESSURE, "unknown unit \"bar (abs)\" where a pressure is wanted", PRESSURES},
        {"13 bar abs", CH_DIM_PRESSURE, "\"13 bar abs\" is an absolute pressure",
         "what a gauge shows, the absolute pressure less the air's, in bar; of the air itself bar alone"},
        {"13 ata", CH_DIM_PRESSURE, "\"13 ata\" is an absolute pressure",
         "what a gauge shows, the absolute pressure less the air's, in at; of the air itself at alone"},
        {"13 mma", CH_DIM_LENGTH, "unknown unit \"mma\" where a length is wanted", "mm is the nearest of " LENGTHS},
        {"12 mn", CH_DIM_LENGTH, "unknown unit \"mn\" where a length is wanted", "mm is the nearest of " LENGTHS},
        {"12 furlongs", CH_DIM_LENGTH, "unknown unit \"furlongs\" where a length is wanted", LENGTHS},
        {"5 mm\xff\x1b", CH_DIM_LENGTH, "unknown unit \"mm??\" where a length is wanted", LENGTHS},
        {"1e999 psi", CH_DIM_PRESSURE, "\"1e999 psi\" is too large to compute with", ""},
        {"1e99999999999999999999 psi", CH_DIM_PRESSURE, "\"1e99999999999999999999 psi\" is too large to compute with",
         ""},
        {"1e308 MPa", CH_DIM_PRESSURE, "\"1e308 MPa\" is too large to compute with", ""},
        {"-1e308 kPa", CH_DIM_PRESSURE, "\"-1e308 kPa\" is too large to compute with", ""},
        {"1e-400 m", CH_DIM_LENGTH, "\"1e-400 m\" is too small to compute with", "write 0 if it is nothing"},
        {"1e-306 mm", CH_DIM_LENGTH, "\"1e-306 mm\" is too small to compute with", "write 0 if it is nothing"},
        {"-300 C", CH_DIM_TEMPERATURE, "\"-300 C\" is below absolute zero", "at least -273.15 C, which is -459.67 F"},
        {"-1 K", CH_DIM_TEMPERATURE, "\"-1 K\" is below absolute zero", "at least -273.15 C, which is -459.67 F"},
        {"12345678901234567890123456789.12 Pa", CH_DIM_PRESSURE,
         "the number in \"12345678901234567890123456789.12 Pa\" is too long", "at most 31 characters"},
        {"1                                                                                psi", CH_DIM_PRESSURE,
         "\"1                                           ...\" is too long for a pressure", "a number and its unit"},
    };
    for (size_t i = 0; i < sizeof refused / sizeof refused[0]; i++) {
        ch_quantity quantity = {.si = 42, .bare = true, .number = "42"};
        ch_err err = {0};
        assert_int_equal(parse(refused[i].text, refused[i].dimension, &quantity, &err), CH_E_INPUT);
        assert_string_equal(err.what, refused[i].what);
        assert_string_equal(err.right, refused[i].right);
        assert_true(quantity.si == 42 && quantity.bare && quantity.unit == NULL);
        assert_string_equal(quantity.number, "42");
        assert_int_equal(parse(refused[i].text, refused[i].dimension, &quantity, NULL), CH_E_INPUT);
    }
    ch_quantity quantity = ch_quantity_none();
    assert_int_equal(ch_quantity_parse("17\0008 psi", 8, CH_DIM_PRESSURE, NULL, &quantity, NULL), CH_E_INPUT);
    assert_int_equal(ch_quantity_parse("178 psi", 3, CH_DIM_PRESSURE, NULL, &quantity, NULL), CH_E_INPUT);
}

/* Of a height, a distance or hours; never of a bore in inches or of a pressure. */
static void a_point_and_three_digits_may_mean_thousands(void **state)
{
    (void)state;
    static const struct {
        const char *text, *right; /* NULL = not in doubt */
        ch_dimension dimension;
    } cases[] = {{"2.500 m", "2.5000 for a decimal point, 2500 for thousands", CH_DIM_LENGTH},
                 {"298.400 km", "298.4000 for a decimal point, 298400 for thousands", CH_DIM_LENGTH},
                 {"12.345 mi", "12.3450 for a decimal point, 12345 for thousands", CH_DIM_LENGTH},
                 {"8.200 ft", "8.2000 for a decimal point, 8200 for thousands", CH_DIM_LENGTH},
                 {"1.210 h", "1.2100 for a decimal point, 1210 for thousands", CH_DIM_TIME},
                 {"0.500 m", NULL, CH_DIM_LENGTH},
                 {"2.50 m", NULL, CH_DIM_LENGTH},
                 {"2.5000 m", NULL, CH_DIM_LENGTH},
                 {"2500 m", NULL, CH_DIM_LENGTH},
                 {"1298.400 km", NULL, CH_DIM_LENGTH},
                 {"2.500e3 m", NULL, CH_DIM_LENGTH},
                 {"3.500 in", NULL, CH_DIM_LENGTH},
                 {"82.550 mm", NULL, CH_DIM_LENGTH},
                 {"12.345 bar", NULL, CH_DIM_PRESSURE}};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        ch_quantity quantity;
        ch_err err = {0};
        assert_int_equal(parse(cases[i].text, cases[i].dimension, &quantity, NULL), CH_OK);
        assert_int_equal(ch_quantity_check_thousands(&quantity, &err), cases[i].right != NULL ? CH_E_INPUT : CH_OK);
        assert_string_equal(err.right, cases[i].right != NULL ? cases[i].right : "");
        assert_int_equal(ch_quantity_check_thousands(&quantity, NULL), cases[i].right != NULL ? CH_E_INPUT : CH_OK);
    }
    const ch_quantity none = ch_quantity_none();
    assert_int_equal(ch_quantity_check_thousands(&none, NULL), CH_OK);
}

/* As people type them who mean the right thing. */
static void what_manuals_print_is_understood_or_named(void **state)
{
    (void)state;
    ch_quantity quantity;
    ch_err err = {0};
    assert_int_equal(parse("10.5 : 1", CH_DIM_RATIO, &quantity, NULL), CH_OK);
    expect_relative(quantity.si, 10.5, 1e-12);
    assert_int_equal(parse("1210:30", CH_DIM_TIME, &quantity, &err), CH_E_INPUT);
    assert_string_equal(err.what, "\"1210:30\" is hours and minutes");
    err = (ch_err){0};
    assert_int_equal(ch_quantity_parse("x", 1, CH_DIM_LENGTH, unit("m"), &quantity, &err), CH_E_INPUT);
    assert_string_equal(err.right, PLAIN("m")); /* the unit of the field, no other of its kind */
}

static void a_bare_number_takes_the_unit_of_its_block(void **state)
{
    (void)state;
    ch_quantity quantity = ch_quantity_none();
    ch_err err = {0};
    char text[64];
    assert_int_equal(ch_quantity_parse("88.0", 4, CH_DIM_LENGTH, unit("mm"), &quantity, NULL), CH_OK);
    expect_relative(quantity.si, 0.088, 3e-16);
    assert_true(quantity.bare);
    assert_ptr_equal(quantity.unit, unit("mm"));
    ch_quantity_text(&quantity, text, sizeof text);
    assert_string_equal(text, "88.0");
    /* A unit that is typed wins over the block. */
    assert_int_equal(ch_quantity_parse("3 in", 4, CH_DIM_LENGTH, unit("mm"), &quantity, NULL), CH_OK);
    assert_false(quantity.bare);
    expect_relative(quantity.si, 0.0762, 3e-16);
    /* A block that names the unit of something else is the caller's mistake, and is not passed over. */
    assert_int_equal(ch_quantity_parse("3", 1, CH_DIM_LENGTH, unit("psi"), &quantity, &err), CH_E_INPUT);
    assert_string_equal(err.what, "pressure given where a length is wanted");
}

static void what_was_not_given_stays_nothing(void **state)
{
    (void)state;
    const ch_quantity none = ch_quantity_none();
    char text[8] = "x";
    assert_false(ch_quantity_given(&none));
    assert_true(isnan(none.si));
    ch_quantity_text(&none, text, sizeof text);
    assert_string_equal(text, "");
    ch_quantity_text(&none, NULL, 0);
    ch_quantity quantity = ch_quantity_none();
    assert_int_equal(parse("178 psi", CH_DIM_PRESSURE, &quantity, NULL), CH_OK);
    ch_quantity_text(&quantity, text, 6);
    assert_string_equal(text, "178 p");
}

static void numbers_are_rounded_once(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        double value;
    } hard[] = {
        /* Halfway cases go to the even neighbour: IEEE 754-2019, 4.3.1. */
        {"9007199254740993", 9007199254740992.0},
        {"9007199254740995", 9007199254740996.0},
        {"9007199254740993.0000000000001", 9007199254740994.0},
        {"1.00000000000000011102230246252", 1.0000000000000002},
        {"1.00000000000000011102230246251", 1.0},
        {"8.5e22", 85e21},
        {"1.7976931348623157e308", DBL_MAX},
        {"2.2250738585072014e-308", DBL_MIN},
        {"0.1", 0.1},
    };
    for (size_t i = 0; i < sizeof hard / sizeof hard[0]; i++) {
        double value = NAN;
        size_t used = 0;
        assert_int_equal(decimal_read(hard[i].text, strlen(hard[i].text), &value, &used), DECIMAL_PLAIN);
        assert_int_equal(used, strlen(hard[i].text));
        expect_close(value, hard[i].value, 0);
    }
    uint64_t seed = 8;
    for (int trial = 0; trial < 20000; trial++) {
        const double drawn = ldexp(uniform(&seed) - 0.5, (int)(next_random(&seed) % 1800) - 900);
        char text[40];
        double value = NAN;
        size_t used = 0;
        snprintf(text, sizeof text, "%.17g", drawn); /* 17 digits give back the same double: IEEE 754-2019, 5.12.2 */
        assert_int_equal(decimal_read(text, strlen(text), &value, &used), DECIMAL_PLAIN);
        expect_close(value, drawn, 0);
    }
}

static void figures_follow_the_uncertainty(void **state)
{
    (void)state;
    static const struct {
        double value, u;
        const char *unit, *text;
    } cases[] = {
        /* JCGM 100:2008 (GUM), 7.2.6: two digits of u at most; 10,057 62 ohm with u = 27 milliohm is 10,058 ohm. */
        {10.05762, 0.027, "1", "10.058"},
        /* GUM H.1.8: 50 000 838 nm with a combined standard uncertainty of 93 nm. */
        {50.000838, 0.000093, "mm", "50.000838 mm"},
        {178.4321, 2.3, "psi", "178.4 psi"},
        {178.4321, 23, "psi", "178 psi"},
        {1784.321, 230, "psi", "1780 psi"},
        {1784.321, 0.996, "psi", "1784.3 psi"}, /* u rounds to 1.0 */
        {1784.321, 9.96, "psi", "1784 psi"},    /* u rounds to 10 */
        {12, 2500, "psi", "0 psi"},
        {88, 2500, "psi", "100 psi"},
        {-0.004, 0.25, "C", "0.00 C"},
        {-0.006, 0.25, "C", "-0.01 C"},
        {-0.3, 25, "C", "0 C"},
        {0, 0.25, "C", "0.00 C"},
        {0.91234, 0.0123, "%", "0.912 %"},
        {1e-7, 1e-9, "m2", "1.000e-7 m2"},
        {12345678, 2500, "Pa", "1.23457e7 Pa"},
        {1e-7, 1, "m2", "0.0 m2"},
        {6e303, 1e305, "Pa", "6e303 Pa"},
        {0, 1e-300, "Pa", "0.00000000000000000000 Pa"},
        /* Without an uncertainty: three significant digits. */
        {178.4321, NAN, "psi", "178 psi"},
        {17.84321, NAN, "bar", "17.8 bar"},
        {9.996, NAN, "bar", "10.0 bar"},
        {999.6, NAN, "psi", "1000 psi"},
        {1784321, NAN, "Pa", "1780000 Pa"},
        {0.0123456, NAN, "mm", "0.0123 mm"},
        {0.000123456, NAN, "mm", "0.000123 mm"},
        {0.0000123456, NAN, "mm", "1.23e-5 mm"},
        {9999999, NAN, "Pa", "10000000 Pa"},
        {12345678, NAN, "Pa", "1.23e7 Pa"},
        {-12345678, NAN, "Pa", "-1.23e7 Pa"},
        {-5, NAN, "C", "-5.00 C"},
        {0, NAN, "mm", "0 mm"},
        {-0.0, NAN, "mm", "0 mm"},
        {9.6, NAN, "1", "9.60"},
        /* An uncertainty of nothing or of everything says nothing about digits. */
        {178.4321, 0, "psi", "178 psi"},
        {178.4321, INFINITY, "psi", "178 psi"},
        {2.0 / 3, 1e-30, "m", "0.666666666666667 m"}, /* no more digits than a double has */
        {NAN, 2, "psi", "-"},
        {INFINITY, 2, "psi", "-"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        const ch_unit *const shown = unit(cases[i].unit);
        char text[64];
        ch_si_format(ch_unit_to_si(cases[i].value, shown), cases[i].u * shown->factor, shown, text, sizeof text);
        assert_string_equal(text, cases[i].text);
    }
    char text[4];
    ch_si_format(84e-3, NAN, unit("mm"), text, sizeof text);
    assert_string_equal(text, "84.");
    ch_si_format(84e-3, NAN, unit("mm"), NULL, 0);
}

static void shown_values_read_back_within_their_digits(void **state)
{
    (void)state;
    uint64_t seed = 9;
    size_t n = 0;
    const ch_unit *const table = unit_table(&n);
    for (size_t i = 0; i < n; i++) {
        for (int trial = 0; trial < 300; trial++) {
            double value = pow(10, 14 * uniform(&seed) - 6);
            if (table[i].dimension != CH_DIM_TEMPERATURE && uniform(&seed) < 0.5)
                value = -value;
            const double u = fabs(value) * pow(10, -4 * uniform(&seed));
            const double si = ch_unit_to_si(value, &table[i]);
            char text[64];
            ch_quantity back = ch_quantity_none();
            ch_si_format(si, u * table[i].factor, &table[i], text, sizeof text);
            assert_int_equal(ch_quantity_parse(text, strlen(text), table[i].dimension, unit("1"), &back, NULL), CH_OK);
            assert_true(strncmp(text, "-0 ", 3) != 0);
            /* Half of the last digit kept (GUM 7.2.6: two digits of u), most where u just rounds up to 1.0: 0.05/0.995. */
            expect_close(back.si, si, u * table[i].factor * 0.0503 + 1e-12 * fabs(si));
            ch_si_format(si, NAN, &table[i], text, sizeof text);
            assert_int_equal(ch_quantity_parse(text, strlen(text), table[i].dimension, unit("1"), &back, NULL), CH_OK);
            expect_close(back.si, si,
                         0.005 * fabs(si - table[i].offset) + 1e-12 * fabs(si)); /* three digits: 1.00 +- 0.005 */
        }
    }
}

static void a_locale_with_a_decimal_comma_changes_nothing(void **state)
{
    (void)state;
    static const char *const names[] = {"de_DE.UTF-8", "de_DE.utf8",  "fr_FR.UTF-8",
                                        "fr_FR.utf8",  "it_IT.UTF-8", "es_ES.UTF-8"};
    const char *set = NULL;
    for (size_t i = 0; set == NULL && i < sizeof names / sizeof names[0]; i++)
        set = setlocale(LC_ALL, names[i]);
    if (set == NULL) {
        print_message("# skipped: no locale with a decimal comma is installed\n");
        skip();
    }
    char text[64];
    snprintf(text, sizeof text, "%.1f", 12.5);
    assert_string_equal(text, "12,5"); /* the locale does what this test needs */
    ch_quantity quantity = ch_quantity_none();
    assert_int_equal(parse("12.5 mm", CH_DIM_LENGTH, &quantity, NULL), CH_OK);
    expect_relative(quantity.si, 0.0125, 3e-16);
    assert_int_equal(parse("12,5 mm", CH_DIM_LENGTH, &quantity, NULL), CH_OK);
    expect_relative(quantity.si, 0.0125, 3e-16);
    ch_si_format(0.0125, 1e-5, unit("mm"), text, sizeof text);
    assert_string_equal(text, "12.500 mm");
    ch_si_format(1.25e-8, NAN, unit("m2"), text, sizeof text);
    assert_string_equal(text, "1.25e-8 m2");
    assert_non_null(setlocale(LC_ALL, "C"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(factors_agree_with_nist_sp_811),
        cmocka_unit_test(factors_hang_together),
        cmocka_unit_test(fixed_points_of_the_temperature_scales_agree),
        cmocka_unit_test(every_unit_survives_the_way_to_si_and_back),
        cmocka_unit_test(every_unit_is_found_by_its_name_in_any_case),
        cmocka_unit_test(units_named_in_messages_are_units_of_that_dimension),
        cmocka_unit_test(people_s_spellings_are_found),
        cmocka_unit_test(what_people_type_is_read),
        cmocka_unit_test(what_is_no_quantity_is_refused_with_a_reason),
        cmocka_unit_test(a_bare_number_takes_the_unit_of_its_block),
        cmocka_unit_test(a_point_and_three_digits_may_mean_thousands),
        cmocka_unit_test(what_manuals_print_is_understood_or_named),
        cmocka_unit_test(what_was_not_given_stays_nothing),
        cmocka_unit_test(numbers_are_rounded_once),
        cmocka_unit_test(figures_follow_the_uncertainty),
        cmocka_unit_test(shown_values_read_back_within_their_digits),
        cmocka_unit_test(a_locale_with_a_decimal_comma_changes_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
