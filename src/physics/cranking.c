/* Runs the equations of cranking_model.c through a test: step control, kinks, books of mass and energy, and the shut throttle.
 *
 * With a valve open the cylinder follows the manifold within milliseconds while the piston takes a tenth of a second: the problem is stiff
 * though nothing happens in it. So it is treated for what it is. While the pressure difference that drives the flow through the open
 * valves is below FLOAT_ENTER_1 of the pressure, the cylinder floats: its pressure is the manifold's changed by that difference, and only
 * its temperature is integrated, in steps of many degrees. Otherwise the whole equations run, and nothing in them is stiff any more, so an
 * explicit pair does. Steps end at every known kink (dead centres, valve events, full seat area, check valve opening and closing).
 * docs/method.md, "Integration", says what that costs in accuracy: measured against SUNDIALS' CVODE on the whole equations. */
#include "crosshatch/cranking.h"

#include <math.h>
#include <stdbool.h>
#include <string.h>

#include "cranking_model.h"
#include "crosshatch/air.h"
#include "crosshatch/flow.h"
#include "dopri.h"

#define PI 3.14159265358979323846

/* Integrated quantities: the three states and three books that the physics does not read. */
enum { BOOK_ENERGY = CRANKING_STATES, BOOK_MASS, BOOK_INTAKE, INTEGRATED };
_Static_assert((int)INTEGRATED == (int)DOPRI_N, "the step is written for as many quantities as there are");

static ch_status require(bool holds, const char *name, double value, const char *right, ch_err *err)
{
    return holds ? CH_OK : ch_fail(err, CH_E_RANGE, right, "%s is %g", name, value);
}

static ch_status check_valve(const ch_valve *valve, const char *which, ch_err *err)
{
    ch_status rc = require(valve->count >= 1 && valve->count <= 8, which, valve->count, "1 to 8 valves", err);
    if (rc >= 0)
        rc = require(valve->diameter_m > 0.0 && valve->diameter_m < 0.2, which, valve->diameter_m,
                     "valve diameter 0 to 0.2 m", err);
    if (rc >= 0)
        rc = require(valve->lift_m > 0.0 && valve->lift_m < 0.05, which, valve->lift_m, "valve lift 0 to 0.05 m", err);
    if (rc >= 0)
        rc = require(valve->discharge_1 > 0.0 && valve->discharge_1 <= 1.0, which, valve->discharge_1,
                     "discharge coefficient 0 to 1", err);
    if (rc >= 0)
        rc = require(valve->duration_rad > 0.0 && valve->duration_rad < 4.0 * PI, which, valve->duration_rad,
                     "valve duration 0 to 4 pi rad", err);
    if (rc >= 0)
        rc = require(isfinite(valve->opens_rad), which, valve->opens_rad, "a finite opening angle", err);
    return rc;
}

