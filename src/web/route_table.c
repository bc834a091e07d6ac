/* Every page by its address. Those without a * come first. */
#include "asset.h"
#include "page.h"
#include "pairing_page.h"
#include "route.h"

const web_route web_routes[] = {
    {.path = "/", .get = page_home_get},
    {.path = "/help", .get = page_help_get},
    {.path = "/sheets", .get = page_sheets_get},
    {.path = "/whatif", .get = page_whatif_get},
    {.path = "/whatif/result", .get = page_whatif_result_get},
    {.path = "/pair", .get = pairing_page_get, .post = pairing_page_post, .open = true},
    {.path = "/certificate", .get = page_certificate_get, .bare = true},
    {.path = "/token", .get = pairing_token_get},
    {.path = "/settings", .get = page_settings_get, .post = page_settings_post},
    {.path = "/cars", .get = page_cars_get},
    {.path = "/cars/new", .get = page_car_new_get, .post = page_car_new_post},
    {.path = "/gauges", .post = page_gauges_post},
    {.path = "/sheets/new", .get = page_sheet_new_get, .post = page_sheet_new_post},
    {.path = "/car/*", .get = page_car_get, .post = page_car_post},
    {.path = "/car/*/engine", .get = page_engine_get, .post = page_engine_post},
    {.path = "/car/*/winter", .get = page_winter_get, .post = page_winter_post},
    {.path = "/car/*/winter/*", .get = page_winter_file_get},
    {.path = "/car/*/events", .get = page_events_get, .post = page_events_post},
    {.path = "/event/*", .get = page_event_get, .post = page_event_post},
    {.path = "/car/*/parts", .get = page_parts_get, .post = page_parts_post},
    {.path = "/part/*", .get = page_part_get, .post = page_part_post},
    {.path = "/car/*/season", .get = page_season_get},
    {.path = "/gauge/*", .get = page_gauge_get, .post = page_gauge_post},
    {.path = "/sheet/*", .get = page_sheet_get},
    {.path = "/sheet/*/revision", .get = page_sheet_revision_get},
    {.path = "/sheet/*/head", .post = page_sheet_head_post},
    {.path = "/sheet/*/observed", .post = page_sheet_observed_post},
    {.path = "/sheet/*/close", .post = page_sheet_close_post},
    {.path = "/sheet/*/do/*", .get = page_step_get, .post = page_step_post},
    {.path = "/sheet/*/measure", .get = page_measure_get, .post = page_measure_post},
    {.path = "/sheet/*/order", .post = page_measure_order_post},
    {.path = "/sheet/*/ledger", .get = page_ledger_get, .post = page_ledger_post},
    {.path = "/row/*", .get = page_row_get, .post = page_row_post},
    {.path = "/ledger/*", .post = page_ledger_entry_post},
    {.path = "/sheet/*/photos", .post = page_photos_post, .body_maximum = WEB_PHOTO_FORM_MAXIMUM},
    {.path = "/photo/*", .get = page_photo_get, .post = page_photo_post},
    {.path = "/sheet/*/findings", .get = page_findings_get},
    {.path = "/worker.js", .get = asset_worker_get, .bare = true},
    {.path = "/asset/*", .get = asset_get, .bare = true},
};
const size_t web_routes_count = sizeof web_routes / sizeof web_routes[0];
