#pragma once

#include <stdexcept>

namespace farrowtide {

/// Invalid input from the user: a scenario, a coefficient, a time or an argument. The message says what is wrong,
/// where, and what to do.
class UserError : public std::runtime_error {
 public:
  using std::runtime_error::runtime_error;
};

/// A bug: an invariant of the library does not hold. Please report it.
class InternalError : public std::logic_error {
 public:
  using std::logic_error::logic_error;
};

/// The user stopped the run while the code of a policy was running.
struct StoppedByUser {};

}  // namespace farrowtide
