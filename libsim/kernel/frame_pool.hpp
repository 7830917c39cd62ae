#pragma once

#include <array>
#include <cstddef>
#include <memory>
#include <vector>

namespace farrowtide {

/// Memory for the coroutine frames of one simulation: 64-byte aligned blocks (over-aligned locals need it), one free
/// list per multiple of 64 bytes, in chunks that are freed with the pool. Frames above 8 KiB, and every frame
/// under an address sanitizer, come from operator new. A pool that is released while frames are alive is freed with the
/// last one.
class FramePool {
 public:
  struct Release {
    void operator()(FramePool* pool) const { pool->release(); }
  };
  using Owner = std::unique_ptr<FramePool, Release>;

  static Owner create() { return Owner{new FramePool}; }
  FramePool(const FramePool&) = delete;
  FramePool& operator=(const FramePool&) = delete;

  void* allocate(std::size_t size) {
    const std::size_t whole = size_with_owner(size);
    std::byte* block = pooled(whole) ? take(whole / alignment) : allocate_alone(whole);
    *owner_behind(block, size) = this;
    ++live_;
    return block;
  }

  /// Returns a frame to the pool it came from, whose address is stored behind the frame.
  static void deallocate(void* frame, std::size_t size) {
    auto* block = static_cast<std::byte*>(frame);
    FramePool* pool = *owner_behind(block, size);
    const std::size_t whole = size_with_owner(size);
    if (pooled(whole)) {
      pool->give(block, whole / alignment);
    } else {
      deallocate_alone(block);
    }
    if (--pool->live_ == 0 && pool->released_) pool->release();
  }

  std::size_t live_frames() const { return live_; }
  /// Chunks and frames allocated by operator new so far.
  std::size_t allocations() const { return allocations_; }

 private:
  struct FreeBlock {
    FreeBlock* next;
  };
  struct Free {
    void operator()(std::byte* block) const { deallocate_alone(block); }
  };

  static constexpr std::size_t alignment = 64;
  static constexpr std::size_t largest_pooled = 8192;
  static constexpr std::size_t chunk_size = 65536;

  FramePool() = default;
  ~FramePool() = default;

  static std::size_t size_with_owner(std::size_t size) {
    return (owner_offset(size) + sizeof(FramePool*) + alignment - 1) / alignment * alignment;
  }
  static std::size_t owner_offset(std::size_t size) {
    return (size + alignof(FramePool*) - 1) / alignof(FramePool*) * alignof(FramePool*);
  }
  static FramePool** owner_behind(std::byte* block, std::size_t size) {
    return reinterpret_cast<FramePool**>(block + owner_offset(size));
  }
  static bool pooled(std::size_t whole);

  std::byte* take(std::size_t size_class) {
    if (FreeBlock* block = free_[size_class]) {
      free_[size_class] = block->next;
      return reinterpret_cast<std::byte*>(block);
    }
    return carve(size_class * alignment);
  }
  void give(std::byte* block, std::size_t size_class) { free_[size_class] = new (block) FreeBlock{free_[size_class]}; }

  std::byte* carve(std::size_t bytes);
  std::byte* allocate_alone(std::size_t bytes);
  static void deallocate_alone(std::byte* block);
  void release();

  std::array<FreeBlock*, largest_pooled / alignment + 1> free_{};
  std::vector<std::unique_ptr<std::byte, Free>> chunks_;
  std::byte* unused_ = nullptr;
  std::size_t unused_bytes_ = 0;
  std::size_t live_ = 0;
  std::size_t allocations_ = 0;
  bool released_ = false;
};

#if defined(__SANITIZE_ADDRESS__)
#define FARROWTIDE_FRAMES_ALONE true
#elif defined(__has_feature)
#if __has_feature(address_sanitizer)
#define FARROWTIDE_FRAMES_ALONE true
#endif
#endif
#ifndef FARROWTIDE_FRAMES_ALONE
#define FARROWTIDE_FRAMES_ALONE false
#endif

inline bool FramePool::pooled(std::size_t whole) { return !FARROWTIDE_FRAMES_ALONE && whole <= largest_pooled; }

}  // namespace farrowtide
