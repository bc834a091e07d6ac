/* Hours and money, entered and corrected. */
#include "spent.h"

#include <stdio.h>
#include <string.h>

#include "crosshatch/show_winter.h"
#include "winter_form.h"

/* One field in its label; ids of fields must differ on one page, so that these have none. */
static void field(html_writer *w, const char *label, const char *name, const char *value, const char *type,
                  const char *mode)
{
    html_lit(w, "<label>");
    html_text(w, label);
    html_lit(w, "<input autocomplete=\"off\"");
    html_attr(w, "name", name);
    html_attr(w, "type", type);
    html_attr(w, "inputmode", mode);
    html_attr(w, "value", value);
    html_lit(w, " maxlength=\"2000\"></label>\n");
}

static void fields(html_writer *w, const char *currency, const char *day, const char *hours, const char *money,
                   const char *note)
{
    char label[64];
    snprintf(label, sizeof label, "Money, %.16s", currency);
    field(w, "Hours", "hours", hours, "text", "decimal");
    field(w, label, "money", money, "text", "decimal");
    field(w, "What for", "note", note, "text", NULL);
    field(w, "Day", "day", day, "date", NULL);
}

ch_status spent_form(html_writer *w, web_request *request, const char *action, const char *currency, const char *alert,
                     ch_err *err)
{
    char today[16];
    ch_date_format(piece_today(request->now_s), today, sizeof today);
    const bool mine = alert != NULL;
    piece_alert(w, alert);
    html_form_open(w, request, action, false);
    const ch_status rc = piece_entry(w, err);
    fields(w, currency, mine ? piece_typed(request, "day", today) : today,
           mine ? piece_typed(request, "hours", NULL) : NULL, mine ? piece_typed(request, "money", NULL) : NULL,
           mine ? piece_typed(request, "note", NULL) : NULL);
    piece_button(w, "do", "spent", "second", "Note it");
    html_form_close(w);
    return rc;
}

ch_status spent_typed(web_request *request, ch_store_spent *spent, ch_err *err)
{
    const char *day = piece_given(&request->form, "day");
    ch_status rc = winter_amount(request, "hours", "hours", CH_WORK_HOUR, &spent->work_us, err);
    if (rc >= 0)
        rc = winter_amount(request, "money", "money", CH_MONEY_ONE, &spent->money, err);
    spent->day = piece_today(request->now_s);
    spent->note = piece_given(&request->form, "note");
    if (rc >= 0 && day != NULL)
        rc = ch_date_parse(day, strlen(day), &spent->day, err);
    if (rc >= 0 && ch_date_days(spent->day) > ch_date_days(piece_today(request->now_s)))
        rc = ch_fail(err, CH_E_INPUT, "today, or a day before", "the day is still to come");
    return rc;
}

/* `alert`: why this one's correction was refused, NULL where it was not. */
static void entry(html_writer *w, const web_request *request, const ch_store_spent *spent, const char *currency,
                  const char *alert)
{
    char action[48], day[16], hours[WINTER_NUMBER] = "", money[WINTER_NUMBER] = "", a[CH_SHOW_NUMBER];
    ch_date_format(spent->day, day, sizeof day);
    html_lit(w, "<li class=\"card\">");
    html_text(w, day);
    if (spent->work_us > 0) {
        html_textf(w, ", %s h", ch_show_work(spent->work_us, a));
        winter_number(spent->work_us, CH_WORK_HOUR, hours);
    }
    if (spent->money > 0) {
        html_textf(w, ", %s %s", ch_show_money(spent->money, a), currency);
        winter_number(spent->money, CH_MONEY_ONE, money);
    }
    if (spent->note != NULL) {
        html_lit(w, ": ");
        html_text(w, spent->note);
    }
    html_lit(w, "<details");
    html_attr_if(w, "open", alert != NULL);
    html_lit(w, "><summary>Correct this<span class=\"visually-hidden\"> entry of ");
    html_text(w, day);
    html_lit(w, "</span></summary>");
    piece_alert(w, alert);
    snprintf(action, sizeof action, "/spent/%lld", (long long)spent->id);
    html_form_open(w, request, action, false);
    piece_hidden_number(w, "work", spent->work_id);
    const bool typed = alert != NULL;
    fields(w, currency, typed ? piece_typed(request, "day", day) : day,
           typed ? piece_typed(request, "hours", hours) : hours, typed ? piece_typed(request, "money", money) : money,
           typed ? piece_typed(request, "note", spent->note) : spent->note);
    piece_button(w, "do", "change", "second", "Save");
    piece_button(w, "do", "delete", "danger", "Take it away");
    html_form_close(w);
    html_lit(w, "</details></li>\n");
}

ch_status spent_list(html_writer *w, web_request *request, int64_t work_id, const char *currency, int64_t refused,
                     const char *alert, ch_err *err)
{
    const ch_store_spent *rows = NULL;
    size_t count = 0;
    const ch_status rc = ch_store_spents(request->store, &request->pool, work_id, &rows, &count, err);
    if (rc < 0 || count == 0)
        return rc;
    html_lit(w, "<ul class=\"cards\">");
    for (size_t i = 0; i < count; i++)
        entry(w, request, &rows[i], currency, rows[i].id == refused ? alert : NULL);
    html_lit(w, "</ul>\n");
    return rc;
}
