#pragma once
#include <string>

#include "record/store.hpp"

/// Fittings as a station records them, with all that a paper can show. Demo data: nothing was measured.
namespace shankwright::papers_test {

struct Story {
  std::string job = "job-41", operator_id = "demo-operator", operator_name = "Demo Operator";
  std::string rope_lot = "rope-lot-7", terminal_lot = "terminal-lot-2",
              reason = "gauged again by hand, sound";
  std::string recipe_source = "demo data";
  bool held_and_used_as_is = false;  ///< in place of the verdict
  bool two_persons = false;          ///< the disposition was proposed by another first
  bool proof_load = false;
  bool re_pressed = false;
  bool corrected = false;  ///< the shank's reading, before the release
  bool released = true, sealed = true;
};

/// The serial.
std::string write_fitting(record::SqliteStore& store, const Story& story);

/// The rope lot is quarantined, or freed; sealed.
void quarantine(record::SqliteStore& store, const std::string& rope_lot, bool lifted);

}  // namespace shankwright::papers_test
