#pragma once
#include <functional>
#include <string>
#include <vector>

#include "planning/plan.hpp"
#include "quantity/result.hpp"

/// A plan as people and programs read it: text, CSV, JSON, and a sheet for the cutter. Pure: strings in,
/// strings out.
namespace shankwright::cut_list {

enum class LengthUnit { mm, in };

/// From 1; 0 where a place is not known.
struct FilePlace {
  int line = 0;
  int column = 0;
};

struct Document {
  std::string file;             ///< the job's, as the planner named it
  std::vector<Problem> faults;  ///< of the file; with any, job and plan are empty
  planning::Job job;
  planning::Plan plan;
  std::function<FilePlace(const std::string& path)> place_of;  ///< where a path of the job stands in the file
};

/// "file:line:column" of a path of the job.
[[nodiscard]] std::string place_text(const Document& document, const std::string& path);

/// For a terminal: faults or refusals, or cut list, accounts, bill of parts and cautions.
[[nodiscard]] std::string text(const Document& document, LengthUnit unit);

/// Which table; each has one row per assembly, per line of an account, or per thing needed. RFC 4180, with
/// the unit in the column's name.
enum class Table { cuts, account, bill };
[[nodiscard]] std::string csv(const Document& document, Table table, LengthUnit unit);

/// Everything; lengths in mm whatever the text is printed in.
[[nodiscard]] std::string json(const Document& document);

/// A page of HTML that needs nothing else, made to be printed on A4: cautions, pieces with boxes to tick,
/// accounts, bill of parts. Only of a plan without refusals.
[[nodiscard]] std::string sheet(const Document& document, LengthUnit unit);

/// Said on everything that leads to a cut.
[[nodiscard]] const std::vector<std::string>& standing_cautions();

}  // namespace shankwright::cut_list
