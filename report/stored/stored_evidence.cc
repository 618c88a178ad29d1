// SPDX-License-Identifier: Apache-2.0

#include <algorithm>
#include <cstddef>
#include <string>
#include <utility>
#include <variant>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "base/text.h"
#include "profiles/demand/stream_url.h"
#include "profiles/text/reader.h"
#include "report/data/writers.h"
#include "report/fields/bench.h"
#include "report/fields/evidence_keys.h"
#include "report/fields/from_json.h"
#include "report/fields/probes.h"
#include "report/fields/report.h"
#include "report/stored/older_result.h"

namespace report {
namespace {

using nlohmann::json;
using stored::StoredReader;

/// A full-length run of eight hours with ten outputs takes about 40 MB.
constexpr std::size_t kMostBytes = std::size_t{512} << 20U;
/// Ours are nested ten deep; more would only try our stack.
constexpr int kMostNested = 32;

base::Error Malformed(const std::string& origin, std::string detail) {
  return {base::ErrorKind::kMalformed, base::Printable(origin), std::move(detail)};
}

/// How deep brackets are nested, strings aside. Never recursive.
int DeepestNesting(std::string_view text) {
  int depth = 0;
  int deepest = 0;
  bool in_string = false;
  for (std::size_t i = 0; i < text.size(); ++i) {
    const char c = text[i];
    if (in_string) {
      i += c == '\\' ? 1 : 0;
      in_string = c != '"';
    } else if (c == '"') {
      in_string = true;
    } else if (c == '{' || c == '[') {
      deepest = std::max(deepest, ++depth);
    } else if (c == '}' || c == ']') {
      --depth;
    }
  }
  return deepest;
}

std::string LineAndColumn(std::string_view text, std::size_t byte) {
  const std::string_view before = text.substr(0, std::min(byte, text.size()));
  const auto lines = std::count(before.begin(), before.end(), '\n');
  const std::size_t line_start = before.rfind('\n');
  const std::size_t column =
      line_start == std::string_view::npos ? before.size() : before.size() - line_start - 1;
  return fmt::format("line {}, column {}", lines + 1, column);
}

base::Result<json> ParseBounded(std::string_view text, const std::string& origin) {
  if (text.size() > kMostBytes) {
    return Malformed(origin, fmt::format("is larger than a result can be ({})",
                                         base::FormatBytes(static_cast<double>(kMostBytes))));
  }
  if (DeepestNesting(text) > kMostNested) {
    return Malformed(origin, fmt::format("is nested more than {} deep", kMostNested));
  }
  try {
    return json::parse(text);
  } catch (const json::parse_error& error) {
    return Malformed(origin, LineAndColumn(text, error.byte) + ": this is not JSON");
  } catch (const json::exception&) {
    return Malformed(origin, "holds a number beyond what can be read");
  }
}

std::optional<base::Error> CheckFormat(const json& root, const std::string& origin) {
  StoredReader reader(origin);
  std::string format;
  int version = 0;
  reader.Member(root, "format", format);
  reader.Member(root, "version", version);
  if (reader.error()) {
    return reader.error();
  }
  if (format != stored::kResultFormat) {
    return Malformed(origin + ": /format",
                     fmt::format("found \"{}\", allowed: \"{}\"", base::Printable(format, 40),
                                 stored::kResultFormat));
  }
  if (version != stored::kResultVersion) {
    return Malformed(origin + ": /version",
                     fmt::format("found {}, allowed: {}", version, stored::kResultVersion));
  }
  return std::nullopt;
}

base::Result<profiles::Profile> ReadStoredProfile(const json& root, const std::string& origin) {
  const auto found = root.find("profile");
  if (found == root.end()) {
    return Malformed(origin + ": /profile", "the key is missing");
  }
  // No origin: the reader's pointers are then put below /profile.
  base::Result<profiles::Profile> profile = profiles::ParseProfile(found->dump(), "");
  if (!profile) {
    base::Error error = profile.error();
    const std::size_t pointer = error.where.find('/');
    error.where = base::Printable(origin) + ": /profile" +
                  (pointer == std::string::npos ? "" : error.where.substr(pointer));
    return error;
  }
  return profile;
}

}  // namespace

base::Result<Evidence> ReadStoredEvidence(std::string_view json_text, const std::string& origin) {
  const base::Result<json> parsed = ParseBounded(json_text, origin);
  if (!parsed) {
    return parsed.error();
  }
  const json& root = *parsed;
  if (const auto error = CheckFormat(root, origin)) {
    return *error;
  }
  Evidence evidence;
  StoredReader reader(origin);
  reader.Member(root, "program_version", evidence.program_version);
  reader.Member(root, "started_at", evidence.started_at);
  reader.Member(root, "length", evidence.length);
  reader.Member(root, "demand_detail", evidence.demand);
  reader.Member(root, "machine", evidence.inventory);
  reader.Member(root, "rehearsal", evidence.results.rehearsal);
  reader.Member(root, "flat_out", evidence.results.flat_out);
  reader.Member(root, "grown_flat_out", evidence.results.grown_flat_out);
  reader.Member(root, "contention", evidence.results.contention);
  reader.Member(root, "hardware_encodes", evidence.results.hardware_encodes);
  reader.Member(root, "search", evidence.results.search);
  reader.Member(root, "disks", evidence.results.disks);
  reader.Member(root, "ballast", evidence.results.ballast);
  reader.Member(root, "costs", evidence.results.costs);
  reader.Member(root, "command", evidence.command);
  reader.Member(root, "telemetry_before", evidence.before);
  reader.Member(root, "telemetry", evidence.telemetry);
  reader.Member(root, "ballast_telemetry", evidence.ballast_telemetry);
  if (reader.error()) {
    return *reader.error();
  }
  base::Result<profiles::Profile> profile = ReadStoredProfile(root, origin);
  if (!profile) {
    return profile.error();
  }
  stored::FillInOlder(evidence);
  // Whoever wrote the file may have shown more of an address.
  evidence.profile = profiles::WithMaskedUrls(*std::move(profile));
  return evidence;
}

}  // namespace report
