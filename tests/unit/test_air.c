/* Promises of physics/air.c. Tables and their sources: tests/data/air-properties. */
#include "crosshatch/air.h"

#include "expect.h"
#include "table.h"

static void heat_capacity_agrees_with_the_published_polynomials(void **state)
{
    (void)state;
    /* NASA/TP-2002-211556 (nine coefficients), a later fit of the same species; the mixture there has R = 287.04.
       Measured: the seven-coefficient fit ripples around it by +-0.08 % in cp and +-0.03 % in gamma (largest at 400,
       650..700 and 900 K); the tolerances are the next round figure. */
    table *t = table_read("air-properties/air_cp_gamma_from_nasa9.csv");
    for (int row = 1; row < t->rows; row++) {
        const double temp_k = table_number(t, row, "T_K");
        expect_relative(ch_air_cp_j_kg_k(temp_k), table_number(t, row, "cp_J_kgK"), 1e-3);
        expect_relative(ch_air_gamma_1(temp_k), table_number(t, row, "gamma"), 4e-4);
    }
    free(t);
}

static void mixing_the_species_by_hand_gives_the_same_heat_capacity(void **state)
{
    (void)state;
    /* NASA TM-4513 coefficients read from the data file and mixed at run time: no digit was mistyped. */
    table *t = table_read("air-properties/nasa7_coefficients.csv");
    const double share[] = {0.78084, 0.20946, 0.0097};
    const char *species[] = {"N2", "O2", "Ar"};
    const char *name[] = {"a1", "a2", "a3", "a4", "a5"};
    for (double temp_k = 200.0; temp_k <= 1000.0; temp_k += 50.0) {
        double cp_over_r = 0.0;
        for (int s = 0; s < 3; s++)
            for (int i = 0; i < 5; i++) {
                const char *text = table_text(t, table_row(t, species[s]), name[i]);
                cp_over_r += share[s] * strtod(text, NULL) * pow(temp_k, i);
            }
        expect_relative(ch_air_cp_j_kg_k(temp_k), cp_over_r * CH_AIR_R, 1e-14);
    }
    free(t);
}

static void enthalpy_agrees_with_the_gas_tables(void **state)
{
    (void)state;
    /* Keenan & Kaye, Gas Tables, 1948, in the SI form of Cengel & Boles, Table A-17: differences from 300 K, since the
       zeros differ. The table's own heat capacities are up to 0.1 % off the newer ones, plus its last digit. */
    table *t = table_read("air-properties/ideal_gas_air_table_a.csv");
    const int from = table_row(t, "300");
    for (int row = 1; row < t->rows; row++) {
        const double temp_k = table_number(t, row, "T_K");
        const double h_j_kg = 1e3 * (table_number(t, row, "h_kJ_kg") - table_number(t, from, "h_kJ_kg"));
        expect_close(ch_air_enthalpy_j_kg(temp_k) - ch_air_enthalpy_j_kg(300.0), h_j_kg, 1e-3 * fabs(h_j_kg) + 10.0);
        const double s_j_kg_k = 1e3 * (table_number(t, row, "s0_kJ_kgK") - table_number(t, from, "s0_kJ_kgK"));
        expect_close(ch_air_entropy_j_kg_k(temp_k) - ch_air_entropy_j_kg_k(300.0), s_j_kg_k,
                     1e-3 * fabs(s_j_kg_k) + 0.01);
    }
    free(t);
}

/* Temperature after isentropic compression: s0(T2) - s0(T1) = R ln(p2/p1), p2/p1 = (V1/V2) T2/T1, by bisection. */
static double compressed_k(double temp_k, double volume_ratio)
{
    double low_k = temp_k, high_k = 1000.0;
    for (int i = 0; i < 60; i++) {
        const double middle_k = 0.5 * (low_k + high_k);
        const double rise = ch_air_entropy_j_kg_k(middle_k) - ch_air_entropy_j_kg_k(temp_k);
        if (rise < CH_AIR_R * log(volume_ratio * middle_k / temp_k))
            low_k = middle_k;
        else
            high_k = middle_k;
    }
    return low_k;
}

