#include "inspection/inspection.hpp"

#include <chrono>
#include <condition_variable>
#include <mutex>
#include <nlohmann/json.hpp>
#include <thread>

#include "inspection/dossier_proof.hpp"
#include "record/data_folder.hpp"
#include "record/store.hpp"
#include "record/verify.hpp"
#include "review/nearest_serials.hpp"

namespace shankwright::inspection {
namespace {

using ports::Verification;
using State = Verification::State;

/// Of the record's files: what a verification has to read.
std::uint64_t bytes_of_record(const std::filesystem::path& folder) {
  std::uint64_t out = 0;
  std::error_code error;
  for (const auto& part : {folder, folder / "archive"})
    for (const auto& entry : std::filesystem::directory_iterator(part, error))
      if (entry.path().extension() == ".sqlite3") {
        const auto size = entry.file_size(error);
        if (!error) out += size;
      }
  return out;
}

const char* name_of(record::VerifyPart part) {
  switch (part) {
    case record::VerifyPart::pages:
      return "pages";
    case record::VerifyPart::hashes:
      return "hashes";
    case record::VerifyPart::index_made:
      return "index_made";
    case record::VerifyPart::index_looked:
      return "index_looked";
  }
  return "";
}

std::string body_of(const Verification& outcome) {
  nlohmann::ordered_json findings = nlohmann::ordered_json::array();
  for (const auto& finding : outcome.findings)
    findings.push_back({{"sequence", finding.sequence}, {"what", finding.what}});
  return nlohmann::ordered_json{{"sound", outcome.sound()},
                                {"started_utc_us", outcome.started_utc_us},
                                {"entries", outcome.entries},
                                {"traces", outcome.traces},
                                {"fittings", outcome.fittings},
                                {"seals", outcome.seals},
                                {"newest_sequence", outcome.newest_sequence},
                                {"findings", findings},
                                {"notes", outcome.notes},
                                {"fault", outcome.fault}}
      .dump(-1, ' ', false, nlohmann::ordered_json::error_handler_t::replace);
}

/// What an earlier process put on record. The newest seal is not among it.
Verification outcome_of(const ports::NewEntry& entry) {
  Verification out;
  const auto body = nlohmann::json::parse(entry.body_json, nullptr, false);
  if (!body.is_object()) return out;
  out.asked_by = entry.actor;
  out.ended_utc_us = entry.at_utc_us;
  out.started_utc_us = body.value("started_utc_us", entry.at_utc_us);
  out.entries = body.value("entries", std::int64_t{0});
  out.traces = body.value("traces", std::int64_t{0});
  out.fittings = body.value("fittings", std::int64_t{0});
  out.seals = body.value("seals", std::int64_t{0});
  out.newest_sequence = body.value("newest_sequence", std::int64_t{0});
  out.fault = body.value("fault", std::string());
  for (const auto& note : body.value("notes", nlohmann::json::array()))
    if (note.is_string()) out.notes.push_back(note.get<std::string>());
  for (const auto& finding : body.value("findings", nlohmann::json::array()))
    if (finding.is_object())
      out.findings.push_back(
          {finding.value("sequence", std::int64_t{0}), finding.value("what", std::string())});
  // Whoever altered the outcome's "sound" alone altered nothing: it follows from what was found.
  out.state = out.fault.empty() ? State::done : State::failed;
  return out;
}

}  // namespace

/// The thread shares `State` with its owner and reaches store and clock only while the owner is there:
/// SQLite's check of a file's pages cannot be broken off, and a station that stops must not wait minutes for
/// it.
class Inspection::Verifier {
 public:
  Verifier(record::SqliteStore& store, std::filesystem::path folder, const ports::Clock& clock)
      : shared_(std::make_shared<Shared>()) {
    shared_->store = &store;
    shared_->clock = &clock;
    shared_->folder = std::move(folder);
    const auto earlier = store.entries_of_kind(verification_kind, 0);
    if (earlier && !earlier.value().empty()) shared_->newest = outcome_of(earlier.value().back().entry);
  }
  ~Verifier() {
    std::unique_lock lock(shared_->mutex);
    shared_->stopping = true;
    shared_->ended.wait_for(lock, std::chrono::seconds(2),
                            [&] { return shared_->newest.state != State::running; });
    shared_->store = nullptr;
    shared_->clock = nullptr;
  }

