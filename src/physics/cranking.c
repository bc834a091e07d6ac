/* Runs the equations of cranking_model.c through a test: step control, kinks, books of mass and energy, and the shut throttle.
 *
 * With a valve open the cylinder follows the manifold within milliseconds while the piston takes a tenth of a second: the problem is stiff
 * though nothing happens in it. So it is treated for what it is. While the pressure difference that drives the flow through the open
 * valves is below FLOAT_ENTER_1 of the pressure, the cylinder floats: its pressure is the manifold's changed by that difference, and only
 * its temperature is integrated, in steps of many degrees. Otherwise the whole equations run: by an explicit pair (dopri.c) while accuracy
 * decides the step, by a Rosenbrock method (rodas.c) while stability would. Steps end at every known kink (dead centres, valve events, full
 * seat area, check valve opening and closing).
 * docs/method.md, "Integration", says what that costs in accuracy: measured against SUNDIALS' CVODE on the whole equations. */
#include "crosshatch/cranking.h"

#include <math.h>
#include <stdbool.h>
#include <string.h>

#include "cranking_model.h"
#include "crosshatch/air.h"
#include "crosshatch/flow.h"
#include "dopri.h"
#include "rodas.h"

#define PI 3.14159265358979323846

/* Integrated quantities: the three states and three books that the physics does not read. */
enum { BOOK_ENERGY = CRANKING_STATES, BOOK_MASS, BOOK_INTAKE, INTEGRATED };
_Static_assert((int)INTEGRATED == (int)DOPRI_N && (int)CRANKING_STATES == (int)DOPRI_STATES,
               "the steps are written for as many quantities as there are");

static ch_status require(bool holds, const char *name, double value, const char *right, ch_err *err)
{
    return holds ? CH_OK : ch_fail(err, CH_E_RANGE, right, "%s is %g", name, value);
}

static ch_status check_valve(const ch_valve *valve, const char *which, ch_err *err)
{
    ch_status rc = require(valve->count >= 1 && valve->count <= 8, which, valve->count, "1 to 8 valves", err);
    if (rc >= 0)
        rc = require(valve->diameter_m > 0.0 && valve->diameter_m < 0.2, which, valve->diameter_m * 1e3,
                     "valve diameter above 0, below 200 mm", err);
    if (rc >= 0)
        rc = require(valve->lift_m > 0.0 && valve->lift_m < 0.06, which, valve->lift_m * 1e3,
                     "valve lift above 0, below 60 mm", err);
    if (rc >= 0)
        rc = require(valve->discharge_1 > 0.0 && valve->discharge_1 <= 1.0, which, valve->discharge_1,
                     "discharge coefficient 0 to 1", err);
    if (rc >= 0)
        rc = require(valve->duration_rad > 0.0 && valve->duration_rad < 4.0 * PI, which,
                     valve->duration_rad * 180.0 / PI, "valve duration above 0, below 720 degrees of crank", err);
    if (rc >= 0)
        rc = require(isfinite(valve->opens_rad), which, valve->opens_rad, "a finite opening angle", err);
    return rc;
}

