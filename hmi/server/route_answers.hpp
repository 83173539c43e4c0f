#pragma once
#include "hmi/server/exchange.hpp"

/// The answers behind the table in routes.cpp, grouped by file.
namespace shankwright::hmi {

// session_routes.cpp
[[nodiscard]] Reply sign_in(const Service& service, const Request& request);
[[nodiscard]] Reply who(const Service& service, const Request& request);
[[nodiscard]] Reply sign_out(const Service& service, const Request& request);
[[nodiscard]] Reply set_pin(const Service& service, const Request& request);
[[nodiscard]] Reply confirm_pin(const Service& service, const Request& request);

// people_routes.cpp
[[nodiscard]] Reply list_people(const Service& service, const Request& request);
[[nodiscard]] Reply add_person(const Service& service, const Request& request);
[[nodiscard]] Reply change_roles(const Service& service, const Request& request);
[[nodiscard]] Reply change_qualification(const Service& service, const Request& request);
[[nodiscard]] Reply issue_code(const Service& service, const Request& request);
[[nodiscard]] Reply unlock_person(const Service& service, const Request& request);
[[nodiscard]] Reply remove_person(const Service& service, const Request& request);

// station_routes.cpp
[[nodiscard]] Reply station(const Service& service, const Request& request);
[[nodiscard]] Reply library_listing(const Service& service, const Request& request);
[[nodiscard]] Reply open_dies(const Service& service, const Request& request);
[[nodiscard]] Reply clear_fault(const Service& service, const Request& request);
[[nodiscard]] Reply zero_pressure(const Service& service, const Request& request);

// fitting_routes.cpp
[[nodiscard]] Reply start_fitting(const Service& service, const Request& request);
[[nodiscard]] Reply find_fittings(const Service& service, const Request& request);
[[nodiscard]] Reply one_fitting(const Service& service, const Request& request);
[[nodiscard]] Reply dossier(const Service& service, const Request& request);
[[nodiscard]] Reply evidence(const Service& service, const Request& request);
[[nodiscard]] Reply ask_permit(const Service& service, const Request& request);
[[nodiscard]] Reply withdraw_permit(const Service& service, const Request& request);
[[nodiscard]] Reply judge(const Service& service, const Request& request);
[[nodiscard]] Reply release(const Service& service, const Request& request);
[[nodiscard]] Reply put_aside(const Service& service, const Request& request);
[[nodiscard]] Reply resume(const Service& service, const Request& request);
[[nodiscard]] Reply hold(const Service& service, const Request& request);
[[nodiscard]] Reply dispose(const Service& service, const Request& request);

// papers_routes.cpp
[[nodiscard]] Reply certificate(const Service& service, const Request& request);
[[nodiscard]] Reply dossier_pages(const Service& service, const Request& request);
[[nodiscard]] Reply fitting_label(const Service& service, const Request& request);

// care_routes.cpp
[[nodiscard]] Reply list_quarantined(const Service& service, const Request& request);
[[nodiscard]] Reply quarantine(const Service& service, const Request& request);
[[nodiscard]] Reply lift_quarantine(const Service& service, const Request& request);
[[nodiscard]] Reply correct(const Service& service, const Request& request);
[[nodiscard]] Reply end_shift(const Service& service, const Request& request);

// control_routes.cpp
[[nodiscard]] Reply take_control(const Service& service, const Request& request);
[[nodiscard]] Reply give_up_control(const Service& service, const Request& request);

// review_routes.cpp
[[nodiscard]] Reply export_csv(const Service& service, const Request& request);
[[nodiscard]] Reply export_json(const Service& service, const Request& request);
[[nodiscard]] Reply integrity(const Service& service, const Request& request);
[[nodiscard]] Reply verify_whole(const Service& service, const Request& request);
[[nodiscard]] Reply fitting_integrity(const Service& service, const Request& request);

// job_routes.cpp
[[nodiscard]] Reply list_jobs(const Service& service, const Request& request);
[[nodiscard]] Reply one_job(const Service& service, const Request& request);
[[nodiscard]] Reply check_job(const Service& service, const Request& request);
[[nodiscard]] Reply enter_job(const Service& service, const Request& request);
[[nodiscard]] Reply change_job(const Service& service, const Request& request);
[[nodiscard]] Reply withdraw_job(const Service& service, const Request& request);
[[nodiscard]] Reply cut_sheet(const Service& service, const Request& request);
[[nodiscard]] Reply job_table(const Service& service, const Request& request);

// workshop_routes.cpp
[[nodiscard]] Reply force_calibration(const Service& service, const Request& request);
[[nodiscard]] Reply begin_force_calibration(const Service& service, const Request& request);
[[nodiscard]] Reply begin_force_run(const Service& service, const Request& request);
[[nodiscard]] Reply take_force_reading(const Service& service, const Request& request);
[[nodiscard]] Reply finish_force_calibration(const Service& service, const Request& request);
[[nodiscard]] Reply leave_force_calibration(const Service& service, const Request& request);
[[nodiscard]] Reply press_health(const Service& service, const Request& request);
[[nodiscard]] Reply falls_due(const Service& service, const Request& request);

// trial_routes.cpp
[[nodiscard]] Reply trial_state(const Service& service, const Request& request);
[[nodiscard]] Reply start_trial(const Service& service, const Request& request);
[[nodiscard]] Reply cancel_trial(const Service& service, const Request& request);
[[nodiscard]] Reply trial_report(const Service& service, const Request& request);
[[nodiscard]] Reply list_drafts(const Service& service, const Request& request);
[[nodiscard]] Reply one_draft(const Service& service, const Request& request);
[[nodiscard]] Reply make_draft(const Service& service, const Request& request);
[[nodiscard]] Reply release_draft(const Service& service, const Request& request);
[[nodiscard]] Reply drop_draft(const Service& service, const Request& request);

// page.cpp
[[nodiscard]] Reply page(const Service& service, const Request& request);
[[nodiscard]] Reply openapi(const Service& service, const Request& request);

}  // namespace shankwright::hmi
