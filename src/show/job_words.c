/* What every face says of a job and of what it takes to buy, in the same words. */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "crosshatch/show_jobs.h"

/* Nothing of a torque may be cut off: its texts are held to these lengths when they are read. */
enum { OWNER_TEXT = 96 + 2 + CH_TORQUE_NOTE_MAX + 1 };
_Static_assert(OWNER_TEXT + CH_TORQUE_TEXT_MAX + 64 <= CH_SHOW_SENTENCE, "a torque's sentence has room");

static const char *hours(double s, char buffer[CH_SHOW_NUMBER])
{
    return ch_show_number(ch_unit_from_si(s, ch_unit_find("h", 1)), 1, buffer);
}

void ch_show_job_times(const ch_job_sheet *sheet, char sentence[CH_SHOW_SENTENCE])
{
    char likely[CH_SHOW_NUMBER], least[CH_SHOW_NUMBER], most[CH_SHOW_NUMBER], open[CH_SHOW_NUMBER],
        close[CH_SHOW_NUMBER];
    const ch_work_time *t = &sheet->work;
    if (!sheet->with_access) {
        snprintf(sentence, CH_SHOW_SENTENCE, "Hands-on: %s h likely, %s to %s h; the access is open already.",
                 hours(t->likely_s, likely), hours(t->least_s, least), hours(t->most_s, most));
        return;
    }
    snprintf(sentence, CH_SHOW_SENTENCE,
             "Hands-on, likely: opening %s h, the job %s h, closing %s h; %s to %s h in all.",
             hours(sheet->open.likely_s, open), hours(t->likely_s, likely), hours(sheet->close.likely_s, close),
             hours(t->least_s + sheet->open.least_s + sheet->close.least_s, least),
             hours(t->most_s + sheet->open.most_s + sheet->close.most_s, most));
}

void ch_show_job_lead(const ch_job *job, char sentence[CH_SHOW_SENTENCE])
{
    char days[CH_SHOW_NUMBER], parts[128] = "", shop[128] = "";
    if (job->lead_days > 0)
        snprintf(parts, sizeof parts, "Order the parts ahead: %s days typically.",
                 ch_show_number(job->lead_days, 0, days));
    if (job->shop_days > 0)
        snprintf(shop, sizeof shop, "Book the shop ahead: %s days there typically.",
                 ch_show_number(job->shop_days, 0, days));
    snprintf(sentence, CH_SHOW_SENTENCE, "%s%s%s", parts, parts[0] != '\0' && shop[0] != '\0' ? " " : "", shop);
}

void ch_show_job_part(const ch_job_sheet_step *step, char sentence[CH_SHOW_SENTENCE])
{
    static const char *const part[] = {
        [CH_JOB_SHEET_OPEN] = "Open", [CH_JOB_SHEET_WORK] = "The job", [CH_JOB_SHEET_CLOSE] = "Close"};
    snprintf(sentence, CH_SHOW_SENTENCE, "%s: %s", part[step->part], step->of->title);
}

/* "88 N m, then 90 degrees", as the owner typed it; "" where nothing is known. */
static void owner_text(const ch_owner_torque *owner, char text[OWNER_TEXT])
{
    char torque[96] = "";
    text[0] = '\0';
    if (owner == NULL)
        return;
    ch_quantity_text(&owner->torque, torque, sizeof torque);
    snprintf(text, OWNER_TEXT, "%s%s%s", torque, torque[0] != '\0' && owner->note != NULL ? ", " : "",
             owner->note != NULL ? owner->note : "");
}

void ch_show_job_torque(const ch_job_sheet_torque *torque, char sentence[CH_SHOW_SENTENCE])
{
    static const char write_here[] = "____________";
    char text[OWNER_TEXT];
    owner_text(torque->owner, text);
    snprintf(sentence, CH_SHOW_SENTENCE, "Torque from the car's own manual, %s: %s", torque->what->text,
             text[0] != '\0' ? text : write_here);
}

