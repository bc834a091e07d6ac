/*
 * What a leak-down tester shows for a leak of a given area: a table for one's own tester.
 *
 *     cc leak_to_loss.c $(pkg-config --cflags --libs crosshatch) -o leak_to_loss
 */
#include <crosshatch/leakdown.h>
#include <stdio.h>

int main(void)
{
    /* 100 psi behind the standard orifice of FAA AC 43.13-1B, 8-14, on a warm engine at sea level. */
    const double bore_m = 0.0805, discharge_1 = 0.8;
    const ch_leakdown_tester tester = {.supply_gauge_pa = 689476.0,
                                       .orifice_area_m2 =
                                           ch_leakdown_orifice_area_m2(ch_leakdown_orifice_m(bore_m), discharge_1),
                                       .ambient_pa = 101325.0,
                                       .air_k = 288.15,
                                       .cylinder_k = 343.15};
    printf("leak, mm2   loss, %%\n");
    for (double leak_mm2 = 0.05; leak_mm2 < 2.0; leak_mm2 *= 2.0) {
        double loss_1 = 0.0;
        ch_err err = {0};
        if (ch_leakdown_loss_1(&tester, leak_mm2 * 1e-6, &loss_1, &err) < 0)
            return 1;
        printf("%9.2f  %7.1f\n", leak_mm2, 100.0 * loss_1);
    }
    return 0;
}
