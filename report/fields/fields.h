// SPDX-License-Identifier: Apache-2.0
//
// Names the members of plain data structs, so that writer and reader share one list.

#pragma once

#include <concepts>
#include <type_traits>

#include <nlohmann/json.hpp>

namespace report::stored {

/// Calls `visit("member", value.member)` for every member of `Type` that is
/// stored, in this order; the key is the member's name. Use inside
/// report::stored; a test compares the number of names with the struct.
#define RIGPROOF_VISIT_FIELD(field) visit(#field, value.field);
#define RIGPROOF_FIELDS(Type, ...)                                               \
  template <typename Visit, typename Value>                                      \
  requires std::same_as<std::remove_const_t<Value>, Type>                        \
  void EachField(Visit&& visit, Value& value) {                                  \
    NLOHMANN_JSON_EXPAND(NLOHMANN_JSON_PASTE(RIGPROOF_VISIT_FIELD, __VA_ARGS__)) \
  }

/// Stands in for a real visitor when asking whether a type has named members.
struct AnyVisitor {
  template <typename Field>
  void operator()(const char* /*key*/, Field& /*field*/) {}
};

template <typename T>
concept HasFields = requires(T& value, AnyVisitor visitor) {
  EachField(visitor, value);
};

}  // namespace report::stored
