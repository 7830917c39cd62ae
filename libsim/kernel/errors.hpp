#pragma once

#include <stdexcept>

namespace farrowtide {

/// What the user gave is wrong: a scenario, a coefficient, a time, an argument. The message says what, where and what
/// to do.
class UserError : public std::runtime_error {
 public:
  using std::runtime_error::runtime_error;
};

/// We are wrong: a broken promise inside the library, worth a bug report.
class InternalError : public std::logic_error {
 public:
  using std::logic_error::logic_error;
};

}  // namespace farrowtide
