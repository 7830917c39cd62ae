#include "libsim/kernel/frame_pool.hpp"

#include <new>

namespace farrowtide {

std::byte* FramePool::carve(std::size_t bytes) {
  if (unused_bytes_ < bytes) {
    chunks_.emplace_back(allocate_alone(chunk_size));
    unused_ = chunks_.back().get();
    unused_bytes_ = chunk_size;
  }
  std::byte* block = unused_;
  unused_ += bytes;
  unused_bytes_ -= bytes;
  return block;
}

std::byte* FramePool::allocate_alone(std::size_t bytes) {
  ++allocations_;
  return static_cast<std::byte*>(::operator new (bytes, std::align_val_t{alignment}));
}

void FramePool::deallocate_alone(std::byte* block) { ::operator delete (block, std::align_val_t{alignment}); }

void FramePool::release() {
  released_ = true;
  if (live_ == 0) delete this;
}

}  // namespace farrowtide
