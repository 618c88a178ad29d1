// SPDX-License-Identifier: Apache-2.0

#include "probes/recording/containers/segment_list.h"

#include <chrono>
#include <cstddef>
#include <utility>

#include "base/text.h"

namespace probes {
namespace {

constexpr std::size_t kMostFiles = 200'000;
constexpr std::string_view kMarkHls = "#EXTM3U";
constexpr std::string_view kMarkConcat = "ffconcat version";

base::Error Unsupported(std::string detail) {
  return {base::ErrorKind::kUnsupported, "", std::move(detail)};
}

/// A list and what holds for the file that is named next.
struct Parsing {
  SegmentList list;
  ListedFile next;
};

base::Status AddFile(std::string name, Parsing& parsing) {
  auto& [list, next] = parsing;
  if (name.find("://") != std::string::npos) {
    return Unsupported("names \"" + base::Printable(name, 80) + "\": only files are read");
  }
  if (name.empty() || name.find('\0') != std::string::npos) {
    return base::Error{base::ErrorKind::kMalformed, "", "names a file without a name"};
  }
  if (list.files.size() >= kMostFiles) {
    return base::Error{base::ErrorKind::kMalformed, "", "names more than 200000 files"};
  }
  next.name = std::move(name);
  list.files.push_back(next);
  next.restarts = false;
  return base::Done{};
}

/// The value of KEY="value" or KEY=value in a list of attributes.
std::string Attribute(std::string_view attributes, std::string_view key) {
  const std::string wanted = std::string(key) + "=";
  const auto at = attributes.find(wanted);
  if (at == attributes.npos) {
    return "";
  }
  std::string_view value = attributes.substr(at + wanted.size());
  if (value.starts_with('"')) {
    value.remove_prefix(1);
    return std::string(value.substr(0, value.find('"')));
  }
  return std::string(value.substr(0, value.find(',')));
}

base::Status TakeHlsTag(std::string_view line, Parsing& parsing) {
  auto& [list, next] = parsing;
  const auto colon = line.find(':');
  const std::string_view tag = line.substr(0, colon);
  const std::string_view value = colon == line.npos ? "" : line.substr(colon + 1);
  if (tag == "#EXT-X-ENDLIST") {
    list.closed = true;
  } else if (tag == "#EXT-X-STREAM-INF") {
    return Unsupported("lists other lists: name one of those");
  } else if (tag == "#EXT-X-BYTERANGE") {
    return Unsupported("names parts of files, which is not read");
  } else if (tag == "#EXT-X-KEY" && Attribute(value, "METHOD") != "NONE") {
    return Unsupported("names encrypted files");
  } else if (tag == "#EXT-X-MAP") {
    next.beginning = Attribute(value, "URI");
    if (next.beginning.find("://") != std::string::npos) {
      return Unsupported("names a URL: only files are read");
    }
  } else if (tag == "#EXT-X-DISCONTINUITY") {
    next.restarts = true;
  } else if (tag == "#EXT-X-PROGRAM-DATE-TIME" && list.files.empty()) {
    list.started_unix_s = ParseIsoTime(base::Trim(value));
  }
  return base::Done{};
}

/// A name as concat lists quote it: '...' literally, \x for x outside.
std::string Unquoted(std::string_view text) {
  std::string name;
  bool quoted = false;
  for (std::size_t i = 0; i < text.size(); ++i) {
    if (text[i] == '\'') {
      quoted = !quoted;
    } else if (text[i] == '\\' && !quoted && i + 1 < text.size()) {
      name += text[++i];
    } else {
      name += text[i];
    }
  }
  return name;
}

base::Status TakeConcatLine(std::string_view line, Parsing& parsing) {
  const auto space = line.find_first_of(" \t");
  const std::string_view word = line.substr(0, space);
  const std::string_view rest = space == line.npos ? "" : base::Trim(line.substr(space));
  if (word == "file") {
    return AddFile(Unquoted(rest), parsing);
  }
  if (word == "inpoint" || word == "outpoint") {
    return Unsupported("names parts of files, which is not read");
  }
  return base::Done{};
}

std::string_view FirstWords(std::string_view text) {
  for (const std::string_view line : base::Split(text, '\n')) {
    const std::string_view trimmed = base::Trim(line);
    if (!trimmed.empty() && (!trimmed.starts_with('#') || trimmed.starts_with(kMarkHls))) {
      return trimmed;
    }
  }
  return "";
}

}  // namespace

bool LooksLikeSegmentList(std::string_view text) {
  const std::string_view first = FirstWords(text.substr(0, 4096));
  return first.starts_with(kMarkHls) || first.starts_with(kMarkConcat) ||
         first.starts_with("file ");
}

base::Result<SegmentList> ParseSegmentList(std::string_view text) {
  Parsing parsing;
  SegmentList& list = parsing.list;
  const bool hls = FirstWords(text.substr(0, 4096)).starts_with(kMarkHls);
  list.closed = !hls;
  for (const std::string_view whole : base::Split(text, '\n')) {
    const std::string_view line = base::Trim(whole);
    if (line.empty() || (!hls && line.starts_with('#'))) {
      continue;
    }
    const base::Status taken = !hls                    ? TakeConcatLine(line, parsing)
                               : line.starts_with('#') ? TakeHlsTag(line, parsing)
                                                       : AddFile(std::string(line), parsing);
    if (!taken) {
      return taken.error();
    }
  }
  if (list.files.empty()) {
    return base::Error{base::ErrorKind::kMalformed, "", "is a list that names no files"};
  }
  return std::move(list);
}

std::optional<double> ParseIsoTime(std::string_view text) {
  // YYYY-MM-DDTHH:MM:SS, then perhaps a fraction, then the zone.
  if (text.size() < 20 || text[4] != '-' || text[7] != '-' || text[13] != ':' || text[16] != ':' ||
      (text[10] != 'T' && text[10] != ' ')) {
    return std::nullopt;
  }
  const auto number = [text](std::size_t at, std::size_t count) {
    return base::ParseInt(text.substr(at, count)).value_or(-1);
  };
  const auto date = std::chrono::year(static_cast<int>(number(0, 4))) /
                    std::chrono::month(static_cast<unsigned>(number(5, 2))) /
                    std::chrono::day(static_cast<unsigned>(number(8, 2)));
  const auto hours = number(11, 2);
  const auto minutes = number(14, 2);
  const auto seconds = number(17, 2);
  if (!date.ok() || date.year() < std::chrono::year(1900) || hours < 0 || hours > 23 ||
      minutes < 0 || minutes > 59 || seconds < 0 || seconds > 60) {
    return std::nullopt;
  }
  std::string_view rest = text.substr(19);
  double fraction = 0;
  if (rest.starts_with('.')) {
    const auto end = rest.find_first_not_of("0123456789", 1);
    fraction = base::ParseDouble("0" + std::string(rest.substr(0, end))).value_or(0);
    rest = end == rest.npos ? "" : rest.substr(end);
  }
  std::int64_t zone_minutes = 0;
  if (rest != "Z") {
    const bool signed_zone = rest.starts_with('+') || rest.starts_with('-');
    if (!signed_zone || (rest.size() != 6 && rest.size() != 5)) {
      return std::nullopt;
    }
    const auto zone_hours = base::ParseInt(rest.substr(1, 2));
    const auto zone_rest = base::ParseInt(rest.substr(rest.size() - 2));
    if (!zone_hours || !zone_rest) {
      return std::nullopt;
    }
    zone_minutes = (rest[0] == '-' ? -1 : 1) * (*zone_hours * 60 + *zone_rest);
  }
  const auto days = std::chrono::sys_days(date).time_since_epoch().count();
  return static_cast<double>((days * 24 + hours) * 3600 + (minutes - zone_minutes) * 60 + seconds) +
         fraction;
}

}  // namespace probes