static ch_status check_given(const ch_cranking *given, ch_err *err)
{
    const ch_leak_areas *leaks = &given->leaks;
    const double ml = 1e-6, mm2 = 1e-6, mm = 1e-3, kpa = 1e3, rpm = PI / 30.0;
    /* Wider than what a sheet may say: whoever asks how doubts about it act runs the model beyond its word as well. */
    const struct {
        const char *name;
        double value, unit, least, most; /* both ends allowed, in units */
        const char *unit_name, *right;
    } ranges[] = {
        {"bore", given->bore.bore_m, mm, 10.0, 400.0, " mm", "10 to 400 mm"},
        {"stroke", given->bore.stroke_m, mm, 10.0, 500.0, " mm", "10 to 500 mm"},
        {"rod length", given->bore.rod_m, mm, 0.55 * given->bore.stroke_m / mm, 5000.0, " mm",
         "over 0.55 of the stroke, at most 5000 mm"},
        {"clearance volume", given->clearance_m3, ml, 1e-3, 1e9, " ml", "0.001 ml to 1000 m3"},
        {"dead volume", given->dead_m3, ml, 0.0, 3000.0, " ml", "0 to 3 l"},
        {"crevice volume", given->crevice_m3, ml, 0.0, 1e6, " ml", "0 to 1000 l"},
        {"Annand's a", given->annand_1, 1.0, 0.0, 1e5, "", "0 to 100000"},
        {"ring leak area", leaks->rings_m2, mm2, 0.0, 1e5, " mm2", "0 to 100000 mm2"},
        {"intake valve leak area", leaks->intake_valve_m2, mm2, 0.0, 1e5, " mm2", "0 to 100000 mm2"},
        {"exhaust valve leak area", leaks->exhaust_valve_m2, mm2, 0.0, 1e5, " mm2", "0 to 100000 mm2"},
        {"leak area to a neighbour", leaks->neighbour_m2, mm2, 0.0, 1e5, " mm2", "0 to 100000 mm2"},
        {"leak area to the coolant", leaks->coolant_m2, mm2, 0.0, 1e5, " mm2", "0 to 100000 mm2"},
        {"ambient pressure", given->ambient_pa, kpa, 20.0, 200.0, " kPa", "20 to 200 kPa"},
        {"intake pressure", given->intake_pa, kpa, 1.0, 300.0, " kPa", "1 to 300 kPa"},
        {"air temperature", given->air_k, 1.0, 200.0, 400.0, " K", "200 to 400 K"},
        {"engine temperature", given->wall_k, 1.0, 200.0, 500.0, " K", "200 to 500 K"},
        {"cranking speed", given->speed_rad_s, rpm, 5.0, 4000.0, " rpm", "5 to 4000 rpm"},
        {"hose volume", given->hose_m3, ml, 1e-3, 1e4, " ml", "0.001 ml to 10 l"},
        {"check valve area", given->check_area_m2, mm2, 0.0, 1e4, " mm2", "0 to 10000 mm2"},
        {"check valve opening pressure", given->check_opening_pa, kpa, 0.0, 4000.0, " kPa", "0 to 4 MPa"},
    };
    for (size_t i = 0; i < sizeof ranges / sizeof ranges[0]; i++)
        if (!(ranges[i].value >= ranges[i].least * ranges[i].unit &&
              ranges[i].value <= ranges[i].most * ranges[i].unit))
            return ch_fail(err, CH_E_RANGE, ranges[i].right, "%s is %.4g%s", ranges[i].name,
                           ranges[i].value / ranges[i].unit, ranges[i].unit_name);
    ch_status rc = require(given->strokes >= 1 && given->strokes <= CH_STROKES_MAX, "number of strokes", given->strokes,
                           "1 to 100", err);
    if (rc >= 0)
        rc = check_valve(&given->intake, "intake valve", err);
    if (rc >= 0)
        rc = check_valve(&given->exhaust, "exhaust valve", err);
    return rc;
}

/* Relative pressure difference below which the cylinder floats, above which it is set free again, and which it may not pass afloat. */
static const double FLOAT_ENTER_1 = 2.5e-3;
static const double FLOAT_LEAVE_1 = 3.5e-3;
static const double FLOAT_MOST_1 = 7e-3;
/* Step times fastest rate above which the whole equations are treated as stiff, and below which they no longer are. */
static const double STIFF_ENTER_1 = 1.8;
static const double STIFF_LEAVE_1 = 1.2;
/* Relative distance from the pressure behind an open valve within which that valve corrects what a step got wrong. */
static const double NEAR_1 = 0.03;
/* Part of the tolerance that a step is allowed which fills the gauge or in which a flow turns. */
static const double STRICT_1 = 0.2;
/* Tolerances that a step is allowed, and at most what part of the state, which computes gas that is about to be pushed out: little of it is
 * there at the next stroke. */
static const double SPENT_1 = 100.0;
static const double SPENT_MOST_1 = 5e-4;
/* The same for a step whose errors an open valve corrects. */
static const double LED_BACK_1 = 60.0;
static const double LED_BACK_MOST_1 = 3e-4;
/* Within this the nozzle law is made linear. */
static const double SLOPE_1 = 1e-4;

typedef enum method { FLOATING, EXPLICIT, IMPLICIT } method;

