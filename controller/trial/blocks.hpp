#pragma once
#include <algorithm>
#include <atomic>
#include <cstddef>
#include <thread>
#include <vector>

namespace shankwright::trial {

/// Calls work(first, last) for blocks of fixed size until `count` is done, on so many threads. Which thread
/// takes which block is chance, so a block may write only what belongs to its own fittings.
template <typename Work>
void in_blocks(std::size_t count, unsigned threads, const Work& work) {
  constexpr std::size_t block = 500;
  std::atomic<std::size_t> next{0};
  const auto take = [&] {
    for (std::size_t first = next.fetch_add(block); first < count; first = next.fetch_add(block))
      work(first, std::min(first + block, count));
  };
  std::vector<std::jthread> others;
  for (unsigned t = 1; t < std::clamp(threads, 1U, 64U); ++t) others.emplace_back(take);
  take();
}

}  // namespace shankwright::trial
