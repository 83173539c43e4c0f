#include <unistd.h>

#include <catch2/catch.hpp>
#include <chrono>
#include <filesystem>
#include <fstream>
#include <sstream>
#include <thread>

#include "tests/controller/station/fakes.hpp"
#include "workshop/drafts.hpp"
#include "workshop/trial_bench.hpp"

// Goal: what a trial found becomes a draft that nobody can change unseen, and a revision only by a second
// person's release. Method: a trial of a shipped recipe, made once; a copy of the shipped library.
using namespace shankwright;
using namespace shankwright::workshop;

namespace {

const char* const recipe_id = "straight-shank-3-16-7x19";

TrialState wait_for_end(TrialBench& bench) {
  while (bench.state().now == TrialState::Now::running)
    std::this_thread::sleep_for(std::chrono::milliseconds(5));
  return bench.state();
}

struct Desk {
  std::filesystem::path folder =
      std::filesystem::temp_directory_path() / ("shankwright-drafts-" + std::to_string(::getpid()));
  tests::HandClock clock;
  tests::MemoryStore record;
  library::Library library;
  std::unique_ptr<Drafts> drafts;

  Desk() {
    std::filesystem::remove_all(folder);
    std::filesystem::copy(SOURCE_DIR "/recipes", folder, std::filesystem::copy_options::recursive);
    open();
  }
  ~Desk() { std::filesystem::remove_all(folder); }
  void open() {
    library = library::load(folder);
    drafts = std::make_unique<Drafts>(record, library, folder, clock);
  }
  [[nodiscard]] std::string file(const std::string& id) const {
    std::ifstream in(folder / "recipes" / (id + ".yaml"));
    std::stringstream out;
    if (in) out << in.rdbuf();
    return out.str();
  }
};

/// The trial that every test here draws on.
const trial::Report& found() {
  static const trial::Report report = [] {
    tests::HandClock clock;
    TrialBench bench(clock);
    trial::WholeTrial wanted;
    wanted.joined = library::join(library::load(SOURCE_DIR "/recipes"), recipe_id).value();
    wanted.fittings = 2000;
    REQUIRE_FALSE(bench.start(wanted, std::string(recipe_id) + ".r2", "dan"));
    CHECK(bench.start(wanted, "another", "dan"));  // one at a time
    const auto state = wait_for_end(bench);
    CHECK(state.now == TrialState::Now::done);
    CHECK(state.runs_done == state.runs_all);
    CHECK(state.report_number == 2);  // of the first thousand, then of all
    REQUIRE(bench.report() != nullptr);
    return *bench.report();
  }();
  return report;
}

}  // namespace

TEST_CASE("a trial on the bench finds what the same trial finds anywhere, to the last bit") {
  trial::WholeTrial wanted;
  wanted.joined = found().joined;
  wanted.fittings = 2000;
  wanted.threads = 2;
  const auto again = trial::run_whole(wanted);
  REQUIRE(again);
  CHECK(again.value().window.recommended_kn == found().window.recommended_kn);
  REQUIRE(again.value().rows.size() == found().rows.size());
  for (std::size_t i = 0; i < found().rows.size(); ++i) {
    CHECK(again.value().rows[i].rejected == found().rows[i].rejected);
    CHECK(again.value().rows[i].growth.mean == found().rows[i].growth.mean);
  }
}

TEST_CASE("a trial that is cancelled ends, and another may begin") {
  tests::HandClock clock;
  TrialBench bench(clock);
  trial::WholeTrial wanted;
  wanted.joined = found().joined;
  CHECK_FALSE(bench.cancel());
  REQUIRE_FALSE(bench.start(wanted, "first", "dan"));
  CHECK(bench.cancel());
  CHECK(wait_for_end(bench).now == TrialState::Now::cancelled);
  CHECK(bench.report() == nullptr);
  REQUIRE_FALSE(bench.start(wanted, "second", "dan"));
  CHECK(bench.state().number == 2);
}

TEST_CASE("a recipe that the section model cannot run fails with its reason") {
  tests::HandClock clock;
  TrialBench bench(clock);
  trial::WholeTrial wanted;
  wanted.joined = found().joined;
  wanted.joined.terminal.bore_diameter_mm = wanted.joined.terminal.shank_diameter_mm.most + 1;
  REQUIRE_FALSE(bench.start(wanted, "hollow", "dan"));
  const auto state = wait_for_end(bench);
  CHECK(state.now == TrialState::Now::failed);
  CHECK_FALSE(state.problem.found.empty());
}