void ch_show_torque_check(const ch_job_sheet_torque *torque, char sentence[CH_SHOW_SENTENCE])
{
    static const char *const says[] = {
        [CH_TORQUE_USUAL] = "your figure is of the usual size",
        [CH_TORQUE_LOW] = "your figure is lower, which is right in aluminium, on gaskets, or with an angle after it",
        [CH_TORQUE_HIGH] = "LOOK AGAIN: your figure is more than such a bolt usually bears, look at its unit too",
    };
    sentence[0] = '\0';
    if (!torque->estimated)
        return;
    const ch_unit *unit = torque->owner->torque.unit;
    char low[CH_SHOW_NUMBER], high[CH_SHOW_NUMBER], text[96];
    ch_quantity_text(&torque->owner->torque, text, sizeof text);
    snprintf(sentence, CH_SHOW_SENTENCE, "%s: %s. %.24s, class %.8s: about %s to %s %s; %s.", torque->what->text, text,
             torque->owner->thread, torque->owner->property_class,
             ch_show_number(ch_unit_from_si(torque->estimate.torque_low_n_m, unit), 0, low),
             ch_show_number(ch_unit_from_si(torque->estimate.torque_high_n_m, unit), 0, high), unit->name,
             says[torque->check]);
}

const char *ch_show_retest(ch_retest_by by)
{
    static const char *const names[] = {
        [CH_RETEST_COMPRESSION] = "Compression test",
        [CH_RETEST_LEAK_DOWN] = "Leak-down test",
        [CH_RETEST_SLIP_LOG] = "Slip log",
        [CH_RETEST_LEAK_CHECK] = "Leak check",
        [CH_RETEST_PRESSURE] = "Pressure",
        [CH_RETEST_PEDAL] = "Pedal",
        [CH_RETEST_ROAD] = "First drive",
        [CH_RETEST_LOOK] = "Look",
        [CH_RETEST_TORQUE] = "Tighten again",
    };
    return (unsigned)by <= CH_RETEST_TORQUE ? names[by] : NULL;
}

const char *ch_show_goods_kind(ch_goods_kind kind)
{
    static const char *const titles[] = {
        [CH_GOODS_PART] = "Parts",
        [CH_GOODS_SEAL] = "Seals and gaskets, used once",
        [CH_GOODS_FASTENER] = "Fasteners, used once",
        [CH_GOODS_FLUID] = "Fluids",
        [CH_GOODS_CONSUMABLE] = "Used up",
    };
    return (unsigned)kind <= CH_GOODS_CONSUMABLE ? titles[kind] : NULL;
}

/* A whole price without decimals, a broken one with two. */
static const char *money(double value, char buffer[CH_SHOW_NUMBER])
{
    return ch_show_number(value, fabs(value - round(value)) < 0.005 ? 0 : 2, buffer);
}

const char *ch_show_price(const ch_price *price, char text[CH_SHOW_SENTENCE])
{
    char likely[CH_SHOW_NUMBER], least[CH_SHOW_NUMBER], most[CH_SHOW_NUMBER];
    snprintf(text, CH_SHOW_SENTENCE, "%s (%s to %s)", money(price->likely, likely), money(price->least, least),
             money(price->most, most));
    return text;
}

static const char *count(double value, char buffer[CH_SHOW_NUMBER])
{
    return ch_show_number(value, value == round(value) ? 0 : 1, buffer);
}

const char *ch_show_count(const ch_shopping_line *line, char text[CH_SHOW_SENTENCE])
{
    char certain[CH_SHOW_NUMBER], maybe[CH_SHOW_NUMBER];
    if (!(line->maybe_count > 0))
        snprintf(text, CH_SHOW_SENTENCE, "%s", count(line->count, certain));
    else if (line->count > 0)
        snprintf(text, CH_SHOW_SENTENCE, "%s, perhaps %s more", count(line->count, certain),
                 count(line->maybe_count, maybe));
    else
        snprintf(text, CH_SHOW_SENTENCE, "perhaps %s", count(line->maybe_count, maybe));
    return text;
}
