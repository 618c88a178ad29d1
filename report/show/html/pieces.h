// SPDX-License-Identifier: Apache-2.0
//
// The pieces that the report page is laid out from: text, fact lists, tables.

#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include <kainjow/mustache.hpp>
#include <nlohmann/json_fwd.hpp>

#include "report/data/document.h"
#include "report/show/blocks.h"
#include "report/words/quantities.h"

namespace report {

/// What a template is filled with. Every string in it is a stranger's until
/// EscapeForPage has seen it, which rendering does for each value.
using View = kainjow::mustache::data;
using ViewList = kainjow::mustache::list;

/// Controls, overrides and broken UTF-8 made visible, markup made text.
std::string EscapeForPage(const std::string& text);

/// JSON text that no parser of HTML can take for anything else.
std::string ForScriptElement(const nlohmann::ordered_json& json);

/// Letters, digits and hyphens of `id`, for an HTML anchor; "finding-..." so
/// that no stranger's id can take the name of a section.
std::string AnchorOf(const std::string& id);

// Most of the page's sections are laid out from these.
using show::Cell;
using show::Mark;
using show::MarkClass;
using show::MarkSign;
using show::Table;

/// For the partial "table"; false (nothing shown) when it has no rows.
View ToView(const Table& table);
/// For the partial "facts"; false when there are none.
View ToView(const show::Facts& facts);
/// For the partial "part": title and every block; false when it has none.
View ToView(const show::Part& part);

/// Each string as an entry of a list, for {{#name}}{{.}}{{/name}}; false when empty.
View ToView(const std::vector<std::string>& lines);
/// A part of the page that shows `list` under `name`; false when there is nothing to show.
View SectionOf(const std::string& name, const ViewList& list);

}  // namespace report