static ch_status check_given(const ch_cranking *given, ch_err *err)
{
    const ch_leak_areas *leaks = &given->leaks;
    const struct {
        const char *name;
        double value, least, most; /* both ends allowed */
        const char *right;
    } ranges[] = {
        {"bore", given->bore.bore_m, 0.01, 0.4, "0.01 to 0.4 m"},
        {"stroke", given->bore.stroke_m, 0.01, 0.5, "0.01 to 0.5 m"},
        {"rod length", given->bore.rod_m, 0.55 * given->bore.stroke_m, 5.0, "over 0.55 of the stroke, at most 5 m"},
        {"clearance volume", given->clearance_m3, 1e-7, 0.01, "0.1 ml to 10 l"},
        {"dead volume", given->dead_m3, 0.0, 0.001, "0 to 1 l"},
        {"crevice volume", given->crevice_m3, 0.0, 0.001, "0 to 1 l"},
        {"Annand's a", given->annand_1, 0.0, 1e6, "0 or more"},
        {"ring leak area", leaks->rings_m2, 0.0, 0.01, "0 to 10000 mm2"},
        {"intake valve leak area", leaks->intake_valve_m2, 0.0, 0.01, "0 to 10000 mm2"},
        {"exhaust valve leak area", leaks->exhaust_valve_m2, 0.0, 0.01, "0 to 10000 mm2"},
        {"leak area to a neighbour", leaks->neighbour_m2, 0.0, 0.01, "0 to 10000 mm2"},
        {"leak area to the coolant", leaks->coolant_m2, 0.0, 0.01, "0 to 10000 mm2"},
        {"ambient pressure", given->ambient_pa, 2e4, 2e5, "20 to 200 kPa"},
        {"intake pressure", given->intake_pa, 1e3, 3e5, "1 to 300 kPa"},
        {"air temperature", given->air_k, 200.0, 400.0, "200 to 400 K"},
        {"engine temperature", given->wall_k, 200.0, 500.0, "200 to 500 K"},
        {"cranking speed", given->speed_rad_s, 1.0, 210.0, "10 to 2000 rpm"},
        {"hose volume", given->hose_m3, 1e-8, 0.01, "0.01 ml to 10 l"},
        {"check valve area", given->check_area_m2, 0.0, 1e-3, "0 to 1000 mm2"},
        {"check valve opening pressure", given->check_opening_pa, 0.0, 1e6, "0 to 1 MPa"},
    };
    for (size_t i = 0; i < sizeof ranges / sizeof ranges[0]; i++)
        if (!(ranges[i].value >= ranges[i].least && ranges[i].value <= ranges[i].most))
            return require(false, ranges[i].name, ranges[i].value, ranges[i].right, err);
    ch_status rc = require(given->strokes >= 1 && given->strokes <= CH_STROKES_MAX, "number of strokes", given->strokes,
                           "1 to 100", err);
    if (rc >= 0)
        rc = check_valve(&given->intake, "intake valve", err);
    if (rc >= 0)
        rc = check_valve(&given->exhaust, "exhaust valve", err);
    return rc;
}

/* Relative pressure difference below which the cylinder floats, and above which it is set free again. */
static const double FLOAT_ENTER_1 = 1e-3;
static const double FLOAT_LEAVE_1 = 2e-3;
/* Within this the nozzle law is made linear. */
static const double SLOPE_1 = 1e-4;

/* A run in progress. */
typedef struct run {
    cranking_constants constants;
    cranking_open open;
    bool floating;
    double tolerance_1;
    double x; /* crank angle, rad */
    double y[INTEGRATED];
    double next_h;
    ch_cranking_account account;
    ch_cranking_watch *watch;
    void *context;
} run;

static void books_set(const run *r, const cranking_rates *rates, double rate[INTEGRATED])
{
    const double per_rad = 1.0 / r->constants.given->speed_rad_s;
    for (int i = 0; i < CRANKING_STATES; i++)
        rate[i] = rates->state[i] * per_rad;
    rate[BOOK_ENERGY] = rates->energy_w * per_rad;
    rate[BOOK_MASS] = (rates->intake_kg_s + rates->other_kg_s + rates->rings_kg_s) * per_rad;
    rate[BOOK_INTAKE] = rates->intake_kg_s * per_rad;
}

static bool free_rates(void *context, double x, const double y[], double rate[])
{
    run *r = context;
    cranking_rates rates;
    r->account.evaluations++;
    if (!cranking_free(&r->constants, r->open, x, y, &rates))
        return false;
    books_set(r, &rates, rate);
    return true;
}

static bool floating_rates(void *context, double x, const double y[], double rate[])
{
    run *r = context;
    cranking_rates rates;
    r->account.evaluations++;
    if (!cranking_float(&r->constants, r->open, x, y, &rates))
        return false;
    books_set(r, &rates, rate);
    return true;
}

/* How far the check valve is from opening (negative) or open (positive), Pa. */
static double check_lead_pa(const run *r, double x, const double y[])
{
    return cranking_pressure_pa(&r->constants, x, y) - r->constants.given->check_opening_pa - y[CRANKING_GAUGE];
}

/* Whether the cylinder may float at (x, y): the flow needs a small difference, and the pressure is already there. */
static bool may_float(run *r, double x, const double y[], double limit_1)
{
    if (!cranking_can_float(&r->constants, r->open))
        return false;
    cranking_rates rates;
    r->account.evaluations++;
    return cranking_float(&r->constants, r->open, x, y, &rates) && rates.float_1 < limit_1;
}

