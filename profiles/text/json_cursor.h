// SPDX-License-Identifier: Apache-2.0
//
// A place in a JSON value that knows its pointer and reports what is wrong there.

#pragma once

#include <cstddef>
#include <optional>
#include <set>
#include <string>
#include <string_view>
#include <vector>

#include "base/result.h"
#include "profiles/text/json_text.h"

namespace profiles {

/// Characters (code points) of UTF-8 text.
std::size_t CountCharacters(std::string_view utf8);

/// All that is wrong with a text. What follows from another mistake is left out: whatever is
/// said of a value that was refused already, or of what lies in it.
class Mistakes {
 public:
  explicit Mistakes(std::string origin) : origin_(std::move(origin)) {}

  /// `refused`: the value at `pointer` is none that can be used; else it only lacks something.
  void Report(const std::string& pointer, std::string detail, bool refused = true);
  /// A key of the object at `pointer` that stands there misspelt: that it is missing follows.
  void NoteMisspelt(const std::string& pointer, const std::string& key);
  bool Misspelt(const std::string& pointer, std::string_view key) const;
  /// Whether anything was said of the value at `pointer` or of what lies in it.
  bool Touch(const std::string& pointer) const;

  /// The first that was reported.
  std::optional<base::Error> error() const;
  /// All of them, as they stand in the text that became `top`.
  std::vector<base::Error> InOrderOf(const Json& top) const;

 private:
  struct Mistake {
    std::string pointer;
    std::string detail;
    bool refused = true;
  };

  base::Error AsError(const Mistake& mistake) const;

  std::string origin_;
  std::vector<Mistake> mistakes_;
  std::set<std::string> misspelt_;  // pointers of the keys that were meant
};

/// Reading never stops on an error: it reports it and gives back a value that
/// is in range, so that callers read straight through and look once, at the
/// end. What a check needs of another value is asked of that one's Sound(). The
/// JSON value and the Mistakes must outlive the cursor.
class JsonCursor {
 public:
  JsonCursor(const Json& value, std::string pointer, Mistakes& errors)
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
  void Refuse(std::string detail) const;
  /// Whether it is there and nothing in it was refused so far.
  bool Sound() const { return !absent_ && !errors_->Touch(pointer_); }

 private:
  /// In place of a member that is not there, which has been said: it says nothing more.
  JsonCursor Absent() const;

  const Json* value_;
  std::string pointer_;
  Mistakes* errors_;
  bool absent_ = false;
};

}  // namespace profiles
