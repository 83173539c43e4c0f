#include <catch2/catch.hpp>

#include "jobs/job_book.hpp"
#include "jobs/job_json.hpp"
#include "jobs/progress.hpp"
#include "tests/controller/record/scratch_record.hpp"

// Goal: a job on record is never overwritten unseen, survives a restart, and its bars grow by nobody's guess.
using namespace shankwright;
using namespace shankwright::record_test;
using jobs::JobBook;

namespace {

struct Clock final : ports::Clock {
  [[nodiscard]] std::int64_t utc_us() const override { return 1'935'500'000'000'000; }
  [[nodiscard]] std::int64_t monotonic_us() const override { return 0; }
};

planning::Assembly line(const std::string& mark, std::uint32_t quantity, const std::string& a,
                        const std::string& b) {
  planning::Assembly out;
  out.mark = mark;
  out.quantity = quantity;
  out.ends[0].recipe = a;
  if (b.empty()) {
    out.ends[1].making = planning::EndMaking::hand_fitted;
  } else {
    out.ends[1].recipe = b;
  }
  return out;
}

planning::Job job(std::vector<planning::Assembly> lines) {
  planning::Job out;
  out.id = "demo-job";
  out.assemblies = std::move(lines);
  return out;
}

void made(record::SqliteStore& store, const std::string& for_job, const std::string& recipe,
          const std::string& stage) {
  auto row = row_of("");
  row.job = for_job;
  row.recipe_id = recipe;
  const auto serial = begin_fitting(store, 1000, row);
  if (stage != "measure") good(store.append({entry_of(serial, "step", 2000, stage)}));
}

const jobs::LineProgress& of(const jobs::Progress& progress, const std::string& mark) {
  for (const auto& known : progress.lines)
    if (known.mark == mark) return known;
  FAIL("no line " + mark);
  return progress.lines.front();
}

constexpr const char* body = R"({"id":"demo-job","title":"demo data"})";

}  // namespace

TEST_CASE("fittings count for the line they were begun for, by stage; a scrapped one fills no place") {
  const ScratchFolder folder;
  const auto store = opened(folder);
  made(*store, "demo-job/CAP", "thick", "released");
  made(*store, "demo-job/CAP", "thick", "accepted");
  made(*store, "demo-job/CAP", "thick", "hold");
  made(*store, "demo-job/CAP", "thick", "scrapped");
  made(*store, "demo-job/CAP", "thick", "measure");
  made(*store, "another-job/CAP", "thick", "released");
  const auto progress =
      good(jobs::progress_of(job({line("CAP", 4, "thick", "thick"), line("STAY", 1, "thin", "")}), *store));
  const auto& cap = of(progress, "CAP");
  CHECK(cap.tally.wanted == 8);
  CHECK(cap.tally.released == 1);
  CHECK(cap.tally.accepted == 1);
  CHECK(cap.tally.held == 1);
  CHECK(cap.tally.scrapped == 1);
  CHECK(cap.tally.under_way == 1);
  CHECK(of(progress, "STAY").tally.wanted == 1);
  CHECK(progress.whole.wanted == 9);
  CHECK(progress.whole.released == 1);
}

TEST_CASE("a fitting begun for the job's name alone counts where one line wants it, and else for none") {
  const ScratchFolder folder;
  const auto store = opened(folder);
  made(*store, "demo-job", "thick", "released");
  made(*store, "demo-job", "thin", "released");
  const auto clear = good(jobs::progress_of(job({line("CAP", 1, "thick", "thin")}), *store));
  CHECK(clear.lines.size() == 2);
  CHECK(clear.whole.released == 2);
  CHECK(clear.lines[0].tally.released == 1);
  const auto unclear =
      good(jobs::progress_of(job({line("CAP", 1, "thick", "thin"), line("LOW", 1, "thick", "")}), *store));
  CHECK(of(unclear, "LOW").tally.released == 0);
  CHECK(of(unclear, "").tally.released == 1);
  CHECK(of(unclear, "").recipe == "thick");
  CHECK(of(unclear, "").tally.wanted == 0);
}

TEST_CASE("samples to be pulled are two ends each, and begun for a line of their own") {
  const ScratchFolder folder;
  const auto store = opened(folder);
  auto with_samples = job({line("CAP", 1, "thick", "thick")});
  with_samples.destructive_samples = planning::Samples{3, 300};
  made(*store, "demo-job/samples", "thick", "released");
  const auto progress = good(jobs::progress_of(with_samples, *store));
  CHECK(of(progress, "samples").tally.wanted == 6);
  CHECK(of(progress, "samples").tally.released == 1);
  CHECK(of(progress, "CAP").tally.released == 0);
}

TEST_CASE("jobs are kept by the record: a second book, and one after a restart, know them") {
  const ScratchFolder folder;
  const Clock clock;
  {
    const auto store = opened(folder);
    JobBook book(*store, clock);
    const auto entered = good(book.enter(job({}), {}, body, "plan-1"));
    CHECK(book.enter(job({}), {}, body, "plan-2").problem().place == "/id");
    const auto changed = good(book.change(job({}), {}, body, entered.sequence, "plan-2"));
    CHECK(changed.entered_by == "plan-1");
    CHECK(changed.changed_by == "plan-2");
    CHECK(book.change(job({}), {}, body, entered.sequence, "plan-3").problem().place == "/of");
    const JobBook other(*store, clock);
    CHECK(good(other.find("demo-job")).has_value());
  }
  const auto store = opened(folder);
  JobBook book(*store, clock);
  CHECK(good(book.all()).size() == 1);
  const auto withdrawn = good(book.withdraw("demo-job", "another rig", "plan-1"));
  CHECK(withdrawn.withdrawn);
  CHECK(withdrawn.body_json == body);
  CHECK(book.withdraw("demo-job", "again", "plan-1").problem().place == "job");
  CHECK(book.withdraw("none", "x", "plan-1").problem().place == "job");
  CHECK(book.change(job({}), {}, body, withdrawn.sequence, "plan-1").problem().place == "/of");
  // Whoever enters a job of the same name would give old fittings another meaning.
  CHECK(book.enter(job({}), {}, body, "plan-1").problem().place == "/id");
}

TEST_CASE("a path of a plan is a JSON pointer") {
  CHECK(jobs::pointer_of("assemblies[0].ends[1].recipe") == "/assemblies/0/ends/1/recipe");
  CHECK(jobs::pointer_of("assemblies") == "/assemblies");
  CHECK(jobs::pointer_of("") == "");
}