static void accept(run *r, double x, const double y_new[INTEGRATED])
{
    memcpy(r->y, y_new, sizeof r->y);
    r->x = x;
    const double pressure_pa = cranking_pressure_pa(&r->constants, x, r->y);
    r->account.steps++;
    r->account.peak_pa = fmax(r->account.peak_pa, pressure_pa);
    if (r->watch != NULL)
        r->watch(r->context, x, pressure_pa, r->y[CRANKING_TEMP], r->y[CRANKING_GAUGE]);
}

/* The check valve's lead at a part t of a step, read off the step's cubic. */
static double lead_within_pa(const run *r, double t, double h, const double y[], const double first[],
                             const double y_new[], const double last[])
{
    double at[CRANKING_STATES];
    const double a = (1.0 + 2.0 * t) * (1.0 - t) * (1.0 - t), b = t * (1.0 - t) * (1.0 - t),
                 c = t * t * (3.0 - 2.0 * t), d = t * t * (t - 1.0);
    for (int i = 0; i < CRANKING_STATES; i++)
        at[i] = a * y[i] + b * h * first[i] + c * y_new[i] + d * h * last[i];
    return check_lead_pa(r, r->x + t * h, at);
}

/* Where between the ends of a step the check valve changes, as a part of the step: regula falsi. */
static double crossing_part(const run *r, double h, const double y[], const double first[], const double y_new[],
                            const double last[])
{
    double low = 0.0, high = 1.0, lead_low = check_lead_pa(r, r->x, y), lead_high = check_lead_pa(r, r->x + h, y_new);
    for (int turn = 0; turn < 30 && high - low > 1e-6; turn++) {
        double t = low + (high - low) * lead_low / (lead_low - lead_high);
        t = fmin(fmax(t, low + 0.05 * (high - low)), high - 0.05 * (high - low));
        const double lead = lead_within_pa(r, t, h, y, first, y_new, last);
        if ((lead > 0.0) == (lead_low > 0.0)) {
            low = t;
            lead_low = lead;
        } else {
            high = t;
            lead_high = lead;
        }
    }
    return high;
}

/* Where within a step that begins and ends with the check valve shut it stands open, as a part of the step; 0 = nowhere. The last strokes
 * open it for a degree or two about the peak, which a step of ten degrees would pass over. */
static double opening_within(const run *r, double h, const double y[], const double first[], const double y_new[],
                             const double last[])
{
    if (check_lead_pa(r, r->x, y) < -0.5 * y[CRANKING_GAUGE])
        return 0.0; /* far from it */
    for (int i = 1; i < 12; i++)
        if (lead_within_pa(r, i / 12.0, h, y, first, y_new, last) > 0.0)
            return i / 12.0;
    return 0.0;
}