  Verification newest() const {
    const std::lock_guard lock(shared_->mutex);
    return shared_->newest;
  }

  bool begin(const std::string& actor) {
    const std::lock_guard lock(shared_->mutex);
    auto& newest = shared_->newest;
    if (newest.state == State::running) return false;
    newest = {};
    newest.state = State::running;
    newest.asked_by = actor;
    newest.started_utc_us = shared_->clock->utc_us();
    newest.bytes = bytes_of_record(shared_->folder);
    newest.part = name_of(record::VerifyPart::pages);
    std::thread([shared = shared_] { run(*shared); }).detach();
    return true;
  }

 private:
  struct Shared {
    std::mutex mutex;
    std::condition_variable ended;
    record::SqliteStore* store = nullptr;
    const ports::Clock* clock = nullptr;
    std::filesystem::path folder;
    bool stopping = false;
    Verification newest;
  };

  static void run(Shared& shared) {
    record::VerifyWish wish;
    wish.record = shared.folder;
    wish.watch = [&shared](const record::VerifyProgress& now) {
      const std::lock_guard lock(shared.mutex);
      shared.newest.part = name_of(now.part);
      shared.newest.part_done = now.done;
      shared.newest.part_of = now.of;
      return !shared.stopping;
    };
    const auto report = record::verify(wish);
    const std::lock_guard lock(shared.mutex);
    if (shared.store == nullptr) return;
    auto& outcome = shared.newest;
    outcome.part.clear();
    outcome.part_done = outcome.part_of = 0;
    if (report) {
      take(report.value(), outcome);
    } else {
      outcome.state = State::failed;
      outcome.fault = report.problem().text();
    }
    outcome.ended_utc_us = shared.clock->utc_us();
    if (shared.stopping && !report) return shared.ended.notify_all();  // there is no outcome to put on record
    ports::NewEntry entry;
    entry.at_utc_us = *outcome.ended_utc_us;
    entry.kind = verification_kind;
    entry.event = "verified";
    entry.actor = outcome.asked_by;
    entry.body_json = body_of(outcome);
    if (const auto kept = shared.store->append({entry}); !kept)
      outcome.notes.push_back("This outcome is not on record: " + kept.problem().text() + ".");
    shared.ended.notify_all();
  }

  static void take(const record::VerifyReport& found, Verification& outcome) {
    outcome.state = State::done;
    outcome.entries = found.entries;
    outcome.traces = found.traces;
    outcome.fittings = found.fittings;
    outcome.seals = found.seals;
    outcome.newest_sequence = found.newest;
    outcome.newest_seal = found.newest_seal;
    outcome.notes = found.notes;
    for (const auto& finding : found.findings) outcome.findings.push_back({finding.sequence, finding.what});
  }

  std::shared_ptr<Shared> shared_;
};

Inspection::Inspection(record::SqliteStore& store, std::filesystem::path folder, const ports::Clock& clock)
    : store_(store),
      folder_(std::move(folder)),
      verifier_(std::make_unique<Verifier>(store, folder_, clock)) {}

Inspection::~Inspection() = default;

Result<std::int64_t> Inspection::each_fitting(
    const ports::FittingFilter& filter, const std::function<bool(const ports::FittingRow&)>& visit) const {
  return store_.each_fitting(filter, visit);
}

Result<std::vector<std::string>> Inspection::serials_near(const std::string& typed, std::size_t most) const {
  const auto known = store_.serials_near(typed);
  if (!known) return known.problem();
  return review::nearest_serials(typed, known.value(), most);
}

Verification Inspection::verification() const {
  return verifier_->newest();
}

bool Inspection::verify_whole(const std::string& actor) {
  return verifier_->begin(actor);
}

Result<ports::DossierProof> Inspection::prove(const std::string& serial) const {
  const std::unique_lock turn(proving_, std::chrono::seconds(5));
  if (!turn.owns_lock())
    return Problem{"integrity", "other dossiers being proven", "fewer at once: ask again in a moment"};
  return prove_dossier(record::record_file(folder_), store_, serial);
}

}  // namespace shankwright::inspection
