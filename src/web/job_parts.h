/* The parts of a job's page, and what its forms change. */
#ifndef CROSSHATCH_WEB_JOB_PARTS_H
#define CROSSHATCH_WEB_JOB_PARTS_H

#include "html.h"
#include "job_view.h"

/* The step that is next, behind its cautions, with its buttons and the torques it needs; or that nothing is left to do. */
ch_status job_step_write(html_writer *w, web_request *request, const job_view *view, ch_err *err);

/* All steps as a list of links. */
void job_steps_list(html_writer *w, const web_request *request, const job_view *view);

/* What is off for this job and its access, each with the button that puts it back. */
void job_off_write(html_writer *w, const web_request *request, const job_view *view);

/* Torques as the car's own manual has them, each with its form and its cross-check. */
void job_torques_write(html_writer *w, const web_request *request, const job_view *view, const char *alert);

/* What proves the job, and the form that closes it. */
void job_proof_write(html_writer *w, web_request *request, const job_view *view);

/* What to buy and which tools, folded. */
void job_goods_write(html_writer *w, const job_view *view);

/* Do what a form of the page says. CH_E_INPUT is a refusal to be shown. */
ch_status job_change(web_request *request, job_view *view, ch_err *err);

#endif