/* Step from where the run stands to x_end, a stretch without known kinks. */
static ch_status run_to(run *r, double x_end, ch_err *err)
{
    const double smallest = 1e-11;
    const double largest = 0.35; /* 20 degrees */
    double first[INTEGRATED];
    bool fresh = true; /* first[] has to be made */
    r->floating = may_float(r, r->x, r->y, FLOAT_ENTER_1);
    while (x_end - r->x > smallest) {
        dopri_rates *rates = r->floating ? floating_rates : free_rates;
        if (fresh && !rates(r, r->x, r->y, first)) {
            if (!r->floating)
                return ch_fail(err, CH_E_CONVERGE, NULL, "the cylinder's state became impossible at %.3f rad", r->x);
            r->floating = false;
            continue;
        }
        fresh = false;
        const double left = x_end - r->x;
        double h = fmin(r->next_h, largest);
        const bool last_step = h >= left * (1.0 - 1e-9);
        if (last_step)
            h = left;
        else if (h > 0.5 * left)
            h = 0.5 * left; /* two even steps rather than a long and a tiny one */
        double y_new[INTEGRATED], last[INTEGRATED], error[INTEGRATED];
        if (!dopri_step(rates, r, r->x, r->y, first, h, y_new, last, error)) {
            if (r->floating && h < 1e-3) { /* the check valve would open: no longer floating */
                r->floating = false;
                fresh = true;
            }
            r->next_h = 0.25 * h;
            if (!(r->next_h > smallest))
                return ch_fail(err, CH_E_CONVERGE, NULL, "the cylinder's state became impossible at %.3f rad", r->x);
            continue;
        }
        /* Afloat, what a step gets wrong in the mass is led back by the manifold; only the temperature stays. */
        const double tolerance_1 = r->floating ? fmin(1e-4, 30.0 * r->tolerance_1) : r->tolerance_1;
        double worst = 0.0;
        for (int i = 0; i < CRANKING_STATES; i++)
            worst = fmax(worst, fabs(error[i]) / (tolerance_1 * fmax(fabs(r->y[i]), fabs(y_new[i]))));
        const double next = h * fmin(5.0, fmax(0.2, worst > 0.0 ? 0.9 * pow(worst, -0.2) : 5.0));
        if (!(worst <= 1.0)) {
            r->next_h = isfinite(next) ? next : 0.2 * h;
            if (!(r->next_h > smallest))
                return ch_fail(err, CH_E_CONVERGE, NULL, "the step fell below its smallest size at %.3f rad", r->x);
            continue;
        }
        if (r->floating) {
            const bool stays = may_float(r, r->x + h, y_new, FLOAT_LEAVE_1);
            if (!stays && h > 0.01) { /* leave where the difference passes the limit, not far behind it */
                r->next_h = 0.5 * h;
                continue;
            }
            accept(r, last_step ? x_end : r->x + h, y_new);
            r->next_h = fmax(next, last_step ? r->next_h : 0.0);
            memcpy(first, last, sizeof first);
            if (!stays) {
                r->floating = false;
                fresh = true;
                r->next_h = 0.01;
            }
            continue;
        }
        const double lead_before = check_lead_pa(r, r->x, r->y);
        const double lead_after = check_lead_pa(r, r->x + h, y_new);
        if (lead_before <= 0.0 && lead_after <= 0.0 && h > 1e-3) {
            const double open_at = opening_within(r, h, r->y, first, y_new, last);
            if (open_at > 0.0 || y_new[CRANKING_GAUGE] > r->y[CRANKING_GAUGE]) {
                r->next_h = (open_at > 0.0 ? open_at : 0.3) * h; /* it opened and closed within the step */
                continue;
            }
        }
        if ((lead_before > 0.0) != (lead_after > 0.0)) {
            const double part = crossing_part(r, h, r->y, first, y_new, last);
            if (part < 1.0 - 1e-5 && part * h > 1e-7) { /* end the step at the kink */
                if (!dopri_step(rates, r, r->x, r->y, first, part * h, y_new, last, error))
                    return ch_fail(err, CH_E_CONVERGE, NULL, "the cylinder's state became impossible at %.3f rad",
                                   r->x);
                accept(r, r->x + part * h, y_new);
                memcpy(first, last, sizeof first);
                r->next_h = h;
                continue;
            }
        }
        accept(r, last_step ? x_end : r->x + h, y_new);
        r->next_h = fmax(next, last_step ? r->next_h : 0.0);
        memcpy(first, last, sizeof first);
        if (may_float(r, r->x, r->y, FLOAT_ENTER_1)) {
            r->floating = true;
            fresh = true;
            r->next_h = 0.1;
        }
    }
    r->x = x_end;
    return CH_OK;
}

/* Next kink after x. */
static double next_break(const double breaks_rad[], int count, double x)
{
    const double cycle = 4.0 * PI;
    const double base = floor(x / cycle) * cycle;
    for (int turn = 0; turn < 2; turn++)
        for (int i = 0; i < count; i++) {
            const double at = base + turn * cycle + breaks_rad[i];
            if (at > x + 1e-9)
                return at;
        }
    return base + 2.0 * cycle; /* not reached: breaks hold the dead centres */
}

