#pragma once
#include <SQLiteCpp/SQLiteCpp.h>
#include <functional>

#include <string_view>
#include <vector>

#include "quantity/result.hpp"

/// The tables of the record and how they change from one version to the next.
///
///   entries    what happened, in order; never changed, never deleted (triggers), chained by hash (chain.hpp)
///   traces     the samples of a bite's entry (trace_codec.hpp); never changed, never deleted
///   documents  joined recipes as they were, each content once, by its BLAKE2b-256; never changed, never deleted
///   parts      closed files that this one follows on (parts.hpp)
/// and what follows from the entries and can be made anew from them (index.hpp): serials, fitting_index,
/// fitting_states, terms, number_sets, start_blocks, die_strokes, texts.
namespace shankwright::record {

/// Steps that bring a file from version n (their index) to n + 1. Version 0 is a file without tables. A step
/// once released is never edited: a change is a new step.
[[nodiscard]] const std::vector<std::string_view>& schema_steps();

/// Runs the steps the file lacks and, where it held a record already, `rebuild_index`, all in one
/// transaction, and returns the version reached. Refuses a file of another program and a file of a newer
/// version. Throws SQLite::Exception.
[[nodiscard]] Result<int> bring_up_to_date(SQLite::Database& database,
                                           const std::vector<std::string_view>& steps,
                                           const std::function<void()>& rebuild_index);

/// For readers, who change nothing: the version, when it is exactly the newest of these steps.
[[nodiscard]] Result<int> expect_version(SQLite::Database& database,
                                         const std::vector<std::string_view>& steps);

}  // namespace shankwright::record
