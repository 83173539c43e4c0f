#include "inspection/dossier_proof.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <stdexcept>

#include "record/connection.hpp"
#include "record/integrity.hpp"
#include "record/part_files.hpp"
#include "record/reader.hpp"
#include "record/seal.hpp"

namespace shankwright::inspection {
namespace {

constexpr const char* reached = "reached";  // ends a walk; nobody sees it

/// Goes over the chain from the fitting's first entry and remembers what stands at its target.
struct Walk {
  std::int64_t target = 0;
  std::int64_t checked = 0;
  bool arrived = false;
  std::string head_hex;
  std::optional<ports::IntegrityFinding> broken;

  void over(SQLite::Database& database, std::int64_t first) {
    if (arrived || broken) return;
    const auto chain = record::check_chain(
        database, first, [&](const record::WalkedEntry& entry) -> std::optional<std::string> {
          if (entry.fields.sequence < target) return std::nullopt;
          arrived = true;
          head_hex = record::hex(entry.hash);
          return reached;
        });
    checked += chain.checked + (arrived ? 1 : 0);
    if (!arrived && chain.broken)
      broken = {chain.broken->sequence,
                fmt::format("Entry {}: {}.", chain.broken->sequence, chain.broken->what)};
  }
};

bool names_key(const std::vector<ports::StoredEntry>& changes, const std::string& public_key_hex,
               std::int64_t before) {
  return std::any_of(changes.begin(), changes.end(), [&](const ports::StoredEntry& stored) {
    const auto change = record::read_key_change(stored.entry);
    return stored.sequence < before && change && record::hex(change.value().key) == public_key_hex;
  });
}

void look_at_seal(const ports::RecordStore& store, const Walk& walk, ports::DossierProof& out) {
  const auto& seal = *out.seal;
  const auto changes = store.entries_of_kind(std::string(record::seal_key_kind), 0);
  const auto key = record::from_hex(seal.public_key_hex);
  const auto head = record::from_hex(seal.head_hex);
  const auto signature = record::signature_from_hex(seal.signature_hex);
  if (!changes) {
    out.findings.push_back({0, changes.problem().text() + "."});
  } else if (walk.head_hex != seal.head_hex) {
    out.findings.push_back(
        {seal.sequence,
         fmt::format("The seal over entry {} was given over another content.", seal.sequence)});
  } else if (!key || !head || !signature ||
             !record::head_signature_fits(*key, seal.sequence, *head, *signature)) {
    out.findings.push_back(
        {seal.sequence, fmt::format("The signature of the seal over entry {} is not right.", seal.sequence)});
  } else if (!names_key(changes.value(), seal.public_key_hex, seal.sequence + 1)) {
    out.findings.push_back(
        {seal.sequence,
         fmt::format("The seal over entry {} is by a key that the record does not name.", seal.sequence)});
  } else {
    out.sealed = true;
    out.notes.emplace_back(
        "The seal was checked with the key that the record itself names. Only a public key kept elsewhere "
        "shows that "
        "nobody wrote the record anew.");
  }
}

/// Each of the fitting's own entries against its hash and the entry before it, and the entry that the seal
/// names: what can be said at once where the chain between is long.
void look_at_each(SQLite::Database& live, record::PartFiles& parts, const ports::RecordStore& store,
                  const std::string& serial, ports::DossierProof& out) {
  const auto entries = store.entries(serial, false);
  if (!entries) {
    out.findings.push_back({0, entries.problem().text() + "."});
    return;
  }
  const auto one = [&](std::int64_t sequence) {
    Walk walk;
    walk.target = sequence;
    parts.each(live, sequence, sequence, [&](SQLite::Database& database) { walk.over(database, sequence); });
    out.entries += walk.checked;
    if (walk.broken) out.findings.push_back(*walk.broken);
    if (!walk.broken && !walk.arrived)
      out.findings.push_back({sequence, fmt::format("The record has no entry {}.", sequence)});
    return walk;
  };
  for (const auto& entry : entries.value()) one(entry.sequence);
  out.own_entries_hold = out.findings.empty();
  if (!out.own_entries_hold || !out.seal) return;
  const auto at_seal = one(out.seal->sequence);
  if (out.findings.empty()) look_at_seal(store, at_seal, out);
}

}  // namespace

Result<ports::DossierProof> prove_dossier(const std::filesystem::path& file, const ports::RecordStore& store,
                                          const std::string& typed) {
  const auto row = store.fitting(typed);
  if (!row) return row.problem();
  ports::DossierProof out;
  try {
    const auto live = record::connect_reader(file);
    record::PartFiles parts(*live, file);
    const auto range = record::read_entry_range(*live, row.value().serial);
    if (!range) return Problem{"serial", typed, "the serial of a fitting in this record"};
    out.first_sequence = range->opened;
    out.last_sequence = range->last;
    const auto seal = store.seal_over(row.value().serial);
    if (seal) out.seal = seal.value();
    if (!seal)
      out.notes.push_back(
          "No seal covers the newest entry about it yet: the chain alone cannot show that its end was cut "
          "off.");
    Walk walk;
    walk.target = out.seal ? std::max(out.seal->sequence, range->last) : range->last;
    if (walk.target - range->opened >= entries_walked_most) {
      out.too_long = true;
      look_at_each(*live, parts, store, row.value().serial, out);
      out.notes.push_back(
          fmt::format("{} entries lie between its first entry and what covers its last. Its own entries, "
                      "their traces and the "
                      "seal were looked at; only a verification of the whole record goes over those between.",
                      walk.target - range->opened + 1));
      return out;
    }
    parts.each(*live, range->opened, walk.target,
               [&](SQLite::Database& database) { walk.over(database, range->opened); });
    out.entries = walk.checked;
    if (walk.broken) out.findings.push_back(*walk.broken);
    if (!walk.broken && !walk.arrived)
      out.findings.push_back({walk.target, fmt::format("The record ends before entry {}.", walk.target)});
    out.chain_holds = out.own_entries_hold = out.findings.empty();
    if (out.chain_holds && out.seal) look_at_seal(store, walk, out);
  } catch (const SQLite::Exception& failure) {
    if (!record::disk_in_doubt(failure)) return record::problem_of(failure, file);
    out.findings.push_back({0, "The file is damaged: " + std::string(failure.what()) + "."});
  } catch (const std::runtime_error& failure) {
    out.findings.push_back({0, std::string(failure.what()) + "."});
  }
  return out;
}

}  // namespace shankwright::inspection