/* Whether two cycles end so alike that the charges drawn after them differ by next to nothing. */
static bool alike(const double one[], const double other[])
{
    const double close = 0.02;
    return fabs(one[CRANKING_MASS] - other[CRANKING_MASS]) < close * one[CRANKING_MASS] &&
           fabs(one[CRANKING_TEMP] - other[CRANKING_TEMP]) < close * one[CRANKING_TEMP];
}

ch_status ch_cranking_run(const ch_cranking *cranking, double tolerance_1, double *gauge_pa,
                          ch_cranking_account *account, ch_cranking_watch *watch, void *context, ch_err *err)
{
    ch_status rc = check_given(cranking, err);
    if (rc >= 0)
        rc = require(tolerance_1 >= 1e-12 && tolerance_1 <= 1e-2, "tolerance", tolerance_1, "1e-12 to 1e-2", err);
    if (rc < 0)
        return rc;

    run r = {.tolerance_1 = tolerance_1, .x = -PI, .next_h = 0.02, .watch = watch, .context = context};
    cranking_constants_set(cranking, SLOPE_1, &r.constants);
    r.y[CRANKING_TEMP] = cranking->air_k;
    r.y[CRANKING_GAUGE] = cranking->ambient_pa;
    r.y[CRANKING_MASS] = cranking_mass_kg(&r.constants, r.x, cranking->ambient_pa, cranking->air_k);
    const double start_kg = r.y[CRANKING_MASS];
    const double start_j = cranking_energy_j(&r.constants, r.x, r.y);
    double breaks_rad[CRANKING_BREAKS_MAX];
    const int count = cranking_breaks(cranking, breaks_rad);

    double read_pa[CH_STROKES_MAX];
    double intake_before_kg = 0.0;
    double spent[INTEGRATED] = {0}, charge[INTEGRATED] = {0}; /* end of a cycle, and the charge drawn after it */
    bool reused = false;
    for (int stroke = 0; stroke < cranking->strokes; stroke++) {
        if (cranking->reuse_charge && stroke >= 2 && alike(spent, r.y)) {
            /* The fresh charge that a cycle ending like this one drew. */
            r.x += 2.0 * PI;
            r.y[CRANKING_MASS] = charge[CRANKING_MASS];
            r.y[CRANKING_TEMP] = charge[CRANKING_TEMP];
            reused = true;
        } else {
            memcpy(spent, r.y, sizeof spent);
        }
        /* The stroke is over at the bottom dead centre after its compression; the cycle at the next one. */
        const double read_at = PI + 4.0 * PI * stroke;
        while (r.x < read_at) {
            const double end = fmin(next_break(breaks_rad, count, r.x), read_at);
            const double middle = 0.5 * (r.x + end);
            r.open.intake = ch_valve_area_m2(&cranking->intake, middle) > 0.0;
            r.open.exhaust = ch_valve_area_m2(&cranking->exhaust, middle) > 0.0;
            rc = run_to(&r, end, err);
            if (rc < 0)
                return rc;
            if (fabs(r.x - (read_at - 2.0 * PI)) < 1e-9)
                memcpy(charge, r.y, sizeof charge);
        }
        read_pa[stroke] = r.y[CRANKING_GAUGE] - cranking->ambient_pa;
        if (cranking->reuse_charge && stroke >= 2 && read_pa[stroke] == read_pa[stroke - 1]) {
            /* The same charge did not open the check valve: it will not in any later stroke either. */
            reused = true;
            for (int later = stroke + 1; later < cranking->strokes; later++)
                read_pa[later] = read_pa[stroke];
            break;
        }
        r.account.intake_kg = r.y[BOOK_INTAKE] - intake_before_kg;
        intake_before_kg = r.y[BOOK_INTAKE];
    }
    if (cranking->strokes == 1)
        r.account.intake_kg = 0.0;

    const double to_gauge_kg = (r.y[CRANKING_GAUGE] - cranking->ambient_pa) / r.constants.gauge_pa_kg;
    r.account.mass_error_1 = fabs(r.y[CRANKING_MASS] - start_kg - r.y[BOOK_MASS] + to_gauge_kg) / start_kg;
    const double thermal_j = start_kg * (ch_air_cp_j_kg_k(cranking->air_k) - CH_AIR_R) * cranking->air_k;
    r.account.energy_error_1 = fabs(cranking_energy_j(&r.constants, r.x, r.y) - start_j - r.y[BOOK_ENERGY]) / thermal_j;
    memcpy(gauge_pa, read_pa, (size_t)cranking->strokes * sizeof *gauge_pa);
    if (reused) /* the books were not kept through every gas exchange */
        r.account.mass_error_1 = r.account.energy_error_1 = r.account.intake_kg = NAN;
    if (account != NULL)
        *account = r.account;
    return CH_OK;
}

