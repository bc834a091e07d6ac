/*
 * From the header row to the map: which column is which channel, in which unit.
 */
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "drivelog_parts.h"

/* The column that the caller names: by its header, or by its number from 1. `columns` where there is none. */
static size_t column_by_hand(const log_record *header, size_t columns, const char *wanted)
{
    char name[256], asked[256];
    log_slice_text((log_slice){wanted, strlen(wanted)}, asked, sizeof asked);
    for (size_t i = 0; i < columns; i++) {
        log_slice_text(header->cells[i], name, sizeof name);
        if (strcasecmp(name, asked) == 0)
            return i;
    }
    size_t number = 0;
    for (const char *c = asked; *c != '\0'; c++) {
        if (*c < '0' || *c > '9' || number > CH_DRIVELOG_COLUMNS_MAX)
            return columns;
        number = number * 10 + (size_t)(*c - '0');
    }
    return number >= 1 && number <= columns ? number - 1 : columns;
}

/* The unit of the column: the caller's word, the units row's, the header's, the caller's assumption, the house's. */
static void choose_unit(const ch_drivelog *r, log_map *map, ch_drivelog_channel channel, const log_header *header,
                        const log_record *units)
{
    char text[64] = "";
    log_unit *const unit = &map->unit[channel];
    map->declared[channel] = true;
    if (r->hand_unit[channel] != NULL &&
        log_unit_find(channel, r->hand_unit[channel], strlen(r->hand_unit[channel]), unit))
        return;
    if (units != NULL && map->index[channel] < units->n) {
        log_slice_text(units->cells[map->index[channel]], text, sizeof text);
        const size_t length = strlen(text);
        if (length >= 2 && strchr("([{", text[0]) != NULL) {
            memmove(text, text + 1, length);
            text[length - 2] = '\0';
        }
        if (log_unit_find(channel, text, strlen(text), unit)) {
            log_unit named;
            map->contradicted[channel] = header->unit[0] != '\0' &&
                                         log_unit_find(channel, header->unit, strlen(header->unit), &named) &&
                                         (named.factor != unit->factor || named.offset != unit->offset);
            return;
        }
    }
    if (header->unit[0] != '\0' && log_unit_find(channel, header->unit, strlen(header->unit), unit))
        return;
    map->declared[channel] = false;
    if (r->hand_assumed[channel] == NULL ||
        !log_unit_find(channel, r->hand_assumed[channel], strlen(r->hand_assumed[channel]), unit))
        *unit = log_unit_default(channel);
}

/* How the unit of the units row speaks for or against the channel. */
static int unit_vote(const log_record *units, size_t column, ch_drivelog_channel channel)
{
    char text[64];
    log_unit unit;
    if (units == NULL || column >= units->n)
        return 0;
    log_slice_text(units->cells[column], text, sizeof text);
    const char *name = text + (text[0] != '\0' && strchr("([{", text[0]) != NULL);
    const size_t length = strcspn(name, ")]}");
    if (length == 0 || !log_unit_known(name, length))
        return 0;
    return log_unit_find(channel, name, length, &unit) ? 20 : -1000;
}

void log_map_make(const ch_drivelog *r, const log_record *header, const log_record *units, log_map *map)
{
    log_header read;
    bool taken[CH_DRIVELOG_COLUMNS_MAX] = {false};
    int best[LOG_CHANNELS] = {0};
    memset(map, 0, sizeof *map);
    map->columns = header->n;
    while (map->columns > 1 && header->cells[map->columns - 1].length == 0)
        map->columns--; /* a separator at the end of each line makes no column */
    for (int c = 0; c < LOG_CHANNELS; c++) {
        map->index[c] = map->columns;
        if (r->hand[c] == NULL)
            continue;
        map->index[c] = column_by_hand(header, map->columns, r->hand[c]);
        map->found[c] = map->index[c] < map->columns;
        map->how[c] = CH_DRIVELOG_BY_HAND;
        if (map->found[c])
            taken[map->index[c]] = true;
    }
    for (size_t i = 0; i < map->columns; i++) {
        log_header_read(header->cells[i], &read);
        for (int c = 0; c < LOG_CHANNELS && !taken[i]; c++) {
            int fit = log_header_fits(&read, (ch_drivelog_channel)c);
            if (fit == 0 || r->hand[c] != NULL)
                continue;
            fit += unit_vote(units, i, (ch_drivelog_channel)c);
            if (fit <= 0)
                continue;
            map->rivals[c] += fit == best[c];
            if (fit > best[c]) {
                best[c] = fit;
                map->index[c] = i;
                map->rivals[c] = 0;
                map->found[c] = true;
                map->how[c] = CH_DRIVELOG_BY_WORDS;
            }
        }
    }
    if (!map->found[CH_DRIVELOG_ROAD] && map->found[CH_DRIVELOG_GPS] && r->hand[CH_DRIVELOG_ROAD] == NULL) {
        map->found[CH_DRIVELOG_ROAD] = true;
        map->index[CH_DRIVELOG_ROAD] = map->index[CH_DRIVELOG_GPS];
        map->how[CH_DRIVELOG_ROAD] = CH_DRIVELOG_STAND_IN;
    }
    for (int c = 0; c < LOG_CHANNELS; c++) {
        if (!map->found[c])
            continue;
        log_header_read(header->cells[map->index[c]], &read);
        choose_unit(r, map, (ch_drivelog_channel)c, &read, units);
        map->any_found++;
        map->needed_found += c <= CH_DRIVELOG_ROAD;
    }
}

bool log_map_units_row(const log_record *record, char decimal)
{
    size_t units = 0;
    for (size_t i = 0; i < record->n; i++) {
        char text[64];
        double number;
        bool dated;
        log_slice behind;
        log_slice_text(record->cells[i], text, sizeof text);
        if (text[0] == '\0')
            continue;
        const char *name = text + (strchr("([{", text[0]) != NULL);
        const size_t length = strcspn(name, ")]}");
        if (log_unit_known(name, length) && strcmp(text, "1") != 0)
            units++;
        else if (log_cell_read(record->cells[i], decimal, &number, &behind) == LOG_CELL_NUMBER ||
                 log_stamp_read(record->cells[i], &number, &dated))
            return false;
    }
    return units > 0;
}

bool log_map_text_row(const log_record *record, char decimal)
{
    for (size_t i = 0; i < record->n; i++) {
        double value;
        bool dated;
        log_slice unit;
        if (log_cell_read(record->cells[i], decimal, &value, &unit) == LOG_CELL_NUMBER ||
            log_stamp_read(record->cells[i], &value, &dated))
            return false;
    }
    return true;
}

bool log_map_names_all(const ch_drivelog *r, const log_record *record, log_map *map)
{
    if (record->n < 3)
        return false;
    log_map_make(r, record, NULL, map);
    return map->needed_found == 3;
}
