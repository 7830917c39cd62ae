#include "libsim/model/farrowing_room.hpp"

namespace farrowtide {

Process<> scour(FarrowingRoom& room, Sow& sow) {
  co_await sow.left.wait();
  static_cast<void>(room);
}

}  // namespace farrowtide
