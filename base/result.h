// SPDX-License-Identifier: Apache-2.0
//
// Result<T>: a value, or one Error that says what could not be done and why.

#pragma once

#include <cassert>
#include <string>
#include <utility>
#include <variant>

namespace base {

/// Why a value is missing. `kNotPresent` and `kUnsupported` are ordinary
/// answers from a machine, never failures of ours.
enum class ErrorKind {
  kNotPresent,   // the file, device or counter does not exist here
  kDenied,       // it exists but we may not read it
  kUnsupported,  // this platform or driver has no way to say
  kMalformed,    // it was read and could not be understood
  kIo,           // the read or write itself failed
  kInvalid,      // the caller (or a profile file) asked for something impossible
};

/// One failure. `where` is a path, device or profile field; `detail` is a
/// sentence fragment without a full stop.
struct Error {
  ErrorKind kind;
  std::string where;
  std::string detail;

  bool operator==(const Error&) const = default;
};

/// The value of a Result that has nothing to say but success.
struct Done {};

/// Either a T or an Error. The names are those of std::expected, so moving to
/// it later is a one-line alias.
template <typename T>
class [[nodiscard]] Result {
 public:
  Result(T value) : state_(std::move(value)) {}      // NOLINT(google-explicit-constructor)
  Result(Error error) : state_(std::move(error)) {}  // NOLINT(google-explicit-constructor)

  bool has_value() const { return state_.index() == 0; }
  explicit operator bool() const { return has_value(); }

  const T& operator*() const& { return get(); }
  T& operator*() & { return get(); }
  T&& operator*() && { return std::move(get()); }
  const T* operator->() const { return &get(); }
  T* operator->() { return &get(); }

  const Error& error() const {
    assert(!has_value());
    return *std::get_if<1>(&state_);
  }

  T value_or(T fallback) const { return has_value() ? get() : std::move(fallback); }

 private:
  const T& get() const {
    assert(has_value());
    return *std::get_if<0>(&state_);
  }
  T& get() {
    assert(has_value());
    return *std::get_if<0>(&state_);
  }

  std::variant<T, Error> state_;
};

using Status = Result<Done>;

}  // namespace base
