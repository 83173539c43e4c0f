#include <iostream>

#include "paper_record.hpp"

/// A data folder with three fittings of one job, for command_test.py: released and sealed, on hold, released
/// without a seal. Prints their serials, a line each.
int main(int argc, char** argv) {
  if (argc != 2) return 2;
  const auto store = shankwright::record::SqliteStore::open(argv[1]);
  if (!store) {
    std::cerr << store.problem().text() << '\n';
    return 3;
  }
  using shankwright::papers_test::write_fitting;
  std::cout << write_fitting(*store.value(), {.proof_load = true}) << '\n'
            << write_fitting(*store.value(),
                             {.job = "job-42", .held_and_used_as_is = true, .released = false})
            << '\n'
            << write_fitting(*store.value(), {.job = "job-43", .sealed = false}) << '\n';
  return 0;
}
