// SPDX-License-Identifier: Apache-2.0
//
// A place in a JSON value that knows its pointer and reports the first thing that is wrong.

#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"
#include "profiles/json_text.h"

namespace profiles {

/// Characters (code points) of UTF-8 text.
std::size_t CountCharacters(std::string_view utf8);

/// The first error of a reading. Later ones are dropped: they mostly follow from it.
class FirstError {
 public:
  explicit FirstError(std::string origin) : origin_(std::move(origin)) {}

  void Report(const std::string& pointer, std::string detail);
  const std::optional<base::Error>& error() const { return error_; }

 private:
  std::string origin_;
  std::optional<base::Error> error_;
};

/// Reading never stops on an error: it reports it and gives back a value that
/// is in range, so that callers read straight through and look once, at the
/// end. The JSON value and the FirstError must outlive the cursor.
class JsonCursor {
 public:
  JsonCursor(const Json& value, std::string pointer, FirstError& errors)
      : value_(&value), pointer_(std::move(pointer)), errors_(&errors) {}

  /// Reports anything but an object whose keys are all `known`.
  void CheckKeys(const std::vector<std::string>& known) const;
  bool Has(std::string_view key) const;
  /// A member that must be there.
  JsonCursor Member(std::string_view key) const;

  /// Elements of a list of `least` to `most` elements; none when it is no such list.
  std::vector<JsonCursor> Elements(std::size_t least, std::size_t most) const;

  bool IsNull() const { return value_->is_null(); }
  bool IsObject() const { return value_->is_object(); }
  bool IsText() const { return value_->is_string(); }
  bool IsTrue() const { return value_->is_boolean() && value_->get<bool>(); }
  /// Text of any length with any characters, line ends too; reports anything else.
  std::string AnyText() const;

  /// Text of 1 to `longest` characters, all printable.
  std::string Text(std::size_t longest) const;
  /// One of `allowed`, the first of them when it is not.
  std::string OneOf(const std::vector<std::string>& allowed) const;
  int Whole(int least, int most) const;
  /// The whole number that stands here; nothing, and no report, when it is something else.
  std::optional<int> WholeOrNothing() const;
  /// One of `allowed`, the first of them when it is not.
  int WholeOf(const std::vector<int>& allowed) const;
  double Number(double least, double most) const;

  /// Reports "found <this value>; allowed: <allowed>".
  void RefuseFound(std::string_view allowed) const;
  void Refuse(std::string detail) const { errors_->Report(pointer_, std::move(detail)); }
  bool ok() const { return !errors_->error(); }

 private:
  const Json* value_;
  std::string pointer_;
  FirstError* errors_;
};

}  // namespace profiles