/* A run in progress. */
typedef struct run {
    cranking_constants constants;
    cranking_open open;
    method method;
    double tolerance_1;
    double x; /* crank angle, rad */
    double y[INTEGRATED];
    double pressure_pa;                      /* at x, y */
    double rates_pressure_pa, rates_float_1; /* where the rates were last evaluated: after a step, its end */
    double s_rad;                            /* time per crank angle */
    double next_h;
    ch_cranking_account account;
    ch_cranking_watch *watch;
    void *context;
} run;

static void books_set(run *r, const cranking_rates *rates, double rate[INTEGRATED])
{
    const double per_rad = r->s_rad;
    for (int i = 0; i < CRANKING_STATES; i++)
        rate[i] = rates->state[i] * per_rad;
    rate[BOOK_ENERGY] = rates->energy_w * per_rad;
    rate[BOOK_MASS] = (rates->intake_kg_s + rates->other_kg_s + rates->rings_kg_s) * per_rad;
    rate[BOOK_INTAKE] = rates->intake_kg_s * per_rad;
    r->rates_pressure_pa = rates->pressure_pa;
    r->rates_float_1 = rates->float_1;
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
static double lead_pa(const run *r, double pressure_pa, const double y[])
{
    return pressure_pa - r->constants.given->check_opening_pa - y[CRANKING_GAUGE];
}

/* How far the cylinder is from floating where the run stands: the difference that the flow needs, and how far the pressure is from there.
 * rate[] (out) is the floating cylinder's, where the answer is finite. */
static double float_1(run *r, double rate[INTEGRATED])
{
    const ch_cranking *given = r->constants.given;
    const double near_pa = 0.01 * r->pressure_pa; /* beyond, the evaluation can be saved */
    if (!cranking_can_float(&r->constants, r->open) ||
        (fabs(r->pressure_pa - given->ambient_pa) > near_pa && fabs(r->pressure_pa - given->intake_pa) > near_pa))
        return INFINITY;
    return floating_rates(r, r->x, r->y, rate) ? r->rates_float_1 : INFINITY;
}

/* A step from where the run stands. What happened within it is read off the cubic through both ends and their rates. */
typedef struct step {
    double h;
    double first[INTEGRATED], last[INTEGRATED]; /* rates at its ends */
    double y_new[INTEGRATED], error[INTEGRATED];
    double pressure_pa;         /* at its end */
    bool has_first, has_slopes; /* whether those of where the run stands are there */
    rodas_slopes slopes;
    double stiff_1; /* step times fastest rate */
} step;

/* Lead of the check valve at a part of the step. */
static double step_lead_pa(const run *r, const step *s, double t)
{
    const double a = (1.0 + 2.0 * t) * (1.0 - t) * (1.0 - t), b = t * (1.0 - t) * (1.0 - t),
                 c = t * t * (3.0 - 2.0 * t), d = t * t * (t - 1.0);
    double at[CRANKING_STATES];
    for (int i = 0; i < CRANKING_STATES; i++)
        at[i] = a * r->y[i] + b * s->h * s->first[i] + c * s->y_new[i] + d * s->h * s->last[i];
    return lead_pa(r, cranking_pressure_pa(&r->constants, r->x + t * s->h, at), at);
}

/* Part of the step at which the lead, shut at both ends, is largest; 0 where it is largest at an end. Golden section. */
static double step_peak_part(const run *r, const step *s, double lead_before, double lead_after)
{
    const double near = 1e-3, golden = 0.6180339887498949;
    if (!(step_lead_pa(r, s, near) > lead_before && step_lead_pa(r, s, 1.0 - near) > lead_after))
        return 0.0;
    double low = 0.0, high = 1.0;
    double t1 = 1.0 - golden, t2 = golden;
    double lead1 = step_lead_pa(r, s, t1), lead2 = step_lead_pa(r, s, t2);
    while (high - low > 1e-3 && lead1 <= 0.0 && lead2 <= 0.0) {
        if (lead1 > lead2) {
            high = t2;
            t2 = t1;
            lead2 = lead1;
            t1 = high - golden * (high - low);
            lead1 = step_lead_pa(r, s, t1);
        } else {
            low = t1;
            t1 = t2;
            lead1 = lead2;
            t2 = low + golden * (high - low);
            lead2 = step_lead_pa(r, s, t2);
        }
    }
    return lead1 > lead2 ? t1 : t2;
}

/* Where before `high`, a part of the step, the check valve changes: regula falsi on the lead. */
static double step_crossing_part(const run *r, const step *s, double high)
{
    double low = 0.0, lead_low = step_lead_pa(r, s, low), lead_high = step_lead_pa(r, s, high);
    for (int turn = 0; turn < 30 && high - low > 1e-6; turn++) {
        double t = low + (high - low) * lead_low / (lead_low - lead_high);
        t = fmin(fmax(t, low + 0.05 * (high - low)), high - 0.05 * (high - low));
        const double lead = step_lead_pa(r, s, t);
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

/* Where within the step the check valve first changes, as a part of it; 1 where it does not. again: the pressure's peak lies within the step,
 * so near the opening that the cubic cannot say on which side; the step is to be taken again up to that part. */
static double step_change_part(const run *r, const step *s, bool *again)
{
    const double lead_before = lead_pa(r, r->pressure_pa, r->y), lead_after = lead_pa(r, s->pressure_pa, s->y_new);
    *again = false;
    if ((lead_before > 0.0) != (lead_after > 0.0))
        return step_crossing_part(r, s, 1.0);
    if (lead_before > 0.0)
        return 1.0;
    /* Shut at both ends; the pressure's peak may have passed between them. */
    const double peak = step_peak_part(r, s, lead_before, lead_after);
    if (!(peak > 0.0))
        return 1.0;
    const double lead_peak = step_lead_pa(r, s, peak);
    const double unsure_1 = 5e-3;
    *again = fabs(lead_peak) < unsure_1 * r->y[CRANKING_GAUGE] && peak > 0.05 && peak < 0.95 && s->h > 1e-3;
    if (*again)
        return peak;
    return lead_peak > 0.0 ? step_crossing_part(r, s, peak) : 1.0;
}

/* Try a step of s->h by the run's method. false where a state on the way is impossible. */
static bool step_try(run *r, step *s)
{
    dopri_rates *rates = r->method == FLOATING ? floating_rates : free_rates;
    const bool shut = lead_pa(r, r->pressure_pa, r->y) <= 0.0;
    if (shut != r->open.gauge_shut) {
        r->open.gauge_shut = shut;
        s->has_first = s->has_slopes = false;
    }
    if (!s->has_first) {
        if (!rates(r, r->x, r->y, s->first))
            return false;
        s->has_first = true;
    }
    if (r->method != IMPLICIT) {
        if (!dopri_step(rates, r, r->x, r->y, s->first, s->h, s->y_new, s->last, s->error, &s->stiff_1))
            return false;
    } else {
        if (!s->has_slopes) {
            if (!rodas_slopes_set(rates, r, r->x, r->y, s->first, shut, &s->slopes))
                return false;
            s->has_slopes = true;
        }
        s->stiff_1 = s->h * s->slopes.norm;
        if (!rodas_step(rates, r, r->x, r->y, s->first, &s->slopes, s->h, s->y_new, s->error) ||
            !rates(r, r->x + s->h, s->y_new, s->last))
            return false;
    }
    s->pressure_pa = r->rates_pressure_pa;
    return true;
}

/* Whether an open valve holds the cylinder near the pressure behind it. */
static bool near_manifold(const run *r)
{
    const ch_cranking *given = r->constants.given;
    const double pressure_pa = r->pressure_pa;
    return (r->open.intake && fabs(pressure_pa - given->intake_pa) < NEAR_1 * pressure_pa) ||
           (r->open.exhaust && fabs(pressure_pa - given->ambient_pa) < NEAR_1 * pressure_pa);
}

/* Whether the pressure passes that of intake or ambient within the step: there the flow through an opening turns, with a slope that no
 * polynomial follows, and the error estimate falls short. */
static bool flow_turns(const run *r, const step *s)
{
    const ch_cranking *given = r->constants.given;
    const double before_pa = r->pressure_pa, after_pa = s->pressure_pa;
    return (before_pa > given->ambient_pa) != (after_pa > given->ambient_pa) ||
           (before_pa > given->intake_pa) != (after_pa > given->intake_pa);
}

/* Error of the step over what is allowed. */
static double step_error_1(const run *r, const step *s)
{
    /* Afloat, or stiff by an open valve, what a step gets wrong in the mass is led back by the manifold; only the temperature stays. What
     * goes into the gauge stays there. */
    double tolerance_1 = r->tolerance_1;
    const double in_cycle_rad = r->x - 4.0 * PI * floor(r->x / (4.0 * PI));
    const bool spent = in_cycle_rad < 2.0 * PI && r->open.gauge_shut;
    if (spent)
        tolerance_1 = fmin(SPENT_MOST_1, SPENT_1 * tolerance_1);
    else if (r->method != FLOATING && (!r->open.gauge_shut || flow_turns(r, s)))
        tolerance_1 *= STRICT_1;
    else if (r->method == FLOATING || (r->method == IMPLICIT && near_manifold(r)))
        tolerance_1 = fmin(LED_BACK_MOST_1, LED_BACK_1 * tolerance_1);
    double worst = 0.0;
    for (int i = 0; i < CRANKING_STATES; i++) {
        const double part = fabs(s->error[i]) / (tolerance_1 * fmax(fabs(r->y[i]), fabs(s->y_new[i])));
        if (!(part <= worst)) /* lets NaN through */
            worst = part;
    }
    return worst;
}

static void step_accept(run *r, step *s, double x)
{
    memcpy(r->y, s->y_new, sizeof r->y);
    r->x = x;
    r->pressure_pa = s->pressure_pa;
    r->account.steps++;
    r->account.peak_pa = fmax(r->account.peak_pa, r->pressure_pa);
    if (r->watch != NULL)
        r->watch(r->context, x, r->pressure_pa, r->y[CRANKING_TEMP], r->y[CRANKING_GAUGE]);
    memcpy(s->first, s->last, sizeof s->first);
    s->has_slopes = false;
}

static void method_change(run *r, step *s, method to, double next_h)
{
    s->has_first = s->has_first && r->method != FLOATING && to != FLOATING;
    s->has_slopes = false;
    r->method = to;
    r->next_h = next_h;
}

/* After a free step: whether another method would do better from here. */
static void method_choose(run *r, step *s)
{
    const double stiff_next_1 = s->stiff_1 * fmax(1.0, r->next_h / s->h);
    double afloat[INTEGRATED];
    if (float_1(r, afloat) < FLOAT_ENTER_1) {
        method_change(r, s, FLOATING, 0.1);
        memcpy(s->first, afloat, sizeof afloat);
        s->has_first = true;
    } else if (r->method == EXPLICIT && stiff_next_1 > STIFF_ENTER_1) {
        method_change(r, s, IMPLICIT, r->next_h);
    } else if (r->method == IMPLICIT && stiff_next_1 < STIFF_LEAVE_1) {
        method_change(r, s, EXPLICIT, r->next_h);
    }
}

/* Step from where the run stands to x_end, a stretch without known kinks. */
static ch_status run_to(run *r, step *s, double x_end, ch_err *err)
{
    const double smallest = 1e-11;
    const double largest = 0.35;   /* 20 degrees */
    const double past_kink = 1e-6; /* a step that ends at a kink ends behind it: a pascal or so */
    bool before_kink = false;      /* the next step is to end short of a kink */
    if (!s->has_first) {
        s->has_first = float_1(r, s->first) < FLOAT_ENTER_1;
        if (s->has_first)
            r->method = FLOATING;
        else if (r->method == FLOATING)
            r->method = IMPLICIT;
    }
    while (x_end - r->x > smallest) {
        if (!(r->next_h > smallest))
            return ch_fail(err, CH_E_CONVERGE, NULL, "the step fell below its smallest size at %.3f rad", r->x);
        const double left = x_end - r->x;
        s->h = fmin(r->next_h, r->method == FLOATING ? 2.0 * largest : largest);
        const bool last_step = s->h >= left * (1.0 - 1e-9);
        if (last_step)
            s->h = left;
        else if (s->h > 0.5 * left && !before_kink)
            s->h = 0.5 * left; /* two even steps rather than a long and a tiny one */
        before_kink = false;
        const double x_new = last_step ? x_end : r->x + s->h;
        if (!step_try(r, s)) {
            if (r->method == FLOATING && (!s->has_first || s->h < 1e-3)) /* the check valve would open */
                method_change(r, s, EXPLICIT, 0.01);
            else
                r->next_h = 0.25 * s->h;
            continue;
        }
        const double error_1 = step_error_1(r, s);
        const double order_1 = r->method == IMPLICIT ? 4.0 : 5.0;
        const double next = s->h * fmin(5.0, fmax(0.2, error_1 > 0.0 ? 0.85 * pow(error_1, -1.0 / order_1) : 5.0));
        if (!(error_1 <= 1.0)) {
            r->next_h = isfinite(next) ? next : 0.2 * s->h;
            if (r->method != FLOATING && !r->open.gauge_shut && lead_pa(r, s->pressure_pa, s->y_new) < 0.0) {
                /* It failed over the closing of the check valve: stop short of it. */
                const double short_h = 0.97 * step_crossing_part(r, s, 1.0) * s->h;
                before_kink = short_h > r->next_h;
                r->next_h = fmax(r->next_h, short_h);
            }
            continue;
        }
        if (r->method == FLOATING) {
            const double away_1 = r->rates_float_1;        /* of the step's last stage, which is its end */
            if (!(away_1 < FLOAT_MOST_1) && s->h > 0.01) { /* leave near where the difference passes the limit */
                r->next_h = 0.5 * s->h;
                continue;
            }
            step_accept(r, s, x_new);
            r->next_h = fmax(next, last_step ? r->next_h : 0.0);
            if (!(away_1 < FLOAT_LEAVE_1))
                method_change(r, s, IMPLICIT, away_1 < FLOAT_MOST_1 ? 0.05 : 0.01);
            continue;
        }
        bool again;
        const double part = step_change_part(r, s, &again);
        if (again) {
            r->next_h = part * s->h;
            continue;
        }
        const double kink_h = part * s->h + past_kink;
        if (part < 1.0 && kink_h < s->h) { /* end the step at the kink */
            const double whole_h = s->h;
            s->h = kink_h;
            /* The gauge cannot have filled beyond what was ahead of it: a step over the closing that says so is none. */
            if (!step_try(r, s) || !(step_error_1(r, s) <= 1.0) ||
                (!r->open.gauge_shut &&
                 lead_pa(r, s->pressure_pa, s->y_new) < -2.0 * r->tolerance_1 * s->y_new[CRANKING_GAUGE])) {
                r->next_h = 0.3 * kink_h;
                continue;
            }
            step_accept(r, s, r->x + s->h);
            r->next_h = r->open.gauge_shut ? whole_h : fmax(whole_h, 0.05);
            continue;
        }
        step_accept(r, s, x_new);
        r->next_h = fmax(next, last_step ? r->next_h : 0.0);
        method_choose(r, s);
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
    const double close = 0.002;
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

    run r = {.tolerance_1 = tolerance_1,
             .x = -PI,
             .s_rad = 1.0 / cranking->speed_rad_s,
             .method = EXPLICIT,
             .next_h = 0.02,
             .watch = watch,
             .context = context};
    cranking_constants_set(cranking, SLOPE_1, &r.constants);
    r.y[CRANKING_TEMP] = cranking->air_k;
    r.y[CRANKING_GAUGE] = cranking->ambient_pa;
    r.y[CRANKING_MASS] = cranking_mass_kg(&r.constants, r.x, cranking->ambient_pa, cranking->air_k);
    r.pressure_pa = cranking->ambient_pa;
    const double start_kg = r.y[CRANKING_MASS];
    const double start_j = cranking_energy_j(&r.constants, r.x, r.y);
    double breaks_rad[CRANKING_BREAKS_MAX];
    const int count = cranking_breaks(cranking, breaks_rad);

    step s = {.has_first = false};
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
            r.pressure_pa = cranking_pressure_pa(&r.constants, r.x, r.y);
            s.has_first = s.has_slopes = false;
            reused = true;
        } else {
            memcpy(spent, r.y, sizeof spent);
        }
        /* The stroke is over at the bottom dead centre after its compression; the cycle at the next one. */
        const double read_at = PI + 4.0 * PI * stroke;
        while (r.x < read_at) {
            const double end = fmin(next_break(breaks_rad, count, r.x), read_at);
            const double middle = 0.5 * (r.x + end);
            const bool intake = ch_valve_area_m2(&cranking->intake, middle) > 0.0;
            const bool exhaust = ch_valve_area_m2(&cranking->exhaust, middle) > 0.0;
            if (intake != r.open.intake || exhaust != r.open.exhaust)
                s.has_first = s.has_slopes = false;
            r.open.intake = intake;
            r.open.exhaust = exhaust;
            rc = run_to(&r, &s, end, err);
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