TEST_CASE("a draft is the next revision, on record, with what it changes") {
  Desk desk;
  const auto draft = desk.drafts->make(found(), "dan");
  REQUIRE(draft);
  CHECK(draft.value().id == std::string(recipe_id) + ".r3");
  CHECK(draft.value().made_by == "dan");
  CHECK(desk.record.kept.at(0).entry.kind == "recipe");
  CHECK(desk.record.kept.at(0).entry.event == "recipe_drafted");
  CHECK(desk.file(draft.value().id).empty());  // nothing in the library yet
  const auto look = desk.drafts->look(draft.value());
  CHECK(look.faults.empty());
  CHECK(look.against_revision == 2U);
  const auto target = std::find_if(look.changes.begin(), look.changes.end(),
                                   [](const auto& change) { return change.what == "target_force_kn"; });
  REQUIRE(target != look.changes.end());
  CHECK(std::stod(target->becomes) == found().window.recommended_kn);
  for (const auto& change : look.changes) {
    CHECK(change.was != change.becomes);
    CHECK(change.what != "across_flats_mm.least");  // 0.305 in, written as mm: the same
    CHECK(change.what != "rope");                   // the trial keeps what the recipe is made of
  }
  CHECK(desk.drafts->make(found(), "dan").value().revision == 4);
}

TEST_CASE("a release is a new file and an entry, by another person than who made the draft") {
  Desk desk;
  const auto id = desk.drafts->make(found(), "dan").value().id;
  CHECK(desk.drafts->release(id, "tried on five parts", "dan").problem().place == "person");
  CHECK(desk.drafts->release("nobody.r1", "tried", "cleo").problem().place == "draft");
  const auto released = desk.drafts->release(id, "tried on five parts", "cleo");
  REQUIRE(released);
  CHECK(released.value().now == Draft::Now::released);
  CHECK(released.value().ended_by == "cleo");
  CHECK(desk.record.kept.back().entry.event == "recipe_released");
  CHECK(desk.drafts->release(id, "again", "cleo").problem().place == "draft");
  CHECK(desk.library.recipes.at(recipe_id).revision ==
        2);  // what the station runs on does not change under it
  desk.open();
  CHECK(desk.library.faults.empty());
  CHECK(desk.library.recipes.at(recipe_id).revision == 3);
  CHECK(desk.library.recipes.at(recipe_id).status == recipe::Status::released);
  CHECK(desk.library.recipes.at(recipe_id).target_force_kn == found().window.recommended_kn);
  CHECK(desk.drafts->all().value().at(0).now == Draft::Now::released);
}

TEST_CASE("a release that the record refuses leaves no file, one whose file is there already no entry") {
  Desk desk;
  const auto id = desk.drafts->make(found(), "dan").value().id;
  desk.record.broken = true;
  CHECK_FALSE(desk.drafts->release(id, "tried", "cleo"));
  CHECK(desk.file(id).empty());
  desk.record.broken = false;
  std::ofstream(desk.folder / "recipes" / (id + ".yaml")) << "somebody else's";
  const auto entries = desk.record.kept.size();
  CHECK(desk.drafts->release(id, "tried", "cleo").problem().place == "file");
  CHECK(desk.record.kept.size() == entries);
  CHECK(desk.file(id) == "somebody else's");
}

TEST_CASE("a station that died between file and record can release again") {
  Desk desk;
  const auto draft = desk.drafts->make(found(), "dan").value();
  std::ofstream(desk.folder / "recipes" / (draft.id + ".yaml")) << draft.text;
  CHECK(desk.drafts->release(draft.id, "tried", "cleo"));
  CHECK(desk.file(draft.id).find("status: released") != std::string::npos);
}

TEST_CASE("a dropped draft waits no more and stays on record") {
  Desk desk;
  const auto id = desk.drafts->make(found(), "dan").value().id;
  const auto dropped = desk.drafts->drop(id, "wrong dies", "dan");
  REQUIRE(dropped);
  CHECK(dropped.value().now == Draft::Now::dropped);
  CHECK(dropped.value().reason == "wrong dies");
  CHECK(desk.drafts->release(id, "tried", "cleo").problem().place == "draft");
  CHECK(desk.record.kept.size() == 2);
}