/* How much more all cylinders draw than the throttle lets through at an intake pressure, kg/s. Falls as the throttle's share grows. */
static ch_status draw_over_supply(const ch_cranking *cranking, int cylinders, double throttle_area_m2, double intake_pa,
                                  double *excess_kg_s, ch_err *err)
{
    ch_cranking trial = *cranking;
    trial.intake_pa = intake_pa;
    trial.strokes = 3; /* the third cycle repeats the second but for the gauge's share, which is gone by then */
    double gauge_pa[CH_STROKES_MAX];
    ch_cranking_account account;
    ch_status rc = ch_cranking_run(&trial, 1e-5, gauge_pa, &account, NULL, NULL, err);
    if (rc < 0)
        return rc;
    double supply_kg_s;
    rc = ch_flow_kg_s(cranking->ambient_pa, cranking->air_k, ch_air_gamma_1(cranking->air_k), CH_AIR_R, intake_pa,
                      throttle_area_m2, &supply_kg_s, err);
    if (rc < 0)
        return rc;
    const double cycles_per_s = cranking->speed_rad_s / (4.0 * PI);
    *excess_kg_s = cylinders * account.intake_kg * cycles_per_s - supply_kg_s;
    return CH_OK;
}

ch_status ch_cranking_intake_pa(const ch_cranking *cranking, int cylinders, double throttle_area_m2, double *intake_pa,
                                ch_err *err)
{
    ch_status rc = require(cylinders >= 1 && cylinders <= 32, "number of cylinders", cylinders, "1 to 32", err);
    if (rc >= 0)
        rc = require(throttle_area_m2 > 0.0 && throttle_area_m2 < 1.0, "throttle area", throttle_area_m2,
                     "above 0, below 1 m2", err);
    if (rc < 0)
        return rc;
    /* At ambient pressure nothing flows through the throttle: the cylinders draw more. Near vacuum they draw nothing. */
    double low = 0.05 * cranking->ambient_pa, high = cranking->ambient_pa;
    double excess_low, excess_high;
    rc = draw_over_supply(cranking, cylinders, throttle_area_m2, low, &excess_low, err);
    if (rc >= 0)
        rc = draw_over_supply(cranking, cylinders, throttle_area_m2, high * (1.0 - 1e-9), &excess_high, err);
    if (rc < 0)
        return rc;
    if (excess_low > 0.0)
        return ch_fail(err, CH_E_RANGE, "a larger opening",
                       "throttle area %.3g mm2 leaves next to a vacuum in the intake", throttle_area_m2 * 1e6);
    if (excess_high <=
        0.0) { /* what comes back through the valves exceeds what is drawn: the intake stands at ambient pressure */
        *intake_pa = high;
        return CH_OK;
    }
    /* Bracketed secant (Illinois): monotone but not smooth. */
    int kept = 0;
    for (int turn = 0; turn < 60 && high - low > 1e-5 * cranking->ambient_pa; turn++) {
        const double at = low + (high - low) * excess_low / (excess_low - excess_high);
        double excess;
        rc = draw_over_supply(cranking, cylinders, throttle_area_m2, at, &excess, err);
        if (rc < 0)
            return rc;
        if (excess <= 0.0) {
            low = at;
            excess_low = excess;
            excess_high *= kept == 1 ? 0.5 : 1.0;
            kept = 1;
        } else {
            high = at;
            excess_high = excess;
            excess_low *= kept == 2 ? 0.5 : 1.0;
            kept = 2;
        }
    }
    *intake_pa = 0.5 * (low + high);
    return CH_OK;
}
