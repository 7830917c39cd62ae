#include "libsim/kernel/frame_pool.hpp"

#include <gtest/gtest.h>

#include <cstdint>
#include <cstring>
#include <map>
#include <random>
#include <utility>
#include <vector>

namespace farrowtide {
namespace {

TEST(FramePool, HandsOutAlignedBlocksThatDoNotOverlap) {
  const FramePool::Owner pool = FramePool::create();
  std::mt19937 random{7};
  std::vector<std::pair<void*, std::size_t>> frames;
  for (int step = 0; step < 20000; ++step) {
    if (frames.size() < 50 || random() % 2 == 0) {
      const std::size_t size = 1 + random() % (step % 100 == 0 ? 20000 : 900);
      void* frame = pool->allocate(size);
      ASSERT_EQ(reinterpret_cast<std::uintptr_t>(frame) % 64, 0U);
      std::memset(frame, static_cast<int>(size % 251), size);
      frames.emplace_back(frame, size);
    } else {
      std::swap(frames[random() % frames.size()], frames.back());
      const auto [frame, size] = frames.back();
      frames.pop_back();
      for (std::size_t i = 0; i < size; ++i) ASSERT_EQ(static_cast<unsigned char*>(frame)[i], size % 251);
      FramePool::deallocate(frame, size);
    }
    ASSERT_EQ(pool->live_frames(), frames.size());
  }
  for (const auto& [frame, size] : frames) FramePool::deallocate(frame, size);
  EXPECT_EQ(pool->live_frames(), 0U);
}

TEST(FramePool, UsesAFreedBlockAgain) {
  if (FARROWTIDE_FRAMES_ALONE) GTEST_SKIP() << "the pool passes through under an address sanitizer";
  const FramePool::Owner pool = FramePool::create();
  void* first = pool->allocate(300);
  const std::size_t before = pool->allocations();
  FramePool::deallocate(first, 300);
  void* second = pool->allocate(290);
  EXPECT_EQ(first, second);
  EXPECT_EQ(pool->allocations(), before);
  FramePool::deallocate(second, 290);
}

}  // namespace
}  // namespace farrowtide