static void isentropic_compression_agrees_with_the_worked_example(void **state)
{
    (void)state;
    /* Cengel & Boles, "Isentropic Compression of Air in a Car Engine": 662.7 K. Measured: 662.55 K, 0.02 % low, which
       is the ripple of the seven-coefficient fit (the nine-coefficient one gives 662.71 K). A constant ratio of
       specific heats would give 665.2 K with the book's 1.391, 2.5 K off. */
    table *t = table_read("air-properties/isentropic_compression_example_a.csv");
    expect_close(compressed_k(table_number(t, 1, "T1_K"), table_number(t, 1, "volume_ratio")),
                 table_number(t, 1, "T2_K_published"), 0.2);
    free(t);
}

static void enthalpy_and_entropy_are_the_integrals_of_the_heat_capacity(void **state)
{
    (void)state;
    assert_true(ch_air_enthalpy_j_kg(298.15) == 0.0);
    assert_true(ch_air_entropy_j_kg_k(298.15) == 0.0);
    for (double temp_k = 210.0; temp_k < 1000.0; temp_k += 37.0) {
        /* Central difference of a quartic over 0.1 K: rounding 1e-10 J/kg / 0.1 K dominates. */
        const double slope_h = (ch_air_enthalpy_j_kg(temp_k + 0.05) - ch_air_enthalpy_j_kg(temp_k - 0.05)) / 0.1;
        const double slope_s = (ch_air_entropy_j_kg_k(temp_k + 0.05) - ch_air_entropy_j_kg_k(temp_k - 0.05)) / 0.1;
        expect_relative(slope_h, ch_air_cp_j_kg_k(temp_k), 1e-8);
        expect_relative(slope_s, ch_air_cp_j_kg_k(temp_k) / temp_k, 1e-7);
    }
}

static void viscosity_agrees_with_the_standard_atmosphere(void **state)
{
    (void)state;
    /* ICAO Doc 7488, Tables 1..3, five printed digits; the temperature is rounded to 1 mK there. */
    table *t = table_read("atmosphere/icao_doc7488_points.csv");
    for (int row = 1; row < t->rows; row++)
        expect_close(ch_air_viscosity_pa_s(table_number(t, row, "temperature_K")),
                     table_number(t, row, "dynamic_viscosity_Pa_s"), 0.51e-9);
    free(t);
    /* U.S. Standard Atmosphere 1976, table 1, sea level: 2.5326e-2 W/(m K), from memory. */
    expect_close(ch_air_conductivity_w_m_k(288.15), 2.5326e-2, 0.5e-6);
}

/* US Standard Atmosphere 1976, eq. 51 and 53, whose exponential air.c takes from a series: to thirteen digits from 200 K, to eight below. */
static void transport_is_the_standards_formula(void **state)
{
    (void)state;
    for (double temp_k = 50.0; temp_k <= 3000.0; temp_k *= 1.01) {
        const double power = pow(temp_k, 1.5),
                     conductivity = 2.64638e-3 * power / (temp_k + 245.4 * pow(10.0, -12.0 / temp_k)),
                     viscosity = 1.458e-6 * power / (temp_k + 110.4);
        expect_relative(ch_air_conductivity_w_m_k(temp_k), conductivity,
                        temp_k < 140.0   ? 2e-8
                        : temp_k < 200.0 ? 2e-12
                                         : 2e-13);
        expect_relative(ch_air_viscosity_pa_s(temp_k), viscosity, 1e-13);
        const ch_air_transport both = ch_air_transport_at(temp_k);
        expect_close(both.conductivity_w_m_k, ch_air_conductivity_w_m_k(temp_k), 0.0);
        expect_close(both.viscosity_pa_s, ch_air_viscosity_pa_s(temp_k), 0.0);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(heat_capacity_agrees_with_the_published_polynomials),
        cmocka_unit_test(mixing_the_species_by_hand_gives_the_same_heat_capacity),
        cmocka_unit_test(enthalpy_agrees_with_the_gas_tables),
        cmocka_unit_test(isentropic_compression_agrees_with_the_worked_example),
        cmocka_unit_test(enthalpy_and_entropy_are_the_integrals_of_the_heat_capacity),
        cmocka_unit_test(viscosity_agrees_with_the_standard_atmosphere),
        cmocka_unit_test(transport_is_the_standards_formula),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
