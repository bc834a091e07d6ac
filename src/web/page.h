/* The pages, one page_NAME.c each. */
#ifndef CROSSHATCH_WEB_PAGE_H
#define CROSSHATCH_WEB_PAGE_H

#include "route.h"

web_handler page_home_get;
web_handler page_cars_get, page_car_new_get, page_car_new_post;
web_handler page_gauges_post, page_gauge_get, page_gauge_post;
web_handler page_engine_get, page_engine_post;
web_handler page_car_get, page_car_post;
web_handler page_sheet_new_get, page_sheet_new_post;
web_handler page_sheet_get, page_sheet_revision_get;
web_handler page_sheet_head_post, page_sheet_observed_post, page_sheet_close_post;
web_handler page_sheet_data_post, page_sheet_withdraw_post;
web_handler page_step_get, page_step_post;
web_handler page_measure_get, page_measure_post, page_measure_order_post;
web_handler page_row_get, page_row_post;
web_handler page_ledger_get, page_ledger_post, page_ledger_entry_post;
web_handler page_photo_get, page_photo_post, page_photos_post;
web_handler page_settings_get, page_settings_post;
web_handler page_findings_get;
web_handler page_report_get;
web_handler page_job_get, page_job_post, page_job_file_get;
web_handler page_work_get, page_work_post, page_work_ledger_post, page_work_photos_post, page_spent_post;
web_handler page_winter_get, page_winter_post, page_winter_file_get;
web_handler page_help_get;
web_handler page_export_get, page_export_file_get;
web_handler page_import_get, page_import_post;
web_handler page_sheets_get;
web_handler page_events_get, page_events_post, page_event_get, page_event_post, page_event_log_post;
web_handler page_season_get;
web_handler page_ready_get, page_ready_post, page_ready_file_get;
web_handler page_parts_get, page_parts_post, page_part_get, page_part_post;
web_handler page_driveline_get, page_driveline_post;
web_handler page_driveline_columns_get, page_driveline_columns_post, page_driveline_car_post, page_run_post;
web_handler page_whatif_get, page_whatif_result_get;

#endif
